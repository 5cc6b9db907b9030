//! At what pressure does a known substance boil at this temperature?
//!
//! log₁₀ p = A − B/(C + t) (Antoine), p in mmHg, t in °C; see `equations::vapour` for source and
//! range. The sources' disagreement and the reading error of the temperature, joined as the root
//! of the sum of squares, shift p by |dp/dT|·u(T), first order. The result is also the vapour
//! pressure of the liquid at that temperature.

use crate::calculators::Calculator;
use crate::equations::substance;
use crate::equations::vacuum::{Source, that_reach};
use crate::equations::vapour::Curve;
use crate::inputs::{Field, Inputs, Kind, form_only};
use crate::limits;
use crate::outcome::Outcome;
use crate::problem::Problem;
use crate::quantity::Temperature;

/// Tap water for the water-jet pump, where nothing is asked about it, °C.
const TAP: f64 = 15.0;

static TEMPERATURE: Field<Temperature> = Field::preset(
    "temperature",
    "Boiling temperature wanted",
    Kind::Quantity(&limits::TEMPERATURE),
    "50 °C",
    "At the still head; add the reading error, as in 50 ± 1 °C.",
);

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "boiling-pressure",
    title: "Pressure for a boiling point",
    question: form_only("What pressure brings it to this temperature?"),
    inputs: &[&substance::SUBSTANCE.input, &TEMPERATURE.input],
    evaluate,
};

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let curve = Curve::read(inputs, &substance::SUBSTANCE)?;
    let temperature = inputs.get_measured(&TEMPERATURE);
    let (mmhg, half) = curve.pressure("temperature", temperature)?;
    let celsius = temperature.value.in_celsius();
    let per_degree = 1.0 / curve.slope(mmhg);

    outcome
        .because("Here each degree takes {2} mmHg, {2} % of the pressure: the vapour pressure grows by a like share for each degree.")
        .number(per_degree)
        .number(per_degree / mmhg * 100.0);
    outcome.by_method("Antoine equation with constants fitted to the best published source; the interval joins the disagreement between sources with the reading error of the temperature (first order).");
    curve.vouch(outcome);
    curve.plot([mmhg, half], [celsius, temperature.error], outcome);
    outcome
        .number("pressure", "Pressure", mmhg, "mmHg")
        .give_or_take(half);
    outcome
        .number("slope", "Change with temperature", per_degree, "mmHg/°C")
        .digits(2);
    if mmhg > 760.0 {
        outcome.note("That is above one atmosphere: at lower pressure it boils before it gets there, and a closed vessel would be under pressure.");
    } else if mmhg < 700.0 {
        let names = that_reach(&Source::all(inputs.library(), TAP), mmhg);
        if names.is_empty() {
            outcome.note("None of the usual sources of vacuum reaches that pressure.");
        } else {
            outcome
                .note("Reached by: {} (tap water at {.0} °C).")
                .text(&names)
                .number(TAP);
        }
    }
    substance::cautions(curve.record, outcome);
    substance::vacuum(mmhg, outcome);
    outcome.care(substance::DEFER);
    substance::then(
        curve.record,
        "What does a reading error there do?",
        "boiling-point",
        outcome,
    )
    .with("pressure", "{~3} mmHg")
    .number(mmhg);
    substance::then(
        curve.record,
        "Which pump and pressure?",
        "vacuum-plan",
        outcome,
    );
    substance::then(curve.record, "Set the bath for it", "bath-setting", outcome)
        .with("pressure", "{~3} mmHg")
        .number(mmhg);
    Ok(())
}

#[cfg(test)]
mod tests {
    use crate::calculators;
    use crate::library::Library;

    const TABLES: &str = "[substances]\nname\tmelting_point\tvapour_pressure\tvapour_pressure_range\n\
        water\t0\t8.07276 1732.063 233.665\t0.01 101.42";

    /// There and back again is the same (the equation is its own inverse).
    #[test]
    fn is_the_inverse_of_the_boiling_point() {
        let library = Library::from_text(TABLES).unwrap();
        let run = |name: &str, key: &str, text: String| {
            let given = [
                ("substance".to_string(), "water".to_string()),
                (key.to_string(), text),
            ];
            let outcome = calculators::find(name).unwrap().run(&library, &given);
            outcome.unwrap().figures.first().unwrap().number().unwrap()
        };
        for celsius in [1.0, 25.0, 60.0, 100.0] {
            let mmhg = run("boiling-pressure", "temperature", format!("{celsius} °C"));
            let back = run("boiling-point", "pressure", format!("{mmhg} mmHg"));
            assert!(
                (back - celsius).abs() < 1e-6,
                "{celsius} came back as {back}"
            );
        }
    }
}
