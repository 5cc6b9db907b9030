//! Flash chromatography: eluent, column, flow, fractions.

pub(super) mod eluent_blend;
pub(super) mod flash_column;
pub(super) mod flash_elution;
pub(super) mod flash_flow;
