//! Markdown in, a whole offline site out.
//!
//! The line, stage by stage; only [`source`] and [`write`] touch the site's files:
//!
//! 1. [`source::read`] walks the folders and reads every file.
//! 2. [`front_matter::read`] takes the metadata off each page.
//! 3. [`data::read`] checks the tables and flattens them for the core.
//! 4. [`markdown::render`] turns each page into HTML; [`numbers`] asks the core for every number
//!    and [`apparatus`] draws every set-up on the way.
//! 5. [`page::lay_out`] gives each page its address, neighbours and context, and adds the pages
//!    that no author writes: calculators, tables, checks, glossary, search.
//! 6. [`wasm::module`] compiles the core for the page, [`style::bundle`] makes one style sheet,
//!    [`assets`] names every file by its content.
//! 7. [`template::Templates::render`] sets the pages.
//! 8. [`offline::list`] writes down every file for the service worker.
//! 9. [`write::swap`] writes the whole site beside the old one and swaps the two.

pub mod finding;

pub mod source;

pub mod front_matter;

pub mod data;

pub mod apparatus;

pub mod formula;

pub mod numbers;

pub mod markdown;

pub mod checks;

pub mod page;

pub mod wasm;

pub mod style;

pub mod assets;

pub mod template;

pub mod offline;

pub mod write;

pub mod preview;

use std::collections::BTreeMap;
use std::path::PathBuf;

use finding::{Finding, Severity};
use source::Folders;

/// Where a site is made from and where it goes.
#[derive(Clone, Debug)]
pub struct Job {
    /// The author's folders.
    pub folders: Folders,
    /// The built site.
    pub out: PathBuf,
    /// Whether to check only: nothing is compiled for the page, nothing is written.
    pub check_only: bool,
}

impl Default for Job {
    fn default() -> Self {
        Job {
            folders: Folders::default(),
            out: "public".into(),
            check_only: false,
        }
    }
}

/// What a build did.
#[derive(Clone, Debug, Default)]
pub struct Built {
    /// Pages written.
    pub pages: usize,
    /// Bytes of all files, as written.
    pub bytes: usize,
    /// What the author should know all the same.
    pub notes: Vec<Finding>,
}

/// All files of a site, by path under its root.
pub type Files = BTreeMap<String, Vec<u8>>;

/// Runs the whole line.
///
/// # Errors
/// Every finding that stops the build; then the previous site stays as it was.
pub fn build(job: &Job) -> Result<Built, Vec<Finding>> {
    let (sources, mut findings) = source::read(&job.folders);
    let (tables, found) = data::read(&sources.data);
    findings.extend(found);
    let drafts = page::lay_out(&sources, &tables, &mut findings);
    let (errors, notes): (Vec<Finding>, Vec<Finding>) = findings
        .into_iter()
        .partition(|finding| finding.severity == Severity::Error);
    if !errors.is_empty() {
        return Err(errors);
    }
    let pages = drafts.pages.len();
    if job.check_only {
        return Ok(Built {
            pages,
            bytes: 0,
            notes,
        });
    }
    let module = wasm::module().map_err(|finding| vec![finding])?;
    let style = style::bundle(&sources.styles).map_err(|finding| vec![finding])?;
    let (mut files, names) = assets::name(&sources, &tables, &module, style);
    let templates = template::Templates::new(&sources.templates, &drafts, &names)?;
    for (path, html) in templates.render(&drafts.pages)? {
        files.insert(path, html.into_bytes());
    }
    files.insert("search.json".into(), drafts.search.into_bytes());
    files.insert(
        "worker.js".into(),
        offline::list(&files, &sources.scripts).into_bytes(),
    );
    write::swap(&job.out, &files).map_err(|finding| vec![finding])?;
    Ok(Built {
        pages,
        bytes: files.values().map(Vec::len).sum(),
        notes,
    })
}
