//! Batch distillation of two like compounds: how well a column parts them, and the run over it.
//!
//! x and y are shares of the lower boiling ("light") one in moles, 0 to 1; α is the relative
//! volatility p_light/p_heavy; plates count the pot. Rose's α from boiling points, Fenske's plates
//! at total reflux, Smoker's plates at a constant reflux ratio, Rayleigh's balance over the pot.
//! They hold for every plate at equilibrium and nothing held back; α is constant, or the equilibrium
//! is read from a table that ends at the azeotropes (`mixture::stairs`), and x and y are places on it.

use crate::equations::mixture::pair::shares;
use crate::equations::mixture::solve::root;
use crate::equations::mixture::stairs::Stairs;

/// Points along the run. Of 1,050 runs with α from 1.05 to 8000, 1 to 40 plates and any reflux
/// ratio, 99 % gave a main fraction within 0.3 % of the charge of what eighty times as many gave.
pub const POINTS: usize = 27;

/// ln α from boiling points in kelvin: log₁₀ α = 8.9·(T_B − T_A)/(T_A + T_B).
///
/// Source: A. Rose, Ind. Eng. Chem. 33 (1941) 594 (from memory). For like compounds at about 760 mmHg.
pub fn rose(light: f64, heavy: f64) -> f64 {
    std::f64::consts::LN_10 * 8.9 * (heavy - light) / (light + heavy)
}

/// Plates at total reflux from `pot` to `distillate`: N = ln[(x_D/(1 − x_D))·((1 − x)/x)]/ln α.
///
/// Source: M. R. Fenske, Ind. Eng. Chem. 24 (1932) 482 (from memory).
pub fn fenske(log_alpha: f64, pot: f64, distillate: f64) -> f64 {
    (logit(distillate) - logit(pot)) / log_alpha
}

/// ln(x/(1 − x)).
pub fn logit(x: f64) -> f64 {
    libm::log(x / (1.0 - x))
}

/// One moment of the run: what is left in the pot as a share of the charge, its composition, and
/// that of the distillate.
#[derive(Debug, Clone, Copy, Default)]
pub struct Moment {
    /// What is left in the pot, as a share of the charge.
    pub left: f64,
    /// The pot.
    pub pot: f64,
    /// The distillate.
    pub top: f64,
}

/// What a plain head leaves in the pot when it has come from `from` down to `to`, as a share of the
/// charge: ln(W/W₀) = [ln(x/x₀) + α·ln((1 − x₀)/(1 − x))]/(α − 1).
///
/// Source: Lord Rayleigh, Phil. Mag. 4 (1902) 521 (from memory), integrated for constant α.
pub fn rayleigh(alpha: f64, from: f64, to: f64) -> f64 {
    let log = libm::log(to / from) + alpha * libm::log((1.0 - from) / (1.0 - to));
    libm::exp(log / (alpha - 1.0)).min(1.0)
}

/// Mean of a fraction of `taken` moles, from what the pot held of the light one before and after.
pub fn mean_of_fraction(before: f64, after: f64, taken: f64) -> f64 {
    (before - after) / taken.max(1e-9)
}

/// How liquid and vapour hang together.
#[derive(Debug, Clone, Copy)]
pub enum Equilibrium<'s> {
    /// By one relative volatility, above 1.
    Constant(f64),
    /// As the table says.
    Real(&'s Stairs),
}

/// What decides a run.
#[derive(Debug, Clone, Copy)]
pub struct Still<'s> {
    /// How liquid and vapour hang together.
    pub equilibrium: Equilibrium<'s>,
    /// The charge, between 0 and 1.
    pub feed: f64,
    /// Plates, the pot counted; 1 is a plain head.
    pub plates: f64,
    /// What runs back for each part taken.
    pub reflux: f64,
}

impl Still<'_> {
    /// ln(x/(1 − x)) of the pot, where light and heavy stand in the distillate as `odds` to 1.
    fn pot(&self, odds: f64) -> f64 {
        match self.equilibrium {
            Equilibrium::Constant(alpha) => {
                let w = self.over_the_pot(alpha, odds);
                libm::log((1.0 - w).max(1e-300) / (alpha * w))
            }
            Equilibrium::Real(stairs) => {
                let rest = 1.0 / (1.0 + odds);
                stairs.under(stairs.down([odds * rest, rest], self.plates - 1.0, self.reflux))
            }
        }
    }

    /// The share w of the heavy one in the vapour over the pot, where light and heavy stand in
    /// the distillate x_D as `odds` to 1, for a constant α.
    ///
    /// One plate down makes of the vapour y the vapour (R·y/(α − (α − 1)·y) + x_D)/(R + 1). With
    /// w = 1 − y, two vapours stay as they are: the roots of a·w² + b·w − Δ = 0, where
    /// a = (R + 1)(α − 1), b = 1 − (R + Δ)(α − 1), Δ = 1 − x_D. The distance from the one over
    /// that from the other shrinks by the same factor on each plate, so that any number of
    /// plates, whole or not, is a single power: E. H. Smoker, Trans. Am. Inst. Chem. Eng. 34
    /// (1938) 165 (from memory). All sums here are of what is not negative: the purest
    /// distillate keeps its digits.
    fn over_the_pot(&self, alpha: f64, odds: f64) -> f64 {
        let rest = 1.0 / (1.0 + odds);
        let gain = alpha - 1.0;
        let a = (self.reflux + 1.0) * gain;
        let b = 1.0 - (self.reflux + rest) * gain;
        let root = f64::sqrt(b * b + 4.0 * a * rest);
        // The vapour that the plates lead down to, and the other with its sign turned.
        let (pinch, other) = if b > 0.0 {
            (2.0 * rest / (b + root), (b + root) / (2.0 * a))
        } else {
            ((root - b) / (2.0 * a), 2.0 * rest / (root - b))
        };
        let steps = self.plates - 1.0;
        let shrunk = if steps > 0.0 {
            let factor = (1.0 - gain * other).max(0.0) / (1.0 + gain * pinch);
            libm::exp(steps * libm::log(factor))
        } else {
            1.0
        };
        let w = rest * (pinch + shrunk * other + (1.0 - shrunk) / a)
            / (rest + other + shrunk * (pinch - rest).max(0.0));
        w.clamp(0.0, 1.0)
    }

    /// Distillate and pot.
    fn at(&self, odds: f64) -> (f64, f64) {
        (odds / (1.0 + odds), shares(self.pot(odds))[0])
    }

    /// The first drop, as ln(x_D/(1 − x_D)): the one under which the pot is the charge.
    ///
    /// It lies between the charge and what the plates would do at total reflux (Fenske). Where the
    /// pot cannot become as rich as the charge, the charge stands under the azeotrope's vapour.
    fn first_drop(&self) -> f64 {
        let goal = logit(self.feed);
        let step = match self.equilibrium {
            Equilibrium::Constant(alpha) => libm::log(alpha),
            Equilibrium::Real(stairs) => stairs.highest_step(),
        };
        let highest = (goal + self.plates * step).min(40.0);
        let miss = |at: f64| self.pot(libm::exp(at)) - goal;
        root(&miss, 1e-6, goal, highest)
    }

    /// The run, from the charge and the first drop to where the distillate is down to `lowest`, in
    /// even steps of ln(x_D/(1 − x_D)); the last moment is the dry pot.
    ///
    /// dln W = dx/(x_D − x), Lord Rayleigh, Phil. Mag. 4 (1902) 521 (from memory), by Simpson's
    /// rule, with the slope of the parabola through the three pots of a step.
    pub fn run(&self, lowest: f64) -> [Moment; POINTS] {
        let start = self.first_drop();
        let end = (logit(self.feed) - 1.0).min(logit(lowest));
        let half = (end - start) / (2 * (POINTS - 3)) as f64;
        let mut moments = [Moment::default(); POINTS];
        let ratio = libm::exp(half);
        let mut odds = libm::exp(start);
        let pull = |top: f64, pot: f64| 1.0 / (top - pot).max(1e-12);
        let (mut top, mut pot) = self.at(odds);
        let mut pull0 = pull(top, pot);
        let (feed, first) = (self.feed, top);
        moments[0] = Moment {
            left: 1.0,
            pot: feed,
            top,
        };
        // Until the pot is down to where the first drop is no longer the azeotrope.
        let mut log_left = if pot < feed - 1e-6 {
            libm::log(((first - feed) / (first - pot)).max(1e-300))
        } else {
            0.0
        };
        for moment in &mut moments[1..] {
            let left = match self.equilibrium {
                Equilibrium::Constant(alpha) if self.plates <= 1.0 => rayleigh(alpha, feed, pot),
                _ => libm::exp(log_left),
            };
            *moment = Moment { left, pot, top };
            let (top1, pot1) = self.at(odds * ratio);
            odds *= ratio * ratio;
            let (top2, pot2) = self.at(odds);
            let pull2 = pull(top2, pot2);
            let fall = pull0 * (4.0 * pot1 - 3.0 * pot - pot2)
                + 4.0 * pull(top1, pot1) * (pot2 - pot)
                + pull2 * (pot - 4.0 * pot1 + 3.0 * pot2);
            log_left += (fall / 6.0).min(0.0);
            (top, pot, pull0) = (top2, pot2, pull2);
        }
        moments[POINTS - 1] = Moment::default();
        moments
    }
}

/// The light one in the pot when `left` is left, between two moments: the cubic through both,
/// whose slopes are the distillates, since d(W·x) = x_D·dW.
pub fn light_left(run: &[Moment], at: usize, left: f64) -> f64 {
    let (a, b) = (run[at - 1], run[at]);
    let width = a.left - b.left;
    if width <= 0.0 {
        return b.left * b.pot;
    }
    let t = (a.left - left) / width;
    let r = 1.0 - t;
    r * r * ((1.0 + 2.0 * t) * a.left * a.pot - t * width * a.top)
        + t * t * ((1.0 + 2.0 * r) * b.left * b.pot + r * width * b.top)
}

/// Where `good` turns from false to true between two moments, as what is left in the pot.
#[inline(never)]
pub fn turning(run: &[Moment], at: usize, good: &dyn Fn(f64) -> bool) -> f64 {
    let (mut high, mut low) = (run[at - 1].left, run[at].left);
    for _ in 0..24 {
        let middle = (high + low) / 2.0;
        if good(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

/// What is left when the pot has come down to `pot`, as a share of the charge; None when it never
/// does.
pub fn left_at(run: &[Moment], pot: f64) -> Option<f64> {
    let at = (1..run.len()).find(|at| run[*at].pot <= pot)?;
    Some(turning(run, at, &|left| {
        light_left(run, at, left) <= pot * left
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn still(alpha: f64, feed: f64, plates: f64, reflux: f64) -> Still<'static> {
        Still {
            equilibrium: Equilibrium::Constant(alpha),
            feed,
            plates,
            reflux,
        }
    }

    /// Whole plates one by one, as M. Sorel's balances lead down a column (from memory).
    fn plate_by_plate(alpha: f64, top: f64, plates: usize, reflux: f64) -> f64 {
        let (mut y, mut x) = (top, top);
        for _ in 0..plates {
            x = y / (alpha - (alpha - 1.0) * y);
            y = (reflux * x + top) / (reflux + 1.0);
        }
        x
    }

    #[test]
    fn one_power_does_what_the_plates_do() {
        for alpha in [1.05, 1.2, 2.5, 8.0, 500.0] {
            for plates in [1, 2, 5, 12, 36] {
                for reflux in [0.0, 0.5, 1.0, 5.0, 100.0] {
                    for at in [-6.0, -2.0, 0.0, 3.0, 8.0] {
                        let (top, pot) = still(alpha, 0.5, plates as f64, reflux).at(libm::exp(at));
                        let expected = plate_by_plate(alpha, top, plates, reflux);
                        assert!(
                            (pot - expected).abs() < 1e-9,
                            "α {alpha}, {plates} plates, R {reflux}, {top}: {pot}, not {expected}"
                        );
                    }
                }
            }
        }
    }

    /// One equilibrium: the closed form of Rayleigh's balance for constant α.
    #[test]
    fn plain_head_follows_the_closed_form() {
        let (alpha, feed) = (2.5, 0.7);
        // A hair above one plate is summed; one plate itself is the closed form.
        let run = still(alpha, feed, 1.0 + 1e-9, 5.0).run(0.01);
        for moment in &run[..POINTS - 1] {
            let expected = rayleigh(alpha, feed, moment.pot);
            assert!(
                (moment.left - expected).abs() < 1e-5,
                "{}: {}, not {expected}",
                moment.pot,
                moment.left
            );
        }
    }

    /// At a very high reflux ratio the plates do what Fenske's equation says.
    #[test]
    fn total_reflux_follows_fenske() {
        let (top, pot) = still(2.0, 0.5, 4.0, 1e9).at(20.0);
        assert!((fenske(libm::log(2.0), pot, top) - 4.0).abs() < 1e-6);
    }
}
