//! README.md and DEVELOPERS.md name files; each must be there, or the guide has drifted.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Folders at the root that git keeps: neither hidden ones nor what cargo compiles.
fn folders() -> BTreeSet<String> {
    fs::read_dir(root())
        .expect("the root can be read")
        .filter_map(Result::ok)
        .filter(|entry| entry.path().is_dir())
        .filter_map(|entry| entry.file_name().into_string().ok())
        .filter(|name| !name.starts_with('.') && !name.starts_with("target"))
        .collect()
}

/// Words in back quotes and in code blocks, each with its line.
fn code(text: &str) -> Vec<(usize, &str)> {
    let mut found = Vec::new();
    let mut fenced = false;
    for (number, line) in text.lines().enumerate() {
        if line.trim_start().starts_with("```") {
            fenced = !fenced;
        } else if fenced || line.starts_with("    ") {
            found.extend(line.split_whitespace().map(|word| (number + 1, word)));
        } else {
            let spans = line.split('`').skip(1).step_by(2);
            found.extend(
                spans
                    .flat_map(str::split_whitespace)
                    .map(|word| (number + 1, word)),
            );
        }
    }
    found
}

#[test]
fn every_file_that_the_guide_names_is_there() {
    let folders = folders();
    let mut missing = Vec::new();
    for guide in ["README.md", "DEVELOPERS.md"] {
        let text = fs::read_to_string(root().join(guide)).expect("the guide can be read");
        let mut named = 0;
        for (line, word) in code(&text) {
            let path = word.trim_matches(|c: char| !c.is_alphanumeric() && c != '/');
            let Some((first, _)) = path.split_once('/') else {
                continue;
            };
            if folders.contains(first) {
                named += 1;
                if !root().join(path).exists() {
                    missing.push(format!("{guide}:{line}: {path}"));
                }
            }
        }
        assert!(named > 5, "{guide} names only {named} files: is it read?");
    }
    assert!(missing.is_empty(), "not there:\n{}", missing.join("\n"));
}

/// Folders below `folder` that hold files, by path from the root.
fn holding_files(folder: &str, found: &mut Vec<String>) {
    let entries = fs::read_dir(root().join(folder)).expect("a folder of the repository");
    let mut holds = false;
    for entry in entries.filter_map(Result::ok) {
        let name = entry.file_name().into_string().expect("a plain name");
        if entry.path().is_dir() && !name.starts_with("__") {
            holding_files(&format!("{folder}/{name}"), found);
        }
        holds |= entry.path().is_file();
    }
    if holds {
        found.push(format!("{folder}/"));
    }
}

#[test]
fn every_folder_has_its_line() {
    let text = fs::read_to_string(root().join("DEVELOPERS.md")).expect("the guide can be read");
    let mut folders = Vec::new();
    for top in [
        "calc-wasm/src",
        "site-builder/src",
        "content",
        "templates",
        "tests",
    ] {
        holding_files(top, &mut folders);
    }
    folders.retain(|folder| {
        // A crate's own folder holds only its manifest.
        folder != "tests/" && !text.contains(&format!("\n| `{folder}` |"))
    });
    assert!(folders.is_empty(), "no line for {folders:?}");
}

/// The tests that the guide runs by name are there.
#[test]
fn every_test_that_the_guide_names_is_there() {
    let text = fs::read_to_string(root().join("DEVELOPERS.md")).expect("the guide can be read");
    let mut named = 0;
    for line in text.lines().filter(|line| line.starts_with("    ")) {
        let Some((_, asked)) = line.split_once("--test ") else {
            continue;
        };
        let mut words = asked.split_whitespace();
        let file = words.next().expect("a file of tests");
        let path = root().join(format!("tests/tests/{file}.rs"));
        let tests = fs::read_to_string(path).unwrap_or_else(|error| panic!("{line}: {error}"));
        if let Some(name) = words.next().filter(|word| !word.starts_with('-')) {
            named += 1;
            assert!(tests.contains(&format!("fn {name}(")), "{line}");
        }
    }
    assert!(
        named > 2,
        "only {named} tests are named: is the guide read?"
    );
}

/// What the README shows of the terminal is what the terminal shows.
#[test]
fn the_number_in_the_terminal_is_as_shown() {
    let text = fs::read_to_string(root().join("README.md")).expect("the README can be read");
    let (_, rest) = text
        .split_once("    ./forerun.sh compute boiling-point ")
        .expect("the command");
    let (inputs, rest) = rest.split_once('\n').expect("its end");
    // Inputs with a blank in them stand between quotes.
    let words: Vec<String> = std::iter::once("boiling-point")
        .chain(
            inputs
                .split('"')
                .flat_map(|piece| match piece.split_once(" ") {
                    Some((first, "")) => vec![first],
                    _ => vec![piece],
                }),
        )
        .filter(|word| !word.is_empty())
        .map(str::to_owned)
        .collect();
    let shown = rest.split("```text\n").nth(1).expect("the answer");
    let shown = shown.split("```").next().expect("its end");
    let answer = site_builder::command::compute::run(&forerun_tests::folders(), &words, false)
        .unwrap_or_else(|trouble| panic!("{words:?}: {trouble:?}"));
    assert_eq!(answer.text.trim_end(), shown.trim_end(), "{words:?}");
}

/// The policy that a server is told to send is that of the pages, or the two would fight.
#[test]
fn the_policy_for_servers_is_that_of_the_pages() {
    let text = fs::read_to_string(root().join("README.md")).expect("the README can be read");
    let base = fs::read_to_string(root().join("templates/base.html")).expect("the template");
    let policy = base.split("Content-Security-Policy\" content=\"").nth(1);
    let policy = policy
        .and_then(|rest| rest.split('"').next())
        .expect("a policy");
    let sent = format!("Content-Security-Policy \"{policy}; frame-ancestors 'self'\"");
    assert_eq!(text.matches(&sent).count(), 2, "for two servers: {sent}");
}

/// The row that the guide shows for a published check is a row of the file it names.
#[test]
fn the_published_check_is_as_shown() {
    let text = fs::read_to_string(root().join("DEVELOPERS.md")).expect("the guide can be read");
    let shown = text
        .split("```toml\n")
        .find(|part| part.starts_with("[[check]]"));
    let shown = shown
        .and_then(|part| part.split("\n```").next())
        .expect("a row");
    let path = "tests/published/distribution-from-test.toml";
    let rows = fs::read_to_string(root().join(path)).expect("the file of the example");
    assert!(rows.contains(shown), "not in {path}:\n{shown}");
}

#[test]
fn code_is_told_from_prose() {
    let text = "See `a/b.rs` and c/d.\n\n    run e/f\n\n```text\ng/h\n```\n`i j/k`";
    let words: Vec<&str> = code(text).into_iter().map(|(_, word)| word).collect();
    assert_eq!(words, ["a/b.rs", "run", "e/f", "g/h", "i", "j/k"]);
}
