//! Boiling points and vapour pressures: worked out, estimated, fitted, and checked against a reading.

pub(super) mod boiling_point;
pub(super) mod boiling_point_estimate;
pub(super) mod boiling_pressure;
pub(super) mod reading_check;
pub(super) mod vapour_pressure_fit;
