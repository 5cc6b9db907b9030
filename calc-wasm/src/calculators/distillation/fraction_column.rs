//! Will this column part the two, and how much comes over pure?
//!
//! Relative volatility from both vapour-pressure curves, the geometric mean over the two boiling
//! points, or from boiling points alone (Rose). Plates at least by Fenske; the run by Smoker's
//! plates and Rayleigh's balance: equations/still.rs has them with their sources. The cuts come
//! from the balance over the pot.
//! It holds for two like compounds without azeotrope; what the column holds back is left out.

use crate::calculators::Calculator;
use crate::equations::meeting;
use crate::equations::still::{
    Moment, POINTS, Still, fenske, left_at, light_left, mean_of_fraction, rose, turning,
};
use crate::equations::substance;
use crate::equations::vapour::Curve;
use crate::inputs::{Choice, Input, Inputs, Kind, form_only};
use crate::library::Record;
use crate::limits::{self, Limit};
use crate::outcome::Outcome;
use crate::problem::Problem;
use crate::quantity::{Fraction, Length, Measured, Number, Pressure, Quantity, Temperature};
use crate::sentence::Sentence;

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
/// Share of the lower boiling in the distillate at which the run is as good as over.
const LOWEST: f64 = 0.02;
/// First share of the distillate set aside, for moisture and what boils lower (common practice).
const SET_ASIDE: f64 = 0.02;

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "fraction-column",
    title: "Fractional distillation",
    question: form_only("Will this column part the two, and how much comes over pure?"),
    inputs: &[
        &Input::preset(
            "light",
            "Lower boiling",
            Kind::EntryOrQuantity("substances", &limits::TEMPERATURE),
            "cyclohexane",
            "A substance, or its boiling point at the pressure below.",
        ),
        &Input::preset(
            "heavy",
            "Higher boiling",
            Kind::EntryOrQuantity("substances", &limits::TEMPERATURE),
            "toluene",
            "A substance, or its boiling point at the pressure below.",
        ),
        &Input::preset(
            "pressure",
            "Pressure",
            Kind::Quantity(&limits::PRESSURE),
            "760 mmHg",
            "At the still head.",
        ),
        &Input::preset(
            "feed",
            "Lower boiling in the charge",
            Kind::Quantity(&FEED),
            "50 %",
            "Mole percent.",
        ),
        &Input::preset(
            "target_purity",
            "Purity wanted",
            Kind::Quantity(&PURITY),
            "95 %",
            "Mole percent, on average over the main fraction.",
        ),
        &Input::preset(
            "wanted",
            "Wanted",
            Kind::Choice(WANTED),
            "light",
            "The one that is to be pure.",
        ),
        &Input::preset(
            "column",
            "Head or column",
            Kind::Entry("columns"),
            "Vigreux",
            "From the table of columns.",
        ),
        &Input::preset(
            "length",
            "Length of the column",
            Kind::Quantity(&COLUMN),
            "300 mm",
            "The part that separates.",
        ),
        &Input::preset(
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

/// One of the two: its boiling temperature in kelvin, and its curve if it is known; else the
/// temperature that was given, °C.
struct Part<'a> {
    kelvin: f64,
    curve: Option<Curve<'a>>,
    given: f64,
}

impl<'a> Part<'a> {
    fn record(&self) -> Option<Record<'a>> {
        Some(self.curve.as_ref()?.record)
    }

    fn name(&self) -> Sentence {
        let mut name = Sentence::default();
        match &self.curve {
            Some(curve) => name.more("{}").text(curve.name()),
            None => name.more("what boils at {~4} °C").number(self.given),
        };
        name
    }
}

fn part<'a>(inputs: &Inputs<'a>, input: &'static str) -> Result<Part<'a>, Problem> {
    if let Some(given) = inputs.quantity::<Temperature>(input) {
        return Ok(Part {
            kelvin: given.in_kelvin(),
            curve: None,
            given: given.in_celsius(),
        });
    }
    let curve = Curve::need(inputs.need_entry(input)?, inputs.library(), input)?;
    let pressure = Measured {
        value: inputs.get::<Pressure>("pressure"),
        error: 0.0,
    };
    Ok(Part {
        kelvin: curve.boiling(input, pressure)?.temperature.in_kelvin(),
        curve: Some(curve),
        given: 0.0,
    })
}

/// ln α with its lowest and highest value.
struct Volatility {
    log: f64,
    low: f64,
    high: f64,
    /// What it was taken from, in words.
    basis: &'static str,
    /// Whether that holds at any pressure.
    anywhere: bool,
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
                basis: "both vapour-pressure curves, as the geometric mean between the two boiling points",
                anywhere: true,
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
        basis: "the two boiling points by A. Rose’s formula, which lies on the low side",
        anywhere: false,
    }
}

/// Beyond these the two part by themselves, and the sums lose their digits.
fn held(log_alpha: f64) -> f64 {
    log_alpha.clamp(1e-3, 9.0)
}

/// The cuts, as shares of the charge; purity of the main fraction, 0 to 1.
#[derive(Clone, Copy, Default)]
struct Cuts {
    fore: f64,
    main: f64,
    purity: f64,
}

/// The cuts of a run; `heavy` when the higher boiling is wanted.
fn cuts(run: &[Moment], target: f64, heavy: bool) -> Cuts {
    let after = |good: &dyn Fn(usize) -> bool| (1..run.len()).find(|at| good(*at));
    let last = run.len() - 1;
    if heavy {
        // The pot, when it has become pure enough; all before it is forerun.
        // The first pot is the charge to within a millionth.
        let charge = 1.0 - run[0].pot;
        let (main, purity) = if charge >= target - 1e-6 {
            (1.0, charge)
        } else if let Some(left) = left_at(run, 1.0 - target) {
            (left, target)
        } else {
            (0.0, 1.0 - run[last].pot)
        };
        return Cuts {
            fore: 1.0 - main,
            main,
            purity,
        };
    }
    // The longest fraction after the forerun whose average is pure enough, by balance over the pot.
    let start = 1.0 - SET_ASIDE;
    let first = after(&|at| run[at].left < start).unwrap_or(last);
    let held = light_left(run, first, start);
    let average =
        |at: usize, left: f64| mean_of_fraction(held, light_left(run, at, left), start - left);
    let none = Cuts {
        fore: SET_ASIDE,
        main: 0.0,
        purity: average(first, start - 1e-6).min(1.0),
    };
    if none.purity < target {
        return none;
    }
    let end = after(&|at| at >= first && average(at, run[at].left) < target);
    let left = end.map_or(0.0, |at| {
        turning(run, at, &|left| left < start && average(at, left) < target)
    });
    Cuts {
        main: start - left,
        purity: average(end.unwrap_or(last), left).min(1.0),
        ..none
    }
}

/// Plates of a column of this length, the pot counted: at least, likely, at most.
fn plates(column: Record<'_>, length: f64) -> [f64; 3] {
    let height = |name| column.number(name).unwrap_or(0.0);
    let (low, high) = (height("plate_height_low"), height("plate_height_high"));
    if low <= 0.0 || high <= 0.0 {
        return [1.0; 3];
    }
    let plates = |height: f64| (1.0 + length / height).min(MOST_PLATES);
    [plates(high), plates(f64::sqrt(low * high)), plates(low)]
}

/// What is asked of the run, whatever the column.
struct Task {
    feed: f64,
    /// Purity of what is wanted.
    target: f64,
    /// Whether that is the higher boiling.
    heavy: bool,
    reflux: f64,
}

impl Task {
    #[inline(never)]
    fn run(&self, log_alpha: f64, plates: f64) -> [Moment; POINTS] {
        // The pot is never richer than the distillate: far enough for the purity wanted of either.
        let lowest = if self.heavy {
            (1.0 - self.target).min(LOWEST)
        } else {
            LOWEST
        };
        let still = Still {
            alpha: libm::exp(held(log_alpha)),
            feed: self.feed,
            plates,
            reflux: self.reflux,
        };
        still.run(lowest)
    }

    #[inline(never)]
    fn cuts(&self, log_alpha: f64, plates: f64) -> Cuts {
        cuts(&self.run(log_alpha, plates), self.target, self.heavy)
    }
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let (light, heavy) = (part(inputs, "light")?, part(inputs, "heavy")?);
    let pressure = inputs.get::<Pressure>("pressure").in_mmhg();
    if let Some(row) = azeotrope(&light, &heavy, inputs) {
        refuse_azeotrope(row, pressure)?;
    }
    if let (Some(a), Some(b)) = (light.record(), heavy.record()) {
        let names = [a.name(), b.name()];
        meeting::bring_together(inputs.library(), &names, "heavy", outcome)?;
    }
    if light.kelvin >= heavy.kelvin - 0.05 {
        return Err(Problem::new(
            "light",
            "boils at {.1} °C, not below the other at {.1} °C; exchange the two",
        )
        .number(light.kelvin - 273.15)
        .number(heavy.kelvin - 273.15));
    }
    let column = inputs.need_entry("column")?;
    let length = inputs.get::<Length>("length").in_millimetres();
    let task = Task {
        feed: inputs.get::<Fraction>("feed").in_ones(),
        target: inputs.get::<Fraction>("target_purity").in_ones(),
        heavy: inputs.choice("wanted") == "heavy",
        reflux: inputs.get::<Number>("reflux").base(),
    };
    let volatility = volatility(&light, &heavy);
    let offered = plates(column, length);
    let run = task.run(volatility.log, offered[1]);
    let result = cuts(&run, task.target, task.heavy);
    let plain = task.cuts(volatility.log, 1.0);

    outcome
        .by_method("Relative volatility from {}; plates from the length and the table of columns; constant relative volatility, every plate at equilibrium, constant reflux ratio, no hold-up; Rayleigh’s balance over the pot. Mole percent are taken for percent of volume.")
        .text(volatility.basis);
    outcome.from_source("A. Rose, Ind. Eng. Chem. 33 (1941) 594; M. R. Fenske, Ind. Eng. Chem. 24 (1932) 482; Lord Rayleigh, Phil. Mag. 4 (1902) 521; E. H. Smoker, Trans. Am. Inst. Chem. Eng. 34 (1938) 165 (citations from memory). Plate heights: common practice, no source.");
    outcome.valid_for("Two like compounds that form no azeotrope, gently boiled in a lagged column; real fractions are less pure.");
    outcome.in_range(volatility.anywhere || (pressure - 760.0).abs() < 100.0);
    let shown = figures(&task, &volatility, offered, result, outcome);
    outcome
        .because("A plain head would give {2} % of the charge at this purity, this column {} %. Each plate multiplies the ratio of the two by {3} at most.")
        .number(plain.main * 100.0)
        .text(&shown)
        .number(libm::exp(held(volatility.log)));
    plot(&run, &light, &heavy, held(volatility.log), result, outcome);

    let table = outcome.table(
        "The same charge over other columns of this length",
        "Column\tPlates with the pot\tMain fraction",
    );
    for column in inputs.library().rows("columns") {
        let [_, plates, _] = plates(column, length);
        let row = table.row("{}\t{2}\t").text(column.name()).number(plates);
        // The column chosen shows what the main figure shows; a plain head was worked out already.
        if (plates - offered[1]).abs() < 1e-9 {
            row.more("{} %").text(&shown);
        } else {
            let cuts = if plates > 1.0 {
                task.cuts(volatility.log, plates)
            } else {
                plain
            };
            row.more("{2} %").number(cuts.main * 100.0);
        }
    }
    unlike(&light, &heavy, inputs, outcome);
    if result.main <= 0.0 {
        outcome.note("The purity is not reached: a column with more plates, a higher reflux ratio, reduced pressure, or a second distillation of the best fractions.");
    }
    if let Some(drop) = column.number("pressure_drop")
        && drop * length / 300.0 > pressure * 0.1
    {
        outcome.note("The column’s own pressure drop is a good part of this pressure: the pot boils much hotter than the head.");
    }
    cautions([&light, &heavy], pressure, outcome);
    if let Some(record) = heavy.record() {
        let next = substance::then(
            record,
            "Set the bath for the end of the run",
            "bath-setting",
            outcome,
        );
        next.with("pressure", "{~5} mmHg").number(pressure);
        next.with("column", "{}").text(column.name());
    }
    Ok(())
}

/// All figures; gives the main fraction as it is shown.
fn figures(
    task: &Task,
    volatility: &Volatility,
    [fewest, likely, most]: [f64; 3],
    result: Cuts,
    outcome: &mut Outcome,
) -> String {
    let low = task.cuts(volatility.low, fewest).main * 100.0;
    let high = task.cuts(volatility.high, most).main * 100.0;
    let share = result.main * 100.0;
    let shown = outcome
        .number("main_fraction", "Main fraction, of the charge", share, "%")
        .within(low.min(high).min(share), low.max(high).max(share))
        .numeral();
    outcome
        .number("purity", "Its purity", result.purity * 100.0, "%")
        .digits(3);
    outcome
        .number("forerun", "Before it", result.fore * 100.0, "%")
        .digits(2);
    let alpha = |log| libm::exp(held(log));
    outcome
        .number(
            "relative_volatility",
            "Relative volatility",
            alpha(volatility.log),
            "",
        )
        .within(alpha(volatility.low), alpha(volatility.high));
    let goal = if task.heavy {
        1.0 - task.target
    } else {
        task.target
    };
    outcome
        .number(
            "minimum_plates",
            "Plates needed at least, the pot counted",
            fenske(volatility.log, task.feed, goal).abs().max(1.0),
            "",
        )
        .digits(2);
    outcome
        .number("plates", "Plates offered, the pot counted", likely, "")
        .within(fewest, most);
    shown
}

/// The azeotrope of the two in the table, if there is one.
fn azeotrope<'a>(light: &Part<'a>, heavy: &Part<'a>, inputs: &Inputs<'a>) -> Option<Record<'a>> {
    let names = [light.record()?.name(), heavy.record()?.name()];
    inputs.library().rows("azeotropes").find(|row| {
        ["first", "second"]
            .iter()
            .all(|column| names.contains(&row.text(column)))
    })
}

/// Refuses a pair that no column parts, and says what does. An azeotrope shifts with the pressure
/// and may go; within a factor of two of the pressure in the table it is taken to be there.
fn refuse_azeotrope(row: Record<'_>, pressure: f64) -> Result<(), Problem> {
    let known = row.number("pressure").unwrap_or(760.0);
    if libm::log(pressure / known).abs() > std::f64::consts::LN_2 {
        return Ok(());
    }
    let problem = Problem::new("heavy", "{} boil together at {} °C and {} mmHg, with {} % by mass of {}: an azeotrope, which no column passes")
        .text(row.name())
        .text(row.text("temperature"))
        .text(row.text("pressure"))
        .text(row.text("first_percent"))
        .text(row.text("first"));
    Err(if row.is("layers") {
        problem.more("; the distillate parts into layers when it cools, so a separator takes one of the two out")
    } else {
        problem.more("; what does: a much lower pressure if it shifts enough, drying or extracting one of the two, or a third liquid that carries it over")
    })
}

/// Azeotropes at another pressure, and pairs that do not follow Raoult's law.
fn unlike(light: &Part<'_>, heavy: &Part<'_>, inputs: &Inputs<'_>, outcome: &mut Outcome) {
    let (Some(a), Some(b)) = (light.record(), heavy.record()) else {
        outcome.note("From boiling points alone no azeotrope can be seen: look the pair up.");
        return;
    };
    if let Some(row) = azeotrope(light, heavy, inputs) {
        outcome.extrapolated = true;
        outcome
            .care("{} boil together at {} °C and {} mmHg, with {} % by mass of {}: no column passes an azeotrope. It shifts with the pressure, and the figures here do not know of it.")
            .text(row.name())
            .text(row.text("temperature"))
            .text(row.text("pressure"))
            .text(row.text("first_percent"))
            .text(row.text("first"));
    }
    if !follow_raoult(a, b) {
        outcome.extrapolated = true;
        outcome.care("The two are unlike: their vapour pressures do not add up as reckoned here. They may form an azeotrope, or come together at one end so that the last of it does not part: look the pair up before relying on a purity.");
    }
}

/// Whether two substances are alike enough for the ideal law: of one class (common practice, no
/// source).
fn follow_raoult(a: Record<'_>, b: Record<'_>) -> bool {
    family(a.text("class")) == family(b.text("class"))
}

/// Classes whose molecules hold to each other in the same way.
fn family(class: &str) -> &str {
    match class {
        "aldehyde" => "ketone",
        "polyol" => "alcohol",
        other => other,
    }
}

fn cautions(parts: [&Part<'_>; 2], mmhg: f64, outcome: &mut Outcome) {
    for part in parts {
        if let Some(record) = part.record() {
            substance::cautions(record, outcome);
        }
    }
    substance::implosion(mmhg, outcome);
    outcome.care("Never distil to dryness, and add boiling stones before heating.");
    outcome.care(substance::DEFER);
}

/// Head temperature and composition of the distillate against what has come over.
///
/// Vapour of composition y boils between the two: 1/T is taken in proportion to
/// ln(y + α·(1 − y))/ln α, which is exact at both ends.
fn plot(
    run: &[Moment],
    light: &Part<'_>,
    heavy: &Part<'_>,
    log_alpha: f64,
    cuts: Cuts,
    outcome: &mut Outcome,
) {
    let alpha = libm::exp(log_alpha);
    let head = |y: f64| {
        let share = libm::log(y + alpha * (1.0 - y)) / log_alpha;
        1.0 / (1.0 / light.kelvin - share * (1.0 / light.kelvin - 1.0 / heavy.kelvin)) - 273.15
    };
    let over = |moment: &Moment| (1.0 - moment.left) * 100.0;
    let (from, to) = (cuts.fore * 100.0, (cuts.fore + cuts.main) * 100.0);
    let plot = outcome.plot(
        "Head temperature and composition against what has come over",
        "The head stands near {.0} °C while {} comes over, then climbs to {.0} °C; the main fraction runs from {.0} to {.0} % of the charge.",
    );
    let name = light.name();
    plot.description
        .number(light.kelvin - 273.15)
        .text(&name)
        .number(heavy.kelvin - 273.15)
        .number(from)
        .number(to);
    plot.x
        .linear("Come over", "% of the charge")
        .from_to(0.0, 100.0);
    plot.y.linear("Temperature in °C, share in mole %", "");
    plot.zone("main fraction", from, to);
    let line = plot.line("head temperature, °C");
    for moment in run {
        line.point(over(moment), head(moment.top));
    }
    let line = plot.line("{} in the distillate, mole %").text(&name);
    for moment in run {
        line.point(over(moment), moment.top * 100.0);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is cut as light, and what is left, hold all that was charged.
    #[test]
    fn main_fraction_closes_the_balance() {
        for plates in [1.0, 3.6, 12.0] {
            let run = Still {
                alpha: 2.5,
                feed: 0.5,
                plates,
                reflux: 5.0,
            }
            .run(LOWEST);
            for target in [0.6, 0.7, 0.9] {
                let cut = cuts(&run, target, false);
                if cut.main == 0.0 {
                    continue;
                }
                assert!((cut.purity - target).abs() < 1e-4, "{}", cut.purity);
                let fine = cuts(&run, target + 1e-3, false);
                assert!(fine.main < cut.main, "purer, and no less of it");
            }
        }
    }
}
