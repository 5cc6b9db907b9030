//! What a device keeps for work without a network: the service worker's list, and the manifest.
//!
//! Pages, the worker and the manifest keep their names and are checked by the worker's list.

use crate::files::{Files, hex};
use crate::read::site::Site;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use serde_json::json;
use sha2::{Digest, Sha256};

/// The worker's name.
pub const WORKER: &str = "worker.js";
/// The manifest's name.
pub const MANIFEST: &str = "manifest.webmanifest";

/// The service worker: the version, the list of files, then its own script.
///
/// The version is a fingerprint of everything, so that any change makes a new one. Pages carry
/// their fingerprint in the list: a half-updated server is then found out and nothing is taken.
pub fn worker(script: &str, files: &Files) -> String {
    let mut all = Sha256::new();
    all.update(script.as_bytes());
    let mut list = Vec::new();
    for (path, bytes) in files {
        let print = Sha256::digest(bytes);
        all.update(path.as_bytes());
        all.update(print);
        list.push(if path.ends_with(".html") {
            json!([path, format!("sha256-{}", STANDARD.encode(print))])
        } else {
            json!(path)
        });
    }
    let version = hex(&all.finalize()[..8]);
    format!(
        "const VERSION = \"{version}\";\nconst FILES = {};\n{script}",
        serde_json::Value::from(list)
    )
}

/// The manifest that makes the site installable.
pub fn manifest(site: &Site, icon: &str) -> String {
    json!({
        "name": site.title,
        "short_name": site.title,
        "description": site.description,
        "lang": site.language,
        "start_url": "./",
        "scope": "./",
        "display": "standalone",
        "background_color": "#fcfcfa",
        "theme_color": "#fcfcfa",
        "icons": [{ "src": icon, "type": "image/svg+xml", "sizes": "any", "purpose": "any" }],
    })
    .to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_pages_with_their_fingerprints() {
        let files = Files::from([
            ("index.html".to_owned(), b"abc".to_vec()),
            ("main.0011223344.js".to_owned(), Vec::new()),
        ]);
        let worker = worker("run();", &files);
        // The digest of "abc": FIPS 180-2, appendix B.1.
        assert!(
            worker.contains(
                "[\"index.html\",\"sha256-ungWv48Bz+pBQUDeXa4iI7ADYaOWF3qctBD/YfIAFa0=\"]"
            ),
            "{worker}"
        );
        assert!(worker.contains(",\"main.0011223344.js\"]") && worker.ends_with("run();"));
    }

    #[test]
    fn a_change_anywhere_makes_a_new_version() {
        let version = |bytes: &[u8]| {
            let files = Files::from([("a.html".to_owned(), bytes.to_vec())]);
            worker("", &files).lines().next().map(str::to_owned)
        };
        assert_ne!(version(b"a"), version(b"b"));
    }
}
