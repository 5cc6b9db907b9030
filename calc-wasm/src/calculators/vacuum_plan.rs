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
use crate::inputs::{Input, Inputs, Kind, form_only};
use crate::limits;
use crate::outcome::{OldTable, Outcome, with_unit};
use crate::plot::{Axis, OldLayer, Plot, spread_log};
use crate::problem::Problem;
use crate::quantity::{Pressure, Temperature, TemperatureDifference, number};

/// Highest pressure of the plan: the open air, mmHg.
const AIR: f64 = 760.0;
/// Bath over pot, least and most, °C (common practice).
const BATH: [f64; 2] = [10.0, 20.0];

pub(super) static CALCULATOR: Calculator = Calculator {
    name: "vacuum-plan",
    title: "Which vacuum",
    question: form_only("Which pump, and what pressure, for this liquid and this condenser?"),
    inputs: &[
        Input::preset(
            "substance",
            "Substance",
            Kind::Entry("substances"),
            "ethyl benzoate",
            "Name, other name or CAS number.",
        ),
        Input::optional(
            "known_temperature",
            "Or an observed boiling temperature",
            Kind::Quantity(&limits::TEMPERATURE),
            "For what is not in the table; it then stands in place of the substance.",
        ),
        Input::preset(
            "known_pressure",
            "Observed at",
            Kind::Quantity(&limits::PRESSURE),
            "1 atm",
            "Counts only with an observed temperature.",
        ),
        Input::preset(
            "kind",
            "Class of compound",
            Kind::Choice(CLASSES),
            "unknown",
            "Counts only with an observed temperature.",
        ),
        Input::preset(
            "highest_pot_temperature",
            "Highest pot temperature",
            Kind::Quantity(&limits::TEMPERATURE),
            "120 °C",
            "Where it begins to decompose, or what the bath allows.",
        ),
        Input::preset(
            "coolant_temperature",
            "Coolant",
            Kind::Quantity(&limits::COOLANT_TEMPERATURE),
            "15 °C",
            "As it enters the condenser.",
        ),
        Input::preset(
            "head_margin",
            "Head above coolant",
            Kind::Quantity(&limits::MARGIN),
            "25 °C",
            "20 to 30 °C is usual.",
        ),
        Input::optional(
            "column_drop",
            "Pressure drop of the column",
            Kind::Quantity(&limits::PRESSURE_DROP),
            "Between pot and head; blank for a plain head.",
        ),
        Input::optional(
            "vacuum_source",
            "Source of vacuum",
            Kind::Entry("vacuum_sources"),
            "The one at hand; blank to have the first that will do.",
        ),
        Input::preset(
            "tap_water_temperature",
            "Tap water",
            Kind::Quantity(&limits::TAP_WATER),
            "15 °C",
            "A water-jet pump cannot go below the vapour pressure of its water.",
        ),
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
                let [cold, hot] = [low, high].map(|p| curve.temperature_unchecked(p));
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
        // A band wider than the pressure itself would lead below nought.
        (self.band(mmhg) / slope.max(1e-9)).min(mmhg * 0.9)
    }
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let (liquid, name) = liquid(inputs)?;
    let celsius = |name| {
        inputs
            .need::<Temperature>(name)
            .map(Temperature::in_celsius)
    };
    let limit = celsius("highest_pot_temperature")?;
    let coolant = celsius("coolant_temperature")?;
    let margin = inputs
        .need::<TemperatureDifference>("head_margin")?
        .in_degrees();
    let drop = inputs
        .quantity::<Pressure>("column_drop")
        .map_or(0.0, Pressure::in_mmhg);
    let window = [
        liquid.pressure(coolant + margin),
        (liquid.pressure(limit) - drop).min(AIR),
    ];
    if limit <= coolant + margin || window[0] >= window[1] {
        return Err(no_window(&liquid, limit, margin, coolant, drop));
    }
    let sources = Source::all(inputs.library(), celsius("tap_water_temperature")?);
    let source = choose(inputs, &sources, window)?;
    let low = window[0].max(source.lowest);
    let high = window[1].min(source.highest);
    let suggested = suggestion(low, high);
    let head = liquid.temperature(suggested);
    let pot = liquid.temperature(suggested + drop);
    let half = liquid.band(suggested);

    outcome.because(why(&liquid, window, source, [coolant + margin, limit]));
    outcome.by_method("Vapour pressures at coolant plus margin and at the pot’s limit, cut by the reach of the source; suggested is the geometric mean, to two digits. Intervals carry the band of the curve; that of the bath, 10 to 20 °C over the pot.");
    outcome.from_source(match &liquid {
            Liquid::Known(curve) => format!("{} ", curve.source()),
            Liquid::Observed(_) => "Hass–Newton form as printed in the CRC Handbook of Chemistry and Physics; factors and bands: this project’s own fit to 412 compounds. ".to_string(),
        }
        );
    outcome.valid_for(match &liquid {
        Liquid::Known(curve) => curve.validity(),
        Liquid::Observed(_) => {
            "1 to 800 mmHg; one pure substance of the class named, no decomposition.".into()
        }
    });
    outcome.in_range(match &liquid {
        Liquid::Known(_) => true,
        Liquid::Observed(_) => low >= 1.0,
    });
    outcome.draw(plot(
        &liquid,
        [low, high],
        suggested,
        head,
        limit,
        coolant + margin,
    ));
    outcome
        .source
        .more("Margins and reach of the sources: common practice, no source.");
    outcome
        .number(
            "suggested_pressure",
            "Set the pressure to",
            suggested,
            "mmHg",
        )
        .digits(2);
    outcome.verdict("vacuum_source", "With", source.record.name());
    let ends = [
        (
            "lowest_pressure",
            "Lowest useful pressure",
            low,
            window[0] >= source.lowest,
        ),
        (
            "highest_pressure",
            "Highest useful pressure",
            high,
            window[1] <= source.highest && window[1] < AIR,
        ),
    ];
    for (name, label, mmhg, of_liquid) in ends {
        let end = outcome.number(name, label, mmhg, "mmHg").digits(2);
        if of_liquid {
            end.give_or_take(liquid.pressure_half(mmhg));
        }
    }
    outcome
        .number("head_temperature", "Head temperature then", head, "°C")
        .give_or_take(half);
    outcome
        .number(
            "bath_temperature",
            "Bath then",
            pot + (BATH[0] + BATH[1]) / 2.0,
            "°C",
        )
        .within(pot + BATH[0], pot + BATH[1]);
    outcome.tables.push((table(&sources, window)).into());
    notes(inputs, &liquid, &name, coolant, limit, outcome);
    cautions(inputs, source, suggested, outcome);
    next(inputs, &liquid, &name, suggested, outcome);
    Ok(())
}

/// The liquid, and what to call it.
fn liquid<'a>(inputs: &Inputs<'a>) -> Result<(Liquid<'a>, String), Problem> {
    if inputs
        .quantity::<Temperature>("known_temperature")
        .is_some()
    {
        let estimate = Estimate::read(inputs)?;
        return Ok((Liquid::Observed(estimate), "the unknown".to_string()));
    }
    let Some(record) = inputs.entry("substance") else {
        return Err(Problem::new("substance", "name a substance"));
    };
    let curve = Curve::of(record, inputs.library())
        .map_err(|message| Problem::new("substance", message))?;
    Ok((Liquid::Known(curve), record.name().to_string()))
}

/// Why no pressure will do, and what would help.
fn no_window(liquid: &Liquid<'_>, limit: f64, margin: f64, coolant: f64, drop: f64) -> Problem {
    let most = (liquid.pressure(limit) - drop).max(0.0);
    let advice = if most > 0.0 {
        format!(
            "coolant at or below {} °C, a receiver in a cold bath on a short path, or a pot that may be hotter",
            number::fixed(liquid.temperature(most) - margin - 1.0, 0)
        )
    } else {
        "a plain head instead of the column, or a pot that may be hotter".to_string()
    };
    Problem::new(
        "highest_pot_temperature",
        format!(
            "no pressure will do: the pot stays below {} °C only under {} mmHg, and the head is {} °C above the coolant only over {} mmHg; use {advice}",
            number::plain(limit, 4),
            number::significant(most, 2),
            number::plain(margin, 3),
            number::significant(liquid.pressure(coolant + margin), 2)
        ),
    )
}

/// The source at hand, or the first that reaches into the window.
fn choose<'s, 'a>(
    inputs: &Inputs<'a>,
    sources: &'s [Source<'a>],
    window: [f64; 2],
) -> Result<&'s Source<'a>, Problem> {
    let suits = |source: &&Source<'_>| source.lowest < window[1] && source.highest > window[0];
    let blame = |message: String| Problem::new("vacuum_source", message);
    let Some(wanted) = inputs.entry("vacuum_source") else {
        return sources.iter().find(suits).ok_or_else(|| {
            blame(format!(
                "no usual source reaches between {} and {} mmHg",
                number::significant(window[0], 2),
                number::significant(window[1], 2)
            ))
        });
    };
    let source = sources
        .iter()
        .find(|source| source.record.name() == wanted.name())
        .ok_or_else(|| blame("not in the table of vacuum sources".to_string()))?;
    if suits(&source) {
        return Ok(source);
    }
    let middle = suggestion(window[0], window[1]);
    let others = that_reach(sources, middle);
    let others = if others.is_empty() {
        "none of the usual sources would".to_string()
    } else {
        format!("this would do: {others}")
    };
    Err(blame(format!(
        "the {} works from {} to {} mmHg here, and the pressure must lie between {} and {} mmHg; {others}",
        wanted.name(),
        number::significant(source.lowest, 2),
        number::plain(source.highest, 3),
        number::significant(window[0], 2),
        number::significant(window[1], 2)
    )))
}

/// The geometric mean to two digits, kept between the ends.
fn suggestion(low: f64, high: f64) -> f64 {
    let mean = libm::sqrt(low * high);
    let unit = libm::pow(10.0, f64::from(number::magnitude(mean) - 1));
    (libm::round(mean / unit) * unit).max(low).min(high)
}

fn why(liquid: &Liquid<'_>, window: [f64; 2], source: &Source<'_>, ends: [f64; 2]) -> String {
    let lower = if source.lowest > window[0] {
        format!(
            "the {} goes no lower than {} mmHg",
            source.record.name(),
            number::significant(source.lowest, 2)
        )
    } else {
        format!(
            "below {} mmHg the head is colder than {} °C and vapour passes the condenser",
            number::significant(window[0], 2),
            number::fixed(ends[0], 0)
        )
    };
    let upper = if window[1] >= AIR || liquid.temperature(AIR) < ends[1] {
        "it boils in the open air before the pot reaches its limit".to_string()
    } else {
        format!(
            "above {} mmHg the pot is hotter than {} °C",
            number::significant(window[1], 2),
            number::fixed(ends[1], 0)
        )
    };
    format!("Two things bound the pressure: {lower}; {upper}.")
}

/// Every source, and whether it suits.
fn table(sources: &[Source<'_>], window: [f64; 2]) -> OldTable {
    let rows = sources
        .iter()
        .map(|source| {
            let suits = if source.lowest >= window[1] {
                "does not go low enough"
            } else if source.highest <= window[0] {
                "too strong"
            } else if source.record.is("needs_trap") {
                "suits, behind a cold trap"
            } else {
                "suits"
            };
            vec![
                source.record.name().to_string(),
                with_unit(number::significant(source.lowest, 2), "mmHg"),
                suits.to_string(),
            ]
        })
        .collect();
    OldTable {
        title: "Sources of vacuum".into(),
        heads: ["Source", "Reaches", "For this"].map(String::from).into(),
        rows,
    }
}

fn notes(
    inputs: &Inputs<'_>,
    liquid: &Liquid<'_>,
    name: &str,
    coolant: f64,
    limit: f64,
    outcome: &mut Outcome,
) {
    if liquid.temperature(AIR) < limit {
        outcome
            .note("It boils below the pot’s limit in the open air already: no vacuum is needed.");
    }
    if matches!(liquid, Liquid::Observed(_)) && inputs.given("substance") {
        outcome.old_note(
            "Worked out from the observed boiling temperature; the substance named was left aside.",
        );
    }
    if matches!(liquid, Liquid::Known(_))
        && let Some(melting) = inputs
            .entry("substance")
            .and_then(|record| record.number("melting_point"))
        && coolant < melting
    {
        outcome.old_care(format!(
            "{name} melts at {} °C and would freeze in this condenser and block it: use warmer water, or an air condenser.",
            number::fixed(melting, 0)
        ));
    }
}

fn cautions(inputs: &Inputs<'_>, source: &Source<'_>, mmhg: f64, outcome: &mut Outcome) {
    if inputs
        .quantity::<Temperature>("known_temperature")
        .is_none()
        && let Some(record) = inputs.entry("substance")
    {
        substance::cautions(record, outcome);
    }
    substance::vacuum(mmhg, outcome);
    outcome.old_care(
        "Anti-bumping granules do not work under vacuum: a capillary bleed or fast stirring.",
    );
    let remark = source.record.text("note");
    if !remark.is_empty() {
        outcome.old_care(remark.to_string());
    }
    outcome.old_care(substance::DEFER);
}

fn next(inputs: &Inputs<'_>, liquid: &Liquid<'_>, name: &str, mmhg: f64, outcome: &mut Outcome) {
    let pressure = with_unit(number::plain(mmhg, 3), "mmHg");
    match liquid {
        Liquid::Known(_) => {
            outcome
                .old_then("Set the bath for it", "bath-setting")
                .old_with("substance", name)
                .old_with("pressure", &pressure);
        }
        Liquid::Observed(estimate) => {
            outcome
                .old_then(
                    "Where does it boil at that pressure?",
                    "boiling-point-estimate",
                )
                .old_with(
                    "known_temperature",
                    &with_unit(number::plain(estimate.observed, 5), "°C"),
                )
                .old_with(
                    "known_pressure",
                    &with_unit(number::plain(estimate.from, 5), "mmHg"),
                )
                .old_with("kind", inputs.choice("kind"))
                .old_with("pressure", &pressure);
        }
    }
    outcome.old_then("Read the gauge", "gauge-reading");
}

/// The curve with the window as a zone, the two temperatures as levels, the suggestion marked.
fn plot(
    liquid: &Liquid<'_>,
    [low, high]: [f64; 2],
    suggested: f64,
    head: f64,
    limit: f64,
    least: f64,
) -> Plot {
    let top = (high * 3.0).min(AIR);
    let points = spread_log(low / 3.0, top, 41)
        .map(|p| (p, liquid.temperature(p)))
        .collect();
    let mut layers = vec![
        OldLayer::Zone {
            label: "pressures that will do".into(),
            from: low,
            to: high,
        },
        OldLayer::Line {
            label: "boiling temperature".into(),
            points,
        },
        OldLayer::Level {
            label: "coolant plus margin".into(),
            y: least,
        },
    ];
    if liquid.temperature(top) > limit - 20.0 {
        layers.push(OldLayer::Level {
            label: "pot’s limit".into(),
            y: limit,
        });
    }
    layers.push(OldLayer::Mark {
        label: with_unit(number::plain(suggested, 2), "mmHg"),
        x: suggested,
        y: head,
        dx: 0.0,
        dy: liquid.band(suggested),
    });
    Plot::old(
        "Boiling temperature against pressure, and what will do",
        format!(
            "From {} to {} mmHg the boiling temperature lies between the coolant plus its margin and the pot’s limit, and the source reaches it.",
            number::significant(low, 2),
            number::significant(high, 2)
        ),
        Axis::old_log("Pressure", "mmHg"),
        Axis::old_linear("Boiling temperature", "°C"),
        layers,
    )
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
