//! Quantities: what a number means, the units it may be written in, and how it is shown.
//!
//! Each kind of quantity is a type of its own, so that a temperature is never added to a
//! temperature, nor a length taken for a volume. Inside, every type holds its base unit (the
//! first row of its table of units); units exist only where a person reads or writes.
//!
//! Conversion factors: B. N. Taylor and A. Thompson, NIST Special Publication 811 (2008),
//! Appendix B, unless a row says otherwise.

pub mod digits;
mod reading;

mod distance;
mod energy;
mod flow;
mod fraction;
mod mass;
mod plain;
mod power;
mod pressure;
mod temperature;
mod time;
mod volume;

pub use distance::{Area, Length};
pub use energy::MolarEnergy;
pub use flow::{FlowRate, LinearFlow};
pub use fraction::Fraction;
pub use mass::{Concentration, Density, Mass, MolarMass};
pub use plain::{Distribution, GaugeConstant, HeatCapacity, Number, Viscosity};
pub use power::Power;
pub use pressure::Pressure;
pub use reading::{Reading, read};
pub use temperature::{Temperature, TemperatureDifference};
pub use time::Duration;
pub use volume::Volume;

/// How one unit is written, and how it turns into the base unit: base = value·factor + offset.
#[derive(Debug)]
pub struct Unit {
    /// The symbol that we print.
    pub symbol: &'static str,
    /// Other spellings that we accept.
    pub also: &'static [&'static str],
    /// Base units in one of this unit.
    pub factor: f64,
    /// Base reading when this unit reads nought; only temperatures have one.
    pub offset: f64,
}

impl Unit {
    /// A value in this unit as base units.
    pub fn to_base(&self, value: f64) -> f64 {
        value * self.factor + self.offset
    }

    /// Base units as a value in this unit.
    pub fn from_base(&self, base: f64) -> f64 {
        (base - self.offset) / self.factor
    }
}

/// A kind of quantity: its name and the units it may be written in, the base unit first.
#[derive(Debug)]
pub struct Dimension {
    /// The word for it in a sentence: `pressure`.
    pub name: &'static str,
    /// Accepted units; the first is the base unit, in which values are kept.
    pub units: &'static [Unit],
    /// How a person would write one, for error sentences.
    pub example: &'static str,
}

impl Dimension {
    /// The unit written `symbol`, in any accepted spelling.
    pub fn unit(&self, symbol: &str) -> Option<&'static Unit> {
        let same = |unit: &&Unit| unit.symbol == symbol || unit.also.contains(&symbol);
        // `pa` and `ML` are slips of the thumb; but `mpa` could be two things, so exact goes first.
        self.units.iter().find(same).or_else(|| {
            self.units.iter().find(|unit| {
                unit.symbol.eq_ignore_ascii_case(symbol)
                    || unit
                        .also
                        .iter()
                        .any(|also| also.eq_ignore_ascii_case(symbol))
            })
        })
    }

    /// The base unit, in which values are kept.
    pub fn base(&self) -> &'static Unit {
        &self.units[0]
    }
}

/// A typed quantity. Implemented by the types of this module only.
pub trait Quantity: Copy {
    /// What it is and how it may be written.
    const DIMENSION: &'static Dimension;
    /// The quantity that holds this many base units.
    fn from_base(value: f64) -> Self;
    /// How many base units it holds.
    fn base(self) -> f64;
}

/// A quantity with the error of the reading it came from, `15 ± 1 mmHg`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured<Q> {
    /// The value read.
    pub value: Q,
    /// Half-width of the reading error in base units (degrees for a temperature); 0 if not given.
    pub error: f64,
}

/// Declares one quantity type over a table of units.
macro_rules! quantity {
    ($(#[$doc:meta])* $type:ident, $name:literal, $example:literal, [$($unit:expr),+ $(,)?]) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
        pub struct $type(f64);

        impl $crate::quantity::Quantity for $type {
            const DIMENSION: &'static $crate::quantity::Dimension = &$crate::quantity::Dimension {
                name: $name,
                units: &[$($unit),+],
                example: $example,
            };
            fn from_base(value: f64) -> Self {
                $type(value)
            }
            fn base(self) -> f64 {
                self.0
            }
        }
    };
}
pub(crate) use quantity;

/// A row of a table of units without offset.
pub(crate) const fn unit(symbol: &'static str, also: &'static [&'static str], factor: f64) -> Unit {
    Unit {
        symbol,
        also,
        factor,
        offset: 0.0,
    }
}
