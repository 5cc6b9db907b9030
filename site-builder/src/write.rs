//! Stage 11: writes the whole site beside the old one, then swaps the two.
//!
//! Until the very last step the old site stands untouched; a build that is killed or meets a
//! full disk leaves it as it was. Where the system can, the swap is one step. What a killed build
//! leaves beside the site, the next one clears away.

use crate::finding::Finding;
use crate::offline::Files;
use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// A folder with this file in it was written by the builder and may be replaced.
pub const MARK: &str = ".forerun";

/// Writes `files` as the folder `out`.
///
/// # Errors
/// `out` holds something that the builder did not write, or the disk refuses.
pub fn site(out: &Path, files: &Files) -> Result<(), Finding> {
    let shown = out.display().to_string();
    rescue(out);
    if let Some(stranger) = stranger(out) {
        return Err(Finding::whole(
            &shown,
            format!("holds `{stranger}`, which the builder did not write"),
        )
        .mend("name an empty folder with --out"));
    }
    clear(out);
    let new = beside(out, "new");
    let written = claim(&new).and_then(|_hold| {
        whole(&new, out, files)?;
        swap(&new, out)
    });
    if written.is_err() {
        // What is half written is of no use; the old site is what counts.
        let _ = fs::remove_dir_all(&new);
    }
    written.map_err(|error| {
        Finding::whole(&shown, format!("cannot be written: {error}"))
            .mend("the previous site is as it was")
    })
}

/// `public` → `.public-new-123`, in the same folder so that a rename stays on one disk.
fn beside(out: &Path, what: &str) -> PathBuf {
    let name = out
        .file_name()
        .map_or("site".into(), |name| name.to_string_lossy());
    out.with_file_name(format!(".{name}-{what}-{}", std::process::id()))
}

/// Puts the old site back if an earlier build was killed between two renames.
fn rescue(out: &Path) {
    for old in left_beside(out, "old") {
        if !out.exists() {
            let _ = fs::rename(old, out);
        }
    }
}

/// Takes away what killed builds left half written. A build that still runs holds its folder; the
/// system lets go of it however the build ends, so a number that is given out again misleads nobody.
fn clear(out: &Path) {
    for folder in left_beside(out, "new") {
        let Ok(_hold) = hold(&folder) else {
            continue;
        };
        // What cannot be taken away now, a later build tries again.
        let _ = if folder.join(MARK).is_file() {
            fs::remove_dir_all(&folder)
        } else {
            // Killed before it had written its mark, and so empty; else it is somebody else's.
            fs::remove_dir(&folder)
        };
    }
}

/// The folders beside `out` that are named as [`beside`] names them, whoever made them.
fn left_beside(out: &Path, what: &str) -> Vec<PathBuf> {
    let Some(name) = out.file_name() else {
        return Vec::new();
    };
    let start = format!(".{}-{what}-", name.to_string_lossy());
    let parent = out
        .parent()
        .filter(|p| !p.as_os_str().is_empty())
        .unwrap_or(Path::new("."));
    let mut left: Vec<PathBuf> = fs::read_dir(parent)
        .into_iter()
        .flatten()
        .flatten()
        .filter(|entry| {
            let name = entry.file_name();
            let number = name.to_str().and_then(|name| name.strip_prefix(&start));
            number.is_some_and(|n| !n.is_empty() && n.bytes().all(|b| b.is_ascii_digit()))
        })
        .map(|entry| entry.path())
        .collect();
    left.sort();
    left
}

/// The first thing in the folder that tells it is somebody else's.
fn stranger(out: &Path) -> Option<String> {
    if out.is_file() {
        return Some("a file".into());
    }
    if out.join(MARK).is_file() {
        return None;
    }
    fs::read_dir(out)
        .into_iter()
        .flatten()
        .flatten()
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .find(|name| name != ".gitignore")
}

/// Makes the folder `new` and holds it until the answer is dropped.
fn claim(new: &Path) -> io::Result<Option<fs::File>> {
    if new.exists() {
        fs::remove_dir_all(new)?;
    }
    loop {
        fs::create_dir_all(new)?;
        match hold(new) {
            // Another build may have cleared it away before it was held.
            Ok(held) if new.exists() => return Ok(Some(held)),
            Ok(_) => {}
            Err(error) if error.kind() == io::ErrorKind::NotFound => {}
            // Where the system cannot hold folders, none is ever cleared away.
            Err(error) if error.kind() != io::ErrorKind::WouldBlock => return Ok(None),
            Err(_) => std::thread::yield_now(),
        }
    }
}

/// Holds a folder, unless another build does.
#[cfg(unix)]
fn hold(folder: &Path) -> io::Result<fs::File> {
    let folder = fs::File::open(folder)?;
    folder.try_lock()?;
    Ok(folder)
}

#[cfg(not(unix))]
fn hold(_: &Path) -> io::Result<fs::File> {
    Err(io::ErrorKind::Unsupported.into())
}

fn whole(new: &Path, out: &Path, files: &Files) -> io::Result<()> {
    // First of all, so that what is left of a killed build can be told from anything else.
    fs::write(
        new.join(MARK),
        "Written by forerun; replaced whole by the next build.\n",
    )?;
    let folders: BTreeSet<&str> = files
        .keys()
        .filter_map(|path| path.rsplit_once('/').map(|(folder, _)| folder))
        .collect();
    for folder in folders {
        fs::create_dir_all(new.join(folder))?;
    }
    let all: Vec<(&String, &Vec<u8>)> = files.iter().collect();
    let share = all.len().div_ceil(crate::workers()).max(1);
    std::thread::scope(|scope| {
        let hands: Vec<_> = all
            .chunks(share)
            .map(|chunk| {
                scope.spawn(move || {
                    chunk
                        .iter()
                        .try_for_each(|(path, bytes)| fs::write(new.join(path), bytes))
                })
            })
            .collect();
        hands.into_iter().try_for_each(|hand| {
            hand.join()
                .unwrap_or_else(|_| Err(io::Error::other("a writer stopped")))
        })
    })?;
    let keep = out.join(".gitignore");
    if keep.is_file() {
        fs::copy(keep, new.join(".gitignore"))?;
    }
    Ok(())
}

fn swap(new: &Path, out: &Path) -> io::Result<()> {
    if !out.exists() {
        return fs::rename(new, out);
    }
    if exchange(new, out) {
        // Now `new` holds the old site. The new one stands, so what cannot be taken away is no
        // failure; a later build tries again.
        let _ = fs::remove_dir_all(new);
        return Ok(());
    }
    let old = beside(out, "old");
    fs::rename(out, &old)?;
    if let Err(error) = fs::rename(new, out) {
        fs::rename(&old, out)?;
        return Err(error);
    }
    fs::remove_dir_all(&old)
}

/// Exchanges two folders in one step, where the system can.
#[cfg(any(target_os = "linux", target_vendor = "apple"))]
fn exchange(one: &Path, other: &Path) -> bool {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    renameat_with(CWD, one, CWD, other, RenameFlags::EXCHANGE).is_ok()
}

#[cfg(not(any(target_os = "linux", target_vendor = "apple")))]
fn exchange(_: &Path, _: &Path) -> bool {
    false
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Folder(PathBuf);

    impl Folder {
        fn new(name: &str) -> Self {
            let path = std::env::temp_dir().join(format!("forerun-{name}-{}", std::process::id()));
            let _ = fs::remove_dir_all(&path);
            fs::create_dir_all(&path).expect("a folder");
            Self(path)
        }

        fn left(&self) -> Vec<String> {
            let mut names: Vec<String> = fs::read_dir(&self.0)
                .expect("a folder")
                .map(|entry| {
                    entry
                        .expect("an entry")
                        .file_name()
                        .to_string_lossy()
                        .into_owned()
                })
                .collect();
            names.sort();
            names
        }
    }

    impl Drop for Folder {
        fn drop(&mut self) {
            let _ = fs::remove_dir_all(&self.0);
        }
    }

    fn files(words: &str) -> Files {
        Files::from([
            ("index.html".to_owned(), words.into()),
            ("a/b/index.html".to_owned(), words.into()),
        ])
    }

    #[test]
    fn replaces_the_old_site_whole_and_keeps_its_gitignore() {
        let folder = Folder::new("replace");
        let out = folder.0.join("public");
        fs::create_dir(&out).expect("a folder");
        fs::write(out.join(".gitignore"), "*").expect("a file");
        site(&out, &files("one")).expect("written");
        fs::write(out.join("left-over"), "").expect("a file");
        site(&out, &files("two")).expect("written again");
        assert_eq!(
            fs::read_to_string(out.join("a/b/index.html"))
                .ok()
                .as_deref(),
            Some("two")
        );
        assert!(!out.join("left-over").exists() && out.join(".gitignore").exists());
        assert_eq!(folder.left(), ["public"]);
    }

    #[test]
    fn leaves_the_old_site_when_the_new_one_cannot_be_written() {
        let folder = Folder::new("refuse");
        let out = folder.0.join("public");
        site(&out, &files("one")).expect("written");
        // A name that is a folder and a file at once: the disk refuses it half way.
        let mut broken = files("two");
        broken.insert("a".into(), Vec::new());
        assert!(site(&out, &broken).is_err());
        assert_eq!(
            fs::read_to_string(out.join("index.html")).ok().as_deref(),
            Some("one")
        );
        assert_eq!(folder.left(), ["public"]);
    }

    #[test]
    fn does_not_replace_a_folder_it_did_not_write() {
        let folder = Folder::new("stranger");
        fs::write(folder.0.join("thesis.tex"), "years of work").expect("a file");
        let finding = site(&folder.0, &files("one")).expect_err("refused");
        assert!(finding.message.contains("thesis.tex"));
        assert!(folder.0.join("thesis.tex").exists());
    }

    #[cfg(unix)]
    #[test]
    fn clears_away_what_a_killed_build_left_and_nothing_else() {
        let folder = Folder::new("clear");
        let out = folder.0.join("public");
        let left = |name: &str, mark: &str| {
            let path = folder.0.join(name);
            fs::create_dir_all(path.join("techniques")).expect("a folder");
            fs::write(path.join(mark), "").expect("a file");
            path
        };
        left(".public-new-11", MARK);
        fs::create_dir(folder.0.join(".public-new-12")).expect("a folder");
        left(".public-new-13", "thesis.tex");
        left(".public-new-ideas", MARK);
        let runs = hold(&left(".public-new-14", MARK)).expect("held");
        site(&out, &files("one")).expect("written");
        let strangers = [".public-new-13", ".public-new-ideas"];
        assert_eq!(
            folder.left(),
            [strangers[0], ".public-new-14", strangers[1], "public"]
        );
        drop(runs);
        site(&out, &files("two")).expect("written again");
        assert_eq!(folder.left(), [strangers[0], strangers[1], "public"]);
    }

    #[cfg(unix)]
    #[test]
    fn holds_the_folder_while_it_writes() {
        let folder = Folder::new("claim");
        let new = folder.0.join(".public-new-1");
        let held = claim(&new).expect("made");
        clear(&folder.0.join("public"));
        assert!(new.exists() && held.is_some());
    }

    #[test]
    fn puts_the_old_site_back_after_a_killed_swap() {
        let folder = Folder::new("rescue");
        let out = folder.0.join("public");
        fs::create_dir(folder.0.join(".public-old-1")).expect("a folder");
        rescue(&out);
        assert!(out.exists());
    }
}
