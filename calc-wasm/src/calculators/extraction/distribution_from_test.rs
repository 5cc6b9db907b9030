//! What is the distribution constant, from one extraction in which both layers were weighed?
//!
//! D = (m_org/V_org)/(m_aq/V_aq), masses of solute in g, volumes in mL, D without unit. With only
//! one layer weighed, the other holds what is missing from the mass taken. Errors of the four
//! readings are independent: (u_D/D)² = Σ (u/x)²; by difference the two masses are not, and
//! u_D/D = √(u_total²·m_org² + u_org²·m_total²)/(m_org·m_aq) with the volumes added.
//! Source: IUPAC Gold Book, distribution ratio. It holds at the temperature, pH and concentration
//! of the test, for layers that were shaken until nothing more passed over.

use crate::calculators::Calculator;
use crate::equations::substance::DEFER;
use crate::inputs::{Choice, Field, Inputs, Kind, Word, form_only};
use crate::limits;
use crate::outcome::Outcome;
use crate::plot::spread;
use crate::problem::Problem;
use crate::quantity::{Mass, Measured, Quantity, Volume};

/// A layer with less than this share of the solute decides the error, and is hard to weigh.
const SMALL_SHARE: f64 = 0.05;

static FOUND_IN: Field<Word> = Field::preset(
    "found_in",
    "Weighed",
    Kind::Choice(&[
        Choice {
            name: "both layers",
            label: "both layers",
        },
        Choice {
            name: "solvent layer",
            label: "the solvent layer only",
        },
    ]),
    "both layers",
    "Both are better: what is missing then shows.",
);

static MASS_ORGANIC: Field<Mass> = Field::preset(
    "mass_organic",
    "Found in the solvent",
    Kind::Quantity(&limits::MASS),
    "60 ± 1 mg",
    "Dried and taken to dryness; add the error of weighing.",
);

static MASS_AQUEOUS: Field<Mass> = Field::preset(
    "mass_aqueous",
    "Found in the water",
    Kind::Quantity(&limits::MASS),
    "40 ± 1 mg",
    "By weighing, titration or absorbance.",
)
.when(&FOUND_IN, &["both layers"]);

static MASS_TAKEN: Field<Mass> = Field::preset(
    "mass_taken",
    "Taken for the test",
    Kind::Quantity(&limits::MASS),
    "100 ± 1 mg",
    "What is not in the solvent counts as in the water.",
)
.when(&FOUND_IN, &["solvent layer"]);

static ORGANIC_VOLUME: Field<Volume> = Field::preset(
    "organic_volume",
    "Solvent",
    Kind::Quantity(&limits::VOLUME),
    "15.0 ± 0.1 mL",
    "After shaking, if the layers have changed.",
);

static AQUEOUS_VOLUME: Field<Volume> = Field::preset(
    "aqueous_volume",
    "Water layer",
    Kind::Quantity(&limits::VOLUME),
    "50.0 ± 0.5 mL",
    "After shaking.",
);

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "distribution-from-test",
    title: "Distribution from a test",
    question: form_only("What is the distribution constant, from one measured extraction?"),
    inputs: &[
        &FOUND_IN.input,
        &MASS_ORGANIC.input,
        &MASS_AQUEOUS.input,
        &MASS_TAKEN.input,
        &ORGANIC_VOLUME.input,
        &AQUEOUS_VOLUME.input,
    ],
    evaluate,
};

/// D = (m_org/V_org)/(m_aq/V_aq).
fn distribution(organic: f64, aqueous: f64, organic_volume: f64, aqueous_volume: f64) -> f64 {
    (organic / organic_volume) / (aqueous / aqueous_volume)
}

/// Error over value of a reading.
fn relative<Q: Quantity>(reading: Measured<Q>) -> f64 {
    reading.error / reading.value.base()
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let organic = inputs.get_measured(&MASS_ORGANIC);
    let solvent = inputs.get_measured(&ORGANIC_VOLUME);
    let water = inputs.get_measured(&AQUEOUS_VOLUME);
    let in_solvent = organic.value.in_grams();
    let (in_water, masses) = if inputs.choice(&FOUND_IN) == "both layers" {
        let aqueous = inputs.get_measured(&MASS_AQUEOUS);
        let share = libm::hypot(relative(organic), relative(aqueous));
        (aqueous.value.in_grams(), share)
    } else {
        let taken = inputs.get_measured(&MASS_TAKEN);
        let total = taken.value.in_grams();
        let rest = total - in_solvent;
        if rest <= 0.0 {
            return Err(Problem::new(
                MASS_TAKEN.input.name,
                "no more was taken than was found in the solvent, so nothing is left for the water; dry the solvent layer better, or weigh both layers",
            ));
        }
        let error = libm::hypot(taken.error * in_solvent, organic.error * total);
        (rest, error / (in_solvent * rest))
    };
    let volumes = libm::hypot(relative(solvent), relative(water));
    let (v_org, v_aq) = (solvent.value.in_millilitres(), water.value.in_millilitres());
    let d = distribution(in_solvent, in_water, v_org, v_aq);
    let half = d * libm::hypot(masses, volumes);
    let share = in_solvent / (in_solvent + in_water);

    if masses > volumes {
        outcome
            .because("Weighing decides the error: the masses make the constant {2} % uncertain, the volumes {2} %.")
            .number(masses * 100.0)
            .number(volumes * 100.0);
    } else {
        outcome
            .because("The solvent holds {2} times the concentration of the water, whatever the volumes; the volumes decide how much that brings out.")
            .number(d);
    }
    outcome.by_method("Ratio of the concentrations found; the interval joins the reading errors entered, as the root of the sum of squares (first order).");
    outcome.from_source("IUPAC Gold Book, distribution ratio.");
    outcome
        .valid_for("The temperature, pH and concentration of the test, and layers at equilibrium.");
    plot(d, v_org / v_aq, share * 100.0, outcome);
    outcome
        .number("distribution", "Distribution constant", d, "")
        .give_or_take(half);
    outcome.number("extracted", "This shaking brought out", share * 100.0, "%");
    if share.min(1.0 - share) < SMALL_SHARE {
        outcome.note("One layer holds next to nothing, so its error decides: repeat the test with a ratio of volumes that divides the solute more evenly.");
    }
    if half > 0.5 * d {
        outcome.note("The errors are so large that only the size of the constant is known.");
    }
    outcome.note("Repeat it at another concentration: if the constant moves, the solute pairs, ionises or nears its solubility in one of the layers.");
    outcome.danger("Vent often, with the stem up and pointing away from people, into the hood.");
    outcome.care(DEFER);
    for (label, calculator) in &[
        ("How many portions?", "repeated-extraction"),
        ("Continuous extraction instead?", "continuous-extraction"),
    ] {
        let next = outcome.then(label, calculator);
        let ratio = next.with("distribution", "{~4}");
        ratio.number(d);
        if half > 0.0 && half < d {
            ratio.more(" ± {~2}").number(half);
        }
        next.with("aqueous_volume", "{~5} mL").number(v_aq);
    }
    Ok(())
}

/// What one shaking brings out, against the ratio of volumes; the test marked.
fn plot(d: f64, ratio: f64, percent: f64, outcome: &mut Outcome) {
    let end = (ratio * 2.0).max(1.0);
    let plot = outcome.plot(
        "What one shaking brings out",
        "The more solvent for the water, the more comes out, but ever less for each millilitre; the test brought out {3} %.",
    );
    plot.description.number(percent);
    plot.x
        .linear("Solvent for one part of water", "")
        .from_to(0.0, end);
    plot.y.linear("Brought out", "%").from_to(0.0, 100.0);
    plot.line("brought out")
        .follow(spread(0.0, end, 41), &|r| 100.0 * d * r / (1.0 + d * r));
    plot.mark("the test", ratio, percent);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::library::Library;

    fn half(pairs: &[(&str, &str)]) -> f64 {
        let given: Vec<_> = pairs
            .iter()
            .map(|(a, b)| (a.to_string(), b.to_string()))
            .collect();
        let outcome = CALCULATOR.run(&Library::default(), &given).unwrap();
        let figure = outcome.figure("distribution").unwrap().clone();
        (figure.high.unwrap() - figure.low.unwrap()) / 2.0
    }

    /// Against the change of D itself when one reading is moved by its error.
    #[test]
    fn carries_the_error_of_a_difference() {
        let volumes = [("organic_volume", "10 mL"), ("aqueous_volume", "10 mL")];
        let by_difference = |organic, taken| {
            let mut pairs = vec![
                ("found_in", "solvent layer"),
                ("mass_organic", organic),
                ("mass_taken", taken),
            ];
            pairs.extend(volumes);
            half(&pairs)
        };
        // 60 mg of 100: D = 1.5; with 0.1 mg more in the solvent 60.1/39.9, in all 60/40.1.
        let organic = by_difference("60 ± 0.1 mg", "100 mg");
        assert!((organic - (60.1 / 39.9 - 1.5)).abs() < 3e-5, "{organic}");
        let taken = by_difference("60 mg", "100 ± 0.1 mg");
        assert!((taken - (1.5 - 60.0 / 40.1)).abs() < 3e-5, "{taken}");
    }

    #[test]
    fn refuses_more_found_than_taken() {
        let given = [("found_in", "solvent layer"), ("mass_organic", "110 mg")]
            .map(|(a, b)| (a.to_string(), b.to_string()));
        let problems = CALCULATOR.run(&Library::default(), &given).unwrap_err();
        assert_eq!(
            problems.first().map(|p| p.input.as_str()),
            Some("mass_taken")
        );
    }
}
