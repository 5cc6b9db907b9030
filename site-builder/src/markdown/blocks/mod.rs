//! Fenced blocks of our own; any other is code and passes through.
//!
//! | block | file |
//! |---|---|
//! | `calculator NAME` | `calculator.rs` |
//! | `apparatus` | `apparatus.rs` |
//! | `check` | `check.rs` |
//! | `steps` | `steps.rs` |
//! | `plan`, `kit` | `session.rs` |
//! | `waste` | `waste.rs` |
//! | `readings` | `readings.rs` |
//! | `run` | `run.rs` |

mod apparatus;
mod calculator;
mod check;
mod readings;
mod run;
mod session;
mod steps;
mod waste;

use super::Writer;
use super::pass::{Origin, Pass, lines};
use crate::finding::Flaw;
use crate::worked::given;
use calc_wasm::calculators;
use calc_wasm::problem::nearest;
use pulldown_cmark::{CodeBlockKind, Event};
use std::ops::Range;
use toml::de::DeTable;

/// A fenced block with its place in the file.
struct Fenced<'b> {
    word: &'b str,
    word_span: Range<usize>,
    argument: &'b str,
    argument_span: Range<usize>,
    body: String,
    origin: Origin,
}

impl<'b> Fenced<'b> {
    fn new(pass: &Pass<'_, '_>, at: usize, end: usize, info: &'b str) -> Self {
        let span = &pass.events[at].1;
        let info_at = pass.text[span.clone()].find(info).unwrap_or(0) + span.start;
        let word_end = info.find(char::is_whitespace).unwrap_or(info.len());
        let word = &info[..word_end];
        let argument = info[word_end..].trim();
        let argument_at = info_at + info.len() - info[word_end..].trim_start().len();
        let (body, origin) = lines(pass, at, end, info_at);
        Self {
            word,
            word_span: pass.origin.span(&(info_at..info_at + word.len())),
            argument,
            argument_span: pass
                .origin
                .span(&(argument_at..argument_at + argument.len())),
            body,
            origin,
        }
    }

    /// Where the text of a TOML string stands. Escapes make the text differ from what is
    /// written; then its faults are put on the string as a whole.
    fn string(&self, text: &str, span: Range<usize>) -> Origin {
        match self.body[span.clone()].find(text) {
            Some(at) if !text.is_empty() => {
                let start = span.start + at;
                let mut pieces = vec![(0, self.origin.map(start))];
                for (newline, _) in text.match_indices('\n') {
                    pieces.push((newline + 1, self.origin.map(start + newline + 1)));
                }
                Origin::Pieces(pieces)
            }
            _ => Origin::Place(self.origin.map(span.start)),
        }
    }
}

impl Writer<'_> {
    pub(super) fn code_block<'e>(
        &mut self,
        pass: &mut Pass<'e, '_>,
        at: usize,
        kind: &CodeBlockKind<'e>,
    ) -> usize {
        let end = pass.end_of(at);
        let CodeBlockKind::Fenced(info) = kind else {
            pass.out
                .extend(pass.events[at..=end].iter().map(|(event, _)| event.clone()));
            return end + 1;
        };
        let block = Fenced::new(pass, at, end, info);
        // Gathered are calculators and numbers, and no other block draws on what stands below it.
        let later = ["plan", "kit", "waste"];
        if self.gathered.is_some() && later.contains(&block.word) {
            return end + 1;
        }
        let html = match block.word {
            "calculator" => self.calculator(&block),
            "apparatus" => self.apparatus(&block),
            "check" => self.check(&block),
            "steps" => self.steps(&block),
            "plan" => self.plan(&block),
            "kit" => self.kit(&block),
            "waste" => self.waste(&block),
            "readings" => self.readings(&block),
            "run" => self.run_block(&block),
            word => {
                if let Some(near) = nearly_ours(word) {
                    self.find(
                        block.word_span.clone(),
                        format!("there is no block `{word}`"),
                        Some(format!("the nearest is `{near}`")),
                    );
                }
                pass.out
                    .extend(pass.events[at..=end].iter().map(|(event, _)| event.clone()));
                return end + 1;
            }
        };
        pass.out.push(Event::Html(html.into()));
        end + 1
    }
}

impl Writer<'_> {
    /// What was read from a block, or its flaws as findings and nothing.
    fn sound<T>(&mut self, block: &Fenced<'_>, read: Result<T, Vec<Flaw>>) -> Option<T> {
        match read {
            Ok(read) => Some(read),
            Err(flaws) => {
                self.flaws(flaws, &|at| block.origin.map(at));
                None
            }
        }
    }

    /// The TOML of a block.
    fn table<'b>(&mut self, block: &'b Fenced<'_>) -> Option<DeTable<'b>> {
        let read = DeTable::parse(&block.body)
            .map(toml::Spanned::into_inner)
            .map_err(|error| vec![given::syntax(&block.body, &error)]);
        self.sound(block, read)
    }
}

/// The name of our block that `word` was probably meant to be.
fn nearly_ours(word: &str) -> Option<&'static str> {
    // Names of calculators are often put where the word should stand.
    const OURS: [&str; 9] = [
        "calculator",
        "apparatus",
        "check",
        "steps",
        "plan",
        "kit",
        "waste",
        "readings",
        "run",
    ];
    nearest(word, OURS).or_else(|| calculators::find(word).map(|_| "calculator NAME"))
}
