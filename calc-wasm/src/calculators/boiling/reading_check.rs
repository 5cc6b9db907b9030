//! Does the head temperature fit the substance that should be coming over?
//!
//! Expected: T(p) by Antoine's equation (see `equations::vapour`). Difference d = T_read − T(p).
//! Its standard error joins thermometer, gauge (|dT/dp|·u(p)) and the sources of the curve; each
//! ± is taken for a limit, of which the standard error is a/√3 (JCGM 100:2008, 4.3.7). It
//! agrees while |d| is at most two standard errors. Referred to one atmosphere:
//! T_n·T_read/T(p) in kelvin, by the rule of W. Ramsay and S. Young (1885, from memory) that
//! boiling points of like substances keep their ratio. It holds where the curve does.

use crate::calculators::Calculator;
use crate::equations::agreement::{AGREES, standard_errors, verdict};
use crate::equations::substance;
use crate::equations::vapour::Curve;
use crate::inputs::{Entry, Field, Inputs, Kind, form_only};
use crate::limits;
use crate::outcome::Outcome;
use crate::problem::Problem;
use crate::quantity::{Pressure, Temperature};

static SUBSTANCE: Field<Entry> = Field::preset(
    "substance",
    "Substance expected",
    Kind::Entry("substances"),
    "toluene",
    "Name, other name or CAS number.",
);

static HEAD_TEMPERATURE: Field<Temperature> = Field::preset(
    "head_temperature",
    "Head temperature",
    Kind::Quantity(&limits::TEMPERATURE),
    "53 ± 0.5 °C",
    "As read while it distils steadily, with its reading error.",
);

static PRESSURE: Field<Pressure> = Field::preset(
    "pressure",
    "Pressure",
    Kind::Quantity(&limits::PRESSURE),
    "100 ± 2 mmHg",
    "Read at the same moment, with its reading error.",
);

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "reading-check",
    title: "Does the reading fit?",
    question: form_only("Is this head temperature right for the substance?"),
    inputs: &[&SUBSTANCE.input, &HEAD_TEMPERATURE.input, &PRESSURE.input],
    evaluate,
};

/// `normal` °C moved as `read` °C stands to `expected` °C, the ratio taken in kelvin.
fn referred(normal: f64, read: f64, expected: f64) -> f64 {
    (normal + 273.15) * (read + 273.15) / (expected + 273.15) - 273.15
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let curve = Curve::read(inputs, &SUBSTANCE)?;
    let record = curve.record;
    let head = inputs.get_measured(&HEAD_TEMPERATURE);
    let pressure = inputs.get_measured(&PRESSURE);
    let boiling = curve.boiling(PRESSURE.input.name, pressure)?;
    let (read, expected) = (head.value.in_celsius(), boiling.temperature.in_celsius());
    let mmhg = pressure.value.in_mmhg();
    let difference = read - expected;
    let half = libm::hypot(boiling.half, head.error);
    let errors = standard_errors(difference, [boiling.half, head.error]);
    let verdict = verdict(errors);
    let [_, top] = curve.pressures();
    let normal = match record.number("boiling_point") {
        Some(point) if top < 760.0 => point,
        _ => curve.temperature_unchecked(760.0),
    };

    outcome
        .because("The difference is {2} °C, {2} times its standard error; up to {~1} it may be chance. Thermometer ± {~2} °C, gauge ± {~2} °C, curve ± {~2} °C.")
        .number(difference)
        .number(errors.abs())
        .number(AGREES)
        .number(head.error)
        .number(boiling.slope * pressure.error)
        .number(boiling.band);
    outcome.by_method("Expected temperature by the Antoine equation; errors joined as the root of the sum of squares, each ± taken for a limit with standard error a/√3. Referred to one atmosphere by keeping the ratio of the absolute temperatures.");
    curve.vouch(outcome);
    outcome.source.more(" Standard errors: JCGM 100:2008, 4.3.7. Ratio of boiling points: W. Ramsay and S. Young, 1885 (from memory). Order of the causes: common practice, no source.");
    curve.plot([mmhg, pressure.error], [read, head.error], outcome);
    outcome.verdict("verdict", "Verdict", verdict);
    outcome
        .number("expected_temperature", "Expected here", expected, "°C")
        .give_or_take(boiling.half);
    outcome
        .number("difference", "Read less expected", difference, "°C")
        .give_or_take(half);
    outcome
        .number(
            "standard_errors",
            "In standard errors",
            errors.clamp(-999.0, 999.0),
            "",
        )
        .digits(2);
    outcome
        .number(
            "normal_boiling_point",
            "Read, referred to 760 mmHg",
            referred(normal, read, expected),
            "°C",
        )
        .give_or_take(half);
    if head.error == 0.0 || pressure.error == 0.0 {
        outcome.note("A reading without ± is taken for exact, so the verdict is too strict: add what you could have misread.");
    }
    causes(verdict, outcome);
    substance::cautions(record, outcome);
    substance::vacuum(mmhg, outcome);
    outcome.care(substance::DEFER);
    let next = outcome.then(
        "Which pressure would fit this temperature?",
        "boiling-pressure",
    );
    next.with("substance", "{}").text(curve.name());
    next.with("temperature", "{~4} °C").number(read);
    outcome.then("Read the gauge again", "gauge-reading");
    Ok(())
}

/// What to look at, in order.
fn causes(verdict: &str, outcome: &mut Outcome) {
    let list: &[&str] = match verdict {
        "high" => &[
            "First: a leak or a narrow place between head and gauge; the pressure at the head is higher than the gauge says.",
            "Second: the gauge sits behind the trap, close to the pump; move it to the head.",
            "Third: superheated vapour; the bath is too hot or the rate too fast.",
            "Fourth: a higher-boiling fraction; the substance has already come over.",
        ],
        "low" => &[
            "First: a low-boiling forerun, solvent or water; wait until the temperature stands still.",
            "Second: the thermometer bulb is above the side arm, or too little vapour reaches it; raise the rate or wrap the head.",
            "Third: the gauge reads too high: its zero, the barometer, or a bubble.",
            "Fourth: the wrong fraction, or another substance.",
        ],
        _ => &[
            "That it agrees does not prove that it is pure: another substance may boil there, and an azeotrope boils as steadily.",
        ],
    };
    for cause in list {
        outcome.note(cause);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_true_reading_is_referred_to_the_true_point() {
        assert!((referred(110.6, 51.9, 51.9) - 110.6).abs() < 1e-9);
    }
}
