//! How large a card may be printed so that it fills one side of A4.

use super::Card;
use super::settings::Setting;
use crate::finding::Finding;
use crate::read::draft::Draft;
use crate::worked::material::Step;
use std::ops::Range;

/// Letters that fill one side of A4 at 10 pt, with what headings, boxes and gaps take of the
/// room; found by printing.
const LETTERS: f64 = 4400.0;
/// Sizes of print, in tenths of a point. Below the smallest nobody reads at arm's length.
pub(super) const SIZES: Range<usize> = 65..105;

/// Below this not even the smallest size fits, for the reckoning is on the safe side.
pub(super) const OVERFULL: usize = 60;

impl Card {
    /// The size of print at which the card fills one side, down to half a point.
    pub(super) fn wanted_size(&self) -> usize {
        (libm::sqrt(LETTERS / self.letters() as f64) * 20.0) as usize * 5
    }

    /// How many letters fill as much room as all that stands on the card.
    fn letters(&self) -> usize {
        let step = |step: &Step| {
            let cautions = step.cautions.iter().map(|caution| 12 + caution.text.len());
            40 + without_tags(&step.words) + cautions.sum::<usize>()
        };
        let setting = |setting: &Setting| {
            let shown = setting.given.iter().filter(|given| given.shown);
            let given = shown.map(|given| given.label.len() + given.value.len() + 4);
            let cautions = setting
                .cautions
                .iter()
                .map(|caution| caution.text.len() + 12);
            120 + given.sum::<usize>() + 70 * setting.figures.len() + cautions.sum::<usize>()
        };
        let steps = self.steps.iter().flat_map(|group| &group.steps);
        let waste = self.waste.iter();
        400 + steps.map(step).sum::<usize>()
            + 50 * self.steps.len()
            + self
                .cautions
                .iter()
                .map(|caution| caution.len() + 20)
                .sum::<usize>()
            + self.settings.iter().map(setting).sum::<usize>()
            + waste
                .map(|stream| 20 + stream.name.len() + stream.what.len())
                .sum::<usize>()
            + self
                .kit
                .iter()
                .map(|kit| without_tags(kit) * 5 / 4)
                .sum::<usize>()
            + if self.drawings.is_empty() { 0 } else { 1000 }
            + self
                .plan
                .as_ref()
                .map_or(0, |plan| 700 + without_tags(plan))
    }
}

/// Notes on cards that take more than one side of A4.
pub fn overfull(draft: &Draft<'_>, cards: &[Card]) -> Option<Finding> {
    let card = cards.first().filter(|card| card.overfull)?;
    let message = format!(
        "the bench card of `{}` takes more than one side of A4",
        card.name
    );
    let mend = "keep calculators off it with `card = false`, or choose with `card = [\"…\"]`";
    Some(
        Finding::whole(&draft.source.file, message)
            .mend(mend)
            .note(),
    )
}

/// How many letters stand between tags.
fn without_tags(html: &str) -> usize {
    html.split('<')
        .map(|piece| piece.rsplit('>').next().unwrap_or_default().len())
        .sum()
}
