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
use crate::equations::washing::{self, Asked};
use crate::inputs::{Choice, Field, Inputs, Kind, Word, form_only};
use crate::limits;
use crate::number;
use crate::outcome::Outcome;
use crate::problem::Problem;
use crate::quantity::{Distribution, Fraction, Number, Quantity, Volume};
use crate::sentence::Sentence;

/// More portions than this, and continuous extraction is the better way (common practice).
const MANY_PORTIONS: f64 = 6.0;
/// Portions drawn at most.
const MOST_DRAWN: f64 = 12.0;

static DISTRIBUTION: Field<Distribution> = Field::preset(
    "distribution",
    "Distribution constant",
    Kind::Quantity(&limits::DISTRIBUTION),
    "5",
    "Concentration in the solvent over that in the water; of an acid or base, of its neutral form.",
);

static AQUEOUS_VOLUME: Field<Volume> = Field::preset(
    "aqueous_volume",
    "Water layer",
    Kind::Quantity(&limits::VOLUME),
    "50 mL",
    "What is extracted.",
);

static PORTION_VOLUME: Field<Volume> = Field::preset(
    "portion_volume",
    "One portion of solvent",
    Kind::Quantity(&limits::VOLUME),
    "15 mL",
    "Each time fresh.",
);

static PORTIONS_INPUT: Field<Option<Number>> = Field::optional(
    "portions",
    "Number of portions",
    Kind::Quantity(&limits::COUNT),
    "Blank, if a recovery is to be reached.",
);

static TARGET_RECOVERY: Field<Option<Fraction>> = Field::optional(
    "target_recovery",
    "Recovery to reach",
    Kind::Quantity(&limits::TARGET),
    "Blank, if portions are given; 99 % if both are blank.",
);

static KIND: Field<Word> = Field::preset(
    "kind",
    "The solute is",
    Kind::Choice(KINDS),
    "neutral",
    "An acid or a base leaves the water only while it is not ionised.",
);

static PKA: Field<Option<Number>> = Field::optional(
    "pKa",
    "pKa",
    Kind::Quantity(&limits::PKA),
    "Of the acid, or of the base’s conjugate acid.",
)
.when(&KIND, &["acid", "base"]);

static PH: Field<Option<Number>> = Field::optional(
    "pH",
    "pH of the water layer",
    Kind::Quantity(&limits::PH),
    "After the salts and acids are in.",
)
.when(&KIND, &["acid", "base"]);

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "repeated-extraction",
    title: "Repeated extraction",
    question: form_only("How many portions of solvent, and of what size?"),
    inputs: &[
        &DISTRIBUTION.input,
        &AQUEOUS_VOLUME.input,
        &PORTION_VOLUME.input,
        &PORTIONS_INPUT.input,
        &TARGET_RECOVERY.input,
        &KIND.input,
        &PKA.input,
        &PH.input,
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

/// Share of the solute that one portion leaves in the water: q = V_aq/(V_aq + D·V_org), mL. D is
/// c(organic)/c(aqueous), without unit, at the working temperature.
fn kept(distribution: f64, aqueous: f64, portion: f64) -> f64 {
    aqueous / (aqueous + distribution * portion)
}

/// Share of an acid or base that is not ionised, 0 to 1: 1/(1 + 10^±(pH − pKa)).
fn neutral_share(kind: &str, ph: f64, pka: f64) -> f64 {
    let excess = if kind == "acid" { ph - pka } else { pka - ph };
    1.0 / (1.0 + libm::pow(10.0, excess))
}

/// How the portions are asked for.
static PORTIONS: Asked = Asked {
    steps: &PORTIONS_INPUT,
    target: &TARGET_RECOVERY,
    both: "give either the portions or the recovery to reach, not both",
    never: "not reached in 10000 portions: so little leaves the water that another solvent, another pH or another method is needed",
};

/// What is shaken: volumes in mL, and the distribution ratio at this pH.
struct Shaking {
    distribution: f64,
    aqueous: f64,
    portion: f64,
    portions: f64,
}

impl Shaking {
    /// Share left in the water after `portions` of `portion` mL.
    fn left(&self, portion: f64, portions: f64) -> f64 {
        washing::left(kept(self.distribution, self.aqueous, portion), portions)
    }
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let constant = inputs.get_measured(&DISTRIBUTION);
    let aqueous = inputs.get(&AQUEOUS_VOLUME).in_millilitres();
    let portion = inputs.get(&PORTION_VOLUME).in_millilitres();
    let share = share_of(inputs)?;
    let effective = constant.value.base() * share;
    let each = kept(effective, aqueous, portion);
    let portions = washing::steps(inputs, libm::log(each), &PORTIONS)?;
    let shaking = Shaking {
        distribution: effective,
        aqueous,
        portion,
        portions,
    };
    let left = washing::left(each, portions);
    // First order in the constant's own error: d(left)/dD = −n·left·V_org/(V_aq + D·V_org).
    let half = portions * left * portion / (aqueous + effective * portion) * constant.error * share;
    let recovery = (1.0 - left) * 100.0;
    let total = portion * portions;
    let limit = libm::exp(-effective * total / aqueous);

    let why = outcome.because("The same {~4} mL taken at once would bring out {} %; in ever smaller portions, {} % at most.");
    why.number(total);
    percent(why, 1.0 - kept(effective, aqueous, total));
    percent(why, 1.0 - limit);
    outcome.by_method("Equal portions of fresh solvent, each brought to equilibrium; the interval carries the error of the distribution constant (first order).");
    outcome.from_source(
        "D. Harvey, Analytical Chemistry 2.1, section 7.7 (liquid–liquid extractions).",
    );
    outcome.valid_for("One solute at low concentration, immiscible layers of constant volume, full equilibrium at each shaking.");
    outcome
        .number("recovery", "Brought out", recovery, "%")
        .digits(number::digits_short_of_all(recovery))
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
    plot(inputs, &shaking, recovery, outcome);
    by_portion(&shaking, outcome);
    notes(inputs, share, &shaking, left, outcome);
    outcome.danger("Vent often, with the stem up and pointing away from people, into the hood: shaken solvent builds pressure, and carbonate with acid gives gas.");
    outcome.care("Keep every layer until the product is in hand.");
    outcome.care(DEFER);
    outcome
        .then("How much for a class?", "class-quantities")
        .with("amounts", "extraction solvent: {3} mL")
        .number(total);
    Ok(())
}

/// Share of the solute that can leave the water; blames pH or pKa when one is missing.
fn share_of(inputs: &Inputs<'_>) -> Result<f64, Problem> {
    let kind = inputs.choice(&KIND);
    if kind == "neutral" {
        return Ok(1.0);
    }
    let ph = inputs.need(&PH)?.base();
    let pka = inputs.need(&PKA)?.base();
    Ok(neutral_share(kind, ph, pka))
}

/// Fills a gap with a share as percent; close to all of it, with as many nines as there are.
#[inline(never)]
fn percent(sentence: &mut Sentence, share: f64) {
    let left = 1.0 - share;
    let shown = if left > 1e-6 && left < 0.01 {
        number::fixed(share * 100.0, (-number::magnitude(left * 100.0)) as usize)
    } else {
        number::significant(share * 100.0, 3)
    };
    sentence.text(&shown);
}

/// What each portion brings.
fn by_portion(shaking: &Shaking, outcome: &mut Outcome) {
    let table = outcome.table("What each portion brings", "Portion\tBrings\tIn all");
    let mut before = 1.0;
    for n in 1..=shaking.portions.min(MOST_DRAWN) as u32 {
        let n = f64::from(n);
        let left = shaking.left(shaking.portion, n);
        let row = table.row("{.0}\t{.1} %\t{} %");
        row.number(n).number((before - left) * 100.0);
        percent(row, 1.0 - left);
        before = left;
    }
}

/// What the pH, a poor constant or many portions call for.
fn notes(inputs: &Inputs<'_>, share: f64, shaking: &Shaking, left: f64, outcome: &mut Outcome) {
    let kind = inputs.choice(&KIND);
    if let (true, Some(pka)) = (kind != "neutral", inputs.quantity(&PKA)) {
        let (side, beyond) = if kind == "acid" {
            ("below", 2.0)
        } else {
            ("above", -2.0)
        };
        outcome
            .note("At this pH {2} % of it is neutral. To bring it out, work at pH {~3} or {}; to take it back into water, at pH {~3} or beyond.")
            .number(share * 100.0)
            .number(pka.base() - beyond)
            .text(side)
            .number(pka.base() + beyond);
    }
    if shaking.distribution < 0.5 {
        outcome.note("It prefers the water. Salting out, another solvent or continuous extraction help more than larger portions.");
    }
    if shaking.portions > MANY_PORTIONS {
        outcome
            .note("{~6} portions are more than a funnel is worth: continuous extraction does it with less solvent and no shaking (common practice: beyond about six).")
            .number(shaking.portions);
        let next = outcome.then("Continuous extraction instead", "continuous-extraction");
        next.with("distribution", "{~4}")
            .number(shaking.distribution);
        next.with("aqueous_volume", "{~5} mL")
            .number(shaking.aqueous);
        next.with("target_recovery", "{~4} %")
            .number((1.0 - left).min(0.999) * 100.0);
    }
}

/// Recovery against portions, for this size and for half and twice as large ones.
fn plot(inputs: &Inputs<'_>, shaking: &Shaking, recovery: f64, outcome: &mut Outcome) {
    let shown = shaking.portions.clamp(4.0, MOST_DRAWN);
    let plot = outcome.plot(
        "Recovery against number of portions",
        "Each portion brings less than the one before; after {~5} portions {3} % is out.",
    );
    plot.description.number(shaking.portions).number(recovery);
    plot.x.linear("Portions", "").from_to(0.0, shown);
    plot.y.linear("Brought out", "%").from_to(0.0, 100.0);
    for (label, times) in &[
        ("portions of {~4} mL", 1.0),
        ("half as large, {~4} mL", 0.5),
        ("twice as large, {~4} mL", 2.0),
    ] {
        let size = shaking.portion * times;
        let each = kept(shaking.distribution, shaking.aqueous, size);
        washing::recoveries(plot.line(label).number(size), each, shown);
    }
    if let Some(target) = inputs.quantity(&TARGET_RECOVERY) {
        plot.level("to reach", target.in_percent());
    }
    if shaking.portions <= shown {
        plot.mark("{3} %", shaking.portions, recovery)
            .number(recovery);
    }
}
