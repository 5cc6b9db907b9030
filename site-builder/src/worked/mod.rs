//! What the blocks of a page come to: results of calculators, plans of time, kits, and what a
//! bench card takes of all that.

pub mod given;
pub mod numbers;
pub mod run;

pub mod plan;

pub mod readings;

pub mod class_kit;

pub mod material;
