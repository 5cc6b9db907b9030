//! Sums in braces inside the parts data: `{-(ball + 22)}` becomes a number.
//!
//! `+ - * /`, brackets, numbers and names. A name that stands for text (`{joint}`) is put in as it is.

use std::collections::BTreeMap;

/// What a name in braces stands for.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Value {
    /// A number, in millimetres or millilitres.
    Number(f64),
    /// A word, such as `24/29`.
    Text(String),
}

pub(crate) type Values = BTreeMap<String, Value>;

/// `text` with every `{…}` worked out.
pub(crate) fn fill(text: &str, values: &Values) -> Result<String, String> {
    let mut filled = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('{') {
        let (inside, tail) = after
            .split_once('}')
            .ok_or_else(|| format!("`{text}` has a `{{` without its `}}`"))?;
        filled.push_str(before);
        match values.get(inside.trim()) {
            Some(Value::Text(word)) => filled.push_str(word),
            _ => filled.push_str(&shown(work_out(inside, values)?)),
        }
        rest = tail;
    }
    filled.push_str(rest);
    Ok(filled)
}

/// Hundredths of a millimetre are finer than any line drawn.
pub(crate) fn shown(number: f64) -> String {
    let rounded = (number * 100.0).round() / 100.0;
    format!("{}", if rounded == 0.0 { 0.0 } else { rounded })
}

/// The value of one sum.
pub(crate) fn work_out(sum: &str, values: &Values) -> Result<f64, String> {
    let mut reader = Reader { rest: sum, values };
    let value = reader.sum().map_err(|why| format!("`{sum}`: {why}"))?;
    if !reader.rest.trim().is_empty() {
        return Err(format!("`{sum}`: cannot read `{}`", reader.rest.trim()));
    }
    if value.is_finite() {
        Ok(value)
    } else {
        Err(format!("`{sum}` has no finite value"))
    }
}

struct Reader<'a> {
    rest: &'a str,
    values: &'a Values,
}

impl Reader<'_> {
    fn take(&mut self, sign: char) -> bool {
        self.rest = self.rest.trim_start();
        match self.rest.strip_prefix(sign) {
            Some(rest) => {
                self.rest = rest;
                true
            }
            None => false,
        }
    }

    fn sum(&mut self) -> Result<f64, String> {
        let mut value = self.product()?;
        loop {
            if self.take('+') {
                value += self.product()?;
            } else if self.take('-') {
                value -= self.product()?;
            } else {
                return Ok(value);
            }
        }
    }

    fn product(&mut self) -> Result<f64, String> {
        let mut value = self.atom()?;
        loop {
            if self.take('*') {
                value *= self.atom()?;
            } else if self.take('/') {
                value /= self.atom()?;
            } else {
                return Ok(value);
            }
        }
    }

    fn atom(&mut self) -> Result<f64, String> {
        if self.take('-') {
            return Ok(-self.atom()?);
        }
        if self.take('(') {
            let value = self.sum()?;
            return if self.take(')') {
                Ok(value)
            } else {
                Err("a bracket is not closed".into())
            };
        }
        self.rest = self.rest.trim_start();
        let end = self
            .rest
            .find(|c: char| !(c.is_alphanumeric() || c == '_' || c == '.'))
            .unwrap_or(self.rest.len());
        let (word, rest) = self.rest.split_at(end);
        self.rest = rest;
        if word.is_empty() {
            return Err("a number or a name is missing".into());
        }
        if let Ok(number) = word.parse::<f64>() {
            return Ok(number);
        }
        match self.values.get(word) {
            Some(Value::Number(number)) => Ok(*number),
            Some(Value::Text(text)) => Err(format!("`{word}` is the word `{text}`, not a number")),
            None => Err(format!(
                "`{word}` is not known here; known are {}",
                self.values.keys().cloned().collect::<Vec<_>>().join(", ")
            )),
        }
    }
}
