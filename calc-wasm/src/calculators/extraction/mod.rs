//! Extraction: portions, from a test, continuous, and of solids.

pub(super) mod continuous_extraction;
pub(super) mod distribution_from_test;
pub(super) mod repeated_extraction;
pub(super) mod soxhlet;
