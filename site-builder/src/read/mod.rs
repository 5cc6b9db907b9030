//! What the author wrote, read and checked by itself: files, the site's settings, metadata,
//! tables, pictures.

pub mod source;

pub mod site;

mod cell;
pub mod data;
pub mod substances;

pub mod picture;
mod svg;

pub mod front_matter;

pub mod draft;
