//! From text to a value in base units with its reading error: `15 ± 1 mmHg`.

use super::{Dimension, Unit, digits};
use crate::problem::Problem;

/// What was written, in base units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Value in the dimension's base unit.
    pub value: f64,
    /// Half-width of the reading error in base units; 0 if none was written.
    pub error: f64,
}

/// What stands before and after `±`, `+/-` or `+-`.
fn plus_or_minus(text: &str) -> Option<(&str, &str)> {
    if let Some(parts) = text.split_once('±') {
        return Some(parts);
    }
    text.match_indices('+').find_map(|(at, _)| {
        let behind = &text[at + 1..];
        let behind = behind.strip_prefix('/').unwrap_or(behind);
        Some((&text[..at], behind.strip_prefix('-')?))
    })
}

/// Reads `text` as a quantity of `dimension`.
///
/// Accepted: `15 mmHg`, `15 ± 1 mmHg`, `(15 ± 1) mmHg`, `15 mmHg +/- 5 %`, `20 mbar ± 1 mmHg`.
///
/// # Errors
/// A sentence that quotes what was written and says what would be right: no number, no unit,
/// a unit of another kind, or a number that can be read two ways.
pub fn read(text: &str, dimension: &'static Dimension) -> Result<Reading, Problem> {
    // Only the brackets around a number go: `J/(g K)` needs its own.
    let bare = text.trim();
    let in_brackets = bare.strip_prefix('(').and_then(|rest| rest.split_once(')'));
    let (number, behind) = in_brackets.unwrap_or((bare, ""));
    let mut tidy = number.to_string();
    tidy.push(' ');
    tidy.push_str(behind);
    let (value_text, error_text) = match plus_or_minus(&tidy) {
        Some((value, error)) => (value.trim(), Some(error.trim())),
        None => (tidy.trim(), None),
    };
    let (value, value_unit) = split(value_text, text, dimension)?;
    let Some(error_text) = error_text else {
        let unit = unit(value_unit, text, dimension)?;
        return Ok(Reading {
            value: unit.to_base(value),
            error: 0.0,
        });
    };
    let (error, error_unit) = split(error_text, text, dimension)?;
    let named = if value_unit.is_empty() {
        error_unit
    } else {
        value_unit
    };
    let value_unit = unit(named, text, dimension)?;
    let base = value_unit.to_base(value);
    let error = if error_unit == "%" && named != "%" {
        base * error / 100.0
    } else if error_unit.is_empty() {
        error * value_unit.factor
    } else {
        error * unit(error_unit, text, dimension)?.factor
    };
    Ok(Reading {
        value: base,
        error: error.abs(),
    })
}

/// Splits `12 mL` into 12 and `mL`.
fn split<'t>(
    part: &'t str,
    written: &str,
    dimension: &Dimension,
) -> Result<(f64, &'t str), Problem> {
    match digits::lead(part)? {
        Some((value, rest)) if value.is_finite() => Ok((value, rest.trim())),
        _ => Err(Problem::says("“{}” is not a {}; write it like “{}”")
            .text(written.trim())
            .text(dimension.name)
            .text(dimension.example)),
    }
}

/// Finds the unit, or says which would do.
fn unit(
    symbol: &str,
    written: &str,
    dimension: &'static Dimension,
) -> Result<&'static Unit, Problem> {
    if let Some(unit) = dimension.unit(symbol) {
        return Ok(unit);
    }
    let written = written.trim();
    let mut known = dimension
        .units
        .iter()
        .map(|unit| unit.symbol)
        .filter(|symbol| !symbol.is_empty());
    let problem = if known.clone().next().is_none() {
        Problem::says("“{}” has the unit “{}”, but this is a number without unit, like “{}”")
            .text(written)
            .text(symbol)
    } else if symbol.is_empty() {
        Problem::says("“{}” has no unit; write it like “{}”").text(written)
    } else {
        return Err(Problem::says("“{}” is not a unit of {}; use {}")
            .text(symbol)
            .text(dimension.name)
            .list(", ", &mut known));
    };
    Err(problem.text(dimension.example))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Pressure, Quantity, Temperature, Volume};

    /// Factors: NIST SP 811 (2008), Appendix B.8.
    #[test]
    fn converts_as_nist_sp_811() {
        let mmhg = |text| read(text, Pressure::DIMENSION).unwrap().value;
        for (text, pascal) in [
            ("1 atm", 101_325.0),
            ("1 mmHg", 133.3224),
            ("1 Torr", 133.3224),
            ("1 mbar", 100.0),
            ("1 bar", 100_000.0),
            ("1 psi", 6894.757),
            ("1 inHg", 3386.389),
            ("1 mTorr", 0.133_322_4),
            ("1 hPa", 100.0),
            ("1 kPa", 1000.0),
        ] {
            let got = mmhg(text) * 101_325.0 / 760.0;
            assert!((got - pascal).abs() < 1e-6 * pascal, "{text}: {got}");
        }
        let celsius = read("212 °F", Temperature::DIMENSION).unwrap().value;
        assert!((celsius - 100.0).abs() < 1e-9);
        assert!((read("373.15 K", Temperature::DIMENSION).unwrap().value - 100.0).abs() < 1e-9);
        assert!((read("0,25 L", Volume::DIMENSION).unwrap().value - 250.0).abs() < 1e-9);
    }

    #[test]
    fn reads_the_error_of_a_reading() {
        for text in [
            "15 ± 1 mmHg",
            "15±1mmHg",
            "(15 +/- 1) mmHg",
            "15 mmHg ± 1",
            "15 mmHg ± 1 mmHg",
        ] {
            let reading = read(text, Pressure::DIMENSION).unwrap();
            assert!(
                (reading.value - 15.0).abs() < 1e-12 && (reading.error - 1.0).abs() < 1e-12,
                "{text}"
            );
        }
        let relative = read("200 mmHg ± 5 %", Pressure::DIMENSION).unwrap();
        assert!((relative.error - 10.0).abs() < 1e-9);
        // A difference in °F has no offset.
        let fahrenheit = read("212 ± 9 °F", Temperature::DIMENSION).unwrap();
        assert!((fahrenheit.error - 5.0).abs() < 1e-9);
    }

    #[test]
    fn says_what_would_be_right() {
        let refusal = |text| {
            read(text, Pressure::DIMENSION)
                .unwrap_err()
                .message
                .to_string()
        };
        assert!(refusal("15").contains("has no unit"), "{}", refusal("15"));
        assert!(refusal("15 mL").contains("not a unit of pressure"));
        assert!(refusal("soon").contains("not a pressure"));
        assert!(refusal("1,500 mmHg").contains("two ways"));
        assert!(refusal("").contains("write it like “15 mmHg”"));
    }
}
