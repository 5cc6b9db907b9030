//! Part of stage 2: drafts. Every written page gets its metadata, its name and its address, and every
//! glossary entry its anchor, so that links can be checked while Markdown is read.

use crate::finding::Finding;
use crate::read::data::DataTable;
use crate::read::front_matter::{self, FrontMatter, Kind};
use crate::read::source::{Text, slug};
use calc_wasm::calculators;
use std::collections::BTreeMap;

/// A written page with its metadata and address.
#[derive(Clone, Debug)]
pub struct Draft<'a> {
    /// The file.
    pub source: &'a Text,
    /// Its metadata.
    pub matter: FrontMatter,
    /// Where its Markdown begins.
    pub body: usize,
    /// Its name: the file's stem.
    pub name: &'a str,
    /// Its address under the root: `techniques/x/`, or nothing for the start page.
    pub url: String,
}

impl Draft<'_> {
    /// Its place in lists: by the author's order, then by title.
    pub fn place(&self) -> (i64, String) {
        let order = self.matter.order.unwrap_or(i64::MAX);
        (order, self.matter.title.to_lowercase())
    }
}

/// Reads the metadata of all pages and gives each its address.
pub fn plan<'a>(pages: &'a [Text], tables: &[DataTable]) -> (Vec<Draft<'a>>, Vec<Finding>) {
    let mut drafts: Vec<Draft<'a>> = Vec::new();
    let mut findings = Vec::new();
    let mut names: BTreeMap<&str, &str> = BTreeMap::new();
    let mut taken: BTreeMap<String, String> = made_addresses(tables);
    for source in pages {
        let name = source.stem();
        if let Some(other) = names.insert(name, &source.file) {
            findings.push(
                Finding::whole(&source.file, format!("has the same name as {other}"))
                    .mend("links are by name, so call one of them something else"),
            );
            continue;
        }
        let url = address(&source.path);
        if let Some(owner) = taken.insert(url.clone(), source.file.clone()) {
            findings.push(
                Finding::whole(
                    &source.file,
                    format!("would stand at `{url}`, and so does {owner}"),
                )
                .mend("call it something else"),
            );
            continue;
        }
        let head = front_matter::read(source);
        findings.extend(head.findings);
        if head.kind_is_known {
            findings.extend(out_of_place(source, &head.matter));
        }
        drafts.push(Draft {
            source,
            matter: head.matter,
            body: head.body,
            name,
            url,
        });
    }
    (drafts, findings)
}

/// The address of the page whose file is at `path`, as seen from the folder of pages.
pub fn address(path: &str) -> String {
    match path.strip_suffix(".md").unwrap_or(path) {
        "index" | "start" => String::new(),
        path => format!("{path}/"),
    }
}

/// Addresses of the pages that the builder makes itself.
fn made_addresses(tables: &[DataTable]) -> BTreeMap<String, String> {
    let own = "a page the builder makes".to_owned();
    let mut taken: BTreeMap<String, String> = [
        "calculators/",
        "drawings/",
        "glossary/",
        "checks/",
        "search/",
    ]
    .map(|url| (url.to_owned(), own.clone()))
    .into();
    for calculator in calculators::all() {
        taken.insert(format!("calculators/{}/", calculator.name), own.clone());
    }
    for table in tables.iter().filter(|table| table.page) {
        taken.insert(table_url(table), table.file.clone());
    }
    taken
}

fn out_of_place(source: &Text, matter: &FrontMatter) -> Option<Finding> {
    let home = match source.folder() {
        "techniques" => Kind::Technique,
        "experiments" => Kind::Experiment,
        _ => return None,
    };
    (matter.kind != home).then(|| {
        let at = source.text.find("kind:").unwrap_or(0);
        Finding::at(
            &source.file,
            &source.text,
            at..at + 5,
            format!(
                "is a {} in the folder `{}`",
                matter.kind.word(),
                source.folder()
            ),
        )
        .mend(format!("write `kind: {}`, or move the file", home.word()))
    })
}

/// The way from a page up to the site's root: `../` for each folder of its address.
pub fn base(url: &str) -> String {
    "../".repeat(url.matches('/').count())
}

/// The address of a table's page; the glossary has one of its own.
pub fn table_url(table: &DataTable) -> String {
    if table.name == "glossary" {
        "glossary/".into()
    } else {
        format!("tables/{}/", table_name(table))
    }
}

/// The table's name as part of an address.
pub fn table_name(table: &DataTable) -> String {
    slug(&table.name, "table")
}

/// The glossary: anchors by word, other words for the same thing included.
pub fn terms(tables: &[DataTable]) -> BTreeMap<String, String> {
    let mut terms = BTreeMap::new();
    let Some(glossary) = tables.iter().find(|table| table.name == "glossary") else {
        return terms;
    };
    let (name, also) = (glossary.key("name"), glossary.key("also"));
    for row in &glossary.rows {
        let word = name.map_or("", |at| &row[at]);
        let id = term_id(word);
        let others = also.map_or("", |at| &row[at]);
        for word in others.split("; ").filter(|word| !word.is_empty()) {
            terms.entry(word.to_lowercase()).or_insert(id.clone());
        }
        terms.insert(word.to_lowercase(), id);
    }
    terms
}

/// The anchor of a word in the glossary.
pub(crate) fn term_id(word: &str) -> String {
    format!("term-{}", slug(word, "x"))
}

/// An anchor for each row of a table, in order. Two rows of one name are told apart by a number.
pub fn row_ids(table: &DataTable) -> Vec<String> {
    let name = table.key("name");
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    let id = |row: &Vec<String>| {
        let id = format!("row-{}", slug(name.map_or("", |at| &row[at]), "x"));
        let count = seen.entry(id.clone()).or_default();
        *count += 1;
        match *count {
            1 => id,
            number => format!("{id}-{number}"),
        }
    };
    table.rows.iter().map(id).collect()
}

/// A page without words, for tests.
#[cfg(test)]
pub(crate) fn empty_page(path: &str, kind: &str, order: &str) -> Text {
    let stem = path
        .rsplit('/')
        .next()
        .unwrap_or(path)
        .trim_end_matches(".md");
    Text {
        file: format!("content/{path}"),
        path: path.into(),
        text: format!(
            "---\ntitle: {stem}\nkind: {kind}\nsummary: S\n{order}hazards: [h]\nsources: [s]\nreviewed: 2026-11-25\n---\n"
        ),
        ..Text::default()
    }
}

#[cfg(test)]
mod tests {
    use super::{empty_page as page, *};

    #[test]
    fn gives_addresses_and_the_way_back() {
        let pages = [
            page("index.md", "page", ""),
            page("techniques/a.md", "technique", ""),
        ];
        let (drafts, findings) = plan(&pages, &[]);
        assert!(findings.is_empty(), "{findings:?}");
        assert_eq!(drafts[0].url, "");
        assert_eq!(drafts[1].url, "techniques/a/");
        assert_eq!(
            (base(""), base("techniques/a/")),
            (String::new(), "../../".into())
        );
    }

    #[test]
    fn finds_two_pages_of_one_name_and_pages_that_are_made() {
        let pages = [
            page("a.md", "page", ""),
            page("checks.md", "page", ""),
            page("techniques/a.md", "technique", ""),
            page("techniques/b.md", "page", ""),
        ];
        let said: Vec<String> = plan(&pages, &[])
            .1
            .iter()
            .map(ToString::to_string)
            .collect();
        assert!(
            said[0].contains("content/checks.md: would stand at `checks/`"),
            "{said:?}"
        );
        assert!(said[1].contains("content/techniques/a.md: has the same name as content/a.md"));
        assert!(said[2].contains("is a page in the folder `techniques`"));
    }
}
