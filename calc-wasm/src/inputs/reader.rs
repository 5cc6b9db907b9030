//! Reading: from texts to checked values, or to all that is wrong with them.

use super::rows::{split_at_signs, split_row, written_rows};
use super::values::Value;
use super::{Carried, Column, Input, Inputs, Kind, Need, Row, Values};
use crate::library::Library;
use crate::limits::Limit;
use crate::problem::{Problem, holds, in_sentence};
use crate::quantity::{self, digits};
use crate::sentence::Sentence;

impl<'a> Inputs<'a> {
    /// Reads and checks `pairs` against the descriptions. Blank values count as left out.
    ///
    /// # Errors
    /// Every problem there is: unknown and repeated names, missing values, what cannot be read,
    /// what lies outside its limit.
    pub fn read(
        inputs: &'static [&'static Input],
        library: &'a Library,
        pairs: &[(String, String)],
    ) -> Result<Self, Vec<Problem>> {
        Self::read_with(inputs, library, pairs, &[])
    }

    /// The same, with numbers that other calculations hand over; they go before texts.
    ///
    /// # Errors
    /// As [`Inputs::read`]; and a number handed to an input that takes none of its kind.
    pub fn read_with(
        inputs: &'static [&'static Input],
        library: &'a Library,
        pairs: &[(String, String)],
        carried: &[(String, Carried)],
    ) -> Result<Self, Vec<Problem>> {
        let mut reader = Reader {
            library,
            notes: Vec::new(),
            problems: Vec::new(),
        };
        reader.names(inputs, pairs);
        let mut values = Vec::new();
        let mut given = Vec::new();
        for input in inputs {
            if let Some((_, number)) = carried.iter().find(|(name, _)| name == input.name) {
                given.push(input.name);
                match reader.carried(input, number) {
                    Ok(value) => values.push((input.name, value)),
                    Err(problem) => reader.refuse(problem.of(input.name)),
                }
                continue;
            }
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
                values.push((input.name, value));
            }
        }
        if !reader.problems.is_empty() {
            return Err(reader.problems);
        }
        Ok(Inputs {
            values: Values::new(values),
            library,
            given,
            notes: reader.notes,
        })
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

    /// Refuses names that no input has, and all but the first of one name.
    fn names(&mut self, inputs: &'static [&'static Input], pairs: &[(String, String)]) {
        for (at, (name, _)) in pairs.iter().enumerate() {
            let names = inputs.iter().map(|input| input.name);
            if !names.clone().any(|known| known == name) {
                self.refuse(Problem::new(name, "no such input").suggest(name, names));
            } else if pairs[..at].iter().any(|(earlier, _)| earlier == name) {
                self.refuse(Problem::new(name, "given twice"));
            }
        }
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
            Kind::AnyOf(limits) => self.any_of(label, limits, text),
            Kind::Choice(choices) => match choices.iter().find(|choice| choice.is(text)) {
                Some(choice) => Ok(Value::Choice(choice.name)),
                None => Err(Problem::says("“{}” is not known here")
                    .text(text)
                    .suggest(text, choices.iter().map(|choice| choice.name))),
            },
            Kind::Entry(table) => self.library.find(table, text).map(Value::Entry),
            Kind::EntryOrQuantity(table, limit) => match self.library.find(table, text) {
                Err(_) if begins_a_number(text) => self.quantity(label, limit, text),
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
        // What cannot be nought is not known at all by an error as large as itself.
        if limit.lowest > 0.0 && reading.error > reading.value {
            return Err(Problem::says(
                "{} is less sure than it is large, “{}”; measure it again, or give the error it has",
            )
            .text(&in_sentence(label))
            .text(text));
        }
        self.notes.extend(limit.note(reading.value));
        Ok(Value::Quantity {
            base: reading.value,
            error: reading.error,
            dimension: limit.dimension,
        })
    }

    /// Checks a number that another calculation hands over.
    fn carried(&mut self, input: &'static Input, number: &Carried) -> Result<Value<'a>, Problem> {
        let limits: &[&'static Limit] = match &input.kind {
            Kind::Quantity(limit) | Kind::EntryOrQuantity(_, limit) => std::slice::from_ref(limit),
            Kind::AnyOf(limits) => limits,
            _ => &[],
        };
        let found = limits
            .iter()
            .find_map(|limit| Some((*limit, limit.dimension.unit(number.unit)?)));
        let Some((limit, unit)) = found else {
            return Err(Problem::says("“{} {}” is not what is asked for here")
                .text(&number.shown)
                .text(number.unit));
        };
        let value = unit.to_base(number.value);
        let error = match number.error_unit.as_str() {
            "" => number.error * unit.factor,
            "%" if number.unit != "%" => (value * number.error / 100.0).abs(),
            other => match limit.dimension.unit(other) {
                Some(unit) => number.error * unit.factor,
                None => {
                    return Err(Problem::says("“{}” is not a unit of {}")
                        .text(other)
                        .text(limit.dimension.name));
                }
            },
        };
        limit.check(input.label, value)?;
        self.notes.extend(limit.note(value));
        Ok(Value::Quantity {
            base: value,
            error,
            dimension: limit.dimension,
        })
    }

    fn any_of(
        &mut self,
        label: &str,
        limits: &'static [&'static Limit],
        text: &str,
    ) -> Result<Value<'a>, Problem> {
        let fits = |limit: &&&Limit| quantity::read(text, limit.dimension).is_ok();
        match limits.iter().find(fits) {
            Some(limit) => self.quantity(label, limit, text),
            // A number that can be read two ways fits none of them for that reason.
            None => Err(digits::lead(text).err().unwrap_or_else(|| {
                Problem::says("“{}” is none of these: {}")
                    .text(text)
                    .text(&examples(limits))
            })),
        }
    }

    /// Reads `a: 0.35, 100 mg; b: 0.2, 80 mg`.
    fn rows(
        &mut self,
        name: &str,
        columns: &'static [&'static Column],
        text: &str,
    ) -> Option<Value<'a>> {
        let mut read = Vec::new();
        let written = written_rows(text);
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
        columns: &'static [&'static Column],
        written: &str,
        cells: &[&str],
    ) -> Row<'a> {
        let mut read = Vec::new();
        for (column, cell) in columns.iter().zip(cells) {
            let place = place(name, number, column);
            if !cell.is_empty() {
                let value = self.value(&place, column.label, &column.kind, cell);
                read.extend(value.map(|value| (column.name, value)));
            } else if !column.optional {
                self.refuse(
                    Problem::new(&place, "{} is missing in “{}”")
                        .text(&in_sentence(column.label))
                        .text(written),
                );
            }
        }
        Values::new(read)
    }

    /// Refuses a row without a blank after any comma where each may also part two cells: `5,10 mL`
    /// is 5.10 mL, or 5 beside 10 mL.
    fn two_ways(
        &mut self,
        name: &str,
        number: f64,
        columns: &'static [&'static Column],
        written: &str,
        cells: &[&str],
    ) {
        if holds(written, ", ") {
            return;
        }
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
        if !other.problems.is_empty() {
            return;
        }
        let (cell, whole) = (cells[at], apart[at]);
        let rest = &cell[whole.len() + 1..];
        self.refuse(
            Problem::new(
                &place(name, number, columns[at]),
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

/// Whether `text` is a quantity, well written or not, rather than a name.
fn begins_a_number(text: &str) -> bool {
    text.starts_with(|c: char| c.is_ascii_digit() || ['-', '−', '+', '.'].contains(&c))
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

/// What a cell is blamed as: `spots 2 rf`.
fn place(name: &str, number: f64, column: &Column) -> Sentence {
    let mut place = Sentence::new("{} {.0} {}");
    place.text(name).number(number).text(column.name);
    place
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::inputs::Choice;
    use crate::limits;
    use crate::quantity::{Quantity, Volume};

    /// Material: amount, pack, waste, loss.
    fn amounts() -> &'static [&'static Input] {
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

    static INPUTS: &[&Input] = &[
        &Input::required("mass", "Mass", Kind::Quantity(&limits::MASS), ""),
        &Input::optional(
            "sample",
            "Sample",
            Kind::AnyOf(&[&limits::VOLUME, &limits::MASS]),
            "",
        ),
        &Input::optional(
            "liquid",
            "Liquid",
            Kind::EntryOrQuantity("substances", &limits::TEMPERATURE),
            "",
        ),
        &Input::preset(
            "way",
            "Way",
            Kind::Choice(&[
                Choice {
                    name: "cold",
                    label: "as it is",
                },
                Choice {
                    name: "hot",
                    label: "after boiling",
                },
            ]),
            "cold",
            "",
        ),
    ];

    /// What is said of these values, on a table that knows water.
    fn said(pairs: &[(&str, &str)]) -> Result<String, Vec<String>> {
        let library = Library::from_text("[substances]\nname\nwater").expect("a table");
        let pairs: Vec<_> = pairs
            .iter()
            .map(|(name, text)| ((*name).to_owned(), (*text).to_owned()))
            .collect();
        let told = |problems: Vec<Problem>| -> Vec<String> {
            problems.iter().map(ToString::to_string).collect()
        };
        let inputs = Inputs::read(INPUTS, &library, &pairs).map_err(told)?;
        let liquid = match inputs.entry("liquid") {
            Some(row) => row.name().to_owned(),
            None => format!("{:?}", inputs.base("liquid")),
        };
        let volume = inputs.quantity::<Volume>("sample").map(Quantity::base);
        let way = inputs.choice("way");
        let given = inputs.given("way");
        Ok(format!("{way} {given} {liquid} {volume:?}"))
    }

    #[test]
    fn takes_what_is_given_and_presets_the_rest() {
        let mass = ("mass", "2 g");
        assert_eq!(said(&[mass]).unwrap(), "cold false None None");
        assert_eq!(
            said(&[mass, ("way", "After boiling"), ("liquid", "WATER")]).unwrap(),
            "hot true water None"
        );
        assert_eq!(
            said(&[mass, ("sample", "3 mL"), ("liquid", "−5 °C")]).unwrap(),
            "cold false Some(-5.0) Some(3.0)"
        );
        assert_eq!(
            said(&[mass, ("sample", "3 g"), ("liquid", "auto"), ("way", " ")]).unwrap(),
            "cold false None None"
        );
    }

    #[test]
    fn refuses_each_with_a_sentence() {
        let problems = said(&[("sample", "3 °C"), ("sample", "1 g"), ("wey", "hot")]).unwrap_err();
        assert_eq!(
            problems,
            [
                "“sample”: given twice",
                "“wey”: no such input; the nearest is “way”",
                "“mass”: mass is needed; write it like “2 g”",
                "“sample”: “3 °C” is none of these: “50 mL” or “2 g”",
            ]
        );
        let refused = |name, text| {
            said(&[("mass", "2 g"), (name, text)])
                .unwrap_err()
                .remove(0)
        };
        assert_eq!(
            refused("way", "warm"),
            "“way”: “warm” is not known here; it must be one of: cold, hot"
        );
        assert!(refused("liquid", "wather").ends_with("the nearest is “water”"));
        assert!(refused("liquid", "900 °C").contains("it must be −120 to 450 °C"));
        assert!(refused("sample", "1 ± 1e10 mL").contains("reading error"));
        assert!(refused("sample", "1 ± 2 mL").contains("less sure than it is large"));
    }

    #[test]
    fn takes_no_more_rows_than_it_can_answer_at_once() {
        let rows = |count: usize| vec!["a: 1 mL"; count].join("; ");
        assert_eq!(refusal(&rows(MOST_ROWS)), None);
        assert_eq!(
            refusal(&rows(MOST_ROWS + 1)).as_deref(),
            Some("amounts: 61 rows are too many; at most 60")
        );
    }
}
