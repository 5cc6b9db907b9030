//! How many portions of solvent, of what size, bring how much out of the water?
//!
//! Fraction left in the water after n equal portions: qⁿ, q = V_aq/(V_aq + D·V_org), with V_org
//! one portion and D = c(organic)/c(aqueous). With the total solvent fixed, more and smaller
//! portions leave less, down to exp(−D·V_total/V_aq). Portions for a recovery R:
//! n = ln(1 − R)/ln q, rounded up. A weak acid is drawn out only as far as it is not ionised:
//! D = K/(1 + 10^(pH − pKa)); a base, mirrored.
//! Source: D. Harvey, Analytical Chemistry 2.1, section 7.7, Liquid–Liquid Extractions.
//! It holds for one solute at low concentration, layers that do not change volume, and full
//! equilibrium at each shaking.

use crate::calculators::Calculator;
use crate::equations::substance::DEFER;
use crate::inputs::{Choice, Input, Inputs, Kind, form_only};
use crate::limits;
use crate::outcome::{OldTable, Outcome, with_unit};
use crate::plot::{Axis, OldLayer, Plot};
use crate::problem::Problem;
use crate::quantity::{Distribution, Fraction, Number, Volume, number};

/// More portions than this, and continuous extraction is the better way (common practice).
const MANY_PORTIONS: f64 = 6.0;
/// Portions drawn at most.
const MOST_DRAWN: f64 = 12.0;

pub(super) static CALCULATOR: Calculator = Calculator {
    name: "repeated-extraction",
    title: "Repeated extraction",
    question: form_only("How many portions of solvent, and of what size?"),
    inputs: &[
        Input::preset(
            "distribution",
            "Distribution constant",
            Kind::Quantity(&limits::DISTRIBUTION),
            "5",
            "Concentration in the solvent over that in the water; of an acid or base, of its neutral form.",
        ),
        Input::preset(
            "aqueous_volume",
            "Water layer",
            Kind::Quantity(&limits::VOLUME),
            "50 mL",
            "What is extracted.",
        ),
        Input::preset(
            "portion_volume",
            "One portion of solvent",
            Kind::Quantity(&limits::VOLUME),
            "15 mL",
            "Each time fresh.",
        ),
        Input::optional(
            "portions",
            "Number of portions",
            Kind::Quantity(&limits::COUNT),
            "Blank, if a recovery is to be reached.",
        ),
        Input::optional(
            "target_recovery",
            "Recovery to reach",
            Kind::Quantity(&limits::TARGET),
            "Blank, if portions are given; 99 % if both are blank.",
        ),
        Input::preset(
            "kind",
            "The solute is",
            Kind::Choice(KINDS),
            "neutral",
            "An acid or a base leaves the water only while it is not ionised.",
        ),
        Input::optional(
            "pKa",
            "pKa",
            Kind::Quantity(&limits::PH),
            "Of the acid, or of the base’s conjugate acid.",
        )
        .when("kind", &["acid", "base"]),
        Input::optional(
            "pH",
            "pH of the water layer",
            Kind::Quantity(&limits::PH),
            "After the salts and acids are in.",
        )
        .when("kind", &["acid", "base"]),
    ],
    evaluate,
};

static KINDS: &[Choice] = &[
    Choice {
        name: "neutral",
        label: "neutral",
    },
    Choice {
        name: "acid",
        label: "an acid",
    },
    Choice {
        name: "base",
        label: "a base",
    },
];

/// Fraction of solute left in the aqueous layer after `portions` equal extractions.
///
/// q = (V_aq/(V_aq + D·V_org))ⁿ, with V_org the volume of *one* portion, mL. D is
/// c(organic)/c(aqueous), without unit, at the working temperature.
fn left_behind(distribution: f64, aqueous: f64, portion: f64, portions: f64) -> f64 {
    libm::pow(aqueous / (aqueous + distribution * portion), portions)
}

/// Share of an acid or base that is not ionised, 0 to 1: 1/(1 + 10^±(pH − pKa)).
fn neutral_share(kind: &str, ph: f64, pka: f64) -> f64 {
    match kind {
        "acid" => 1.0 / (1.0 + libm::pow(10.0, ph - pka)),
        "base" => 1.0 / (1.0 + libm::pow(10.0, pka - ph)),
        _ => 1.0,
    }
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let constant = inputs.need_measured::<Distribution>("distribution")?;
    let aqueous = inputs.need::<Volume>("aqueous_volume")?.in_millilitres();
    let portion = inputs.need::<Volume>("portion_volume")?.in_millilitres();
    let share = share_of(inputs)?;
    let effective = base(constant.value) * share;
    let target = inputs
        .quantity::<Fraction>("target_recovery")
        .map(Fraction::in_ones);
    let portions = match (inputs.count("portions")?, target) {
        (Some(_), Some(_)) => {
            return Err(Problem::new(
                "portions",
                "give either the portions or the recovery to reach, not both",
            ));
        }
        (Some(count), None) => count,
        (None, target) => needed(effective, aqueous, portion, target.unwrap_or(0.99))?,
    };

    let left = left_behind(effective, aqueous, portion, portions);
    // First order in the constant's own error: d(left)/dD = −n·left·V_org/(V_aq + D·V_org).
    let half = portions * left * portion / (aqueous + effective * portion) * constant.error * share;
    let total = portion * portions;
    let limit = libm::exp(-effective * total / aqueous);
    let at_once = left_behind(effective, aqueous, total, 1.0);

    outcome.because(format!(
            "The same {} mL taken at once would bring out {} %; in ever smaller portions, {} % at most.",
            number::plain(total, 4),
            percent(1.0 - at_once),
            percent(1.0 - limit)
        ));
    outcome.by_method("Equal portions of fresh solvent, each brought to equilibrium; the interval carries the error of the distribution constant (first order).");
    outcome.from_source(
        "D. Harvey, Analytical Chemistry 2.1, section 7.7 (liquid–liquid extractions).",
    );
    outcome.valid_for("One solute at low concentration, immiscible layers of constant volume, full equilibrium at each shaking.");
    outcome.draw(plot(effective, aqueous, portion, portions, target));
    outcome
        .number("recovery", "Brought out", (1.0 - left) * 100.0, "%")
        .digits(number::digits_short_of_all((1.0 - left) * 100.0))
        .give_or_take(half * 100.0);
    outcome.count("portions", "Portions", portions);
    outcome.number("total_solvent", "Solvent in all", total, "mL");
    outcome
        .number("remaining", "Left in the water", left * 100.0, "%")
        .give_or_take(half * 100.0);
    if share < 1.0 {
        outcome.number(
            "effective_distribution",
            "Distribution ratio at this pH",
            effective,
            "",
        );
    }
    outcome
        .tables
        .push(by_portion(effective, aqueous, portion, portions).into());
    notes(inputs, share, effective, outcome);
    if portions > MANY_PORTIONS {
        outcome.old_note(format!("{} portions are more than a funnel is worth: continuous extraction does it with less solvent and no shaking (common practice: beyond about six).", number::plain(portions, 6)));
        outcome
            .old_then("Continuous extraction instead", "continuous-extraction")
            .old_with("distribution", &number::plain(effective, 4))
            .old_with(
                "aqueous_volume",
                &with_unit(number::plain(aqueous, 5), "mL"),
            )
            .old_with(
                "target_recovery",
                &with_unit(number::plain((1.0 - left).min(0.999) * 100.0, 4), "%"),
            );
    }
    outcome.old_danger("Vent often, with the stem up and pointing away from people, into the hood: shaken solvent builds pressure, and carbonate with acid gives gas.");
    outcome.old_care("Keep every layer until the product is in hand.");
    outcome.old_care(DEFER);
    let solvent = number::significant(total, 3);
    outcome
        .old_then("How much for a class?", "class-quantities")
        .old_with("amounts", &format!("extraction solvent: {solvent} mL"));
    Ok(())
}

/// Share of the solute that can leave the water; blames pH or pKa when one is missing.
fn share_of(inputs: &Inputs<'_>) -> Result<f64, Problem> {
    let kind = inputs.choice("kind");
    if kind == "neutral" {
        return Ok(1.0);
    }
    let ph = base(inputs.need::<Number>("pH")?);
    let pka = base(inputs.need::<Number>("pKa")?);
    Ok(neutral_share(kind, ph, pka))
}

/// Whole portions for a recovery.
fn needed(distribution: f64, aqueous: f64, portion: f64, target: f64) -> Result<f64, Problem> {
    let each = libm::log(left_behind(distribution, aqueous, portion, 1.0));
    // A hair less, so that a target that three portions just reach does not ask for a fourth.
    let portions = libm::ceil(libm::log1p(-target) / each - 1e-9).max(1.0);
    if portions.is_finite() && portions <= limits::COUNT.highest {
        return Ok(portions);
    }
    Err(Problem::new(
        "target_recovery",
        "not reached in 10000 portions: so little leaves the water that another solvent, another pH or another method is needed",
    ))
}

fn base(quantity: impl crate::quantity::Quantity) -> f64 {
    quantity.base()
}

/// A share as percent; close to all of it, with as many nines as there are.
fn percent(share: f64) -> String {
    let left = 1.0 - share;
    if left > 1e-6 && left < 0.01 {
        number::fixed(share * 100.0, (-number::magnitude(left * 100.0)) as usize)
    } else {
        number::significant(share * 100.0, 3)
    }
}

/// What each portion brings.
fn by_portion(distribution: f64, aqueous: f64, portion: f64, portions: f64) -> OldTable {
    let rows = (1..=portions.min(MOST_DRAWN) as u32).map(|n| {
        let left = left_behind(distribution, aqueous, portion, f64::from(n));
        let before = left_behind(distribution, aqueous, portion, f64::from(n - 1));
        vec![
            n.to_string(),
            with_unit(number::fixed((before - left) * 100.0, 1), "%"),
            format!("{} %", percent(1.0 - left)),
        ]
    });
    OldTable {
        title: "What each portion brings".into(),
        heads: vec!["Portion".into(), "Brings".into(), "In all".into()],
        rows: rows.collect(),
    }
}

fn notes(inputs: &Inputs<'_>, share: f64, effective: f64, outcome: &mut Outcome) {
    let kind = inputs.choice("kind");
    if let (true, Some(pka)) = (kind != "neutral", inputs.quantity::<Number>("pKa")) {
        let (side, out_at, back_at) = if kind == "acid" {
            ("below", base(pka) - 2.0, base(pka) + 2.0)
        } else {
            ("above", base(pka) + 2.0, base(pka) - 2.0)
        };
        outcome.old_note(format!(
            "At this pH {} % of it is neutral. To bring it out, work at pH {} or {side}; to take it back into water, at pH {} or beyond.",
            number::significant(share * 100.0, 2), number::plain(out_at, 3), number::plain(back_at, 3)
        ));
    }
    if effective < 0.5 {
        outcome.old_note("It prefers the water. Salting out, another solvent or continuous extraction help more than larger portions.");
    }
}

/// Recovery against portions, for this size and for half and twice as large ones.
fn plot(distribution: f64, aqueous: f64, portion: f64, portions: f64, target: Option<f64>) -> Plot {
    let shown = portions.clamp(4.0, MOST_DRAWN);
    let line = |size: f64| -> Vec<(f64, f64)> {
        (0..=shown as u32)
            .map(|n| {
                (
                    f64::from(n),
                    (1.0 - left_behind(distribution, aqueous, size, f64::from(n))) * 100.0,
                )
            })
            .collect()
    };
    let recovery = (1.0 - left_behind(distribution, aqueous, portion, portions)) * 100.0;
    let mut layers = vec![
        OldLayer::Line {
            label: format!("portions of {} mL", number::plain(portion, 4)),
            points: line(portion),
        },
        OldLayer::Line {
            label: format!("half as large, {} mL", number::plain(portion / 2.0, 4)),
            points: line(portion / 2.0),
        },
        OldLayer::Line {
            label: format!("twice as large, {} mL", number::plain(portion * 2.0, 4)),
            points: line(portion * 2.0),
        },
    ];
    if let Some(target) = target {
        layers.push(OldLayer::Level {
            label: "to reach".into(),
            y: target * 100.0,
        });
    }
    if portions <= shown {
        layers.push(OldLayer::Mark {
            label: with_unit(number::significant(recovery, 3), "%"),
            x: portions,
            y: recovery,
            dx: 0.0,
            dy: 0.0,
        });
    }
    Plot::old(
        "Recovery against number of portions",
        format!(
            "Each portion brings less than the one before; after {} portions {} % is out.",
            number::plain(portions, 5),
            number::significant(recovery, 3)
        ),
        Axis::old_linear("Portions", "").old_from_to(0.0, shown),
        Axis::old_linear("Brought out", "%").old_from_to(0.0, 100.0),
        layers,
    )
}
