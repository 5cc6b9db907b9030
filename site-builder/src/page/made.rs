//! The pages that nobody writes: calculators, tables, glossary, checks, search.

use super::lists::{Entry, Lists, Neighbours, Step};
use super::{Page, Ready, ready};
use crate::page::checks::Group;
use crate::page::gallery::Drawing;
use crate::read::data::{Column, DataTable};
use crate::read::draft::{base, row_ids, table_name, table_url, term_id};
use crate::read::site::Site;
use calc_wasm::Calculator;
use calc_wasm::calculators;
use calc_wasm::library::Library;
use calc_wasm::report;
use serde::Serialize;

/// The pages that nobody writes.
pub fn made(
    library: &Library,
    tables: &[DataTable],
    checks: &[Group],
    lists: &Lists,
    neighbours: &Neighbours,
    site: &Site,
    has_start: bool,
) -> Vec<Ready> {
    let mut pages = Vec::new();
    if !has_start {
        pages.push(start(site));
    }
    pages.push(calculators_list());
    pages.extend(
        calculators::all()
            .iter()
            .zip(&lists.calculators)
            .map(|(calculator, entry)| calculator_page(calculator, entry, library, neighbours)),
    );
    pages.extend(
        tables
            .iter()
            .filter(|table| table.page)
            .map(|table| table_page(table, neighbours)),
    );
    pages.push(checks_page(checks));
    pages.push(class_page());
    pages.push(search_page());
    pages
}

/// Where the demonstrator sees the logs of a class side by side.
fn class_page() -> Ready {
    ready(
        "class.html",
        &Page {
            name: "class",
            title: "Readings of the class",
            summary: "The exported readings of all groups side by side: what came over where, and how much of it.",
            kind: "page",
            url: "class/",
            trail: vec![step("Start", "./")],
            readings: true,
            ..Page::default()
        },
    )
}

/// A place on the way to a page.
fn step(title: &str, url: &str) -> Step {
    Step {
        title: title.into(),
        url: url.into(),
    }
}

fn start(site: &Site) -> Ready {
    ready(
        "start.html",
        &Page {
            title: &site.title,
            summary: &site.description,
            kind: "page",
            ..Page::default()
        },
    )
}

fn calculators_list() -> Ready {
    ready(
        "calculators.html",
        &Page {
            name: "calculators",
            title: "Calculators",
            kind: "list",
            summary: "Every calculator by the question it answers.",
            url: "calculators/",
            trail: vec![step("Start", "./")],
            ..Page::default()
        },
    )
}

fn calculator_page(
    calculator: &Calculator,
    entry: &Entry,
    library: &Library,
    neighbours: &Neighbours,
) -> Ready {
    let (before, after) = neighbours.of(&entry.url);
    let shape = report::Shape {
        id: calculator.name,
        pairs: &[],
        drawn: &[],
    };
    let result = report::result(calculator, library, calculator.name, &[], &base(&entry.url));
    let body = report::block(calculator, library, &shape, calculator.title, &result);
    ready(
        "calculator.html",
        &Page {
            name: &entry.name,
            title: &entry.title,
            kind: "calculator",
            summary: &entry.summary,
            body: &body,
            url: &entry.url,
            trail: vec![step("Start", "./"), step("Calculators", "calculators/")],
            before,
            after,
            calculators: [calculator.name].into(),
            code: true,
            ..Page::default()
        },
    )
}

fn table_page(table: &DataTable, neighbours: &Neighbours) -> Ready {
    let url = table_url(table);
    let glossary = table.name == "glossary";
    let (before, after) = neighbours.of(&url);
    let mut trail = vec![step("Start", "./")];
    if !glossary {
        trail.push(step("Tables", "./#tables"));
    }
    let kind = if glossary { "glossary" } else { "table" };
    let mut page = ready(
        if glossary {
            "glossary.html"
        } else {
            "table.html"
        },
        &Page {
            name: &table_name(table),
            title: &table.title,
            kind,
            summary: &table.about,
            url: &url,
            trail,
            before,
            after,
            ..Page::default()
        },
    );
    if glossary {
        page.context.insert(kind, &entries(table));
    } else {
        page.context.insert(kind, &shown(table));
    }
    page
}

/// The page of all drawings.
pub fn drawings(drawings: &[Drawing]) -> Ready {
    let mut page = ready(
        "drawings.html",
        &Page {
            name: "drawings",
            title: "Drawings",
            kind: "drawings",
            summary: "Every set-up at a glance; its name leads to the page where it is built, its numbers to the parts.",
            url: "drawings/",
            trail: vec![step("Start", "./")],
            ..Page::default()
        },
    );
    page.context.insert("drawings", drawings);
    page
}

fn checks_page(checks: &[Group]) -> Ready {
    let mut page = ready(
        "checks.html",
        &Page {
            name: "checks",
            title: "How these numbers are checked",
            kind: "checks",
            summary: "Every row compares what the calculators give with a value from outside this project, worked out again at each build. ‘Common practice, no source’ marks a rule of the trade; ‘from memory’ a value not yet confirmed in print.",
            url: "checks/",
            trail: vec![step("Start", "./")],
            ..Page::default()
        },
    );
    page.context.insert("checks", checks);
    page
}

fn search_page() -> Ready {
    let mut page = ready(
        "search.html",
        &Page {
            name: "search",
            title: "Search",
            kind: "search",
            trail: vec![step("Start", "./")],
            ..Page::default()
        },
    );
    page.path = "search.html".into();
    page
}

#[derive(Serialize)]
struct Term<'a> {
    name: &'a str,
    id: String,
    meaning: &'a str,
    also: &'a str,
}

fn entries(glossary: &DataTable) -> Vec<Term<'_>> {
    let at = |key: &str| glossary.key(key);
    let (name, meaning, also) = (at("name"), at("meaning"), at("also"));
    glossary
        .rows
        .iter()
        .map(|row| {
            let cell = |place: Option<usize>| place.map_or("", |place| row[place].as_str());
            Term {
                name: cell(name),
                id: term_id(cell(name)),
                meaning: cell(meaning),
                also: cell(also),
            }
        })
        .collect()
}

#[derive(Serialize)]
struct Shown<'a> {
    title: &'a str,
    about: &'a str,
    columns: &'a [Column],
    rows: Vec<Vec<String>>,
    /// An anchor for each row.
    ids: Vec<String>,
    source: Option<&'a str>,
}

fn shown(table: &DataTable) -> Shown<'_> {
    let word = |cell: &str| match cell {
        "true" => "yes".to_owned(),
        "false" => "no".to_owned(),
        cell => cell.replace(" -", " −"),
    };
    Shown {
        title: &table.title,
        about: &table.about,
        columns: &table.columns,
        rows: table
            .shown()
            .into_iter()
            .map(|row| row.into_iter().map(word).collect())
            .collect(),
        ids: row_ids(table),
        source: table.source.as_deref(),
    }
}
