//! The `forerun` command: arguments, printing, exit code; nothing else.

mod shipped;

use lexopt::{Arg, Parser, ValueExt};
use site_builder::command::preview::Preview;
use site_builder::command::preview::watch::Watch;
use site_builder::command::{compute, proof};
use site_builder::files::Files;
use site_builder::finding::{Finding, Severity, choice};
use site_builder::markdown::kept::Kept;
use site_builder::output::write;
use site_builder::read::source::Folders;
use site_builder::{build, build_again};
use std::fmt;
use std::io::{self, Write};
use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::Arc;
use std::time::Instant;

const HELP: &str = "\
forerun                     build the site and serve it on this machine
forerun build               write the site
forerun preview [--port N]  write the site, serve it, write it anew on each change
forerun proof               check everything, write nothing
forerun compute NAME key=value … [--json]
                            run a calculator here; without NAME, list them

  --content DIR    pages and data       (content)
  --templates DIR  templates and style  (templates)
  --published DIR  published values     (tests/published)
  --out DIR        the finished site    (public)
  --port N         for preview          (8064)

Exit code: 0 all is well, 1 something was found, 2 wrong use.
";

const FOUND: u8 = 1;
const WRONG_USE: u8 = 2;
/// Nobody reads on. As a shell counts it: 128 and the number of the signal SIGPIPE, 13.
const CLOSED_PIPE: u8 = 141;

fn main() -> ExitCode {
    match read_arguments() {
        Ok(request) => request.run(),
        Err(error) => {
            warn(format_args!("error: {error}\n\n{HELP}"));
            ExitCode::from(WRONG_USE)
        }
    }
}

struct Request {
    command: String,
    words: Vec<String>,
    folders: Folders,
    out: PathBuf,
    port: u16,
    json: bool,
}

const COMMANDS: [&str; 4] = ["build", "preview", "proof", "compute"];

fn read_arguments() -> Result<Request, lexopt::Error> {
    let mut request = Request {
        command: String::new(),
        words: Vec::new(),
        folders: Folders {
            shipped: shipped::files(),
            ..Folders::default()
        },
        out: "public".into(),
        port: 8064,
        json: false,
    };
    let mut parser = Parser::from_env();
    while let Some(argument) = parser.next()? {
        match argument {
            Arg::Long("content") => request.folders.content = parser.value()?.into(),
            Arg::Long("templates") => request.folders.templates = parser.value()?.into(),
            Arg::Long("published") => request.folders.published = parser.value()?.into(),
            Arg::Long("out") => request.out = parser.value()?.into(),
            Arg::Long("port") => request.port = parser.value()?.parse()?,
            Arg::Long("json") => request.json = true,
            Arg::Long("version") | Arg::Short('V') => request.command = "version".into(),
            Arg::Long("help") | Arg::Short('h') => request.command = "help".into(),
            Arg::Value(word) if request.command.is_empty() => request.command = word.string()?,
            Arg::Value(word) => request.words.push(word.string()?),
            Arg::Short(_) | Arg::Long(_) => return Err(argument.unexpected()),
        }
    }
    let known = COMMANDS.contains(&request.command.as_str());
    if !known && !["", "help", "version"].contains(&request.command.as_str()) {
        let mend = choice(&request.command, &COMMANDS);
        return Err(format!("there is no command `{}`; {mend}", request.command).into());
    }
    if request.command != "compute" && !request.words.is_empty() {
        return Err(format!("`{}` is one word too many", request.words[0]).into());
    }
    Ok(request)
}

impl Request {
    fn run(&self) -> ExitCode {
        match self.command.as_str() {
            "help" => {
                say(HELP.trim_end());
                ExitCode::SUCCESS
            }
            "version" => {
                say(concat!("forerun ", env!("CARGO_PKG_VERSION")));
                ExitCode::SUCCESS
            }
            "compute" => self.compute(),
            "proof" => self.proof(),
            "build" => match self.build(None, |_| ()) {
                Ok(()) => ExitCode::SUCCESS,
                Err(_) => ExitCode::from(FOUND),
            },
            _ => self.preview(),
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

    fn preview(&self) -> ExitCode {
        match Preview::listen(self.port, &self.folders.content) {
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
                    "error: port {} cannot be used: {error}\n      | name another with --port",
                    self.port
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

    fn compute(&self) -> ExitCode {
        match compute::run(&self.folders, &self.words, self.json) {
            Ok(answer) => {
                if answer.refused && !self.json {
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
