//! Working under vacuum: which pressure, which pump, what the gauge says, what the trap holds.

pub(super) mod cold_trap;
pub(super) mod gauge_reading;
pub(super) mod vacuum_plan;
