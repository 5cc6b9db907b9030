//! An axis with its ends, its marks, and where it lies on paper.

use super::Axis;
use crate::number;

/// The axis.
pub(super) struct Scale {
    /// The values at its ends.
    pub low: f64,
    pub high: f64,
    log: bool,
    /// Where its ends lie on paper.
    pub start: f64,
    pub end: f64,
}

impl Scale {
    /// An axis that shows `values`, from `start` to `end` on paper.
    pub fn new(axis: &Axis, values: &[f64], start: f64, end: f64) -> Self {
        let (low, high) = ends(axis, values);
        Scale {
            low,
            high,
            log: axis.log,
            start,
            end,
        }
    }

    /// Where `value` lies on paper; what is beyond an end lies a little beyond it.
    pub fn at(&self, value: f64) -> f64 {
        let share = if self.log {
            let value = value.max(self.low * 1e-3);
            libm::log(value / self.low) / libm::log(self.high / self.low)
        } else {
            (value - self.low) / (self.high - self.low)
        };
        self.start + share.clamp(-0.05, 1.05) * (self.end - self.start)
    }

    /// Whether `value` lies between the ends.
    pub fn holds(&self, value: f64) -> bool {
        let slack = 1e-9 * (self.high - self.low);
        value >= self.low - slack && value <= self.high + slack
    }

    /// Round values to mark, five or so.
    pub fn ticks(&self) -> Vec<f64> {
        if self.log {
            self.ratios()
        } else {
            self.steps()
        }
    }

    /// Round values of a logarithmic axis: the fewer in each decade, the more decades it spans.
    fn ratios(&self) -> Vec<f64> {
        let decades = libm::log10(self.high / self.low);
        let steps: &[f64] = if decades > 2.5 {
            &[1.0]
        } else if decades > 1.0 {
            &[1.0, 3.0]
        } else {
            &[1.0, 2.0, 3.0, 5.0, 7.0]
        };
        let mut ticks = Vec::new();
        for place in number::magnitude(self.low)..=number::magnitude(self.high) {
            let ten = libm::pow(10.0, f64::from(place));
            ticks.extend(
                steps
                    .iter()
                    .map(|step| step * ten)
                    .filter(|v| self.holds(*v)),
            );
        }
        ticks
    }

    /// Multiples of a round step.
    fn steps(&self) -> Vec<f64> {
        let raw = (self.high - self.low) / 5.0;
        let ten = libm::pow(10.0, f64::from(number::magnitude(raw)));
        let step = [1.0, 2.0, 5.0, 10.0]
            .into_iter()
            .map(|m| m * ten)
            .find(|s| *s >= raw * 0.999)
            .unwrap_or(10.0 * ten);
        let mut ticks = Vec::new();
        let mut count = f64::ceil(self.low / step - 1e-9);
        while count * step <= self.high + 1e-9 * step && ticks.len() < 12 {
            ticks.push(if count == 0.0 { 0.0 } else { count * step });
            count += 1.0;
        }
        ticks
    }
}

/// The values at the ends: those fixed, or such that all `values` that can be shown lie between
/// them with some room.
fn ends(axis: &Axis, values: &[f64]) -> (f64, f64) {
    let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
    for &value in values {
        if value.is_finite() && (!axis.log || value > 0.0) {
            least = least.min(value);
            most = most.max(value);
        }
    }
    let (mut low, mut high) = axis.ends.unwrap_or((least, most));
    if !low.is_finite() || !high.is_finite() {
        (low, high) = if axis.log { (1.0, 10.0) } else { (0.0, 1.0) };
    }
    if axis.log {
        low = low.max(1e-12);
        return (low, high.max(low * 1.5));
    }
    if axis.ends.is_none() {
        let room = (high - low) * 0.05;
        // A scale that nearly starts at nought had better start there.
        low = if low >= 0.0 && low < 0.3 * high {
            0.0
        } else {
            low - room
        };
        high += room;
    }
    if high - low < 1e-9 * high.abs().max(1.0) {
        (low, high) = (low - 1.0, high + 1.0);
    }
    (low, high)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scale(log: bool, values: &[f64]) -> Scale {
        let axis = Axis {
            log,
            ..Axis::default()
        };
        Scale::new(&axis, values, 0.0, 100.0)
    }

    fn found(log: bool, values: &[f64]) -> [f64; 2] {
        let scale = scale(log, values);
        [scale.low, scale.high]
    }

    fn near(found: &[f64], expected: &[f64]) {
        let same = found.len() == expected.len()
            && found
                .iter()
                .zip(expected)
                .all(|(a, b)| (a - b).abs() < 1e-9);
        assert!(same, "{found:?}, not {expected:?}");
    }

    #[test]
    fn leaves_room_and_begins_at_nought_where_it_nearly_does() {
        near(&found(false, &[10.0, 20.0]), &[9.5, 20.5]);
        near(&found(false, &[1.0, 21.0]), &[0.0, 22.0]);
        near(&found(true, &[2.0, 300.0]), &[2.0, 300.0]);
    }

    #[test]
    fn has_two_ends_whatever_is_drawn() {
        near(&found(false, &[]), &[0.0, 1.05]);
        near(&found(true, &[f64::NAN, 0.0]), &[1.0, 10.0]);
        near(&found(false, &[5.0, f64::INFINITY, 5.0]), &[4.0, 6.0]);
        near(&found(true, &[4.0, -1.0]), &[4.0, 6.0]);
    }

    #[test]
    fn marks_round_values() {
        near(
            &scale(false, &[0.0, 90.0]).ticks(),
            &[0.0, 20.0, 40.0, 60.0, 80.0],
        );
        near(
            &scale(false, &[-1.0, 1.0]).ticks(),
            &[-1.0, -0.5, 0.0, 0.5, 1.0],
        );
        near(
            &scale(true, &[1.0, 1000.0]).ticks(),
            &[1.0, 10.0, 100.0, 1000.0],
        );
        near(&scale(true, &[2.0, 30.0]).ticks(), &[3.0, 10.0, 30.0]);
    }

    #[test]
    fn a_logarithmic_axis_spreads_ratios_evenly() {
        let log = scale(true, &[1.0, 100.0]);
        near(
            &[log.at(1.0), log.at(10.0), log.at(100.0)],
            &[0.0, 50.0, 100.0],
        );
        assert!(log.at(0.0) < 0.0 && log.at(1e9) < 110.0);
        assert!(log.holds(100.0) && !log.holds(101.0));
    }
}
