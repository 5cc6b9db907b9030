//! Part of stage 10: everything that is no page gets its name and joins the files.

use crate::files::{Files, name_by_content};
use crate::finding::Finding;
use crate::output::offline::{MANIFEST, WORKER, manifest};
use crate::output::script::{self, without_remarks};
use crate::output::style;
use crate::output::wasm::Module;
use crate::read::data::{self, DataTable};
use crate::read::picture::Picture;
use crate::read::site::Site;
use crate::read::source::{Sources, Text};
use serde::Serialize;
use std::collections::BTreeMap;

/// Names of the site's files, under the root.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Assets {
    /// The style sheet.
    pub style: String,
    /// The script of every page.
    pub script: String,
    /// The script of the search page.
    pub search_script: String,
    /// The script of pages on which readings are logged.
    pub readings_script: String,
    /// The bindings of the calculators.
    pub module: String,
    /// The calculators.
    pub wasm: String,
    /// The bindings of what draws codes.
    pub code: String,
    /// What draws codes.
    pub code_wasm: String,
    /// The data of the core.
    pub data: String,
    /// The icon.
    pub icon: String,
    /// The manifest.
    pub manifest: String,
    /// What the search looks through.
    pub search: String,
}

const ICON: &str = "icon.svg";

/// Names and gathers style, scripts, core, data, icon, manifest and pictures.
pub fn make(
    sources: &Sources,
    tables: &[DataTable],
    pictures: &BTreeMap<&str, Picture>,
    site: &Site,
    module: &Module,
    files: &mut Files,
) -> (Assets, Vec<Finding>) {
    let mut findings = Vec::new();
    let mut add = |name: &str, bytes: Vec<u8>| {
        let name = name_by_content(name, &bytes);
        files.insert(name.clone(), bytes);
        name
    };
    let style = style::bundle(&sources.styles).unwrap_or_else(|finding| {
        findings.push(finding);
        String::new()
    });
    let (main, found) = script::bundle(&sources.scripts, "main.js", None);
    findings.extend(found);
    let (search, found) = script::bundle(&sources.scripts, "search.js", Some(&main));
    findings.extend(found);
    let (readings, found) = script::bundle(&sources.scripts, "readings.js", Some(&main));
    findings.extend(found);
    if text(&sources.scripts, WORKER).is_empty() {
        let file = format!("templates/script/{WORKER}");
        findings.push(Finding::whole(&file, "is missing"));
    }
    let icon = sources.icons.get(ICON).cloned().unwrap_or_else(|| {
        findings.push(Finding::whole("templates/icons/icon.svg", "is missing"));
        Vec::new()
    });
    let wanted = tables.iter().filter(|table| table.browser);
    let assets = Assets {
        style: add("style.css", style.into_bytes()),
        script: add("main.js", main.text),
        search_script: add("search.js", search.text),
        readings_script: add("readings.js", readings.text),
        module: add(
            "calc.js",
            without_remarks(&module.results.script).into_bytes(),
        ),
        wasm: add("calc.wasm", module.results.wasm.clone()),
        code: add("code.js", without_remarks(&module.code.script).into_bytes()),
        code_wasm: add("code.wasm", module.code.wasm.clone()),
        data: add("data.tsv", data::flatten(wanted).into_bytes()),
        icon: add(ICON, icon),
        manifest: MANIFEST.into(),
        search: "search.json".into(),
    };
    for (path, picture) in pictures {
        if let Some(bytes) = sources.pictures.get(*path) {
            files.insert(picture.url.clone(), bytes.clone());
        }
    }
    let manifest = manifest(site, &assets.icon);
    files.insert(MANIFEST.into(), manifest.into_bytes());
    (assets, findings)
}

/// The text of a script, or nothing.
pub fn text<'a>(scripts: &'a [Text], name: &str) -> &'a str {
    scripts
        .iter()
        .find(|script| script.path.strip_prefix("script/") == Some(name))
        .map_or("", |script| &script.text)
}

/// A value as JSON.
pub fn json(value: &impl Serialize) -> Vec<u8> {
    serde_json::to_vec(value).unwrap_or_default()
}

/// Filled pages join the files by their paths; a template's fault is said once, not for every
/// page.
pub fn pages(filled: Vec<(String, Result<String, Finding>)>, files: &mut Files) -> Vec<Finding> {
    let mut findings: Vec<Finding> = Vec::new();
    for (path, html) in filled {
        match html {
            Ok(html) => {
                files.insert(path, html.into_bytes());
            }
            Err(finding) if findings.iter().all(|known| *known != finding) => {
                findings.push(finding)
            }
            Err(_) => {}
        }
    }
    findings
}
