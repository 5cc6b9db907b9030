//! The worked result as HTML.

use super::Shape;
use crate::calculators::Calculator;
use crate::library::Library;
use crate::markup::{Markup, escape};
use crate::outcome::{Caution, Figure, Level, NextStep, Outcome, Table};
use crate::problem::{self, Problem};
use crate::question;
use crate::readings::{self, Group, Log};

/// The whole block of a calculator in a page: form and worked result.
///
/// `called` is what a screen reader calls its result, which tells it from others of the page;
/// `result` is what stands inside `.calc-result`.
pub fn block(
    calculator: &Calculator,
    library: &Library,
    shape: &Shape<'_>,
    called: &str,
    result: &str,
) -> String {
    format!(
        "<div class=\"calculator\" id=\"{id}\" data-calculator=\"{name}\">{form}\
         <section class=\"calc-result\" aria-live=\"polite\" aria-label=\"Result: {called}\">{result}</section></div>",
        id = escape(shape.id),
        name = calculator.name,
        called = escape(called),
        form = super::form(calculator, library, shape),
    )
}

/// What stands inside `.calc-result`: the answer, or the problems.
pub fn result(
    calculator: &Calculator,
    library: &Library,
    id: &str,
    pairs: &[(String, String)],
    base: &str,
) -> String {
    match calculator.run(library, pairs) {
        Ok(outcome) => answered(&outcome, id, base),
        Err(problems) => refused(&problems),
    }
}

/// An answer. `id` is the name of its block in the page; `base` leads to the site's root.
pub fn answered(outcome: &Outcome, id: &str, base: &str) -> String {
    answered_below(outcome, id, base, &[])
}

/// A block of the same page that stands above, for the cautions that it gives already.
#[derive(Debug, Clone, Copy)]
pub struct Above<'a> {
    /// Its name in the page.
    pub id: &'a str,
    /// Its title.
    pub title: &'a str,
    /// What it came to.
    pub outcome: &'a Outcome,
}

/// The same below other blocks: a caution that stands in full at one of them is only counted, with
/// the way there.
pub fn answered_below(outcome: &Outcome, id: &str, base: &str, above: &[Above<'_>]) -> String {
    let mut out = Markup::default();
    answer(outcome, id, base, above, &mut out);
    out.finish()
}

/// A run worked out: what is said of each reading, then figures, plot and fractions.
pub fn log(log: &Log, id: &str, base: &str) -> String {
    let mut out = Markup::default();
    out.put("<ol class=\"judged\">");
    for one in &log.judged {
        out.put("<li data-verdict=\"#\">#</li>")
            .text(one.verdict)
            .text(one.text.trim());
    }
    out.put("</ol>");
    answer(&log.outcome, id, base, &[], &mut out);
    out.finish()
}

/// The runs of a class side by side.
pub fn class(groups: &[Group], base: &str) -> String {
    let mut out = Markup::default();
    for (id, outcome) in ["class-ranges", "class-shares"]
        .iter()
        .zip(&readings::class(groups))
    {
        if !outcome.figures.is_empty() {
            answer(outcome, id, base, &[], &mut out);
        }
    }
    out.finish()
}

/// What stands there while another calculator, called `title`, has no answer.
pub fn waits(title: &str) -> String {
    let mut out = Markup::default();
    out.put("<p class=\"problem waits\" data-for=\"\">Waits for “#”: see there.</p>")
        .text(title);
    out.finish()
}

/// A refusal: a sentence for each input that cannot be used.
pub fn refused(problems: &[Problem]) -> String {
    let mut out = Markup::default();
    for problem in problems {
        out.put("<p class=\"problem\" data-for=\"#\">#</p>")
            .text(&problem.input)
            .text(&sentence(&problem.message));
    }
    out.finish()
}

/// Capital first letter and a full stop: messages have neither.
pub(super) fn sentence(message: &str) -> String {
    let mut text = String::with_capacity(message.len() + 1);
    let mut letters = message.chars();
    text.extend(letters.next().map(problem::capital));
    text.push_str(letters.as_str());
    text.push('.');
    text
}

fn answer(outcome: &Outcome, id: &str, base: &str, above: &[Above<'_>], out: &mut Markup) {
    out.put("<dl class=\"figures\">");
    for (at, figure) in outcome.figures.iter().enumerate() {
        one_figure(figure, at == 0, out);
    }
    out.put("</dl>");
    beyond_its_range(outcome, out);
    cautions(outcome, above, out);
    if let Some(plot) = &outcome.plot {
        let mut id = id.to_string();
        id.push_str("-plot");
        plot.html(&id, out);
    }
    paragraph("why", &outcome.why, out);
    if !outcome.notes.is_empty() {
        out.put("<ul class=\"notes\">");
        for note in &outcome.notes {
            out.put("<li>#</li>").text(note);
        }
        out.put("</ul>");
    }
    for table in &outcome.tables {
        one_table(table, out);
    }
    out.put("<details class=\"honesty\"><summary>How this was worked out</summary>");
    paragraph("method", &outcome.method, out);
    paragraph("range", &outcome.validity, out);
    paragraph("source", &outcome.source, out);
    out.put("</details>");
    next_steps(&outcome.next, base, out);
}

fn cautions(outcome: &Outcome, above: &[Above<'_>], out: &mut Markup) {
    let mut first = None;
    let mut again = 0.0;
    for caution in &outcome.cautions {
        let said = above.iter().find(|one| {
            let mut its = one.outcome.cautions.iter();
            its.any(|other| other.text == caution.text)
        });
        if let Some(one) = said {
            first = first.or(Some(one));
            again += 1.0;
            continue;
        }
        one_caution(caution, out);
    }
    if let Some(one) = first {
        out.put("<p class=\"said-above\"><a href=\"##\">△ # more cautions stand above, first at “#”</a></p>")
            .markup("#")
            .text(one.id)
            .at(again)
            .text(one.title);
    }
}

fn beyond_its_range(outcome: &Outcome, out: &mut Markup) {
    if outcome.extrapolated {
        out.put("<p class=\"extrapolated\"><strong>Outside its range:</strong> taken beyond what the data cover; treat it as a guide only.</p>");
    }
}

fn one_caution(caution: &Caution, out: &mut Markup) {
    out.put(match caution.level {
        Level::Danger => {
            "<p class=\"caution\" data-level=\"danger\"><strong>Danger:</strong> #</p>"
        }
        Level::Care => "<p class=\"caution\" data-level=\"care\"><strong>Take care:</strong> #</p>",
    })
    .text(&caution.text);
}

fn paragraph(class: &str, text: &str, out: &mut Markup) {
    if !text.is_empty() {
        out.put("<p class=\"#\">#</p>").text(class).text(text);
    }
}

fn one_figure(figure: &Figure, main: bool, out: &mut Markup) {
    out.put("<div class=\"figure#\" data-result=\"#\"><dt>#</dt><dd><output>#</output>")
        .text(if main { " main" } else { "" })
        .text(&figure.name)
        .text(&figure.label)
        .text(&figure.numeral());
    if !figure.unit.is_empty() {
        out.put(" <span class=\"unit\">#</span>").text(figure.unit);
    }
    if let Some(interval) = figure.interval() {
        out.put(" <span class=\"interval\">#</span>")
            .text(&interval);
    }
    out.put("</dd></div>");
}

fn one_table(table: &Table, out: &mut Markup) {
    // It scrolls where it is wider than the window, by the keyboard too.
    out.put("<div class=\"calc-table\" role=\"group\" aria-label=\"#\" tabindex=\"0\"><table><caption>#</caption><thead><tr>")
        .text(&table.title)
        .text(&table.title);
    cells("<th scope=\"col\">#</th>", &table.heads, out);
    out.put("</tr></thead><tbody>");
    for row in &table.rows {
        out.put("<tr>");
        cells("<td>#</td>", row, out);
        out.put("</tr>");
    }
    out.put("</tbody></table></div>");
}

fn cells(template: &'static str, row: &str, out: &mut Markup) {
    for cell in row.split('\t') {
        out.put(template).text(cell);
    }
}

/// The answer to a question typed into the search: a link to the calculator filled in, the figures
/// that answer it, and its dangers; or why it cannot be answered. Empty where `text` asks nothing
/// of a calculator. `base` leads to the site's root.
pub fn asked(library: &Library, text: &str, base: &str) -> String {
    let mut out = Markup::default();
    let Some(question) = question::read(library, text) else {
        return out.finish();
    };
    let given = || question.pairs.iter().map(|(name, text)| (&**name, &**text));
    out.put("<p><a href=\"#\">")
        .markup(&address(base, question.calculator.name, &mut given()));
    out.put("#</a> ").text(question.calculator.title);
    for (at, (_, text)) in given().enumerate() {
        out.put("##")
            .markup(if at == 0 { "" } else { ", " })
            .text(text);
    }
    out.put("</p>");
    if !question.whole {
        return out.finish();
    }
    match question.calculator.run(library, &question.pairs) {
        Ok(outcome) => answer_in_short(&outcome, question.wanted, &mut out),
        Err(problems) => {
            out.put("#").markup(&refused(&problems));
        }
    }
    out.finish()
}

/// The figures of these names, and the dangers.
fn answer_in_short(outcome: &Outcome, wanted: &[&str], out: &mut Markup) {
    out.put("<dl class=\"figures\">");
    let figures = wanted.iter().filter_map(|name| outcome.figure(name));
    for (at, figure) in figures.enumerate() {
        one_figure(figure, at == 0, out);
    }
    out.put("</dl>");
    beyond_its_range(outcome, out);
    for caution in &outcome.cautions {
        if caution.level == Level::Danger {
            one_caution(caution, out);
        }
    }
}

fn next_steps(steps: &[NextStep], base: &str, out: &mut Markup) {
    if steps.is_empty() {
        return;
    }
    out.put("<ul class=\"next\">");
    for step in steps {
        let mut inputs = step.inputs.iter().map(|(name, value)| (&**name, &**value));
        out.put("<li><a href=\"#\">#</a></li>")
            .markup(&address(base, &step.calculator, &mut inputs))
            .text(&step.label);
    }
    out.put("</ul>");
}

/// The address of a calculator with these inputs filled in, as it stands in an attribute.
fn address(base: &str, calculator: &str, inputs: &mut dyn Iterator<Item = (&str, &str)>) -> String {
    let mut out = Markup::default();
    out.put("#calculators/#/").text(base).text(calculator);
    // With nothing to hand on, what the reader typed there last is kept.
    for (at, (name, value)) in inputs.enumerate() {
        out.put("##.#=#")
            .markup(if at == 0 { "#set:" } else { "&amp;" })
            .text(calculator)
            .text(name)
            .text(&percent(value));
    }
    out.finish()
}

/// Percent-encoding for the address: only letters, digits and `-_.~` stand as they are (RFC 3986).
pub fn percent(text: &str) -> String {
    const HEX: &[u8; 16] = b"0123456789ABCDEF";
    let mut out = String::new();
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || b"-_.~".contains(&byte) {
            out.push(char::from(byte));
        } else {
            out.push('%');
            out.push(char::from(HEX[usize::from(byte >> 4)]));
            out.push(char::from(HEX[usize::from(byte & 15)]));
        }
    }
    out
}
