//! From what was typed to checked values: the description of an input, and reading it.

use crate::library::{Library, Record};
use crate::limits::Limit;
use crate::problem::{Problem, in_sentence};
use crate::quantity::{self, Dimension, Measured, Number, Quantity, number};
use crate::sentence::Sentence;

/// The description of one input. Form, terminal, error sentences and tests all read it.
#[derive(Debug)]
pub struct Input {
    /// What authors type: `highest_pot_temperature`.
    pub name: &'static str,
    /// What readers see: `Highest pot temperature`.
    pub label: &'static str,
    /// One line of help.
    pub help: &'static str,
    /// What it accepts.
    pub kind: Kind,
    /// Whether it may be left out, and what then.
    pub need: Need,
    /// Asked only while another input has one of these values: `("gauge", &["dial"])`.
    pub when: Option<(&'static str, &'static [&'static str])>,
}

impl Input {
    /// An input that must be given.
    pub const fn required(
        name: &'static str,
        label: &'static str,
        kind: Kind,
        help: &'static str,
    ) -> Self {
        Input {
            name,
            label,
            help: form_only(help),
            kind,
            need: Need::Required,
            when: None,
        }
    }

    /// An input that has a value of its own when left out.
    pub const fn preset(
        name: &'static str,
        label: &'static str,
        kind: Kind,
        preset: &'static str,
        help: &'static str,
    ) -> Self {
        Input {
            name,
            label,
            help: form_only(help),
            kind,
            need: Need::Preset(preset),
            when: None,
        }
    }

    /// An input that may be left out.
    pub const fn optional(
        name: &'static str,
        label: &'static str,
        kind: Kind,
        help: &'static str,
    ) -> Self {
        Input {
            name,
            label,
            help: form_only(help),
            kind,
            need: Need::Optional,
            when: None,
        }
    }

    /// The same, asked only while `input` has one of `values`.
    pub const fn when(self, input: &'static str, values: &'static [&'static str]) -> Self {
        Input {
            when: Some((input, values)),
            ..self
        }
    }
}

/// Words that only forms and lists show. The page's form comes ready made from the builder, so its
/// download goes without them.
pub(crate) const fn form_only(words: &'static str) -> &'static str {
    if cfg!(target_arch = "wasm32") {
        ""
    } else {
        words
    }
}

/// Whether an input may be left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Need {
    /// It must be given.
    Required,
    /// It may be left out; then it is unknown. `auto` says the same.
    Optional,
    /// It may be left out; then it has this value.
    Preset(&'static str),
}

/// What an input accepts.
#[derive(Debug)]
pub enum Kind {
    /// A quantity inside a limit, with its reading error if it has one.
    Quantity(&'static Limit),
    /// A quantity of whichever kind its unit says: a volume, a mass, or a bare count.
    AnyOf(&'static [&'static Limit]),
    /// One of a few words.
    Choice(&'static [Choice]),
    /// A row of a table of the library, by name, alias or CAS number.
    Entry(&'static str),
    /// A row of a table, or a quantity in its place: a substance, or a boiling point.
    EntryOrQuantity(&'static str, &'static Limit),
    /// Any words.
    Words,
    /// Rows of cells: `a: 0.35, 100 mg; b: 0.2, 80 mg`.
    Rows(&'static [Column]),
}

/// One of a few words.
#[derive(Debug)]
pub struct Choice {
    /// What authors type.
    pub name: &'static str,
    /// What readers see.
    pub label: &'static str,
}

impl Choice {
    /// Whether `text` means this one: by its name or by its label.
    pub fn is(&self, text: &str) -> bool {
        self.name.eq_ignore_ascii_case(text) || self.label.eq_ignore_ascii_case(text)
    }
}

/// One cell of a row.
#[derive(Debug)]
pub struct Column {
    /// What the calculator calls it.
    pub name: &'static str,
    /// What readers see above it.
    pub label: &'static str,
    /// The sign before this cell in the written form: `:`, `,` or `@`. The first has none.
    pub before: Option<char>,
    /// What it accepts; no rows within rows.
    pub kind: Kind,
    /// Whether the cell may be empty (only the last ones may).
    pub optional: bool,
}

/// A value that was read and lies inside its limit.
#[derive(Debug, Clone)]
enum Value<'a> {
    Quantity {
        base: f64,
        error: f64,
        dimension: &'static Dimension,
    },
    Choice(&'static str),
    Entry(Record<'a>),
    Words(String),
    Rows(Vec<Row<'a>>),
}

/// One row of a rows input.
#[derive(Debug, Clone)]
pub struct Row<'a> {
    columns: &'static [Column],
    cells: Vec<Option<Value<'a>>>,
}

/// All checked values of one calculation.
#[derive(Debug)]
pub struct Inputs<'a> {
    library: &'a Library,
    values: Vec<(&'static Input, Value<'a>)>,
    given: Vec<&'static str>,
    notes: Vec<&'static str>,
}

impl<'a> Inputs<'a> {
    /// Reads and checks `pairs` against the descriptions. Blank values count as left out.
    ///
    /// # Errors
    /// Every problem there is: unknown and repeated names, missing values, what cannot be read,
    /// what lies outside its limit.
    pub fn read(
        inputs: &'static [Input],
        library: &'a Library,
        pairs: &[(String, String)],
    ) -> Result<Self, Vec<Problem>> {
        let mut reader = Reader {
            library,
            notes: Vec::new(),
            problems: Vec::new(),
        };
        let mut values = Vec::new();
        let mut given = Vec::new();
        for (at, (name, _)) in pairs.iter().enumerate() {
            let names = inputs.iter().map(|input| input.name);
            if !names.clone().any(|known| known == name) {
                reader.refuse(Problem::new(name, "no such input").suggest(name, names));
            } else if pairs[..at].iter().any(|(earlier, _)| earlier == name) {
                reader.refuse(Problem::new(name, "given twice"));
            }
        }
        for input in inputs {
            let written = pairs
                .iter()
                .find(|(name, _)| name == input.name)
                .map_or("", |(_, text)| text.trim());
            let text = match input.need {
                Need::Optional if written.eq_ignore_ascii_case("auto") => "",
                _ if !written.is_empty() => {
                    given.push(input.name);
                    written
                }
                Need::Preset(preset) => preset,
                Need::Optional => "",
                Need::Required => {
                    reader.refuse(missing(input));
                    ""
                }
            };
            if !text.is_empty()
                && let Some(value) = reader.value(input.name, input.label, &input.kind, text)
            {
                values.push((input, value));
            }
        }
        if !reader.problems.is_empty() {
            return Err(reader.problems);
        }
        Ok(Inputs {
            library,
            values,
            given,
            notes: reader.notes,
        })
    }

    /// The data tables.
    pub fn library(&self) -> &'a Library {
        self.library
    }

    /// Notes on values that are possible but unusual.
    pub fn notes(&self) -> &[&'static str] {
        &self.notes
    }

    /// Whether the reader gave this input, rather than leaving it to its preset.
    #[inline(never)]
    pub fn given(&self, name: &str) -> bool {
        self.given.contains(&name)
    }

    #[inline(never)]
    fn value(&self, name: &str) -> Option<&Value<'a>> {
        self.values
            .iter()
            .find(|(input, _)| input.name == name)
            .map(|(_, value)| value)
    }

    // The typed ways to ask are a thin coat over ones that are not generic: the page's download
    // would hold each once for every kind of quantity.

    /// The quantity called `name` with its reading error; None when it was left out.
    #[inline(always)]
    pub fn measured<Q: Quantity>(&self, name: &str) -> Option<Measured<Q>> {
        self.read_base(name, Q::DIMENSION).map(typed)
    }

    /// The quantity called `name`; None when it was left out.
    #[inline(always)]
    pub fn quantity<Q: Quantity>(&self, name: &str) -> Option<Q> {
        self.read_value(name, Q::DIMENSION).map(Q::from_base)
    }

    #[inline(never)]
    fn read_base(&self, name: &str, kind: &'static Dimension) -> Option<(f64, f64)> {
        measured(self.value(name), kind)
    }

    #[inline(never)]
    fn read_value(&self, name: &str, kind: &'static Dimension) -> Option<f64> {
        Some(self.read_base(name, kind)?.0)
    }

    /// The quantity called `name` in base units, whatever its kind; None when it was left out.
    #[inline(never)]
    pub fn base(&self, name: &str) -> Option<f64> {
        match self.value(name) {
            Some(Value::Quantity { base, .. }) => Some(*base),
            _ => None,
        }
    }

    /// The quantity called `name`, which is required or has a preset, so that it is there once
    /// the inputs were read. (An input declared otherwise gives what is not a number, and the
    /// answer is refused; see [`Inputs::need`] for those.)
    #[inline(always)]
    pub fn get<Q: Quantity>(&self, name: &str) -> Q {
        Q::from_base(self.get_value(name, Q::DIMENSION))
    }

    /// The same with its reading error.
    #[inline(always)]
    pub fn get_measured<Q: Quantity>(&self, name: &str) -> Measured<Q> {
        typed(self.get_base(name, Q::DIMENSION))
    }

    #[inline(never)]
    fn get_value(&self, name: &str, kind: &'static Dimension) -> f64 {
        self.get_base(name, kind).0
    }

    #[inline(never)]
    fn get_base(&self, name: &str, kind: &'static Dimension) -> (f64, f64) {
        self.read_base(name, kind).unwrap_or((f64::NAN, 0.0))
    }

    /// The quantity called `name`, which is needed here.
    ///
    /// # Errors
    /// When it was left out.
    #[inline(always)]
    pub fn need<Q: Quantity>(&self, name: &str) -> Result<Q, Problem> {
        self.need_value(name, Q::DIMENSION).map(Q::from_base)
    }

    /// The quantity called `name` with its reading error, which is needed here.
    ///
    /// # Errors
    /// When it was left out.
    #[inline(always)]
    pub fn need_measured<Q: Quantity>(&self, name: &str) -> Result<Measured<Q>, Problem> {
        self.need_base(name, Q::DIMENSION).map(typed)
    }

    #[inline(never)]
    fn need_base(&self, name: &str, kind: &'static Dimension) -> Result<(f64, f64), Problem> {
        self.read_base(name, kind).ok_or_else(|| needed(name, kind))
    }

    #[inline(never)]
    fn need_value(&self, name: &str, kind: &'static Dimension) -> Result<f64, Problem> {
        Ok(self.need_base(name, kind)?.0)
    }

    /// The whole number called `name`; None when it was left out.
    ///
    /// # Errors
    /// When it is not whole.
    #[inline(never)]
    pub fn count(&self, name: &str) -> Result<Option<f64>, Problem> {
        let Some(count) = self.quantity::<Number>(name).map(Number::base) else {
            return Ok(None);
        };
        let whole = f64::round(count);
        if (count - whole).abs() < 1e-9 {
            return Ok(Some(whole));
        }
        Err(Problem::new(name, "{~5} is not a whole number").number(count))
    }

    /// The word chosen for `name`; empty when it was left out.
    #[inline(never)]
    pub fn choice(&self, name: &str) -> &'static str {
        match self.value(name) {
            Some(Value::Choice(word)) => word,
            _ => "",
        }
    }

    /// The table row given for `name`; None when it was left out or a quantity stands there.
    #[inline(never)]
    pub fn entry(&self, name: &str) -> Option<Record<'a>> {
        match self.value(name) {
            Some(Value::Entry(record)) => Some(*record),
            _ => None,
        }
    }

    /// The words given for `name`; empty when left out.
    #[inline(never)]
    pub fn words(&self, name: &str) -> &str {
        match self.value(name) {
            Some(Value::Words(text)) => text,
            _ => "",
        }
    }

    /// The rows given for `name`; none when left out.
    #[inline(never)]
    pub fn rows(&self, name: &str) -> &[Row<'a>] {
        match self.value(name) {
            Some(Value::Rows(rows)) => rows,
            _ => &[],
        }
    }
}

impl<'a> Row<'a> {
    #[inline(never)]
    fn value(&self, column: &str) -> Option<&Value<'a>> {
        let at = self.columns.iter().position(|c| c.name == column)?;
        self.cells.get(at)?.as_ref()
    }

    /// The quantity in `column` with its reading error; None when the cell is empty.
    #[inline(always)]
    pub fn measured<Q: Quantity>(&self, column: &str) -> Option<Measured<Q>> {
        self.read_base(column, Q::DIMENSION).map(typed)
    }

    /// The quantity in `column`; None when the cell is empty.
    #[inline(always)]
    pub fn quantity<Q: Quantity>(&self, column: &str) -> Option<Q> {
        self.read_value(column, Q::DIMENSION).map(Q::from_base)
    }

    #[inline(never)]
    fn read_base(&self, column: &str, kind: &'static Dimension) -> Option<(f64, f64)> {
        measured(self.value(column), kind)
    }

    #[inline(never)]
    fn read_value(&self, column: &str, kind: &'static Dimension) -> Option<f64> {
        Some(self.read_base(column, kind)?.0)
    }

    /// The words in `column`; empty when the cell is.
    #[inline(never)]
    pub fn words(&self, column: &str) -> &str {
        match self.value(column) {
            Some(Value::Words(text)) => text,
            Some(Value::Choice(word)) => word,
            _ => "",
        }
    }

    /// The table row named in `column`.
    #[inline(never)]
    pub fn entry(&self, column: &str) -> Option<Record<'a>> {
        match self.value(column) {
            Some(Value::Entry(record)) => Some(*record),
            _ => None,
        }
    }
}

/// The number of base units and its error, if `value` is of this kind. Not generic, so that the
/// page's download holds it once rather than once for each kind.
#[inline(never)]
fn measured(value: Option<&Value<'_>>, kind: &'static Dimension) -> Option<(f64, f64)> {
    match value? {
        Value::Quantity {
            base,
            error,
            dimension,
        } if dimension.name == kind.name => Some((*base, *error)),
        _ => None,
    }
}

fn typed<Q: Quantity>((base, error): (f64, f64)) -> Measured<Q> {
    Measured {
        value: Q::from_base(base),
        error,
    }
}

/// What to say where a value is needed after all.
#[inline(never)]
fn needed(name: &str, kind: &Dimension) -> Problem {
    Problem::new(name, "needed here; write it like “{}”").text(kind.example)
}

/// How quantities of several kinds are written: `50 mL` or `2 g`.
fn examples(limits: &[&Limit]) -> Sentence {
    let mut written = Sentence::new("“{}”");
    for (at, limit) in limits.iter().enumerate() {
        if at > 0 {
            written.more(" or “{}”");
        }
        written.text(limit.dimension.example);
    }
    written
}

/// The sentence for a value that must be given.
fn missing(input: &Input) -> Problem {
    let problem = Problem::new(input.name, "{} is needed").text(&in_sentence(input.label));
    match &input.kind {
        Kind::Quantity(limit) => problem
            .more("; write it like “{}”")
            .text(limit.dimension.example),
        Kind::AnyOf(limits) => problem.more("; write it like {}").text(&examples(limits)),
        Kind::Choice(choices) => problem
            .more("; it is one of: {}")
            .list(", ", &mut choices.iter().map(|choice| choice.name)),
        Kind::Entry(table) => problem
            .more("; give a name from the table of {}")
            .text(table),
        Kind::EntryOrQuantity(table, limit) => problem
            .more("; give a name from the table of {}, or write it like “{}”")
            .text(table)
            .text(limit.dimension.example),
        Kind::Words | Kind::Rows(_) => problem,
    }
}

/// Most rows that one input takes; more is a slip, and the page must answer at once.
const MOST_ROWS: usize = 60;

/// What reads values, and gathers what it has to say about them.
struct Reader<'a> {
    library: &'a Library,
    notes: Vec<&'static str>,
    problems: Vec<Problem>,
}

impl<'a> Reader<'a> {
    #[inline(never)]
    fn refuse(&mut self, problem: Problem) {
        self.problems.push(problem);
    }

    /// Reads one value of any kind; None where it had to be refused.
    #[inline(never)]
    fn value(
        &mut self,
        name: &str,
        label: &str,
        kind: &'static Kind,
        text: &str,
    ) -> Option<Value<'a>> {
        let found = match kind {
            Kind::Quantity(limit) => self.quantity(label, limit, text),
            Kind::AnyOf(limits) => {
                let fits = |limit: &&&Limit| quantity::read(text, limit.dimension).is_ok();
                match limits.iter().find(fits) {
                    Some(limit) => self.quantity(label, limit, text),
                    // A number that can be read two ways fits none of them for that reason.
                    None => Err(number::lead(text).err().unwrap_or_else(|| {
                        Problem::says("“{}” is none of these: {}")
                            .text(text)
                            .text(&examples(limits))
                    })),
                }
            }
            Kind::Choice(choices) => match choices.iter().find(|choice| choice.is(text)) {
                Some(choice) => Ok(Value::Choice(choice.name)),
                None => Err(Problem::says("“{}” is not known here")
                    .text(text)
                    .suggest(text, choices.iter().map(|choice| choice.name))),
            },
            Kind::Entry(table) => self.library.find(table, text).map(Value::Entry),
            Kind::EntryOrQuantity(table, limit) => match self.library.find(table, text) {
                Err(_)
                    if text.starts_with([
                        '-', '−', '+', '.', '0', '1', '2', '3', '4', '5', '6', '7', '8', '9',
                    ]) =>
                {
                    self.quantity(label, limit, text)
                }
                found => found.map(Value::Entry),
            },
            Kind::Words => Ok(Value::Words(text.to_string())),
            Kind::Rows(columns) => return self.rows(name, columns, text),
        };
        match found {
            Ok(value) => Some(value),
            Err(problem) => {
                self.refuse(problem.of(name));
                None
            }
        }
    }

    fn quantity(
        &mut self,
        label: &str,
        limit: &'static Limit,
        text: &str,
    ) -> Result<Value<'a>, Problem> {
        let reading = quantity::read(text, limit.dimension)?;
        limit.check(label, reading.value)?;
        if !reading.error.is_finite() || reading.error > 1e9 {
            return Err(
                Problem::says("the reading error in “{}” is too large to mean anything").text(text),
            );
        }
        self.notes.extend(limit.note(reading.value));
        Ok(Value::Quantity {
            base: reading.value,
            error: reading.error,
            dimension: limit.dimension,
        })
    }

    /// Reads `a: 0.35, 100 mg; b: 0.2, 80 mg`.
    fn rows(&mut self, name: &str, columns: &'static [Column], text: &str) -> Option<Value<'a>> {
        let mut read = Vec::new();
        let written = text
            .split([';', '\n'])
            .map(str::trim)
            .filter(|row| !row.is_empty());
        let count = written.clone().count();
        if count > MOST_ROWS {
            self.refuse(
                Problem::new(name, "{.0} rows are too many; at most {.0}")
                    .number(count as f64)
                    .number(MOST_ROWS as f64),
            );
            return None;
        }
        let before = self.problems.len();
        for (at, row) in written.enumerate() {
            let number = at as f64 + 1.0;
            let so_far = self.problems.len();
            let cells = split_row(columns, row);
            read.push(self.row(name, number, columns, row, &cells));
            if self.problems.len() == so_far {
                self.two_ways(name, number, columns, row, &cells);
            }
            for problem in &mut self.problems[so_far..] {
                *problem = Problem::new(&problem.input, "row {.0}: {}")
                    .number(number)
                    .text(&problem.message);
            }
        }
        (self.problems.len() == before).then_some(Value::Rows(read))
    }

    /// Reads the cells of one row.
    fn row(
        &mut self,
        name: &str,
        number: f64,
        columns: &'static [Column],
        written: &str,
        cells: &[&str],
    ) -> Row<'a> {
        let mut read = Vec::new();
        for (column, cell) in columns.iter().zip(cells) {
            let place = place(name, number, column);
            if !cell.is_empty() {
                read.push(self.value(&place, column.label, &column.kind, cell));
                continue;
            }
            if !column.optional {
                self.refuse(
                    Problem::new(&place, "{} is missing in “{}”")
                        .text(&in_sentence(column.label))
                        .text(written),
                );
            }
            read.push(None);
        }
        Row {
            columns,
            cells: read,
        }
    }

    /// Refuses a row without a blank after any comma where each may also part two cells: `5,10 mL`
    /// is 5.10 mL, or 5 beside 10 mL.
    fn two_ways(
        &mut self,
        name: &str,
        number: f64,
        columns: &'static [Column],
        written: &str,
        cells: &[&str],
    ) {
        let apart = split_at_signs(columns, written, &|text, sign| text.find(sign));
        let Some(at) = cells.iter().zip(&apart).position(|(one, two)| one != two) else {
            return;
        };
        let mut other = Reader {
            library: self.library,
            notes: Vec::new(),
            problems: Vec::new(),
        };
        other.row(name, number, columns, written, &apart);
        if written.contains(", ") || !other.problems.is_empty() {
            return;
        }
        let (cell, whole) = (cells[at], apart[at]);
        let rest = &cell[whole.len() + 1..];
        self.refuse(
            Problem::new(
                &place(name, number, &columns[at]),
                "“{}” can be read two ways: write “{}.{}” or “{}, {}”",
            )
            .text(cell)
            .text(whole)
            .text(rest)
            .text(whole)
            .text(rest),
        );
    }
}

/// What a cell is blamed as: `spots 2 rf`.
fn place(name: &str, number: f64, column: &Column) -> Sentence {
    let mut place = Sentence::new("{} {.0} {}");
    place.text(name).number(number).text(column.name);
    place
}

/// Cuts a row at the sign before each cell; cells that are not there are empty. A comma inside a
/// number is a decimal comma and cuts nothing: `a: 0,35, 100 mg`.
pub fn split_row<'t>(columns: &[Column], row: &'t str) -> Vec<&'t str> {
    split_at_signs(columns, row, &|text, sign| match sign {
        ',' => text
            .match_indices(',')
            .map(|(at, _)| at)
            .find(|at| !is_decimal(text, *at)),
        other => text.find(other),
    })
}

/// Whether the comma at `at` stands between digits of one number: the number before it has no
/// point or comma yet.
fn is_decimal(text: &str, at: usize) -> bool {
    let before = text[..at].trim_end_matches(|c: char| c.is_ascii_digit());
    before.len() < at
        && !before.ends_with(['.', ','])
        && text[at + 1..].starts_with(|c: char| c.is_ascii_digit())
}

fn split_at_signs<'t>(
    columns: &[Column],
    row: &'t str,
    find: &dyn Fn(&str, char) -> Option<usize>,
) -> Vec<&'t str> {
    let mut cells = Vec::new();
    let mut rest = row;
    for at in 0..columns.len() {
        // The next sign that does occur ends this cell.
        let later = columns[at + 1..].iter().filter_map(|next| next.before);
        let cut = later
            .enumerate()
            .find_map(|(skipped, sign)| Some((skipped, find(rest, sign)?, sign)));
        let (cell, onward) = match cut {
            Some((0, end, sign)) => (&rest[..end], &rest[end + sign.len_utf8()..]),
            // The cells between are empty; the sign stays for its own cell.
            Some((_, end, _)) => rest.split_at(end),
            None => (rest, ""),
        };
        cells.push(cell.trim());
        rest = onward;
    }
    cells
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Material: amount, pack, waste, loss.
    fn amounts() -> &'static [Input] {
        let class = crate::calculators::find("class-quantities").expect("class-quantities");
        class.inputs
    }

    fn cells(row: &str) -> String {
        let columns = amounts().iter().find_map(|input| match input.kind {
            Kind::Rows(columns) => Some(columns),
            _ => None,
        });
        let cells = split_row(columns.expect("rows"), row);
        cells.join("|").trim_end_matches('|').to_owned()
    }

    fn refusal(rows: &str) -> Option<String> {
        let library = Library::default();
        let pairs = [("amounts".to_owned(), rows.to_owned())];
        let problems = Inputs::read(amounts(), &library, &pairs).err()?;
        let mut rows = problems
            .iter()
            .filter(|problem| problem.input.starts_with("amounts"));
        rows.next()
            .map(|problem| format!("{}: {}", problem.input, problem.message))
    }

    #[test]
    fn takes_a_comma_inside_a_number_for_a_decimal_one() {
        for (row, parted) in [
            ("a: 0,35 mL, 100 mL", "a|0,35 mL|100 mL"),
            ("a: 0,35, 1,5 mg", "a|0,35|1,5 mg"),
            ("a:0.35,100 mg", "a|0.35|100 mg"),
            ("a:0,35,100 mg", "a|0,35|100 mg"),
            ("a: 12, 100 mg", "a|12|100 mg"),
            (
                "1,2-diol: 3 mL,1 L, halogen-free",
                "1,2-diol|3 mL|1 L|halogen-free",
            ),
            ("a: 50,5 mL, , rest, 2,5 %", "a|50,5 mL||rest|2,5 %"),
        ] {
            assert_eq!(cells(row), parted);
        }
        for sound in [
            "a: 0,35 mL, 100 mL",
            "a: 0,35 mL",
            "1,2-diol: 3 mL,1 L",
            "a: 50,5 mL, , rest, 2,5 %",
        ] {
            assert_eq!(refusal(sound), None, "{sound}");
        }
    }

    #[test]
    fn refuses_a_comma_that_can_be_read_two_ways() {
        let said = refusal("a: 5,10 mL").expect("a refusal");
        assert_eq!(
            said,
            "amounts 1 amount: row 1: “5,10 mL” can be read two ways: write “5.10 mL” or “5, 10 mL”"
        );
        // 1,000 is a thousand or one, whatever stands around it.
        let said = refusal("b: 1 mL; a: 1,000 mL, 5 L").expect("a refusal");
        assert!(
            said.starts_with("amounts 2 amount: row 2: “1,000"),
            "{said}"
        );
        assert!(
            said.ends_with("can be read two ways: write “1000” or “1.000”"),
            "{said}"
        );
    }
}
