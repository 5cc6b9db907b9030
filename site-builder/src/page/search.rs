//! What the search looks through: the words of every page, each word once.

use super::lists::Lists;
use crate::markdown::Rendered;
use crate::read::data::DataTable;
use crate::read::draft::{Draft, table_url};
use calc_wasm::calculators;
use serde::Serialize;
use std::collections::BTreeSet;

/// One page as the search knows it.
#[derive(Clone, Debug, Serialize)]
pub struct Searchable {
    /// Its title.
    pub title: String,
    /// Its address under the root.
    pub url: String,
    /// What it is.
    pub kind: String,
    /// One sentence.
    pub summary: String,
    /// Its words, once each.
    pub text: String,
}

/// What the search looks through.
pub fn searchable(
    drafts: &[Draft<'_>],
    rendered: &[Rendered],
    tables: &[DataTable],
    lists: &Lists,
) -> Vec<Searchable> {
    let mut all: Vec<Searchable> = drafts
        .iter()
        .zip(rendered)
        .filter(|(draft, _)| !draft.url.is_empty())
        .map(|(draft, rendered)| {
            let topics = draft.matter.topics.join(" ");
            let need = draft.matter.need.as_deref().unwrap_or_default();
            Searchable {
                title: draft.matter.title.clone(),
                url: draft.url.clone(),
                kind: draft.matter.kind.word().into(),
                summary: draft.matter.summary.clone(),
                text: once(&format!("{topics} {need} {}", rendered.words)),
            }
        })
        .collect();
    all.extend(
        lists
            .calculators
            .iter()
            .zip(calculators::all())
            .map(|(entry, calculator)| {
                let inputs: Vec<&str> = calculator.inputs.iter().map(|input| input.label).collect();
                Searchable {
                    title: entry.title.clone(),
                    url: entry.url.clone(),
                    kind: "calculator".into(),
                    summary: entry.summary.clone(),
                    text: once(&inputs.join(" ")),
                }
            }),
    );
    for table in tables.iter().filter(|table| table.page) {
        let words = |key: &str| {
            let at = table.key(key);
            table
                .rows
                .iter()
                .filter_map(move |row| at.map(|at| row[at].as_str()))
        };
        let names: Vec<&str> = words("name")
            .chain(words("aliases"))
            .chain(words("also"))
            .collect();
        all.push(Searchable {
            title: table.title.clone(),
            url: table_url(table),
            kind: if table.name == "glossary" {
                "glossary"
            } else {
                "table"
            }
            .into(),
            summary: table.about.clone(),
            text: once(&names.join(" ")),
        });
    }
    all
}

/// The words of a text, each once, in lower case.
fn once(text: &str) -> String {
    let mut seen = BTreeSet::new();
    let mut out = String::new();
    for word in text.split(|c: char| !c.is_alphanumeric() && c != '-') {
        let word = word.trim_matches('-').to_lowercase();
        if word.chars().count() > 1 && seen.insert(word.clone()) {
            if !out.is_empty() {
                out.push(' ');
            }
            out.push_str(&word);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keeps_each_word_once_for_the_search() {
        assert_eq!(
            once("The pump, the Pump – a two-neck flask"),
            "the pump two-neck flask"
        );
    }
}
