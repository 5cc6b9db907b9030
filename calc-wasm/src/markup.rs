//! HTML and SVG, written piece by piece.
//!
//! A template has a gap `#` for each value. Values are handed over one by one, since the page's
//! download pays for each call: a formatted text for each gap would double it.

use crate::number;

/// Markup that grows.
#[derive(Debug, Default)]
pub struct Markup {
    written: String,
    /// From behind the next gap.
    rest: &'static str,
}

impl Markup {
    /// Goes on with `template`; its gaps, each a `#`, are filled by what follows.
    #[inline(never)]
    pub fn put(&mut self, template: &'static str) -> &mut Self {
        let (ready, rest) = template.split_once('#').unwrap_or((template, ""));
        self.written.push_str(ready);
        self.rest = rest;
        self
    }

    /// Fills the gap with `text`, made safe.
    #[inline(never)]
    pub fn text(&mut self, text: &str) -> &mut Self {
        escape_into(text, &mut self.written);
        self.put(self.rest)
    }

    /// Fills the gap with markup.
    #[inline(never)]
    pub fn markup(&mut self, markup: &str) -> &mut Self {
        self.written.push_str(markup);
        self.put(self.rest)
    }

    /// Fills the gap with a coordinate: a tenth of a unit is finer than any screen.
    #[inline(never)]
    pub fn at(&mut self, value: f64) -> &mut Self {
        let text = number::fixed(value, 1);
        let text = text.strip_suffix(".0").unwrap_or(&text);
        // SVG knows only the plain hyphen.
        match text.strip_prefix('−') {
            Some(digits) => {
                self.written.push('-');
                self.written.push_str(digits);
            }
            None => self.written.push_str(text),
        }
        self.put(self.rest)
    }

    /// All that was written.
    pub fn finish(self) -> String {
        self.written
    }
}

/// `text` safe inside HTML text and quoted attributes.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    escape_into(text, &mut out);
    out
}

fn escape_into(text: &str, out: &mut String) {
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            other => out.push(other),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fills_gaps_in_their_order() {
        let mut out = Markup::default();
        out.put("<a x=\"#\" y=\"#\">#</a>#").at(12.0).at(0.25);
        out.text("<\"1 & 2\">").markup("<br>");
        out.put("end");
        assert_eq!(
            out.finish(),
            "<a x=\"12\" y=\"0.3\">&lt;&quot;1 &amp; 2&quot;&gt;</a><br>end"
        );
    }

    #[test]
    fn writes_places_as_svg_reads_them() {
        for (value, written) in [(-3.18, "-3.2"), (-0.04, "0"), (100.0, "100"), (0.96, "1")] {
            let mut out = Markup::default();
            out.put("#").at(value);
            assert_eq!(out.finish(), written);
        }
    }
}
