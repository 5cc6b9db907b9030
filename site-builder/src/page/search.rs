//! What the search looks through: every page, its parts, and the rows of tables. What stands where
//! is kept apart, for the page's script ranks by it (`templates/script/ranking.js`).

use super::lists::Lists;
use crate::markdown::Rendered;
use crate::read::data::DataTable;
use crate::read::draft::{Draft, row_ids, table_url, term_id};
use calc_wasm::calculators;
use serde::Serialize;
use std::collections::BTreeSet;

/// One place that the search may lead to: a page, a part of one, or a row of a table.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Searchable {
    /// Its title, heading or name.
    pub title: String,
    /// The page or table that it is a part of; empty for a whole page.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub of: String,
    /// Its address under the root, with its anchor.
    pub url: String,
    /// What it is: a kind of page, `part`, `row`, `substance` or `word`.
    pub kind: String,
    /// One sentence, or the first cells of a row.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub summary: String,
    /// Other names, each as it is written: aliases, CAS number, formula.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub names: Vec<String>,
    /// The words of the need that it answers and of its topics.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub need: String,
    /// Its other words, once each.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub text: String,
}

/// What the search looks through.
pub fn searchable(
    drafts: &[Draft<'_>],
    rendered: &[Rendered],
    tables: &[DataTable],
    lists: &Lists,
) -> Vec<Searchable> {
    let written = drafts
        .iter()
        .zip(rendered)
        .filter(|(draft, _)| !draft.url.is_empty());
    let mut all: Vec<Searchable> = written
        .flat_map(|(draft, rendered)| page(draft, rendered))
        .collect();
    all.extend(calculator_pages(lists));
    for table in tables.iter().filter(|table| table.page) {
        all.push(whole_table(table));
        all.extend(rows(table));
    }
    all
}

/// A written page and its parts. What stands above its first heading is the page's own.
fn page(draft: &Draft<'_>, rendered: &Rendered) -> Vec<Searchable> {
    let matter = &draft.matter;
    let words = &rendered.words;
    let sections = &rendered.sections;
    let first = sections.first().map_or(words.len(), |section| section.from);
    let topics = matter.topics.join(" ");
    let need = matter.need.as_deref().unwrap_or_default();
    let mut all = vec![Searchable {
        title: matter.title.clone(),
        url: draft.url.clone(),
        kind: matter.kind.word().into(),
        summary: matter.summary.clone(),
        names: matter.also.clone(),
        need: once(&format!("{topics} {need}")),
        text: once(&words[..first]),
        ..Searchable::default()
    }];
    let ends = sections.iter().skip(1).map(|next| next.from);
    let ends = ends.chain([words.len()]);
    all.extend(sections.iter().zip(ends).map(|(section, end)| Searchable {
        title: section.heading.title.clone(),
        of: matter.title.clone(),
        url: format!("{}#{}", draft.url, section.heading.id),
        kind: "part".into(),
        text: once(&words[section.from..end]),
        ..Searchable::default()
    }));
    all
}

fn calculator_pages(lists: &Lists) -> impl Iterator<Item = Searchable> {
    let described = lists.calculators.iter().zip(calculators::all());
    described.map(|(entry, calculator)| {
        let inputs: Vec<&str> = calculator.inputs.iter().map(|input| input.label).collect();
        Searchable {
            title: entry.title.clone(),
            url: entry.url.clone(),
            kind: "calculator".into(),
            summary: entry.summary.clone(),
            text: once(&inputs.join(" ")),
            ..Searchable::default()
        }
    })
}

fn is_glossary(table: &DataTable) -> bool {
    table.name == "glossary"
}

fn whole_table(table: &DataTable) -> Searchable {
    let kind = if is_glossary(table) {
        "glossary"
    } else {
        "table"
    };
    let heads: Vec<&str> = table
        .columns
        .iter()
        .map(|column| column.label.as_str())
        .collect();
    Searchable {
        title: table.title.clone(),
        url: table_url(table),
        kind: kind.into(),
        summary: table.about.clone(),
        text: once(&heads.join(" ")),
        ..Searchable::default()
    }
}

/// The rows of a table that have a name.
fn rows(table: &DataTable) -> Vec<Searchable> {
    let Some(name) = table.key("name") else {
        return Vec::new();
    };
    let places = |keys: &[&str]| -> Vec<usize> {
        let found = keys.iter().filter_map(|key| table.key(key));
        found.collect()
    };
    let others = places(&["aliases", "also", "cas", "formula"]);
    let meaning = table.key("meaning").filter(|_| is_glossary(table));
    let kind = match (meaning, table.key("cas")) {
        (Some(_), _) => "word",
        (_, Some(_)) => "substance",
        _ => "row",
    };
    let row = |(row, anchor): (&Vec<String>, String)| {
        let cell = |at: usize| row[at].as_str();
        let names = others.iter().flat_map(|at| cell(*at).split("; "));
        let summary = meaning.map_or_else(|| cells(table, row), |at| cell(at).to_owned());
        let anchor = meaning.map_or(anchor, |_| term_id(cell(name)));
        Searchable {
            title: cell(name).to_owned(),
            of: table.title.clone(),
            url: format!("{}#{anchor}", table_url(table)),
            kind: kind.into(),
            names: names
                .filter(|name| !name.is_empty())
                .map(str::to_owned)
                .collect(),
            summary,
            ..Searchable::default()
        }
    };
    table.rows.iter().zip(row_ids(table)).map(row).collect()
}

/// As many characters of a row's cells as a list of finds has room for.
const SUMMARY: usize = 150;

/// The first cells of a row behind its name, each with what it says.
fn cells(table: &DataTable, row: &[String]) -> String {
    let mut said = String::new();
    for column in table.columns.iter().filter(|column| column.name != "name") {
        let cell = table.key(&column.name).map_or("", |at| row[at].as_str());
        let is_source = column.name.ends_with("source");
        if cell.is_empty() || is_source || said.chars().count() > SUMMARY {
            continue;
        }
        if !said.is_empty() {
            said.push_str(" · ");
        }
        let cell = match cell {
            "true" => "yes".to_owned(),
            "false" => "no".to_owned(),
            cell => cell.replace(" -", " −"),
        };
        said.push_str(&format!("{}: {cell}", column.label));
        if let Some(unit) = &column.unit {
            said.push_str(&format!(" {unit}"));
        }
    }
    said
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
