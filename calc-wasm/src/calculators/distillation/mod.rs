//! Distilling: the bath, mixtures, the column, steam.

pub(super) mod bath_setting;
pub(super) mod fraction_column;
pub(super) mod mixture_boiling;
pub(super) mod steam_distillation;
