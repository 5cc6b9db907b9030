//! All parts of some folders, each size under its own name.
//!
//! A definition in a file may stand for many sizes: `each` lists the values of a name and every
//! combination becomes a part; `sizes` lists the combinations one by one. The names may be used in
//! braces anywhere in the definition, in sums too. Known besides:
//!
//! * `ball`: inner diameter of a ball of `volume` mL;
//! * `joint_d` and `joint_j` for a name `joint` that holds a joint size: its wide end and length.

use std::collections::BTreeMap;
use std::path::Path;

use serde::Deserialize;
use toml::Spanned;

use super::expression::{Value, Values, fill, shown, work_out};
use super::part::{Fit, Lines, Part, ball_diameter};
use crate::finding::Flaw;

/// The parts that authors may name.
#[derive(Debug, Default)]
pub struct Catalogue {
    parts: BTreeMap<String, Entry>,
}

/// A part as drawn usually, and how to make it taller where it can be.
#[derive(Debug)]
struct Entry {
    part: Part,
    definition: std::sync::Arc<Definition>,
    values: Values,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[allow(
        dead_code,
        reason = "read by people and by the table pages, required here"
    )]
    title: String,
    #[serde(default)]
    #[allow(dead_code, reason = "read by people and by the table pages")]
    about: String,
    #[allow(dead_code, reason = "every file says where its figures come from")]
    source: String,
    #[serde(default)]
    part: Vec<Spanned<Definition>>,
}

#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Definition {
    name: String,
    label: String,
    #[serde(default)]
    each: BTreeMap<String, Vec<toml::Value>>,
    #[serde(default)]
    sizes: Vec<BTreeMap<String, toml::Value>>,
    #[serde(default)]
    height: Option<[f64; 3]>,
    #[serde(default, rename = "let")]
    lets: Vec<String>,
    #[serde(default)]
    traits: Vec<String>,
    #[serde(default)]
    ports: Vec<String>,
    draw: Vec<String>,
    #[serde(default)]
    marks: Vec<String>,
    #[serde(default)]
    cavity: String,
    #[serde(default)]
    flow: Vec<String>,
    #[serde(default)]
    caution: String,
    #[serde(default)]
    instead: Vec<String>,
    #[serde(default)]
    with: Vec<String>,
}

impl Catalogue {
    /// All parts in the `*.toml` files of some folders, in the order of the folders; a later part
    /// replaces an earlier one of the same name, so that a house can bring its own.
    ///
    /// # Errors
    /// A file that cannot be read, is no TOML, or holds a part that cannot be drawn.
    pub fn load(folders: &[&Path]) -> Result<Self, Vec<Flaw>> {
        let mut texts = Vec::new();
        let mut flaws = Vec::new();
        for folder in folders {
            let mut files: Vec<_> = match std::fs::read_dir(folder) {
                Ok(entries) => entries
                    .filter_map(Result::ok)
                    .map(|entry| entry.path())
                    .collect(),
                Err(why) => {
                    flaws.push(
                        Flaw::new(0..0, format!("{}: {why}", folder.display()))
                            .mend("make the folder of parts readable"),
                    );
                    continue;
                }
            };
            files.retain(|file| file.extension().is_some_and(|ending| ending == "toml"));
            files.sort();
            for file in files {
                let name = file
                    .file_name()
                    .unwrap_or_default()
                    .to_string_lossy()
                    .into_owned();
                match std::fs::read_to_string(&file) {
                    Ok(text) => texts.push((name, text)),
                    Err(why) => flaws.push(
                        Flaw::new(0..0, format!("{name}: {why}"))
                            .mend("save the file as readable UTF-8 text"),
                    ),
                }
            }
        }
        let texts: Vec<(&str, &str)> = texts
            .iter()
            .map(|(name, text)| (name.as_str(), text.as_str()))
            .collect();
        match Self::from_texts(&texts) {
            Ok(catalogue) if flaws.is_empty() => Ok(catalogue),
            Ok(_) => Err(flaws),
            Err(more) => {
                flaws.extend(more);
                Err(flaws)
            }
        }
    }

    /// The same from texts, each with a name for messages.
    ///
    /// # Errors
    /// As [`Catalogue::load`]; the span of each flaw lies in its own text, whose name and line
    /// the message begins with.
    pub fn from_texts(texts: &[(&str, &str)]) -> Result<Self, Vec<Flaw>> {
        let mut catalogue = Self::default();
        let mut flaws = Vec::new();
        for (name, text) in texts {
            let place = |at: usize| {
                format!(
                    "{name}:{}",
                    text[..at.min(text.len())].matches('\n').count() + 1
                )
            };
            match toml::from_str::<File>(text) {
                Ok(file) => {
                    for definition in file.part {
                        let span = definition.span();
                        if let Err(why) = catalogue.add(definition.into_inner()) {
                            flaws.push(
                                Flaw::new(span.clone(), format!("{}: {why}", place(span.start)))
                                    .mend("put the part's definition right"),
                            );
                        }
                    }
                }
                Err(why) => {
                    let span = why.span().unwrap_or(0..0);
                    flaws.push(
                        Flaw::new(
                            span.clone(),
                            format!("{}: {}", place(span.start), why.message()),
                        )
                        .mend("put the file's TOML right"),
                    );
                }
            }
        }
        if flaws.is_empty() {
            Ok(catalogue)
        } else {
            Err(flaws)
        }
    }

    fn add(&mut self, definition: Definition) -> Result<(), String> {
        let definition = std::sync::Arc::new(definition);
        for given in combinations(&definition) {
            let values = values(&given)?;
            let height = definition.height.map(|[_, usual, _]| usual);
            let part = make(&definition, &values, height)
                .map_err(|why| format!("part `{}`: {why}", definition.name))?;
            self.parts.insert(
                part.name.clone(),
                Entry {
                    part,
                    definition: definition.clone(),
                    values,
                },
            );
        }
        Ok(())
    }

    /// The part of this name.
    pub fn find(&self, name: &str) -> Option<&Part> {
        self.parts.get(name).map(|entry| &entry.part)
    }

    /// All parts, by name.
    pub fn parts(&self) -> impl Iterator<Item = &Part> {
        self.parts.values().map(|entry| &entry.part)
    }

    /// Lowest, usual and greatest height of a part that can be wound up, mm.
    pub(crate) fn heights(&self, name: &str) -> Option<[f64; 3]> {
        self.parts.get(name)?.definition.height
    }

    /// The part wound up to a height.
    pub(crate) fn at_height(&self, name: &str, height: f64) -> Option<Part> {
        let entry = self.parts.get(name)?;
        make(&entry.definition, &entry.values, Some(height)).ok()
    }

    /// The part that joins two openings which do not join each other.
    pub(crate) fn adapter(&self, a: &super::part::Joint, b: &super::part::Joint) -> Option<&Part> {
        let fits = |part: &&Part| {
            let joins = |joint: &super::part::Joint, skip: usize| {
                part.ports.iter().enumerate().position(|(i, port)| {
                    let hose = port.joint.fit == Fit::Nipple && *joint == port.joint;
                    i != skip && (hose || joint.mate(&port.joint).is_ok())
                })
            };
            part.is("adapter")
                && joins(a, usize::MAX).is_some_and(|first| joins(b, first).is_some())
        };
        // The plainest of those that fit.
        self.parts()
            .filter(fits)
            .min_by_key(|part| part.pieces.len())
    }
}

/// Every combination of sizes a definition stands for.
fn combinations(definition: &Definition) -> Vec<BTreeMap<String, toml::Value>> {
    let mut all = if definition.sizes.is_empty() {
        vec![BTreeMap::new()]
    } else {
        definition.sizes.clone()
    };
    for (name, choices) in &definition.each {
        all = all
            .iter()
            .flat_map(|given| {
                choices.iter().map(move |choice| {
                    let mut more = given.clone();
                    more.insert(name.clone(), choice.clone());
                    more
                })
            })
            .collect();
    }
    all
}

fn values(given: &BTreeMap<String, toml::Value>) -> Result<Values, String> {
    let mut values = Values::new();
    for (name, value) in given {
        match value {
            toml::Value::Integer(number) => {
                values.insert(name.clone(), Value::Number(*number as f64));
            }
            toml::Value::Float(number) => {
                values.insert(name.clone(), Value::Number(*number));
            }
            toml::Value::String(text) => {
                if let Some((wide, long)) = text.split_once('/')
                    && let (Ok(wide), Ok(long)) = (wide.parse(), long.parse())
                {
                    values.insert(format!("{name}_d"), Value::Number(wide));
                    values.insert(format!("{name}_j"), Value::Number(long));
                }
                values.insert(name.clone(), Value::Text(text.clone()));
            }
            _ => return Err(format!("`{name}` must be numbers or words")),
        }
    }
    if let Some(Value::Number(volume)) = values.get("volume") {
        values.insert("ball".into(), Value::Number(ball_diameter(*volume)));
    }
    Ok(values)
}

fn make(definition: &Definition, values: &Values, height: Option<f64>) -> Result<Part, String> {
    let mut values = values.clone();
    if let Some(height) = height {
        values.insert("height".into(), Value::Number(height));
    }
    for line in &definition.lets {
        let (name, sum) = line
            .split_once('=')
            .ok_or_else(|| format!("`{line}`: `=` is missing"))?;
        let value = work_out(sum, &values)?;
        values.insert(name.trim().to_owned(), Value::Number(value));
    }
    let all = |lines: &[String]| {
        lines
            .iter()
            .map(|line| fill(line, &values))
            .collect::<Result<Vec<_>, _>>()
    };
    let number = |name: &str| match values.get(name) {
        Some(Value::Number(number)) => *number,
        _ => 0.0,
    };
    // A joint size shown in a label must not look like a sum, so texts are filled by name only.
    Part::read(Lines {
        name: fill(&definition.name, &values)?,
        label: fill(&definition.label, &values)?,
        traits: definition.traits.clone(),
        ports: all(&definition.ports)?,
        draw: all(&definition.draw)?,
        marks: all(&definition.marks)?,
        cavity: fill(&definition.cavity, &values)?,
        flow: all(&definition.flow)?,
        volume: number("volume"),
        length: number("length"),
        caution: definition.caution.clone(),
        instead: all(&definition.instead)?,
        with: all(&definition.with)?,
    })
    .map_err(|why| {
        if height.is_some() {
            format!("at height {}: {why}", shown(height.unwrap_or(0.0)))
        } else {
            why
        }
    })
}
