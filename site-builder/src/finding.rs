//! What the builder tells an author: where, what is wrong, and what would be right.
//!
//! Stages carry byte ranges; a range becomes a line and a column here, once.

use calc_wasm::problem::nearest;
use std::fmt;
use std::ops::Range;

/// How much a finding matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// The site is not written.
    Error,
    /// The site is written; the author should know.
    Note,
}

/// One thing found in what an author wrote.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// Whether it stops the build.
    pub severity: Severity,
    /// The file, as the author would type it.
    pub file: String,
    /// Line, from 1; 0 when the finding is about the whole file.
    pub line: usize,
    /// Column in characters, from 1; 0 when the finding is about the whole file.
    pub column: usize,
    /// The line as written.
    pub excerpt: Option<Box<Excerpt>>,
    /// What is wrong: lower case, no full stop, quotes what was written.
    pub message: String,
    /// What would be right.
    pub mend: Option<String>,
}

/// A line of what was written, with marks under the fault.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Excerpt {
    /// The line, cut around the fault if it is long.
    pub line: String,
    /// As many `^` as are wrong, under them.
    pub marks: String,
}

/// A fault inside a piece of text, before it is known where in a file that piece stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Flaw {
    /// Bytes of the piece.
    pub span: Range<usize>,
    /// What is wrong.
    pub message: String,
    /// What would be right.
    pub mend: Option<String>,
}

impl Flaw {
    /// A flaw at `span` of the piece.
    pub fn new(span: Range<usize>, message: impl Into<String>) -> Self {
        Self {
            span,
            message: message.into(),
            mend: None,
        }
    }

    /// Adds what would be right.
    pub fn mend(mut self, mend: impl Into<String>) -> Self {
        self.mend = Some(mend.into());
        self
    }
}

impl Finding {
    /// A finding at bytes `span` of `text`, the whole text of `file`.
    pub fn at(file: &str, text: &str, span: Range<usize>, message: impl Into<String>) -> Self {
        let start = floor_boundary(text, span.start);
        let line_start = text[..start].rfind('\n').map_or(0, |newline| newline + 1);
        let line_end = text[start..]
            .find('\n')
            .map_or(text.len(), |newline| start + newline);
        let line_text = text[line_start..line_end].trim_end_matches('\r');
        let end = floor_boundary(text, span.end.clamp(start, line_end));
        let before = &text[line_start..start];
        let marked = text[start..end].trim_end().chars().count().max(1);
        Self {
            severity: Severity::Error,
            file: file.to_owned(),
            line: text[..start].matches('\n').count() + 1,
            column: before.chars().count() + 1,
            excerpt: Some(Box::new(excerpt(line_text, before, marked))),
            message: message.into(),
            mend: None,
        }
    }

    /// A finding about a whole file or folder.
    pub fn whole(file: &str, message: impl Into<String>) -> Self {
        Self {
            severity: Severity::Error,
            file: file.to_owned(),
            line: 0,
            column: 0,
            excerpt: None,
            message: message.into(),
            mend: None,
        }
    }

    /// Adds what would be right.
    pub fn mend(mut self, mend: impl Into<String>) -> Self {
        self.mend = Some(mend.into());
        self
    }

    /// Adds what would be right, where that is known.
    pub fn maybe_mend(mut self, mend: Option<String>) -> Self {
        self.mend = mend;
        self
    }

    /// Where it is: `content/a.md:3:14`, or the file alone.
    pub fn place(&self) -> String {
        match self.line {
            0 => self.file.clone(),
            line => format!("{}:{line}:{}", self.file, self.column),
        }
    }

    /// Lowers the finding to a note, which does not stop the build.
    pub fn note(mut self) -> Self {
        self.severity = Severity::Note;
        self
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let word = match self.severity {
            Severity::Error => "error",
            Severity::Note => "note",
        };
        write!(out, "{word}: {}: {}", self.place(), self.message)?;
        match &self.excerpt {
            Some(excerpt) => {
                let Excerpt { line, marks } = &**excerpt;
                write!(out, "\n{:>5} | {line}\n{:>5} | {marks}", self.line, "")?;
                if let Some(mend) = &self.mend {
                    write!(out, " {mend}")?;
                }
            }
            None => {
                if let Some(mend) = &self.mend {
                    write!(out, "\n      | {mend}")?;
                }
            }
        }
        Ok(())
    }
}

/// What was found by all stages of a build, gathered in one place.
#[derive(Clone, Debug, Default)]
pub struct Findings(Vec<Finding>);

impl Findings {
    /// Takes what a stage found, and hands on what it made.
    pub fn of<T>(&mut self, (made, found): (T, Vec<Finding>)) -> T {
        self.0.extend(found);
        made
    }

    /// Takes findings alone.
    pub fn add(&mut self, found: impl IntoIterator<Item = Finding>) {
        self.0.extend(found);
    }

    /// All of them, errors first, then by place.
    ///
    /// # Errors
    /// The same, where one of them is an error.
    pub fn finish(mut self) -> Result<Vec<Finding>, Vec<Finding>> {
        self.0.sort_by(|a, b| {
            let place = |f: &Finding| (f.severity, f.file.clone(), f.line, f.column);
            place(a).cmp(&place(b))
        });
        let wrong = self.0.iter().any(|f| f.severity == Severity::Error);
        if wrong { Err(self.0) } else { Ok(self.0) }
    }
}

/// The longest excerpt shown; a longer line is cut around the fault.
const EXCERPT_CHARACTERS: usize = 100;

fn excerpt(line: &str, before: &str, marked: usize) -> Excerpt {
    let column = before.chars().count();
    let skipped = column.saturating_sub(EXCERPT_CHARACTERS / 2);
    let shown: String = line
        .chars()
        .skip(skipped)
        .take(EXCERPT_CHARACTERS)
        .collect();
    let mut marks: String = before
        .chars()
        .skip(skipped)
        // A tab stays a tab, so that the mark stands under the fault whatever the tab's width.
        .map(|c| if c == '\t' { '\t' } else { ' ' })
        .collect();
    let room = EXCERPT_CHARACTERS.saturating_sub(column - skipped).max(1);
    marks.extend(std::iter::repeat_n('^', marked.min(room)));
    Excerpt { line: shown, marks }
}

fn floor_boundary(text: &str, mut offset: usize) -> usize {
    offset = offset.min(text.len());
    while !text.is_char_boundary(offset) {
        offset -= 1;
    }
    offset
}

/// The mend of a misspelt word: the right one that is nearest, if any is near enough to be what
/// was meant. Builder and calculators judge nearness by the same rule.
pub fn spelling<'a>(wrong: &str, known: impl IntoIterator<Item = &'a str>) -> Option<String> {
    nearest(wrong, known).map(|near| format!("the nearest is `{near}`"))
}

/// The same where there are few right words: when none is near, all of them.
pub fn choice(wrong: &str, known: &[&str]) -> String {
    spelling(wrong, known.iter().copied())
        .unwrap_or_else(|| format!("it must be one of {}", known.join(", ")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_the_fault_under_its_line() {
        let text = "title: a\npressure: 12 mL\n";
        let finding = Finding::at("wash.md", text, 19..24, "`pressure` is a volume, 12 mL")
            .mend("write a pressure");
        assert_eq!(
            finding.to_string(),
            "error: wash.md:2:11: `pressure` is a volume, 12 mL\n    2 | pressure: 12 mL\n      |           ^^^^^ write a pressure"
        );
    }

    #[test]
    fn counts_columns_in_characters() {
        let text = "é°x";
        let finding = Finding::at("a.md", text, 4..5, "x");
        assert_eq!((finding.line, finding.column), (1, 3));
    }

    #[test]
    fn survives_a_span_outside_the_text() {
        let finding = Finding::at("a.md", "é", 1..900, "x");
        assert_eq!((finding.line, finding.column), (1, 1));
        assert_eq!(Finding::at("a.md", "", 5..9, "x").line, 1);
    }

    #[test]
    fn cuts_a_long_line_around_the_fault() {
        let text = "a".repeat(5000);
        let finding = Finding::at("a.md", &text, 4000..4003, "x");
        let Excerpt { line, marks } = *finding.excerpt.expect("an excerpt");
        assert!(line.len() <= EXCERPT_CHARACTERS && marks.ends_with(" ^^^"));
    }

    #[test]
    fn offers_the_nearest_spelling_only_when_it_is_near() {
        let known = ["pressure", "substance", "temperature"];
        assert_eq!(choice("presure", &known), "the nearest is `pressure`");
        assert_eq!(choice("Substanse", &known), "the nearest is `substance`");
        assert_eq!(
            choice("zzz", &known),
            "it must be one of pressure, substance, temperature"
        );
        assert_eq!(spelling("zzz", known), None);
    }
}
