//! The page's way in: text goes to the calculators, text comes back. The only file that knows
//! wasm-bindgen; no chemistry, no branch on a calculator's name.

use std::cell::RefCell;

use wasm_bindgen::prelude::wasm_bindgen;

use crate::calculators;
use crate::library::Library;
use crate::qr;
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
        Err(unreadable) => unreadable.to_string(),
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

/// `text` as a code for another phone's camera, an SVG; empty when it is too long for one.
#[wasm_bindgen]
pub fn qr(text: &str) -> String {
    qr::svg(text).unwrap_or_default()
}

fn pairs(inputs: &str) -> Vec<(String, String)> {
    inputs
        .lines()
        .filter_map(|line| line.split_once('='))
        .map(|(name, value)| (name.to_string(), value.to_string()))
        .collect()
}

/// A quarter of the size of the standard one, at the same speed for short texts.
#[global_allocator]
static ALLOCATOR: talc::wasm::WasmDynamicTalc = talc::wasm::new_wasm_dynamic_allocator();
