//! At what temperature does a known substance boil at this pressure?
//!
//! T = B/(A − log₁₀ p) − C (Antoine), p in mmHg, T in °C; see `equations::vapour` for source and
//! range. The reading error of the pressure shifts T by |dT/dp|·u(p), first order; sources and
//! reading together give the interval, as the root of the sum of squares. A column or narrow
//! tube with pressure drop Δp lets the pot boil at p + Δp.

use crate::calculators::Calculator;
use crate::equations::substance;
use crate::equations::vapour::{Boiling, Curve};
use crate::inputs::{Input, Inputs, Kind, form_only};
use crate::limits;
use crate::outcome::{Outcome, with_unit};
use crate::problem::Problem;
use crate::quantity::{Measured, Pressure, number};

pub(super) static CALCULATOR: Calculator = Calculator {
    name: "boiling-point",
    title: "Boiling point at a pressure",
    question: form_only("At what temperature will it distil at this pressure?"),
    inputs: &[
        substance::SUBSTANCE,
        Input::preset(
            "pressure",
            "Pressure",
            Kind::Quantity(&limits::PRESSURE),
            "100 mmHg",
            "At the still head; add the reading error, as in 15 ± 1 mmHg.",
        ),
        Input::optional(
            "column_drop",
            "Pressure drop of the column",
            Kind::Quantity(&limits::PRESSURE_DROP),
            "Between pot and head; blank for a plain head.",
        ),
    ],
    evaluate,
};

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let Some(record) = inputs.entry("substance") else {
        return Err(Problem::new("substance", "name a substance"));
    };
    let blame = |message| Problem::new("pressure", message);
    let curve = Curve::of(record, inputs.library())
        .map_err(|message| Problem::new("substance", message))?;
    let pressure = inputs.need_measured::<Pressure>("pressure")?;
    let boiling = curve.boiling(pressure).map_err(blame)?;
    let celsius = boiling.temperature.in_celsius();
    let mmhg = pressure.value.in_mmhg();

    outcome.because(why(&boiling, pressure));
    outcome.by_method("Antoine equation with constants fitted to the best published source; the interval joins the disagreement between sources with the reading error of the pressure (first order).");
    outcome.from_source(curve.source());
    outcome.valid_for(curve.validity());
    outcome.draw(curve.plot(mmhg, pressure.error, celsius, boiling.half));
    outcome
        .number("temperature", "Boiling temperature", celsius, "°C")
        .give_or_take(boiling.half);
    outcome
        .number("slope", "Change with pressure", boiling.slope, "°C/mmHg")
        .digits(2);
    if let Some(drop) = inputs.quantity::<Pressure>("column_drop") {
        let at_pot = Measured {
            value: Pressure::mmhg(pressure.value.in_mmhg() + drop.in_mmhg()),
            error: pressure.error,
        };
        let pot = curve
            .boiling(at_pot)
            .map_err(|message| Problem::new("column_drop", message))?;
        outcome
            .number(
                "pot_temperature",
                "Boiling temperature in the pot",
                pot.temperature.in_celsius(),
                "°C",
            )
            .give_or_take(pot.half);
    }
    cautions(record, pressure.value, outcome);
    let mmhg = with_unit(number::plain(pressure.value.in_mmhg(), 5), "mmHg");
    let name = curve.name().to_string();
    outcome
        .old_then("Set the bath for it", "bath-setting")
        .old_with("substance", &name)
        .old_with("pressure", &mmhg);
    outcome
        .old_then("Does my reading fit?", "reading-check")
        .old_with("substance", &name)
        .old_with("pressure", &mmhg)
        .old_with(
            "head_temperature",
            &with_unit(number::fixed(celsius, 0), "°C"),
        );
    outcome
        .old_then("Which pump and pressure?", "vacuum-plan")
        .old_with("substance", &name);
    Ok(())
}

fn why(boiling: &Boiling, pressure: Measured<Pressure>) -> String {
    let per_mmhg = number::significant(boiling.slope, 2);
    if pressure.error > 0.0 {
        format!(
            "Here each mmHg moves the boiling point by {per_mmhg} °C, so a reading that is {} mmHg off is {} °C off.",
            number::plain(pressure.error, 2),
            number::significant(boiling.slope * pressure.error, 2)
        )
    } else {
        format!(
            "Here each mmHg moves the boiling point by {per_mmhg} °C: the lower the pressure, the more the gauge matters."
        )
    }
}

fn cautions(record: crate::library::Record<'_>, pressure: Pressure, outcome: &mut Outcome) {
    substance::cautions(record, outcome);
    substance::vacuum(pressure.in_mmhg(), outcome);
    outcome.old_care(substance::DEFER);
}
