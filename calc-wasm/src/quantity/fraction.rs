//! A share of a whole; base unit 1, shown in %.

use super::{quantity, unit};

quantity! {
    /// A share, kept as a number from 0 to 1; `80 %` and `0.8` are the same.
    Fraction, "share", "95 %",
    [
        unit("", &[], 1.0),
        unit("%", &["percent", "mol%", "mol %", "mole %"], 0.01),
    ]
}

impl Fraction {
    /// As a number between 0 and 1.
    pub fn in_ones(self) -> f64 {
        self.0
    }

    /// In percent.
    pub fn in_percent(self) -> f64 {
        self.0 * 100.0
    }
}
