//! Numbers: calculator blocks and single numbers in running text, worked out by the core,
//! natively, while the site is built.

use crate::finding::{Flaw, choice, spelling};
use crate::read::source;
use crate::worked::given::{self, Given, inputs, pairs, words};
use calc_wasm::calculators::{self, Calculator};
use calc_wasm::library::Library;
use calc_wasm::outcome::{Figure, Outcome};
use calc_wasm::problem::Problem;
use calc_wasm::report;
use std::ops::Range;
use std::sync::Arc;

/// A calculator block as it was read, before it is worked out.
#[derive(Debug)]
pub struct Block {
    /// The calculator.
    pub calculator: &'static Calculator,
    /// The author's own id, if any, and where it stands.
    pub id: Option<(String, Range<usize>)>,
    /// The inputs.
    pub given: Vec<Given>,
    card: Option<Given>,
    flaws: Vec<Flaw>,
    /// All bytes of the block, to blame where no input is to blame.
    whole: Range<usize>,
}

/// A block worked out, once: page, prose, card, plan and kit draw on it.
#[derive(Clone, Debug)]
pub struct Worked {
    /// Its id in the page.
    pub id: String,
    /// The calculator.
    pub calculator: &'static Calculator,
    /// The inputs as its form shows them.
    pub pairs: Vec<(String, String)>,
    /// Those that draw on values or results of the page.
    pub drawn: Vec<String>,
    /// What it came to.
    pub outcome: Arc<Outcome>,
    /// What stands in its result, where that hangs on the page.
    pub result: Option<String>,
    /// Names of inputs and results for the bench card, where the author chose: none of them
    /// keeps the block off the card.
    pub card: Option<Vec<String>>,
    /// The heading above it.
    pub heading: String,
}

/// What a block came to, and what its form shows.
#[derive(Clone, Debug)]
pub struct Answered {
    /// The outcome.
    pub outcome: Arc<Outcome>,
    /// What stands in its result, where that hangs on the page.
    pub html: Option<String>,
    /// What inputs that draw on others show.
    pub drawn: Vec<(String, String)>,
}

impl Block {
    /// The block by itself, for a page without a run.
    ///
    /// # Errors
    /// All its flaws, by bytes of the body.
    pub fn alone(&mut self, library: &Library) -> Option<Answered> {
        let (outcome, flaws) = check(self.calculator, &self.given, library, self.whole.clone());
        self.flaws.extend(flaws);
        outcome.map(|outcome| Answered {
            outcome: Arc::new(outcome),
            html: None,
            drawn: Vec::new(),
        })
    }

    /// The block as its page keeps it.
    ///
    /// # Errors
    /// All its flaws, by bytes of the body.
    pub fn worked(
        mut self,
        id: String,
        heading: String,
        answered: Option<Answered>,
    ) -> Result<Worked, Vec<Flaw>> {
        let card = match (&self.card, &answered) {
            (Some(wanted), Some(answered)) => {
                let (names, flaw) = on_card(self.calculator, &answered.outcome, wanted);
                self.flaws.extend(flaw);
                Some(names)
            }
            _ => None,
        };
        let Some(answered) = answered.filter(|_| self.flaws.is_empty()) else {
            return Err(self.flaws);
        };
        let mut pairs = pairs(&self.given);
        for (name, text) in &mut pairs {
            if let Some((_, shown)) = answered.drawn.iter().find(|(its, _)| its == name) {
                text.clone_from(shown);
            }
        }
        Ok(Worked {
            id,
            calculator: self.calculator,
            pairs,
            drawn: answered.drawn.into_iter().map(|(name, _)| name).collect(),
            outcome: answered.outcome,
            result: answered.html,
            card,
            heading,
        })
    }

    /// Notes what is wrong with the block besides.
    pub(super) fn flaws(&mut self, flaws: impl IntoIterator<Item = Flaw>) {
        self.flaws.extend(flaws);
    }
}

#[cfg(test)]
impl Worked {
    /// A block as it would be on a page, nothing where it would be refused.
    pub(crate) fn on_a_page(id: &str, calculator: &str, pairs: &[(&str, &str)]) -> Self {
        let calculator = calculators::find(calculator).expect("a calculator");
        let pairs: Vec<_> = pairs
            .iter()
            .map(|(name, text)| ((*name).to_owned(), (*text).to_owned()))
            .collect();
        let outcome = calculator.run(&crate::read::data::of_the_site(), &pairs);
        Worked {
            id: id.to_owned(),
            calculator,
            pairs,
            drawn: Vec::new(),
            outcome: Arc::new(outcome.unwrap_or_default()),
            result: None,
            card: None,
            heading: String::new(),
        }
    }
}

impl Worked {
    /// The block as HTML: form and result. `called` tells its result from others of the page;
    /// `base` leads to the site's root.
    pub fn html(&self, library: &Library, called: &str, base: &str) -> String {
        let drawn: Vec<&str> = self.drawn.iter().map(String::as_str).collect();
        let shape = report::Shape {
            id: &self.id,
            pairs: &self.pairs,
            drawn: &drawn,
        };
        let result = match &self.result {
            Some(html) => html.clone(),
            None => report::answered(&self.outcome, &self.id, base),
        };
        report::block(self.calculator, library, &shape, called, &result)
    }
}

/// Finds a calculator, or says which is nearest.
///
/// # Errors
/// The name is not known; the flaw is at `span`.
pub fn calculator(name: &str, span: Range<usize>) -> Result<&'static Calculator, Flaw> {
    calculators::find(name).ok_or_else(|| {
        let flaw = Flaw::new(span, format!("there is no calculator `{name}`"));
        match calculators::nearest(name) {
            Some(near) => flaw.mend(format!("the nearest is `{near}`")),
            None => flaw.mend("`forerun compute` alone lists them"),
        }
    })
}

/// Reads a calculator block: its name from the fence, its inputs from the body.
///
/// # Errors
/// The body is no TOML.
pub fn block(calculator: &'static Calculator, body: &str) -> Result<Block, Vec<Flaw>> {
    let (mut given, mut flaws) = inputs(body)?;
    let mut take = |name: &str| {
        let place = given.iter().position(|one| one.name == name);
        place.map(|place| given.remove(place))
    };
    let id = take("id").map(|one| (one.text, one.text_span));
    let card = take("card");
    if let Some((text, span)) = &id
        && let Some(trouble) = source::name_trouble(text)
    {
        let message = format!("the id `{text}` {trouble}");
        flaws.push(Flaw::new(span.clone(), message));
    }
    Ok(Block {
        calculator,
        id,
        given,
        card,
        flaws,
        whole: 0..body.trim_end().len(),
    })
}

/// Reads `card = ["pressure", "temperature"]`, or `card = false`.
fn on_card(
    calculator: &Calculator,
    outcome: &Outcome,
    wanted: &Given,
) -> (Vec<String>, Option<Flaw>) {
    if wanted.text == "no" {
        return (Vec::new(), None);
    }
    let inputs = calculator.inputs.iter().map(|input| input.name);
    let figures = outcome.figures.iter().map(|figure| figure.name.as_ref());
    let known: Vec<&str> = inputs.chain(figures).collect();
    let names: Vec<String> = wanted.text.split("; ").map(str::to_owned).collect();
    let wrong = names.iter().find(|name| !known.contains(&name.as_str()));
    let flaw = wrong.map(|wrong| {
        let flaw = Flaw::new(
            wanted.text_span.clone(),
            format!(
                "`{}` has no input or result `{wrong}` for the card",
                calculator.name
            ),
        );
        flaw.mend(
            spelling(wrong, known.iter().copied())
                .unwrap_or_else(|| "write a list of their names, or `card = false`".to_owned()),
        )
    });
    (names, flaw)
}

/// A single number for running text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Number {
    /// `87 °C`
    pub shown: String,
    /// `86 to 88 °C`, where the result has an interval.
    pub interval: Option<String>,
    /// What the number is.
    pub label: String,
    /// Which calculator gave it.
    pub title: String,
}

/// Works out `calculator.result key="value" …`.
///
/// # Errors
/// All flaws, by bytes of `code`.
pub fn inline(code: &str, library: &Library) -> Result<Number, Vec<Flaw>> {
    let (calculator, figure) = figure(code, library, &[])?;
    Ok(Number {
        shown: figure.shown(),
        interval: figure.interval(),
        label: figure.label.to_string(),
        title: calculator.title.to_string(),
    })
}

/// The same, unrounded. The name may also be the id of a block of the page: then that block's
/// values are taken, and those given here go before them.
///
/// # Errors
/// All flaws, by bytes of `code`.
pub fn figure(
    code: &str,
    library: &Library,
    page: &[Worked],
) -> Result<(&'static Calculator, Figure), Vec<Flaw>> {
    let head_end = given::head_end(code);
    let head = &code[..head_end];
    let Some((name, result)) = head.split_once('.') else {
        return Err(vec![
            Flaw::new(0..head_end.max(1), format!("`{head}` names no result")).mend(
                "write calculator.result, as in `=boiling-point.temperature substance=\"toluene\"`",
            ),
        ]);
    };
    let mut given = words(code, head_end)?;
    let block = page.iter().find(|block| block.id == name);
    if let Some(block) = block.filter(|_| given.is_empty()) {
        let span = name.len() + 1..head_end;
        let figure = block.outcome.figure(result).cloned();
        return figure
            .map(|figure| (block.calculator, figure))
            .ok_or_else(|| vec![no_figure(name, result, span, &block.outcome)]);
    }
    let calculator = match block {
        Some(block) => block.calculator,
        None => calculator(name, 0..name.len()).map_err(|flaw| vec![flaw])?,
    };
    for (name, text) in block.iter().flat_map(|block| &block.pairs) {
        if given.iter().all(|one| one.name != *name) {
            given.push(Given {
                name: name.clone(),
                text: text.clone(),
                name_span: 0..head_end,
                text_span: 0..head_end,
            });
        }
    }
    let (outcome, flaws) = check(calculator, &given, library, 0..code.len());
    let Some(outcome) = outcome.filter(|_| flaws.is_empty()) else {
        return Err(flaws);
    };
    if let Some(figure) = outcome.figure(result) {
        return Ok((calculator, figure.clone()));
    }
    let span = name.len() + 1..head_end;
    Err(vec![no_figure(name, result, span, &outcome)])
}

/// Says that there is no such result: it is misspelt, or the calculator says in a note why it
/// gives none for these values.
pub(super) fn no_figure(name: &str, result: &str, span: Range<usize>, outcome: &Outcome) -> Flaw {
    let known: Vec<&str> = outcome
        .figures
        .iter()
        .map(|figure| figure.name.as_ref())
        .collect();
    let mut refusals: Vec<&str> = outcome
        .notes
        .iter()
        .filter(|note| note.contains(REFUSAL))
        .map(|note| note.trim_end_matches('.'))
        .collect();
    // The one about this very result, if there is one; what is left out may hang on another.
    let words = result.replace('_', " ");
    let about = |note: &&str| note.to_lowercase().replace('-', " ").contains(&words);
    if refusals.iter().any(about) {
        refusals.retain(about);
    }
    let message = format!("`{name}` has no result `{result}`");
    match spelling(result, known.iter().copied()) {
        None if !refusals.is_empty() => {
            let why = refusals.join("; ");
            Flaw::new(span, format!("{message} for these values: “{why}”")).mend(format!(
                "write the figure yourself, or take one of {}",
                known.join(", ")
            ))
        }
        _ => Flaw::new(span, message).mend(choice(result, &known)),
    }
}

/// How a calculator's note begins to say why a result is left out: `The warm-up time is not given:
/// …`.
const REFUSAL: &str = " is not given: ";

/// Runs the calculator and ties each of its problems to the place that caused it.
fn check(
    calculator: &'static Calculator,
    given: &[Given],
    library: &Library,
    whole: Range<usize>,
) -> (Option<Outcome>, Vec<Flaw>) {
    let mut flaws: Vec<Flaw> = given
        .iter()
        .filter_map(|one| unknown(calculator, one))
        .collect();
    let misspelt = !flaws.is_empty();
    let mut known = pairs(given);
    known.retain(|(name, _)| calculator.input(name).is_some());
    match calculator.run(library, &known) {
        Ok(_) if misspelt => (None, flaws),
        Ok(outcome) => (Some(outcome), flaws),
        Err(problems) => {
            // What seems left out may be what was misspelt, so it is not asked for as well.
            let blamed = |problem: &&Problem| {
                !misspelt || known.iter().any(|(name, _)| *name == input_of(problem))
            };
            flaws.extend(
                problems
                    .iter()
                    .filter(blamed)
                    .map(|problem| place(problem, given, whole.clone())),
            );
            (None, flaws)
        }
    }
}

pub(super) fn unknown(calculator: &'static Calculator, one: &Given) -> Option<Flaw> {
    let known: Vec<&str> = calculator.inputs.iter().map(|input| input.name).collect();
    if known.contains(&one.name.as_str()) {
        return None;
    }
    let flaw = Flaw::new(
        one.name_span.clone(),
        format!("`{}` has no input `{}`", calculator.name, one.name),
    );
    Some(flaw.mend(choice(&one.name, &known)))
}

/// A row's cell is blamed as `spots 2 rf`; the author wrote the list as one value.
fn input_of(problem: &Problem) -> &str {
    problem.input.split(' ').next().unwrap_or_default()
}

pub(super) fn place(problem: &Problem, given: &[Given], whole: Range<usize>) -> Flaw {
    let name = input_of(problem);
    let span = given
        .iter()
        .find(|one| one.name == name)
        .map_or(whole, |one| one.text_span.clone());
    let message = if problem.message.contains(&format!("`{name}`")) || name.is_empty() {
        problem.message.to_string()
    } else {
        format!("`{}`: {}", problem.input, problem.message)
    };
    Flaw::new(span, message)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn says_why_a_result_is_left_out() {
        let library = crate::read::data::of_the_site();
        let said = |code: &str| {
            let flaw = figure(code, &library, &[]).expect_err("flaws").remove(0);
            (flaw.message, flaw.mend.unwrap_or_default())
        };
        // No heat capacity of eugenol is known; the time to distil it lacks its heat of
        // vaporisation.
        for (result, why) in [
            ("warm_up_time", "“The warm-up time is not given: "),
            ("distilling_time", "The boil-up rate is not given: "),
        ] {
            let (message, mend) = said(&format!(
                "bath-setting.{result} substance=eugenol pressure=\"10 mmHg\""
            ));
            assert!(message.contains(why), "{message}");
            assert!(mend.contains("bath_temperature"), "{mend}");
        }
        // A slip of the pen is still one.
        let (message, mend) =
            said("bath-setting.bath_temprature substance=eugenol pressure=\"10 mmHg\"");
        assert!(!message.contains("not given"), "{message}");
        assert_eq!(mend, "the nearest is `bath_temperature`");
    }

    #[test]
    fn offers_the_nearest_calculator() {
        let flaw = calculator("boilng-point", 3..7).expect_err("a flaw");
        assert_eq!(flaw.span, 3..7);
        assert!(flaw.mend.expect("a mend").contains("`boiling-point`"));
    }
}
