//! Stage 2: the metadata block at the head of a page, YAML between two `---` lines.
//!
//! All faults of a block are found at once: unknown fields with the nearest right one, fields
//! of the wrong shape, and what the kind of page requires and the block lacks. The page goes on
//! down the line with what could be read, so that its other faults are found as well.

use crate::finding::{Finding, choice};
use crate::read::source::Text;
use serde::de::{Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};
use serde_saphyr::Spanned;
use std::fmt;
use std::ops::Range;

/// What a page is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// How a piece of practical work is done.
    Technique,
    /// A session that joins techniques.
    Experiment,
    /// Something to look up.
    Reference,
    /// Anything else.
    #[default]
    Page,
}

impl Kind {
    const ALL: [(&'static str, Self); 4] = [
        ("technique", Self::Technique),
        ("experiment", Self::Experiment),
        ("reference", Self::Reference),
        ("page", Self::Page),
    ];

    /// The word an author writes.
    pub fn word(self) -> &'static str {
        Self::ALL[self as usize].0
    }

    /// Whether the page tells people to do things that can hurt them.
    pub fn is_practical(self) -> bool {
        matches!(self, Self::Technique | Self::Experiment)
    }
}

/// The metadata of one page.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FrontMatter {
    /// The page's only first-level heading.
    pub title: String,
    /// What the page is.
    pub kind: Kind,
    /// One sentence for lists.
    pub summary: String,
    /// The need it answers, in a reader's words.
    pub need: Option<String>,
    /// Sentences for the hazard box.
    pub hazards: Vec<String>,
    /// Where the statements come from.
    pub sources: Vec<String>,
    /// The day somebody last went through the page, `YYYY-MM-DD`.
    pub reviewed: Option<String>,
    /// Free words.
    pub topics: Vec<String>,
    /// Other names of what it is about, for the search.
    pub also: Vec<String>,
    /// Place in lists: lower comes first.
    pub order: Option<i64>,
}

const FIELDS: [&str; 10] = [
    "title", "kind", "summary", "need", "hazards", "sources", "reviewed", "topics", "also", "order",
];

/// The head of a page: what could be read of its metadata, and what is wrong with it.
#[derive(Clone, Debug, Default)]
pub struct Head {
    /// The metadata; a field that could not be read is as if it were left out.
    pub matter: FrontMatter,
    /// Whether the author's kind is known.
    pub kind_is_known: bool,
    /// The offset at which the Markdown begins.
    pub body: usize,
    /// Every fault of the block, each at its line and column.
    pub findings: Vec<Finding>,
}

/// Reads the metadata of a page.
pub fn read(page: &Text) -> Head {
    let (yaml, body) = match split(page) {
        Ok(parts) => parts,
        Err((finding, body)) => return without_metadata(finding, body),
    };
    let fields: Fields = match serde_saphyr::from_str(&page.text[yaml.clone()]) {
        Ok(fields) => fields,
        Err(error) => return without_metadata(syntax(page, &yaml, &error), body),
    };
    let mut reader = Reader {
        page,
        yaml,
        kind_is_known: false,
        findings: Vec::new(),
    };
    let matter = reader.take(fields.0);
    reader.require(&matter);
    Head {
        matter,
        kind_is_known: reader.kind_is_known,
        body,
        findings: reader.findings,
    }
}

fn without_metadata(finding: Finding, body: usize) -> Head {
    Head {
        body,
        findings: vec![finding],
        ..Head::default()
    }
}

/// Finds the two `---` lines: what lies between them, and where the Markdown begins.
///
/// # Errors
/// One is not there; then with the place where the Markdown seems to begin.
fn split(page: &Text) -> Result<(Range<usize>, usize), (Finding, usize)> {
    let text = &page.text;
    let first = text.lines().next().unwrap_or_default();
    if first.trim_end() != "---" {
        let finding = Finding::at(
            &page.file,
            text,
            0..first.len(),
            "the page does not begin with a metadata block",
        )
        .mend("begin with a line `---`, then `title:`, `kind:` and `summary:`, then a line `---`");
        return Err((finding, 0));
    }
    let start = (first.len() + 1).min(text.len());
    let mut at = start;
    let mut blank = None;
    for line in text[start..].split_inclusive('\n') {
        if line.trim_end() == "---" {
            return Ok((start..at, at + line.len()));
        }
        if line.trim().is_empty() {
            blank.get_or_insert(at);
        }
        at += line.len();
    }
    let finding = Finding::at(&page.file, text, 0..3, "the metadata block is never closed")
        .mend("put a line `---` after its last field");
    Err((finding, blank.unwrap_or(text.len())))
}

fn syntax(page: &Text, yaml: &Range<usize>, error: &serde_saphyr::Error) -> Finding {
    let span = error.location().map_or(yaml.start..yaml.start, |place| {
        let start = offset(page, yaml, place.line(), place.column());
        start..start + 1
    });
    let said = error.without_snippet().to_string();
    // The place is given by the finding, counted in the file and not in the block.
    let message = said.lines().next().unwrap_or_default();
    let message = message.split(" at line ").next().unwrap_or_default();
    Finding::at(
        &page.file,
        &page.text,
        span,
        format!("the metadata cannot be read: {message}"),
    )
    .mend("a field is `name: value`; put quotes round a value that holds a colon")
}

/// Byte offset of a line and column (both from 1) of the block.
fn offset(page: &Text, yaml: &Range<usize>, line: u64, column: u64) -> usize {
    let block = &page.text[yaml.clone()];
    let before: usize = block
        .split_inclusive('\n')
        .take((line as usize).saturating_sub(1))
        .map(str::len)
        .sum();
    let rest = &block[before.min(block.len())..];
    let inside: usize = rest
        .chars()
        .take((column as usize).saturating_sub(1))
        .map(char::len_utf8)
        .sum();
    yaml.start + before + inside
}

struct Reader<'a> {
    page: &'a Text,
    yaml: Range<usize>,
    kind_is_known: bool,
    findings: Vec<Finding>,
}

impl Reader<'_> {
    fn take(&mut self, fields: Vec<(String, Spanned<Node>)>) -> FrontMatter {
        let mut matter = FrontMatter::default();
        for (name, value) in fields {
            match name.as_str() {
                "title" => matter.title = self.words(&name, value).unwrap_or_default(),
                "summary" => matter.summary = self.words(&name, value).unwrap_or_default(),
                "need" => matter.need = self.words(&name, value),
                "kind" => matter.kind = self.kind(value),
                "hazards" => matter.hazards = self.list(&name, value),
                "sources" => matter.sources = self.list(&name, value),
                "topics" => matter.topics = self.list(&name, value),
                "also" => matter.also = self.list(&name, value),
                "reviewed" => matter.reviewed = self.date(value),
                "order" => matter.order = self.whole_number(&name, value),
                _ => self.unknown(&name),
            }
        }
        matter
    }

    fn unknown(&mut self, name: &str) {
        let span = self.key_span(name);
        let mend = choice(name, &FIELDS);
        self.push(span, format!("there is no field `{name}`"), mend);
    }

    fn words(&mut self, name: &str, value: Spanned<Node>) -> Option<String> {
        let span = self.value_span(name, &value);
        match value.value {
            Node::Words(words) if !words.trim().is_empty() => Some(words.trim().to_owned()),
            Node::Words(_) | Node::Nothing => {
                self.push(span, format!("`{name}` is empty"), "write one sentence");
                None
            }
            other => {
                self.push(
                    span,
                    format!("`{name}` is {}", other.what()),
                    "write words; put quotes round them if they look like a number",
                );
                None
            }
        }
    }

    fn list(&mut self, name: &str, value: Spanned<Node>) -> Vec<String> {
        let span = self.value_span(name, &value);
        match value.value {
            Node::List(items) if items.iter().all(|item| !item.trim().is_empty()) => items,
            Node::List(_) => {
                self.push(
                    span,
                    format!("`{name}` has an empty item"),
                    "write it or take it out",
                );
                Vec::new()
            }
            other => {
                self.push(
                    span,
                    format!("`{name}` is {}", other.what()),
                    "write a list: one line for each, beginning with `- `",
                );
                Vec::new()
            }
        }
    }

    fn kind(&mut self, value: Spanned<Node>) -> Kind {
        let span = self.value_span("kind", &value);
        let word = match value.value {
            Node::Words(word) => word,
            other => other.what().to_owned(),
        };
        if let Some((_, kind)) = Kind::ALL.iter().find(|(known, _)| *known == word) {
            self.kind_is_known = true;
            return *kind;
        }
        let known = Kind::ALL.map(|(known, _)| known);
        let mend = choice(&word, &known);
        self.push(span, format!("there is no kind `{word}`"), mend);
        Kind::Page
    }

    fn date(&mut self, value: Spanned<Node>) -> Option<String> {
        let span = self.value_span("reviewed", &value);
        match value.value {
            Node::Words(day) if is_day(&day) => Some(day),
            Node::Words(day) => {
                self.push(
                    span,
                    format!("`{day}` is not a day"),
                    "write it as 2026-11-25",
                );
                None
            }
            other => {
                let what = other.what();
                self.push(
                    span,
                    format!("`reviewed` is {what}"),
                    "write it as 2026-11-25",
                );
                None
            }
        }
    }

    fn whole_number(&mut self, name: &str, value: Spanned<Node>) -> Option<i64> {
        let span = self.value_span(name, &value);
        match value.value {
            Node::Whole(number) => Some(number),
            other => {
                let what = other.what();
                self.push(span, format!("`{name}` is {what}"), "write a whole number");
                None
            }
        }
    }

    fn require(&mut self, matter: &FrontMatter) {
        let practical = matter.kind.is_practical();
        let lacking = [
            ("title", matter.title.is_empty()),
            ("summary", matter.summary.is_empty()),
            ("hazards", practical && matter.hazards.is_empty()),
            ("sources", practical && matter.sources.is_empty()),
            ("reviewed", practical && matter.reviewed.is_none()),
        ];
        let block = &self.page.text[self.yaml.clone()];
        let mut missing: Vec<&str> = lacking
            .iter()
            .filter(|(field, lacks)| *lacks && !has_key(block, field))
            .map(|(field, _)| *field)
            .collect();
        if !has_key(block, "kind") {
            missing.insert(usize::from(missing.first() == Some(&"title")), "kind");
        }
        for field in missing {
            let who = if practical && !["title", "summary", "kind"].contains(&field) {
                format!("every {} page", matter.kind.word())
            } else {
                "every page".to_owned()
            };
            self.push(
                0..3,
                format!("`{field}` is missing; {who} has one"),
                format!("add `{field}:` to the metadata"),
            );
        }
    }

    fn key_span(&self, name: &str) -> Range<usize> {
        let block = &self.page.text[self.yaml.clone()];
        let mut at = self.yaml.start;
        for line in block.split_inclusive('\n') {
            if key_of(line) == Some(name) {
                let lead = line.len() - line.trim_start_matches(['"', '\'']).len();
                return at + lead..at + lead + name.len();
            }
            at += line.len();
        }
        self.yaml.start..self.yaml.start
    }

    fn value_span(&self, name: &str, value: &Spanned<Node>) -> Range<usize> {
        let place = value.referenced;
        if place.line() == 0 {
            return self.key_span(name);
        }
        let start = offset(self.page, &self.yaml, place.line(), place.column());
        let line = self.page.text[start.min(self.page.text.len())..]
            .lines()
            .next()
            .unwrap_or_default();
        start..start + line.trim_end().len()
    }

    fn push(&mut self, span: Range<usize>, message: String, mend: impl Into<String>) {
        let finding = Finding::at(&self.page.file, &self.page.text, span, message).mend(mend);
        self.findings.push(finding);
    }
}

fn key_of(line: &str) -> Option<&str> {
    let (key, _) = line.split_once(':')?;
    Some(key.trim_matches(['"', '\'']))
}

fn has_key(block: &str, name: &str) -> bool {
    block.lines().any(|line| key_of(line) == Some(name))
}

fn is_day(day: &str) -> bool {
    let parts: Vec<&str> = day.split('-').collect();
    let [year, month, date] = parts[..] else {
        return false;
    };
    let number = |text: &str, length: usize| {
        (text.len() == length && text.bytes().all(|b| b.is_ascii_digit()))
            .then(|| text.parse::<u32>().ok())
            .flatten()
    };
    let (Some(year), Some(month), Some(date)) =
        (number(year, 4), number(month, 2), number(date, 2))
    else {
        return false;
    };
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let days = match month {
        2 => 28 + u32::from(leap),
        4 | 6 | 9 | 11 => 30,
        1..=12 => 31,
        _ => 0,
    };
    (1..=days).contains(&date)
}

/// The fields in the order written. `serde` gives them one by one, so that one wrong field
/// does not hide the next.
struct Fields(Vec<(String, Spanned<Node>)>);

impl<'de> Deserialize<'de> for Fields {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        struct All;
        impl<'de> Visitor<'de> for All {
            type Value = Fields;
            fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
                out.write_str("fields")
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Fields, A::Error> {
                let mut fields = Vec::new();
                while let Some(field) = map.next_entry()? {
                    fields.push(field);
                }
                Ok(Fields(fields))
            }
            fn visit_unit<E>(self) -> Result<Fields, E> {
                Ok(Fields(Vec::new()))
            }
        }
        from.deserialize_map(All)
    }
}

/// A value of any shape; the reader says afterwards whether it is the right one.
#[derive(Clone, Debug, PartialEq)]
enum Node {
    Words(String),
    Whole(i64),
    Number,
    Truth,
    Nothing,
    List(Vec<String>),
    Map,
}

impl Node {
    fn what(&self) -> &'static str {
        match self {
            Self::Words(_) => "words",
            Self::Whole(_) | Self::Number => "a number",
            Self::Truth => "yes or no",
            Self::Nothing => "empty",
            Self::List(_) => "a list",
            Self::Map => "a group of fields",
        }
    }
}

impl<'de> Deserialize<'de> for Node {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        struct Any;
        impl<'de> Visitor<'de> for Any {
            type Value = Node;
            fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
                out.write_str("a value")
            }
            fn visit_str<E>(self, words: &str) -> Result<Node, E> {
                Ok(Node::Words(words.to_owned()))
            }
            fn visit_i64<E>(self, number: i64) -> Result<Node, E> {
                Ok(Node::Whole(number))
            }
            fn visit_u64<E>(self, number: u64) -> Result<Node, E> {
                Ok(i64::try_from(number).map_or(Node::Number, Node::Whole))
            }
            fn visit_f64<E>(self, _: f64) -> Result<Node, E> {
                Ok(Node::Number)
            }
            fn visit_bool<E>(self, _: bool) -> Result<Node, E> {
                Ok(Node::Truth)
            }
            fn visit_unit<E>(self) -> Result<Node, E> {
                Ok(Node::Nothing)
            }
            fn visit_none<E>(self) -> Result<Node, E> {
                Ok(Node::Nothing)
            }
            fn visit_some<D: Deserializer<'de>>(self, from: D) -> Result<Node, D::Error> {
                Node::deserialize(from)
            }
            fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Node, A::Error> {
                let mut list = Vec::new();
                while let Some(item) = items.next_element::<String>()? {
                    list.push(item);
                }
                Ok(Node::List(list))
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Node, A::Error> {
                while map.next_entry::<String, Node>()?.is_some() {}
                Ok(Node::Map)
            }
        }
        from.deserialize_any(Any)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page(text: &str) -> Text {
        Text {
            file: "a.md".into(),
            path: "a.md".into(),
            text: text.into(),
            ..Text::default()
        }
    }

    fn findings(text: &str) -> Vec<Finding> {
        read(&page(text)).findings
    }

    #[test]
    fn reads_every_field() {
        let text = "---\ntitle: Baths\nkind: technique\nsummary: How to heat.\nneed: \"I have: heat\"\nhazards:\n  - Hot oil burns.\nsources: [common practice]\nreviewed: 2026-11-25\ntopics: [heating]\norder: 20\n---\nBody";
        let Head {
            matter,
            body,
            findings,
            ..
        } = read(&page(text));
        assert!(findings.is_empty(), "{findings:?}");
        assert_eq!(matter.title, "Baths");
        assert_eq!(matter.kind, Kind::Technique);
        assert_eq!(matter.need.as_deref(), Some("I have: heat"));
        assert_eq!(matter.hazards, ["Hot oil burns."]);
        assert_eq!(matter.reviewed.as_deref(), Some("2026-11-25"));
        assert_eq!(matter.order, Some(20));
        assert_eq!(&text[body..], "Body");
    }

    #[test]
    fn reads_windows_line_ends() {
        let head = read(&page(
            "---\r\ntitle: A\r\nkind: page\r\nsummary: B\r\n---\r\nBody",
        ));
        assert_eq!((head.matter.title.as_str(), head.body), ("A", 44));
    }

    #[test]
    fn finds_several_faults_at_once() {
        let found = findings("---\ntitel: A\nkind: tecnique\nsummary: 12\norder: soon\n---\n");
        let said: Vec<String> = found.iter().map(ToString::to_string).collect();
        assert!(
            said[0].contains("a.md:2:1: there is no field `titel`"),
            "{said:?}"
        );
        assert!(said[0].contains("the nearest is `title`"));
        assert!(
            said[1].contains("a.md:3:7: there is no kind `tecnique`"),
            "{said:?}"
        );
        assert!(
            said[2].contains("a.md:4:10: `summary` is a number"),
            "{said:?}"
        );
        assert!(said[3].contains("a.md:5:8: `order` is words"), "{said:?}");
        assert!(said[4].contains("`title` is missing"), "{said:?}");
        assert_eq!(said.len(), 5);
    }

    #[test]
    fn asks_practical_pages_for_hazards_sources_and_review() {
        let found = findings("---\ntitle: A\nkind: technique\nsummary: B\n---\n");
        let said: Vec<&str> = found.iter().map(|f| f.message.as_str()).collect();
        assert_eq!(said.len(), 3);
        assert!(said[0].contains("`hazards` is missing; every technique page has one"));
    }

    #[test]
    fn says_that_a_block_is_not_there_or_not_closed() {
        assert!(findings("# Title")[0].message.contains("does not begin"));
        assert!(findings("")[0].message.contains("does not begin"));
        assert!(
            findings("---\ntitle: A\n")[0]
                .message
                .contains("never closed")
        );
        assert!(
            findings("---\ntitle: 'A\n---\n")[0]
                .message
                .contains("cannot be read")
        );
        assert!(
            findings("---\n- a\n---\n")[0]
                .message
                .contains("cannot be read")
        );
    }

    #[test]
    fn knows_the_calendar() {
        assert!(is_day("2028-02-29") && !is_day("2027-02-29") && !is_day("2026-13-01"));
        assert!(!is_day("2026-1-1") && !is_day("yesterday") && !is_day("2026-04-31"));
    }
}
