//! Code spans and formulas: numbers worked out, chemical formulas, TeX, and plain code.

use super::Writer;
use super::pass::{NUMBER, Pass, Place};
use crate::markdown::formula;
use crate::worked::numbers::{self, Number};
use crate::worked::run;
use calc_wasm::markup::escape;
use calc_wasm::report::sheet::Shown;
use math_core::MathDisplay;
use pulldown_cmark::{CowStr, Event};
use std::ops::Range;

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
            if let Some(gathered) = &mut self.gathered {
                gathered.number(request);
                return;
            }
            let of_the_run = self.sheet.as_ref().and_then(|sheet| sheet.number(request));
            match of_the_run {
                Some(Ok((key, shown))) => {
                    let html = self.run_number(&key, &shown, place);
                    pass.html(html);
                    return;
                }
                Some(Err(flaws)) => {
                    self.flaws(flaws, &|at| pass.origin.map(inside + 1 + at));
                    return;
                }
                None => {}
            }
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

    /// A number that hangs on the run: the script finds it by its key.
    fn run_number(&mut self, key: &str, shown: &Shown, place: Place) -> String {
        if place == Place::Label || shown.tolerance.is_empty() {
            return run::number_html(key, &shown.text, &shown.tolerance);
        }
        let (key, text, tolerance) = (escape(key), escape(&shown.text), escape(&shown.tolerance));
        let id = self.count("number");
        format!(
            "{NUMBER} data-number=\"{key}\" popovertarget=\"{id}\">{text}</button><span class=\"tolerance\" popover id=\"{id}\">{tolerance}</span>"
        )
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
        // What is only gathered is shown to nobody.
        if self.gathered.is_some() {
            return;
        }
        // A brace that is never closed may find its partner in a later formula.
        if tex.contains('$') && !tex.contains("\\text") {
            let inside = pass.text[span.clone()].trim_start_matches('$');
            let start = span.end - inside.len();
            let first = inside.find('$').unwrap_or(inside.len());
            if let Some(odd) = odd_brace(&inside[..first]) {
                return self.odd_brace(pass, start, odd);
            }
        }
        match self.shelf.math.convert_with_local_state(tex, display) {
            Ok(result) => {
                let math = styled_outside(&without_styles(&result.mathml));
                pass.html(match display {
                    // A line of its own scrolls where it is wider than the window, by the keyboard
                    // too.
                    MathDisplay::Block => format!(
                        "<span class=\"formula-line\" role=\"group\" aria-label=\"Formula\" tabindex=\"0\">{math}</span>"
                    ),
                    MathDisplay::Inline => math,
                });
            }
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

    /// Says which brace has no partner, where that is why a formula is none: the parser takes it
    /// for text, dollar signs and all. `at` is the place of an event of text.
    pub(super) fn broken_math(&mut self, pass: &mut Pass<'_, '_>, at: usize) {
        let span = pass.events[at].1.clone();
        for (dollar, _) in pass.text[span.clone()].match_indices('$') {
            let open = span.start + dollar;
            if open < pass.tried || is_escaped(pass.text, open) {
                continue;
            }
            let Some(tex) = between_dollars(pass, at, open) else {
                continue;
            };
            let Some(odd) = odd_brace(&pass.text[tex.clone()]) else {
                continue;
            };
            pass.tried = tex.end + (tex.start - open);
            self.odd_brace(pass, tex.start, odd);
        }
    }

    fn odd_brace(&mut self, pass: &Pass<'_, '_>, tex: usize, (at, what): (usize, &str)) {
        let brace = tex + at;
        self.find(
            pass.origin.span(&(brace..brace + 1)),
            format!("the formula cannot be read: this {what}"),
            Some("every `{` has its `}`; a brace to be seen is `\\{`, a dollar sign that is money `\\$`".into()),
        );
    }
}

/// The formula without `style` attributes. The policy of the pages refuses them, so they would do
/// nothing but complain in the console (`\!` and the columns of a matrix bring them).
fn without_styles(mathml: &str) -> String {
    let mut html = String::with_capacity(mathml.len());
    for piece in mathml.split_inclusive('>') {
        let tag = piece.find('<').unwrap_or(piece.len());
        let (text, mut tag) = piece.split_at(tag);
        html.push_str(text);
        while let Some((before, after)) = tag.split_once(" style=\"") {
            html.push_str(before);
            tag = after.split_once('"').map_or("", |(_, rest)| rest);
        }
        html.push_str(tag);
    }
    html
}

/// The formula with `displaystyle` on an element round the fraction that is set large or small, where
/// MathML 3 and MathML Core both have it; on the fraction itself only the second has it.
fn styled_outside(mathml: &str) -> String {
    let mut html = String::with_capacity(mathml.len());
    let mut styled = Vec::new();
    for piece in mathml.split_inclusive('>') {
        if let Some((before, style)) = piece.split_once("<mfrac displaystyle=") {
            let style = style.trim_end_matches('>');
            html.push_str(&format!("{before}<mstyle displaystyle={style}><mfrac>"));
            styled.push(true);
            continue;
        }
        html.push_str(piece);
        if piece.contains("<mfrac") {
            styled.push(false);
        } else if piece.ends_with("</mfrac>") && styled.pop() == Some(true) {
            html.push_str("</mstyle>");
        }
    }
    html
}

/// What would be the formula that opens at `open`: up to the next dollar sign of the same piece of
/// text, code left out.
fn between_dollars(pass: &Pass<'_, '_>, at: usize, open: usize) -> Option<Range<usize>> {
    let text = pass.text;
    let marks = if text[open..].starts_with("$$") { 2 } else { 1 };
    let start = open + marks;
    let (mut from, mut depth) = (start, 0usize);
    let mut close = None;
    // No further than to that dollar sign: a page may have thousands.
    for (event, span) in &pass.events[at..] {
        match event {
            Event::Start(_) => depth += 1,
            Event::End(_) if depth == 0 => break,
            Event::End(_) => depth -= 1,
            Event::Code(_) => from = from.max(span.end),
            _ if span.end <= from => {}
            _ => {
                let found = text[from..span.end].match_indices(&"$$"[..marks]);
                close = found
                    .map(|(at, _)| from + at)
                    .find(|at| !is_escaped(text, *at));
                if close.is_some() {
                    break;
                }
                // The first of two may be the last of this event.
                from = span.end - usize::from(text[start..span.end].ends_with('$'));
            }
        }
    }
    let tex = start..close?;
    let inside = &text[tex.clone()];
    // One dollar sign beside a blank is money, and so the parser sees it.
    (marks == 2 || inside.trim() == inside).then_some(tex)
}

fn is_escaped(text: &str, at: usize) -> bool {
    let before = &text[..at];
    (before.len() - before.trim_end_matches('\\').len()) % 2 == 1
}

/// The brace without a partner, and what to say of it.
fn odd_brace(tex: &str) -> Option<(usize, &'static str)> {
    let mut open = Vec::new();
    for (at, c) in tex.char_indices().filter(|(at, _)| !is_escaped(tex, *at)) {
        match c {
            '{' => open.push(at),
            '}' if open.pop().is_none() => return Some((at, "`}` closes nothing")),
            _ => {}
        }
    }
    open.pop().map(|at| (at, "`{` is never closed"))
}

fn lower_first(text: &str) -> String {
    let mut letters = text.trim_end_matches('.').chars();
    letters.next().map_or(String::new(), |first| {
        first.to_lowercase().chain(letters).collect()
    })
}
