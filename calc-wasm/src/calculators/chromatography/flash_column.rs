//! Which flash column for this sample, with how much adsorbent and eluent?
//!
//! The table of the first paper gives, for beds of 15 cm run at Rf 0.35 and 5 cm/min, load,
//! eluent and fraction for five diameters. Between them everything follows the cross-section on
//! straight pieces; load and eluent follow the height of the bed; eluent follows V_m/Rf, so
//! 0.35/Rf. From ΔRf 0.1 to 0.2 the row for 0.1 holds, which errs on the safe side; below 0.1 the
//! load falls in proportion, which is a guess and labelled.
//! Source: W. C. Still, M. Kahn, A. Mitra, J. Org. Chem. 1978, 43, 2923, table 1.

use crate::calculators::Calculator;
use crate::equations::flash::{self, PAPER_BED, along, bed_volume, load_at, section};
use crate::equations::substance::{self, DEFER};
use crate::inputs::{Entry, Field, Inputs, Kind, form_only};
use crate::library::Record;
use crate::limits::{self, Limit};
use crate::outcome::Outcome;
use crate::plot::spread;
use crate::problem::Problem;
use crate::quantity::{Length, Mass, Measured, Number, Quantity};

/// Rf and linear flow of the paper's table: none, cm/min.
const RF: f64 = 0.35;
const FLOW: f64 = 5.0;
/// Packing densities differ by about this share from one filling to the next (common practice).
const PACKING_SPREAD: f64 = 0.1;

static SAMPLE: Limit = Limit::new(
    Mass::DIMENSION,
    "mg",
    1.0,
    500_000.0,
    "less belongs on a plate, more on a plant",
);

static DELTA_RF: Limit = Limit::new(
    Number::DIMENSION,
    "",
    0.02,
    0.95,
    "closer spots cannot be told apart, and a plate is no longer than from 0 to 1",
)
.usually(
    0.1,
    1.0,
    "Spots closer than 0.1 ask for another eluent rather than for a larger column.",
);

static SAMPLE_MASS: Field<Mass> = Field::preset(
    "sample_mass",
    "Sample",
    Kind::Quantity(&SAMPLE),
    "400 mg",
    "All that goes on the column, impurities too.",
);

static DELTA_RF_INPUT: Field<Number> = Field::preset(
    "delta_rf",
    "Distance to the nearest spot, ΔRf",
    Kind::Quantity(&DELTA_RF),
    "0.2",
    "On a plate run in the eluent of the column.",
);

static RF_INPUT: Field<Number> = Field::preset(
    "rf",
    "Rf of the wanted spot",
    Kind::Quantity(&limits::RF),
    "0.35",
    "Best near 0.35.",
);

static DIAMETER: Field<Option<Length>> = Field::optional(
    "diameter",
    "Inner diameter",
    Kind::Quantity(&limits::COLUMN_DIAMETER),
    "Blank or auto: the smallest listed column that carries the sample.",
);

static BED_HEIGHT: Field<Length> = Field::preset(
    "bed_height",
    "Height of the bed",
    Kind::Quantity(&limits::BED_HEIGHT),
    "150 mm",
    "Of settled adsorbent.",
);

static ADSORBENT: Field<Entry> = Field::preset(
    "adsorbent",
    "Adsorbent",
    Kind::Entry("silica"),
    "silica 40–63 µm",
    "The loads were measured on silica of 40–63 µm.",
);

static SOLVENT: Field<Entry> = Field::optional(
    "solvent",
    "Solvent of the eluent",
    Kind::Entry("solvents"),
    "Its halogenated part, if it has one: that decides the waste.",
);

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "flash-column",
    title: "Flash column: size and load",
    question: form_only("Which column, how much adsorbent and how much eluent?"),
    inputs: &[
        &SAMPLE_MASS.input,
        &DELTA_RF_INPUT.input,
        &RF_INPUT.input,
        &DIAMETER.input,
        &BED_HEIGHT.input,
        &ADSORBENT.input,
        &SOLVENT.input,
    ],
    evaluate,
};

/// One size of the table: diameter in mm, cross-section in cm², highest load in mg.
struct Size<'a> {
    record: Record<'a>,
    diameter: f64,
    section: f64,
    load: f64,
}

impl Size<'_> {
    fn number(&self, column: &str) -> f64 {
        self.record.number(column).unwrap_or(0.0)
    }
}

/// What is asked, and the listed columns for it.
struct Task<'a> {
    /// mg.
    sample: Measured<Mass>,
    rf: Measured<Number>,
    /// Height of the bed, mm.
    height: f64,
    /// Packing density, g/mL.
    density: f64,
    sizes: Vec<Size<'a>>,
}

impl Task<'_> {
    fn milligrams(&self) -> f64 {
        self.sample.value.in_milligrams()
    }

    /// Eluent in mL, from what the paper's table says for its own height of bed and Rf.
    fn eluent(&self, listed: f64) -> f64 {
        listed * self.height / PAPER_BED * RF / self.rf.value.base()
    }

    /// Adsorbent in g for a column of `diameter` mm.
    fn adsorbent(&self, diameter: f64) -> f64 {
        bed_volume(diameter, self.height) * self.density
    }

    /// The narrowest listed column that carries the sample.
    fn fitting(&self) -> Option<&Size<'_>> {
        let sample = self.milligrams() * (1.0 - 1e-9);
        self.sizes.iter().find(|size| size.load >= sample)
    }
}

/// The column that the bench will use, and how much goes on it and through it.
struct Column {
    diameter: f64,
    load: f64,
    eluent: f64,
    fraction: f64,
    adsorbent: f64,
}

impl Column {
    fn of(diameter: f64, task: &Task<'_>) -> Self {
        let area = section(diameter);
        let by_section = |point| along(&task.sizes, point, area);
        Column {
            diameter,
            load: by_section(|size| (size.section, size.load)),
            eluent: task.eluent(by_section(|size| {
                (size.section, size.number("eluent_volume"))
            })),
            fraction: by_section(|size| (size.section, size.number("fraction_volume"))),
            adsorbent: task.adsorbent(diameter),
        }
    }
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let delta = inputs.get(&DELTA_RF_INPUT).base();
    let task = task(inputs, delta)?;
    let least = along(
        &task.sizes,
        |size| (size.load, size.section),
        task.milligrams(),
    );
    let least = f64::sqrt(least * 400.0 / std::f64::consts::PI);
    let given = inputs.quantity(&DIAMETER).map(Length::in_millimetres);
    // The given tube, else the listed one that fits, else what it takes.
    let fitting = task.fitting();
    let used = given.unwrap_or(fitting.map_or(least, |size| size.diameter));
    let column = Column::of(used, &task);

    outcome
        .because("The load follows the cross-section: twice the diameter carries four times as much, and drinks about as much more. Here there are {2} g of adsorbent to each g of sample.")
        .number(column.adsorbent * 1000.0 / task.milligrams());
    outcome.by_method("Table of the first paper, interpolated by cross-section, scaled with the height of the bed and with 0.35/Rf; adsorbent from bed volume and packing density, ± 10 % from one filling to the next.");
    outcome.from_source("W. C. Still, M. Kahn, A. Mitra, J. Org. Chem. 1978, 43, 2923, table 1; packing density common practice, no source.");
    outcome.valid_for("Silica of 40–63 µm, beds of about 15 cm, columns of 10 to 50 mm, Rf 0.2 to 0.5, ΔRf 0.1 and more, level sinking 5 cm a minute.");
    outcome.in_range(
        (0.1..=1.0).contains(&delta)
            && (0.2..=0.5).contains(&task.rf.value.base())
            && (120.0..=200.0).contains(&task.height)
            && (10.0..=50.0).contains(&used)
            && inputs
                .entry(&ADSORBENT)
                .is_some_and(|record| record.number("size_high") == Some(63.0)),
    );
    plot(&task, &column, outcome);
    let diameter = outcome.number("diameter", "Inner diameter", given.unwrap_or(least), "mm");
    if given.is_none() {
        // The load goes with the square, so the diameter with half the relative error.
        diameter.give_or_take(least / 2.0 * task.sample.error / task.sample.value.base());
    }
    outcome.verdict(
        "column",
        "Listed column that carries it",
        fitting.map_or("wider than any listed", |size| size.record.name()),
    );
    let solvent = inputs.entry(&SOLVENT);
    let halogenated = solvent.map(|solvent| solvent.is("halogenated"));
    figures(&task, &column, halogenated, outcome);
    flash::waste(halogenated, outcome);
    if let Some(solvent) = solvent {
        substance::hazards_of(inputs.library(), solvent.name(), outcome);
    }
    table(&task, outcome);
    if given.is_some() && task.milligrams() > column.load * (1.0 + 1e-9) {
        outcome
            .care("Overloaded: {~4} mg on a column that carries {2} mg; the bands will run into each other. Take a wider column or several runs.")
            .number(task.milligrams())
            .number(column.load);
    }
    advise(&task, outcome);
    let next = outcome.then("In which fractions will it be?", "flash-elution");
    flash::carry_over(used, task.height, next);
    next.with("fraction_volume", "{~3} mL")
        .number(column.fraction);
    let next = outcome.then("What pressure does it need?", "flash-flow");
    flash::carry_over(used, task.height, next);
    next.with("eluent_volume", "{~3} mL").number(column.eluent);
    if let Some(solvent) = solvent {
        next.with("solvent", "{}").text(solvent.name());
    }
    Ok(())
}

/// Reads the inputs, and the listed columns with the load of each at this ΔRf and bed height.
fn task<'a>(inputs: &Inputs<'a>, delta: f64) -> Result<Task<'a>, Problem> {
    let mut task = Task {
        sample: inputs.get_measured(&SAMPLE_MASS),
        rf: inputs.get_measured(&RF_INPUT),
        height: inputs.get(&BED_HEIGHT).in_millimetres(),
        density: inputs
            .entry(&ADSORBENT)
            .and_then(|record| record.number("packing_density"))
            .ok_or_else(|| {
                Problem::new(ADSORBENT.input.name, "no packing density is known for it")
            })?,
        sizes: Vec::new(),
    };
    for record in inputs.library().rows("flash_columns") {
        if let (Some(narrow), Some(wide), Some(diameter)) = (
            record.number("load_narrow"),
            record.number("load_wide"),
            record.number("diameter"),
        ) {
            task.sizes.push(Size {
                record,
                diameter,
                section: section(diameter),
                load: load_at(delta, narrow, wide) * task.height / PAPER_BED,
            });
        }
    }
    if task.sizes.is_empty() {
        return Err(Problem::new(
            DIAMETER.input.name,
            "the table of flash_columns is not loaded",
        ));
    }
    Ok(task)
}

fn figures(task: &Task<'_>, column: &Column, halogenated: Option<bool>, outcome: &mut Outcome) {
    let &Column {
        eluent,
        fraction,
        adsorbent,
        ..
    } = column;
    outcome
        .number("adsorbent_mass", "Adsorbent", adsorbent, "g")
        .give_or_take(adsorbent * PACKING_SPREAD);
    outcome
        .number("eluent_volume", "Eluent", eluent, "mL")
        .give_or_take(eluent * task.rf.error / task.rf.value.base());
    outcome.number("fraction_volume", "Fraction", fraction, "mL");
    outcome.number("highest_load", "Highest load", column.load, "mg");
    outcome.count(
        "fractions",
        "Fractions",
        f64::ceil(eluent / fraction - 1e-9),
    );
    let minutes = eluent / (section(column.diameter) * FLOW);
    outcome
        .number("run_time", "Time at 5 cm/min", minutes, "min")
        .digits(2);
    let stream = match halogenated {
        Some(true) => "Waste, halogenated solvents, at most",
        Some(false) => "Waste, halogen-free solvents, at most",
        None => "Waste, solvents, at most",
    };
    outcome
        .number("solvent_waste", stream, eluent, "mL")
        .digits(2);
    outcome
        .number("solid_waste", "Waste, used adsorbent, dry", adsorbent, "g")
        .give_or_take(adsorbent * PACKING_SPREAD);
}

fn advise(task: &Task<'_>, outcome: &mut Outcome) {
    if task.fitting().is_none() {
        outcome.note("No listed column carries so much at this ΔRf: divide the sample over several runs, widen ΔRf with another eluent, or separate the bulk by crystallising or distilling first.");
    }
    if !(0.2..=0.5).contains(&task.rf.value.base()) {
        outcome.note("Bring the Rf near 0.35 with another eluent: lower costs solvent and time, higher leaves no room between the spots.");
        outcome
            .then("Find a better eluent", "eluent-blend")
            .with("target_rf", "0.35");
    }
    outcome.note("The eluent covers wetting the bed and the run to the wanted spot; slower spots need more. Dry-packed silica settles when it is wetted under pressure: fill a little higher.");
    flash::cautions(outcome);
    outcome.care(DEFER);
}

/// Each listed column for this sample.
fn table(task: &Task<'_>, outcome: &mut Outcome) {
    let table = outcome.table(
        "The listed columns at this ΔRf, Rf and height of bed",
        "Column\tCarries\tAdsorbent\tEluent\tFraction",
    );
    for size in &task.sizes {
        table
            .row("{}\t{2} mg\t{2} g\t{2} mL\t{~3} mL")
            .text(size.record.name())
            .number(size.load)
            .number(task.adsorbent(size.diameter))
            .number(task.eluent(size.number("eluent_volume")))
            .number(size.number("fraction_volume"));
    }
}

/// Highest load against diameter, with the sample on it.
fn plot(task: &Task<'_>, column: &Column, outcome: &mut Outcome) {
    let (used, sample) = (column.diameter, task.milligrams());
    let plot = outcome.plot(
        "Highest load against diameter of the column",
        "The load grows with the square of the diameter; a column of {~4} mm carries {2} mg, the sample is {~4} mg.",
    );
    plot.description
        .number(used)
        .number(column.load)
        .number(sample);
    plot.x.linear("Inner diameter", "mm");
    plot.y.linear("Sample", "mg");
    let line = plot.line("highest load");
    for diameter in spread(used.min(10.0), used.max(50.0), 41) {
        let point = |size: &Size<'_>| (size.section, size.load);
        line.point(diameter, along(&task.sizes, point, section(diameter)));
    }
    let listed = plot.points("listed columns");
    for size in &task.sizes {
        listed.point(size.diameter, size.load);
    }
    plot.mark("{~4} mg", used, sample).number(sample);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn needs_its_table() {
        let none = crate::library::Library::default();
        assert!(CALCULATOR.run(&none, &[]).is_err());
    }
}
