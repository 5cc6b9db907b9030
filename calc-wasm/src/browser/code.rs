//! Codes for another phone's camera.

use wasm_bindgen::prelude::wasm_bindgen;

use crate::qr;

/// `text` as a code for another phone's camera, an SVG; empty when it is too long for one.
#[wasm_bindgen]
pub fn qr(text: &str) -> String {
    qr::svg(text).unwrap_or_default()
}
