//! A field: an input as a calculator declares it, once, and reads it back through.
//!
//! The type says what reading gives, so a misspelt field, or a volume read as a mass, does not
//! compile. That the description fits the type is checked when the static is compiled.

use std::marker::PhantomData;

use super::{Column, Input, Kind, Need};
use crate::quantity::{Dimension, Quantity};

/// An input that gives a `T` when it is read: a quantity, which is then required or has a preset;
/// an `Option` of one, which may be left out; [`Word`], [`Entry`], [`Words`] or [`Rows`].
///
/// ```
/// use calc_wasm::inputs::{Field, Inputs, Kind};
/// use calc_wasm::limits;
/// use calc_wasm::quantity::Pressure;
///
/// static PRESSURE: Field<Pressure> = Field::preset(
///     "pressure",
///     "Pressure",
///     Kind::Quantity(&limits::PRESSURE),
///     "100 mmHg",
///     "At the still head.",
/// );
/// fn mmhg(inputs: &Inputs<'_>) -> f64 {
///     inputs.get(&PRESSURE).in_mmhg()
/// }
/// ```
///
/// A misspelt field does not compile:
///
/// ```compile_fail,E0425
/// # use calc_wasm::inputs::{Field, Inputs, Kind};
/// # use calc_wasm::limits;
/// # use calc_wasm::quantity::Pressure;
/// # static PRESSURE: Field<Pressure> = Field::preset(
/// #     "pressure", "Pressure", Kind::Quantity(&limits::PRESSURE), "100 mmHg", "");
/// fn mmhg(inputs: &Inputs<'_>) -> f64 {
///     inputs.get(&PRESURE).in_mmhg()
/// }
/// ```
///
/// Nor does a limit of another kind of quantity:
///
/// ```compile_fail,E0080
/// # use calc_wasm::inputs::{Field, Kind};
/// # use calc_wasm::limits;
/// # use calc_wasm::quantity::Pressure;
/// static PRESSURE: Field<Pressure> = Field::preset(
///     "pressure", "Pressure", Kind::Quantity(&limits::VOLUME), "100 mL", "");
/// ```
#[derive(Debug)]
pub struct Field<T> {
    /// What form, terminal and reader know of it.
    pub input: Input,
    gives: PhantomData<fn() -> T>,
}

impl<T> Clone for Field<T> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<T> Copy for Field<T> {}

impl<T: Answer> Field<T> {
    const fn new(input: Input) -> Self {
        assert!(
            fits(&T::SHAPE, &input.kind, &input.need),
            "the description does not fit the type of the field"
        );
        Field {
            input,
            gives: PhantomData,
        }
    }

    /// A field that has a value of its own when left out.
    pub const fn preset(
        name: &'static str,
        label: &'static str,
        kind: Kind,
        preset: &'static str,
        help: &'static str,
    ) -> Self {
        Field::new(Input::preset(name, label, kind, preset, help))
    }

    /// A field that may be left out.
    pub const fn optional(
        name: &'static str,
        label: &'static str,
        kind: Kind,
        help: &'static str,
    ) -> Self {
        Field::new(Input::optional(name, label, kind, help))
    }

    /// The same, asked only while `other` has one of `values`.
    pub const fn when(self, other: &Field<Word>, values: &'static [&'static str]) -> Self {
        Field {
            input: self.input.when(other.input.name, values),
            ..self
        }
    }
}

/// A cell of a row, as [`Field`] is an input: asked for in the rows that were read.
#[derive(Debug)]
pub struct Cell<T> {
    /// What form and reader know of it.
    pub column: Column,
    gives: PhantomData<fn() -> T>,
}

impl<T: Answer> Cell<T> {
    /// A cell with the sign before it (the first has none), and whether it may be empty.
    pub const fn new(
        name: &'static str,
        label: &'static str,
        before: Option<char>,
        kind: Kind,
        optional: bool,
    ) -> Self {
        assert!(
            fits(&T::SHAPE, &kind, &Need::Required),
            "the description does not fit the type of the cell"
        );
        Cell {
            column: Column {
                name,
                label,
                before,
                kind,
                optional,
            },
            gives: PhantomData,
        }
    }
}

/// One of a few words.
#[derive(Debug)]
pub struct Word;

/// A row of a table.
#[derive(Debug)]
pub struct Entry;

/// Any words.
#[derive(Debug)]
pub struct Words;

/// Rows of cells.
#[derive(Debug)]
pub struct Rows;

/// What a description must be to give this type.
#[derive(Debug)]
pub enum Shape {
    /// A quantity of this kind; whether it may be left out.
    Quantity(&'static Dimension, bool),
    /// A choice.
    Word,
    /// A row of a table.
    Entry,
    /// Any words.
    Words,
    /// Rows of cells.
    Rows,
}

/// A type that a field can give. Implemented in this file only.
pub trait Answer {
    /// What the description must be.
    const SHAPE: Shape;
}

impl<Q: Quantity> Answer for Q {
    const SHAPE: Shape = Shape::Quantity(Q::DIMENSION, false);
}

impl<Q: Quantity> Answer for Option<Q> {
    const SHAPE: Shape = Shape::Quantity(Q::DIMENSION, true);
}

impl Answer for Word {
    const SHAPE: Shape = Shape::Word;
}

impl Answer for Entry {
    const SHAPE: Shape = Shape::Entry;
}

impl Answer for Words {
    const SHAPE: Shape = Shape::Words;
}

impl Answer for Rows {
    const SHAPE: Shape = Shape::Rows;
}

/// Whether what is described gives what the type says.
const fn fits(shape: &Shape, kind: &Kind, need: &Need) -> bool {
    match (shape, kind) {
        (Shape::Quantity(dimension, optional), Kind::Quantity(limit)) => {
            same(dimension.name, limit.dimension.name)
                && *optional == matches!(need, Need::Optional)
        }
        (Shape::Word, Kind::Choice(_))
        | (Shape::Entry, Kind::Entry(_))
        | (Shape::Words, Kind::Words)
        | (Shape::Rows, Kind::Rows(_)) => true,
        _ => false,
    }
}

/// Whether two texts are the same; `==` cannot be used in constants.
const fn same(one: &str, other: &str) -> bool {
    let (one, other) = (one.as_bytes(), other.as_bytes());
    let mut at = 0;
    while at < one.len() && at < other.len() && one[at] == other[at] {
        at += 1;
    }
    at == one.len() && at == other.len()
}

/// What has the name of an input: a field, or the name itself, where it is not known before the
/// calculator runs.
pub trait Named {
    /// The name.
    fn name(&self) -> &str;
}

/// What may be asked for a `T`: a field of that type, or a name.
pub trait Ask<T>: Named {}

impl<T> Named for &Field<T> {
    #[inline(always)]
    fn name(&self) -> &str {
        self.input.name
    }
}

impl<T> Ask<T> for &Field<T> {}

impl<T> Named for &Cell<T> {
    #[inline(always)]
    fn name(&self) -> &str {
        self.column.name
    }
}

impl<T> Ask<T> for &Cell<T> {}

/// Any cell may be empty for all that its reader knows.
impl<Q: Quantity> Ask<Option<Q>> for &Cell<Q> {}

impl Named for &str {
    #[inline(always)]
    fn name(&self) -> &str {
        self
    }
}

impl<T> Ask<T> for &str {}
