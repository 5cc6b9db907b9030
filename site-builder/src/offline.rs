//! Stage 10: names by content, the service worker's list, and the manifest.
//!
//! A file that the browser may keep for ever carries its fingerprint in its name; the rest
//! (pages, the worker, the manifest) keep their names and are checked by the worker's list.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use serde_json::json;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

/// All files of a site, by path under its root.
pub type Files = BTreeMap<String, Vec<u8>>;

/// The worker's name.
pub const WORKER: &str = "worker.js";
/// The manifest's name.
pub const MANIFEST: &str = "manifest.webmanifest";

/// `main.js` and its bytes become `main.0123456789.js`.
pub fn name_by_content(name: &str, bytes: &[u8]) -> String {
    let hash = hex(&Sha256::digest(bytes)[..5]);
    match name.rsplit_once('.') {
        Some((stem, ending)) => format!("{stem}.{hash}.{ending}"),
        None => format!("{name}.{hash}"),
    }
}

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
pub fn manifest(title: &str, description: &str, icon: &str) -> String {
    json!({
        "name": title,
        "short_name": title,
        "description": description,
        "lang": "en-GB",
        "start_url": "./",
        "scope": "./",
        "display": "standalone",
        "background_color": "#fcfcfa",
        "theme_color": "#fcfcfa",
        "icons": [{ "src": icon, "type": "image/svg+xml", "sizes": "any", "purpose": "any" }],
    })
    .to_string()
}

fn hex(bytes: &[u8]) -> String {
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
