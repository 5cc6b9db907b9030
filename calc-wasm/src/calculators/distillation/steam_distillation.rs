//! At what temperature does it come over with steam, and how much water brings it?
//!
//! Two liquids that do not mix each give their own vapour pressure, whatever their amounts
//! (Dalton's law). The mixture boils at the T where p_w(T) + p_s(T) = p, below either alone. The
//! distillate holds the substance and water in the ratio of their partial pressures:
//! m_s/m_w = p_s·M_s/(p_w·M_w), p in mmHg, M in g/mol. Vapour pressures: Antoine, see
//! `equations::vapour` for sources and range.
//! The interval carries the sources' disagreement about both curves and the reading error of the
//! barometer, first order. It holds for a substance that hardly dissolves in water, with steam
//! that has had time to take up its share; in practice more water comes over.

use crate::calculators::Calculator;
use crate::equations::meeting;
use crate::equations::substance;
use crate::equations::vapour::Curve;
use crate::inputs::{Entry, Field, Inputs, Kind, form_only};
use crate::library::{Library, Record};
use crate::limits;
use crate::outcome::Outcome;
use crate::plot::spread;
use crate::problem::Problem;
use crate::quantity::{FlowRate, Mass, Measured, Pressure, Quantity, Temperature};

/// Below this ratio steam brings so little that another way is better (common practice).
const POOR_RATIO: f64 = 0.05;

static SUBSTANCE: Field<Entry> = Field::preset(
    "substance",
    "Substance",
    Kind::Entry("substances"),
    "bromobenzene",
    "Name, other name or CAS number; it must hardly dissolve in water.",
);

static PRESSURE: Field<Pressure> = Field::preset(
    "pressure",
    "Pressure",
    Kind::Quantity(&limits::PRESSURE),
    "760 mmHg",
    "The barometer, or the gauge if the run is under reduced pressure.",
);

static AMOUNT: Field<Mass> = Field::preset(
    "amount",
    "Substance to bring over",
    Kind::Quantity(&limits::MASS),
    "10 g",
    "What the flask holds of it.",
);

static RATE: Field<FlowRate> = Field::preset(
    "rate",
    "Distillate collected",
    Kind::Quantity(&limits::FLOW),
    "5 mL/min",
    "Both layers together; count drops or time a measuring cylinder.",
);

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "steam-distillation",
    title: "Steam distillation",
    question: form_only(
        "At what temperature does it come over with steam, and how much water does it take?",
    ),
    inputs: &[
        &SUBSTANCE.input,
        &PRESSURE.input,
        &AMOUNT.input,
        &RATE.input,
    ],
    evaluate,
};

/// Where two liquids that do not mix boil together.
struct Together {
    celsius: f64,
    /// Half-width of its interval, °C.
    half: f64,
    /// Partial pressures, mmHg.
    water: f64,
    substance: f64,
    /// Relative half-width of the ratio of the two.
    relative: f64,
}

/// Grams of substance for each gram of water: p_s·M_s/(p_w·M_w).
fn mass_ratio(substance: f64, molar_mass: f64, water: f64, water_molar_mass: f64) -> f64 {
    substance * molar_mass / (water * water_molar_mass)
}

/// Solves p_w(T) + p_s(T) = p by halving: the sum rises with T.
///
/// # Errors
/// A sentence, when one of the two is outside its data, or frozen, at the T found.
fn together(
    water: &Curve<'_>,
    other: &Curve<'_>,
    pressure: Measured<Pressure>,
) -> Result<Together, Problem> {
    let alone = water
        .boiling(PRESSURE.input.name, pressure)?
        .temperature
        .in_celsius();
    let total = pressure.value.in_mmhg();
    let ends = |curve: &Curve<'_>| curve.pressures().map(|p| curve.temperature_unchecked(p));
    let [coldest, hottest] = ends(other);
    let [freezing, _] = ends(water);
    let sum = |celsius| water.pressure_unchecked(celsius) + other.pressure_unchecked(celsius);
    let (mut low, mut high) = (coldest.max(freezing), hottest.min(alone));
    if low >= high || sum(low) > total {
        return Err(Problem::new(PRESSURE.input.name, "with water at {~4} mmHg, {} would boil where one of the two is frozen or its data end, below {.0} °C")
            .number(total)
            .text(other.name())
            .number(low));
    }
    for _ in 0..50 {
        let middle = (low + high) / 2.0;
        if sum(middle) < total {
            low = middle;
        } else {
            high = middle;
        }
    }
    let celsius = (low + high) / 2.0;
    let at = Measured {
        value: Temperature::celsius(celsius),
        error: 0.0,
    };
    // Each pressure with its half-width; the slope of its curve, mmHg per °C.
    let (water_p, water_half) = water.pressure("pressure", at)?;
    let (other_p, other_half) = other.pressure("pressure", at)?;
    let (water_rise, other_rise) = (1.0 / water.slope(water_p), 1.0 / other.slope(other_p));
    let rise = water_rise + other_rise;
    let root = |a: f64, b: f64, c: f64| f64::sqrt(a * a + b * b + c * c);
    // A curve that is too high lets the mixture boil lower, which shifts the other one's share.
    let share = root(water_rise * other_half, other_rise * water_half, 0.0) / rise;
    let reading = pressure.error / rise * (other_rise / other_p - water_rise / water_p);
    Ok(Together {
        celsius,
        half: root(water_half, other_half, pressure.error) / rise,
        water: water_p,
        substance: other_p,
        relative: root(share * (1.0 / other_p + 1.0 / water_p), reading, 0.0),
    })
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let record = inputs.need_entry(&SUBSTANCE)?;
    let library = inputs.library();
    let measured = with_water(record.name(), library);
    refuse_miscible(record, measured, library)?;
    let water = library
        .find("substances", "water")
        .map_err(|problem| problem.of("substance"))?;
    let water = Curve::need(water, library, "substance")?;
    let curve = Curve::read(inputs, &SUBSTANCE)?;
    let pressure = inputs.get_measured(&PRESSURE);
    let found = together(&water, &curve, pressure)?;
    let (Some(molar_mass), Some(water_molar_mass)) = (
        record.number("molar_mass"),
        water.record.number("molar_mass"),
    ) else {
        return Err(
            Problem::new(SUBSTANCE.input.name, "no molar mass is known here for {}")
                .text(record.name()),
        );
    };
    let ratio = mass_ratio(found.substance, molar_mass, found.water, water_molar_mass);
    let amount = inputs.get(&AMOUNT).in_grams();
    let rate = inputs.get(&RATE).base();
    // Water of the distillate is collected cold: a gram of it is a millilitre.
    let needed = amount / ratio;
    let volume = needed + amount / record.number("density").unwrap_or(1.0);

    outcome
        .because("At {.1} °C water gives {3} mmHg and {} adds {3} mmHg; together they reach the pressure above them, so both boil below 100 °C, and the heavy molecules of {} make up for their small number.")
        .number(found.celsius)
        .number(found.water)
        .text(curve.name())
        .number(found.substance)
        .text(curve.name());
    outcome.by_method("Dalton’s law for two liquids that do not mix, solved for the temperature by halving; Antoine vapour pressures. The interval joins the disagreement between sources on both curves with the reading error (first order).");
    water.cite(&mut outcome.source);
    outcome.source.more(" ");
    curve.vouch(outcome);
    outcome
        .validity
        .more(" Substance and water hardly dissolve in each other.");
    plot(&water, &curve, &found, pressure, outcome);
    figures(&found, ratio, needed, volume / rate, outcome);
    notes(record, measured, ratio, outcome);
    cautions(record, pressure.value, outcome);
    substance::then(
        record,
        "What it would boil at without steam",
        "boiling-point",
        outcome,
    )
    .with("pressure", "{~5} mmHg")
    .number(pressure.value.in_mmhg());
    outcome
        .then(
            "Take the rest out of the distillate with a solvent",
            "repeated-extraction",
        )
        .with("aqueous_volume", "{~3} mL")
        .number(needed);
    Ok(())
}

fn figures(found: &Together, ratio: f64, needed: f64, minutes: f64, outcome: &mut Outcome) {
    outcome
        .number("temperature", "They boil together at", found.celsius, "°C")
        .give_or_take(found.half);
    outcome
        .number(
            "mass_ratio",
            "Substance for each gram of water",
            ratio,
            "g/g",
        )
        .give_or_take(ratio * found.relative);
    outcome
        .number(
            "water_needed",
            "Water that comes over, at least",
            needed,
            "mL",
        )
        .digits(2);
    outcome
        .number("time", "Time, at least", minutes, "min")
        .digits(2);
}

/// Refuses water itself and what is known to mix with it: their pressures do not add up.
fn refuse_miscible(
    record: Record<'_>,
    measured: Option<Record<'_>>,
    library: &Library,
) -> Result<(), Problem> {
    let name = record.name();
    if name == "water" {
        return Err(Problem::new(
            SUBSTANCE.input.name,
            "name the substance that the steam is to bring, not the water",
        ));
    }
    if meeting::known(library, name).is_some_and(|it| it.is("water-reactive")) {
        return Err(Problem::new("substance", "{} reacts with water and steam, with heat and acid; distil it dry, under reduced pressure if need be").text(name));
    }
    let solvent = library.table("solvents").and_then(|table| table.find(name));
    if solvent.is_some_and(|row| row.is("miscible"))
        || measured.is_some_and(|row| !row.is("layers"))
    {
        return Err(Problem::new(SUBSTANCE.input.name, "{} mixes with water, so the two vapour pressures do not add up; use fraction-column, and mind the azeotrope").text(name));
    }
    Ok(())
}

/// The row of the table of azeotropes for `name` with water.
fn with_water<'a>(name: &str, library: &'a Library) -> Option<Record<'a>> {
    library
        .rows("azeotropes")
        .find(|row| row.text("first") == name && row.text("second") == "water")
}

fn notes(record: Record<'_>, measured: Option<Record<'_>>, ratio: f64, outcome: &mut Outcome) {
    outcome.note("Steam that hurries through takes up less than its share: reckon with up to twice the water and the time (common practice).");
    if let Some(row) = measured
        && let (Some(celsius), Some(mass)) =
            (row.number("temperature"), row.number("first_percent"))
    {
        outcome
            .note(
                "Measured at 760 mmHg: {~4} °C, with {~3} % by mass of {} in the distillate ({}).",
            )
            .number(celsius)
            .number(mass)
            .text(record.name())
            .text(row.text("source"));
    }
    if ratio < POOR_RATIO {
        outcome.note("So little comes over that reduced pressure or continuous extraction is the better way.");
    }
    if substance::clings(record) {
        outcome.note("Some of it dissolves in the water: it boils higher than said here, and what stays in the distillate must be extracted.");
    }
    outcome.note("It is done when a fresh sample of the distillate is clear: no second layer, no drops of oil.");
}

fn cautions(record: Record<'_>, pressure: Pressure, outcome: &mut Outcome) {
    outcome.danger("Steam scalds, and a blocked steam line bursts: a safety tube on the generator, and never a closed vessel.");
    outcome.care(
        "Open the steam line to the air before the heat is taken away, or the flask sucks back.",
    );
    if record
        .number("melting_point")
        .is_some_and(|melts| melts > 15.0)
    {
        outcome
            .care("{} can set in the condenser: watch it, and stop the cooling water for a moment before it is blocked.")
            .text(record.name());
    }
    if substance::is_poison(record) {
        outcome
            .danger("What comes over is poison, as vapour too ({}): the whole line in the hood, the condenser cold, the receiver cooled and its outlet led away.")
            .text(record.name());
    }
    if record.is("lachrymator") {
        outcome
            .danger("{} draws tears at the least trace: the hood, its sash down, and glass rinsed before it leaves it.")
            .text(record.name());
    }
    substance::implosion(pressure.in_mmhg(), outcome);
    substance::cautions(record, outcome);
    outcome.care(substance::DEFER);
}

/// Both vapour pressures, their sum, and where the sum meets the pressure.
fn plot(
    water: &Curve<'_>,
    other: &Curve<'_>,
    found: &Together,
    pressure: Measured<Pressure>,
    outcome: &mut Outcome,
) {
    let total = pressure.value.in_mmhg();
    let plot = outcome.plot(
        "Vapour pressures of water and {}",
        "Both pressures rise with temperature; their sum reaches {~4} mmHg at {.1} °C, below the boiling point of either.",
    );
    plot.title.text(other.name());
    plot.description.number(total).number(found.celsius);
    plot.x.linear("Temperature", "°C");
    plot.y.linear("Pressure", "mmHg");
    let start = (found.celsius - 60.0).max(other.temperature_unchecked(other.pressures()[0]));
    let temperatures = spread(start, found.celsius + 4.0, 33);
    plot.line("water")
        .follow(temperatures.clone(), &|t| water.pressure_unchecked(t));
    plot.line("{}")
        .text(other.name())
        .follow(temperatures.clone(), &|t| other.pressure_unchecked(t));
    plot.line("both together").follow(temperatures, &|t| {
        water.pressure_unchecked(t) + other.pressure_unchecked(t)
    });
    plot.level("pressure above them", total);
    plot.mark("{.1} °C", found.celsius, total)
        .number(found.celsius)
        .error(found.half, pressure.error.min(total * 0.9));
}
