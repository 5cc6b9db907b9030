//! What pressure does the gauge mean?
//!
//! Open manometer: p = p_air − h·f; closed manometer: p = h·f; f the density of its liquid over
//! that of mercury at 0 °C, h in mm, p in mmHg. Mercury: 13.5951 g/mL at 0 °C, so that 1 mm is
//! 1 mmHg (NIST SP 811, Appendix B.8), falling as 1/(1 + 0.0001818·t), t in °C (WMO-No. 8,
//! chapter on pressure, from memory). Dial: p = p_air − reading. Compression gauge: p = k·h²
//! (Boyle's law), k = A/V from the capillary's bore and the bulb's volume, in mmHg/mm².
//! Reading errors are joined to first order. A compression gauge holds for permanent gas only.

use crate::calculators::Calculator;
use crate::equations::substance;
use crate::inputs::{Choice, Field, Inputs, Kind, Word, form_only};
use crate::limits::{self, Limit};
use crate::outcome::Outcome;
use crate::plot::spread;
use crate::problem::Problem;
use crate::quantity::{
    Density, GaugeConstant, Length, Measured, Pressure, Quantity, Temperature, Volume,
};

/// Density of mercury at 0 °C, g/mL.
const MERCURY: f64 = 13.5951;
/// Cubical expansion of mercury, per °C.
const EXPANSION: f64 = 0.000_181_8;

/// Constant of a compression gauge.
static CONSTANT: Limit = Limit::new(
    GaugeConstant::DIMENSION,
    "mmHg/mm²",
    1e-9,
    1.0,
    "no bulb and capillary give more or less",
);

/// Temperature of a manometer.
static ROOM: Limit = Limit::new(
    Temperature::DIMENSION,
    "°C",
    -20.0,
    60.0,
    "a gauge stands in the room",
);

static GAUGE: Field<Word> = Field::preset(
    "gauge",
    "Gauge",
    Kind::Choice(&[
        Choice {
            name: "open-manometer",
            label: "U-tube, one end open to the room",
        },
        Choice {
            name: "closed-manometer",
            label: "U-tube, one end closed",
        },
        Choice {
            name: "dial",
            label: "dial that counts down from the room",
        },
        Choice {
            name: "compression",
            label: "compression gauge",
        },
    ]),
    "open-manometer",
    "What is read off, and what from, differs with the gauge.",
);

static DIFFERENCE: Field<Length> = Field::preset(
    "difference",
    "Difference of levels",
    Kind::Quantity(&limits::LENGTH),
    "735 ± 1 mm",
    "Between the two limbs, with its reading error.",
)
.when(&GAUGE, &["open-manometer", "closed-manometer"]);

static READING: Field<Pressure> = Field::preset(
    "reading",
    "Dial reading",
    Kind::Quantity(&limits::PRESSURE),
    "700 ± 5 mmHg",
    "How far below the room, with its reading error.",
)
.when(&GAUGE, &["dial"]);

static BAROMETER: Field<Pressure> = Field::preset(
    "barometer",
    "Barometer",
    Kind::Quantity(&limits::AMBIENT_PRESSURE),
    "760 ± 1 mmHg",
    "In this room today; not the figure reduced to sea level.",
)
.when(&GAUGE, &["open-manometer", "dial"]);

static TEMPERATURE: Field<Option<Temperature>> = Field::optional(
    "temperature",
    "Temperature of the gauge",
    Kind::Quantity(&ROOM),
    "Mercury is lighter when warm; blank to leave it uncorrected.",
)
.when(&GAUGE, &["open-manometer", "closed-manometer"]);

static DENSITY: Field<Option<Density>> = Field::optional(
    "density",
    "Density of its liquid",
    Kind::Quantity(&limits::DENSITY),
    "Blank for mercury.",
)
.when(&GAUGE, &["open-manometer", "closed-manometer"]);

static HEIGHT: Field<Length> = Field::preset(
    "height",
    "Height in the closed capillary",
    Kind::Quantity(&limits::LENGTH),
    "20 ± 0.5 mm",
    "From the closed end to the mercury, the other limb level with that end.",
)
.when(&GAUGE, &["compression"]);

static CONSTANT_INPUT: Field<Option<GaugeConstant>> = Field::optional(
    "constant",
    "Constant of the gauge",
    Kind::Quantity(&CONSTANT),
    "From its plate; blank to work it out from bulb and bore.",
)
.when(&GAUGE, &["compression"]);

static BULB_VOLUME: Field<Volume> = Field::preset(
    "bulb_volume",
    "Volume of the bulb",
    Kind::Quantity(&limits::VOLUME),
    "250 mL",
    "Counts only where no constant is given.",
)
.when(&GAUGE, &["compression"]);

static BORE: Field<Length> = Field::preset(
    "bore",
    "Bore of the capillary",
    Kind::Quantity(&limits::LENGTH),
    "1 mm",
    "Inner diameter; counts only where no constant is given.",
)
.when(&GAUGE, &["compression"]);

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "gauge-reading",
    title: "Gauge reading",
    question: form_only("What pressure does the gauge mean, and how surely?"),
    inputs: &[
        &GAUGE.input,
        &DIFFERENCE.input,
        &READING.input,
        &BAROMETER.input,
        &TEMPERATURE.input,
        &DENSITY.input,
        &HEIGHT.input,
        &CONSTANT_INPUT.input,
        &BULB_VOLUME.input,
        &BORE.input,
    ],
    evaluate,
};

/// mmHg for each mm of mercury at `celsius`.
fn mercury(celsius: f64) -> f64 {
    1.0 / (1.0 + EXPANSION * celsius)
}

/// Constant of a compression gauge in mmHg/mm²: cross-section over volume, mm² over mm³.
fn constant(bore: f64, bulb: f64) -> f64 {
    std::f64::consts::PI * bore * bore / 4.0 / (bulb * 1000.0)
}

/// How a gauge turns its reading into pressure: p = base + slope·x, or slope·x² (compression).
struct Scale {
    /// Pressure at reading nought, with its error.
    base: Measured<Pressure>,
    slope: f64,
    slope_error: f64,
    squared: bool,
    /// The reading, and its name, error and unit.
    x: f64,
    x_error: f64,
    label: &'static str,
    unit: &'static str,
}

impl Scale {
    fn pressure(&self, x: f64) -> f64 {
        let power = if self.squared { x * x } else { x };
        self.base.value.in_mmhg() + self.slope * power
    }

    /// Shares of the half-width from reading, scale and barometer, mmHg, first order.
    fn errors(&self) -> [f64; 3] {
        let (by_x, power) = if self.squared {
            (2.0 * self.x, self.x * self.x)
        } else {
            (1.0, self.x)
        };
        [
            (self.slope * by_x * self.x_error).abs(),
            self.slope_error * power,
            self.base.error,
        ]
    }
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let scale = scale(inputs);
    let mmhg = scale.pressure(scale.x);
    let [by_reading, by_scale, by_air] = scale.errors();
    let half = libm::hypot(libm::hypot(by_reading, by_scale), by_air);
    if mmhg <= 0.0 {
        let blame = if scale.unit == "mm" {
            "difference"
        } else {
            "reading"
        };
        return Err(Problem::new(
            blame,
            "it comes to {2} mmHg, which is below nothing: check barometer, zero and temperature",
        )
        .number(mmhg));
    }
    why(&scale, half / mmhg, outcome);
    outcome.by_method("Difference of levels times the density of the liquid relative to mercury at 0 °C, or Boyle’s law for the compression gauge; reading errors joined as the root of the sum of squares (first order).");
    outcome.from_source("Millimetre of mercury: NIST SP 811 (2008), Appendix B.8. Expansion of mercury 0.0001818 per °C: WMO-No. 8, measurement of pressure (from memory). Boyle’s law.");
    outcome.valid_for("Clean glass, level zero, standard gravity; limbs wide enough that the menisci are alike. A compression gauge: permanent gas only.");
    plot(&scale, mmhg, half, outcome);
    outcome
        .number("pressure", "Pressure", mmhg, "mmHg")
        .digits(if scale.squared { 2 } else { 4 })
        .give_or_take(half);
    if scale.squared {
        outcome
            .number("constant", "Constant of the gauge", scale.slope, "mmHg/mm²")
            .digits(3);
    }
    notes(inputs, &scale, mmhg, half, outcome);
    // A power of ten in the text would not be read back.
    if (0.001..=7600.0).contains(&mmhg) {
        for (label, calculator) in [
            ("What boils where at that pressure?", "boiling-point"),
            ("Does my reading fit?", "reading-check"),
        ] {
            let pressure = outcome.then(label, calculator).with("pressure", "{~4}");
            pressure.number(mmhg);
            if half > 0.0 {
                pressure.more(" ± {~2}").number(half);
            }
            pressure.more(" mmHg");
        }
    }
    Ok(())
}

/// Says what decides the result, whose half-width is `share` of it.
fn why(scale: &Scale, share: f64, outcome: &mut Outcome) {
    let [by_reading, _, by_air] = scale.errors();
    let why = outcome.because(if scale.squared {
        "The pressure goes with the square of the height: twice the height is four times the pressure."
    } else if scale.slope < 0.0 {
        "What is left of the barometer’s pressure is the difference of two large numbers: the lower the pressure, the more each error weighs."
    } else {
        "The gauge shows the pressure itself, so its error is that of the reading alone."
    });
    if share == 0.0 {
        return;
    }
    why.more(" The reading’s error is ± {2} mmHg")
        .number(by_reading);
    if by_air > 0.0 {
        why.more(", the barometer’s ± {2} mmHg").number(by_air);
    }
    why.more("; together {2} % of the pressure.")
        .number(share * 100.0);
}

fn scale(inputs: &Inputs<'_>) -> Scale {
    let gauge = inputs.choice(&GAUGE);
    let mut scale = Scale {
        base: Measured {
            value: Pressure::mmhg(0.0),
            error: 0.0,
        },
        slope: 1.0,
        slope_error: 0.0,
        squared: gauge == "compression",
        x: 0.0,
        x_error: 0.0,
        label: "Height in the capillary",
        unit: "mm",
    };
    if scale.squared {
        let height = inputs.get_measured(&HEIGHT);
        (scale.x, scale.x_error) = (height.value.in_millimetres(), height.error);
        (scale.slope, scale.slope_error) = match inputs.measured(&CONSTANT_INPUT) {
            Some(given) => (given.value.base(), given.error),
            None => {
                let bulb = inputs.get_measured(&BULB_VOLUME);
                let bore = inputs.get_measured(&BORE);
                let (v, d) = (bulb.value.in_millilitres(), bore.value.in_millimetres());
                let k = constant(d, v);
                (k, k * libm::hypot(2.0 * bore.error / d, bulb.error / v))
            }
        };
        return scale;
    }
    if gauge != "closed-manometer" {
        scale.base = inputs.get_measured(&BAROMETER);
        scale.slope = -1.0;
    }
    if gauge == "dial" {
        let reading = inputs.get_measured(&READING);
        (scale.x, scale.x_error) = (reading.value.in_mmhg(), reading.error);
        (scale.label, scale.unit) = ("Dial reading", "mmHg");
        return scale;
    }
    let difference = inputs.get_measured(&DIFFERENCE);
    (scale.x, scale.x_error) = (difference.value.in_millimetres(), difference.error);
    scale.label = "Difference of levels";
    if let Some(liquid) = inputs.measured(&DENSITY) {
        scale.slope *= liquid.value.base() / MERCURY;
        scale.slope_error = liquid.error / MERCURY;
    } else if let Some(room) = inputs.measured(&TEMPERATURE) {
        let factor = mercury(room.value.in_celsius());
        scale.slope *= factor;
        scale.slope_error = factor * factor * EXPANSION * room.error;
    }
    scale
}

fn notes(inputs: &Inputs<'_>, scale: &Scale, mmhg: f64, half: f64, outcome: &mut Outcome) {
    let gauge = inputs.choice(&GAUGE);
    let filled = inputs.quantity(&DENSITY).is_some();
    let manometer = gauge.ends_with("manometer");
    if manometer && !filled && inputs.quantity(&TEMPERATURE).is_none() {
        let warm = scale.base.value.in_mmhg() + scale.slope * scale.x * mercury(20.0);
        outcome
            .note("No temperature given: each mm counts as one mmHg. With the mercury at 20 °C it would be {3} mmHg.")
            .number(warm);
    }
    if half > 0.1 * mmhg {
        outcome.note("The error is more than a tenth of the pressure: a gauge that reads from nought upwards, a closed manometer or an electronic one, is the better instrument here.");
    }
    if half == 0.0 {
        outcome.note("Add the reading errors, as in 742 ± 1 mm, to see how far to trust it.");
    }
    if scale.squared {
        outcome.note("Vapour of solvent, water or product condenses as it is squeezed and does not count: the true pressure is then higher than this.");
        outcome.care(
            "Raise the mercury slowly, and close the tap of the gauge when it is not being read.",
        );
    }
    if gauge == "closed-manometer" {
        outcome.note("A bubble in the closed limb makes it read low: with the room’s air let in, the liquid must fill that limb to its end.");
    }
    if gauge == "dial" {
        outcome.note("Use the barometer in the room: on a mountain, or on a stormy day, the same dial means another pressure.");
    }
    if scale.squared || (manometer && !filled) {
        outcome.danger("Mercury is poisonous and controlled in many places: a tray below, no open mercury, spills go to whoever is licensed to clear them.");
    }
    outcome.care(substance::DEFER);
}

/// Pressure against reading, the working point with its error box.
fn plot(scale: &Scale, mmhg: f64, half: f64, outcome: &mut Outcome) {
    let plot = outcome.plot(
        "Pressure against what the gauge shows",
        "The working point is {~3} mmHg at a reading of {~4} {}.",
    );
    plot.description
        .number(mmhg)
        .number(scale.x)
        .text(scale.unit);
    plot.x.linear(scale.label, scale.unit);
    plot.y.linear("Pressure", "mmHg");
    let line = plot.line("pressure");
    for x in spread(scale.x * 0.5, scale.x * 1.5, 31) {
        let p = scale.pressure(x);
        if p >= 0.0 {
            line.point(x, p);
        }
    }
    plot.mark("{~3} mmHg", scale.x, mmhg)
        .number(mmhg)
        .error(scale.x_error, half);
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 13.5459 g/mL at 20 °C (CRC Handbook, from memory).
    #[test]
    fn mercury_expands() {
        assert!((MERCURY * mercury(20.0) - 13.5459).abs() < 0.0002);
    }

    /// A bulb of 250 cm³ and a bore of 1 mm: π/4 mm² over 250 000 mm³ (exact arithmetic).
    #[test]
    fn bore_and_bulb_give_the_constant() {
        assert!((constant(1.0, 250.0) - 3.141_592_65e-6).abs() < 1e-12);
    }
}
