//! Does a reading agree with what was expected?
//!
//! d = read − expected. Each ± is taken for a limit of which nothing else is known; its standard
//! error is a/√3 (JCGM 100:2008, 4.3.7), and independent ones join as the root of the sum of
//! squares. A reading agrees while |d| is at most two standard errors (common practice).

/// Standard errors up to which a reading agrees.
pub const AGREES: f64 = 2.0;

/// How many standard errors `difference` comes to, both limits joined; all in one unit.
pub fn standard_errors(difference: f64, limits: [f64; 2]) -> f64 {
    difference / standard_error(limits).max(1e-6)
}

/// The standard error that joins limits ± `parts`.
fn standard_error(parts: [f64; 2]) -> f64 {
    let [a, b] = parts;
    f64::sqrt((a * a + b * b) / 3.0)
}

/// What a difference of so many standard errors says of the reading.
pub fn verdict(errors: f64) -> &'static str {
    if errors.abs() <= AGREES {
        "agrees"
    } else if errors > 0.0 {
        "high"
    } else {
        "low"
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A limit ± a has the standard error a/√3 (JCGM 100:2008, 4.3.7).
    #[test]
    fn joins_limits() {
        assert!((standard_error([3.0, 0.0]) - 3.0_f64.sqrt()).abs() < 1e-12);
        assert!((standard_error([3.0, 4.0]) - 5.0 / 3.0_f64.sqrt()).abs() < 1e-12);
    }
}
