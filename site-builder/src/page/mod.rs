//! Stage 6: pages. What the template of each page gets: its own words, its trail, its neighbours.

pub mod card;
pub mod checks;
pub mod gallery;
mod lists;
mod made;
mod search;

pub use lists::{Entry, Lists, Neighbours, Step, lists};
pub use made::{drawings, made};
pub use search::{Searchable, searchable};

use crate::markdown::{Heading, Rendered};
use crate::page::card::Card;
use crate::read::draft::{Draft, base};
use crate::read::front_matter::Kind;
use serde::Serialize;
use std::collections::BTreeSet;
use tera::Context;

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
    /// The calculators that its script may be asked to work out, each once.
    calculators: BTreeSet<&'a str>,
    /// Whether its script may be asked for a code.
    code: bool,
    /// Whether its script keeps readings.
    readings: bool,
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
            calculators: rendered.calculators.iter().map(String::as_str).collect(),
            code: !rendered.calculators.is_empty(),
            readings: rendered.readings,
            card: matter.kind.is_practical().then(|| card_url(draft)),
        },
    )
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
    let settings = cards.iter().flat_map(|card| &card.settings);
    let mut page = ready(
        "card.html",
        &Page {
            name: draft.name,
            title: &format!("{many}: {}", matter.title),
            kind: "card",
            summary: &format!("To print, with settings, steps and kit: {}", matter.title),
            url: &draft.url,
            trail,
            calculators: settings.map(|setting| setting.calculator).collect(),
            code: true,
            ..Page::default()
        },
    );
    page.path = card_url(draft);
    page.context.insert("cards", cards);
    page
}

/// The address of a page's bench cards.
fn card_url(draft: &Draft<'_>) -> String {
    format!("{}card.html", draft.url)
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
