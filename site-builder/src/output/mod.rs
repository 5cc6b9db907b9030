//! From pages to files: templates filled, one style sheet, the core for the page, names by
//! content, and the site written and swapped.

pub mod template;

pub mod script;
pub mod style;

pub mod wasm;

pub mod assets;
pub mod offline;

pub mod write;
