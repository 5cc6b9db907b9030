//! An `apparatus` block: a set-up drawn, from the block itself or from a file.

use super::Fenced;
use crate::apparatus;
use crate::finding::spelling;
use crate::markdown::Writer;
use crate::worked::class_kit::SetUp;
use toml::de::{DeTable, DeValue};

impl Writer<'_> {
    /// Draws an assembly: written in the block itself, or kept in `content/assemblies/` and
    /// named by `from = "name"`.
    pub(super) fn apparatus(&mut self, block: &Fenced<'_>) -> String {
        let kept = DeTable::parse(&block.body)
            .ok()
            .and_then(|table| table.into_inner().remove_entry("from"));
        let drawn = match kept {
            Some((_, name)) => return self.kept_apparatus(block, &name),
            None => apparatus::assemble(self.shelf.parts, &block.body),
        };
        self.sound(block, drawn)
            .map_or(String::new(), |assembly| self.draw(None, &assembly))
    }

    fn kept_apparatus(&mut self, block: &Fenced<'_>, name: &toml::Spanned<DeValue<'_>>) -> String {
        let span = block.origin.span(&name.span());
        let wanted = name.get_ref().as_str().unwrap_or_default();
        if block.body.lines().filter(|line| line.contains('=')).count() > 1 {
            let message = "`from` stands alone: the block takes the whole assembly";
            self.find(
                span,
                message,
                Some("take the other lines out, or write the parts here".into()),
            );
            return String::new();
        }
        match self.shelf.assemblies.get(wanted) {
            Some(Some(assembly)) => self.draw(Some(wanted.to_owned()), assembly),
            // Its own file has the findings.
            Some(None) => String::new(),
            None => {
                let mend = spelling(wanted, self.shelf.assemblies.keys().copied());
                self.find(span, format!("there is no assembly `{wanted}`"), mend);
                String::new()
            }
        }
    }

    fn draw(&mut self, name: Option<String>, assembly: &apparatus::Assembly) -> String {
        let id = self.count("apparatus");
        let html = assembly.html(&id);
        let drawing = html
            .find("<svg")
            .zip(html.find("</svg>"))
            .map_or("", |(start, end)| &html[start..end + "</svg>".len()]);
        self.out.material.drawings.push(SetUp {
            name,
            assembly: assembly.clone(),
            svg: drawing.to_owned(),
            id,
        });
        html
    }
}
