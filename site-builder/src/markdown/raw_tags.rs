//! Raw HTML, where the site allows it.

use super::Writer;
use super::pass::{Origin, Pass};
use crate::markdown::raw_html::{self, Passed};

impl Writer<'_> {
    /// Passes the tags that may pass. Each must be closed in the part of the page in which it
    /// was opened, or it would take hold of what the builder writes around it.
    pub(super) fn raw_html(&mut self, pass: &mut Pass<'_, '_>, raw: &str, origin: &Origin) {
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

    pub(super) fn still_open(&mut self, pass: &mut Pass<'_, '_>) {
        for (name, _, span) in std::mem::take(&mut pass.open) {
            self.find(
                span,
                format!("`<{name}>` is never closed"),
                Some(format!("write `</{name}>` where it ends")),
            );
        }
    }
}
