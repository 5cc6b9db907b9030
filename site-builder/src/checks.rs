//! Part of stage 6: the published values, worked out anew and shown beside what the core gives.
//!
//! The same rows are tests of the core; here a reader sees them with their sources.

use crate::finding::Finding;
use crate::source::Text;
use calc_wasm::calculators;
use calc_wasm::library::Library;
use calc_wasm::outcome::Value;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The rows of one calculator.
#[derive(Clone, Debug, Serialize)]
pub struct Group {
    /// Its name.
    pub calculator: String,
    /// Its title.
    pub title: String,
    /// One for each published value.
    pub rows: Vec<Row>,
}

/// One published value and what the core gives.
#[derive(Clone, Debug, Serialize)]
pub struct Row {
    /// The case in words.
    pub case: String,
    /// What was published, and the difference allowed.
    pub expected: String,
    /// What the core gives.
    pub got: String,
    /// Its interval.
    pub interval: String,
    /// Whether the difference is within what is allowed.
    pub inside: bool,
    /// Where it was published.
    pub source: String,
}

#[derive(Deserialize)]
struct File {
    #[serde(default)]
    check: Vec<Check>,
}

#[derive(Deserialize)]
struct Check {
    calculator: toml::Spanned<String>,
    case: String,
    #[serde(default)]
    inputs: BTreeMap<String, toml::Value>,
    result: String,
    expected: toml::Value,
    #[serde(default)]
    within: Option<f64>,
    #[serde(default)]
    unit: String,
    source: String,
}

/// Works out every published value. A value outside what is allowed is a note, not an error:
/// the page shows it, and the tests of the core decide.
pub fn work_out(files: &[Text], library: &Library) -> (Vec<Group>, Vec<Finding>) {
    let mut groups: Vec<Group> = Vec::new();
    let mut findings = Vec::new();
    // Files in folders check single equations, which have no calculator to show them.
    for file in files.iter().filter(|file| !file.path.contains('/')) {
        let read: File = match toml::from_str(&file.text) {
            Ok(read) => read,
            Err(error) => {
                let span = error.span().unwrap_or(0..0);
                let said = error
                    .message()
                    .lines()
                    .next()
                    .unwrap_or_default()
                    .to_owned();
                findings.push(Finding::at(
                    &file.file,
                    &file.text,
                    span,
                    format!("cannot be read: {said}"),
                ));
                continue;
            }
        };
        for check in read.check {
            let span = check.calculator.span();
            match row(&check, library) {
                Ok((title, row)) => {
                    if !row.inside {
                        findings.push(
                            Finding::at(
                                &file.file,
                                &file.text,
                                span,
                                format!("{}: expected {}, got {}", row.case, row.expected, row.got),
                            )
                            .note(),
                        );
                    }
                    let name = check.calculator.get_ref();
                    match groups.iter_mut().find(|group| group.calculator == *name) {
                        Some(group) => group.rows.push(row),
                        None => groups.push(Group {
                            calculator: name.clone(),
                            title,
                            rows: vec![row],
                        }),
                    }
                }
                Err(message) => {
                    let finding = Finding::at(&file.file, &file.text, span, message).note();
                    // Said once for each file; the rows below would only repeat it.
                    let said = |known: &Finding| {
                        known.file == finding.file && known.message == finding.message
                    };
                    if !findings.iter().any(said) {
                        findings.push(finding);
                    }
                }
            }
        }
    }
    (groups, findings)
}

fn row(check: &Check, library: &Library) -> Result<(String, Row), String> {
    let name = check.calculator.get_ref();
    let calculator =
        calculators::find(name).ok_or(format!("there is no calculator `{name}` to check"))?;
    let pairs: Vec<(String, String)> = check
        .inputs
        .iter()
        .map(|(name, value)| (name.clone(), text(value)))
        .collect();
    let expected = match check.within {
        Some(within) => format!("{} ± {within} {}", text(&check.expected), check.unit),
        None => format!("{} {}", text(&check.expected), check.unit),
    };
    let mut row = Row {
        case: check.case.clone(),
        expected: expected.trim().to_owned(),
        got: String::new(),
        interval: String::new(),
        inside: false,
        source: check.source.clone(),
    };
    match calculator.run(library, &pairs) {
        Ok(outcome) => {
            let figure = outcome
                .figure(&check.result)
                .ok_or(format!("`{name}` has no result `{}`", check.result))?;
            row.got = figure.shown();
            row.interval = figure.interval().unwrap_or_default();
            row.inside = agrees(&figure.value, &check.expected, check.within);
        }
        Err(problems) => {
            row.got = problems
                .iter()
                .map(|problem| problem.message.as_str())
                .collect::<Vec<_>>()
                .join("; ");
        }
    }
    Ok((calculator.title.to_owned(), row))
}

fn agrees(got: &Value, expected: &toml::Value, within: Option<f64>) -> bool {
    let number = match expected {
        toml::Value::Float(number) => Some(*number),
        toml::Value::Integer(number) => Some(*number as f64),
        _ => None,
    };
    match (got, number) {
        (Value::Number(got), Some(expected)) => (got - expected).abs() <= within.unwrap_or(0.0),
        (Value::Words(got), None) => expected.as_str().is_some_and(|words| got.contains(words)),
        _ => false,
    }
}

fn text(value: &toml::Value) -> String {
    match value {
        toml::Value::String(words) => words.clone(),
        toml::Value::Array(items) => items.iter().map(text).collect::<Vec<_>>().join("; "),
        other => other.to_string(),
    }
}
