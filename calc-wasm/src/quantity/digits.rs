//! Numbers as people type them.
//!
//! Our own reader, for two reasons: the standard ones know neither the decimal comma
//! nor the true minus sign, and their tables would add a third to what the page downloads.

use crate::number::{RAISED, scale};
use crate::problem::Problem;

/// Reads a number at the start of `text`; gives it with what follows.
///
/// Accepts `12`, `12.5`, `12,5`, `-3`, `−3`, `1e-5`, `1.2×10^-5`. Up to 15 digits are exact.
///
/// # Errors
/// None when no number stands there; a sentence when it could be read two ways (`1,000`).
#[inline(never)]
pub fn lead(text: &str) -> Result<Option<(f64, &str)>, Problem> {
    let (negative, unsigned) = sign(text);
    let bytes = unsigned.as_bytes();
    let digit = |at: usize| match bytes.get(at) {
        Some(byte @ b'0'..=b'9') => Some(u64::from(byte - b'0')),
        _ => None,
    };
    let mut digits: u64 = 0;
    let mut kept = 0;
    let mut exponent: i32 = 0;
    let mut point = None;
    let mut end = 0;
    loop {
        if let Some(digit) = digit(end) {
            if kept < 18 {
                digits = digits * 10 + digit;
                kept += usize::from(digits > 0);
                exponent -= i32::from(point.is_some());
            } else {
                exponent += i32::from(point.is_none());
            }
        } else if point.is_none()
            && let Some(sign @ (b'.' | b',')) = bytes.get(end)
            && digit(end + 1).is_some()
        {
            point = Some((*sign, end));
        } else {
            break;
        }
        end += 1;
    }
    if end == 0 {
        return Ok(None);
    }
    if let Some((b',', at)) = point {
        let whole = &unsigned[..at];
        if end - at == 4 && !whole.is_empty() && whole != "0" {
            let part = &unsigned[at + 1..end];
            return Err(
                Problem::says("“{}” can be read two ways: write “{}{}” or “{}.{}”")
                    .text(&unsigned[..end])
                    .text(whole)
                    .text(part)
                    .text(whole)
                    .text(part),
            );
        }
    }
    let (power, rest) = power_of_ten(&unsigned[end..]);
    let magnitude = scale(digits as f64, exponent.saturating_add(power));
    Ok(Some((if negative { -magnitude } else { magnitude }, rest)))
}

/// Reads a text that is one number and nothing else.
#[inline(never)]
pub fn whole(text: &str) -> Option<f64> {
    match lead(text.trim()) {
        Ok(Some((value, rest))) if rest.is_empty() && value.is_finite() => Some(value),
        _ => None,
    }
}

/// Splits off a sign, the true minus included.
fn sign(text: &str) -> (bool, &str) {
    if let Some(rest) = text.strip_prefix(['-', '−', '–', '⁻']) {
        return (true, rest.trim_start());
    }
    (false, text.strip_prefix('+').unwrap_or(text))
}

/// Reads `e-5`, `E5`, `×10^-5` or `· 10⁻⁵`; 0 when there is none. What we print can be typed again.
fn power_of_ten(text: &str) -> (i32, &str) {
    let times = text.trim_start().strip_prefix(['×', 'x', '*', '·']);
    let raised = times.and_then(|behind| behind.trim_start().strip_prefix("10"));
    let is_raised = |c: char| c == '⁻' || RAISED.contains(&c);
    let Some(mut rest) = raised
        .and_then(|behind| {
            behind
                .strip_prefix('^')
                .or(behind.starts_with(is_raised).then_some(behind))
        })
        .or_else(|| text.strip_prefix(['e', 'E']))
    else {
        return (0, text);
    };
    let (mut power, mut read) = (0, 0);
    let negative;
    (negative, rest) = sign(rest);
    while let Some(c) = rest.chars().next()
        && let Some(digit) = c
            .to_digit(10)
            .or_else(|| Some(RAISED.iter().position(|raised| *raised == c)? as u32))
    {
        power = power * 10 + digit as i32;
        read += 1;
        rest = &rest[c.len_utf8()..];
        if read > 4 {
            break;
        }
    }
    match read {
        1..=4 if negative => (-power, rest),
        1..=4 => (power, rest),
        _ => (0, text),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_what_people_write() {
        for (text, value, rest) in [
            ("12", 12.0, ""),
            ("12,5 mL", 12.5, " mL"),
            ("-3.5", -3.5, ""),
            ("−3.5 °C", -3.5, " °C"),
            ("1e-5", 1e-5, ""),
            ("1.2×10^-5 x", 1.2e-5, " x"),
            ("1.2 × 10⁻⁵ x", 1.2e-5, " x"),
            ("3 × 10¹² g", 3e12, " g"),
            ("3 × 100 g", 3.0, " × 100 g"),
            (".5", 0.5, ""),
            ("5.", 5.0, "."),
            ("0,125", 0.125, ""),
            ("123456789012345", 123_456_789_012_345.0, ""),
            ("2e", 2.0, "e"),
        ] {
            assert_eq!(lead(text), Ok(Some((value, rest))), "{text}");
        }
        assert_eq!(lead("mL"), Ok(None));
        assert!(lead("1,000").is_err());
        assert_eq!(whole("1e999"), None);
    }
}
