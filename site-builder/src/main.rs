//! The `forerun` command: arguments, printing, exit code; nothing else.

use std::ffi::OsString;
use std::path::Path;
use std::process::ExitCode;

use calc_wasm::library::Library;
use calc_wasm::{calculators, report};
use lexopt::Arg;
use site_builder::{Job, build, data, preview, source};

const HELP: &str = "\
forerun – separation and purification at the bench, from Markdown to an offline site

  forerun                          build the site, then serve it on this machine
  forerun build                    write the site into public/
  forerun preview                  serve the built site on this machine
  forerun proof                    check everything and write nothing
  forerun compute NAME key=value…  work out one calculator, as text or with --json
  forerun compute                  list the calculators

  --content FOLDER   pages and data (content)
  --templates FOLDER templates, styles, scripts (templates)
  --published FOLDER published values for the page of checks (tests/published)
  --out FOLDER       the built site (public)
  --port NUMBER      where to serve (8064)

Exit code: 0 fine, 1 findings, 2 wrong use.
";

/// Wrong use of the command: a sentence, exit code 2.
struct Misuse(String);

impl<E: std::error::Error> From<E> for Misuse {
    fn from(error: E) -> Self {
        Misuse(error.to_string())
    }
}

struct Command {
    word: Option<String>,
    words: Vec<String>,
    job: Job,
    port: u16,
    json: bool,
}

fn main() -> ExitCode {
    match read(std::env::args_os().skip(1)).and_then(run) {
        Ok(code) => code,
        Err(Misuse(message)) => {
            eprintln!("forerun: {message}");
            ExitCode::from(2)
        }
    }
}

fn read(arguments: impl Iterator<Item = OsString>) -> Result<Command, Misuse> {
    let mut command = Command {
        word: None,
        words: Vec::new(),
        job: Job::default(),
        port: 8064,
        json: false,
    };
    let mut parser = lexopt::Parser::from_args(arguments);
    while let Some(argument) = parser.next()? {
        match argument {
            Arg::Long("content") => command.job.folders.content = parser.value()?.into(),
            Arg::Long("templates") => command.job.folders.templates = parser.value()?.into(),
            Arg::Long("published") => command.job.folders.published = parser.value()?.into(),
            Arg::Long("out") => command.job.out = parser.value()?.into(),
            Arg::Long("port") => {
                let text = parser.value()?.to_string_lossy().into_owned();
                command.port = text.parse().map_err(|_| {
                    Misuse(format!("`{text}` is no port; write a number up to 65535"))
                })?;
            }
            Arg::Long("json") => command.json = true,
            Arg::Long("help") | Arg::Short('h') => command.word = Some("help".into()),
            Arg::Value(word) => {
                let word = word
                    .into_string()
                    .map_err(|_| Misuse("a word is not UTF-8".into()))?;
                if command.word.is_none() {
                    command.word = Some(word);
                } else {
                    command.words.push(word);
                }
            }
            other => return Err(other.unexpected().into()),
        }
    }
    Ok(command)
}

fn run(mut command: Command) -> Result<ExitCode, Misuse> {
    match command.word.as_deref() {
        Some("build") => Ok(make(&command.job)),
        Some("preview") => show(&command.job.out, command.port),
        Some("proof") => {
            command.job.check_only = true;
            Ok(make(&command.job))
        }
        Some("compute") => compute(&command),
        Some("help") => {
            print!("{HELP}");
            Ok(ExitCode::SUCCESS)
        }
        Some(word) => Err(Misuse(format!(
            "there is no command `{word}`; `forerun --help` lists them"
        ))),
        None => {
            let code = make(&command.job);
            if code == ExitCode::SUCCESS {
                show(&command.job.out, command.port)
            } else {
                Ok(code)
            }
        }
    }
}

fn make(job: &Job) -> ExitCode {
    let start = std::time::Instant::now();
    match build(job) {
        Ok(built) => {
            for note in &built.notes {
                eprintln!("{note}");
            }
            let time = start.elapsed().as_millis();
            if job.check_only {
                println!("{} pages, nothing wrong, in {time} ms", built.pages);
            } else {
                println!(
                    "{} pages, {} KiB in {}, in {time} ms",
                    built.pages,
                    built.bytes.div_ceil(1024),
                    job.out.display()
                );
            }
            ExitCode::SUCCESS
        }
        Err(findings) => {
            for finding in &findings {
                eprintln!("{finding}");
            }
            eprintln!("{} findings; the site is as it was", findings.len());
            ExitCode::from(1)
        }
    }
}

fn show(folder: &Path, port: u16) -> Result<ExitCode, Misuse> {
    if !folder.join("index.html").exists() {
        return Err(Misuse(format!(
            "{} holds no site; run `forerun build` first",
            folder.display()
        )));
    }
    preview::serve(folder, port, |port| {
        println!("http://127.0.0.1:{port}/  (stop with Ctrl+C)")
    })
    .map_err(Misuse)?;
    Ok(ExitCode::SUCCESS)
}

fn compute(command: &Command) -> Result<ExitCode, Misuse> {
    let Some(name) = command.words.first() else {
        for calculator in calculators::all() {
            println!("{:24} {}", calculator.name, calculator.question);
        }
        return Ok(ExitCode::SUCCESS);
    };
    let calculator = calculators::find(name).ok_or_else(|| {
        let near = calculators::nearest(name).map(|near| format!("; the nearest is `{near}`"));
        Misuse(format!(
            "there is no calculator `{name}`{}",
            near.unwrap_or_default()
        ))
    })?;
    let pairs = command.words[1..]
        .iter()
        .map(|word| match word.split_once('=') {
            Some((key, value)) => Ok((key.trim().to_owned(), value.to_owned())),
            None => Err(Misuse(format!("`{word}` is not key=value"))),
        })
        .collect::<Result<Vec<_>, Misuse>>()?;
    let library = library(&command.job)?;
    let answer = calculator.run(&library, &pairs);
    if command.json {
        println!("{:#}", report::json(calculator, &answer));
    }
    match answer {
        Ok(outcome) => {
            if !command.json {
                print!("{}", report::text(calculator, &outcome));
            }
            Ok(ExitCode::SUCCESS)
        }
        Err(problems) => {
            if !command.json {
                for problem in problems {
                    eprintln!("{problem}");
                }
            }
            Ok(ExitCode::from(1))
        }
    }
}

/// The data tables of the content folder.
fn library(job: &Job) -> Result<Library, Misuse> {
    let (sources, findings) = source::read_data(&job.folders.content);
    let (tables, more) = data::read(&sources);
    if let Some(finding) = findings.iter().chain(&more).next() {
        return Err(Misuse(finding.to_string()));
    }
    Ok(Library::from_text(&data::flatten(&tables))?)
}
