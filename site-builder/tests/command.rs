//! The program itself: what a shell sees of it.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Duration;

fn forerun() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_forerun"));
    command.current_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join(".."));
    command
}

/// `forerun compute | head -1`: the reader goes away before all is said.
#[test]
fn ends_quietly_when_nobody_reads_on() {
    for (words, reader_of_errors) in [(vec!["compute"], false), (vec!["help-me-please"], true)] {
        // Nobody holds the other end, from the first line on.
        let (reader, closed) = std::io::pipe().expect("a pipe");
        drop(reader);
        let mut child = forerun();
        child.args(&words).stdout(Stdio::null());
        if reader_of_errors {
            child.stderr(closed);
        } else {
            child.stdout(closed).stderr(Stdio::piped());
        }
        let child = child.spawn().expect("the program starts");
        let output = child.wait_with_output().expect("it ends");
        assert_eq!(String::from_utf8_lossy(&output.stderr), "", "{words:?}");
        let status = output.status;
        // 128 and 13, the number of SIGPIPE in POSIX.1-2017, kill.
        assert_eq!(status.code(), Some(141), "{words:?}");
    }
}

#[test]
fn answers_a_command_that_is_misspelt() {
    let output = forerun().arg("biuld").output().expect("an answer");
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8_lossy(&output.stderr);
    for part in [
        "error: unrecognized subcommand 'biuld'",
        "'build'",
        "Usage: ",
    ] {
        assert!(said.contains(part), "{part} is missing in\n{said}");
    }
}

#[test]
fn every_command_has_its_help() {
    let said = |words: &[&str]| {
        let output = forerun().args(words).output().expect("an answer");
        assert_eq!(output.status.code(), Some(0), "{words:?}");
        String::from_utf8(output.stdout).expect("text")
    };
    let help = said(&["--help"]);
    let commands: Vec<&str> = help
        .lines()
        .skip_while(|line| *line != "Commands:")
        .skip(1)
        .map_while(|line| line.split_whitespace().next())
        .filter(|command| *command != "help")
        .collect();
    for command in ["start", "preview", "proof", "build", "compute", "shipped"] {
        assert!(
            commands.contains(&command),
            "{command} is missing in\n{help}"
        );
    }
    for command in commands {
        let own = said(&[command, "--help"]);
        assert!(own.contains(&format!("Usage: forerun {command}")), "{own}");
    }
    let version = env!("CARGO_PKG_VERSION");
    assert_eq!(said(&["--version"]).trim(), format!("forerun {version}"));
}

#[test]
fn shells_and_manuals_are_served() {
    let house = House::new("manual");
    for (shell, mark) in [
        ("bash", "complete -F _forerun"),
        ("zsh", "#compdef forerun"),
    ] {
        let output = forerun()
            .args(["completions", shell])
            .output()
            .expect("an answer");
        let script = String::from_utf8_lossy(&output.stdout);
        assert!(
            script.contains(mark) && script.contains("--templates"),
            "{script}"
        );
    }
    let folder = house.0.join("manual");
    let written = forerun()
        .arg("manual")
        .arg(&folder)
        .status()
        .expect("an answer");
    assert!(written.success());
    for (page, says) in [
        ("forerun.1", "laboratory technique"),
        ("forerun-start.1", "small course"),
    ] {
        let text = fs::read_to_string(folder.join(page)).expect("a page of the manual");
        // man(7): every page begins with a title line.
        assert!(
            text.contains("\n.TH ") && text.contains(says),
            "{page}: {text}"
        );
    }
}

/// A folder with a content of its own, gone when the test ends.
struct House(PathBuf);

impl House {
    fn new(name: &str) -> Self {
        let root = std::env::temp_dir().join(format!("forerun-{name}-{}", std::process::id()));
        fs::create_dir_all(root.join("content")).expect("a folder");
        Self(root)
    }

    fn page(&self, name: &str, body: &str) {
        let text = format!("---\ntitle: T\nkind: page\nsummary: S.\n---\n\n{body}\n");
        fs::write(self.0.join("content").join(name), text).expect("a page");
    }

    /// All pages say the same word, so that a site that is half of each would show.
    fn pages(&self, word: &str) {
        for number in 0..200 {
            self.page(&format!("page-{number}.md"), word);
        }
    }

    fn arguments(&self, command: &str) -> Vec<String> {
        let folder = |name: &str| self.0.join(name).display().to_string();
        vec![
            command.into(),
            "--content".into(),
            folder("content"),
            "--published".into(),
            folder("published"),
            "--out".into(),
            folder("public"),
        ]
    }

    /// Builds the site, which must work.
    fn build(&self) {
        let built = forerun()
            .args(self.arguments("build"))
            .output()
            .expect("a build");
        assert!(
            built.status.success(),
            "{}",
            String::from_utf8_lossy(&built.stderr)
        );
    }

    /// The words that the pages of the site say.
    fn words(&self) -> BTreeSet<&'static str> {
        (0..200)
            .map(|number| {
                let file = self.0.join(format!("public/page-{number}/index.html"));
                let html = fs::read_to_string(file).expect("every page is there");
                assert!(html.trim_end().ends_with("</html>"), "a page is cut off");
                let says = |word: &str| html.contains(&format!("<p>{word}</p>"));
                ["First.", "Second."]
                    .into_iter()
                    .find(|word| says(word))
                    .expect("a word")
            })
            .collect()
    }
}

impl Drop for House {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

#[test]
fn a_build_that_is_killed_leaves_a_whole_site() {
    killed(20);
}

/// The same at two hundred moments; takes a minute:
///
///     cargo test --release -p site-builder --test command -- --ignored
#[test]
#[ignore = "takes a minute"]
fn two_hundred_builds_that_are_killed_leave_a_whole_site() {
    killed(200);
}

/// Kills a build `times` times, between its start and some 400 ms later.
fn killed(times: u64) {
    let house = House::new(&format!("killed-{times}"));
    house.pages("First.");
    house.build();
    house.pages("Second.");
    for attempt in 0..times {
        let after = Duration::from_millis(attempt * 400 / times);
        let mut build = forerun()
            .args(house.arguments("build"))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("a build");
        std::thread::sleep(after);
        build.kill().expect("killed, or done already");
        build.wait().expect("ended");
        assert_eq!(house.words().len(), 1, "after {after:?}");
    }
    house.build();
    assert_eq!(house.words(), BTreeSet::from(["Second."]));
    let left = fs::read_dir(&house.0).expect("the folder").count();
    assert_eq!(left, 2, "content and public, nothing of the killed builds");
}

/// A pipe where the site should go is refused, and still a pipe.
#[cfg(unix)]
#[test]
fn a_pipe_is_not_replaced_by_a_site() {
    use std::os::unix::fs::FileTypeExt;
    let house = House::new("pipe");
    house.page("one.md", "Text.");
    let made = Command::new("mkfifo").arg(house.0.join("public")).status();
    assert!(made.expect("mkfifo").success());
    let built = forerun()
        .args(house.arguments("build"))
        .output()
        .expect("an answer");
    let said = String::from_utf8_lossy(&built.stderr);
    assert_eq!(built.status.code(), Some(1), "{said}");
    assert!(said.contains("is a pipe, not a folder"), "{said}");
    let there = fs::symlink_metadata(house.0.join("public")).expect("still there");
    assert!(there.file_type().is_fifo());
}

/// The system refuses to write on, as a full disk does: here beyond 4 KiB of a file.
#[cfg(unix)]
#[test]
fn a_disk_that_takes_no_more_leaves_the_old_site() {
    let house = House::new("full");
    house.pages("First.");
    house.build();
    house.pages("Second.");
    let full = Command::new("sh")
        .current_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join(".."))
        // POSIX.1-2017: `ulimit -f` counts blocks of 512 bytes; the signal is ignored, so that
        // the program gets the error.
        .args(["-c", "trap '' XFSZ; ulimit -f 8; exec \"$@\"", "sh"])
        .arg(env!("CARGO_BIN_EXE_forerun"))
        .args(house.arguments("build"))
        .output()
        .expect("a build");
    let said = String::from_utf8_lossy(&full.stderr);
    assert_eq!(full.status.code(), Some(1), "{said}");
    assert!(
        said.contains("cannot be written") && said.contains("the previous site is as it was"),
        "{said}"
    );
    assert_eq!(house.words(), BTreeSet::from(["First."]));
    let left = fs::read_dir(&house.0).expect("the folder").count();
    assert_eq!(left, 2, "content and public, nothing half written");
}

/// A disk of its own, in memory; none where the test may not mount one.
#[cfg(target_os = "linux")]
struct Disk(PathBuf);

#[cfg(target_os = "linux")]
impl Disk {
    fn new(folder: &Path, kibibytes: u32) -> Option<Self> {
        fs::create_dir_all(folder).expect("a folder");
        let mounted = Command::new("mount")
            .args(["-t", "tmpfs", "-o", &format!("size={kibibytes}k"), "tmpfs"])
            .arg(folder)
            .stderr(Stdio::null())
            .status();
        mounted
            .is_ok_and(|status| status.success())
            .then(|| Self(folder.to_owned()))
    }
}

#[cfg(target_os = "linux")]
impl Drop for Disk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(&self.0).status();
    }
}

/// Fills the disk of `file` until `left` bytes are free.
#[cfg(target_os = "linux")]
fn fill(file: &Path, left: usize) {
    use std::io::Write as _;
    let mut ballast = fs::File::create(file).expect("a file");
    while ballast.write_all(&[1; 4096]).is_ok() {}
    let full = ballast.metadata().expect("its size").len();
    ballast.set_len(full - left as u64).expect("room again");
}

/// A disk that is full while the second site is written beside the first.
#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_leaves_the_old_site() {
    let house = House::new("disk");
    let Some(_disk) = Disk::new(&house.0.join("disk"), 32 * 1024) else {
        eprintln!("SKIPPED: only root may mount a small disk, so a full one was not tried");
        return;
    };
    house.pages("First.");
    let build = || {
        let mut arguments = house.arguments("build");
        let out = arguments.last_mut().expect("the folder");
        *out = house.0.join("disk/public").display().to_string();
        forerun().args(arguments).output().expect("a build")
    };
    let site = || {
        let mut files = std::collections::BTreeMap::new();
        for entry in walkdir::WalkDir::new(house.0.join("disk"))
            .into_iter()
            .flatten()
        {
            if entry.file_type().is_file() {
                let bytes = fs::read(entry.path()).expect("a file");
                files.insert(entry.into_path(), bytes);
            }
        }
        files
    };
    let first = build();
    assert!(
        first.status.success(),
        "{}",
        String::from_utf8_lossy(&first.stderr)
    );
    let size: usize = site().values().map(Vec::len).sum();
    assert!(size > 1 << 20, "{size} bytes");
    fill(&house.0.join("disk/ballast"), size / 2);
    let before = site();
    house.pages("Second.");
    let full = build();
    let said = String::from_utf8_lossy(&full.stderr);
    assert_eq!(full.status.code(), Some(1), "{said}");
    assert!(said.contains("the previous site is as it was"), "{said}");
    assert!(
        site() == before,
        "the site is as it was, and nothing lies beside it"
    );
}

#[test]
fn proof_reports_everything_at_once_and_writes_nothing() {
    let house = House::new("proof");
    house.page("links.md", "[a](page:gone), [b](#gone), ![](gone.png)");
    house.page(
        "values.md",
        "```calculator gauge-reading\nguage = \"dial\"\ndifference = \"-5 mmHg\"\n```",
    );
    fs::write(house.0.join("content/bare.md"), "---\nkind: page\n---\n").expect("a page");
    let proof = forerun()
        .args(house.arguments("proof"))
        .output()
        .expect("an answer");
    let said = String::from_utf8_lossy(&proof.stderr);
    assert_eq!(proof.status.code(), Some(1), "{said}");
    for part in [
        "there is no page `gone`",
        "this page has no anchor `#gone`",
        "has no alternative text",
        "there is no picture `gone.png`",
        "has no input `guage`",
        "`title` is missing",
    ] {
        assert!(said.contains(part), "{part} is missing in\n{said}");
    }
    assert!(!house.0.join("public").exists());
    house.page("links.md", "Text.");
    house.page("values.md", "Text.");
    house.page("bare.md", "Text.");
    let proof = forerun()
        .args(house.arguments("proof"))
        .output()
        .expect("an answer");
    assert_eq!(
        proof.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&proof.stderr)
    );
}

/// Nothing typed is not a question: the answer says that it is an example, and of what.
#[test]
fn an_answer_to_nothing_says_that_it_is_an_example() {
    let run = |words: &[&str]| {
        let done = Command::new(env!("CARGO_BIN_EXE_forerun"))
            .args(["compute", "boiling-point", "--content"])
            .arg(Path::new(env!("CARGO_MANIFEST_DIR")).join("../content"))
            .args(words)
            .output()
            .expect("it runs");
        String::from_utf8(done.stdout).expect("text")
    };
    let example = run(&[]);
    assert!(
        example.contains("An example: no value was given"),
        "{example}"
    );
    assert!(example.contains("substance=\"toluene\""), "{example}");
    assert!(!run(&["pressure=20 mmHg"]).contains("An example"));
}
