//! The calculations of the trade.
