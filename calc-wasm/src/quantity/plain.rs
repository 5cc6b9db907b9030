//! Numbers without a unit that still mean something, and constants of apparatus and liquids.

use super::{quantity, unit};

quantity! {
    /// A bare number: a count, a pH, a polarity index, an Rf.
    Number, "number", "3",
    [unit("", &[], 1.0)]
}

quantity! {
    /// A distribution constant c(organic)/c(aqueous), without unit.
    Distribution, "distribution", "5",
    [unit("", &[], 1.0)]
}

quantity! {
    /// The constant k of a compression gauge, p = k·h², kept in mmHg/mm².
    GaugeConstant, "gauge constant", "2e-5 mmHg/mm²",
    [unit("mmHg/mm²", &["mmHg/mm2", "Torr/mm²", "torr/mm2", "torr/mm²"], 1.0)]
}

quantity! {
    /// A specific heat capacity, kept in J/(g K).
    HeatCapacity, "heat capacity", "1.8 J/(g K)",
    [unit("J/(g K)", &["J/gK", "J/g/K", "kJ/(kg K)", "J/(g·K)", "J/g K"], 1.0)]
}

quantity! {
    /// A dynamic viscosity, kept in mPa s.
    Viscosity, "viscosity", "0.45 mPa s",
    [unit("mPa s", &["mPa·s", "mPas", "cP"], 1.0), unit("Pa s", &["Pa·s"], 1000.0)]
}
