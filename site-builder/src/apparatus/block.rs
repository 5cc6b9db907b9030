//! An `apparatus` block read into parts, joins, hoses, water and clamps.
//!
//! ```toml
//! title = "Simple distillation"
//!
//! [parts]                                   # our own short word = the catalogue's name
//! bath  = "oil bath"
//! flask = { part = "flask 250 mL 24/29", holds = "120 mL of toluene" }
//! head  = "still head 24/29"
//!
//! [set-up]
//! stand  = ["bath", "flask", "head"]        # each on or in the one before; several stands: a list of lists
//! joins  = ["head.side to condenser to adapter to receiver"]
//! hoses  = ["adapter.vacuum to trap to pump"]   # in the direction the gas goes
//! water  = ["condenser.lower to condenser.upper"]
//! clamps = ["flask", "condenser", "receiver by clip"]
//! open   = ["adapter.vent"]                 # openings that are meant to be open
//! ```
//!
//! `head.side` is the opening `side` of the part `head`; where the opening is left out, the first
//! free one that fits is taken.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::assembly::{Assembly, Item, OUTSIDE};
use super::catalogue::Catalogue;
use crate::finding::Flaw;
use crate::finding::{choice, spelling};

/// A block while it is read: what is known so far and what is wrong.
pub(super) struct Reader<'a> {
    pub catalogue: &'a Catalogue,
    pub text: &'a str,
    pub assembly: Assembly,
    pub flaws: Vec<Flaw>,
}

/// A word of the block and where it stands.
#[derive(Debug, Clone)]
pub(super) struct Word {
    pub text: String,
    pub span: Range<usize>,
}

/// Everything a block says, parts found and openings chosen.
pub(crate) fn read(catalogue: &Catalogue, text: &str) -> Result<Assembly, Vec<Flaw>> {
    let table = DeTable::parse(text).map_err(|why| {
        vec![
            Flaw::new(
                why.span().unwrap_or(0..text.len()),
                why.message().trim().to_owned(),
            )
            .mend("put the block's TOML right"),
        ]
    })?;
    let mut reader = Reader {
        catalogue,
        text,
        assembly: empty(text),
        flaws: Vec::new(),
    };
    reader.block(table.get_ref());
    if reader.flaws.is_empty() {
        Ok(reader.assembly)
    } else {
        Err(reader.flaws)
    }
}

fn empty(text: &str) -> Assembly {
    Assembly {
        title: String::new(),
        summary: String::new(),
        items: Vec::new(),
        stands: Vec::new(),
        joins: Vec::new(),
        hoses: Vec::new(),
        water: Vec::new(),
        clamps: Vec::new(),
        open: Vec::new(),
        left: Vec::new(),
        places: Vec::new(),
        lower_bench: None,
        // The first line of the block stands for the whole of it.
        whole: 0..text.find('\n').unwrap_or(text.len()),
    }
}

impl Reader<'_> {
    pub(super) fn flaw(
        &mut self,
        span: &Range<usize>,
        message: impl Into<String>,
        mend: impl Into<String>,
    ) {
        self.flaws.push(Flaw::new(span.clone(), message).mend(mend));
    }

    fn block(&mut self, table: &DeTable<'_>) {
        let mut set_up = None;
        let mut parts = None;
        for (key, value) in sorted(table) {
            match (key.get_ref().as_ref(), value.get_ref()) {
                ("title", DeValue::String(title)) => self.assembly.title = title.to_string(),
                ("summary", DeValue::String(summary)) => {
                    self.assembly.summary = summary.to_string()
                }
                ("parts", DeValue::Table(table)) => parts = Some(table),
                ("set-up", DeValue::Table(table)) => set_up = Some(table),
                (name @ ("title" | "summary"), _) => self.flaw(
                    &value.span(),
                    format!("`{name}` is not text"),
                    "write it between quotation marks",
                ),
                (name @ ("parts" | "set-up"), _) => self.flaw(
                    &value.span(),
                    format!("`{name}` is not a table"),
                    format!("write `[{name}]` on a line of its own"),
                ),
                (name, _) => {
                    self.flaw(
                        &key.span(),
                        format!("an apparatus block has no `{name}`"),
                        choice(name, &["title", "summary", "parts", "set-up"]),
                    );
                }
            }
        }
        let whole = self.assembly.whole.clone();
        if self.assembly.title.trim().is_empty() {
            self.flaw(
                &whole,
                "the apparatus has no title",
                "begin the block with `title = \"…\"`",
            );
        }
        match parts {
            Some(parts) => self.parts(parts),
            None => self.flaw(
                &whole,
                "the apparatus has no parts",
                "list them under `[parts]`, each as `flask = \"flask 250 mL 24/29\"`",
            ),
        }
        if self.flaws.is_empty() && self.assembly.items.is_empty() {
            self.flaw(
                &whole,
                "the apparatus has no parts",
                "list them under `[parts]`, each as `flask = \"flask 250 mL 24/29\"`",
            );
        }
        if let Some(set_up) = set_up
            && self.flaws.is_empty()
        {
            self.set_up(set_up);
        }
    }

    fn parts(&mut self, table: &DeTable<'_>) {
        for (key, value) in sorted(table) {
            let alias = key.get_ref().to_string();
            if alias.contains(['.', ' ']) || OUTSIDE.iter().any(|(name, _)| *name == alias) {
                self.flaw(
                    &key.span(),
                    format!("`{alias}` cannot be a short word for a part"),
                    "use letters, figures and hyphens only",
                );
                continue;
            }
            match value.get_ref() {
                DeValue::String(name) => {
                    self.item(alias, name, value.span());
                }
                DeValue::Table(settings) => self.item_with(alias, settings, value.span()),
                _ => self.flaw(
                    &value.span(),
                    format!("`{alias}` is not the name of a part"),
                    "write the catalogue's name between quotation marks",
                ),
            }
        }
    }

    fn item(&mut self, alias: String, name: &str, span: Range<usize>) -> bool {
        let Some(part) = self.catalogue.find(name) else {
            let near = spelling(name, self.catalogue.parts().map(|part| part.name.as_str()));
            let files = "the files of content/data/parts have the names";
            self.flaw(
                &span,
                format!("there is no part `{name}`"),
                near.unwrap_or_else(|| files.to_owned()),
            );
            return false;
        };
        self.assembly.items.push(Item {
            alias,
            part: part.clone(),
            holds: Vec::new(),
            depth: None,
            mirror: false,
            height: None,
            lift: None,
            span,
        });
        true
    }

    fn item_with(&mut self, alias: String, settings: &DeTable<'_>, span: Range<usize>) {
        let name = settings
            .iter()
            .find(|(key, _)| key.get_ref() == "part")
            .map(|(_, value)| value);
        let Some(DeValue::String(name)) = name.map(Spanned::get_ref) else {
            self.flaw(
                &span,
                format!("`{alias}` does not say which part it is"),
                "add `part = \"…\"` with the catalogue's name",
            );
            return;
        };
        let name_span = settings
            .iter()
            .find(|(key, _)| key.get_ref() == "part")
            .map_or(span, |(_, value)| value.span());
        if !self.item(alias.clone(), name, name_span) {
            return;
        }
        let at = self.assembly.items.len() - 1;
        for (key, value) in sorted(settings) {
            let span = value.span();
            match key.get_ref().as_ref() {
                "part" => {}
                "holds" => self.holds(at, value),
                "mirror" => match value.get_ref() {
                    DeValue::Boolean(mirror) => self.assembly.items[at].mirror = *mirror,
                    _ => self.flaw(
                        &span,
                        "`mirror` is neither true nor false",
                        "write `mirror = true`",
                    ),
                },
                name @ ("depth" | "height" | "lift") => match millimetres(value.get_ref()) {
                    Some(number) if (0.0..=2000.0).contains(&number) => {
                        let item = &mut self.assembly.items[at];
                        match name {
                            "depth" => item.depth = Some(number),
                            "height" => item.height = Some(number),
                            _ => item.lift = Some(number),
                        }
                    }
                    Some(number) => self.flaw(
                        &span,
                        format!("`{name}` is {number} mm"),
                        "write a length between 0 and 2000 mm",
                    ),
                    None => self.flaw(
                        &span,
                        format!("`{name}` is not a length"),
                        format!("write for example `{name} = \"80 mm\"`"),
                    ),
                },
                other => {
                    const SETTINGS: [&str; 6] =
                        ["part", "holds", "depth", "height", "lift", "mirror"];
                    self.flaw(
                        &key.span(),
                        format!("a part has no setting `{other}`"),
                        choice(other, &SETTINGS),
                    );
                }
            }
        }
    }

    fn holds(&mut self, at: usize, value: &Spanned<DeValue<'_>>) {
        let words = self.words(value);
        let named = self.assembly.named(at);
        let mut total = 0.0;
        for word in &words {
            let (amount, of) = word.text.split_once(" of ").unwrap_or((&word.text, ""));
            let Some(volume) = millilitres(amount) else {
                self.flaw(
                    &word.span,
                    format!("`{}` is not a volume", word.text),
                    "write for example `120 mL of toluene`",
                );
                continue;
            };
            total += volume;
            self.assembly.items[at]
                .holds
                .push((volume, of.trim().to_owned()));
        }
        let span = value.span();
        match &self.assembly.items[at].part.cavity {
            None => self.flaw(
                &span,
                format!("{named} does not hold liquid"),
                "leave `holds` out, or take a vessel",
            ),
            Some(cavity) => {
                let most = if self.assembly.items[at].part.volume > 0.0 {
                    self.assembly.items[at].part.volume
                } else {
                    cavity.volume()
                };
                if total > most {
                    self.flaw(
                        &span,
                        format!("{total} mL do not fit into {named}"),
                        format!("at most {most:.0} mL; take a larger one or less liquid"),
                    );
                }
            }
        }
    }

    /// A word, or a list of words, each with its place.
    pub(super) fn words(&mut self, value: &Spanned<DeValue<'_>>) -> Vec<Word> {
        match value.get_ref() {
            DeValue::String(text) => vec![Word {
                text: text.to_string(),
                span: value.span(),
            }],
            DeValue::Array(list) => list.iter().flat_map(|entry| self.words(entry)).collect(),
            _ => {
                self.flaw(
                    &value.span(),
                    "a word is expected here",
                    "write it between quotation marks",
                );
                Vec::new()
            }
        }
    }

    /// The place of `part` inside a longer word.
    pub(super) fn within(&self, word: &Word, part: &str) -> Range<usize> {
        match self.text[word.span.clone()].find(part) {
            Some(offset) => word.span.start + offset..word.span.start + offset + part.len(),
            None => word.span.clone(),
        }
    }
}

/// Keys in the order they were written.
pub(super) fn sorted<'t, 'a>(
    table: &'t DeTable<'a>,
) -> Vec<(
    &'t Spanned<std::borrow::Cow<'a, str>>,
    &'t Spanned<DeValue<'a>>,
)> {
    let mut entries: Vec<_> = table.iter().collect();
    entries.sort_by_key(|(key, _)| key.span().start);
    entries
}

fn millimetres(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Integer(number) => number.as_str().parse().ok(),
        DeValue::Float(number) => number.as_str().parse().ok(),
        DeValue::String(text) => text
            .trim()
            .strip_suffix("mm")?
            .trim()
            .parse()
            .ok()
            .filter(|n: &f64| n.is_finite()),
        _ => None,
    }
}

fn millilitres(text: &str) -> Option<f64> {
    let text = text.trim();
    let (number, factor) = match text.strip_suffix("mL") {
        Some(number) => (number, 1.0),
        None => (text.strip_suffix('L')?, 1000.0),
    };
    let volume: f64 = number.trim().parse().ok()?;
    (volume.is_finite() && volume > 0.0).then_some(volume * factor)
}
