//! Cautions that a substance brings, whatever is done with it.

use crate::inputs::{Input, Kind};
use crate::library::Record;
use crate::outcome::Outcome;

/// The substance asked about.
pub const SUBSTANCE: Input = Input::preset(
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
        outcome.old_danger(format!(
            "{name} forms explosive peroxides on standing: test before distilling, and never distil to dryness."
        ));
    }
    if let Some(flash) = substance.number("flash_point")
        && flash < 60.0
    {
        outcome.old_care(format!(
            "{name} is flammable (flash point {} °C): no flame, no sparking switch, vapour led to the hood.",
            crate::quantity::number::fixed(flash, 0)
        ));
    }
    if substance.text("class") == "nitro" {
        outcome.old_danger(format!(
            "{name} is a nitro compound: it may decompose violently when overheated; never distil to dryness, and use a shield."
        ));
    }
}

/// Below this, in mmHg, glass counts as evacuated: no weather brings the air so low (common
/// practice).
const EVACUATED: f64 = 700.0;

/// Adds the danger of evacuated glass, where the pressure in it is below that of the air.
pub fn implosion(mmhg: f64, outcome: &mut Outcome) {
    if mmhg < EVACUATED {
        outcome.old_danger("Evacuated glass can implode: round-bottomed flasks without a star crack, goggles and a screen.");
    }
}

/// Adds all that a distillation in evacuated glass asks for, where the pressure is below that
/// of the air.
pub fn vacuum(mmhg: f64, outcome: &mut Outcome) {
    implosion(mmhg, outcome);
    if mmhg < EVACUATED {
        outcome.old_care("Vacuum first, heat afterwards; heat away and cool before air is let in.");
    }
}

/// The caution that defers to those who know the place and the bottle.
pub const DEFER: &str =
    "Local rules, the supplier’s safety data sheet and the demonstrator come before this page.";
