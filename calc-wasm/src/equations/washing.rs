//! Washing again and again: what stays after equal steps, and how many steps a recovery needs.
//!
//! Each step leaves the share q of what was there, so n steps leave qⁿ, and a recovery R needs
//! n = ln(1 − R)/ln q of them, rounded up. Mass balance; it holds while every step is alike.

use crate::inputs::{Field, Inputs};
use crate::limits;
use crate::plot::{Layer, spread};
use crate::problem::Problem;
use crate::quantity::{Fraction, Number};

/// Share left after `steps` steps that leave `kept` each.
pub fn left(kept: f64, steps: f64) -> f64 {
    libm::pow(kept, steps)
}

/// How a number of steps is asked for.
#[derive(Debug)]
pub struct Asked {
    /// The field that may give it.
    pub steps: &'static Field<Option<Number>>,
    /// The recovery that may be given in its place.
    pub target: &'static Field<Option<Fraction>>,
    /// What is wrong when a recovery is given as well.
    pub both: &'static str,
    /// What is wrong when no number that may be given reaches the recovery.
    pub never: &'static str,
}

/// Whole steps: as many as are given, or as the recovery needs where each step adds
/// `ln_kept` to the logarithm of the share left.
///
/// # Errors
/// When both are given, or more steps are needed than may be given.
#[inline(never)]
pub fn steps(inputs: &Inputs<'_>, ln_kept: f64, asked: &Asked) -> Result<f64, Problem> {
    let target = inputs.quantity(asked.target).map(Fraction::in_ones);
    match (inputs.count(asked.steps)?, target) {
        (Some(_), Some(_)) => Err(Problem::new(asked.steps.input.name, asked.both)),
        (Some(count), None) => Ok(count),
        (None, target) => {
            let ln_left = libm::log1p(-target.unwrap_or(0.99));
            // A hair less, so that a target that three steps just reach does not ask for a fourth.
            let steps = f64::ceil(ln_left / ln_kept - 1e-9).max(1.0);
            if steps <= limits::COUNT.highest {
                Ok(steps)
            } else {
                Err(Problem::new(asked.target.input.name, asked.never))
            }
        }
    }
}

/// Draws what is brought out, in percent, after each of none to `steps` steps.
#[inline(never)]
pub fn recoveries(line: &mut Layer, kept: f64, steps: f64) {
    let whole = spread(0.0, steps, steps as usize + 1);
    line.follow(whole, &|step| (1.0 - left(kept, step)) * 100.0);
}
