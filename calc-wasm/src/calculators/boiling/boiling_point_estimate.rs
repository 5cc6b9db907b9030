//! An unknown boiled at one temperature and pressure: where does it boil at another?
//!
//! Hass–Newton form with a factor k by class of compound; equation, source and bands in
//! `equations::class`. The observation gives the normal boiling point Tb (solved for), Tb the
//! boiling temperature at the new pressure. Reading errors shift the result by the difference
//! they make when put in; they join the band of the estimate as the root of the sum of squares.
//! It holds from 1 to 800 mmHg, for one pure substance that does not decompose.

use crate::calculators::Calculator;
use crate::equations::class::{CLASSES, Estimate};
use crate::equations::substance;
use crate::equations::vapour::against_pressure;
use crate::inputs::{Field, Inputs, Kind, Word, form_only};
use crate::limits;
use crate::outcome::Outcome;
use crate::plot::spread_log;
use crate::problem::Problem;
use crate::quantity::{Measured, Pressure, Temperature};

static KNOWN_TEMPERATURE: Field<Temperature> = Field::preset(
    "known_temperature",
    "Observed boiling temperature",
    Kind::Quantity(&limits::TEMPERATURE),
    "180 °C",
    "From a bottle, a paper or your own still; add its error, as in 180 ± 1 °C.",
);

static KNOWN_PRESSURE: Field<Pressure> = Field::preset(
    "known_pressure",
    "Observed at",
    Kind::Quantity(&limits::PRESSURE),
    "1 atm",
    "The nearer to the pressure asked for, the better.",
);

static KIND: Field<Word> = Field::preset(
    "kind",
    "Class of compound",
    Kind::Choice(CLASSES),
    "unknown",
    "Alcohols and acids cling together and boil differently from hydrocarbons.",
);

static PRESSURE: Field<Pressure> = Field::preset(
    "pressure",
    "Pressure asked for",
    Kind::Quantity(&limits::PRESSURE),
    "15 mmHg",
    "At the still head; add the reading error, as in 15 ± 1 mmHg.",
);

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "boiling-point-estimate",
    title: "Boiling point of an unknown",
    question: form_only("It boils there at one pressure; where at another?"),
    inputs: &[
        &KNOWN_TEMPERATURE.input,
        &KNOWN_PRESSURE.input,
        &KIND.input,
        &PRESSURE.input,
    ],
    evaluate,
};

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let estimate = Estimate::of(
        inputs.get_measured(&KNOWN_TEMPERATURE),
        inputs.get_measured(&KNOWN_PRESSURE),
        inputs.choice(&KIND),
    );
    let pressure = inputs.get_measured(&PRESSURE);
    let mmhg = pressure.value.in_mmhg();
    let celsius = estimate.temperature(mmhg);
    let half = estimate.half(pressure);
    let exact = |mmhg| Measured {
        value: Pressure::mmhg(mmhg),
        error: 0.0,
    };
    let believed = 1.0..=800.0;

    outcome
        .because("The step from {~4} to {~4} mmHg moves the boiling point by {3} °C; the class decides how steeply. A step half as long in the ratio of pressures is about twice as sure.")
        .number(estimate.from)
        .number(mmhg)
        .number((estimate.temperature(estimate.from) - celsius).abs());
    outcome.by_method("Hass–Newton form with a factor by class of compound; the interval joins the band in which 95 % of 412 compounds lay with the reading errors (first order).");
    outcome.from_source("H. B. Hass and R. F. Newton, as printed in the CRC Handbook of Chemistry and Physics; factors and bands: this project’s own fit to 412 compounds.");
    outcome.valid_for("1 to 800 mmHg; one pure substance of the class named, no decomposition.");
    outcome.in_range(believed.contains(&mmhg) && believed.contains(&estimate.from));
    plot(&estimate, [mmhg, pressure.error], [celsius, half], outcome);
    outcome
        .number("temperature", "Boiling temperature", celsius, "°C")
        .give_or_take(half);
    outcome
        .number(
            "normal_boiling_point",
            "Boiling point at 760 mmHg",
            estimate.temperature(760.0),
            "°C",
        )
        .give_or_take(estimate.half(exact(760.0)));
    if outcome.extrapolated {
        outcome.note("Outside 1 to 800 mmHg this is extrapolated; take it as a hint.");
    }
    class_remark(estimate.class, outcome);
    if celsius > 150.0 {
        outcome.care("So hot, many compounds decompose: a lower pressure is kinder.");
    }
    outcome.care("An unknown may decompose, foam or burn: small scale first, behind a screen.");
    substance::vacuum(mmhg, outcome);
    outcome.care(substance::DEFER);
    let next = outcome.then("Which pump and pressure?", "vacuum-plan");
    estimate.carry(next);
    outcome.then("From two or more observations", "vapour-pressure-fit");
    Ok(())
}

/// What a class of compound asks for.
fn class_remark(class: &str, outcome: &mut Outcome) {
    match class {
        "unknown" => outcome.note("Class not known: the interval is wide. Name the class, or give an observation at a nearby pressure."),
        "alcohol" | "polyol" | "acid" | "phenol" | "amide" => outcome.note("This class holds together by hydrogen bonds, and its compounds differ among themselves."),
        "nitro" => outcome.danger("Nitro compounds may decompose violently when overheated; never distil to dryness, and use a shield."),
        "ether" => outcome.danger("Ethers form explosive peroxides on standing: test before distilling, and never distil to dryness."),
        _ => return,
    };
}

/// The estimated curve with its band, the working point and what was observed marked.
fn plot(estimate: &Estimate, mmhg: [f64; 2], celsius: [f64; 2], outcome: &mut Outcome) {
    let plot = outcome.plot(
        "Estimated boiling temperature against pressure",
        "The band widens with the distance from what was observed",
    );
    let low = mmhg[0].min(estimate.from).min(1.0);
    let high = mmhg[0].max(estimate.from).max(760.0);
    against_pressure(
        plot,
        ["19 in 20 compounds", "estimate"],
        spread_log(low, high, 41),
        &|p| [estimate.temperature(p), estimate.band(p)],
        mmhg,
        celsius,
    );
    plot.points("observed")
        .point(estimate.from, estimate.observed);
}
