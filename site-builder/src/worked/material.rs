//! What a page gives to its card, gathered while its Markdown was read.

use crate::worked::class_kit::{ClassKit, SetUp};
use crate::worked::numbers::Worked;
use crate::worked::plan::Plan;
use calc_wasm::outcome::Level;
use serde::Serialize;

/// What a page gives to its card.
#[derive(Clone, Debug, Default)]
pub struct Material {
    /// Its calculators with the author's values.
    pub worked: Vec<Worked>,
    /// The sheet behind them, where the page has a run, as the script hands it to the core.
    pub sheet: Option<String>,
    /// What the run gives.
    pub given: Vec<RunGiven>,
    /// Its steps.
    pub steps: Vec<Steps>,
    /// Its drawings.
    pub drawings: Vec<SetUp>,
    /// Its time plan.
    pub plan: Option<Plan>,
    /// Its kit, added up.
    pub kit: Option<ClassKit>,
    /// Its waste.
    pub waste: Vec<Stream>,
    /// Names of the pages it links to, in order, once each.
    pub mentioned: Vec<String>,
}

/// A value that a run gives, as a card shows it.
#[derive(Clone, Debug, Default, Serialize)]
pub struct RunGiven {
    /// Its name.
    pub name: String,
    /// Its name for readers.
    pub label: String,
    /// The value.
    pub value: String,
}

impl Material {
    /// Notes that the page links to another.
    pub fn mentions(&mut self, name: &str) {
        if self.mentioned.iter().all(|known| known != name) {
            self.mentioned.push(name.to_owned());
        }
    }
}

/// The steps of one `steps` block.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Steps {
    /// The heading above them.
    pub title: String,
    /// The steps.
    pub steps: Vec<Step>,
}

/// One step.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Step {
    /// What to do, HTML.
    pub words: String,
    /// How long it takes, where it has a timer.
    pub takes: Option<String>,
    /// The cautions beside it.
    pub cautions: Vec<Warning>,
}

/// One waste stream.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Stream {
    /// Its name.
    pub name: String,
    /// What goes in, HTML.
    pub what: String,
}

/// One caution, of a calculator or beside a step.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Warning {
    /// `danger` or `care`
    pub level: &'static str,
    /// The word for it.
    pub word: &'static str,
    /// The sentences; beside a step HTML.
    pub text: String,
}

impl Warning {
    /// With the word for its level.
    pub fn new(level: Level, text: String) -> Self {
        let (level, word) = match level {
            Level::Danger => ("danger", "Danger"),
            Level::Care => ("care", "Take care"),
        };
        Self { level, word, text }
    }
}

/// Words without links: there is nothing to press on paper.
pub fn without_links(html: &str) -> String {
    let mut out = String::with_capacity(html.len());
    let mut rest = html;
    while let Some(at) = rest.find("<a") {
        let is_link = rest[at + 2..].starts_with([' ', '>']);
        let end = rest[at..].find('>').map_or(rest.len(), |end| at + end + 1);
        out.push_str(&rest[..if is_link { at } else { end }]);
        rest = &rest[end..];
    }
    out.push_str(rest);
    out.replace("</a>", "")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn takes_links_out_and_leaves_other_tags() {
        assert_eq!(
            without_links("<a class=\"term\" href=\"x\">Rf</a> of <abbr>x</abbr> <a>y</a>"),
            "Rf of <abbr>x</abbr> y"
        );
    }
}
