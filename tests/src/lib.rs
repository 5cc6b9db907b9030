//! What the test files share: the project's folders, its data tables, and small readers.

pub mod browser;
pub mod random;
pub mod tools;

use std::fs;
use std::path::{Path, PathBuf};

use calc_wasm::library::Library;
use site_builder::read::data;
use site_builder::read::source::{self, Folders};

/// The repository's root.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// The repository's own folders, as the builder takes them.
pub fn folders() -> Folders {
    Folders {
        content: root().join("content"),
        templates: root().join("templates"),
        published: root().join("tests/published"),
        ..Folders::default()
    }
}

/// The files of `folder` (from the root) that end in `.extension`, sorted.
pub fn files(folder: &str, extension: &str) -> Vec<PathBuf> {
    let folder = root().join(folder);
    let mut files: Vec<PathBuf> = fs::read_dir(&folder)
        .unwrap_or_else(|error| panic!("{}: {error}", folder.display()))
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path.extension().is_some_and(|found| found == extension))
        .collect();
    files.sort();
    files
}

/// Reads a TOML file; a file that cannot be read fails the test with its name.
pub fn toml(path: &Path) -> toml::Table {
    let text =
        fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    text.parse()
        .unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// The data tables of the content as the page gets them: read by the builder, without the columns
/// that it leaves out of the download. A calculator that asks for one of those fails here too.
pub fn library() -> Library {
    let (files, mut findings) = source::read_data(&folders());
    let (tables, more) = data::read(&files);
    findings.extend(more);
    let (library, more) = data::library(&tables);
    findings.extend(more);
    assert!(findings.is_empty(), "{findings:#?}");
    library
}

/// The same tables as the text that the core loads.
pub fn flat_tables() -> String {
    let (files, _) = source::read_data(&folders());
    data::flatten(&data::read(&files).0)
}

/// The tables without one of them.
pub fn library_without(table: &str) -> Library {
    let (files, _) = source::read_data(&folders());
    let (mut tables, _) = data::read(&files);
    tables.retain(|kept| kept.name != table);
    data::library(&tables).0
}

/// A short number for a long text (FNV-1a, 32 bits, as its authors give it; from memory).
pub fn print(text: &str) -> u32 {
    let one = |sum: u32, byte: &u8| (sum ^ u32::from(*byte)).wrapping_mul(0x0100_0193);
    text.as_bytes().iter().fold(0x811c_9dc5, one)
}

/// The same as a script.
pub const PRINT: &str = "const print = text => new TextEncoder().encode(text).reduce((sum, byte) => Math.imul(sum ^ byte, 0x01000193) >>> 0, 0x811c9dc5);";

/// A CSV file as rows of cells, the head line left out (RFC 4180, no line breaks in cells).
pub fn csv(path: &str) -> Vec<Vec<String>> {
    let path = root().join(path);
    let text =
        fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    text.lines().skip(1).map(cells).collect()
}

fn cells(line: &str) -> Vec<String> {
    let mut cells = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(String::new()),
            other => cells.last_mut().expect("starts with one cell").push(other),
        }
    }
    cells
}

/// Pairs of input name and text, as a calculator takes them.
pub fn pairs(given: &[(&str, &str)]) -> Vec<(String, String)> {
    given
        .iter()
        .map(|(name, text)| (name.to_string(), text.to_string()))
        .collect()
}
