//! What the blocks of a page come to: results of calculators, plans of time, kits, and what a
//! bench card takes of all that.

pub mod numbers;

pub mod plan;

pub mod class_kit;

pub mod material;
