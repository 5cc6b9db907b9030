//! The lists of pages, each in reading order, and what stands before and after a page in them.

use crate::read::data::DataTable;
use crate::read::draft::{Draft, table_name, table_url};
use crate::read::front_matter::Kind;
use calc_wasm::calculators;
use serde::Serialize;
use std::collections::BTreeMap;

/// A place one can go to.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Step {
    /// Its title.
    pub title: String,
    /// Its address under the root.
    pub url: String,
}

/// A line in a list of pages.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Entry {
    /// Its name.
    pub name: String,
    /// Its title.
    pub title: String,
    /// One sentence.
    pub summary: String,
    /// The need it answers.
    pub need: Option<String>,
    /// The question a calculator answers.
    pub question: Option<String>,
    /// Its address under the root.
    pub url: String,
}

/// All lists, each in reading order.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Lists {
    /// Technique pages.
    pub techniques: Vec<Entry>,
    /// Experiments.
    pub experiments: Vec<Entry>,
    /// Reference pages, then all others.
    pub references: Vec<Entry>,
    /// Calculators.
    pub calculators: Vec<Entry>,
    /// Data tables with pages.
    pub tables: Vec<Entry>,
    /// Whether there is a page of drawings.
    pub drawings: bool,
}

impl Lists {
    fn of(&self, kind: Kind) -> &[Entry] {
        match kind {
            Kind::Technique => &self.techniques,
            Kind::Experiment => &self.experiments,
            Kind::Reference => &self.references,
            Kind::Page => &[],
        }
    }
}

/// All lists of the site.
pub fn lists(drafts: &[Draft<'_>], tables: &[DataTable]) -> Lists {
    let mut order: Vec<&Draft<'_>> = drafts
        .iter()
        .filter(|draft| !draft.url.is_empty())
        .collect();
    order.sort_by_cached_key(|draft| draft.place());
    let of = |kind: Kind| {
        order
            .iter()
            .filter(|draft| draft.matter.kind == kind)
            .map(|draft| Entry {
                name: draft.name.to_owned(),
                title: draft.matter.title.clone(),
                summary: draft.matter.summary.clone(),
                need: draft.matter.need.clone(),
                question: None,
                url: draft.url.clone(),
            })
            .collect()
    };
    // Other pages are few; readers look for them among the reference pages.
    let mut references: Vec<Entry> = of(Kind::Reference);
    references.extend(of(Kind::Page));
    Lists {
        techniques: of(Kind::Technique),
        experiments: of(Kind::Experiment),
        references,
        calculators: calculators::all()
            .iter()
            .map(|calculator| Entry {
                name: calculator.name.to_owned(),
                title: calculator.title.to_owned(),
                summary: calculator.question.to_owned(),
                question: Some(calculator.question.to_owned()),
                url: format!("calculators/{}/", calculator.name),
                ..Entry::default()
            })
            .collect(),
        tables: tables
            .iter()
            .filter(|table| table.page && table.name != "glossary")
            .map(|table| Entry {
                name: table_name(table),
                title: table.title.clone(),
                summary: table.about.clone(),
                url: table_url(table),
                ..Entry::default()
            })
            .collect(),
        drawings: false,
    }
}

/// Before and after, by address.
#[derive(Clone, Debug, Default)]
pub struct Neighbours(BTreeMap<String, (Option<Step>, Option<Step>)>);

impl Neighbours {
    /// Links each entry of a list to the ones beside it.
    pub fn new(lists: &Lists) -> Self {
        let mut all = BTreeMap::new();
        let of_kinds =
            [Kind::Technique, Kind::Experiment, Kind::Reference].map(|kind| lists.of(kind));
        for list in of_kinds
            .into_iter()
            .chain([lists.calculators.as_slice(), &lists.tables])
        {
            let step = |entry: &Entry| Step {
                title: entry.title.clone(),
                url: entry.url.clone(),
            };
            for (at, entry) in list.iter().enumerate() {
                let before = at.checked_sub(1).map(|before| step(&list[before]));
                let after = list.get(at + 1).map(step);
                all.insert(entry.url.clone(), (before, after));
            }
        }
        Self(all)
    }

    pub(super) fn of(&self, url: &str) -> (Option<Step>, Option<Step>) {
        self.0.get(url).cloned().unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read::draft::{empty_page as page, plan};

    #[test]
    fn puts_pages_in_order_and_links_neighbours() {
        let pages = [
            page("techniques/a.md", "technique", ""),
            page("techniques/b.md", "technique", "order: 2\n"),
            page("techniques/c.md", "technique", "order: 1\n"),
        ];
        let (drafts, _) = plan(&pages, &[]);
        let lists = lists(&drafts, &[]);
        let names: Vec<&str> = lists
            .techniques
            .iter()
            .map(|entry| entry.name.as_str())
            .collect();
        assert_eq!(names, ["c", "b", "a"]);
        let (before, after) = Neighbours::new(&lists).of("techniques/b/");
        assert_eq!(before.map(|step| step.title).as_deref(), Some("c"));
        assert_eq!(after.map(|step| step.title).as_deref(), Some("a"));
    }
}
