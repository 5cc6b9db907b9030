//! Pressure; base unit mmHg, the unit of the trade's tables.

use super::{quantity, unit};

/// Pascals in one millimetre of mercury (conventional), which here is one torr: 101325/760.
/// The two differ by 1 part in 7 million, far below any reading.
const PASCAL_PER_MMHG: f64 = 101_325.0 / 760.0;

quantity! {
    /// An absolute pressure, kept in mmHg.
    Pressure, "pressure", "15 mmHg",
    [
        unit("mmHg", &["mm Hg", "Torr", "torr", "mmhg"], 1.0),
        unit("mbar", &["millibar"], 100.0 / PASCAL_PER_MMHG),
        unit("hPa", &[], 100.0 / PASCAL_PER_MMHG),
        unit("Pa", &["pascal"], 1.0 / PASCAL_PER_MMHG),
        unit("kPa", &[], 1000.0 / PASCAL_PER_MMHG),
        unit("bar", &[], 100_000.0 / PASCAL_PER_MMHG),
        unit("atm", &[], 760.0),
        unit("psi", &[], 6894.757 / PASCAL_PER_MMHG),
        // Inches of mercury (conventional) and millitorr, as dials and vacuum gauges are marked:
        // NIST SP 811, Appendix B.8.
        unit("inHg", &["in Hg", "inches Hg"], 3386.389 / PASCAL_PER_MMHG),
        unit("mTorr", &["millitorr", "mtorr", "µmHg"], 0.001),
    ]
}

impl Pressure {
    /// From millimetres of mercury.
    pub fn mmhg(value: f64) -> Self {
        Pressure(value)
    }

    /// In millimetres of mercury.
    pub fn in_mmhg(self) -> f64 {
        self.0
    }
}
