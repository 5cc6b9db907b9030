//! Cooling water: through every jacket, once, and in at the bottom.

use super::Rules;

impl Rules<'_> {
    /// Water goes in at the lower nipple, so that the jacket fills.
    pub(super) fn water(&mut self) {
        for pass in &self.assembly.water.clone() {
            let (into, out) = (
                self.assembly.spot(pass.into).0,
                self.assembly.spot(pass.out).0,
            );
            if pass.named && into.y < out.y - 5.0 {
                let message = format!(
                    "water enters {} at the top, by {}",
                    self.assembly.named(pass.into.item),
                    self.assembly.end_named(pass.into)
                );
                let alias = &self.assembly.items[pass.into.item].alias;
                let (low, high) = (
                    &self.assembly.port(pass.out).name,
                    &self.assembly.port(pass.into).name,
                );
                let mend = format!(
                    "write `{alias}.{low} to {alias}.{high}`: in at the lower nipple, so that the jacket fills and no air stays in it"
                );
                self.span_of(&pass.span, message, mend);
            }
        }
        for item in self.items() {
            let jacketed = self.assembly.items[item]
                .part
                .ports
                .iter()
                .any(|port| port.water);
            let passes = self
                .assembly
                .water
                .iter()
                .filter(|pass| pass.into.item == item)
                .count();
            if jacketed && passes == 0 {
                let message = format!("no water runs through {}", self.assembly.named(item));
                let alias = self.assembly.items[item].alias.clone();
                self.flaw(
                    item,
                    message,
                    format!("add `\"{alias}\"` to `water`, or take an air condenser"),
                );
            }
            if passes > 1 {
                let message = format!("water is led through {} twice", self.assembly.named(item));
                self.flaw(item, message, "name each jacket once");
            }
        }
    }
}
