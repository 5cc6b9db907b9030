//! Two liquids boiling together at one pressure: bubble point, vapour, layers, azeotropes.
//!
//! x and y are shares in moles of the first in liquid and vapour; α = (y₁/y₂)/(x₁/x₂).
//! A liquid boils where Σ x·γ·p = P, with γ from `activity` and the vapour pressures p by Antoine;
//! α = γ₁p₁/γ₂p₂. It parts into layers where that costs less: both then have the same activities
//! (x·γ), and over both together stands one vapour at one temperature, whatever there is of each.
//! An azeotrope stands where ln α passes nought. The vapour is taken as ideal.
//!
//! Where the table of azeotropes has the pair, ln α and T are shifted so that the published
//! azeotrope stands at its own pressure: ln α by the same everywhere, T by most at the azeotrope
//! and by nothing at the pure liquids. How it moves with the pressure is the model's.

use super::activity::{Activity, Shares};
use super::solve::{boils_at, root};
use crate::equations::vapour::Curve;
use crate::library::{Library, Record};
use crate::problem::Problem;

/// A liquid at its bubble point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Boil {
    /// Temperature, °C.
    pub celsius: f64,
    /// ln α.
    pub log_alpha: f64,
}

/// What boils without changing.
#[derive(Debug, Clone, Copy)]
pub struct Azeotrope {
    /// Share of the first in moles, and of the second.
    pub x: Shares,
    /// Temperature, °C.
    pub celsius: f64,
    /// Whether it boils below what stands on either side of it, or above.
    pub lowest: bool,
    /// Whether the boiling liquid stands in two layers.
    pub layers: bool,
}

/// Liquids between these two part into layers while they boil.
#[derive(Debug, Clone, Copy)]
struct Gap {
    /// Shares of the first in the two layers, the poorer one first.
    ends: [f64; 2],
    celsius: f64,
    /// ln(y₁/y₂) over both.
    vapour: f64,
}

/// A published azeotrope, and by how much the model is shifted for it.
#[derive(Debug, Clone, Copy)]
pub struct Published<'a> {
    /// Its row in the table.
    pub row: Record<'a>,
    /// Share of the first in moles.
    pub share: f64,
    /// Pressure, mmHg.
    pub mmhg: f64,
    /// What the model says at the published composition, less what is published: °C.
    pub celsius_miss: f64,
    /// The same of ln α, which is nought at an azeotrope.
    pub log_alpha_miss: f64,
    /// Where the shift of the temperature is whole.
    peak: [f64; 2],
}

/// Two liquids boiling together at one pressure.
#[derive(Debug, Clone)]
pub struct Pair<'a> {
    /// The vapour-pressure curves of both.
    pub curves: [Curve<'a>; 2],
    activity: Activity,
    /// The pressure, mmHg.
    pub mmhg: f64,
    gap: Option<Gap>,
    /// Whether the table of solvents says that they mix, whatever the model makes of them.
    mixes: bool,
    /// What the table of azeotropes says of them.
    pub published: Option<Published<'a>>,
    /// The bubble points from nearly pure second to nearly pure first.
    pub nodes: Vec<(Shares, Boil)>,
    /// In the order of x.
    pub azeotropes: Vec<Azeotrope>,
}

/// Nodes are evenly spread in ln(x₁/x₂), from minus this to this.
const FARTHEST: f64 = 9.0;
const NODES: usize = 61;

/// Shares that stand as e^`odds` to 1.
pub fn shares(odds: f64) -> Shares {
    [
        1.0 / (1.0 + libm::exp(-odds)),
        1.0 / (1.0 + libm::exp(odds)),
    ]
}

/// ln(x₁/x₂).
pub fn odds(x: Shares) -> f64 {
    libm::log(x[0] / x[1])
}

/// The vapour over a liquid.
pub fn vapour(x: Shares, log_alpha: f64) -> Shares {
    // The greater of the two is divided by, so that nothing overflows.
    if log_alpha > 0.0 {
        let beta = libm::exp(-log_alpha);
        let sum = x[0] + beta * x[1];
        [x[0] / sum, beta * x[1] / sum]
    } else {
        let alpha = libm::exp(log_alpha);
        let sum = alpha * x[0] + x[1];
        [alpha * x[0] / sum, x[1] / sum]
    }
}

/// The model alone, before anything published is brought in.
struct Bare<'p> {
    activity: &'p Activity,
    curves: [&'p Curve<'p>; 2],
    log_mmhg: f64,
}

impl Bare<'_> {
    fn log_pressures(&self, celsius: f64) -> [f64; 2] {
        self.curves.map(|curve| curve.log_pressure(celsius))
    }

    /// ln of the partial pressures at x, mmHg, less ln x.
    fn lifts(&self, x: Shares, celsius: f64) -> [f64; 2] {
        let gamma = self.activity.at(celsius + 273.15).log_gamma(x);
        let pure = self.log_pressures(celsius);
        [gamma[0] + pure[0], gamma[1] + pure[1]]
    }

    /// The bubble point; None where there is none.
    fn boil(&self, x: Shares, guess: f64) -> Option<Boil> {
        let total = |celsius: f64| {
            let [one, other] = self.lifts(x, celsius);
            libm::log(x[0] * libm::exp(one) + x[1] * libm::exp(other))
        };
        let celsius = boils_at(&total, self.log_mmhg, guess)?;
        let [one, other] = self.lifts(x, celsius);
        Some(Boil {
            celsius,
            log_alpha: one - other,
        })
    }

    /// The layers that boil together; None where the liquid stays whole.
    fn gap(&self, guess: f64) -> Option<Gap> {
        // ln of the partial pressures over both layers, which are equal.
        let partial = |celsius: f64| {
            let [poor, _] = layers(self.activity, celsius)?;
            let lifts = self.lifts(poor, celsius);
            Some([0, 1].map(|at| libm::log(poor[at]) + lifts[at]))
        };
        let total = |celsius: f64| {
            partial(celsius).map_or(f64::NAN, |[one, other]| {
                libm::log(libm::exp(one) + libm::exp(other))
            })
        };
        let celsius = boils_at(&total, self.log_mmhg, guess)?;
        let [one, other] = partial(celsius)?;
        Some(Gap {
            ends: layers(self.activity, celsius)?.map(|x| x[0]),
            celsius,
            vapour: one - other,
        })
    }
}

/// The two layers into which the liquid parts at `celsius`, the one poorer in the first before the
/// other; None where it stays whole.
///
/// With f = ln a₁ − ln a₂ rising along ln(x₁/x₂) all is one liquid. Where f falls it is not, and
/// the layers stand on both sides of that at the height of f at which ln a₂ is the same in both.
pub fn layers(activity: &Activity, celsius: f64) -> Option<[Shares; 2]> {
    /// Beyond this, in ln(x₁/x₂), one part is in ten thousand million.
    const END: f64 = 25.0;
    const STEPS: usize = 100;
    let liquid = activity.at(celsius + 273.15);
    let slope = |at: f64| {
        let [one, other] = liquid.log_gamma(shares(at));
        at + one - other
    };
    let place = |step: usize| END * (2.0 * step as f64 / STEPS as f64 - 1.0);
    let mut falls: Option<[usize; 2]> = None;
    let mut before = slope(place(0));
    for step in 1..=STEPS {
        let here = slope(place(step));
        if here < before {
            falls = Some([falls.map_or(step - 1, |[first, _]| first), step]);
        }
        before = here;
    }
    let [left, right] = falls?.map(place);
    let (highest, lowest) = (slope(left), slope(right));
    let ends = |height: f64| {
        let meets = |at: f64| slope(at) - height;
        [
            root(&meets, 1e-12, -2.0 * END, left),
            root(&meets, 1e-12, right, 2.0 * END),
        ]
        .map(shares)
    };
    let unequal = |height: f64| {
        let second = |x: Shares| libm::log(x[1]) + liquid.log_gamma(x)[1];
        let [poor, rich] = ends(height).map(second);
        poor - rich
    };
    if lowest >= highest || unequal(lowest) > 0.0 || unequal(highest) < 0.0 {
        return None;
    }
    Some(ends(root(&unequal, 1e-11, lowest, highest)))
}

/// The row of the table of azeotropes for two substances, and whether it names the second first.
pub fn row_of<'a>(library: &'a Library, names: [&str; 2]) -> Option<(Record<'a>, bool)> {
    library.rows("azeotropes").find_map(|row| {
        let [one, other] = ["first", "second"].map(|column| row.text(column));
        if [one, other] == names {
            Some((row, false))
        } else {
            ([other, one] == names).then_some((row, true))
        }
    })
}

/// Whether one is water and the table of solvents says that the other mixes with it.
fn known_to_mix([one, other]: [&str; 2], library: &Library) -> bool {
    let with_water = match (one, other) {
        (name, "water") | ("water", name) => name,
        _ => return false,
    };
    let row = library
        .table("solvents")
        .and_then(|table| table.find(with_water));
    row.is_some_and(|row| row.is("miscible"))
}

impl<'a> Pair<'a> {
    /// Two substances at a pressure in mmHg; `inputs` are to blame.
    ///
    /// # Errors
    /// A sentence, when the published parameters do not cover them, when no bubble point is found,
    /// or when the model cannot be brought to a published azeotrope.
    pub fn new(
        curves: [Curve<'a>; 2],
        inputs: [&str; 2],
        library: &'a Library,
        mmhg: f64,
    ) -> Result<Self, Problem> {
        let records = [curves[0].record, curves[1].record];
        let mut pair = Pair {
            activity: Activity::of(records, inputs, library)?,
            curves,
            mmhg,
            gap: None,
            mixes: known_to_mix(records.map(|record| record.name()), library),
            published: None,
            nodes: Vec::with_capacity(NODES),
            azeotropes: Vec::new(),
        };
        let lost = || {
            Problem::new(
                inputs[1],
                "how {} and {} boil together at {~4} mmHg cannot be worked out here",
            )
            .text(records[0].name())
            .text(records[1].name())
            .number(mmhg)
        };
        pair.solve().ok_or_else(lost)?;
        if let Some((row, turned)) = row_of(library, records.map(|record| record.name())) {
            pair.follow(row, turned).ok_or_else(|| {
                lost()
                    .more(": their published azeotrope, at {} °C and {} mmHg with {} % by mass of {}, lies too far from what is reckoned")
                    .text(row.text("temperature"))
                    .text(row.text("pressure"))
                    .text(row.text("first_percent"))
                    .text(row.text("first"))
            })?;
        }
        if pair.published.is_none()
            && let Some(acid) = pair.acid()
        {
            return Err(Problem::new(inputs[usize::from(acid.name() == records[1].name())],
                "{} pairs up in the vapour, which the model does not know; only with a published azeotrope to hold it could this be worked out")
                .text(acid.name()));
        }
        pair.find_azeotropes();
        Ok(pair)
    }

    /// The carboxylic acid among the two, which pairs up in the vapour.
    pub fn acid(&self) -> Option<Record<'a>> {
        let mut records = self.curves.iter().map(|curve| curve.record);
        records.find(|record| record.text("class") == "acid")
    }

    fn bare(&self, mmhg: f64) -> Bare<'_> {
        Bare {
            activity: &self.activity,
            curves: [&self.curves[0], &self.curves[1]],
            log_mmhg: libm::log(mmhg),
        }
    }

    /// Bubble points by the model alone, and the layers.
    fn solve(&mut self) -> Option<()> {
        let bare = self.bare(self.mmhg);
        let mut nodes = Vec::with_capacity(NODES);
        let mut guess = self.curves[1].temperature_unchecked(self.mmhg);
        let mut lowest = guess;
        for at in 0..NODES {
            let x = shares(FARTHEST * (2.0 * at as f64 / (NODES - 1) as f64 - 1.0));
            let boil = bare.boil(x, guess)?;
            guess = boil.celsius;
            lowest = lowest.min(guess);
            nodes.push((x, boil));
        }
        let gap = bare.gap(lowest);
        if let Some(gap) = gap {
            for (x, boil) in &mut nodes {
                if gap.holds(*x) {
                    *boil = gap.boil(*x);
                }
            }
        }
        (self.nodes, self.gap) = (nodes, gap);
        Some(())
    }

    /// Shifts the model to the published azeotrope; None where it cannot be.
    fn follow(&mut self, row: Record<'a>, turned: bool) -> Option<()> {
        let [mmhg, celsius, percent] =
            ["pressure", "temperature", "first_percent"].map(|name| row.number(name));
        let (mmhg, celsius, percent) = (mmhg?, celsius?, percent?);
        let mut masses = [percent, 100.0 - percent];
        if turned {
            masses.reverse();
        }
        let moles = |at: usize| Some(masses[at] / self.curves[at].record.number("molar_mass")?);
        let (one, other) = (moles(0)?, moles(1)?);
        let x = [one / (one + other), other / (one + other)];
        let bare = self.bare(mmhg);
        let (boil, peak) = match bare.gap(celsius).filter(|gap| gap.holds(x)) {
            Some(gap) => (gap.boil(x), gap.ends),
            None => {
                let boil = bare.boil(x, celsius)?;
                // It must pass nought the right way.
                let step = 0.02 * if row.is("highest") { -1.0 } else { 1.0 };
                let [before, after] = [-step, step].map(|step| {
                    let boil = bare.boil(shares(odds(x) + step), celsius);
                    boil.map_or(0.0, |boil| boil.log_alpha)
                });
                if before <= after {
                    return None;
                }
                (boil, [x[0]; 2])
            }
        };
        self.published = Some(Published {
            row,
            share: x[0],
            mmhg,
            celsius_miss: boil.celsius - celsius,
            log_alpha_miss: boil.log_alpha,
            peak,
        });
        let shifted = self
            .nodes
            .iter()
            .map(|&(x, boil)| (x, self.shifted(x, boil)));
        self.nodes = shifted.collect();
        Some(())
    }

    /// What the model gives, shifted to what is published.
    fn shifted(&self, x: Shares, boil: Boil) -> Boil {
        let Some(published) = &self.published else {
            return boil;
        };
        let [left, right] = published.peak;
        let weight = (x[0] / left).min(x[1] / (1.0 - right)).min(1.0);
        Boil {
            celsius: boil.celsius - weight * published.celsius_miss,
            log_alpha: boil.log_alpha - published.log_alpha_miss,
        }
    }

    /// The bubble point of a liquid, and the vapour over it.
    pub fn boil(&self, x: Shares) -> Boil {
        if let Some(gap) = self.gap.filter(|gap| gap.holds(x)) {
            return self.shifted(x, gap.boil(x));
        }
        // From the nearest node, whose own answer serves where none is found.
        let at = ((odds(x) / FARTHEST + 1.0) / 2.0 * (NODES - 1) as f64).clamp(0.0, 60.0);
        let (_, near) = self.nodes[f64::round(at) as usize];
        let bare = self.bare(self.mmhg).boil(x, near.celsius);
        bare.map_or(near, |boil| self.shifted(x, boil))
    }

    /// The temperature in °C at which the liquid would boil by Raoult's law.
    pub fn ideal(&self, x: Shares) -> f64 {
        let total = |celsius: f64| {
            let [one, other] =
                [0, 1].map(|at| x[at] * libm::exp(self.curves[at].log_pressure(celsius)));
            libm::log(one + other)
        };
        let guess = self.boil(x).celsius;
        boils_at(&total, libm::log(self.mmhg), guess).unwrap_or(guess)
    }

    fn find_azeotropes(&mut self) {
        let passes =
            |pair: &[(Shares, Boil)]| (pair[0].1.log_alpha > 0.0) != (pair[1].1.log_alpha > 0.0);
        let found: Vec<Azeotrope> = self
            .nodes
            .windows(2)
            .filter(|pair| passes(pair))
            .map(|pair| {
                let [low, high] = [odds(pair[0].0), odds(pair[1].0)];
                let miss = |at: f64| self.boil(shares(at)).log_alpha;
                let x = shares(root(&miss, 1e-13, low, high));
                Azeotrope {
                    x,
                    celsius: self.boil(x).celsius,
                    lowest: pair[0].1.log_alpha > 0.0,
                    layers: self.is_flat(x),
                }
            })
            .collect();
        self.azeotropes = found;
    }

    /// Whether a liquid parts into layers while it boils.
    pub fn parts(&self, x: Shares) -> bool {
        !self.mixes && self.is_flat(x)
    }

    /// Whether a liquid stands under the one vapour over two layers, by the model.
    pub fn is_flat(&self, x: Shares) -> bool {
        self.gap.is_some_and(|gap| gap.holds(x))
    }

    /// Share of the first or second from which on a boiling liquid parts into layers.
    pub fn layers_begin(&self, side: usize) -> Option<f64> {
        let ends = self.gap?.ends;
        Some(if side == 0 { ends[0] } else { 1.0 - ends[1] })
    }

    /// Whether what boils without changing parts into layers at 25 °C: by the table where it is
    /// published, else by the model.
    pub fn parts_when_cold(&self, azeotrope: &Azeotrope) -> bool {
        match &self.published {
            Some(published) => published.row.is("layers"),
            None => self
                .layers_at(25.0)
                .is_some_and(|[poor, rich]| poor[0] < azeotrope.x[0] && azeotrope.x[0] < rich[0]),
        }
    }

    /// The two layers at a temperature in °C, by the model; None where it stays whole, or is known to.
    pub fn layers_at(&self, celsius: f64) -> Option<[Shares; 2]> {
        if self.mixes {
            return None;
        }
        layers(&self.activity, celsius)
    }
}

impl Gap {
    fn holds(&self, x: Shares) -> bool {
        self.ends[0] < x[0] && x[0] < self.ends[1]
    }

    fn boil(&self, x: Shares) -> Boil {
        Boil {
            celsius: self.celsius,
            log_alpha: self.vapour - odds(x),
        }
    }
}
