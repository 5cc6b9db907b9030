//! Code spans and formulas: numbers worked out, chemical formulas, TeX, and plain code.

use super::Writer;
use super::pass::{Pass, Place};
use crate::formula;
use crate::numbers::{self, Number};
use calc_wasm::report::escape;
use math_core::MathDisplay;
use pulldown_cmark::{CowStr, Event};
use std::ops::Range;

/// How a number that can be pressed begins.
pub(super) const NUMBER: &str = "<button type=\"button\" class=\"number\"";

impl Writer<'_> {
    pub(super) fn code<'e>(
        &mut self,
        pass: &mut Pass<'e, '_>,
        code: &CowStr<'e>,
        span: &Range<usize>,
    ) {
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

    pub(super) fn math<'e>(
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
}

fn lower_first(text: &str) -> String {
    let mut letters = text.trim_end_matches('.').chars();
    letters.next().map_or(String::new(), |first| {
        first.to_lowercase().chain(letters).collect()
    })
}
