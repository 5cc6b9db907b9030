//! Part of stage 10: everything that is no page gets its name and joins the files.

use crate::files::{Files, name_by_content};
use crate::finding::Finding;
use crate::output::offline::{MANIFEST, WORKER, manifest};
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
    let mut script = |name: &str| {
        let text = text(&sources.scripts, name);
        if text.is_empty() {
            findings.push(Finding::whole(
                &format!("templates/script/{name}"),
                "is missing",
            ));
        }
        without_remarks(text)
    };
    let (main, search) = (script("main.js"), script("search.js"));
    script(WORKER);
    let icon = sources.icons.get(ICON).cloned().unwrap_or_else(|| {
        findings.push(Finding::whole("templates/icons/icon.svg", "is missing"));
        Vec::new()
    });
    let wanted = tables.iter().filter(|table| table.browser);
    let assets = Assets {
        style: add("style.css", style.into_bytes()),
        script: add("main.js", main),
        search_script: add("search.js", search),
        module: add("calc.js", without_remarks(&module.results.script)),
        wasm: add("calc.wasm", module.results.wasm.clone()),
        code: add("code.js", without_remarks(&module.code.script)),
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
    let manifest = manifest(&site.title, &site.description, &assets.icon);
    files.insert(MANIFEST.into(), manifest.into_bytes());
    (assets, findings)
}

/// A script as it travels: without indentation and without lines that are nothing but remarks.
///
/// Line by line, so it needs not understand the language. Only a text written over several lines
/// would be changed, in its indentation; ours are on one line each.
fn without_remarks(script: &str) -> Vec<u8> {
    let mut in_remark = false;
    let mut kept = String::with_capacity(script.len());
    for line in script.lines().map(str::trim) {
        let remark = in_remark || line.starts_with("/*");
        in_remark = remark && !line.ends_with("*/");
        if !remark && !line.is_empty() && !line.starts_with("//") {
            kept.push_str(line);
            kept.push('\n');
        }
    }
    kept.into_bytes()
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn leaves_out_lines_of_remarks_and_nothing_else() {
        let script = "// one\n/**\n * two\n */\nfunction f() {\n  /* three */\n\n  return \"  // kept\"; // kept\n}\n/* four\n*/\nf();\n";
        assert_eq!(
            String::from_utf8(without_remarks(script)).unwrap(),
            "function f() {\nreturn \"  // kept\"; // kept\n}\nf();\n"
        );
    }
}
