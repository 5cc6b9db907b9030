//! Length and area; base units mm and mm².

use super::{quantity, unit};

quantity! {
    /// A length, kept in mm.
    Length, "length", "20 mm",
    [
        unit("mm", &[], 1.0),
        unit("cm", &[], 10.0),
        unit("m", &[], 1000.0),
        unit("µm", &["μm", "um", "micron"], 0.001),
        unit("in", &["inch", "\"", "inches"], 25.4),
    ]
}

quantity! {
    /// An area, kept in mm².
    Area, "area", "300 mm²",
    [
        unit("mm²", &["mm2"], 1.0),
        unit("cm²", &["cm2"], 100.0),
    ]
}

impl Length {
    /// In millimetres.
    pub fn in_millimetres(self) -> f64 {
        self.0
    }
}
