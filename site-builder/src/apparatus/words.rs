//! The apparatus in words, and the whole figure as HTML.
//!
//! Everything the drawing shows is also said: which part stands on which, which openings are joined,
//! where hoses, water and heat go. A screen reader gets the same list that a thumb can touch.

use std::fmt::Write as _;

use super::assembly::{Assembly, End, Hold, HoseEnd};
use super::layout::reach;
use super::part::{Fit, Flow};
use calc_wasm::markup::escape;

/// What a part really holds, where its page gives that once for a run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fill {
    /// The part's short word.
    pub part: String,
    /// The amount, HTML.
    pub amount: String,
    /// Whether the part is of the right size for it, HTML.
    pub verdict: String,
}

impl Assembly {
    /// The figure: caption, drawing, legend, part list, kit, cautions, description.
    ///
    /// `id` becomes the figure's id and the stem of every id inside it.
    pub fn html(&self, id: &str) -> String {
        self.html_with(id, &[])
    }

    /// The same, with what some parts really hold.
    pub fn html_with(&self, id: &str, fills: &[Fill]) -> String {
        let id = escape(id);
        let mut html = format!(
            "<figure class=\"apparatus\" id=\"{id}\">\n<figcaption><strong>{}</strong>",
            escape(&self.title)
        );
        if !self.summary.is_empty() {
            let _ = write!(html, " {}", escape(&self.summary));
        }
        html.push_str("</figcaption>\n");
        html.push_str(&self.svg(&id));
        html.push('\n');
        self.legend(&mut html);
        self.list(&mut html, &id, fills);
        self.others(&mut html);
        self.cautions(&mut html);
        html.push_str("<details class=\"in-words\"><summary>The apparatus in words</summary>\n");
        for sentence in self.sentences() {
            let _ = writeln!(html, "<p>{}</p>", escape(&sentence));
        }
        html.push_str("</details>\n</figure>\n");
        html
    }

    /// The numbered parts with what else is needed, for a bench card.
    pub fn parts(&self, id: &str, fills: &[Fill]) -> String {
        let mut kit = String::new();
        self.list(&mut kit, &escape(id), fills);
        self.others(&mut kit);
        kit
    }

    fn legend(&self, html: &mut String) {
        let flows = self.flows();
        if flows.is_empty() {
            return;
        }
        html.push_str("<ul class=\"legend\">");
        for flow in flows {
            let words = match flow {
                Flow::Vapour => "vapour",
                Flow::Coolant => "cooling water",
                Flow::Gas if self.items.iter().any(|item| item.part.is("pump")) => {
                    "gas, towards the pump"
                }
                Flow::Gas => "gas",
                Flow::Liquid => "liquid that runs or drips",
            };
            let _ = write!(
                html,
                "<li><svg viewBox=\"0 0 24 12\" width=\"24\" height=\"12\" aria-hidden=\"true\"><path class=\"flow-{0}-line\" stroke-width=\"2\" d=\"M1 6H16\"/><path class=\"flow-{0}\" d=\"M23 6L14 2V10Z\"/></svg> {words}</li>",
                flow.word()
            );
        }
        html.push_str("</ul>\n");
    }

    /// Numbered parts; the numbers in the drawing lead here, and the names lead back.
    fn list(&self, html: &mut String, id: &str, fills: &[Fill]) {
        html.push_str("<ol class=\"kit\">\n");
        for (i, item) in self.items.iter().enumerate() {
            let number = i + 1;
            let label = capital(&item.part.label);
            let _ = write!(
                html,
                "<li id=\"{id}-part-{number}\"><a href=\"#{id}-drawn-{number}\">{}</a>",
                escape(&label)
            );
            let fill = fills.iter().find(|fill| fill.part == item.alias);
            let held: Vec<String> = item
                .holds
                .iter()
                .map(|(volume, of)| match fill {
                    Some(fill) if of.is_empty() => fill.amount.clone(),
                    Some(fill) => format!("{} of {}", fill.amount, escape(of)),
                    None => escape(&amount(*volume, of)),
                })
                .collect();
            if !held.is_empty() {
                let _ = write!(html, ", with {}", held.join(" below "));
            }
            if let Some(fill) = fill {
                let _ = write!(html, " <strong class=\"fits\">{}</strong>", fill.verdict);
            }
            if !item.part.instead.is_empty() {
                let _ = write!(
                    html,
                    " <span class=\"instead\">(or {})</span>",
                    escape(&item.part.instead.join(", or "))
                );
            }
            html.push_str("</li>\n");
        }
        html.push_str("</ol>\n");
    }

    fn others(&self, html: &mut String) {
        let extras = self.extras();
        if extras.is_empty() {
            return;
        }
        html.push_str("<p class=\"kit-more\">Also: ");
        let words: Vec<String> = extras
            .iter()
            .map(|line| {
                let label = escape(&line.label);
                match (line.unit.as_str(), line.quantity > 1.0) {
                    ("", false) => label,
                    ("", true) => format!("{}&#215; {label}", line.quantity),
                    (unit, _) => format!("{} {unit} {label}", line.quantity),
                }
            })
            .collect();
        html.push_str(&words.join("; "));
        html.push_str(".</p>\n");
    }

    /// Cautions the parts bring, each once.
    fn cautions(&self, html: &mut String) {
        let mut said: Vec<&str> = Vec::new();
        for item in &self.items {
            let caution = item.part.caution.as_str();
            if !caution.is_empty() && !said.contains(&caution) {
                said.push(caution);
            }
        }
        if said.is_empty() {
            return;
        }
        html.push_str("<ul class=\"kit-cautions\">");
        for caution in said {
            let _ = write!(html, "<li>{}</li>", escape(caution));
        }
        html.push_str("</ul>\n");
    }

    /// One sentence for the drawing's description.
    pub(crate) fn short_words(&self) -> String {
        let names: Vec<String> = self
            .items
            .iter()
            .enumerate()
            .map(|(i, item)| format!("{} {}", i + 1, item.part.label))
            .collect();
        format!(
            "{} Parts by number: {}. How they join is said in words below the drawing.",
            self.summary,
            names.join("; ")
        )
        .trim()
        .to_owned()
    }

    fn with_number(&self, item: usize) -> String {
        format!("{} ({})", self.items[item].part.label, item + 1)
    }

    /// How everything is joined, held and supplied.
    pub(crate) fn sentences(&self) -> Vec<String> {
        let mut sentences = Vec::new();
        for join in &self.joins {
            sentences.push(self.join_words(join.a, join.b));
        }
        for hose in &self.hoses {
            let end = |end: &HoseEnd| match end {
                HoseEnd::At(end) => format!(
                    "the {} of the {}",
                    self.port(*end).name,
                    self.with_number(end.item)
                ),
                HoseEnd::Outside("hood") => "the hood".to_owned(),
                HoseEnd::Outside("nitrogen") => "the nitrogen supply".to_owned(),
                HoseEnd::Outside(name) => format!("the supply of {}", name.replace('-', " ")),
            };
            sentences.push(format!(
                "A hose leads from {} to {}.",
                end(&hose.from),
                end(&hose.to)
            ));
        }
        for pass in &self.water {
            sentences.push(format!(
                "Cooling water enters the {} at its lower nipple and leaves at the other.",
                self.with_number(pass.into.item)
            ));
        }
        let held = |hold: Hold| {
            let names: Vec<String> = self
                .clamps
                .iter()
                .filter(|clamp| clamp.hold == hold)
                .map(|clamp| format!("the {}", self.with_number(clamp.item)))
                .collect();
            names.join(", ")
        };
        for (hold, words) in [
            (Hold::Clamp, "Clamped to a stand"),
            (Hold::Ring, "Carried by a ring"),
            (Hold::Clip, "Held by a joint clip"),
        ] {
            let names = held(hold);
            if !names.is_empty() {
                sentences.push(format!("{words}: {names}."));
            }
        }
        for end in &self.open {
            sentences.push(format!(
                "The {} of the {} stays open to the air.",
                self.port(*end).name,
                self.with_number(end.item)
            ));
        }
        sentences
    }

    fn join_words(&self, a: End, b: End) -> String {
        let (port, other) = (self.port(a), self.port(b));
        let (one, two) = (self.with_number(a.item), self.with_number(b.item));
        match (port.joint.fit, other.joint.fit) {
            (Fit::Seat, Fit::Foot) => format!(
                "The {two} stands {} the {one}.",
                if self.items[a.item].part.is("bath") {
                    "in"
                } else {
                    "on"
                }
            ),
            (Fit::Foot, Fit::Seat) => self.join_words(b, a),
            (Fit::Gland, Fit::Rod) => format!(
                "The {two} passes through the {one}; its tip is {:.0} mm below the seal.",
                reach(self, a, b)
            ),
            (Fit::Rod, Fit::Gland) => self.join_words(b, a),
            (Fit::Tip, _) => format!("The {one} drips into the {two}."),
            (_, Fit::Tip) => self.join_words(b, a),
            _ => format!(
                "The {} of the {one} is joined to the {} of the {two}, {}.",
                port.name, other.name, port.joint.size
            ),
        }
    }
}

fn amount(volume: f64, of: &str) -> String {
    if of.is_empty() {
        format!("{volume} mL")
    } else {
        format!("{volume} mL of {of}")
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}
