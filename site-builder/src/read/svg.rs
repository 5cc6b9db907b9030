//! What an SVG picture may hold. In a page a browser shows it and runs nothing; opened by itself,
//! it is a document of the site, and its scripts run with the site's rights.
//!
//! Source: W3C, Scalable Vector Graphics (SVG) 2, section 2.2 (secure static mode: no script, no
//! external reference). It is read as a browser reads it, as XML: a search for words would miss
//! what a prefix or an entity hides, and find words that are only shown.

use crate::finding::Flaw;
use roxmltree::{Attribute, Document, Node, NodeType, ParsingOptions};
use std::ops::Range;

const SVG: &str = "http://www.w3.org/2000/svg";
const XHTML: &str = "http://www.w3.org/1999/xhtml";
/// Elements that run or embed something.
const ACTIVE: [&str; 8] = [
    "script",
    "foreignObject",
    "handler",
    "listener",
    "iframe",
    "audio",
    "video",
    "canvas",
];
/// Pictures that may stand inside as data: they hold nothing but colours.
const INSIDE: [&str; 4] = [
    "data:image/png",
    "data:image/jpeg",
    "data:image/gif",
    "data:image/webp",
];
/// The most elements, and what they hold, that a picture has; a longer one is no drawing.
const MOST_NODES: u32 = 200_000;

/// Width and height from the `viewBox`, and all that must not stand in the picture.
pub fn read(text: &str) -> (Option<(usize, usize)>, Vec<Flaw>) {
    if let Some(at) = own_declarations(text) {
        let span = at..at + DOCTYPE.len();
        let flaw = Flaw::new(
            span,
            "holds declarations of its own, which could hide a script",
        );
        let mend =
            "take what stands in square brackets out of the DOCTYPE, or save it as plain SVG";
        return (None, vec![flaw.mend(mend)]);
    }
    let options = ParsingOptions {
        // A name of a document type is nothing; drawing programs write one.
        allow_dtd: true,
        nodes_limit: MOST_NODES,
        ..ParsingOptions::default()
    };
    let document = match Document::parse_with_options(text, options) {
        Ok(document) => document,
        Err(error) => return (None, vec![unreadable(text, &error)]),
    };
    let root = document.root_element();
    if !root.has_tag_name((SVG, "svg")) {
        let flaw = Flaw::new(
            start(&root),
            "is not an SVG picture: its first element is no `svg`",
        );
        return (None, vec![flaw.mend(PLAIN)]);
    }
    let flaws = document.root().descendants().filter_map(|node| flaw(&node));
    (size(&root), flaws.collect())
}

const DOCTYPE: &str = "<!DOCTYPE";

/// Where a document type with declarations of its own begins, the square brackets of XML 1.0,
/// section 2.8: an entity could hide anything, and an attribute preset there would run.
fn own_declarations(text: &str) -> Option<usize> {
    let mut places = text.match_indices(DOCTYPE);
    let found = places.find(|(at, _)| {
        let mut quote = None;
        for c in text[at + DOCTYPE.len()..].chars() {
            match (quote, c) {
                (None, '\'' | '"') => quote = Some(c),
                (Some(open), _) if open == c => quote = None,
                (None, '[') => return true,
                (None, '>') => return false,
                _ => {}
            }
        }
        false
    });
    found.map(|(at, _)| at)
}

const PLAIN: &str = "save it as plain SVG from the drawing program";

fn unreadable(text: &str, error: &roxmltree::Error) -> Flaw {
    let place = error.pos();
    let line = text.split_inclusive('\n').take(place.row as usize - 1);
    let at = line.map(str::len).sum::<usize>();
    Flaw::new(at..at + 1, format!("cannot be read as SVG: {error}")).mend(PLAIN)
}

/// The first thing in `node` that must not be there.
fn flaw(node: &Node<'_, '_>) -> Option<Flaw> {
    let refused = |message: String| Some(Flaw::new(start(node), message).mend(PLAIN));
    match node.node_type() {
        NodeType::PI => refused("calls for a style sheet or program beside it".into()),
        NodeType::Element => {
            let name = node.tag_name().name();
            let active = ACTIVE.iter().any(|word| word.eq_ignore_ascii_case(name));
            if active || node.tag_name().namespace() == Some(XHTML) {
                return refused(format!("holds `{name}`, which a browser runs or embeds"));
            }
            let style = if name == "style" {
                css(node.text()?)
            } else {
                None
            };
            match style {
                Some(what) => refused(format!("its style {what}")),
                None => node.attributes().find_map(|it| attribute(node, &it)),
            }
        }
        _ => None,
    }
}

fn attribute(node: &Node<'_, '_>, attribute: &Attribute<'_, '_>) -> Option<Flaw> {
    let (name, value) = (attribute.name(), attribute.value().trim());
    let refused = |message: String| Some(Flaw::new(attribute.range(), message).mend(PLAIN));
    let small = name.to_ascii_lowercase();
    if small.starts_with("on") {
        return refused(format!("holds `{name}`, which a browser runs"));
    }
    let names_attribute = small == "attributename";
    if names_attribute && (value.ends_with("href") || value.to_ascii_lowercase().starts_with("on"))
    {
        return refused(format!("`{}` sets `{value}`", node.tag_name().name()));
    }
    if ["href", "src", "base"].contains(&small.as_str()) && !is_inside(value) {
        return refused(format!(
            "refers to `{}`, outside the picture",
            shortened(value)
        ));
    }
    css(value).and_then(|what| refused(format!("`{name}` {what}")))
}

/// Whether a reference leads to the picture itself or to data in it.
fn is_inside(reference: &str) -> bool {
    let small = reference.to_ascii_lowercase();
    reference.starts_with('#') || INSIDE.iter().any(|start| small.starts_with(start))
}

/// What reaches out of a style or an attribute that takes the same words.
fn css(style: &str) -> Option<&'static str> {
    let small = style.to_ascii_lowercase();
    let outside = small.match_indices("url(").any(|(at, _)| {
        let reference = style[at + 4..].trim_start_matches([' ', '\t', '\n', '\r', '"', '\'']);
        !is_inside(reference)
    });
    if outside || small.contains("@import") || small.contains("image-set(") {
        Some("refers to something outside the picture")
    } else if small.contains('\\') && small.contains('(') {
        Some("writes a function with escapes, which could hide a reference")
    } else if small.contains("javascript:") {
        Some("holds a script")
    } else {
        None
    }
}

/// The opening of an element or instruction, as far as its name.
fn start(node: &Node<'_, '_>) -> Range<usize> {
    let range = node.range();
    let name = node.tag_name().name().len().max(1);
    range.start..(range.start + 1 + name).min(range.end)
}

fn shortened(value: &str) -> String {
    match value.char_indices().nth(60) {
        Some((end, _)) => format!("{}…", &value[..end]),
        None => value.to_owned(),
    }
}

/// Width and height from the `viewBox`.
fn size(root: &Node<'_, '_>) -> Option<(usize, usize)> {
    let numbers: Vec<f64> = root
        .attribute("viewBox")?
        .split([' ', ',', '\n', '\t'])
        .filter(|number| !number.is_empty())
        .map(|number| number.parse().ok())
        .collect::<Option<_>>()?;
    let [_, _, width, height] = numbers[..] else {
        return None;
    };
    let sound = (1.0..1e5).contains(&width) && (1.0..1e5).contains(&height);
    sound.then_some((width.round() as usize, height.round() as usize))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(inside: &str) -> Vec<String> {
        let text = format!(
            "<svg xmlns=\"{SVG}\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" viewBox=\"0 0 64 32.4\">{inside}</svg>"
        );
        let (_, flaws) = read(&text);
        flaws.into_iter().map(|flaw| flaw.message).collect()
    }

    #[test]
    fn refuses_what_runs_or_reaches_out() {
        for (inside, what) in [
            ("<script>alert(1)</script>", "`script`"),
            ("<SCRIPT/>", "`SCRIPT`"),
            (
                "<x:script xmlns:x='http://www.w3.org/1999/xhtml'>alert(1)</x:script>",
                "`script`",
            ),
            ("<p xmlns='http://www.w3.org/1999/xhtml'/>", "`p`"),
            ("<foreignObject/>", "`foreignObject`"),
            ("<g onload='alert(1)'/>", "`onload`"),
            ("<g OnClick='alert(1)'/>", "`OnClick`"),
            ("<a href='javascript:alert(1)'/>", "outside the picture"),
            (
                "<a xlink:href=' java&#115;cript:alert(1)'/>",
                "outside the picture",
            ),
            ("<use href='other.svg#a'/>", "outside the picture"),
            (
                "<image href='https://example.org/a.png'/>",
                "outside the picture",
            ),
            (
                "<image href='data:image/svg+xml;base64,AAAA'/>",
                "outside the picture",
            ),
            ("<image href='data:text/html,x'/>", "outside the picture"),
            (
                "<set attributeName='href' to='javascript:alert(1)'/>",
                "sets `href`",
            ),
            (
                "<animate attributeName='xlink:href' values='a;b'/>",
                "sets `xlink:href`",
            ),
            (
                "<rect fill='url(https://example.org/#a)'/>",
                "outside the picture",
            ),
            (
                "<rect style='fill: URL( \"//example.org/a\" )'/>",
                "outside the picture",
            ),
            ("<style>@import 'a.css';</style>", "outside the picture"),
            (
                "<style>g { fill: u\\72l(//example.org) }</style>",
                "escapes",
            ),
            ("<?xml-stylesheet href='a.css'?>", "style sheet"),
        ] {
            let told = told(inside);
            assert!(
                told.len() == 1 && told[0].contains(what),
                "{inside}: {told:?}"
            );
        }
        for (whole, what) in [
            (
                "<!DOCTYPE svg [<!ATTLIST svg onload CDATA \"alert(1)\">]><svg/>",
                "declarations",
            ),
            (
                "<!-- <!DOCTYPE a> --><!DOCTYPE svg SYSTEM 'a>b' [<!ENTITY a 'b'>]><svg/>",
                "declarations",
            ),
            ("<svg", "cannot be read"),
            ("", "cannot be read"),
            ("<html xmlns='http://www.w3.org/1999/xhtml'/>", "no `svg`"),
        ] {
            let (size, flaws) = read(whole);
            assert!(
                size.is_none() && flaws[0].message.contains(what),
                "{whole}: {flaws:?}"
            );
        }
    }

    #[test]
    fn lets_drawings_be() {
        for inside in [
            "<title>On a script</title><g id='a' font-family='serif'><use href='#a'/></g>",
            "<style>.a { fill: url(#b); content: 'x' }</style>",
            "<rect fill='url(#b)' style='stroke: url(\"#c\")'/>",
            "<image xlink:href='data:image/png;base64,iVBORw0KGgo='/>",
            "<metadata><x:x xmlns:x='http://example.org/'/></metadata>",
            "<text>onload=\"alert(1)\" &lt;script&gt;</text>",
            "<animate attributeName='x' values='0;1'/>",
        ] {
            assert_eq!(told(inside), [""; 0], "{inside}");
        }
    }

    /// As Graphviz writes it, with the public identifier of SVG 1.1.
    #[test]
    fn takes_the_name_of_a_document_type() {
        let text = format!(
            "<?xml version=\"1.0\"?>\n<!DOCTYPE svg PUBLIC \"-//W3C//DTD SVG 1.1//EN\"\n \"http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd\">\n<svg xmlns='{SVG}' viewBox='0 0 3 4'/>"
        );
        let (size, flaws) = read(&text);
        assert_eq!((size, flaws.len()), (Some((3, 4)), 0), "{flaws:?}");
    }

    #[test]
    fn reads_the_size() {
        let sized = |text: &str| read(&text.replace("<svg", &format!("<svg xmlns='{SVG}'"))).0;
        assert_eq!(sized("<svg viewBox='0 0 64 32.4'/>"), Some((64, 32)));
        assert_eq!(sized("<svg viewBox=\"0,0,64,\n32\"/>"), Some((64, 32)));
        assert_eq!(sized("<svg viewBox=\"0 0 x y\"/>"), None);
        assert_eq!(sized("<svg/>"), None);
    }
}
