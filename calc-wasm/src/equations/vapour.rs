//! The vapour-pressure curve of a known substance.
//!
//! Antoine's equation: log₁₀(p/mmHg) = A − B/(C + t/°C), with A, B, C fitted by the project's
//! script to the best published source of each substance (C. Antoine, Comptes rendus 107 (1888)
//! 681; the source of the data stands beside each substance). It holds from about 1 to 800 mmHg;
//! outside a curve's own limits it is not used.

use crate::inputs::{Entry, Field, Inputs};
use crate::library::{Library, Record};
use crate::outcome::Outcome;
use crate::plot::{Plot, Spread, spread_log};
use crate::problem::Problem;
use crate::quantity::{Measured, Pressure, Temperature};
use crate::sentence::Sentence;

/// Pressures at which the table gives the band of each curve, mmHg.
const BAND_AT: [f64; 5] = [760.0, 100.0, 30.0, 10.0, 1.0];

/// How far beyond its limits a curve is still believed, °C: the limits are themselves
/// temperatures of the source, from which the fit departs by up to this much.
const SLACK: f64 = 0.5;

/// The curve of one substance with its limits and its band.
#[derive(Debug, Clone)]
pub struct Curve<'a> {
    /// The row of the substance.
    pub record: Record<'a>,
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
    /// The curve of the substance that `input` names.
    ///
    /// # Errors
    /// A sentence, when it names none, or the table has no usable vapour pressure for it.
    #[inline(never)]
    pub fn read(inputs: &Inputs<'a>, substance: &Field<Entry>) -> Result<Self, Problem> {
        Curve::need(
            inputs.need_entry(substance)?,
            inputs.library(),
            substance.input.name,
        )
    }

    /// The curve of `substance`, a row of the table of substances; `input` is to blame.
    ///
    /// # Errors
    /// A sentence, when the table has no usable vapour pressure for it.
    #[inline(never)]
    pub fn need(substance: Record<'a>, library: &'a Library, input: &str) -> Result<Self, Problem> {
        Curve::of(substance, library).ok_or_else(|| {
            Problem::new(input, "no vapour pressure is known here for {}; use boiling-point-estimate with one observed boiling point")
                .text(substance.name())
        })
    }

    /// The curve of `substance`, a row of the table of substances; None when the table has no
    /// usable vapour pressure for it.
    #[inline(never)]
    pub fn of(substance: Record<'a>, library: &'a Library) -> Option<Self> {
        let antoine = substance.numbers("vapour_pressure")?;
        let [lowest, highest] = substance.numbers("vapour_pressure_range")?;
        let id = substance.text("vapour_pressure_source");
        Some(Curve {
            record: substance,
            name: substance.name(),
            antoine,
            lowest,
            highest,
            freezing: substance.number("melting_point"),
            band: substance
                .numbers("vapour_pressure_band")
                .unwrap_or([5.0; 5]),
            source: match library.find("sources", id) {
                Ok(row) => row.text("citation"),
                Err(_) => id,
            },
        })
    }

    /// Name of the substance.
    pub fn name(&self) -> &'a str {
        self.name
    }

    /// Adds where the data come from.
    #[inline(never)]
    pub fn cite(&self, source: &mut Sentence) {
        source
            .more("Vapour pressure of {}: {}.")
            .text(self.name)
            .text(self.source.trim_end_matches('.'));
    }

    /// Says where the data come from and where the curve holds.
    #[inline(never)]
    pub fn vouch(&self, outcome: &mut Outcome) {
        let [low, high] = self.pressures();
        self.cite(&mut outcome.source);
        outcome
            .validity
            .more("{}: from {.0} to {.0} °C, that is {~2} to {~3} mmHg; pure substance, no azeotrope, no decomposition.")
            .text(self.name)
            .number(self.coldest())
            .number(self.highest)
            .number(low)
            .number(high);
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

    /// ln of the vapour pressure in mmHg, whatever the limits; far below them it stops short of the
    /// equation's pole.
    pub fn log_pressure(&self, celsius: f64) -> f64 {
        let [a, b, c] = self.antoine;
        std::f64::consts::LN_10 * (a - b / (c + celsius).max(20.0))
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

    /// Boiling temperature at `pressure`; `input` is to blame where there is none.
    ///
    /// # Errors
    /// A sentence, when the substance is frozen there or the data do not reach so far.
    #[inline(never)]
    pub fn boiling(&self, input: &str, pressure: Measured<Pressure>) -> Result<Boiling, Problem> {
        let mmhg = pressure.value.in_mmhg();
        let celsius = self.temperature_unchecked(mmhg);
        let [low, high] = self.pressures();
        // The equation has a pole at high pressure; beyond the limits its value means nothing.
        let beyond = !celsius.is_finite() || mmhg > high * 1.5 || celsius > self.highest + SLACK;
        if beyond {
            let problem = Problem::new(
                input,
                "{} at {~4} mmHg is above the data, which end at {~3} mmHg",
            );
            return Err(problem.text(self.name).number(mmhg).number(high));
        }
        let place = "at {~4} mmHg; the data begin at {~3} mmHg";
        self.check_cold(input, celsius, place, [mmhg, low])?;
        // To first order such an error would lead below absolute zero.
        if pressure.error >= mmhg {
            return Err(Problem::new(input, "a reading error of {~3} mmHg is as large as the pressure of {~3} mmHg itself; read it with a finer gauge")
                .number(pressure.error)
                .number(mmhg));
        }
        let slope = self.slope(mmhg);
        let band = self.band(mmhg);
        let reading = slope * pressure.error;
        Ok(Boiling {
            temperature: Temperature::celsius(celsius),
            slope,
            band,
            half: f64::sqrt(band * band + reading * reading),
        })
    }

    /// Vapour pressure at `temperature` in mmHg, and the half-width of its interval; `input` is
    /// to blame where there is none.
    ///
    /// # Errors
    /// A sentence, when the substance is frozen there or the data do not reach so far.
    #[inline(never)]
    pub fn pressure(
        &self,
        input: &str,
        temperature: Measured<Temperature>,
    ) -> Result<(f64, f64), Problem> {
        let celsius = temperature.value.in_celsius();
        if celsius > self.highest + SLACK {
            let problem = Problem::new(
                input,
                "{} at {~4} °C is above the data, which end at {.0} °C",
            );
            return Err(problem.text(self.name).number(celsius).number(self.highest));
        }
        let place = "at {~4} °C; the data begin at {.0} °C";
        self.check_cold(input, celsius, place, [celsius, self.coldest()])?;
        let mmhg = self.pressure_unchecked(celsius);
        let band = self.band(mmhg);
        let half =
            f64::sqrt(band * band + temperature.error * temperature.error) / self.slope(mmhg);
        Ok((mmhg, half))
    }

    /// Refuses what is frozen, or below the data, at `celsius`; `place` says where that is, with
    /// gaps for `here` and the `end` of the data.
    fn check_cold(
        &self,
        input: &str,
        celsius: f64,
        place: &'static str,
        [here, end]: [f64; 2],
    ) -> Result<(), Problem> {
        let frozen = self.freezing.filter(|freezing| celsius < freezing - SLACK);
        let cold = celsius < self.lowest - SLACK;
        if frozen.is_none() && !cold {
            return Ok(());
        }
        let mut problem = Problem::new(input, "{} is ")
            .text(self.name)
            .more(if frozen.is_some() {
                "solid "
            } else {
                "below the data "
            })
            .more(place)
            .number(here)
            .number(end);
        if let Some(freezing) = frozen {
            problem = problem
                .more(": below its melting point, {.1} °C, a solid sublimes instead of boiling")
                .number(freezing);
        }
        Err(problem)
    }

    /// Draws the curve with its band, log pressure along the bottom, and the working point at
    /// `mmhg` and `celsius`, each with its error.
    #[inline(never)]
    pub fn plot(&self, mmhg: [f64; 2], celsius: [f64; 2], outcome: &mut Outcome) {
        let [low, high] = self.pressures();
        let plot = outcome.plot(
            "Boiling temperature of {} against pressure",
            "The boiling temperature rises with pressure, steeply at low pressure on an even scale",
        );
        plot.title.text(self.name);
        against_pressure(
            plot,
            ["where sources lie", "boiling temperature"],
            spread_log(low.max(0.5), high, 41),
            &|p| [self.temperature_unchecked(p), self.band(p)],
            mmhg,
            celsius,
        );
    }
}

/// Draws a boiling temperature against pressure: its band and its line over `pressures`, with
/// their names, from `at`, which gives temperature and half-width of the band; and the working
/// point, each side with its error.
#[inline(never)]
pub fn against_pressure(
    plot: &mut Plot,
    [range, curve]: [&'static str; 2],
    pressures: Spread,
    at: &dyn Fn(f64) -> [f64; 2],
    [mmhg, mmhg_error]: [f64; 2],
    [celsius, celsius_error]: [f64; 2],
) {
    plot.description
        .more("; the working point is {.0} °C at {~3} mmHg.")
        .number(celsius)
        .number(mmhg);
    plot.x.log("Pressure", "mmHg");
    plot.y.linear("Boiling temperature", "°C");
    let band = plot.band(range);
    for p in pressures.clone() {
        let [t, half] = at(p);
        band.three(p, t - half, t + half);
    }
    plot.line(curve).follow(pressures, &|p| at(p)[0]);
    plot.mark("{.0} °C", mmhg, celsius)
        .number(celsius)
        .error(mmhg_error.min(mmhg * 0.9), celsius_error);
}
