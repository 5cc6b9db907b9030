//! Equations that more than one calculator uses: pure functions, each with its source and range.

pub mod agreement;
pub mod class;
pub mod dissolving;
pub mod flash;
pub mod heating;
pub mod meeting;
pub mod mixture;
pub mod still;
pub mod substance;
pub mod vacuum;
pub mod vapour;
pub mod washing;
