//! Purifying solids.

pub(super) mod recrystallisation;
