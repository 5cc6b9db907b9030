//! What is said when an input cannot be used: which input, and a sentence with the mend.

use std::fmt;

use crate::sentence::Sentence;

/// One refused input. Nothing was computed. Kept behind a pointer, since every step of every
/// calculator hands one on, and the page's download pays for each word handed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem(Box<Fault>);

/// What a [`Problem`] says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Name of the input to blame, as authors type it; a row's cell is `spots 2 rf`.
    pub input: String,
    /// What is wrong and what would be right. Lower case, no full stop.
    pub message: Sentence,
}

impl Problem {
    /// Blames `input` with `message`.
    #[inline(never)]
    pub fn new(input: &str, message: &'static str) -> Self {
        Problem(Box::new(Fault {
            input: input.to_string(),
            message: Sentence::new(message),
        }))
    }

    /// A message that blames no input yet; see [`Problem::of`].
    #[inline(never)]
    pub fn says(message: &'static str) -> Self {
        Problem::new("", message)
    }

    /// Blames `input`.
    #[inline(never)]
    #[must_use]
    pub fn of(mut self, input: &str) -> Self {
        self.0.input = input.to_string();
        self
    }

    /// Fills the next gap of the message with a list of names.
    #[inline(never)]
    #[must_use]
    pub fn list(mut self, between: &str, names: &mut dyn Iterator<Item = &str>) -> Self {
        self.0.message.list(between, names);
        self
    }

    /// Goes on with the candidate spelt most like `word`, or with all of them if they are few.
    #[must_use]
    pub(crate) fn suggest<'c, C>(self, word: &str, candidates: C) -> Self
    where
        C: Iterator<Item = &'c str> + Clone,
    {
        match nearest(word, candidates.clone()) {
            Some(near) => self.more("; the nearest is “{}”").text(near),
            None if candidates.clone().count() <= 24 => self
                .more("; it must be one of: {}")
                .list(", ", &mut candidates.clone()),
            None => self,
        }
    }

    /// Fills the next gap of the message with a number.
    #[inline(never)]
    #[must_use]
    pub fn number(mut self, value: f64) -> Self {
        self.0.message.number(value);
        self
    }

    /// Fills the next gap of the message with a text.
    #[inline(never)]
    #[must_use]
    pub fn text(mut self, words: &str) -> Self {
        self.0.message.text(words);
        self
    }

    /// Goes on with another template, once all gaps are filled.
    #[inline(never)]
    #[must_use]
    pub fn more(mut self, template: &'static str) -> Self {
        self.0.message.more(template);
        self
    }
}

impl std::ops::Deref for Problem {
    type Target = Fault;

    fn deref(&self) -> &Fault {
        &self.0
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "“{}”: {}", self.input, self.message)
    }
}

impl std::error::Error for Problem {}

/// `text` in small letters: Latin (as far as western Europe writes it) and Greek, which is all
/// that names of compounds and labels use. The standard library's tables of every script would
/// be a fiftieth of the page's download.
pub(crate) fn small(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            'A'..='Z' | 'À'..='Ö' | 'Ø'..='Þ' | 'Α'..='Ρ' | 'Σ'..='Ϋ' => shifted(c, 32),
            other => other,
        })
        .collect()
}

/// Whether `part` stands in `text`, small letters or capitals alike. Letter by letter: the
/// standard library's search is made for books, and some 2 kB of the page's download.
pub(crate) fn holds(text: &str, part: &str) -> bool {
    text.as_bytes()
        .windows(part.len())
        .any(|letters| letters.eq_ignore_ascii_case(part.as_bytes()))
}

/// A label as it stands within a sentence: without its capital, unless it begins with a symbol
/// such as Rf.
pub(crate) fn in_sentence(label: &str) -> String {
    let (first, rest) = label.split_at(label.chars().next().map_or(0, char::len_utf8));
    if label.starts_with("Rf") {
        label.to_string()
    } else {
        small(first) + rest
    }
}

/// `c` as a capital, for the same letters as [`small`].
pub(crate) fn capital(c: char) -> char {
    match c {
        'a'..='z' | 'à'..='ö' | 'ø'..='þ' | 'α'..='ρ' | 'σ'..='ϋ' => shifted(c, -32),
        other => other,
    }
}

fn shifted(c: char, by: i32) -> char {
    u32::from(c)
        .checked_add_signed(by)
        .and_then(char::from_u32)
        .unwrap_or(c)
}

/// The candidate spelt most like `word`, if any is near enough to be what was meant.
///
/// Near enough: at most a third of the letters are wrong, swapped, missing or too many.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    nearest_of(word, &mut candidates.into_iter())
}

#[inline(never)]
fn nearest_of<'a>(word: &str, candidates: &mut dyn Iterator<Item = &'a str>) -> Option<&'a str> {
    let word = small(word);
    let mut best = None;
    let mut least = usize::MAX;
    for candidate in candidates {
        let distance = strsim::osa_distance(&word, &small(candidate));
        if distance < least {
            (least, best) = (distance, Some(candidate));
        }
    }
    best.filter(|candidate| least * 3 <= candidate.chars().count().max(3))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_keep_their_symbols() {
        assert_eq!(
            in_sentence("Highest pot temperature"),
            "highest pot temperature"
        );
        assert_eq!(in_sentence("Distance, ΔRf"), "distance, ΔRf");
        assert_eq!(in_sentence("Rf wanted"), "Rf wanted");
        assert_eq!(in_sentence("pKa"), "pKa");
        assert_eq!(in_sentence(""), "");
    }

    /// The standard library knows every script; ours must agree on those it takes on.
    #[test]
    fn folds_letters_as_the_standard_library_does() {
        for c in ('\0'..='ÿ').chain('Α'..='ϋ') {
            let text = c.to_string();
            assert_eq!(small(&text), text.to_lowercase(), "{c}");
            // Letters without a single capital of their own in these ranges stay as they are.
            if !"µßÿς".contains(c) && !('ά'..='ΰ').contains(&c) {
                let capitals: String = c.to_uppercase().collect();
                assert_eq!(capital(c).to_string(), capitals);
            }
        }
    }
}
