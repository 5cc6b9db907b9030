//! Programs from npm that only tests need, and the line that says so where they cannot be had.

use std::fs;
use std::io::Write;
use std::path::PathBuf;
use std::process::Command;

/// What stands at this place of the repository.
///
/// # Panics
/// Where there is no repository.
pub fn path(from_root: &str) -> PathBuf {
    let root = fs::canonicalize(crate::root()).expect("the repository");
    root.join(from_root)
}

/// Says so past the harness, which would keep back what a passing test prints.
///
/// # Panics
/// Where nothing can be said.
pub fn skipped(what: &str, why: &str) {
    let line = format!("\n!!!! NOT TESTED: {what}: {why} !!!!\n\n");
    std::io::stderr()
        .write_all(line.as_bytes())
        .expect("stderr");
}

/// Whether the program answers when it is asked for its version.
pub fn is_there(program: &str) -> bool {
    let asked = Command::new(program).arg("--version").output();
    asked.is_ok_and(|answer| answer.status.success())
}

/// The folder of the packages that `tests/NAME/package.json` names, under the target folder;
/// fetched where they are not there, or are others.
///
/// # Errors
/// What npm said, or that there is none.
///
/// # Panics
/// Where the folder cannot be written.
pub fn installed(name: &str) -> Result<PathBuf, String> {
    let folder = path(&format!("target/{name}-tools"));
    let packages = folder.join("node_modules");
    // npm writes this file last.
    let mut fresh = packages.join(".package-lock.json").exists();
    fs::create_dir_all(&folder).expect("a folder");
    for file in ["package.json", "package-lock.json"] {
        let wanted = fs::read(path(&format!("tests/{name}/{file}"))).expect("what is wanted");
        let there = folder.join(file);
        fresh &= fs::read(&there).is_ok_and(|found| found == wanted);
        fs::write(there, wanted).expect("a file");
    }
    if fresh {
        return Ok(packages);
    }
    let fetched = Command::new("npm")
        .current_dir(&folder)
        .args([
            "ci",
            "--ignore-scripts",
            "--no-audit",
            "--no-fund",
            "--loglevel=error",
        ])
        .output()
        .map_err(|error| format!("npm: {error}"))?;
    if fetched.status.success() {
        return Ok(packages);
    }
    // What came in part must not pass for the whole.
    let _ = fs::remove_dir_all(&packages);
    Err(String::from_utf8_lossy(&fetched.stderr).into_owned())
}
