//! The plates of a column on a real equilibrium, between two azeotropes or pure ends.
//!
//! No column leads past an azeotrope, so between two of them, or the pure ends, a stretch counts
//! by itself: s runs from 0 at the end that stays in the pot to 1 at the end that comes over.
//! Operating line (reflux ratio R, distillate s_D) and Rayleigh's balance keep their form on it:
//! s(vapour) = (R·s(liquid above) + s_D)/(R + 1), dln W = ds/(s_D − s). Only the equilibrium is
//! another. It stands as a table of ln(s/(1 − s)) of the liquid against that of its vapour, with
//! a cubic between its points that rises wherever they do (F. N. Fritsch, R. E. Carlson, SIAM J.
//! Numer. Anal. 17 (1980) 238, from memory).

use super::activity::Shares;
use super::pair::{Pair, shares};
use crate::plot::spread;

/// Points of the table, and how far they reach in ln(s/(1 − s)).
const POINTS: usize = 57;
const FARTHEST: f64 = 11.0;

/// A stretch between two ends that no column leads past.
#[derive(Debug, Clone)]
pub struct Stairs {
    /// Which of the two is enriched in what comes over: 0 the first, 1 the second.
    pub over: usize,
    /// Its share where the pot ends and where the distillate begins.
    pub ends: [f64; 2],
    /// ln(s/(1 − s)) of the vapour, rising; of the liquid; the slope between; temperature in °C.
    table: Vec<[f64; 4]>,
    /// Whether the distillate's end is an azeotrope in two layers: liquids of the last stretch all
    /// stand under that one vapour.
    flat: bool,
}

impl Stairs {
    /// The stretch that holds a charge with `feed` of the first; None where the charge is an
    /// azeotrope itself, or the two cannot be told apart.
    pub fn around(pair: &Pair<'_>, feed: f64) -> Option<Self> {
        let (mut low, mut high) = (0.0, 1.0);
        for azeotrope in &pair.azeotropes {
            if azeotrope.x[0] <= feed {
                low = azeotrope.x[0];
            } else {
                high = azeotrope.x[0];
                break;
            }
        }
        if feed - low < 1e-4 || high - feed < 1e-4 {
            return None;
        }
        let over = usize::from(pair.boil([feed, 1.0 - feed]).log_alpha < 0.0);
        let ends = if over == 0 {
            [low, high]
        } else {
            [1.0 - high, 1.0 - low]
        };
        let mut stairs = Stairs {
            over,
            ends,
            table: Vec::with_capacity(POINTS),
            flat: false,
        };
        stairs.lay(pair);
        stairs.lean();
        (stairs.table.len() > 1).then_some(stairs)
    }

    /// Lays out the table.
    fn lay(&mut self, pair: &Pair<'_>) {
        let [low, high] = self.ends;
        // What hardly dissolves parts into layers very near its pure end: the table begins before.
        let parts = pair.layers_begin(self.over).filter(|_| low <= 0.0);
        let start = parts.map_or(-FARTHEST, |share| (-FARTHEST).min(libm::log(share) - 6.0));
        for place in spread(start, FARTHEST, POINTS) {
            // Distances to both ends keep their digits where a share alone would lose them.
            let [below, above] = shares(place).map(|s| s * (high - low));
            let mut x = [low + below, 1.0 - high + above];
            if self.over == 1 {
                x.reverse();
            }
            let boil = pair.boil(x);
            let (z, rest) = (x[self.over], x[1 - self.over]);
            let log_alpha = if self.over == 1 {
                -boil.log_alpha
            } else {
                boil.log_alpha
            };
            let beta = libm::exp(-log_alpha);
            let sum = z + beta * rest;
            // How much richer the vapour is.
            let gain = z * rest * (1.0 - beta) / sum;
            let to_low = if low > 0.0 { below + gain } else { z / sum };
            let to_high = if high < 1.0 {
                above - gain
            } else {
                beta * rest / sum
            };
            if gain <= 0.0 || to_high <= 1e-9 * above {
                // Layers: all that is richer stands under the vapour of the azeotrope.
                if self.table.len() > 1 {
                    self.flat = high < 1.0 && pair.is_flat(x);
                    break;
                }
                continue;
            }
            let vapour = libm::log(to_low / to_high);
            let before = self.table.last().map_or(f64::NEG_INFINITY, |row| row[0]);
            self.table
                .push([vapour.max(before + 1e-6), place, 1.0, boil.celsius]);
        }
    }

    /// The slope at each point: of the parabola through it and its neighbours, never so steep that
    /// the cubic would fall.
    fn lean(&mut self) {
        let secant = |a: [f64; 4], b: [f64; 4]| (b[1] - a[1]) / (b[0] - a[0]);
        for at in 0..self.table.len() {
            let near = |step: usize| self.table.get((at + step).wrapping_sub(1)).copied();
            let here = self.table[at];
            let left = near(0).map(|row| (secant(row, here), here[0] - row[0]));
            let right = near(2).map(|row| (secant(here, row), row[0] - here[0]));
            self.table[at][2] = match (left, right) {
                (Some((left, before)), Some((right, after))) => {
                    let slope = (left * after + right * before) / (before + after);
                    slope.clamp(0.0, 3.0 * left.min(right))
                }
                // Far out, where a step is as high as the next.
                (one, other) => one.or(other).map_or(1.0, |(secant, _)| secant),
            };
        }
    }

    /// The same with every step of the stairs `factor` times as high.
    pub fn stretched(&self, factor: f64) -> Self {
        let mut other = self.clone();
        let mut before = f64::NEG_INFINITY;
        for row in &mut other.table {
            row[0] = (row[1] + factor * (row[0] - row[1])).max(before + 1e-6);
            before = row[0];
        }
        other.lean();
        other
    }

    /// ln(s/(1 − s)) of the liquid under a vapour whose own is `vapour`.
    pub fn under(&self, vapour: f64) -> f64 {
        let table = &self.table;
        let at = table.partition_point(|row| row[0] < vapour);
        if at == 0 {
            return table[0][1] + vapour - table[0][0];
        }
        let Some(b) = table.get(at) else {
            let last = table[table.len() - 1];
            return if self.flat {
                last[1]
            } else {
                last[1] + vapour - last[0]
            };
        };
        let a = table[at - 1];
        let width = b[0] - a[0];
        let t = (vapour - a[0]) / width;
        let r = 1.0 - t;
        r * r * ((1.0 + 2.0 * t) * a[1] + t * width * a[2])
            + t * t * ((1.0 + 2.0 * r) * b[1] - r * width * b[2])
    }

    /// Temperature in °C of a vapour of this ln(s/(1 − s)).
    pub fn celsius(&self, vapour: f64) -> f64 {
        let at = self.table.partition_point(|row| row[0] < vapour);
        let at = at.clamp(1, self.table.len() - 1);
        let (a, b) = (self.table[at - 1], self.table[at]);
        let t = ((vapour - a[0]) / (b[0] - a[0])).clamp(0.0, 1.0);
        a[3] + t * (b[3] - a[3])
    }

    /// s of a share of what comes over; below 0 or above 1 beyond the ends.
    pub fn place(&self, share: f64) -> f64 {
        (share - self.ends[0]) / (self.ends[1] - self.ends[0])
    }

    /// The share of what comes over at s.
    pub fn share(&self, place: f64) -> f64 {
        self.ends[0] + place * (self.ends[1] - self.ends[0])
    }

    /// Most that one plate multiplies s/(1 − s) by, as a logarithm.
    pub fn highest_step(&self) -> f64 {
        let steps = self.table.iter().map(|row| row[0] - row[1]);
        steps.fold(0.0, f64::max)
    }

    /// Down `plates` from the distillate, whole or not, at a reflux ratio: ln(s/(1 − s)) of the
    /// vapour over the pot. Part of a plate leads that part of the way.
    pub fn down(&self, distillate: Shares, plates: f64, reflux: f64) -> f64 {
        let odds = |s: Shares| libm::log(s[0].max(1e-300) / s[1].max(1e-300));
        let mut vapour = odds(distillate);
        let mut left = plates;
        while left > 0.0 {
            let liquid = shares(self.under(vapour));
            let line = |at: usize| (reflux * liquid[at] + distillate[at]) / (reflux + 1.0);
            let below = odds([line(0), line(1)]);
            vapour += left.min(1.0) * (below - vapour);
            left -= 1.0;
        }
        vapour
    }

    /// Plates at total reflux from `distillate` down to `pot`, both ln(s/(1 − s)), the pot
    /// counted; None where it takes more than a thousand.
    pub fn plates_between(&self, pot: f64, distillate: f64) -> Option<f64> {
        let mut at = distillate;
        for count in 0..1000 {
            let below = self.under(at);
            if below <= pot {
                return Some(f64::from(count) + (at - pot) / (at - below).max(1e-9));
            }
            at = below;
        }
        None
    }
}
