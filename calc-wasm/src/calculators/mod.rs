//! The calculators. This file is only the list and the way into it; each calculator is one file.

#[cfg(not(target_arch = "wasm32"))]
use std::collections::BTreeSet;

use crate::inputs::{Input, Inputs};
use crate::library::Library;
use crate::outcome::Outcome;
use crate::problem::{self, Problem};

mod bath_setting;
mod boiling_point;
mod boiling_point_estimate;
mod boiling_pressure;
mod class_quantities;
mod cold_trap;
mod continuous_extraction;
mod distribution_from_test;
mod eluent_blend;
mod flash_column;
mod flash_elution;
mod flash_flow;
mod fraction_column;
mod gauge_reading;
mod reading_check;
mod recrystallisation;
mod repeated_extraction;
mod soxhlet;
mod steam_distillation;
mod technique_choice;
mod vacuum_plan;
mod vapour_pressure_fit;

/// All calculators, in the order in which they are listed.
static ALL: &[&Calculator] = &[
    &boiling_point::CALCULATOR,
    &boiling_pressure::CALCULATOR,
    &boiling_point_estimate::CALCULATOR,
    &vapour_pressure_fit::CALCULATOR,
    &vacuum_plan::CALCULATOR,
    &reading_check::CALCULATOR,
    &gauge_reading::CALCULATOR,
    &bath_setting::CALCULATOR,
    &repeated_extraction::CALCULATOR,
    &distribution_from_test::CALCULATOR,
    &continuous_extraction::CALCULATOR,
    &soxhlet::CALCULATOR,
    &flash_column::CALCULATOR,
    &flash_elution::CALCULATOR,
    &flash_flow::CALCULATOR,
    &eluent_blend::CALCULATOR,
    &fraction_column::CALCULATOR,
    &steam_distillation::CALCULATOR,
    &cold_trap::CALCULATOR,
    &recrystallisation::CALCULATOR,
    &class_quantities::CALCULATOR,
    &technique_choice::CALCULATOR,
];

/// One calculator: its description and its evaluation.
#[derive(Debug)]
pub struct Calculator {
    /// What authors type: `boiling-point`.
    pub name: &'static str,
    /// What readers see.
    pub title: &'static str,
    /// The question it answers.
    pub question: &'static str,
    /// What it asks for, in the order of the form.
    pub inputs: &'static [&'static Input],
    /// Works out the answer from checked inputs.
    pub evaluate: fn(&Inputs<'_>, &mut Outcome) -> Result<(), Problem>,
}

impl Calculator {
    /// Reads `pairs` of input name and text, and works out the answer.
    ///
    /// # Errors
    /// Every input that cannot be used, each with a sentence. Never panics; never gives a
    /// figure that is not finite.
    pub fn run(
        &self,
        library: &Library,
        pairs: &[(String, String)],
    ) -> Result<Outcome, Vec<Problem>> {
        let inputs = Inputs::read(self.inputs, library, pairs)?;
        let mut outcome = Outcome::default();
        (self.evaluate)(&inputs, &mut outcome).map_err(|problem| vec![problem])?;
        if let Some(figure) = outcome.not_finite() {
            let problem = Problem::new(
                self.inputs[0].name,
                "these values together give no {} that can be written down; change one of them",
            );
            return Err(vec![problem.text(&problem::in_sentence(&figure.label))]);
        }
        for note in inputs.notes() {
            outcome.note(note);
        }
        outcome.order_cautions();
        Ok(outcome)
    }
}

#[cfg(not(target_arch = "wasm32"))]
impl Calculator {
    /// Names of the inputs, and of the cells as `spots.rf`, that the evaluation asks for on
    /// `pairs`; for tests. None where the inputs are refused before it begins.
    pub fn asked(&self, library: &Library, pairs: &[(String, String)]) -> BTreeSet<String> {
        let Ok(inputs) = Inputs::read(self.inputs, library, pairs) else {
            return BTreeSet::new();
        };
        // A refusal has asked as well.
        let _ = (self.evaluate)(&inputs, &mut Outcome::default());
        inputs.asked()
    }
}

#[cfg(test)]
impl Calculator {
    /// Works out the answer from words, on `tables` written as the library reads them; for tests.
    pub(crate) fn run_on(
        &self,
        tables: &str,
        pairs: &[(&str, &str)],
    ) -> Result<Outcome, Vec<Problem>> {
        let library = Library::from_text(tables).expect("tables that can be read");
        let pairs: Vec<(String, String)> = pairs
            .iter()
            .map(|(name, text)| (name.to_string(), text.to_string()))
            .collect();
        self.run(&library, &pairs)
    }
}

/// All calculators, in the order in which they are listed.
pub fn all() -> &'static [&'static Calculator] {
    ALL
}

/// The calculator of this name.
pub fn find(name: &str) -> Option<&'static Calculator> {
    ALL.iter()
        .find(|calculator| calculator.name == name)
        .copied()
}

/// The calculator whose name is spelt most like `name`.
pub fn nearest(name: &str) -> Option<&'static str> {
    problem::nearest(name, ALL.iter().map(|calculator| calculator.name))
}
