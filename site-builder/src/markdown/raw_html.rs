//! Part of stage 4: the raw HTML that passes where `content/site.toml` says `raw_html = true`.
//!
//! Nothing passes by default. A tag passes if its element and each of its attributes stand in the
//! lists below, and it is written anew from what was read, so that a browser cannot read more in
//! it than was checked. Links and pictures are not in the lists: Markdown's own are checked.
//! What does not pass is a finding; no list of what is dangerous has to be complete.

use crate::finding::{Flaw, choice};
use calc_wasm::markup::escape;
use std::ops::Range;

/// Elements that pass.
const ELEMENTS: [&str; 46] = [
    "abbr",
    "b",
    "bdi",
    "bdo",
    "br",
    "cite",
    "code",
    "dd",
    "del",
    "details",
    "dfn",
    "div",
    "dl",
    "dt",
    "em",
    "figcaption",
    "figure",
    "hr",
    "i",
    "ins",
    "kbd",
    "li",
    "mark",
    "ol",
    "p",
    "pre",
    "q",
    "s",
    "samp",
    "section",
    "small",
    "span",
    "strong",
    "sub",
    "summary",
    "sup",
    "table",
    "tbody",
    "td",
    "tfoot",
    "th",
    "thead",
    "time",
    "tr",
    "u",
    "ul",
];

/// Elements that have no end tag.
const VOID: [&str; 2] = ["br", "hr"];

/// Attributes that pass. No `id` and no `class`: the page's script and style go by them.
const ATTRIBUTES: [&str; 10] = [
    "colspan", "datetime", "dir", "lang", "open", "reversed", "rowspan", "scope", "start", "title",
];

/// A tag that passed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Passed {
    /// It opens an element.
    Open(&'static str),
    /// It closes one.
    Close(&'static str),
    /// It stands alone.
    Alone,
}

/// A piece of raw HTML made safe.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Clean {
    /// What may be written.
    pub html: String,
    /// Its tags, with their bytes in the piece.
    pub tags: Vec<(Passed, Range<usize>)>,
    /// What does not pass.
    pub flaws: Vec<Flaw>,
}

/// Passes the tags of `raw` that may pass.
pub fn clean(raw: &str) -> Clean {
    let mut out = Clean::default();
    let mut rest = 0;
    while let Some(found) = raw[rest..].find('<') {
        let start = rest + found;
        // Text keeps its entities; a stray sign cannot become a tag.
        out.html.push_str(&raw[rest..start].replace('>', "&gt;"));
        rest = match token(raw, start) {
            Token::Comment(end) => end,
            Token::Stray => {
                out.html.push_str("&lt;");
                start + 1
            }
            Token::Tag(tag) => {
                let end = tag.end;
                match tag.element() {
                    Ok(name) => {
                        tag.pass(name, &mut out);
                        out.tags.push((tag.passed(name), start..end));
                    }
                    Err(flaw) => out.flaws.push(flaw),
                }
                end
            }
        };
    }
    out.html.push_str(&raw[rest..].replace('>', "&gt;"));
    out
}

enum Token<'r> {
    Comment(usize),
    Tag(Tag<'r>),
    Stray,
}

struct Tag<'r> {
    start: usize,
    end: usize,
    closes: bool,
    name: &'r str,
    attributes: Vec<(Range<usize>, &'r str, Option<&'r str>)>,
}

/// Reads what begins with the `<` at `start`. Source of the grammar: CommonMark 0.31.2, section
/// 6.6, raw HTML; declarations and instructions are read as tags of an unknown element.
fn token(raw: &str, start: usize) -> Token<'_> {
    if raw[start..].starts_with("<!--") {
        let end = raw[start + 4..].find("-->");
        return Token::Comment(end.map_or(raw.len(), |at| start + 4 + at + 3));
    }
    let closes = raw[start + 1..].starts_with('/');
    let mut at = start + 1 + usize::from(closes);
    let name = run(raw, at, |c| {
        !c.is_whitespace() && !matches!(c, '>' | '/' | '<')
    });
    if !name.starts_with(|c: char| c.is_ascii_alphabetic() || matches!(c, '!' | '?')) {
        return Token::Stray;
    }
    at += name.len();
    let mut attributes = Vec::new();
    loop {
        at += run(raw, at, |c| c.is_whitespace() || c == '/').len();
        if raw[at..].is_empty() || raw[at..].starts_with('>') {
            let end = (at + 1).min(raw.len());
            return Token::Tag(Tag {
                start,
                end,
                closes,
                name,
                attributes,
            });
        }
        let key = run(raw, at, |c| {
            !c.is_whitespace() && !matches!(c, '=' | '>' | '/')
        });
        // A sign where a name should be is taken as a name; no list has it.
        let key = if key.is_empty() { &raw[at..=at] } else { key };
        let place = at..at + key.len();
        at = place.end;
        let gap = run(raw, at, char::is_whitespace).len();
        let value = raw[at + gap..].strip_prefix('=').map(|after| {
            let from = raw.len() - after.len();
            let from = from + run(raw, from, char::is_whitespace).len();
            let (value, end) = value(raw, from);
            at = end;
            value
        });
        attributes.push((place, key, value));
    }
}

/// The value of an attribute from `from` on, and where it ends.
fn value(raw: &str, from: usize) -> (&str, usize) {
    for quote in ['"', '\''] {
        if let Some(inside) = raw[from..].strip_prefix(quote) {
            let length = inside.find(quote).unwrap_or(inside.len());
            return (&inside[..length], (from + length + 2).min(raw.len()));
        }
    }
    let bare = run(raw, from, |c| !c.is_whitespace() && c != '>');
    (bare, from + bare.len())
}

/// The longest piece from `at` on of which every character is as wanted.
fn run(raw: &str, at: usize, wanted: impl Fn(char) -> bool) -> &str {
    let rest = &raw[at..];
    &rest[..rest.find(|c| !wanted(c)).unwrap_or(rest.len())]
}

impl Tag<'_> {
    /// Its element, if that may pass.
    fn element(&self) -> Result<&'static str, Flaw> {
        let small = self.name.to_ascii_lowercase();
        let known = ELEMENTS.into_iter().find(|known| *known == small);
        known.ok_or_else(|| {
            let message = format!("`<{}>` does not pass into the page", self.name);
            Flaw::new(self.start..self.end, message).mend(instead(&small))
        })
    }

    fn passed(&self, name: &'static str) -> Passed {
        if self.closes {
            Passed::Close(name)
        } else if VOID.contains(&name) {
            Passed::Alone
        } else {
            Passed::Open(name)
        }
    }

    /// Writes the tag anew, with the attributes that may pass.
    fn pass(&self, name: &str, out: &mut Clean) {
        if self.closes {
            out.html.push_str(&format!("</{name}>"));
            return;
        }
        out.html.push_str(&format!("<{name}"));
        for (place, key, value) in &self.attributes {
            let small = key.to_ascii_lowercase();
            if ATTRIBUTES.contains(&small.as_str()) {
                let value = escape(value.unwrap_or(""));
                out.html.push_str(&format!(" {small}=\"{value}\""));
            } else {
                let message = format!("`{key}` does not pass into the page");
                let mend = choice(&small, &ATTRIBUTES);
                out.flaws.push(Flaw::new(place.clone(), message).mend(mend));
            }
        }
        out.html.push('>');
    }
}

fn instead(element: &str) -> String {
    match element {
        "a" => "write the link as Markdown, `[text](address)`; then it is checked".into(),
        "img" | "picture" => "write the picture as Markdown, `![what it shows](file)`".into(),
        "h1" | "h2" | "h3" | "h4" | "h5" | "h6" => "write the heading with `##`".into(),
        "script" => "scripts stand in templates/script".into(),
        "style" | "link" => "styles stand in templates/style".into(),
        _ => choice(element, &ELEMENTS),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn passes_what_the_lists_have() {
        for (written, passed) in [
            ("<kbd>Enter</kbd>", "<kbd>Enter</kbd>"),
            (
                "<DIV\n Title='a \"b\"' >x</div >",
                "<div title=\"a &quot;b&quot;\">x</div>",
            ),
            ("1 < 2 &amp; 3 > 2<br/>", "1 &lt; 2 &amp; 3 &gt; 2<br>"),
            ("a<!-- <script> -->b", "ab"),
            (
                "<details open><summary>S</summary></details>",
                "<details open=\"\"><summary>S</summary></details>",
            ),
        ] {
            let clean = clean(written);
            assert_eq!(
                (clean.html.as_str(), clean.flaws.len()),
                (passed, 0),
                "{written}"
            );
        }
    }

    /// Ways of bringing a script along, after the OWASP Cross Site Scripting Prevention and
    /// Filter Evasion cheat sheets (read from memory).
    #[test]
    fn no_script_passes_however_it_is_written() {
        for written in [
            "<script>alert(1)</script>",
            "<SCRIPT SRC=//example.org/x.js></SCRIPT>",
            "<scr<script>ipt>alert(1)</scr</script>ipt>",
            "<script/x>alert(1)</script>",
            "<script\n>alert(1)</script\n>",
            "<script",
            "<b onclick=alert(1)>x</b>",
            "<b ONCLICK='alert(1)'>x</b>",
            "<b title=\"a\"onclick=alert(1)>x</b>",
            "<b/onclick=alert(1)>x</b>",
            "<b title='x' onmouseover\n=\n\"alert(1)\">x</b>",
            "<b \"onclick=alert(1)\">x</b>",
            "<div style=\"background:url(javascript:alert(1))\">x</div>",
            "<style>b{color:red}</style>",
            "<iframe src=\"javascript:alert(1)\"></iframe>",
            "<iframe srcdoc='<script>alert(1)</script>'>",
            "<a href=\"javascript:alert(1)\">x</a>",
            "<a href=\" &#106;avascript:alert(1)\">x</a>",
            "<img src=x onerror=alert(1)>",
            "<svg/onload=alert(1)>",
            "<svg><script>alert(1)</script></svg>",
            "<math><mi xlink:href=\"javascript:alert(1)\">x</mi></math>",
            "<object data=x></object>",
            "<embed src=x>",
            "<base href=//example.org>",
            "<meta http-equiv=refresh content=0>",
            "<form action=x><button formaction=\"javascript:alert(1)\">",
            "<?xml version=\"1.0\"?>",
            "<!DOCTYPE html>",
            "<![CDATA[<script>alert(1)</script>]]>",
            "<xmp><b onclick=x>",
            "<é>",
        ] {
            let clean = clean(written);
            let html = clean.html.to_lowercase();
            if written != "<é>" {
                assert!(!clean.flaws.is_empty(), "{written}");
            }
            for part in [
                "<s", "<i", "<a", "<o", "<e", "<m", "<f", "<x", "<!", "<?", "<é",
            ] {
                assert!(!html.contains(part), "{written} became {html}");
            }
            // No attribute is left but the harmless ones of these examples.
            for tag in html.split('<').skip(1) {
                let tag = tag.split('>').next().unwrap_or_default();
                let left = tag.replace(" title=\"x\"", "").replace(" title=\"a\"", "");
                assert!(!left.contains('='), "{written} became {html}");
            }
        }
    }

    #[test]
    fn never_panics_and_never_passes_a_sign_too_many() {
        // Every text of up to four of these pieces.
        let pieces = [
            "<", ">", "/", "b", " ", "=", "\"", "'", "!--", "-->", "é", "title",
        ];
        let count = pieces.len();
        for number in 0..count.pow(4) {
            let text: String = (0..4u32)
                .map(|place| pieces[number / count.pow(place) % count])
                .collect();
            let clean = clean(&text);
            assert_eq!(
                clean.html.matches('<').count(),
                clean.tags.len(),
                "{text} became {}",
                clean.html
            );
        }
    }
}
