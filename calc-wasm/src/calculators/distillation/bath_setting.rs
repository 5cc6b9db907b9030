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
use crate::inputs::{Entry, Field, Inputs, Kind, form_only};
use crate::library::{Library, Record};
use crate::limits;
use crate::outcome::Outcome;
use crate::plot::spread_log;
use crate::problem::Problem;
use crate::quantity::{Measured, Pressure, Temperature, TemperatureDifference, Volume};

/// Bath over pot, least and most, where the table says nothing of the column, °C (common practice).
const USUAL_MARGIN: [f64; 2] = [10.0, 20.0];
/// Nearer to a fluid's limit than this gets a warning, °C (common practice).
const NEAR_LIMIT: f64 = 20.0;
/// Vapour from which on a condenser cooled by water may crack, and beyond which air alone cools
/// it, °C (common practice).
const WATER_CONDENSER: [f64; 2] = [140.0, 150.0];
/// A bath this near to autoignition is a danger, °C (common practice).
const NEAR_AUTOIGNITION: f64 = 50.0;

static SUBSTANCE: Field<Entry> = Field::preset(
    "substance",
    "What is distilled",
    Kind::Entry("substances"),
    "toluene",
    "Name, other name or CAS number.",
);

static PRESSURE: Field<Pressure> = Field::preset(
    "pressure",
    "Pressure",
    Kind::Quantity(&limits::PRESSURE),
    "760 mmHg",
    "At the still head; add the reading error, as in 15 ± 1 mmHg.",
);

static COLUMN: Field<Entry> = Field::preset(
    "column",
    "Head or column",
    Kind::Entry("columns"),
    "plain head",
    "It costs pressure and asks for a hotter bath.",
);

static COLUMN_DROP: Field<Option<Pressure>> = Field::optional(
    "column_drop",
    "Pressure drop of the column",
    Kind::Quantity(&limits::PRESSURE_DROP),
    "Blank: that of 300 mm at a gentle rate, from the table.",
);

static MARGIN: Field<Option<TemperatureDifference>> = Field::optional(
    "margin",
    "Bath above pot",
    Kind::Quantity(&limits::MARGIN),
    "Blank: what the column usually needs.",
);

static FLUID: Field<Entry> = Field::preset(
    "fluid",
    "In the bath",
    Kind::Entry("bath_fluids"),
    "silicone oil",
    "The flash point on its data sheet overrides the limit given here.",
);

static VOLUME: Field<Volume> = Field::preset(
    "volume",
    "Liquid in the flask",
    Kind::Quantity(&limits::VOLUME),
    "100 mL",
    "A flask is half full at most.",
);

static BATH_VOLUME: Field<Volume> = Field::preset(
    "bath_volume",
    "Bath",
    Kind::Quantity(&limits::VOLUME),
    "300 mL",
    "It is warmed as well.",
);

static START_TEMPERATURE: Field<Temperature> = Field::preset(
    "start_temperature",
    "Starts at",
    Kind::Quantity(&limits::TEMPERATURE),
    "20 °C",
    "Liquid and bath.",
);

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "bath-setting",
    title: "Bath setting",
    question: form_only("What do I set the bath to, and with what in it?"),
    inputs: &[
        &SUBSTANCE.input,
        &PRESSURE.input,
        &COLUMN.input,
        &COLUMN_DROP.input,
        &MARGIN.input,
        &FLUID.input,
        &VOLUME.input,
        &BATH_VOLUME.input,
        &START_TEMPERATURE.input,
        &POWER.input,
        &EFFICIENCY.input,
    ],
    evaluate,
};

/// Pressure and temperatures along the apparatus.
struct Setting {
    /// Pressure at the head, mmHg.
    mmhg: f64,
    /// Pressure in the pot, mmHg.
    in_pot: f64,
    /// Vapour in the head, °C.
    head: f64,
    /// Liquid in the pot, °C.
    pot: f64,
    /// Half-width of both intervals, °C.
    half: f64,
    /// Bath above pot, least and most, °C.
    margin: [f64; 2],
}

impl Setting {
    /// The bath, °C: in the middle of the margin.
    fn bath(&self) -> f64 {
        self.pot + (self.margin[0] + self.margin[1]) / 2.0
    }
}

/// A bath fluid, and from where to where it serves, °C; endless where the table says nothing.
struct Fluid<'a> {
    record: Record<'a>,
    lowest: f64,
    highest: f64,
}

impl<'a> Fluid<'a> {
    fn new(record: Record<'a>) -> Self {
        Fluid {
            record,
            lowest: record.number("lowest").unwrap_or(f64::NEG_INFINITY),
            highest: record.number("highest").unwrap_or(f64::INFINITY),
        }
    }

    fn serves(&self, bath: f64) -> bool {
        self.lowest <= bath && bath <= self.highest
    }

    /// Whether it has spots much hotter than it reads, or comes only after all others.
    fn is_last_resort(&self) -> bool {
        self.record.is("last_resort")
    }
}

/// What a volume of a liquid takes up for each degree, J/K: cp·ρ·V; None where the table lacks a
/// constant.
fn heat(row: Record<'_>, millilitres: f64) -> Option<f64> {
    Some(row.number("heat_capacity")? * row.number("density")? * millilitres)
}

/// What cools vapour of `head` °C.
fn condenser(head: f64) -> &'static str {
    let [hot, hottest] = WATER_CONDENSER;
    if head < hot {
        "water"
    } else if head <= hottest {
        "air, or warm water running slowly"
    } else {
        "air"
    }
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let curve = Curve::read(inputs, &SUBSTANCE)?;
    let substance = curve.record;
    let at = setting(inputs, &curve)?;
    let fluid = fluid(inputs, substance, at.bath())?;

    let why = outcome.because("The pot boils at {.0} °C and takes up heat only from something hotter: {.0} to {.0} °C hotter for this column. ");
    why.number(at.pot).number(at.margin[0]).number(at.margin[1]);
    if fluid.highest.is_finite() {
        why.more("This fluid has {.0} °C to spare.")
            .number(fluid.highest - at.bath());
    }
    outcome.by_method("Antoine equation at the pot’s pressure, plus the margin of the column; the interval runs from the least margin to the greatest and includes sources and reading error. Warm-up and boil-up by conservation of energy, losses in the share of heat that arrives.");
    curve.vouch(outcome);
    outcome.source.more(
        " Margins, pressure drops, bath limits and the condenser rule: common practice, no source.",
    );
    plot(&curve, &at, fluid.highest, outcome);
    temperatures(&at, outcome);
    times(inputs, substance, fluid.record, &at, outcome);
    outcome.verdict("condenser", "Condenser", condenser(at.head));
    by_fluid(inputs.library(), substance, at.bath(), outcome);
    cautions(substance, &fluid, &at, outcome);
    substance::then(
        substance,
        "Which pump and pressure?",
        "vacuum-plan",
        outcome,
    )
    .with("highest_pot_temperature", "{.0} °C")
    .number(at.pot + 10.0);
    substance::then(
        substance,
        "How the boiling point moves",
        "boiling-point",
        outcome,
    )
    .with("pressure", "{~5} mmHg")
    .number(at.mmhg);
    Ok(())
}

/// What stands where, from the curve and what the column costs.
fn setting(inputs: &Inputs<'_>, curve: &Curve<'_>) -> Result<Setting, Problem> {
    let column = inputs.need_entry(&COLUMN)?;
    let pressure = inputs.get_measured(&PRESSURE);
    let mmhg = pressure.value.in_mmhg();
    let drop = match inputs.quantity(&COLUMN_DROP) {
        Some(drop) => drop.in_mmhg(),
        None => column.number("pressure_drop").unwrap_or(0.0),
    };
    let margin = match inputs.quantity(&MARGIN) {
        Some(margin) => [margin.in_degrees(); 2],
        None => [
            column.number("margin_low").unwrap_or(USUAL_MARGIN[0]),
            column.number("margin_high").unwrap_or(USUAL_MARGIN[1]),
        ],
    };
    let in_pot = Measured {
        value: Pressure::mmhg(mmhg + drop),
        error: pressure.error,
    };
    let pot = curve.boiling(PRESSURE.input.name, in_pot)?;
    let head = curve.boiling(PRESSURE.input.name, pressure)?;
    Ok(Setting {
        mmhg,
        in_pot: mmhg + drop,
        head: head.temperature.in_celsius(),
        pot: pot.temperature.in_celsius(),
        half: pot.half,
        margin,
    })
}

/// Vapour of what flashes below this is lit by a hot spot, °C (CLP Annex I, flammable liquids).
const FLAMMABLE: f64 = 60.0;

/// Whether a fluid of the last resort may heat this: it does not burn easily, or no other serves.
fn allows_hot_spots(substance: Record<'_>, library: &Library, bath: f64) -> bool {
    let burns = substance.number("flash_point");
    let mut fluids = library.rows("bath_fluids").map(Fluid::new);
    burns.is_none_or(|flash| flash >= FLAMMABLE)
        || !fluids.any(|other| other.serves(bath) && !other.is_last_resort())
}

/// The fluid asked for; refused, with those that can, where it cannot stand at `bath` °C or has hot
/// spots that would light the vapour.
fn fluid<'a>(inputs: &Inputs<'a>, substance: Record<'_>, bath: f64) -> Result<Fluid<'a>, Problem> {
    let library = inputs.library();
    let fluid = Fluid::new(inputs.need_entry(&FLUID)?);
    let hot_spots = allows_hot_spots(substance, library, bath);
    let suits = |fluid: &Fluid<'_>| hot_spots || !fluid.is_last_resort();
    if fluid.serves(bath) && suits(&fluid) {
        return Ok(fluid);
    }
    let problem = if fluid.serves(bath) {
        Problem::new(
            FLUID.input.name,
            "{} is flammable (flash point {.0} °C), and {} is far hotter in places than it reads; ",
        )
        .text(substance.name())
        .number(substance.number("flash_point").unwrap_or(FLAMMABLE))
        .text(fluid.record.name())
    } else {
        Problem::new(
            FLUID.input.name,
            "the bath must stand at {.0} °C, but {} serves from {~4} to {~4} °C; ",
        )
        .number(bath)
        .text(fluid.record.name())
        .number(fluid.lowest)
        .number(fluid.highest)
    };
    let mut others = library
        .rows("bath_fluids")
        .filter(|other| {
            let other = Fluid::new(*other);
            other.serves(bath) && suits(&other)
        })
        .map(|other| other.name())
        .peekable();
    Err(if others.peek().is_none() {
        problem.more("no fluid of the table does; a lower pressure or a heating mantle may")
    } else {
        problem.more("these do: {}").list("; ", &mut others)
    })
}

fn temperatures(at: &Setting, outcome: &mut Outcome) {
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
}

/// How long it takes to boil, and to come over, where all is known that this takes.
fn times(
    inputs: &Inputs<'_>,
    substance: Record<'_>,
    fluid: Record<'_>,
    at: &Setting,
    outcome: &mut Outcome,
) {
    let watts = heating::watts(inputs);
    let volume = inputs.get(&VOLUME).in_millilitres();
    let bath_volume = inputs.get(&BATH_VOLUME).in_millilitres();
    let start = inputs.get(&START_TEMPERATURE).in_celsius();
    let rise = |end: f64| (end - start).max(0.0);
    if let (Some(liquid), Some(bath)) = (heat(substance, volume), heat(fluid, bath_volume)) {
        let parts = [(liquid, rise(at.pot)), (bath, rise(at.bath()))];
        let minutes = heating::warm_up(&parts, watts);
        outcome
            .number("warm_up_time", "Until it boils", minutes, "min")
            .digits(2);
    } else {
        outcome
            .note("The warm-up time is not given: a heat capacity or density is not known here.");
    }
    if let Some(rate) = heating::boil_up(substance, watts) {
        outcome
            .number("boil_up_rate", "Boils over", rate, "mL/min")
            .digits(2);
        outcome
            .number("distilling_time", "To distil it all", volume / rate, "min")
            .digits(2);
    } else {
        outcome.note("The boil-up rate is not given: a heat of vaporisation, molar mass or density is not known here.");
    }
}

/// Every fluid of the table, and whether it does here.
fn by_fluid(library: &Library, substance: Record<'_>, bath: f64, outcome: &mut Outcome) {
    let hot_spots = allows_hot_spots(substance, library, bath);
    let table = outcome.table("Which fluid does at {.0} °C", "Fluid\tFor\tHere");
    table.title.number(bath);
    for record in library.rows("bath_fluids") {
        let fluid = Fluid::new(record);
        table
            .row("{}\t{~4} to {~4} °C\t{}")
            .text(record.name())
            .number(fluid.lowest)
            .number(fluid.highest)
            .text(if bath > fluid.highest {
                "too hot for it"
            } else if bath < fluid.lowest {
                "too cold for it"
            } else if fluid.is_last_resort() && !hot_spots {
                "not for what burns: hot spots"
            } else if bath > fluid.highest - NEAR_LIMIT {
                "near its limit"
            } else {
                "does"
            });
    }
}

fn cautions(substance: Record<'_>, fluid: &Fluid<'_>, at: &Setting, outcome: &mut Outcome) {
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
            .care("The bath is above the flash point of {} ({.0} °C): vapour that escapes, or a flask that breaks, can be lit by any flame, spark or hot surface.")
            .text(substance.name())
            .number(flash);
    }
    of_the_fluid(fluid, bath, outcome);
    substance::vacuum(at.mmhg, outcome);
    if at.head > WATER_CONDENSER[0] {
        outcome.care(
            "Cold water may crack a condenser that such hot vapour enters: air cools enough.",
        );
    }
    outcome.care("Never to dryness, and never a closed system; the bath on a jack, so that it can be lowered at once.");
    outcome.care(substance::DEFER);
}

fn of_the_fluid(fluid: &Fluid<'_>, bath: f64, outcome: &mut Outcome) {
    let name = fluid.record.name();
    if bath > fluid.highest - NEAR_LIMIT {
        outcome
            .care("Only {.0} °C below the limit of {}, {.0} °C: watch the bath’s own thermometer, and do not leave it.")
            .number(fluid.highest - bath)
            .text(name)
            .number(fluid.highest);
    }
    let mut remark = |text: &str| {
        if !text.is_empty() {
            outcome.care("{}: {}").text(name).text(text);
        }
    };
    if fluid.record.is("flammable") {
        remark(fluid.record.text("flash_note"));
    }
    remark(fluid.record.text("note"));
}

/// Bath over pressure, the fluid's limit across it, the working point marked.
fn plot(curve: &Curve<'_>, at: &Setting, limit: f64, outcome: &mut Outcome) {
    let bath = at.bath();
    let [least, most] = at.margin;
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
        let boils = curve.temperature_unchecked(p);
        band.three(p, boils + least, boils + most);
    }
    plot.line("boiling in the pot")
        .follow(pressures, &|p| curve.temperature_unchecked(p));
    if limit.is_finite() {
        plot.level("limit of the fluid", limit);
    }
    plot.mark("{.0} °C", at.in_pot, bath)
        .number(bath)
        .error(0.0, (most - least) / 2.0 + at.half);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::markup::Markup;

    fn run(pairs: &[(&str, &str)]) -> Result<Outcome, Vec<Problem>> {
        // A curve near toluene’s, rounded (from memory): it boils at about 111 °C.
        let tables = "[substances]\nname\tvapour_pressure\tvapour_pressure_range\nrounded\t6.955 1344.8 219.48\t0 140\n\
             [columns]\nname\tmargin_low\tmargin_high\nplain head\t10\t20\n\
             [bath_fluids]\nname\tlowest\thighest\nwater\t5\t90\nsilicone oil\t0\t200\noil\t10\t140\n";
        let mut given = vec![("substance", "rounded")];
        given.extend(pairs);
        CALCULATOR.run_on(tables, &given)
    }

    /// The curves are drawn over the pressure in the pot, so the point is marked there too.
    #[test]
    fn the_point_lies_on_the_band() {
        let outcome = run(&[("pressure", "100 mmHg"), ("column_drop", "50 mmHg")]).unwrap();
        let plain = run(&[("pressure", "150 mmHg")]).unwrap();
        let mark = |outcome: &Outcome| {
            let mut out = Markup::default();
            outcome.plot.as_ref().unwrap().html("p", &mut out);
            let html = out.finish();
            let at = html.find("<circle").unwrap();
            html[at..at + 60].to_string()
        };
        assert_eq!(mark(&outcome), mark(&plain));
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

    #[test]
    fn goes_without_times_where_the_tables_lack_a_constant() {
        let outcome = run(&[]).unwrap();
        for figure in ["warm_up_time", "boil_up_rate", "distilling_time"] {
            assert!(outcome.figure(figure).is_none(), "{figure}");
        }
        assert_eq!(outcome.notes.len(), 2);
    }

    #[test]
    fn hot_vapour_asks_for_air() {
        assert_eq!(condenser(139.0), "water");
        assert!(condenser(145.0).contains(" or "));
        assert_eq!(condenser(151.0), "air");
    }
}
