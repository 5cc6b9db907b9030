//! Markdown in, a whole offline site out.
//!
//! The line, in the order in which a page travels it:
//!
//! 1. [`source::read`] reads content and templates from the disk.
//! 2. [`site::read`] reads what the site is called; [`draft::plan`] gives each page its metadata
//!    ([`front_matter::read`]) and its address.
//! 3. [`data::read`] checks the data tables ([`substances`] with care); [`data::flatten`] makes them one text for the core;
//!    [`parts`] reads the parts of apparatus, [`picture`] the pictures.
//! 4. [`markdown::render`] turns each page into HTML ([`formula`], [`raw_html`]), and
//! 5. [`numbers`] works out its calculators, [`apparatus`] draws its set-ups, [`plan`] lays out its
//!    time, [`class_kit`] adds up its kit.
//! 6. [`page`] makes ready what the template of each page gets, [`card`] its bench card,
//!    [`gallery`] gathers the drawings, [`checks`] works out the published values.
//! 7. [`template::Templates`] fills the templates.
//! 8. [`style::bundle`] makes one style sheet.
//! 9. [`wasm::module`] compiles the core for the page.
//! 10. [`assets`] and [`offline`] name files by content and list them for the service worker.
//! 11. [`write::site`] writes everything beside the old site, then swaps the two.
//!
//! Each stage takes a value and returns a value with what it found; nothing is written while
//! there is an error. [`build_again`] is the whole line on one screen; [`kept`] spares it the pages
//! that would come out of stages 4 and 5 as before.

// In the order in which a page travels them.
pub mod source;

pub mod draft;
pub mod front_matter;
pub mod site;

pub mod data;
pub mod parts;
pub mod picture;
pub mod substances;

pub mod formula;
pub mod kept;
pub mod markdown;
pub mod raw_html;

pub mod apparatus;
pub mod class_kit;
pub mod numbers;
pub mod plan;

pub mod card;
pub mod checks;
pub mod gallery;
pub mod page;

pub mod template;

pub mod style;

pub mod wasm;

pub mod assets;
pub mod offline;

pub mod write;

// What goes wrong on the way.
pub mod finding;

// The other commands.
pub mod compute;
pub mod preview;
pub mod proof;

use draft::Draft;
use finding::{Finding, Severity};
use kept::Kept;
use offline::Files;
use page::Ready;
use source::Folders;
use std::path::Path;
use wasm::Module;

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
    let (sources, mut findings) = source::read(folders);
    let (site, more) = site::read(sources.site.as_ref());
    findings.extend(more);
    let (tables, more) = data::read(&sources.data);
    findings.extend(more);
    let (library, more) = data::library(&tables);
    findings.extend(more);
    let (parts, more) = parts::catalogue(&sources.parts);
    findings.extend(more);
    let (assemblies, more) = parts::assemblies(&sources.assemblies, &parts);
    findings.extend(more);
    let (drafts, more) = draft::plan(&sources.pages, &tables);
    findings.extend(more);
    let pictures = picture::shelf(&sources.pictures);
    let mut shelf = markdown::Shelf::new(&drafts, &tables, &pictures, &library, &parts, assemblies);
    shelf.raw_html = site.raw_html;
    let render = |draft: &Draft<'_>| {
        markdown::render(draft.source, draft.body, &draft::base(&draft.url), &shelf)
    };
    let rendered = match &mut kept {
        Some(kept) => kept.render(&sources, &drafts, render),
        None => side_by_side(&drafts, render),
    };
    findings.extend(
        rendered
            .iter()
            .flat_map(|page| page.findings.iter().cloned()),
    );
    findings.extend(markdown::far_links(&drafts, &rendered));
    let (checks, more) = checks::work_out(&sources.published, &library);
    findings.extend(more);

    let mut files = Files::new();
    let (assets, more) = assets::make(&sources, &tables, &pictures, &site, module, &mut files);
    findings.extend(more);
    let lists = page::lists(&drafts, &tables);
    let neighbours = page::Neighbours::new(&lists);
    let search = page::searchable(&drafts, &rendered, &tables, &lists);
    files.insert(assets.search.clone(), assets::json(&search));
    let has_start = drafts.iter().any(|draft| draft.url.is_empty());
    match template::Templates::compile(&sources.templates) {
        Ok(mut templates) => {
            templates.share("site", &site);
            templates.share("assets", &assets);
            templates.share("lists", &lists);
            // What a template gets is made and gone page by page: all at once, it would be half of
            // the memory that a build takes.
            let fill = |page: &Ready| {
                let html = templates.fill(page.template, &page.context);
                (page.path.clone(), html)
            };
            let written: Vec<_> = drafts.iter().zip(&rendered).collect();
            let mut filled = side_by_side(&written, |(draft, page)| {
                fill(&page::written(draft, page, &neighbours))
            });
            let mut ready = page::made(
                &library,
                &tables,
                &checks,
                &lists,
                &neighbours,
                &site,
                has_start,
            );
            ready.push(page::drawings(&gallery::gather(&drafts, &rendered)));
            let deck = card::Deck::new(&drafts, &rendered, &site, &library);
            let practical = deck.practical();
            let cards = side_by_side(&practical, |draft| deck.of(draft));
            for (draft, cards) in practical.into_iter().zip(&cards) {
                findings.extend(card::overfull(draft, cards));
                ready.push(page::cards(draft, cards));
            }
            filled.extend(side_by_side(&ready, fill));
            findings.extend(assets::pages(filled, &mut files));
        }
        Err(finding) => findings.push(finding),
    }
    let worker = offline::worker(assets::text(&sources.scripts, offline::WORKER), &files);
    files.insert(offline::WORKER.into(), worker.into_bytes());
    if let Some(kept) = kept {
        kept.keep(&drafts, rendered);
    }

    findings.sort_by(|a, b| {
        let place = |f: &Finding| (f.severity, f.file.clone(), f.line, f.column);
        place(a).cmp(&place(b))
    });
    if findings
        .iter()
        .any(|finding| finding.severity == Severity::Error)
    {
        return Err(findings);
    }
    Ok(Built {
        files,
        pages: drafts.len(),
        findings,
    })
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

/// How many things are done at once.
pub(crate) fn workers() -> usize {
    std::thread::available_parallelism().map_or(1, usize::from)
}

/// Does the same to all items, a share on each processor; the answers keep the order.
fn side_by_side<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let share = items.len().div_ceil(workers()).max(1);
    std::thread::scope(|scope| {
        let hands: Vec<_> = items
            .chunks(share)
            .map(|chunk| scope.spawn(|| chunk.iter().map(&work).collect::<Vec<R>>()))
            .collect();
        hands
            .into_iter()
            .flat_map(|hand| match hand.join() {
                Ok(done) => done,
                Err(cause) => std::panic::resume_unwind(cause),
            })
            .collect()
    })
}
