//! Stage 9: the calculators as WebAssembly, with bindings for the browser.
//!
//! The core is compiled twice (`toolchain.rs`): once with all calculators, once with what draws
//! codes alone. Both get their bindings (`bind.rs`).
//!
//! Compiling takes most of a minute, so the result is kept under `target/`, named by a stamp of the
//! core's sources and of this stage's; editing a page never compiles anything. This stage runs
//! cargo and keeps its own cache; it touches nothing of the site.

mod bind;
mod toolchain;

use crate::finding::Finding;
use bind::bind;
use sha2::{Digest, Sha256};
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use toolchain::compile;
use walkdir::WalkDir;

/// What pages load of the core.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Module {
    /// The calculators.
    pub results: Bound,
    /// What draws codes for cameras; few readers ever ask for one.
    pub code: Bound,
}

/// WebAssembly with its bindings.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Bound {
    /// The bindings, an ES module.
    pub script: String,
    /// The WebAssembly.
    pub wasm: Vec<u8>,
}

/// The folder of the workspace: the one at hand, or the one this program was built from.
pub fn workspace() -> PathBuf {
    let here = PathBuf::from(".");
    if here.join("calc-wasm/Cargo.toml").is_file() {
        here
    } else {
        Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
    }
}

/// The module made from the core of `workspace`, compiled if its sources have changed.
///
/// # Errors
/// No toolchain can compile it (the finding says what to install), or the core does not compile.
pub fn module(workspace: &Path) -> Result<Module, Finding> {
    let fail = |what: &str, error: &dyn std::fmt::Display| {
        Finding::whole("calc-wasm", format!("{what}: {error}"))
    };
    let stamp = stamp(workspace).map_err(|error| fail("cannot be read", &error))?;
    let kept = place(workspace, &stamp);
    if let Some(module) = read(&kept) {
        return Ok(module);
    }
    let bound = |feature: &str| {
        let compiled = compile(workspace, feature)?;
        bind(compiled).map_err(|error| fail("cannot be made ready for the page", &error))
    };
    let module = Module {
        results: bound("results")?,
        code: bound("code")?,
    };
    keep(&kept, &module).map_err(|error| fail("its compiled form cannot be kept", &error))?;
    Ok(module)
}

/// The module as kept from an earlier build, if it still fits the core's sources.
pub fn kept(workspace: &Path) -> Option<Module> {
    read(&place(workspace, &stamp(workspace).ok()?))
}

fn place(workspace: &Path, stamp: &str) -> PathBuf {
    let folder = target(workspace).join("forerun");
    folder.join(format!("module-{stamp}"))
}

fn target(workspace: &Path) -> PathBuf {
    std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| workspace.join("target"), PathBuf::from)
}

/// How the module is made, which is part of what it is.
const HOW: [&str; 3] = [
    include_str!("mod.rs"),
    include_str!("toolchain.rs"),
    include_str!("bind.rs"),
];

/// A fingerprint of everything the module is made from.
fn stamp(workspace: &Path) -> io::Result<String> {
    let mut hash = Sha256::new();
    for how in HOW {
        hash.update(how);
        hash.update([0]);
    }
    let core = workspace.join("calc-wasm");
    let mut files = vec![
        workspace.join("Cargo.toml"),
        workspace.join("Cargo.lock"),
        core.join("Cargo.toml"),
    ];
    for entry in WalkDir::new(core.join("src")).sort_by_file_name() {
        let entry = entry?;
        if entry.file_type().is_file() {
            files.push(entry.into_path());
        }
    }
    for file in files {
        let bytes = fs::read(&file)?;
        let name = file.strip_prefix(workspace).unwrap_or(&file);
        hash.update(name.to_string_lossy().as_bytes());
        hash.update((bytes.len() as u64).to_le_bytes());
        hash.update(bytes);
    }
    Ok(hash
        .finalize()
        .iter()
        .take(8)
        .map(|byte| format!("{byte:02x}"))
        .collect())
}

const RESULTS: &str = "calc";
const CODE: &str = "code";

fn read(folder: &Path) -> Option<Module> {
    let bound = |name: &str| {
        Some(Bound {
            script: fs::read_to_string(folder.join(name).with_extension("js")).ok()?,
            wasm: fs::read(folder.join(name).with_extension("wasm")).ok()?,
        })
    };
    Some(Module {
        results: bound(RESULTS)?,
        code: bound(CODE)?,
    })
}

/// Keeps the module whole or not at all: written beside its place, then renamed into it.
fn keep(folder: &Path, module: &Module) -> io::Result<()> {
    let parent = folder.parent().unwrap_or(Path::new("."));
    let half = parent.join(format!("half-{}", std::process::id()));
    fs::create_dir_all(&half)?;
    for (name, bound) in [(RESULTS, &module.results), (CODE, &module.code)] {
        fs::write(half.join(name).with_extension("js"), &bound.script)?;
        fs::write(half.join(name).with_extension("wasm"), &bound.wasm)?;
    }
    // Another build may have kept the same module meanwhile; either will do.
    if fs::rename(&half, folder).is_err() {
        fs::remove_dir_all(&half)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stamps_every_source_of_the_core() {
        let folder = std::env::temp_dir().join(format!("forerun-stamp-{}", std::process::id()));
        fs::create_dir_all(folder.join("calc-wasm/src/deep")).expect("a folder");
        for file in [
            "Cargo.toml",
            "Cargo.lock",
            "calc-wasm/Cargo.toml",
            "calc-wasm/src/deep/a.rs",
        ] {
            fs::write(folder.join(file), "one").expect("a file");
        }
        let stamped = || stamp(&folder).expect("a stamp");
        let before = stamped();
        assert_eq!(stamped(), before);
        fs::write(folder.join("calc-wasm/src/deep/a.rs"), "two").expect("a file");
        assert_ne!(stamped(), before);
        fs::remove_dir_all(&folder).expect("tidied");
    }

    #[test]
    fn stamps_every_file_of_this_stage() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/output/wasm");
        for entry in fs::read_dir(folder).expect("this stage").flatten() {
            let text = fs::read_to_string(entry.path()).expect("a file");
            assert!(HOW.contains(&text.as_str()), "{:?}", entry.file_name());
        }
    }

    #[test]
    fn keeps_a_module_whole() {
        let folder = std::env::temp_dir().join(format!("forerun-keep-{}", std::process::id()));
        let bound = |script: &str| Bound {
            script: script.into(),
            wasm: vec![0, 1],
        };
        let module = Module {
            results: bound("r"),
            code: bound("c"),
        };
        keep(&folder.join("m"), &module).expect("kept");
        assert_eq!(read(&folder.join("m")), Some(module));
        assert_eq!(read(&folder.join("other")), None);
        fs::remove_dir_all(&folder).expect("tidied");
    }
}
