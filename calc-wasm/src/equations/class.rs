//! Classes of compound, and the boiling temperature of an unknown from one observation.
//!
//! Hass–Newton form: with L = log₁₀(760/p), φ = k·ln(82.06·Tb)/(2.302585·0.97),
//! T = Tb·(φ + 0.15·L)/(φ + 1.15·L), temperatures in kelvin, Tb the normal boiling point.
//! Form: H. B. Hass and R. F. Newton, as printed in the CRC Handbook of Chemistry and Physics;
//! the factors k are this project's own fit to 412 compounds, as are the bands: 95 % of those
//! lay inside ±4, ±5, ±6 and ±7 °C at 100, 30, 10 and 1 mmHg. It holds from 1 to 800 mmHg.

use crate::inputs::Choice;
use crate::outcome::NextStep;
use crate::quantity::{Measured, Pressure, Temperature};

/// The classes of compound, as authors type them.
pub static CLASSES: &[Choice] = &[
    Choice {
        name: "unknown",
        label: "not known",
    },
    Choice {
        name: "hydrocarbon",
        label: "hydrocarbon",
    },
    Choice {
        name: "halide",
        label: "halide",
    },
    Choice {
        name: "ether",
        label: "ether",
    },
    Choice {
        name: "ester",
        label: "ester or anhydride",
    },
    Choice {
        name: "ketone",
        label: "ketone",
    },
    Choice {
        name: "aldehyde",
        label: "aldehyde",
    },
    Choice {
        name: "alcohol",
        label: "alcohol",
    },
    Choice {
        name: "polyol",
        label: "polyol",
    },
    Choice {
        name: "phenol",
        label: "phenol",
    },
    Choice {
        name: "acid",
        label: "carboxylic acid",
    },
    Choice {
        name: "amine",
        label: "amine with N–H",
    },
    Choice {
        name: "tertiary amine",
        label: "tertiary amine or pyridine",
    },
    Choice {
        name: "nitrile",
        label: "nitrile",
    },
    Choice {
        name: "nitro",
        label: "nitro compound",
    },
    Choice {
        name: "amide",
        label: "amide",
    },
    Choice {
        name: "sulfur compound",
        label: "sulfur compound",
    },
];

/// The factor k of each class, without unit.
///
/// Source: this project’s own fit, as the head of this file says.
static FACTORS: [(&str, f64); 16] = [
    ("alcohol", 1.26),
    ("polyol", 1.33),
    ("phenol", 1.15),
    ("acid", 1.28),
    ("ester", 1.10),
    ("ketone", 1.08),
    ("aldehyde", 1.08),
    ("ether", 1.06),
    ("halide", 1.04),
    ("hydrocarbon", 1.04),
    ("amine", 1.10),
    ("tertiary amine", 1.06),
    ("nitrile", 1.04),
    ("nitro", 1.07),
    ("amide", 1.17),
    ("sulfur compound", 1.05),
];

/// The factor k of a class, without unit; a word that is no class counts as `unknown`.
#[inline(never)]
pub fn factor(class: &str) -> f64 {
    let of_class = FACTORS.iter().find(|(name, _)| *name == class);
    of_class.map_or(1.08, |(_, k)| *k)
}

/// Boiling temperature in kelvin at `mmhg`, from the normal boiling point `tb` in kelvin: the form
/// at the head of this file, from 1 to 800 mmHg. `k` is the [`factor`] of the class.
pub fn boiling(tb: f64, mmhg: f64, k: f64) -> f64 {
    let l = libm::log10(760.0 / mmhg);
    let phi = k * libm::log(82.06 * tb) / (std::f64::consts::LN_10 * 0.97);
    tb * (phi + 0.15 * l) / (phi + 1.15 * l)
}

/// Normal boiling point in kelvin of what boils at `t` kelvin at `mmhg`, from 1 to 800 mmHg.
///
/// `boiling` rises with `tb`, so halving the bracket always closes in on it.
pub fn normal_boiling_point(t: f64, mmhg: f64, k: f64) -> f64 {
    let (mut low, mut high) = (t * 0.5, t * 5.0);
    for _ in 0..50 {
        let middle = (low + high) / 2.0;
        if boiling(middle, mmhg, k) < t {
            low = middle;
        } else {
            high = middle;
        }
    }
    (low + high) / 2.0
}

/// Bands that were measured: ±4 °C at 100, ±5 at 30, ±6 at 10, ±7 at 1 mmHg, and nothing at 760;
/// log₁₀(760/p) first.
static MEASURED: [(f64, f64); 5] = [
    (0.0, 0.0),
    (0.881, 4.0),
    (1.404, 5.0),
    (1.881, 6.0),
    (2.881, 7.0),
];

/// Half-width in °C of an estimate that leads from `from` to `to` mmHg.
///
/// The measured bands are for a step from 760 mmHg; a step between neighbouring pressures is
/// better in proportion to its share of that way in log p (15 → 5 mmHg: about 1.5 °C at 95 %).
pub fn band(class: &str, from: f64, to: f64) -> f64 {
    let measured = |mmhg: f64| {
        let l = libm::log10(760.0 / mmhg).max(0.0);
        let mut value = 7.0 + (l - 2.881).max(0.0) * 3.0;
        for pair in MEASURED.windows(2) {
            if l <= pair[1].0 {
                value =
                    pair[0].1 + (l - pair[0].0) / (pair[1].0 - pair[0].0) * (pair[1].1 - pair[0].1);
                break;
            }
        }
        value
    };
    let low = from.min(to);
    let whole = libm::log10(760.0 / low).abs();
    let step = libm::log10(from / to).abs();
    let share = if whole > 0.05 {
        (step / whole).min(1.0)
    } else {
        1.0
    };
    let factor = match class {
        "alcohol" | "acid" | "polyol" => 2.0,
        "unknown" | "" => 2.5,
        _ => 1.0,
    };
    (measured(low).max(step * 4.0) * share * factor).max(0.3)
}

/// The estimated curve of an unknown through one observation.
#[derive(Debug, Clone, Copy)]
pub struct Estimate {
    /// Observed boiling temperature, °C.
    pub observed: f64,
    /// Pressure of the observation, mmHg.
    pub from: f64,
    /// Class of compound, as authors type it.
    pub class: &'static str,
    /// Normal boiling point, K.
    tb: f64,
    /// What the errors of the observation make of `tb`, K.
    tb_error: f64,
}

impl Estimate {
    /// From an observation: the boiling temperature, the pressure it was read at, and the class of
    /// compound as authors type it.
    pub fn of(known: Measured<Temperature>, at: Measured<Pressure>, class: &'static str) -> Self {
        let (kelvin, from) = (known.value.in_kelvin(), at.value.in_mmhg());
        let normal = |kelvin, mmhg| normal_boiling_point(kelvin, mmhg, factor(class));
        let tb = normal(kelvin, from);
        let by_temperature = normal(kelvin + known.error, from) - tb;
        let by_pressure = normal(kelvin, from + at.error) - tb;
        Estimate {
            observed: known.value.in_celsius(),
            from,
            class,
            tb,
            tb_error: libm::hypot(by_temperature, by_pressure),
        }
    }

    /// Carries the observation over to another calculator that asks for one.
    #[inline(never)]
    pub fn carry(&self, next: &mut NextStep) {
        next.with("known_temperature", "{~5} °C")
            .number(self.observed);
        next.with("known_pressure", "{~5} mmHg").number(self.from);
        next.with("kind", self.class);
    }

    /// Boiling temperature at `mmhg`, °C.
    pub fn temperature(&self, mmhg: f64) -> f64 {
        boiling(self.tb, mmhg, factor(self.class)) - 273.15
    }

    /// Pressure at which it boils at `celsius`, mmHg: the form solved for L.
    ///
    /// Nought below 0.13 of the normal boiling point in kelvin, where the form ends.
    pub fn pressure(&self, celsius: f64) -> f64 {
        let t = celsius + 273.15;
        let phi =
            factor(self.class) * libm::log(82.06 * self.tb) / (std::f64::consts::LN_10 * 0.97);
        let rest = 1.15 * t - 0.15 * self.tb;
        if rest <= 0.0 {
            return 0.0;
        }
        760.0 / libm::pow(10.0, phi * (self.tb - t) / rest)
    }

    /// Half-width of the estimate itself at `mmhg`, °C.
    pub fn band(&self, mmhg: f64) -> f64 {
        band(self.class, self.from, mmhg)
    }

    /// Half-width at `pressure` from the estimate and all reading errors, °C.
    pub fn half(&self, pressure: Measured<Pressure>) -> f64 {
        let mmhg = pressure.value.in_mmhg();
        let here = self.temperature(mmhg);
        let by_pressure = self.temperature(mmhg + pressure.error) - here;
        let by_point = boiling(self.tb + self.tb_error, mmhg, factor(self.class)) - 273.15 - here;
        let reading = libm::hypot(by_pressure, by_point);
        libm::hypot(self.band(mmhg), reading)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The form solved for the pressure is the inverse of the form.
    #[test]
    fn pressure_is_the_inverse_of_temperature() {
        for class in ["acid", "hydrocarbon", "unknown"] {
            let estimate = Estimate {
                observed: 180.0,
                from: 760.0,
                class,
                tb: 453.15,
                tb_error: 0.0,
            };
            for mmhg in [0.1, 1.0, 15.0, 300.0, 760.0] {
                let back = estimate.pressure(estimate.temperature(mmhg));
                assert!(
                    (back / mmhg - 1.0).abs() < 1e-9,
                    "{class} at {mmhg}: {back}"
                );
            }
        }
    }
}
