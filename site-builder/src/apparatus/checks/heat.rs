//! Heat: never a closed system, no round flask on a bare plate, none too full.

use super::Rules;
use crate::apparatus::part::Fit;

/// A vessel that is heated is filled to this share at most.
const FILL_LIMIT: f64 = 2.0 / 3.0;

impl Rules<'_> {
    /// Vessels with something hot below them.
    pub(super) fn heated(&self) -> Vec<(usize, usize)> {
        let below = |item: usize| {
            self.assembly.joins.iter().find_map(|join| {
                let (a, b) = (
                    self.assembly.port(join.a).joint.fit,
                    self.assembly.port(join.b).joint.fit,
                );
                match (a, b) {
                    (Fit::Seat, Fit::Foot) if join.b.item == item => Some(join.a.item),
                    (Fit::Foot, Fit::Seat) if join.a.item == item => Some(join.b.item),
                    _ => None,
                }
            })
        };
        let mut found = Vec::new();
        for vessel in self.items().filter(|item| self.is(*item, "vessel")) {
            let mut under = below(vessel);
            for _ in 0..8 {
                match under {
                    Some(item) if self.is(item, "heats") => {
                        found.push((vessel, item));
                        break;
                    }
                    Some(item) => under = below(item),
                    None => break,
                }
            }
        }
        found
    }

    /// A heated system is never closed.
    pub(super) fn closed_while_heated(&mut self) {
        for (vessel, source) in self.heated() {
            let space = self.gas.reached(vessel, |_| false);
            let way_out = space.iter().any(|&item| {
                self.bare(item).is_some()
                    || self.is(item, "vents")
                    || self.is(item, "gives")
                    || self.is(item, "pump")
            });
            if !way_out {
                let message = format!(
                    "{} is heated by {} and nothing lets vapour or air out",
                    self.assembly.named(vessel),
                    self.assembly.named(source)
                );
                self.flaw(vessel, message, "open the system at one place: a vent in `open`, a drying tube, a bubbler, or a hose to the hood");
            }
        }
    }

    /// Round flasks are not heated on a bare plate, and no vessel is overfilled.
    pub(super) fn heating(&mut self) {
        for (vessel, source) in self.heated() {
            let direct = self.assembly.joins.iter().any(|join| {
                let pair = [join.a.item, join.b.item];
                pair.contains(&vessel) && pair.contains(&source)
            });
            if direct && self.is(source, "flat-heat") && self.is(vessel, "round") {
                let message = format!(
                    "{} is round and stands on the bare {}",
                    self.assembly.named(vessel),
                    self.assembly.items[source].part.label
                );
                self.flaw(
                    vessel,
                    message,
                    "put an oil bath between them, or use a heating mantle",
                );
            }
            let item = &self.assembly.items[vessel];
            let held: f64 = item.holds.iter().map(|layer| layer.0).sum();
            if item.part.volume > 0.0 && held > item.part.volume * FILL_LIMIT + 0.5 {
                let message = format!(
                    "{} is heated with {held} mL in it, more than two thirds full",
                    self.assembly.named(vessel)
                );
                self.flaw(vessel, message, "take a larger vessel or less liquid");
            }
        }
    }
}
