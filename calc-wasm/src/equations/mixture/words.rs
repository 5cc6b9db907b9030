//! What is to be said of a real mixture, whichever calculator asks.

use super::miss::Miss;
use super::pair::Pair;
use crate::outcome::Outcome;

/// Temperatures in °C between which the parameters were fitted.
const FITTED: [f64; 2] = [-20.0, 180.0];

/// Says what was published, and where the model is not sure.
pub fn doubts(pair: &Pair<'_>, outcome: &mut Outcome) {
    if let Some(published) = &pair.published {
        let row = published.row;
        outcome
            .note("Held to the published azeotrope: {} °C at {} mmHg with {} % by mass of {} ({}). The model by itself stood {.1} °C off there.")
            .text(row.text("temperature"))
            .text(row.text("pressure"))
            .text(row.text("first_percent"))
            .text(row.text("first"))
            .text(row.text("source"))
            .number(published.celsius_miss.abs());
        if libm::log(pair.mmhg / published.mmhg).abs() > std::f64::consts::LN_2 {
            outcome.extrapolated = true;
            outcome.note("It shifts with the pressure; how far, is reckoned and not published.");
        }
    } else if !pair.azeotropes.is_empty() {
        outcome.note("No published azeotrope of the two stands in the table here: the one shown is the model’s.");
    }
    let steps = pair.nodes.iter().map(|(_, boil)| boil.log_alpha.abs());
    if steps.fold(0.0, f64::max) < Miss::of(pair).log_alpha {
        outcome.extrapolated = true;
        outcome.note("The two boil so close together that the model cannot tell which way they part, nor whether there is an azeotrope.");
    }
    if let Some(acid) = pair.acid() {
        outcome.extrapolated = true;
        outcome
            .note("{} pairs up in the vapour, of which the model knows nothing: away from the azeotrope the figures are rough.")
            .text(acid.name());
    }
    let mut temperatures = pair.nodes.iter().map(|(_, boil)| boil.celsius);
    let fitted = temperatures.all(|celsius| (FITTED[0]..FITTED[1]).contains(&celsius));
    outcome.in_range(fitted);
    if !fitted {
        outcome.note("They boil outside −20 to 180 °C, for which the parameters were made.");
    }
}
