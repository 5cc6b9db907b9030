//! Part of stage 3: pictures, read and found sound, named by content, with the size that keeps the
//! page from shifting.

use crate::files::name_by_content;
use crate::finding::{Finding, Flaw};
use crate::read::svg;
use imagesize::ImageType;
use serde::Serialize;
use std::collections::BTreeMap;
use std::path::Path;

/// A picture of the site.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Picture {
    /// Address under the root.
    pub url: String,
    /// Width and height in pixels, so that nothing shifts while it loads.
    pub size: Option<(usize, usize)>,
}

/// The address and size of each picture, by path inside the folder `content`, and what is wrong
/// with them.
pub fn shelf<'p>(
    pictures: &'p BTreeMap<String, Vec<u8>>,
    content: &Path,
) -> (BTreeMap<&'p str, Picture>, Vec<Finding>) {
    let mut shelf = BTreeMap::new();
    let mut findings = Vec::new();
    for (path, bytes) in pictures {
        let name = path.rsplit('/').next().unwrap_or(path);
        let (size, flaws) = read(path, bytes);
        let picture = Picture {
            url: format!("pictures/{}", name_by_content(name, bytes)),
            size,
        };
        shelf.insert(path.as_str(), picture);
        let file = content.join(path).display().to_string();
        findings.extend(flaws.into_iter().map(|flaw| finding(&file, bytes, flaw)));
    }
    (shelf, findings)
}

/// A flaw of a drawing has its line; one of other pictures is the whole file's.
fn finding(file: &str, bytes: &[u8], flaw: Flaw) -> Finding {
    let found = match std::str::from_utf8(bytes) {
        Ok(text) if !text.is_empty() => Finding::at(file, text, flaw.span, flaw.message),
        _ => Finding::whole(file, flaw.message),
    };
    found.maybe_mend(flaw.mend)
}

/// The size of a picture, and what is wrong with it. Its name's ending says what it must be: that
/// is what a server tells the browser.
fn read(path: &str, bytes: &[u8]) -> (Option<(usize, usize)>, Vec<Flaw>) {
    let ending = path.rsplit('.').next().unwrap_or_default();
    if ending == "svg" {
        let refused = |message| {
            (
                None,
                vec![Flaw::new(0..1, message).mend("save it as UTF-8")],
            )
        };
        return match std::str::from_utf8(bytes) {
            Ok(text) => svg::read(text.trim_start_matches('\u{feff}')),
            Err(_) => refused("cannot be read: its text is not UTF-8"),
        };
    }
    let refused = |message: String| {
        let mend = "open it in a drawing program and save it anew";
        (None, vec![Flaw::new(0..1, message).mend(mend)])
    };
    let (Ok(found), Ok(size)) = (imagesize::image_type(bytes), imagesize::blob_size(bytes)) else {
        return refused(format!("cannot be read as a picture of the kind {ending}"));
    };
    if kind(found) != Some(ending.replace("jpeg", "jpg").as_str()) {
        let kind = kind(found).unwrap_or("one of another kind");
        return refused(format!("is called .{ending}, but is {kind}"));
    }
    if size.width == 0 || size.height == 0 {
        return refused("has no pixels".into());
    }
    (Some((size.width, size.height)), Vec::new())
}

/// The usual ending of a kind of picture; none for those that a site does not take.
fn kind(found: ImageType) -> Option<&'static str> {
    Some(match found {
        ImageType::Png => "png",
        ImageType::Jpeg => "jpg",
        ImageType::Gif => "gif",
        ImageType::Webp => "webp",
        ImageType::Heif(imagesize::Compression::Av1) => "avif",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Beginnings of files: PNG (Third Edition, 11.2.1), GIF (89a, section 18), JPEG (ITU-T T.81,
    /// B.2.2).
    const PNG: &[u8] = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\x01\x40\0\0\0\xf0\x08\x02\0\0\0";
    const GIF: &[u8] = b"GIF89a\x40\x01\xf0\0\0\0\0";
    const JPEG: &[u8] =
        b"\xff\xd8\xff\xe0\0\x10JFIF\0\x01\x01\0\0\x01\0\x01\0\0\xff\xc0\0\x0b\x08\0\xf0\x01\x40\x01\x01\x11\0";

    #[test]
    fn reads_sizes() {
        for (path, bytes) in [
            ("a.png", PNG),
            ("a.gif", GIF),
            ("a.jpg", JPEG),
            ("a.jpeg", JPEG),
        ] {
            assert_eq!(read(path, bytes), (Some((320, 240)), Vec::new()), "{path}");
        }
    }

    #[test]
    fn finds_what_is_no_picture() {
        for (path, bytes, what) in [
            ("a.png", GIF, "is called .png, but is gif"),
            ("a.jpg", b"<html>".as_slice(), "cannot be read"),
            ("a.webp", b"RIFF", "cannot be read"),
            ("a.png", &PNG[..12], "cannot be read"),
            ("a.gif", b"", "cannot be read"),
            ("a.svg", b"\xff\xfe", "not UTF-8"),
        ] {
            let (size, flaws) = read(path, bytes);
            assert!(
                size.is_none() && flaws[0].message.contains(what),
                "{path}: {flaws:?}"
            );
        }
    }

    #[test]
    fn a_finding_has_the_line_of_the_drawing() {
        let svg = b"<svg xmlns=\"http://www.w3.org/2000/svg\">\n <script/>\n</svg>".to_vec();
        let pictures =
            BTreeMap::from([("p/a.svg".to_owned(), svg), ("p/b.png".to_owned(), vec![])]);
        let (shelf, findings) = shelf(&pictures, Path::new("content"));
        assert_eq!(shelf.len(), 2);
        let places: Vec<String> = findings.iter().map(Finding::place).collect();
        assert_eq!(places, ["content/p/a.svg:2:2", "content/p/b.png"]);
    }
}
