//! What an input may be: each limit one row of words, unit, lowest, highest and why.
//!
//! The form, the error sentence, the documentation and the tests all read these rows. A limit
//! that only one calculator has stands at the top of that calculator's file.

use crate::problem::{Problem, in_sentence};
use crate::quantity::{
    Density, Dimension, Distribution, Duration, FlowRate, Fraction, Length, LinearFlow, Mass,
    MolarMass, Number, Power, Pressure, Quantity, Temperature, TemperatureDifference, Volume,
};
use crate::sentence::Sentence;

/// The range of one kind of input.
#[derive(Debug)]
pub struct Limit {
    /// What kind of quantity it is, and the units it may be written in.
    pub dimension: &'static Dimension,
    /// Unit in which the range stands below and is shown.
    pub unit: &'static str,
    /// Lowest possible value.
    pub lowest: f64,
    /// Highest possible value.
    pub highest: f64,
    /// Why not beyond, as half a sentence after a colon.
    pub why: &'static str,
    /// Lowest and highest usual value; outside, a note is shown. Infinite where nothing is unusual.
    pub usual: (f64, f64),
    /// What to say outside the usual range, as a whole sentence.
    pub unusual: &'static str,
}

impl Limit {
    /// A limit without a usual range.
    pub const fn new(
        dimension: &'static Dimension,
        unit: &'static str,
        lowest: f64,
        highest: f64,
        why: &'static str,
    ) -> Self {
        Limit {
            dimension,
            unit,
            lowest,
            highest,
            why,
            usual: (f64::NEG_INFINITY, f64::INFINITY),
            unusual: "",
        }
    }

    /// The same with a usual range, and the sentence that a value outside it gets.
    pub const fn usually(self, lowest: f64, highest: f64, unusual: &'static str) -> Self {
        Limit {
            usual: (lowest, highest),
            unusual,
            ..self
        }
    }

    /// A base value in this limit's unit.
    fn in_unit(&self, base: f64) -> f64 {
        match self.dimension.unit(self.unit) {
            Some(unit) => unit.from_base(base),
            None => base,
        }
    }

    /// The range in words: `1 to 760 mmHg`.
    pub fn range(&self) -> Sentence {
        let mut range = Sentence::new("{~6} to {~6}");
        range.number(self.lowest).number(self.highest);
        if !self.unit.is_empty() {
            range.more(" {}").text(self.unit);
        }
        range
    }

    /// Checks a base value.
    ///
    /// # Errors
    /// A sentence that names value and range, when `base` is outside or not a number.
    pub fn check(&self, label: &str, base: f64) -> Result<(), Problem> {
        let value = self.in_unit(base);
        // A hair of slack at each end, for values that went through a unit and back; in
        // proportion to that end, or nought would pass for a millionth.
        let below = self.lowest - 1e-9 * self.lowest.abs();
        let above = self.highest + 1e-9 * self.highest.abs();
        if value >= below && value <= above {
            return Ok(());
        }
        let space = if self.unit.is_empty() { "" } else { " " };
        Err(Problem::says("{} is {~6}{}{}; it must be {}: {}")
            .text(&in_sentence(label))
            .number(value)
            .text(space)
            .text(self.unit)
            .text(&self.range())
            .text(self.why))
    }

    /// The note for a value that is possible but unusual.
    pub fn note(&self, base: f64) -> Option<&'static str> {
        let value = self.in_unit(base);
        (value < self.usual.0 || value > self.usual.1).then_some(self.unusual)
    }
}

/// Pressure over a boiling liquid.
pub static PRESSURE: Limit = Limit::new(
    Pressure::DIMENSION,
    "mmHg",
    0.001,
    7600.0,
    "lower is no distillation but a flow of molecules, higher is an autoclave",
);

/// Pressure in the open air.
pub static AMBIENT_PRESSURE: Limit = Limit::new(
    Pressure::DIMENSION,
    "mmHg",
    400.0,
    820.0,
    "no laboratory stands where the barometer reads otherwise",
)
.usually(
    680.0,
    800.0,
    "That barometer belongs to a high place or to a slip of the pen.",
);

/// Pressure drop along a column or narrow tube.
pub static PRESSURE_DROP: Limit = Limit::new(
    Pressure::DIMENSION,
    "mmHg",
    0.0,
    200.0,
    "a column with more is flooded or blocked",
);

/// Temperature of a liquid or bath in glassware.
pub static TEMPERATURE: Limit = Limit::new(
    Temperature::DIMENSION,
    "°C",
    -120.0,
    450.0,
    "glassware and baths of a teaching laboratory go no further",
);

/// Temperature of a condenser's coolant or a cold trap.
pub static COOLANT_TEMPERATURE: Limit = Limit::new(
    Temperature::DIMENSION,
    "°C",
    -200.0,
    60.0,
    "liquid nitrogen is the coldest of coolants, and warm water hardly cools",
);

/// Temperature of tap water.
pub static TAP_WATER: Limit = Limit::new(
    Temperature::DIMENSION,
    "°C",
    0.5,
    40.0,
    "tap water is neither ice nor a bath",
);

/// A margin between two temperatures.
pub static MARGIN: Limit = Limit::new(
    TemperatureDifference::DIMENSION,
    "°C",
    0.0,
    100.0,
    "a greater margin scorches the residue",
);

/// A volume of liquid on the bench.
pub static VOLUME: Limit = Limit::new(
    Volume::DIMENSION,
    "mL",
    0.01,
    100_000.0,
    "a bench holds no more than 100 L and a syringe no less than 10 µL",
);

/// A mass on the bench.
pub static MASS: Limit = Limit::new(
    Mass::DIMENSION,
    "g",
    1e-6,
    100_000.0,
    "a balance of the laboratory weighs from a microgram to 100 kg",
);

/// A mass that may be nought.
pub static MASS_OR_NONE: Limit = Limit::new(
    Mass::DIMENSION,
    "g",
    0.0,
    100_000.0,
    "a mass is not negative, and a bench holds no more than 100 kg",
);

/// A distribution constant.
pub static DISTRIBUTION: Limit = Limit::new(
    Distribution::DIMENSION,
    "",
    1e-6,
    1e6,
    "beyond, all of it stays in one layer",
);

/// A count of portions, cycles, groups.
pub static COUNT: Limit = Limit::new(
    Number::DIMENSION,
    "",
    1.0,
    10_000.0,
    "one is the least, and nobody does it ten thousand times",
);

/// A recovery to reach.
pub static TARGET: Limit = Limit::new(
    Fraction::DIMENSION,
    "%",
    0.1,
    99.9999,
    "all of it is never reached, in a finite number of steps",
);

/// An efficiency, between nothing and all.
pub static EFFICIENCY: Limit = Limit::new(
    Fraction::DIMENSION,
    "",
    0.001,
    1.0,
    "an efficiency of 1 is perfect and of 0 is nothing at all",
);

/// A share, nothing and all included.
pub static SHARE: Limit = Limit::new(
    Fraction::DIMENSION,
    "%",
    0.0,
    100.0,
    "a share of a whole is neither negative nor more than all",
);

/// A time on the bench.
pub static TIME: Limit = Limit::new(
    Duration::DIMENSION,
    "min",
    0.01,
    100_000.0,
    "ten weeks is longer than any run",
);

/// A flow of liquid.
pub static FLOW: Limit = Limit::new(
    FlowRate::DIMENSION,
    "mL/min",
    0.001,
    10_000.0,
    "slower does not drip, faster is no glassware",
);

/// A linear flow.
pub static LINEAR_FLOW: Limit = Limit::new(
    LinearFlow::DIMENSION,
    "cm/min",
    0.01,
    200.0,
    "slower spreads the bands, faster does not pass the column",
);

/// A length of glassware.
pub static LENGTH: Limit = Limit::new(
    Length::DIMENSION,
    "mm",
    0.1,
    5000.0,
    "glassware is between a capillary and the ceiling",
);

/// Inner diameter of a chromatography column.
pub static COLUMN_DIAMETER: Limit = Limit::new(
    Length::DIMENSION,
    "mm",
    2.0,
    300.0,
    "thinner is a capillary, wider is a plant",
);

/// Height of the bed of adsorbent in a chromatography column.
pub static BED_HEIGHT: Limit = Limit::new(
    Length::DIMENSION,
    "mm",
    10.0,
    2000.0,
    "a lower bed does not separate, a higher one does not fit the hood",
);

/// Heating power.
pub static POWER: Limit = Limit::new(
    Power::DIMENSION,
    "W",
    0.1,
    10_000.0,
    "a bench socket gives no more",
);

/// Density of a liquid.
pub static DENSITY: Limit = Limit::new(
    Density::DIMENSION,
    "g/mL",
    0.3,
    20.0,
    "liquids lie between light hydrocarbons and mercury",
);

/// A molar mass.
pub static MOLAR_MASS: Limit = Limit::new(
    MolarMass::DIMENSION,
    "g/mol",
    2.0,
    5000.0,
    "hydrogen is the lightest, and heavier than 5000 g/mol does not distil",
);

/// A pH.
pub static PH: Limit = Limit::new(
    Number::DIMENSION,
    "",
    -1.0,
    15.0,
    "beyond, water is no longer what the scale was made for",
);

/// A pKa: stronger and weaker acids have one, as extrapolated from water.
pub static PKA: Limit = Limit::new(
    Number::DIMENSION,
    "",
    -5.0,
    20.0,
    "water holds no stronger acid or base",
);

/// A retardation factor on a thin layer plate.
pub static RF: Limit = Limit::new(
    Number::DIMENSION,
    "",
    0.01,
    0.99,
    "at 0 a spot has not moved and at 1 it runs with the front",
)
.usually(0.1, 0.8, "An Rf below 0.1 or above 0.8 is read too poorly to build on; run the plate in another mixture.");
