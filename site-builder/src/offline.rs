//! Stage 8: the service worker with the list of every file, so that the whole site is on the
//! device after the first visit.

use sha2::{Digest, Sha256};

use crate::Files;
use crate::assets::fingerprint;
use crate::source::Text;

/// The worker: the version, the files with their digests, and the author's script.
pub fn list(files: &Files, scripts: &[Text]) -> String {
    let worker = scripts
        .iter()
        .find(|text| text.path == "script/worker.js")
        .map_or("", |text| text.text.as_str());
    let entries: Vec<serde_json::Value> = files
        .iter()
        .map(|(path, content)| {
            serde_json::json!([path, format!("sha256-{}", base64(&Sha256::digest(content)))])
        })
        .collect();
    let entries = serde_json::Value::Array(entries).to_string();
    let version = fingerprint(format!("{entries}{worker}").as_bytes());
    format!("const VERSION = \"{version}\";\nconst FILES = {entries};\n{worker}")
}

/// Base 64 (RFC 4648), as a digest is written in Subresource Integrity.
fn base64(bytes: &[u8]) -> String {
    const SIGNS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::new();
    for chunk in bytes.chunks(3) {
        let word = chunk
            .iter()
            .fold(0u32, |word, byte| word << 8 | u32::from(*byte))
            << (8 * (3 - chunk.len()));
        for at in 0..4 {
            if at <= chunk.len() {
                out.push(char::from(SIGNS[(word >> (18 - 6 * at) & 63) as usize]));
            } else {
                out.push('=');
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Test vectors: RFC 4648, section 10.
    #[test]
    fn base64_as_in_the_standard() {
        for (plain, coded) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
    }

    #[test]
    fn another_content_is_another_version() {
        let files =
            |text: &str| Files::from([("index.html".to_string(), text.as_bytes().to_vec())]);
        let first = list(&files("a"), &[]);
        assert_ne!(first, list(&files("b"), &[]));
        assert!(first.starts_with("const VERSION = \""));
    }
}
