//! What do I set the bath to, and with what in it?
//!
//! Bath = boiling temperature in the pot + margin. The pot boils at the head's pressure plus the
//! pressure drop of the column (`equations::vapour`); the margin is what the column usually needs
//! (table of columns; common practice). The fluid comes from the table of bath fluids with its
//! limit. Warm-up t = (Σ m·cp·ΔT)/(η·P) over liquid and bath; boil-up F = η·P·M/(ΔHvap·ρ)
//! (`equations::heating`).
//! It holds for a pure liquid, a stirred bath up to the level of the liquid, and steady heating.

use crate::calculators::Calculator;
use crate::equations::heating::{self, EFFICIENCY, POWER};
use crate::equations::substance;
use crate::equations::vapour::Curve;
use crate::inputs::{Input, Inputs, Kind, form_only};
use crate::library::Record;
use crate::limits;
use crate::outcome::Outcome;
use crate::plot::spread_log;
use crate::problem::Problem;
use crate::quantity::number;
use crate::quantity::{Measured, Pressure, Temperature, TemperatureDifference, Volume};

/// Nearer to a fluid's limit than this gets a warning, °C (common practice).
const NEAR_LIMIT: f64 = 20.0;
/// A water condenser may crack above this vapour temperature; air cools from here on, °C
/// (common practice).
const WATER_CONDENSER: [f64; 2] = [140.0, 150.0];
/// A bath this near to autoignition is a danger, °C (common practice).
const NEAR_AUTOIGNITION: f64 = 50.0;

pub(super) static CALCULATOR: Calculator = Calculator {
    name: "bath-setting",
    title: "Bath setting",
    question: form_only("What do I set the bath to, and with what in it?"),
    inputs: &[
        Input::preset(
            "substance",
            "What is distilled",
            Kind::Entry("substances"),
            "toluene",
            "Name, other name or CAS number.",
        ),
        Input::preset(
            "pressure",
            "Pressure",
            Kind::Quantity(&limits::PRESSURE),
            "760 mmHg",
            "At the still head; add the reading error, as in 15 ± 1 mmHg.",
        ),
        Input::preset(
            "column",
            "Head or column",
            Kind::Entry("columns"),
            "plain head",
            "It costs pressure and asks for a hotter bath.",
        ),
        Input::optional(
            "column_drop",
            "Pressure drop of the column",
            Kind::Quantity(&limits::PRESSURE_DROP),
            "Blank: that of 300 mm at a gentle rate, from the table.",
        ),
        Input::optional(
            "margin",
            "Bath above pot",
            Kind::Quantity(&limits::MARGIN),
            "Blank: what the column usually needs.",
        ),
        Input::preset(
            "fluid",
            "In the bath",
            Kind::Entry("bath_fluids"),
            "silicone oil",
            "The flash point on its data sheet overrides the limit given here.",
        ),
        Input::preset(
            "volume",
            "Liquid in the flask",
            Kind::Quantity(&limits::VOLUME),
            "100 mL",
            "A flask is half full at most.",
        ),
        Input::preset(
            "bath_volume",
            "Bath",
            Kind::Quantity(&limits::VOLUME),
            "300 mL",
            "It is warmed as well.",
        ),
        Input::preset(
            "start_temperature",
            "Starts at",
            Kind::Quantity(&limits::TEMPERATURE),
            "20 °C",
            "Liquid and bath.",
        ),
        POWER,
        EFFICIENCY,
    ],
    evaluate,
};

/// The temperatures along the apparatus, °C.
struct Temperatures {
    head: f64,
    pot: f64,
    /// Half-width of the pot's interval.
    half: f64,
    /// Bath above pot, from and to.
    margin: [f64; 2],
}

impl Temperatures {
    fn bath(&self) -> f64 {
        self.pot + (self.margin[0] + self.margin[1]) / 2.0
    }
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let entry = |name| {
        inputs
            .entry(name)
            .ok_or_else(|| Problem::new(name, "give a name"))
    };
    let curve = Curve::read(inputs, "substance")?;
    let (substance, column, fluid) = (curve.record, entry("column")?, entry("fluid")?);
    let pressure = inputs.get_measured::<Pressure>("pressure");
    let at = temperatures(inputs, &curve, pressure, column)?;
    check_fluid(inputs, fluid, at.bath())?;

    let bath = at.bath();
    let limit = fluid.number("highest").unwrap_or(f64::INFINITY);
    let why = outcome.because("The pot boils at {.0} °C and takes up heat only from something hotter: {.0} to {.0} °C hotter for this column. ");
    why.number(at.pot).number(at.margin[0]).number(at.margin[1]);
    if limit.is_finite() {
        why.more("This fluid has {.0} °C to spare.")
            .number(limit - bath);
    }
    outcome.by_method("Antoine equation at the pot’s pressure, plus the margin of the column; the interval runs from the least margin to the greatest and includes sources and reading error. Warm-up and boil-up by conservation of energy, losses in the share of heat that arrives.");
    curve.vouch(outcome);
    outcome.source.more(
        " Margins, pressure drops, bath limits and the condenser rule: common practice, no source.",
    );
    plot(&curve, &at, pressure.value.in_mmhg(), limit, outcome);
    fluids(inputs, bath, outcome);
    figures(inputs, substance, fluid, &at, outcome)?;
    cautions(substance, fluid, &at, pressure.value, outcome);
    let next = outcome.then("Which pump and pressure?", "vacuum-plan");
    next.with("substance", "{}").text(substance.name());
    next.with("highest_pot_temperature", "{.0} °C")
        .number(at.pot + 10.0);
    let next = outcome.then("How the boiling point moves", "boiling-point");
    next.with("substance", "{}").text(substance.name());
    next.with("pressure", "{~5} mmHg")
        .number(pressure.value.in_mmhg());
    Ok(())
}

fn temperatures(
    inputs: &Inputs<'_>,
    curve: &Curve<'_>,
    pressure: Measured<Pressure>,
    column: Record<'_>,
) -> Result<Temperatures, Problem> {
    let drop = inputs
        .quantity::<Pressure>("column_drop")
        .map(Pressure::in_mmhg)
        .or_else(|| column.number("pressure_drop"))
        .unwrap_or(0.0);
    let pot = curve.boiling(
        "pressure",
        Measured {
            value: Pressure::mmhg(pressure.value.in_mmhg() + drop),
            error: pressure.error,
        },
    )?;
    Ok(Temperatures {
        head: curve
            .boiling("pressure", pressure)?
            .temperature
            .in_celsius(),
        pot: pot.temperature.in_celsius(),
        half: pot.half,
        margin: match inputs.quantity::<TemperatureDifference>("margin") {
            Some(margin) => [margin.in_degrees(); 2],
            None => [
                column.number("margin_low").unwrap_or(10.0),
                column.number("margin_high").unwrap_or(20.0),
            ],
        },
    })
}

/// Whether a fluid may stand at `bath` °C.
fn serves(fluid: Record<'_>, bath: f64) -> bool {
    fluid
        .number("highest")
        .is_none_or(|highest| bath <= highest)
        && fluid.number("lowest").is_none_or(|lowest| bath >= lowest)
}

/// Refuses a fluid that cannot stand at `bath` °C, and names those that can.
fn check_fluid(inputs: &Inputs<'_>, fluid: Record<'_>, bath: f64) -> Result<(), Problem> {
    if serves(fluid, bath) {
        return Ok(());
    }
    let others: Vec<&str> = inputs
        .library()
        .rows("bath_fluids")
        .filter(|other| serves(*other, bath))
        .map(|other| other.name())
        .collect();
    let problem = Problem::new(
        "fluid",
        "the bath must stand at {.0} °C, but {} serves from {} to {} °C; ",
    )
    .number(bath)
    .text(fluid.name())
    .text(fluid.text("lowest"))
    .text(fluid.text("highest"));
    Err(if others.is_empty() {
        problem.more("no fluid of the table does; a lower pressure or a heating mantle may")
    } else {
        problem.more("these do: {}").text(&others.join("; "))
    })
}

fn figures(
    inputs: &Inputs<'_>,
    substance: Record<'_>,
    fluid: Record<'_>,
    at: &Temperatures,
    outcome: &mut Outcome,
) -> Result<(), Problem> {
    let watts = heating::watts(inputs)?;
    let volume = inputs.get::<Volume>("volume").in_millilitres();
    let start = inputs.get::<Temperature>("start_temperature").in_celsius();
    let rise = |end: f64| (end - start).max(0.0);
    outcome
        .number("bath_temperature", "Bath", at.bath(), "°C")
        .within(
            at.pot + at.margin[0] - at.half,
            at.pot + at.margin[1] + at.half,
        );
    outcome
        .number("pot_temperature", "Boils in the pot at", at.pot, "°C")
        .give_or_take(at.half);
    outcome
        .number("head_temperature", "Vapour in the head", at.head, "°C")
        .give_or_take(at.half);
    let heat = |row: Record<'_>, volume: f64| {
        Some(row.number("heat_capacity")? * row.number("density")? * volume)
    };
    let bath_volume = inputs.get::<Volume>("bath_volume").in_millilitres();
    match (heat(substance, volume), heat(fluid, bath_volume)) {
        (Some(liquid), Some(bath)) => {
            outcome
                .number(
                    "warm_up_time",
                    "Until it boils",
                    heating::warm_up(&[(liquid, rise(at.pot)), (bath, rise(at.bath()))], watts),
                    "min",
                )
                .digits(2);
        }
        _ => {
            outcome.note(
                "The warm-up time is not given: a heat capacity or density is not known here.",
            );
        }
    }
    match heating::boil_up(substance, watts) {
        Some(rate) => {
            outcome
                .number("boil_up_rate", "Boils over", rate, "mL/min")
                .digits(2);
            outcome
                .number("distilling_time", "To distil it all", volume / rate, "min")
                .digits(2);
        }
        None => {
            outcome.note("The boil-up rate is not given: a heat of vaporisation, molar mass or density is not known here.");
        }
    }
    outcome.verdict(
        "condenser",
        "Condenser",
        if at.head < WATER_CONDENSER[0] {
            "water"
        } else if at.head > WATER_CONDENSER[1] {
            "air"
        } else {
            "air, or warm water running slowly"
        },
    );
    Ok(())
}

fn cautions(
    substance: Record<'_>,
    fluid: Record<'_>,
    at: &Temperatures,
    pressure: Pressure,
    outcome: &mut Outcome,
) {
    let bath = at.bath();
    substance::cautions(substance, outcome);
    if let Some(autoignition) = substance.number("autoignition")
        && bath > autoignition - NEAR_AUTOIGNITION
    {
        outcome
            .danger("{} catches fire by itself at {.0} °C, and the bath stands at {.0} °C: lower the pressure instead of heating so far.")
            .text(substance.name())
            .number(autoignition)
            .number(bath);
    }
    if let Some(flash) = substance.number("flash_point")
        && bath > flash
    {
        outcome
            .care("The bath is above the flash point of {} ({.0} °C): vapour that escapes, or a flask that breaks, can be lit by any flame or spark.")
            .text(substance.name())
            .number(flash);
    }
    if let Some(limit) = fluid.number("highest")
        && bath > limit - NEAR_LIMIT
    {
        outcome
            .care("Only {.0} °C below the limit of {}, {.0} °C: watch the bath’s own thermometer, and do not leave it.")
            .number(limit - bath)
            .text(fluid.name())
            .number(limit);
    }
    for remark in ["flash_note", "note"] {
        let text = fluid.text(remark);
        if !text.is_empty() && (remark == "note" || fluid.is("flammable")) {
            outcome.care("{}: {}").text(fluid.name()).text(text);
        }
    }
    substance::vacuum(pressure.in_mmhg(), outcome);
    if at.head > WATER_CONDENSER[0] {
        outcome.care(
            "Cold water may crack a condenser that such hot vapour enters: air cools enough.",
        );
    }
    outcome.care("Never to dryness, and never a closed system; the bath on a jack, so that it can be lowered at once.");
    outcome.care(substance::DEFER);
}

/// Every fluid of the table, and whether it does here.
fn fluids(inputs: &Inputs<'_>, bath: f64, outcome: &mut Outcome) {
    let table = outcome.table("Which fluid does at {.0} °C", "Fluid\tFor\tHere");
    table.title.number(bath);
    for fluid in inputs.library().rows("bath_fluids") {
        let room = fluid
            .number("highest")
            .map_or(f64::INFINITY, |highest| highest - bath);
        let verdict = match serves(fluid, bath) {
            true if room < NEAR_LIMIT => "near its limit",
            true => "does",
            false if room < 0.0 => "too hot for it",
            false => "too cold for it",
        };
        let end = |column| match fluid.number(column) {
            Some(end) => number::plain(end, 4),
            None => String::new(),
        };
        table
            .row("{}\t{} to {} °C\t{}")
            .text(fluid.name())
            .text(&end("lowest"))
            .text(&end("highest"))
            .text(verdict);
    }
}

/// Bath over pressure, the fluid's limit across it, the working point marked.
fn plot(curve: &Curve<'_>, at: &Temperatures, mmhg: f64, limit: f64, outcome: &mut Outcome) {
    let bath = at.bath();
    let plot = outcome.plot(
        "Bath for {} against pressure",
        "The bath stands above the boiling curve by the column’s margin, at {.0} °C here; a lower pressure brings both down.",
    );
    plot.title.text(curve.name());
    plot.description.number(bath);
    plot.x.log("Pressure in the pot", "mmHg");
    plot.y.linear("Temperature", "°C");
    let [low, high] = curve.pressures();
    let pressures = spread_log(low.max(0.5), high, 31);
    let band = plot.band("bath");
    for p in pressures.clone() {
        let t = curve.temperature_unchecked(p);
        band.three(p, t + at.margin[0], t + at.margin[1]);
    }
    let boiling = plot.line("boiling in the pot");
    for p in pressures {
        boiling.point(p, curve.temperature_unchecked(p));
    }
    if limit.is_finite() {
        plot.level("limit of the fluid", limit);
    }
    plot.mark("{.0} °C", mmhg, bath)
        .number(bath)
        .error(0.0, (at.margin[1] - at.margin[0]) / 2.0 + at.half);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(pairs: &[(&str, &str)]) -> Result<Outcome, Vec<Problem>> {
        // A curve near toluene’s, rounded (from memory): it boils at about 111 °C.
        let tables = "[substances]\nname\tvapour_pressure\tvapour_pressure_range\nrounded\t6.955 1344.8 219.48\t0 140\n\
             [columns]\nname\tmargin_low\tmargin_high\nplain head\t10\t20\n\
             [bath_fluids]\nname\tlowest\thighest\nwater\t5\t90\nsilicone oil\t0\t200\noil\t10\t140\n";
        let mut given = vec![("substance", "rounded")];
        given.extend(pairs);
        CALCULATOR.run_on(tables, &given)
    }

    #[test]
    fn refuses_a_fluid_beyond_its_limit_and_names_others() {
        let problems = run(&[("fluid", "water")]).unwrap_err();
        let [problem] = &problems[..] else {
            panic!("{problems:?}")
        };
        assert_eq!(problem.input, "fluid");
        assert!(
            problem.message.contains("these do: silicone oil; oil"),
            "{}",
            problem.message
        );
    }

    #[test]
    fn warns_near_the_limit_only() {
        let warns = |fluid| {
            let outcome = run(&[("fluid", fluid)]).unwrap();
            outcome
                .cautions
                .iter()
                .any(|c| c.text.contains("below the limit"))
        };
        assert!(warns("oil"));
        assert!(!warns("silicone oil"));
    }
}
