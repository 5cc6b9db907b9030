//! Before the course: which technique, and how much for the class.

pub(super) mod class_quantities;
pub(super) mod flask_size;
pub(super) mod technique_choice;
