//! A `waste` block: what goes into which stream.

use super::Fenced;
use crate::markdown::Writer;
use crate::markdown::pass::{Place, unwrap_paragraph};
use crate::worked::material;
use calc_wasm::equations::meeting;
use calc_wasm::markup::escape;
use std::ops::Range;

impl Writer<'_> {
    /// What goes into which stream: `"Solids" = "drying agent, papers"`, one on each line.
    pub(super) fn waste(&mut self, block: &Fenced<'_>) -> String {
        let Some(table) = self.table(block) else {
            return String::new();
        };
        let mut streams: Vec<_> = table.iter().collect();
        // The order written is the order shown.
        streams.sort_by_key(|(key, _)| key.span().start);
        if streams.is_empty() {
            self.find(
                block.word_span.clone(),
                "the waste has no streams",
                Some("write `\"Solids\" = \"drying agent, papers\"`, one on each line".into()),
            );
        }
        let mut html = String::from(
            "<div class=\"wide\" role=\"region\" aria-label=\"Waste\" tabindex=\"0\"><table class=\"waste\"><thead><tr><th scope=\"col\">Stream</th><th scope=\"col\">What goes in</th></tr></thead><tbody>\n",
        );
        for (key, value) in streams {
            let Some(text) = value
                .get_ref()
                .as_str()
                .filter(|text| !text.trim().is_empty())
            else {
                self.find(
                    block.origin.span(&value.span()),
                    format!("what goes into `{}` is not words", key.get_ref()),
                    Some("write words between quotes".into()),
                );
                continue;
            };
            self.must_not_meet(key.get_ref(), text, block.origin.span(&value.span()));
            let origin = block.string(text, value.span());
            let what = self.fragment(text, &origin, Place::Label);
            let what = unwrap_paragraph(what.trim()).to_owned();
            let stream = escape(key.get_ref());
            html.push_str(&format!(
                "<tr><th scope=\"row\">{stream}</th><td data-head=\"What goes in\">{what}</td></tr>\n"
            ));
            self.out.material.waste.push(material::Stream {
                name: key.get_ref().to_string(),
                what: material::without_links(&what),
            });
        }
        html.push_str("</tbody></table></div>\n");
        html
    }

    /// Finds what must not meet among all that is named for one stream.
    fn must_not_meet(&mut self, stream: &str, text: &str, place: Range<usize>) {
        let library = self.shelf.library;
        let named = meeting::named_in(library, text);
        let of_the_stream = meeting::named_in(library, stream);
        if named.is_empty() && of_the_stream.is_empty() {
            self.remark(
                place.clone(),
                format!("`{stream}` names nothing that the table of materials knows, so nothing was checked"),
                "name what goes in, or add it to `content/data/materials.toml`",
            );
        }
        for pair in meeting::meetings(library, &named) {
            let (first, second) = (pair.first, pair.second);
            if !pair.is_danger() {
                self.remark(
                    place.clone(),
                    format!(
                        "take care: {first} and {second} both go into `{stream}`: {}",
                        pair.reason()
                    ),
                    "say beside it how they are brought together, or give each a stream of its own",
                );
            } else {
                self.find(
                    place.clone(),
                    format!(
                        "danger: {first} and {second} must never meet, and both go into `{stream}`: {}",
                        pair.reason()
                    ),
                    Some("give each a stream of its own".into()),
                );
            }
        }
        let free = stream.to_lowercase().contains("halogen-free");
        if let Some(one) = named.iter().find(|one| free && one.is("halogenated")) {
            self.find(
                place,
                format!(
                    "{} is halogenated and does not go into `{stream}`",
                    one.written
                ),
                Some("give it a stream of halogenated waste".into()),
            );
        }
    }
}
