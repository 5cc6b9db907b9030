//! The vapour-pressure curve of a known substance.
//!
//! Antoine's equation: log₁₀(p/mmHg) = A − B/(C + t/°C), with A, B, C fitted by the project's
//! script to the best published source of each substance (C. Antoine, Comptes rendus 107 (1888)
//! 681; the source of the data stands beside each substance). It holds from about 1 to 800 mmHg;
//! outside a curve's own limits it is not used.

use std::borrow::Cow;

use crate::library::{Library, Record};
use crate::outcome::with_unit;
use crate::plot::{Axis, OldLayer, Plot, spread_log};
use crate::quantity::{Measured, Pressure, Temperature, number};

/// Pressures at which the table gives the band of each curve, mmHg.
const BAND_AT: [f64; 5] = [760.0, 100.0, 30.0, 10.0, 1.0];

/// How far beyond its limits a curve is still believed, °C: the limits are themselves
/// temperatures of the source, from which the fit departs by up to this much.
const SLACK: f64 = 0.5;

/// The curve of one substance with its limits and its band.
#[derive(Debug, Clone)]
pub struct Curve<'a> {
    name: &'a str,
    antoine: [f64; 3],
    lowest: f64,
    highest: f64,
    freezing: Option<f64>,
    /// ± °C at the pressures of `BAND_AT`.
    band: [f64; 5],
    source: &'a str,
}

/// A temperature with the half-width of its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Boiling {
    /// Boiling temperature.
    pub temperature: Temperature,
    /// dT/dp, °C per mmHg.
    pub slope: f64,
    /// Half-width from the sources' disagreement alone, °C.
    pub band: f64,
    /// Half-width from sources and reading error together, °C.
    pub half: f64,
}

impl<'a> Curve<'a> {
    /// The curve of `substance`, a row of the table of substances.
    ///
    /// # Errors
    /// A sentence, when the table has no usable vapour pressure for it.
    pub fn of(substance: Record<'a>, library: &'a Library) -> Result<Self, String> {
        let name = substance.name();
        let missing = || {
            format!(
                "no vapour pressure is known here for {name}; use boiling-point-estimate with one observed boiling point"
            )
        };
        let antoine = substance
            .numbers::<3>("vapour_pressure")
            .ok_or_else(missing)?;
        let [lowest, highest] = substance
            .numbers("vapour_pressure_range")
            .ok_or_else(missing)?;
        let id = substance.text("vapour_pressure_source");
        let citation = library.find("sources", id).map(|row| row.text("citation"));
        Ok(Curve {
            name,
            antoine,
            lowest,
            highest,
            freezing: substance.number("melting_point"),
            band: substance
                .numbers("vapour_pressure_band")
                .unwrap_or([5.0; 5]),
            source: citation.unwrap_or(id),
        })
    }

    /// Name of the substance.
    pub fn name(&self) -> &'a str {
        self.name
    }

    /// Where the data come from.
    pub fn source(&self) -> Cow<'static, str> {
        Cow::Owned(format!(
            "Vapour pressure of {}: {}.",
            self.name,
            self.source.trim_end_matches('.')
        ))
    }

    /// Where the curve holds, in words.
    pub fn validity(&self) -> Cow<'static, str> {
        let [low, high] = self.pressures();
        Cow::Owned(format!(
            "{}: from {} to {} °C, that is {} to {} mmHg; pure substance, no azeotrope, no decomposition.",
            self.name,
            number::fixed(self.coldest(), 0),
            number::fixed(self.highest, 0),
            number::plain(low, 2),
            number::plain(high, 3)
        ))
    }

    /// Lowest temperature at which it is a liquid with data, °C.
    fn coldest(&self) -> f64 {
        self.freezing
            .map_or(self.lowest, |freezing| self.lowest.max(freezing))
    }

    /// Lowest and highest pressure of the curve, mmHg.
    pub fn pressures(&self) -> [f64; 2] {
        [
            self.pressure_unchecked(self.coldest()),
            self.pressure_unchecked(self.highest),
        ]
    }

    /// Boiling temperature in °C by the equation, whatever the limits.
    pub fn temperature_unchecked(&self, mmhg: f64) -> f64 {
        let [a, b, c] = self.antoine;
        b / (a - libm::log10(mmhg)) - c
    }

    /// Vapour pressure in mmHg by the equation, whatever the limits.
    pub fn pressure_unchecked(&self, celsius: f64) -> f64 {
        let [a, b, c] = self.antoine;
        libm::pow(10.0, a - b / (c + celsius))
    }

    /// dT/dp at `mmhg`, °C per mmHg: B/(ln 10·p·(A − log p)²).
    pub fn slope(&self, mmhg: f64) -> f64 {
        let [a, b, _] = self.antoine;
        let rest = a - libm::log10(mmhg);
        b / (std::f64::consts::LN_10 * mmhg * rest * rest)
    }

    /// Half-width in °C by which sources disagree at `mmhg`, interpolated in log p.
    pub fn band(&self, mmhg: f64) -> f64 {
        let last = BAND_AT.len() - 1;
        if mmhg >= BAND_AT[0] {
            return self.band[0];
        }
        for at in 0..last {
            if mmhg >= BAND_AT[at + 1] {
                let share =
                    libm::log(BAND_AT[at] / mmhg) / libm::log(BAND_AT[at] / BAND_AT[at + 1]);
                return self.band[at] + share * (self.band[at + 1] - self.band[at]);
            }
        }
        self.band[last]
    }

    /// Boiling temperature at `pressure`.
    ///
    /// # Errors
    /// A sentence, when the substance is frozen there or the data do not reach so far.
    pub fn boiling(&self, pressure: Measured<Pressure>) -> Result<Boiling, String> {
        let mmhg = pressure.value.in_mmhg();
        let celsius = self.temperature_unchecked(mmhg);
        let [low, high] = self.pressures();
        // The equation has a pole at high pressure; beyond the limits its value means nothing.
        let beyond = !celsius.is_finite() || mmhg > high * 1.5 || celsius > self.highest + SLACK;
        if beyond {
            return Err(format!(
                "{} at {} mmHg is above the data, which end at {} mmHg",
                self.name,
                number::plain(mmhg, 4),
                number::plain(high, 3)
            ));
        }
        self.check_cold(celsius, || {
            format!(
                "at {} mmHg; the data begin at {} mmHg",
                number::plain(mmhg, 4),
                number::plain(low, 3)
            )
        })?;
        // To first order such an error would lead below absolute zero.
        if pressure.error >= mmhg {
            return Err(format!(
                "a reading error of {} mmHg is as large as the pressure of {} mmHg itself; read it with a finer gauge",
                number::plain(pressure.error, 3),
                number::plain(mmhg, 3)
            ));
        }
        let slope = self.slope(mmhg);
        let band = self.band(mmhg);
        let reading = slope * pressure.error;
        Ok(Boiling {
            temperature: Temperature::celsius(celsius),
            slope,
            band,
            half: libm::sqrt(band * band + reading * reading),
        })
    }

    /// Vapour pressure at `temperature` in mmHg, and the half-width of its interval.
    ///
    /// # Errors
    /// A sentence, when the substance is frozen there or the data do not reach so far.
    pub fn pressure(&self, temperature: Measured<Temperature>) -> Result<(f64, f64), String> {
        let celsius = temperature.value.in_celsius();
        let shown = number::plain(celsius, 4);
        if celsius > self.highest + SLACK {
            return Err(format!(
                "{} at {shown} °C is above the data, which end at {} °C",
                self.name,
                number::fixed(self.highest, 0)
            ));
        }
        self.check_cold(celsius, || {
            format!(
                "at {shown} °C; the data begin at {} °C",
                number::fixed(self.coldest(), 0)
            )
        })?;
        let mmhg = self.pressure_unchecked(celsius);
        let band = self.band(mmhg);
        let half =
            libm::sqrt(band * band + temperature.error * temperature.error) / self.slope(mmhg);
        Ok((mmhg, half))
    }

    /// The curve with its band, log pressure along the bottom, and the working point at `mmhg`
    /// and `celsius` with its error box.
    pub fn plot(&self, mmhg: f64, mmhg_error: f64, celsius: f64, celsius_error: f64) -> Plot {
        let [low, high] = self.pressures();
        let points = spread_log(low.max(0.5), high, 41)
            .map(|p| (p, self.temperature_unchecked(p), self.band(p)))
            .collect();
        against_pressure(
            format!("Boiling temperature of {} against pressure", self.name),
            "The boiling temperature rises with pressure, steeply at low pressure on an even scale",
            ["where sources lie", "boiling temperature"],
            points,
            [(mmhg, mmhg_error), (celsius, celsius_error)],
        )
    }

    fn check_cold(&self, celsius: f64, place: impl Fn() -> String) -> Result<(), String> {
        if let Some(freezing) = self.freezing.filter(|freezing| celsius < freezing - SLACK) {
            return Err(format!(
                "{} is solid {}: below its melting point, {} °C, a solid sublimes instead of boiling",
                self.name,
                place(),
                number::fixed(freezing, 1)
            ));
        }
        if celsius < self.lowest - SLACK {
            return Err(format!("{} is below the data {}", self.name, place()));
        }
        Ok(())
    }
}
/// A boiling temperature against pressure: its band and its line through `points` (mmHg, °C,
/// half-width of the band) with their `names`, and the working point, each side with its error.
pub fn against_pressure(
    title: String,
    seen: &str,
    names: [&str; 2],
    points: Vec<(f64, f64, f64)>,
    [(mmhg, mmhg_error), (celsius, celsius_error)]: [(f64, f64); 2],
) -> Plot {
    let band = points.iter().map(|(p, t, half)| (*p, t - half, t + half));
    let line = points.iter().map(|(p, t, _)| (*p, *t));
    Plot::old(
        title,
        format!(
            "{seen}; the working point is {} °C at {} mmHg.",
            number::fixed(celsius, 0),
            number::plain(mmhg, 3)
        ),
        Axis::old_log("Pressure", "mmHg"),
        Axis::old_linear("Boiling temperature", "°C"),
        vec![
            OldLayer::Band {
                label: names[0].into(),
                points: band.collect(),
            },
            OldLayer::Line {
                label: names[1].into(),
                points: line.collect(),
            },
            OldLayer::Mark {
                label: with_unit(number::fixed(celsius, 0), "°C"),
                x: mmhg,
                y: celsius,
                dx: mmhg_error.min(mmhg * 0.9),
                dy: celsius_error,
            },
        ],
    )
}
