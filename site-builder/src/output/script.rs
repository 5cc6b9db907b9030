//! Part of stage 10: the modules of the script, joined into one file each page loads.
//!
//! The modules are plain ECMAScript, so that tests and editors read them as they stand. Joining
//! them needs no reader of the language, because they keep to what `Module::read` allows: imports
//! are lines of one form at the top, and every name at the top of a module is the only one of
//! that name. A module comes after those it imports, and the import lines go; `export` may stay.

use crate::files::name_by_content;
use crate::finding::{Finding, spelling};
use crate::read::source::Text;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

/// One file made of modules.
#[derive(Clone, Debug, Default)]
pub struct Bundle {
    /// Its name, by content.
    pub name: String,
    /// What stands in it.
    pub text: Vec<u8>,
    modules: BTreeSet<String>,
}

/// Joins `entry` and all that it imports. What is in `shared` already is imported from there, so
/// that a page that loads both has each module once.
pub fn bundle(scripts: &[Text], entry: &str, shared: Option<&Bundle>) -> (Bundle, Vec<Finding>) {
    let mut findings = Vec::new();
    let modules = scripts.iter().filter_map(|script| {
        let name = script.path.strip_prefix("script/")?;
        Some((name, Module::read(script)))
    });
    let mut joiner = Joiner {
        modules: modules.collect(),
        shared,
        order: Vec::new(),
        open: Vec::new(),
        from_shared: BTreeSet::new(),
        findings: Vec::new(),
    };
    joiner.visit(entry);
    joiner.same_names();
    for name in &joiner.order {
        findings.extend(joiner.modules[name].findings.iter().cloned());
    }
    findings.append(&mut joiner.findings);
    let mut text = String::new();
    if let Some(shared) = shared.filter(|_| !joiner.from_shared.is_empty()) {
        let names: Vec<_> = joiner.from_shared.iter().copied().collect();
        text = format!(
            "import {{ {} }} from \"./{}\";\n",
            names.join(", "),
            shared.name
        );
    }
    for name in &joiner.order {
        text.push_str(&joiner.modules[name].body);
    }
    let bundle = Bundle {
        name: name_by_content(entry, text.as_bytes()),
        text: text.into_bytes(),
        modules: joiner.order.iter().map(|name| (*name).to_owned()).collect(),
    };
    (bundle, findings)
}

/// A script as it travels: without indentation and without lines that are nothing but remarks.
///
/// Line by line, so it needs not understand the language. Only a text written over several lines
/// would be changed, in its indentation; ours are on one line each.
pub fn without_remarks(script: &str) -> String {
    let mut in_remark = false;
    let mut kept = String::with_capacity(script.len());
    for line in script.lines().map(str::trim) {
        if !is_remark(line, &mut in_remark) && !line.is_empty() {
            kept.push_str(line);
            kept.push('\n');
        }
    }
    kept
}

/// Whether a line is nothing but a remark, of one line or of several.
fn is_remark(line: &str, inside: &mut bool) -> bool {
    let remark = *inside || line.starts_with("/*");
    *inside = remark && !line.ends_with("*/");
    remark || line.starts_with("//")
}

/// What a module says of itself.
struct Module<'t> {
    script: &'t Text,
    imports: Vec<Import<'t>>,
    exports: BTreeSet<&'t str>,
    /// Every name at the top, and where it stands.
    declared: Vec<(&'t str, Range<usize>)>,
    /// The text without imports and remarks.
    body: String,
    findings: Vec<Finding>,
}

/// `import { names } from "./file";`
struct Import<'t> {
    names: Vec<&'t str>,
    file: &'t str,
    span: Range<usize>,
}

/// What declares a name at the top of a module.
const DECLARE: [&str; 6] = [
    "async function ",
    "function ",
    "class ",
    "const ",
    "let ",
    "var ",
];

impl<'t> Module<'t> {
    fn read(script: &'t Text) -> Self {
        let mut module = Module {
            script,
            imports: Vec::new(),
            exports: BTreeSet::new(),
            declared: Vec::new(),
            body: String::new(),
            findings: Vec::new(),
        };
        let (mut in_remark, mut at) = (false, 0);
        for whole in script.text.split_inclusive('\n') {
            let (line, span) = (whole.trim_end(), at..at + whole.trim_end().len());
            at += whole.len();
            let bare = line.trim_start();
            if is_remark(bare, &mut in_remark) {
                if bare.starts_with("/*") && bare.find("*/").is_some_and(|end| end + 2 < bare.len())
                {
                    module
                        .find(span, "a remark has other words after it on its line")
                        .mend("give the remark a line of its own");
                }
                continue;
            }
            module.line(line, span);
        }
        module
    }

    fn find(&mut self, span: Range<usize>, message: &str) -> Mend<'_> {
        let Text { file, text, .. } = self.script;
        self.findings.push(Finding::at(file, text, span, message));
        Mend(self.findings.last_mut())
    }

    fn line(&mut self, line: &'t str, span: Range<usize>) {
        if line.starts_with("import ") {
            self.import(line, span);
            return;
        }
        if line.matches('`').count() % 2 == 1 {
            self.find(
                span.clone(),
                "a text goes over several lines, and would lose its indentation",
            )
            .mend("write each line as a text of its own");
        }
        let exported = line.strip_prefix("export ");
        let declared = exported.unwrap_or(line);
        let named = DECLARE.iter().find_map(|word| declared.strip_prefix(word));
        match named {
            Some(rest) => self.declare(rest, exported.is_some(), span),
            None if exported.is_some() => {
                self.find(span, "this way of exporting cannot be joined")
                    .mend("write `export` before a const, let, function or class");
            }
            None => {}
        }
        let bare = line.trim_start();
        if !bare.is_empty() {
            self.body.push_str(bare);
            self.body.push('\n');
        }
    }

    fn declare(&mut self, rest: &'t str, exported: bool, span: Range<usize>) {
        let end = rest.find(|c: char| !c.is_ascii_alphanumeric() && c != '_' && c != '$');
        let (name, after) = rest.split_at(end.unwrap_or(rest.len()));
        if name.is_empty() || after.starts_with(',') {
            self.find(
                span,
                "more than one name is declared at once at the top of a module",
            )
            .mend("declare each name on a line of its own");
            return;
        }
        if exported {
            self.exports.insert(name);
        }
        self.declared.push((name, span));
    }

    fn import(&mut self, line: &'t str, span: Range<usize>) {
        if !self.body.is_empty() {
            self.find(span.clone(), "an import stands below other lines")
                .mend("imports come first");
        }
        let parts = line
            .strip_prefix("import { ")
            .and_then(|rest| rest.strip_suffix("\";"))
            .and_then(|rest| rest.split_once(" } from \"./"));
        let names = parts.map(|(names, _)| names.split(", ").collect::<Vec<_>>());
        let plain = |name: &&str| name.chars().all(|c| c.is_ascii_alphanumeric());
        match (parts, names) {
            (Some((_, file)), Some(names)) if names.iter().all(plain) => {
                self.imports.push(Import { names, file, span });
            }
            _ => {
                self.find(span, "this way of importing cannot be joined")
                    .mend("write it on one line: import { name, other } from \"./file.js\";");
            }
        }
    }
}

/// The finding just made, for its mend.
struct Mend<'f>(Option<&'f mut Finding>);

impl Mend<'_> {
    fn mend(self, mend: &str) {
        if let Some(finding) = self.0 {
            finding.mend = Some(mend.into());
        }
    }
}

/// Puts modules in order.
struct Joiner<'t> {
    modules: BTreeMap<&'t str, Module<'t>>,
    shared: Option<&'t Bundle>,
    order: Vec<&'t str>,
    /// The modules whose imports are being visited.
    open: Vec<&'t str>,
    from_shared: BTreeSet<&'t str>,
    findings: Vec<Finding>,
}

impl<'t> Joiner<'t> {
    fn visit(&mut self, name: &str) {
        let Some((&name, module)) = self.modules.get_key_value(name) else {
            let file = format!("templates/script/{name}");
            self.findings.push(Finding::whole(&file, "is missing"));
            return;
        };
        let imports: Vec<_> = module
            .imports
            .iter()
            .map(|import| (import.names.clone(), import.file, import.span.clone()))
            .collect();
        self.open.push(name);
        for (names, file, span) in imports {
            if let Some(finding) = self.wrong_import(name, &names, file, span) {
                self.findings.push(finding);
            } else if self
                .shared
                .is_some_and(|shared| shared.modules.contains(file))
            {
                self.from_shared.extend(names);
            } else if !self.order.contains(&file) {
                self.visit(file);
            }
        }
        self.open.pop();
        self.order.push(name);
    }

    fn wrong_import(
        &self,
        importing: &str,
        names: &[&str],
        file: &str,
        span: Range<usize>,
    ) -> Option<Finding> {
        let Text {
            file: path, text, ..
        } = self.modules[importing].script;
        let find = |message: String| Some(Finding::at(path, text, span.clone(), message));
        let Some(module) = self.modules.get(file) else {
            let mend = spelling(file, self.modules.keys().copied());
            return find(format!("there is no module `{file}`")).map(|one| one.maybe_mend(mend));
        };
        if self.open.contains(&file) {
            let way = [&self.open[..], &[file]].concat().join(" → ");
            return find(format!("modules import each other in a circle: {way}"))
                .map(|one| one.mend("what both need goes into a module of its own"));
        }
        let unknown = names.iter().find(|name| !module.exports.contains(**name))?;
        let mend = spelling(unknown, module.exports.iter().copied());
        find(format!("`{file}` does not export `{unknown}`")).map(|one| one.maybe_mend(mend))
    }

    /// In one file each name can stand once only.
    fn same_names(&mut self) {
        let shared = self.shared.map_or("", |shared| &shared.name);
        let mut known: BTreeMap<&str, &str> = self
            .from_shared
            .iter()
            .map(|name| (*name, shared))
            .collect();
        for module in &self.order {
            let Module {
                script, declared, ..
            } = &self.modules[module];
            for (name, span) in declared {
                if let Some(other) = known.insert(name, module) {
                    let message = format!("`{name}` stands in `{other}` as well");
                    let finding = Finding::at(&script.file, &script.text, span.clone(), message);
                    self.findings
                        .push(finding.mend("give one of them another name"));
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scripts(files: &[(&str, &str)]) -> Vec<Text> {
        let text = |(name, text): &(&str, &str)| Text {
            file: format!("templates/script/{name}"),
            path: format!("script/{name}"),
            text: (*text).to_owned(),
            ..Text::default()
        };
        files.iter().map(text).collect()
    }

    fn said(files: &[(&str, &str)]) -> Vec<String> {
        let (_, findings) = bundle(&scripts(files), "main.js", None);
        let said = findings.iter();
        said.map(|one| format!("{}: {}", one.place(), one.message))
            .collect()
    }

    const TOP: &str =
        "// What it is.\n\nimport { b } from \"./b.js\";\nimport { c } from \"./c.js\";\n\nb(c);\n";
    const B: &str = "import { c } from \"./c.js\";\n\n/** @param {number} n */\nexport function b(n) {\n  return n + c;\n}\n";

    #[test]
    fn a_module_comes_after_what_it_imports() {
        let files = [
            ("main.js", TOP),
            ("b.js", B),
            ("c.js", "export const c = 1; // one\n"),
        ];
        let (joined, findings) = bundle(&scripts(&files), "main.js", None);
        assert_eq!(findings, []);
        let text = String::from_utf8(joined.text).expect("text");
        assert_eq!(
            text,
            "export const c = 1; // one\nexport function b(n) {\nreturn n + c;\n}\nb(c);\n"
        );
    }

    #[test]
    fn what_another_file_has_is_imported_from_there() {
        let search = "import { b } from \"./b.js\";\nimport { d } from \"./d.js\";\nb(d);\n";
        let files = [
            ("main.js", TOP),
            ("b.js", B),
            ("c.js", "export const c = 1;\n"),
            ("search.js", search),
            ("d.js", "export const d = 2;\n"),
        ];
        let scripts = scripts(&files);
        let (main, _) = bundle(&scripts, "main.js", None);
        let (joined, findings) = bundle(&scripts, "search.js", Some(&main));
        assert_eq!(findings, []);
        let text = String::from_utf8(joined.text).expect("text");
        assert_eq!(
            text,
            format!(
                "import {{ b }} from \"./{}\";\nexport const d = 2;\nb(d);\n",
                main.name
            )
        );
    }

    #[test]
    fn says_what_cannot_be_joined() {
        for (main, other, expected) in [
            (
                "import b from \"./b.js\";\n",
                "",
                "main.js:1:1: this way of importing cannot be joined",
            ),
            (
                "import { b as c } from \"./b.js\";\n",
                "export const b = 1;\n",
                "main.js:1:1: this way of importing cannot be joined",
            ),
            (
                "import { b } from \"./b.js\";\n",
                "const b = 1;\n",
                "main.js:1:1: `b.js` does not export `b`",
            ),
            (
                "import { b } from \"./c.js\";\n",
                "",
                "main.js:1:1: there is no module `c.js`",
            ),
            (
                "import { b } from \"./b.js\";\n",
                "import { a } from \"./main.js\";\nexport const b = 1;\n",
                "b.js:1:1: modules import each other in a circle: main.js → b.js → main.js",
            ),
            (
                "import { b } from \"./b.js\";\nconst c = b;\n",
                "const c = 1;\nexport const b = 1;\n",
                "main.js:2:1: `c` stands in `b.js` as well",
            ),
            (
                "const a = 1;\nimport { b } from \"./b.js\";\n",
                "export const b = 1;\n",
                "main.js:2:1: an import stands below other lines",
            ),
            (
                "const a = 1;\nexport { a };\n",
                "",
                "main.js:2:1: this way of exporting cannot be joined",
            ),
            (
                "let a, b;\n",
                "",
                "main.js:1:1: more than one name is declared at once at the top of a module",
            ),
            (
                "/** @type {number} */ (a).b();\n",
                "",
                "main.js:1:1: a remark has other words after it on its line",
            ),
            (
                "const a = `one\ntwo`;\n",
                "",
                "main.js:1:1: a text goes over several lines, and would lose its indentation",
            ),
        ] {
            let found = said(&[("main.js", main), ("b.js", other)]);
            assert!(
                found.contains(&format!("templates/script/{expected}")),
                "{main}: {found:?}"
            );
        }
    }

    #[test]
    fn leaves_out_lines_of_remarks_and_nothing_else() {
        let script = "// one\n/**\n * two\n */\nfunction f() {\n  /* three */\n\n  return \"  // kept\"; // kept\n}\n/* four\n*/\nf();\n";
        assert_eq!(
            without_remarks(script),
            "function f() {\nreturn \"  // kept\"; // kept\n}\nf();\n"
        );
    }
}
