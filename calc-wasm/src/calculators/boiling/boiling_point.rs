//! At what temperature does a known substance boil at this pressure?
//!
//! T = B/(A − log₁₀ p) − C (Antoine), p in mmHg, T in °C; see `equations::vapour` for source and
//! range. The reading error of the pressure shifts T by |dT/dp|·u(p), first order; sources and
//! reading together give the interval, as the root of the sum of squares. A column or narrow
//! tube with pressure drop Δp lets the pot boil at p + Δp.

use crate::calculators::Calculator;
use crate::equations::substance;
use crate::equations::vapour::Curve;
use crate::inputs::{Field, Inputs, Kind, form_only};
use crate::limits;
use crate::outcome::Outcome;
use crate::problem::Problem;
use crate::quantity::{Measured, Pressure};

static PRESSURE: Field<Pressure> = Field::preset(
    "pressure",
    "Pressure",
    Kind::Quantity(&limits::PRESSURE),
    "100 mmHg",
    "At the still head; add the reading error, as in 15 ± 1 mmHg.",
);

static COLUMN_DROP: Field<Option<Pressure>> = Field::optional(
    "column_drop",
    "Pressure drop of the column",
    Kind::Quantity(&limits::PRESSURE_DROP),
    "Between pot and head; blank for a plain head.",
);

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "boiling-point",
    title: "Boiling point at a pressure",
    question: form_only("At what temperature will it distil at this pressure?"),
    inputs: &[
        &substance::SUBSTANCE.input,
        &PRESSURE.input,
        &COLUMN_DROP.input,
    ],
    evaluate,
};

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let curve = Curve::read(inputs, &substance::SUBSTANCE)?;
    let pressure = inputs.get_measured(&PRESSURE);
    let boiling = curve.boiling(PRESSURE.input.name, pressure)?;
    let celsius = boiling.temperature.in_celsius();
    let mmhg = pressure.value.in_mmhg();

    let why = outcome.because("Here each mmHg moves the boiling point by {2} °C");
    why.number(boiling.slope);
    if pressure.error > 0.0 {
        why.more(", so a reading that is {~2} mmHg off is {2} °C off.")
            .number(pressure.error)
            .number(boiling.slope * pressure.error);
    } else {
        why.more(": the lower the pressure, the more the gauge matters.");
    }
    outcome.by_method("Antoine equation with constants fitted to the best published source; the interval joins the disagreement between sources with the reading error of the pressure (first order).");
    curve.vouch(outcome);
    curve.plot([mmhg, pressure.error], [celsius, boiling.half], outcome);
    outcome
        .number("temperature", "Boiling temperature", celsius, "°C")
        .give_or_take(boiling.half);
    outcome
        .number("slope", "Change with pressure", boiling.slope, "°C/mmHg")
        .digits(2);
    if let Some(drop) = inputs.quantity(&COLUMN_DROP) {
        let at_pot = Measured {
            value: Pressure::mmhg(mmhg + drop.in_mmhg()),
            error: pressure.error,
        };
        let pot = curve.boiling(COLUMN_DROP.input.name, at_pot)?;
        outcome
            .number(
                "pot_temperature",
                "Boiling temperature in the pot",
                pot.temperature.in_celsius(),
                "°C",
            )
            .give_or_take(pot.half);
    }
    substance::cautions(curve.record, outcome);
    substance::vacuum(mmhg, outcome);
    outcome.care(substance::DEFER);
    substance::then(curve.record, "Set the bath for it", "bath-setting", outcome)
        .with("pressure", "{~5} mmHg")
        .number(mmhg);
    let next = substance::then(
        curve.record,
        "Does my reading fit?",
        "reading-check",
        outcome,
    );
    next.with("pressure", "{~5} mmHg").number(mmhg);
    next.with("head_temperature", "{.0} °C").number(celsius);
    substance::then(
        curve.record,
        "Which pump and pressure?",
        "vacuum-plan",
        outcome,
    );
    Ok(())
}
