//! How much of a solid dissolves at a temperature between those of a table.
//!
//! Between two neighbours ln S runs straight in 1/T (T in kelvin): van ’t Hoff's equation with a
//! constant heat of solution over that step. Never beyond the ends of the table, and not across a
//! change of hydrate or a melting under the solvent.

use crate::library::Record;
use crate::quantity::digits;

/// The points of a row of the table of solubilities, coldest first: °C, g per 100 of solvent.
#[inline(never)]
pub fn points(solid: Record<'_>) -> Vec<(f64, f64)> {
    let mut points = Vec::new();
    let mut temperatures = solid.text("temperatures").split(' ');
    for dissolves in solid.text("solubilities").split(' ') {
        let celsius = temperatures.next().and_then(digits::whole);
        if let (Some(celsius), Some(dissolves)) = (celsius, digits::whole(dissolves))
            && dissolves > 0.0
        {
            points.push((celsius, dissolves));
        }
    }
    points
}

/// Solubility at `celsius` from `points`, coldest first; None beyond their ends.
pub fn solubility(points: &[(f64, f64)], celsius: f64) -> Option<f64> {
    let inverse = |t: f64| 1.0 / (t + 273.15);
    points.windows(2).find_map(|pair| {
        let [(cold, low), (hot, high)] = *pair else {
            return None;
        };
        if celsius < cold || celsius > hot || hot <= cold {
            return None;
        }
        let share = (inverse(celsius) - inverse(cold)) / (inverse(hot) - inverse(cold));
        Some(libm::exp(
            libm::log(low) + share * (libm::log(high) - libm::log(low)),
        ))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Potassium nitrate, g per 100 g of water (CRC Handbook, aqueous solubility of inorganic
    /// compounds): the value left out between its neighbours comes back within 2 %.
    #[test]
    fn finds_a_value_left_out() {
        let known = [(40.0, 63.9), (60.0, 110.0), (80.0, 169.0)];
        for (celsius, printed) in [(50.0, 85.5), (70.0, 138.0)] {
            let got = solubility(&known, celsius).unwrap();
            assert!((got / printed - 1.0).abs() < 0.02, "{celsius}: {got}");
        }
        assert_eq!(solubility(&known, 39.0), None);
        assert_eq!(solubility(&known, 81.0), None);
        assert!((solubility(&known, 60.0).unwrap() - 110.0).abs() < 1e-9);
    }
}
