//! Volume; base unit mL.

use super::{quantity, unit};

quantity! {
    /// A volume, kept in mL.
    Volume, "volume", "50 mL",
    [
        unit("mL", &["ml", "cm³", "cm3", "cc"], 1.0),
        unit("L", &["l", "litre", "dm³", "dm3"], 1000.0),
        unit("cL", &["cl"], 10.0),
        unit("dL", &["dl"], 100.0),
        unit("µL", &["μL", "uL", "ul", "µl", "μl", "mm³"], 0.001),
        unit("m³", &["m3"], 1e6),
        unit("fl oz", &[], 29.573_53),
    ]
}

impl Volume {
    /// In millilitres.
    pub fn in_millilitres(self) -> f64 {
        self.0
    }
}
