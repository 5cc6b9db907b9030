//! What is read in a run, and what the page's calculators were given: both travel as text, from
//! the builder to the page, from the page to the core, and in an export.

use crate::calculators::{self, Calculator};
use crate::library::Library;
use crate::number;
use crate::outcome::Outcome;
use crate::problem::Problem;
use crate::quantity::{
    self, Dimension, Duration, Fraction, Length, Mass, Number, Pressure, Quantity, Reading,
    Temperature, Unit, Volume,
};

/// The kinds of what can be read; anything else is words.
pub const KINDS: [(&str, Option<&Dimension>); 9] = [
    ("temperature", Some(Temperature::DIMENSION)),
    ("pressure", Some(Pressure::DIMENSION)),
    ("mass", Some(Mass::DIMENSION)),
    ("volume", Some(Volume::DIMENSION)),
    ("time", Some(Duration::DIMENSION)),
    ("length", Some(Length::DIMENSION)),
    ("share", Some(Fraction::DIMENSION)),
    ("number", Some(Number::DIMENSION)),
    ("words", None),
];

/// What is read in a run.
#[derive(Debug, Clone, Default)]
pub struct Spec {
    /// Id of the calculator whose verdict each reading gets; may be empty.
    pub judge: String,
    /// Name of the column that tells fractions apart; may be empty.
    pub group: String,
    /// The columns.
    pub columns: Vec<Column>,
}

/// One thing that is read.
#[derive(Debug, Clone, Default)]
pub struct Column {
    /// What authors call it.
    pub name: String,
    /// What readers see.
    pub label: String,
    /// What kind of quantity it is; none for words.
    pub dimension: Option<&'static Dimension>,
    /// The unit that a bare number has.
    pub unit: String,
    /// The reading error where none is written, with its unit; may be empty.
    pub error: String,
    /// The input of a calculator that it fills; may be empty.
    pub fills: String,
    /// What is expected: `id.figure`, or `id.figure to figure`; may be empty.
    pub expect: String,
    /// The column, asked once, of which the sum is a share; may be empty.
    pub of: String,
    /// `once`: asked once for the run; `sum`: added up.
    pub once: bool,
    /// Whether its readings are added up.
    pub sum: bool,
}

impl Spec {
    /// Reads what [`Spec::write`] wrote. Lines that say nothing are left out: an export may come
    /// from anywhere.
    pub fn read(text: &str) -> Self {
        let mut spec = Spec::default();
        for line in text.lines() {
            let mut cells = line.split('\t');
            let mut next = || cells.next().unwrap_or_default().to_string();
            match next().as_str() {
                "judge" => spec.judge = next(),
                "group" => spec.group = next(),
                "column" => {
                    let mut column = Column {
                        name: next(),
                        label: next(),
                        ..Column::default()
                    };
                    let kind = next();
                    let known = KINDS.iter().find(|(name, _)| *name == kind);
                    column.dimension = known.and_then(|(_, dimension)| *dimension);
                    column.unit = next();
                    column.error = next();
                    column.fills = next();
                    column.expect = next();
                    column.of = next();
                    let how = next();
                    column.once = how == "once";
                    column.sum = how == "sum";
                    spec.columns.push(column);
                }
                _ => {}
            }
        }
        spec
    }

    /// The spec as text.
    #[cfg(not(target_arch = "wasm32"))]
    pub fn write(&self) -> String {
        let mut text = format!("judge\t{}\ngroup\t{}\n", self.judge, self.group);
        for column in &self.columns {
            let called = |dimension: Option<&Dimension>| dimension.map(|one| one.name);
            let kind = KINDS
                .iter()
                .find(|(_, dimension)| called(*dimension) == called(column.dimension));
            let how = match (column.once, column.sum) {
                (true, _) => "once",
                (_, true) => "sum",
                _ => "",
            };
            let cells = [
                "column",
                &column.name,
                &column.label,
                kind.map_or("", |(name, _)| name),
                column.shown_in(),
                &column.error,
                &column.fills,
                &column.expect,
                &column.of,
                how,
            ];
            text.push_str(&cells.map(|cell| cell.replace(['\t', '\n'], " ")).join("\t"));
            text.push('\n');
        }
        text
    }

    /// The columns that each reading has.
    pub fn each(&self) -> impl Iterator<Item = &Column> {
        self.columns.iter().filter(|column| !column.once)
    }

    /// Where the column `name` stands among [`Spec::each`].
    pub fn place(&self, name: &str) -> Option<usize> {
        self.each().position(|column| column.name == name)
    }
}

impl Column {
    /// The unit in which it is shown.
    pub fn shown_in(&self) -> &'static str {
        let Some(dimension) = self.dimension else {
            return "";
        };
        let unit = dimension.unit(&self.unit);
        unit.unwrap_or(dimension.base()).symbol
    }

    /// What was read, in base units: a bare number has the column's unit, and without ± its error.
    /// None where nothing was, or where it is words.
    pub fn read(&self, text: &str) -> Option<Result<Reading, Problem>> {
        let dimension = self.dimension?;
        let text = text.trim();
        if text.is_empty() {
            return None;
        }
        let read = quantity::read(text, dimension);
        let mut read = read.or_else(|problem| {
            let unit = [text, " ", self.shown_in()].concat();
            quantity::read(&unit, dimension).map_err(|_| problem)
        });
        if let Ok(reading) = &mut read
            && reading.error == 0.0
            && !self.error.is_empty()
        {
            let error = ["0 ± ", &self.error].concat();
            reading.error = quantity::read(&error, dimension).map_or(0.0, |zero| zero.error);
        }
        Some(read)
    }

    /// A base value in the unit it is shown in.
    pub fn in_unit(&self, base: f64) -> f64 {
        self.its_unit().map_or(base, |unit| unit.from_base(base))
    }

    /// A difference of base values in that unit.
    pub fn difference_in_unit(&self, base: f64) -> f64 {
        self.its_unit().map_or(base, |unit| base / unit.factor)
    }

    fn its_unit(&self) -> Option<&'static Unit> {
        self.dimension?.unit(self.shown_in())
    }

    /// What was read as an input of a calculator.
    pub fn written(&self, text: &str) -> String {
        let Some(Ok(reading)) = self.read(text) else {
            return text.trim().to_string();
        };
        let mut written = number::plain(self.in_unit(reading.value), 9);
        if reading.error > 0.0 {
            written.push_str(" ± ");
            written.push_str(&number::plain(self.difference_in_unit(reading.error), 9));
        }
        written.push(' ');
        written.push_str(self.shown_in());
        written
    }
}

/// The calculators that a run draws on, with what they were given.
#[derive(Debug, Default)]
pub struct Sheet {
    given: Vec<Given>,
}

/// One calculator of the page.
#[derive(Debug)]
struct Given {
    id: String,
    calculator: &'static Calculator,
    pairs: Vec<(String, String)>,
}

impl Sheet {
    /// Reads lines of `@id`, a tab and the calculator's name, each followed by lines of
    /// `input=value`.
    pub fn read(text: &str) -> Self {
        let mut sheet = Sheet::default();
        for line in text.lines() {
            if let Some((id, name)) = line
                .strip_prefix('@')
                .and_then(|head| head.split_once('\t'))
            {
                if let Some(calculator) = calculators::find(name) {
                    sheet.given.push(Given {
                        id: id.to_string(),
                        calculator,
                        pairs: Vec::new(),
                    });
                }
            } else if let (Some((name, value)), Some(last)) =
                (line.split_once('='), sheet.given.last_mut())
            {
                last.pairs.push((name.to_string(), value.to_string()));
            }
        }
        sheet
    }

    /// The calculator of this id.
    pub fn calculator(&self, id: &str) -> Option<&'static Calculator> {
        Some(self.given(id)?.calculator)
    }

    fn given(&self, id: &str) -> Option<&Given> {
        self.given.iter().find(|given| given.id == id)
    }

    /// Runs the calculator of this id; what was read goes before what it was given.
    pub fn run(
        &self,
        library: &Library,
        id: &str,
        read: &[(String, String)],
    ) -> Option<Result<Outcome, Vec<Problem>>> {
        let Given {
            calculator,
            pairs: given,
            ..
        } = self.given(id)?;
        let takes = |name: &str| calculator.input(name).is_some();
        let mut pairs: Vec<_> = read
            .iter()
            .filter(|(name, _)| takes(name))
            .cloned()
            .collect();
        for pair in given {
            if pairs.iter().all(|(name, _)| *name != pair.0) {
                pairs.push(pair.clone());
            }
        }
        Some(calculator.run(library, &pairs))
    }
}
