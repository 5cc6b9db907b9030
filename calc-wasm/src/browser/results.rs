//! The calculators.

use std::cell::RefCell;

use wasm_bindgen::prelude::wasm_bindgen;

use crate::calculators;
use crate::inputs::{Column, Kind, join_rows, split_row, written_rows};
use crate::library::Library;
use crate::number;
use crate::readings::{self, Entries, Group, Log, Sheet, Spec};
use crate::report;
use crate::what_if;

thread_local! {
    /// The tables, loaded once.
    static LIBRARY: RefCell<Library> = RefCell::default();
}

/// Does `work` with the tables.
pub(super) fn with_library<T>(work: impl FnOnce(&Library) -> T) -> T {
    LIBRARY.with(|library| work(&library.borrow()))
}

/// Loads the flattened data tables; says what is wrong, or nothing.
#[wasm_bindgen]
pub fn load(text: &str) -> String {
    match Library::from_text(text) {
        Ok(library) => {
            LIBRARY.with(|slot| *slot.borrow_mut() = library);
            String::new()
        }
        Err(problem) => problem.message.to_string(),
    }
}

/// The inner HTML of the result of `calculator` for `inputs`, lines of `key=value`.
#[wasm_bindgen]
pub fn result(calculator: &str, id: &str, inputs: &str, base: &str) -> String {
    let Some(calculator) = calculators::find(calculator) else {
        return String::new();
    };
    with_library(|library| report::result(calculator, library, id, &pairs(inputs), base))
}

/// The answer to a question typed into the search, as HTML; empty where it is none.
#[wasm_bindgen]
pub fn ask(question: &str, base: &str) -> String {
    with_library(|library| report::asked(library, question, base))
}

/// The figures to the last bit, lines of `name=bits`, to compare with those of the builder.
#[wasm_bindgen]
pub fn figures(calculator: &str, inputs: &str) -> String {
    let Some(calculator) = calculators::find(calculator) else {
        return String::new();
    };
    with_library(|library| report::bits(calculator, library, &pairs(inputs)))
}

/// The cells of the rows in `text`, an input of `calculator`: a line for each row, cells parted by
/// tabs. Nothing for an input without rows.
#[wasm_bindgen]
pub fn cells(calculator: &str, input: &str, text: &str) -> String {
    let columns = columns(calculator, input);
    let rows = written_rows(text).map(|row| split_row(columns, row).join("\t"));
    rows.collect::<Vec<_>>().join("\n")
}

/// The text of rows from their cells, given as [`cells`] gives them.
#[wasm_bindgen]
pub fn rows(calculator: &str, input: &str, cells: &str) -> String {
    let rows = cells.lines().map(|row| row.split('\t').collect());
    join_rows(columns(calculator, input), rows)
}

/// The inputs of `calculator` that may be swept: lines of name, label, and where what is typed
/// stands on its way, 0 to 1, parted by tabs. `inputs` are lines of `key=value`.
#[wasm_bindgen]
pub fn sweeps(calculator: &str, inputs: &str) -> String {
    let Some(calculator) = calculators::find(calculator) else {
        return String::new();
    };
    let typed = pairs(inputs);
    let mut out = String::new();
    for input in calculator.inputs {
        let text = typed.iter().find(|(name, _)| name == input.name);
        let text = text.map_or(input.by_itself(), |(_, text)| text);
        if let Some(place) = what_if::place(input, text) {
            for part in [
                input.name,
                "\t",
                input.label,
                "\t",
                &number::fixed(place, 4),
                "\n",
            ] {
                out.push_str(part);
            }
        }
    }
    out
}

/// The text of an input of `calculator` at `share` of the way around `text`; nothing where it
/// cannot be swept.
#[wasm_bindgen]
pub fn swept(calculator: &str, input: &str, text: &str, share: f64) -> String {
    let input = calculators::find(calculator).and_then(|found| found.input(input));
    input
        .and_then(|input| what_if::swept(input, text, share))
        .unwrap_or_default()
}

/// The text of `input` with which `calculator` gives `wanted` as its `result`; or `!` and why not.
#[wasm_bindgen]
pub fn backwards(
    calculator: &str,
    inputs: &str,
    input: &str,
    result: &str,
    wanted: &str,
) -> String {
    let Some(calculator) = calculators::find(calculator) else {
        return String::new();
    };
    with_library(|library| {
        let given = pairs(inputs);
        match what_if::backwards(calculator, library, &given, input, result, wanted) {
            Ok(text) => text,
            Err(problem) => {
                let mut said = String::from("!");
                said.push_str(&problem.message);
                said
            }
        }
    })
}

/// The log of a run, worked out: see [`crate::readings`]. `spec` and `sheet` are as those read
/// them, `once` holds lines of `name=text`, `rows` a line for each reading with cells parted by
/// tabs. The inner HTML: what is said of each reading, then the run.
#[wasm_bindgen]
pub fn log(spec: &str, sheet: &str, once: &str, rows: &str, id: &str, base: &str) -> String {
    report::log(&worked(spec, sheet, once, rows), id, base)
}

/// The logs of a class side by side: groups parted by U+001E, each with its name, `spec`, `sheet`,
/// `once` and `rows` parted by U+001D.
#[wasm_bindgen]
pub fn side_by_side(groups: &str, base: &str) -> String {
    let read = groups.split('\u{1e}').filter_map(|group| {
        let mut parts = group.split('\u{1d}');
        let mut next = || parts.next();
        let name = next()?.to_string();
        let log = worked(next()?, next()?, next()?, next()?);
        Some(Group { name, log })
    });
    report::class(&read.collect::<Vec<_>>(), base)
}

fn worked(spec: &str, sheet: &str, once: &str, rows: &str) -> Log {
    let (spec, sheet) = (Spec::read(spec), Sheet::read(sheet));
    let entries = Entries::read(once, rows);
    with_library(|library| readings::log(library, &spec, &sheet, &entries))
}

fn columns(calculator: &str, input: &str) -> &'static [&'static Column] {
    let input = calculators::find(calculator).and_then(|found| found.input(input));
    match input.map(|input| input.kind) {
        Some(Kind::Rows(columns)) => columns,
        _ => &[],
    }
}

fn pairs(inputs: &str) -> Vec<(String, String)> {
    inputs
        .lines()
        .filter_map(|line| line.split_once('='))
        .map(|(name, value)| (name.to_string(), value.to_string()))
        .collect()
}
