//! Vacuum: round glass, a trap before the pump, no leak, a gauge, and something against bumping.

use super::Rules;
use crate::apparatus::part::Fit;
use std::collections::BTreeSet;

impl Rules<'_> {
    /// The space a pump empties, as far as the first bed or filter.
    fn vacuum(&self, pump: usize) -> BTreeSet<usize> {
        let mut space = self.gas.reached(pump, |item| self.is(item, "resists"));
        space.remove(&pump);
        space
    }

    fn pump_items(&self) -> Vec<usize> {
        self.items().filter(|item| self.is(*item, "pump")).collect()
    }

    pub(super) fn flat_under_vacuum(&mut self) {
        for pump in self.pump_items() {
            for item in self.vacuum(pump) {
                if self.is(item, "flat") && !self.is(item, "vacuum-safe") {
                    let message = format!(
                        "{} has a flat bottom and {} puts it under vacuum",
                        self.assembly.named(item),
                        self.assembly.named(pump)
                    );
                    let size = self.assembly.items[item]
                        .part
                        .ports
                        .iter()
                        .find(|p| p.joint.fit == Fit::Socket)
                        .map(|p| p.joint.size.clone());
                    let mend = match size {
                        Some(size) => {
                            format!(
                                "take a round one, for example `{}`",
                                self.round(&size, self.assembly.items[item].part.volume)
                            )
                        }
                        None => "take a round-bottomed vessel or a thick-walled suction flask"
                            .to_owned(),
                    };
                    self.flaw(item, message, mend);
                }
            }
        }
    }

    /// An oil pump stands behind a cold trap, a water-jet pump behind a guard bottle.
    pub(super) fn pumps(&mut self) {
        for pump in self.pump_items() {
            for (kind, keeper, mend) in [
                (
                    "oil-pump",
                    "trap",
                    "put a cold trap in the line, for example `cold trap`, so that no vapour reaches the oil",
                ),
                (
                    "jet-pump",
                    "guard",
                    "put `guard bottle` in the line, so that water cannot suck back",
                ),
            ] {
                if !self.is(pump, kind) {
                    continue;
                }
                let bare = self.gas.reached(pump, |item| self.is(item, keeper));
                let meets = bare.into_iter().find(|&item| {
                    item != pump && (self.is(item, "vessel") || self.is(item, "condenser"))
                });
                if let Some(item) = meets {
                    let message = format!(
                        "{} draws straight on {} with no {} between",
                        self.assembly.named(pump),
                        self.assembly.named(item),
                        if keeper == "trap" {
                            "cold trap"
                        } else {
                            "guard bottle"
                        }
                    );
                    self.flaw(pump, message, mend);
                }
            }
        }
    }

    /// Air must not get into what a pump empties.
    pub(super) fn vacuum_leaks(&mut self) {
        for pump in self.pump_items() {
            for item in self.vacuum(pump) {
                if let Some(end) = self.bare(item)
                    && !self.is(item, "bleed")
                {
                    let message = format!(
                        "{} lets air into what {} empties",
                        self.assembly.end_named(end),
                        self.assembly.named(pump)
                    );
                    self.flaw(
                        item,
                        message,
                        "close it; under vacuum only the bleed lets anything in",
                    );
                }
            }
        }
    }

    /// A distillation under vacuum needs a reading and something against bumping.
    pub(super) fn gauge_and_bumping(&mut self) {
        let heated = self.heated();
        for pump in self.pump_items() {
            let space = self.vacuum(pump);
            let Some(&(vessel, _)) = heated.iter().find(|(vessel, _)| space.contains(vessel))
            else {
                continue;
            };
            if !space.iter().any(|item| self.is(*item, "gauge")) {
                let message = format!(
                    "{} is distilled under vacuum and nothing reads the pressure",
                    self.assembly.named(vessel)
                );
                self.flaw(
                    pump,
                    message,
                    "put a gauge in the line, for example `electronic gauge`",
                );
            }
            let stirred = heated
                .iter()
                .any(|(v, source)| *v == vessel && self.is(*source, "stirs"));
            if !stirred && !space.iter().any(|item| self.is(*item, "bleed")) {
                let message = format!(
                    "nothing keeps the liquid in {} from bumping under vacuum",
                    self.assembly.named(vessel)
                );
                self.flaw(vessel, message, "add a capillary bleed or heat it on a stirring hot plate; anti-bumping granules do not work here");
            }
        }
    }
}
