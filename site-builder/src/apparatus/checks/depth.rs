//! What is let down through a gland: bulbs where the vapour passes, bleeds near the bottom.

use super::Rules;
use crate::apparatus::assembly::End;
use crate::apparatus::layout::{reach, target_below};
use crate::apparatus::part::Fit;

/// A thermometer's bulb may stand so far from its mark, mm.
const BULB_TOLERANCE: f64 = 6.0;
/// A bleed may end so far above the bottom, mm.
const BLEED_GAP: f64 = 8.0;

impl Rules<'_> {
    /// Rods in their glands: (gland, rod).
    fn rods(&self) -> Vec<(End, End)> {
        self.assembly
            .joins
            .iter()
            .filter_map(|join| {
                match (
                    self.assembly.port(join.a).joint.fit,
                    self.assembly.port(join.b).joint.fit,
                ) {
                    (Fit::Gland, Fit::Rod) => Some((join.a, join.b)),
                    (Fit::Rod, Fit::Gland) => Some((join.b, join.a)),
                    _ => None,
                }
            })
            .collect()
    }

    /// The bulb stands just below the lower edge of the side arm, or else in the liquid.
    pub(super) fn bulbs(&mut self) {
        for (gland, rod) in self.rods() {
            if !self.is(rod.item, "thermometer") {
                continue;
            }
            let depth = reach(self.assembly, gland, rod);
            if !self.long_enough(rod.item, depth) {
                continue;
            }
            let (wanted, place) = match target_below(self.assembly, gland, "bulb") {
                Some(wanted) => (wanted, "the side arm"),
                None => continue,
            };
            let off = depth - wanted;
            if off.abs() > BULB_TOLERANCE {
                let side = if off > 0.0 { "below" } else { "above" };
                let message = format!(
                    "the bulb of {} stands {:.0} mm {side} {place}",
                    self.assembly.named(rod.item),
                    off.abs()
                );
                self.flaw(rod.item, message, format!("set `depth = \"{wanted:.0} mm\"` or leave `depth` out, so that the bulb stands just below the side arm's lower edge"));
            }
        }
    }

    fn long_enough(&mut self, item: usize, depth: f64) -> bool {
        let length = self.assembly.items[item].part.length;
        let short = length > 0.0 && depth > length - 8.0;
        if short {
            let message = format!(
                "{} is {length:.0} mm long and cannot reach {depth:.0} mm deep",
                self.assembly.named(item)
            );
            self.flaw(item, message, "take a longer one or set a smaller `depth`");
        }
        !short
    }

    /// The thread of a bleed ends near the bottom, under the liquid.
    pub(super) fn bleeds(&mut self) {
        for (gland, rod) in self.rods() {
            if !self.is(rod.item, "bleed") {
                continue;
            }
            let depth = reach(self.assembly, gland, rod);
            match target_below(self.assembly, gland, "bottom") {
                None => {
                    let message = format!(
                        "{} does not point at the bottom of a vessel",
                        self.assembly.named(rod.item)
                    );
                    self.flaw(
                        rod.item,
                        message,
                        "put it in a neck whose line runs to the bottom",
                    );
                }
                Some(bottom) if bottom - depth > BLEED_GAP => {
                    let message = format!(
                        "{} ends {:.0} mm above the bottom, so it may blow above the liquid",
                        self.assembly.named(rod.item),
                        bottom - depth
                    );
                    let length = self.assembly.items[rod.item].part.length;
                    let mend = if length < bottom + 12.0 {
                        format!("take a bleed at least {:.0} mm long", bottom + 15.0)
                    } else {
                        format!(
                            "set `depth = \"{:.0} mm\"` or leave `depth` out",
                            bottom - 3.0
                        )
                    };
                    self.flaw(rod.item, message, mend);
                }
                Some(bottom) if depth > bottom + 1.0 => {
                    let message = format!(
                        "{} is pushed {:.0} mm through the bottom",
                        self.assembly.named(rod.item),
                        depth - bottom
                    );
                    self.flaw(
                        rod.item,
                        message,
                        format!(
                            "set `depth = \"{:.0} mm\"` or leave `depth` out",
                            bottom - 3.0
                        ),
                    );
                }
                Some(_) => {}
            }
        }
    }
}
