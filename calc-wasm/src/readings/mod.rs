//! The log of a run: each reading against what was expected of it, the fractions, and what was
//! found again of what was weighed in.
//!
//! Each reading is judged by a calculator of the page (its verdict, and its place in the plot), or
//! against one of its figures. A reading agrees while it is at most two standard errors from what
//! was expected (`equations::agreement`).

mod class;
mod spec;

pub use class::{Group, class};
pub use spec::{Column, KINDS, Sheet, Spec};

use crate::equations::agreement::{standard_errors, verdict};
use crate::library::Library;
use crate::outcome::{Figure, Outcome, Value};
use crate::plot::{Kind, Plot};
use crate::quantity::Reading;
use crate::sentence::Sentence;

/// Working points that a plot can bear before their names cover it.
const MOST_MARKS: usize = 40;

/// What was written down in a run.
#[derive(Debug, Clone, Default)]
pub struct Entries {
    /// What was asked once: name of the column, and text.
    pub once: Vec<(String, String)>,
    /// The readings: a text for each of [`Spec::each`].
    pub rows: Vec<Vec<String>>,
}

impl Entries {
    /// Reads lines of `name=text`, and lines of cells parted by tabs.
    pub fn read(once: &str, rows: &str) -> Self {
        let pair = |(name, text): (&str, &str)| (name.to_string(), text.to_string());
        let once = once.lines().filter_map(|line| line.split_once('='));
        let cells = |line: &str| line.split('\t').map(str::to_string).collect();
        Entries {
            once: once.map(pair).collect(),
            rows: rows.lines().map(cells).collect(),
        }
    }
}

/// What is said of one reading.
#[derive(Debug, Clone)]
pub struct Judged {
    /// `agrees`, `high`, `low`, `refused`, or nothing where nothing was expected.
    pub verdict: &'static str,
    /// The sentences.
    pub text: Sentence,
}

/// A run worked out.
#[derive(Debug, Clone, Default)]
pub struct Log {
    /// What is said of each reading.
    pub judged: Vec<Judged>,
    /// Figures, plot and table of the run.
    pub outcome: Outcome,
    /// Lowest and highest of what the judge was given first, in the fraction with the most mass.
    pub range: Option<[f64; 2]>,
    /// Its unit.
    pub range_unit: &'static str,
    /// The largest share of what was weighed in that one fraction holds, in percent.
    pub share: Option<f64>,
}

/// Works out a run.
pub fn log(library: &Library, spec: &Spec, sheet: &Sheet, entries: &Entries) -> Log {
    let mut work = Work {
        library,
        spec,
        sheet,
        entries,
        log: Log::default(),
        marks: Plot::new("", ""),
        differences: Vec::new(),
        main: Vec::new(),
        expected: None,
    };
    for at in 0..entries.rows.len() {
        work.judge(at);
    }
    work.draw();
    work.fractions();
    work.sum_up();
    let Outcome { method, source, .. } = &mut work.log.outcome;
    if method.is_empty() {
        method.more("Each reading is set against what the page’s calculators expect; it agrees while it is at most two standard errors off, each ± taken for a limit with standard error a/√3. A sum’s error is the root of the sum of squares.");
        source.more("Standard errors: JCGM 100:2008, 4.3.7.");
    }
    work.log
}

/// A run while it is worked out.
struct Work<'w> {
    library: &'w Library,
    spec: &'w Spec,
    sheet: &'w Sheet,
    entries: &'w Entries,
    log: Log,
    /// The readings as points of the judge's plot.
    marks: Plot,
    /// Read less expected, and the unit, as the judge gives it, by number of the reading.
    differences: Vec<(usize, f64, &'static str)>,
    /// The readings of the largest fraction.
    main: Vec<usize>,
    /// What is drawn of the first column that has an expectation: number of the reading, value
    /// and its error, lowest and highest expected.
    expected: Option<(&'w Column, Vec<[f64; 5]>)>,
}

impl<'w> Work<'w> {
    fn cell(&self, at: usize, name: &str) -> &'w str {
        let place = self.spec.place(name);
        let cell = place.and_then(|place| self.entries.rows[at].get(place));
        cell.map_or("", |text| text.trim())
    }

    fn reading(&self, at: usize, column: &Column) -> Option<Reading> {
        column.read(self.cell(at, &column.name))?.ok()
    }

    /// What was weighed in once.
    fn once(&self, name: &str) -> Option<Reading> {
        let column = self
            .spec
            .columns
            .iter()
            .find(|one| one.once && one.name == name)?;
        let (_, text) = self.entries.once.iter().find(|(known, _)| known == name)?;
        column.read(text)?.ok().filter(|read| read.value > 0.0)
    }

    fn judge(&mut self, at: usize) {
        let mut said = Judged {
            verdict: "",
            text: Sentence::default(),
        };
        let mut read = Vec::new();
        for column in self.spec.each() {
            let text = self.cell(at, &column.name);
            if let Some(Err(problem)) = column.read(text) {
                said.refuse(&problem.message);
            }
            if !column.fills.is_empty() && !text.is_empty() {
                read.push((column.fills.clone(), column.written(text)));
            }
        }
        if said.verdict.is_empty() {
            self.ask_the_judge(at, &read, &mut said);
            for column in self.spec.each() {
                self.compare(at, column, &read, &mut said);
            }
        }
        self.log.judged.push(said);
    }

    /// Asks the calculator that judges, once all is there that it asks of a reading.
    fn ask_the_judge(&mut self, at: usize, read: &[(String, String)], said: &mut Judged) {
        let Some(judge) = self.sheet.calculator(&self.spec.judge) else {
            return;
        };
        let asks = |column: &&Column| judge.input(&column.fills).is_some();
        let mut asked = self.spec.each().filter(asks);
        if asked.any(|column| self.cell(at, &column.name).is_empty()) {
            return;
        }
        match self.sheet.run(self.library, &self.spec.judge, read) {
            Some(Ok(outcome)) => {
                said.hear(&outcome);
                if let Some(figure) = outcome.figure("difference") {
                    let known = figure.number().map(|value| (at, value, figure.unit));
                    self.differences.extend(known);
                }
                self.mark(at, outcome);
            }
            Some(Err(problems)) => {
                for problem in &problems {
                    said.refuse(&problem.message);
                }
            }
            None => {}
        }
    }

    /// Keeps the working point, and the plot behind all of them.
    fn mark(&mut self, at: usize, outcome: Outcome) {
        let Some(mut plot) = outcome.plot else {
            return;
        };
        for layer in &plot.layers {
            if layer.kind == Kind::Mark && self.marks.layers.len() < MOST_MARKS {
                let mut mark = layer.clone();
                mark.label = Sentence::new("{~3}");
                mark.label.number(at as f64 + 1.0);
                self.marks.layers.push(mark);
            }
        }
        plot.layers.retain(|layer| layer.kind != Kind::Mark);
        self.log.outcome.plot = Some(plot);
        self.log.outcome.method = outcome.method;
        self.log.outcome.source = outcome.source;
        self.log.outcome.validity = outcome.validity;
    }

    /// Sets one column beside the figure that is expected of it.
    fn compare(
        &mut self,
        at: usize,
        column: &'w Column,
        read: &[(String, String)],
        said: &mut Judged,
    ) {
        let Some((value, error)) = self.value(at, column) else {
            return;
        };
        let Some([low, high]) = self.expect(at, column, read) else {
            return;
        };
        let (middle, half) = ((low + high) / 2.0, (high - low) / 2.0);
        let between = column.expect.contains(" to ");
        let difference = match between {
            // Anywhere between the two is as expected.
            true => value - value.max(low.min(high)).min(high.max(low)),
            false => value - middle,
        };
        let half = if between { 0.0 } else { half };
        let verdict = verdict(standard_errors(difference, [half, error]));
        said.add(&column.label, verdict);
        if high > low {
            said.text
                .more(", expected {~3} to {~3}")
                .number(low)
                .number(high);
        } else {
            said.text.more(", expected {~4}").number(middle);
        }
        let unit = if column.of.is_empty() {
            column.shown_in()
        } else {
            "%"
        };
        if !unit.is_empty() {
            said.text.more(" {}").text(unit);
        }
        said.text.more(".");
        let point = [at as f64 + 1.0, value, error, low, high];
        let drawn = self.expected.get_or_insert((column, Vec::new()));
        if std::ptr::eq(drawn.0, column) {
            drawn.1.push(point);
        }
    }

    /// What was read and its error, in the column's unit; in percent where it is a share.
    fn value(&self, at: usize, column: &Column) -> Option<(f64, f64)> {
        if column.expect.is_empty() {
            return None;
        }
        let reading = self.reading(at, column)?;
        if column.of.is_empty() {
            let error = column.difference_in_unit(reading.error);
            return Some((column.in_unit(reading.value), error));
        }
        let so_far = (0..=at).filter_map(|row| self.reading(row, column));
        share(so_far, self.once(&column.of)?)
    }

    /// What is expected of a reading, in the column's unit.
    fn expect(&self, at: usize, column: &Column, read: &[(String, String)]) -> Option<[f64; 2]> {
        let (mut name, mut rest) = (String::new(), column.expect.as_str());
        while let Some((before, behind)) = rest.split_once('{') {
            let (other, after) = behind.split_once('}')?;
            let text = self.cell(at, other);
            if text.is_empty() {
                return None;
            }
            name.push_str(before);
            name.push_str(text);
            rest = after;
        }
        name.push_str(rest);
        let (id, figures) = name.split_once('.')?;
        let outcome = self.sheet.run(self.library, id, read)?.ok()?;
        let (first, last) = figures.split_once(" to ").unwrap_or((figures, figures));
        let (first, last) = (outcome.figure(first)?, outcome.figure(last)?);
        let end = |figure: &Figure, end: Option<f64>| {
            let value = end.or(figure.number())?;
            if !column.of.is_empty() {
                return Some(value);
            }
            let unit = column.dimension?.unit(figure.unit)?;
            Some(column.in_unit(unit.to_base(value)))
        };
        if std::ptr::eq(first, last) {
            return Some([end(first, first.low)?, end(first, first.high)?]);
        }
        Some([end(first, None)?, end(last, None)?])
    }

    /// The readings in the judge's plot, else beside what was expected of them.
    fn draw(&mut self) {
        if let Some(plot) = &mut self.log.outcome.plot {
            plot.layers.append(&mut self.marks.layers);
            plot.around_marks();
        } else if let Some((column, points)) = &self.expected {
            let plot = self.log.outcome.plot(
                "{}, reading by reading",
                "Each reading with its error, and what was expected of it.",
            );
            plot.title.text(&column.label);
            plot.x.linear("Reading", "");
            plot.y.label = Sentence::new("{}");
            plot.y.label.text(&column.label);
            plot.y.unit = if column.of.is_empty() {
                column.shown_in()
            } else {
                "%"
            };
            let last = points.last().map_or(1.0, |point| point[0]);
            plot.x.from_to(0.0, last + 1.0);
            let band = plot.band("expected");
            for &[at, _, _, low, high] in points {
                band.three(at - 0.5, low, high).three(at + 0.5, low, high);
            }
            for &[at, value, error, ..] in points {
                plot.mark("{~3}", at, value).number(at).error(0.0, error);
            }
        }
    }

    /// What agreed, and by how much; what was found again.
    fn sum_up(&mut self) {
        let judged = |wanted: &[&str]| {
            let all = self.log.judged.iter();
            all.filter(|one| wanted.contains(&one.verdict)).count() as f64
        };
        let (agree, all) = (judged(&["agrees"]), judged(&["agrees", "high", "low"]));
        let outcome = &mut self.log.outcome;
        if all > 0.0 {
            let mut words = Sentence::new("{~4} of {~4}");
            words.number(agree).number(all);
            outcome.verdict("agree", "Readings that agree", &words);
        }
        let main = self
            .differences
            .iter()
            .filter(|(at, ..)| self.main.contains(at));
        let values: Vec<f64> = main.map(|(_, value, _)| *value).collect();
        if let (Some((.., unit)), false) = (self.differences.first(), values.is_empty()) {
            let count = values.len() as f64;
            let mean = values.iter().sum::<f64>() / count;
            let label = "Read less expected, mean of the main fraction";
            let figure = outcome.number("difference", label, mean, unit);
            if count > 1.0 {
                // Standard deviation of a single reading (JCGM 100:2008, 4.2.2).
                let squares = values.iter().map(|value| (value - mean) * (value - mean));
                figure.give_or_take(f64::sqrt(squares.sum::<f64>() / (count - 1.0)));
            }
        }
        for column in self.spec.each().filter(|column| column.sum) {
            let read = (0..self.entries.rows.len()).filter_map(|row| self.reading(row, column));
            let read: Vec<_> = read.collect();
            if read.is_empty() {
                continue;
            }
            let sum = column.difference_in_unit(read.iter().map(|one| one.value).sum());
            let error = column.difference_in_unit(joined(&read));
            let label = [&column.label, ", in all"].concat();
            let outcome = &mut self.log.outcome;
            outcome
                .number("sum", &label, sum, column.shown_in())
                .give_or_take(error);
            if let Some((percent, error)) = self
                .once(&column.of)
                .and_then(|whole| share(read.iter().copied(), whole))
            {
                let outcome = &mut self.log.outcome;
                outcome
                    .number("found", "Found again", percent, "%")
                    .give_or_take(error);
                outcome
                    .number("lost", "Not found again", 100.0 - percent, "%")
                    .give_or_take(error);
            }
        }
    }

    /// The fractions: the range of each thing read in them, their mass and its share.
    fn fractions(&mut self) {
        let Some(place) = self.spec.place(&self.spec.group) else {
            self.remember(&(0..self.entries.rows.len()).collect::<Vec<_>>());
            return;
        };
        let mut groups: Vec<(&str, Vec<usize>)> = Vec::new();
        for (at, row) in self.entries.rows.iter().enumerate() {
            let name = row.get(place).map_or("", |text| text.trim());
            match groups.iter_mut().find(|(known, _)| *known == name) {
                Some((_, rows)) => rows.push(at),
                None if !name.is_empty() => groups.push((name, vec![at])),
                None => {}
            }
        }
        let others =
            |column: &&Column| column.name != self.spec.group && column.dimension.is_some();
        let columns: Vec<&Column> = self.spec.each().filter(others).collect();
        let mut heads = Sentence::new("{}");
        heads.text(
            self.spec
                .each()
                .nth(place)
                .map_or("", |column| &column.label),
        );
        for column in &columns {
            heads.more("\t{}").text(&column.label);
            if !column.of.is_empty() {
                heads.more("\tShare");
            }
        }
        let mut rows = Vec::new();
        for (name, of) in &groups {
            let mut row = Sentence::new("{}");
            row.text(name);
            for column in &columns {
                self.fraction_cell(column, of, &mut row);
            }
            rows.push(row);
            self.remember(of);
        }
        if !rows.is_empty() {
            let table = self.log.outcome.table("Fractions", "");
            (table.heads, table.rows) = (heads, rows);
        }
    }

    fn fraction_cell(&self, column: &Column, rows: &[usize], out: &mut Sentence) {
        let read: Vec<_> = rows
            .iter()
            .filter_map(|&at| self.reading(at, column))
            .collect();
        out.more("\t");
        if column.sum && !read.is_empty() {
            let sum = read.iter().map(|one| one.value).sum();
            with_unit(column, column.difference_in_unit(sum), out);
        } else if let Some([low, high]) = range(column, &read) {
            if high > low {
                out.more("{~4} to ").number(low);
            }
            with_unit(column, high, out);
        }
        if !column.of.is_empty() {
            out.more("\t");
            let whole = self.once(&column.of);
            if let Some((percent, _)) = whole.and_then(|whole| share(read.into_iter(), whole)) {
                out.more("{.1} %").number(percent);
            }
        }
    }

    /// Keeps range and share of the largest fraction, for the class.
    fn remember(&mut self, rows: &[usize]) {
        let read = |column: &Column| -> Vec<Reading> {
            let read = rows.iter().filter_map(|&at| self.reading(at, column));
            read.collect()
        };
        let mut each = self.spec.each();
        let summed = each.find(|column| column.sum && !column.of.is_empty());
        let percent = summed.and_then(|column| {
            let (percent, _) = share(read(column).into_iter(), self.once(&column.of)?)?;
            Some(percent)
        });
        if !self.main.is_empty() && percent <= self.log.share {
            return;
        }
        let judged = |one: &&Column| one.dimension.is_some() && !one.sum && !one.fills.is_empty();
        let found = self.spec.each().find(judged);
        let found = found.and_then(|one| Some((range(one, &read(one))?, one.shown_in())));
        if let Some((range, unit)) = found {
            (self.log.range, self.log.range_unit) = (Some(range), unit);
        }
        self.log.share = percent.or(self.log.share);
        self.main = rows.to_vec();
    }
}

/// A value in the column's unit, with it where it has one.
fn with_unit(column: &Column, value: f64, out: &mut Sentence) {
    out.more("{~4}").number(value);
    if !column.shown_in().is_empty() {
        out.more(" {}").text(column.shown_in());
    }
}

/// The joined error of a sum: independent ones join as the root of the sum of squares.
fn joined(read: &[Reading]) -> f64 {
    f64::sqrt(read.iter().map(|one| one.error * one.error).sum())
}

/// Their sum as a percentage of `whole`, and its error (first order); none where nothing was read.
fn share(read: impl Iterator<Item = Reading>, whole: Reading) -> Option<(f64, f64)> {
    let read: Vec<_> = read.collect();
    if read.is_empty() || whole.value <= 0.0 {
        return None;
    }
    let percent = 100.0 * read.iter().map(|one| one.value).sum::<f64>() / whole.value;
    let error = libm::hypot(100.0 * joined(&read), percent * whole.error) / whole.value;
    (percent.is_finite() && error.is_finite()).then_some((percent, error))
}

/// Lowest and highest, in the column's unit.
fn range(column: &Column, read: &[Reading]) -> Option<[f64; 2]> {
    let values = read.iter().map(|one| column.in_unit(one.value));
    let low = values.clone().reduce(f64::min)?;
    Some([low, values.reduce(f64::max)?])
}

impl Judged {
    fn refuse(&mut self, why: &str) {
        self.verdict = "refused";
        self.text.more("{}. ").text(why);
    }

    /// The judge's verdict, and the two figures that say most of it.
    fn hear(&mut self, outcome: &Outcome) {
        for figure in outcome.figures.iter().take(3) {
            match &figure.value {
                Value::Words(words) => self.add("", word(words)),
                Value::Number(_) => {
                    self.text
                        .more(" {}: {}.")
                        .text(&figure.label)
                        .text(&figure.shown());
                }
            }
        }
    }

    /// Joins the verdict on one column: what differs goes before what agrees.
    fn add(&mut self, label: &str, verdict: &'static str) {
        if self.verdict.is_empty() || self.verdict == "agrees" {
            self.verdict = verdict;
        }
        if label.is_empty() {
            self.text.more(match verdict {
                "high" => "High.",
                "low" => "Low.",
                _ => "Agrees.",
            });
        } else {
            self.text.more(" {}: {}").text(label).text(verdict);
        }
    }
}

/// A verdict of a calculator, as one of those known here.
fn word(words: &str) -> &'static str {
    ["agrees", "high", "low"]
        .into_iter()
        .find(|one| *one == words)
        .unwrap_or("")
}

#[cfg(test)]
mod tests {
    use super::*;

    const SPEC: &str = "group\tfraction\n\
        column\tcharge\tCrude\tmass\tg\t0.1 g\t\t\t\tonce\n\
        column\tportions\tPortion\tnumber\t\t\tportions\t\t\t\n\
        column\tmass\tExtract\tmass\tg\t0.1 g\t\tout.recovery\tcharge\tsum\n\
        column\tfraction\tFraction\twords\t\t\t\t\t\t\n";
    const SHEET: &str = "@out\trepeated-extraction\ndistribution=5\naqueous_volume=50 mL\nportion_volume=15 mL\nportions=1\n";

    fn worked(once: &str, rows: &str) -> Log {
        let (spec, sheet) = (Spec::read(SPEC), Sheet::read(SHEET));
        log(
            &Library::default(),
            &spec,
            &sheet,
            &Entries::read(once, rows),
        )
    }

    fn verdicts(log: &Log) -> Vec<&'static str> {
        log.judged.iter().map(|one| one.verdict).collect()
    }

    /// 60 % and 84 % of the solute are out after one and two portions (D. Harvey, Analytical
    /// Chemistry 2.1, section 7.7, worked for D = 5, 50 mL and 15 mL).
    #[test]
    fn sets_what_was_found_against_the_figure_of_a_calculator() {
        let run = worked("charge=10", "1\t6.0\tA\n2\t2.4\tA\n3\t2.4\tB");
        assert_eq!(verdicts(&run), ["agrees", "agrees", "high"]);
        let shown = |name: &str| run.outcome.figure(name).map(Figure::shown);
        assert_eq!(shown("agree").as_deref(), Some("2 of 3"));
        assert_eq!(shown("sum").as_deref(), Some("10.80 g"));
        assert_eq!(
            run.outcome.tables[0].rows[0].to_string(),
            "A\t1 to 2\t8.4 g\t84.0 %"
        );
        assert!(run.share.is_some_and(|share| (share - 84.0).abs() < 1e-9));
        assert_eq!(
            run.outcome.plot.as_ref().map(|plot| plot.layers.len()),
            Some(4)
        );
    }

    #[test]
    fn blanks_are_judged_by_nothing_and_nonsense_is_refused() {
        let run = worked("charge=", "1\t6.0\t\n\t\t\n2\tmuch\t<b>");
        assert_eq!(verdicts(&run), ["", "", "refused"]);
        assert!(run.judged[2].text.contains("“much” is not a mass"));
        let nothing = log(
            &Library::default(),
            &Spec::default(),
            &Sheet::default(),
            &Entries::read("", "a\tb\n\n"),
        );
        assert_eq!(verdicts(&nothing), ["", ""]);
    }

    #[test]
    fn a_bare_number_has_the_unit_and_the_error_of_its_column() {
        let spec = Spec::read("column\thead\tHead\ttemperature\t°C\t0.5 °C\t\t\t\t");
        let head = &spec.columns[0];
        assert_eq!(head.written("108,5"), "108.5 ± 0.5 °C");
        assert_eq!(head.written("108 ± 1"), "108 ± 1 °C");
        assert_eq!(head.written("381.65 K"), "108.5 ± 0.5 °C");
        assert_eq!(
            Spec::read(&spec.write()).columns[0].written("3"),
            "3 ± 0.5 °C"
        );
    }

    #[test]
    fn what_is_written_becomes_no_markup() {
        let run = worked("charge=10", "1\t6.0\t<img src=x>");
        let html = crate::report::log(&run, "x", "../");
        assert!(html.contains("&lt;img") && !html.contains("<img"), "{html}");
        let group = Group {
            name: "<b>".into(),
            log: run,
        };
        assert!(!crate::report::class(&[group], "").contains("<b>"));
    }
}
