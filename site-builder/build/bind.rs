//! From what the linker leaves to what a page loads.

use crate::wasm::Bound;
use wasm_bindgen_cli_support::Bindgen;

/// The linked module `compiled` with its bindings.
///
/// # Errors
/// The library refuses it, in its own words.
pub fn bind(compiled: Vec<u8>) -> Result<Bound, String> {
    let output = Bindgen::new()
        .input_bytes("core", compiled)
        .remove_name_section(true)
        .remove_producers_section(true)
        .web(true)
        .and_then(|bindgen| {
            bindgen
                .typescript(false)
                // The page names the file itself, since it is named by its content.
                .omit_default_module_path(true)
                .generate_output()
        });
    let mut output = output.map_err(|error| format!("{error:#}"))?;
    let script = output.js().to_owned();
    let wasm = output.wasm_mut().emit_wasm();
    Ok(Bound { script, wasm })
}
