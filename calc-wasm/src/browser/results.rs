//! The calculators.

use std::cell::RefCell;

use wasm_bindgen::prelude::wasm_bindgen;

use crate::calculators;
use crate::library::Library;
use crate::report;

thread_local! {
    /// The tables, loaded once.
    static LIBRARY: RefCell<Library> = RefCell::default();
}

/// Loads the flattened data tables; says what is wrong, or nothing.
#[wasm_bindgen]
pub fn load(text: &str) -> String {
    match Library::from_text(text) {
        Ok(library) => {
            LIBRARY.with(|slot| *slot.borrow_mut() = library);
            String::new()
        }
        Err(problem) => problem.message.to_string(),
    }
}

/// The inner HTML of the result of `calculator` for `inputs`, lines of `key=value`.
#[wasm_bindgen]
pub fn result(calculator: &str, id: &str, inputs: &str, base: &str) -> String {
    let Some(calculator) = calculators::find(calculator) else {
        return String::new();
    };
    LIBRARY.with(|library| report::result(calculator, &library.borrow(), id, &pairs(inputs), base))
}

/// The figures to the last bit, lines of `name=bits`, to compare with those of the builder.
#[wasm_bindgen]
pub fn figures(calculator: &str, inputs: &str) -> String {
    let Some(calculator) = calculators::find(calculator) else {
        return String::new();
    };
    LIBRARY.with(|library| report::bits(calculator, &library.borrow(), &pairs(inputs)))
}

fn pairs(inputs: &str) -> Vec<(String, String)> {
    inputs
        .lines()
        .filter_map(|line| line.split_once('='))
        .map(|(name, value)| (name.to_string(), value.to_string()))
        .collect()
}
