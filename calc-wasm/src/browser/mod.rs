//! The page's way in: text goes in, text comes back. The only files that know wasm-bindgen; no
//! chemistry, no branch on a calculator's name. The builder compiles each with its own feature,
//! so the page can load them apart.

#[cfg(feature = "code")]
mod code;
#[cfg(feature = "results")]
mod results;
#[cfg(feature = "results")]
mod sheet;

/// A quarter of the size of the standard one, at the same speed for short texts.
#[global_allocator]
static ALLOCATOR: talc::wasm::WasmDynamicTalc = talc::wasm::new_wasm_dynamic_allocator();
