//! Part of stage 6: files that pages load, named by their content, so that a cache never serves
//! an old one under a new page.

use std::fmt::Write;

use serde::Serialize;
use sha2::{Digest, Sha256};

use crate::Files;
use crate::data::{self, DataTable};
use crate::source::Sources;
use crate::wasm::Module;

/// The names of the shared files, for the templates.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Names {
    style: String,
    script: String,
    search_script: String,
    module: String,
    wasm: String,
    data: String,
    icon: String,
    manifest: String,
    search: String,
}

/// The first twelve hexadecimal digits of the content's SHA-256.
pub fn fingerprint(content: &[u8]) -> String {
    let mut out = String::new();
    for byte in Sha256::digest(content).iter().take(6) {
        // Writing to a string cannot fail.
        let _ = write!(out, "{byte:02x}");
    }
    out
}

/// Puts all shared files under the root and says what they are called.
pub fn name(
    sources: &Sources,
    tables: &[DataTable],
    module: &Module,
    style: String,
) -> (Files, Names) {
    let mut files = Files::new();
    let mut put = |stem: &str, ending: &str, content: Vec<u8>| {
        let name = format!("{stem}.{}.{ending}", fingerprint(&content));
        files.insert(name.clone(), content);
        name
    };
    let script = |name: &str| {
        let file = sources
            .scripts
            .iter()
            .find(|text| text.path == format!("script/{name}"));
        file.map(|text| text.text.clone().into_bytes())
            .unwrap_or_default()
    };
    let browser_tables = tables.iter().filter(|table| table.browser);
    let icon = put(
        "icon",
        "svg",
        sources.icons.get("icon.svg").cloned().unwrap_or_default(),
    );
    let names = Names {
        style: put("style", "css", style.into_bytes()),
        script: put("main", "js", script("main.js")),
        search_script: put("search", "js", script("search.js")),
        module: put("core", "js", module.script.clone().into_bytes()),
        wasm: put("core", "wasm", module.wasm.clone()),
        data: put("data", "txt", data::flatten(browser_tables).into_bytes()),
        icon: icon.clone(),
        manifest: "manifest.webmanifest".into(),
        search: "search.json".into(),
    };
    files.insert(names.manifest.clone(), manifest(&icon).into_bytes());
    for (path, bytes) in &sources.pictures {
        files.insert(path.clone(), bytes.clone());
    }
    (files, names)
}

/// The Web App Manifest (W3C), so that the site can be installed.
fn manifest(icon: &str) -> String {
    serde_json::json!({
        "name": "Forerun",
        "short_name": "Forerun",
        "description": "Separation and purification at the bench, with the numbers worked out",
        "start_url": "./",
        "scope": "./",
        "display": "standalone",
        "background_color": "#fcfcfa",
        "theme_color": "#fcfcfa",
        "icons": [{"src": icon, "sizes": "any", "type": "image/svg+xml", "purpose": "any"}],
    })
    .to_string()
}
