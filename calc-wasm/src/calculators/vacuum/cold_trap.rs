//! How much of a vapour passes the cold trap, and how much coolant does it take?
//!
//! Gas leaves the trap saturated at the trap's temperature, so of a vapour that fills the line
//! the share p_sat(T_trap)/p_line goes on to the pump, pressures in mmHg. Below the data, or the
//! melting point, the liquid's curve is drawn on downwards: an upper bound there, for a solid
//! gives off less than the undercooled liquid would.
//! Heat to take up: q = m·(ΔH_vap/M + c·(20 °C − T_trap)), ΔH_vap in kJ/mol at the boiling point,
//! c of the liquid in J/(g K); coolant: q over the heat that a kilogram of it takes up, from the
//! table of cooling mixtures. Cooling the glass and the heat that leaks in come on top.
//! Vapour pressures: Antoine, see `equations::vapour` for sources and range.

use crate::calculators::Calculator;
use crate::equations::substance;
use crate::equations::vapour::Curve;
use crate::inputs::{Entry, Field, Inputs, Kind, form_only};
use crate::library::{Library, Record};
use crate::limits;
use crate::outcome::Outcome;
use crate::plot::spread;
use crate::problem::Problem;
use crate::quantity::{Mass, Measured, Pressure, Temperature};

/// Temperature at which the vapour comes in, °C.
const ROOM: f64 = 20.0;
/// A share above which the pump suffers, % (common practice).
const TOO_MUCH: f64 = 5.0;
/// How much more coolant may be needed than stated, for heats of vaporisation that rise as it gets
/// colder and for vapour that freezes (own choice).
const HEAT_ERROR: f64 = 0.2;

static SUBSTANCE: Field<Entry> = Field::preset(
    "substance",
    "Vapour",
    Kind::Entry("substances"),
    "acetone",
    "The most volatile thing that comes over: name, other name or CAS number.",
);

static TRAP_TEMPERATURE: Field<Temperature> = Field::preset(
    "trap_temperature",
    "Trap temperature",
    Kind::Quantity(&limits::COOLANT_TEMPERATURE),
    "−41 °C",
    "Of the coolant around the trap.",
);

static LINE_PRESSURE: Field<Pressure> = Field::preset(
    "line_pressure",
    "Pressure in the line",
    Kind::Quantity(&limits::PRESSURE),
    "20 mmHg",
    "At the trap; add the reading error, as in 20 ± 1 mmHg.",
);

static VAPOUR_AMOUNT: Field<Mass> = Field::preset(
    "vapour_amount",
    "Vapour in the whole run",
    Kind::Quantity(&limits::MASS),
    "10 g",
    "What would reach the pump without a trap.",
);

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "cold-trap",
    title: "Cold trap",
    question: form_only(
        "How much of the vapour passes the trap, and how much coolant does it take?",
    ),
    inputs: &[
        &SUBSTANCE.input,
        &TRAP_TEMPERATURE.input,
        &LINE_PRESSURE.input,
        &VAPOUR_AMOUNT.input,
    ],
    evaluate,
};

/// Vapour pressure in the trap.
struct Saturated {
    mmhg: f64,
    low: f64,
    high: f64,
    /// Whether the curve's own data reach so far.
    known: bool,
}

/// Vapour pressure over what the trap holds, with its interval.
///
/// Below the data: the drawn-on curve, with an interval from nought to half as much again, at
/// most to where the data end.
fn saturated(curve: &Curve<'_>, trap: Measured<Temperature>) -> Saturated {
    if let Ok((mmhg, half)) = curve.pressure("trap_temperature", trap) {
        let low = (mmhg - half).max(0.0);
        return Saturated {
            mmhg,
            low,
            high: mmhg + half,
            known: true,
        };
    }
    let mmhg = drawn_on(curve, trap.value.in_celsius());
    let high = drawn_on(curve, trap.value.in_celsius() + trap.error) * 1.5;
    Saturated {
        mmhg,
        low: 0.0,
        high,
        known: false,
    }
}

/// The equation without limits; nought near its pole, far below any trap.
fn drawn_on(curve: &Curve<'_>, celsius: f64) -> f64 {
    if celsius < curve.temperature_unchecked(1e-12) {
        0.0
    } else {
        curve.pressure_unchecked(celsius).min(1e6)
    }
}

/// Share of the vapour that passes, %: p_sat/p_line, all of it at most.
fn passing(saturated: f64, line: f64) -> f64 {
    (saturated / line).clamp(0.0, 1.0) * 100.0
}

/// Heat given up by `grams` of vapour, kJ; None where the heat of vaporisation is not known.
fn heat(record: Record<'_>, grams: f64, celsius: f64) -> Option<f64> {
    let vaporisation = record.number("heat_of_vaporisation")? / record.number("molar_mass")?;
    // Most organic liquids take 1.5 to 2.5 J/(g K).
    let capacity = record.number("heat_capacity").unwrap_or(2.0) / 1000.0;
    Some(grams * (vaporisation + capacity * (ROOM - celsius).max(0.0)))
}

/// The warmest mixture that is cold enough, the first of equals.
fn mixture(library: &Library, celsius: f64) -> Option<Record<'_>> {
    let mut best = None;
    let mut warmest = f64::NEG_INFINITY;
    for row in library.rows("cooling_mixtures") {
        // Half a degree off is no other mixture.
        if let Some(cold) = row.number("temperature")
            && cold <= celsius + 0.5
            && cold > warmest
        {
            (best, warmest) = (Some(row), cold);
        }
    }
    best
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let curve = Curve::read(inputs, &SUBSTANCE)?;
    let record = curve.record;
    let library = inputs.library();
    let trap = inputs.get_measured(&TRAP_TEMPERATURE);
    let line = inputs.get_measured(&LINE_PRESSURE);
    let grams = inputs.get(&VAPOUR_AMOUNT).in_grams();
    let (celsius, mmhg) = (trap.value.in_celsius(), line.value.in_mmhg());
    let (coolant, cooling) = coolant(library, celsius)?;
    let over = saturated(&curve, trap);
    let share = passing(over.mmhg, mmhg);
    let caught = grams * (1.0 - share / 100.0);
    let Some(heat) = heat(record, caught, celsius) else {
        return Err(Problem::new(
            SUBSTANCE.input.name,
            "no heat of vaporisation is known here for {}",
        )
        .text(record.name()));
    };
    let needed = heat / cooling * 1000.0;

    outcome
        .because("At {.0} °C {} still gives {2} mmHg. The pump cannot bring the line below that, and at {~3} mmHg {2} of each 100 parts of vapour go past.")
        .number(celsius)
        .text(record.name())
        .number(over.mmhg)
        .number(mmhg)
        .number(share);
    outcome.by_method("The gas leaves the trap saturated: the share that passes is the vapour pressure at the trap’s temperature over the pressure in the line. Coolant from the heats of vaporisation and of the liquid alone; cooling the glass and heat that leaks in come on top.");
    curve.vouch(outcome);
    outcome
        .source
        .more(" Heat of the coolant: {}.")
        .text(coolant.text("source"));
    outcome
        .validity
        .more(" Below that the curve is drawn on, and the true share is smaller where the trap freezes the vapour. The gas must have time to cool.");
    outcome.in_range(over.known || over.mmhg >= mmhg);
    plot(&curve, celsius, mmhg, share, outcome);
    figures(&over, share, [mmhg, line.error], needed, grams, outcome);
    outcome.verdict("mixture", "Coolant", coolant.name());
    by_mixture(&curve, library, mmhg, grams, outcome);
    notes(record, coolant, share, caught, outcome);
    cautions(record, coolant, celsius, share, outcome);
    substance::then(record, "Which pump and pressure?", "vacuum-plan", outcome);
    substance::then(
        record,
        "What it boils at in this line",
        "boiling-point",
        outcome,
    )
    .with("pressure", "{~5} mmHg")
    .number(mmhg);
    Ok(())
}

/// The mixture for a trap at `celsius`, and the heat that a kilogram of its coolant takes up, kJ.
fn coolant(library: &Library, celsius: f64) -> Result<(Record<'_>, f64), Problem> {
    let refuse = |template| Problem::new(TRAP_TEMPERATURE.input.name, template);
    let Some(mixture) = mixture(library, celsius) else {
        return Err(refuse(
            "colder than any mixture in the table; liquid nitrogen stands at −196 °C",
        ));
    };
    match mixture.number("coolant_heat") {
        Some(heat) => Ok((mixture, heat)),
        None => Err(refuse("no heat is known here for {}").text(mixture.name())),
    }
}

fn figures(
    over: &Saturated,
    share: f64,
    [mmhg, error]: [f64; 2],
    needed: f64,
    grams: f64,
    outcome: &mut Outcome,
) {
    outcome
        .number("passing", "Passes the trap", share, "%")
        .within(
            passing(over.low, mmhg + error),
            passing(over.high, (mmhg - error).max(mmhg * 0.01)),
        );
    outcome
        .number(
            "coolant_needed",
            "Coolant used up by the vapour",
            needed,
            "g",
        )
        .within(needed * (1.0 - HEAT_ERROR), needed * (1.0 + HEAT_ERROR));
    outcome
        .number(
            "passing_amount",
            "Reaches the pump",
            grams * share / 100.0,
            "g",
        )
        .digits(2);
    outcome
        .number(
            "trap_pressure",
            "Vapour pressure in the trap",
            over.mmhg,
            "mmHg",
        )
        .within(over.low, over.high.max(over.mmhg));
}

/// What each mixture of the table would let pass, where all is known that this takes.
fn by_mixture(curve: &Curve<'_>, library: &Library, mmhg: f64, grams: f64, outcome: &mut Outcome) {
    let table = outcome.table(
        "The same vapour in other traps",
        "Mixture\tStands at\tPasses\tUsed up",
    );
    for row in library.rows("cooling_mixtures") {
        let (Some(celsius), Some(cooling)) =
            (row.number("temperature"), row.number("coolant_heat"))
        else {
            continue;
        };
        let share = passing(drawn_on(curve, celsius), mmhg);
        if let Some(heat) = heat(curve.record, grams * (1.0 - share / 100.0), celsius) {
            table
                .row("{}\t{.0} °C\t{2} %\t{2} g of {}")
                .text(row.name())
                .number(celsius)
                .number(share)
                .number(heat / cooling * 1000.0)
                .text(row.text("coolant"));
        }
    }
}

fn notes(record: Record<'_>, coolant: Record<'_>, share: f64, caught: f64, outcome: &mut Outcome) {
    outcome.note("Have at least twice the coolant at hand: the empty trap must be cooled, and heat leaks in all the time (common practice).");
    outcome.note(
        "The trap stands between apparatus and pump, and the gauge on the apparatus’ side of it.",
    );
    if share >= 100.0 {
        outcome.note("Nothing condenses: a colder trap, or a higher pressure in the line.");
    }
    if let Some(density) = record.number("density") {
        outcome
            .note("It will hold {2} mL of liquid; a trap is emptied before it is a third full (common practice).")
            .number(caught / density);
    }
    let remark = coolant.text("note");
    if !remark.is_empty() {
        outcome.note("{}: {}").text(coolant.name()).text(remark);
    }
}

fn cautions(
    record: Record<'_>,
    coolant: Record<'_>,
    celsius: f64,
    share: f64,
    outcome: &mut Outcome,
) {
    match coolant.text("coolant") {
        "liquid nitrogen" => {
            outcome.danger("Liquid nitrogen condenses oxygen from air: cool the trap only once it is evacuated, never draw air through it and never leave it open to air. A blue liquid is oxygen: stop, keep the nitrogen around it, leave and get help.");
            outcome.danger("Nitrogen drives out the air of a room, and freezes skin: ventilation, goggles and loose insulating gloves; never in a closed vessel.");
        }
        "dry ice" => {
            outcome.danger("Dry ice freezes skin, bursts closed vessels and fills low places with carbon dioxide: gloves, goggles, ventilation; add it in small lumps, for the bath foams.");
        }
        _ => {}
    }
    outcome.danger("Let the trap warm up open to the hood, never closed: what it caught turns back into vapour.");
    if record
        .number("melting_point")
        .is_some_and(|melts| melts > celsius)
    {
        outcome
            .care("{} freezes in this trap and can block it: vapour in at the wide side, and watch the gauge.")
            .text(record.name());
    }
    if share > TOO_MUCH {
        outcome.care("So much goes past that pump and oil suffer: a colder trap, a second one, or less vapour.");
    }
    substance::cautions(record, outcome);
    outcome.care(substance::DEFER);
}

/// Share that passes against the trap's temperature, with the usual coolants.
fn plot(curve: &Curve<'_>, celsius: f64, mmhg: f64, share: f64, outcome: &mut Outcome) {
    // The axis is logarithmic: what passes is never drawn as nought.
    let shown = |share: f64| share.max(1e-4);
    let plot = outcome.plot(
        "Share of {} that passes, against the trap’s temperature",
        "The colder the trap, the less passes; at {.0} °C it is {2} %.",
    );
    plot.title.text(curve.name());
    plot.description.number(celsius).number(share);
    plot.x.linear("Trap temperature", "°C");
    plot.y.log("Passes", "%");
    let boils = curve.temperature_unchecked(mmhg.min(curve.pressures()[1]));
    let coldest = (celsius - 20.0).min(boils - 60.0);
    let warmest = boils.max(celsius) + 5.0;
    plot.line("passes the trap")
        .follow(spread(coldest, warmest, 61), &|t| {
            shown(passing(drawn_on(curve, t), mmhg))
        });
    for (label, at) in [
        ("ice and salt", -20.0),
        ("dry ice", -78.0),
        ("liquid nitrogen", -196.0),
    ] {
        if at > coldest && at < warmest {
            plot.upright(label, at);
        }
    }
    plot.mark("{2} %", celsius, shown(share)).number(share);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(pairs: &[(&str, &str)]) -> Result<Outcome, Vec<Problem>> {
        // A curve near acetone’s, rounded (from memory): 24 mmHg at −20 °C, where its data begin.
        let tables = "[substances]\nname\tmolar_mass\theat_of_vaporisation\tvapour_pressure\tvapour_pressure_range\n\
             rounded\t58\t29\t7.1 1200 228\t-20 80\nunmeasured\t58\t\t7.1 1200 228\t-20 80\n\
             [cooling_mixtures]\nname\ttemperature\tcoolant\tcoolant_heat\n\
             ice and salt\t-20\tice\t300\ndry ice\t-78\tdry ice\t600\ndry ice in another\t-78\tdry ice\t600\n\
             unmeasured\t-100\tunknown\t\n";
        let mut given = pairs.to_vec();
        if !given.iter().any(|(name, _)| *name == "substance") {
            given.push(("substance", "rounded"));
        }
        CALCULATOR.run_on(tables, &given)
    }

    fn number(outcome: &Outcome, name: &str) -> f64 {
        let figure = outcome.figure(name);
        figure.and_then(|figure| figure.number()).unwrap()
    }

    #[test]
    fn all_passes_where_nothing_condenses() {
        assert!((passing(5.0, 20.0) - 25.0).abs() < 1e-12);
        assert!((passing(30.0, 20.0) - 100.0).abs() < 1e-12);
    }

    #[test]
    fn takes_the_warmest_mixture_that_is_cold_enough() {
        for (trap, mixture) in [
            ("-10 °C", "ice and salt"),
            ("-20.4 °C", "ice and salt"),
            ("-41 °C", "dry ice"),
        ] {
            let outcome = run(&[("trap_temperature", trap)]).unwrap();
            assert_eq!(
                outcome.figure("mixture").unwrap().shown(),
                mixture,
                "{trap}"
            );
        }
    }

    /// 29 kJ/mol over 58 g/mol, and 98 °C of 2 J/(g K): 0.696 kJ for each gram (exact arithmetic).
    #[test]
    fn counts_the_heat_of_what_is_caught() {
        let outcome = run(&[("trap_temperature", "-78 °C"), ("vapour_amount", "10 g")]).unwrap();
        let caught = 10.0 - number(&outcome, "passing_amount");
        let needed = number(&outcome, "coolant_needed");
        assert!(
            (needed - caught * 0.696 / 600.0 * 1000.0).abs() < 1e-9,
            "{needed}"
        );
    }

    #[test]
    fn is_an_upper_bound_below_the_data() {
        let low = |trap| {
            let outcome = run(&[("trap_temperature", trap)]).unwrap();
            (
                outcome.extrapolated,
                outcome.figure("passing").unwrap().low == Some(0.0),
            )
        };
        assert_eq!(low("-10 °C"), (false, false));
        assert_eq!(low("-70 °C"), (true, true));
    }

    #[test]
    fn blames_what_the_tables_lack() {
        let blamed = |pairs: &[(&str, &str)]| run(pairs).unwrap_err().remove(0).input.clone();
        for trap in ["-150 °C", "-90 °C"] {
            assert_eq!(blamed(&[("trap_temperature", trap)]), "trap_temperature");
        }
        assert_eq!(blamed(&[("substance", "unmeasured")]), "substance");
    }
}
