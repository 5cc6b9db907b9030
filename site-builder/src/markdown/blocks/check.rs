//! A `check` block: a question with its answer folded away.

use super::Fenced;
use crate::finding::choice;
use crate::markdown::Writer;
use crate::markdown::pass::{Place, unwrap_paragraph};
use std::collections::BTreeMap;

impl Writer<'_> {
    pub(super) fn check(&mut self, block: &Fenced<'_>) -> String {
        let Some(table) = self.table(block) else {
            return String::new();
        };
        let mut parts = BTreeMap::new();
        for (key, value) in &table {
            let name = key.get_ref().as_ref();
            if !["question", "answer"].contains(&name) {
                self.find(
                    block.origin.span(&key.span()),
                    format!("a check has no `{name}`"),
                    Some(choice(name, &["question", "answer"])),
                );
            } else if let Some(text) = value.get_ref().as_str() {
                let origin = block.string(text, value.span());
                let place = if name == "question" {
                    Place::Label
                } else {
                    Place::Text
                };
                parts.insert(name.to_owned(), self.fragment(text, &origin, place));
            } else {
                self.find(
                    block.origin.span(&value.span()),
                    format!("`{name}` is not words"),
                    Some("write Markdown between quotes".into()),
                );
            }
        }
        for name in ["question", "answer"] {
            if !table.contains_key(name) {
                self.find(
                    block.word_span.clone(),
                    format!("the check has no `{name}`"),
                    Some(format!("add `{name} = \"…\"`")),
                );
            }
        }
        let id = self.count("check");
        let part = |name: &str| parts.get(name).map_or("", |html: &String| html.trim());
        format!(
            "<details class=\"check\" id=\"{id}\"><summary>{}</summary>\n{}\n</details>\n",
            unwrap_paragraph(part("question")),
            part("answer")
        )
    }
}
