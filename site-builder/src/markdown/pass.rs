//! One run over a stretch of events, and where its text stands in the file.

use pulldown_cmark::{CowStr, Event};
use std::ops::Range;

/// How a number that can be pressed begins.
pub(super) const NUMBER: &str = "<button type=\"button\" class=\"number\"";

pub(super) type Spanned<'e> = (Event<'e>, Range<usize>);

/// Where a fragment stands in its file: most are a straight piece of it, some (a block inside a
/// list, a TOML string) are pieces put together.
#[derive(Clone, Debug)]
pub(super) enum Origin {
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
    pub(super) fn map(&self, offset: usize) -> usize {
        match self {
            Self::Place(at) => *at,
            Self::Pieces(pieces) => {
                let after = pieces.partition_point(|(from, _)| *from <= offset);
                let (from, to) = pieces[after.saturating_sub(1)];
                to + offset.saturating_sub(from)
            }
        }
    }

    pub(super) fn span(&self, span: &Range<usize>) -> Range<usize> {
        let start = self.map(span.start);
        let end = self.map(span.end.saturating_sub(1).max(span.start)) + 1;
        start..end.max(start + 1)
    }
}

/// Where a run of text is going, which decides what may stand in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Place {
    /// Ordinary text.
    Text,
    /// A label, link, heading or summary: nothing inside may be pressed.
    Label,
}

/// One run over a stretch of events.
pub(super) struct Pass<'e, 'p> {
    pub(super) text: &'p str,
    pub(super) events: &'p [Spanned<'e>],
    pub(super) origin: &'p Origin,
    pub(super) place: Place,
    /// How many links and headings stand open.
    pub(super) depth: usize,
    /// The words at the head of each column of the table at hand.
    pub(super) heads: Vec<String>,
    /// The next cell of the row at hand; in no row before the first one.
    pub(super) cell: usize,
    /// How many elements of Markdown stand open.
    pub(super) nest: usize,
    /// Tags of raw HTML that stand open: name, `nest` there, bytes in the file.
    pub(super) open: Vec<(&'static str, usize, Range<usize>)>,
    /// Up to where text was tried for broken formulas.
    pub(super) tried: usize,
    pub(super) out: Vec<Event<'e>>,
}

impl Pass<'_, '_> {
    pub(super) fn html(&mut self, html: String) {
        self.out.push(Event::InlineHtml(html.into()));
    }

    /// Keeps a stop or bracket on the line of the number before it; gives what follows. Nothing
    /// in the text itself does: browsers break a line after any button.
    pub(super) fn hold<'w>(&mut self, words: &CowStr<'w>) -> CowStr<'w> {
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

    pub(super) fn end_of(&self, at: usize) -> usize {
        end_of(self.events, at)
    }
}

/// The lines of a block as one text, without what a list or a quotation sets before them. An
/// empty block stands at `lacking`.
pub(super) fn lines(
    pass: &Pass<'_, '_>,
    at: usize,
    end: usize,
    lacking: usize,
) -> (String, Origin) {
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

/// The place of the event that ends what begins at `at`; `at` itself for a single event.
pub(super) fn end_of(events: &[Spanned<'_>], at: usize) -> usize {
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

pub(super) fn plain_text(events: &[Spanned<'_>]) -> String {
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

pub(super) fn unwrap_paragraph(html: &str) -> &str {
    html.strip_prefix("<p>")
        .and_then(|html| html.strip_suffix("</p>"))
        .filter(|inside| !inside.contains("<p>"))
        .unwrap_or(html)
}
