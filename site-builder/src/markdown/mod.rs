//! Stage 4: Markdown to HTML. CommonMark with tables, footnotes, task lists, definition lists
//! and alerts; beyond that only fenced blocks and code spans, so that any viewer still shows
//! something sensible.
//!
//! The parser gives a stream of events with byte ranges. `Writer::event` sends each kind that
//! needs more than the standard HTML to its file; the rest passes through.

pub mod formula;
pub mod raw_html;

mod pass;
mod shelf;

mod blocks;
mod headings;
mod links;
mod notes;
mod pictures;
mod raw_tags;
mod spans;

pub mod kept;

pub use headings::{Heading, Section};
pub use links::{FarLink, far_links};
pub use shelf::Shelf;

use crate::finding::{Finding, Flaw};
use crate::read::source::Text;
use crate::worked::material::Material;
use crate::worked::run::{Gathered, PageSheet};
use calc_wasm::markup::escape;
use math_core::MathDisplay;
use notes::{heads, note_id};
use pass::{Origin, Pass, Place, Spanned, lines};
use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd, html};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

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
    /// Whether readings are logged on it.
    pub readings: bool,
    /// What its bench card is made from.
    pub material: Material,
    /// The words of the page, for the search.
    pub words: String,
    /// Its parts, in order, for the search.
    pub sections: Vec<Section>,
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
    let mut writer = Writer::new(page, base, shelf);
    if page.text[body..].contains("```run") {
        writer.sheet = Some(gathered(page, body, base, shelf).work_out(shelf.library));
    }
    writer.out.html = writer.fragment(&page.text[body..], &Origin::from(body), Place::Text);
    writer.near_links();
    writer.out
}

/// The calculators and numbers of a page with a run. What is wrong with it is found when it is
/// read again.
fn gathered(page: &Text, body: usize, base: &str, shelf: &Shelf<'_>) -> Gathered {
    let mut writer = Writer::new(page, base, shelf);
    writer.gathered = Some(Gathered::default());
    writer.fragment(&page.text[body..], &Origin::from(body), Place::Text);
    writer.gathered.unwrap_or_default()
}

struct Writer<'a> {
    page: &'a Text,
    base: &'a str,
    shelf: &'a Shelf<'a>,
    out: Rendered,
    counts: BTreeMap<String, usize>,
    /// The heading above what is being rendered.
    heading: String,
    /// What is gathered for the sheet of the page, while that is done.
    gathered: Option<Gathered>,
    /// The sheet of the page, where it has a run.
    sheet: Option<PageSheet>,
}

impl<'a> Writer<'a> {
    fn new(page: &'a Text, base: &'a str, shelf: &'a Shelf<'a>) -> Self {
        Writer {
            page,
            base,
            shelf,
            out: Rendered::default(),
            counts: BTreeMap::new(),
            heading: String::new(),
            gathered: None,
            sheet: None,
        }
    }

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
            tried: 0,
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
                let named: Vec<&str> = pass
                    .heads
                    .iter()
                    .map(String::as_str)
                    .filter(|head| !head.is_empty())
                    .collect();
                let label = escape(&format!("Table: {}", named.join(", ")));
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
            // A column without a name has no head: an empty one would be read out as one.
            Event::Start(Tag::TableCell)
                if pass.cell == usize::MAX
                    && matches!(pass.events[at + 1].0, Event::End(TagEnd::TableCell)) =>
            {
                pass.nest -= 1;
                pass.html("<td></td>".into());
                return at + 2;
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
                let (raw, origin) = lines(pass, at, end, span.start);
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
                if words.contains('$') {
                    self.broken_math(pass, at);
                }
                self.words(words);
                let rest = pass.hold(words);
                pass.out.push(Event::Text(rest));
            }
            _ => pass.out.push(event.clone()),
        }
        at + 1
    }
}

// What all of them use.

impl Writer<'_> {
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

    /// The same as a note: what an author should look at, and may well be right.
    fn remark(&mut self, span: Range<usize>, message: impl Into<String>, mend: &str) {
        self.find(span, message, Some(mend.into()));
        if let Some(finding) = self.out.findings.pop() {
            self.out.findings.push(finding.note());
        }
    }
}
