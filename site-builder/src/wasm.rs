//! Part of stage 6: the core compiled for the page, and its bindings.
//!
//! Where the toolchain has the target, the ordinary build is used. Otherwise Debian's packages
//! rustc-web, cargo-web and rust-web-src build the standard library from source as well, smaller
//! than the ready-made one. The result is kept under `target/` by a fingerprint of the core's
//! sources, so that editing a page compiles nothing.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use wasm_bindgen_cli_support::Bindgen;

use crate::assets::fingerprint;
use crate::finding::Finding;

/// The core as the page loads it.
#[derive(Clone, Debug)]
pub struct Module {
    /// The bindings, an ES module.
    pub script: String,
    /// The WebAssembly.
    pub wasm: Vec<u8>,
}

const TARGET: &str = "wasm32-unknown-unknown";

/// Compiles the core, or takes it from the last time if its sources are the same.
///
/// # Errors
/// No toolchain for WebAssembly, with what to install; or what the compiler said.
pub fn module() -> Result<Module, Finding> {
    let root = workspace();
    let kept = root.join("target/page").join(sources_fingerprint(&root));
    let (script, wasm) = (kept.join("core.js"), kept.join("core_bg.wasm"));
    if let (Ok(script), Ok(wasm)) = (fs::read_to_string(&script), fs::read(&wasm)) {
        return Ok(Module { script, wasm });
    }
    let compiled = compile(&root)?;
    let trouble = |error: &dyn std::fmt::Display| {
        Finding::whole("calc-wasm", format!("its bindings cannot be made: {error}"))
    };
    Bindgen::new()
        .input_path(&compiled)
        .out_name("core")
        .typescript(false)
        // The page says where the module lies; without a default it carries no guess of its own.
        .omit_default_module_path(true)
        .remove_name_section(true)
        .remove_producers_section(true)
        .web(true)
        .and_then(|bindgen| bindgen.generate(&kept))
        .map_err(|error| trouble(&format!("{error:#}")))?;
    Ok(Module {
        script: fs::read_to_string(&script).map_err(|error| trouble(&error))?,
        wasm: fs::read(&wasm).map_err(|error| trouble(&error))?,
    })
}

/// The folder of the workspace: where the builder is run if it is one, else where it was built.
fn workspace() -> PathBuf {
    let here = PathBuf::from(".");
    if here.join("calc-wasm/Cargo.toml").exists() {
        return here;
    }
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .parent()
        .map_or(here, Path::to_path_buf)
}

/// Changes whenever anything changes that the compiled core is made of.
fn sources_fingerprint(root: &Path) -> String {
    let mut all = Vec::new();
    let files = walkdir::WalkDir::new(root.join("calc-wasm"))
        .sort_by_file_name()
        .into_iter()
        .filter_map(Result::ok)
        .filter(|entry| entry.file_type().is_file())
        .map(walkdir::DirEntry::into_path);
    for file in files.chain([root.join("Cargo.toml"), root.join("Cargo.lock")]) {
        all.extend(
            file.strip_prefix(root)
                .unwrap_or(&file)
                .to_string_lossy()
                .bytes(),
        );
        all.extend(fs::read(&file).unwrap_or_default());
    }
    fingerprint(&all)
}

fn compile(root: &Path) -> Result<PathBuf, Finding> {
    let mut command = if has_target() {
        ordinary(root)
    } else {
        from_source(root)?
    };
    let done = command.output().map_err(|error| {
        Finding::whole("calc-wasm", format!("the compiler does not start: {error}"))
    })?;
    if !done.status.success() {
        let said = String::from_utf8_lossy(&done.stderr).into_owned();
        return Err(Finding::whole(
            "calc-wasm",
            format!("does not compile for the page:\n{said}"),
        ));
    }
    let folder = if has_target() {
        "target"
    } else {
        "target/from-source"
    };
    Ok(root.join(folder).join(TARGET).join("wasm/calc_wasm.wasm"))
}

/// Whether the ordinary toolchain can compile for the page.
fn has_target() -> bool {
    sysroot("rustc").is_some_and(|root| root.join("lib/rustlib").join(TARGET).join("lib").is_dir())
}

fn sysroot(rustc: &str) -> Option<PathBuf> {
    let said = Command::new(rustc)
        .args(["--print", "sysroot"])
        .output()
        .ok()?;
    said.status
        .success()
        .then(|| PathBuf::from(String::from_utf8_lossy(&said.stdout).trim()))
}

fn ordinary(root: &Path) -> Command {
    let mut command = Command::new("cargo");
    command
        .current_dir(root)
        .args([
            "build",
            "--package",
            "calc-wasm",
            "--lib",
            "--profile",
            "wasm",
            "--target",
            TARGET,
        ])
        .args(["--target-dir", "target"]);
    command
}

/// Debian's toolchain, with the standard library from source and a panic that only stops.
fn from_source(root: &Path) -> Result<Command, Finding> {
    let cargo = Path::new("/usr/bin/cargo");
    let library = Path::new("/usr/lib/rustlib/src/rust/library/std");
    let web_library = Path::new("/usr/src").exists();
    if !cargo.exists() || !(library.exists() || web_library) {
        return Err(Finding::whole("calc-wasm", "this machine cannot compile for WebAssembly").mend(
            "run `rustup target add wasm32-unknown-unknown`; or on Debian `apt-get install rustc-web cargo-web rust-web-src`",
        ));
    }
    let mut command = Command::new(cargo);
    command
        .current_dir(root)
        .args([
            "build",
            "--package",
            "calc-wasm",
            "--lib",
            "--profile",
            "wasm",
            "--target",
            TARGET,
        ])
        .args([
            "--target-dir",
            "target/from-source",
            "-Zbuild-std=std,panic_abort",
        ])
        .env("RUSTC", "/usr/bin/rustc")
        .env("RUSTC_BOOTSTRAP", "1")
        .env("CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_LINKER", linker())
        // A build started by cargo must not hand its own settings on to another cargo.
        .env_remove("RUSTUP_TOOLCHAIN")
        .env_remove("CARGO");
    Ok(command)
}

/// The linker: the one that comes with rustup's toolchain, else the one on the path.
fn linker() -> PathBuf {
    let triple = format!("{}-unknown-linux-gnu", std::env::consts::ARCH);
    sysroot("rustc")
        .map(|root| root.join("lib/rustlib").join(triple).join("bin/rust-lld"))
        .filter(|path| path.exists())
        .unwrap_or_else(|| "rust-lld".into())
}
