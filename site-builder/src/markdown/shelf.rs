//! What a page may refer to: other pages, tables, glossary, pictures, assemblies.

use crate::apparatus;
use crate::read::data::DataTable;
use crate::read::draft::{self, Draft};
use crate::read::picture::Picture;
use calc_wasm::library::Library;
use math_core::{LatexToMathML, MathCoreConfig};
use std::collections::BTreeMap;
use std::fmt;

/// What a page may refer to.
pub struct Shelf<'a> {
    /// Addresses of pages, by name.
    pub pages: BTreeMap<&'a str, String>,
    /// Addresses of the pages of data tables, by name.
    pub tables: BTreeMap<String, String>,
    /// Anchors of glossary entries, by word in lower case.
    pub terms: BTreeMap<String, String>,
    /// Addresses of pictures, by path inside the content folder, with width and height.
    pub pictures: &'a BTreeMap<&'a str, Picture>,
    /// The data the calculators draw on.
    pub library: &'a Library,
    /// The parts of apparatus.
    pub parts: &'a apparatus::Catalogue,
    /// Assemblies kept in files, by name; nothing where the file is at fault.
    pub assemblies: BTreeMap<&'a str, Option<apparatus::Assembly>>,
    /// Turns TeX into MathML.
    pub math: LatexToMathML,
    /// Whether raw HTML passes, as far as it may; else it is shown as text.
    pub raw_html: bool,
}

impl fmt::Debug for Shelf<'_> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.debug_struct("Shelf")
            .field("pages", &self.pages)
            .field("tables", &self.tables)
            .finish_non_exhaustive()
    }
}

impl<'a> Shelf<'a> {
    /// Gathers what pages may refer to.
    ///
    /// # Panics
    /// Never: only macros of our own could make the reader of formulas refuse, and it gets none.
    pub fn new(
        drafts: &'a [Draft<'a>],
        tables: &'a [DataTable],
        pictures: &'a BTreeMap<&'a str, Picture>,
        library: &'a Library,
        parts: &'a apparatus::Catalogue,
        assemblies: BTreeMap<&'a str, Option<apparatus::Assembly>>,
    ) -> Self {
        let with_page = tables.iter().filter(|table| table.page);
        Self {
            pages: drafts
                .iter()
                .map(|draft| (draft.name, draft.url.clone()))
                .collect(),
            tables: with_page
                .map(|table| (draft::table_name(table), draft::table_url(table)))
                .collect(),
            terms: draft::terms(tables),
            pictures,
            library,
            parts,
            assemblies,
            math: LatexToMathML::new(MathCoreConfig::default())
                .expect("the standard configuration has no macros that could be wrong"),
            raw_html: false,
        }
    }
}
