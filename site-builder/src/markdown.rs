//! Stage 4: Markdown to HTML. CommonMark with tables, footnotes, task lists, definition lists
//! and alerts; beyond that only fenced blocks and code spans, so that any viewer still shows
//! something sensible.
//!
//! The parser gives a stream of events with byte ranges. Each kind of event that needs more
//! than the standard HTML has one function below; the rest passes through.

use crate::apparatus;
use crate::card::{self, Material};
use crate::class_kit::{self, SetUp};
use crate::data::DataTable;
use crate::finding::{Finding, Flaw, choice, spelling};
use crate::formula;
use crate::numbers::{self, Number};
use crate::page::{self, Draft};
use crate::plan;
use crate::raw_html::{self, Passed};
use crate::source::{Text, slug};
use calc_wasm::calculators;
use calc_wasm::library::Library;
use calc_wasm::outcome::Level;
use calc_wasm::problem::nearest;
use calc_wasm::report::escape;
use math_core::{LatexToMathML, MathCoreConfig, MathDisplay};
use pulldown_cmark::{
    BlockQuoteKind, CodeBlockKind, CowStr, Event, HeadingLevel, Options, Parser, Tag, TagEnd, html,
};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::ops::Range;
use toml::de::{DeTable, DeValue};

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
                .map(|table| (page::table_name(table), page::table_url(table)))
                .collect(),
            terms: page::terms(tables),
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

/// A picture of the site.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Picture {
    /// Address under the root.
    pub url: String,
    /// Width and height in pixels, so that nothing shifts while it loads.
    pub size: Option<(usize, usize)>,
}

/// A heading for the list of contents.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Heading {
    /// Its anchor.
    pub id: String,
    /// Its words.
    pub title: String,
}

/// A link to an anchor of another page, checked when all pages are known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FarLink {
    /// Name of the page, or empty for this page.
    pub page: String,
    /// The anchor.
    pub anchor: String,
    /// Bytes of the link in the file.
    pub span: Range<usize>,
}

/// A page's Markdown as HTML.
#[derive(Clone, Debug, Default)]
pub struct Rendered {
    /// The body.
    pub html: String,
    /// Second-level headings.
    pub contents: Vec<Heading>,
    /// Every anchor of the page.
    pub anchors: BTreeSet<String>,
    /// Links whose anchors are still to be checked.
    pub links: Vec<FarLink>,
    /// Names of the calculators on the page, in order.
    pub calculators: Vec<String>,
    /// What its bench card is made from.
    pub material: Material,
    /// The words of the page, for the search.
    pub words: String,
    /// What is wrong.
    pub findings: Vec<Finding>,
}

const OPTIONS: Options = Options::ENABLE_TABLES
    .union(Options::ENABLE_FOOTNOTES)
    .union(Options::ENABLE_TASKLISTS)
    .union(Options::ENABLE_STRIKETHROUGH)
    .union(Options::ENABLE_HEADING_ATTRIBUTES)
    .union(Options::ENABLE_DEFINITION_LIST)
    .union(Options::ENABLE_MATH)
    .union(Options::ENABLE_GFM);

/// Turns the Markdown of `page`, from byte `body` on, into HTML. `base` leads to the root.
pub fn render(page: &Text, body: usize, base: &str, shelf: &Shelf<'_>) -> Rendered {
    let mut writer = Writer {
        page,
        base,
        shelf,
        out: Rendered::default(),
        counts: BTreeMap::new(),
        heading: String::new(),
    };
    writer.out.html = writer.fragment(&page.text[body..], &Origin::from(body), Place::Text);
    writer.near_links();
    writer.out
}

/// Where a fragment stands in its file: most are a straight piece of it, some (a block inside a
/// list, a TOML string) are pieces put together.
#[derive(Clone, Debug)]
enum Origin {
    /// Pairs of offsets, fragment to file, in rising order.
    Pieces(Vec<(usize, usize)>),
    /// Everything is blamed on one place.
    Place(usize),
}

impl From<usize> for Origin {
    fn from(start: usize) -> Self {
        Self::Pieces(vec![(0, start)])
    }
}

impl Origin {
    fn map(&self, offset: usize) -> usize {
        match self {
            Self::Place(at) => *at,
            Self::Pieces(pieces) => {
                let after = pieces.partition_point(|(from, _)| *from <= offset);
                let (from, to) = pieces[after.saturating_sub(1)];
                to + offset.saturating_sub(from)
            }
        }
    }

    fn span(&self, span: &Range<usize>) -> Range<usize> {
        let start = self.map(span.start);
        let end = self.map(span.end.saturating_sub(1).max(span.start)) + 1;
        start..end.max(start + 1)
    }
}

/// Where a run of text is going, which decides what may stand in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Place {
    /// Ordinary text.
    Text,
    /// A label, link, heading or summary: nothing inside may be pressed.
    Label,
}

type Spanned<'e> = (Event<'e>, Range<usize>);

struct Writer<'a> {
    page: &'a Text,
    base: &'a str,
    shelf: &'a Shelf<'a>,
    out: Rendered,
    counts: BTreeMap<String, usize>,
    /// The heading above what is being rendered.
    heading: String,
}

impl Writer<'_> {
    /// Renders a piece of Markdown.
    fn fragment(&mut self, text: &str, origin: &Origin, place: Place) -> String {
        let events: Vec<Spanned<'_>> = Parser::new_ext(text, OPTIONS).into_offset_iter().collect();
        self.run(text, &events, origin, place)
    }

    fn run(&mut self, text: &str, events: &[Spanned<'_>], origin: &Origin, place: Place) -> String {
        let mut pass = Pass {
            text,
            events,
            origin,
            place,
            depth: 0,
            heads: Vec::new(),
            cell: usize::MAX,
            nest: 0,
            open: Vec::new(),
            out: Vec::with_capacity(events.len()),
        };
        let mut at = 0;
        while at < events.len() {
            at = self.event(&mut pass, at);
        }
        self.still_open(&mut pass);
        let mut html = String::with_capacity(text.len() * 3 / 2);
        html::push_html(&mut html, pass.out.into_iter());
        html
    }

    /// Handles the event at `at`; returns the place of the next one.
    fn event<'e>(&mut self, pass: &mut Pass<'e, '_>, at: usize) -> usize {
        let (event, span) = &pass.events[at];
        match event {
            // These are dealt with whole, and lead past their own end.
            Event::Start(Tag::CodeBlock(_) | Tag::Image { .. } | Tag::HtmlBlock) => {}
            Event::Start(_) => pass.nest += 1,
            Event::End(TagEnd::HtmlBlock) => {}
            Event::End(_) => pass.nest = pass.nest.saturating_sub(1),
            _ => {}
        }
        match event {
            Event::Start(Tag::Heading { level, id, .. }) => {
                let id = id.as_ref().map(ToString::to_string);
                return self.heading(pass, at, *level, id);
            }
            Event::Start(Tag::CodeBlock(kind)) => return self.code_block(pass, at, kind),
            Event::Start(Tag::Image { dest_url, .. }) => {
                return self.image(pass, at, dest_url);
            }
            Event::Start(Tag::Link { dest_url, .. }) => {
                let open = self.link(dest_url, &pass.origin.span(span));
                pass.depth += 1;
                pass.html(open);
            }
            Event::End(TagEnd::Link) => {
                pass.depth -= 1;
                pass.html("</a>".into());
            }
            Event::Start(Tag::Table(_)) => {
                pass.heads = heads(&pass.events[at..]);
                pass.cell = usize::MAX;
                let label = escape(&format!("Table: {}", pass.heads.join(", ")));
                pass.html(format!(
                    "<div class=\"wide\" role=\"region\" aria-label=\"{label}\" tabindex=\"0\">"
                ));
                pass.out.push(event.clone());
            }
            Event::End(TagEnd::Table) => {
                pass.out.push(event.clone());
                pass.html("</div>".into());
            }
            Event::Start(Tag::TableRow) => {
                pass.cell = 0;
                pass.out.push(event.clone());
            }
            // A cell says its column's head, for screens on which a row is set as a block. Those of
            // the head come before any row.
            Event::Start(Tag::TableCell) if pass.cell < pass.heads.len() => {
                let head = escape(&pass.heads[pass.cell]);
                pass.html(format!("<td data-head=\"{head}\">"));
            }
            Event::End(TagEnd::TableCell) if pass.cell < pass.heads.len() => {
                pass.cell += 1;
                pass.html("</td>".into());
            }
            Event::Start(Tag::HtmlBlock) if self.shelf.raw_html => {
                let end = pass.end_of(at);
                let (raw, origin) = gathered(pass, at, end, span.start);
                self.raw_html(pass, &raw, &origin);
                return end + 1;
            }
            Event::InlineHtml(raw) if self.shelf.raw_html => {
                let origin = Origin::from(pass.origin.map(span.start));
                self.raw_html(pass, raw, &origin);
            }
            // Raw HTML is shown as what it is: text.
            Event::Start(Tag::HtmlBlock) => pass.out.push(Event::Start(Tag::Paragraph)),
            Event::End(TagEnd::HtmlBlock) => pass.out.push(Event::End(TagEnd::Paragraph)),
            Event::Html(raw) | Event::InlineHtml(raw) => pass.out.push(Event::Text(raw.clone())),
            Event::InlineMath(tex) => self.math(pass, tex, span, MathDisplay::Inline),
            Event::DisplayMath(tex) => self.math(pass, tex, span, MathDisplay::Block),
            Event::Code(code) => self.code(pass, code, span),
            Event::FootnoteReference(label) => {
                pass.out.push(Event::FootnoteReference(note_id(label)));
            }
            Event::Start(Tag::FootnoteDefinition(label)) => {
                let id = note_id(label);
                self.out.anchors.insert(id.to_string());
                pass.out.push(Event::Start(Tag::FootnoteDefinition(id)));
            }
            Event::Start(Tag::BlockQuote(None)) => {
                self.misspelt_alert(pass, at);
                pass.out.push(event.clone());
            }
            Event::Text(words) => {
                self.words(words);
                let rest = pass.hold(words);
                pass.out.push(Event::Text(rest));
            }
            _ => pass.out.push(event.clone()),
        }
        at + 1
    }

    // Raw HTML, where the site allows it.

    /// Passes the tags that may pass. Each must be closed in the part of the page in which it
    /// was opened, or it would take hold of what the builder writes around it.
    fn raw_html(&mut self, pass: &mut Pass<'_, '_>, raw: &str, origin: &Origin) {
        let clean = raw_html::clean(raw);
        self.flaws(clean.flaws, &|at| origin.map(at));
        for (tag, span) in clean.tags {
            let span = origin.span(&span);
            match tag {
                Passed::Open(name) => pass.open.push((name, pass.nest, span)),
                Passed::Close(name)
                    if pass
                        .open
                        .last()
                        .is_some_and(|(open, nest, _)| *open == name && *nest == pass.nest) =>
                {
                    pass.open.pop();
                }
                Passed::Close(name) => {
                    let message = format!("`</{name}>` closes nothing that is open here");
                    let mend = "close what was opened last, in the same paragraph or list item";
                    self.find(span, message, Some(mend.into()));
                }
                Passed::Alone => {}
            }
        }
        pass.html(clean.html);
    }

    fn still_open(&mut self, pass: &mut Pass<'_, '_>) {
        for (name, _, span) in std::mem::take(&mut pass.open) {
            self.find(
                span,
                format!("`<{name}>` is never closed"),
                Some(format!("write `</{name}>` where it ends")),
            );
        }
    }

    // Headings.

    fn heading<'e>(
        &mut self,
        pass: &mut Pass<'e, '_>,
        at: usize,
        level: HeadingLevel,
        id: Option<String>,
    ) -> usize {
        let end = pass.end_of(at);
        let (_, span) = &pass.events[at];
        let title = plain_text(&pass.events[at..end]);
        let title = title.trim();
        if level == HeadingLevel::H1 {
            self.find(
                pass.origin.span(span),
                "a first-level heading; the page's title is the only one",
                Some("begin with `##`".into()),
            );
        }
        self.heading = title.to_owned();
        let wanted = id.unwrap_or_else(|| slug(title, "part"));
        let id = self.unique(&wanted);
        if level == HeadingLevel::H2 {
            self.out.contents.push(Heading {
                id: id.clone(),
                title: title.to_owned(),
            });
        }
        pass.out.push(Event::Start(Tag::Heading {
            level,
            id: Some(id.into()),
            classes: Vec::new(),
            attrs: Vec::new(),
        }));
        pass.depth += 1;
        let mut inside = at + 1;
        while inside < end {
            inside = self.event(pass, inside);
        }
        pass.depth -= 1;
        pass.nest -= 1;
        pass.out.push(Event::End(TagEnd::Heading(level)));
        end + 1
    }

    // Links and pictures.

    /// The opening tag of a link, its address resolved and checked.
    fn link(&mut self, address: &str, span: &Range<usize>) -> String {
        let (scheme, rest) = address.split_once(':').unwrap_or(("", address));
        let (name, anchor) = rest
            .split_once('#')
            .map_or((rest, None), |(n, a)| (n, Some(a)));
        let name = percent_decode(name);
        let found = match scheme {
            "page" => {
                if let Some(anchor) = anchor {
                    self.out.links.push(FarLink {
                        page: name.clone(),
                        anchor: anchor.to_owned(),
                        span: span.clone(),
                    });
                }
                self.out.material.mentions(&name);
                lookup("page", &name, self.shelf.pages.iter().map(|(k, v)| (*k, v)))
            }
            "table" => lookup("table", &name.replace('_', "-"), self.shelf.tables.iter().map(|(k, v)| (k.as_str(), v))),
            "term" => {
                let terms = self.shelf.terms.iter().map(|(k, v)| (k.as_str(), v));
                return match lookup("glossary entry", &name.to_lowercase(), terms) {
                    Ok(id) => format!("<a class=\"term\" href=\"{}glossary/#{id}\">", self.base),
                    Err((message, mend)) => self.broken(span, message, mend),
                };
            }
            "calculator" => match numbers::calculator(&name, 0..0) {
                Ok(calculator) => Ok(format!("calculators/{}/", calculator.name)),
                Err(flaw) => Err((flaw.message, flaw.mend)),
            },
            "http" | "https" | "mailto" => {
                return format!("<a href=\"{}\" rel=\"external noreferrer\">", escape(address));
            }
            "" if address.starts_with('#') => {
                self.out.links.push(FarLink {
                    page: String::new(),
                    anchor: address[1..].to_owned(),
                    span: span.clone(),
                });
                return format!("<a href=\"{}\">", escape(address));
            }
            _ => Err((
                format!("the link `{address}` leads nowhere"),
                Some(
                    "write page:NAME, calculator:NAME, table:NAME, term:WORD, #ANCHOR or a full https: address"
                        .to_owned(),
                ),
            )),
        };
        match found {
            Ok(url) => {
                let anchor = anchor.map_or(String::new(), |anchor| format!("#{anchor}"));
                let url = if url.is_empty() { "./" } else { url.as_str() };
                format!("<a href=\"{}{url}{}\">", self.base, escape(&anchor))
            }
            Err((message, mend)) => self.broken(span, message, mend),
        }
    }

    fn broken(&mut self, span: &Range<usize>, message: String, mend: Option<String>) -> String {
        self.find(span.clone(), message, mend);
        "<a>".to_owned()
    }

    /// Checks links to anchors of this page, now that all of them are known.
    fn near_links(&mut self) {
        let (near, far): (Vec<FarLink>, Vec<FarLink>) = std::mem::take(&mut self.out.links)
            .into_iter()
            .partition(|link| link.page.is_empty());
        self.out.links = far;
        for link in near {
            if let Some(finding) = missing_anchor(self.page, &link, &self.out.anchors) {
                self.out.findings.push(finding);
            }
        }
    }

    fn image<'e>(&mut self, pass: &mut Pass<'e, '_>, at: usize, address: &str) -> usize {
        let end = pass.end_of(at);
        let span = pass.origin.span(&pass.events[at].1);
        let alternative = plain_text(&pass.events[at..end]);
        if alternative.trim().is_empty() {
            self.find(
                span.clone(),
                format!("the picture `{address}` has no alternative text"),
                Some("say between the square brackets what it shows".into()),
            );
        }
        let path = beside(&self.page.path, &percent_decode(address));
        let picture = path.and_then(|path| self.shelf.pictures.get(path.as_str()));
        let Some(picture) = picture else {
            let near = nearest(address, self.shelf.pictures.keys().copied());
            let mend = if address.contains("://") {
                "copy it into the content folder; the site asks no other host for anything".into()
            } else if let Some(near) = near {
                format!("the nearest is `{near}` of the content folder")
            } else {
                "name a file of the content folder, as seen from this page's own folder".into()
            };
            self.find(span, format!("there is no picture `{address}`"), Some(mend));
            return end + 1;
        };
        let size = picture.size.map_or(String::new(), |(width, height)| {
            format!(" width=\"{width}\" height=\"{height}\"")
        });
        let html = format!(
            "<img src=\"{}{}\" alt=\"{}\"{size} loading=\"lazy\" decoding=\"async\">",
            self.base,
            escape(&picture.url),
            escape(alternative.trim())
        );
        pass.html(html);
        end + 1
    }

    // Code spans: numbers, formulas, and plain code.

    fn code<'e>(&mut self, pass: &mut Pass<'e, '_>, code: &CowStr<'e>, span: &Range<usize>) {
        let raw = &pass.text[span.clone()];
        let inside = span.start + raw.find(&**code).unwrap_or(0);
        if let Some(request) = code.strip_prefix('=') {
            let place = if pass.depth > 0 {
                Place::Label
            } else {
                pass.place
            };
            match numbers::inline(request, self.shelf.library) {
                Ok(number) => {
                    let html = self.number(&number, place);
                    pass.html(html);
                }
                Err(flaws) => self.flaws(flaws, &|at| pass.origin.map(inside + 1 + at)),
            }
        } else if let Some(formula) = code.strip_prefix(':') {
            match formula::html(formula) {
                Ok(html) => pass.html(html),
                Err(flaw) => self.flaws(vec![flaw], &|at| pass.origin.map(inside + 1 + at)),
            }
        } else {
            pass.out.push(Event::Code(code.clone()));
        }
    }

    /// A number with its tolerance on tap; a number that may not be pressed carries it as a
    /// title and in words that screen readers say.
    fn number(&mut self, number: &Number, place: Place) -> String {
        let shown = escape(&number.shown);
        let Some(interval) = &number.interval else {
            return format!("<span class=\"number\">{shown}</span>");
        };
        let interval = escape(interval);
        if place == Place::Label {
            return format!("<span class=\"number\" title=\"{interval}\">{shown}</span>");
        }
        let id = self.count("number");
        format!(
            "{NUMBER} popovertarget=\"{id}\">{shown}</button><span class=\"tolerance\" popover id=\"{id}\">{label}: {interval}. Worked out by “{title}”.</span>",
            label = escape(&number.label),
            title = escape(&number.title),
        )
    }

    fn math<'e>(
        &mut self,
        pass: &mut Pass<'e, '_>,
        tex: &CowStr<'e>,
        span: &Range<usize>,
        display: MathDisplay,
    ) {
        match self.shelf.math.convert_with_local_state(tex, display) {
            Ok(result) => pass.html(result.mathml),
            Err(error) => {
                let marks = if display == MathDisplay::Block { 2 } else { 1 };
                let place = span.start + marks + error.0.start;
                let end = span.start + marks + error.0.end;
                self.find(
                    pass.origin.span(&(place..end.max(place + 1).min(span.end))),
                    format!(
                        "the formula cannot be read: {}",
                        lower_first(&error.error_message())
                    ),
                    Some("write TeX; a dollar sign that is money is `\\$`".into()),
                );
            }
        }
    }

    // Fenced blocks.

    fn code_block<'e>(
        &mut self,
        pass: &mut Pass<'e, '_>,
        at: usize,
        kind: &CodeBlockKind<'e>,
    ) -> usize {
        let end = pass.end_of(at);
        let CodeBlockKind::Fenced(info) = kind else {
            pass.out
                .extend(pass.events[at..=end].iter().map(|(event, _)| event.clone()));
            return end + 1;
        };
        let block = Fenced::new(pass, at, end, info);
        let html = match block.word {
            "calculator" => self.calculator(&block),
            "apparatus" => self.apparatus(&block),
            "check" => self.check(&block),
            "steps" => self.steps(&block),
            "plan" => self.plan(&block),
            "kit" => self.kit(&block),
            "waste" => self.waste(&block),
            word => {
                if let Some(near) = nearly_ours(word) {
                    self.find(
                        block.word_span.clone(),
                        format!("there is no block `{word}`"),
                        Some(format!("the nearest is `{near}`")),
                    );
                }
                pass.out
                    .extend(pass.events[at..=end].iter().map(|(event, _)| event.clone()));
                return end + 1;
            }
        };
        pass.out.push(Event::Html(html.into()));
        end + 1
    }

    fn calculator(&mut self, block: &Fenced<'_>) -> String {
        let span = block.argument_span.clone();
        if block.argument.is_empty() {
            self.find(
                block.word_span.clone(),
                "the block names no calculator",
                Some("write its name after the word, as in `calculator boiling-point`".into()),
            );
            return String::new();
        }
        let calculator = match numbers::calculator(block.argument, 0..block.argument.len()) {
            Ok(calculator) => calculator,
            Err(flaw) => {
                self.flaws(vec![flaw], &|at| span.start + at);
                return String::new();
            }
        };
        let read = match numbers::block(calculator, &block.body, self.shelf.library) {
            Ok(read) => read,
            Err(flaws) => {
                self.flaws(flaws, &|at| block.origin.map(at));
                return String::new();
            }
        };
        self.out.calculators.push(calculator.name.to_owned());
        let id = match &read.id {
            Some((id, span)) => {
                if self.out.anchors.contains(id) {
                    let place = block.origin.span(span);
                    self.find(place, format!("the id `{id}` is taken on this page"), None);
                }
                self.out.anchors.insert(id.clone());
                id.clone()
            }
            None => self.unique(calculator.name),
        };
        self.out.material.worked.push(numbers::Worked {
            id: id.clone(),
            calculator,
            pairs: read.pairs.clone(),
            card: read.card.clone(),
            heading: self.heading.clone(),
        });
        read.html(self.shelf.library, &id, self.base)
    }

    /// Draws an assembly: written in the block itself, or kept in `content/assemblies/` and
    /// named by `from = "name"`.
    fn apparatus(&mut self, block: &Fenced<'_>) -> String {
        let kept = DeTable::parse(&block.body)
            .ok()
            .and_then(|table| table.into_inner().remove_entry("from"));
        let drawn = match kept {
            Some((_, name)) => return self.kept_apparatus(block, &name),
            None => apparatus::assemble(self.shelf.parts, &block.body),
        };
        match drawn {
            Ok(assembly) => self.draw(None, &assembly),
            Err(flaws) => {
                self.flaws(flaws.into_iter().map(Flaw::from), &|at| {
                    block.origin.map(at)
                });
                String::new()
            }
        }
    }

    fn kept_apparatus(&mut self, block: &Fenced<'_>, name: &toml::Spanned<DeValue<'_>>) -> String {
        let span = block.origin.span(&name.span());
        let wanted = name.get_ref().as_str().unwrap_or_default();
        if block.body.lines().filter(|line| line.contains('=')).count() > 1 {
            let message = "`from` stands alone: the block takes the whole assembly";
            self.find(
                span,
                message,
                Some("take the other lines out, or write the parts here".into()),
            );
            return String::new();
        }
        match self.shelf.assemblies.get(wanted) {
            Some(Some(assembly)) => self.draw(Some(wanted.to_owned()), assembly),
            // Its own file has the findings.
            Some(None) => String::new(),
            None => {
                let mend = spelling(wanted, self.shelf.assemblies.keys().copied());
                self.find(span, format!("there is no assembly `{wanted}`"), mend);
                String::new()
            }
        }
    }

    fn draw(&mut self, name: Option<String>, assembly: &apparatus::Assembly) -> String {
        let id = self.count("apparatus");
        let html = assembly.html(&id);
        let drawing = html
            .find("<svg")
            .zip(html.find("</svg>"))
            .map_or("", |(start, end)| &html[start..end + "</svg>".len()]);
        self.out.material.drawings.push(SetUp {
            name,
            assembly: assembly.clone(),
            svg: drawing.to_owned(),
            id,
        });
        html
    }

    /// The time plan, drawn and as a table.
    fn plan(&mut self, block: &Fenced<'_>) -> String {
        match plan::read(&block.body, self.shelf.library, &self.out.material.worked) {
            Ok(plan) => {
                let id = self.count("plan");
                let html = plan.html(&id);
                self.out.material.plan.get_or_insert(plan);
                html
            }
            Err(flaws) => {
                self.flaws(flaws, &|at| block.origin.map(at));
                String::new()
            }
        }
    }

    /// The kit of the drawings above, added up.
    fn kit(&mut self, block: &Fenced<'_>) -> String {
        let material = &self.out.material;
        let drawings = &material.drawings;
        let kept = &self.shelf.assemblies;
        match class_kit::read(&block.body, drawings, kept, &material.worked) {
            Ok(kit) => {
                let html = kit.html();
                self.out.material.kit.get_or_insert(kit);
                html
            }
            Err(flaws) => {
                self.flaws(flaws, &|at| block.origin.map(at));
                String::new()
            }
        }
    }

    /// What goes into which stream: `"Solids" = "drying agent, papers"`, one on each line.
    fn waste(&mut self, block: &Fenced<'_>) -> String {
        let table = match DeTable::parse(&block.body) {
            Ok(table) => table.into_inner(),
            Err(error) => {
                let flaw = numbers::syntax(&block.body, &error);
                self.flaws(vec![flaw], &|at| block.origin.map(at));
                return String::new();
            }
        };
        let mut streams: Vec<_> = table.iter().collect();
        // The order written is the order shown.
        streams.sort_by_key(|(key, _)| key.span().start);
        if streams.is_empty() {
            self.find(
                block.word_span.clone(),
                "the waste has no streams",
                Some("write `\"Solids\" = \"drying agent, papers\"`, one on each line".into()),
            );
        }
        let mut html = String::from(
            "<div class=\"wide\" role=\"region\" aria-label=\"Waste\" tabindex=\"0\"><table class=\"waste\"><thead><tr><th scope=\"col\">Stream</th><th scope=\"col\">What goes in</th></tr></thead><tbody>\n",
        );
        for (key, value) in streams {
            let Some(text) = value
                .get_ref()
                .as_str()
                .filter(|text| !text.trim().is_empty())
            else {
                self.find(
                    block.origin.span(&value.span()),
                    format!("what goes into `{}` is not words", key.get_ref()),
                    Some("write words between quotes".into()),
                );
                continue;
            };
            let origin = block.string(text, value.span());
            let what = self.fragment(text, &origin, Place::Label);
            let what = unwrap_paragraph(what.trim()).to_owned();
            let stream = escape(key.get_ref());
            html.push_str(&format!(
                "<tr><th scope=\"row\">{stream}</th><td data-head=\"What goes in\">{what}</td></tr>\n"
            ));
            self.out.material.waste.push(card::Stream {
                name: key.get_ref().to_string(),
                what: card::without_links(&what),
            });
        }
        html.push_str("</tbody></table></div>\n");
        html
    }

    fn check(&mut self, block: &Fenced<'_>) -> String {
        let table = match DeTable::parse(&block.body) {
            Ok(table) => table.into_inner(),
            Err(error) => {
                let flaw = numbers::syntax(&block.body, &error);
                self.flaws(vec![flaw], &|at| block.origin.map(at));
                return String::new();
            }
        };
        let mut parts = BTreeMap::new();
        for (key, value) in &table {
            let name = key.get_ref().as_ref();
            if !["question", "answer"].contains(&name) {
                self.find(
                    block.origin.span(&key.span()),
                    format!("a check has no `{name}`"),
                    Some(choice(name, &["question", "answer"])),
                );
            } else if let Some(text) = value.get_ref().as_str() {
                let origin = block.string(text, value.span());
                let place = if name == "question" {
                    Place::Label
                } else {
                    Place::Text
                };
                parts.insert(name.to_owned(), self.fragment(text, &origin, place));
            } else {
                self.find(
                    block.origin.span(&value.span()),
                    format!("`{name}` is not words"),
                    Some("write Markdown between quotes".into()),
                );
            }
        }
        for name in ["question", "answer"] {
            if !table.contains_key(name) {
                self.find(
                    block.word_span.clone(),
                    format!("the check has no `{name}`"),
                    Some(format!("add `{name} = \"…\"`")),
                );
            }
        }
        let id = self.count("check");
        let part = |name: &str| parts.get(name).map_or("", |html: &String| html.trim());
        format!(
            "<details class=\"check\" id=\"{id}\"><summary>{}</summary>\n{}\n</details>\n",
            unwrap_paragraph(part("question")),
            part("answer")
        )
    }

    /// An ordered list becomes steps that can be ticked. What follows the first words of an
    /// item (a caution, a calculator, a nested list) stays with its step.
    fn steps(&mut self, block: &Fenced<'_>) -> String {
        let text = block.body.as_str();
        let events: Vec<Spanned<'_>> = Parser::new_ext(text, OPTIONS).into_offset_iter().collect();
        let mut html = String::new();
        let mut at = 0;
        let mut found = false;
        while at < events.len() {
            let end = end_of(&events, at);
            if matches!(events[at].0, Event::Start(Tag::List(Some(_)))) {
                found = true;
                let id = self.count("steps");
                html.push_str(&format!("<ol class=\"steps\" id=\"{id}\">\n"));
                self.out.material.steps.push(card::Steps {
                    title: self.heading.clone(),
                    steps: Vec::new(),
                });
                self.step_items(block, text, &events[at + 1..end], &mut html);
                html.push_str("</ol>\n");
            } else {
                html.push_str(&self.run(text, &events[at..=end], &block.origin, Place::Text));
            }
            at = end + 1;
        }
        if !found {
            self.find(
                block.word_span.clone(),
                "the block has no numbered list",
                Some("begin each step with `1. `".into()),
            );
        }
        html
    }

    fn step_items(
        &mut self,
        block: &Fenced<'_>,
        text: &str,
        events: &[Spanned<'_>],
        html: &mut String,
    ) {
        let mut at = 0;
        let mut number = 0;
        while at < events.len() {
            let end = end_of(events, at);
            number += 1;
            let inside = &events[at + 1..end];
            let (words, rest) = first_words(inside);
            let label = self.run(text, words, &block.origin, Place::Label);
            let (label, timer) = match take_timer(label.trim()) {
                Ok(parts) => parts,
                Err(written) => {
                    self.find(
                        block.origin.span(&events[at].1),
                        format!("`{written}` is no time"),
                        Some("write it as (timer: 10 min), in s, min or h".into()),
                    );
                    (label.trim().to_owned(), None)
                }
            };
            html.push_str(&format!(
                "<li class=\"step\"><label><input type=\"checkbox\" data-step=\"{number}\" autocomplete=\"off\"> <span>{label}</span></label>"
            ));
            let mut step = card::Step {
                words: card::without_links(&label),
                takes: None,
                cautions: self.cautions_of(block, text, rest),
            };
            if let Some((written, timer)) = timer {
                html.push(' ');
                html.push_str(&timer);
                step.takes = Some(written);
            }
            if let Some(steps) = self.out.material.steps.last_mut() {
                steps.steps.push(step);
            }
            let rest = self.run(text, rest, &block.origin, Place::Text);
            if !rest.trim().is_empty() {
                html.push('\n');
                html.push_str(&rest);
            }
            html.push_str("</li>\n");
            at = end + 1;
        }
    }

    /// The warnings and cautions of a step, for its card: the same words once more, so what they
    /// leave for the search and what is wrong with them is left out.
    fn cautions_of(
        &mut self,
        block: &Fenced<'_>,
        text: &str,
        events: &[Spanned<'_>],
    ) -> Vec<card::Warning> {
        let kept = (
            self.out.words.len(),
            self.out.findings.len(),
            self.out.links.len(),
        );
        let mut cautions = Vec::new();
        let mut at = 0;
        while at < events.len() {
            let end = end_of(events, at);
            // The words that stand over them in the page.
            let level = match events[at].0 {
                Event::Start(Tag::BlockQuote(Some(BlockQuoteKind::Caution))) => Some(Level::Danger),
                Event::Start(Tag::BlockQuote(Some(BlockQuoteKind::Warning))) => Some(Level::Care),
                _ => None,
            };
            if let Some(level) = level {
                let html = self.run(text, &events[at + 1..end], &block.origin, Place::Label);
                let words = html.replace("</p>", " ").replace("<p>", "");
                let words = card::without_links(words.trim());
                cautions.push(card::Warning::new(level, words));
            }
            at = end + 1;
        }
        self.out.words.truncate(kept.0);
        self.out.findings.truncate(kept.1);
        self.out.links.truncate(kept.2);
        cautions
    }

    /// `[!WARNIN]` would pass as an ordinary quotation, and the caution would be lost.
    fn misspelt_alert(&mut self, pass: &Pass<'_, '_>, at: usize) {
        let source = &pass.text[pass.events[at].1.clone()];
        let Some((_, rest)) = source.lines().next().unwrap_or_default().split_once("[!") else {
            return;
        };
        let word = rest.split(']').next().unwrap_or_default();
        let known = ["NOTE", "TIP", "IMPORTANT", "WARNING", "CAUTION"];
        let mend = match nearest(word, known) {
            Some(near) => format!("the nearest is `[!{near}]`, alone on its line"),
            None => format!("the kinds are {}", known.join(", ")),
        };
        self.find(
            pass.origin.span(&pass.events[at].1),
            format!("there is no caution `[!{word}]`"),
            Some(mend),
        );
    }

    // Small things.

    /// An id with a running number: `steps-1`.
    fn count(&mut self, what: &str) -> String {
        loop {
            let number = self.counts.entry(what.to_owned()).or_default();
            *number += 1;
            let id = format!("{what}-{number}");
            if self.out.anchors.insert(id.clone()) {
                return id;
            }
        }
    }

    /// The id itself if it is free on this page, else with a number from 2 on.
    fn unique(&mut self, wanted: &str) -> String {
        let wanted = escape(wanted);
        if self.out.anchors.insert(wanted.clone()) {
            return wanted;
        }
        let mut number = self.counts.get(&wanted).copied().unwrap_or(1);
        loop {
            number += 1;
            let id = format!("{wanted}-{number}");
            if self.out.anchors.insert(id.clone()) {
                self.counts.insert(wanted, number);
                return id;
            }
        }
    }

    /// Keeps words for the search.
    fn words(&mut self, words: &str) {
        self.out.words.push_str(words);
        self.out.words.push(' ');
    }

    fn flaws(&mut self, flaws: impl IntoIterator<Item = Flaw>, map: &dyn Fn(usize) -> usize) {
        for flaw in flaws {
            let start = map(flaw.span.start);
            let end = map(flaw.span.end.saturating_sub(1).max(flaw.span.start)) + 1;
            self.find(start..end, flaw.message, flaw.mend);
        }
    }

    fn find(&mut self, span: Range<usize>, message: impl Into<String>, mend: Option<String>) {
        let finding = Finding::at(&self.page.file, &self.page.text, span, message);
        self.out.findings.push(finding.maybe_mend(mend));
    }
}

/// One run over a stretch of events.
struct Pass<'e, 'p> {
    text: &'p str,
    events: &'p [Spanned<'e>],
    origin: &'p Origin,
    place: Place,
    /// How many links and headings stand open.
    depth: usize,
    /// The words at the head of each column of the table at hand.
    heads: Vec<String>,
    /// The next cell of the row at hand; in no row before the first one.
    cell: usize,
    /// How many elements of Markdown stand open.
    nest: usize,
    /// Tags of raw HTML that stand open: name, `nest` there, bytes in the file.
    open: Vec<(&'static str, usize, Range<usize>)>,
    out: Vec<Event<'e>>,
}

impl Pass<'_, '_> {
    fn html(&mut self, html: String) {
        self.out.push(Event::InlineHtml(html.into()));
    }

    /// Keeps a stop or bracket on the line of the number before it; gives what follows. Nothing
    /// in the text itself does: browsers break a line after any button.
    fn hold<'w>(&mut self, words: &CowStr<'w>) -> CowStr<'w> {
        let rest = words.trim_start_matches(['.', ',', ';', ':', ')', '?', '’', '”']);
        match self.out.last_mut() {
            Some(Event::InlineHtml(html))
                if html.starts_with(NUMBER) && rest.len() < words.len() =>
            {
                let marks = &words[..words.len() - rest.len()];
                *html = format!("<span class=\"whole\">{html}{marks}</span>").into();
                rest.to_owned().into()
            }
            _ => words.clone(),
        }
    }

    fn end_of(&self, at: usize) -> usize {
        end_of(self.events, at)
    }
}

/// The words at the head of each column of the table that begins here.
fn heads(events: &[Spanned<'_>]) -> Vec<String> {
    let mut heads = Vec::new();
    for (event, _) in events {
        match event {
            Event::Start(Tag::TableCell) => heads.push(String::new()),
            Event::Text(words) => {
                if let Some(head) = heads.last_mut() {
                    head.push_str(words);
                }
            }
            Event::End(TagEnd::TableHead) => break,
            _ => {}
        }
    }
    heads
}

/// How a number that can be pressed begins.
const NUMBER: &str = "<button type=\"button\" class=\"number\"";

/// A fenced block with its place in the file.
struct Fenced<'b> {
    word: &'b str,
    word_span: Range<usize>,
    argument: &'b str,
    argument_span: Range<usize>,
    body: String,
    origin: Origin,
}

impl<'b> Fenced<'b> {
    fn new(pass: &Pass<'_, '_>, at: usize, end: usize, info: &'b str) -> Self {
        let span = &pass.events[at].1;
        let info_at = pass.text[span.clone()].find(info).unwrap_or(0) + span.start;
        let word_end = info.find(char::is_whitespace).unwrap_or(info.len());
        let word = &info[..word_end];
        let argument = info[word_end..].trim();
        let argument_at = info_at + info.len() - info[word_end..].trim_start().len();
        let (body, origin) = gathered(pass, at, end, info_at);
        Self {
            word,
            word_span: pass.origin.span(&(info_at..info_at + word.len())),
            argument,
            argument_span: pass
                .origin
                .span(&(argument_at..argument_at + argument.len())),
            body,
            origin,
        }
    }

    /// Where the text of a TOML string stands. Escapes make the text differ from what is
    /// written; then its faults are put on the string as a whole.
    fn string(&self, text: &str, span: Range<usize>) -> Origin {
        match self.body[span.clone()].find(text) {
            Some(at) if !text.is_empty() => {
                let start = span.start + at;
                let mut pieces = vec![(0, self.origin.map(start))];
                for (newline, _) in text.match_indices('\n') {
                    pieces.push((newline + 1, self.origin.map(start + newline + 1)));
                }
                Origin::Pieces(pieces)
            }
            _ => Origin::Place(self.origin.map(span.start)),
        }
    }
}

/// The lines of a block as one text, without what a list or a quotation sets before them. An
/// empty block stands at `lacking`.
fn gathered(pass: &Pass<'_, '_>, at: usize, end: usize, lacking: usize) -> (String, Origin) {
    let mut body = String::new();
    let mut pieces = Vec::new();
    for (event, span) in &pass.events[at + 1..end] {
        if let Event::Text(line) | Event::Html(line) = event {
            pieces.push((body.len(), pass.origin.map(span.start)));
            body.push_str(line);
        }
    }
    if pieces.is_empty() {
        pieces.push((0, pass.origin.map(lacking)));
    }
    (body, Origin::Pieces(pieces))
}

/// A finding if `link` leads to an anchor that `anchors` lacks.
pub fn missing_anchor(page: &Text, link: &FarLink, anchors: &BTreeSet<String>) -> Option<Finding> {
    // A calculator's state rides in the address; it is no anchor.
    if anchors.contains(&link.anchor) || link.anchor.starts_with("set:") {
        return None;
    }
    let whose = if link.page.is_empty() {
        "this page".to_owned()
    } else {
        format!("the page `{}`", link.page)
    };
    let mend = nearest(&link.anchor, anchors.iter().map(String::as_str))
        .map(|near| format!("the nearest is `#{near}`"));
    let message = format!("{whose} has no anchor `#{}`", link.anchor);
    Some(Finding::at(&page.file, &page.text, link.span.clone(), message).maybe_mend(mend))
}

/// Checks the links to anchors of other pages, now that all pages are known.
pub fn far_links(drafts: &[Draft<'_>], rendered: &[Rendered]) -> Vec<Finding> {
    let anchors: BTreeMap<&str, &BTreeSet<String>> = drafts
        .iter()
        .zip(rendered)
        .map(|(draft, page)| (draft.name, &page.anchors))
        .collect();
    drafts
        .iter()
        .zip(rendered)
        .flat_map(|(draft, page)| page.links.iter().map(move |link| (draft.source, link)))
        .filter_map(|(source, link)| missing_anchor(source, link, anchors.get(link.page.as_str())?))
        .collect()
}

/// The name of our block that `word` was probably meant to be.
fn nearly_ours(word: &str) -> Option<&'static str> {
    // Names of calculators are often put where the word should stand.
    const OURS: [&str; 7] = [
        "calculator",
        "apparatus",
        "check",
        "steps",
        "plan",
        "kit",
        "waste",
    ];
    nearest(word, OURS).or_else(|| calculators::find(word).map(|_| "calculator NAME"))
}

type Missing = (String, Option<String>);

fn lookup<'m>(
    what: &str,
    name: &str,
    known: impl Iterator<Item = (&'m str, &'m String)> + Clone,
) -> Result<String, Missing> {
    if let Some((_, found)) = known.clone().find(|(key, _)| *key == name) {
        return Ok(found.clone());
    }
    let mend = spelling(name, known.map(|(key, _)| key));
    Err((format!("there is no {what} `{name}`"), mend))
}

/// The place of the event that ends what begins at `at`; `at` itself for a single event.
fn end_of(events: &[Spanned<'_>], at: usize) -> usize {
    let mut depth = 0usize;
    for (place, (event, _)) in events.iter().enumerate().skip(at) {
        match event {
            Event::Start(_) => depth += 1,
            Event::End(_) => depth = depth.saturating_sub(1),
            _ => {}
        }
        if depth == 0 {
            return place;
        }
    }
    events.len().saturating_sub(1)
}

/// Parts the inside of a list item into its first words and what follows them.
fn first_words<'p, 'e>(inside: &'p [Spanned<'e>]) -> (&'p [Spanned<'e>], &'p [Spanned<'e>]) {
    if let Some((Event::Start(Tag::Paragraph), _)) = inside.first() {
        let end = end_of(inside, 0);
        return (&inside[1..end], &inside[end + 1..]);
    }
    let mut at = 0;
    while at < inside.len() {
        let block = matches!(
            &inside[at].0,
            Event::Rule
                | Event::Html(_)
                | Event::Start(
                    Tag::Paragraph
                        | Tag::List(_)
                        | Tag::BlockQuote(_)
                        | Tag::CodeBlock(_)
                        | Tag::Table(_)
                        | Tag::Heading { .. }
                        | Tag::HtmlBlock
                        | Tag::DefinitionList
                )
        );
        if block {
            break;
        }
        at = end_of(inside, at) + 1;
    }
    inside.split_at(at)
}

/// Parts `Stir. (timer: 10 min)` into the words, the time and the timer's button.
fn take_timer(label: &str) -> Result<(String, Option<(String, String)>), String> {
    let Some((words, time)) = label
        .strip_suffix(')')
        .and_then(|l| l.rsplit_once("(timer:"))
    else {
        return Ok((label.to_owned(), None));
    };
    let written = time.trim();
    let minutes = written.split_once(' ').and_then(|(number, unit)| {
        let number: f64 = number.parse().ok()?;
        let each = match unit.trim() {
            "s" => 1.0 / 60.0,
            "min" => 1.0,
            "h" => 60.0,
            _ => return None,
        };
        let minutes = number * each;
        (minutes.is_finite() && minutes > 0.0 && minutes <= 7.0 * 24.0 * 60.0).then_some(minutes)
    });
    let Some(minutes) = minutes else {
        return Err(written.to_owned());
    };
    let button = format!(
        "<button type=\"button\" class=\"timer\" data-minutes=\"{minutes}\">{written}</button>"
    );
    Ok((
        words.trim_end().to_owned(),
        Some((written.to_owned(), button)),
    ))
}

fn plain_text(events: &[Spanned<'_>]) -> String {
    let mut text = String::new();
    for (event, _) in events {
        match event {
            Event::Text(words) => text.push_str(words),
            Event::Code(code) => text.push_str(code.trim_start_matches([':', '='])),
            Event::InlineMath(tex) => text.push_str(tex),
            Event::SoftBreak | Event::HardBreak => text.push(' '),
            _ => {}
        }
    }
    text
}

fn unwrap_paragraph(html: &str) -> &str {
    html.strip_prefix("<p>")
        .and_then(|html| html.strip_suffix("</p>"))
        .filter(|inside| !inside.contains("<p>"))
        .unwrap_or(html)
}

fn note_id<'e>(label: &str) -> CowStr<'e> {
    format!("note-{}", slug(label, "x")).into()
}

/// The path inside the content folder of a file named as seen from `page`.
fn beside(page: &str, address: &str) -> Option<String> {
    let mut parts: Vec<&str> = page.split('/').collect();
    parts.pop();
    for part in address.split('/') {
        match part {
            "" | "." => {}
            ".." => {
                parts.pop()?;
            }
            part => parts.push(part),
        }
    }
    Some(parts.join("/"))
}

fn percent_decode(text: &str) -> String {
    let bytes = text.as_bytes();
    let mut out = Vec::with_capacity(bytes.len());
    let mut at = 0;
    while at < bytes.len() {
        let code = (bytes[at] == b'%')
            .then(|| text.get(at + 1..at + 3))
            .flatten()
            .and_then(|hex| u8::from_str_radix(hex, 16).ok());
        match code {
            Some(byte) => {
                out.push(byte);
                at += 3;
            }
            None => {
                out.push(bytes[at]);
                at += 1;
            }
        }
    }
    String::from_utf8(out).unwrap_or_else(|_| text.to_owned())
}

fn lower_first(text: &str) -> String {
    let mut letters = text.trim_end_matches('.').chars();
    letters.next().map_or(String::new(), |first| {
        first.to_lowercase().chain(letters).collect()
    })
}
