//! The worked result as HTML.

use crate::calculators::Calculator;
use crate::library::Library;
use crate::outcome::{Figure, Level, NextStep, Outcome, Table};
use crate::problem::Problem;

/// `text` safe inside HTML text and quoted attributes.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            other => out.push(other),
        }
    }
    out
}

/// Writes `template` with each `#` replaced by the next of `texts`, made safe. One call for an
/// element, where formatting would make and drop a text for each gap.
#[inline(never)]
fn put(out: &mut String, template: &str, texts: &[&str]) {
    let mut texts = texts.iter();
    for (at, piece) in template.split('#').enumerate() {
        if at > 0 {
            out.push_str(&escape(texts.next().copied().unwrap_or_default()));
        }
        out.push_str(piece);
    }
}

/// The whole block of a calculator in a page: form and worked result.
///
/// `id` is its name in the page; `pairs` are the author's values; `base` leads from the page to
/// the site's root.
pub fn block(
    calculator: &Calculator,
    library: &Library,
    id: &str,
    pairs: &[(String, String)],
    base: &str,
) -> String {
    format!(
        "<div class=\"calculator\" id=\"{id}\" data-calculator=\"{name}\">{form}\
         <section class=\"calc-result\" aria-live=\"polite\" aria-label=\"Result: {title}\">{result}</section></div>",
        id = escape(id),
        name = calculator.name,
        title = escape(calculator.title),
        form = super::form(calculator, library, id, pairs),
        result = result(calculator, library, id, pairs, base),
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
        Ok(outcome) => answer(&outcome, id, base),
        Err(problems) => refusal(&problems),
    }
}

fn refusal(problems: &[Problem]) -> String {
    let mut out = String::new();
    for problem in problems {
        put(
            &mut out,
            "<p class=\"problem\" data-for=\"#\">#</p>",
            &[&problem.input, &sentence(&problem.message)],
        );
    }
    out
}

/// Capital first letter and a full stop: messages have neither.
fn sentence(message: &str) -> String {
    let mut letters = message.chars();
    let first: String = letters
        .next()
        .map(|c| crate::problem::capital(c).to_string())
        .unwrap_or_default();
    format!("{first}{}.", letters.as_str())
}

fn answer(outcome: &Outcome, id: &str, base: &str) -> String {
    let mut out = String::with_capacity(8192);
    out.push_str("<dl class=\"figures\">");
    for (at, figure) in outcome.figures.iter().enumerate() {
        one_figure(figure, at == 0, &mut out);
    }
    out.push_str("</dl>");
    if outcome.extrapolated {
        out.push_str("<p class=\"extrapolated\"><strong>Outside its range:</strong> taken beyond what the data cover; treat it as a guide only.</p>");
    }
    for caution in &outcome.cautions {
        let (level, word) = match caution.level {
            Level::Danger => ("danger", "Danger"),
            Level::Care => ("care", "Take care"),
        };
        put(
            &mut out,
            "<p class=\"caution\" data-level=\"#\"><strong>#:</strong> #</p>",
            &[level, word, &caution.text],
        );
    }
    if let Some(plot) = &outcome.plot {
        out.push_str(&plot.html(&format!("{}-plot", escape(id))));
    }
    paragraph("why", &outcome.why, &mut out);
    if !outcome.notes.is_empty() {
        out.push_str("<ul class=\"notes\">");
        for note in &outcome.notes {
            put(&mut out, "<li>#</li>", &[note]);
        }
        out.push_str("</ul>");
    }
    for table in &outcome.tables {
        one_table(table, &mut out);
    }
    out.push_str("<details class=\"honesty\"><summary>How this was worked out</summary>");
    paragraph("method", &outcome.method, &mut out);
    paragraph("range", &outcome.validity, &mut out);
    paragraph("source", &outcome.source, &mut out);
    out.push_str("</details>");
    next_steps(&outcome.next, base, &mut out);
    out
}

fn paragraph(class: &str, text: &str, out: &mut String) {
    if !text.is_empty() {
        put(out, "<p class=\"#\">#</p>", &[class, text]);
    }
}

fn one_figure(figure: &Figure, main: bool, out: &mut String) {
    put(
        out,
        "<div class=\"figure#\" data-result=\"#\"><dt>#</dt><dd><output>#</output>",
        &[
            if main { " main" } else { "" },
            &figure.name,
            &figure.label,
            &figure.numeral(),
        ],
    );
    if !figure.unit.is_empty() {
        put(out, " <span class=\"unit\">#</span>", &[figure.unit]);
    }
    if let Some(interval) = figure.interval() {
        put(out, " <span class=\"interval\">#</span>", &[&interval]);
    }
    out.push_str("</dd></div>");
}

fn one_table(table: &Table, out: &mut String) {
    put(
        out,
        "<div class=\"calc-table\"><table><caption>#</caption><thead><tr>",
        &[&table.title],
    );
    for head in table.heads.split('\t') {
        put(out, "<th scope=\"col\">#</th>", &[head]);
    }
    out.push_str("</tr></thead><tbody>");
    for row in &table.rows {
        out.push_str("<tr>");
        for cell in row.split('\t') {
            put(out, "<td>#</td>", &[cell]);
        }
        out.push_str("</tr>");
    }
    out.push_str("</tbody></table></div>");
}

fn next_steps(steps: &[NextStep], base: &str, out: &mut String) {
    if steps.is_empty() {
        return;
    }
    out.push_str("<ul class=\"next\">");
    for step in steps {
        let values: Vec<String> = step
            .inputs
            .iter()
            .map(|(name, value)| format!("{}.{name}={}", step.calculator, percent(value)))
            .collect();
        out.push_str(&format!(
            "<li><a href=\"{}calculators/{}/{}{}\">{}</a></li>",
            escape(base),
            step.calculator,
            // With nothing to hand on, what the reader typed there last is kept.
            if values.is_empty() { "" } else { "#set:" },
            values.join("&amp;"),
            escape(&step.label)
        ));
    }
    out.push_str("</ul>");
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
