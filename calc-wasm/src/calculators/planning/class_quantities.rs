//! How much of everything for a class, in what packs, and how much waste of each stream?
//!
//! Of each material: total = groups × amount per group × (1 + spare)/(1 − loss), the loss being
//! what vanishes before it is used (dry ice in its box). Packs = total over pack size, rounded
//! up. Waste of a stream: what its materials amount to, from no spare used to all of it. Volumes
//! in mL, masses in g, pieces as they are; the three are never added together.
//! Arithmetic; it holds if nothing is shared between groups and nothing is recovered.

use crate::calculators::Calculator;
use crate::equations::meeting::{self, Material};
use crate::equations::substance::{self, DEFER};
use crate::inputs::{Column, Input, Inputs, Kind, Row, form_only};
use crate::limits::{self, Limit};
use crate::outcome::Outcome;
use crate::problem::{Problem, holds};
use crate::quantity::{Fraction, Mass, Number, Quantity, Volume};
use crate::sentence::Sentence;

/// More than this of one liquid is not a day's stock for a bench, mL (common practice).
const STORE_VOLUME: f64 = 5000.0;

/// Share that is lost before use.
static LOSS: Limit = Limit::new(
    Fraction::DIMENSION,
    "%",
    0.0,
    95.0,
    "if more is lost, buy it nearer to the hour",
);

/// What a material is counted in.
static AMOUNTS: &[&Limit] = &[&limits::VOLUME, &limits::MASS, &limits::COUNT];

/// Most bars that leave room for their names.
const BARS: usize = 10;

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "class-quantities",
    title: "Quantities for a class",
    question: form_only("How much of everything, in what packs, and how much waste?"),
    inputs: &[
        &Input::preset(
            "groups",
            "Groups",
            Kind::Quantity(&limits::COUNT),
            "12",
            "That work at the same time.",
        ),
        &Input::preset(
            "spare",
            "Spare",
            Kind::Quantity(&limits::SHARE),
            "15 %",
            "For spills and second tries; 10 to 25 % is usual (common practice).",
        ),
        &Input::preset(
            "amounts",
            "Materials",
            Kind::Rows(&[
                &Column {
                    name: "material",
                    label: "Material",
                    before: None,
                    kind: Kind::Words,
                    optional: false,
                },
                &Column {
                    name: "amount",
                    label: "For a group",
                    before: Some(':'),
                    kind: Kind::AnyOf(AMOUNTS),
                    optional: false,
                },
                &Column {
                    name: "pack",
                    label: "Pack",
                    before: Some(','),
                    kind: Kind::AnyOf(AMOUNTS),
                    optional: true,
                },
                &Column {
                    name: "waste",
                    label: "Waste stream",
                    before: Some(','),
                    kind: Kind::Words,
                    optional: true,
                },
                &Column {
                    name: "loss",
                    label: "Lost before use",
                    before: Some(','),
                    kind: Kind::Quantity(&LOSS),
                    optional: true,
                },
            ]),
            "ethyl acetate: 150 mL, 2.5 L, halogen-free organic; cyclohexane: 200 mL, 2.5 L, halogen-free organic; silica gel: 25 g, 1 kg, used silica; magnesium sulfate: 5 g, 500 g, solids; dry ice: 300 g, 5 kg, none, 30 %",
            "Material: for a group, pack, waste stream, share lost before use; the last three may be left out.",
        ),
    ],
    evaluate,
};

/// What an amount is kept in, and how the store writes it.
struct Unit {
    symbol: &'static str,
    /// Behind the number, and behind a thousandth of it from a thousand on.
    written: [&'static str; 2],
    /// What its waste is called as a figure.
    waste: &'static str,
}

/// Liquids are a stream's first figure; its solids and pieces stand beside them.
static LIQUID: Unit = Unit {
    symbol: "mL",
    written: [" mL", " L"],
    waste: "waste.{}",
};
static SOLID: Unit = Unit {
    symbol: "g",
    written: [" g", " kg"],
    waste: "waste_mass.{}",
};
static PIECES: Unit = Unit {
    symbol: "",
    written: ["", ""],
    waste: "waste_pieces.{}",
};

/// One material, worked out. Amounts in base units of `unit`.
struct Need<'a> {
    material: &'a str,
    unit: &'static Unit,
    per_group: f64,
    /// With spare and what is lost before use: what must be in the store.
    total: f64,
    pack: Option<f64>,
    /// The waste stream that this material is the first to go into; empty where there is none.
    waste: &'a str,
    /// What goes into that stream with all materials counted alike, without spare and with it.
    wasted: [f64; 2],
}

/// What must be there for `used` to reach the benches.
fn with_spare(used: f64, spare: f64, loss: f64) -> f64 {
    used * (1.0 + spare) / (1.0 - loss)
}

impl Need<'_> {
    /// Whole packs from the store, and the size of one.
    fn packs(&self) -> Option<(f64, f64)> {
        let pack = self.pack?;
        // A hair less, so that two full bottles do not ask for a third.
        Some((f64::ceil(self.total / pack - 1e-9).max(1.0), pack))
    }
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let groups = inputs.count("groups")?.unwrap_or(1.0);
    let spare = inputs.get::<Fraction>("spare").in_ones();
    let mut needs: Vec<Need<'_>> = Vec::new();
    for row in inputs.rows("amounts") {
        add(row, groups, spare, &mut needs)?;
    }
    if needs.is_empty() {
        return Err(Problem::new(
            "amounts",
            "name one material, like “ethyl acetate: 150 mL, 2.5 L, halogen-free organic”",
        ));
    }

    let used = what_is_used(inputs);
    streams_hold_together(inputs, &used)?;

    outcome
        .because("{~5} groups with {~3} % spare are {~3} times what one group uses; whole packs add what is left over.")
        .number(groups)
        .number(spare * 100.0)
        .number(groups * (1.0 + spare));
    outcome.by_method("Groups × amount × (1 + spare)/(1 − loss), packs rounded up; waste runs from no spare used to all of it.");
    outcome.from_source("Arithmetic; the share of spare is common practice, no source.");
    outcome.valid_for(
        "Nothing shared between groups, nothing recovered; volumes of a stream simply added.",
    );
    plot(&needs, outcome);
    store(&needs, outcome);
    waste(&needs, outcome);
    meet(inputs, &used, outcome);
    harm(inputs, &used, outcome);
    cautions(&needs, outcome);
    Ok(())
}

/// A material of the list, as far as it is known.
struct Used<'a> {
    material: &'a str,
    stream: &'a str,
    known: Option<Material<'a>>,
}

fn what_is_used<'a>(inputs: &'a Inputs<'_>) -> Vec<Used<'a>> {
    let rows = inputs.rows("amounts").iter();
    rows.map(|row| {
        let material = row.words("material");
        Used {
            material,
            stream: stream(row),
            known: meeting::known(inputs.library(), material),
        }
    })
    .collect()
}

/// The waste stream of a row; empty where it is left out, or “none”.
fn stream<'a>(row: &'a Row<'_>) -> &'a str {
    let stream = row.words("waste");
    if stream.eq_ignore_ascii_case("none") {
        ""
    } else {
        stream
    }
}

/// The materials that are known of those that go into the stream of this name.
fn in_stream<'a>(used: &[Used<'a>], stream: &str) -> Vec<Material<'a>> {
    let all = used
        .iter()
        .filter(|one| one.stream.eq_ignore_ascii_case(stream));
    all.filter_map(|one| one.known.clone()).collect()
}

/// Refuses a stream whose materials must not meet, and a halogenated one in a can that is called
/// free of halogen.
fn streams_hold_together(inputs: &Inputs<'_>, used: &[Used<'_>]) -> Result<(), Problem> {
    for (at, one) in used.iter().enumerate() {
        if one.stream.is_empty() {
            continue;
        }
        let blame = |message| {
            let mut cell = Sentence::new("amounts {.0} waste");
            cell.number((at + 1) as f64);
            Problem::new(&cell, message)
        };
        let halogenated = one.known.as_ref().is_some_and(|it| it.is("halogenated"));
        if halogenated && holds(one.stream, "halogen-free") {
            return Err(blame("{} is halogenated and does not go into “{}”; give it a stream of halogenated waste").text(one.material).text(one.stream));
        }
        let together = in_stream(used, one.stream);
        let meetings = meeting::meetings(inputs.library(), &together);
        let worst = meetings
            .iter()
            .find(|pair| pair.is_danger() && [pair.first, pair.second].contains(&one.material));
        if let Some(pair) = worst {
            return Err(blame("danger: {} and {} must never meet, and both go into “{}”: {}. Give each a stream of its own")
                .text(pair.first)
                .text(pair.second)
                .text(one.stream)
                .text(pair.reason()));
        }
    }
    Ok(())
}

/// Says what must not meet on the bench, what meets in a stream with care only, and what is
/// unknown.
fn meet(inputs: &Inputs<'_>, used: &[Used<'_>], outcome: &mut Outcome) {
    let library = inputs.library();
    let all: Vec<Material<'_>> = used.iter().filter_map(|one| one.known.clone()).collect();
    for pair in meeting::meetings(library, &all) {
        if pair.is_danger() {
            outcome
                .danger(if pair.is_for_a_method() {
                    "{} and {} meet only as the method says, never in a can or the sink: {}."
                } else {
                    "{} and {} must never meet, in a vessel, a can or the sink: {}."
                })
                .text(pair.first)
                .text(pair.second)
                .text(pair.reason());
        }
    }
    for (at, one) in used.iter().enumerate() {
        let before = &used[..at];
        if one.stream.is_empty()
            || before
                .iter()
                .any(|other| other.stream.eq_ignore_ascii_case(one.stream))
        {
            continue;
        }
        for pair in meeting::meetings(library, &in_stream(used, one.stream)) {
            outcome
                .care("{} and {} go into “{}”: {}.")
                .text(pair.first)
                .text(pair.second)
                .text(one.stream)
                .text(pair.reason());
        }
    }
    let mut unknown = used.iter().filter(|one| one.known.is_none());
    if unknown.clone().next().is_some() {
        outcome
            .note("Not in the table of materials: {}. What they must not meet was not checked; ask which can they go into.")
            .list(", ", &mut unknown.by_ref().map(|one| one.material));
    }
}

/// The cell `column` of `row` with the unit it is kept in.
#[inline(never)]
fn amount(row: &Row<'_>, column: &str) -> Option<(f64, &'static Unit)> {
    if let Some(volume) = row.quantity::<Volume>(column) {
        Some((volume.base(), &LIQUID))
    } else if let Some(mass) = row.quantity::<Mass>(column) {
        Some((mass.base(), &SOLID))
    } else {
        Some((row.quantity::<Number>(column)?.base(), &PIECES))
    }
}

/// Works out the material of `row`, which follows those of `needs`.
fn add<'a>(
    row: &'a Row<'_>,
    groups: f64,
    spare: f64,
    needs: &mut Vec<Need<'a>>,
) -> Result<(), Problem> {
    let material = row.words("material");
    let blame = |column, message| {
        let at = (needs.len() + 1) as f64;
        let mut cell = Sentence::new("amounts {.0} {}");
        cell.number(at).text(column);
        Problem::new(&cell, message).number(at)
    };
    let Some((per_group, unit)) = amount(row, "amount") else {
        return Err(blame("amount", "row {.0}: give an amount for a group"));
    };
    let pack = amount(row, "pack");
    if pack.is_some_and(|(_, packed)| packed.symbol != unit.symbol) {
        return Err(blame(
            "pack",
            "row {.0}: amount and pack of {} must both be a volume, both a mass or both a count",
        )
        .text(material));
    }
    if needs.iter().any(|other| other.material == material) {
        return Err(
            Problem::new("amounts", "{} stands there twice; add the two amounts").text(material),
        );
    }
    let loss = row
        .quantity::<Fraction>("loss")
        .map_or(0.0, Fraction::in_ones);
    let used = groups * per_group;
    let wasted = [used, with_spare(used, spare, 0.0)];
    let mut waste = stream(row);
    for first in needs.iter_mut() {
        if !waste.is_empty() && first.waste == waste && first.unit.symbol == unit.symbol {
            first.wasted[0] += wasted[0];
            first.wasted[1] += wasted[1];
            waste = "";
        }
    }
    needs.push(Need {
        material,
        unit,
        per_group,
        total: with_spare(used, spare, loss),
        pack: pack.map(|(pack, _)| pack),
        waste,
        wasted,
    });
    Ok(())
}

/// Fills a gap for a number and one for its unit with an amount as the store keeps it: `2.5 L`,
/// `400 g`, `3`.
#[inline(never)]
fn fill(sentence: &mut Sentence, amount: f64, unit: &Unit) {
    let [small, large] = unit.written;
    let (value, written) = if unit.symbol.is_empty() {
        (f64::ceil(amount - 1e-9), small)
    } else if amount >= 1000.0 {
        (amount / 1000.0, large)
    } else {
        (amount, small)
    };
    sentence.number(value).text(written);
}

/// `template` with its gap filled.
#[inline(never)]
fn named(template: &'static str, name: &str) -> Sentence {
    let mut sentence = Sentence::new(template);
    sentence.text(name);
    sentence
}

/// What must be there of each material.
fn store(needs: &[Need<'_>], outcome: &mut Outcome) {
    for need in needs {
        let name = need.material;
        outcome.number(
            &named("total.{}", name),
            &named("{}, in all", name),
            need.total,
            need.unit.symbol,
        );
        if let Some((packs, _)) = need.packs() {
            outcome.count(&named("packs.{}", name), &named("{}, packs", name), packs);
        }
    }
    let table = outcome.table(
        "For the bench and from the store",
        "Material\tOn each bench\tIn all\tFrom the store\tLeft over",
    );
    for need in needs {
        let row = table.row("{}\t{~3}{}\t{~3}{}");
        row.text(need.material);
        fill(row, need.per_group, need.unit);
        fill(row, need.total, need.unit);
        if let Some((packs, pack)) = need.packs() {
            row.more("\t{~6} × {~3}{}\t{~3}{}").number(packs);
            fill(row, pack, need.unit);
            fill(row, packs * pack - need.total, need.unit);
        } else {
            row.more("\t–\t–");
        }
    }
}

/// The waste by stream and unit, in the order of the materials.
fn waste(needs: &[Need<'_>], outcome: &mut Outcome) {
    let streams = || needs.iter().filter(|need| !need.waste.is_empty());
    for need in streams() {
        let [least, most] = need.wasted;
        outcome
            .number(
                &named(need.unit.waste, need.waste),
                &named("Waste, {}", need.waste),
                most,
                need.unit.symbol,
            )
            .within(least, most);
    }
    let table = outcome.table("Waste, at most", "Stream\tRoom for");
    for need in streams() {
        let row = table.row("{}\t{~3}{}");
        row.text(need.waste);
        fill(row, need.wasted[1], need.unit);
    }
}

/// Words in the name of a material, and what they mean for the room.
static DANGERS: &[(&str, &str)] = &[
    (
        "dry ice",
        "Dry ice: gloves, an open box, a well-aired room; never in a closed vessel, a lift or a closed car.",
    ),
    (
        "liquid nitrogen",
        "Liquid nitrogen drives out air: an oxygen alarm where it is kept and filled, and gloves and face shield.",
    ),
];

/// What single materials do to people or, with time, in their bottles.
fn harm(inputs: &Inputs<'_>, used: &[Used<'_>], outcome: &mut Outcome) {
    let library = inputs.library();
    for one in used {
        let name = one.known.as_ref().map_or("", |known| known.name);
        // As it is written, else by the name that stands in it.
        let row = substance::row_of(library, one.material);
        if let Some(row) = row.or_else(|| substance::row_of(library, name)) {
            substance::hazards(row, outcome);
        }
        if one
            .known
            .as_ref()
            .is_some_and(|known| known.is("peroxide former"))
        {
            outcome
                .danger(
                    "{} forms explosive peroxides: note the date of opening, and test before use.",
                )
                .text(one.material);
        }
    }
}

fn cautions(needs: &[Need<'_>], outcome: &mut Outcome) {
    // A caution that two materials call for is shown once.
    for (word, caution) in DANGERS {
        if needs.iter().any(|need| holds(need.material, word)) {
            outcome.danger(caution);
        }
    }
    if let Some(much) = needs
        .iter()
        .find(|need| need.unit.symbol == LIQUID.symbol && need.total > STORE_VOLUME)
    {
        let care = outcome.care("{~3}{} of {}: keep only what the hour needs in the room, the rest in the solvent store; local rules say how much.");
        fill(care, much.total, much.unit);
        care.text(much.material);
    }
    outcome.care("Waste cans labelled and no more than four fifths full; halogenated and halogen-free never together; nothing that still reacts goes into a closed can.");
    outcome.care(DEFER);
}

/// Share of the packs that is used, for as many materials as can be read; none where no pack is
/// named.
fn plot(needs: &[Need<'_>], outcome: &mut Outcome) {
    if needs.iter().all(|need| need.pack.is_none()) {
        return;
    }
    let plot = outcome.plot(
        "How much of the packs is used",
        "Bars in the order of the materials; where a bar is short, a smaller pack leaves less over. The shortest stands at {.0} %.",
    );
    plot.x.linear("Used", "%").from_to(0.0, 100.0);
    plot.y.linear("Material, in the order of the list", "");
    let bars = plot.ranks("used of the packs");
    let (mut lowest, mut room) = (f64::INFINITY, BARS);
    for need in needs {
        if let Some((packs, pack)) = need.packs() {
            let share = need.total / (packs * pack) * 100.0;
            lowest = lowest.min(share);
            if room > 0 {
                bars.rank(need.material, 0.0, share);
                room -= 1;
            }
        }
    }
    plot.description.number(lowest);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outcome::Figure;

    fn run(amounts: &str) -> Result<Outcome, Vec<Problem>> {
        let given = [("groups", "10"), ("spare", "20 %"), ("amounts", amounts)];
        CALCULATOR.run_on("", &given)
    }

    /// Exact arithmetic.
    #[test]
    fn keeps_volumes_masses_and_pieces_apart() {
        let outcome = run("hexane: 0.1 L, 600 mL, organic; water: 50 mL, , organic; sand: 2 g, , organic; filters: 3, 100").unwrap();
        let figure = |name| outcome.figure(name).and_then(Figure::number);
        assert_eq!(figure("total.hexane"), Some(1200.0));
        assert_eq!(figure("packs.hexane"), Some(2.0));
        assert_eq!(figure("waste.organic"), Some(1800.0));
        assert_eq!(figure("waste_mass.organic"), Some(24.0));
        assert_eq!(figure("total.filters"), Some(36.0));
        assert_eq!(figure("packs.filters"), Some(1.0));
        assert_eq!(figure("packs.water"), None);
    }

    #[test]
    fn refuses_a_pack_of_another_kind() {
        let problems = run("hexane: 100 mL, 1 kg").unwrap_err();
        assert_eq!(
            problems.first().map(|p| p.input.as_str()),
            Some("amounts 1 pack")
        );
        let problems = run("hexane: 100 °C").unwrap_err();
        assert!(
            problems
                .iter()
                .any(|p| p.message.contains("“50 mL” or “2 g”")),
            "{problems:?}"
        );
    }
}
