//! The `forerun` command: arguments, printing, exit code; nothing else.

mod arguments;
mod shipped;

use arguments::{Arguments, Command, Places};
use clap::Parser;
use site_builder::command::preview::Preview;
use site_builder::command::preview::watch::Watch;
use site_builder::command::{compute, proof, start};
use site_builder::files::Files;
use site_builder::finding::{Finding, Severity, spelling};
use site_builder::markdown::kept::Kept;
use site_builder::output::write;
use site_builder::read::source::Folders;
use site_builder::{build, build_again};
use std::fmt;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;
use std::time::Instant;

const FOUND: u8 = 1;
const WRONG_USE: u8 = 2;
/// Nobody reads on. As a shell counts it: 128 and the number of the signal SIGPIPE, 13.
const CLOSED_PIPE: u8 = 141;

fn main() -> ExitCode {
    match Arguments::try_parse() {
        Ok(arguments) => run(arguments),
        Err(answer) if !answer.use_stderr() => {
            say(answer.to_string().trim_end());
            ExitCode::SUCCESS
        }
        Err(error) => {
            warn(error.to_string().trim_end());
            ExitCode::from(WRONG_USE)
        }
    }
}

fn run(mut arguments: Arguments) -> ExitCode {
    let command = arguments
        .command
        .take()
        .unwrap_or(Command::Preview(arguments.port));
    match command {
        Command::Start { folder } => start_course(&folder),
        Command::Shipped { file } => shipped_file(file.as_deref()),
        Command::Completions { shell } => {
            let script = arguments::completions(shell);
            say(String::from_utf8_lossy(&script).trim_end());
            ExitCode::SUCCESS
        }
        Command::Manual { folder } => match arguments::manual(&folder) {
            Ok(()) => ExitCode::SUCCESS,
            Err(error) => {
                let shown = folder.display().to_string();
                report(&[Finding::whole(
                    &shown,
                    format!("cannot be written: {error}"),
                )])
            }
        },
        command => in_course(command, arguments.places),
    }
}

/// What is done in a course, from wherever inside it one is.
fn in_course(command: Command, mut places: Places) -> ExitCode {
    let answers = matches!(command, Command::Compute { .. });
    match places.go_to_course() {
        Ok(Some(course)) if !answers => {
            warn(format_args!("The course is in {}.", course.display()));
        }
        Ok(_) => {}
        Err(error) => {
            warn(format_args!("error: the course cannot be opened: {error}"));
            return ExitCode::from(FOUND);
        }
    }
    let course = Course::new(places);
    match command {
        Command::Compute { words, json } => course.compute(&words, json),
        Command::Proof => course.proof(),
        Command::Preview(port) => course.preview(port.port),
        _ => match course.build(None, |_| ()) {
            Ok(()) => ExitCode::SUCCESS,
            Err(_) => ExitCode::from(FOUND),
        },
    }
}

fn start_course(folder: &Path) -> ExitCode {
    match start::lay_out(folder, &shipped::course()) {
        Ok(()) => {
            let folder = folder.display();
            say(format_args!(
                "A small course is in {folder}. Go there; `forerun` shows it, README.md says the rest."
            ));
            ExitCode::SUCCESS
        }
        Err(finding) => report(&[finding]),
    }
}

fn shipped_file(file: Option<&str>) -> ExitCode {
    let files = shipped::by_path();
    let Some(file) = file else {
        let names: Vec<&str> = files.keys().map(String::as_str).collect();
        say(names.join("\n"));
        return ExitCode::SUCCESS;
    };
    match files.get(file) {
        Some(bytes) => {
            say(String::from_utf8_lossy(bytes).trim_end());
            ExitCode::SUCCESS
        }
        None => {
            let finding = Finding::whole(file, "is not inside the program");
            report(&[finding.maybe_mend(spelling(file, files.keys().map(String::as_str)))])
        }
    }
}

/// A course and where its site goes.
struct Course {
    folders: Folders,
    out: PathBuf,
}

impl Course {
    fn new(places: Places) -> Self {
        let usual = Folders::default();
        Self {
            folders: Folders {
                content: places.content.unwrap_or(usual.content),
                templates: places.templates.unwrap_or(usual.templates),
                published: places.published.unwrap_or(usual.published),
                shipped: shipped::files(),
            },
            out: places.out.unwrap_or_else(|| "public".into()),
        }
    }

    /// Builds and writes the site, and prints what was found. `ready` gets the files before they
    /// are on the disk.
    fn build(
        &self,
        kept: Option<&mut Kept>,
        ready: impl FnOnce(&Arc<Files>),
    ) -> Result<(), Vec<Finding>> {
        let found = self.built(kept, ready);
        match &found {
            Ok(findings) | Err(findings) => report(findings),
        };
        found.map(|_| ())
    }

    fn built(
        &self,
        kept: Option<&mut Kept>,
        ready: impl FnOnce(&Arc<Files>),
    ) -> Result<Vec<Finding>, Vec<Finding>> {
        let module = shipped::core().map_err(|finding| vec![finding])?;
        let begun = Instant::now();
        let built = build_again(&self.folders, &module, kept)?;
        let files = Arc::new(built.files);
        ready(&files);
        write::site(&self.out, &files).map_err(|finding| vec![finding])?;
        let took = begun.elapsed().as_millis();
        say(format_args!(
            "{} pages, {} files in {} ({took} ms).",
            built.pages,
            files.len(),
            self.out.display()
        ));
        Ok(built.findings)
    }

    fn preview(&self, port: u16) -> ExitCode {
        match Preview::listen(port, &self.folders.content) {
            Ok(preview) => {
                let mut watch = Watch::new(&self.folders);
                let mut kept = Kept::default();
                let mut build = || {
                    let show = |files: &Arc<Files>| preview.built(Ok(Arc::clone(files)));
                    // A site that cannot be written shows its findings; the previous one stands.
                    if let Err(findings) = self.build(Some(&mut kept), show) {
                        preview.built(Err(&findings));
                    }
                };
                build();
                say(format_args!(
                    "The site is at {} until you press Ctrl+C.",
                    preview.address()
                ));
                std::thread::scope(|scope| {
                    scope.spawn(move || {
                        loop {
                            watch.wait();
                            build();
                        }
                    });
                    preview.serve();
                });
                ExitCode::SUCCESS
            }
            Err(error) => {
                warn(format_args!(
                    "error: port {port} cannot be used: {error}\n      | name another with --port"
                ));
                ExitCode::from(FOUND)
            }
        }
    }

    fn proof(&self) -> ExitCode {
        let built = shipped::core()
            .map_err(|finding| vec![finding])
            .and_then(|module| build(&self.folders, &module));
        match built {
            Ok(built) => {
                let mut findings = built.findings;
                findings.extend(proof::check(&built.files));
                let code = report(&findings);
                say(format_args!(
                    "{} pages, {} findings.",
                    built.pages,
                    findings.len()
                ));
                code
            }
            Err(findings) => report(&findings),
        }
    }

    fn compute(&self, words: &[String], json: bool) -> ExitCode {
        match compute::run(&self.folders, words, json) {
            Ok(answer) => {
                if answer.refused && !json {
                    warn(&answer.text);
                } else {
                    say(&answer.text);
                }
                if answer.refused {
                    ExitCode::from(FOUND)
                } else {
                    ExitCode::SUCCESS
                }
            }
            Err(compute::Trouble::Use(message)) => {
                warn(format_args!("error: {message}"));
                ExitCode::from(WRONG_USE)
            }
            Err(compute::Trouble::Data(findings)) => report(&findings),
        }
    }
}

/// Prints findings; says whether any of them is an error.
fn report(findings: &[Finding]) -> ExitCode {
    for finding in findings {
        warn(finding);
    }
    let errors = findings
        .iter()
        .filter(|finding| finding.severity == Severity::Error)
        .count();
    if errors == 0 {
        return ExitCode::SUCCESS;
    }
    let s = if errors == 1 { "" } else { "s" };
    warn(format_args!("{errors} error{s}."));
    ExitCode::from(FOUND)
}

/// Prints a line for the reader.
fn say(words: impl fmt::Display) {
    print(io::stdout().lock(), words);
}

/// Prints a line beside what is read.
fn warn(words: impl fmt::Display) {
    print(io::stderr().lock(), words);
}

/// Prints a line. A reader who has seen enough (`forerun compute | head -1`) closes the pipe;
/// the program then ends without a word, as others do.
fn print(mut out: impl Write, words: impl fmt::Display) {
    if let Err(error) = writeln!(out, "{words}").and_then(|()| out.flush())
        && error.kind() == io::ErrorKind::BrokenPipe
    {
        std::process::exit(CLOSED_PIPE.into());
    }
}
