//! What heat does: how long a liquid takes to warm, and how fast it boils over.
//!
//! Warm-up: t = m·cp·ΔT/(η·P). Boil-up: F = η·P·M/(ΔHvap·ρ). P the heater's power in W, η the
//! share of it that arrives, m in g, cp in J/(g K), M in g/mol, ΔHvap in J/mol, ρ in g/mL.
//! Conservation of energy; the losses are all in η. They hold for a steady heater below the
//! temperature at which the liquid boils dry or the column floods.

use crate::inputs::{Choice, Entry, Field, Inputs, Kind, Word};
use crate::library::Record;
use crate::limits;
use crate::problem::Problem;
use crate::quantity::{FlowRate, Fraction, Number, Power, Quantity, Volume};
use crate::sentence::Sentence;

/// Minutes to warm heat capacities (J/K, each with its rise in K) with `watts` arriving.
pub fn warm_up(parts: &[(f64, f64)], watts: f64) -> f64 {
    parts.iter().map(|(heat, rise)| heat * rise).sum::<f64>() / watts / 60.0
}

/// Liquid boiled over in mL/min with `watts` arriving; None where the table lacks a constant.
pub fn boil_up(substance: Record<'_>, watts: f64) -> Option<f64> {
    let joule_per_gram =
        substance.number("heat_of_vaporisation")? * 1000.0 / substance.number("molar_mass")?;
    Some(watts * 60.0 / joule_per_gram / substance.number("density")?)
}

/// The part of the heater's power that arrives, W, from [`POWER`] and [`EFFICIENCY`].
#[inline(never)]
pub fn watts(inputs: &Inputs<'_>) -> f64 {
    inputs.get(&POWER).base() * inputs.get(&EFFICIENCY).in_ones()
}

/// The heater's power.
pub static POWER: Field<Power> = Field::preset(
    "power",
    "Heater",
    Kind::Quantity(&limits::POWER),
    "200 W",
    "As the plate or mantle is set, not what it could give.",
);

/// The share of the power that arrives in the liquid.
pub static EFFICIENCY: Field<Fraction> = Field::preset(
    "efficiency",
    "Share of the heat that arrives",
    Kind::Quantity(&limits::EFFICIENCY),
    "0.4",
    "The rest warms the room; 0.3 to 0.6 is usual (common practice).",
);

/// How the flow of solvent is known.
pub static RATE_FROM: Field<Word> = Field::preset(
    "rate_from",
    "The flow is known from",
    Kind::Choice(&[
        Choice {
            name: "measured",
            label: "a measurement",
        },
        Choice {
            name: "drops",
            label: "counted drops",
        },
        Choice {
            name: "power",
            label: "the heater’s power",
        },
    ]),
    "measured",
    "A measurement on the running apparatus is best.",
);

/// Counted drops.
pub static DROPS: Field<Number> = Field::preset(
    "drops",
    "Drops per minute",
    Kind::Quantity(&limits::COUNT),
    "120",
    "Counted under the condenser.",
)
.when(&RATE_FROM, &["drops"]);

/// Volume of one drop.
pub static DROP_VOLUME: Field<Volume> = Field::preset(
    "drop_volume",
    "One drop",
    Kind::Quantity(&limits::VOLUME),
    "0.02 mL",
    "Count the drops in 1 mL: organic solvents give smaller drops than water.",
)
.when(&RATE_FROM, &["drops"]);

/// The solvent that is boiled.
pub static SOLVENT: Field<Entry> = Field::preset(
    "solvent",
    "Solvent",
    Kind::Entry("substances"),
    "dichloromethane",
    "Name, other name or CAS number.",
)
.when(&RATE_FROM, &["power"]);

/// Flow of boiled solvent in mL/min, however it is known; `rate` names the measured input.
///
/// # Errors
/// When the table lacks a constant of the solvent.
pub fn flow(inputs: &Inputs<'_>, rate: &Field<FlowRate>) -> Result<f64, Problem> {
    match inputs.choice(&RATE_FROM) {
        "drops" => Ok(inputs.get(&DROPS).base()
            * inputs.get(&DROP_VOLUME).in_millilitres()),
        "power" => boil_up(inputs.need_entry(&SOLVENT)?, watts(inputs)).ok_or_else(|| {
            Problem::new(SOLVENT.input.name,
                "its heat of vaporisation, molar mass or density is not known here; measure the flow instead",
            )
        }),
        _ => Ok(inputs.get(rate).base()),
    }
}

/// Fills a gap for a number and one for its unit with `minutes`: `45 min`, `3.2 h`, `2.5 days`.
#[inline(never)]
pub fn span(sentence: &mut Sentence, minutes: f64) -> &mut Sentence {
    let (value, unit) = if minutes < 100.0 {
        (minutes, "min")
    } else if minutes < 2880.0 {
        (minutes / 60.0, "h")
    } else {
        (minutes / 1440.0, "days")
    };
    sentence.number(value).text(unit)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::library::Library;

    /// Water: 40.65 kJ/mol at 100 °C (CRC Handbook, enthalpy of vaporization).
    #[test]
    fn a_kilowatt_boils_a_kettle() {
        let library = Library::from_text(
            "[substances]\nname\tmolar_mass\theat_of_vaporisation\tdensity\nwater\t18.015\t40.65\t1",
        )
        .unwrap();
        let water = library.find("substances", "water").unwrap();
        let rate = boil_up(water, 1000.0).unwrap();
        assert!((rate - 26.6).abs() < 0.1, "{rate}");
        // 1 kg of water by 80 K: 334 kJ, 5.6 min at 1 kW.
        let minutes = warm_up(&[(4180.0, 80.0)], 1000.0);
        assert!((minutes - 5.573).abs() < 0.01, "{minutes}");
        for (minutes, words) in [(5.573, "5.6 min"), (921.0, "15 h")] {
            assert_eq!(&**span(&mut Sentence::new("{2} {}"), minutes), words);
        }
    }
}
