//! Energy per amount of substance; base unit kJ/mol.

use super::{quantity, unit};

quantity! {
    /// A molar energy, kept in kJ/mol.
    MolarEnergy, "molar energy", "40 kJ/mol",
    [
        unit("kJ/mol", &["kJ mol-1"], 1.0),
        unit("J/mol", &["J mol-1"], 0.001),
        unit("kcal/mol", &[], 4.184),
    ]
}
