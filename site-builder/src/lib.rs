//! Markdown in, a whole offline site out.
//!
//! Rooms, in the order in which a page travels them. None looks back to a later one.
//!
//! | room | what becomes of a page there |
//! |---|---|
//! | [`read`] | files of content and templates are read; metadata, tables and pictures checked |
//! | [`apparatus`] | parts are gathered; set-ups put together, checked and drawn |
//! | [`worked`] | calculators, plans and kits are worked out by the core |
//! | [`markdown`] | text becomes HTML, and its blocks go through the two rooms above |
//! | [`page`] | what each template gets: pages, lists, bench cards, published checks, drawings |
//! | [`output`] | templates filled, one style sheet, the core for the page, names by content; written beside the old site, then swapped |
//! | [`command`] | the commands beside `build` |
//!
//! [`finding`] (what is said to an author) and [`files`] lie under all of them.
//!
//! Each stage takes a value and returns a value with what it found; nothing is written while
//! there is an error. [`build_again`] is the whole line on one screen; [`markdown::kept`] spares
//! it the pages that would come out as before.

pub mod files;
pub mod finding;
mod parallel;

// In the order in which a page travels them; blank lines keep it through rustfmt.
pub mod read;

pub mod apparatus;

pub mod worked;

pub mod markdown;

pub mod page;

pub mod output;

pub mod command;

use files::Files;
use finding::{Finding, Findings};
use markdown::kept::Kept;
use output::wasm::Module;
use output::{assets, offline, template::Templates, write};
use page::{Ready, card, checks, gallery};
use parallel::side_by_side;
use read::draft::{self, Draft};
use read::source::{self, Folders, Sources};
use read::{data, picture, site};
use std::path::Path;

/// A site that is ready to be written.
#[derive(Clone, Debug, Default)]
pub struct Built {
    /// All its files, by path under its root.
    pub files: Files,
    /// How many pages an author wrote.
    pub pages: usize,
    /// What was found, notes included.
    pub findings: Vec<Finding>,
}

/// Builds the site from `folders` around the compiled core, and writes nothing.
///
/// # Errors
/// Everything that is wrong with what was written, all of it at once.
pub fn build(folders: &Folders, module: &Module) -> Result<Built, Vec<Finding>> {
    build_again(folders, module, None)
}

/// The same for a process that builds one site again and again: what `kept` has from the last
/// time is taken where nothing can have changed it. Nothing is kept without it.
///
/// # Errors
/// As [`build`].
pub fn build_again(
    folders: &Folders,
    module: &Module,
    mut kept: Option<&mut Kept>,
) -> Result<Built, Vec<Finding>> {
    let mut found = Findings::default();
    let sources = found.of(source::read(folders));
    let site = found.of(site::read(sources.site.as_ref()));
    let tables = found.of(data::read(&sources.data));
    let library = found.of(data::library(&tables));
    let parts = found.of(apparatus::folders::catalogue(&sources.parts));
    let assemblies = found.of(apparatus::folders::assemblies(&sources.assemblies, &parts));
    let drafts = found.of(draft::plan(&sources.pages, &tables));
    let pictures = found.of(picture::shelf(&sources.pictures, &folders.content));
    let logo = site::logo(&site, sources.site.as_ref(), &pictures);
    let logo = found.of(logo.map_or_else(|finding| (None, vec![finding]), |logo| (logo, vec![])));
    let mut shelf = markdown::Shelf::new(&drafts, &tables, &pictures, &library, &parts, assemblies);
    shelf.raw_html = site.raw_html;
    let rendered = render(&drafts, &shelf, &sources, kept.as_deref_mut());
    found.add(rendered.iter().flat_map(|page| page.findings.clone()));
    found.add(markdown::far_links(&drafts, &rendered));
    let checks = found.of(checks::work_out(&sources.published, &library));

    let mut files = Files::new();
    let assets = found.of(assets::make(
        &sources, &tables, &pictures, &site, module, &mut files,
    ));
    let mut lists = page::lists(&drafts, &tables);
    let drawings = gallery::gather(&drafts, &rendered);
    lists.drawings = !drawings.is_empty();
    let search = page::searchable(&drafts, &rendered, &tables, &lists);
    files.insert(assets.search.clone(), assets::json(&search));
    match Templates::compile(&sources.templates) {
        Ok(mut templates) => {
            templates.share("site", &site);
            templates.share("logo", &logo);
            templates.share("assets", &assets);
            templates.share("lists", &lists);
            let filled = fill(&templates, &drafts, &rendered, &lists, |neighbours| {
                let has_start = drafts.iter().any(|draft| draft.url.is_empty());
                let mut ready = page::made(
                    &library, &tables, &checks, &lists, neighbours, &site, has_start,
                );
                ready.extend(lists.drawings.then(|| page::drawings(&drawings)));
                ready.extend(found.of(cards(&card::Deck::new(&drafts, &rendered, &site))));
                ready
            });
            found.add(assets::pages(filled, &mut files));
        }
        Err(finding) => found.add([finding]),
    }
    let worker = offline::worker(assets::text(&sources.scripts, offline::WORKER), &files);
    files.insert(offline::WORKER.into(), worker.into_bytes());
    if let Some(kept) = kept {
        kept.keep(&drafts, rendered);
    }
    Ok(Built {
        files,
        pages: drafts.len(),
        findings: found.finish()?,
    })
}

/// All pages as HTML, or what was kept of them.
fn render<'d>(
    drafts: &'d [Draft<'d>],
    shelf: &markdown::Shelf<'_>,
    sources: &Sources,
    kept: Option<&mut Kept>,
) -> Vec<markdown::Rendered> {
    let render = |draft: &Draft<'_>| {
        markdown::render(draft.source, draft.body, &draft::base(&draft.url), shelf)
    };
    match kept {
        Some(kept) => kept.render(sources, drafts, render),
        None => side_by_side(drafts, render),
    }
}

/// Fills the templates: of the pages that an author wrote, and of those that `made` makes besides.
/// What a template gets is made and gone page by page: all at once, it would be half of the memory
/// that a build takes.
fn fill(
    templates: &Templates,
    drafts: &[Draft<'_>],
    rendered: &[markdown::Rendered],
    lists: &page::Lists,
    made: impl FnOnce(&page::Neighbours) -> Vec<Ready>,
) -> Vec<(String, Result<String, Finding>)> {
    let neighbours = page::Neighbours::new(lists);
    let fill = |page: &Ready| {
        let html = templates.fill(page.template, &page.context);
        (page.path.clone(), html)
    };
    let written: Vec<_> = drafts.iter().zip(rendered).collect();
    let mut filled = side_by_side(&written, |(draft, page)| {
        fill(&page::written(draft, page, &neighbours))
    });
    filled.extend(side_by_side(&made(&neighbours), fill));
    filled
}

/// The pages of bench cards, and which cards do not fit on their sheet.
fn cards(deck: &card::Deck<'_>) -> (Vec<Ready>, Vec<Finding>) {
    let practical = deck.practical();
    let cards = side_by_side(&practical, |draft| deck.of(draft));
    let mut ready = Vec::new();
    let mut findings = Vec::new();
    for (draft, cards) in practical.into_iter().zip(&cards) {
        findings.extend(card::overfull(draft, cards));
        ready.push(page::cards(draft, cards));
    }
    (ready, findings)
}

/// Builds the site and writes it to `out`.
///
/// # Errors
/// As [`build`] and [`write::site`]; the previous site then stands as it was.
pub fn build_and_write(
    folders: &Folders,
    module: &Module,
    out: &Path,
) -> Result<Built, Vec<Finding>> {
    let built = build(folders, module)?;
    write::site(out, &built.files).map_err(|finding| vec![finding])?;
    Ok(built)
}
