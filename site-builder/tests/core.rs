//! The build script's own parts: what it stamps and what it keeps.

#[path = "../build/kept.rs"]
mod kept;
#[path = "../src/output/wasm.rs"]
mod wasm;

use std::fs;
use std::path::{Path, PathBuf};
use wasm::{Bound, Module};

/// A folder of its own for a test, gone when it ends.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let folder = std::env::temp_dir().join(format!("forerun-{name}-{}", std::process::id()));
        fs::create_dir_all(&folder).expect("a folder");
        Self(folder)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

#[test]
fn stamps_every_source_of_the_core() {
    let folder = Folder::new("stamp");
    let deep = folder.0.join("calc-wasm/src/deep");
    fs::create_dir_all(&deep).expect("a folder");
    for file in kept::SOURCES.iter().filter(|file| file.contains('.')) {
        fs::write(folder.0.join(file), "one").expect("a file");
    }
    fs::write(deep.join("a.rs"), "one").expect("a file");
    let stamped = || kept::stamp(&folder.0).expect("a stamp");
    let before = stamped();
    assert_eq!(stamped(), before);
    fs::write(deep.join("a.rs"), "two").expect("a file");
    assert_ne!(stamped(), before);
}

#[test]
fn stamps_every_file_that_makes_it() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("build");
    for entry in fs::read_dir(folder).expect("the folder").flatten() {
        let text = fs::read_to_string(entry.path()).expect("a file");
        assert!(
            kept::HOW.contains(&text.as_str()),
            "{:?}",
            entry.file_name()
        );
    }
}

#[test]
fn keeps_the_core_whole_and_takes_nothing_damaged() {
    let folder = Folder::new("keep");
    let bound = |script: &str| Bound {
        script: script.into(),
        wasm: vec![0, 1],
    };
    let module = Module {
        results: bound("r"),
        code: bound("c"),
    };
    let place = kept::place(&folder.0, "stamp");
    assert_eq!(kept::read(&place), None);
    kept::keep(&place, &module).expect("kept");
    assert_eq!(kept::read(&place).as_ref(), Some(&module));
    for (name, _) in kept::files(&module) {
        for damaged in ["", "other"] {
            fs::write(place.join(name), damaged).expect("a file");
            assert_eq!(kept::read(&place), None, "{name}: {damaged}");
        }
        kept::keep(&place, &module).expect("kept anew");
        assert_eq!(kept::read(&place).as_ref(), Some(&module));
    }
    fs::remove_file(place.join("code.wasm")).expect("taken away");
    assert_eq!(kept::read(&place), None);
}
