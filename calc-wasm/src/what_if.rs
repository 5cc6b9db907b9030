//! What if: an input swept between sensible ends, and a result asked backwards.
//!
//! Nothing here knows a calculator: what may be swept, and how far, follows from the limits of its
//! inputs; backwards, the calculator is worked out again and again.

use crate::calculators::Calculator;
use crate::inputs::{Input, Kind};
use crate::library::Library;
use crate::limits::Limit;
use crate::number;
use crate::problem::Problem;
use crate::quantity::{self, Unit, digits};

/// How often a range is looked at for a place where the result passes what is wanted.
const LOOKS: usize = 96;
/// How often the place is halved; each time gains a bit.
const HALVINGS: usize = 50;

/// Ends between which an input is swept, in base units.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Range {
    low: f64,
    high: f64,
    /// Whether equal steps are equal factors.
    log: bool,
}

impl Range {
    /// All that the input takes; from 1/1000 of it where it begins at nought.
    fn whole(limit: &Limit) -> Self {
        let unit = limit.dimension.unit(limit.unit);
        let [low, high] =
            [limit.lowest, limit.highest].map(|end| unit.map_or(end, |unit| unit.to_base(end)));
        // Scales that do not begin at nothing, as temperatures, are stepped through evenly.
        let begins_at_nothing = limit.dimension.units.iter().all(|unit| unit.offset == 0.0);
        let log = begins_at_nothing && low >= 0.0 && high > 0.0;
        Range {
            low: if log { low.max(high / 1e6) } else { low },
            high,
            log,
        }
    }

    /// What is sensible around `value`: from a third to three times, or 60 degrees either way.
    fn around(limit: &Limit, value: f64) -> Self {
        let whole = Range::whole(limit);
        let (low, high) = if whole.log && value > 0.0 {
            (value / 3.0, value * 3.0)
        } else {
            let tenth = (whole.high - whole.low) / 10.0;
            let step = if tenth > 60.0 { 60.0 } else { tenth };
            (value - step, value + step)
        };
        Range {
            low: low.max(whole.low),
            high: high.min(whole.high),
            log: whole.log,
        }
    }

    /// The value at `share` of the way, 0 to 1.
    fn at(&self, share: f64) -> f64 {
        let share = share.clamp(0.0, 1.0);
        if self.log {
            self.low * libm::pow(self.high / self.low, share)
        } else {
            self.low + (self.high - self.low) * share
        }
    }
}

fn limit_of(input: &Input) -> Option<&'static Limit> {
    match input.kind {
        Kind::Quantity(limit) => Some(limit),
        _ => None,
    }
}

/// The unit that `text` is written in, else that of the limit.
fn unit_of(text: &str, limit: &Limit) -> &'static Unit {
    let (value, error) = text.split_once('±').unwrap_or((text, ""));
    let unit = |part: &str| {
        let (_, symbol) = digits::lead(part.trim()).ok()??;
        let symbol = symbol.trim().trim_end_matches(')').trim();
        limit.dimension.unit(symbol).filter(|_| !symbol.is_empty())
    };
    unit(value)
        .or_else(|| unit(error))
        .or_else(|| limit.dimension.unit(limit.unit))
        .unwrap_or(limit.dimension.base())
}

/// `base` written in `unit` to `digits` significant digits, with the error that `text` has.
fn written(base: f64, unit: &Unit, figures: usize, text: &str) -> String {
    let mut out = number::plain(unit.from_base(base), figures);
    if let Some((_, error)) = text.split_once('±')
        && let Ok(Some((half, _))) = digits::lead(error.trim())
    {
        out.push_str(" ± ");
        out.push_str(&number::plain(half, 3));
    }
    if !unit.symbol.is_empty() {
        out.push(' ');
        out.push_str(unit.symbol);
    }
    out
}

/// The text of `input` at `share` of the way through what is sensible around `text`; none for an
/// input that is no quantity, or a text that is none.
pub fn swept(input: &Input, text: &str, share: f64) -> Option<String> {
    let limit = limit_of(input)?;
    let anchor = quantity::read(text, limit.dimension).ok()?.value;
    let value = Range::around(limit, anchor).at(share);
    Some(written(value, unit_of(text, limit), 3, text))
}

/// Where `text` itself stands on that way, 0 to 1.
pub fn place(input: &Input, text: &str) -> Option<f64> {
    let limit = limit_of(input)?;
    let value = quantity::read(text, limit.dimension).ok()?.value;
    let range = Range::around(limit, value);
    let share = if range.log {
        libm::log(value / range.low) / libm::log(range.high / range.low)
    } else {
        (value - range.low) / (range.high - range.low)
    };
    share.is_finite().then_some(share.clamp(0.0, 1.0))
}

/// The text of the input called `input` with which `calculator` gives `wanted` as its result called
/// `result`, all else as in `pairs`. Where several do, the one nearest to what stands in `pairs`.
///
/// # Errors
/// What is wanted cannot be read, or no value of the input gives it; then it says what they reach.
pub fn backwards(
    calculator: &Calculator,
    library: &Library,
    pairs: &[(String, String)],
    input: &str,
    result: &str,
    wanted: &str,
) -> Result<String, Problem> {
    let found = calculator.input(input);
    let Some((found, limit)) = found.and_then(|found| Some((found, limit_of(found)?))) else {
        return Err(Problem::new(input, "that is no quantity"));
    };
    let text = pairs.iter().find(|(name, _)| name == input);
    let text = text.map_or(found.by_itself(), |(_, text)| text);
    let Some((wanted, _)) = digits::lead(wanted.trim())? else {
        return Err(Problem::says(
            "write the number that is wanted, in the unit of the result",
        ));
    };
    let unit = unit_of(text, limit);
    let misses = |base: f64| {
        let mut tried: Vec<(String, String)> = pairs.to_vec();
        tried.retain(|(name, _)| name != input);
        tried.push((input.to_string(), written(base, unit, 12, "")));
        let outcome = calculator.run(library, &tried).ok()?;
        Some(outcome.figure(result)?.number()? - wanted)
    };
    let range = Range::whole(limit);
    let here = quantity::read(text, limit.dimension).map_or(range.at(0.5), |read| read.value);
    let mut reach: Option<(f64, f64)> = None;
    let mut best: Option<(f64, f64)> = None;
    let mut before: Option<(f64, f64)> = None;
    for look in 0..=LOOKS {
        let at = range.at(look as f64 / LOOKS as f64);
        let Some(miss) = misses(at) else {
            before = None;
            continue;
        };
        let (low, high) = reach.unwrap_or((miss, miss));
        reach = Some((low.min(miss), high.max(miss)));
        if let Some((last, was)) = before
            && (was <= 0.0) != (miss <= 0.0)
            && best.is_none_or(|(a, b)| nearer((last, at), (a, b), here))
        {
            best = Some((last, at));
        }
        before = Some((at, miss));
    }
    let Some((low, high)) = best else {
        return Err(match reach {
            Some((low, high)) => Problem::new(
                input,
                "no value gives {~4}: with all else as it is, the result goes from {~4} to {~4}",
            )
            .number(wanted)
            .number(low + wanted)
            .number(high + wanted),
            None => Problem::new(input, "no value gives a result here"),
        });
    };
    Ok(written(halved(low, high, &misses), unit, 4, text))
}

/// Whether the first of two ranges lies nearer to a place.
fn nearer(one: (f64, f64), other: (f64, f64), place: f64) -> bool {
    let off = |(low, high): (f64, f64)| ((low + high) / 2.0 - place).abs();
    off(one) < off(other)
}

/// Where the result passes what is wanted, by halving.
fn halved(mut low: f64, mut high: f64, misses: &dyn Fn(f64) -> Option<f64>) -> f64 {
    let below = misses(low).is_some_and(|miss| miss <= 0.0);
    for _ in 0..HALVINGS {
        let middle = (low + high) / 2.0;
        match misses(middle) {
            Some(miss) if (miss <= 0.0) == below => low = middle,
            Some(_) => high = middle,
            None => break,
        }
    }
    (low + high) / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calculators;

    fn pairs(given: &[(&str, &str)]) -> Vec<(String, String)> {
        given
            .iter()
            .map(|(name, text)| ((*name).to_string(), (*text).to_string()))
            .collect()
    }

    /// One extraction with D = 5 of 50 mL leaves 1/(1 + 5·V/50): half is out with 10 mL. Exact
    /// arithmetic.
    #[test]
    fn asks_a_result_backwards() {
        let calculator = calculators::find("repeated-extraction").expect("it");
        let given = pairs(&[
            ("distribution", "5"),
            ("aqueous_volume", "50 mL"),
            ("portion_volume", "30 mL"),
            ("portions", "1"),
        ]);
        let asked = |wanted: &str| {
            let library = Library::default();
            backwards(
                calculator,
                &library,
                &given,
                "portion_volume",
                "recovery",
                wanted,
            )
        };
        assert_eq!(asked("50 %").expect("an answer"), "10 mL");
        let refused = asked("100.5").expect_err("a refusal");
        assert!(
            refused.message.contains("no value gives 100.5"),
            "{refused}"
        );
        assert!(asked("much").is_err());
    }

    #[test]
    fn sweeps_in_the_unit_that_was_typed() {
        let calculator = calculators::find("boiling-point").expect("it");
        let pressure = calculator.input("pressure").expect("it");
        assert_eq!(
            swept(pressure, "30 ± 1 mmHg", 0.5).as_deref(),
            Some("30 ± 1 mmHg")
        );
        assert_eq!(
            swept(pressure, "30 ± 1 mmHg", 1.0).as_deref(),
            Some("90 ± 1 mmHg")
        );
        assert_eq!(swept(pressure, "30 mbar", 0.0).as_deref(), Some("10 mbar"));
        assert_eq!(swept(pressure, "soon", 0.0), None);
        assert!((place(pressure, "30 mbar").expect("a place") - 0.5).abs() < 1e-9);
        // At the end of what is allowed the range is cut.
        let high = swept(pressure, "800 mmHg", 1.0).expect("a text");
        assert!(quantity::read(&high, limit_of(pressure).expect("a limit").dimension).is_ok());
    }
}
