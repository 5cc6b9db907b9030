//! Stage 5: every page of the site with its address, neighbours and context; the pages that
//! authors wrote and those made from calculators, tables and checks.

use std::collections::{BTreeMap, BTreeSet};

use calc_wasm::calculators;
use calc_wasm::library::Library;
use calc_wasm::report;
use math_core::{LatexToMathML, MathCoreConfig};
use serde_json::{Map, Value, json};

use crate::apparatus::Catalogue;
use crate::checks;
use crate::data::{self, DataTable};
use crate::finding::Finding;
use crate::front_matter::{self, FrontMatter, Kind};
use crate::markdown::{self, Picture, Rendered, Shelf};
use crate::source::{Sources, Text, slug};

/// One page, ready for its template.
#[derive(Clone, Debug)]
pub struct Draft {
    /// Its file under the root: `techniques/x/index.html`.
    pub path: String,
    /// Way from the page to the root.
    pub base: String,
    /// The template that sets it.
    pub template: &'static str,
    /// What the template gets beside what all pages share.
    pub context: Map<String, Value>,
}

/// All pages, and what they share.
#[derive(Clone, Debug, Default)]
pub struct Drafts {
    /// The pages.
    pub pages: Vec<Draft>,
    /// `site`: title, description, place.
    pub site: Value,
    /// `lists`: techniques, experiments, references, calculators, tables.
    pub lists: Value,
    /// The words of all pages, for searching.
    pub search: String,
}

/// A page an author wrote, after its metadata is read.
struct Written<'a> {
    text: &'a Text,
    matter: FrontMatter,
    body: usize,
    url: String,
}

/// Lays out the whole site; what is wrong is added to `findings`.
pub fn lay_out(sources: &Sources, tables: &[DataTable], findings: &mut Vec<Finding>) -> Drafts {
    let written = read_pages(&sources.pages, findings);
    let library = match Library::from_text(&data::flatten(tables)) {
        Ok(library) => library,
        Err(error) => {
            findings.push(Finding::whole("content/data", error.to_string()));
            return Drafts::default();
        }
    };
    let part_texts: Vec<(&str, &str)> = sources
        .parts
        .iter()
        .map(|text| (text.file.as_str(), text.text.as_str()))
        .collect();
    let parts = Catalogue::from_texts(&part_texts).unwrap_or_else(|flaws| {
        findings.extend(
            flaws
                .into_iter()
                .map(|flaw| Finding::whole("content/data/parts", flaw.message).mend(flaw.mend)),
        );
        Catalogue::default()
    });
    let shelf = Shelf {
        pages: written
            .iter()
            .map(|page| (page.text.stem(), page.url.clone()))
            .collect(),
        tables: tables
            .iter()
            .filter(|table| table.page)
            .map(|t| (t.name.as_str(), table_url(t)))
            .collect(),
        terms: terms(tables),
        pictures: sources
            .pictures
            .keys()
            .map(|path| {
                (
                    path.as_str(),
                    Picture {
                        url: path.clone(),
                        size: None,
                    },
                )
            })
            .collect(),
        library: &library,
        parts: &parts,
        assemblies: sources
            .assemblies
            .iter()
            .map(|text| (text.stem(), text.text.as_str()))
            .collect(),
        math: LatexToMathML::new(MathCoreConfig::default()).unwrap_or_default(),
    };
    let rendered: Vec<Rendered> = written
        .iter()
        .map(|page| markdown::render(page.text, page.body, base_of(&page.url), &shelf))
        .collect();
    check_anchors(&written, &rendered, findings);
    for page in &rendered {
        findings.extend(page.findings.iter().cloned());
    }

    let lists = lists(&written, tables);
    let mut pages = author_pages(&written, &rendered);
    pages.extend(calculator_pages(&library));
    pages.extend(tables.iter().filter(|table| table.page).map(table_page));
    pages.push(glossary_page(tables));
    pages.push(plain(
        "search/",
        "search.html",
        "Search",
        "search.html",
        Map::new(),
    ));
    match checks::read(&sources.published) {
        Ok(checks) => pages.push(checks_page(&checks, &library)),
        Err(more) => findings.extend(more),
    }
    if !pages.iter().any(|page| page.path == "index.html") {
        pages.push(plain("", "start.html", "Start", "index.html", Map::new()));
    }
    let search = search_index(&written, &rendered, tables);
    Drafts {
        pages,
        site: site(sources, findings),
        lists,
        search,
    }
}

fn read_pages<'a>(pages: &'a [Text], findings: &mut Vec<Finding>) -> Vec<Written<'a>> {
    let mut written: Vec<Written<'a>> = Vec::new();
    for text in pages {
        if let Some(other) = written
            .iter()
            .find(|other| other.text.stem() == text.stem())
        {
            findings.push(
                Finding::whole(
                    &text.file,
                    format!("has the same name as {}", other.text.file),
                )
                .mend("links are by name: call one of them something else"),
            );
            continue;
        }
        match front_matter::read(text) {
            Ok((matter, body)) => written.push(Written {
                text,
                matter,
                body,
                url: page_url(text),
            }),
            Err(more) => findings.extend(more),
        }
    }
    written.sort_by_key(|page| {
        (
            page.matter.kind,
            page.matter.order.unwrap_or(1000),
            page.matter.title.to_lowercase(),
        )
    });
    written
}

/// `techniques/x.md` stands at `techniques/x/`, `index.md` at the root.
fn page_url(text: &Text) -> String {
    let path = text.path.trim_end_matches(".md");
    if path == "index" {
        String::new()
    } else {
        format!("{path}/")
    }
}

fn table_url(table: &DataTable) -> String {
    format!("tables/{}/", table.name.replace('_', "-").to_lowercase())
}

/// The way from a page to the root.
fn base_of(url: &str) -> &'static str {
    const UP: [&str; 5] = ["", "../", "../../", "../../../", "../../../../"];
    UP[url.matches('/').count().min(UP.len() - 1)]
}

fn terms(tables: &[DataTable]) -> BTreeMap<String, String> {
    let mut terms = BTreeMap::new();
    for (name, _, also) in glossary(tables) {
        let anchor = term_id(name);
        for word in also
            .split("; ")
            .filter(|word| !word.is_empty())
            .chain([name])
        {
            terms.insert(word.to_lowercase(), anchor.clone());
        }
    }
    terms
}

fn term_id(name: &str) -> String {
    format!("term-{}", slug(name, "entry"))
}

/// Name, meaning and other words of each glossary entry.
fn glossary(tables: &[DataTable]) -> Vec<(&str, &str, &str)> {
    let Some(table) = tables.iter().find(|table| table.name == "glossary") else {
        return Vec::new();
    };
    let at = |key: &str| table.key(key);
    table
        .rows
        .iter()
        .map(|row| {
            let get = |place: Option<usize>| {
                place
                    .and_then(|place| row.get(place))
                    .map_or("", String::as_str)
            };
            (get(at("name")), get(at("meaning")), get(at("also")))
        })
        .collect()
}

fn check_anchors(written: &[Written<'_>], rendered: &[Rendered], findings: &mut Vec<Finding>) {
    let anchors: BTreeMap<&str, &BTreeSet<String>> = written
        .iter()
        .zip(rendered)
        .map(|(page, done)| (page.text.stem(), &done.anchors))
        .collect();
    for (page, done) in written.iter().zip(rendered) {
        for link in &done.links {
            if let Some(anchors) = anchors.get(link.page.as_str()) {
                findings.extend(markdown::missing_anchor(page.text, link, anchors));
            }
        }
    }
}

fn lists(written: &[Written<'_>], tables: &[DataTable]) -> Value {
    let of = |kind: Kind| -> Vec<Value> {
        written
            .iter()
            .filter(|page| page.matter.kind == kind && !page.url.is_empty())
            .map(|page| {
                json!({
                    "name": page.text.stem(), "title": page.matter.title, "summary": page.matter.summary,
                    "need": page.matter.need, "url": page.url,
                })
            })
            .collect()
    };
    let calculators: Vec<Value> = calculators::all()
        .iter()
        .map(|c| json!({"name": c.name, "title": c.title, "question": c.question, "url": calculator_url(c.name)}))
        .collect();
    let tables: Vec<Value> = tables
        .iter()
        .filter(|table| table.page)
        .map(|t| json!({"name": t.name, "title": t.title, "summary": t.about, "need": null, "url": table_url(t)}))
        .collect();
    let mut references = of(Kind::Reference);
    references.extend(of(Kind::Page));
    json!({
        "techniques": of(Kind::Technique), "experiments": of(Kind::Experiment),
        "references": references, "calculators": calculators, "tables": tables,
    })
}

fn calculator_url(name: &str) -> String {
    format!("calculators/{name}/")
}

fn link(title: &str, url: &str) -> Value {
    json!({"title": title, "url": url})
}

fn author_pages(written: &[Written<'_>], rendered: &[Rendered]) -> Vec<Draft> {
    let mut pages = Vec::new();
    for (at, (page, done)) in written.iter().zip(rendered).enumerate() {
        let matter = &page.matter;
        let neighbour = |at: Option<usize>| {
            at.and_then(|at| written.get(at))
                .filter(|other| other.matter.kind == matter.kind && !other.url.is_empty())
                .map(|other| link(&other.matter.title, &other.url))
        };
        let trail = match matter.kind {
            Kind::Technique => vec![link("Techniques", "./#techniques")],
            Kind::Experiment => vec![link("Experiments", "./#experiments")],
            _ if page.url.is_empty() => Vec::new(),
            _ => vec![link("Start", "./")],
        };
        let contents: Vec<Value> = done
            .contents
            .iter()
            .map(|part| json!({"id": part.id, "title": part.title}))
            .collect();
        let context = json!({
            "name": page.text.stem(), "title": matter.title, "kind": matter.kind.word(),
            "summary": matter.summary, "need": matter.need, "hazards": matter.hazards,
            "sources": matter.sources, "reviewed": matter.reviewed, "topics": matter.topics,
            "body": done.html, "contents": contents, "url": page.url, "trail": trail,
            "before": neighbour(at.checked_sub(1)), "after": neighbour(Some(at + 1)),
            "calculators": !done.calculators.is_empty(),
        });
        let template = match matter.kind {
            _ if page.url.is_empty() => "start.html",
            Kind::Experiment => "experiment.html",
            _ => "page.html",
        };
        pages.push(draft(&page.url, template, context, Map::new()));
    }
    pages
}

fn draft(url: &str, template: &'static str, page: Value, mut more: Map<String, Value>) -> Draft {
    let base = base_of(url);
    more.insert("page".into(), page);
    more.insert("base".into(), json!(base));
    Draft {
        path: format!("{url}index.html"),
        base: base.into(),
        template,
        context: more,
    }
}

/// A page without a body of its own.
fn plain(
    url: &str,
    template: &'static str,
    title: &str,
    path: &str,
    more: Map<String, Value>,
) -> Draft {
    // A page that is a file of its own at the root has nowhere to climb.
    let at_root = !path.ends_with("index.html") || path == "index.html";
    let trail = if path == "index.html" {
        Vec::new()
    } else {
        vec![link("Start", "./")]
    };
    let page = json!({
        "name": url.trim_end_matches('/'), "title": title, "kind": "page", "url": url, "trail": trail, "calculators": false,
    });
    let mut page = draft(if at_root { "" } else { url }, template, page, more);
    page.path = path.to_owned();
    page
}

fn calculator_pages(library: &Library) -> Vec<Draft> {
    let all = calculators::all();
    let mut pages: Vec<Draft> = all
        .iter()
        .enumerate()
        .map(|(at, calculator)| {
            let url = calculator_url(calculator.name);
            let neighbour = |at: Option<usize>| {
                at.and_then(|at| all.get(at))
                    .map(|other| link(other.title, &calculator_url(other.name)))
            };
            let page = json!({
                "name": calculator.name, "title": calculator.title, "kind": "calculator",
                "summary": calculator.question, "url": url,
                "body": report::block(calculator, library, calculator.name, &[], base_of(&url)),
                "trail": [link("Calculators", "calculators/")],
                "before": neighbour(at.checked_sub(1)), "after": neighbour(Some(at + 1)),
                "calculators": true,
            });
            draft(&url, "calculator.html", page, Map::new())
        })
        .collect();
    pages.push(plain(
        "calculators/",
        "calculators.html",
        "Calculators",
        "calculators/index.html",
        Map::new(),
    ));
    pages
}

fn table_page(table: &DataTable) -> Draft {
    let url = table_url(table);
    let mut more = Map::new();
    more.insert(
        "table".into(),
        json!({
            "title": table.title, "about": table.about, "columns": table.columns,
            "rows": table.shown(), "source": table.source,
        }),
    );
    let page = json!({
        "name": table.name, "title": table.title, "kind": "table", "summary": table.about, "url": url,
        "trail": [link("Tables", "./#tables")], "calculators": false,
    });
    draft(&url, "table.html", page, more)
}

fn glossary_page(tables: &[DataTable]) -> Draft {
    let mut entries = glossary(tables);
    entries.sort_by_key(|(name, ..)| name.to_lowercase());
    let entries: Vec<Value> = entries
        .into_iter()
        .map(|(name, meaning, _)| json!({"name": name, "id": term_id(name), "meaning": meaning}))
        .collect();
    let mut more = Map::new();
    more.insert("glossary".into(), Value::Array(entries));
    plain(
        "glossary/",
        "glossary.html",
        "Glossary",
        "glossary/index.html",
        more,
    )
}

fn checks_page(checks: &[checks::Check], library: &Library) -> Draft {
    let groups = checks::run(checks, library);
    let mut more = Map::new();
    more.insert("checks".into(), json!(groups));
    let mut page = plain(
        "checks/",
        "checks.html",
        "How these numbers are checked",
        "checks/index.html",
        more,
    );
    page.context["page"]["summary"] = json!(
        "Every row compares what the calculators give with a value from outside this project, worked out again at each build. ‘Common practice, no source’ marks a rule of the trade; ‘from memory’ a value not yet confirmed in print."
    );
    page
}

fn site(sources: &Sources, findings: &mut Vec<Finding>) -> Value {
    let mut site = json!({
        "title": "Forerun",
        "description": "Separation and purification at the bench, with the numbers worked out",
        "place": null,
        "version": env!("CARGO_PKG_VERSION"),
    });
    let Some(text) = &sources.site else {
        return site;
    };
    match toml::from_str::<toml::Table>(&text.text) {
        Ok(table) => {
            for (key, value) in table {
                match (site.get(&key).is_some(), value) {
                    (true, toml::Value::String(words)) => site[&key] = json!(words),
                    _ => findings.push(
                        Finding::whole(&text.file, format!("there is no field `{key}` of words"))
                            .mend("it takes title, description, place and version"),
                    ),
                }
            }
        }
        Err(error) => {
            let span = error.span().unwrap_or(0..0);
            findings.push(Finding::at(&text.file, &text.text, span, error.message()));
        }
    }
    site
}

/// Title, address, summary and words of everything that can be searched for.
fn search_index(written: &[Written<'_>], rendered: &[Rendered], tables: &[DataTable]) -> String {
    let mut entries: Vec<Value> = written
        .iter()
        .zip(rendered)
        .map(|(page, done)| {
            json!({
                "title": page.matter.title, "url": page.url, "kind": page.matter.kind.word(),
                "summary": page.matter.summary, "text": distinct_words(&done.words),
            })
        })
        .collect();
    entries.extend(calculators::all().iter().map(|c| {
        json!({"title": c.title, "url": calculator_url(c.name), "kind": "calculator", "summary": c.question, "text": ""})
    }));
    entries.extend(tables.iter().filter(|table| table.page).map(|table| {
        let names: Vec<&str> = table
            .key("name")
            .map(|at| table.rows.iter().map(|row| row[at].as_str()).collect())
            .unwrap_or_default();
        json!({
            "title": table.title, "url": table_url(table), "kind": "table", "summary": table.about,
            "text": distinct_words(&names.join(" ")),
        })
    }));
    Value::Array(entries).to_string()
}

/// Each word once, lower case, longer than two letters.
fn distinct_words(text: &str) -> String {
    let mut seen = BTreeSet::new();
    let mut out = String::new();
    for word in text.split(|c: char| !c.is_alphanumeric() && c != '-') {
        let word = word.to_lowercase();
        if word.chars().count() > 2 && seen.insert(word.clone()) {
            out.push_str(&word);
            out.push(' ');
        }
    }
    out.trim_end().to_owned()
}
