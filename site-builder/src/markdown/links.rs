//! Links: addresses found by name, anchors checked when they are all known.

use super::{Rendered, Writer};
use crate::finding::{Finding, spelling};
use crate::read::draft::Draft;
use crate::read::source::Text;
use crate::worked::numbers;
use calc_wasm::markup::escape;
use calc_wasm::problem::nearest;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

/// A link to an anchor of another page, checked when all pages are known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FarLink {
    /// Name of the page, or empty for this page.
    pub page: String,
    /// The anchor.
    pub anchor: String,
    /// Bytes of the link in the file.
    pub span: Range<usize>,
}

impl Writer<'_> {
    /// The opening tag of a link, its address resolved and checked.
    pub(super) fn link(&mut self, address: &str, span: &Range<usize>) -> String {
        let (scheme, rest) = address.split_once(':').unwrap_or(("", address));
        let (name, anchor) = rest
            .split_once('#')
            .map_or((rest, None), |(n, a)| (n, Some(a)));
        let name = percent_decode(name);
        let found = match scheme {
            "page" => {
                if let Some(anchor) = anchor {
                    self.out.links.push(FarLink {
                        page: name.clone(),
                        anchor: anchor.to_owned(),
                        span: span.clone(),
                    });
                }
                self.out.material.mentions(&name);
                lookup("page", &name, self.shelf.pages.iter().map(|(k, v)| (*k, v)))
            }
            "table" => lookup("table", &name.replace('_', "-"), self.shelf.tables.iter().map(|(k, v)| (k.as_str(), v))),
            "term" => {
                let terms = self.shelf.terms.iter().map(|(k, v)| (k.as_str(), v));
                return match lookup("glossary entry", &name.to_lowercase(), terms) {
                    Ok(id) => format!("<a class=\"term\" href=\"{}glossary/#{id}\">", self.base),
                    Err((message, mend)) => self.broken(span, message, mend),
                };
            }
            "calculator" => match numbers::calculator(&name, 0..0) {
                Ok(calculator) => Ok(format!("calculators/{}/", calculator.name)),
                Err(flaw) => Err((flaw.message, flaw.mend)),
            },
            "http" | "https" | "mailto" => {
                return format!("<a href=\"{}\" rel=\"external noreferrer\">", escape(address));
            }
            "" if address.starts_with('#') => {
                self.out.links.push(FarLink {
                    page: String::new(),
                    anchor: address[1..].to_owned(),
                    span: span.clone(),
                });
                return format!("<a href=\"{}\">", escape(address));
            }
            _ => Err((
                format!("the link `{address}` leads nowhere"),
                Some(
                    "write page:NAME, calculator:NAME, table:NAME, term:WORD, #ANCHOR or a full https: address"
                        .to_owned(),
                ),
            )),
        };
        match found {
            Ok(url) => {
                let anchor = anchor.map_or(String::new(), |anchor| format!("#{anchor}"));
                let url = if url.is_empty() { "./" } else { url.as_str() };
                format!("<a href=\"{}{url}{}\">", self.base, escape(&anchor))
            }
            Err((message, mend)) => self.broken(span, message, mend),
        }
    }

    fn broken(&mut self, span: &Range<usize>, message: String, mend: Option<String>) -> String {
        self.find(span.clone(), message, mend);
        "<a>".to_owned()
    }

    /// Checks links to anchors of this page, now that all of them are known.
    pub(super) fn near_links(&mut self) {
        let (near, far): (Vec<FarLink>, Vec<FarLink>) = std::mem::take(&mut self.out.links)
            .into_iter()
            .partition(|link| link.page.is_empty());
        self.out.links = far;
        for link in near {
            if let Some(finding) = missing_anchor(self.page, &link, &self.out.anchors) {
                self.out.findings.push(finding);
            }
        }
    }
}

type Missing = (String, Option<String>);

fn lookup<'m>(
    what: &str,
    name: &str,
    known: impl Iterator<Item = (&'m str, &'m String)> + Clone,
) -> Result<String, Missing> {
    if let Some((_, found)) = known.clone().find(|(key, _)| *key == name) {
        return Ok(found.clone());
    }
    let mend = spelling(name, known.map(|(key, _)| key));
    Err((format!("there is no {what} `{name}`"), mend))
}

/// Checks the links to anchors of other pages, now that all pages are known.
pub fn far_links(drafts: &[Draft<'_>], rendered: &[Rendered]) -> Vec<Finding> {
    let anchors: BTreeMap<&str, &BTreeSet<String>> = drafts
        .iter()
        .zip(rendered)
        .map(|(draft, page)| (draft.name, &page.anchors))
        .collect();
    drafts
        .iter()
        .zip(rendered)
        .flat_map(|(draft, page)| page.links.iter().map(move |link| (draft.source, link)))
        .filter_map(|(source, link)| missing_anchor(source, link, anchors.get(link.page.as_str())?))
        .collect()
}

/// A finding if `link` leads to an anchor that `anchors` lacks.
pub fn missing_anchor(page: &Text, link: &FarLink, anchors: &BTreeSet<String>) -> Option<Finding> {
    // A calculator's state rides in the address; it is no anchor.
    if anchors.contains(&link.anchor) || link.anchor.starts_with("set:") {
        return None;
    }
    let whose = if link.page.is_empty() {
        "this page".to_owned()
    } else {
        format!("the page `{}`", link.page)
    };
    let mend = nearest(&link.anchor, anchors.iter().map(String::as_str))
        .map(|near| format!("the nearest is `#{near}`"));
    let message = format!("{whose} has no anchor `#{}`", link.anchor);
    Some(Finding::at(&page.file, &page.text, link.span.clone(), message).maybe_mend(mend))
}

pub(super) fn percent_decode(text: &str) -> String {
    let bytes = text.as_bytes();
    let mut out = Vec::with_capacity(bytes.len());
    let mut at = 0;
    while at < bytes.len() {
        let code = (bytes[at] == b'%')
            .then(|| text.get(at + 1..at + 3))
            .flatten()
            .and_then(|hex| u8::from_str_radix(hex, 16).ok());
        match code {
            Some(byte) => {
                out.push(byte);
                at += 3;
            }
            None => {
                out.push(bytes[at]);
                at += 1;
            }
        }
    }
    String::from_utf8(out).unwrap_or_else(|_| text.to_owned())
}
