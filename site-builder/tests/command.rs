//! The program itself: what a shell sees of it.

use std::io::Read;
use std::path::Path;
use std::process::{Command, Stdio};

fn forerun() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_forerun"));
    command.current_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join(".."));
    command
}

/// `forerun compute | head -1`: the reader goes away before all is said.
#[test]
fn ends_quietly_when_nobody_reads_on() {
    for (words, reader_of_errors) in [(vec!["compute"], false), (vec!["help-me-please"], true)] {
        let mut child = forerun()
            .args(&words)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        // The pipe closes before the program has loaded; its first line already meets no reader.
        let mut errors = String::new();
        if reader_of_errors {
            drop(child.stderr.take());
        } else {
            drop(child.stdout.take());
            let mut stderr = child.stderr.take().expect("a pipe");
            stderr.read_to_string(&mut errors).expect("words");
        }
        let status = child.wait().expect("it ends");
        assert_eq!(errors, "", "{words:?}");
        // 128 and 13, the number of SIGPIPE in POSIX.1-2017, kill.
        assert_eq!(status.code(), Some(141), "{words:?}");
    }
}

#[test]
fn answers_a_command_that_is_misspelt() {
    let output = forerun().arg("biuld").output().expect("an answer");
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(
        said.starts_with("error: there is no command `biuld`; the nearest is `build`"),
        "{said}"
    );
}
