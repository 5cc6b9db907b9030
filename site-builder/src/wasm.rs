//! Stage 9: the calculators as WebAssembly, with bindings for the browser.
//!
//! Compiling takes most of a minute, so the result is kept under `target/` beside a stamp made
//! from the core's own sources; editing a page never compiles anything. This stage runs cargo
//! and keeps its own cache; it touches nothing of the site.

use crate::finding::Finding;
use sha2::{Digest, Sha256};
use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use walkdir::WalkDir;
use wasm_bindgen_cli_support::Bindgen;

/// What the page loads.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Module {
    /// The bindings, an ES module.
    pub script: String,
    /// The WebAssembly.
    pub wasm: Vec<u8>,
}

const TARGET: &str = "wasm32-unknown-unknown";

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
    let shown = "calc-wasm";
    let fail = |what: &str, error: &dyn std::fmt::Display| {
        Finding::whole(shown, format!("{what}: {error}"))
    };
    let stamp = stamp(workspace).map_err(|error| fail("cannot be read", &error))?;
    let kept = target(workspace)
        .join("forerun")
        .join(format!("module-{stamp}"));
    if let Some(module) = read(&kept) {
        return Ok(module);
    }
    let compiled = compile(workspace)?;
    let module = bind(&compiled).map_err(|error| fail("its bindings cannot be made", &error))?;
    keep(&kept, &module).map_err(|error| fail("its compiled form cannot be kept", &error))?;
    Ok(module)
}

/// The module as kept from an earlier build, if it still fits the core's sources.
pub fn kept(workspace: &Path) -> Option<Module> {
    let stamp = stamp(workspace).ok()?;
    read(
        &target(workspace)
            .join("forerun")
            .join(format!("module-{stamp}")),
    )
}

fn target(workspace: &Path) -> PathBuf {
    std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| workspace.join("target"), PathBuf::from)
}

/// A fingerprint of everything the module is made from.
fn stamp(workspace: &Path) -> std::io::Result<String> {
    let mut hash = Sha256::new();
    // How it is compiled is part of what it is.
    hash.update(include_str!("wasm.rs"));
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

fn read(folder: &Path) -> Option<Module> {
    Some(Module {
        script: fs::read_to_string(folder.join("calc.js")).ok()?,
        wasm: fs::read(folder.join("calc.wasm")).ok()?,
    })
}

/// Keeps the module whole or not at all: written beside its place, then renamed into it.
fn keep(folder: &Path, module: &Module) -> std::io::Result<()> {
    let parent = folder.parent().unwrap_or(Path::new("."));
    let half = parent.join(format!("half-{}", std::process::id()));
    fs::create_dir_all(&half)?;
    fs::write(half.join("calc.js"), &module.script)?;
    fs::write(half.join("calc.wasm"), &module.wasm)?;
    // Another build may have kept the same module meanwhile; either will do.
    if fs::rename(&half, folder).is_err() {
        fs::remove_dir_all(&half)?;
    }
    Ok(())
}

/// A way to compile for the browser.
struct Route {
    cargo: OsString,
    arguments: Vec<String>,
    variables: Vec<(String, OsString)>,
    flags: &'static str,
    folder: PathBuf,
}

fn compile(workspace: &Path) -> Result<PathBuf, Finding> {
    let route = ordinary(workspace)
        .or_else(|| debian(workspace))
        .ok_or_else(|| {
            Finding::whole("calc-wasm", "no toolchain here compiles for the browser").mend(
                "run `rustup target add wasm32-unknown-unknown`, or on Debian `apt-get install rustc-web cargo-web rust-web-src lld`",
            )
        })?;
    let mut command = Command::new(&route.cargo);
    command
        .current_dir(workspace)
        // As a cdylib alone: beside an rlib, cargo leaves link-time optimisation out, and the
        // download is a quarter larger.
        .args(["rustc", "--quiet", "--package", "calc-wasm", "--lib"])
        .args(["--crate-type", "cdylib", "--profile", "wasm"])
        .args(["--locked", "--target", TARGET, "--target-dir"])
        .arg(&route.folder)
        .args(&route.arguments)
        // Flags meant for this machine's own programs do not fit the browser's.
        .env_remove("RUSTFLAGS")
        // A stack that is small puts the data at low addresses, which take a byte less wherever
        // the code names them. The deepest calculation uses a tenth of it.
        .env(
            "CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_RUSTFLAGS",
            format!("-Clink-arg=-zstack-size=131072 {}", route.flags),
        )
        .env_remove("CARGO_ENCODED_RUSTFLAGS")
        .env_remove("CARGO_BUILD_TARGET")
        .envs(route.variables);
    let output = command.output().map_err(|error| {
        Finding::whole("calc-wasm", format!("cargo cannot be started: {error}"))
    })?;
    if !output.status.success() {
        let said = String::from_utf8_lossy(&output.stderr);
        return Err(Finding::whole(
            "calc-wasm",
            format!("does not compile for the browser\n{}", said.trim_end()),
        ));
    }
    Ok(route
        .folder
        .join(TARGET)
        .join("wasm")
        .join("calc_wasm.wasm"))
}

/// The toolchain at hand, where it has the target.
fn ordinary(workspace: &Path) -> Option<Route> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let output = Command::new("rustc")
        .current_dir(workspace)
        .args(["--print", "target-libdir", "--target", TARGET])
        .output()
        .ok()?;
    let folder = PathBuf::from(String::from_utf8(output.stdout).ok()?.trim());
    (output.status.success() && folder.is_dir()).then(|| Route {
        cargo,
        arguments: Vec::new(),
        variables: Vec::new(),
        flags: "",
        folder: target(workspace).join("wasm"),
    })
}

/// Debian's packages: no compiled standard library for the browser, but its source.
fn debian(workspace: &Path) -> Option<Route> {
    let cargo = Path::new("/usr/bin/cargo");
    let rustc = Path::new("/usr/bin/rustc");
    let sysroot = output(rustc, &["--print", "sysroot"])?;
    let source = Path::new(&sysroot).join("lib/rustlib/src/rust/library/std");
    if !cargo.is_file() || !source.is_dir() {
        return None;
    }
    let mut variables: Vec<(String, OsString)> = [
        ("RUSTC", "/usr/bin/rustc"),
        // Building the standard library is not yet stable; this is Debian's own way to do it.
        ("RUSTC_BOOTSTRAP", "1"),
    ]
    .map(|(name, value)| (name.to_owned(), value.into()))
    .into();
    variables.push((
        format!(
            "CARGO_TARGET_{}_LINKER",
            TARGET.to_uppercase().replace('-', "_")
        ),
        linker()?.into(),
    ));
    Some(Route {
        cargo: cargo.into(),
        arguments: [
            "-Zbuild-std=std,panic_abort",
            "-Zbuild-std-features=optimize_for_size",
        ]
        .map(str::to_owned)
        .into(),
        variables,
        // The whole library with the same profile: a panic ends the page's call at once.
        flags: "-Zunstable-options -Cpanic=immediate-abort",
        folder: target(workspace).join("wasm-debian"),
    })
}

/// A linker for WebAssembly: on the path, Debian's, or the one inside rustup's toolchain.
fn linker() -> Option<PathBuf> {
    let on_path = std::env::var_os("PATH")
        .into_iter()
        .flat_map(|path| std::env::split_paths(&path).collect::<Vec<_>>())
        .map(|folder| folder.join("rust-lld"))
        .find(|file| file.is_file());
    on_path.or_else(|| {
        let rustup = output(Path::new("rustc"), &["--print", "sysroot"])?;
        let host = output(Path::new("rustc"), &["--print", "host-tuple"])?;
        let inside = Path::new(&rustup)
            .join("lib/rustlib")
            .join(host)
            .join("bin/rust-lld");
        [inside, "/usr/bin/wasm-ld".into()]
            .into_iter()
            .find(|file| file.is_file())
    })
}

fn output(program: &Path, arguments: &[&str]) -> Option<String> {
    let output = Command::new(program).args(arguments).output().ok()?;
    output
        .status
        .success()
        .then(|| String::from_utf8_lossy(&output.stdout).trim().to_owned())
}

/// Functions that only word a panic. Nobody at a bench reads it; the page's call ends either way.
const WORDS_OF_PANICS: &[&str] = &[
    "9panicking",
    "slice_error_fail",
    "slice_index_fail",
    "unwrap_failed",
    "expect_failed",
    "capacity_overflow",
    "handle_alloc_error",
    "rust_panic",
    "8raw_vec12handle_error",
];

/// Ends the call at once where a panic would be worded first; what only that needed falls away.
fn without_words_of_panics(module: &mut walrus::Module) {
    let worded: Vec<walrus::FunctionId> = module
        .funcs
        .iter_local()
        .map(|(id, _)| module.funcs.get(id))
        .filter(|function| {
            function
                .name
                .as_deref()
                .is_some_and(|name| WORDS_OF_PANICS.iter().any(|part| name.contains(part)))
        })
        .map(walrus::Function::id)
        .collect();
    for id in worded {
        let kind = module.types.get(module.funcs.get(id).ty());
        let (arguments, results) = (kind.params().to_vec(), kind.results().to_vec());
        let mut builder = walrus::FunctionBuilder::new(&mut module.types, &arguments, &results);
        builder.func_body().unreachable();
        let locals = arguments
            .into_iter()
            .map(|kind| module.locals.add(kind))
            .collect();
        let ends = builder.local_func(locals);
        module.funcs.get_mut(id).kind = walrus::FunctionKind::Local(ends);
    }
}

fn bind(compiled: &Path) -> Result<Module, String> {
    let mut module = walrus::ModuleConfig::new()
        // Names are read, for the next step, but not written.
        .generate_name_section(false)
        .generate_producers_section(false)
        .parse_file(compiled)
        .map_err(|error| format!("{error:#}"))?;
    without_words_of_panics(&mut module);
    let mut output = Bindgen::new()
        .input_module("calc", module)
        .web(true)
        .and_then(|bindgen| {
            bindgen
                .typescript(false)
                // The page names the file itself, since it is named by its content.
                .omit_default_module_path(true)
                .generate_output()
        })
        .map_err(|error| format!("{error:#}"))?;
    let script = output.js().to_owned();
    Ok(Module {
        script,
        wasm: output.wasm_mut().emit_wasm(),
    })
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
        let before = stamp(&folder).expect("a stamp");
        assert_eq!(stamp(&folder).expect("the same"), before);
        fs::write(folder.join("calc-wasm/src/deep/a.rs"), "two").expect("a file");
        assert_ne!(stamp(&folder).expect("another"), before);
        fs::remove_dir_all(&folder).expect("tidied");
    }

    #[test]
    fn keeps_a_module_whole() {
        let folder = std::env::temp_dir().join(format!("forerun-keep-{}", std::process::id()));
        let module = Module {
            script: "s".into(),
            wasm: vec![0, 1],
        };
        keep(&folder.join("m"), &module).expect("kept");
        assert_eq!(read(&folder.join("m")), Some(module));
        assert_eq!(read(&folder.join("other")), None);
        fs::remove_dir_all(&folder).expect("tidied");
    }
}
