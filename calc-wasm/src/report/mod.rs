//! From an outcome to what a reader sees: HTML for page and card, text and JSON for the terminal.
//!
//! The builder and the page call the same functions, so both show the same digits.

mod bits;
mod form;
mod html;
#[cfg(feature = "json")]
mod json;
pub mod sheet;
mod text;

pub use bits::bits;
pub use form::{Shape, form, value_field};
pub use html::{
    Above, answered, answered_below, asked, block, class, log, percent, refused, result, waits,
};
#[cfg(feature = "json")]
pub use json::json;
pub use text::text;
