//! From what was typed to checked values: the description of an input here, reading its typed
//! form, through which a calculator reads it (`field`), reading what was typed against it
//! (`reader`), how rows are written (`rows`), and the checked values that a calculator asks for (`values`).

use crate::limits::Limit;

mod field;
mod reader;
mod rows;
mod values;

pub use field::{Answer, Ask, Cell, Entry, Field, Named, Rows, Shape, Word, Words};
pub use rows::{join_rows, split_row, written_rows};
pub use values::{Inputs, Row, Values};

/// The description of one input. Form, terminal, error sentences and tests all read it.
#[derive(Debug, Clone, Copy)]
pub struct Input {
    /// What authors type: `highest_pot_temperature`.
    pub name: &'static str,
    /// What readers see: `Highest pot temperature`.
    pub label: &'static str,
    /// One line of help.
    pub help: &'static str,
    /// What it accepts.
    pub kind: Kind,
    /// Whether it may be left out, and what then.
    pub need: Need,
    /// Asked only while another input has one of these values: `("gauge", &["dial"])`.
    pub when: Option<(&'static str, &'static [&'static str])>,
}

impl Input {
    const fn new(
        name: &'static str,
        label: &'static str,
        kind: Kind,
        need: Need,
        help: &'static str,
    ) -> Self {
        Input {
            name,
            label,
            help: form_only(help),
            kind,
            need,
            when: None,
        }
    }

    /// An input that must be given.
    pub const fn required(
        name: &'static str,
        label: &'static str,
        kind: Kind,
        help: &'static str,
    ) -> Self {
        Input::new(name, label, kind, Need::Required, help)
    }

    /// An input that has a value of its own when left out.
    pub const fn preset(
        name: &'static str,
        label: &'static str,
        kind: Kind,
        preset: &'static str,
        help: &'static str,
    ) -> Self {
        Input::new(name, label, kind, Need::Preset(preset), help)
    }

    /// An input that may be left out.
    pub const fn optional(
        name: &'static str,
        label: &'static str,
        kind: Kind,
        help: &'static str,
    ) -> Self {
        Input::new(name, label, kind, Need::Optional, help)
    }

    /// The same, asked only while `input` has one of `values`.
    pub const fn when(self, input: &'static str, values: &'static [&'static str]) -> Self {
        Input {
            when: Some((input, values)),
            ..self
        }
    }
}

impl Input {
    /// The value it has when it is left out; empty where it has none.
    pub fn by_itself(&self) -> &'static str {
        match self.need {
            Need::Preset(preset) => preset,
            Need::Required | Need::Optional => "",
        }
    }

    /// Whether `text`, written for this input, is the choice called `name`.
    pub fn means(&self, text: &str, name: &str) -> bool {
        match self.kind {
            Kind::Choice(choices) => choices
                .iter()
                .any(|choice| choice.name == name && choice.is(text)),
            _ => text == name,
        }
    }
}

/// Words that only forms and lists show. The page's form comes ready made from the builder, so its
/// download goes without them.
pub(crate) const fn form_only(words: &'static str) -> &'static str {
    if cfg!(target_arch = "wasm32") {
        ""
    } else {
        words
    }
}

/// A number that comes from another calculation and not from a text: whole, with its error.
#[derive(Debug, Clone, PartialEq)]
pub struct Carried {
    /// The number, in `unit`.
    pub value: f64,
    /// Its unit, as results have it.
    pub unit: &'static str,
    /// Its error, never below nought, in `error_unit`.
    pub error: f64,
    /// The unit of the error, `%` for hundredths of the value; empty where it is `unit`.
    pub error_unit: String,
    /// The number as it was shown.
    pub shown: String,
}

/// Whether an input may be left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Need {
    /// It must be given.
    Required,
    /// It may be left out; then it is unknown. `auto` says the same.
    Optional,
    /// It may be left out; then it has this value.
    Preset(&'static str),
}

/// What an input accepts.
#[derive(Debug, Clone, Copy)]
pub enum Kind {
    /// A quantity inside a limit, with its reading error if it has one.
    Quantity(&'static Limit),
    /// A quantity of whichever kind its unit says: a volume, a mass, or a bare count.
    AnyOf(&'static [&'static Limit]),
    /// One of a few words.
    Choice(&'static [Choice]),
    /// A row of a table of the library, by name, alias or CAS number.
    Entry(&'static str),
    /// A row of a table, or a quantity in its place: a substance, or a boiling point.
    EntryOrQuantity(&'static str, &'static Limit),
    /// Any words.
    Words,
    /// Rows of cells: `a: 0.35, 100 mg; b: 0.2, 80 mg`.
    Rows(&'static [&'static Column]),
}

/// One of a few words.
#[derive(Debug)]
pub struct Choice {
    /// What authors type.
    pub name: &'static str,
    /// What readers see.
    pub label: &'static str,
}

impl Choice {
    /// Whether `text` means this one: by its name or by its label.
    pub fn is(&self, text: &str) -> bool {
        self.name.eq_ignore_ascii_case(text) || self.label.eq_ignore_ascii_case(text)
    }
}

/// One cell of a row.
#[derive(Debug, Clone, Copy)]
pub struct Column {
    /// What the calculator calls it.
    pub name: &'static str,
    /// What readers see above it.
    pub label: &'static str,
    /// The sign before this cell in the written form: `:`, `,` or `@`. The first has none.
    pub before: Option<char>,
    /// What it accepts; no rows within rows.
    pub kind: Kind,
    /// Whether the cell may be empty (only the last ones may).
    pub optional: bool,
}
