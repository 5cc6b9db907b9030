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
use crate::equations::meeting;
use crate::equations::substance::{self, DEFER};
use crate::inputs::{Choice, Entry, Field, Inputs, Kind, Word, form_only};
use crate::library::Record;
use crate::limits::{self, Limit};
use crate::outcome::{Outcome, share_ends};
use crate::plot::spread;
use crate::problem::Problem;
use crate::quantity::{Concentration, Fraction, Mass, Measured, Quantity, Temperature};

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

static SOLUBILITY_FROM: Field<Word> = Field::preset(
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
);

static SOLUBILITY_HOT: Field<Concentration> = Field::preset(
    "solubility_hot",
    "Dissolves hot",
    Kind::Quantity(&SOLUBILITY),
    "5.5 g/100 mL",
    "Near the boiling point of the solvent.",
)
.when(&SOLUBILITY_FROM, &["measured"]);

static SOLUBILITY_COLD: Field<Concentration> = Field::preset(
    "solubility_cold",
    "Dissolves cold",
    Kind::Quantity(&SOLUBILITY),
    "0.53 g/100 mL",
    "At the temperature at which it is filtered.",
)
.when(&SOLUBILITY_FROM, &["measured"]);

static SOLID: Field<Entry> = Field::preset(
    "solid",
    "Solid",
    Kind::Entry("solubilities"),
    "potassium nitrate",
    "From the table of solubilities.",
)
.when(&SOLUBILITY_FROM, &["table"]);

static HOT_TEMPERATURE: Field<Temperature> = Field::preset(
    "hot_temperature",
    "Dissolved at",
    Kind::Quantity(&limits::TEMPERATURE),
    "90 °C",
    "A little below boiling.",
)
.when(&SOLUBILITY_FROM, &["table"]);

static COLD_TEMPERATURE: Field<Temperature> = Field::preset(
    "cold_temperature",
    "Filtered at",
    Kind::Quantity(&limits::TEMPERATURE),
    "5 °C",
    "An ice bath gives about 2 to 5 °C.",
)
.when(&SOLUBILITY_FROM, &["table"]);

static MASS: Field<Mass> = Field::preset(
    "mass",
    "Crude solid",
    Kind::Quantity(&limits::MASS),
    "2.5 g",
    "Dry.",
);

static EXCESS_INPUT: Field<Fraction> = Field::preset(
    "excess",
    "Solvent over the least",
    Kind::Quantity(&EXCESS),
    "10 %",
    "So that it does not crystallise in the filter; 20 to 50 % for hot filtration (common practice).",
);

static SECOND_CROP_VOLUME: Field<Fraction> = Field::preset(
    "second_crop_volume",
    "Mother liquor taken down to",
    Kind::Quantity(&limits::SHARE),
    "30 %",
    "For a second crop.",
);

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "recrystallisation",
    title: "Recrystallisation",
    question: form_only("How much hot solvent, and how much comes back on cooling?"),
    inputs: &[
        &SOLUBILITY_FROM.input,
        &SOLUBILITY_HOT.input,
        &SOLUBILITY_COLD.input,
        &SOLID.input,
        &HOT_TEMPERATURE.input,
        &COLD_TEMPERATURE.input,
        &MASS.input,
        &EXCESS_INPUT.input,
        &SECOND_CROP_VOLUME.input,
    ],
    evaluate,
};

/// mL of solvent that dissolve `mass` g at `solubility` g per 100 mL.
fn dissolves_in(mass: f64, solubility: f64) -> f64 {
    mass / solubility * 100.0
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let table = tabulated(inputs);
    if let Some(solid) = table {
        let names = [solid.name(), solid.text("solvent")];
        meeting::bring_together(inputs.library(), &names, SOLID.input.name, outcome)?;
        substance::hazards_of(inputs.library(), names[1], outcome);
    }
    let hot = solubility(inputs, table, &SOLUBILITY_HOT, &HOT_TEMPERATURE)?;
    let cold = solubility(inputs, table, &SOLUBILITY_COLD, &COLD_TEMPERATURE)?;
    // First order in both solubilities: lost = m·(1 + excess)·S_cold/S_hot.
    let hot_error = hot.error / hot.value.base();
    let errors = libm::hypot(hot_error, cold.error / cold.value.base());
    let (hot, cold) = (hot.value.base(), cold.value.base());
    if cold >= hot {
        let blamed = match table {
            Some(_) => "cold_temperature",
            None => "solubility_cold",
        };
        return Err(Problem::new(
            blamed,
            "{~4} g/100 mL dissolve cold and {~4} g/100 mL hot; nothing crystallises unless the hot value is the greater",
        )
        .number(cold)
        .number(hot));
    }
    let mass = inputs.get(&MASS).in_grams();
    let excess = inputs.get(&EXCESS_INPUT).in_ones();
    let volume = dissolves_in(mass, hot) * (1.0 + excess);
    let lost = (cold * volume / 100.0).min(mass);
    let crystals = mass - lost;
    let kept = inputs.get(&SECOND_CROP_VOLUME).in_ones();
    let second = lost * (1.0 - kept);
    let percent = |grams: f64| grams / mass * 100.0;

    outcome
        .because("Hot it dissolves {2} times as well as cold. Every millilitre of solvent keeps {2} mg of it back, so each one more than needed is paid for.")
        .number(hot / cold)
        .number(cold * 10.0);
    outcome.by_method("Mass balance between the hot and the cold saturated solution; between the temperatures of a table ln(solubility) runs straight in 1/T. The interval carries the errors of both solubilities (first order).");
    match table {
        Some(solid) => {
            outcome
                .from_source("Solubility of {} in {}: {}.")
                .text(solid.name())
                .text(solid.text("solvent"))
                .text(solid.text("source").trim_end_matches('.'));
        }
        None => {
            outcome.from_source(
                "Solubilities as given; the excess of solvent is common practice, no source.",
            );
        }
    }
    outcome.valid_for("A pure solid that comes out without solvent, and a liquor just saturated when it is filtered; impurities change the solubilities.");
    plot(mass, hot, cold, volume, percent(crystals), outcome);
    outcome
        .number("solvent_volume", "Hot solvent", volume, "mL")
        .give_or_take(volume * hot_error);
    outcome
        .number("recovery", "Comes back", percent(crystals), "%")
        .give_or_take(percent(lost * errors));
    // Both are parts of what was weighed in.
    let mut part = |name, label, grams: f64| {
        let figure = outcome.number(name, label, grams, "g");
        if errors > 0.0 {
            let [least, most] = share_ends(grams / mass, lost * errors / mass);
            figure.within(least * mass, most * mass);
        }
    };
    part("crystals", "Crystals", crystals);
    part("mother_liquor", "Stays in the mother liquor", lost);
    outcome
        .number("second_crop", "Second crop", second, "g")
        .digits(2);
    outcome.number("both_crops", "Both crops", percent(crystals + second), "%");
    if let Some(solid) = table {
        used(solid, outcome);
    }
    notes(hot / cold, mass, crystals, outcome);
    outcome.care("Flammable solvent is heated on a water bath or a sealed plate, never over a flame, under a condenser; anti-bumping granules before it is hot, never after.");
    outcome.care(
        "Charcoal only into solution that has cooled a little: into a hot one it boils over.",
    );
    outcome.care(DEFER);
    outcome
        .then("How much for a class?", "class-quantities")
        .with("amounts", "hot solvent: {3} mL")
        .number(volume);
    Ok(())
}

/// The solid of the table, where its solubilities are to be taken.
fn tabulated<'a>(inputs: &Inputs<'a>) -> Option<Record<'a>> {
    inputs
        .entry(&SOLID)
        .filter(|_| inputs.choice(&SOLUBILITY_FROM) == "table")
}

/// A solubility, g per 100 mL: the field `given`, or that of `solid` at the temperature that the
/// field `at` says.
#[inline(never)]
fn solubility(
    inputs: &Inputs<'_>,
    solid: Option<Record<'_>>,
    given: &Field<Concentration>,
    at: &Field<Temperature>,
) -> Result<Measured<Concentration>, Problem> {
    let Some(solid) = solid else {
        return Ok(inputs.get_measured(given));
    };
    let celsius = inputs.get(at).in_celsius();
    let points = dissolving::points(solid);
    match dissolving::solubility(&points, celsius) {
        Some(value) => Ok(Measured {
            value: Concentration::from_base(value),
            error: 0.0,
        }),
        None => {
            let end = |point: Option<&(f64, f64)>| point.map_or(0.0, |p| p.0);
            Err(Problem::new(
                at.input.name,
                "the table knows {} from {~4} to {~4} °C, not at {~4} °C",
            )
            .text(solid.name())
            .number(end(points.first()))
            .number(end(points.last()))
            .number(celsius))
        }
    }
}

/// The row of the table that was used.
fn used(solid: Record<'_>, outcome: &mut Outcome) {
    let unit = solid.text("unit");
    let table = outcome.table("{} in {}", "At\tDissolves");
    table.title.text(solid.name()).text(solid.text("solvent"));
    for (celsius, dissolves) in dissolving::points(solid) {
        table
            .row("{~4} °C\t{~4} {}")
            .number(celsius)
            .number(dissolves)
            .text(unit);
    }
    if unit.ends_with("100 g") {
        outcome.note("The table counts 100 g of solvent; 1 g of water is taken as 1 mL.");
    }
}

fn notes(ratio: f64, mass: f64, crystals: f64, outcome: &mut Outcome) {
    if crystals <= 0.0 {
        outcome.note("So much solvent keeps all of it dissolved: boil some off, or use less.");
    }
    if ratio < POOR_RATIO {
        outcome.note("Hot and cold are too close for a good yield: try another solvent, or a pair: dissolve hot in the better one, add the poorer one to a lasting haze, clear it with a drop of the better, and let it cool.");
    } else if crystals < POOR_RECOVERY * mass {
        outcome.note("Much stays behind in the cold: use less solvent, chill further, or add a poorer solvent that mixes with it.");
    }
    outcome.note("Hot filtration only for what does not dissolve or for charcoal: funnel and flask warm, fluted paper, and a little more solvent, which is boiled off afterwards.");
    outcome.note("The second crop is less pure: keep it apart, and compare melting points before the two are joined.");
}

/// What comes back against the solvent used.
fn plot(mass: f64, hot: f64, cold: f64, volume: f64, recovery: f64, outcome: &mut Outcome) {
    let least = dissolves_in(mass, hot);
    let end = volume.max(least * 1.5) * 1.2;
    let plot = outcome.plot(
        "What comes back against the solvent used",
        "From the least solvent that dissolves it on, the yield falls with every millilitre; {3} mL give {3} %.",
    );
    plot.description.number(volume).number(recovery);
    plot.x.linear("Solvent", "mL").from_to(0.0, end);
    plot.y.linear("Comes back", "%").from_to(0.0, 100.0);
    plot.line("first crop")
        .follow(spread(least, end, 25), &|v| {
            (100.0 - cold * v / mass).max(0.0)
        });
    plot.upright("just dissolves", least);
    plot.mark("{3} %", volume, recovery).number(recovery);
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
