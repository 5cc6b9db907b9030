//! What pressure drives a flash column, and how fast would it run by gravity alone?
//!
//! Δp = 180·μ·u·L·(1 − ε)²/(ε³·d²) (Kozeny and Carman), see `equations::flash`. Flow is in
//! proportion to pressure, so the weight of the liquid, ρ·g·(bed + liquid above it), gives the
//! flow by gravity. Time of the run = eluent/(u·cross-section).
//! It holds for an evenly packed bed of grains of one size and slow flow.

use crate::calculators::Calculator;
use crate::equations::flash::{self, pressure_drop, section};
use crate::equations::substance::{self, DEFER};
use crate::inputs::{Entry, Field, Inputs, Kind, form_only};
use crate::library::Record;
use crate::limits::{self, Limit};
use crate::outcome::Outcome;
use crate::plot::spread_log;
use crate::problem::Problem;
use crate::quantity::{Fraction, Length, LinearFlow, Measured, Quantity, Volume};

/// Standard acceleration of free fall, m/s².
const GRAVITY: f64 = 9.806_65;
/// What a water-jet or diaphragm pump pulls, and what a bench pump or regulated gas line pushes
/// through glass at most, kPa (common practice).
const SUCTION: f64 = 80.0;
const PUSH: f64 = 100.0;
/// How well a voidage is known when nobody measured it (common practice).
const VOIDAGE_ERROR: f64 = 0.02;

static GRAIN: Limit = Limit::new(
    Length::DIMENSION,
    "µm",
    1.0,
    2000.0,
    "finer is for steel columns, coarser is gravel",
)
.usually(
    15.0,
    250.0,
    "Adsorbents for glass columns have grains of some 15 to 250 µm.",
);

static VOIDAGE: Limit = Limit::new(
    Fraction::DIMENSION,
    "",
    0.2,
    0.8,
    "grains leave at least a fifth of the space free, and touch each other",
)
.usually(0.35, 0.5, "A well-packed bed has a voidage near 0.40.");

static HEAD: Limit = Limit::new(
    Length::DIMENSION,
    "mm",
    0.0,
    2000.0,
    "a reservoir is no higher than the hood",
);

static PARTICLE_SIZE: Field<Length> = Field::preset(
    "particle_size",
    "Grain",
    Kind::Quantity(&GRAIN),
    "50 µm",
    "Middle of the size range, such as 50 for 40–63.",
);

static SOLVENT: Field<Entry> = Field::preset(
    "solvent",
    "Solvent",
    Kind::Entry("solvents"),
    "ethyl acetate",
    "Of a mixture, the more viscous one.",
);

static LINEAR_FLOW: Field<LinearFlow> = Field::preset(
    "linear_flow",
    "Level sinks by",
    Kind::Quantity(&limits::LINEAR_FLOW),
    "5 cm/min",
    "Above the bed; 5 cm/min is the flow of the first paper.",
);

static VOIDAGE_INPUT: Field<Fraction> = Field::preset(
    "voidage",
    "Voidage",
    Kind::Quantity(&VOIDAGE),
    "0.40",
    "Share of the bed between the grains.",
);

static LIQUID_HEIGHT: Field<Length> = Field::preset(
    "liquid_height",
    "Liquid above the bed",
    Kind::Quantity(&HEAD),
    "100 mm",
    "For the flow by gravity.",
);

static ELUENT_VOLUME: Field<Volume> = Field::preset(
    "eluent_volume",
    "Eluent in all",
    Kind::Quantity(&limits::VOLUME),
    "200 mL",
    "For the time of the run.",
);

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "flash-flow",
    title: "Flash column: flow and pressure",
    question: form_only("What pressure does it need, and how long does it run?"),
    inputs: &[
        &PARTICLE_SIZE.input,
        &flash::DIAMETER.input,
        &flash::BED_HEIGHT.input,
        &SOLVENT.input,
        &LINEAR_FLOW.input,
        &VOIDAGE_INPUT.input,
        &LIQUID_HEIGHT.input,
        &ELUENT_VOLUME.input,
    ],
    evaluate,
};

/// The run that is asked for, and what it takes.
struct Run {
    /// Speed at which the level should sink, cm/min.
    flow: Measured<LinearFlow>,
    /// Pressure for that, and the pressure that the liquid's weight gives, kPa.
    needed: f64,
    weight: f64,
    /// Speed by that weight alone, cm/min.
    by_gravity: f64,
    /// Relative half-widths that the bed and the wanted flow bring, first order.
    of_bed: f64,
    of_flow: f64,
    /// Whether the equation holds here.
    holds: bool,
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let diameter = inputs.get(&flash::DIAMETER).in_millimetres();
    let height = inputs.get(&flash::BED_HEIGHT).in_millimetres();
    let eluent = inputs.get(&ELUENT_VOLUME).in_millilitres();
    let solvent = inputs.need_entry(&SOLVENT)?;
    let run = run(inputs, solvent, height)?;

    outcome
        .because("Pressure grows with flow, height and viscosity, and with the inverse square of the grain: half the grain takes four times the pressure. Gravity alone lets the level sink by {2} cm/min.")
        .number(run.by_gravity);
    outcome.by_method("Kozeny–Carman equation with viscosity at 25 °C; the interval joins the voidage, ± 0.02 unless you give your own, with the errors of grain and flow (first order).");
    outcome.from_source("P. C. Carman, Trans. Inst. Chem. Eng. 15 (1937) 150; viscosity and density from the table of solvents; limits of suction and glass common practice, no source.");
    outcome.valid_for("Evenly packed grains of one size, slow flow (Reynolds number of the grain below 1), nothing blocked by the sample; a mixture may be more viscous than its parts.");
    outcome.in_range(run.holds);
    plot(&run, outcome);
    figures(&run, section(diameter), eluent, outcome);
    flash::cautions(outcome);
    if run.needed > PUSH {
        outcome
            .danger("{2} kPa is more than a glass column on the bench may be given: coarser grain, a lower bed or a slower run. Never more than the maker allows for column and reservoir.")
            .number(run.needed);
    }
    if run.needed > run.weight {
        outcome.care("Under suction a low-boiling eluent boils in the bed and cracks it: push rather than pull.");
    }
    flash::waste(Some(solvent.is("halogenated")), outcome);
    substance::hazards_of(inputs.library(), solvent.name(), outcome);
    outcome.care(DEFER);
    let next = outcome.then("In which fractions will it be?", "flash-elution");
    flash::carry_over(diameter, height, next);
    Ok(())
}

fn run(inputs: &Inputs<'_>, solvent: Record<'_>, height: f64) -> Result<Run, Problem> {
    let grain = inputs.get_measured(&PARTICLE_SIZE);
    let micrometres = grain.value.in_millimetres() * 1000.0;
    let above = inputs.get(&LIQUID_HEIGHT).in_millimetres();
    let flow = inputs.get_measured(&LINEAR_FLOW);
    let voidage = inputs.get_measured(&VOIDAGE_INPUT);
    let share = voidage.value.in_ones();
    let known = |property| {
        solvent.number(property).ok_or_else(|| {
            Problem::new(SOLVENT.input.name, "no {} of {} is known here")
                .text(property)
                .text(solvent.name())
        })
    };
    let viscosity = known("viscosity")?;
    let density = known("density")?;

    let drop = |flow: f64| pressure_drop(viscosity, flow, height, share, micrometres);
    let wanted = flow.value.base();
    // g/mL times mm of liquid is N/m² over 1/g: pascal.
    let weight = density * GRAVITY * (height + above) / 1000.0;
    // Relative errors, first order: grain counts twice, voidage by its derivative.
    let loose = if voidage.error > 0.0 {
        voidage.error
    } else {
        VOIDAGE_ERROR
    };
    let reynolds = density * wanted / 6.0 * micrometres / 1000.0 / viscosity;
    Ok(Run {
        flow,
        needed: drop(wanted),
        weight,
        by_gravity: weight / drop(1.0),
        of_bed: libm::hypot(
            2.0 * grain.error / grain.value.base(),
            loose * (2.0 / (1.0 - share) + 3.0 / share),
        ),
        of_flow: flow.error / wanted,
        holds: reynolds < 1.0 && (0.3..=0.55).contains(&share),
    })
}

/// What the run takes on a column of `area` cm² with `eluent` mL.
fn figures(run: &Run, area: f64, eluent: f64, outcome: &mut Outcome) {
    let needed = run.needed;
    outcome
        .number("pressure_drop", "Pressure needed", needed, "kPa")
        .give_or_take(needed * libm::hypot(run.of_bed, run.of_flow));
    outcome.verdict("drive", "What drives it", drive(needed, run.weight));
    let by_gravity = run.by_gravity * area;
    outcome
        .number(
            "gravity_flow",
            "Flow by gravity alone",
            by_gravity,
            "mL/min",
        )
        .give_or_take(by_gravity * run.of_bed);
    let wanted = run.flow.value.base() * area;
    outcome
        .number("flow", "Flow wanted", wanted, "mL/min")
        .give_or_take(wanted * run.of_flow);
    let time = eluent / wanted;
    outcome
        .number("run_time", "Time of the run", time, "min")
        .digits(2)
        .give_or_take(time * run.of_flow);
    outcome
        .number(
            "gravity_time",
            "The same by gravity",
            eluent / by_gravity,
            "min",
        )
        .digits(2);
}

/// What brings `needed` kPa, when the liquid's weight brings `weight`.
fn drive(needed: f64, weight: f64) -> &'static str {
    match needed {
        p if p <= weight => "gravity is enough",
        p if p <= SUCTION => "suction, hand bellows or a gentle gas pressure",
        p if p <= PUSH => "gas pressure or a pump, no longer suction",
        _ => "beyond a glass column",
    }
}

/// Pressure against flow, with gravity, suction and the limit of glass.
fn plot(run: &Run, outcome: &mut Outcome) {
    let (wanted, needed) = (run.flow.value.base(), run.needed);
    let slope = needed / wanted;
    let low = wanted.min(run.by_gravity) / 2.0;
    let high = (wanted.max(run.by_gravity) * 2.0).max(1.2 * PUSH / slope);
    let plot = outcome.plot(
        "Pressure against flow",
        "Pressure grows in proportion to flow. At {~3} cm/min it is {3} kPa; the weight of the liquid gives {2} kPa, suction about 80, and glass on the bench bears about 100.",
    );
    plot.description
        .number(wanted)
        .number(needed)
        .number(run.weight);
    plot.x.log("Level sinks by", "cm/min");
    plot.y.log("Pressure", "kPa");
    let line = plot.line("pressure needed");
    for flow in spread_log(low, high, 11) {
        line.point(flow, slope * flow);
    }
    plot.level("gravity", run.weight);
    plot.level("suction", SUCTION);
    plot.level("pump, glass", PUSH);
    plot.mark("{3} kPa", wanted, needed).number(needed);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::library::Library;
    use crate::number;
    use crate::outcome::Figure;

    /// By gravity, the pressure needed must be the weight of the liquid: 250 mm of water is
    /// 2.447 kPa (998.2 kg/m³ × 9.80665 m/s² × 0.25 m).
    #[test]
    fn gravity_flow_needs_the_weight_of_the_liquid() {
        let library =
            Library::from_text("[solvents]\nname\tviscosity\tdensity\nwater\t0.89\t0.9982\n")
                .unwrap();
        let run = |flow: String| {
            let pairs = [("solvent", "water".to_string()), ("linear_flow", flow)]
                .map(|(name, text)| (name.to_string(), text));
            CALCULATOR.run(&library, &pairs).unwrap()
        };
        let of =
            |outcome: &Outcome, name: &str| outcome.figure(name).and_then(Figure::number).unwrap();
        let gravity = of(&run("5 cm/min".into()), "gravity_flow") / section(20.0);
        let again = run(format!("{} cm/min", number::fixed(gravity, 9)));
        assert!((of(&again, "pressure_drop") - 2.447).abs() < 0.001);
    }

    #[test]
    fn names_what_drives_it() {
        assert_eq!(drive(1.0, 2.0), "gravity is enough");
        assert_eq!(drive(200.0, 2.0), "beyond a glass column");
    }
}
