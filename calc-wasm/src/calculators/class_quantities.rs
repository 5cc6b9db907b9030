//! How much of everything for a class, in what packs, and how much waste of each stream?
//!
//! Of each material: total = groups × amount per group × (1 + spare)/(1 − loss), the loss being
//! what vanishes before it is used (dry ice in its box). Packs = total over pack size, rounded
//! up. Waste of a stream: what its materials amount to, from no spare used to all of it. Volumes
//! in mL, masses in g, pieces as they are; the three are never added together.
//! Arithmetic; it holds if nothing is shared between groups and nothing is recovered.

use crate::calculators::Calculator;
use crate::equations::substance::DEFER;
use crate::inputs::{Column, Input, Inputs, Kind, Row, form_only};
use crate::limits::{self, Limit};
use crate::outcome::{OldTable, Outcome};
use crate::plot::{Axis, OldLayer, Plot};
use crate::problem::Problem;
use crate::quantity::{Fraction, Mass, Number, Quantity, Volume, number};

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

pub(super) static CALCULATOR: Calculator = Calculator {
    name: "class-quantities",
    title: "Quantities for a class",
    question: form_only("How much of everything, in what packs, and how much waste?"),
    inputs: &[
        Input::preset(
            "groups",
            "Groups",
            Kind::Quantity(&limits::COUNT),
            "12",
            "That work at the same time.",
        ),
        Input::preset(
            "spare",
            "Spare",
            Kind::Quantity(&limits::SHARE),
            "15 %",
            "For spills and second tries; 10 to 25 % is usual (common practice).",
        ),
        Input::preset(
            "amounts",
            "Materials",
            Kind::Rows(&[
                Column {
                    name: "material",
                    label: "Material",
                    before: None,
                    kind: Kind::Words,
                    optional: false,
                },
                Column {
                    name: "amount",
                    label: "For a group",
                    before: Some(':'),
                    kind: Kind::AnyOf(AMOUNTS),
                    optional: false,
                },
                Column {
                    name: "pack",
                    label: "Pack",
                    before: Some(','),
                    kind: Kind::AnyOf(AMOUNTS),
                    optional: true,
                },
                Column {
                    name: "waste",
                    label: "Waste stream",
                    before: Some(','),
                    kind: Kind::Words,
                    optional: true,
                },
                Column {
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

/// One material, worked out. Amounts in base units of `unit`.
struct Need<'a> {
    material: &'a str,
    unit: &'static str,
    per_group: f64,
    /// For all groups, without spare and with it.
    used: [f64; 2],
    /// With spare and what is lost before use: what must be in the store.
    total: f64,
    pack: Option<f64>,
    waste: &'a str,
}

/// What must be there for `used` to reach the benches.
fn with_spare(used: f64, spare: f64, loss: f64) -> f64 {
    used * (1.0 + spare) / (1.0 - loss)
}

impl Need<'_> {
    fn packs(&self) -> Option<f64> {
        // A hair less, so that two full bottles do not ask for a third.
        Some(libm::ceil(self.total / self.pack? - 1e-9).max(1.0))
    }
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let groups = inputs.count("groups")?.unwrap_or(1.0);
    let spare = inputs.need::<Fraction>("spare")?.in_ones();
    let mut needs: Vec<Need<'_>> = Vec::new();
    for (at, row) in inputs.rows("amounts").iter().enumerate() {
        let need = need(row, at + 1, groups, spare)?;
        if needs.iter().any(|other| other.material == need.material) {
            return Err(Problem::new(
                "amounts",
                format!("{} stands there twice; add the two amounts", need.material),
            ));
        }
        needs.push(need);
    }
    if needs.is_empty() {
        return Err(Problem::new(
            "amounts",
            "name one material, like “ethyl acetate: 150 mL, 2.5 L, halogen-free organic”",
        ));
    }

    let streams = streams(&needs);
    outcome.because(format!(
            "{} groups with {} % spare are {} times what one group uses; whole packs add what is left over.",
            number::plain(groups, 5),
            number::plain(spare * 100.0, 3),
            number::plain(groups * (1.0 + spare), 3)
        ));
    outcome.by_method("Groups × amount × (1 + spare)/(1 − loss), packs rounded up; waste runs from no spare used to all of it.");
    outcome.from_source("Arithmetic; the share of spare is common practice, no source.");
    outcome.valid_for(
        "Nothing shared between groups, nothing recovered; volumes of a stream simply added.",
    );
    outcome.plot = plot(&needs);
    outcome.tables.push((store(&needs)).into());
    outcome.tables.push((waste(&streams)).into());
    for need in &needs {
        let name = need.material;
        outcome.number(
            &format!("total.{name}"),
            &format!("{name}, in all"),
            need.total,
            need.unit,
        );
        if let Some(packs) = need.packs() {
            outcome.count(&format!("packs.{name}"), &format!("{name}, packs"), packs);
        }
    }
    for stream in &streams {
        // Liquids are a stream's first figure; its solids and pieces stand beside them.
        let kind = match stream.unit {
            "mL" => "waste",
            "g" => "waste_mass",
            _ => "waste_pieces",
        };
        outcome
            .number(
                &format!("{kind}.{}", stream.name),
                &format!("Waste, {}", stream.name),
                stream.most,
                stream.unit,
            )
            .within(stream.least, stream.most);
    }
    cautions(&needs, outcome);
    Ok(())
}

/// The cell `column` of `row` with the unit it is kept in.
fn amount(row: &Row<'_>, column: &str) -> Option<(f64, &'static str)> {
    if let Some(volume) = row.quantity::<Volume>(column) {
        Some((volume.base(), "mL"))
    } else if let Some(mass) = row.quantity::<Mass>(column) {
        Some((mass.base(), "g"))
    } else {
        Some((row.quantity::<Number>(column)?.base(), ""))
    }
}

fn need<'a>(row: &'a Row<'_>, at: usize, groups: f64, spare: f64) -> Result<Need<'a>, Problem> {
    let material = row.words("material");
    let blame = |column, message| Problem::new(&format!("amounts {at} {column}"), message);
    let (per_group, unit) = amount(row, "amount")
        .ok_or_else(|| blame("amount", format!("row {at}: give an amount for a group")))?;
    let pack = match amount(row, "pack") {
        Some((pack, packed)) if packed == unit => Some(pack),
        Some(_) => {
            return Err(blame(
                "pack",
                format!(
                    "row {at}: amount and pack of {material} must both be a volume, both a mass or both a count"
                ),
            ));
        }
        None => None,
    };
    let loss = row
        .quantity::<Fraction>("loss")
        .map_or(0.0, Fraction::in_ones);
    let used = groups * per_group;
    Ok(Need {
        material,
        unit,
        per_group,
        used: [used, with_spare(used, spare, 0.0)],
        total: with_spare(used, spare, loss),
        pack,
        waste: row.words("waste"),
    })
}

/// Waste of one stream that is counted in one unit.
struct Stream<'a> {
    name: &'a str,
    unit: &'static str,
    least: f64,
    most: f64,
}

/// The waste by stream and unit, in the order of the materials.
fn streams<'a>(needs: &[Need<'a>]) -> Vec<Stream<'a>> {
    let mut streams: Vec<Stream<'a>> = Vec::new();
    for need in needs {
        if need.waste.is_empty() || need.waste.eq_ignore_ascii_case("none") {
            continue;
        }
        let same = |stream: &&mut Stream<'_>| stream.name == need.waste && stream.unit == need.unit;
        match streams.iter_mut().find(same) {
            Some(stream) => {
                stream.least += need.used[0];
                stream.most += need.used[1];
            }
            None => streams.push(Stream {
                name: need.waste,
                unit: need.unit,
                least: need.used[0],
                most: need.used[1],
            }),
        }
    }
    streams
}

/// An amount as the store keeps it: `2.5 L`, `400 g`, `3`.
fn words(amount: f64, unit: &str) -> String {
    let (value, unit) = match unit {
        "mL" if amount >= 1000.0 => (amount / 1000.0, " L"),
        "mL" => (amount, " mL"),
        "g" if amount >= 1000.0 => (amount / 1000.0, " kg"),
        "g" => (amount, " g"),
        _ => (libm::ceil(amount - 1e-9), ""),
    };
    format!("{}{unit}", number::plain(value, 3))
}

fn store(needs: &[Need<'_>]) -> OldTable {
    let rows = needs
        .iter()
        .map(|need| {
            let (packs, over) = match (need.pack, need.packs()) {
                (Some(pack), Some(packs)) => (
                    format!("{} × {}", number::plain(packs, 6), words(pack, need.unit)),
                    words(packs * pack - need.total, need.unit),
                ),
                _ => ("–".into(), "–".into()),
            };
            vec![
                need.material.to_string(),
                words(need.per_group, need.unit),
                words(need.total, need.unit),
                packs,
                over,
            ]
        })
        .collect();
    OldTable {
        title: "For the bench and from the store".into(),
        heads: [
            "Material",
            "On each bench",
            "In all",
            "From the store",
            "Left over",
        ]
        .map(String::from)
        .to_vec(),
        rows,
    }
}

fn waste(streams: &[Stream<'_>]) -> OldTable {
    let rows = streams
        .iter()
        .map(|stream| vec![stream.name.to_string(), words(stream.most, stream.unit)])
        .collect();
    OldTable {
        title: "Waste, at most".into(),
        heads: vec!["Stream".into(), "Room for".into()],
        rows,
    }
}

fn cautions(needs: &[Need<'_>], outcome: &mut Outcome) {
    let named = |word: &str| {
        needs
            .iter()
            .any(|need| crate::problem::small(need.material).contains(word))
    };
    if named("dry ice") {
        outcome.old_danger("Dry ice: gloves, an open box, a well-aired room; never in a closed vessel, a lift or a closed car.");
    }
    if named("liquid nitrogen") {
        outcome.old_danger("Liquid nitrogen drives out air: an oxygen alarm where it is kept and filled, and gloves and face shield.");
    }
    if named("ether") || named("tetrahydrofuran") || named("dioxane") {
        outcome.old_danger(
            "Ethers form explosive peroxides: note the date of opening, and test before use.",
        );
    }
    if let Some(much) = needs
        .iter()
        .find(|need| need.unit == "mL" && need.total > STORE_VOLUME)
    {
        outcome.old_care(format!(
            "{} of {}: keep only what the hour needs in the room, the rest in the solvent store; local rules say how much.",
            words(much.total, "mL"), much.material
        ));
    }
    outcome.old_care("Waste cans labelled and no more than four fifths full; halogenated and halogen-free never together; nothing that still reacts goes into a closed can.");
    outcome.old_care(DEFER);
}

/// Share of the packs that is used, for as many materials as can be read; none where no pack is
/// named.
fn plot(needs: &[Need<'_>]) -> Option<Plot> {
    let mut bars: Vec<(String, f64, f64)> = needs
        .iter()
        .filter_map(|need| {
            let share = need.total / (need.packs()? * need.pack?) * 100.0;
            Some((need.material.to_string(), 0.0, share))
        })
        .collect();
    let lowest = bars.iter().map(|bar| bar.2).fold(f64::INFINITY, f64::min);
    bars.truncate(BARS);
    (!bars.is_empty()).then(|| Plot::old("How much of the packs is used", format!(
            "Bars in the order of the materials; where a bar is short, a smaller pack leaves less over. The shortest stands at {} %.",
            number::fixed(lowest, 0)
        ), Axis::old_linear("Used", "%").old_from_to(0.0, 100.0), Axis::old_linear("Material, in the order of the list", ""), vec![OldLayer::Ranks {
            label: "used of the packs".into(),
            bars,
        }]))
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
