//! What one value draws on another by.

use crate::inputs::Carried;
use crate::number;
use crate::outcome::{Figure, Value};
use crate::quantity::digits;

/// `=substance`, `=vacuum-plan.suggested_pressure` or `=vacuum-plan.suggested_pressure ± 1 mmHg`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reference<'t> {
    /// The value, or the cell.
    pub name: &'t str,
    /// The cell's result; none for a value.
    pub result: Option<&'t str>,
    /// The error that is written behind: `1 mmHg`.
    pub error: Option<&'t str>,
}

impl<'t> Reference<'t> {
    /// The reference that `text` is, if it is one.
    pub fn read(text: &'t str) -> Option<Self> {
        let text = text.trim().strip_prefix('=')?;
        let (head, error) = match text.split_once('±') {
            Some((head, error)) => (head.trim(), Some(error.trim())),
            None => (text.trim(), None),
        };
        let (name, result) = match head.split_once('.') {
            Some((name, result)) => (name, Some(result)),
            None => (head, None),
        };
        Some(Reference {
            name,
            result,
            error,
        })
    }
}

/// What a cell draws for one of its inputs.
#[derive(Debug, Clone)]
pub(super) enum Drawn {
    /// A text, read as if it were typed.
    Text(String),
    /// A number, whole, with its error.
    Number(Carried),
}

/// A value given once, with the error that the reference adds.
pub(super) fn from_value(text: &str, error: Option<&str>) -> Drawn {
    let mut drawn = text.to_string();
    if let Some(error) = error
        && !text.contains('±')
    {
        drawn.push_str(" ± ");
        drawn.push_str(error);
    }
    Drawn::Text(drawn)
}

/// A result with its interval, or with the error that the reference gives in its place.
pub(super) fn from_figure(figure: &Figure, error: Option<&str>) -> Drawn {
    let value = match &figure.value {
        Value::Words(words) => return Drawn::Text(words.clone()),
        Value::Number(value) => *value,
    };
    let half = match (figure.low, figure.high) {
        (Some(low), Some(high)) => (high - low) / 2.0,
        _ => 0.0,
    };
    let (error, error_unit) = match error.and_then(|error| digits::lead(error).ok()?) {
        Some((error, unit)) => (error.abs(), unit.trim().to_string()),
        None => (half, String::new()),
    };
    Drawn::Number(Carried {
        value,
        unit: figure.unit,
        error,
        error_unit,
        shown: figure.numeral(),
    })
}

impl Drawn {
    /// What a form shows of it: `28 ± 1 mmHg`.
    pub(super) fn shown(&self) -> String {
        let carried = match self {
            Drawn::Text(text) => return text.clone(),
            Drawn::Number(carried) => carried,
        };
        let mut shown = carried.shown.clone();
        if carried.error > 0.0 {
            shown.push_str(" ± ");
            shown.push_str(&number::plain(carried.error, 2));
        }
        // An error in a unit of its own goes behind the value's: `27.9 mmHg ± 0.1 mbar`.
        if !carried.error_unit.is_empty() && carried.error_unit != carried.unit {
            shown = carried.shown.clone();
            shown.push(' ');
            shown.push_str(carried.unit);
            shown.push_str(" ± ");
            shown.push_str(&number::plain(carried.error, 2));
            shown.push(' ');
            shown.push_str(&carried.error_unit);
        } else if !carried.unit.is_empty() {
            shown.push(' ');
            shown.push_str(carried.unit);
        }
        shown
    }

    /// All that tells it from another, to the last bit.
    pub(super) fn key(&self, out: &mut String) {
        match self {
            Drawn::Text(text) => out.push_str(text),
            Drawn::Number(carried) => {
                for bits in [carried.value.to_bits(), carried.error.to_bits()] {
                    out.push('#');
                    out.push_str(&bits.to_string());
                }
                out.push_str(carried.unit);
                out.push_str(&carried.error_unit);
            }
        }
    }
}
