//! The calculators. This file is only the list and the way into it; each calculator is one file,
//! in the folder of its family.

#[cfg(not(target_arch = "wasm32"))]
use std::collections::BTreeSet;
#[cfg(not(target_arch = "wasm32"))]
use std::sync::atomic::{AtomicUsize, Ordering};

use crate::inputs::{Carried, Input, Inputs};
use crate::library::Library;
use crate::outcome::Outcome;
use crate::problem::{self, Problem};

mod boiling;
mod chromatography;
mod crystals;
mod distillation;
mod extraction;
mod planning;
mod vacuum;

/// All calculators, in the order in which they are listed.
static ALL: &[&Calculator] = &[
    &boiling::boiling_point::CALCULATOR,
    &boiling::boiling_pressure::CALCULATOR,
    &boiling::boiling_point_estimate::CALCULATOR,
    &boiling::vapour_pressure_fit::CALCULATOR,
    &vacuum::vacuum_plan::CALCULATOR,
    &boiling::reading_check::CALCULATOR,
    &vacuum::gauge_reading::CALCULATOR,
    &distillation::bath_setting::CALCULATOR,
    &extraction::repeated_extraction::CALCULATOR,
    &extraction::distribution_from_test::CALCULATOR,
    &extraction::continuous_extraction::CALCULATOR,
    &extraction::soxhlet::CALCULATOR,
    &chromatography::flash_column::CALCULATOR,
    &chromatography::flash_elution::CALCULATOR,
    &chromatography::flash_flow::CALCULATOR,
    &chromatography::eluent_blend::CALCULATOR,
    &distillation::mixture_boiling::CALCULATOR,
    &distillation::fraction_column::CALCULATOR,
    &distillation::steam_distillation::CALCULATOR,
    &vacuum::cold_trap::CALCULATOR,
    &crystals::recrystallisation::CALCULATOR,
    &planning::flask_size::CALCULATOR,
    &planning::class_quantities::CALCULATOR,
    &planning::technique_choice::CALCULATOR,
];

/// How often any calculator was asked in this process.
#[cfg(not(target_arch = "wasm32"))]
static EVALUATIONS: AtomicUsize = AtomicUsize::new(0);

/// How often any calculator was asked in this process, for a test that nothing is worked out twice.
#[cfg(not(target_arch = "wasm32"))]
pub fn evaluations() -> usize {
    EVALUATIONS.load(Ordering::Relaxed)
}

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
    /// Its input of this name.
    pub fn input(&self, name: &str) -> Option<&'static Input> {
        self.inputs.iter().find(|input| input.name == name).copied()
    }

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
        self.run_on_sheet(library, pairs, &[])
    }

    /// The same, with numbers that other calculations hand over.
    ///
    /// # Errors
    /// As [`Calculator::run`].
    pub fn run_on_sheet(
        &self,
        library: &Library,
        pairs: &[(String, String)],
        carried: &[(String, Carried)],
    ) -> Result<Outcome, Vec<Problem>> {
        #[cfg(not(target_arch = "wasm32"))]
        EVALUATIONS.fetch_add(1, Ordering::Relaxed);
        let inputs = Inputs::read_with(self.inputs, library, pairs, carried)?;
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
