//! How fast sites are built. Left out of an ordinary run, because figures from a busy machine
//! mean nothing:
//!
//!     cargo test --release -p forerun-tests --test build_speed -- --ignored --nocapture --test-threads 1

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Instant;

use site_builder::markdown::kept::Kept;
use site_builder::output::wasm::{Bound, Module};
use site_builder::output::write;
use site_builder::read::source::Folders;
use site_builder::{build, build_again};

/// As many pages as there are numbers below `pages`, each with text, links, a list, a table,
/// two numbers in the prose and a calculator with values of its own.
fn content(root: &Path, pages: usize) -> Folders {
    let content = root.join("content");
    let _ = fs::remove_dir_all(root);
    fs::create_dir_all(content.join("data")).expect("a folder");
    for table in ["substances", "sources", "columns", "bath_fluids"] {
        let file = format!("data/{table}.toml");
        let from = forerun_tests::root().join("content").join(&file);
        if from.exists() {
            fs::copy(from, content.join(&file)).expect("a table");
        }
    }
    for number in 0..pages {
        fs::write(
            content.join(format!("page-{number}.md")),
            page(number, pages),
        )
        .expect("a page");
    }
    Folders {
        content,
        templates: forerun_tests::root().join("templates"),
        published: root.join("published"),
        ..Folders::default()
    }
}

fn page(number: usize, pages: usize) -> String {
    let pressure = 20 + number % 700;
    let mut text = format!(
        "---\ntitle: Page {number}\nkind: page\nsummary: A page of the benchmark.\n---\n\n"
    );
    for part in 0..4 {
        let other = (number + part + 1) % pages;
        let _ = write!(
            text,
            "## Part {part}\n\nHeat it *slowly*, and see [another page](page:page-{other}#part-{part}) before the bath is warm. At {pressure} mmHg it boils at `=boiling-point.temperature substance=\"toluene\" pressure=\"{pressure} mmHg\"`.\n\n- Goggles on.\n- Screen down.\n\n| bath | limit |\n|---|---|\n| water | 90 |\n| oil | 200 |\n\n"
        );
    }
    let _ = write!(
        text,
        "```calculator boiling-point\nsubstance = \"toluene\"\npressure = \"{pressure} ± 2 mmHg\"\n```\n"
    );
    text
}

fn module() -> Module {
    Module {
        results: Bound {
            script: "export default function () {}".into(),
            wasm: b"\0asm\x01\0\0\0".to_vec(),
        },
        ..Module::default()
    }
}

/// The least that any builder does: reads, parses and writes the same pages, one after another.
fn bare_loop(folders: &Folders, out: &Path) {
    for entry in fs::read_dir(&folders.content).expect("the pages").flatten() {
        let path = entry.path();
        if path.extension().is_some_and(|ending| ending == "md") {
            let text = fs::read_to_string(&path).expect("a page");
            let mut html = String::new();
            pulldown_cmark::html::push_html(&mut html, pulldown_cmark::Parser::new(&text));
            let folder = out.join(path.file_stem().expect("a name"));
            fs::create_dir_all(&folder).expect("a folder");
            fs::write(folder.join("index.html"), html).expect("a page");
        }
    }
}

/// How long `work` takes: by the clock, and in processor time.
fn timed(work: impl FnOnce()) -> String {
    let (begun, before) = (Instant::now(), used());
    work();
    let (clock, processor) = (begun.elapsed().as_secs_f64(), used() - before);
    format!("{clock:.2} s ({processor:.2} s of the processors)")
}

/// Seconds of processor time that this process has used, where the system says (Linux). Other
/// programs of a busy machine lengthen the time by the clock and leave this alone.
fn used() -> f64 {
    let stat = fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let after_name = stat.rsplit(')').next().unwrap_or_default();
    let fields: Vec<f64> = after_name
        .split_whitespace()
        .map(|field| field.parse().unwrap_or_default())
        .collect();
    // Fields 14 and 15 of proc(5), user and system time, in hundredths of a second.
    fields
        .get(11..13)
        .map_or(0.0, |both| both.iter().sum::<f64>() / 100.0)
}

/// The most memory that this process has held, in MiB, where the system says (Linux).
fn peak() -> Option<f64> {
    let status = fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM"))?;
    let kibibytes: f64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kibibytes / 1024.0)
}

#[test]
#[ignore = "a benchmark; DEVELOPERS.md has the command"]
fn a_thousand_and_five_thousand_pages() {
    let root: PathBuf = std::env::temp_dir().join(format!("forerun-speed-{}", std::process::id()));
    for pages in [1000, 5000] {
        let folders = content(&root, pages);
        let bare = timed(|| bare_loop(&folders, &root.join("bare")));
        let mut built = None;
        let made = timed(|| built = Some(build(&folders, &module()).expect("a site")));
        let files = built.expect("a site").files;
        let wrote = timed(|| write::site(&root.join("public"), &files).expect("written"));
        drop(files);
        // Here, before anything is kept: what follows holds the pages of two builds.
        let held = peak().unwrap_or_default();
        // What the preview does before an open page shows what was saved.
        let mut kept = Kept::default();
        build_again(&folders, &module(), Some(&mut kept)).expect("a site");
        let edited = page(0, pages) + "\nOne more sentence.\n";
        fs::write(folders.content.join("page-0.md"), edited).expect("a page");
        let again =
            timed(|| drop(build_again(&folders, &module(), Some(&mut kept)).expect("a site")));
        println!(
            "{pages} pages: bare loop {bare}; made {made}; written {wrote}; peak {held:.0} MiB; one page edited, made again {again}; peak {:.0} MiB",
            peak().unwrap_or_default()
        );
        fs::remove_dir_all(&root).expect("tidied");
    }
}
