//! The calculations of the trade: one core for the builder, the page and the bench card.
//!
//! A calculator takes text as a person writes it (`15 ± 1 mmHg`), and gives figures with
//! their intervals, cautions, a plot and the honesty that belongs to them.
//!
//! ```
//! use calc_wasm::{calculators, library::Library};
//!
//! let library = Library::default();
//! let extraction = calculators::find("repeated-extraction").unwrap();
//! let given = [("distribution", "5"), ("aqueous_volume", "50 mL"),
//!              ("portion_volume", "15 mL"), ("portions", "2")]
//!     .map(|(name, text)| (name.to_string(), text.to_string()));
//! let outcome = extraction.run(&library, &given).unwrap();
//! assert_eq!(outcome.figure("recovery").unwrap().shown(), "84.0 %");
//! ```
//!
//! The modules, in the order in which data flows:

pub mod number;

pub mod sentence;

pub mod problem;

pub mod quantity;

pub mod limits;

pub mod library;

pub mod inputs;

pub mod markup;

pub mod plot;

pub mod equations;

pub mod calculators;

pub mod outcome;

pub mod sheet;

pub mod what_if;

pub mod readings;

pub mod question;

pub mod report;

#[cfg(feature = "code")]
pub mod qr;

#[cfg(target_arch = "wasm32")]
mod browser;

pub use calculators::Calculator;
pub use inputs::{Input, Inputs};
pub use outcome::Outcome;
pub use problem::Problem;
