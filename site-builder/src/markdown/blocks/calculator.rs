//! A `calculator` block: its inputs checked, its result worked out and shown.

use super::Fenced;
use crate::markdown::Writer;
use crate::worked::numbers;
use calc_wasm::calculators::Calculator;

impl Writer<'_> {
    pub(super) fn calculator(&mut self, block: &Fenced<'_>) -> String {
        let span = block.argument_span.clone();
        if block.argument.is_empty() {
            self.find(
                block.word_span.clone(),
                "the block names no calculator",
                Some("write its name after the word, as in `calculator boiling-point`".into()),
            );
            return String::new();
        }
        let calculator = match numbers::calculator(block.argument, 0..block.argument.len()) {
            Ok(calculator) => calculator,
            Err(flaw) => {
                self.flaws(vec![flaw], &|at| span.start + at);
                return String::new();
            }
        };
        let read = numbers::block(calculator, &block.body);
        let Some(mut read) = self.sound(block, read) else {
            return String::new();
        };
        let id = match &read.id {
            Some((id, span)) => {
                if self.out.anchors.contains(id) {
                    let place = block.origin.span(span);
                    self.find(place, format!("the id `{id}` is taken on this page"), None);
                }
                self.out.anchors.insert(id.clone());
                id.clone()
            }
            None => self.unique(calculator.name),
        };
        if let Some(gathered) = &mut self.gathered {
            gathered.block(&id, &read);
            return String::new();
        }
        let answered = match &self.sheet {
            Some(sheet) => sheet.answered(&id, &mut read, self.base),
            None => read.alone(self.shelf.library),
        };
        let worked = read.worked(id, self.heading.clone(), answered);
        let Some(worked) = self.sound(block, worked) else {
            return String::new();
        };
        self.out.calculators.push(calculator.name.to_owned());
        let html = worked.html(self.shelf.library, &self.called(calculator), self.base);
        self.out.material.worked.push(worked);
        html
    }

    /// The name of a block's result for those who hear the page: the calculator, the heading above
    /// it, and a number where that heading has several of them.
    fn called(&self, calculator: &Calculator) -> String {
        let above = self.out.material.worked.iter().filter(|other| {
            other.calculator.name == calculator.name && other.heading == self.heading
        });
        let mut called = calculator.title.to_owned();
        if !self.heading.is_empty() && self.heading != calculator.title {
            called.push_str(&format!(", {}", self.heading));
        }
        match above.count() {
            0 => called,
            before => format!("{called}, {}", before + 1),
        }
    }
}
