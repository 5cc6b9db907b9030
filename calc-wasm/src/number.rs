//! Numbers as people read them.
//!
//! Our own writer: the standard one does not know the true minus sign, and its tables would add
//! to what the page downloads.

/// Powers of ten that a double holds exactly.
const TENS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
    1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
];

/// `value`·10^`exponent`, correctly rounded for up to 15 digits and |exponent| ≤ 22.
pub(crate) fn scale(value: f64, exponent: i32) -> f64 {
    if value == 0.0 {
        return 0.0;
    }
    let mut left = exponent.clamp(-400, 400);
    let mut scaled = value;
    while left != 0 {
        let step = left.clamp(-22, 22);
        let ten = TENS[step.unsigned_abs() as usize];
        scaled = if step > 0 { scaled * ten } else { scaled / ten };
        left -= step;
    }
    scaled
}

/// `value` with exactly `decimals` places (at most 12), halves away from nought; a true minus sign.
///
/// From 10¹² on the number is written as a power of ten. Never called with NaN or infinity; if
/// it is, a dash is shown.
#[inline(never)]
pub fn fixed(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return "–".to_string();
    }
    if value.abs() >= 1e12 {
        return scientific(value, 3);
    }
    let decimals = decimals.min(12);
    // Keep the product inside what a 64-bit integer holds.
    let decimals = if value.abs() >= 1e6 {
        decimals.min(6)
    } else {
        decimals
    };
    let scaled = f64::round(value.abs() * TENS[decimals]) as u64;
    let unit = TENS[decimals] as u64;
    let mut text = String::new();
    if value < 0.0 && scaled > 0 {
        text.push('−');
    }
    text.push_str(&(scaled / unit).to_string());
    if decimals > 0 {
        let part = (scaled % unit).to_string();
        text.push('.');
        for _ in part.len()..decimals {
            text.push('0');
        }
        text.push_str(&part);
    }
    text
}

/// The place of the first digit: 0 for 1 to 9.99, 1 for 10 to 99.9, -1 for 0.1 to 0.99.
#[inline(never)]
pub fn magnitude(value: f64) -> i32 {
    if value == 0.0 || !value.is_finite() {
        return 0;
    }
    let place = f64::floor(libm::log10(value.abs())) as i32;
    // log10 of 1000 may come out a hair below 3.
    if scale(1.0, place + 1) <= value.abs() {
        place + 1
    } else {
        place
    }
}

/// `value` to `digits` significant digits, as a person would write it: `0.0123`, `1230`, `1.2 × 10⁻⁷`.
#[inline(never)]
pub fn significant(value: f64, digits: usize) -> String {
    if value == 0.0 {
        return "0".to_string();
    }
    let place = magnitude(value);
    if !(-5..=8).contains(&place) {
        return scientific(value, digits);
    }
    let decimals = digits as i32 - 1 - place;
    if decimals >= 0 {
        fixed(value, decimals as usize)
    } else {
        let unit = TENS[decimals.unsigned_abs() as usize];
        fixed(f64::round(value / unit) * unit, 0)
    }
}

/// Significant digits, three or more, with which a percentage short of 100 is not shown as 100.
pub fn digits_short_of_all(percent: f64) -> usize {
    (2 - magnitude(100.0 - percent)).clamp(3, 8) as usize
}

/// `value` to at most `digits` significant digits, without trailing noughts: for inputs and axes.
#[inline(never)]
pub fn plain(value: f64, digits: usize) -> String {
    let text = significant(value, digits);
    let (lead, power) = text.split_at(text.find(' ').unwrap_or(text.len()));
    if lead.bytes().any(|byte| byte == b'.') {
        lead.trim_end_matches('0').trim_end_matches('.').to_string() + power
    } else {
        text
    }
}

/// As a power of ten: `1.2 × 10⁻⁷`.
fn scientific(value: f64, digits: usize) -> String {
    if !value.is_finite() {
        return "–".to_string();
    }
    let mut place = magnitude(value);
    let mut lead = fixed(scale(value, -place), digits.saturating_sub(1).min(6));
    if lead.trim_start_matches('−').starts_with("10") {
        place += 1;
        lead = fixed(scale(value, -place), digits.saturating_sub(1).min(6));
    }
    lead.push_str(" × 10");
    if place < 0 {
        lead.push('⁻');
    }
    for digit in place.unsigned_abs().to_string().bytes() {
        lead.push(RAISED[usize::from(digit - b'0')]);
    }
    lead
}

/// The raised digits, from nought.
pub(crate) const RAISED: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn writes_what_people_read() {
        assert_eq!(fixed(51.93, 1), "51.9");
        assert_eq!(fixed(-0.04, 1), "0.0");
        assert_eq!(fixed(-3.46, 1), "−3.5");
        assert_eq!(fixed(0.05, 3), "0.050");
        assert_eq!(significant(0.012_345, 3), "0.0123");
        assert_eq!(significant(1234.0, 2), "1200");
        assert_eq!(significant(1.234e-7, 2), "1.2 × 10⁻⁷");
        assert_eq!(significant(9.99e-7, 2), "1.0 × 10⁻⁶");
        assert_eq!(plain(30.0, 4), "30");
        assert_eq!(plain(2.50, 4), "2.5");
        assert_eq!(plain(1e-6, 6), "1 × 10⁻⁶");
        for (percent, shown) in [(99.0, "99.0"), (99.9997, "99.9997"), (40.0, "40.0")] {
            let digits = digits_short_of_all(percent);
            assert_eq!(significant(percent, digits), shown);
        }
        assert_eq!(fixed(f64::NAN, 2), "–");
    }
}
