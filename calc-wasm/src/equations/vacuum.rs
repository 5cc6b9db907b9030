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
    /// The source of this row, with tap water at `tap` °C.
    pub fn of(record: Record<'a>, library: &'a Library, tap: f64) -> Self {
        let lowest = record.number("lowest").unwrap_or(0.0);
        let water = library
            .find("substances", "water")
            .ok()
            .and_then(|water| Curve::of(water, library).ok());
        let lowest = match water {
            Some(water) if record.is("follows_water") => {
                let above = record.number("above_water").unwrap_or(0.0);
                lowest.max(water.pressure_unchecked(tap) + above)
            }
            _ => lowest,
        };
        Source {
            record,
            lowest,
            highest: record.number("highest").unwrap_or(760.0),
        }
    }

    /// All sources of the table, with tap water at `tap` °C.
    pub fn all(library: &'a Library, tap: f64) -> Vec<Self> {
        library
            .table("vacuum_sources")
            .into_iter()
            .flat_map(|table| table.records())
            .map(|record| Source::of(record, library, tap))
            .collect()
    }

    /// Whether it can hold `mmhg`.
    pub fn reaches(&self, mmhg: f64) -> bool {
        (self.lowest..=self.highest).contains(&mmhg)
    }
}

/// The names of `sources` that can hold `mmhg`, as a list in words; empty when none can.
pub fn that_reach(sources: &[Source<'_>], mmhg: f64) -> String {
    let names: Vec<&str> = sources
        .iter()
        .filter(|source| source.reaches(mmhg))
        .map(|source| source.record.name())
        .collect();
    names.join(", ")
}
