//! The page's script: its types hold, its modules join into scripts that can be read, and what can
//! be tested without a page does what it should (`tests/script/`).
//!
//! Node and npm are needed for it and for nothing else. Where they cannot be had, a line says so.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use forerun_tests::tools::{installed, is_there, path, skipped};
use site_builder::output::script::bundle;
use site_builder::read::source::Text;

/// Runs a program and fails with all it said; false where there is no such program.
fn run(command: &mut Command) -> bool {
    let Ok(output) = command.output() else {
        return false;
    };
    let said = [output.stdout, output.stderr].concat();
    assert!(
        output.status.success(),
        "{command:?}\n{}",
        String::from_utf8_lossy(&said)
    );
    true
}

/// The TypeScript that `tests/script/package.json` names, under the target folder.
fn typescript() -> Result<PathBuf, String> {
    installed("script").map(|packages| packages.join("typescript/bin/tsc"))
}

#[test]
fn the_types_of_the_script_hold() {
    let what = "the types of templates/script";
    if !is_there("node") {
        return skipped(what, "there is no node");
    }
    match typescript() {
        Err(why) => skipped(what, &why),
        Ok(compiler) => {
            for project in ["tsconfig.json", "tsconfig.worker.json"] {
                run(Command::new("node")
                    .arg(&compiler)
                    .arg("--project")
                    .arg(path(&format!("templates/script/{project}"))));
            }
        }
    }
}

#[test]
fn what_needs_no_page_does_what_it_should() {
    let tests = forerun_tests::files("tests/script", "js");
    assert!(tests.len() >= 3, "{tests:?}");
    if !run(Command::new("node").arg("--test").args(&tests)) {
        skipped("tests/script", "there is no node");
    }
}

/// The builder joins line by line; a reader of the language then finds what that could miss.
#[test]
fn joined_modules_are_a_script() {
    let scripts: Vec<Text> = forerun_tests::files("templates/script", "js")
        .into_iter()
        .map(|file| Text {
            path: format!("script/{}", name(&file)),
            text: fs::read_to_string(&file).expect("a script"),
            file: file.display().to_string(),
            ..Text::default()
        })
        .collect();
    let (main, found) = bundle(&scripts, "main.js", None);
    assert_eq!(found, []);
    let [(search, found), (readings, more)] =
        ["search.js", "readings.js"].map(|entry| bundle(&scripts, entry, Some(&main)));
    assert_eq!([found, more], [[], []]);
    let folder = path("target/script-tools/joined");
    fs::create_dir_all(&folder).expect("a folder");
    for (name, joined) in [
        ("main.mjs", main),
        ("search.mjs", search),
        ("readings.mjs", readings),
    ] {
        let file = folder.join(name);
        fs::write(&file, joined.text).expect("a file");
        if !run(Command::new("node").arg("--check").arg(&file)) {
            skipped(name, "there is no node");
        }
    }
}

fn name(file: &Path) -> String {
    let name = file.file_name().expect("a name");
    name.to_string_lossy().into_owned()
}
