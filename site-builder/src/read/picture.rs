//! Part of stage 3: pictures, named by content, with the size that keeps the page from shifting.

use crate::files::name_by_content;
use std::collections::BTreeMap;

/// A picture of the site.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Picture {
    /// Address under the root.
    pub url: String,
    /// Width and height in pixels, so that nothing shifts while it loads.
    pub size: Option<(usize, usize)>,
}

/// The address and size of each picture, by path inside the content folder.
pub fn shelf(pictures: &BTreeMap<String, Vec<u8>>) -> BTreeMap<&str, Picture> {
    pictures
        .iter()
        .map(|(path, bytes)| {
            let name = path.rsplit('/').next().unwrap_or(path);
            let picture = Picture {
                url: format!("pictures/{}", name_by_content(name, bytes)),
                size: size(path, bytes),
            };
            (path.as_str(), picture)
        })
        .collect()
}

fn size(path: &str, bytes: &[u8]) -> Option<(usize, usize)> {
    if path.ends_with(".svg") {
        svg_size(std::str::from_utf8(bytes).ok()?)
    } else {
        png_size(bytes)
    }
}

/// Width and height of a PNG: two big-endian numbers at byte 16.
///
/// Source: PNG Specification, Third Edition, 11.2.1 (IHDR is always the first chunk).
fn png_size(bytes: &[u8]) -> Option<(usize, usize)> {
    let head = bytes
        .get(..24)
        .filter(|head| head.starts_with(b"\x89PNG\r\n\x1a\n"))?;
    let number =
        |at: usize| u32::from_be_bytes([head[at], head[at + 1], head[at + 2], head[at + 3]]);
    Some((number(16) as usize, number(20) as usize))
}

/// Width and height from the `viewBox` of an SVG's first tag.
fn svg_size(text: &str) -> Option<(usize, usize)> {
    let tag = &text[text.find("<svg")?..];
    let tag = &tag[..tag.find('>')?];
    let value = tag.split_once("viewBox")?.1.trim_start_matches([' ', '=']);
    let quote = value.chars().next().filter(|c| matches!(c, '"' | '\''))?;
    let numbers: Vec<f64> = value[1..]
        .split(quote)
        .next()?
        .split([' ', ','])
        .filter_map(|number| number.parse().ok())
        .collect();
    let [_, _, width, height] = numbers[..] else {
        return None;
    };
    let sound = (1.0..1e5).contains(&width) && (1.0..1e5).contains(&height);
    sound.then_some((width.round() as usize, height.round() as usize))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_sizes() {
        let png = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\x01\x40\0\0\0\xf0";
        assert_eq!(size("a.png", png), Some((320, 240)));
        assert_eq!(size("a.png", b"GIF89a"), None);
        assert_eq!(
            size("a.svg", b"<?xml?><svg viewBox='0 0 64 32.4'>"),
            Some((64, 32))
        );
        assert_eq!(size("a.svg", b"<svg viewBox=\"0 0 x y\">"), None);
    }
}
