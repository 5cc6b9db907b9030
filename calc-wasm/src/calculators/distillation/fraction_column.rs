//! Will this column part the two, and how much comes over pure?
//!
//! Two known substances stand on their real equilibrium (`equations/mixture/`): the run goes from
//! the charge towards an azeotrope or a pure liquid on either side, and no purity beyond is given.
//! From boiling points alone, and where no parameters are published, the relative volatility is
//! taken as constant: from both vapour-pressure curves, the geometric mean over the two boiling
//! points, or from boiling points (Rose), for two like compounds without azeotrope.
//! Plates at least by Fenske, or stepped off at total reflux; the run by plates and Rayleigh's
//! balance: equations/still.rs has them with their sources. The cuts come from the balance over
//! the pot; what the column holds back is left out.

use crate::calculators::Calculator;
use crate::equations::meeting;
use crate::equations::mixture::miss::{Miss, family};
use crate::equations::mixture::pair::{Azeotrope, Pair, row_of};
use crate::equations::mixture::stairs::Stairs;
use crate::equations::mixture::words;
use crate::equations::still::{
    Equilibrium, Moment, POINTS, Still, fenske, left_at, light_left, logit, mean_of_fraction, rose,
    turning,
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

/// Share of a fraction by which it comes out otherwise than reckoned, however sharp the column: what
/// wets the glass, and drops on the wrong side of a cut (own choice).
const LOST: f64 = 0.01;

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "fraction-column",
    title: "Fractional distillation",
    question: form_only("Will this column part the two, and how much comes over pure?"),
    inputs: &[
        &Input::preset(
            "light",
            "Lower boiling",
            Kind::EntryOrQuantity("substances", &limits::TEMPERATURE),
            "ethyl acetate",
            "A substance, or its boiling point at the pressure below.",
        ),
        &Input::preset(
            "heavy",
            "Higher boiling",
            Kind::EntryOrQuantity("substances", &limits::TEMPERATURE),
            "butyl acetate",
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

/// What is asked of the run, whatever the column. Shares are of what comes over, on the stretch
/// between the ends that no column leads past.
struct Task<'s> {
    equilibrium: Equilibrium<'s>,
    feed: f64,
    /// Purity of what is wanted; above 1 where no column reaches it.
    target: f64,
    /// Whether what is wanted stays in the pot.
    heavy: bool,
    reflux: f64,
}

impl Task<'_> {
    #[inline(never)]
    fn run(&self, plates: f64) -> [Moment; POINTS] {
        // The pot is never richer than the distillate: far enough for the purity wanted of either.
        let lowest = if self.heavy {
            (1.0 - self.target).clamp(1e-5, LOWEST)
        } else {
            LOWEST
        };
        let still = Still {
            equilibrium: self.equilibrium,
            feed: self.feed,
            plates,
            reflux: self.reflux,
        };
        still.run(lowest)
    }

    #[inline(never)]
    fn cuts(&self, plates: f64) -> Cuts {
        cuts(&self.run(plates), self.target, self.heavy)
    }

    /// The main fraction in % over a column of so many plates, on another equilibrium.
    fn main_on(&self, equilibrium: Equilibrium<'_>, plates: f64) -> f64 {
        let other = Task {
            equilibrium,
            ..*self
        };
        other.cuts(plates).main * 100.0
    }
}

/// Two known substances on their real equilibrium.
struct Real<'a> {
    pair: Pair<'a>,
    stairs: Stairs,
    miss: Miss,
    /// Place of the wanted one: 0 the lower boiling, 1 the higher.
    wanted: usize,
}

impl<'a> Real<'a> {
    /// None where the two are not both known, or their parameters are not published.
    fn of(
        [light, heavy]: [&Part<'a>; 2],
        inputs: &Inputs<'a>,
        feed: f64,
    ) -> Result<Option<Self>, Problem> {
        let (Some(a), Some(b)) = (&light.curve, &heavy.curve) else {
            return Ok(None);
        };
        let mmhg = inputs.get::<Pressure>("pressure").in_mmhg();
        let curves = [a.clone(), b.clone()];
        let Ok(pair) = Pair::new(curves, ["light", "heavy"], inputs.library(), mmhg) else {
            return Ok(None);
        };
        let stairs = Stairs::around(&pair, feed).ok_or_else(|| {
            Problem::new("feed", "{~4} % of {} with {} boils like a pure liquid: an azeotrope, which no column parts")
                .number(feed * 100.0)
                .text(a.name())
                .text(b.name())
        })?;
        Ok(Some(Real {
            miss: Miss::of(&pair),
            pair,
            stairs,
            wanted: usize::from(inputs.choice("wanted") == "heavy"),
        }))
    }

    /// Whether what is wanted comes over, rather than staying in the pot.
    fn comes_over(&self) -> bool {
        self.stairs.over == self.wanted
    }

    /// Highest share of what is wanted, at its end of the way.
    fn ceiling(&self) -> f64 {
        let [pot, top] = self.stairs.ends;
        if self.comes_over() { top } else { 1.0 - pot }
    }

    /// The azeotrope at the end where the wanted one gathers, or at the other.
    fn azeotrope(&self, wanted_end: bool) -> Option<&Azeotrope> {
        let end = self.stairs.ends[usize::from(self.comes_over() == wanted_end)];
        let mut found = self.pair.azeotropes.iter();
        found.find(|one| (one.x[self.stairs.over] - end).abs() < 1e-12)
    }

    /// Half-width of the wanted one's share in an azeotrope.
    fn share_half(&self, azeotrope: &Azeotrope) -> f64 {
        self.miss.share_half(&self.pair, azeotrope)
    }

    /// A purity as a place on the way, counted from the end opposite to the wanted one.
    fn place(&self, purity: f64) -> f64 {
        if self.comes_over() {
            self.stairs.place(purity)
        } else {
            1.0 - self.stairs.place(1.0 - purity)
        }
    }

    /// And back.
    fn purity(&self, place: f64) -> f64 {
        if self.comes_over() {
            self.stairs.share(place)
        } else {
            1.0 - self.stairs.share(1.0 - place)
        }
    }

    fn volatility(&self, feed: f64) -> Volatility {
        let log = self.pair.boil([feed, 1.0 - feed]).log_alpha.abs();
        Volatility {
            log,
            low: log - self.miss.log_alpha,
            high: log + self.miss.log_alpha,
            basis: "modified UNIFAC (Dortmund) and both vapour-pressure curves, at the composition of the charge",
            anywhere: true,
        }
    }
}

/// What a run stands on.
struct Grounds<'a> {
    real: Option<Real<'a>>,
    volatility: Volatility,
    /// Steps lower and higher than likely.
    less: Option<Stairs>,
    more: Option<Stairs>,
}

impl<'a> Grounds<'a> {
    fn of(parts: [&Part<'a>; 2], inputs: &Inputs<'a>, feed: f64) -> Result<Self, Problem> {
        let Some(real) = Real::of(parts, inputs, feed)? else {
            return Ok(Grounds {
                real: None,
                volatility: volatility(parts[0], parts[1]),
                less: None,
                more: None,
            });
        };
        let volatility = real.volatility(feed);
        let off = (real.miss.log_alpha / volatility.log.max(1e-6)).clamp(0.02, 0.6);
        Ok(Grounds {
            less: Some(real.stairs.stretched(1.0 - off)),
            more: Some(real.stairs.stretched(1.0 + off)),
            volatility,
            real: Some(real),
        })
    }

    /// The equilibrium with steps as likely, lower and higher.
    fn equilibria(&self) -> [Equilibrium<'_>; 3] {
        if let (Some(real), Some(less), Some(more)) = (&self.real, &self.less, &self.more) {
            return [&real.stairs, less, more].map(Equilibrium::Real);
        }
        let Volatility { log, low, high, .. } = self.volatility;
        [log, low, high].map(|log| Equilibrium::Constant(libm::exp(held(log))))
    }

    /// A purity of the wanted one as a place on the way.
    fn place(&self, purity: f64) -> f64 {
        let place = self.real.as_ref().map_or(purity, |real| real.place(purity));
        place.max(1e-6)
    }

    /// And back.
    fn purity(&self, place: f64) -> f64 {
        self.real.as_ref().map_or(place, |real| real.purity(place))
    }
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let (light, heavy) = (part(inputs, "light")?, part(inputs, "heavy")?);
    let pressure = inputs.get::<Pressure>("pressure").in_mmhg();
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
    let feed = inputs.get::<Fraction>("feed").in_ones();
    let grounds = Grounds::of([&light, &heavy], inputs, feed)?;
    if grounds.real.is_none()
        && let Some(row) = azeotrope(&light, &heavy, inputs)
    {
        refuse_azeotrope(row, pressure)?;
    }
    let task = task(&grounds, inputs, feed);
    let offered = plates(column, length);
    let run = task.run(offered[1]);
    let result = cuts(&run, task.target, task.heavy);
    let plain = task.cuts(1.0);

    explain(&grounds, outcome);
    outcome.in_range(grounds.volatility.anywhere || (pressure - 760.0).abs() < 100.0);
    let shown = figures(&task, &grounds, offered, result, outcome);
    outcome
        .because("A plain head would give {2} % of the charge at this purity, this column {} %. {} multiplies the ratio of the two by {3} at most.")
        .number(plain.main * 100.0)
        .text(&shown)
        .text(if grounds.real.is_some() {
            "At the charge, a plate"
        } else {
            "Each plate"
        })
        .number(libm::exp(held(grounds.volatility.log)));
    plot(&run, [&light, &heavy], &grounds, result, outcome);

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
                task.cuts(plates)
            } else {
                plain
            };
            row.more("{2} %").number(cuts.main * 100.0);
        }
    }
    match &grounds.real {
        Some(real) => ends(real, inputs, outcome),
        None => unlike(&light, &heavy, inputs, outcome),
    }
    if result.main <= 0.0 && task.target < 1.0 {
        outcome.note("The purity is not reached: a column with more plates, a higher reflux ratio, reduced pressure, or a second distillation of the best fractions.");
    }
    if let Some(drop) = column.number("pressure_drop")
        && drop * length / 300.0 > pressure * 0.1
    {
        outcome.note("The column’s own pressure drop is a good part of this pressure: the pot boils much hotter than the head.");
    }
    cautions([&light, &heavy], pressure, outcome);
    next(&light, &heavy, column, inputs, outcome);
    Ok(())
}

fn task<'g>(grounds: &'g Grounds<'_>, inputs: &Inputs<'_>, feed: f64) -> Task<'g> {
    let [equilibrium, ..] = grounds.equilibria();
    let target = inputs.get::<Fraction>("target_purity").in_ones();
    let (feed, heavy) = match &grounds.real {
        Some(real) => {
            let charge = if real.stairs.over == 0 {
                feed
            } else {
                1.0 - feed
            };
            (real.stairs.place(charge), !real.comes_over())
        }
        None => (feed, inputs.choice("wanted") == "heavy"),
    };
    Task {
        equilibrium,
        feed,
        target: grounds.place(target),
        heavy,
        reflux: inputs.get::<Number>("reflux").base(),
    }
}

fn explain(grounds: &Grounds<'_>, outcome: &mut Outcome) {
    let real = grounds.real.is_some();
    outcome
        .by_method("Relative volatility from {}; plates from the length and the table of columns; {}every plate at equilibrium, constant reflux ratio, no hold-up; Rayleigh’s balance over the pot. Mole percent are taken for percent of volume.")
        .text(grounds.volatility.basis)
        .text(if real { "" } else { "constant relative volatility, " });
    outcome.from_source(
        "M. R. Fenske, Ind. Eng. Chem. 24 (1932) 482; Lord Rayleigh, Phil. Mag. 4 (1902) 521; ",
    );
    outcome.source.more(if real {
        "U. Weidlich, J. Gmehling, Ind. Eng. Chem. Res. 26 (1987) 1372"
    } else {
        "A. Rose, Ind. Eng. Chem. 33 (1941) 594; E. H. Smoker, Trans. Am. Inst. Chem. Eng. 34 (1938) 165"
    });
    outcome
        .source
        .more(" (citations from memory). Plate heights: common practice, no source.");
    outcome.valid_for(if real {
        "Two liquids that do not react, gently boiled in a lagged column; real fractions are less pure."
    } else {
        "Two like compounds that form no azeotrope, gently boiled in a lagged column; real fractions are less pure."
    });
}

/// All figures; gives the main fraction as it is shown.
fn figures(
    task: &Task<'_>,
    grounds: &Grounds<'_>,
    [fewest, likely, most]: [f64; 3],
    result: Cuts,
    outcome: &mut Outcome,
) -> String {
    let [_, less, more] = grounds.equilibria();
    let share = result.main * 100.0;
    let low = task.main_on(less, fewest).min(share * (1.0 - LOST));
    let high = task
        .main_on(more, most)
        .max(share * (1.0 + LOST))
        .min(100.0);
    let shown = outcome
        .number("main_fraction", "Main fraction, of the charge", share, "%")
        .within(low.min(high).min(share), low.max(high).max(share))
        .numeral();
    let purity = grounds.purity(result.purity).clamp(0.0, 1.0) * 100.0;
    outcome
        .number("purity", "Its purity", purity, "%")
        .digits(3);
    outcome
        .number("forerun", "Before it", result.fore * 100.0, "%")
        .digits(2);
    let Volatility { log, low, high, .. } = grounds.volatility;
    let alpha = |log| libm::exp(held(log));
    outcome
        .number("relative_volatility", "Relative volatility", alpha(log), "")
        .within(alpha(low), alpha(high));
    if let Some(least) = least_plates(task, log) {
        outcome
            .number(
                "minimum_plates",
                "Plates needed at least, the pot counted",
                least.max(1.0),
                "",
            )
            .digits(2);
    }
    outcome
        .number("plates", "Plates offered, the pot counted", likely, "")
        .within(fewest, most);
    if let Some(real) = &grounds.real {
        limits_of(real, outcome);
    }
    shown
}

/// Plates at total reflux between the charge and the purity wanted; None where no number does.
fn least_plates(task: &Task<'_>, log_alpha: f64) -> Option<f64> {
    if task.target >= 1.0 {
        return None;
    }
    let goal = if task.heavy {
        1.0 - task.target
    } else {
        task.target
    };
    match task.equilibrium {
        Equilibrium::Constant(_) => Some(fenske(log_alpha, task.feed, goal).abs()),
        Equilibrium::Real(stairs) => {
            let (charge, goal) = (logit(task.feed), logit(goal));
            stairs.plates_between(charge.min(goal), charge.max(goal))
        }
    }
}

/// What no column passes, and the azeotrope that is met; nothing where there is none.
fn limits_of(real: &Real<'_>, outcome: &mut Outcome) {
    let wanted = real.azeotrope(true);
    let Some(met) = wanted.or(real.azeotrope(false)) else {
        return;
    };
    let ceiling = real.ceiling() * 100.0;
    let figure = outcome
        .number(
            "purity_ceiling",
            "Purity that no column passes",
            ceiling,
            "%",
        )
        .digits(3);
    if let Some(azeotrope) = wanted {
        figure.give_or_take(real.share_half(azeotrope) * 100.0);
    }
    outcome
        .number(
            "azeotrope_temperature",
            "The azeotrope boils at",
            met.celsius,
            "°C",
        )
        .give_or_take(real.miss.celsius_at(&real.pair, met.x));
}

/// Says where the way ends, and what leads on from an azeotrope.
fn ends(real: &Real<'_>, inputs: &Inputs<'_>, outcome: &mut Outcome) {
    let pair = &real.pair;
    let name = |at: usize| pair.curves[at].name();
    let target = inputs.get::<Fraction>("target_purity").in_ones();
    words::doubts(pair, outcome);
    if let Some(azeotrope) = real.azeotrope(true) {
        let blocked = target > real.ceiling();
        let told = if blocked {
            outcome.care("No column passes this: the two boil together at {.1} °C with {.1} mole % of {}, and what {} goes towards that. What does: ")
        } else {
            outcome.note("No column passes the azeotrope, which boils at {.1} °C with {.1} mole % of {}; what {} goes towards that. What does: ")
        };
        told.number(azeotrope.celsius)
            .number(azeotrope.x[real.wanted] * 100.0)
            .text(name(real.wanted))
            .text(if real.comes_over() {
                "comes over"
            } else {
                "stays in the pot"
            });
        way_on(real, azeotrope, inputs, told);
    } else if let Some(azeotrope) = real.azeotrope(false) {
        let (one, other) = if real.comes_over() {
            ("comes over", "stays in the pot")
        } else {
            ("stays in the pot", "comes over")
        };
        outcome
            .note("{} {} pure, as far as the plates go; the azeotrope, {.1} °C with {.1} mole % of it, {}.")
            .text(name(real.wanted))
            .text(one)
            .number(azeotrope.celsius)
            .number(azeotrope.x[real.wanted] * 100.0)
            .text(other);
    }
}

/// What leads on from an azeotrope.
fn way_on(real: &Real<'_>, azeotrope: &Azeotrope, inputs: &Inputs<'_>, told: &mut Sentence) {
    let pair = &real.pair;
    if pair.parts_when_cold(azeotrope) {
        told.more("a separator, for the cold distillate parts into layers, each beyond the azeotrope on its side; ");
    }
    if pair.curves.iter().any(|curve| curve.name() == "water") {
        told.more("drying, with a molecular sieve or a salt; ");
    }
    // Eight times less, or more where that is too cold for a condenser.
    let other = if pair.mmhg > 200.0 {
        pair.mmhg / 8.0
    } else {
        pair.mmhg * 8.0
    };
    if let Some(share) = elsewhere(real, other, inputs) {
        told.more("another pressure: at {~3} mmHg ").number(other);
        match share {
            Some(share) => told
                .more("it holds {.0} % of {}; ")
                .number(share * 100.0)
                .text(pair.curves[real.wanted].name()),
            None => told.more("there is none; "),
        };
    }
    told.more("extraction of one of the two, or a third liquid that carries one over.");
}

/// Share of the wanted one in the azeotrope at another pressure, None where there is none there;
/// nothing at all where that cannot be said.
fn elsewhere(real: &Real<'_>, mmhg: f64, inputs: &Inputs<'_>) -> Option<Option<f64>> {
    let curves = real.pair.curves.clone();
    let pressure = Measured {
        value: Pressure::mmhg(mmhg),
        error: 0.0,
    };
    for curve in &curves {
        curve.boiling("pressure", pressure).ok()?;
    }
    let pair = Pair::new(curves, ["light", "heavy"], inputs.library(), mmhg).ok()?;
    Some(pair.azeotropes.first().map(|one| one.x[real.wanted]))
}

fn next(
    light: &Part<'_>,
    heavy: &Part<'_>,
    column: Record<'_>,
    inputs: &Inputs<'_>,
    outcome: &mut Outcome,
) {
    let Some(record) = heavy.record() else { return };
    let pressure = inputs.get::<Pressure>("pressure").in_mmhg();
    let next = substance::then(
        record,
        "Set the bath for the end of the run",
        "bath-setting",
        outcome,
    );
    next.with("pressure", "{~5} mmHg").number(pressure);
    next.with("column", "{}").text(column.name());
    if light.record().is_none() {
        return;
    }
    let next = outcome.then("How the two boil together", "mixture-boiling");
    next.with("first", "{}").text(&light.name());
    next.with("second", "{}").text(&heavy.name());
    next.with("pressure", "{~5} mmHg").number(pressure);
}

/// The azeotrope of the two in the table, if there is one.
fn azeotrope<'a>(light: &Part<'a>, heavy: &Part<'a>, inputs: &Inputs<'a>) -> Option<Record<'a>> {
    let names = [light.record()?.name(), heavy.record()?.name()];
    row_of(inputs.library(), names).map(|(row, _)| row)
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
/// For a constant α, vapour of composition y boils between the two: 1/T is taken in proportion to
/// ln(y + α·(1 − y))/ln α, which is exact at both ends.
fn plot(
    run: &[Moment],
    [light, heavy]: [&Part<'_>; 2],
    grounds: &Grounds<'_>,
    cuts: Cuts,
    outcome: &mut Outcome,
) {
    let log_alpha = held(grounds.volatility.log);
    let alpha = libm::exp(log_alpha);
    let head = |y: f64| match &grounds.real {
        Some(real) => real.stairs.celsius(logit(y.clamp(1e-12, 1.0 - 1e-12))),
        None => {
            let share = libm::log(y + alpha * (1.0 - y)) / log_alpha;
            1.0 / (1.0 / light.kelvin - share * (1.0 / light.kelvin - 1.0 / heavy.kelvin)) - 273.15
        }
    };
    // What comes over first: the lower boiling, but for an azeotrope.
    let real = grounds.real.as_ref();
    let name = if real.is_some_and(|real| real.stairs.over == 1) {
        heavy.name()
    } else {
        light.name()
    };
    let share =
        |moment: &Moment| real.map_or(moment.top, |real| real.stairs.share(moment.top)) * 100.0;
    let over = |moment: &Moment| (1.0 - moment.left) * 100.0;
    let (from, to) = (cuts.fore * 100.0, (cuts.fore + cuts.main) * 100.0);
    let (start, end) = (run[0].top, run[run.len() - 1].top);
    let plot = outcome.plot(
        "Head temperature and composition against what has come over",
        "The head stands near {.0} °C at first, with {.0} mole % of {}, and ends at {.0} °C; the main fraction runs from {.0} to {.0} % of the charge.",
    );
    plot.description
        .number(head(start))
        .number(share(&run[0]))
        .text(&name)
        .number(head(end))
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
        line.point(over(moment), share(moment));
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
                equilibrium: Equilibrium::Constant(2.5),
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
