//! Roots of one unknown, in so many rounds and no more.

/// Where `f` passes nought between `low` and `high`: false position with the stale end halved (the
/// Illinois rule), and a plain halving now and then, until |f| is below `close` or the ends meet,
/// after 90 rounds at the latest. Where the sign is the same at both ends: the end nearer to nought.
pub fn root(f: &dyn Fn(f64) -> f64, close: f64, mut low: f64, mut high: f64) -> f64 {
    let (mut under, mut over) = (f(low), f(high));
    if (under > 0.0) == (over > 0.0) {
        return if under.abs() < over.abs() { low } else { high };
    }
    let mut stale = 0;
    for round in 1..=90 {
        let middle = if round % 4 == 0 {
            (low + high) / 2.0
        } else {
            (low * over - high * under) / (over - under)
        };
        let here = f(middle);
        if here.abs() < close || (high - low).abs() < 1e-14 {
            return middle;
        }
        if (here > 0.0) == (under > 0.0) {
            (low, under) = (middle, here);
            over *= if stale < 0 { 0.5 } else { 1.0 };
            stale = -1;
        } else {
            (high, over) = (middle, here);
            under *= if stale > 0 { 0.5 } else { 1.0 };
            stale = 1;
        }
    }
    (low + high) / 2.0
}

/// The temperature in °C at which `log_pressure` comes to `goal`, from a first `guess`, by secants
/// no longer than 30 °C, in 60 rounds at most; None where it does not.
pub fn boils_at(log_pressure: &dyn Fn(f64) -> f64, goal: f64, guess: f64) -> Option<f64> {
    // Near 1 atm, pressures rise by about 3.5 % for a degree.
    let mut slope = 0.035;
    let mut celsius = guess;
    let mut miss = log_pressure(celsius) - goal;
    for _ in 0..60 {
        if miss.abs() < 1e-12 || miss.is_nan() {
            break;
        }
        let step = (-miss / slope).clamp(-30.0, 30.0);
        celsius = (celsius + step).clamp(-200.0, 900.0);
        let before = miss;
        miss = log_pressure(celsius) - goal;
        let found = (miss - before) / step;
        if found > 0.003 && found < 3.0 {
            slope = found;
        }
    }
    (miss.abs() < 1e-7).then_some(celsius)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_a_root_or_the_nearer_end() {
        let cube = |x: f64| x * x * x - 2.0;
        assert!((root(&cube, 1e-14, 0.0, 9.0) - libm::cbrt(2.0)).abs() < 1e-12);
        assert!((root(&cube, 1e-14, 3.0, 9.0) - 3.0).abs() < 1e-12);
        assert_eq!(boils_at(&|_| f64::NAN, 1.0, 50.0), None);
        assert_eq!(boils_at(&|_| 0.0, 1.0, 50.0), None);
        let found = boils_at(&|t| t / 25.0, 4.0, 20.0).unwrap();
        assert!((found - 100.0).abs() < 1e-9, "{found}");
    }
}
