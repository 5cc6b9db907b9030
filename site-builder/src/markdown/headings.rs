//! Headings: an anchor for each, and the list of contents.

use super::Writer;
use super::pass::{Pass, plain_text};
use crate::read::source::slug;
use pulldown_cmark::{Event, HeadingLevel, Tag, TagEnd};
use serde::Serialize;

/// A heading for the list of contents.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Heading {
    /// Its anchor.
    pub id: String,
    /// Its words.
    pub title: String,
}

/// A part of a page as the search knows it: from its heading to the next one, of any level.
#[derive(Clone, Debug)]
pub struct Section {
    /// The heading.
    pub heading: Heading,
    /// Where its words begin in [`super::Rendered::words`].
    pub from: usize,
}

impl Writer<'_> {
    pub(super) fn heading<'e>(
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
        let heading = Heading {
            id: id.clone(),
            title: title.to_owned(),
        };
        self.out.sections.push(Section {
            heading: heading.clone(),
            from: self.out.words.len(),
        });
        if level == HeadingLevel::H2 {
            self.out.contents.push(heading);
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
}
