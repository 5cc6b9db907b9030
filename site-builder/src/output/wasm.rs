//! Stage 9: what pages load of the core, WebAssembly with its bindings.
//!
//! It is compiled with the program (the folder `build/` of this crate) and handed to a build as a
//! value.

use sha2::{Digest, Sha256};

/// What pages load of the core.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Module {
    /// The calculators.
    pub results: Bound,
    /// What draws codes for cameras; few readers ever ask for one.
    pub code: Bound,
}

/// WebAssembly with its bindings.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Bound {
    /// The bindings, an ES module.
    pub script: String,
    /// The WebAssembly.
    pub wasm: Vec<u8>,
}

impl Module {
    /// The SHA-256 of all of it, in hexadecimal digits: what is damaged has another one.
    pub fn sha256(&self) -> String {
        let mut hash = Sha256::new();
        for bound in [&self.results, &self.code] {
            for bytes in [bound.script.as_bytes(), &bound.wasm] {
                hash.update((bytes.len() as u64).to_le_bytes());
                hash.update(bytes);
            }
        }
        let bytes = hash.finalize();
        bytes.iter().map(|byte| format!("{byte:02x}")).collect()
    }
}
