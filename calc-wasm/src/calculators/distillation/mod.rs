//! Distilling: the bath, the column, steam.

pub(super) mod bath_setting;
pub(super) mod fraction_column;
pub(super) mod steam_distillation;
