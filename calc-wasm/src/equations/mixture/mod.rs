//! Two liquids that do not follow Raoult's law.

pub mod activity;
