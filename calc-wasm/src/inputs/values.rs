//! Checked values, and the ways in which a calculator asks for them.

#[cfg(not(target_arch = "wasm32"))]
use std::cell::RefCell;
#[cfg(not(target_arch = "wasm32"))]
use std::collections::BTreeSet;
use std::ops::Deref;

use super::{Ask, Entry, Named, Rows, Word, Words};
use crate::library::{Library, Record};
use crate::problem::Problem;
use crate::quantity::{Dimension, Measured, Number, Quantity};

/// A value that was read and lies inside its limit.
#[derive(Debug, Clone)]
pub(super) enum Value<'a> {
    Quantity {
        base: f64,
        error: f64,
        dimension: &'static Dimension,
    },
    Choice(&'static str),
    Entry(Record<'a>),
    Words(String),
    Rows(Vec<Row<'a>>),
}

/// Checked values by name: those of a calculation, or the cells of a row. What was left out, and
/// is not preset, is not among them.
#[derive(Debug, Clone)]
pub struct Values<'a> {
    read: Vec<(&'static str, Value<'a>)>,
    /// What was asked for, so that a test finds a field that nothing reads.
    #[cfg(not(target_arch = "wasm32"))]
    asked: RefCell<BTreeSet<String>>,
}

/// One row of a rows input: its cells by the names of their columns.
pub type Row<'a> = Values<'a>;

/// All checked values of one calculation.
#[derive(Debug)]
pub struct Inputs<'a> {
    pub(super) values: Values<'a>,
    pub(super) library: &'a Library,
    pub(super) given: Vec<&'static str>,
    pub(super) notes: Vec<&'static str>,
}

// The typed ways to ask are a thin coat over ones that are not generic: the page's download
// would hold each once for every kind of quantity.
impl<'a> Values<'a> {
    pub(super) fn new(read: Vec<(&'static str, Value<'a>)>) -> Self {
        Values {
            read,
            #[cfg(not(target_arch = "wasm32"))]
            asked: RefCell::default(),
        }
    }

    /// What was asked for so far, by name: inputs, and cells as `spots.rf`.
    #[cfg(not(target_arch = "wasm32"))]
    pub fn asked(&self) -> BTreeSet<String> {
        let mut asked = self.asked.borrow().clone();
        for (name, value) in &self.read {
            let Value::Rows(rows) = value else { continue };
            let cells = rows.iter().flat_map(Values::asked);
            asked.extend(cells.map(|cell| format!("{name}.{cell}")));
        }
        asked
    }

    #[inline(never)]
    fn value(&self, name: &str) -> Option<&Value<'a>> {
        #[cfg(not(target_arch = "wasm32"))]
        self.asked.borrow_mut().insert(name.to_string());
        let mut values = self.read.iter();
        values
            .find(|(called, _)| *called == name)
            .map(|(_, value)| value)
    }

    /// The quantity called `name` with its reading error; None when it was left out.
    #[inline(always)]
    pub fn measured<Q: Quantity>(&self, field: impl Ask<Option<Q>>) -> Option<Measured<Q>> {
        self.read_base(field.name(), Q::DIMENSION).map(typed)
    }

    /// The quantity called `name`; None when it was left out.
    #[inline(always)]
    pub fn quantity<Q: Quantity>(&self, field: impl Ask<Option<Q>>) -> Option<Q> {
        self.read_value(field.name(), Q::DIMENSION)
            .map(Q::from_base)
    }

    /// Base units and error of the quantity called `name`, if it is of this kind.
    #[inline(never)]
    fn read_base(&self, name: &str, kind: &'static Dimension) -> Option<(f64, f64)> {
        match self.value(name)? {
            Value::Quantity {
                base,
                error,
                dimension,
            } if dimension.name == kind.name => Some((*base, *error)),
            _ => None,
        }
    }

    #[inline(never)]
    fn read_value(&self, name: &str, kind: &'static Dimension) -> Option<f64> {
        Some(self.read_base(name, kind)?.0)
    }

    /// The quantity called `name` in base units, whatever its kind; None when it was left out.
    #[inline(never)]
    pub fn base(&self, field: impl Named) -> Option<f64> {
        match self.value(field.name()) {
            Some(Value::Quantity { base, .. }) => Some(*base),
            _ => None,
        }
    }

    /// The quantity called `name`, which is required or has a preset, so that it is there once
    /// the inputs were read. (An input declared otherwise gives what is not a number, and the
    /// answer is refused; see [`Inputs::need`] for those.)
    #[inline(always)]
    pub fn get<Q: Quantity>(&self, field: impl Ask<Q>) -> Q {
        Q::from_base(self.get_value(field.name(), Q::DIMENSION))
    }

    /// The same with its reading error.
    #[inline(always)]
    pub fn get_measured<Q: Quantity>(&self, field: impl Ask<Q>) -> Measured<Q> {
        typed(self.get_base(field.name(), Q::DIMENSION))
    }

    #[inline(never)]
    fn get_value(&self, name: &str, kind: &'static Dimension) -> f64 {
        self.get_base(name, kind).0
    }

    #[inline(never)]
    fn get_base(&self, name: &str, kind: &'static Dimension) -> (f64, f64) {
        self.read_base(name, kind).unwrap_or((f64::NAN, 0.0))
    }

    /// The word chosen for `name`; empty when it was left out.
    #[inline(never)]
    pub fn choice(&self, field: impl Ask<Word>) -> &'static str {
        match self.value(field.name()) {
            Some(Value::Choice(word)) => word,
            _ => "",
        }
    }

    /// The table row given for `name`; None when it was left out or a quantity stands there.
    #[inline(never)]
    pub fn entry(&self, field: impl Ask<Entry>) -> Option<Record<'a>> {
        match self.value(field.name()) {
            Some(Value::Entry(record)) => Some(*record),
            _ => None,
        }
    }

    /// The words given for `name`; empty when they were left out.
    #[inline(never)]
    pub fn words(&self, field: impl Ask<Words>) -> &str {
        match self.value(field.name()) {
            Some(Value::Words(text)) => text,
            _ => "",
        }
    }

    /// The rows given for `name`; none when they were left out.
    #[inline(never)]
    pub fn rows(&self, field: impl Ask<Rows>) -> &[Row<'a>] {
        match self.value(field.name()) {
            Some(Value::Rows(rows)) => rows,
            _ => &[],
        }
    }
}

impl<'a> Deref for Inputs<'a> {
    type Target = Values<'a>;

    fn deref(&self) -> &Values<'a> {
        &self.values
    }
}

/// What belongs to the calculation as a whole, and what may be refused: only an input can be
/// blamed by its name.
impl<'a> Inputs<'a> {
    /// The data tables.
    pub fn library(&self) -> &'a Library {
        self.library
    }

    /// Notes on values that are possible but unusual.
    pub fn notes(&self) -> &[&'static str] {
        &self.notes
    }

    /// Whether the reader gave this input, rather than leaving it to its preset.
    #[inline(never)]
    pub fn given(&self, field: impl Named) -> bool {
        self.given.contains(&field.name())
    }

    /// The quantity called `name`, which is needed here.
    ///
    /// # Errors
    /// When it was left out.
    #[inline(always)]
    pub fn need<Q: Quantity>(&self, field: impl Ask<Option<Q>>) -> Result<Q, Problem> {
        self.need_value(field.name(), Q::DIMENSION)
            .map(Q::from_base)
    }

    /// The quantity called `name` with its reading error, which is needed here.
    ///
    /// # Errors
    /// When it was left out.
    #[inline(always)]
    pub fn need_measured<Q: Quantity>(
        &self,
        field: impl Ask<Option<Q>>,
    ) -> Result<Measured<Q>, Problem> {
        self.need_base(field.name(), Q::DIMENSION).map(typed)
    }

    #[inline(never)]
    fn need_base(&self, name: &str, kind: &'static Dimension) -> Result<(f64, f64), Problem> {
        let read = self.read_base(name, kind);
        read.ok_or_else(|| Problem::new(name, "needed here; write it like “{}”").text(kind.example))
    }

    #[inline(never)]
    fn need_value(&self, name: &str, kind: &'static Dimension) -> Result<f64, Problem> {
        Ok(self.need_base(name, kind)?.0)
    }

    /// The table row called `name`, which is needed here.
    ///
    /// # Errors
    /// When it was left out, or a quantity stands there.
    #[inline(never)]
    pub fn need_entry(&self, field: impl Ask<Entry>) -> Result<Record<'a>, Problem> {
        let entry = self.entry(field.name());
        entry.ok_or_else(|| {
            Problem::new(
                field.name(),
                "needed here; give a field.name() from the table",
            )
        })
    }

    /// The whole number called `name`; None when it was left out.
    ///
    /// # Errors
    /// When it is not whole.
    #[inline(never)]
    pub fn count(&self, field: impl Ask<Option<Number>>) -> Result<Option<f64>, Problem> {
        let Some(count) = self.quantity::<Number>(field.name()).map(Number::base) else {
            return Ok(None);
        };
        let whole = f64::round(count);
        if (count - whole).abs() < 1e-9 {
            return Ok(Some(whole));
        }
        Err(Problem::new(field.name(), "{~5} is not a whole number").number(count))
    }
}

fn typed<Q: Quantity>((base, error): (f64, f64)) -> Measured<Q> {
    Measured {
        value: Q::from_base(base),
        error,
    }
}
