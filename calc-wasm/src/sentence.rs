//! Sentences with gaps, filled as they are written.
//!
//! A calculator writes `outcome.care("Only {.0} °C below the limit of {}.").number(room).text(name)`:
//! the whole sentence stands in one place with the digits that each number deserves, and the call
//! for a gap is a few bytes of the page's download, where formatting would make, hand over and
//! drop a text for each.
//!
//! | gap | takes | shows |
//! |---|---|---|
//! | `{}` | a text | it |
//! | `{.1}` | a number | one decimal |
//! | `{3}` | a number | three significant digits |
//! | `{~4}` | a number | at most four significant digits, without noughts at the end |

use std::fmt;
use std::ops::Deref;

use crate::number;

/// What shows that more was filled in than there are gaps, or a number in the gap of a text.
const OVERFULL: &str = "{?}";

/// A sentence. What has been written of it reads as text.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Sentence {
    /// All up to the next gap.
    written: String,
    /// The next gap, from its opening brace, and what follows it.
    rest: &'static str,
}

impl Sentence {
    /// Begins the sentence of this template.
    #[inline(never)]
    pub fn new(template: &'static str) -> Self {
        let mut sentence = Sentence::default();
        sentence.up_to_gap(template);
        sentence
    }

    /// Fills the next gap with `words`. A tab, which parts cells, becomes a blank.
    #[inline(never)]
    pub fn text(&mut self, words: &str) -> &mut Self {
        let (_, rest) = self.gap();
        for c in words.chars() {
            self.written.push(if c == '\t' { ' ' } else { c });
        }
        self.up_to_gap(rest);
        self
    }

    /// Fills the next gap with `value`, rounded as the gap says.
    #[inline(never)]
    pub fn number(&mut self, value: f64) -> &mut Self {
        let (mut form, rest) = self.gap();
        if form.is_empty() {
            // A gap for a text.
            self.written.push_str(OVERFULL);
            form = "9";
        }
        let digits = form
            .bytes()
            .filter(u8::is_ascii_digit)
            .fold(0, |sum, digit| sum * 10 + usize::from(digit - b'0'));
        let text = match form.as_bytes().first() {
            Some(b'.') => number::fixed(value, digits),
            Some(b'~') => number::plain(value, digits),
            _ => number::significant(value, digits),
        };
        self.written.push_str(&text);
        self.up_to_gap(rest);
        self
    }

    /// Fills the next gap with `names`, `between` them.
    #[inline(never)]
    pub fn list(&mut self, between: &str, names: &mut dyn Iterator<Item = &str>) -> &mut Self {
        let (_, rest) = self.gap();
        for (at, name) in names.enumerate() {
            self.written.push_str(if at > 0 { between } else { "" });
            self.written.push_str(name);
        }
        self.up_to_gap(rest);
        self
    }

    /// Whether all gaps are filled, each with what it takes. For tests.
    pub fn is_whole(&self) -> bool {
        self.rest.is_empty() && !self.written.contains(OVERFULL)
    }

    /// Goes on with another template, once all gaps are filled.
    #[inline(never)]
    pub fn more(&mut self, template: &'static str) -> &mut Self {
        self.up_to_gap(template);
        self
    }

    /// What stands between the braces of the next gap, and what follows.
    fn gap(&mut self) -> (&'static str, &'static str) {
        match self
            .rest
            .strip_prefix('{')
            .and_then(|rest| rest.split_once('}'))
        {
            Some(parts) => parts,
            None => {
                self.written.push_str(OVERFULL);
                ("", "")
            }
        }
    }

    fn up_to_gap(&mut self, template: &'static str) {
        let at = template.find('{').unwrap_or(template.len());
        let (ready, rest) = template.split_at(at);
        self.written.push_str(ready);
        self.rest = rest;
    }
}

impl Deref for Sentence {
    type Target = str;

    fn deref(&self) -> &str {
        &self.written
    }
}

impl fmt::Display for Sentence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fills_each_gap_as_it_says() {
        let mut sentence = Sentence::new("{} boils at {.1} °C, {3} mmHg, or {~4}");
        sentence.text("to\tluene").number(110.63).number(759.96);
        assert!(!sentence.is_whole());
        assert_eq!(&*sentence, "to luene boils at 110.6 °C, 760 mmHg, or ");
        sentence.number(2.50).more("; {}.");
        sentence.list(" and ", &mut ["this", "that"].into_iter());
        assert!(sentence.is_whole());
        assert_eq!(
            &*sentence,
            "to luene boils at 110.6 °C, 760 mmHg, or 2.5; this and that."
        );
    }

    #[test]
    fn shows_what_does_not_fit() {
        assert!(!Sentence::new("a{").is_whole());
        assert!(!Sentence::new("none").text("more").is_whole());
        assert!(!Sentence::new("{}").number(1.0).is_whole());
        assert!(Sentence::new("none").is_whole());
    }
}
