//! What a demonstrator would send back.
//!
//! One function per rule, each a few lines over the assembly, in a file for each kind of rule. All
//! rules are common practice, no source, unless a line says otherwise. Every finding names the
//! parts and the mend.

mod gas;

mod depth;
mod heat;
mod openings;
mod support;
mod vacuum;
mod water;

use super::assembly::{Assembly, End};
use super::catalogue::Catalogue;
use crate::finding::Flaw;
use gas::Gas;
use std::ops::Range;

/// Every rule over one placed assembly.
pub(crate) fn all(catalogue: &Catalogue, assembly: &Assembly) -> Vec<Flaw> {
    let gas = Gas::of(assembly);
    let rules = Rules {
        catalogue,
        assembly,
        gas,
        flaws: Vec::new(),
    };
    rules.run()
}

/// What every rule looks at, and what was found so far.
struct Rules<'a> {
    catalogue: &'a Catalogue,
    assembly: &'a Assembly,
    gas: Gas,
    flaws: Vec<Flaw>,
}

impl Rules<'_> {
    fn run(mut self) -> Vec<Flaw> {
        self.receivers();
        self.openings();
        self.closed_while_heated();
        self.flat_under_vacuum();
        self.pumps();
        self.vacuum_leaks();
        self.gauge_and_bumping();
        self.bulbs();
        self.bleeds();
        self.water();
        self.support();
        self.heating();
        self.above_the_bench();
        self.floating();
        self.flaws.sort_by_key(|flaw| flaw.span.start);
        self.flaws
    }

    fn is(&self, item: usize, word: &str) -> bool {
        self.assembly.items[item].part.is(word)
    }

    fn items(&self) -> Range<usize> {
        0..self.assembly.items.len()
    }

    fn ends(&self, item: usize) -> Vec<End> {
        (0..self.assembly.items[item].part.ports.len())
            .map(|port| End { item, port })
            .collect()
    }

    fn flaw(&mut self, item: usize, message: String, mend: impl Into<String>) {
        let span = self.assembly.items[item].span.clone();
        self.flaws.push(Flaw::new(span, message).mend(mend));
    }

    fn span_of(&mut self, span: &Range<usize>, message: String, mend: impl Into<String>) {
        self.flaws.push(Flaw::new(span.clone(), message).mend(mend));
    }
}
