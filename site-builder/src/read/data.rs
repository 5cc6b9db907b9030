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

    /// The place of the row of this name.
    fn row(&self, name: &str) -> Option<usize> {
        let key = self.key("name")?;
        self.rows
            .iter()
            .position(|row| row[key].to_lowercase() == name.to_lowercase())
    }

    /// Whether a row has these fields and no others.
    fn has_just(&self, at: usize, fields: &DeTable<'_>) -> bool {
        let own = |key: &str| fields.get(key).and_then(|value| plain(value.get_ref()));
        let mut cells = self.keys.iter().zip(&self.rows[at]);
        cells.all(|(key, cell)| own(key).unwrap_or_default() == *cell)
    }

    /// Whether the cells of a key are numbers, all that are filled.
    fn counts(&self, key: &str) -> bool {
        let Some(place) = self.key(key) else {
            return false;
        };
        let mut filled = self
            .rows
            .iter()
            .map(|row| &row[place])
            .filter(|cell| !cell.is_empty());
        filled.clone().next().is_some() && filled.all(|cell| cell.parse::<f64>().is_ok())
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

/// Reads and checks all tables. Rows of the author's add to the shipped table of the same name.
pub fn read(files: &[Text]) -> (Vec<DataTable>, Vec<Finding>) {
    let mut tables: Vec<DataTable> = Vec::new();
    let mut findings = Vec::new();
    let mut below: Option<(&str, DataTable)> = None;
    for file in files {
        let mut reader = Reader {
            file,
            below: below
                .take_if(|(path, _)| *path == file.path)
                .map(|(_, table)| table),
            findings: Vec::new(),
        };
        tables.extend(below.take().map(|(_, table)| table));
        let table = reader.read();
        findings.append(&mut reader.findings);
        let Some(table) = table else { continue };
        if file.shipped {
            below = Some((&file.path, table));
            continue;
        }
        if let Some(other) = tables.iter().find(|other| other.name == table.name) {
            findings.push(
                Finding::whole(&file.file, format!("{} has the same name", other.file))
                    .mend("call one of them something else"),
            );
        }
        tables.push(table);
    }
    tables.extend(below.map(|(_, table)| table));
    (tables, findings)
}

/// The shipped table with the author's rows: each in the place of the row of its name, else at
/// the end. What the author's file says of the table itself counts.
fn joined(mut table: DataTable, own: DataTable) -> DataTable {
    let places: Vec<Option<usize>> = own.keys.iter().map(|key| place(&mut table, key)).collect();
    let said = |row: &[String]| {
        let own_source = own.key("source").map(|at| row[at].clone());
        own_source
            .filter(|source| !source.is_empty())
            .or_else(|| own.source.clone())
            .unwrap_or_default()
    };
    let mut others = BTreeSet::new();
    for row in &own.rows {
        let mut cells = vec![String::new(); table.keys.len()];
        for (cell, place) in row.iter().zip(&places) {
            if let Some(place) = place {
                cells[*place].clone_from(cell);
            }
        }
        let source = said(row);
        if !name_source(&table, &mut cells, &source) {
            others.insert(source);
        }
        let name = own.key("name").map_or("", |at| &row[at]);
        match table.row(name) {
            Some(at) => table.rows[at] = cells,
            None => table.rows.push(cells),
        }
    }
    if let Some(source) = &mut table.source {
        others.remove(source);
        for other in others {
            source.push_str(&format!("; rows of this house: {other}"));
        }
    }
    for column in own.columns {
        table.columns.retain(|known| known.name != column.name);
        table.columns.push(column);
    }
    DataTable {
        title: own.title,
        about: own.about,
        page: own.page,
        browser: own.browser,
        file: own.file,
        ..table
    }
}

/// The place of a key in `table`, which gets a column for a new one. What a row says of its source
/// has a column only where the shipped rows have one.
fn place(table: &mut DataTable, key: &str) -> Option<usize> {
    if table.key(key).is_none() && key != "source" {
        table.keys.push(key.to_owned());
        for row in &mut table.rows {
            row.push(String::new());
        }
    }
    table.key(key)
}

/// Puts a source beside every figure of the row that has a place for one, and none yet: a blank
/// one would mean the source of the shipped rows. Whether there was any such place.
fn name_source(table: &DataTable, cells: &mut [String], source: &str) -> bool {
    let mut named = false;
    for (at, key) in table.keys.iter().enumerate() {
        let figure = key
            .strip_suffix("_source")
            .and_then(|figure| table.key(figure));
        let filled = figure.is_some_and(|figure| !cells[figure].is_empty());
        if key == "source" || filled {
            named = true;
            if cells[at].is_empty() {
                source.clone_into(&mut cells[at]);
            }
        }
    }
    named
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
    /// The shipped table that the rows add to.
    below: Option<DataTable>,
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
        if let Some(below) = &self.below {
            table.title = below.title.clone();
            table.about = below.about.clone();
            (table.page, table.browser) = (below.page, below.browser);
        }
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
            let needed = field == "row" || self.below.is_none();
            if lacks && needed && !root.contains_key(field) {
                self.push(
                    0..0,
                    format!("`{field}` is missing; every data file has one"),
                    None,
                );
            }
        }
        self.check_rows(&root, &table);
        match self.below.take() {
            Some(below) => {
                self.check_against(&root, &below, &table);
                for column in &mut table.columns {
                    name_column(column);
                }
                Some(joined(below, table))
            }
            None => {
                self.finish_columns(&root, &mut table);
                Some(table)
            }
        }
    }

    /// What rows must be besides, where they add to a shipped table: known columns, numbers where
    /// the shipped rows have numbers. A row of a shipped name is told.
    fn check_against(&mut self, root: &DeTable<'_>, below: &DataTable, own: &DataTable) {
        let known = |key: &str| {
            let mut columns = below.columns.iter().chain(&own.columns);
            key == "source" || below.key(key).is_some() || columns.any(|column| column.name == key)
        };
        let rows = root.get("row").and_then(|rows| rows.get_ref().as_array());
        for row in rows.into_iter().flatten() {
            let Some(fields) = row.get_ref().as_table() else {
                continue;
            };
            for (key, value) in fields {
                let name = key.get_ref().as_ref();
                if !known(name) {
                    let mend = spelling(name, below.keys.iter().map(String::as_str));
                    let mend = mend.unwrap_or_else(|| "describe it under `columns`".into());
                    let message = format!("the shipped table has no column `{name}`");
                    self.push(key.span(), message, Some(mend));
                } else if below.counts(name)
                    && plain(value.get_ref()).is_some_and(|text| text.parse::<f64>().is_err())
                {
                    let message =
                        format!("`{name}` is no number here, and one in the shipped rows");
                    self.push(
                        value.span(),
                        message,
                        Some("write a number, without quotes".into()),
                    );
                }
            }
            if let Some(name) = fields.get("name")
                && let Some(text) = plain(name.get_ref())
                && let Some(at) = below.row(&text)
                && !below.has_just(at, fields)
            {
                let message = format!("this row replaces the shipped `{text}`");
                let finding =
                    Finding::at(&self.file.file, &self.file.text, name.span(), message).note();
                self.findings.push(finding);
            }
        }
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
            name_column(column);
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

/// A column that nobody described has its own name for a label.
fn name_column(column: &mut Column) {
    if column.label.is_empty() {
        column.label = in_words(&column.name);
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
            ..Text::default()
        }
    }

    fn shipped(name: &str, text: &str) -> Text {
        Text {
            file: format!("shipped content/data/{name}.toml"),
            shipped: true,
            ..file(name, text)
        }
    }

    #[test]
    fn rows_of_the_author_add_to_a_shipped_table() {
        let below = "title = \"Baths\"\npage = true\n[[row]]\nname = \"water\"\nhighest = 90\nsource = \"a\"\n[[row]]\nname = \"sand\"\nhighest = 300\nsource = \"a\"\n";
        let own = "source = \"ours\"\n[[row]]\nname = \"glycol\"\nhighest = 120\n[[row]]\nname = \"Water\"\nhighest = 85\n";
        let files = [
            shipped("baths", below),
            file("baths", own),
            file("z", below),
        ];
        let (tables, found) = read(&files);
        assert_eq!(tables.len(), 2);
        assert!(tables[0].page && tables[0].title == "Baths");
        let rows = [
            ["Water", "85", "ours"],
            ["sand", "300", "a"],
            ["glycol", "120", "ours"],
        ];
        assert_eq!(tables[0].rows, rows);
        assert_eq!(found.len(), 1, "{found:#?}");
        assert_eq!(found[0].severity, crate::finding::Severity::Note);
        assert_eq!(
            (found[0].file.as_str(), found[0].line),
            ("content/data/baths.toml", 6)
        );
        assert_eq!(found[0].message, "this row replaces the shipped `Water`");
        // Alone, the shipped table is as it was.
        assert_eq!(read(&files[..1]).0[0].rows.len(), 2);
    }

    #[test]
    fn an_added_row_keeps_to_the_shipped_columns_and_names_its_source() {
        let below = "title = \"B\"\nsource = \"s\"\n[[row]]\nname = \"water\"\nhighest = 90\n";
        let with = |own: &str| read(&[shipped("b", below), file("b", own)]);
        let said = |own: &str| {
            let found = with(own).1;
            found
                .iter()
                .map(|one| one.message.clone())
                .collect::<Vec<_>>()
        };
        assert_eq!(
            said("source = \"o\"\n[[row]]\nname = \"a\"\nhigest = 3\n"),
            ["the shipped table has no column `higest`"]
        );
        assert_eq!(
            said("source = \"o\"\n[[row]]\nname = \"a\"\nhighest = \"hot\"\n"),
            ["`highest` is no number here, and one in the shipped rows"]
        );
        assert_eq!(
            said("[[row]]\nname = \"a\"\nhighest = 3\n"),
            ["this row has no `source`"]
        );
        let (tables, found) = with("[[row]]\nname = \"a\"\nhighest = 3\nsource = \"o\"\n");
        assert!(found.is_empty(), "{found:#?}");
        assert_eq!(
            tables[0].source.as_deref(),
            Some("s; rows of this house: o")
        );
        let (tables, found) = with(
            "source = \"o\"\ncolumns = [{ name = \"colour\" }]\n[[row]]\nname = \"a\"\ncolour = \"red\"\n",
        );
        assert!(found.is_empty(), "{found:#?}");
        assert_eq!(tables[0].rows, [["water", "90", ""], ["a", "", "red"]]);
        assert_eq!(
            tables[0].columns.last().map(|c| c.label.as_str()),
            Some("Colour")
        );
    }

    /// A blank source would mean that of the shipped rows.
    #[test]
    fn every_figure_of_an_added_row_has_its_own_source() {
        let below = "title = \"B\"\nsource = \"see beside\"\n[[row]]\nname = \"water\"\ndensity = 1\ndensity_source = \"iapws\"\nviscosity = 2\nviscosity_source = \"x\"\n";
        let own = "source = \"o\"\n[[row]]\nname = \"a\"\ndensity = 3\n";
        let (tables, found) = read(&[shipped("b", below), file("b", own)]);
        assert!(found.is_empty(), "{found:#?}");
        assert_eq!(tables[0].rows[1], ["a", "3", "o", "", ""]);
        assert_eq!(tables[0].source.as_deref(), Some("see beside"));
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
