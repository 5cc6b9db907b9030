//! Heating power; base unit W.

use super::{quantity, unit};

quantity! {
    /// A power, kept in W.
    Power, "power", "200 W",
    [unit("W", &["watt", "J/s"], 1.0), unit("kW", &[], 1000.0)]
}
