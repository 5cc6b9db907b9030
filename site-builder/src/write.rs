//! Stage 9: the whole site is written beside the old one, then the two change places. Whatever
//! happens before the swap, the old site is as it was.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use crate::Files;
use crate::finding::Finding;

/// Writes `files` as the new content of `out`.
///
/// A `.gitignore` of the output folder is kept. An old site left behind by a killed build, under
/// its temporary name, is cleared away or, if the swap was cut in half, put back.
///
/// # Errors
/// What the disk refused; the previous site is then whole.
pub fn swap(out: &Path, files: &Files) -> Result<(), Finding> {
    let fail = |what: &str, path: &Path, error: io::Error| {
        Finding::whole(&path.display().to_string(), format!("{what}: {error}"))
            .mend("the previous site is as it was")
    };
    let fresh = beside(out, "new");
    let old = beside(out, "old");
    if old.exists() && !out.exists() {
        fs::rename(&old, out).map_err(|error| fail("cannot be put back", &old, error))?;
    }
    for leftover in [&fresh, &old] {
        if leftover.exists() {
            fs::remove_dir_all(leftover)
                .map_err(|error| fail("cannot be cleared away", leftover, error))?;
        }
    }
    if let Err((path, error)) = write_all(&fresh, out, files) {
        // A half-written new site is of no use to anybody.
        let _ = fs::remove_dir_all(&fresh);
        return Err(fail("cannot be written", &path, error));
    }
    if out.exists() {
        fs::rename(out, &old).map_err(|error| fail("cannot be moved aside", out, error))?;
    }
    if let Err(error) = fs::rename(&fresh, out) {
        let _ = fs::rename(&old, out);
        return Err(fail("cannot take its place", out, error));
    }
    // The new site stands; an old one that cannot be removed is cleared by the next build.
    let _ = fs::remove_dir_all(&old);
    Ok(())
}

/// A hidden neighbour of the output folder, on the same disk, so that renaming is one step.
fn beside(out: &Path, what: &str) -> PathBuf {
    let name = out
        .file_name()
        .map_or("site".into(), |name| name.to_string_lossy().into_owned());
    out.with_file_name(format!(".{name}-{what}"))
}

fn write_all(fresh: &Path, out: &Path, files: &Files) -> Result<(), (PathBuf, io::Error)> {
    let at = |path: &Path| {
        let path = path.to_owned();
        move |error| (path, error)
    };
    fs::create_dir_all(fresh).map_err(at(fresh))?;
    let kept = out.join(".gitignore");
    if kept.exists() {
        fs::copy(&kept, fresh.join(".gitignore")).map_err(at(&kept))?;
    }
    for (name, content) in files {
        let path = fresh.join(name);
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).map_err(at(folder))?;
        }
        fs::write(&path, content).map_err(at(&path))?;
    }
    Ok(())
}
