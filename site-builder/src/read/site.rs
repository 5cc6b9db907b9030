//! Part of stage 2: what the whole site is called and where it will stand, from `content/site.toml`.

use crate::finding::{Finding, choice, spelling};
use crate::read::picture::Picture;
use crate::read::source::Text;
use serde::Serialize;
use std::borrow::Cow;
use std::collections::BTreeMap;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

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
    /// Whether raw HTML of the authors passes, as far as [`crate::markdown::raw_html`] lets it.
    #[serde(skip)]
    pub raw_html: bool,
    /// Where the site will stand, as `https://manual.example/`; empty where that is not known.
    /// The codes on the bench cards lead there.
    pub address: String,
    /// The language of what the authors write, as BCP 47 has it: `en-GB`, `de`.
    pub language: String,
    /// The picture beside the title, by path inside the content folder; empty where there is none.
    pub logo: String,
}

/// What the file may say.
const FIELDS: [&str; 7] = [
    "title",
    "description",
    "place",
    "address",
    "language",
    "logo",
    "raw_html",
];

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
        language: "en-GB".into(),
        logo: String::new(),
    };
    let Some(file) = file else {
        return (site, Vec::new());
    };
    let table = match DeTable::parse(&file.text) {
        Ok(table) => table.into_inner(),
        Err(error) => {
            let cause = error.message().lines().next().unwrap_or_default();
            let message = format!("cannot be read: {cause}");
            let span = error.span().unwrap_or(0..0);
            return (
                site,
                vec![Finding::at(&file.file, &file.text, span, message)],
            );
        }
    };
    let set = table
        .iter()
        .map(|(key, value)| set(&mut site, file, key, value));
    let findings = set.filter_map(Result::err).collect();
    (site, findings)
}

/// Takes one field over.
fn set(
    site: &mut Site,
    file: &Text,
    key: &Spanned<Cow<'_, str>>,
    value: &Spanned<DeValue<'_>>,
) -> Result<(), Finding> {
    let name = key.get_ref().as_ref();
    let wrong = |message: String| Finding::at(&file.file, &file.text, value.span(), message);
    let field = match name {
        "title" => &mut site.title,
        "description" => &mut site.description,
        "place" => &mut site.place,
        "address" => &mut site.address,
        "language" => &mut site.language,
        "logo" => &mut site.logo,
        "raw_html" => {
            site.raw_html = value.get_ref().as_bool().ok_or_else(|| {
                wrong(format!("`{name}` is neither true nor false"))
                    .mend("write true or false, without quotes")
            })?;
            return Ok(());
        }
        _ => {
            let message = format!("there is no field `{name}`");
            let finding = Finding::at(&file.file, &file.text, key.span(), message);
            return Err(finding.mend(choice(name, &FIELDS)));
        }
    };
    let words = value.get_ref().as_str();
    let words = words.ok_or_else(|| wrong(format!("`{name}` is not words")))?;
    if name == "address" && !is_address(words) {
        return Err(wrong(format!("`{words}` is no address of a site")).mend(
            "write it whole, as `https://manual.example/` or `https://manual.example/lab/`",
        ));
    }
    if name == "language" && !is_language(words) {
        return Err(wrong(format!("`{words}` is no mark of a language"))
            .mend("write it as `en-GB`, `de` or `pt-BR`"));
    }
    *field = words.to_owned();
    Ok(())
}

/// Whether `text` has the shape of a language tag.
///
/// Source: RFC 5646 (BCP 47), section 2.1: a language of two or three letters (longer ones are
/// reserved), then parts of up to eight letters or digits, joined by hyphens.
fn is_language(text: &str) -> bool {
    let mut parts = text.split('-');
    let language = parts.next().unwrap_or_default();
    (2..=3).contains(&language.len())
        && language.chars().all(|c| c.is_ascii_alphabetic())
        && parts.all(|part| {
            (1..=8).contains(&part.len()) && part.chars().all(|c| c.is_ascii_alphanumeric())
        })
}

/// The logo's address under the root, and its size.
///
/// # Errors
/// There is no such picture, with the nearest.
pub fn logo(
    site: &Site,
    file: Option<&Text>,
    pictures: &BTreeMap<&str, Picture>,
) -> Result<Option<Picture>, Finding> {
    let Some(file) = file.filter(|_| !site.logo.is_empty()) else {
        return Ok(None);
    };
    let picture = pictures.get(site.logo.as_str()).cloned();
    picture.map(Some).ok_or_else(|| {
        let at = file.text.find(&site.logo).unwrap_or(0);
        let message = format!("there is no picture `{}`", site.logo);
        let finding = Finding::at(&file.file, &file.text, at..at + site.logo.len(), message);
        finding.maybe_mend(spelling(&site.logo, pictures.keys().copied()))
    })
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
