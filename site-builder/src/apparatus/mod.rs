//! Apparatus from parts: named by an author, checked as a demonstrator would, drawn to scale.
//!
//! The modules stand in the order data flows:
//!
//! 1. `joint`, `outline`, `cavity`, [`part`]: one part as data says it: openings, glass, liquid, use.
//! 2. [`catalogue`]: all parts of some folders, each size of each part under its own name.
//! 3. `block`, `set_up`, [`assembly`]: an `apparatus` block read into parts, joins, hoses, clamps.
//! 4. [`layout`]: every part placed by its joints, in millimetres.
//! 5. [`checks`]: what a demonstrator would send back, with the mend.
//! 6. `fittings`, [`callouts`], `scene`: stands, hoses, and a free place for every number.
//! 7. [`drawing`], `squeeze`: the SVG, in few bytes.
//! 8. [`words`]: the same in words, and the whole figure as HTML.
//! 9. [`kit`]: what to fetch, added up for an experiment and a class.
//!
//! ```
//! use site_builder::apparatus::{Catalogue, assemble};
//! let parts = Catalogue::from_texts(&[("beakers", r#"
//!     title = "Beakers"
//!     source = "common practice, no source"
//!     [[part]]
//!     name = "little beaker"
//!     label = "beaker, 50 mL"
//!     draw = ["glass M-20 -50 V0 H20 V-50"]
//!     ports = ["foot foot at 0 0 down"]
//! "#)]).unwrap();
//! let block = "title = \"A beaker\"\n[parts]\nbeaker = \"little beaker\"\n[set-up]\nstand = [\"beaker\"]\n";
//! assert!(assemble(&parts, block).unwrap().html("fig").contains("<svg"));
//! let wrong = block.replace("little beaker", "litle beaker");
//! assert!(assemble(&parts, &wrong).unwrap_err()[0].mend.as_ref().unwrap().contains("little beaker"));
//! ```

use crate::finding::Flaw;

// Blank lines keep this order through rustfmt, which would sort neighbours.
mod expression;
mod path;

mod joint;

mod outline;

mod cavity;

pub mod part;

pub mod catalogue;

mod block;

mod set_up;

pub mod assembly;

pub mod layout;

pub mod checks;

mod fittings;

pub mod callouts;

mod scene;

pub mod drawing;
mod squeeze;

pub mod words;

pub mod kit;

pub mod folders;

pub use assembly::Assembly;
pub use catalogue::Catalogue;
pub use kit::KitLine;

/// Reads, places and checks one block.
///
/// # Errors
/// Everything wrong at once: first what cannot be read, or, if all can be read, what a
/// demonstrator would not accept.
pub fn assemble(catalogue: &Catalogue, block_text: &str) -> Result<Assembly, Vec<Flaw>> {
    let mut assembly = block::read(catalogue, block_text)?;
    let mut flaws = layout::place(catalogue, &mut assembly);
    if flaws.is_empty() {
        flaws = checks::all(catalogue, &assembly);
    }
    if flaws.is_empty() {
        Ok(assembly)
    } else {
        Err(flaws)
    }
}
