//! Blocks that plan a session: `plan` and `kit`.

use super::Fenced;
use crate::markdown::Writer;
use crate::worked::class_kit;
use crate::worked::plan;
use calc_wasm::equations::meeting;
use calc_wasm::markup::escape;

impl Writer<'_> {
    /// The time plan, drawn and as a table.
    pub(super) fn plan(&mut self, block: &Fenced<'_>) -> String {
        let read = plan::read(&block.body, self.shelf.library, &self.out.material.worked);
        let Some(plan) = self.sound(block, read) else {
            return String::new();
        };
        let id = self.count("plan");
        let html = plan.html(&id);
        self.out.material.plan.get_or_insert(plan);
        html
    }

    /// The kit of the drawings above, added up.
    pub(super) fn kit(&mut self, block: &Fenced<'_>) -> String {
        let material = &self.out.material;
        let drawings = &material.drawings;
        let kept = &self.shelf.assemblies;
        let read = class_kit::read(&block.body, drawings, kept, &material.worked);
        let Some(kit) = self.sound(block, read) else {
            return String::new();
        };
        let html = kit.html() + &self.kept_apart(block, &kit);
        self.out.material.kit.get_or_insert(kit);
        html
    }

    /// Says what of a kit must never meet: it stands on one bench.
    fn kept_apart(&mut self, block: &Fenced<'_>, kit: &class_kit::ClassKit) -> String {
        let library = self.shelf.library;
        let labels = kit.class.iter().map(|line| line.label.as_str());
        let named = meeting::named_in(library, &labels.collect::<Vec<_>>().join("; "));
        let mut html = String::new();
        for pair in meeting::meetings(library, &named) {
            if !pair.is_danger() {
                continue;
            }
            let (first, second, reason) = (pair.first, pair.second, pair.reason());
            self.remark(
                block.word_span.clone(),
                format!(
                    "danger: {first} and {second} stand in one kit and must never meet: {reason}"
                ),
                "keep them apart in the method, or hand out one after the other",
            );
            html.push_str(&format!(
                "<p class=\"kit-apart\">Keep apart: {} and {}. {}</p>\n",
                escape(first),
                escape(second),
                escape(&sentence(reason)),
            ));
        }
        html
    }
}

/// Half a sentence as a whole one.
fn sentence(words: &str) -> String {
    let (first, rest) = words.split_at(words.chars().next().map_or(0, char::len_utf8));
    format!("{}{rest}.", first.to_uppercase())
}
