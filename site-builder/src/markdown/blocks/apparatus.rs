//! An `apparatus` block: a set-up drawn, from the block itself or from a file.

use super::Fenced;
use crate::apparatus::words::Fill;
use crate::apparatus::{self, Assembly};
use crate::finding::spelling;
use crate::markdown::Writer;
use crate::worked::class_kit::SetUp;
use crate::worked::run;
use calc_wasm::report::sheet::Shown;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// What a part holds in the run of the page: its short word, the amount as the author wrote it,
/// and the place of the word.
type Charge = (String, String, Range<usize>);

impl Writer<'_> {
    /// Draws an assembly: written in the block itself, or kept in `content/assemblies/` and
    /// named by `from = "name"`. With `fill = { flask = "=charge" }` a part of a kept one is held
    /// against the run.
    pub(super) fn apparatus(&mut self, block: &Fenced<'_>) -> String {
        let table = DeTable::parse(&block.body).ok().map(Spanned::into_inner);
        let kept = table.and_then(|mut table| {
            let (_, name) = table.remove_entry("from")?;
            Some((name, table))
        });
        let drawn = match kept {
            Some((name, rest)) => return self.kept_apparatus(block, &name, &rest),
            // Only kept assemblies draw on the run.
            None if self.gathered.is_some() => return String::new(),
            None => apparatus::assemble(self.shelf.parts, &block.body),
        };
        self.sound(block, drawn)
            .map_or(String::new(), |assembly| self.draw(None, &assembly, &[]))
    }

    fn kept_apparatus(
        &mut self,
        block: &Fenced<'_>,
        name: &Spanned<DeValue<'_>>,
        rest: &DeTable<'_>,
    ) -> String {
        let span = block.origin.span(&name.span());
        let wanted = name.get_ref().as_str().unwrap_or_default();
        if rest.keys().any(|key| key.get_ref() != "fill") {
            let message = "`from` stands alone: the block takes the whole assembly";
            self.find(
                span,
                message,
                Some("take the other lines out, or write the parts here".into()),
            );
            return String::new();
        }
        // The shelf outlives the writer, so that what it holds can be drawn while findings are
        // written.
        let shelf = self.shelf;
        match shelf.assemblies.get(wanted) {
            Some(Some(assembly)) => {
                let charges = self.charges(block, rest, assembly);
                let fills: Vec<Fill> = charges
                    .iter()
                    .filter_map(|charge| self.fill(block, assembly, charge))
                    .collect();
                if self.gathered.is_some() {
                    return String::new();
                }
                self.draw(Some(wanted.to_owned()), assembly, &fills)
            }
            // Its own file has the findings.
            Some(None) => String::new(),
            None => {
                let mend = spelling(wanted, self.shelf.assemblies.keys().copied());
                self.find(span, format!("there is no assembly `{wanted}`"), mend);
                String::new()
            }
        }
    }

    /// Reads `fill = { flask = "=charge" }`.
    fn charges(
        &mut self,
        block: &Fenced<'_>,
        table: &DeTable<'_>,
        assembly: &Assembly,
    ) -> Vec<Charge> {
        let Some(value) = table.get("fill") else {
            return Vec::new();
        };
        let mut charges = Vec::new();
        let known: Vec<&str> = assembly.capacities().map(|(part, _)| part).collect();
        for (key, amount) in value.get_ref().as_table().into_iter().flatten() {
            let part = key.get_ref().as_ref();
            let place = block.origin.span(&key.span());
            match amount.get_ref().as_str() {
                Some(amount) if known.contains(&part) => {
                    charges.push((part.to_owned(), amount.to_owned(), key.span()));
                }
                Some(_) => {
                    let mend = spelling(part, known.iter().copied())
                        .unwrap_or_else(|| format!("it is one of {}", known.join(", ")));
                    let message = format!("no part `{part}` of this assembly holds so many mL");
                    self.find(place, message, Some(mend));
                }
                None => self.find(
                    place,
                    format!("`{part}` is not words"),
                    Some("write `\"=charge\"`".into()),
                ),
            }
        }
        if value.get_ref().as_table().is_none() {
            self.find(
                block.origin.span(&value.span()),
                "`fill` names no part",
                Some("write `fill = { flask = \"=charge\" }`".into()),
            );
        }
        charges
    }

    /// The part against what it holds in the run, worked out by the calculator of flasks.
    fn fill(
        &mut self,
        block: &Fenced<'_>,
        assembly: &Assembly,
        (part, amount, span): &Charge,
    ) -> Option<Fill> {
        let mut capacities = assembly.capacities();
        let (_, capacity) = capacities.find(|(alias, _)| alias == part)?;
        let purpose = if assembly.is_evacuated() {
            "vacuum"
        } else {
            "distillation"
        };
        let code = format!(
            "flask-size.verdict volume=\"{amount}\" flask=\"{capacity} mL\" purpose={purpose}"
        );
        let value = amount.trim_start_matches('=');
        if let Some(gathered) = &mut self.gathered {
            gathered.number(&code);
            gathered.number(value);
            return None;
        }
        let place = block.origin.span(span);
        let numbers = [value, &code].map(|code| self.sheet.as_ref()?.number(code));
        let [Some(Ok(shown)), Some(Ok(verdict))] = numbers else {
            let message = format!("`{amount}` is no value of a run on this page");
            self.find(
                place,
                message,
                Some("give it in a `run` block above".into()),
            );
            return None;
        };
        let live = |(key, shown): (String, Shown)| run::number_html(&key, &shown.text, "");
        Some(Fill {
            part: part.clone(),
            amount: live(shown),
            verdict: live(verdict),
        })
    }

    fn draw(&mut self, name: Option<String>, assembly: &Assembly, fills: &[Fill]) -> String {
        let id = self.count("apparatus");
        let html = assembly.html_with(&id, fills);
        let drawing = html
            .find("<svg")
            .zip(html.find("</svg>"))
            .map_or("", |(start, end)| &html[start..end + "</svg>".len()]);
        self.out.material.drawings.push(SetUp {
            name,
            assembly: assembly.clone(),
            svg: drawing.to_owned(),
            id,
            fills: fills.to_vec(),
        });
        html
    }
}
