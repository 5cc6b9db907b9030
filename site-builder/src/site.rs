//! Part of stage 2: what the whole site is called and where it will stand, from `content/site.toml`.

use crate::finding::{Finding, choice};
use crate::source::Text;
use serde::Serialize;
use toml::de::DeTable;

/// What the whole site is called.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Site {
    /// Its title.
    pub title: String,
    /// One sentence.
    pub description: String,
    /// The house that uses it.
    pub place: String,
    /// The builder's version.
    pub version: String,
    /// Whether raw HTML of the authors passes, as far as [`crate::raw_html`] lets it.
    #[serde(skip)]
    pub raw_html: bool,
    /// Where the site will stand, as `https://manual.example/`; empty where that is not known.
    /// The codes on the bench cards lead there.
    pub address: String,
}

/// Reads `content/site.toml`; what it does not say has a default.
pub fn read(file: Option<&Text>) -> (Site, Vec<Finding>) {
    let mut site = Site {
        title: "Forerun".into(),
        description: "Separation and purification at the bench, with the numbers worked out."
            .into(),
        place: String::new(),
        version: env!("CARGO_PKG_VERSION").into(),
        raw_html: false,
        address: String::new(),
    };
    let mut findings = Vec::new();
    let Some(file) = file else {
        return (site, findings);
    };
    match DeTable::parse(&file.text) {
        Ok(table) => {
            for (key, value) in table.get_ref() {
                let name = key.get_ref().as_ref();
                let field = match name {
                    "title" => &mut site.title,
                    "description" => &mut site.description,
                    "place" => &mut site.place,
                    "address" => &mut site.address,
                    "raw_html" => {
                        match value.get_ref().as_bool() {
                            Some(truth) => site.raw_html = truth,
                            None => findings.push(
                                Finding::at(
                                    &file.file,
                                    &file.text,
                                    value.span(),
                                    format!("`{name}` is neither true nor false"),
                                )
                                .mend("write true or false, without quotes"),
                            ),
                        }
                        continue;
                    }
                    _ => {
                        let mend = choice(
                            name,
                            &["title", "description", "place", "address", "raw_html"],
                        );
                        let message = format!("there is no field `{name}`");
                        findings.push(
                            Finding::at(&file.file, &file.text, key.span(), message).mend(mend),
                        );
                        continue;
                    }
                };
                match value.get_ref().as_str() {
                    Some(words) if name == "address" && !is_address(words) => {
                        let message = format!("`{words}` is no address of a site");
                        findings.push(
                            Finding::at(&file.file, &file.text, value.span(), message)
                                .mend("write it whole, as `https://manual.example/` or `https://manual.example/lab/`"),
                        );
                    }
                    Some(words) => *field = words.to_owned(),
                    None => findings.push(Finding::at(
                        &file.file,
                        &file.text,
                        value.span(),
                        format!("`{name}` is not words"),
                    )),
                }
            }
        }
        Err(error) => findings.push(Finding::at(
            &file.file,
            &file.text,
            error.span().unwrap_or(0..0),
            format!(
                "cannot be read: {}",
                error.message().lines().next().unwrap_or_default()
            ),
        )),
    }
    (site, findings)
}

/// Whether pages' addresses can be put behind `text`.
fn is_address(text: &str) -> bool {
    let rest = text
        .strip_prefix("https://")
        .or(text.strip_prefix("http://"));
    rest.is_some_and(|rest| {
        rest.ends_with('/')
            && !rest.starts_with('/')
            && rest
                .chars()
                .all(|c| c.is_ascii_alphanumeric() || "-._~:/[]%@".contains(c))
    })
}
