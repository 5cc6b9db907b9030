//! Part of stage 6: the published values of `tests/published/`, worked out again for the page that
//! shows how the numbers are checked. The tests run the very same rows.

use calc_wasm::calculators;
use calc_wasm::equations::vapour::Curve;
use calc_wasm::equations::{flash, still};
use calc_wasm::library::Library;
use calc_wasm::number;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

use crate::finding::Finding;
use crate::read::source::Text;

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

/// One published value of a single equation.
#[derive(Clone, Debug, Deserialize)]
pub struct EquationCheck {
    /// The equation, as [`equation`] knows it.
    pub equation: String,
    /// What is checked, in words.
    pub case: String,
    /// Its numbers by name.
    pub inputs: BTreeMap<String, f64>,
    /// What the source prints.
    pub expected: f64,
    /// The difference that is allowed.
    pub within: f64,
    /// The unit of both.
    #[serde(default)]
    pub unit: String,
    /// Where the value is printed.
    pub source: String,
}

/// All published values.
#[derive(Clone, Debug, Default)]
pub struct Published {
    /// Those of whole calculators.
    pub checks: Vec<Check>,
    /// Those of single equations.
    pub equations: Vec<EquationCheck>,
}

/// One file of checks.
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
pub fn read(files: &[Text]) -> Result<Published, Vec<Finding>> {
    let mut published = Published::default();
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
        // Rows of other kinds have their own test.
        for row in shelf.check {
            let read = if row.get("calculator").is_some() {
                row.try_into().map(|check| published.checks.push(check))
            } else if row.get("equation").is_some() {
                row.try_into().map(|check| published.equations.push(check))
            } else {
                continue;
            };
            if let Err(error) = read {
                findings.push(Finding::whole(&file.file, error.message()));
            }
        }
    }
    if findings.is_empty() {
        Ok(published)
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
            expected: expected(self.expected, self.within, &self.unit),
            got,
            interval,
            inside,
            source: self.source.clone(),
        }
    }
}

impl EquationCheck {
    fn row(&self, library: &Library) -> Row {
        let got = equation(&self.equation, &self.inputs, library);
        Row {
            case: format!("{}: {}", self.equation.replace('-', " "), self.case),
            expected: expected(self.expected, self.within, &self.unit),
            got: got.map_or("no such equation".into(), |value| number::plain(value, 6)),
            interval: String::new(),
            inside: got.is_some_and(|value| (value - self.expected).abs() <= self.within),
            source: self.source.clone(),
        }
    }
}

/// What the source prints, with the difference allowed and the unit.
fn expected(value: f64, within: f64, unit: &str) -> String {
    let value = number::plain(value, 6);
    let within = number::plain(within, 3);
    format!("{value} ± {within} {unit}").trim_end().to_owned()
}

/// Works out one equation of the core with numbers by name; None where the equation or a number
/// is not known.
pub fn equation(name: &str, inputs: &BTreeMap<String, f64>, library: &Library) -> Option<f64> {
    let of = |name: &str| inputs.get(name).copied();
    Some(match name {
        "rayleigh" => still::rayleigh(of("alpha")?, of("x_start")?, of("x_end")?),
        "rayleigh-distillate" => {
            let (from, to) = (of("x_start")?, of("x_end")?);
            let left = still::rayleigh(of("alpha")?, from, to);
            still::mean_of_fraction(from, left * to, 1.0 - left)
        }
        "fenske" => still::fenske(libm::log(of("alpha")?), of("x_bottom")?, of("x_top")?),
        "rose" => {
            let kelvin = |celsius: f64| celsius + 273.15;
            libm::exp(still::rose(
                kelvin(of("boiling_light")?),
                kelvin(of("boiling_heavy")?),
            ))
        }
        // From SI units to those of the core, and back from kPa.
        "kozeny-carman" => {
            flash::pressure_drop(
                of("viscosity")? * 1e3,
                of("flow")? * 6000.0,
                of("length")? * 1e3,
                of("voidage")?,
                of("particle")? * 1e6,
            ) * 1e3
        }
        "polarity-index" => flash::polarity(of("index_a")?, of("index_b")?, of("fraction_b")?),
        "retention-shift" => {
            let shift = flash::log_k_shift(of("index_from")?, of("index_to")?);
            of("k")? * libm::pow(10.0, shift)
        }
        "log-k-line" => {
            let spot = |rf: f64, proportion: f64| format!("{rf} @ {proportion} %");
            let spots = [
                spot(of("rf_1")?, of("proportion_1")?),
                spot(of("rf_2")?, of("proportion_2")?),
            ];
            let pairs = [
                ("spots", spots.join("; ")),
                ("target_rf", of("target_rf")?.to_string()),
            ]
            .map(|(name, text)| (name.to_string(), text));
            let outcome = calculators::find("eluent-blend")?
                .run(library, &pairs)
                .ok()?;
            outcome.figure("proportion")?.number()?
        }
        "saturation-pressure-water" => {
            let water = library.find("substances", "water").ok()?;
            Curve::of(water, library)?.pressure_unchecked(of("temperature")?)
        }
        "plates" => {
            // The band of one plate is as wide as its retention; N falls with the width squared.
            let widths = 4.0 * flash::band_sigma(of("retention")?, 1.0) / of("width")?;
            widths * widths
        }
        _ => return None,
    })
}

/// Runs all checks, grouped by calculator in the order of the list; the equations come last.
pub fn run(published: &Published, library: &Library) -> Vec<Group> {
    let mut groups: Vec<Group> = calculators::all()
        .iter()
        .map(|calculator| Group {
            calculator: calculator.name.to_owned(),
            title: calculator.title.to_owned(),
            rows: published
                .checks
                .iter()
                .filter(|check| check.calculator == calculator.name)
                .map(|check| check.row(library))
                .collect(),
        })
        .collect();
    groups.push(Group {
        calculator: "equations".to_owned(),
        title: "Equations by themselves".to_owned(),
        rows: published
            .equations
            .iter()
            .map(|check| check.row(library))
            .collect(),
    });
    groups.retain(|group| !group.rows.is_empty());
    groups
}

/// Reads and runs all checks. A value outside what is allowed is a note, not an error: the page
/// shows it, and the tests of the core decide.
pub fn work_out(files: &[Text], library: &Library) -> (Vec<Group>, Vec<Finding>) {
    let published = match read(files) {
        Ok(published) => published,
        Err(findings) => return (Vec::new(), findings),
    };
    let groups = run(&published, library);
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
