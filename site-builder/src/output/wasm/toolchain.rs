//! Part of stage 9: what compiles the core for the browser, and how.

use super::target;
use crate::finding::Finding;
use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

const TARGET: &str = "wasm32-unknown-unknown";

/// A stack that is small puts the data at low addresses, which take a byte less wherever the code
/// names them; the deepest calculation uses a tenth of it.
const LINKING: &str = "-Clink-arg=-zstack-size=131072";

/// A way to compile for the browser.
struct Route {
    cargo: OsString,
    arguments: Vec<String>,
    variables: Vec<(String, OsString)>,
    flags: &'static str,
    folder: PathBuf,
}

/// The core with one of its features, as the linker leaves it.
///
/// # Errors
/// No toolchain can compile it (the finding says what to install), or it does not compile.
pub fn compile(workspace: &Path, feature: &str) -> Result<Vec<u8>, Finding> {
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
        .args(["--no-default-features", "--features", feature])
        .args(["--locked", "--target", TARGET, "--target-dir"])
        .arg(&route.folder)
        .args(&route.arguments)
        // Flags meant for this machine's own programs do not fit the browser's.
        .env_remove("RUSTFLAGS")
        .env(
            "CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_RUSTFLAGS",
            format!("{LINKING} {}", route.flags),
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
    let compiled = route.folder.join(TARGET).join("wasm/calc_wasm.wasm");
    fs::read(&compiled)
        .map_err(|error| Finding::whole("calc-wasm", format!("was not compiled: {error}")))
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
