//! A plan as a figure with its table, and for a card as a figure with a key.

use super::{Part, Plan, clock, span};
use calc_wasm::markup::escape;
use std::fmt::Write as _;

impl Plan {
    /// The chart, its words and the table behind it.
    pub fn html(&self, id: &str) -> String {
        let rests = self.parts.iter().any(|part| part.rest.is_some());
        let mut html = format!(
            "<figure class=\"plan\" id=\"{id}\">\n{}\n<figcaption><ul class=\"legend\"><li class=\"worked\">worked out by a calculator</li><li class=\"given\">given by the author</li>{}</ul>\n<p>{}</p></figcaption>\n</figure>\n",
            self.svg(id),
            if rests {
                "<li class=\"rest\">the work may rest</li>"
            } else {
                ""
            },
            escape(&self.all_in_all())
        );
        html.push_str("<div class=\"wide\" role=\"region\" aria-label=\"Time plan\" tabindex=\"0\"><table class=\"plan-table\"><thead><tr><th scope=\"col\">No.</th><th scope=\"col\">Part</th><th scope=\"col\">Begins</th><th scope=\"col\">Takes</th><th scope=\"col\">From</th><th scope=\"col\">Note</th></tr></thead><tbody>\n");
        for (at, part) in self.parts.iter().enumerate() {
            let rest = part.rest.as_ref();
            let rest = rest.map_or(String::new(), |how| {
                format!("The work may rest here: {how}.")
            });
            let note = [part.note.as_str(), &rest];
            let note: Vec<&str> = note.into_iter().filter(|words| !words.is_empty()).collect();
            let _ = writeln!(
                html,
                "<tr><td>{}</td><th scope=\"row\">{}</th><td data-head=\"Begins\">{}</td><td data-head=\"Takes\">{}{}</td><td data-head=\"From\">{}</td><td data-head=\"Note\">{}</td></tr>",
                at + 1,
                escape(&part.name),
                clock(part.start),
                escape(&part.takes),
                part.range(),
                escape(&part.source),
                escape(&note.join(". ").replace(".. ", ". "))
            );
        }
        html.push_str("</tbody></table></div>\n");
        html
    }

    /// The chart and a key to its numbers, for a card.
    pub fn card(&self, id: &str) -> String {
        let mut html = format!(
            "<figure class=\"plan\">{}</figure><ol class=\"plan-key\">",
            self.svg(id)
        );
        for part in &self.parts {
            let _ = write!(
                html,
                "<li>{} <span class=\"takes\">{}</span></li>",
                escape(&part.name),
                escape(&part.takes)
            );
        }
        html.push_str("</ol>");
        html
    }

    pub(super) fn all_in_all(&self) -> String {
        let (total, each): (f64, f64) = (
            self.total(),
            self.parts.iter().map(|part| part.minutes).sum(),
        );
        let mut words = format!("All in all {}", span(total));
        if each > total + 0.5 {
            let _ = write!(
                words,
                ", with side by side what can be; one thing after the other it would be {}",
                span(each)
            );
        }
        words.push('.');
        words
    }
}

impl Part {
    /// The interval for the table.
    fn range(&self) -> String {
        self.between.map_or(String::new(), |(low, high)| {
            format!(
                " <span class=\"interval\">{} to {}</span>",
                span(low),
                span(high)
            )
        })
    }
}
