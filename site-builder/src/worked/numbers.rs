//! Stage 5: numbers. Calculator blocks and single numbers in running text, worked out by the
//! core, natively, while the site is built.

use crate::finding::{Flaw, choice, spelling};
use calc_wasm::calculators::{self, Calculator};
use calc_wasm::library::Library;
use calc_wasm::outcome::{Figure, Outcome};
use calc_wasm::problem::Problem;
use calc_wasm::report;
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// An input as the author wrote it, and where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Given {
    /// Name of the input.
    pub name: String,
    /// Its text.
    pub text: String,
    /// Bytes of the name.
    pub name_span: Range<usize>,
    /// Bytes of the value.
    pub text_span: Range<usize>,
}

/// A calculator block, read and found sound.
#[derive(Debug)]
pub struct Block {
    /// The calculator.
    pub calculator: &'static Calculator,
    /// The author's own id, if any, and where it stands.
    pub id: Option<(String, Range<usize>)>,
    /// The inputs.
    pub pairs: Vec<(String, String)>,
    /// Names of inputs and results for the bench card, where the author chose: none of them
    /// keeps the block off the card.
    pub card: Option<Vec<String>>,
}

/// A block as it stands on its page, for what else draws on its values.
#[derive(Clone, Debug)]
pub struct Worked {
    /// Its id in the page.
    pub id: String,
    /// The calculator.
    pub calculator: &'static Calculator,
    /// The inputs.
    pub pairs: Vec<(String, String)>,
    /// As in [`Block`].
    pub card: Option<Vec<String>>,
    /// The heading above it.
    pub heading: String,
}

impl Block {
    /// The block as HTML: form and worked result. `called` tells its result from others of the
    /// page; `base` leads to the site's root.
    pub fn html(&self, library: &Library, id: &str, called: &str, base: &str) -> String {
        report::block(self.calculator, library, id, called, &self.pairs, base)
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
/// All flaws of the body, by bytes of the body.
pub fn block(
    calculator: &'static Calculator,
    body: &str,
    library: &Library,
) -> Result<Block, Vec<Flaw>> {
    let (mut given, mut flaws) = inputs(body)?;
    let mut take = |name: &str| {
        let place = given.iter().position(|one| one.name == name);
        place.map(|place| given.remove(place))
    };
    let id = take("id").map(|one| (one.text, one.text_span));
    let card = take("card");
    if let Some((text, span)) = &id
        && let Some(trouble) = crate::read::source::name_trouble(text)
    {
        flaws.push(Flaw::new(
            span.clone(),
            format!("the id `{text}` {trouble}"),
        ));
    }
    let (outcome, more) = check(calculator, &given, library, 0..body.trim_end().len());
    flaws.extend(more);
    let card = match (card, outcome) {
        (Some(wanted), Some(outcome)) => {
            let (names, more) = on_card(calculator, &outcome, &wanted);
            flaws.extend(more);
            Some(names)
        }
        _ => None,
    };
    if flaws.is_empty() {
        Ok(Block {
            calculator,
            id,
            pairs: pairs(&given),
            card,
        })
    } else {
        Err(flaws)
    }
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
    let head_end = code.find(char::is_whitespace).unwrap_or(code.len());
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
fn no_figure(name: &str, result: &str, span: Range<usize>, outcome: &Outcome) -> Flaw {
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
    known.retain(|(name, _)| calculator.inputs.iter().any(|input| input.name == name));
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

fn unknown(calculator: &'static Calculator, one: &Given) -> Option<Flaw> {
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

fn place(problem: &Problem, given: &[Given], whole: Range<usize>) -> Flaw {
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

fn pairs(given: &[Given]) -> Vec<(String, String)> {
    given
        .iter()
        .map(|one| (one.name.clone(), one.text.clone()))
        .collect()
}

/// Reads the TOML body of a block into inputs, in the order written.
fn inputs(body: &str) -> Result<(Vec<Given>, Vec<Flaw>), Vec<Flaw>> {
    let table = DeTable::parse(body).map_err(|error| vec![syntax(body, &error)])?;
    let mut given = Vec::new();
    let mut flaws = Vec::new();
    for (key, value) in table.get_ref() {
        match text(value.get_ref()) {
            Some(text) => given.push(Given {
                name: key.get_ref().to_string(),
                text,
                name_span: key.span(),
                text_span: value.span(),
            }),
            None => flaws.push(
                Flaw::new(
                    value.span(),
                    format!("`{}` is a {}", key.get_ref(), value.get_ref().type_str()),
                )
                .mend("write a number, words between quotes, or a list of them"),
            ),
        }
    }
    given.sort_by_key(|one| one.name_span.start);
    Ok((given, flaws))
}

/// A flaw of TOML itself.
pub fn syntax(body: &str, error: &toml::de::Error) -> Flaw {
    let span = error.span().unwrap_or(0..body.len());
    let said = error.message().lines().next().unwrap_or_default();
    Flaw::new(span, format!("cannot be read: {said}"))
        .mend("write `name = \"value\"`, one on each line")
}

fn text(value: &DeValue<'_>) -> Option<String> {
    Some(match value {
        DeValue::String(words) => words.to_string(),
        DeValue::Integer(number) => number.to_string().replace('_', ""),
        DeValue::Float(number) => number.to_string().replace('_', ""),
        DeValue::Boolean(truth) => if *truth { "yes" } else { "no" }.to_owned(),
        DeValue::Array(items) => items
            .iter()
            .map(|item| match item.get_ref() {
                DeValue::Array(_) => None,
                item => text(item),
            })
            .collect::<Option<Vec<_>>>()?
            .join("; "),
        DeValue::Datetime(_) | DeValue::Table(_) => return None,
    })
}

/// Reads `key="value" key='value' key=value` from byte `at` on.
fn words(code: &str, mut at: usize) -> Result<Vec<Given>, Vec<Flaw>> {
    let mut given: Vec<Given> = Vec::new();
    loop {
        at += code[at..].len() - code[at..].trim_start().len();
        let rest = &code[at..];
        if rest.is_empty() {
            return Ok(given);
        }
        let Some(equals) = rest
            .find('=')
            .filter(|e| !rest[..*e].contains(char::is_whitespace))
        else {
            return Err(vec![
                Flaw::new(at..code.len(), "an input is `name=\"value\"`".to_owned())
                    .mend("put quotes round a value that holds a space"),
            ]);
        };
        let value_at = at + equals + 1;
        let value = &code[value_at..];
        let quote = value.chars().next().filter(|c| matches!(c, '"' | '\''));
        let (text, end) = match quote {
            Some(quote) => match value[1..].find(quote) {
                Some(close) => (&value[1..1 + close], value_at + close + 2),
                None => {
                    return Err(vec![
                        Flaw::new(
                            value_at..code.len(),
                            "this value is never closed".to_owned(),
                        )
                        .mend(format!("put a {quote} after it")),
                    ]);
                }
            },
            None => {
                let end = value.find(char::is_whitespace).unwrap_or(value.len());
                (&value[..end], value_at + end)
            }
        };
        given.push(Given {
            name: rest[..equals].to_owned(),
            text: text.to_owned(),
            name_span: at..at + equals,
            text_span: value_at..end,
        });
        at = end;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plain(given: &[Given]) -> Vec<(&str, &str)> {
        given
            .iter()
            .map(|g| (g.name.as_str(), g.text.as_str()))
            .collect()
    }

    #[test]
    fn reads_inputs_of_a_block_in_their_order() {
        let body = "spots = [\"a: 0.35\", \"b: 0.2\"]\nportions = 3\nfree = true\nrate = 1_0.5\n";
        let (given, flaws) = inputs(body).expect("sound TOML");
        assert!(flaws.is_empty());
        assert_eq!(
            plain(&given),
            [
                ("spots", "a: 0.35; b: 0.2"),
                ("portions", "3"),
                ("free", "yes"),
                ("rate", "10.5")
            ]
        );
        assert_eq!(&body[given[1].text_span.clone()], "3");
    }

    #[test]
    fn says_what_is_not_toml_and_what_no_input_takes() {
        assert!(inputs("a = \n").is_err());
        assert_eq!(inputs("a = { b = 1 }\n").expect("sound").1.len(), 1);
    }

    #[test]
    fn reads_inputs_of_a_number() {
        let code = "boiling-point.temperature substance=\"ethyl benzoate\" pressure='15 mmHg' n=2";
        let given = words(code, 25).expect("sound");
        assert_eq!(
            plain(&given),
            [
                ("substance", "ethyl benzoate"),
                ("pressure", "15 mmHg"),
                ("n", "2")
            ]
        );
        assert_eq!(&code[given[1].name_span.clone()], "pressure");
        assert_eq!(&code[given[0].text_span.clone()], "\"ethyl benzoate\"");
        assert!(words("a b=\"c\"", 0).is_err());
        assert!(
            words("b=\"c", 0).expect_err("open")[0]
                .message
                .contains("never closed")
        );
    }

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
