//! The commands beside `build`.

pub mod compute;
pub mod preview;
pub mod proof;
pub mod start;
