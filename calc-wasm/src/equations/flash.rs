//! The bed of a flash column: its size, what it carries, what it takes to push liquid through.

use crate::inputs::{Field, Kind};
use crate::library::Library;
use crate::limits;
use crate::outcome::{NextStep, Outcome};
use crate::quantity::Length;

/// The column's inner diameter.
pub static DIAMETER: Field<Length> = Field::preset(
    "diameter",
    "Inner diameter",
    Kind::Quantity(&limits::COLUMN_DIAMETER),
    "20 mm",
    "Of the column.",
);

/// The height of the bed in it.
pub static BED_HEIGHT: Field<Length> = Field::preset(
    "bed_height",
    "Height of the bed",
    Kind::Quantity(&limits::BED_HEIGHT),
    "150 mm",
    "Of settled adsorbent.",
);

/// Cross-section of a tube in cm², from its inner diameter in mm.
pub fn section(diameter: f64) -> f64 {
    std::f64::consts::PI / 400.0 * diameter * diameter
}

/// Volume of the bed in mL, from diameter and height in mm.
pub fn bed_volume(diameter: f64, height: f64) -> f64 {
    section(diameter) * height / 10.0
}

/// Capacity factor of a spot: k = (1 − Rf)/Rf, for the same adsorbent on plate and column.
pub fn capacity_factor(rf: f64) -> f64 {
    (1.0 - rf) / rf
}

/// Units of polarity index for a factor of 10 in k.
pub const UNITS_PER_DECADE: f64 = 2.0;

/// Polarity index P′ of a mixture with `share` (0 to 1) of `last` in `rest`: the sum by volume.
///
/// Source: L. R. Snyder, J. Chromatogr. Sci. 16 (1978) 223.
pub fn polarity(rest: f64, last: f64, share: f64) -> f64 {
    rest + (last - rest) * share
}

/// By how much log₁₀ k rises when the polarity index goes from `from` to `to`: falls by 1 for 2.
///
/// Source: L. R. Snyder, J. Chromatogr. 92 (1974) 223. For one compound on silica.
pub fn log_k_shift(from: f64, to: f64) -> f64 {
    (from - to) / UNITS_PER_DECADE
}

/// Standard deviation of a band that leaves at `retention` from a column of `plates`, in the unit
/// of the retention: N = (V/σ)², so that N = 16·(V/w)² for a width w of 4σ at the base.
pub fn band_sigma(retention: f64, plates: f64) -> f64 {
    retention / f64::sqrt(plates)
}

/// y at `x` on the straight pieces between `point` of each of `items`, which rise in both; beyond
/// either end, in proportion to the last point. Nought without items.
#[inline(never)]
pub fn along<T>(items: &[T], point: fn(&T) -> (f64, f64), x: f64) -> f64 {
    let (mut x0, mut y0) = (0.0, 0.0);
    for item in items {
        let (x1, y1) = point(item);
        if x <= x1 {
            // Before the first point x0 is nought, and so is y0.
            return if x0 > 0.0 && x1 > x0 {
                y0 + (y1 - y0) * (x - x0) / (x1 - x0)
            } else {
                y1 * x / x1
            };
        }
        (x0, y0) = (x1, y1);
    }
    if x0 > 0.0 { y0 * x / x0 } else { 0.0 }
}

/// Height of the beds in the table of the first paper, mm.
pub const PAPER_BED: f64 = 150.0;

/// Highest load at `delta` from the loads for ΔRf 0.1 (`narrow`) and 0.2 (`wide`), mg. In between
/// the row for 0.1 holds, on the safe side; below 0.1 in proportion.
pub fn load_at(delta: f64, narrow: f64, wide: f64) -> f64 {
    // A hair of slack: 0.35 − 0.15 is a little less than 0.2.
    if delta >= 0.2 - 1e-9 {
        wide
    } else {
        narrow * (delta / 0.1).min(1.0)
    }
}

/// What a bed of `diameter` and `height` (mm) carries at ΔRf `delta`, mg, from the table of flash
/// columns; None where it is not loaded.
#[inline(never)]
pub fn carries(library: &Library, diameter: f64, height: f64, delta: f64) -> Option<f64> {
    let mut loads = Vec::new();
    for row in library.rows("flash_columns") {
        let number = |column| row.number(column);
        let load = load_at(delta, number("load_narrow")?, number("load_wide")?);
        loads.push((section(number("diameter")?), load * height / PAPER_BED));
    }
    let load = along(&loads, |point| *point, section(diameter));
    (load > 0.0).then_some(load)
}

/// Pressure drop of a packed bed in kPa: Δp = 180·μ·u·L·(1 − ε)²/(ε³·d²).
///
/// Viscosity in mPa s, flow (of the level above the bed) in cm/min, height in mm, voidage from
/// 0 to 1, grain in µm. Source: P. C. Carman, Trans. Inst. Chem. Eng. 15 (1937) 150, after
/// J. Kozeny 1927. It holds for slow flow, Reynolds number of the grain below about 1.
pub fn pressure_drop(viscosity: f64, flow: f64, height: f64, voidage: f64, grain: f64) -> f64 {
    let metres_per_second = flow / 6000.0;
    let solid = 1.0 - voidage;
    // mPa s, mm and µm² leave 10⁻³·10⁻³/10⁻¹² = 10⁶ Pa, that is 10³ kPa.
    180e3 * viscosity * metres_per_second * height * solid * solid
        / (voidage * voidage * voidage * grain * grain)
}

/// Which waste stream the eluent belongs to; not known where its solvents are not.
pub fn waste(halogenated: Option<bool>, outcome: &mut Outcome) {
    outcome
        .note("Used eluent goes to the {}; the adsorbent dries in the hood and is solid waste.")
        .text(match halogenated {
            Some(true) => "halogenated solvents",
            Some(false) => "halogen-free solvents",
            None => "halogen-free solvents, or all of it to the halogenated ones if any part of it is halogenated",
        });
}

/// What every column of silica calls for.
pub fn cautions(outcome: &mut Outcome) {
    outcome.danger("Glass under pressure: a column without stars or scratches, held at both ends, with a relief valve, a shield and goggles; let the pressure off before anything is opened.");
    outcome.danger(
        "Dust of silica harms the lungs: weigh, pour and empty it in the hood, best as a slurry.",
    );
}

/// Carries the column over to another calculator: its diameter and the height of its bed, mm.
#[inline(never)]
pub fn carry_over(diameter: f64, height: f64, next: &mut NextStep) {
    next.with("diameter", "{~4} mm").number(diameter);
    next.with("bed_height", "{~4} mm").number(height);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn follows_the_points_and_goes_on_in_proportion() {
        let points = [(1.0, 10.0), (3.0, 20.0)];
        let at = |x| along(&points, |point| *point, x);
        assert!((at(2.0) - 15.0).abs() < 1e-12);
        assert!((at(0.5) - 5.0).abs() < 1e-12);
        assert!((at(6.0) - 40.0).abs() < 1e-12);
        assert!(along(&points[..0], |point| *point, 1.0).abs() < 1e-12);
    }

    /// Rows of 20 mm of the table: 160 mg at ΔRf 0.1 and more, 400 mg at 0.2 and more.
    #[test]
    fn load_is_that_of_the_row() {
        for (delta, load) in [
            (0.05, 80.0),
            (0.1, 160.0),
            (0.15, 160.0),
            (0.35 - 0.15, 400.0),
            (0.5, 400.0),
        ] {
            let found = load_at(delta, 160.0, 400.0);
            assert!((found - load).abs() < 1e-9, "{delta}: {found}");
        }
    }

    #[test]
    fn finer_grain_costs_its_square() {
        let drop = |grain| pressure_drop(0.43, 5.0, 150.0, 0.4, grain);
        assert!((drop(25.0) / drop(50.0) - 4.0).abs() < 1e-12);
    }
}
