//! Which technique, from what is known of the sample?
//!
//! Rules stand in the table `technique_rules`: a technique, conditions that must all hold, and a
//! weight for or against. The techniques are ranked by the sum of their weights; those that ask
//! for a measurement stand among them, so that "measure this first" can be the answer.
//! A condition is `fact=word`, `fact=a|b`, `fact!=word`, `fact<number` or `fact>number`. A fact
//! that was not given is `unknown`; no comparison of numbers holds for it.
//! Source: common practice, no source. The rules say what most would try first, no more.

use crate::calculators::{self, Calculator};
use crate::equations::substance::DEFER;
use crate::inputs::{Choice, Input, Inputs, Kind, form_only};
use crate::library::{Record, Table as Rules};
use crate::limits::{self, Limit};
use crate::outcome::{OldTable, Outcome};
use crate::plot::{Axis, OldLayer, Plot};
use crate::problem::Problem;
use crate::quantity::{Number, Quantity, Temperature, TemperatureDifference, number};

/// A first choice with less than this behind it is no choice.
const LEAST: f64 = 3.0;
/// Techniques shown in the table, and those that get a link.
const SHOWN: usize = 6;
const LINKED: usize = 3;
/// How the techniques begin that are measurements.
const MEASURE: &str = "measure ";

static POINT: Limit = Limit::new(
    Temperature::DIMENSION,
    "°C",
    -120.0,
    600.0,
    "what freezes or boils beyond is no work for this laboratory",
);

static GAP: Limit = Limit::new(
    TemperatureDifference::DIMENSION,
    "°C",
    0.0,
    400.0,
    "give the distance, without sign",
);

static DELTA_RF: Limit = Limit::new(
    Number::DIMENSION,
    "",
    0.0,
    0.95,
    "a plate is no longer than from 0 to 1",
);

const fn choice(name: &'static str, label: &'static str) -> Choice {
    Choice { name, label }
}

static STATES: &[Choice] = &[
    choice("solid", "a solid"),
    choice("liquid", "a liquid"),
    choice(
        "oil",
        "an oil that neither crystallises nor distils at once",
    ),
    choice("solution", "dissolved in water"),
    choice(
        "material",
        "held in a solid material, such as leaves or bark",
    ),
];

static COMPANY: &[Choice] = &[
    choice("traces", "small amounts of other things"),
    choice("similar", "related compounds"),
    choice("liquid", "another liquid"),
    choice(
        "unlike",
        "compounds of other character: acid, base or neutral",
    ),
    choice("tar", "tar and colour"),
    choice("salts", "salts"),
    choice("solid", "a solid that does not dissolve"),
    choice("water", "water"),
];

static IN_WATER: &[Choice] = &[
    choice("soluble", "soluble"),
    choice("slight", "slightly soluble"),
    choice("insoluble", "insoluble"),
];

static IN_SOLVENT: &[Choice] = &[
    choice("hot", "well hot, badly cold"),
    choice("cold", "well even in the cold"),
    choice("poor", "badly even hot"),
];

static CHARACTER: &[Choice] = &[
    choice("neutral", "neutral"),
    choice("acid", "an acid"),
    choice("base", "a base"),
];

static YES_NO: &[Choice] = &[choice("yes", "yes"), choice("no", "no")];

const fn words(
    name: &'static str,
    label: &'static str,
    choices: &'static [Choice],
    help: &'static str,
) -> Input {
    Input::optional(name, label, Kind::Choice(choices), help)
}

const fn amount(
    name: &'static str,
    label: &'static str,
    limit: &'static Limit,
    help: &'static str,
) -> Input {
    Input::optional(name, label, Kind::Quantity(limit), help)
}

pub(super) static CALCULATOR: Calculator = Calculator {
    name: "technique-choice",
    title: "Choosing a technique",
    question: form_only("Which technique for my sample?"),
    inputs: &[
        Input::preset(
            "state",
            "The sample is",
            Kind::Choice(STATES),
            "solid",
            "At room temperature.",
        ),
        Input::preset(
            "freed_from",
            "To be freed from",
            Kind::Choice(COMPANY),
            "traces",
            "What there is most of.",
        ),
        words(
            "solvent_solubility",
            "It dissolves in a solvent",
            IN_SOLVENT,
            "The best solvent tried; blank if none was.",
        ),
        words(
            "water_solubility",
            "In water it is",
            IN_WATER,
            "Blank if unknown.",
        ),
        words("acid_base", "It is", CHARACTER, "Blank if unknown."),
        amount(
            "melting_point",
            "Melting point",
            &POINT,
            "Blank if unknown.",
        ),
        amount(
            "boiling_point",
            "Boiling point",
            &POINT,
            "At one atmosphere; blank if unknown.",
        ),
        amount(
            "boiling_gap",
            "Distance to the nearest boiling point",
            &GAP,
            "Of what else is in it.",
        ),
        amount(
            "decomposition_temperature",
            "Decomposes from",
            &POINT,
            "Blank if unknown.",
        ),
        amount(
            "delta_rf",
            "Distance on a plate, ΔRf",
            &DELTA_RF,
            "To the nearest spot.",
        ),
        amount(
            "distribution",
            "Distribution constant",
            &limits::DISTRIBUTION,
            "In the solvent over that in water.",
        ),
        words(
            "steam_volatile",
            "Steam carries it",
            YES_NO,
            "Does it come over when boiled with water?",
        ),
        words(
            "sublimes",
            "It sublimes",
            YES_NO,
            "Does a crystal vanish from a warm plate without melting?",
        ),
        amount("amount", "Amount", &limits::MASS, "Of the sample."),
        amount(
            "time",
            "Time there is",
            &limits::TIME,
            "Blank if it does not matter.",
        ),
    ],
    evaluate,
};

/// What is known of one thing.
#[derive(Clone, Copy)]
enum Fact {
    Unknown,
    Word(&'static str),
    /// In base units, with the unit's symbol.
    Number(f64, &'static str),
}

impl Fact {
    /// As an author would type it.
    fn typed(self) -> Option<String> {
        match self {
            Fact::Unknown => None,
            Fact::Word(word) => Some(word.to_string()),
            Fact::Number(value, unit) => {
                Some(crate::outcome::with_unit(number::plain(value, 5), unit))
            }
        }
    }
}

/// All facts: one for each input, and those that follow from them.
fn facts(inputs: &Inputs<'_>) -> Vec<(&'static str, Fact)> {
    let mut facts: Vec<(&str, Fact)> = CALCULATOR
        .inputs
        .iter()
        .map(|input| {
            let fact = match &input.kind {
                Kind::Choice(_) => match inputs.choice(input.name) {
                    "" => Fact::Unknown,
                    word => Fact::Word(word),
                },
                // Rules compare bare numbers in base units, whatever the dimension.
                Kind::Quantity(limit) => inputs.base(input.name).map_or(Fact::Unknown, |base| {
                    Fact::Number(base, limit.dimension.base().symbol)
                }),
                _ => Fact::Unknown,
            };
            (input.name, fact)
        })
        .collect();
    let boils = known(&facts, "boiling_point");
    let derived = |other: Fact, join: fn(f64, f64) -> f64| match (boils, other) {
        (Fact::Number(a, unit), Fact::Number(b, _)) => Fact::Number(join(a, b), unit),
        _ => Fact::Unknown,
    };
    let margin = derived(
        known(&facts, "decomposition_temperature"),
        |boils, spoils| spoils - boils,
    );
    let other = derived(known(&facts, "boiling_gap"), |boils, gap| boils + gap);
    let neat = match inputs.choice("state") {
        "solution" | "material" => "no",
        _ => "yes",
    };
    facts.push(("margin", margin));
    facts.push(("other_boiling_point", other));
    facts.push(("neat", Fact::Word(neat)));
    facts
}

fn known(facts: &[(&'static str, Fact)], name: &str) -> Fact {
    facts
        .iter()
        .find(|(fact, _)| *fact == name)
        .map_or(Fact::Unknown, |(_, fact)| *fact)
}

/// Whether a condition such as `amount<0.5` or `state=solid|oil` holds. One that cannot be read
/// does not.
fn holds(facts: &[(&'static str, Fact)], condition: &str) -> bool {
    let Some(at) = condition.find(['=', '<', '>', '!']) else {
        return false;
    };
    let (name, test) = condition.split_at(at);
    let fact = known(facts, name);
    let is = |words: &str| {
        words.split('|').any(|word| match fact {
            Fact::Unknown => word == "unknown",
            Fact::Word(known) => word == known,
            Fact::Number(..) => false,
        })
    };
    let against = |limit: &str, below: bool| match (fact, number::whole(limit)) {
        (Fact::Number(value, _), Some(limit)) => {
            if below {
                value < limit
            } else {
                value > limit
            }
        }
        _ => false,
    };
    if let Some(words) = test.strip_prefix("!=") {
        !is(words)
    } else if let Some(words) = test.strip_prefix('=') {
        is(words)
    } else if let Some(limit) = test.strip_prefix('<') {
        against(limit, true)
    } else {
        test.strip_prefix('>')
            .is_some_and(|limit| against(limit, false))
    }
}

/// One technique with what speaks for and against it.
struct Candidate<'a> {
    record: Record<'a>,
    /// Weights for it, and against it with their sign.
    pro: f64,
    con: f64,
    pros: Vec<&'a str>,
    cons: Vec<&'a str>,
}

impl Candidate<'_> {
    fn points(&self) -> f64 {
        self.pro + self.con
    }

    fn is_measurement(&self) -> bool {
        self.record.name().starts_with(MEASURE)
    }
}

/// The techniques for which anything speaks, the best first.
fn rank<'a>(
    techniques: &'a Rules,
    rules: &'a Rules,
    facts: &[(&'static str, Fact)],
) -> Vec<Candidate<'a>> {
    let mut ranked: Vec<Candidate<'a>> = techniques
        .records()
        .map(|record| Candidate {
            record,
            pro: 0.0,
            con: 0.0,
            pros: Vec::new(),
            cons: Vec::new(),
        })
        .collect();
    for rule in rules.records() {
        if !rule.list("when").all(|condition| holds(facts, condition)) {
            continue;
        }
        let (Some(weight), Some(candidate)) = (
            rule.number("weight"),
            ranked
                .iter_mut()
                .find(|candidate| candidate.record.name() == rule.text("technique")),
        ) else {
            continue;
        };
        if weight > 0.0 {
            candidate.pro += weight;
            candidate.pros.push(rule.name());
        } else {
            candidate.con += weight;
            candidate.cons.push(rule.name());
        }
    }
    let mut best_first: Vec<Candidate<'a>> = Vec::new();
    for candidate in ranked {
        if !candidate.pros.is_empty() {
            // Of equals, the one that the table lists first.
            let at = best_first.partition_point(|better| better.points() >= candidate.points());
            best_first.insert(at, candidate);
        }
    }
    best_first
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let table = |name: &str| {
        inputs
            .library()
            .table(name)
            .ok_or_else(|| Problem::new("state", format!("the table of {name} is not loaded")))
    };
    let facts = facts(inputs);
    let ranked = rank(table("techniques")?, table("technique_rules")?, &facts);
    let chosen = ranked.first().filter(|best| best.points() >= LEAST);
    let enough = chosen.is_some_and(|best| !best.is_measurement());

    outcome.by_method("Rules of the trade, each with a weight for or against; the technique with the greatest sum comes first. The points order the techniques and mean nothing beyond that.");
    outcome.from_source("common practice, no source");
    outcome.valid_for("What most would try first with ordinary samples of a teaching laboratory; a small trial decides.");
    let verdict = match chosen {
        Some(best) if best.is_measurement() => {
            format!("not enough known: first {}", best.record.name())
        }
        Some(best) => best.record.name().to_string(),
        None => "not enough known: no rule speaks for anything yet".to_string(),
    };
    outcome.verdict("first_choice", "First choice", verdict);
    if let Some(second) = ranked
        .iter()
        .filter(|other| !other.is_measurement() && other.points() > 0.0)
        .nth(usize::from(enough))
    {
        outcome.verdict(
            "second_choice",
            if enough {
                "Next to it"
            } else {
                "Likely after that"
            },
            second.record.name(),
        );
    }
    outcome.why = chosen.map_or(
        "Give the state of the sample, what it must be freed from, and whatever else is known."
            .into(),
        |best| best.pros.join(" ").into(),
    );
    for other in ranked
        .iter()
        .filter(|other| other.is_measurement() && other.points() >= LEAST)
    {
        if chosen.is_none_or(|best| best.record.name() != other.record.name()) {
            outcome.old_note(format!(
                "Before you begin, {}. {}",
                other.record.name(),
                other.pros.join(" ")
            ));
        }
    }
    if !ranked.is_empty() {
        outcome.draw(plot(&ranked));
    }
    outcome.tables.push((ranking(&ranked)).into());
    for candidate in ranked
        .iter()
        .filter(|candidate| candidate.points() > 0.0)
        .take(LINKED)
    {
        link(candidate.record, &facts, outcome);
    }
    if let (Some(best), false) = (chosen, ranked.is_empty())
        && !best.record.text("caution").is_empty()
    {
        outcome.old_danger(best.record.text("caution").to_string());
    }
    if holds(&facts, "margin<20") {
        outcome.old_danger("It decomposes below or near its boiling point: never heat it to boiling at ordinary pressure; some compounds go off with force.");
    }
    outcome.old_care(DEFER);
    Ok(())
}

/// What speaks for each of the best, and what against it.
fn plot(ranked: &[Candidate<'_>]) -> Plot {
    let best = || ranked.iter().take(SHOWN);
    let told: Vec<String> = best()
        .map(|candidate| {
            let points = number::fixed(candidate.points(), 0);
            format!("{} {points}", candidate.record.name())
        })
        .collect();
    Plot::old(
        "What speaks for and against each, the best first",
        format!(
            "Bars to the right of nought speak for a technique, to the left against it; both together are its points: {}.",
            told.join(", ")
        ),
        Axis::old_linear("Points", ""),
        Axis::old_linear("Place", ""),
        vec![
            OldLayer::Ranks {
                label: "for".into(),
                bars: best()
                    .map(|candidate| (candidate.record.name().to_string(), 0.0, candidate.pro))
                    .collect(),
            },
            OldLayer::Ranks {
                label: "against".into(),
                bars: best()
                    .map(|candidate| (String::new(), candidate.con, 0.0))
                    .collect(),
            },
        ],
    )
}

/// The best techniques with their reasons.
fn ranking(ranked: &[Candidate<'_>]) -> OldTable {
    OldTable {
        title: "Techniques with what speaks for and against them".into(),
        heads: ["Technique", "Points", "For", "Against"]
            .map(String::from)
            .to_vec(),
        rows: ranked
            .iter()
            .take(SHOWN)
            .map(|candidate| {
                vec![
                    candidate.record.name().to_string(),
                    number::fixed(candidate.points(), 0),
                    candidate.pros.join(" "),
                    candidate.cons.join(" "),
                ]
            })
            .collect(),
    }
}

/// Opens the technique's calculator with the facts that it takes; none where there is no calculator.
fn link(technique: Record<'_>, facts: &[(&'static str, Fact)], outcome: &mut Outcome) {
    let Some(calculator) = calculators::find(technique.text("calculator")) else {
        return;
    };
    let label = format!("{}: {}", calculator.title, technique.name());
    let step = outcome.old_then(&label, calculator.name);
    for pair in technique.list("carries") {
        if let Some((input, fact)) = pair.split_once('=')
            && let Some(input) = calculator.inputs.iter().find(|known| known.name == input)
            && let Some(typed) = known(facts, fact).typed()
        {
            step.old_with(input.name, &typed);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn conditions_hold_as_written() {
        let facts = [
            ("state", Fact::Word("solid")),
            ("amount", Fact::Number(2.0, "g")),
            ("time", Fact::Unknown),
        ];
        for condition in [
            "state=solid",
            "state=oil|solid",
            "state!=oil",
            "amount<3",
            "amount>1.5",
            "time=unknown",
            "amount!=unknown",
        ] {
            assert!(holds(&facts, condition), "{condition}");
        }
        for condition in [
            "state=oil",
            "amount>2",
            "time<5",
            "time>5",
            "time!=unknown",
            "other=x",
            "state",
            "",
        ] {
            assert!(!holds(&facts, condition), "{condition}");
        }
    }
}
