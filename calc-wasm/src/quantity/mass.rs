//! Mass, molar mass, density and the concentration of a solution; base units g, g/mol, g/mL, g/100 mL.

use super::{quantity, unit};

quantity! {
    /// A mass, kept in g.
    Mass, "mass", "2 g",
    [
        unit("g", &["gram", "grams"], 1.0),
        unit("mg", &[], 0.001),
        unit("kg", &[], 1000.0),
        unit("µg", &["μg", "ug"], 1e-6),
        unit("oz", &[], 28.349_52),
        unit("lb", &[], 453.592_4),
    ]
}

quantity! {
    /// A molar mass, kept in g/mol.
    MolarMass, "molar mass", "150 g/mol",
    [unit("g/mol", &["g mol-1", "Da"], 1.0), unit("kg/mol", &[], 1000.0)]
}

quantity! {
    /// A density, kept in g/mL.
    Density, "density", "1.05 g/mL",
    [
        unit("g/mL", &["g/ml", "g/cm³", "g/cm3", "kg/L", "g mL-1"], 1.0),
        unit("kg/m³", &["kg/m3", "g/L", "g/l"], 0.001),
    ]
}

quantity! {
    /// Solute in a solvent, kept in g per 100 mL of solvent.
    Concentration, "solubility", "5 g/100 mL",
    [
        unit("g/100 mL", &["g/100mL", "g/100 ml", "g/dL"], 1.0),
        unit("g/L", &["mg/mL", "g/l", "mg/ml"], 0.1),
        unit("g/mL", &["g/ml"], 100.0),
    ]
}

impl Mass {
    /// In grams.
    pub fn in_grams(self) -> f64 {
        self.0
    }

    /// In milligrams.
    pub fn in_milligrams(self) -> f64 {
        self.0 * 1000.0
    }
}
