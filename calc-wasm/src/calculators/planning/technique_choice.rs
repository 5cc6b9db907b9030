//! Which technique, from what is known of the sample?
//!
//! Rules stand in the table `technique_rules`: a technique, conditions that must all hold, and a
//! weight for or against. The techniques are ranked by the sum of their weights; those that ask
//! for a measurement stand among them, so that "measure this first" can be the answer.
//! A condition is `fact=word`, `fact=a|b`, `fact!=word`, `fact<number` or `fact>number`. A fact
//! that was not given is `unknown`; no comparison of numbers holds for it. Where both liquids have
//! names, their boiling points come from the table of substances, and whether they have an
//! azeotrope at one atmosphere from `equations/mixture/`.
//! Source: common practice, no source. The rules say what most would try first, no more.

use crate::calculators::Calculator;
use crate::equations::mixture::pair::Pair;
use crate::equations::substance::DEFER;
use crate::equations::vapour::Curve;
use crate::inputs::{Choice, Input, Inputs, Kind, form_only};
use crate::library::Record;
use crate::limits::{self, Limit};
use crate::outcome::Outcome;
use crate::problem::Problem;
use crate::quantity::{Number, Quantity, Temperature, TemperatureDifference, digits};
use crate::sentence::Sentence;

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

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "technique-choice",
    title: "Choosing a technique",
    question: form_only("Which technique for my sample?"),
    inputs: &[
        &Input::preset(
            "state",
            "The sample is",
            Kind::Choice(STATES),
            "solid",
            "At room temperature.",
        ),
        &Input::preset(
            "freed_from",
            "To be freed from",
            Kind::Choice(COMPANY),
            "traces",
            "What there is most of.",
        ),
        &words(
            "solvent_solubility",
            "It dissolves in a solvent",
            IN_SOLVENT,
            "The best solvent tried; blank if none was.",
        ),
        &words(
            "water_solubility",
            "In water it is",
            IN_WATER,
            "Blank if unknown.",
        ),
        &words("acid_base", "It is", CHARACTER, "Blank if unknown."),
        &Input::optional(
            "substance",
            "Its name, if it is known",
            Kind::Entry("substances"),
            "From the table of substances; blank if it is not there.",
        ),
        &Input::optional(
            "other",
            "Name of the other liquid",
            Kind::Entry("substances"),
            "With both names, boiling points and azeotrope are known.",
        ),
        &amount(
            "melting_point",
            "Melting point",
            &POINT,
            "Blank if unknown.",
        ),
        &amount(
            "boiling_point",
            "Boiling point",
            &POINT,
            "At one atmosphere; blank if unknown.",
        ),
        &amount(
            "boiling_gap",
            "Distance to the nearest boiling point",
            &GAP,
            "Of what else is in it.",
        ),
        &amount(
            "decomposition_temperature",
            "Decomposes from",
            &POINT,
            "Blank if unknown.",
        ),
        &amount(
            "delta_rf",
            "Distance on a plate, ΔRf",
            &DELTA_RF,
            "To the nearest spot.",
        ),
        &amount(
            "distribution",
            "Distribution constant",
            &limits::DISTRIBUTION,
            "In the solvent over that in water.",
        ),
        &words(
            "steam_volatile",
            "Steam carries it",
            YES_NO,
            "Does it come over when boiled with water?",
        ),
        &words(
            "sublimes",
            "It sublimes",
            YES_NO,
            "Does a crystal vanish from a warm plate without melting?",
        ),
        &amount("amount", "Amount", &limits::MASS, "Of the sample."),
        &amount(
            "time",
            "Time there is",
            &limits::TIME,
            "Blank if it does not matter.",
        ),
    ],
    evaluate,
};

/// What is known: as it was given, and what follows from that.
struct Facts<'i, 'a> {
    inputs: &'i Inputs<'a>,
    /// The sample and the other liquid, where they have names.
    named: [Option<Record<'a>>; 2],
    /// Whether the two have an azeotrope.
    azeotrope: &'static str,
}

impl<'i, 'a> Facts<'i, 'a> {
    fn new(inputs: &'i Inputs<'a>) -> Self {
        let named = [inputs.entry("substance"), inputs.entry("other")];
        Facts {
            inputs,
            named,
            azeotrope: azeotrope(named, inputs).unwrap_or("unknown"),
        }
    }

    /// A fact that is a number, in base units whatever its dimension, or follows from two: the
    /// rules compare bare numbers. NaN where it is not known, or is a word: no comparison holds
    /// for that.
    fn amount_of(&self, fact: &str) -> f64 {
        let given = |name| self.inputs.base(name).unwrap_or_else(|| self.of_name(name));
        match fact {
            "margin" => given("decomposition_temperature") - given("boiling_point"),
            "other_boiling_point" => given("boiling_point") + given("boiling_gap"),
            _ => given(fact),
        }
    }

    /// What the table of substances says of a fact; NaN where it says nothing.
    fn of_name(&self, fact: &str) -> f64 {
        let [one, other] = self.named.map(|row| {
            row.and_then(|row| row.number("boiling_point"))
                .unwrap_or(f64::NAN)
        });
        match fact {
            "boiling_point" => Temperature::celsius(one).base(),
            "boiling_gap" => (one - other).abs(),
            _ => f64::NAN,
        }
    }

    /// A fact that is a word, or follows from one.
    fn word_of(&self, fact: &str) -> &'static str {
        match (fact, self.inputs.choice(fact)) {
            ("azeotrope", _) => self.azeotrope,
            ("neat", _) => match self.inputs.choice("state") {
                "solution" | "material" => "no",
                _ => "yes",
            },
            ("freed_from", "liquid") if self.other_is_water() => "water",
            (_, "") if self.amount_of(fact).is_nan() => "unknown",
            (_, "") => "number",
            (_, word) => word,
        }
    }

    fn other_is_water(&self) -> bool {
        self.named[1].is_some_and(|other| other.name() == "water")
    }

    /// Whether a condition such as `amount<0.5` or `state=solid|oil` holds. One that cannot be read
    /// does not.
    #[inline(never)]
    fn holds(&self, condition: &str) -> bool {
        if let Some((fact, words)) = condition.split_once('=') {
            let (fact, wanted) = match fact.strip_suffix('!') {
                Some(fact) => (fact, false),
                None => (fact, true),
            };
            let known = self.word_of(fact);
            return words.split('|').any(|word| word == known) == wanted;
        }
        for &sign in &['<', '>'] {
            if let Some((fact, limit)) = condition.split_once(sign)
                && let Some(limit) = digits::whole(limit)
            {
                let value = self.amount_of(fact);
                return if sign == '<' {
                    value < limit
                } else {
                    value > limit
                };
            }
        }
        false
    }
}

/// Whether two liquids have an azeotrope at one atmosphere; None where that is not known.
fn azeotrope(named: [Option<Record<'_>>; 2], inputs: &Inputs<'_>) -> Option<&'static str> {
    let [Some(one), Some(other)] = named else {
        return None;
    };
    if one.name() == other.name() {
        return None;
    }
    let library = inputs.library();
    let curves = [Curve::of(one, library)?, Curve::of(other, library)?];
    let pair = Pair::new(curves, ["substance", "other"], library, 760.0).ok()?;
    Some(if pair.azeotropes.is_empty() {
        "no"
    } else {
        "yes"
    })
}

/// One technique with what speaks for and against it.
struct Candidate<'a> {
    record: Record<'a>,
    /// Weights for it, and against it with their sign.
    weights: [f64; 2],
    /// The rules that gave them, one after the other.
    reasons: [String; 2],
}

impl<'a> Candidate<'a> {
    fn name(&self) -> &'a str {
        self.record.name()
    }

    fn points(&self) -> f64 {
        self.weights[0] + self.weights[1]
    }

    fn is_measurement(&self) -> bool {
        self.name().starts_with(MEASURE)
    }
}

/// What speaks for and against `record`.
fn weigh<'a>(facts: &Facts<'_, 'a>, record: Record<'a>) -> Candidate<'a> {
    let mut candidate = Candidate {
        record,
        weights: [0.0; 2],
        reasons: Default::default(),
    };
    let name = record.name();
    for rule in facts.inputs.library().rows("technique_rules") {
        if rule.text("technique") == name
            && rule.list("when").all(|condition| facts.holds(condition))
            && let Some(weight) = rule.number("weight")
        {
            let side = usize::from(weight <= 0.0);
            let said = &mut candidate.reasons[side];
            if !said.is_empty() {
                said.push(' ');
            }
            said.push_str(rule.name());
            candidate.weights[side] += weight;
        }
    }
    candidate
}

/// The techniques for which anything speaks, the best first.
fn rank<'a>(facts: &Facts<'_, 'a>) -> Vec<Candidate<'a>> {
    let mut best_first: Vec<Candidate<'a>> = Vec::new();
    for record in facts.inputs.library().rows("techniques") {
        let candidate = weigh(facts, record);
        if candidate.weights[0] > 0.0 {
            // Of equals, the one that the table lists first.
            let at = best_first.partition_point(|better| better.points() >= candidate.points());
            best_first.insert(at, candidate);
        }
    }
    best_first
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    for table in &["techniques", "technique_rules"] {
        if inputs.library().table(table).is_none() {
            return Err(Problem::new("state", "the table of {} is not loaded").text(table));
        }
    }
    let facts = Facts::new(inputs);
    let ranked = rank(&facts);
    outcome.by_method("Rules of the trade, each with a weight for or against; the technique with the greatest sum comes first. The points order the techniques and mean nothing beyond that.");
    outcome.from_source("common practice, no source");
    outcome.valid_for("What most would try first with ordinary samples of a teaching laboratory; a small trial decides.");
    choose(&ranked, outcome);
    let best = ranked.get(..SHOWN).unwrap_or(&ranked);
    if !best.is_empty() {
        plot(best, outcome);
    }
    let table = outcome.table(
        "Techniques with what speaks for and against them",
        "Technique\tPoints\tFor\tAgainst",
    );
    for candidate in best {
        table
            .row("{}\t{.0}\t{}\t{}")
            .text(candidate.name())
            .number(candidate.points())
            .text(&candidate.reasons[0])
            .text(&candidate.reasons[1]);
    }
    for candidate in best.iter().take(LINKED) {
        if candidate.points() > 0.0 {
            link(&facts, candidate.record, outcome);
        }
    }
    if facts.holds("margin<20") {
        outcome.danger("It decomposes below or near its boiling point: never heat it to boiling at ordinary pressure; some compounds go off with force.");
    }
    boil_together(&facts, outcome);
    outcome.care(DEFER);
    Ok(())
}

/// Says that the two have an azeotrope, and leads to where it stands.
fn boil_together(facts: &Facts<'_, '_>, outcome: &mut Outcome) {
    let [Some(one), Some(other)] = facts.named else {
        return;
    };
    if facts.azeotrope == "yes" {
        outcome
            .note("{} and {} form an azeotrope at one atmosphere: no column passes it.")
            .text(one.name())
            .text(other.name());
    }
    if one.name() != other.name() {
        let step = outcome.then("How the two boil together", "mixture-boiling");
        step.with("first", "{}").text(one.name());
        step.with("second", "{}").text(other.name());
    }
}

/// Says the first and the second choice, why, and what to measure before.
fn choose(ranked: &[Candidate<'_>], outcome: &mut Outcome) {
    let chosen = ranked.first().filter(|best| best.points() >= LEAST);
    let enough = chosen.is_some_and(|best| !best.is_measurement());
    let mut verdict = Sentence::new(match chosen {
        Some(_) if enough => "{}",
        Some(_) => "not enough known: first {}",
        None => "not enough known: no rule speaks for anything yet",
    });
    match chosen {
        Some(best) => {
            verdict.text(best.name());
            outcome.because("{}").text(&best.reasons[0]);
            let caution = best.record.text("caution");
            if !caution.is_empty() {
                outcome.danger("{}").text(caution);
            }
        }
        None => {
            outcome.because("Give the state of the sample, what it must be freed from, and whatever else is known.");
        }
    }
    outcome.verdict("first_choice", "First choice", &verdict);
    if let Some(second) = ranked
        .iter()
        .filter(|other| !other.is_measurement() && other.points() > 0.0)
        .nth(usize::from(enough))
    {
        let label = if enough {
            "Next to it"
        } else {
            "Likely after that"
        };
        outcome.verdict("second_choice", label, second.name());
    }
    // The first is the choice, or has as little behind it as all others.
    for other in ranked.iter().skip(1) {
        if other.is_measurement() && other.points() >= LEAST {
            outcome
                .note("Before you begin, {}. {}")
                .text(other.name())
                .text(&other.reasons[0]);
        }
    }
}

/// What speaks for each of the best, and what against it.
fn plot(best: &[Candidate<'_>], outcome: &mut Outcome) {
    let plot = outcome.plot(
        "What speaks for and against each, the best first",
        "Bars to the right of nought speak for a technique, to the left against it; both together are its points: ",
    );
    let mut template = "{} {.0}";
    for candidate in best {
        plot.description
            .more(template)
            .text(candidate.name())
            .number(candidate.points());
        template = ", {} {.0}";
    }
    plot.description.more(".");
    plot.x.linear("Points", "");
    plot.y.linear("Place", "");
    let bars = plot.ranks("for");
    for candidate in best {
        bars.rank(candidate.name(), 0.0, candidate.weights[0]);
    }
    let bars = plot.ranks("against");
    for candidate in best {
        bars.rank("", candidate.weights[1], 0.0);
    }
}

/// Opens the technique's calculator with the facts that it takes; none where there is no
/// calculator. What the other calculator asks for stands in the table of techniques: to look at
/// its description, this page would need the words of every calculator.
fn link(facts: &Facts<'_, '_>, technique: Record<'_>, outcome: &mut Outcome) {
    let calculator = technique.text("calculator");
    if calculator.is_empty() {
        return;
    }
    let step = outcome.then("Work out: {}", calculator);
    step.label.text(technique.name());
    for pair in technique.list("carries") {
        let Some((input, fact)) = pair.split_once('=') else {
            continue;
        };
        let value = facts.amount_of(fact);
        if !value.is_nan() {
            let carried = step.with(input, "{~5}");
            carried.number(value);
            // What is carried over keeps its dimension.
            let unit = unit_of(fact);
            if !unit.is_empty() {
                carried.more(" {}").text(unit);
            }
        } else if !facts.inputs.choice(fact).is_empty() {
            step.with(input, "{}").text(facts.inputs.choice(fact));
        }
    }
}

/// The unit in which a fact is kept.
fn unit_of(fact: &str) -> &'static str {
    let own = match fact {
        "margin" => "boiling_gap",
        "other_boiling_point" => "boiling_point",
        own => own,
    };
    let asked = CALCULATOR.inputs.iter().find(|input| input.name == own);
    match asked.map(|input| &input.kind) {
        Some(Kind::Quantity(limit)) => limit.dimension.base().symbol,
        _ => "",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::library::Library;

    #[test]
    fn conditions_hold_as_written() {
        let given = [("state", "solid"), ("amount", "2 g")]
            .map(|(name, text)| (name.to_string(), text.to_string()));
        let library = Library::default();
        let inputs = Inputs::read(CALCULATOR.inputs, &library, &given).unwrap();
        let facts = Facts::new(&inputs);
        for condition in [
            "state=solid",
            "state=oil|solid",
            "state!=oil",
            "amount<3",
            "amount>1.5",
            "time=unknown",
            "amount!=unknown",
        ] {
            assert!(facts.holds(condition), "{condition}");
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
            assert!(!facts.holds(condition), "{condition}");
        }
    }
}
