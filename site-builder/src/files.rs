//! The files of a site, and names by content.
//!
//! A file that the browser may keep for ever carries its fingerprint in its name.

use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

/// All files of a site, by path under its root.
pub type Files = BTreeMap<String, Vec<u8>>;

/// `main.js` and its bytes become `main.0123456789.js`.
pub fn name_by_content(name: &str, bytes: &[u8]) -> String {
    let hash = hex(&Sha256::digest(bytes)[..5]);
    match name.rsplit_once('.') {
        Some((stem, ending)) => format!("{stem}.{hash}.{ending}"),
        None => format!("{name}.{hash}"),
    }
}

/// Bytes as hexadecimal digits.
pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_change_with_content_only() {
        let name = name_by_content("main.js", b"a");
        assert_eq!(name, name_by_content("main.js", b"a"));
        assert_ne!(name, name_by_content("main.js", b"b"));
        assert!(name.starts_with("main.") && name.ends_with(".js") && name.len() == 18);
    }
}
