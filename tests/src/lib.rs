//! What the test files share: the project's folders, its data tables, and small readers.

pub mod browser;

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use calc_wasm::library::Library;

/// The repository's root.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
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

/// The data tables of the content, as the calculators load them.
pub fn library() -> Library {
    let mut text = String::new();
    for path in files("content/data", "toml") {
        let name = path
            .file_stem()
            .and_then(|stem| stem.to_str())
            .unwrap_or_default();
        flatten(name, &toml(&path), &mut text);
    }
    Library::from_text(&text).unwrap_or_else(|error| panic!("{error}"))
}

/// One table as tab-separated text: `[name]`, the column names, a line for each row.
fn flatten(name: &str, table: &toml::Table, out: &mut String) {
    let Some(rows) = table.get("row").and_then(toml::Value::as_array) else {
        return;
    };
    let mut columns: Vec<&str> = vec!["name"];
    for row in rows.iter().filter_map(toml::Value::as_table) {
        for key in row.keys() {
            if !columns.contains(&key.as_str()) {
                columns.push(key);
            }
        }
    }
    let _ = writeln!(out, "[{name}]\n{}", columns.join("\t"));
    for row in rows {
        let cells: Vec<String> = columns
            .iter()
            .map(|column| row.get(column).map(cell).unwrap_or_default())
            .collect();
        let _ = writeln!(out, "{}", cells.join("\t"));
    }
}

/// A cell as text: numbers of a list joined by a space, words by `; `.
fn cell(value: &toml::Value) -> String {
    match value {
        toml::Value::String(text) => text.replace(['\t', '\n'], " "),
        toml::Value::Array(list) => {
            let words = list.iter().any(toml::Value::is_str);
            let cells: Vec<String> = list.iter().map(cell).collect();
            cells.join(if words { "; " } else { " " })
        }
        other => other.to_string(),
    }
}

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
