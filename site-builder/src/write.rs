//! Stage 11: writes the whole site beside the old one, then swaps the two.
//!
//! Until the very last step the old site stands untouched; a build that is killed or meets a
//! full disk leaves it as it was. Where the system can, the swap is one step.

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
    let new = beside(out, "new");
    let written = whole(&new, out, files).and_then(|()| swap(&new, out));
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
    let Some(name) = out
        .file_name()
        .map(|name| format!(".{}-", name.to_string_lossy()))
    else {
        return;
    };
    let parent = out
        .parent()
        .filter(|p| !p.as_os_str().is_empty())
        .unwrap_or(Path::new("."));
    for entry in fs::read_dir(parent).into_iter().flatten().flatten() {
        let left = entry.file_name().to_string_lossy().into_owned();
        let Some(rest) = left.strip_prefix(&name) else {
            continue;
        };
        if rest.starts_with("old-") && !out.exists() {
            let _ = fs::rename(entry.path(), out);
        }
    }
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

fn whole(new: &Path, out: &Path, files: &Files) -> io::Result<()> {
    if new.exists() {
        fs::remove_dir_all(new)?;
    }
    fs::create_dir_all(new)?;
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
    fs::write(
        new.join(MARK),
        "Written by forerun; replaced whole by the next build.\n",
    )?;
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
        // Now `new` holds the old site.
        return fs::remove_dir_all(new);
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

    #[test]
    fn puts_the_old_site_back_after_a_killed_swap() {
        let folder = Folder::new("rescue");
        let out = folder.0.join("public");
        fs::create_dir(folder.0.join(".public-old-1")).expect("a folder");
        rescue(&out);
        assert!(out.exists());
    }
}
