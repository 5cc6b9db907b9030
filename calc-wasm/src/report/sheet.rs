//! What differs on a page after something was typed: results, numbers in sentences, inputs that
//! draw on others, and troubles of the values given once.

use std::sync::Arc;

use super::html;
use crate::outcome::Figure;
use crate::sheet::{Answer, RUN, Reference, Sheet, Typed, Worked};

/// Parts one record from the next; no text that a person types or reads holds it.
pub const RECORD: char = '\u{1e}';
/// Parts the fields of a record.
pub const FIELD: char = '\u{1f}';

/// Cells whose name begins so stand behind a number in a sentence, and have no place on the page.
pub const HIDDEN: char = '~';

/// A number in a sentence, as the page shows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shown {
    /// `87 °C`, or a dash where there is none.
    pub text: String,
    /// `Boiling temperature: 86 to 88 °C. Worked out by “Boiling point at a pressure”.`
    pub tolerance: String,
}

/// The number called `key`: a value given once, or `cell.result`.
pub fn shown(sheet: &Sheet, worked: &Worked, key: &str) -> Shown {
    let Some((id, result)) = key.split_once('.') else {
        return Shown {
            text: worked.value(sheet, key).unwrap_or_default().to_string(),
            tolerance: String::new(),
        };
    };
    let title = sheet
        .place(id)
        .map_or("", |place| sheet.cells()[place].calculator.title);
    let mut shown = Shown {
        text: String::from("–"),
        tolerance: String::new(),
    };
    match worked.figure(sheet, id, result) {
        Some(figure) => {
            shown.text = figure.shown();
            tolerance(figure, &mut shown.tolerance);
        }
        None => shown
            .tolerance
            .push_str("There is no such number for these values"),
    }
    shown.tolerance.push_str(". Worked out by “");
    shown.tolerance.push_str(title);
    shown.tolerance.push_str("”.");
    shown
}

fn tolerance(figure: &Figure, out: &mut String) {
    out.push_str(&figure.label);
    if let Some(interval) = figure.interval() {
        out.push_str(": ");
        out.push_str(&interval);
        if !figure.unit.is_empty() {
            out.push(' ');
            out.push_str(figure.unit);
        }
    }
}

/// What stands inside `.calc-result` of the cell at `place`.
pub fn cell(sheet: &Sheet, worked: &Worked, place: usize, base: &str) -> String {
    let cell = &sheet.cells()[place];
    match worked.answer(place).map(Arc::as_ref) {
        Some(Answer::Worked(outcome)) => {
            html::answered_below(outcome, &cell.id, base, &above(sheet, worked, place))
        }
        Some(Answer::Refused(problems)) => html::refused(problems),
        Some(Answer::Waits(other)) => html::waits(sheet.cells()[*other].calculator.title),
        None => String::new(),
    }
}

/// The blocks that stand above on the page.
fn above<'a>(sheet: &'a Sheet, worked: &'a Worked, place: usize) -> Vec<html::Above<'a>> {
    let before = sheet.cells()[..place].iter().enumerate();
    before
        .filter(|(_, cell)| !cell.id.starts_with(HIDDEN))
        .filter_map(|(at, cell)| match worked.answer(at).map(Arc::as_ref) {
            Some(Answer::Worked(outcome)) => Some(html::Above {
                id: &cell.id,
                title: cell.calculator.title,
                outcome,
            }),
            _ => None,
        })
        .collect()
}

/// A sheet at one moment: what was typed, and what came of it.
#[derive(Debug, Clone, Copy)]
pub struct Moment<'m> {
    /// What was typed.
    pub typed: &'m Typed,
    /// What came of it.
    pub worked: &'m Worked,
}

/// The records of all that differs between two moments. `keys` are the numbers of the page.
///
/// | record | fields |
/// |---|---|
/// | `result` | cell, HTML |
/// | `drawn` | `cell.input` or `run.value`, text |
/// | `number` | key, text, tolerance |
/// | `trouble` | value given once, sentence or nothing |
pub fn differences(
    sheet: &Sheet,
    keys: &[String],
    before: Moment<'_>,
    now: Moment<'_>,
    base: &str,
) -> String {
    let mut out = String::new();
    let mut touched = false;
    for (place, described) in sheet.cells().iter().enumerate() {
        let same = match (before.worked.answer(place), now.worked.answer(place)) {
            (Some(one), Some(other)) => Arc::ptr_eq(one, other),
            _ => true,
        };
        // Which cautions it tells in full hangs on the blocks above.
        touched |= !same;
        if touched && !described.id.starts_with(HIDDEN) {
            let html = cell(sheet, now.worked, place, base);
            if !same || html != cell(sheet, before.worked, place, base) {
                record(&["result", &described.id, &html], &mut out);
            }
        }
        let was = before.worked.drawn(place);
        for (name, text) in now.worked.drawn(place) {
            if !was.iter().any(|(its, old)| its == name && old == text) {
                let mut key = described.id.clone();
                key.push('.');
                key.push_str(name);
                record(&["drawn", &key, text], &mut out);
            }
        }
    }
    for key in keys {
        let one = shown(sheet, now.worked, key);
        if one != shown(sheet, before.worked, key) {
            record(&["number", key, &one.text, &one.tolerance], &mut out);
        }
    }
    for given in sheet.values() {
        let drawn = Reference::read(&given.text).is_some();
        let value = now.worked.value(sheet, &given.name).unwrap_or_default();
        if drawn
            && Some(value) != before.worked.value(sheet, &given.name)
            && !now.typed.has(RUN, &given.name)
        {
            let mut key = String::from(RUN);
            key.push('.');
            key.push_str(&given.name);
            record(&["drawn", &key, value], &mut out);
        }
        let one = trouble(sheet, now, &given.name);
        if one != trouble(sheet, before, &given.name) {
            record(
                &["trouble", &given.name, &one.unwrap_or_default()],
                &mut out,
            );
        }
    }
    out
}

fn record(fields: &[&str], out: &mut String) {
    for (at, field) in fields.iter().enumerate() {
        if at > 0 {
            out.push(FIELD);
        }
        out.push_str(field);
    }
    out.push(RECORD);
}

/// Why a value given once is refused by the first calculator that refuses it.
fn trouble(sheet: &Sheet, moment: Moment<'_>, value: &str) -> Option<String> {
    for (place, cell) in sheet.cells().iter().enumerate() {
        let Some(Answer::Refused(problems)) = moment.worked.answer(place).map(Arc::as_ref) else {
            continue;
        };
        for problem in problems {
            let draws = cell.inputs.iter().any(|(name, text)| {
                *name == problem.input
                    && Reference::read(text)
                        .is_some_and(|one| one.result.is_none() && one.name == value)
            });
            if draws && !moment.typed.has(&cell.id, &problem.input) {
                return Some(html::sentence(&problem.message));
            }
        }
    }
    None
}
