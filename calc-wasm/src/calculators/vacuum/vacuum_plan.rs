//! Which vacuum: between which pressures can it be distilled, and with which pump?
//!
//! The window: the head must be warmer than the coolant by a margin, or vapour passes the
//! condenser, so p is at least p(T_coolant + margin). The pot must stay below its limit, so
//! p + Δp is at most p(T_limit), and no more than one atmosphere. The source of vacuum cuts the
//! window at both ends; a water-jet pump ends some mmHg above the vapour pressure of its water.
//! Suggested: the geometric mean of the ends, to two digits. p(T) from the substance's curve
//! (`equations::vapour`) or from one observation (`equations::class`), which also say where it
//! holds. Margins and reach of the sources: common practice, no source.

use crate::calculators::Calculator;
use crate::equations::class::{CLASSES, Estimate};
use crate::equations::substance;
use crate::equations::vacuum::{Source, that_reach};
use crate::equations::vapour::Curve;
use crate::inputs::{Entry, Field, Inputs, Kind, Word, form_only};
use crate::limits;
use crate::number;
use crate::outcome::{Figure, Outcome};
use crate::plot::spread_log;
use crate::problem::Problem;
use crate::quantity::{Pressure, Temperature, TemperatureDifference};

/// Highest pressure of the plan: the open air, mmHg.
const AIR: f64 = 760.0;
/// Bath over pot, least and most, °C (common practice).
const BATH: [f64; 2] = [10.0, 20.0];

static SUBSTANCE: Field<Entry> = Field::preset(
    "substance",
    "Substance",
    Kind::Entry("substances"),
    "ethyl benzoate",
    "Name, other name or CAS number.",
);

static KNOWN_TEMPERATURE: Field<Option<Temperature>> = Field::optional(
    "known_temperature",
    "Or an observed boiling temperature",
    Kind::Quantity(&limits::TEMPERATURE),
    "For what is not in the table; it then stands in place of the substance.",
);

static KNOWN_PRESSURE: Field<Pressure> = Field::preset(
    "known_pressure",
    "Observed at",
    Kind::Quantity(&limits::PRESSURE),
    "1 atm",
    "Counts only with an observed temperature.",
);

static KIND: Field<Word> = Field::preset(
    "kind",
    "Class of compound",
    Kind::Choice(CLASSES),
    "unknown",
    "Counts only with an observed temperature.",
);

static HIGHEST_POT_TEMPERATURE: Field<Temperature> = Field::preset(
    "highest_pot_temperature",
    "Highest pot temperature",
    Kind::Quantity(&limits::TEMPERATURE),
    "120 °C",
    "Where it begins to decompose, or what the bath allows.",
);

static COOLANT_TEMPERATURE: Field<Temperature> = Field::preset(
    "coolant_temperature",
    "Coolant",
    Kind::Quantity(&limits::COOLANT_TEMPERATURE),
    "15 °C",
    "As it enters the condenser.",
);

static HEAD_MARGIN: Field<TemperatureDifference> = Field::preset(
    "head_margin",
    "Head above coolant",
    Kind::Quantity(&limits::MARGIN),
    "25 °C",
    "20 to 30 °C is usual.",
);

static COLUMN_DROP: Field<Option<Pressure>> = Field::optional(
    "column_drop",
    "Pressure drop of the column",
    Kind::Quantity(&limits::PRESSURE_DROP),
    "Between pot and head; blank for a plain head.",
);

static VACUUM_SOURCE: Field<Entry> = Field::optional(
    "vacuum_source",
    "Source of vacuum",
    Kind::Entry("vacuum_sources"),
    "The one at hand; blank to have the first that will do.",
);

static TAP_WATER_TEMPERATURE: Field<Temperature> = Field::preset(
    "tap_water_temperature",
    "Tap water",
    Kind::Quantity(&limits::TAP_WATER),
    "15 °C",
    "A water-jet pump cannot go below the vapour pressure of its water.",
);

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "vacuum-plan",
    title: "Which vacuum",
    question: form_only("Which pump, and what pressure, for this liquid and this condenser?"),
    inputs: &[
        &SUBSTANCE.input,
        &KNOWN_TEMPERATURE.input,
        &KNOWN_PRESSURE.input,
        &KIND.input,
        &HIGHEST_POT_TEMPERATURE.input,
        &COOLANT_TEMPERATURE.input,
        &HEAD_MARGIN.input,
        &COLUMN_DROP.input,
        &VACUUM_SOURCE.input,
        &TAP_WATER_TEMPERATURE.input,
    ],
    evaluate,
};

/// The liquid: known by its curve, or estimated from one observation.
enum Liquid<'a> {
    Known(Curve<'a>),
    Observed(Estimate),
}

impl Liquid<'_> {
    fn temperature(&self, mmhg: f64) -> f64 {
        match self {
            Liquid::Known(curve) => curve.temperature_unchecked(mmhg),
            Liquid::Observed(estimate) => estimate.temperature(mmhg),
        }
    }

    /// Vapour pressure at `celsius`, held inside what the data allow.
    fn pressure(&self, celsius: f64) -> f64 {
        match self {
            Liquid::Known(curve) => {
                let [low, high] = curve.pressures();
                let cold = curve.temperature_unchecked(low);
                let hot = curve.temperature_unchecked(high);
                curve.pressure_unchecked(celsius.max(cold).min(hot))
            }
            Liquid::Observed(estimate) => estimate.pressure(celsius).clamp(1e-3, AIR),
        }
    }

    /// Half-width of a boiling temperature at `mmhg`, °C.
    fn band(&self, mmhg: f64) -> f64 {
        match self {
            Liquid::Known(curve) => curve.band(mmhg),
            Liquid::Observed(estimate) => estimate.band(mmhg),
        }
    }

    /// Half-width of the pressure that belongs to a temperature near `mmhg`, mmHg.
    fn pressure_half(&self, mmhg: f64) -> f64 {
        let step = mmhg * 0.01;
        let slope = (self.temperature(mmhg + step) - self.temperature(mmhg)) / step;
        self.band(mmhg) / slope.max(1e-9)
    }
}

/// What bounds the pressure, and what comes of it.
struct Plan<'s, 'a> {
    liquid: &'s Liquid<'a>,
    source: &'s Source<'a>,
    /// The head as warm as the coolant asks for at least, and the pot at its limit, °C.
    bounds: [f64; 2],
    /// The pressures that belong to these, mmHg.
    window: [f64; 2],
    /// The same, cut by what the source reaches.
    ends: [f64; 2],
    suggested: f64,
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let liquid = liquid(inputs)?;
    let celsius = |field: &Field<Temperature>| inputs.get(field).in_celsius();
    let limit = celsius(&HIGHEST_POT_TEMPERATURE);
    let coolant = celsius(&COOLANT_TEMPERATURE);
    let margin = inputs.get(&HEAD_MARGIN).in_degrees();
    let drop = inputs.quantity(&COLUMN_DROP).map_or(0.0, Pressure::in_mmhg);
    let least = coolant + margin;
    let window = [
        liquid.pressure(least),
        (liquid.pressure(limit) - drop).min(AIR),
    ];
    if limit <= least || window[0] >= window[1] {
        return Err(no_window(&liquid, limit, margin, coolant, drop));
    }
    let sources = Source::all(inputs.library(), celsius(&TAP_WATER_TEMPERATURE));
    let source = choose(inputs, &sources, window)?;
    let ends = [window[0].max(source.lowest), window[1].min(source.highest)];
    let plan = Plan {
        liquid: &liquid,
        source,
        bounds: [least, limit],
        window,
        ends,
        suggested: suggestion(ends),
    };
    why(&plan, outcome);
    grounds(&plan, outcome);
    plot(&plan, outcome);
    figures(&plan, drop, outcome);
    table(&sources, window, outcome);
    notes(inputs, &plan, coolant, outcome);
    cautions(&plan, outcome);
    next(&plan, outcome);
    Ok(())
}

/// The liquid: from an observation where there is one, else from its curve.
fn liquid<'a>(inputs: &Inputs<'a>) -> Result<Liquid<'a>, Problem> {
    Ok(match inputs.measured(&KNOWN_TEMPERATURE) {
        Some(known) => Liquid::Observed(Estimate::of(
            known,
            inputs.get_measured(&KNOWN_PRESSURE),
            inputs.choice(&KIND),
        )),
        None => Liquid::Known(Curve::read(inputs, &SUBSTANCE)?),
    })
}

/// Why no pressure will do, and what would help.
fn no_window(liquid: &Liquid<'_>, limit: f64, margin: f64, coolant: f64, drop: f64) -> Problem {
    let most = (liquid.pressure(limit) - drop).max(0.0);
    let problem = Problem::new(HIGHEST_POT_TEMPERATURE.input.name, "no pressure will do: the pot stays below {~4} °C only under {2} mmHg, and the head is {~3} °C above the coolant only over {2} mmHg; use ")
        .number(limit)
        .number(most)
        .number(margin)
        .number(liquid.pressure(coolant + margin));
    if most > 0.0 {
        problem
            .more("coolant at or below {.0} °C, a receiver in a cold bath on a short path, or a pot that may be hotter")
            .number(liquid.temperature(most) - margin - 1.0)
    } else {
        problem.more("a plain head instead of the column, or a pot that may be hotter")
    }
}

/// The source at hand, or the first that reaches into the window.
fn choose<'s, 'a>(
    inputs: &Inputs<'a>,
    sources: &'s [Source<'a>],
    [low, high]: [f64; 2],
) -> Result<&'s Source<'a>, Problem> {
    let wanted = inputs.entry(&VACUUM_SOURCE).map(|wanted| wanted.name());
    let mut known = None;
    for source in sources {
        if wanted.is_some_and(|wanted| wanted != source.record.name()) {
            continue;
        }
        if source.lowest < high && source.highest > low {
            return Ok(source);
        }
        known = Some(source);
    }
    let refuse = |template| Problem::new(VACUUM_SOURCE.input.name, template);
    let (Some(wanted), Some(source)) = (wanted, known) else {
        return Err(match wanted {
            Some(_) => refuse("not in the table of vacuum sources"),
            None => refuse("no usual source reaches between {2} and {2} mmHg")
                .number(low)
                .number(high),
        });
    };
    let problem = refuse("the {} works from {2} to {~3} mmHg here, and the pressure must lie between {2} and {2} mmHg; ")
        .text(wanted)
        .number(source.lowest)
        .number(source.highest)
        .number(low)
        .number(high);
    let others = that_reach(sources, suggestion([low, high]));
    Err(if others.is_empty() {
        problem.more("none of the usual sources would")
    } else {
        problem.more("this would do: {}").text(&others)
    })
}

/// The geometric mean to two digits, kept between the ends.
fn suggestion([low, high]: [f64; 2]) -> f64 {
    let mean = f64::sqrt(low * high);
    let unit = libm::pow(10.0, f64::from(number::magnitude(mean) - 1));
    (f64::round(mean / unit) * unit).max(low).min(high)
}

/// What bounds the pressure below and above.
fn why(plan: &Plan<'_, '_>, outcome: &mut Outcome) {
    let [low, high] = plan.window;
    let [least, limit] = plan.bounds;
    let why = outcome.because("Two things bound the pressure: ");
    if plan.source.lowest > low {
        why.more("the {} goes no lower than {2} mmHg; ")
            .text(plan.source.record.name())
            .number(plan.source.lowest);
    } else {
        why.more(
            "below {2} mmHg the head is colder than {.0} °C and vapour passes the condenser; ",
        )
        .number(low)
        .number(least);
    }
    if high >= AIR || plan.liquid.temperature(AIR) < limit {
        why.more("it boils in the open air before the pot reaches its limit.");
    } else {
        why.more("above {2} mmHg the pot is hotter than {.0} °C.")
            .number(high)
            .number(limit);
    }
}

/// How it was worked out, from what, and where that holds.
fn grounds(plan: &Plan<'_, '_>, outcome: &mut Outcome) {
    outcome.by_method("Vapour pressures at coolant plus margin and at the pot’s limit, cut by the reach of the source; suggested is the geometric mean, to two digits. Intervals carry the band of the curve; that of the bath, 10 to 20 °C over the pot.");
    match plan.liquid {
        Liquid::Known(curve) => curve.vouch(outcome),
        Liquid::Observed(_) => {
            outcome.in_range(plan.ends[0] >= 1.0);
            outcome.valid_for(
                "1 to 800 mmHg; one pure substance of the class named, no decomposition.",
            );
            outcome.from_source("Hass–Newton form as printed in the CRC Handbook of Chemistry and Physics; factors and bands: this project’s own fit to 412 compounds.");
        }
    }
    outcome
        .source
        .more(" Margins and reach of the sources: common practice, no source.");
}

fn figures(plan: &Plan<'_, '_>, drop: f64, outcome: &mut Outcome) {
    let Plan {
        liquid,
        source,
        suggested,
        ..
    } = *plan;
    let ([low, high], [from, to]) = (plan.window, plan.ends);
    outcome
        .number(
            "suggested_pressure",
            "Set the pressure to",
            suggested,
            "mmHg",
        )
        .digits(2);
    outcome.verdict("vacuum_source", "With", source.record.name());
    // An end that the liquid sets is as doubtful as its curve; what the source reaches is given.
    let mut end = |name, label, mmhg, of_liquid: bool| {
        let end = outcome.number(name, label, mmhg, "mmHg").digits(2);
        if of_liquid {
            end.give_or_take(liquid.pressure_half(mmhg));
        }
    };
    end(
        "lowest_pressure",
        "Lowest useful pressure",
        from,
        low >= source.lowest,
    );
    end(
        "highest_pressure",
        "Highest useful pressure",
        to,
        high <= source.highest && high < AIR,
    );
    outcome
        .number(
            "head_temperature",
            "Head temperature then",
            liquid.temperature(suggested),
            "°C",
        )
        .give_or_take(liquid.band(suggested));
    let pot = liquid.temperature(suggested + drop);
    outcome
        .number(
            "bath_temperature",
            "Bath then",
            pot + (BATH[0] + BATH[1]) / 2.0,
            "°C",
        )
        .within(pot + BATH[0], pot + BATH[1]);
}

/// Every source, and whether it suits.
fn table(sources: &[Source<'_>], [low, high]: [f64; 2], outcome: &mut Outcome) {
    let table = outcome.table("Sources of vacuum", "Source\tReaches\tFor this");
    for source in sources {
        table
            .row("{}\t{2} mmHg\t{}")
            .text(source.record.name())
            .number(source.lowest)
            .text(if source.lowest >= high {
                "does not go low enough"
            } else if source.highest <= low {
                "too strong"
            } else if source.record.is("needs_trap") {
                "suits, behind a cold trap"
            } else {
                "suits"
            });
    }
}

fn notes(inputs: &Inputs<'_>, plan: &Plan<'_, '_>, coolant: f64, outcome: &mut Outcome) {
    if outcome
        .figure("bath_temperature")
        .and_then(Figure::number)
        .is_some_and(|bath| bath > plan.bounds[1])
    {
        outcome
            .note("The bath is hotter than the {.0} °C that the pot may reach, and must be: that limit is the liquid’s, which boils cooler. Near dryness the pot takes the bath’s temperature, so stop before.")
            .number(plan.bounds[1]);
    }
    if plan.liquid.temperature(AIR) < plan.bounds[1] {
        outcome
            .note("It boils below the pot’s limit in the open air already: no vacuum is needed.");
    }
    match plan.liquid {
        Liquid::Observed(_) => {
            if inputs.given(&SUBSTANCE) {
                outcome.note("Worked out from the observed boiling temperature; the substance named was left aside.");
            }
        }
        Liquid::Known(curve) => {
            if let Some(melting) = curve.record.number("melting_point")
                && coolant < melting
            {
                outcome
                    .care("{} melts at {.0} °C and would freeze in this condenser and block it: use warmer water, or an air condenser.")
                    .text(curve.name())
                    .number(melting);
            }
        }
    }
}

fn cautions(plan: &Plan<'_, '_>, outcome: &mut Outcome) {
    if let Liquid::Known(curve) = plan.liquid {
        substance::cautions(curve.record, outcome);
    }
    substance::vacuum(plan.suggested, outcome);
    outcome.care(
        "Anti-bumping granules do not work under vacuum: a capillary bleed or fast stirring.",
    );
    let remark = plan.source.record.text("note");
    if !remark.is_empty() {
        outcome.care("{}").text(remark);
    }
    outcome.care(substance::DEFER);
}

fn next(plan: &Plan<'_, '_>, outcome: &mut Outcome) {
    let next = match plan.liquid {
        Liquid::Known(curve) => {
            substance::then(curve.record, "Set the bath for it", "bath-setting", outcome)
        }
        Liquid::Observed(estimate) => {
            let next = outcome.then(
                "Where does it boil at that pressure?",
                "boiling-point-estimate",
            );
            estimate.carry(next);
            next
        }
    };
    next.with("pressure", "{~3} mmHg").number(plan.suggested);
    outcome.then("Read the gauge", "gauge-reading");
}

/// The curve with the window as a zone, the two temperatures as levels, the suggestion marked.
fn plot(plan: &Plan<'_, '_>, outcome: &mut Outcome) {
    let Plan {
        liquid, suggested, ..
    } = *plan;
    let ([low, high], [least, limit]) = (plan.ends, plan.bounds);
    let plot = outcome.plot(
        "Boiling temperature against pressure, and what will do",
        "From {2} to {2} mmHg the boiling temperature lies between the coolant plus its margin and the pot’s limit, and the source reaches it.",
    );
    plot.description.number(low).number(high);
    plot.x.log("Pressure", "mmHg");
    plot.y.linear("Boiling temperature", "°C");
    plot.zone("pressures that will do", low, high);
    let top = (high * 3.0).min(AIR);
    plot.line("boiling temperature")
        .follow(spread_log(low / 3.0, top, 41), &|p| liquid.temperature(p));
    plot.level("coolant plus margin", least);
    if liquid.temperature(top) > limit - 20.0 {
        plot.level("pot’s limit", limit);
    }
    plot.mark("{~2} mmHg", suggested, liquid.temperature(suggested))
        .number(suggested)
        .error(0.0, liquid.band(suggested));
}

#[cfg(test)]
mod tests {
    use super::*;

    const TABLES: &str = "[substances]\nname\tmelting_point\tvapour_pressure\tvapour_pressure_range\n\
        water\t0\t8.07276 1732.063 233.665\t0.01 101.42\n\n\
        [vacuum_sources]\nname\tlowest\thighest\tfollows_water\tabove_water\n\
        water-jet pump\t8\t760\ttrue\t5\noil pump\t0.05\t50\tfalse\t";

    fn run(pairs: &[(&str, &str)]) -> Result<Outcome, Vec<Problem>> {
        let mut given = vec![("substance", "water")];
        given.extend(pairs);
        CALCULATOR.run_on(TABLES, &given)
    }

    /// Water of 15 °C has 12.8 mmHg (IAPWS-95); five more is common practice.
    #[test]
    fn tap_water_bounds_the_water_jet() {
        let outcome = run(&[("coolant_temperature", "0 °C"), ("head_margin", "5 °C")]).unwrap();
        let low = outcome.figure("lowest_pressure").unwrap().number().unwrap();
        assert!((low - 17.8).abs() < 0.1, "{low}");
    }

    #[test]
    fn says_when_nothing_will_do() {
        let cold = run(&[("highest_pot_temperature", "35 °C")]).unwrap_err();
        assert!(
            cold.iter()
                .any(|p| p.message.contains("coolant at or below"))
        );
        let strong = run(&[("vacuum_source", "oil pump")]).unwrap_err();
        assert!(
            strong.iter().any(|p| p.input == "vacuum_source"),
            "{strong:?}"
        );
    }
}
