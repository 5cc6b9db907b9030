//! Which parts share their gas space.

use crate::apparatus::assembly::{Assembly, HoseEnd};
use crate::apparatus::part::Fit;
use std::collections::BTreeSet;

/// Which parts share their gas space.
pub(super) struct Gas {
    /// Direct neighbours through joints and gas hoses.
    neighbours: Vec<Vec<usize>>,
}

impl Gas {
    pub(super) fn of(assembly: &Assembly) -> Self {
        let mut neighbours = vec![Vec::new(); assembly.items.len()];
        let mut link = |a: usize, b: usize| {
            neighbours[a].push(b);
            neighbours[b].push(a);
        };
        for join in &assembly.joins {
            let (a, b) = (&assembly.port(join.a).joint, &assembly.port(join.b).joint);
            if a.fit.is_opening() && b.fit.is_opening() && !a.is_loose(b) {
                link(join.a.item, join.b.item);
            }
            // A bleed and a delivery tube end in the space below their gland.
            if matches!(
                (a.fit, b.fit),
                (Fit::Gland, Fit::Rod) | (Fit::Rod, Fit::Gland)
            ) {
                link(join.a.item, join.b.item);
            }
        }
        for hose in &assembly.hoses {
            if let (HoseEnd::At(a), HoseEnd::At(b)) = (&hose.from, &hose.to) {
                link(a.item, b.item);
            }
        }
        Self { neighbours }
    }

    /// Parts reached from `start` without going through a part for which `stop` holds.
    pub(super) fn reached(&self, start: usize, stop: impl Fn(usize) -> bool) -> BTreeSet<usize> {
        let mut seen = BTreeSet::from([start]);
        let mut open = vec![start];
        while let Some(item) = open.pop() {
            for &next in &self.neighbours[item] {
                if !stop(next) && seen.insert(next) {
                    open.push(next);
                }
            }
        }
        seen
    }
}
