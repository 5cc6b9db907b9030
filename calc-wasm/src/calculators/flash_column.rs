//! Which flash column for this sample, with how much adsorbent and eluent?
//!
//! The table of the first paper gives, for beds of 15 cm run at Rf 0.35 and 5 cm/min, load,
//! eluent and fraction for five diameters. Between them everything follows the cross-section on
//! straight pieces; load and eluent follow the height of the bed; eluent follows V_m/Rf, so
//! 0.35/Rf. Between ΔRf 0.1 and 0.2 the load lies on a straight line; below 0.1 it falls in
//! proportion, which is a guess and labelled.
//! Source: W. C. Still, M. Kahn, A. Mitra, J. Org. Chem. 1978, 43, 2923, table 1.

use crate::calculators::Calculator;
use crate::equations::flash::{self, along, bed_volume, section};
use crate::equations::substance::DEFER;
use crate::inputs::{Input, Inputs, Kind, form_only};
use crate::library::Record;
use crate::limits::{self, Limit};
use crate::outcome::{OldTable, Outcome, with_unit};
use crate::plot::{Axis, OldLayer, Plot};
use crate::problem::Problem;
use crate::quantity::{Length, Mass, Measured, Number, Quantity, number};

/// Bed height, Rf and linear flow of the paper's table: mm, none, cm/min.
const BED: f64 = 150.0;
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

pub(super) static CALCULATOR: Calculator = Calculator {
    name: "flash-column",
    title: "Flash column: size and load",
    question: form_only("Which column, how much adsorbent and how much eluent?"),
    inputs: &[
        Input::preset(
            "sample_mass",
            "Sample",
            Kind::Quantity(&SAMPLE),
            "400 mg",
            "All that goes on the column, impurities too.",
        ),
        Input::preset(
            "delta_rf",
            "Distance to the nearest spot, ΔRf",
            Kind::Quantity(&DELTA_RF),
            "0.2",
            "On a plate run in the eluent of the column.",
        ),
        Input::preset(
            "rf",
            "Rf of the wanted spot",
            Kind::Quantity(&limits::RF),
            "0.35",
            "Best near 0.35.",
        ),
        Input::optional(
            "diameter",
            "Inner diameter",
            Kind::Quantity(&limits::COLUMN_DIAMETER),
            "Blank or auto: the smallest listed column that carries the sample.",
        ),
        Input::preset(
            "bed_height",
            "Height of the bed",
            Kind::Quantity(&limits::BED_HEIGHT),
            "150 mm",
            "Of settled adsorbent.",
        ),
        Input::preset(
            "adsorbent",
            "Adsorbent",
            Kind::Entry("silica"),
            "silica 40–63 µm",
            "The loads were measured on silica of 40–63 µm.",
        ),
        Input::optional(
            "solvent",
            "Solvent of the eluent",
            Kind::Entry("solvents"),
            "Its halogenated part, if it has one: that decides the waste.",
        ),
    ],
    evaluate,
};

/// One size of the table: diameter in mm, and what it carries, drinks and fills.
struct Size<'a> {
    record: Record<'a>,
    diameter: f64,
    load: f64,
}

impl Size<'_> {
    fn number(&self, column: &str) -> f64 {
        self.record.number(column).unwrap_or(0.0)
    }
}

/// Highest load at `delta` between the loads for ΔRf 0.1 (`narrow`) and 0.2 (`wide`), mg.
fn load_at(delta: f64, narrow: f64, wide: f64) -> f64 {
    if delta < 0.1 {
        narrow * delta / 0.1
    } else {
        narrow + (wide - narrow) * ((delta - 0.1) / 0.1).min(1.0)
    }
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let sample = inputs.need_measured::<Mass>("sample_mass")?;
    let milligrams = sample.value.in_milligrams();
    let delta = inputs.need::<Number>("delta_rf")?.base();
    let rf = inputs.need_measured::<Number>("rf")?;
    let height = inputs.need::<Length>("bed_height")?.in_millimetres();
    let sizes = sizes(inputs, delta, height)?;
    let by_section = |y: fn(&Size<'_>) -> f64, diameter: f64| {
        along(
            sizes.iter().map(|size| (section(size.diameter), y(size))),
            section(diameter),
        )
        .unwrap_or(0.0)
    };

    let least = along(
        sizes.iter().map(|size| (size.load, section(size.diameter))),
        milligrams,
    )
    .map_or(0.0, |area| libm::sqrt(area * 400.0 / std::f64::consts::PI));
    let fitting = sizes
        .iter()
        .find(|size| size.load >= milligrams * (1.0 - 1e-9));
    let given = inputs
        .quantity::<Length>("diameter")
        .map(Length::in_millimetres);
    // What the bench will use: the given tube, else the listed one that fits, else what it takes.
    let used = given.unwrap_or(fitting.map_or(least, |size| size.diameter));

    let load = by_section(|size| size.load, used);
    let eluent =
        by_section(|size| size.number("eluent_volume"), used) * height / BED * RF / rf.value.base();
    let fraction = by_section(|size| size.number("fraction_volume"), used);
    let density = inputs
        .entry("adsorbent")
        .and_then(|record| record.number("packing_density"))
        .ok_or_else(|| Problem::new("adsorbent", "no packing density is known for it"))?;
    let adsorbent = bed_volume(used, height) * density;

    outcome.because(format!(
            "The load follows the cross-section: twice the diameter carries four times as much, and drinks about as much more. Here there are {} g of adsorbent to each g of sample.",
            number::significant(adsorbent * 1000.0 / milligrams, 2)
        ));
    outcome.by_method("Table of the first paper, interpolated by cross-section, scaled with the height of the bed and with 0.35/Rf; adsorbent from bed volume and packing density, ± 10 % from one filling to the next.");
    outcome.from_source("W. C. Still, M. Kahn, A. Mitra, J. Org. Chem. 1978, 43, 2923, table 1; packing density common practice, no source.");
    outcome.valid_for("Silica of 40–63 µm, beds of about 15 cm, columns of 10 to 50 mm, Rf 0.2 to 0.5, ΔRf 0.1 and more, level sinking 5 cm a minute.");
    outcome.in_range(
        (0.1..=1.0).contains(&delta)
            && (0.2..=0.5).contains(&rf.value.base())
            && (120.0..=200.0).contains(&height)
            && (10.0..=50.0).contains(&used)
            && inputs
                .entry("adsorbent")
                .is_some_and(|record| record.number("size_high") == Some(63.0)),
    );
    outcome.draw(plot(&sizes, used, milligrams, load));
    let diameter = outcome.number("diameter", "Inner diameter", given.unwrap_or(least), "mm");
    if given.is_none() {
        // The load goes with the square, so the diameter with half the relative error.
        diameter.give_or_take(least / 2.0 * sample.error / sample.value.base());
    }
    let column = fitting.map_or("wider than any listed".to_string(), |size| {
        size.record.name().to_string()
    });
    outcome.verdict("column", "Listed column that carries it", column);
    outcome
        .number("adsorbent_mass", "Adsorbent", adsorbent, "g")
        .give_or_take(adsorbent * PACKING_SPREAD);
    outcome
        .number("eluent_volume", "Eluent", eluent, "mL")
        .give_or_take(eluent * rf.error / rf.value.base());
    outcome.number("fraction_volume", "Fraction", fraction, "mL");
    outcome.number("highest_load", "Highest load", load, "mg");
    outcome.count(
        "fractions",
        "Fractions",
        libm::ceil(eluent / fraction - 1e-9),
    );
    let minutes = eluent / (section(used) * FLOW);
    outcome
        .number("run_time", "Time at 5 cm/min", minutes, "min")
        .digits(2);
    let solvent = inputs.entry("solvent");
    let halogenated = solvent.map(|solvent| solvent.is("halogenated"));
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
    flash::waste(halogenated, outcome);
    outcome
        .tables
        .push((table(&sizes, height, rf, density)).into());
    advise(outcome, milligrams, load, rf, given, fitting);
    outcome
        .old_then("In which fractions will it be?", "flash-elution")
        .old_with("diameter", &millimetres(used))
        .old_with("bed_height", &millimetres(height))
        .old_with(
            "fraction_volume",
            &with_unit(number::plain(fraction, 3), "mL"),
        );
    outcome
        .old_then("What pressure does it need?", "flash-flow")
        .old_with("diameter", &millimetres(used))
        .old_with("bed_height", &millimetres(height))
        .old_with("eluent_volume", &with_unit(number::plain(eluent, 3), "mL"));
    if let (Some(solvent), Some(flow)) = (solvent, outcome.next.last_mut()) {
        flow.old_with("solvent", solvent.name());
    }
    Ok(())
}

fn millimetres(value: f64) -> String {
    with_unit(number::plain(value, 4), "mm")
}

/// The listed columns with the load of each at this ΔRf and bed height.
fn sizes<'a>(inputs: &Inputs<'a>, delta: f64, height: f64) -> Result<Vec<Size<'a>>, Problem> {
    let missing = || Problem::new("diameter", "the table of flash_columns is not loaded");
    let table = inputs
        .library()
        .table("flash_columns")
        .ok_or_else(missing)?;
    let sizes: Vec<Size<'a>> = table
        .records()
        .filter_map(|record| {
            let narrow = record.number("load_narrow")?;
            let wide = record.number("load_wide")?;
            Some(Size {
                record,
                diameter: record.number("diameter")?,
                load: load_at(delta, narrow, wide) * height / BED,
            })
        })
        .collect();
    if sizes.is_empty() {
        return Err(missing());
    }
    Ok(sizes)
}

fn advise(
    outcome: &mut Outcome,
    sample: f64,
    load: f64,
    rf: Measured<Number>,
    given: Option<f64>,
    fitting: Option<&Size<'_>>,
) {
    if given.is_some() && sample > load * (1.0 + 1e-9) {
        outcome.old_care(format!(
            "Overloaded: {} mg on a column that carries {} mg; the bands will run into each other. Take a wider column or several runs.",
            number::plain(sample, 4),
            number::significant(load, 2)
        ));
    }
    if fitting.is_none() {
        outcome.old_note("No listed column carries so much at this ΔRf: divide the sample over several runs, widen ΔRf with another eluent, or separate the bulk by crystallising or distilling first.");
    }
    if rf.value.base() < 0.2 || rf.value.base() > 0.5 {
        outcome.old_note("Bring the Rf near 0.35 with another eluent: lower costs solvent and time, higher leaves no room between the spots.");
        outcome
            .old_then("Find a better eluent", "eluent-blend")
            .old_with("target_rf", "0.35");
    }
    outcome.old_note("The eluent covers wetting the bed and the run to the wanted spot; slower spots need more. Dry-packed silica settles when it is wetted under pressure: fill a little higher.");
    flash::cautions(outcome);
    outcome.old_care(DEFER);
}

/// Each listed column for this sample.
fn table(sizes: &[Size<'_>], height: f64, rf: Measured<Number>, density: f64) -> OldTable {
    let heads = ["Column", "Carries", "Adsorbent", "Eluent", "Fraction"];
    OldTable {
        title: "The listed columns at this ΔRf, Rf and height of bed".into(),
        heads: heads.map(String::from).to_vec(),
        rows: sizes
            .iter()
            .map(|size| {
                let eluent = size.number("eluent_volume") * height / BED * RF / rf.value.base();
                let adsorbent = bed_volume(size.diameter, height) * density;
                vec![
                    size.record.name().to_string(),
                    with_unit(number::significant(size.load, 2), "mg"),
                    with_unit(number::significant(adsorbent, 2), "g"),
                    with_unit(number::significant(eluent, 2), "mL"),
                    with_unit(number::plain(size.number("fraction_volume"), 3), "mL"),
                ]
            })
            .collect(),
    }
}

/// Highest load against diameter, with the sample on it.
fn plot(sizes: &[Size<'_>], used: f64, sample: f64, load: f64) -> Plot {
    let points = || sizes.iter().map(|size| (size.diameter, size.load));
    let listed: Vec<(f64, f64)> = points().collect();
    let from = used.min(10.0);
    let to = used.max(50.0);
    let curve = (0..=40)
        .filter_map(|step| {
            let diameter = from + (to - from) * f64::from(step) / 40.0;
            let by_section = points().map(|(d, load)| (section(d), load));
            Some((diameter, along(by_section, section(diameter))?))
        })
        .collect();
    Plot::old(
        "Highest load against diameter of the column",
        format!(
            "The load grows with the square of the diameter; a column of {} carries {} mg, the sample is {} mg.",
            millimetres(used),
            number::significant(load, 2),
            number::plain(sample, 4)
        ),
        Axis::old_linear("Inner diameter", "mm"),
        Axis::old_linear("Sample", "mg"),
        vec![
            OldLayer::Line {
                label: "highest load".into(),
                points: curve,
            },
            OldLayer::Points {
                label: "listed columns".into(),
                points: listed,
            },
            OldLayer::Mark {
                label: with_unit(number::plain(sample, 4), "mg"),
                x: used,
                y: sample,
                dx: 0.0,
                dy: 0.0,
            },
        ],
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn load_lies_between_the_two_of_the_table() {
        for (delta, load) in [
            (0.05, 80.0),
            (0.1, 160.0),
            (0.15, 280.0),
            (0.2, 400.0),
            (0.5, 400.0),
        ] {
            assert!(
                (load_at(delta, 160.0, 400.0) - load).abs() < 1e-9,
                "{delta}"
            );
        }
    }

    #[test]
    fn needs_its_table() {
        let none = crate::library::Library::default();
        assert!(CALCULATOR.run(&none, &[]).is_err());
    }
}
