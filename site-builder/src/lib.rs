//! Markdown in, a whole offline site out.
