//! The compiled core, kept under `target/` for the other profiles, for lints and for tests.
//!
//! It is named by a stamp of the core's sources and of this folder's. Beside it stands its SHA-256,
//! so that what is half written or damaged is compiled anew.

use crate::wasm::{Bound, Module};
use sha2::{Digest, Sha256};
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use walkdir::WalkDir;

/// What the core is made from, in the workspace.
pub const SOURCES: [&str; 4] = [
    "Cargo.toml",
    "Cargo.lock",
    "calc-wasm/Cargo.toml",
    "calc-wasm/src",
];

/// How the core is made, which is part of what it is.
pub const HOW: [&str; 4] = [
    include_str!("main.rs"),
    include_str!("toolchain.rs"),
    include_str!("bind.rs"),
    include_str!("kept.rs"),
];

const SHA256: &str = "sha256";

/// A fingerprint of everything the core is made from.
pub fn stamp(workspace: &Path) -> io::Result<String> {
    let mut hash = Sha256::new();
    for how in HOW {
        hash.update(how);
        hash.update([0]);
    }
    for source in SOURCES {
        for entry in WalkDir::new(workspace.join(source)).sort_by_file_name() {
            let entry = entry?;
            if !entry.file_type().is_file() {
                continue;
            }
            let bytes = fs::read(entry.path())?;
            let name = entry.path().strip_prefix(workspace);
            hash.update(name.unwrap_or(entry.path()).to_string_lossy().as_bytes());
            hash.update((bytes.len() as u64).to_le_bytes());
            hash.update(bytes);
        }
    }
    let stamp = hash.finalize();
    Ok(stamp.iter().take(8).map(|b| format!("{b:02x}")).collect())
}

/// Where the core of this stamp is kept.
pub fn place(target: &Path, stamp: &str) -> PathBuf {
    target.join("forerun").join(format!("core-{stamp}"))
}

/// The core as files.
pub fn files(module: &Module) -> [(&'static str, &[u8]); 4] {
    [
        ("calc.js", module.results.script.as_bytes()),
        ("calc.wasm", &module.results.wasm),
        ("code.js", module.code.script.as_bytes()),
        ("code.wasm", &module.code.wasm),
    ]
}

/// The core that is kept in `folder`, where it is whole.
pub fn read(folder: &Path) -> Option<Module> {
    let bound = |name: &str| {
        Some(Bound {
            script: fs::read_to_string(folder.join(name).with_extension("js")).ok()?,
            wasm: fs::read(folder.join(name).with_extension("wasm")).ok()?,
        })
    };
    let module = Module {
        results: bound("calc")?,
        code: bound("code")?,
    };
    let sha256 = fs::read_to_string(folder.join(SHA256)).ok()?;
    (module.sha256() == sha256).then_some(module)
}

/// Keeps the core whole or not at all: written beside its place, then renamed into it.
pub fn keep(folder: &Path, module: &Module) -> io::Result<()> {
    let parent = folder.parent().unwrap_or(Path::new("."));
    let half = parent.join(format!("half-{}", std::process::id()));
    fs::create_dir_all(&half)?;
    for (name, bytes) in files(module) {
        fs::write(half.join(name), bytes)?;
    }
    fs::write(half.join(SHA256), module.sha256())?;
    // What stands there is not whole; or another build has kept the same meanwhile, which will do.
    if read(folder).is_none() {
        let _ = fs::remove_dir_all(folder);
    }
    match fs::rename(&half, folder) {
        Err(_) if read(folder).is_some() => fs::remove_dir_all(&half),
        renamed => renamed,
    }
}
