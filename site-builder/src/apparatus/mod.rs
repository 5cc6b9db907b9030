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
//! assert!(assemble(&parts, &wrong).unwrap_err()[0].mend.contains("little beaker"));
//! ```

use std::ops::Range;

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

pub use assembly::{Assembly, assemble};
pub use catalogue::Catalogue;
pub use kit::KitLine;

/// One thing that is wrong in a block, or in a file of parts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Flaw {
    /// Byte range in the text that was read.
    pub span: Range<usize>,
    /// What is wrong, naming the parts.
    pub message: String,
    /// What would put it right.
    pub mend: String,
}

impl Flaw {
    pub(crate) fn new(
        span: &Range<usize>,
        message: impl Into<String>,
        mend: impl Into<String>,
    ) -> Self {
        Self {
            span: span.clone(),
            message: message.into(),
            mend: mend.into(),
        }
    }
}
