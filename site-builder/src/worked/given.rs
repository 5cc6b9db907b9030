//! Inputs as an author writes them: in the TOML of a block, or behind a number in a sentence.

use crate::finding::Flaw;
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

/// Names and texts alone.
pub(crate) fn pairs(given: &[Given]) -> Vec<(String, String)> {
    given
        .iter()
        .map(|one| (one.name.clone(), one.text.clone()))
        .collect()
}

/// Reads the TOML body of a block into inputs, in the order written.
pub(crate) fn inputs(body: &str) -> Result<(Vec<Given>, Vec<Flaw>), Vec<Flaw>> {
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

pub(crate) fn text(value: &DeValue<'_>) -> Option<String> {
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

/// Where the head of a number ends: `calculator.result`, before its inputs.
pub(crate) fn head_end(code: &str) -> usize {
    code.find(char::is_whitespace).unwrap_or(code.len())
}

/// Reads `key="value" key='value' key=value` from byte `at` on.
pub(crate) fn words(code: &str, mut at: usize) -> Result<Vec<Given>, Vec<Flaw>> {
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
}
