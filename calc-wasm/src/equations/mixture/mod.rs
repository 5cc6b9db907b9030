//! Two liquids that do not follow Raoult's law.

pub mod activity;
pub mod miss;
pub mod pair;
pub mod solve;
pub mod stairs;
pub mod words;
