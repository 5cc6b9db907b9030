//! What carries it all: clamps, rings, jacks and the bench.

use super::Rules;
use crate::apparatus::assembly::Hold;
use crate::apparatus::part::Fit;

/// What a joint clip may carry, as the volume of the flask in mL.
const CLIP_LIMIT: f64 = 250.0;

impl Rules<'_> {
    /// Whether a part stands on something that carries it, down to the bench.
    fn stands(&self, item: usize) -> bool {
        let mut at = item;
        for _ in 0..8 {
            let under = self.assembly.joins.iter().find_map(|join| {
                let (a, b) = (
                    self.assembly.port(join.a).joint.fit,
                    self.assembly.port(join.b).joint.fit,
                );
                match (a, b) {
                    (Fit::Seat, Fit::Foot) if join.b.item == at => Some(join.a.item),
                    (Fit::Foot, Fit::Seat) if join.a.item == at => Some(join.b.item),
                    _ => None,
                }
            });
            match under {
                Some(next) if self.is(next, "bath") => return false,
                Some(next) => at = next,
                None => {
                    let foot = self
                        .ends(at)
                        .into_iter()
                        .find(|end| self.assembly.port(*end).joint.fit == Fit::Foot);
                    let on_bench = |y: f64| {
                        y.abs() < 1.0
                            || self
                                .assembly
                                .lower_bench
                                .is_some_and(|low| (y - low).abs() < 1.0)
                    };
                    return foot.is_some_and(|end| on_bench(self.assembly.spot(end).0.y));
                }
            }
        }
        false
    }

    /// Weight hangs from clamps, not from joints.
    pub(super) fn support(&mut self) {
        for item in self.items() {
            let clamps: Vec<_> = self
                .assembly
                .clamps
                .iter()
                .filter(|clamp| clamp.item == item)
                .collect();
            let firm = clamps.iter().any(|clamp| clamp.hold != Hold::Clip);
            let clip = clamps.iter().find(|clamp| clamp.hold == Hold::Clip);
            let volume = self.assembly.items[item].part.volume;
            if let Some(clip) = clip
                && !firm
                && !self.stands(item)
                && volume > CLIP_LIMIT
            {
                let span = clip.span.clone();
                let message = format!(
                    "a joint clip alone does not carry {}",
                    self.assembly.named(item)
                );
                self.span_of(&span, message, "put a lab jack under it or clamp its neck");
                continue;
            }
            let alias = self.assembly.items[item].alias.clone();
            if self.is(item, "clamp") && !firm && !self.stands(item) {
                let message = format!("{} hangs on its joints alone", self.assembly.named(item));
                self.flaw(item, message, format!("add `\"{alias}\"` to `clamps`"));
            } else if self.is(item, "weight") && !firm && clip.is_none() && !self.stands(item) {
                let in_bath = self.assembly.joins.iter().any(|join| {
                    (join.b.item == item && self.is(join.a.item, "bath"))
                        || (join.a.item == item && self.is(join.b.item, "bath"))
                });
                let message = if in_bath {
                    format!(
                        "{} is not clamped: a bath does not carry it",
                        self.assembly.named(item)
                    )
                } else {
                    format!("nothing carries {}", self.assembly.named(item))
                };
                let ring = self.assembly.items[item].part.mark("ring").is_some();
                let mend = if ring {
                    format!("add `\"{alias} by ring\"` to `clamps`")
                } else if in_bath || volume > CLIP_LIMIT {
                    format!("add `\"{alias}\"` to `clamps`, so that the neck is held")
                } else {
                    format!("add `\"{alias} by clip\"` to `clamps`, or put a lab jack under it")
                };
                self.flaw(item, message, mend);
            }
        }
    }

    /// Nothing hangs lower than the bench.
    pub(super) fn above_the_bench(&mut self) {
        for item in self.items() {
            let low = self.assembly.bounds(item).bottom;
            let bench = self
                .assembly
                .lower_bench
                .filter(|bench| low > bench / 2.0)
                .unwrap_or(0.0);
            if low > bench + 3.0 {
                let message = format!(
                    "{} would hang {:.0} mm below the bench",
                    self.assembly.named(item),
                    low - bench
                );
                self.flaw(
                    item,
                    message,
                    format!(
                        "begin its stand with a `lab jack`, or raise the one there by {:.0} mm",
                        low - bench + 30.0
                    ),
                );
            }
        }
    }

    /// What is made to stand on the bench, and carries something, stands there.
    pub(super) fn floating(&mut self) {
        for item in self.items() {
            let ends = self.ends(item);
            let fit = |fit: Fit| {
                ends.iter()
                    .copied()
                    .find(|end| self.assembly.port(*end).joint.fit == fit)
            };
            let (Some(foot), Some(_)) = (fit(Fit::Foot), fit(Fit::Seat)) else {
                continue;
            };
            let above = -self.assembly.spot(foot).0.y;
            if !self.assembly.is_used(foot) && above > 3.0 {
                let message = format!(
                    "{} would float {above:.0} mm above the bench",
                    self.assembly.named(item)
                );
                self.flaw(item, message, "put a `lab jack` under it");
            }
        }
    }
}
