//! Two or more boiling points of one substance: its heat of vaporisation, and where it boils else.
//!
//! ln p = a − (ΔH/R)·(1/T) (Clausius and Clapeyron; vapour ideal, volume of the liquid
//! neglected, ΔH constant), T in K, p in mmHg, fitted by least squares in x = 1/T; R = 8.314462618
//! J/(mol K) (CODATA 2018). With x̄ the mean and z = x − x̄, the line is ȳ + b·z; from four points
//! on, a term c·q(z), q = z² − (S₃/S₂)·z − S₂/n, which is orthogonal to the line, is kept when its
//! t value is beyond the 95 % point of Student's distribution. Variance of the fitted ln p at z₀:
//! s²·(1/n + z₀²/S₂ + q₀²/S_q). The interval is that of 95 %, joined with the reading errors.
//! It holds between the readings; beyond them it drifts, for ΔH falls as T rises.

use crate::calculators::Calculator;
use crate::equations::substance;
use crate::inputs::{Cell, Field, Inputs, Kind, Row, Rows, form_only};
use crate::limits;
use crate::outcome::Outcome;
use crate::plot::spread;
use crate::problem::Problem;
use crate::quantity::{Pressure, Temperature};

/// Gas constant, kJ/(mol K).
const R: f64 = 0.008_314_462_618;

/// Student's t for 95 %, two-sided, by degrees of freedom from 1 (R. A. Fisher's table).
const STUDENT: [f64; 10] = [
    12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228,
];

static READ_TEMPERATURE: Cell<Temperature> = Cell::new(
    "temperature",
    "Temperature",
    None,
    Kind::Quantity(&limits::TEMPERATURE),
    false,
);

static READ_PRESSURE: Cell<Pressure> = Cell::new(
    "pressure",
    "Pressure",
    Some('@'),
    Kind::Quantity(&limits::PRESSURE),
    false,
);

static READINGS: Field<Rows> = Field::preset(
    "readings",
    "Readings",
    Kind::Rows(&[&READ_TEMPERATURE.column, &READ_PRESSURE.column]),
    "80 °C @ 100 mmHg; 40 °C @ 20 mmHg",
    "Temperature @ pressure; two at least, with their errors if known.",
);

static PRESSURE: Field<Pressure> = Field::preset(
    "pressure",
    "Pressure asked for",
    Kind::Quantity(&limits::PRESSURE),
    "50 mmHg",
    "Best between the readings.",
);

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "vapour-pressure-fit",
    title: "Curve through boiling points",
    question: form_only("It boiled there and there; where else, and with what heat?"),
    inputs: &[&READINGS.input, &PRESSURE.input],
    evaluate,
};

/// One reading: x = 1/T in 1/K, y = ln(p/mmHg), and the half-width of y that its errors make.
#[derive(Clone, Copy)]
struct Point {
    x: f64,
    y: f64,
    x_error: f64,
    y_error: f64,
}

/// The fitted curve, in the symbols of the opening comment.
struct Fit {
    n: f64,
    x: f64,
    y: f64,
    b: f64,
    c: f64,
    s2: f64,
    s3: f64,
    sq: f64,
    /// Standard deviation of ln p about the curve; 0 where nothing is left to judge it by.
    s: f64,
    /// Student's t for it.
    t: f64,
    points: Vec<Point>,
}

impl Fit {
    fn of(points: Vec<Point>) -> Self {
        let n = points.len() as f64;
        let (mut x, mut y) = (0.0, 0.0);
        for point in &points {
            x += point.x;
            y += point.y;
        }
        let mut fit = Fit {
            n,
            x: x / n,
            y: y / n,
            b: 0.0,
            c: 0.0,
            s2: 0.0,
            s3: 0.0,
            sq: f64::INFINITY,
            s: 0.0,
            t: 0.0,
            points,
        };
        let mut rise = 0.0;
        for point in &fit.points {
            let (z, v) = (point.x - fit.x, point.y - fit.y);
            fit.s2 += z * z;
            fit.s3 += z * z * z;
            rise += z * v;
        }
        fit.b = rise / fit.s2;
        let (mut rest, mut sq, mut bend) = (0.0, 0.0, 0.0);
        for point in &fit.points {
            let (z, v) = (point.x - fit.x, point.y - fit.y);
            let q = fit.q(z);
            rest += (v - fit.b * z) * (v - fit.b * z);
            sq += q * q;
            bend += q * v;
        }
        fit.judge(rest, n - 2.0);
        if n > 3.5 {
            let c = bend / sq;
            let curved = (rest - c * c * sq).max(0.0);
            let error = f64::sqrt(curved / (n - 3.0) / sq);
            if sq > 1e-30 && c.abs() > student(n - 3.0) * error {
                (fit.c, fit.sq) = (c, sq);
                fit.judge(curved, n - 3.0);
            }
        }
        fit
    }

    fn judge(&mut self, rest: f64, freedom: f64) {
        if freedom > 0.5 {
            (self.s, self.t) = (f64::sqrt(rest / freedom), student(freedom));
        }
    }

    #[inline(never)]
    fn q(&self, z: f64) -> f64 {
        z * z - self.s3 / self.s2 * z - self.s2 / self.n
    }

    /// d ln p/dx at `z`.
    #[inline(never)]
    fn slope(&self, z: f64) -> f64 {
        self.b + self.c * (2.0 * z - self.s3 / self.s2)
    }

    /// Pressure at x, mmHg.
    fn pressure(&self, x: f64) -> f64 {
        let z = x - self.x;
        libm::exp(self.y + self.b * z + self.c * self.q(z))
    }

    /// x where ln p is `y`; None where a curved fit never gets there, or not below 10 000 K.
    #[inline(never)]
    fn inverse(&self, y: f64) -> Option<f64> {
        // c·z² + first·z + rest = 0; of its two roots the one that the line has as c → 0.
        let first = self.slope(0.0);
        let rest = self.y - self.c * self.s2 / self.n - y;
        let root = first * first - 4.0 * self.c * rest;
        let x = self.x + 2.0 * rest / (f64::sqrt(root) - first);
        (root > 0.0 && first < 0.0 && x > 1e-4).then_some(x)
    }

    /// Half-width of mean·ȳ + slope·b + bend·c, whose mean is 1/n or 0 of the readings: scatter at
    /// 95 % and reading errors.
    #[inline(never)]
    fn half(&self, mean: f64, slope: f64, bend: f64) -> f64 {
        let variance = mean + slope * slope / self.s2 + bend * bend / self.sq;
        let scatter = self.t * self.s * f64::sqrt(variance);
        let mut readings = 0.0;
        for p in &self.points {
            let z = p.x - self.x;
            let by_x = self.slope(z) * p.x_error;
            let share = mean + z * slope / self.s2 + self.q(z) * bend / self.sq;
            readings += share * share * (p.y_error * p.y_error + by_x * by_x);
        }
        f64::sqrt(scatter * scatter + readings)
    }

    /// Half-width of the boiling temperature at x, K.
    fn temperature_half(&self, x: f64) -> f64 {
        let z = x - self.x;
        self.half(1.0 / self.n, z, self.q(z)) / (self.slope(z).abs() * x * x)
    }

    /// Half-width of the slope at the mean, K.
    fn slope_half(&self) -> f64 {
        self.half(0.0, 1.0, -self.s3 / self.s2)
    }
}

/// The least and the greatest of `of` over `points`.
#[inline(never)]
fn ends(points: &[Point], of: fn(&Point) -> f64) -> [f64; 2] {
    let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
    for point in points {
        least = least.min(of(point));
        most = most.max(of(point));
    }
    [least, most]
}

/// Student's t for 95 %; from ten degrees of freedom on by the first term of its expansion.
fn student(freedom: f64) -> f64 {
    let at = (freedom - 0.5).max(0.0) as usize;
    STUDENT.get(at).copied().unwrap_or(1.96 + 2.6 / freedom)
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let fit = Fit::of(points(inputs.rows(&READINGS))?);
    if fit.slope(0.0) >= 0.0 {
        return Err(Problem::new(
            READINGS.input.name,
            "the boiling temperature must rise with the pressure; two readings may have changed places",
        ));
    }
    let pressure = inputs.get_measured(&PRESSURE);
    let mmhg = pressure.value.in_mmhg();
    let Some(x) = fit.inverse(libm::log(mmhg)) else {
        return Err(Problem::new(
            PRESSURE.input.name,
            "too far from the readings: the fitted curve does not get there",
        ));
    };
    let by_gauge = pressure.error / (mmhg * fit.slope(x - fit.x).abs() * x * x);
    let half = libm::hypot(fit.temperature_half(x), by_gauge);
    let celsius = 1.0 / x - 273.15;
    let [low, high] = ends(&fit.points, |p| p.y);
    let inside = |mmhg: f64| (low - 0.01..=high + 0.01).contains(&libm::log(mmhg));

    outcome
        .because("ln p falls by {3} for each 0.0001 more in 1/T (1/K): the steeper, the greater the heat of vaporisation. The readings span a factor of {2} in pressure; the wider, the surer.")
        .number(-fit.slope(0.0) * 1e-4)
        .number(libm::exp(high - low));
    outcome
        .by_method("Least squares of ln p against 1/T{}; interval of 95 % from the scatter about it{}, joined with the reading errors.")
        .text(if fit.c == 0.0 {
            ", a straight line"
        } else {
            " with a curvature that the readings justify (95 %)"
        })
        .text(if fit.c == 0.0 {
            " (three readings or more)"
        } else {
            ""
        });
    outcome.from_source("Clausius–Clapeyron relation; R from CODATA 2018; Student’s t after R. A. Fisher. Trouton’s ratio: F. Trouton, Phil. Mag. 1884, 18, 54 (from memory).");
    outcome
        .valid_for("Between the readings, {~3} to {~3} mmHg; one pure substance, the same gauge and thermometer.")
        .number(libm::exp(low))
        .number(libm::exp(high));
    outcome.in_range(inside(mmhg));
    plot(&fit, x, half, outcome);
    outcome
        .number("temperature", "Boiling temperature", celsius, "°C")
        .give_or_take(half);
    heat(&fit, inside(760.0), outcome);
    notes(&fit, mmhg, inside(mmhg), outcome);
    let next = outcome.then("Which pump and pressure?", "vacuum-plan");
    next.with("known_temperature", "{.1} °C").number(celsius);
    next.with("known_pressure", "{~5} mmHg").number(mmhg);
    Ok(())
}

fn points(rows: &[Row<'_>]) -> Result<Vec<Point>, Problem> {
    let mut points = Vec::new();
    for row in rows {
        if let (Some(t), Some(p)) = (
            row.measured(&READ_TEMPERATURE),
            row.measured(&READ_PRESSURE),
        ) {
            let (kelvin, mmhg) = (t.value.in_kelvin(), p.value.in_mmhg());
            points.push(Point {
                x: 1.0 / kelvin,
                y: libm::log(mmhg),
                x_error: t.error / (kelvin * kelvin),
                y_error: p.error / mmhg,
            });
        }
    }
    let [least, most] = ends(&points, |p| p.x);
    let fault = if points.len() < 2 {
        "two readings at least; with one, use boiling-point-estimate"
    } else if 1.0 / least - 1.0 / most < 0.5 {
        "the temperatures lie too close together to give a slope; take readings at pressures that differ by a factor of two or more"
    } else {
        return Ok(points);
    };
    Err(Problem::new(READINGS.input.name, fault))
}

/// The heat of vaporisation, and the boiling point at 760 mmHg, which may lie `inside` the
/// readings.
fn heat(fit: &Fit, inside: bool, outcome: &mut Outcome) {
    let heat = -R * fit.slope(0.0);
    outcome
        .number(
            "heat_of_vaporisation",
            "Heat of vaporisation",
            heat,
            "kJ/mol",
        )
        .give_or_take(R * fit.slope_half());
    let Some(at) = fit.inverse(libm::log(760.0)) else {
        return;
    };
    let normal = 1.0 / at;
    outcome
        .number(
            "normal_boiling_point",
            "Boiling point at 760 mmHg",
            normal - 273.15,
            "°C",
        )
        .give_or_take(fit.temperature_half(at));
    let ratio = heat * 1000.0 / normal;
    outcome
        .note("Heat over normal boiling point (Trouton’s ratio) is {.0} J/(mol K), {}.")
        .number(ratio)
        .text(trouton(ratio));
    if !inside {
        outcome.note("The boiling point at 760 mmHg lies outside the readings; a straight line carried that far tends to come out some degrees too low, for the heat of vaporisation falls as the temperature rises.");
    }
}

/// What the ratio of heat to normal boiling point says of the substance, or of the readings.
fn trouton(ratio: f64) -> &'static str {
    if ratio < 75.0 {
        "low: a vapour that is paired, as of a carboxylic acid, or readings that do not belong together"
    } else if ratio <= 100.0 {
        "what most liquids have, 75 to 100"
    } else if ratio <= 130.0 {
        "high: hydrogen bonds, as of an alcohol, or readings at low pressure, where the heat is greater"
    } else {
        "too high to believe: look for a wrong reading"
    }
}

fn notes(fit: &Fit, mmhg: f64, inside: bool, outcome: &mut Outcome) {
    if !inside {
        outcome.note("The pressure asked for lies outside the readings: extrapolated.");
    }
    if fit.t == 0.0 {
        outcome.note("Two readings give a line but not how good it is; a third shows a slip.");
    } else {
        outcome
            .note("The readings scatter about the curve by {2} % in pressure.")
            .number(fit.s * 100.0);
    }
    if fit.c != 0.0 {
        outcome.note("The readings justify a curvature; the heat is that in the middle of them. A curved fit must not be carried beyond its readings.");
    }
    outcome.care("An unknown may decompose, foam or burn: small scale first, behind a screen.");
    substance::vacuum(mmhg, outcome);
    outcome.care(substance::DEFER);
}

/// Log pressure against 1/T: readings, fit, and the working point.
fn plot(fit: &Fit, x: f64, half: f64, outcome: &mut Outcome) {
    let [least, most] = ends(&fit.points, |p| p.x);
    let (least, most) = (least.min(x), most.max(x));
    let room = (most - least) * 0.05;
    let (mmhg, celsius) = (fit.pressure(x), 1.0 / x - 273.15);
    let plot = outcome.plot(
        "Pressure, by ratio, against 1/T",
        "On these axes a pure liquid gives nearly a straight line; the working point is {.0} °C at {~3} mmHg.",
    );
    plot.description.number(celsius).number(mmhg);
    plot.x.linear("1000/T", "K⁻¹");
    plot.y.log("Pressure", "mmHg");
    let line = plot.line("fit");
    for x in spread(least - room, most + room, 31) {
        line.point(x * 1000.0, fit.pressure(x));
    }
    let readings = plot.points("readings");
    for p in &fit.points {
        readings.point(p.x * 1000.0, libm::exp(p.y));
    }
    plot.mark("{.0} °C", x * 1000.0, mmhg)
        .number(celsius)
        .error(half * x * x * 1000.0, 0.0);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fit(pairs: &[(f64, f64)]) -> Fit {
        let point = |&(x, y): &(f64, f64)| Point {
            x,
            y,
            x_error: 0.0,
            y_error: 0.0,
        };
        Fit::of(pairs.iter().map(point).collect())
    }

    /// Anscombe's first set (American Statistician 27 (1973) 17): slope 0.5001, its standard
    /// error 0.1179, residual 1.237, nine degrees of freedom; and no curvature worth keeping.
    /// His second set is a parabola, −5.99 + 2.78·x − 0.127·x².
    #[test]
    fn fits_as_published() {
        let xs = [10.0, 8.0, 13.0, 9.0, 11.0, 14.0, 6.0, 4.0, 12.0, 7.0, 5.0];
        let first = [
            8.04, 6.95, 7.58, 8.81, 8.33, 9.96, 7.24, 4.26, 10.84, 4.82, 5.68,
        ];
        let second = [
            9.14, 8.14, 8.74, 8.77, 9.26, 8.10, 6.13, 3.10, 9.13, 7.26, 4.74,
        ];
        let pairs = |ys: [f64; 11]| -> Vec<(f64, f64)> { xs.into_iter().zip(ys).collect() };
        let line = fit(&pairs(first));
        assert!(line.c == 0.0);
        assert!((line.b - 0.5001).abs() < 1e-4 && (line.s - 1.237).abs() < 1e-3);
        assert!((line.slope_half() / 2.262 - 0.1179).abs() < 1e-4);
        assert!((fit(&pairs(second)).c + 0.1267).abs() < 1e-3);
    }

    /// The logarithms of pressures below 1 mmHg are negative.
    #[test]
    fn the_ends_of_low_pressures_are_theirs() {
        let low = fit(&[(0.0030, -2.0), (0.0031, -3.0), (0.0032, -4.0)]);
        let [least, most] = ends(&low.points, |p| p.y);
        let miss = (least + 4.0).abs() + (most + 2.0).abs();
        assert!(miss < 1e-12, "{least} to {most}");
    }

    #[test]
    fn the_inverse_leads_back() {
        // Curved: ln p = 20 − 4000·x − 300 000·x².
        let y = |x: f64| 20.0 - 4000.0 * x - 3e5 * x * x;
        let xs = [0.0024, 0.0026, 0.0028, 0.003, 0.0032];
        let curved = fit(&xs.map(|x| (x, y(x))));
        assert!((curved.c + 3e5).abs() < 1.0);
        let back = curved.inverse(y(0.0027)).unwrap();
        assert!((back - 0.0027).abs() < 1e-9, "{back}");
    }
}
