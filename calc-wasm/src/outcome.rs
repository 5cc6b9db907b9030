//! What a calculator answers: figures with their honesty, cautions, plot, tables, next steps.

use crate::number;
use crate::plot::Plot;
use crate::sentence::Sentence;

/// The answer of one calculation.
#[derive(Debug, Clone, Default)]
pub struct Outcome {
    /// The results; the first is the one that readers came for.
    pub figures: Vec<Figure>,
    /// Cautions that these inputs call for, the gravest first.
    pub cautions: Vec<Caution>,
    /// One or two sentences on what decides the result.
    pub why: Sentence,
    /// Notes: doubtful inputs, assumptions, what to do about a poor result.
    pub notes: Vec<Sentence>,
    /// How it was worked out.
    pub method: Sentence,
    /// Where equation and data come from.
    pub source: Sentence,
    /// Where it holds.
    pub validity: Sentence,
    /// Whether an input lay outside that range; an extrapolated result is labelled.
    pub extrapolated: bool,
    /// The picture that answers at a glance.
    pub plot: Option<Plot>,
    /// Tables that belong to the result.
    pub tables: Vec<Table>,
    /// Where to go from here, with the values carried over.
    pub next: Vec<NextStep>,
}

/// One result.
#[derive(Debug, Clone)]
pub struct Figure {
    /// Its name, as authors type it: `temperature`, `first_fraction.a`.
    pub name: String,
    /// Its name for readers.
    pub label: String,
    /// The number, or words for a verdict.
    pub value: Value,
    /// Its unit; empty for a bare number.
    pub unit: &'static str,
    /// Lower end of the interval.
    pub low: Option<f64>,
    /// Upper end of the interval.
    pub high: Option<f64>,
    /// Significant digits to show where there is no interval.
    pub digits: usize,
}

/// A number, or words.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A number, unrounded.
    Number(f64),
    /// A verdict.
    Words(String),
}

/// How grave a caution is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// Someone may be hurt badly.
    Danger,
    /// Someone may be hurt, or the run lost.
    Care,
}

/// One caution.
#[derive(Debug, Clone)]
pub struct Caution {
    /// How grave it is.
    pub level: Level,
    /// The sentences.
    pub text: Sentence,
}

/// A table that belongs to the result.
#[derive(Debug, Clone)]
pub struct Table {
    /// What it shows.
    pub title: Sentence,
    /// Column heads, parted by tabs.
    pub heads: Sentence,
    /// Rows of cells parted by tabs, already worded and rounded.
    pub rows: Vec<Sentence>,
}

impl Table {
    /// Adds a row: the template of its cells, parted by tabs.
    #[inline(never)]
    pub fn row(&mut self, template: &'static str) -> &mut Sentence {
        self.rows.push_mut(Sentence::new(template))
    }
}

/// A link to another calculator, filled in.
#[derive(Debug, Clone)]
pub struct NextStep {
    /// What the link says.
    pub label: Sentence,
    /// The calculator it opens.
    pub calculator: String,
    /// The values carried over, as authors type them.
    pub inputs: Vec<(String, Sentence)>,
}

impl NextStep {
    /// Carries a value over to `input`.
    #[inline(never)]
    pub fn with(&mut self, input: &str, template: &'static str) -> &mut Sentence {
        let carried = (input.to_string(), Sentence::new(template));
        &mut self.inputs.push_mut(carried).1
    }
}

impl Figure {
    /// A number shown to three significant digits until more is said.
    fn new(name: &str, label: &str, value: Value, unit: &'static str) -> Self {
        Figure {
            name: name.to_string(),
            label: label.to_string(),
            value,
            unit,
            low: None,
            high: None,
            digits: 3,
        }
    }

    /// Shown to `digits` significant digits, having no interval.
    #[inline(never)]
    pub fn digits(&mut self, digits: usize) -> &mut Self {
        self.digits = digits;
        self
    }

    /// With the interval from `low` to `high`.
    #[inline(never)]
    pub fn within(&mut self, low: f64, high: f64) -> &mut Self {
        self.low = Some(low.min(high));
        self.high = Some(low.max(high));
        self
    }

    /// With the interval that `half`, its error to first order, makes in the figure's own space;
    /// none when `half` is 0. A temperature goes as far up as down. Of an amount there is never
    /// less than nothing, so it goes up and down by one factor. A percentage of a whole goes to
    /// neither end: by its odds.
    #[inline(never)]
    pub fn give_or_take(&mut self, half: f64) -> &mut Self {
        let Value::Number(value) = self.value else {
            return self;
        };
        // An interval that is not there, or not a number, is none.
        if half.is_nan() || half <= 0.0 {
            return self;
        }
        let [low, high] = match self.unit {
            "°C" => [value - half, value + half],
            "%" if value <= 100.0 => {
                share_ends(value / 100.0, half / 100.0).map(|share| share * 100.0)
            }
            _ if value > 0.0 => {
                let factor = libm::exp((half / value).min(LARGEST_STEP));
                [value / factor, value * factor]
            }
            // Where none was found there may be some.
            _ => [value, value + half],
        };
        self.within(low, high)
    }

    /// The number; None for a verdict.
    pub fn number(&self) -> Option<f64> {
        match self.value {
            Value::Number(value) => Some(value),
            Value::Words(_) => None,
        }
    }

    /// Decimals that the interval deserves: its half-width keeps one digit, or two if it starts with 1.
    fn decimals(&self) -> Option<i32> {
        let half = (self.high? - self.low?) / 2.0;
        if half.is_nan() || half <= 0.0 {
            return None;
        }
        let place = number::magnitude(half);
        let leading = half / libm::pow(10.0, f64::from(place));
        Some(if leading < 1.95 { 1 - place } else { -place })
    }

    /// Writes `value` with as many digits as this figure deserves.
    #[inline(never)]
    fn rounded(&self, value: f64) -> String {
        match self.decimals() {
            Some(decimals) if decimals >= 0 => {
                if decimals > 8 {
                    number::significant(value, 3)
                } else {
                    number::fixed(value, decimals as usize)
                }
            }
            Some(decimals) => {
                let unit = libm::pow(10.0, f64::from(-decimals));
                number::fixed(f64::round(value / unit) * unit, 0)
            }
            None if self.digits >= 9 => number::plain(value, 9),
            None => number::significant(value, self.digits),
        }
    }

    /// The number alone, rounded to what it deserves: `51.9`; or the verdict.
    #[inline(never)]
    pub fn numeral(&self) -> String {
        match &self.value {
            Value::Number(value) => self.rounded(*value),
            Value::Words(words) => words.clone(),
        }
    }

    /// Number and unit: `51.9 °C`.
    #[inline(never)]
    pub fn shown(&self) -> String {
        let mut shown = self.numeral();
        if !self.unit.is_empty() {
            shown.push(' ');
            shown.push_str(self.unit);
        }
        shown
    }

    /// The interval in words: `51.6 to 52.3`; none where both ends are one.
    #[inline(never)]
    pub fn interval(&self) -> Option<String> {
        self.decimals()?;
        let mut interval = self.rounded(self.low?);
        interval.push_str(" to ");
        interval.push_str(&self.rounded(self.high?));
        Some(interval)
    }
}

/// Errors to first order mean nothing any more where they make a factor of a million.
const LARGEST_STEP: f64 = 13.8;

/// The ends of a share (0 to 1) that is known to `half`: as far up as down in the logarithm of its
/// odds p/(1 − p), so that both lie between nothing and all.
#[inline(never)]
pub fn share_ends(share: f64, half: f64) -> [f64; 2] {
    let spread = share * (1.0 - share);
    if spread <= 0.0 {
        // Nothing may be some, and all may be less.
        return [
            (share - half).clamp(0.0, 1.0),
            (share + half).clamp(0.0, 1.0),
        ];
    }
    let factor = libm::exp((half / spread).min(LARGEST_STEP));
    let end = |odds: f64| odds / (1.0 + odds);
    let odds = share / (1.0 - share);
    [end(odds / factor), end(odds * factor)]
}

impl Outcome {
    /// The figure of this name.
    #[inline(never)]
    pub fn figure(&self, name: &str) -> Option<&Figure> {
        self.figures.iter().find(|figure| figure.name == name)
    }

    /// Adds a result: a number, shown to three significant digits until more is said.
    #[inline(never)]
    pub fn number(
        &mut self,
        name: &str,
        label: &str,
        value: f64,
        unit: &'static str,
    ) -> &mut Figure {
        self.give(Figure::new(name, label, Value::Number(value), unit))
    }

    /// Adds a whole number of things: all its digits count.
    #[inline(never)]
    pub fn count(&mut self, name: &str, label: &str, value: f64) -> &mut Figure {
        self.number(name, label, value, "").digits(9)
    }

    /// Adds a verdict in words.
    #[inline(never)]
    pub fn verdict(&mut self, name: &str, label: &str, words: &str) -> &mut Figure {
        let words = Value::Words(words.to_string());
        self.give(Figure::new(name, label, words, ""))
    }

    fn give(&mut self, figure: Figure) -> &mut Figure {
        self.figures.push_mut(figure)
    }

    /// Says in one or two sentences what decides the result.
    #[inline(never)]
    pub fn because(&mut self, template: &'static str) -> &mut Sentence {
        self.why = Sentence::new(template);
        &mut self.why
    }

    /// Says how it was worked out.
    #[inline(never)]
    pub fn by_method(&mut self, template: &'static str) -> &mut Sentence {
        self.method = Sentence::new(template);
        &mut self.method
    }

    /// Says where equation and data come from.
    #[inline(never)]
    pub fn from_source(&mut self, template: &'static str) -> &mut Sentence {
        self.source = Sentence::new(template);
        &mut self.source
    }

    /// Says where it holds.
    #[inline(never)]
    pub fn valid_for(&mut self, template: &'static str) -> &mut Sentence {
        self.validity = Sentence::new(template);
        &mut self.validity
    }

    /// Says whether an input lay inside the range where it holds.
    #[inline(never)]
    pub fn in_range(&mut self, inside: bool) {
        self.extrapolated |= !inside;
    }

    /// Puts a picture beside the figures.
    #[inline(never)]
    pub fn plot(&mut self, title: &'static str, description: &'static str) -> &mut Plot {
        self.plot.insert(Plot::new(title, description))
    }

    /// Adds a table: its title, and its heads parted by tabs.
    #[inline(never)]
    pub fn table(&mut self, title: &'static str, heads: &'static str) -> &mut Table {
        let table = Table {
            title: Sentence::new(title),
            heads: Sentence::new(heads),
            rows: Vec::new(),
        };
        self.tables.push_mut(table)
    }

    /// Adds a caution on what may hurt someone badly.
    #[inline(never)]
    pub fn danger(&mut self, template: &'static str) -> &mut Sentence {
        self.caution(Level::Danger, template)
    }

    /// Adds a caution on what may hurt someone or lose the run.
    #[inline(never)]
    pub fn care(&mut self, template: &'static str) -> &mut Sentence {
        self.caution(Level::Care, template)
    }

    fn caution(&mut self, level: Level, template: &'static str) -> &mut Sentence {
        let text = Sentence::new(template);
        &mut self.cautions.push_mut(Caution { level, text }).text
    }

    /// Adds a note.
    #[inline(never)]
    pub fn note(&mut self, template: &'static str) -> &mut Sentence {
        self.notes.push_mut(Sentence::new(template))
    }

    /// Adds a link to another calculator, to be filled in.
    #[inline(never)]
    pub fn then(&mut self, label: &'static str, calculator: &str) -> &mut NextStep {
        let step = NextStep {
            label: Sentence::new(label),
            calculator: calculator.to_string(),
            inputs: Vec::new(),
        };
        self.next.push_mut(step)
    }

    /// Puts the gravest caution first, and each once, when all are worded.
    pub(crate) fn order_cautions(&mut self) {
        let mut ordered: Vec<Caution> = Vec::with_capacity(self.cautions.len());
        for level in [Level::Danger, Level::Care] {
            for caution in &self.cautions {
                if caution.level == level && !ordered.iter().any(|o| o.text == caution.text) {
                    ordered.push(caution.clone());
                }
            }
        }
        self.cautions = ordered;
    }

    /// The first figure that is not a finite number, or an interval that is not.
    pub(crate) fn not_finite(&self) -> Option<&Figure> {
        self.figures.iter().find(|figure| {
            let ends = [figure.number(), figure.low, figure.high];
            ends.into_iter().flatten().any(|value| !value.is_finite())
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shows_no_more_digits_than_it_deserves() {
        let mut outcome = Outcome::default();
        let figure = outcome.number("t", "T", 51.93, "°C");
        assert_eq!(figure.give_or_take(0.36).shown(), "51.9 °C");
        assert_eq!(figure.interval().unwrap(), "51.6 to 52.3");
        assert_eq!(figure.give_or_take(1.3).shown(), "51.9 °C");
        assert_eq!(figure.give_or_take(5.0).shown(), "52 °C");
        assert_eq!(figure.give_or_take(30.0).shown(), "50 °C");
        assert_eq!(outcome.count("n", "N", 12.0).shown(), "12");
        let volume = outcome.number("v", "V", 1234.0, "mL").digits(2);
        assert_eq!(volume.shown(), "1200 mL");
    }

    /// Exact arithmetic: a factor of e for an amount, odds of 1 that become e and 1/e for a share.
    #[test]
    fn goes_up_and_down_in_the_quantitys_own_space() {
        let mut outcome = Outcome::default();
        let mut ends = |value, half, unit| {
            let figure = outcome.number("x", "X", value, unit).give_or_take(half);
            [figure.low, figure.high].map(|end| end.expect("an end"))
        };
        let e = std::f64::consts::E;
        let near = |found: [f64; 2], right: [f64; 2]| {
            let close = |at: usize| (found[at] - right[at]).abs() < 1e-9;
            assert!(close(0) && close(1), "{found:?}, not {right:?}");
        };
        near(ends(2.0, 2.0, "mL"), [2.0 / e, 2.0 * e]);
        near(ends(-3.0, 5.0, "°C"), [-8.0, 2.0]);
        near(
            ends(50.0, 25.0, "%"),
            [100.0 / (1.0 + e), 100.0 * e / (1.0 + e)],
        );
        near(ends(0.0, 5.0, "%"), [0.0, 5.0]);
        near(ends(100.0, 5.0, "%"), [95.0, 100.0]);
        near(ends(0.0, 5.0, "g"), [0.0, 5.0]);
        let [low, high] = ends(99.9, 500.0, "%");
        assert!(low > 0.0 && high < 100.0);
    }

    #[test]
    fn keeps_the_gravest_caution_first() {
        let mut outcome = Outcome::default();
        outcome.care("hot");
        outcome.danger("bang");
        outcome.care("hot");
        outcome.order_cautions();
        let texts: Vec<&str> = outcome
            .cautions
            .iter()
            .map(|caution| &*caution.text)
            .collect();
        assert_eq!(texts, ["bang", "hot"]);
    }
}
