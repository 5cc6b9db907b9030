//! `forerun compute`: a calculator in the terminal.

use crate::finding::{Finding, Severity};
use crate::read::data;
use crate::read::source::{self, Folders};
use crate::worked::numbers;
use calc_wasm::calculators::{self, Calculator};
use calc_wasm::inputs::Need;
use calc_wasm::report;

/// What is printed, and whether an input was refused.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// The text or the JSON.
    pub text: String,
    /// Whether it is a refusal.
    pub refused: bool,
}

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Trouble {
    /// The command was not understood.
    Use(String),
    /// The data tables are at fault.
    Data(Vec<Finding>),
}

/// Runs `words`: the calculator's name, then `key=value` for each input.
///
/// # Errors
/// A name that is not known, with the nearest; a word that is no `key=value`; faulty data.
pub fn run(folders: &Folders, words: &[String], json: bool) -> Result<Answer, Trouble> {
    let Some((name, rest)) = words.split_first() else {
        return Ok(Answer {
            text: list(),
            refused: false,
        });
    };
    let calculator = numbers::calculator(name, 0..0).map_err(|flaw| {
        let mend = flaw.mend.unwrap_or_default();
        Trouble::Use(format!("{}; {mend}", flaw.message))
    })?;
    let pairs = rest
        .iter()
        .map(|word| pair(word))
        .collect::<Result<Vec<_>, _>>()
        .map_err(Trouble::Use)?;
    let (files, mut findings) = source::read_data(folders);
    let (tables, more) = data::read(&files);
    findings.extend(more);
    let (library, more) = data::library(&tables);
    findings.extend(more);
    if findings
        .iter()
        .any(|finding| finding.severity == Severity::Error)
    {
        return Err(Trouble::Data(findings));
    }
    let answer = calculator.run(&library, &pairs);
    let refused = answer.is_err();
    let text = if json {
        report::json(calculator, &answer).to_string()
    } else {
        match &answer {
            Ok(outcome) if pairs.is_empty() => {
                format!(
                    "{}\n{}",
                    report::text(calculator, outcome),
                    example(calculator)
                )
            }
            Ok(outcome) => report::text(calculator, outcome),
            Err(problems) => problems
                .iter()
                .map(|problem| format!("error: {problem}"))
                .collect::<Vec<_>>()
                .join("\n"),
        }
    };
    Ok(Answer {
        text: text.trim_end().to_owned(),
        refused,
    })
}

/// Says that nothing was asked yet: the answer is that of the values which the form begins with.
fn example(calculator: &Calculator) -> String {
    let preset = calculator
        .inputs
        .iter()
        .filter_map(|input| match input.need {
            Need::Preset(text) => Some(format!("  {}=\"{text}\"", input.name)),
            Need::Required | Need::Optional => None,
        });
    let preset: Vec<String> = preset.collect();
    format!(
        "An example: no value was given, so these were taken. Give your own as key=value.\n{}",
        preset.join("\n")
    )
}

fn pair(word: &str) -> Result<(String, String), String> {
    let (name, value) = word.split_once('=').ok_or_else(|| {
        format!("`{word}` is no input; write key=value, in quotes if it holds a space")
    })?;
    let name = name.trim();
    Ok((name.to_owned(), value.trim().to_owned()))
}

fn list() -> String {
    let width = calculators::all()
        .iter()
        .map(|calculator| calculator.name.len())
        .max()
        .unwrap_or(0);
    calculators::all()
        .iter()
        .map(|calculator| format!("{:width$}  {}", calculator.name, calculator.question))
        .collect::<Vec<_>>()
        .join("\n")
}
