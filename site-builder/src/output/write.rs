//! Stage 11: writes the whole site beside the old one, then swaps the two.
//!
//! Until the very last step the old site stands untouched; a build that is killed or meets a
//! full disk leaves it as it was. Where the system can, the swap is one step. What a killed build
//! leaves beside the site, the next one clears away.

use crate::files::Files;
use crate::finding::Finding;
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
    let out = &place(out).map_err(|trouble| {
        Finding::whole(&shown, trouble).mend("name a folder with --out; a new one is made")
    })?;
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
        let _ = take_away(&new);
    }
    written.map_err(|error| {
        let mend = if error.kind() == io::ErrorKind::ResourceBusy {
            "a disk is mounted there, which cannot be swapped: name a folder inside it, as in \
             `--out public/site`; the previous site is as it was"
        } else {
            "the previous site is as it was"
        };
        Finding::whole(&shown, format!("cannot be written: {error}")).mend(mend)
    })
}

/// Where the site goes: `out`, or the folder that it leads to where it is a link. A swap would put
/// the site in the place of whatever else stands there.
fn place(out: &Path) -> Result<PathBuf, String> {
    let Ok(there) = fs::symlink_metadata(out) else {
        return Ok(out.to_owned());
    };
    if !there.is_symlink() {
        return match not_a_folder(there.file_type()) {
            Some(what) => Err(format!("is {what}, not a folder")),
            None => Ok(out.to_owned()),
        };
    }
    let target = fs::canonicalize(out).map_err(|_| "is a link that leads nowhere".to_owned())?;
    if target.is_dir() {
        Ok(target)
    } else {
        Err(format!(
            "is a link to `{}`, which is no folder",
            target.display()
        ))
    }
}

/// What a thing on the disk is, unless it is a folder.
fn not_a_folder(kind: fs::FileType) -> Option<&'static str> {
    #[cfg(unix)]
    {
        use std::os::unix::fs::FileTypeExt;
        if kind.is_block_device() || kind.is_char_device() {
            return Some("a device");
        }
        if kind.is_fifo() {
            return Some("a pipe");
        }
        if kind.is_socket() {
            return Some("a socket");
        }
    }
    (!kind.is_dir()).then_some("a file")
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
        } else if old.join(MARK).is_file() {
            // Killed after the second rename: the new site stands.
            let _ = take_away(&old);
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
            take_away(&folder)
        } else {
            // Killed before it had written its mark, and so empty; else it is somebody else's.
            fs::remove_dir(&folder)
        };
    }
}

/// Takes a folder of the builder's away, its mark last of all: should this be cut short, the next
/// build still knows whose it is.
fn take_away(folder: &Path) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        if entry.file_type()?.is_dir() {
            fs::remove_dir_all(entry.path())?;
        } else if entry.file_name() != MARK {
            fs::remove_file(entry.path())?;
        }
    }
    fs::remove_dir_all(folder)
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
    let share = all.len().div_ceil(crate::parallel::workers()).max(1);
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
    settle(new)
}

/// Sees to it that all of the new site is on the disk before it takes the place of the old one: a
/// swap may reach the disk before the files do, and a cut of power would leave empty ones. One call
/// for the whole disk; one for each file takes many times as long.
#[cfg(target_os = "linux")]
fn settle(new: &Path) -> io::Result<()> {
    Ok(rustix::fs::syncfs(fs::File::open(new)?)?)
}

#[cfg(not(target_os = "linux"))]
fn settle(new: &Path) -> io::Result<()> {
    for entry in walkdir::WalkDir::new(new) {
        let entry = entry?;
        if entry.file_type().is_file() {
            fs::File::open(entry.path())?.sync_all()?;
        }
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
        let _ = take_away(new);
        return Ok(());
    }
    let old = beside(out, "old");
    fs::rename(out, &old)?;
    if let Err(error) = fs::rename(new, out) {
        fs::rename(&old, out)?;
        return Err(error);
    }
    take_away(&old)
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

    /// A swap would put the site in the place of whatever stands there.
    #[cfg(unix)]
    #[test]
    fn takes_the_place_of_nothing_but_a_folder() {
        use rustix::fs::{CWD, FileType, Mode, mknodat};
        let folder = Folder::new("special");
        let at = |name: &str| folder.0.join(name);
        let _socket = std::os::unix::net::UnixListener::bind(at("socket")).expect("a socket");
        mknodat(CWD, at("pipe"), FileType::Fifo, Mode::RWXU, 0).expect("a pipe");
        fs::write(at("file"), "years of work").expect("a file");
        std::os::unix::fs::symlink("gone", at("nowhere")).expect("a link");
        std::os::unix::fs::symlink("file", at("to-file")).expect("a link");
        let mut told = vec![
            ("socket", "is a socket, not a folder"),
            ("pipe", "is a pipe, not a folder"),
            ("file", "is a file, not a folder"),
            ("nowhere", "is a link that leads nowhere"),
            ("to-file", "which is no folder"),
        ];
        // Only root makes devices. This one is 1, 3: writing to it does nothing.
        let device = rustix::fs::makedev(1, 3);
        let null = mknodat(
            CWD,
            at("null"),
            FileType::CharacterDevice,
            Mode::RWXU,
            device,
        );
        if null.is_ok() {
            told.push(("null", "is a device, not a folder"));
        }
        let before = folder.left();
        for (name, words) in told {
            let kind = |path: &Path| fs::symlink_metadata(path).expect("there").file_type();
            let was = kind(&at(name));
            let finding = site(&at(name), &files("one")).expect_err(name);
            assert!(finding.message.contains(words), "{}", finding.message);
            assert_eq!(kind(&at(name)), was, "{name}");
        }
        assert_eq!(folder.left(), before);
        assert_eq!(
            fs::read_to_string(at("file")).ok().as_deref(),
            Some("years of work")
        );
    }

    #[cfg(unix)]
    #[test]
    fn writes_through_a_link_to_a_folder() {
        let folder = Folder::new("through");
        let (target, link) = (folder.0.join("served"), folder.0.join("public"));
        fs::create_dir(&target).expect("a folder");
        std::os::unix::fs::symlink("served", &link).expect("a link");
        for words in ["one", "two"] {
            site(&link, &files(words)).expect("written");
            let page = fs::read_to_string(target.join("index.html"));
            assert_eq!(page.ok().as_deref(), Some(words));
            assert!(fs::symlink_metadata(&link).is_ok_and(|link| link.is_symlink()));
            assert_eq!(folder.left(), ["public", "served"]);
        }
    }

    /// Taking away was itself cut short: what is in the folder is gone in part, its mark is not.
    #[cfg(unix)]
    #[test]
    fn takes_the_mark_away_last() {
        let folder = Folder::new("mark");
        let left = folder.0.join(".public-new-1");
        fs::create_dir_all(left.join("a/b")).expect("a folder");
        fs::write(left.join(MARK), "").expect("a file");
        // So many files that somebody who looks meanwhile sees it half done.
        let many = left.join("many");
        fs::create_dir(&many).expect("a folder");
        let seen = std::thread::scope(|scope| {
            let watch = scope.spawn(|| {
                let mut lost = false;
                while left.exists() {
                    let marked = left.join(MARK).exists();
                    let holds = fs::read_dir(&left).is_ok_and(|mut all| all.next().is_some());
                    lost |= !marked && holds && !left.join(MARK).exists();
                }
                lost
            });
            for number in 0..2000 {
                fs::write(many.join(number.to_string()), "").expect("a file");
            }
            take_away(&left).expect("taken away");
            watch.join().expect("watched")
        });
        assert!(!seen, "the mark went before the rest");
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
