//! Part of stage 6: the published values of `tests/published/`, worked out again for the page that
//! shows how the numbers are checked. The tests run the very same rows.

use calc_wasm::calculators;
use calc_wasm::library::Library;
use calc_wasm::quantity::number;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

use crate::finding::Finding;
use crate::source::Text;

/// One published value.
#[derive(Clone, Debug, Deserialize)]
pub struct Check {
    /// The calculator.
    pub calculator: String,
    /// What is checked, in words.
    pub case: String,
    /// The inputs, as an author would type them.
    pub inputs: BTreeMap<String, String>,
    /// Name of the result.
    pub result: String,
    /// What the source prints.
    pub expected: f64,
    /// The difference that is allowed.
    pub within: f64,
    /// The unit of both.
    #[serde(default)]
    pub unit: String,
    /// Where the value is printed; or `common practice, no source`; or `from memory`.
    pub source: String,
}

/// One file of checks. Rows for bare equations have their own test and are passed over here.
#[derive(Deserialize)]
struct Shelf {
    #[serde(default)]
    check: Vec<toml::Value>,
}

/// What came out of one check.
#[derive(Clone, Debug, Serialize)]
pub struct Row {
    case: String,
    expected: String,
    got: String,
    interval: String,
    inside: bool,
    source: String,
}

/// The checks of one calculator.
#[derive(Clone, Debug, Serialize)]
pub struct Group {
    calculator: String,
    title: String,
    rows: Vec<Row>,
}

/// Reads every check of the files.
///
/// # Errors
/// Files that are no TOML or rows that lack something.
pub fn read(files: &[Text]) -> Result<Vec<Check>, Vec<Finding>> {
    let mut checks = Vec::new();
    let mut findings = Vec::new();
    for file in files {
        let shelf: Shelf = match toml::from_str(&file.text) {
            Ok(shelf) => shelf,
            Err(error) => {
                let span = error.span().unwrap_or(0..0);
                findings.push(Finding::at(&file.file, &file.text, span, error.message()));
                continue;
            }
        };
        for row in shelf
            .check
            .into_iter()
            .filter(|row| row.get("calculator").is_some())
        {
            match row.try_into::<Check>() {
                Ok(check) => checks.push(check),
                Err(error) => findings.push(Finding::whole(&file.file, error.message())),
            }
        }
    }
    if findings.is_empty() {
        Ok(checks)
    } else {
        Err(findings)
    }
}

impl Check {
    /// What the core gives: the value, and its figure as shown; or why there is none.
    ///
    /// # Errors
    /// A sentence: no such calculator, refused inputs, or no such result.
    pub fn run(&self, library: &Library) -> Result<(f64, calc_wasm::outcome::Figure), String> {
        let calculator = calculators::find(&self.calculator)
            .ok_or_else(|| format!("there is no calculator `{}`", self.calculator))?;
        let pairs: Vec<(String, String)> = self
            .inputs
            .iter()
            .map(|(name, text)| (name.clone(), text.clone()))
            .collect();
        let outcome = calculator.run(library, &pairs).map_err(|problems| {
            problems
                .iter()
                .map(ToString::to_string)
                .collect::<Vec<_>>()
                .join("; ")
        })?;
        let figure = outcome
            .figure(&self.result)
            .ok_or_else(|| format!("there is no result `{}`", self.result))?;
        let value = figure
            .number()
            .ok_or_else(|| format!("`{}` is words", self.result))?;
        Ok((value, figure.clone()))
    }

    fn row(&self, library: &Library) -> Row {
        let expected = number::plain(self.expected, 6);
        let (got, interval, inside) = match self.run(library) {
            Ok((value, figure)) => (
                number::plain(value, 6),
                figure.interval().unwrap_or_default(),
                (value - self.expected).abs() <= self.within,
            ),
            Err(why) => (why, String::new(), false),
        };
        Row {
            case: self.case.clone(),
            expected: format!(
                "{expected} ± {} {}",
                number::plain(self.within, 3),
                self.unit
            )
            .trim_end()
            .to_owned(),
            got,
            interval,
            inside,
            source: self.source.clone(),
        }
    }
}

/// Runs all checks, grouped by calculator in the order of the list.
pub fn run(checks: &[Check], library: &Library) -> Vec<Group> {
    calculators::all()
        .iter()
        .map(|calculator| Group {
            calculator: calculator.name.to_owned(),
            title: calculator.title.to_owned(),
            rows: checks
                .iter()
                .filter(|check| check.calculator == calculator.name)
                .map(|check| check.row(library))
                .collect(),
        })
        .filter(|group| !group.rows.is_empty())
        .collect()
}

/// Reads and runs all checks. A value outside what is allowed is a note, not an error: the page
/// shows it, and the tests of the core decide.
pub fn work_out(files: &[Text], library: &Library) -> (Vec<Group>, Vec<Finding>) {
    let checks = match read(files) {
        Ok(checks) => checks,
        Err(findings) => return (Vec::new(), findings),
    };
    let groups = run(&checks, library);
    let outside = groups
        .iter()
        .flat_map(|group| group.rows.iter().map(move |row| (group, row)))
        .filter(|(_, row)| !row.inside)
        .map(|(group, row)| {
            let message = format!("{}: expected {}, got {}", row.case, row.expected, row.got);
            Finding::whole(&format!("tests/published, {}", group.calculator), message).note()
        })
        .collect();
    (groups, outside)
}
