//! What a substance brings, whatever is done with it: cautions, and the way on to other calculators.
//!
//! What it does to people is told from the hazard statements of its row, GHS by number; wording
//! after Regulation (EC) 1272/2008 (CLP), Annex III. Those that only ask for what any bench has
//! (goggles, gloves, no flame) are left to the cautions on fire and to the local rules.

use crate::inputs::{Entry, Field, Kind};
use crate::library::{Library, Record};
use crate::outcome::{Level, NextStep, Outcome};

/// The substance asked about.
pub static SUBSTANCE: Field<Entry> = Field::preset(
    "substance",
    "Substance",
    Kind::Entry("substances"),
    "toluene",
    "Name, other name or CAS number.",
);

/// Adds what is known of `substance` that may hurt someone when it is heated.
pub fn cautions(substance: Record<'_>, outcome: &mut Outcome) {
    let name = substance.name();
    if substance.is("peroxide_former") {
        outcome
            .danger("{} forms explosive peroxides on standing: test before distilling, and never distil to dryness.")
            .text(name);
    }
    if let Some(flash) = substance.number("flash_point")
        && flash < 60.0
    {
        outcome
            .care("{} is flammable (flash point {.0} °C): no flame, no hot surface, no sparking switch, vapour led to the hood.")
            .text(name)
            .number(flash);
    }
    if substance.text("class") == "nitro" {
        outcome
            .danger("{} is a nitro compound: it may decompose violently when overheated; never distil to dryness, and use a shield.")
            .text(name);
    }
    let remark = substance.text("remark");
    if !remark.is_empty() {
        outcome.danger("{}: {}").text(name).text(remark);
    }
    hazards(substance, outcome);
}

/// Statements that are told, with the words for them and how grave they are.
static STATEMENTS: &[(&str, Level, &str)] = &[
    ("H300", Level::Danger, "kills if swallowed"),
    ("H310", Level::Danger, "kills through the skin"),
    ("H330", Level::Danger, "kills if breathed in"),
    ("H301", Level::Danger, "toxic if swallowed"),
    ("H311", Level::Danger, "toxic through the skin"),
    ("H331", Level::Danger, "toxic if breathed in"),
    ("H314", Level::Danger, "burns skin and eyes"),
    ("H317", Level::Care, "may cause an allergy of the skin"),
    ("H340", Level::Danger, "may cause genetic defects"),
    (
        "H341",
        Level::Danger,
        "suspected of causing genetic defects",
    ),
    ("H350", Level::Danger, "may cause cancer"),
    ("H351", Level::Danger, "suspected of causing cancer"),
    (
        "H360",
        Level::Danger,
        "may damage fertility or the unborn child",
    ),
    (
        "H361",
        Level::Danger,
        "suspected of damaging fertility or the unborn child",
    ),
    ("H370", Level::Danger, "damages organs"),
    (
        "H372",
        Level::Danger,
        "damages organs if breathed in again and again",
    ),
    (
        "H373",
        Level::Care,
        "may damage organs if breathed in again and again",
    ),
];

/// Those that make a vapour a poison.
const POISONS: [&str; 8] = [
    "H300", "H310", "H330", "H301", "H311", "H331", "H370", "H372",
];

/// The statement at the head of a cell of the column: `H372` of `H372 the nerves`.
fn number_of(statement: &str) -> &str {
    statement.split(' ').next().unwrap_or_default()
}

/// Adds what `row` of the table of substances or solvents does to people.
#[inline(never)]
pub fn hazards(row: Record<'_>, outcome: &mut Outcome) {
    let told = || {
        row.list("hazards").filter_map(|statement| {
            let words = STATEMENTS
                .iter()
                .find(|(number, ..)| *number == number_of(statement))?;
            Some((statement, words))
        })
    };
    if told().next().is_none() {
        return;
    }
    let sentence = if told().any(|(_, (_, level, _))| *level == Level::Danger) {
        outcome.danger("{}: ")
    } else {
        outcome.care("{}: ")
    };
    sentence.text(row.name());
    let mut between = "";
    for (statement, (number, _, words)) in told() {
        sentence
            .more("{}{} ({}")
            .text(between)
            .text(words)
            .text(number);
        if let Some(organ) = statement
            .strip_prefix(number)
            .filter(|organ| !organ.is_empty())
        {
            sentence.more(":{}").text(organ);
        }
        sentence.more(")");
        between = ", ";
    }
    sentence.more(
        ". In the hood, with gloves that keep it out; something less harmful, if it does as well.",
    );
}

/// Adds what the solvent or substance called `name` does to people, as far as it is known.
#[inline(never)]
pub fn hazards_of(library: &Library, name: &str, outcome: &mut Outcome) {
    if let Some(row) = row_of(library, name) {
        hazards(row, outcome);
    }
}

/// The row of the table of substances for `name`, else that of the solvents.
#[inline(never)]
pub fn row_of<'a>(library: &'a Library, name: &str) -> Option<Record<'a>> {
    let mut tables = ["substances", "solvents"].iter();
    tables.find_map(|table| library.table(table)?.find(name))
}

/// Whether its vapour is a poison, by its hazard statements.
pub fn is_poison(substance: Record<'_>) -> bool {
    let mut statements = substance.list("hazards");
    statements.any(|statement| POISONS.contains(&number_of(statement)))
}

/// Below this, in mmHg, glass counts as evacuated: no weather brings the air so low (common
/// practice).
const EVACUATED: f64 = 700.0;

/// Adds the danger of evacuated glass, where the pressure in it is below that of the air.
pub fn implosion(mmhg: f64, outcome: &mut Outcome) {
    if mmhg < EVACUATED {
        outcome.danger("Evacuated glass can implode: round-bottomed flasks without a star crack, goggles and a screen.");
    }
}

/// Adds all that a distillation in evacuated glass asks for, where the pressure is below that
/// of the air.
pub fn vacuum(mmhg: f64, outcome: &mut Outcome) {
    implosion(mmhg, outcome);
    if mmhg < EVACUATED {
        outcome.care("Vacuum first, heat afterwards; heat away and cool before air is let in.");
    }
}

/// The caution that defers to those who know the place and the bottle.
pub const DEFER: &str =
    "Local rules, the supplier’s safety data sheet and the demonstrator come before this page.";

/// Whether the molecules of `substance` cling together by hydrogen bonds or strong dipoles, and so
/// to water and to each other, but not to what is unlike them.
#[inline(never)]
pub fn clings(substance: Record<'_>) -> bool {
    let class = substance.text("class");
    [
        "water", "alcohol", "polyol", "phenol", "acid", "amide", "amine", "nitrile",
    ]
    .contains(&class)
}

/// Adds a link to another calculator that asks about `substance` too.
#[inline(never)]
pub fn then<'o>(
    substance: Record<'_>,
    label: &'static str,
    calculator: &'static str,
    outcome: &'o mut Outcome,
) -> &'o mut NextStep {
    let next = outcome.then(label, calculator);
    next.with("substance", "{}").text(substance.name());
    next
}
