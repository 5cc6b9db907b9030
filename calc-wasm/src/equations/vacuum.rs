//! What each source of vacuum reaches at the apparatus.
//!
//! The reach stands in the table of vacuum sources (common practice, no source). A water-jet
//! pump cannot go below the vapour pressure of its own water, and in practice stays some mmHg
//! above it; that pressure is taken from the curve of water in the table of substances.

use crate::equations::vapour::Curve;
use crate::library::{Library, Record};

/// One source with its reach here and now.
#[derive(Debug, Clone, Copy)]
pub struct Source<'a> {
    /// Its row in the table.
    pub record: Record<'a>,
    /// Lowest pressure that it reaches, mmHg.
    pub lowest: f64,
    /// Highest pressure that it is meant to run at, mmHg.
    pub highest: f64,
}

impl<'a> Source<'a> {
    /// All sources of the table, with tap water at `tap` °C.
    #[inline(never)]
    pub fn all(library: &'a Library, tap: f64) -> Vec<Self> {
        let water = library
            .find("substances", "water")
            .ok()
            .and_then(|water| Curve::of(water, library))
            .map(|curve| curve.pressure_unchecked(tap));
        let mut sources = Vec::new();
        for record in library.rows("vacuum_sources") {
            let number = |column, unless| record.number(column).unwrap_or(unless);
            let mut lowest = number("lowest", 0.0);
            if let Some(water) = water
                && record.is("follows_water")
            {
                lowest = lowest.max(water + number("above_water", 0.0));
            }
            sources.push(Source {
                record,
                lowest,
                highest: number("highest", 760.0),
            });
        }
        sources
    }

    /// Whether it can hold `mmhg`.
    pub fn reaches(&self, mmhg: f64) -> bool {
        (self.lowest..=self.highest).contains(&mmhg)
    }
}

/// The names of `sources` that can hold `mmhg`, as a list in words; empty when none can.
#[inline(never)]
pub fn that_reach(sources: &[Source<'_>], mmhg: f64) -> String {
    let mut names = String::new();
    for source in sources.iter().filter(|source| source.reaches(mmhg)) {
        if !names.is_empty() {
            names.push_str(", ");
        }
        names.push_str(source.record.name());
    }
    names
}
