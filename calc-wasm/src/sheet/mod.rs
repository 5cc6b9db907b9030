//! A sheet: what a page gives once, and the calculators that draw on it and on each other.
//!
//! ```
//! use calc_wasm::{library::Library, sheet::{Sheet, Typed}};
//!
//! let sheet = Sheet::read("value\tdistribution\t5\n\
//!     cell\twash\trepeated-extraction\n\
//!     \tdistribution\t=distribution\n\
//!     \taqueous_volume\t50 mL\n\tportion_volume\t15 mL\n\tportions\t2\n").unwrap();
//! let library = Library::default();
//! let worked = sheet.work_out(&library, &Typed::default(), None);
//! let figure = worked.figure(&sheet, "wash", "recovery").unwrap();
//! assert_eq!(figure.shown(), "84.0 %");
//! ```
//!
//! The builder and the page work out the same sheet with the same code; the page hands over what
//! a reader typed, and takes what differs.

mod drawn;
mod order;
mod worked;

pub use drawn::Reference;
pub use worked::{Answer, Typed, Worked};

use crate::calculators::{self, Calculator};
use crate::problem::nearest;

/// The owner of the values that a page gives once, as it stands in addresses and in what is kept:
/// `run.substance`. No calculator can have this name.
pub const RUN: &str = "run";

/// Values given once, and cells in the order in which they stand on the page.
#[derive(Debug, Clone, Default)]
pub struct Sheet {
    values: Vec<Given>,
    cells: Vec<Cell>,
    /// The cells in the order in which they are worked out.
    order: Vec<usize>,
}

/// A value given once.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Given {
    /// What references call it: `substance`.
    pub name: String,
    /// What the author wrote: a text, or a result it draws on, `=vacuum-plan.suggested_pressure`.
    pub text: String,
}

/// A calculator with its inputs, each a text or a reference such as `=substance` or
/// `=vacuum-plan.suggested_pressure ± 1 mmHg`.
#[derive(Debug, Clone)]
pub struct Cell {
    /// Its name on the sheet.
    pub id: String,
    /// The calculator.
    pub calculator: &'static Calculator,
    /// Inputs and their texts, in the order written.
    pub inputs: Vec<(String, String)>,
}

/// Why a sheet cannot be worked out: always a slip of its author.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fault {
    /// A reference to what is not on the sheet: the cell, or [`RUN`], its input, what it names, and
    /// the name that is spelt most like it.
    Unknown {
        /// The cell that refers.
        cell: String,
        /// Its input.
        input: String,
        /// What is not there.
        name: String,
        /// What may have been meant.
        near: Option<String>,
    },
    /// Cells that wait for each other, in the order in which they refer.
    Circle(Vec<String>),
    /// A line that is none; only a text that no builder wrote has one.
    Line(String),
}

impl Sheet {
    /// A sheet of these values and cells.
    ///
    /// # Errors
    /// All references that lead nowhere; if there are none, a circle of cells.
    pub fn new(values: Vec<Given>, cells: Vec<Cell>) -> Result<Self, Vec<Fault>> {
        let known = |reference: &Reference<'_>| match reference.result {
            None => values.iter().any(|value| value.name == reference.name),
            Some(_) => cells.iter().any(|other| other.id == reference.name),
        };
        let given = values
            .iter()
            .map(|value| (RUN, value.name.as_str(), value.text.as_str()));
        let asked = cells.iter().flat_map(|cell| {
            let inputs = cell.inputs.iter();
            inputs.map(|(name, text)| (cell.id.as_str(), name.as_str(), text.as_str()))
        });
        let faults: Vec<Fault> = given
            .chain(asked)
            .filter_map(|(owner, name, text)| {
                let reference = Reference::read(text)?;
                // A value may draw on a result, not on another value.
                let leads = known(&reference) && (owner != RUN || reference.result.is_some());
                (!leads).then(|| Fault::Unknown {
                    cell: owner.to_string(),
                    input: name.to_string(),
                    name: reference.name.to_string(),
                    near: near(&values, &cells, &reference),
                })
            })
            .collect();
        if !faults.is_empty() {
            return Err(faults);
        }
        let order = order::of(&values, &cells).map_err(|circle| vec![Fault::Circle(circle)])?;
        Ok(Sheet {
            values,
            cells,
            order,
        })
    }

    /// Reads what [`Sheet::text`] wrote.
    ///
    /// # Errors
    /// A line that cannot be read, or as [`Sheet::new`].
    pub fn read(text: &str) -> Result<Self, Vec<Fault>> {
        let mut values = Vec::new();
        let mut cells: Vec<Cell> = Vec::new();
        for line in text.lines().filter(|line| !line.is_empty()) {
            let mut words = line.splitn(3, '\t');
            let parts = (words.next(), words.next(), words.next());
            let broken = || vec![Fault::Line(line.to_string())];
            let (Some(kind), Some(name), Some(rest)) = parts else {
                return Err(broken());
            };
            match (kind, cells.last_mut()) {
                ("value", _) => values.push(Given {
                    name: name.to_string(),
                    text: rest.to_string(),
                }),
                ("cell", _) => cells.push(Cell {
                    id: name.to_string(),
                    calculator: calculators::find(rest).ok_or_else(broken)?,
                    inputs: Vec::new(),
                }),
                ("", Some(cell)) => cell.inputs.push((name.to_string(), rest.to_string())),
                _ => return Err(broken()),
            }
        }
        Sheet::new(values, cells)
    }

    /// The sheet as lines, for the page to read.
    #[cfg(not(target_arch = "wasm32"))]
    pub fn text(&self) -> String {
        let line = |text: &str| text.replace(['\t', '\n', '\r'], " ");
        let mut out = String::new();
        for value in &self.values {
            out.push_str(&format!("value\t{}\t{}\n", value.name, line(&value.text)));
        }
        for cell in &self.cells {
            out.push_str(&format!("cell\t{}\t{}\n", cell.id, cell.calculator.name));
            for (name, text) in &cell.inputs {
                out.push_str(&format!("\t{name}\t{}\n", line(text)));
            }
        }
        out
    }

    /// The values given once.
    pub fn values(&self) -> &[Given] {
        &self.values
    }

    /// The cells, in the order in which they stand on the page.
    pub fn cells(&self) -> &[Cell] {
        &self.cells
    }

    /// The place of the cell called `id`.
    pub fn place(&self, id: &str) -> Option<usize> {
        self.cells.iter().position(|cell| cell.id == id)
    }
}

fn near(values: &[Given], cells: &[Cell], reference: &Reference<'_>) -> Option<String> {
    let found = match reference.result {
        None => nearest(
            reference.name,
            values.iter().map(|value| value.name.as_str()),
        ),
        Some(_) => nearest(reference.name, cells.iter().map(|cell| cell.id.as_str())),
    };
    found.map(str::to_string)
}
