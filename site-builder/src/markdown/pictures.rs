//! Pictures, each with its alternative text and the size that keeps the page from shifting.

use super::Writer;
use super::links::percent_decode;
use super::pass::{Pass, plain_text};
use calc_wasm::markup::escape;
use calc_wasm::problem::nearest;

impl Writer<'_> {
    pub(super) fn image<'e>(&mut self, pass: &mut Pass<'e, '_>, at: usize, address: &str) -> usize {
        let end = pass.end_of(at);
        let span = pass.origin.span(&pass.events[at].1);
        let alternative = plain_text(&pass.events[at..end]);
        if alternative.trim().is_empty() {
            self.find(
                span.clone(),
                format!("the picture `{address}` has no alternative text"),
                Some("say between the square brackets what it shows".into()),
            );
        }
        let path = beside(&self.page.path, &percent_decode(address));
        let picture = path.and_then(|path| self.shelf.pictures.get(path.as_str()));
        let Some(picture) = picture else {
            let near = nearest(address, self.shelf.pictures.keys().copied());
            let mend = if address.contains("://") {
                "copy it into the content folder; the site asks no other host for anything".into()
            } else if let Some(near) = near {
                format!("the nearest is `{near}` of the content folder")
            } else {
                "name a file of the content folder, as seen from this page's own folder".into()
            };
            self.find(span, format!("there is no picture `{address}`"), Some(mend));
            return end + 1;
        };
        let size = picture.size.map_or(String::new(), |(width, height)| {
            format!(" width=\"{width}\" height=\"{height}\"")
        });
        let html = format!(
            "<img src=\"{}{}\" alt=\"{}\"{size} loading=\"lazy\" decoding=\"async\">",
            self.base,
            escape(&picture.url),
            escape(alternative.trim())
        );
        pass.html(html);
        end + 1
    }
}

/// The path inside the content folder of a file named as seen from `page`.
fn beside(page: &str, address: &str) -> Option<String> {
    let mut parts: Vec<&str> = page.split('/').collect();
    parts.pop();
    for part in address.split('/') {
        match part {
            "" | "." => {}
            ".." => {
                parts.pop()?;
            }
            part => parts.push(part),
        }
    }
    Some(parts.join("/"))
}
