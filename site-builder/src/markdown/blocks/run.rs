//! A `run` block: what the page gives once.

use super::Fenced;
use crate::markdown::{Heading, Writer};
use crate::worked::run;

impl Writer<'_> {
    pub(super) fn run_block(&mut self, block: &Fenced<'_>) -> String {
        let Some(read) = self.sound(block, run::read(&block.body)) else {
            return String::new();
        };
        if let Some(gathered) = &mut self.gathered {
            gathered.run(read);
            return String::new();
        }
        if !self.out.anchors.insert(calc_wasm::sheet::RUN.to_owned()) {
            self.find(
                block.word_span.clone(),
                "the page has a run already",
                Some("give all values in one block".into()),
            );
            return String::new();
        }
        let Some(sheet) = &self.sheet else {
            return String::new();
        };
        let html = sheet.html(self.shelf.library);
        self.out.contents.push(Heading {
            id: calc_wasm::sheet::RUN.to_owned(),
            title: "This run".to_owned(),
        });
        self.out.material.sheet = Some(sheet.text());
        self.out.material.given = sheet.given();
        let flaws = sheet.flaws();
        self.flaws(flaws, &|at| block.origin.map(at));
        html
    }
}
