//! What a substance brings, whatever is done with it: cautions, and the way on to other calculators.

use crate::inputs::{Entry, Field, Kind};
use crate::library::Record;
use crate::outcome::{NextStep, Outcome};

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
            .care("{} is flammable (flash point {.0} °C): no flame, no sparking switch, vapour led to the hood.")
            .text(name)
            .number(flash);
    }
    if substance.text("class") == "nitro" {
        outcome
            .danger("{} is a nitro compound: it may decompose violently when overheated; never distil to dryness, and use a shield.")
            .text(name);
    }
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
