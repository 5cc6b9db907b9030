//! The data that the calculators draw on: substances, baths, columns and the like.
//!
//! Authors keep the tables as files; the builder checks them and flattens them to one text,
//! which the builder and the page load alike: a line `[name]`, a line of column names, then a
//! line for each row, cells separated by tabs. Lists of numbers are joined by a space, lists of
//! words by `; `. An empty cell means: not known.

use std::sync::Arc;

use crate::problem::{self, Problem};
use crate::quantity::digits;

/// All tables.
#[derive(Debug, Default, Clone)]
pub struct Library {
    tables: Vec<Table>,
}

/// One table.
#[derive(Debug, Default, Clone)]
pub struct Table {
    name: String,
    columns: Arc<[String]>,
    rows: Vec<Row>,
}

/// A row: what its cells are called, and the cells. A pointer to it is all that is handed about.
#[derive(Debug, Clone)]
struct Row {
    columns: Arc<[String]>,
    cells: Vec<String>,
}

/// One row of a table.
#[derive(Debug, Clone, Copy)]
pub struct Record<'a>(&'a Row);

impl Library {
    /// Reads the flattened text.
    ///
    /// # Errors
    /// When a row has more cells than the table has columns, or stands outside a table.
    pub fn from_text(text: &str) -> Result<Self, Problem> {
        let mut tables: Vec<Table> = Vec::new();
        for (at, line) in text.lines().enumerate() {
            let fail = |what| {
                Problem::says("line {.0} of the flattened data: {}")
                    .number(at as f64 + 1.0)
                    .text(what)
            };
            if line.is_empty() {
                continue;
            }
            if let Some(name) = line
                .strip_prefix('[')
                .and_then(|rest| rest.strip_suffix(']'))
            {
                tables.push(Table {
                    name: name.to_string(),
                    ..Table::default()
                });
                continue;
            }
            let table = tables
                .last_mut()
                .ok_or_else(|| fail("a row before any table"))?;
            let cells: Vec<String> = line.split('\t').map(str::to_string).collect();
            if table.columns.is_empty() {
                table.columns = cells.into();
            } else if cells.len() > table.columns.len() {
                return Err(fail("more cells than columns"));
            } else {
                let columns = Arc::clone(&table.columns);
                table.rows.push(Row { columns, cells });
            }
        }
        Ok(Library { tables })
    }

    /// The table of this name.
    pub fn table(&self, name: &str) -> Option<&Table> {
        self.tables.iter().find(|table| table.name == name)
    }

    /// The rows of the table of this name; none when it is not loaded.
    #[inline(never)]
    pub fn rows(&self, name: &str) -> Rows<'_> {
        Rows(self.table(name).map_or(&[], |table| &table.rows))
    }

    /// The row of `table` that `name` means.
    ///
    /// # Errors
    /// A sentence with the nearest right spelling.
    #[inline(never)]
    pub fn find(&self, table: &str, name: &str) -> Result<Record<'_>, Problem> {
        let Some(rows) = self.table(table) else {
            return Err(Problem::says("the table of {} is not loaded").text(table));
        };
        if let Some(record) = rows.find(name) {
            return Ok(record);
        }
        let others = rows.records().flat_map(|record| record.list("aliases"));
        let near = problem::nearest(name, rows.names().chain(others));
        let problem = Problem::says("“{}” is not in the table of {}")
            .text(name)
            .text(table);
        Err(match near {
            Some(near) => problem.more("; the nearest is “{}”").text(near),
            None if rows.rows.len() <= 12 => {
                problem.more(", which has {}").list(", ", &mut rows.names())
            }
            None => problem,
        })
    }
}

/// The rows of a table, one after the other.
#[derive(Debug, Clone)]
pub struct Rows<'a>(&'a [Row]);

impl<'a> Iterator for Rows<'a> {
    type Item = Record<'a>;

    // Not inlined: many calculators walk a table, and the page's download pays for each walk.
    #[inline(never)]
    fn next(&mut self) -> Option<Record<'a>> {
        let (row, left) = self.0.split_first()?;
        self.0 = left;
        Some(Record(row))
    }
}

impl Table {
    /// Its name, as authors type it.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Names of its columns.
    pub fn columns(&self) -> impl Iterator<Item = &str> {
        self.columns.iter().map(String::as_str)
    }

    /// All rows in order.
    pub fn records(&self) -> Rows<'_> {
        Rows(&self.rows)
    }

    /// What its rows are called.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.records().map(|record| record.text("name"))
    }

    /// The row whose name, alias or CAS number is `name`, capitals aside.
    pub fn find(&self, name: &str) -> Option<Record<'_>> {
        let name = name.trim();
        // Small letters are as long as capitals, so most names need no look at their letters.
        let wanted = problem::small(name);
        let same = |text: &str| text.len() == wanted.len() && problem::small(text) == wanted;
        self.records()
            .find(|record| same(record.text("name")))
            .or_else(|| {
                self.records().find(|record| {
                    record.list("aliases").any(same)
                        || (record.text("cas") == name && !name.is_empty())
                })
            })
    }
}

impl<'a> Record<'a> {
    /// The cell in `column`; empty when not known.
    #[inline(never)]
    pub fn text(&self, column: &str) -> &'a str {
        let Row { columns, cells } = self.0;
        let at = columns.iter().position(|name| name == column);
        at.and_then(|at| cells.get(at)).map_or("", String::as_str)
    }

    /// The row's name.
    pub fn name(&self) -> &'a str {
        self.text("name")
    }

    /// The cell in `column` as a number.
    #[inline(never)]
    pub fn number(&self, column: &str) -> Option<f64> {
        digits::whole(self.text(column))
    }

    /// The cell in `column` as `N` numbers.
    pub fn numbers<const N: usize>(&self, column: &str) -> Option<[f64; N]> {
        let mut values = [0.0; N];
        self.fill(column, &mut values).then_some(values)
    }

    /// Whether the cell in `column` is as many numbers as `values` takes; it is filled with them.
    #[inline(never)]
    fn fill(&self, column: &str, values: &mut [f64]) -> bool {
        let mut words = self.text(column).split(' ');
        for value in values {
            let Some(number) = words.next().and_then(digits::whole) else {
                return false;
            };
            *value = number;
        }
        words.next().is_none()
    }

    /// The cell in `column` as a list of words.
    pub fn list(&self, column: &str) -> impl Iterator<Item = &'a str> + use<'a> {
        self.text(column)
            .split(';')
            .map(str::trim)
            .filter(|word| !word.is_empty())
    }

    /// Whether the cell in `column` says `true`.
    #[inline(never)]
    pub fn is(&self, column: &str) -> bool {
        self.text(column) == "true"
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "[substances]\nname\taliases\tcas\tdensity\trange\n\
        water\t\t7732-18-5\t0.9982\t0.51 101.42\n\
        toluene\tmethylbenzene; toluol\t108-88-3\t\n\n[sources]\nname\tcitation\na\tA book\n";

    #[test]
    fn finds_rows_by_name_alias_and_number() {
        let library = Library::from_text(TEXT).unwrap();
        for name in ["Toluene", "methylbenzene", "108-88-3", " toluol "] {
            assert_eq!(library.find("substances", name).unwrap().name(), "toluene");
        }
        let water = library.find("substances", "water").unwrap();
        assert_eq!(water.numbers::<2>("range"), Some([0.51, 101.42]));
        assert_eq!(water.numbers::<3>("range"), None);
        assert_eq!(
            library
                .find("substances", "toluene")
                .unwrap()
                .number("density"),
            None
        );
        let missing = library
            .find("substances", "tolune")
            .unwrap_err()
            .message
            .to_string();
        assert!(missing.contains("the nearest is “toluene”"), "{missing}");
    }

    #[test]
    fn refuses_a_ragged_text() {
        assert!(Library::from_text("a\tb").is_err());
        let ragged = Library::from_text("[t]\nname\nx\ty").unwrap_err();
        assert_eq!(
            &*ragged.message,
            "line 3 of the flattened data: more cells than columns"
        );
    }
}
