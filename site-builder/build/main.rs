//! Compiles the core for the page when the program is compiled, so that the program alone can
//! build a site: without a toolchain, without its sources and without a network.
//!
//! The core is compiled twice (`toolchain.rs`): once with all calculators, once with what draws
//! codes alone. Both get their bindings (`bind.rs`). It is done again when the core's sources or
//! this folder change; `kept.rs` spares lints, tests and the other profiles the same work.

mod bind;
mod kept;
mod toolchain;
#[path = "../src/output/wasm.rs"]
mod wasm;

use std::env;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use wasm::{Bound, Module};

fn main() -> ExitCode {
    let workspace = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    for source in kept::SOURCES {
        println!("cargo::rerun-if-changed=../{source}");
    }
    println!("cargo::rerun-if-changed=build");
    println!("cargo::rerun-if-changed=src/output/wasm.rs");
    match core(&workspace).and_then(|module| hand_over(&module)) {
        Ok(()) => ExitCode::SUCCESS,
        Err(trouble) => {
            eprintln!("error: calc-wasm: {trouble}");
            ExitCode::FAILURE
        }
    }
}

/// The core of `workspace` as pages load it; compiled, unless it was kept.
fn core(workspace: &Path) -> Result<Module, String> {
    let target = target();
    let stamp = kept::stamp(workspace).map_err(|error| format!("cannot be read: {error}"))?;
    let place = kept::place(&target, &stamp);
    if let Some(module) = kept::read(&place) {
        return Ok(module);
    }
    let bound = |feature: &str| -> Result<Bound, String> {
        let compiled = toolchain::compile(workspace, &target, feature)?;
        bind::bind(compiled).map_err(|error| format!("cannot be made ready for the page: {error}"))
    };
    let module = Module {
        results: bound("results")?,
        code: bound("code")?,
    };
    kept::keep(&place, &module)
        .map_err(|error| format!("its compiled form cannot be kept: {error}"))?;
    Ok(module)
}

/// Cargo's folder for what is compiled: the one with cargo's mark that holds this crate's own.
fn target() -> PathBuf {
    let own = PathBuf::from(env::var_os("OUT_DIR").unwrap_or_default());
    own.ancestors()
        .find(|folder| folder.join("CACHEDIR.TAG").is_file())
        .map_or(own.clone(), Path::to_owned)
}

/// Hands the core to the compiler, for `src/shipped.rs` to take up.
fn hand_over(module: &Module) -> Result<(), String> {
    let own = PathBuf::from(env::var_os("OUT_DIR").unwrap_or_default());
    for (name, bytes) in kept::files(module) {
        fs::write(own.join(name), bytes).map_err(|error| format!("{name}: {error}"))?;
    }
    println!("cargo::rustc-env=CORE_SHA256={}", module.sha256());
    Ok(())
}
