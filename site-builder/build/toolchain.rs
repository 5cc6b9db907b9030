//! What compiles the core for the browser, and how.

use std::env;
use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

const TARGET: &str = "wasm32-unknown-unknown";

/// A stack that is small puts the data at low addresses, which take a byte less wherever the code
/// names them; the deepest calculation uses a tenth of it.
const LINKING: &str = "-Clink-arg=-zstack-size=131072";

const LACKING: &str = "no toolchain here compiles for the browser\n      | run `rustup target add wasm32-unknown-unknown`, or on Debian `apt-get install rustc-web cargo-web rust-web-src lld`";

/// What must not reach the cargo that is started here: flags and target meant for this machine's
/// own programs, and what lints put before the compiler.
const NOT_FOR_THE_PAGE: [&str; 4] = [
    "RUSTFLAGS",
    "CARGO_ENCODED_RUSTFLAGS",
    "CARGO_BUILD_TARGET",
    "RUSTC_WORKSPACE_WRAPPER",
];

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
/// No toolchain can compile it (the words say what to install), or it does not compile.
pub fn compile(workspace: &Path, target: &Path, feature: &str) -> Result<Vec<u8>, String> {
    let route = ordinary(workspace, target)
        .or_else(|| debian(target))
        .ok_or(LACKING)?;
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
        .env(
            "CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_RUSTFLAGS",
            format!("{LINKING} {}", route.flags),
        )
        .envs(route.variables);
    for name in NOT_FOR_THE_PAGE {
        command.env_remove(name);
    }
    let output = command
        .output()
        .map_err(|error| format!("cargo cannot be started: {error}"))?;
    if !output.status.success() {
        let said = String::from_utf8_lossy(&output.stderr);
        return Err(format!(
            "does not compile for the browser\n{}",
            said.trim_end()
        ));
    }
    let compiled = route.folder.join(TARGET).join("wasm/calc_wasm.wasm");
    fs::read(&compiled).map_err(|error| format!("was not compiled: {error}"))
}

/// The toolchain at hand, where it has the target.
fn ordinary(workspace: &Path, target: &Path) -> Option<Route> {
    let at_hand = |name: &str, usual: &str| env::var_os(name).unwrap_or_else(|| usual.into());
    let cargo = at_hand("CARGO", "cargo");
    let output = Command::new(at_hand("RUSTC", "rustc"))
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
        folder: target.join("wasm"),
    })
}

/// Debian's packages: no compiled standard library for the browser, but its source.
fn debian(target: &Path) -> Option<Route> {
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
        // The cargo that runs this program names its own compiler's libraries here.
        ("LD_LIBRARY_PATH", ""),
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
        folder: target.join("wasm-debian"),
    })
}

/// A linker for WebAssembly: on the path, Debian's, or the one inside rustup's toolchain.
fn linker() -> Option<PathBuf> {
    let on_path = env::var_os("PATH")
        .into_iter()
        .flat_map(|path| env::split_paths(&path).collect::<Vec<_>>())
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
