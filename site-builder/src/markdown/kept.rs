//! Between two builds of one process: pages as stages 4 and 5 left them, which is most of the work
//! of a build. The preview keeps them, so that a saved page is seen at once.
//!
//! What a page becomes there hangs on its own file and on what [`crate::markdown::Shelf`] holds:
//! tables, parts, assemblies, pictures, the site's settings, and names and addresses of all
//! pages. When any of that has changed, nothing that was kept is taken.

use crate::markdown::Rendered;
use crate::read::draft::Draft;
use crate::read::source::Sources;
use std::collections::BTreeMap;
use std::collections::hash_map::DefaultHasher;
use std::hash::{Hash, Hasher};

/// Pages as they were rendered in the build before.
#[derive(Debug, Default)]
pub struct Kept {
    /// Fingerprint of all that pages may refer to.
    around: u64,
    /// By file: the fingerprint of its text, and what became of it.
    pages: BTreeMap<String, (u64, Rendered)>,
}

impl Kept {
    /// Renders the drafts that are not known already; the answers keep the order.
    pub(crate) fn render<'d>(
        &mut self,
        sources: &Sources,
        drafts: &'d [Draft<'d>],
        render: impl Fn(&Draft<'d>) -> Rendered + Sync,
    ) -> Vec<Rendered> {
        let around = around(sources, drafts);
        if self.around != around {
            self.around = around;
            self.pages.clear();
        }
        let known: Vec<Option<Rendered>> = drafts.iter().map(|draft| self.take(draft)).collect();
        let fresh: Vec<&Draft<'d>> = drafts
            .iter()
            .zip(&known)
            .filter_map(|(draft, page)| page.is_none().then_some(draft))
            .collect();
        let mut fresh = crate::parallel::side_by_side(&fresh, |draft| render(draft)).into_iter();
        known
            .into_iter()
            .filter_map(|page| page.or_else(|| fresh.next()))
            .collect()
    }

    fn take(&mut self, draft: &Draft<'_>) -> Option<Rendered> {
        let (text, page) = self.pages.remove(&draft.source.file)?;
        (text == print(&draft.source.text)).then_some(page)
    }

    /// Keeps the pages of this build for the next one, and no others.
    pub(crate) fn keep(&mut self, drafts: &[Draft<'_>], rendered: Vec<Rendered>) {
        self.pages = drafts
            .iter()
            .zip(rendered)
            .map(|(draft, page)| {
                let text = print(&draft.source.text);
                (draft.source.file.clone(), (text, page))
            })
            .collect();
    }
}

fn around(sources: &Sources, drafts: &[Draft<'_>]) -> u64 {
    let pages: Vec<(&str, &str)> = drafts
        .iter()
        .map(|draft| (draft.name, draft.url.as_str()))
        .collect();
    print(&(
        pages,
        &sources.data,
        &sources.parts,
        &sources.assemblies,
        &sources.pictures,
        &sources.site,
    ))
}

fn print(of: &impl Hash) -> u64 {
    let mut hash = DefaultHasher::new();
    of.hash(&mut hash);
    hash.finish()
}
