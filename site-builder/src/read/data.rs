//! Stage 3: the data tables, TOML under `content/data/`, checked and flattened.
//!
//! The core loads the flattened text, natively and in the page: a line `[table]`, a line of
//! column names, then a line for each row, with tabs between the cells.

use crate::finding::{Finding, choice, spelling};
use crate::read::cell::plain;
use crate::read::source::Text;
use crate::read::substances;
use calc_wasm::library::Library;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// What a column means.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Column {
    /// The key in each row.
    pub name: String,
    /// What the head of the column says.
    pub label: String,
    /// The unit of its numbers.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// A remark for readers.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// One table.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct DataTable {
    /// The file's stem.
    pub name: String,
    /// The file, for findings.
    pub file: String,
    /// What readers see.
    pub title: String,
    /// One or two sentences.
    pub about: String,
    /// The source of all rows, where it is one.
    pub source: Option<String>,
    /// Whether the table gets a page of its own.
    pub page: bool,
    /// Whether the core in the page needs it. True unless the author says otherwise.
    pub browser: bool,
    /// The columns to show, in order.
    pub columns: Vec<Column>,
    /// All keys of the rows, in order.
    pub keys: Vec<String>,
    /// A cell for each key, as written; empty where the row lacks it.
    pub rows: Vec<Vec<String>>,
}

impl DataTable {
    /// The place of a key.
    pub fn key(&self, name: &str) -> Option<usize> {
        self.keys.iter().position(|key| key == name)
    }

    /// Whether the core is given this key.
    fn wants(&self, key: &str) -> bool {
        !UNREAD
            .iter()
            .any(|(table, keys)| *table == self.name && keys.contains(&key))
    }

    /// The cells of the shown columns, row by row.
    pub fn shown(&self) -> Vec<Vec<&str>> {
        let places: Vec<Option<usize>> = self.columns.iter().map(|c| self.key(&c.name)).collect();
        self.rows
            .iter()
            .map(|row| {
                places
                    .iter()
                    .map(|place| place.map_or("", |place| row[place].as_str()))
                    .collect()
            })
            .collect()
    }
}

/// Reads and checks all tables.
pub fn read(files: &[Text]) -> (Vec<DataTable>, Vec<Finding>) {
    let mut tables: Vec<DataTable> = Vec::new();
    let mut findings = Vec::new();
    for file in files {
        let mut reader = Reader {
            file,
            findings: Vec::new(),
        };
        let table = reader.read();
        findings.append(&mut reader.findings);
        let Some(table) = table else { continue };
        if let Some(other) = tables.iter().find(|other| other.name == table.name) {
            findings.push(
                Finding::whole(&file.file, format!("{} has the same name", other.file))
                    .mend("call one of them something else"),
            );
        }
        tables.push(table);
    }
    (tables, findings)
}

/// Columns that readers see and the core never asks for, by table. They make a quarter of all data
/// and stay out of the download; left out here, they are so for the builder too, which would
/// notice a value that is missed.
const UNREAD: &[(&str, &[&str])] = &[
    ("bath_fluids", &["source"]),
    ("columns", &["note", "source"]),
    ("cooling_mixtures", &["parts"]),
    ("flash_columns", &["source"]),
    ("group_sizes", &["group"]),
    ("incompatible", &["source"]),
    ("materials", &["source"]),
    ("silica", &["note", "source"]),
    (
        "solvents",
        &["boiling_point", "drying", "source", "water_solubility"],
    ),
    (
        "substances",
        &[
            "autoignition_source",
            "boiling_point_source",
            "density_source",
            "density_temperature",
            "flash_point_source",
            "formula",
            "halogenated",
            "heat_capacity_source",
            "heat_of_vaporisation_source",
            "melting_point_source",
            "vapour_pressure_sources",
            "viscosity",
            "viscosity_source",
        ],
    ),
    ("vacuum_sources", &["source"]),
];

/// Flattens tables for the core: all of them, or those the page needs.
pub fn flatten<'a>(tables: impl IntoIterator<Item = &'a DataTable>) -> String {
    let mut text = String::new();
    for table in tables {
        let wanted: Vec<bool> = table.keys.iter().map(|key| table.wants(key)).collect();
        let line = |cells: &[String]| {
            let cells = cells.iter().zip(&wanted).filter(|(_, wanted)| **wanted);
            cells
                .map(|(cell, _)| cell.as_str())
                .collect::<Vec<_>>()
                .join("\t")
                + "\n"
        };
        text.push_str(&format!("[{}]\n{}", table.name, line(&table.keys)));
        for row in &table.rows {
            text.push_str(&line(row));
        }
    }
    text
}

/// The tables as the core sees them.
pub fn library(tables: &[DataTable]) -> (Library, Vec<Finding>) {
    match Library::from_text(&flatten(tables)) {
        Ok(library) => (library, Vec::new()),
        Err(error) => {
            let finding =
                Finding::whole("content/data", format!("the core cannot read it: {error}"));
            (Library::default(), vec![finding])
        }
    }
}

const FIELDS: [&str; 7] = [
    "title", "about", "columns", "source", "page", "browser", "row",
];

struct Reader<'a> {
    file: &'a Text,
    findings: Vec<Finding>,
}

type Value<'a> = Spanned<DeValue<'a>>;

impl Reader<'_> {
    fn read(&mut self) -> Option<DataTable> {
        let text = &self.file.text;
        let root = match DeTable::parse(text) {
            Ok(root) => root.into_inner(),
            Err(error) => {
                self.push(
                    error.span().unwrap_or(0..0),
                    format!("cannot be read: {}", first_line(error.message())),
                    None,
                );
                return None;
            }
        };
        let mut table = DataTable {
            name: self.file.stem().to_owned(),
            file: self.file.file.clone(),
            browser: true,
            ..DataTable::default()
        };
        for (key, value) in &root {
            match key.get_ref().as_ref() {
                "title" => table.title = self.words(value, "title"),
                "about" => table.about = self.words(value, "about"),
                "source" => table.source = Some(self.words(value, "source")),
                "page" => table.page = self.truth(value, "page"),
                "browser" => table.browser = self.truth(value, "browser"),
                "columns" => table.columns = self.columns(value),
                "row" => self.rows(value, &mut table),
                wrong => {
                    self.push(
                        key.span(),
                        format!("there is no field `{wrong}`"),
                        Some(choice(wrong, &FIELDS)),
                    );
                }
            }
        }
        for (field, lacks) in [
            ("title", table.title.is_empty()),
            ("row", table.rows.is_empty()),
        ] {
            if lacks && !root.contains_key(field) {
                self.push(
                    0..0,
                    format!("`{field}` is missing; every data file has one"),
                    None,
                );
            }
        }
        self.check_rows(&root, &table);
        self.finish_columns(&root, &mut table);
        Some(table)
    }

    fn columns(&mut self, value: &Value<'_>) -> Vec<Column> {
        let Some(items) = value.get_ref().as_array() else {
            self.push(
                value.span(),
                "`columns` is not a list".into(),
                Some("write `[[columns]]` with a `name` and a `label`".into()),
            );
            return Vec::new();
        };
        let mut columns = Vec::new();
        for item in items {
            let mut column = Column::default();
            let mut unit_span = item.span();
            for (key, value) in item.get_ref().as_table().into_iter().flatten() {
                let known = key.get_ref().as_ref();
                match known {
                    "name" => column.name = self.words(value, known),
                    "label" => column.label = self.words(value, known),
                    "unit" => {
                        column.unit = Some(self.words(value, known));
                        unit_span = value.span();
                    }
                    "note" => column.note = Some(self.words(value, known)),
                    wrong => {
                        let mend = choice(wrong, &["name", "label", "unit", "note"]);
                        self.push(key.span(), format!("a column has no `{wrong}`"), Some(mend));
                    }
                }
            }
            if column.name.is_empty() {
                self.push(item.span(), "a column has no `name`".into(), None);
            }
            if self.file.stem() == substances::TABLE
                && let Some(unit) = &column.unit
                && let Some(right) = substances::other_unit(&column.name, unit)
            {
                let message = format!("`{}` is said to be in {unit}", column.name);
                let mend = format!("the calculators read it in {right}; write the rows in that");
                self.push(unit_span, message, Some(mend));
            }
            columns.push(column);
        }
        columns
    }

    fn rows(&mut self, value: &Value<'_>, table: &mut DataTable) {
        let Some(rows) = value.get_ref().as_array() else {
            self.push(
                value.span(),
                "`row` is not a list".into(),
                Some("begin each row with `[[row]]`".into()),
            );
            return;
        };
        let mut places: BTreeMap<String, usize> = BTreeMap::new();
        let mut cells: Vec<BTreeMap<usize, String>> = Vec::new();
        for row in rows {
            let Some(fields) = row.get_ref().as_table() else {
                self.push(row.span(), "a row is not a group of fields".into(), None);
                continue;
            };
            let mut fields: Vec<_> = fields.iter().collect();
            // The order written is the order shown.
            fields.sort_by_key(|(key, _)| key.span().start);
            let mut line = BTreeMap::new();
            for (key, value) in fields {
                let name = key.get_ref().as_ref();
                let next = places.len();
                let place = *places.entry(name.to_owned()).or_insert(next);
                if place == table.keys.len() {
                    table.keys.push(name.to_owned());
                }
                line.insert(place, self.cell(name, value));
            }
            cells.push(line);
        }
        let width = table.keys.len();
        table.rows = cells
            .into_iter()
            .map(|mut line| {
                (0..width)
                    .map(|place| line.remove(&place).unwrap_or_default())
                    .collect()
            })
            .collect();
    }

    fn cell(&mut self, name: &str, value: &Value<'_>) -> String {
        match plain(value.get_ref()) {
            Some(text) => text,
            None => {
                self.push(
                    value.span(),
                    format!("`{name}` is {}", value.get_ref().type_str()),
                    Some("write words, a number, true or false, or a list of them".into()),
                );
                String::new()
            }
        }
    }

    /// What every row must have, and what a substance must have besides.
    fn check_rows(&mut self, root: &DeTable<'_>, table: &DataTable) {
        let substances = table.name == substances::TABLE;
        let mut names = BTreeSet::new();
        let mut shapes: BTreeMap<String, &'static str> = BTreeMap::new();
        for row in root
            .get("row")
            .and_then(|rows| rows.get_ref().as_array())
            .into_iter()
            .flatten()
        {
            let Some(fields) = row.get_ref().as_table() else {
                continue;
            };
            let mut wanted = vec!["name"];
            if table.source.is_none() {
                wanted.push("source");
            }
            if substances {
                wanted.push("cas");
            }
            for field in wanted {
                let filled = fields
                    .get(field)
                    .and_then(|v| plain(v.get_ref()))
                    .is_some_and(|t| !t.is_empty());
                if !filled {
                    self.push(
                        row.span().start..row.span().start + 7,
                        format!("this row has no `{field}`"),
                        Some(format!("add `{field} = …`")),
                    );
                }
            }
            if let Some(name) = fields.get("name")
                && let Some(text) = plain(name.get_ref())
                && !names.insert(text.to_lowercase())
            {
                self.push(
                    name.span(),
                    format!("`{text}` is in the table already"),
                    None,
                );
            }
            if substances {
                for flaw in substances::flaws(fields) {
                    self.push(flaw.span, flaw.message, flaw.mend);
                }
            }
            for (key, value) in fields {
                let shape = shape(value.get_ref());
                let known = *shapes.entry(key.get_ref().to_string()).or_insert(shape);
                if known != shape {
                    self.push(
                        value.span(),
                        format!(
                            "`{}` is {shape} here and {known} in the rows above",
                            key.get_ref()
                        ),
                        None,
                    );
                }
            }
        }
    }

    /// Columns that nobody described are shown under their own names.
    fn finish_columns(&mut self, root: &DeTable<'_>, table: &mut DataTable) {
        for column in &mut table.columns {
            if column.label.is_empty() {
                column.label = in_words(&column.name);
            }
            if !column.name.is_empty() && !table.keys.contains(&column.name) {
                let span = root.get("columns").map_or(0..0, Spanned::span);
                let place = self.file.text[span.clone()]
                    .find(&format!("\"{}\"", column.name))
                    .map_or(span.start, |at| span.start + at);
                let mend = spelling(&column.name, table.keys.iter().map(String::as_str));
                self.push(
                    place..place + column.name.len() + 2,
                    format!("no row has a `{}`", column.name),
                    mend,
                );
            }
        }
        if table.columns.is_empty() {
            table.columns = table
                .keys
                .iter()
                .map(|key| Column {
                    name: key.clone(),
                    label: in_words(key),
                    ..Column::default()
                })
                .collect();
        }
    }

    fn words(&mut self, value: &Value<'_>, name: &str) -> String {
        match value.get_ref().as_str() {
            Some(words) if !words.trim().is_empty() => words.trim().to_owned(),
            _ => {
                self.push(
                    value.span(),
                    format!("`{name}` is not words"),
                    Some("write words between quotes".into()),
                );
                String::new()
            }
        }
    }

    fn truth(&mut self, value: &Value<'_>, name: &str) -> bool {
        value.get_ref().as_bool().unwrap_or_else(|| {
            self.push(
                value.span(),
                format!("`{name}` is neither true nor false"),
                Some("write true or false, without quotes".into()),
            );
            false
        })
    }

    fn push(&mut self, span: Range<usize>, message: String, mend: Option<String>) {
        let finding = Finding::at(&self.file.file, &self.file.text, span, message);
        self.findings.push(finding.maybe_mend(mend));
    }
}

fn shape(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "words",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Array(_) => "a list",
        DeValue::Datetime(_) => "a day",
        DeValue::Table(_) => "a group of fields",
    }
}

fn in_words(key: &str) -> String {
    let words = key.replace(['_', '-'], " ");
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

fn first_line(message: &str) -> &str {
    message.lines().next().unwrap_or_default()
}

/// The tables of the site itself, on which some calculators draw.
#[cfg(test)]
pub(crate) fn of_the_site() -> Library {
    let folders = crate::read::source::Folders {
        content: std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../content"),
        ..Default::default()
    };
    let (files, _) = crate::read::source::read_data(&folders);
    library(&read(&files).0).0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(name: &str, text: &str) -> Text {
        Text {
            file: format!("content/data/{name}.toml"),
            path: format!("data/{name}.toml"),
            text: text.into(),
        }
    }

    fn findings(name: &str, text: &str) -> Vec<String> {
        read(&[file(name, text)])
            .1
            .iter()
            .map(ToString::to_string)
            .collect()
    }

    const BATHS: &str = "title = \"Bath fluids\"\nabout = \"What to fill a bath with.\"\nsource = \"common practice, no source\"\n[[columns]]\nname = \"name\"\nlabel = \"Fluid\"\n[[row]]\nname = \"water\"\nlimit = 90\nuses = [\"warm\", \"wash\"]\n[[row]]\nname = \"sand\"\nfine = true\n";

    #[test]
    fn flattens_with_the_order_and_the_digits_written() {
        let (tables, found) = read(&[file("baths", BATHS)]);
        assert!(found.is_empty(), "{found:?}");
        assert_eq!(
            flatten(&tables),
            "[baths]\nname\tlimit\tuses\tfine\nwater\t90\twarm; wash\t\nsand\t\t\ttrue\n"
        );
        assert_eq!(tables[0].shown(), [["water"], ["sand"]]);
    }

    #[test]
    fn a_column_for_readers_is_shown_and_not_handed_on() {
        let text = "title = \"Bath fluids\"\n[[columns]]\nname = \"source\"\nlabel = \"Source\"\n[[row]]\nname = \"sand\"\nsource = \"common practice, no source\"\n";
        let (tables, found) = read(&[file("bath_fluids", text)]);
        assert!(found.is_empty(), "{found:?}");
        assert_eq!(flatten(&tables), "[bath_fluids]\nname\nsand\n");
        assert_eq!(tables[0].shown(), [["common practice, no source"]]);
    }

    #[test]
    fn keeps_tabs_and_lines_out_of_cells() {
        let (tables, _) = read(&[file(
            "t",
            "title=\"T\"\nsource=\"s\"\n[[row]]\nname = \"a\\tb\\nc\"\n",
        )]);
        assert_eq!(tables[0].rows[0][0], "a b c");
    }

    #[test]
    fn asks_substances_for_name_number_and_source() {
        let found = findings(
            "substances",
            "title = \"S\"\n[[row]]\nname = \"toluene\"\ncas = \"108-88-4\"\nsource = \"x\"\n[[row]]\nname = \"toluene\"\n",
        );
        assert!(
            found
                .iter()
                .any(|f| f.contains(":4:7: `108-88-4` is not a CAS number")),
            "{found:?}"
        );
        assert!(found.iter().any(|f| f.contains("this row has no `cas`")));
        assert!(found.iter().any(|f| f.contains("this row has no `source`")));
        assert!(
            found
                .iter()
                .any(|f| f.contains("`toluene` is in the table already"))
        );
    }

    #[test]
    fn finds_mixed_shapes_and_unknown_fields() {
        let found = findings(
            "t",
            "titel = \"T\"\nsource = \"s\"\n[[row]]\nname = \"a\"\nmass = 1\n[[row]]\nname = \"b\"\nmass = \"two\"\n",
        );
        assert!(
            found
                .iter()
                .any(|f| f.contains(":1:1: there is no field `titel`") && f.contains("`title`"))
        );
        assert!(
            found
                .iter()
                .any(|f| f.contains(":8:8: `mass` is words here and a number"))
        );
        assert!(findings("t", "title = ")[0].contains("cannot be read"));
    }
}
