//! Continuous liquid–liquid extraction: how long, how much solvent, and will it flow?
//!
//! A stirred water layer of volume V, through which boiled solvent flows at F: the drops leave
//! with a share η of the equilibrium concentration D·c, so dm/dt = −η·D·F·m/V and
//! remaining = exp(−η·D·F·t/V). That is the limit of ever more, ever smaller portions (see
//! repeated_extraction). V in mL, F in mL/min, t in min; D and η without unit.
//! Standing heights: two columns balance at their common foot (Pascal). Denser solvent: the
//! return arm stands at H = h_solvent + h_aq·ρ_aq/ρ_solvent above the base. Lighter solvent: the
//! delivery tube needs a head of h_aq·ρ_aq/ρ_solvent (and any solvent layer) above its outlet.
//! It holds for one solute at low concentration, constant volumes, and a water layer that is mixed.

use crate::calculators::Calculator;
use crate::equations::heating::{
    self, DROP_VOLUME, DROPS, EFFICIENCY, POWER, RATE_FROM, SOLVENT, span,
};
use crate::equations::meeting;
use crate::equations::substance;
use crate::inputs::{Choice, Field, Inputs, Kind, Word, form_only};
use crate::limits;
use crate::number;
use crate::outcome::Outcome;
use crate::plot::spread;
use crate::problem::Problem;
use crate::quantity::{
    Density, Distribution, Duration, FlowRate, Fraction, Length, Power, Quantity, Volume,
};

/// Up to this many portions a separating funnel is less work (common practice).
const FEW_PORTIONS: f64 = 6.0;
/// A layer of solvent under the water, unless given, mm (common practice).
const USUAL_LAYER: f64 = 50.0;
/// Less solvent than this at the foot of the extractor lets water through the arm, mm
/// (common practice).
const THIN_LAYER: f64 = 10.0;

static SOLVENT_LAYER: Field<Word> = Field::preset(
    "solvent_layer",
    "The solvent is",
    Kind::Choice(&[
        Choice {
            name: "denser",
            label: "denser than water",
        },
        Choice {
            name: "lighter",
            label: "lighter than water",
        },
    ]),
    "denser",
    "It decides the extractor.",
);

static DISTRIBUTION: Field<Distribution> = Field::preset(
    "distribution",
    "Distribution constant",
    Kind::Quantity(&limits::DISTRIBUTION),
    "0.5",
    "Concentration in the solvent over that in the water.",
);

static AQUEOUS_VOLUME: Field<Volume> = Field::preset(
    "aqueous_volume",
    "Water layer",
    Kind::Quantity(&limits::VOLUME),
    "200 mL",
    "What is extracted.",
);

static SOLVENT_RATE: Field<FlowRate> = Field::preset(
    "solvent_rate",
    "Flow of solvent",
    Kind::Quantity(&limits::FLOW),
    "10 mL/min",
    "Boiled, condensed and passed through the water.",
)
.when(&RATE_FROM, &["measured"]);

static FLOW_POWER: Field<Power> = POWER.when(&RATE_FROM, &["power"]);

static FLOW_EFFICIENCY: Field<Fraction> = EFFICIENCY.when(&RATE_FROM, &["power"]);

static APPROACH: Field<Fraction> = Field::preset(
    "approach",
    "Approach to equilibrium",
    Kind::Quantity(&limits::EFFICIENCY),
    "0.5",
    "1 for fine drops through a stirred layer; 0.3 for large drops through a still one (common practice).",
);

static TARGET_RECOVERY: Field<Option<Fraction>> = Field::optional(
    "target_recovery",
    "Recovery to reach",
    Kind::Quantity(&limits::TARGET),
    "Blank, if a time is given; 99 % if both are blank.",
);

static TIME: Field<Option<Duration>> = Field::optional(
    "time",
    "Time",
    Kind::Quantity(&limits::TIME),
    "Blank, if a recovery is to be reached.",
);

static PORTION_VOLUME: Field<Volume> = Field::preset(
    "portion_volume",
    "Funnel: one portion",
    Kind::Quantity(&limits::VOLUME),
    "50 mL",
    "To compare with a separating funnel.",
);

static PORTION_TIME: Field<Duration> = Field::preset(
    "portion_time",
    "Funnel: time for a portion",
    Kind::Quantity(&limits::TIME),
    "10 min",
    "Shaking, settling and running off.",
);

static AQUEOUS_HEIGHT: Field<Length> = Field::preset(
    "aqueous_height",
    "Height of the water layer",
    Kind::Quantity(&limits::LENGTH),
    "200 mm",
    "In the extractor.",
);

static SOLVENT_HEIGHT: Field<Option<Length>> = Field::optional(
    "solvent_height",
    "Height of the solvent layer",
    Kind::Quantity(&limits::LENGTH),
    "Under or over the water; blank: 50 mm of a denser solvent, none of a lighter one.",
);

static AQUEOUS_DENSITY: Field<Density> = Field::preset(
    "aqueous_density",
    "Density of the water layer",
    Kind::Quantity(&limits::DENSITY),
    "1.00 g/mL",
    "Salt makes it denser.",
);

static SOLVENT_DENSITY: Field<Option<Density>> = Field::optional(
    "solvent_density",
    "Density of the solvent",
    Kind::Quantity(&limits::DENSITY),
    "Blank: that of the solvent named, or 1.33 g/mL (dichloromethane) and 0.71 g/mL (diethyl ether).",
);

static BUILT_HEIGHT: Field<Option<Length>> = Field::optional(
    "built_height",
    "As built",
    Kind::Quantity(&limits::LENGTH),
    "Return arm above the base, or delivery tube above its outlet; blank if not yet chosen.",
);

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "continuous-extraction",
    title: "Continuous extraction",
    question: form_only("How long, how much solvent, and will the apparatus flow?"),
    inputs: &[
        &SOLVENT_LAYER.input,
        &DISTRIBUTION.input,
        &AQUEOUS_VOLUME.input,
        &RATE_FROM.input,
        &SOLVENT_RATE.input,
        &DROPS.input,
        &DROP_VOLUME.input,
        &SOLVENT.input,
        &FLOW_POWER.input,
        &FLOW_EFFICIENCY.input,
        &APPROACH.input,
        &TARGET_RECOVERY.input,
        &TIME.input,
        &PORTION_VOLUME.input,
        &PORTION_TIME.input,
        &AQUEOUS_HEIGHT.input,
        &SOLVENT_HEIGHT.input,
        &AQUEOUS_DENSITY.input,
        &SOLVENT_DENSITY.input,
        &BUILT_HEIGHT.input,
    ],
    evaluate,
};

/// The exponent η·D·F/V of the recovery per minute.
fn per_minute(approach: f64, distribution: f64, flow: f64, aqueous: f64) -> f64 {
    approach * distribution * flow / aqueous
}

/// Share brought out after `exponent` = η·D·F·t/V.
fn brought_out(exponent: f64) -> f64 {
    -libm::expm1(-exponent)
}

/// Refuses a solvent that mixes with water: there would be one layer, and all of it would run over.
fn refuse_miscible(inputs: &Inputs<'_>) -> Result<(), Problem> {
    let Some(solvent) = inputs.entry(&SOLVENT) else {
        return Ok(());
    };
    let solvents = inputs.library().table("solvents");
    let row = solvents.and_then(|table| table.find(solvent.name()));
    if solvent.name() != "water" && !row.is_some_and(|row| row.is("miscible")) {
        return Ok(());
    }
    Err(Problem::new("solvent", "{} mixes with water and makes no layer of its own; take one that does not, such as ethyl acetate or an ether").text(solvent.name()))
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    if let Some(solvent) = inputs.entry(&SOLVENT) {
        let names = [solvent.name(), "water"];
        meeting::bring_together(inputs.library(), &names, SOLVENT.input.name, outcome)?;
    }
    refuse_miscible(inputs)?;
    let constant = inputs.get_measured(&DISTRIBUTION);
    let aqueous = inputs.get(&AQUEOUS_VOLUME).in_millilitres();
    let approach = inputs.get(&APPROACH).in_ones();
    let flow = heating::flow(inputs, &SOLVENT_RATE)?;
    let distribution = constant.value.base();
    let pace = per_minute(approach, distribution, flow, aqueous);
    let given_time = inputs.quantity(&TIME).map(Duration::in_minutes);
    let target = inputs.quantity(&TARGET_RECOVERY).map(Fraction::in_ones);
    let time = match (given_time, target) {
        (Some(_), Some(_)) => {
            return Err(Problem::new(
                TIME.input.name,
                "give either the time or the recovery to reach, not both",
            ));
        }
        (Some(time), None) => time,
        (None, target) => -libm::log1p(-target.unwrap_or(0.99)) / pace,
    };
    let exponent = pace * time;
    let recovery = brought_out(exponent) * 100.0;
    // First order in the constant's own error, on whichever of the two is the answer.
    let relative = constant.error / distribution;

    let why = outcome.because("Every {2} {} the water loses half of what it still holds; the flow, the constant and how well the drops are mixed in count alike.");
    span(why, std::f64::consts::LN_2 / pace);
    outcome.by_method("Exact integration of dm/dt = −η·D·F·m/V for a mixed water layer; the interval carries the error of the distribution constant (first order). Heights by the balance of two columns at their common foot.");
    outcome.from_source("Mass balance, the limit of repeated extraction in many small portions (D. Harvey, Analytical Chemistry 2.1, section 7.7); Pascal’s law for the heights. When to leave the funnel: common practice, no source.");
    outcome.valid_for("One solute at low concentration, layers of constant volume, steady flow, a water layer that is mixed; the approach to equilibrium is a guess until two samples in time have been weighed.");
    plot(pace, time, recovery, outcome);
    let (time_error, recovery_error) = match given_time {
        None => (time * relative, 0.0),
        Some(_) => (0.0, exponent * (100.0 - recovery) * relative),
    };
    outcome
        .number("time", "Time", time, "min")
        .give_or_take(time_error);
    outcome
        .number("recovery", "Brought out", recovery, "%")
        .digits(number::digits_short_of_all(recovery))
        .give_or_take(recovery_error);
    outcome.number(
        "solvent_passed",
        "Solvent passed through",
        flow * time,
        "mL",
    );
    if inputs.choice(&RATE_FROM) != "measured" {
        outcome
            .number("solvent_rate", "Flow of solvent", flow, "mL/min")
            .digits(2);
    }
    funnel(inputs, distribution, exponent, time, outcome);
    heights(inputs, outcome)?;
    cautions(inputs, time, outcome);
    outcome
        .then("Find the constant by a test", "distribution-from-test")
        .with("aqueous_volume", "{~5} mL")
        .number(aqueous);
    Ok(())
}

/// The same recovery with a separating funnel: remaining = qⁿ with q = V/(V + D·V_portion).
fn funnel(inputs: &Inputs<'_>, distribution: f64, exponent: f64, time: f64, outcome: &mut Outcome) {
    let aqueous = inputs.get(&AQUEOUS_VOLUME).in_millilitres();
    let portion = inputs.get(&PORTION_VOLUME).in_millilitres();
    let each = inputs.get(&PORTION_TIME).in_minutes();
    let portions = f64::ceil(exponent / libm::log1p(distribution * portion / aqueous) - 1e-9);
    let portions = portions.max(1.0);
    outcome.count(
        "funnel_portions",
        "Portions with a funnel instead",
        portions,
    );
    outcome.number(
        "funnel_solvent",
        "Solvent for those",
        portions * portion,
        "mL",
    );
    outcome
        .number("funnel_time", "Time for those", portions * each, "min")
        .digits(2);
    if portions <= FEW_PORTIONS {
        let note = outcome.note("A separating funnel does the same in {~6} portions, about {2} {}: not worth setting this up, unless an emulsion forms.");
        span(note.number(portions), portions * each);
        let next = outcome.then("With a separating funnel", "repeated-extraction");
        next.with("distribution", "{~4}").number(distribution);
        next.with("aqueous_volume", "{~5} mL").number(aqueous);
        next.with("portion_volume", "{~5} mL").number(portion);
        next.with("portions", "{~6}").number(portions);
    } else {
        let note = outcome.note("By hand it would take {~6} portions and {2} L of solvent; here a few hundred millilitres go round for {2} {}.");
        note.number(portions).number(portions * portion / 1000.0);
        span(note, time);
    }
}

/// Where the liquids stand, and whether the glass allows it.
fn heights(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let length = |field: &Field<Option<Length>>| inputs.quantity(field).map(Length::in_millimetres);
    let denser = inputs.choice(&SOLVENT_LAYER) == "denser";
    let water = inputs.get(&AQUEOUS_DENSITY).base();
    let known = match inputs.choice(&RATE_FROM) {
        "power" => inputs.entry(&SOLVENT).and_then(|row| row.number("density")),
        _ => None,
    };
    let solvent = inputs
        .quantity(&SOLVENT_DENSITY)
        .map(Density::base)
        .or(known)
        .unwrap_or(if denser { 1.33 } else { 0.71 });
    if (solvent > water) != denser {
        return Err(Problem::new(SOLVENT_DENSITY.input.name,
            "{~4} g/mL against {~4} g/mL of the water layer is not {}; the layers would not stand as this extractor needs them",
        )
        .number(solvent)
        .number(water)
        .text(if denser { "denser" } else { "lighter" }));
    }
    if (solvent - water).abs() < 0.05 {
        outcome.note("The densities are so close that drops will hardly move and emulsions will not clear; salt in the water, or another solvent, parts them.");
    }
    let push = inputs.get(&AQUEOUS_HEIGHT).in_millimetres() * water / solvent;
    let layer = length(&SOLVENT_HEIGHT).unwrap_or(if denser { USUAL_LAYER } else { 0.0 });
    let needed = push + layer;
    let (name, label) = if denser {
        ("return_height", "Return arm above the base")
    } else {
        ("delivery_head", "Delivery tube above its outlet, at least")
    };
    outcome.number(name, label, needed, "mm");
    let Some(built) = length(&BUILT_HEIGHT) else {
        return Ok(());
    };
    if denser {
        // The arm fixes where the solvent stands: what the water does not push up is its layer.
        let stands = built - push;
        if stands <= 0.0 {
            outcome
                .danger("It cannot work: with the return arm at {.0} mm the water layer runs over into the boiling flask. Less water, or an arm at {.0} mm.")
                .number(built)
                .number(needed);
        } else if stands < THIN_LAYER {
            outcome
                .care("With the arm at {.0} mm only {.0} mm of solvent stand under the water: a knock sends water into the flask.")
                .number(built)
                .number(stands);
        } else {
            outcome
                .note("With the arm at {.0} mm, {.0} mm of solvent stand under the water.")
                .number(built)
                .number(stands);
        }
    } else if built < needed {
        outcome
            .danger("It cannot work: the delivery tube is {.0} mm too short, so solvent fills it and runs over before a drop leaves its foot. Less water, or a longer tube.")
            .number(needed - built);
    } else {
        outcome
            .note("The tube of {.0} mm has {.0} mm to spare.")
            .number(built)
            .number(built - needed);
    }
    Ok(())
}

fn cautions(inputs: &Inputs<'_>, time: f64, outcome: &mut Outcome) {
    if inputs.choice(&RATE_FROM) == "power" {
        if let Some(solvent) = inputs.entry(&SOLVENT) {
            substance::cautions(solvent, outcome);
        }
    } else if inputs.choice(&SOLVENT_LAYER) == "lighter" {
        outcome.danger("Ethers form explosive peroxides: test before use, and never boil the flask to dryness. Light solvents are flammable: no flame, no hot surface, no spark.");
    }
    outcome.care("The product stays hot in the flask for the whole run: not for what spoils at the solvent’s boiling point, unless it is taken out in between.");
    outcome.care("The flask is never dry, nor more than half full; fresh anti-bumping granules for each heating.");
    if inputs.choice(&SOLVENT_LAYER) == "denser" {
        outcome.care("Solvent into the extractor first, to cover the foot of the arm, and then the water layer.");
    }
    if time > 480.0 {
        outcome.care("Longer than a working day: unattended running needs permission, a water-flow cut-out and a sheet with the name of who to call; or stop and go on tomorrow.");
    }
    outcome.care(substance::DEFER);
}

/// Recovery against time with the working point.
fn plot(pace: f64, time: f64, recovery: f64, outcome: &mut Outcome) {
    let end = (time * 1.5).max(1.0 / pace);
    // Hours where minutes would be large numbers.
    let (unit, in_unit) = if end > 300.0 {
        ("h", 60.0)
    } else {
        ("min", 1.0)
    };
    let plot = outcome.plot(
        "Recovery against time",
        "The recovery rises steeply, then ever more slowly; after {2} {} it is {3} %.",
    );
    span(&mut plot.description, time).number(recovery);
    plot.x.linear("Time", unit).from_to(0.0, end / in_unit);
    plot.y.linear("Brought out", "%").from_to(0.0, 100.0);
    let line = plot.line("brought out");
    for t in spread(0.0, end, 41) {
        line.point(t / in_unit, brought_out(pace * t) * 100.0);
    }
    plot.mark("{3} %", time / in_unit, recovery)
        .number(recovery);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outcome::Figure;

    fn run(pairs: &[(&str, &str)]) -> Result<Outcome, Vec<Problem>> {
        let tables = "[substances]\nname\tmolar_mass\theat_of_vaporisation\tdensity\ndichloromethane\t84.93\t28.06\t1.326";
        CALCULATOR.run_on(tables, pairs)
    }

    #[test]
    fn says_when_the_glass_cannot_work() {
        // 200 mm of water push dichloromethane up to 150 mm: an arm lower than that lets water over.
        let grave = |height| {
            let outcome = run(&[("built_height", height)]).unwrap();
            outcome
                .cautions
                .iter()
                .any(|c| c.text.starts_with("It cannot work"))
        };
        assert!(grave("150 mm"));
        assert!(!grave("160 mm"));
        let problems = run(&[("solvent_density", "0.9 g/mL")]).unwrap_err();
        assert_eq!(
            problems.first().map(|p| p.input.as_str()),
            Some("solvent_density")
        );
    }

    #[test]
    fn drops_give_the_flow() {
        let outcome = run(&[
            ("rate_from", "drops"),
            ("drops", "100"),
            ("drop_volume", "0.05 mL"),
        ])
        .unwrap();
        let flow = outcome
            .figure("solvent_rate")
            .and_then(Figure::number)
            .unwrap();
        assert!((flow - 5.0).abs() < 1e-12);
    }
}
