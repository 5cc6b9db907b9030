//! Small things that pass through: heads of tables, footnotes, misspelt alerts.

use super::Writer;
use super::pass::{Pass, Spanned};
use crate::read::source::slug;
use calc_wasm::problem::nearest;
use pulldown_cmark::{CowStr, Event, Tag, TagEnd};

/// The words at the head of each column of the table that begins here.
pub(super) fn heads(events: &[Spanned<'_>]) -> Vec<String> {
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

pub(super) fn note_id<'e>(label: &str) -> CowStr<'e> {
    format!("note-{}", slug(label, "x")).into()
}

impl Writer<'_> {
    /// `[!WARNIN]` would pass as an ordinary quotation, and the caution would be lost.
    pub(super) fn misspelt_alert(&mut self, pass: &Pass<'_, '_>, at: usize) {
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
}
