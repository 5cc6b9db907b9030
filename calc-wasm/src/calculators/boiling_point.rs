//! At what temperature does a known substance boil at this pressure?
//!
//! T = B/(A − log₁₀ p) − C (Antoine), p in mmHg, T in °C; see `equations::vapour` for source and
//! range. The reading error of the pressure shifts T by |dT/dp|·u(p), first order; sources and
//! reading together give the interval, as the root of the sum of squares. A column or narrow
//! tube with pressure drop Δp lets the pot boil at p + Δp.

use crate::calculators::Calculator;
use crate::equations::substance;
use crate::equations::vapour::{Boiling, Curve};
use crate::inputs::{Input, Inputs, Kind};
use crate::limits;
use crate::outcome::{Figure, Outcome};
use crate::plot::{Axis, Layer, Plot, spread_log};
use crate::problem::Problem;
use crate::quantity::{Measured, Pressure, number};

pub(super) static CALCULATOR: Calculator = Calculator {
    name: "boiling-point",
    title: "Boiling point at a pressure",
    question: "At what temperature will it distil at this pressure?",
    inputs: &[
        Input::preset(
            "substance",
            "Substance",
            Kind::Entry("substances"),
            "toluene",
            "Name, other name or CAS number.",
        ),
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

fn evaluate(inputs: &Inputs<'_>) -> Result<Outcome, Problem> {
    let Some(record) = inputs.entry("substance") else {
        return Err(Problem::new("substance", "name a substance"));
    };
    let blame = |message| Problem::new("pressure", message);
    let curve = Curve::of(record, inputs.library())
        .map_err(|message| Problem::new("substance", message))?;
    let pressure = inputs.need_measured::<Pressure>("pressure")?;
    let boiling = curve.boiling(pressure).map_err(blame)?;
    let celsius = boiling.temperature.in_celsius();

    let mut outcome = Outcome {
        why: why(&boiling, pressure),
        method: "Antoine equation with constants fitted to the best published source; the interval joins the disagreement between sources with the reading error of the pressure (first order).".into(),
        source: curve.source(),
        validity: curve.validity(),
        in_range: true,
        plot: Some(plot(&curve, &boiling, pressure)),
        ..Outcome::default()
    };
    outcome.figures.push(
        Figure::new("temperature", "Boiling temperature", celsius, "°C").give_or_take(boiling.half),
    );
    outcome
        .figures
        .push(Figure::new("slope", "Change with pressure", boiling.slope, "°C/mmHg").digits(2));
    if let Some(drop) = inputs.quantity::<Pressure>("column_drop") {
        let at_pot = Measured {
            value: Pressure::mmhg(pressure.value.in_mmhg() + drop.in_mmhg()),
            error: pressure.error,
        };
        let pot = curve
            .boiling(at_pot)
            .map_err(|message| Problem::new("column_drop", message))?;
        outcome.figures.push(
            Figure::new(
                "pot_temperature",
                "Boiling temperature in the pot",
                pot.temperature.in_celsius(),
                "°C",
            )
            .give_or_take(pot.half),
        );
    }
    cautions(record, pressure.value, &mut outcome);
    let mmhg = format!("{} mmHg", number::plain(pressure.value.in_mmhg(), 5));
    let name = curve.name().to_string();
    outcome.then(
        "Set the bath for it",
        "bath-setting",
        vec![("substance", name.clone()), ("pressure", mmhg.clone())],
    );
    outcome.then(
        "Does my reading fit?",
        "reading-check",
        vec![
            ("substance", name.clone()),
            ("pressure", mmhg),
            (
                "head_temperature",
                format!("{} °C", number::fixed(celsius, 0)),
            ),
        ],
    );
    outcome.then(
        "Which pump and pressure?",
        "vacuum-plan",
        vec![("substance", name)],
    );
    Ok(outcome)
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
    if pressure.in_mmhg() < 700.0 {
        outcome.danger("Evacuated glass can implode: round-bottomed flasks without a star crack, goggles and a screen.");
        outcome.care("Vacuum first, heat afterwards; heat away and cool before air is let in.");
    }
    outcome.care(substance::DEFER);
}

/// The curve with its band, log pressure along the bottom, the working point marked.
fn plot(curve: &Curve<'_>, boiling: &Boiling, pressure: Measured<Pressure>) -> Plot {
    let [low, high] = curve.pressures();
    let points: Vec<(f64, f64)> = spread_log(low.max(0.5), high, 41)
        .map(|p| (p, curve.temperature_unchecked(p)))
        .collect();
    let band = points
        .iter()
        .map(|(p, t)| (*p, t - curve.band(*p), t + curve.band(*p)))
        .collect();
    let celsius = boiling.temperature.in_celsius();
    let mmhg = pressure.value.in_mmhg();
    Plot {
        title: format!("Boiling temperature of {} against pressure", curve.name()),
        description: format!(
            "The boiling temperature rises with pressure, steeply at low pressure on an even scale; the working point is {} °C at {} mmHg.",
            number::fixed(celsius, 0),
            number::plain(mmhg, 3)
        ),
        x: Axis::log("Pressure", "mmHg"),
        y: Axis::linear("Boiling temperature", "°C"),
        layers: vec![
            Layer::Band {
                label: "where sources lie".into(),
                points: band,
            },
            Layer::Line {
                label: "boiling temperature".into(),
                points,
            },
            Layer::Mark {
                label: format!("{} °C", number::fixed(celsius, 0)),
                x: mmhg,
                y: celsius,
                dx: pressure.error.min(mmhg * 0.9),
                dy: boiling.half,
            },
        ],
    }
}
