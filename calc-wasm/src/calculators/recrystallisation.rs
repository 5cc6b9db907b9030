//! How much hot solvent, and how much comes back on cooling?
//!
//! Solvent V = 100·m/S_hot·(1 + excess); lost in the mother liquor S_cold·V/100; the rest
//! crystallises. Taking the mother liquor down to a share f of its volume brings a second crop of
//! (1 − f) of what it held. m in g, V in mL, S in g per 100 mL of solvent. Between the
//! temperatures of a table ln S is straight in 1/T (`equations::dissolving`).
//! Mass balance; it holds for a pure solid, a liquor that is just saturated when cold, and
//! crystals that take no solvent with them. Impurities change solubilities.

use crate::calculators::Calculator;
use crate::equations::dissolving;
use crate::equations::substance::DEFER;
use crate::inputs::{Choice, Input, Inputs, Kind, form_only};
use crate::limits::{self, Limit};
use crate::outcome::{OldTable, Outcome, with_unit};
use crate::plot::{Axis, OldLayer, Plot, spread};
use crate::problem::Problem;
use crate::quantity::{Concentration, Fraction, Mass, Measured, Quantity, Temperature, number};

/// Hot over cold solubility below which a solvent is a poor choice (common practice).
const POOR_RATIO: f64 = 4.0;
/// A recovery below this is poor for one crop (common practice).
const POOR_RECOVERY: f64 = 0.8;

/// A solubility.
static SOLUBILITY: Limit = Limit::new(
    Concentration::DIMENSION,
    "g/100 mL",
    1e-4,
    2000.0,
    "less does not dissolve and more is a melt",
);

/// Solvent over the least that dissolves it; a slip of a whole flask must still be worked out.
static EXCESS: Limit = Limit::new(
    Fraction::DIMENSION,
    "%",
    0.0,
    900.0,
    "ten times the solvent keeps next to everything dissolved",
)
.usually(
    5.0,
    50.0,
    "Common practice is a tenth to a half more than the least: less crystallises in the funnel, more costs product.",
);

pub(super) static CALCULATOR: Calculator = Calculator {
    name: "recrystallisation",
    title: "Recrystallisation",
    question: form_only("How much hot solvent, and how much comes back on cooling?"),
    inputs: &[
        Input::preset(
            "solubility_from",
            "Solubilities",
            Kind::Choice(&[
                Choice {
                    name: "measured",
                    label: "that I give",
                },
                Choice {
                    name: "table",
                    label: "from the table",
                },
            ]),
            "measured",
            "A test with 100 mg in a tube is worth more than a table.",
        ),
        Input::preset(
            "solubility_hot",
            "Dissolves hot",
            Kind::Quantity(&SOLUBILITY),
            "5.5 g/100 mL",
            "Near the boiling point of the solvent.",
        )
        .when("solubility_from", &["measured"]),
        Input::preset(
            "solubility_cold",
            "Dissolves cold",
            Kind::Quantity(&SOLUBILITY),
            "0.53 g/100 mL",
            "At the temperature at which it is filtered.",
        )
        .when("solubility_from", &["measured"]),
        Input::preset(
            "solid",
            "Solid",
            Kind::Entry("solubilities"),
            "potassium nitrate",
            "From the table of solubilities.",
        )
        .when("solubility_from", &["table"]),
        Input::preset(
            "hot_temperature",
            "Dissolved at",
            Kind::Quantity(&limits::TEMPERATURE),
            "90 °C",
            "A little below boiling.",
        )
        .when("solubility_from", &["table"]),
        Input::preset(
            "cold_temperature",
            "Filtered at",
            Kind::Quantity(&limits::TEMPERATURE),
            "5 °C",
            "An ice bath gives about 2 to 5 °C.",
        )
        .when("solubility_from", &["table"]),
        Input::preset(
            "mass",
            "Crude solid",
            Kind::Quantity(&limits::MASS),
            "2.5 g",
            "Dry.",
        ),
        Input::preset(
            "excess",
            "Solvent over the least",
            Kind::Quantity(&EXCESS),
            "10 %",
            "So that it does not crystallise in the filter; 20 to 50 % for hot filtration (common practice).",
        ),
        Input::preset(
            "second_crop_volume",
            "Mother liquor taken down to",
            Kind::Quantity(&limits::SHARE),
            "30 %",
            "For a second crop.",
        ),
    ],
    evaluate,
};

/// Hot and cold solubility, g per 100 mL, with their errors.
struct Solubilities {
    hot: Measured<Concentration>,
    cold: Measured<Concentration>,
}

/// mL of solvent that dissolve `mass` g at `solubility` g per 100 mL.
fn dissolves_in(mass: f64, solubility: f64) -> f64 {
    mass / solubility * 100.0
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let at = solubilities(inputs)?;
    let (hot, cold) = (at.hot.value.base(), at.cold.value.base());
    if cold >= hot {
        let blamed = if inputs.choice("solubility_from") == "table" {
            "cold_temperature"
        } else {
            "solubility_cold"
        };
        return Err(Problem::new(
            blamed,
            format!(
                "{} g/100 mL dissolve cold and {} g/100 mL hot; nothing crystallises unless the hot value is the greater",
                number::plain(cold, 4),
                number::plain(hot, 4)
            ),
        ));
    }
    let mass = inputs.need::<Mass>("mass")?.in_grams();
    let excess = inputs.need::<Fraction>("excess")?.in_ones();
    let volume = dissolves_in(mass, hot) * (1.0 + excess);
    let lost = (cold * volume / 100.0).min(mass);
    let crystals = mass - lost;
    // First order in both solubilities: lost = m·(1 + excess)·S_cold/S_hot.
    let errors = libm::hypot(at.hot.error / hot, at.cold.error / cold);
    let kept = inputs.need::<Fraction>("second_crop_volume")?.in_ones();
    let second = lost * (1.0 - kept);
    let percent = |grams: f64| grams / mass * 100.0;

    outcome.because(format!(
            "Hot it dissolves {} times as well as cold. Every millilitre of solvent keeps {} mg of it back, so each one more than needed is paid for.",
            number::significant(hot / cold, 2),
            number::significant(cold * 10.0, 2)
        ));
    outcome.by_method("Mass balance between the hot and the cold saturated solution; between the temperatures of a table ln(solubility) runs straight in 1/T. The interval carries the errors of both solubilities (first order).");
    outcome.from_source(match inputs.entry("solid") {
        Some(solid) if inputs.choice("solubility_from") == "table" => format!(
            "Solubility of {} in {}: {}.",
            solid.name(),
            solid.text("solvent"),
            solid.text("source").trim_end_matches('.')
        ),
        _ => "Solubilities as given; the excess of solvent is common practice, no source."
            .to_string(),
    });
    outcome.valid_for("A pure solid that comes out without solvent, and a liquor just saturated when it is filtered; impurities change the solubilities.");
    outcome.draw(plot(mass, hot, cold, volume, percent(crystals)));
    outcome
        .number("solvent_volume", "Hot solvent", volume, "mL")
        .give_or_take(volume * at.hot.error / hot);
    outcome
        .number("recovery", "Comes back", percent(crystals), "%")
        .give_or_take(percent(lost * errors));
    outcome
        .number("crystals", "Crystals", crystals, "g")
        .give_or_take(lost * errors);
    outcome
        .number("mother_liquor", "Stays in the mother liquor", lost, "g")
        .give_or_take(lost * errors);
    outcome
        .number("second_crop", "Second crop", second, "g")
        .digits(2);
    outcome.number("both_crops", "Both crops", percent(crystals + second), "%");
    tables(inputs, outcome);
    notes(hot / cold, mass, crystals, outcome);
    outcome.old_care("Flammable solvent is heated on a water bath or a sealed plate, never over a flame, under a condenser; anti-bumping granules before it is hot, never after.");
    outcome.old_care(
        "Charcoal only into solution that has cooled a little: into a hot one it boils over.",
    );
    outcome.old_care(DEFER);
    let solvent = number::significant(volume, 3);
    outcome
        .old_then("How much for a class?", "class-quantities")
        .old_with("amounts", &format!("hot solvent: {solvent} mL"));
    Ok(())
}

fn solubilities(inputs: &Inputs<'_>) -> Result<Solubilities, Problem> {
    if inputs.choice("solubility_from") != "table" {
        return Ok(Solubilities {
            hot: inputs.need_measured("solubility_hot")?,
            cold: inputs.need_measured("solubility_cold")?,
        });
    }
    let Some(solid) = inputs.entry("solid") else {
        return Err(Problem::new("solid", "name a solid of the table"));
    };
    let points = dissolving::points(solid);
    let at = |name| {
        let celsius = inputs.need::<Temperature>(name)?.in_celsius();
        let value = dissolving::solubility(&points, celsius).ok_or_else(|| {
            let end = |point: Option<&(f64, f64)>| point.map_or(0.0, |p| p.0);
            Problem::new(
                name,
                format!(
                    "the table knows {} from {} to {} °C, not at {} °C",
                    solid.name(),
                    number::plain(end(points.first()), 4),
                    number::plain(end(points.last()), 4),
                    number::plain(celsius, 4)
                ),
            )
        })?;
        Ok(Measured {
            value: Concentration::from_base(value),
            error: 0.0,
        })
    };
    Ok(Solubilities {
        hot: at("hot_temperature")?,
        cold: at("cold_temperature")?,
    })
}

/// The row of the table that was used.
fn tables(inputs: &Inputs<'_>, outcome: &mut Outcome) {
    let Some(solid) = inputs
        .entry("solid")
        .filter(|_| inputs.choice("solubility_from") == "table")
    else {
        return;
    };
    let unit = solid.text("unit");
    let rows = dissolving::points(solid)
        .iter()
        .map(|(celsius, dissolves)| {
            vec![
                with_unit(number::plain(*celsius, 4), "°C"),
                format!("{} {unit}", number::plain(*dissolves, 4)),
            ]
        })
        .collect();
    outcome.tables.push(
        OldTable {
            title: format!("{} in {}", solid.name(), solid.text("solvent")),
            heads: vec!["At".into(), "Dissolves".into()],
            rows,
        }
        .into(),
    );
    if unit.ends_with("100 g") {
        outcome.old_note("The table counts 100 g of solvent; 1 g of water is taken as 1 mL.");
    }
}

fn notes(ratio: f64, mass: f64, crystals: f64, outcome: &mut Outcome) {
    if crystals <= 0.0 {
        outcome.old_note("So much solvent keeps all of it dissolved: boil some off, or use less.");
    }
    if ratio < POOR_RATIO {
        outcome.old_note("Hot and cold are too close for a good yield: try another solvent, or a pair: dissolve hot in the better one, add the poorer one to a lasting haze, clear it with a drop of the better, and let it cool.");
    } else if crystals < POOR_RECOVERY * mass {
        outcome.old_note("Much stays behind in the cold: use less solvent, chill further, or add a poorer solvent that mixes with it.");
    }
    outcome.old_note("Hot filtration only for what does not dissolve or for charcoal: funnel and flask warm, fluted paper, and a little more solvent, which is boiled off afterwards.");
    outcome.old_note("The second crop is less pure: keep it apart, and compare melting points before the two are joined.");
}

/// What comes back against the solvent used.
fn plot(mass: f64, hot: f64, cold: f64, volume: f64, recovery: f64) -> Plot {
    let least = dissolves_in(mass, hot);
    let end = volume.max(least * 1.5) * 1.2;
    let points = spread(least, end, 25)
        .map(|v| (v, (100.0 - cold * v / mass).max(0.0)))
        .collect();
    Plot::old(
        "What comes back against the solvent used",
        format!(
            "From the least solvent that dissolves it on, the yield falls with every millilitre; {} mL give {} %.",
            number::significant(volume, 3),
            number::significant(recovery, 3)
        ),
        Axis::old_linear("Solvent", "mL").old_from_to(0.0, end),
        Axis::old_linear("Comes back", "%").old_from_to(0.0, 100.0),
        vec![
            OldLayer::Line {
                label: "first crop".into(),
                points,
            },
            OldLayer::Upright {
                label: "just dissolves".into(),
                x: least,
            },
            OldLayer::Mark {
                label: with_unit(number::significant(recovery, 3), "%"),
                x: volume,
                y: recovery,
                dx: 0.0,
                dy: 0.0,
            },
        ],
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outcome::Figure;

    fn run(pairs: &[(&str, &str)]) -> Result<Outcome, Vec<Problem>> {
        let tables = "[solubilities]\nname\tsolvent\tunit\ttemperatures\tsolubilities\n\
             potassium nitrate\twater\tg/100 g\t0 20 100\t13.3 31.6 246\n";
        CALCULATOR.run_on(tables, pairs)
    }

    #[test]
    fn table_and_given_solubilities_agree() {
        let table = run(&[
            ("solubility_from", "table"),
            ("hot_temperature", "100 °C"),
            ("cold_temperature", "0 °C"),
        ]);
        let given = run(&[
            ("solubility_hot", "246 g/100 mL"),
            ("solubility_cold", "13.3 g/100 mL"),
        ]);
        let recovery = |run: Result<Outcome, _>| {
            run.unwrap()
                .figure("recovery")
                .and_then(Figure::number)
                .unwrap()
        };
        assert!((recovery(table) - recovery(given)).abs() < 1e-9);
    }

    #[test]
    fn refuses_what_the_table_does_not_reach() {
        let problems =
            run(&[("solubility_from", "table"), ("cold_temperature", "-10 °C")]).unwrap_err();
        assert_eq!(
            problems.first().map(|p| p.input.as_str()),
            Some("cold_temperature")
        );
    }
}
