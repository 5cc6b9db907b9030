//! Markdown in, a whole offline site out.

pub mod apparatus;
