//! The runs of a class side by side.

use super::Log;
use crate::outcome::Outcome;

/// The run of one group.
#[derive(Debug, Clone)]
pub struct Group {
    /// What it is called.
    pub name: String,
    /// Its run, worked out.
    pub log: Log,
}

/// The class as two outcomes: the ranges in which the largest fractions came over, and their
/// shares of what was weighed in.
pub fn class(groups: &[Group]) -> [Outcome; 2] {
    let [mut ranges, mut shares] = [Outcome::default(), Outcome::default()];
    ranges.count("groups", "Groups", groups.len() as f64);
    let unit = groups
        .iter()
        .find_map(|group| group.log.range.map(|_| group.log.range_unit));
    let unit = unit.unwrap_or_default();
    let with_range = || {
        let same = groups.iter().filter(|group| group.log.range_unit == unit);
        same.filter_map(|group| Some((group, group.log.range?)))
    };
    if with_range().next().is_some() {
        let plot = ranges.plot(
            "Main fraction of each group: from the lowest to the highest reading",
            "A bar for each group, from the lowest to the highest reading in its largest fraction.",
        );
        plot.x.linear("Read", unit);
        let bars = plot.ranks("");
        for (group, [low, high]) in with_range() {
            bars.rank(&group.name, low, high);
        }
    }
    let table = ranges.table(
        "Groups",
        "Group\tReadings\tThat agree\tMain fraction\tShare of what was weighed in",
    );
    for group in groups {
        let row = table.row("{}\t{~4}\t");
        row.text(&group.name).number(group.log.judged.len() as f64);
        if let Some(agree) = group.log.outcome.figure("agree") {
            row.more("{}").text(&agree.numeral());
        }
        row.more("\t");
        if let Some([low, high]) = group.log.range {
            row.more("{~4} to {~4} {}")
                .number(low)
                .number(high)
                .text(group.log.range_unit);
        }
        row.more("\t");
        if let Some(share) = group.log.share {
            row.more("{.1} %").number(share);
        }
    }
    let with_share = || {
        groups
            .iter()
            .filter_map(|group| Some((group, group.log.share?)))
    };
    let all: Vec<f64> = with_share().map(|(_, share)| share).collect();
    if !all.is_empty() {
        let mean = all.iter().sum::<f64>() / all.len() as f64;
        shares.number("mean", "Main fraction, mean of the class", mean, "%");
        let plot = shares.plot(
            "Main fraction of each group, as a share of what was weighed in",
            "A bar for each group, as long as its share.",
        );
        plot.x
            .linear("Share", "%")
            .from_to(0.0, all.iter().copied().fold(100.0, f64::max));
        let bars = plot.ranks("");
        for (group, share) in with_share() {
            bars.rank(&group.name, 0.0, share);
        }
    }
    [ranges, shares]
}
