//! Will this column part the two, and how much comes over pure?
//!
//! Relative volatility α = p_light/p_heavy at one temperature: from both vapour-pressure curves,
//! the geometric mean over the two boiling points; or, from boiling points alone (K), A. Rose,
//! Ind. Eng. Chem. 33 (1941) 594 (from memory): log₁₀ α = 8.9·(T_B − T_A)/(T_A + T_B).
//! Plates at least, the pot counted (M. R. Fenske, Ind. Eng. Chem. 24 (1932) 482, from memory):
//! N = ln[(x_D/(1 − x_D))·((1 − x_F)/x_F)]/ln α, x in mole fractions of the light one.
//! The run: the pot and L/HETP plates, each at equilibrium with constant α, with a constant
//! reflux ratio R; from a distillate x_D, plate by plate, x = y/(α − (α − 1)·y) and
//! y = (R·x + x_D)/(R + 1) lead down to the pot. What the pot loses follows Lord Rayleigh's
//! balance (Phil. Mag. 4 (1902) 521, from memory): dln W = dx/(x_D − x).
//! It holds for two like compounds without azeotrope; what the column holds back is left out.

use crate::calculators::Calculator;
use crate::equations::substance;
use crate::equations::vapour::Curve;
use crate::inputs::{Choice, Input, Inputs, Kind, form_only};
use crate::library::Record;
use crate::limits::{self, Limit};
use crate::outcome::{Outcome, Table, with_unit};
use crate::plot::{Axis, Layer, Plot};
use crate::problem::Problem;
use crate::quantity::{
    Fraction, Length, Measured, Number, Pressure, Quantity, Temperature, number,
};

static FEED: Limit = Limit::new(
    Fraction::DIMENSION,
    "%",
    1.0,
    99.0,
    "with less of one of them there is nothing to part",
);
static PURITY: Limit = Limit::new(
    Fraction::DIMENSION,
    "%",
    50.0,
    99.9,
    "purer than 99.9 % is not for a simple model to promise",
);
static COLUMN: Limit = Limit::new(
    Length::DIMENSION,
    "mm",
    10.0,
    2000.0,
    "a column stands between a joint and the top of the hood",
);
static REFLUX: Limit = Limit::new(
    Number::DIMENSION,
    "",
    0.0,
    100.0,
    "with more, nothing comes over in a day",
);

/// Most plates that are reckoned with; beyond, the model promises more than a column keeps.
const MOST_PLATES: f64 = 40.0;
/// Points along the run.
const POINTS: usize = 96;
/// First share of the distillate set aside, for moisture and what boils lower (common practice).
const SET_ASIDE: f64 = 0.02;

pub(super) static CALCULATOR: Calculator = Calculator {
    name: "fraction-column",
    title: "Fractional distillation",
    question: form_only("Will this column part the two, and how much comes over pure?"),
    inputs: &[
        Input::preset(
            "light",
            "Lower boiling",
            Kind::EntryOrQuantity("substances", &limits::TEMPERATURE),
            "cyclohexane",
            "A substance, or its boiling point at the pressure below.",
        ),
        Input::preset(
            "heavy",
            "Higher boiling",
            Kind::EntryOrQuantity("substances", &limits::TEMPERATURE),
            "toluene",
            "A substance, or its boiling point at the pressure below.",
        ),
        Input::preset(
            "pressure",
            "Pressure",
            Kind::Quantity(&limits::PRESSURE),
            "760 mmHg",
            "At the still head.",
        ),
        Input::preset(
            "feed",
            "Lower boiling in the charge",
            Kind::Quantity(&FEED),
            "50 %",
            "Mole percent.",
        ),
        Input::preset(
            "target_purity",
            "Purity wanted",
            Kind::Quantity(&PURITY),
            "95 %",
            "Mole percent, on average over the main fraction.",
        ),
        Input::preset(
            "wanted",
            "Wanted",
            Kind::Choice(WANTED),
            "light",
            "The one that is to be pure.",
        ),
        Input::preset(
            "column",
            "Head or column",
            Kind::Entry("columns"),
            "Vigreux",
            "From the table of columns.",
        ),
        Input::preset(
            "length",
            "Length of the column",
            Kind::Quantity(&COLUMN),
            "300 mm",
            "The part that separates.",
        ),
        Input::preset(
            "reflux",
            "Reflux ratio",
            Kind::Quantity(&REFLUX),
            "5",
            "Drops that run back for each drop taken; a lagged column without a reflux head has 1 to 3 (common practice).",
        ),
    ],
    evaluate,
};

static WANTED: &[Choice] = &[
    Choice {
        name: "light",
        label: "the lower boiling",
    },
    Choice {
        name: "heavy",
        label: "the higher boiling",
    },
];

/// One of the two: its name, its boiling temperature in kelvin, and its curve if it is known.
struct Part<'a> {
    record: Option<Record<'a>>,
    name: String,
    kelvin: f64,
    curve: Option<Curve<'a>>,
}

fn part<'a>(inputs: &Inputs<'a>, input: &'static str) -> Result<Part<'a>, Problem> {
    let blame = |message| Problem::new(input, message);
    let Some(record) = inputs.entry(input) else {
        let boils = inputs.need::<Temperature>(input)?;
        let name = format!("what boils at {} °C", number::plain(boils.in_celsius(), 4));
        return Ok(Part {
            record: None,
            name,
            kelvin: boils.in_kelvin(),
            curve: None,
        });
    };
    let curve = Curve::of(record, inputs.library()).map_err(blame)?;
    let pressure = Measured {
        value: inputs.need::<Pressure>("pressure")?,
        error: 0.0,
    };
    let kelvin = curve
        .boiling(pressure)
        .map_err(blame)?
        .temperature
        .in_kelvin();
    Ok(Part {
        record: Some(record),
        name: record.name().into(),
        kelvin,
        curve: Some(curve),
    })
}

/// ln α with its lowest and highest value.
struct Volatility {
    log: f64,
    low: f64,
    high: f64,
    from_curves: bool,
}

/// ln α by A. Rose from boiling points in kelvin.
fn rose(light: f64, heavy: f64) -> f64 {
    std::f64::consts::LN_10 * 8.9 * (heavy - light) / (light + heavy)
}

fn volatility(light: &Part<'_>, heavy: &Part<'_>) -> Volatility {
    if let (Some(a), Some(b)) = (&light.curve, &heavy.curve) {
        let at = |kelvin: f64| {
            let celsius = kelvin - 273.15;
            libm::log(a.pressure_unchecked(celsius) / b.pressure_unchecked(celsius))
        };
        let (cold, hot) = (at(light.kelvin), at(heavy.kelvin));
        if cold > 0.0 && hot > 0.0 && cold.is_finite() && hot.is_finite() {
            return Volatility {
                log: (cold + hot) / 2.0,
                low: cold.min(hot),
                high: cold.max(hot),
                from_curves: true,
            };
        }
    }
    let log = rose(light.kelvin, heavy.kelvin);
    // Against the curves of 294 pairs of like compounds, 95 % of log α lay from 1.04 to 1.38
    // times what the formula gives.
    Volatility {
        log,
        low: log * 0.95,
        high: log * 1.4,
        from_curves: false,
    }
}

/// Plates at total reflux from `pot` to `distillate`, the pot counted (Fenske).
fn fenske(log_alpha: f64, pot: f64, distillate: f64) -> f64 {
    (logit(distillate) - logit(pot)) / log_alpha
}

fn logit(x: f64) -> f64 {
    libm::log(x / (1.0 - x))
}

fn from_logit(l: f64) -> f64 {
    1.0 / (1.0 + libm::exp(-l))
}

/// Pot composition below a distillate `top`, with `plates` equilibria, the pot counted.
///
/// A part of a plate is taken in proportion on the scale of ln(x/(1 − x)).
fn pot_below(alpha: f64, top: f64, plates: f64, reflux: f64) -> f64 {
    let whole = libm::floor(plates) as usize;
    let (mut y, mut x) = (top, top);
    let down = |y: f64| y / (alpha - (alpha - 1.0) * y);
    for _ in 0..whole {
        x = down(y);
        y = (reflux * x + top) / (reflux + 1.0);
    }
    let part = plates - whole as f64;
    let next = down(y);
    if part > 0.0 && next > 0.0 && next < 1.0 && x > 0.0 && x < 1.0 {
        x = from_logit(logit(x) + part * (logit(next) - logit(x)));
    }
    x
}

/// One moment of the run: what is left in the pot as a share of the charge, its composition, and
/// that of the distillate.
#[derive(Clone, Copy)]
struct Moment {
    left: f64,
    pot: f64,
    top: f64,
}

/// The run from the first drop to a nearly dry pot.
fn run(alpha: f64, feed: f64, plates: f64, reflux: f64, points: usize) -> Vec<Moment> {
    // The distillate that stands over the charge: pot composition rises with it.
    let (mut low, mut high) = (logit(feed), 30.0);
    for _ in 0..32 {
        let middle = (low + high) / 2.0;
        if pot_below(alpha, from_logit(middle), plates, reflux) < feed {
            low = middle;
        } else {
            high = middle;
        }
    }
    let start = (low + high) / 2.0;
    let mut moments = vec![Moment {
        left: 1.0,
        pot: feed,
        top: from_logit(start),
    }];
    let mut last = moments.first().copied();
    for at in 1..points {
        let top = from_logit(start + (-7.0 - start) * at as f64 / (points - 1) as f64);
        let pot = pot_below(alpha, top, plates, reflux);
        let Some(before) = last else { break };
        let pull = |pot: f64, top: f64| 1.0 / (top - pot).max(1e-9);
        let mean = (pull(before.pot, before.top) + pull(pot, top)) / 2.0;
        let left = before.left * libm::exp((pot - before.pot).min(0.0) * mean);
        let moment = Moment { left, pot, top };
        moments.push(moment);
        last = Some(moment);
    }
    moments
}

/// The cuts, as shares of the charge; purity of the main fraction, 0 to 1.
#[derive(Clone, Copy, Default)]
struct Cuts {
    fore: f64,
    main: f64,
    purity: f64,
}

fn cuts(run: &[Moment], target: f64, wanted: &str) -> Cuts {
    let (Some(first), Some(last)) = (run.first(), run.last()) else {
        return Cuts::default();
    };
    if wanted == "heavy" {
        // The pot, when it has become pure enough; all before it is forerun.
        let found = run.iter().find(|moment| 1.0 - moment.pot >= target);
        let at = found.unwrap_or(last);
        let main = if found.is_some() { at.left } else { 0.0 };
        return Cuts {
            fore: 1.0 - main,
            main,
            purity: 1.0 - at.pot,
        };
    }
    // The longest fraction after the forerun whose average is pure enough, by balance over the pot.
    let Some(start) = run.iter().find(|moment| moment.left <= 1.0 - SET_ASIDE) else {
        return Cuts {
            fore: SET_ASIDE,
            main: 0.0,
            purity: first.top,
        };
    };
    let mut best = Cuts {
        fore: 1.0 - start.left,
        main: 0.0,
        purity: start.top,
    };
    for moment in run {
        let taken = start.left - moment.left;
        if taken > 1e-6 {
            let average = (start.left * start.pot - moment.left * moment.pot) / taken;
            if average < target {
                break;
            }
            best = Cuts {
                main: taken,
                purity: average.min(1.0),
                ..best
            };
        }
    }
    best
}

/// Plates of a column of this length, the pot counted: at least, likely, at most.
fn plates(column: Record<'_>, length: f64) -> [f64; 3] {
    let height = |name| column.number(name).filter(|height| *height > 0.0);
    match (height("plate_height_low"), height("plate_height_high")) {
        (Some(low), Some(high)) => [high, libm::sqrt(low * high), low]
            .map(|height| (1.0 + length / height).min(MOST_PLATES)),
        _ => [1.0; 3],
    }
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let (light, heavy) = (part(inputs, "light")?, part(inputs, "heavy")?);
    if light.kelvin >= heavy.kelvin - 0.05 {
        return Err(Problem::new(
            "light",
            format!(
                "boils at {} °C, not below the other at {} °C; exchange the two",
                number::fixed(light.kelvin - 273.15, 1),
                number::fixed(heavy.kelvin - 273.15, 1)
            ),
        ));
    }
    let Some(column) = inputs.entry("column") else {
        return Err(Problem::new("column", "name a column"));
    };
    let length = inputs.need::<Length>("length")?.in_millimetres();
    let feed = inputs.need::<Fraction>("feed")?.in_ones();
    let target = inputs.need::<Fraction>("target_purity")?.in_ones();
    let reflux = inputs.need::<Number>("reflux")?.base();
    let pressure = inputs.need::<Pressure>("pressure")?;
    let wanted = inputs.choice("wanted");
    let volatility = volatility(&light, &heavy);
    // Beyond this the two part by themselves, and the sums lose their digits.
    let alpha_of = |log: f64| libm::exp(log.clamp(1e-3, 9.0));
    let alpha = alpha_of(volatility.log);
    let offered = plates(column, length);
    let [fewest, likely, most] = offered;
    let moments = run(alpha, feed, likely, reflux, POINTS);
    let result = cuts(&moments, target, wanted);
    let cut_for = |log: f64, plates: f64| {
        cuts(
            &run(alpha_of(log), feed, plates, reflux, POINTS / 2),
            target,
            wanted,
        )
    };
    let worst = cut_for(volatility.low, fewest);
    let best = cut_for(volatility.high, most);
    let plain = cut_for(volatility.log, 1.0);
    let goal = if wanted == "heavy" {
        1.0 - target
    } else {
        target
    };
    let minimum = fenske(volatility.log, feed, goal).abs().max(1.0);

    let percent = |share: f64| number::significant(share * 100.0, 2);
    outcome.because(format!(
            "A plain head would give {} % of the charge at this purity, this column {} %. Each plate multiplies the ratio of the two by {} at most.",
            percent(plain.main), percent(result.main), number::significant(alpha, 3)
        ));
    outcome.by_method(format!(
            "Relative volatility from {}; plates from the length and the table of columns; constant relative volatility, every plate at equilibrium, constant reflux ratio, no hold-up; Rayleigh’s balance over the pot. Mole percent are taken for percent of volume.",
            if volatility.from_curves { "both vapour-pressure curves, as the geometric mean between the two boiling points" } else { "the two boiling points by A. Rose’s formula, which lies on the low side" }
        ));
    outcome.from_source("A. Rose, Ind. Eng. Chem. 33 (1941) 594; M. R. Fenske, Ind. Eng. Chem. 24 (1932) 482; Lord Rayleigh, Phil. Mag. 4 (1902) 521 (citations from memory). Plate heights: common practice, no source.");
    outcome.valid_for("Two like compounds that form no azeotrope, gently boiled in a lagged column; real fractions are less pure.");
    outcome.in_range(volatility.from_curves || (pressure.in_mmhg() - 760.0).abs() < 100.0);
    outcome.draw(plot(
        &moments,
        &light,
        &heavy,
        volatility.log.clamp(1e-3, 9.0),
        result,
    ));
    let ends = [worst.main, best.main, result.main].map(|share| share * 100.0);
    let share = result.main * 100.0;
    outcome
        .number("main_fraction", "Main fraction, of the charge", share, "%")
        .within(
            ends[0].min(ends[1]).min(ends[2]),
            ends[0].max(ends[1]).max(ends[2]),
        );
    outcome
        .number("purity", "Its purity", result.purity * 100.0, "%")
        .digits(3);
    outcome
        .number("forerun", "Before it", result.fore * 100.0, "%")
        .digits(2);
    outcome
        .number("relative_volatility", "Relative volatility", alpha, "")
        .within(alpha_of(volatility.low), alpha_of(volatility.high));
    outcome
        .number(
            "minimum_plates",
            "Plates needed at least, the pot counted",
            minimum,
            "",
        )
        .digits(2);
    outcome
        .number("plates", "Plates offered, the pot counted", likely, "")
        .within(fewest, most);
    outcome.tables.extend(by_column(
        inputs, alpha, feed, target, reflux, length, wanted,
    ));
    unlike(&light, &heavy, inputs, outcome);
    if result.main <= 0.0 {
        outcome.note("The purity is not reached: a column with more plates, a higher reflux ratio, reduced pressure, or a second distillation of the best fractions.");
    }
    if let Some(drop) = column.number("pressure_drop")
        && drop * length / 300.0 > pressure.in_mmhg() * 0.1
    {
        outcome.note("The column’s own pressure drop is a good part of this pressure: the pot boils much hotter than the head.");
    }
    for record in [light.record, heavy.record].into_iter().flatten() {
        substance::cautions(record, outcome);
    }
    if pressure.in_mmhg() < 700.0 {
        outcome.danger("Evacuated glass can implode: round-bottomed flasks without a star crack, goggles and a screen.");
    }
    outcome.care("Never distil to dryness, and add boiling stones before heating.");
    outcome.care(substance::DEFER);
    let mmhg = with_unit(number::plain(pressure.in_mmhg(), 5), "mmHg");
    if let Some(record) = heavy.record {
        outcome
            .then("Set the bath for the end of the run", "bath-setting")
            .with("substance", record.name())
            .with("pressure", &mmhg)
            .with("column", column.name());
    }
    Ok(())
}

/// Azeotropes, and pairs that do not follow Raoult's law.
fn unlike(light: &Part<'_>, heavy: &Part<'_>, inputs: &Inputs<'_>, outcome: &mut Outcome) {
    let (Some(a), Some(b)) = (light.record, heavy.record) else {
        outcome.note("From boiling points alone no azeotrope can be seen: look the pair up.");
        return;
    };
    let pair = inputs.library().table("azeotropes").and_then(|table| {
        table.records().find(|row| {
            let (first, second) = (row.text("first"), row.text("second"));
            (first, second) == (a.name(), b.name()) || (first, second) == (b.name(), a.name())
        })
    });
    if let Some(row) = pair {
        outcome.extrapolated = true;
        outcome.care(format!(
            "{} boil together at {} °C and {} mmHg, with {} % by mass of {}: no column passes this azeotrope, and the figures here do not know of it.",
            row.name(), row.text("temperature"), row.text("pressure"), row.text("first_percent"), row.text("first")
        ));
    }
    let clings = |record: Record<'_>| {
        [
            "water", "alcohol", "polyol", "phenol", "acid", "amide", "amine", "nitrile",
        ]
        .contains(&record.text("class"))
    };
    if clings(a) != clings(b) || (a.text("class") == "water") != (b.text("class") == "water") {
        outcome.extrapolated = true;
        outcome.note("The two are unlike: their vapour pressures do not add up as reckoned here, and an azeotrope is likely.");
    }
}

/// What every column of the table would give at this length.
fn by_column(
    inputs: &Inputs<'_>,
    alpha: f64,
    feed: f64,
    target: f64,
    reflux: f64,
    length: f64,
    wanted: &str,
) -> Option<Table> {
    let rows = inputs.library().table("columns")?.records().map(|column| {
        let [_, likely, _] = plates(column, length);
        let cuts = cuts(
            &run(alpha, feed, likely, reflux, POINTS / 3),
            target,
            wanted,
        );
        vec![
            column.name().to_string(),
            number::significant(likely, 2),
            with_unit(number::significant(cuts.main * 100.0, 2), "%"),
        ]
    });
    Some(Table {
        title: "The same charge over other columns of this length".into(),
        heads: ["Column", "Plates with the pot", "Main fraction"]
            .map(String::from)
            .to_vec(),
        rows: rows.collect(),
    })
}

/// Head temperature and composition of the distillate against what has come over.
///
/// Vapour of composition y boils between the two: 1/T is taken in proportion to
/// ln(y + α·(1 − y))/ln α, which is exact at both ends.
fn plot(run: &[Moment], light: &Part<'_>, heavy: &Part<'_>, log_alpha: f64, cuts: Cuts) -> Plot {
    let alpha = libm::exp(log_alpha);
    let head = |y: f64| {
        let share = libm::log(y + alpha * (1.0 - y)) / log_alpha;
        1.0 / (1.0 / light.kelvin - share * (1.0 / light.kelvin - 1.0 / heavy.kelvin)) - 273.15
    };
    let points = |height: &dyn Fn(&Moment) -> f64| {
        run.iter()
            .map(|m| ((1.0 - m.left) * 100.0, height(m)))
            .collect()
    };
    let (from, to) = (cuts.fore * 100.0, (cuts.fore + cuts.main) * 100.0);
    Plot::new(
        "Head temperature and composition against what has come over",
        format!(
            "The head stands near {} °C while {} comes over, then climbs to {} °C; the main fraction runs from {} to {} % of the charge.",
            number::fixed(light.kelvin - 273.15, 0),
            light.name,
            number::fixed(heavy.kelvin - 273.15, 0),
            number::fixed(from, 0),
            number::fixed(to, 0)
        ),
        Axis::linear("Come over", "% of the charge").from_to(0.0, 100.0),
        Axis::linear("Temperature in °C, share in mole %", ""),
        vec![
            Layer::Zone {
                label: "main fraction".into(),
                from,
                to,
            },
            Layer::Line {
                label: "head temperature, °C".into(),
                points: points(&|m| head(m.top)),
            },
            Layer::Line {
                label: format!("{} in the distillate, mole %", light.name),
                points: points(&|m| m.top * 100.0),
            },
        ],
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One equilibrium: the closed form of Rayleigh's balance for constant α.
    #[test]
    fn plain_head_follows_the_closed_form() {
        let (alpha, feed) = (2.5, 0.7);
        for moment in run(alpha, feed, 1.0, 5.0, POINTS) {
            let x = moment.pot;
            let log = libm::log(x * (1.0 - feed) / (feed * (1.0 - x))) / (alpha - 1.0)
                + libm::log((1.0 - feed) / (1.0 - x));
            assert!(
                (moment.left - libm::exp(log)).abs() < 0.003,
                "{x}: {}",
                moment.left
            );
        }
    }

    /// At a very high reflux ratio the plates do what Fenske's equation says.
    #[test]
    fn total_reflux_follows_fenske() {
        let pot = pot_below(2.0, 0.95, 4.0, 1e9);
        assert!((fenske(libm::log(2.0), pot, 0.95) - 4.0).abs() < 1e-6);
    }
}
