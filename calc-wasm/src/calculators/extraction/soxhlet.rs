//! Soxhlet extraction: how many siphonings, how long, what charge of solvent?
//!
//! One soak brings a share e of what the solid holds into the solvent around it; when it
//! siphons, the thimble holds back V_held of V_held + V_siphon. Remaining after n siphonings =
//! (1 − e·(1 − r))ⁿ with r = V_held/(V_held + V_siphon): repeated washing with liquid held back.
//! One siphoning takes V_siphon/F. From the masses m₁, m₂ collected in two equal successive runs
//! of k siphonings: e·(1 − r) = 1 − (m₂/m₁)^(1/k). V in mL, F in mL/min.
//! It holds while every soak is alike; a last share locked in whole cells or lumps never follows.

use crate::calculators::Calculator;
use crate::equations::heating::{
    self, DROP_VOLUME, DROPS, EFFICIENCY, POWER, RATE_FROM, SOLVENT, span,
};
use crate::equations::substance;
use crate::equations::washing::{self, Asked};
use crate::inputs::{Choice, Field, Inputs, Kind, Word, form_only};
use crate::limits;
use crate::number;
use crate::outcome::{Outcome, share_ends};
use crate::problem::Problem;
use crate::quantity::{FlowRate, Fraction, Length, Mass, Number, Power, Quantity, Volume};

/// Siphonings drawn at most.
const MOST_DRAWN: f64 = 60.0;
/// Solvent in the flask, in siphon volumes, least and most (common practice).
const CHARGE: [f64; 2] = [1.5, 2.0];

static SIPHON_VOLUME: Field<Volume> = Field::preset(
    "siphon_volume",
    "Siphon volume",
    Kind::Quantity(&limits::VOLUME),
    "100 mL",
    "What runs over each time; measure it once with water.",
);

static HELD_VOLUME: Field<Volume> = Field::preset(
    "held_volume",
    "Held back",
    Kind::Quantity(&limits::VOLUME),
    "25 mL",
    "What thimble and solid keep after the siphon has run.",
);

static BOIL_UP_RATE: Field<FlowRate> = Field::preset(
    "boil_up_rate",
    "Flow of solvent",
    Kind::Quantity(&limits::FLOW),
    "10 mL/min",
    "Boiled, condensed and dripping into the thimble.",
)
.when(&RATE_FROM, &["measured"]);

static FLOW_POWER: Field<Power> = POWER.when(&RATE_FROM, &["power"]);

static FLOW_EFFICIENCY: Field<Fraction> = EFFICIENCY.when(&RATE_FROM, &["power"]);

static EFFICIENCY_FROM: Field<Word> = Field::preset(
    "efficiency_from",
    "One soak brings out",
    Kind::Choice(&[
        Choice {
            name: "given",
            label: "a share that I give",
        },
        Choice {
            name: "masses",
            label: "what two masses tell",
        },
    ]),
    "given",
    "Two collected masses are better than a guess.",
);

static SOAK_EFFICIENCY: Field<Fraction> = Field::preset(
    "soak_efficiency",
    "Share of one soak",
    Kind::Quantity(&limits::EFFICIENCY),
    "0.5",
    "Of what the solid still holds; finely ground more, whole leaves less.",
)
.when(&EFFICIENCY_FROM, &["given"]);

static FIRST_MASS: Field<Mass> = Field::preset(
    "first_mass",
    "First mass collected",
    Kind::Quantity(&limits::MASS),
    "1.2 g",
    "Solvent taken off and weighed; add the error, as in 1.2 ± 0.02 g.",
)
.when(&EFFICIENCY_FROM, &["masses"]);

static SECOND_MASS: Field<Mass> = Field::preset(
    "second_mass",
    "Second mass collected",
    Kind::Quantity(&limits::MASS),
    "0.7 g",
    "In the same number of siphonings, with fresh solvent.",
)
.when(&EFFICIENCY_FROM, &["masses"]);

static CYCLES_EACH: Field<Number> = Field::preset(
    "cycles_each",
    "Siphonings for each mass",
    Kind::Quantity(&limits::COUNT),
    "1",
    "The same for both.",
)
.when(&EFFICIENCY_FROM, &["masses"]);

static TARGET_RECOVERY: Field<Option<Fraction>> = Field::optional(
    "target_recovery",
    "Recovery to reach",
    Kind::Quantity(&limits::TARGET),
    "Blank, if siphonings are given; 99 % if both are blank.",
);

static CYCLES_INPUT: Field<Option<Number>> = Field::optional(
    "cycles",
    "Siphonings",
    Kind::Quantity(&limits::COUNT),
    "Blank, if a recovery is to be reached.",
);

static FLASK_VOLUME: Field<Option<Volume>> = Field::optional(
    "flask_volume",
    "Flask",
    Kind::Quantity(&limits::VOLUME),
    "To check that it is half full at most.",
);

static THIMBLE_HEIGHT: Field<Option<Length>> = Field::optional(
    "thimble_height",
    "Height of the thimble",
    Kind::Quantity(&limits::LENGTH),
    "From the floor of the extractor.",
);

static SIPHON_HEIGHT: Field<Option<Length>> = Field::optional(
    "siphon_height",
    "Height of the siphon’s bend",
    Kind::Quantity(&limits::LENGTH),
    "From the same floor.",
);

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "soxhlet",
    title: "Soxhlet extraction",
    question: form_only("How many siphonings, how long, and what charge of solvent?"),
    inputs: &[
        &SIPHON_VOLUME.input,
        &HELD_VOLUME.input,
        &RATE_FROM.input,
        &BOIL_UP_RATE.input,
        &DROPS.input,
        &DROP_VOLUME.input,
        &SOLVENT.input,
        &FLOW_POWER.input,
        &FLOW_EFFICIENCY.input,
        &EFFICIENCY_FROM.input,
        &SOAK_EFFICIENCY.input,
        &FIRST_MASS.input,
        &SECOND_MASS.input,
        &CYCLES_EACH.input,
        &TARGET_RECOVERY.input,
        &CYCLES_INPUT.input,
        &FLASK_VOLUME.input,
        &THIMBLE_HEIGHT.input,
        &SIPHON_HEIGHT.input,
    ],
    evaluate,
};

/// Share of the solute that one siphoning carries off: e·(1 − r).
fn carried_off(efficiency: f64, held: f64, siphon: f64) -> f64 {
    efficiency * siphon / (held + siphon)
}

/// How the siphonings are asked for.
static CYCLES: Asked = Asked {
    steps: &CYCLES_INPUT,
    target: &TARGET_RECOVERY,
    both: "give either the siphonings or the recovery to reach, not both",
    never: "not reached in 10000 siphonings: another solvent, a finer powder or another method is needed",
};

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let siphon = inputs.get(&SIPHON_VOLUME).in_millilitres();
    let held = inputs.get(&HELD_VOLUME).in_millilitres();
    let flow = heating::flow(inputs, &BOIL_UP_RATE)?;
    let (efficiency, error) = efficiency(inputs, held, siphon)?;
    let share = carried_off(efficiency, held, siphon);
    let cycles = washing::steps(inputs, libm::log1p(-share), &CYCLES)?;
    let left = washing::left(1.0 - share, cycles);
    let each = siphon / flow;
    // First order: d(left)/de = −n·left·(1 − r)/(1 − share).
    let half = if left > 0.0 {
        cycles * left / (1.0 - share) * carried_off(error, held, siphon)
    } else {
        0.0
    };
    let recovery = (1.0 - left) * 100.0;
    let charge = [CHARGE[0] * siphon + held, CHARGE[1] * siphon + held];

    let why = outcome.because("Each siphoning takes {2} {} and carries off {2} % of what is left: {2} % by the soak, of which {2} % stay in the wet thimble.");
    span(why, each)
        .number(share * 100.0)
        .number(efficiency * 100.0)
        .number(held / (held + siphon) * 100.0);
    outcome.by_method("Repeated washing with liquid held back: remaining = (1 − e·(1 − r))ⁿ; the interval carries the error of the soak’s share (first order), that of the charge runs from 1.5 to 2 siphon volumes.");
    outcome.from_source("Mass balance over one siphoning. Charge of solvent and height of the thimble: common practice, no source.");
    outcome.valid_for("Every soak alike, and all of the solute within reach of the solvent; the first filling also wets thimble and solid and takes longer.");
    plot(share, cycles, recovery, outcome);
    outcome.count("cycles", "Siphonings", cycles);
    outcome.number("time", "Time", cycles * each, "min");
    outcome
        .number("recovery", "Brought out", recovery, "%")
        .digits(number::digits_short_of_all(recovery))
        .give_or_take(half * 100.0);
    outcome
        .number("cycle_time", "One siphoning", each, "min")
        .digits(2);
    outcome
        .number("solvent_charge", "Solvent in the flask", charge[1], "mL")
        .within(charge[0], charge[1]);
    outcome
        .number("least_flask", "Flask, at least", 2.0 * charge[0], "mL")
        .digits(2);
    if inputs.choice(&EFFICIENCY_FROM) == "masses" {
        let [least, most] = share_ends(efficiency, error);
        outcome
            .number("soak_efficiency", "Share of one soak", efficiency, "")
            .within(least, most);
    }
    if inputs.choice(&RATE_FROM) != "measured" {
        outcome
            .number("boil_up_rate", "Flow of solvent", flow, "mL/min")
            .digits(2);
    }
    outcome.note("Count the siphonings, and look at the colour of what comes over: when it runs colourless, or leaves nothing on a watch glass, it is done.");
    cautions(inputs, charge[0], cycles * each, outcome);
    outcome
        .then("How much for a class?", "class-quantities")
        .with("amounts", "extraction solvent: {2} mL")
        .number(charge[1]);
    Ok(())
}

/// The share of one soak with the half-width of its interval.
fn efficiency(inputs: &Inputs<'_>, held: f64, siphon: f64) -> Result<(f64, f64), Problem> {
    if inputs.choice(&EFFICIENCY_FROM) != "masses" {
        let given = inputs.get_measured(&SOAK_EFFICIENCY);
        return Ok((given.value.in_ones(), given.error));
    }
    let first = inputs.get_measured(&FIRST_MASS);
    let second = inputs.get_measured(&SECOND_MASS);
    let each = inputs.get(&CYCLES_EACH).base();
    let (m1, m2) = (first.value.in_grams(), second.value.in_grams());
    if m2 >= m1 {
        return Err(Problem::new(
            SECOND_MASS.input.name,
            "the second mass must be less than the first; if it is not, the thimble was not yet wet through, or the soaks were unlike",
        ));
    }
    let kept = libm::pow(m2 / m1, 1.0 / each);
    let wash = carried_off(1.0, held, siphon);
    let efficiency = (1.0 - kept) / wash;
    if efficiency > 1.0 {
        return Err(Problem::new(FIRST_MASS.input.name,
            "the masses fall faster than a perfect soak would let them, by {2} % a siphoning at most; check what is held back, and the siphonings for each mass",
        )
        .number(wash * 100.0));
    }
    // d(kept)/kept = (1/k)·(dm2/m2 − dm1/m1), the two errors independent.
    let (u1, u2) = (first.error / m1, second.error / m2);
    Ok((
        efficiency,
        kept / each * f64::sqrt(u1 * u1 + u2 * u2) / wash,
    ))
}

fn cautions(inputs: &Inputs<'_>, charge: f64, time: f64, outcome: &mut Outcome) {
    if let (Some(thimble), Some(siphon)) = (
        inputs.quantity(&THIMBLE_HEIGHT),
        inputs.quantity(&SIPHON_HEIGHT),
    ) && thimble >= siphon
    {
        outcome.care("The thimble reaches above the siphon’s bend: its upper part is never soaked, and solid may wash over. A shorter thimble, or a larger extractor.");
    }
    if let Some(flask) = inputs.quantity(&FLASK_VOLUME)
        && flask.in_millilitres() < 2.0 * charge
    {
        outcome
            .care("The flask is too small: with {3} mL in it, it is more than half full.")
            .number(charge);
    }
    if inputs.choice(&RATE_FROM) == "power"
        && let Some(solvent) = inputs.entry(&SOLVENT)
    {
        substance::cautions(solvent, outcome);
    } else {
        outcome.danger("Ethers form explosive peroxides: test before use, and never boil the flask to dryness.");
    }
    outcome.care("The flask is lowest just before the siphon runs: it must not go dry then. Fresh anti-bumping granules for each heating.");
    outcome.care("The extract stays hot for the whole run; what spoils at the solvent’s boiling point needs another way.");
    if time > 480.0 {
        outcome.care("Longer than a working day: unattended running needs permission and a water-flow cut-out; or stop and go on tomorrow.");
    }
    outcome.care("Cool before it is taken apart.");
    outcome.care(substance::DEFER);
}

/// Recovery after each siphoning, the working point marked.
fn plot(share: f64, cycles: f64, recovery: f64, outcome: &mut Outcome) {
    let shown = (cycles + 3.0).min(MOST_DRAWN);
    let plot = outcome.plot(
        "Recovery against siphonings",
        "Each siphoning brings less than the one before; after {~5} of them {3} % is out.",
    );
    plot.description.number(cycles).number(recovery);
    plot.x.linear("Siphonings", "").from_to(0.0, shown);
    plot.y.linear("Brought out", "%").from_to(0.0, 100.0);
    washing::recoveries(plot.line("brought out"), 1.0 - share, shown);
    if cycles <= shown {
        plot.mark("{3} %", cycles, recovery).number(recovery);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(pairs: &[(&str, &str)]) -> Result<Outcome, Vec<Problem>> {
        let tables = "[substances]\nname\ndichloromethane";
        CALCULATOR.run_on(tables, pairs)
    }

    /// Forwards and back: half a soak with a fifth held back keeps 0.6 a siphoning, so runs of
    /// two siphonings stand as 1 to 0.36 (exact arithmetic).
    #[test]
    fn two_masses_give_the_soak() {
        let outcome = run(&[
            ("efficiency_from", "masses"),
            ("first_mass", "1 g"),
            ("second_mass", "0.36 ± 0.01 g"),
            ("cycles_each", "2"),
        ])
        .unwrap();
        let soak = outcome.figure("soak_efficiency").unwrap();
        assert!((soak.number().unwrap() - 0.5).abs() < 1e-12);
        // The same by trying both ends of the reading: kept = √0.35 and √0.37.
        let ends = (0.37_f64.sqrt() - 0.35_f64.sqrt()) / 0.8;
        assert!((soak.high.unwrap() - soak.low.unwrap() - ends).abs() < 1e-4);
    }

    #[test]
    fn refuses_masses_that_grow() {
        let problems = run(&[("efficiency_from", "masses"), ("second_mass", "2 g")]).unwrap_err();
        assert_eq!(
            problems.first().map(|p| p.input.as_str()),
            Some("second_mass")
        );
    }
}
