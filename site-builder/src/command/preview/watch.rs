//! Sees when an author saves something, and waits until it is whole.

use crate::read::source::Folders;
use std::collections::hash_map::DefaultHasher;
use std::hash::{Hash, Hasher};
use std::time::{Duration, Instant};
use walkdir::WalkDir;

/// Often enough that a saved page is there before one has turned to the browser.
const LOOK_EVERY: Duration = Duration::from_millis(40);
/// Looking takes at most one part in so many of a core's time, however many files there are.
const SHARE: u32 = 5;
/// A file that is empty is most likely being written, but not for longer than this.
const PATIENCE: Duration = Duration::from_millis(1500);

/// Watches folders. It looks at names, sizes and times again and again: what the system would tell
/// by itself it tells neither of network drives nor of folders shared with a container, and a look
/// at a thousand files takes some two milliseconds.
#[derive(Debug)]
pub struct Watch<'f> {
    folders: &'f Folders,
    seen: Glance,
}

impl<'f> Watch<'f> {
    /// Watches from now on: what is saved while the first build runs is seen when it is done.
    pub fn new(folders: &'f Folders) -> Self {
        let seen = Glance::of(folders);
        Self { folders, seen }
    }

    /// Waits for the next save, and then until the files are quiet: an editor that empties a file
    /// and then writes it is not caught between the two.
    pub fn wait(&mut self) {
        let mut now = self.look();
        while now.state == self.seen.state {
            now = self.look();
        }
        let since = Instant::now();
        loop {
            let next = self.look();
            let emptied = next.empty > self.seen.empty && since.elapsed() < PATIENCE;
            if next.state == now.state && !emptied {
                break;
            }
            now = next;
        }
        self.seen = now;
    }

    /// Looks again after a while.
    fn look(&self) -> Glance {
        std::thread::sleep(LOOK_EVERY.max(self.seen.took * (SHARE - 1)));
        Glance::of(self.folders)
    }
}

/// What a look at the folders sees.
#[derive(Debug)]
struct Glance {
    /// A fingerprint of names, sizes and times of everything.
    state: u64,
    /// How many files hold nothing.
    empty: usize,
    took: Duration,
}

impl Glance {
    fn of(folders: &Folders) -> Self {
        let began = Instant::now();
        let mut hash = DefaultHasher::new();
        let mut empty = 0;
        for folder in [&folders.content, &folders.templates, &folders.published] {
            for entry in WalkDir::new(folder)
                .sort_by_file_name()
                .into_iter()
                .flatten()
            {
                entry.path().hash(&mut hash);
                if let Ok(facts) = entry.metadata() {
                    facts.len().hash(&mut hash);
                    facts.modified().ok().hash(&mut hash);
                    empty += usize::from(facts.is_file() && facts.len() == 0);
                }
            }
        }
        Self {
            state: hash.finish(),
            empty,
            took: began.elapsed(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;
    use std::path::PathBuf;
    use std::thread;

    /// A folder that is gone with the test.
    struct Desk(PathBuf, Folders);

    impl Desk {
        fn new(name: &str) -> Self {
            let folder =
                std::env::temp_dir().join(format!("forerun-{name}-{}", std::process::id()));
            fs::create_dir_all(&folder).expect("a folder");
            fs::write(folder.join("a.md"), "first").expect("a file");
            let folders = Folders {
                content: folder.clone(),
                templates: folder.join("t"),
                published: folder.join("p"),
                ..Folders::default()
            };
            Desk(folder, folders)
        }
    }

    impl Drop for Desk {
        fn drop(&mut self) {
            let _ = fs::remove_dir_all(&self.0);
        }
    }

    #[test]
    fn sees_what_was_saved_while_a_build_ran() {
        let desk = Desk::new("watch-first");
        let mut watch = Watch::new(&desk.1);
        // The first build runs here.
        fs::write(desk.0.join("a.md"), "saved meanwhile").expect("a file");
        let began = Instant::now();
        watch.wait();
        assert!(began.elapsed() < Duration::from_secs(5));
        // And again, while the second one runs.
        fs::write(desk.0.join("b.md"), "another").expect("a file");
        watch.wait();
    }

    #[test]
    fn waits_until_a_file_is_whole() {
        let desk = Desk::new("watch-whole");
        let file = desk.0.join("a.md");
        let mut watch = Watch::new(&desk.1);
        let saving = thread::spawn({
            let file = file.clone();
            move || {
                fs::write(&file, "").expect("emptied");
                thread::sleep(Duration::from_millis(400));
                fs::write(&file, "whole").expect("written");
            }
        });
        watch.wait();
        assert_eq!(fs::read_to_string(&file).expect("a file"), "whole");
        saving.join().expect("saved");
    }

    /// A file that is meant to be empty is not waited for without end.
    #[test]
    fn takes_an_empty_file_in_the_end() {
        let desk = Desk::new("watch-empty");
        let mut watch = Watch::new(&desk.1);
        fs::write(desk.0.join("a.md"), "").expect("emptied");
        watch.wait();
    }
}
