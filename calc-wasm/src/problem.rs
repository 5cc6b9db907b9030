//! What is said when an input cannot be used: which input, and a sentence with the mend.

use std::fmt;

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
    pub message: String,
}

impl Problem {
    /// Blames `input` with `message`.
    #[inline(never)]
    pub fn new(input: &str, message: impl Into<String>) -> Self {
        Problem(Box::new(Fault {
            input: input.to_string(),
            message: message.into(),
        }))
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
        write!(f, "`{}`: {}", self.input, self.message)
    }
}

impl std::error::Error for Problem {}

/// The candidate spelt most like `word`, if any is near enough to be what was meant.
///
/// Near enough: at most a third of the letters are wrong, swapped, missing or too many.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word = word.to_lowercase();
    candidates
        .into_iter()
        .map(|candidate| {
            let distance = strsim::osa_distance(&word, &candidate.to_lowercase());
            (distance, candidate)
        })
        .min_by_key(|(distance, _)| *distance)
        .filter(|(distance, candidate)| distance * 3 <= candidate.chars().count().max(3))
        .map(|(_, candidate)| candidate)
}

/// ` (did you mean …?)` or, when nothing is near, the whole choice if it is short.
pub(crate) fn suggestion(word: &str, candidates: &[&str]) -> String {
    match nearest(word, candidates.iter().copied()) {
        Some(near) => format!("; the nearest is `{near}`"),
        None if candidates.len() <= 24 => format!("; it must be one of: {}", candidates.join(", ")),
        None => String::new(),
    }
}
