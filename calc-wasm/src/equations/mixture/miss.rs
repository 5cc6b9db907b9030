//! How far the model of real mixtures lies from what was measured.
//!
//! Judged by the published azeotropes of the table, each kind of pair by itself: at the published
//! composition, the boiling temperature of the model less the published one, and its ln α, which
//! should be nought. 95 % of the pairs of a kind lie within the half-width given here;
//! `tests/tests/mixtures.rs` works them out anew.

use super::activity::Shares;
use super::pair::{Azeotrope, Pair};

/// Half-widths that 95 % of such pairs keep to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Miss {
    /// What it is, in words.
    pub kind: &'static str,
    /// Of the temperature in the middle, °C.
    pub celsius: f64,
    /// Of ln α.
    pub log_alpha: f64,
}

const fn miss(kind: &'static str, celsius: f64, log_alpha: f64) -> Miss {
    Miss {
        kind,
        celsius,
        log_alpha,
    }
}

/// A published azeotrope at about its own pressure: how far compilations lie from each other (own
/// choice).
pub static PUBLISHED: Miss = miss("how far compilations of azeotropes lie apart", 0.5, 0.05);
/// Two of one class, or nearly: few azeotropes to judge by (own choice).
pub static ALIKE: Miss = miss("how far pairs of one class are taken to lie off", 0.5, 0.06);
/// With a carboxylic acid, which pairs up in the vapour.
pub static ACID: Miss = miss("what 95 % of pairs with an acid keep to", 3.1, 0.12);
/// With water.
pub static WATER: Miss = miss("what 95 % of pairs with water keep to", 2.5, 0.45);
/// With an alcohol, no water.
pub static ALCOHOL: Miss = miss("what 95 % of pairs with an alcohol keep to", 1.1, 0.25);
/// All others.
pub static OTHER: Miss = miss(
    "what 95 % of pairs without water or alcohol keep to",
    2.7,
    0.19,
);

/// The kind of pair that two classes of substances make.
pub fn kind(classes: [&str; 2]) -> &'static Miss {
    let either = |class: &str| classes.contains(&class);
    if either("acid") {
        &ACID
    } else if either("water") {
        &WATER
    } else if family(classes[0]) == family(classes[1]) {
        &ALIKE
    } else if classes.map(family).contains(&"alcohol") {
        &ALCOHOL
    } else {
        &OTHER
    }
}

/// Classes whose molecules hold to each other in the same way.
pub fn family(class: &str) -> &str {
    match class {
        "aldehyde" => "ketone",
        "polyol" | "phenol" => "alcohol",
        other => other,
    }
}

impl Miss {
    /// How far a pair may lie from the truth: where a published azeotrope holds it, little at the
    /// pressure of that, and more with each factor of e to another (own choice; ethanol and water
    /// lie within it from 95 to 760 mmHg), but no more than without.
    pub fn of(pair: &Pair<'_>) -> Self {
        let classes = [0, 1].map(|at| pair.curves[at].record.text("class"));
        let kind = *kind(classes);
        let Some(published) = &pair.published else {
            return kind;
        };
        let away = libm::log(pair.mmhg / published.mmhg).abs();
        if away < 0.1 {
            return PUBLISHED;
        }
        let grown = 1.0 + away;
        Miss {
            kind: "how far compilations of azeotropes lie apart, and more for another pressure",
            celsius: (PUBLISHED.celsius * grown).min(kind.celsius),
            log_alpha: (PUBLISHED.log_alpha * grown).min(kind.log_alpha),
        }
    }

    /// Half-width of a boiling temperature at x, °C: nothing at the pure liquids but the band of
    /// their curves.
    pub fn celsius_at(&self, pair: &Pair<'_>, x: Shares) -> f64 {
        let own = self.celsius * 4.0 * x[0] * x[1];
        let band = |at: usize| x[at] * pair.curves[at].band(pair.mmhg);
        let bands = band(0) + band(1);
        f64::sqrt(own * own + bands * bands)
    }

    /// Half-width of the share of the first in an azeotrope: as far along x as ln α needs to make
    /// up for the miss.
    pub fn share_half(&self, pair: &Pair<'_>, azeotrope: &Azeotrope) -> f64 {
        let x = azeotrope.x[0];
        let spread = x * azeotrope.x[1];
        if azeotrope.layers {
            return spread * self.log_alpha;
        }
        let step = 0.1 * spread;
        let at = |x: f64| pair.boil([x, 1.0 - x]).log_alpha;
        let slope = ((at(x + step) - at(x - step)) / (2.0 * step)).abs();
        (self.log_alpha / slope.max(1e-3)).min(1.0)
    }
}
