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

#[test]
fn code_is_told_from_prose() {
    let text = "See `a/b.rs` and c/d.\n\n    run e/f\n\n```text\ng/h\n```\n`i j/k`";
    let words: Vec<&str> = code(text).into_iter().map(|(_, word)| word).collect();
    assert_eq!(words, ["a/b.rs", "run", "e/f", "g/h", "i", "j/k"]);
}
