//! Stage 6: pages. Gives every page its address, its neighbours and its trail, makes the pages
//! that nobody writes (calculators, drawings, tables, glossary, checks, search), and gathers for each what
//! its template gets.

use crate::card::Card;
use crate::checks::Group;
use crate::data::DataTable;
use crate::finding::{Finding, choice};
use crate::front_matter::{self, FrontMatter, Kind};
use crate::gallery::Drawing;
use crate::markdown::{Heading, Rendered};
use crate::source::{Text, slug};
use calc_wasm::calculators;
use calc_wasm::library::Library;
use calc_wasm::report;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use tera::Context;
use toml::de::DeTable;

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

/// What the whole site is called.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Site {
    /// Its title.
    pub title: String,
    /// One sentence.
    pub description: String,
    /// The house that uses it.
    pub place: String,
    /// The builder's version.
    pub version: String,
    /// Whether raw HTML of the authors passes, as far as [`crate::raw_html`] lets it.
    #[serde(skip)]
    pub raw_html: bool,
    /// Where the site will stand, as `https://manual.example/`; empty where that is not known.
    /// The codes on the bench cards lead there.
    pub address: String,
}

/// Names of the site's files, under the root.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Assets {
    /// The style sheet.
    pub style: String,
    /// The script of every page.
    pub script: String,
    /// The script of the search page.
    pub search_script: String,
    /// The bindings of the core.
    pub module: String,
    /// The core.
    pub wasm: String,
    /// The data of the core.
    pub data: String,
    /// The icon.
    pub icon: String,
    /// The manifest.
    pub manifest: String,
    /// What the search looks through.
    pub search: String,
}

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

/// What a template knows about its page.
#[derive(Clone, Debug, Default, Serialize)]
struct Page<'a> {
    name: &'a str,
    title: &'a str,
    kind: &'a str,
    summary: &'a str,
    need: Option<&'a str>,
    hazards: &'a [String],
    sources: &'a [String],
    reviewed: Option<&'a str>,
    topics: &'a [String],
    body: &'a str,
    contents: &'a [Heading],
    url: &'a str,
    trail: Vec<Step>,
    before: Option<Step>,
    after: Option<Step>,
    calculators: bool,
    card: Option<String>,
}

/// A page ready for its template.
#[derive(Debug)]
pub struct Ready {
    /// The file it becomes.
    pub path: String,
    /// The template.
    pub template: &'static str,
    /// What the template gets.
    pub context: Context,
}

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

/// Reads `content/site.toml`.
pub fn site(file: Option<&Text>) -> (Site, Vec<Finding>) {
    let mut site = Site {
        title: "Forerun".into(),
        description: "Separation and purification at the bench, with the numbers worked out."
            .into(),
        place: String::new(),
        version: env!("CARGO_PKG_VERSION").into(),
        raw_html: false,
        address: String::new(),
    };
    let mut findings = Vec::new();
    let Some(file) = file else {
        return (site, findings);
    };
    match DeTable::parse(&file.text) {
        Ok(table) => {
            for (key, value) in table.get_ref() {
                let name = key.get_ref().as_ref();
                let field = match name {
                    "title" => &mut site.title,
                    "description" => &mut site.description,
                    "place" => &mut site.place,
                    "address" => &mut site.address,
                    "raw_html" => {
                        match value.get_ref().as_bool() {
                            Some(truth) => site.raw_html = truth,
                            None => findings.push(
                                Finding::at(
                                    &file.file,
                                    &file.text,
                                    value.span(),
                                    format!("`{name}` is neither true nor false"),
                                )
                                .mend("write true or false, without quotes"),
                            ),
                        }
                        continue;
                    }
                    _ => {
                        let mend = choice(
                            name,
                            &["title", "description", "place", "address", "raw_html"],
                        );
                        let message = format!("there is no field `{name}`");
                        findings.push(
                            Finding::at(&file.file, &file.text, key.span(), message).mend(mend),
                        );
                        continue;
                    }
                };
                match value.get_ref().as_str() {
                    Some(words) if name == "address" && !is_address(words) => {
                        let message = format!("`{words}` is no address of a site");
                        findings.push(
                            Finding::at(&file.file, &file.text, value.span(), message)
                                .mend("write it whole, as `https://manual.example/` or `https://manual.example/lab/`"),
                        );
                    }
                    Some(words) => *field = words.to_owned(),
                    None => findings.push(Finding::at(
                        &file.file,
                        &file.text,
                        value.span(),
                        format!("`{name}` is not words"),
                    )),
                }
            }
        }
        Err(error) => findings.push(Finding::at(
            &file.file,
            &file.text,
            error.span().unwrap_or(0..0),
            format!(
                "cannot be read: {}",
                error.message().lines().next().unwrap_or_default()
            ),
        )),
    }
    (site, findings)
}

/// Whether pages' addresses can be put behind `text`.
fn is_address(text: &str) -> bool {
    let rest = text
        .strip_prefix("https://")
        .or(text.strip_prefix("http://"));
    rest.is_some_and(|rest| {
        rest.ends_with('/')
            && !rest.starts_with('/')
            && rest
                .chars()
                .all(|c| c.is_ascii_alphanumeric() || "-._~:/[]%@".contains(c))
    })
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
        let url = address(source);
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
        match front_matter::read(source) {
            Ok((matter, body)) => {
                findings.extend(out_of_place(source, &matter));
                drafts.push(Draft {
                    source,
                    matter,
                    body,
                    name,
                    url,
                });
            }
            Err(more) => findings.extend(more),
        }
    }
    (drafts, findings)
}

fn address(source: &Text) -> String {
    match source.path.strip_suffix(".md").unwrap_or(&source.path) {
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

fn term_id(word: &str) -> String {
    format!("term-{}", slug(word, "x"))
}

/// All lists of the site.
pub fn lists(drafts: &[Draft<'_>], tables: &[DataTable]) -> Lists {
    let mut order: Vec<&Draft<'_>> = drafts
        .iter()
        .filter(|draft| !draft.url.is_empty())
        .collect();
    order.sort_by(|a, b| {
        let key = |draft: &Draft<'_>| {
            (
                draft.matter.order.unwrap_or(i64::MAX),
                draft.matter.title.to_lowercase(),
            )
        };
        key(a).cmp(&key(b))
    });
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
    }
}

/// The way from a page up to the site's root: `../` for each folder of its address.
pub fn base(url: &str) -> String {
    "../".repeat(url.matches('/').count())
}

/// A written page, ready for its template.
pub fn written(draft: &Draft<'_>, rendered: &Rendered, neighbours: &Neighbours) -> Ready {
    let matter = &draft.matter;
    let (before, after) = neighbours.of(&draft.url);
    let template = match (draft.url.as_str(), matter.kind) {
        ("", _) => "start.html",
        (_, Kind::Experiment) => "experiment.html",
        _ => "page.html",
    };
    ready(
        template,
        &Page {
            name: draft.name,
            title: &matter.title,
            kind: matter.kind.word(),
            summary: &matter.summary,
            need: matter.need.as_deref(),
            hazards: &matter.hazards,
            sources: &matter.sources,
            reviewed: matter.reviewed.as_deref(),
            topics: &matter.topics,
            body: &rendered.html,
            contents: &rendered.contents,
            url: &draft.url,
            trail: trail(matter.kind, &draft.url),
            before,
            after,
            calculators: !rendered.calculators.is_empty(),
            card: matter.kind.is_practical().then(|| card_url(draft)),
        },
    )
}

/// The address of a page's bench cards.
fn card_url(draft: &Draft<'_>) -> String {
    format!("{}card.html", draft.url)
}

/// The page with the bench cards of a technique or an experiment, its own first.
pub fn cards(draft: &Draft<'_>, cards: &[Card]) -> Ready {
    let matter = &draft.matter;
    let mut trail = trail(matter.kind, &draft.url);
    trail.push(Step {
        title: matter.title.clone(),
        url: draft.url.clone(),
    });
    let many = if cards.len() > 1 {
        "Bench cards"
    } else {
        "Bench card"
    };
    let mut page = ready(
        "card.html",
        &Page {
            name: draft.name,
            title: &format!("{many}: {}", matter.title),
            kind: "card",
            summary: &format!("To print, with settings, steps and kit: {}", matter.title),
            url: &draft.url,
            trail,
            // The code of the reader's own values is drawn by the core.
            calculators: true,
            ..Page::default()
        },
    );
    page.path = card_url(draft);
    page.context.insert("cards", cards);
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
            trail: vec![Step {
                title: "Start".into(),
                url: "./".into(),
            }],
            ..Page::default()
        },
    );
    page.context.insert("drawings", drawings);
    page
}

fn ready(template: &'static str, page: &Page<'_>) -> Ready {
    let mut context = Context::new();
    context.insert("base", &base(page.url));
    context.insert("page", page);
    Ready {
        path: format!("{}index.html", page.url),
        template,
        context,
    }
}

fn trail(kind: Kind, url: &str) -> Vec<Step> {
    let step = |title: &str, url: &str| Step {
        title: title.into(),
        url: url.into(),
    };
    let start = step("Start", "./");
    match kind {
        _ if url.is_empty() => Vec::new(),
        Kind::Technique => vec![start, step("Techniques", "./#techniques")],
        Kind::Experiment => vec![start, step("Experiments", "./#experiments")],
        Kind::Reference => vec![start, step("Reference", "./#references")],
        Kind::Page => vec![start],
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

    fn of(&self, url: &str) -> (Option<Step>, Option<Step>) {
        self.0.get(url).cloned().unwrap_or_default()
    }
}

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
    let start = Step {
        title: "Start".into(),
        url: "./".into(),
    };
    let mut pages = Vec::new();
    if !has_start {
        pages.push(ready(
            "start.html",
            &Page {
                title: &site.title,
                summary: &site.description,
                kind: "page",
                ..Page::default()
            },
        ));
    }
    pages.push(ready(
        "calculators.html",
        &Page {
            name: "calculators",
            title: "Calculators",
            kind: "list",
            summary: "Every calculator by the question it answers.",
            url: "calculators/",
            trail: vec![start.clone()],
            ..Page::default()
        },
    ));
    let up = vec![
        start.clone(),
        Step {
            title: "Calculators".into(),
            url: "calculators/".into(),
        },
    ];
    for (calculator, entry) in calculators::all().iter().zip(&lists.calculators) {
        let (before, after) = neighbours.of(&entry.url);
        let body = report::block(calculator, library, calculator.name, &[], &base(&entry.url));
        pages.push(ready(
            "calculator.html",
            &Page {
                name: &entry.name,
                title: &entry.title,
                kind: "calculator",
                summary: &entry.summary,
                body: &body,
                url: &entry.url,
                trail: up.clone(),
                before,
                after,
                calculators: true,
                ..Page::default()
            },
        ));
    }
    let up = vec![
        start.clone(),
        Step {
            title: "Tables".into(),
            url: "./#tables".into(),
        },
    ];
    for table in tables.iter().filter(|table| table.page) {
        let url = table_url(table);
        let glossary = table.name == "glossary";
        let (before, after) = neighbours.of(&url);
        let mut page = ready(
            if glossary {
                "glossary.html"
            } else {
                "table.html"
            },
            &Page {
                name: &table_name(table),
                title: &table.title,
                kind: if glossary { "glossary" } else { "table" },
                summary: &table.about,
                url: &url,
                trail: if glossary {
                    vec![start.clone()]
                } else {
                    up.clone()
                },
                before,
                after,
                ..Page::default()
            },
        );
        if glossary {
            page.context.insert("glossary", &entries(table));
        } else {
            page.context.insert("table", &shown(table));
        }
        pages.push(page);
    }
    let mut page = ready(
        "checks.html",
        &Page {
            name: "checks",
            title: "How these numbers are checked",
            kind: "checks",
            summary: "Every row compares what the calculators give with a value from outside this project, worked out again at each build. ‘Common practice, no source’ marks a rule of the trade; ‘from memory’ a value not yet confirmed in print.",
            url: "checks/",
            trail: vec![start.clone()],
            ..Page::default()
        },
    );
    page.context.insert("checks", checks);
    pages.push(page);
    let mut page = ready(
        "search.html",
        &Page {
            name: "search",
            title: "Search",
            kind: "search",
            trail: vec![start],
            ..Page::default()
        },
    );
    page.path = "search.html".into();
    pages.push(page);
    pages
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
    columns: &'a [crate::data::Column],
    rows: Vec<Vec<String>>,
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
        source: table.source.as_deref(),
    }
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

    fn page(path: &str, kind: &str, order: &str) -> Text {
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
        }
    }

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

    #[test]
    fn keeps_each_word_once_for_the_search() {
        assert_eq!(
            once("The pump, the Pump – a two-neck flask"),
            "the pump two-neck flask"
        );
    }
}
