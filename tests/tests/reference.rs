//! Reference tables: whether the intervals that we state hold what other sources say.

use calc_wasm::calculators;
use forerun_tests::{csv, library, pairs};

/// How many reference points lie inside the stated interval.
struct Tally {
    inside: usize,
    total: usize,
    misses: Vec<(f64, String)>,
}

impl Tally {
    fn new() -> Self {
        Tally {
            inside: 0,
            total: 0,
            misses: Vec::new(),
        }
    }

    /// Counts a point; `low` and `high` are the ends of the interval.
    fn count(&mut self, point: String, expected: f64, low: f64, high: f64) {
        self.total += 1;
        let miss = (low - expected).max(expected - high);
        // The tables are rounded to a hundredth of a degree.
        if miss <= 0.005 {
            self.inside += 1;
        } else {
            self.misses.push((
                miss,
                format!("{point}: {expected}, interval {low:.2} to {high:.2}"),
            ));
        }
    }

    /// The share inside; prints it with the largest misses.
    fn share(&mut self, what: &str) -> f64 {
        self.misses.sort_by(|a, b| b.0.total_cmp(&a.0));
        let share = self.inside as f64 / self.total.max(1) as f64;
        println!(
            "{what}: {} of {} inside ({share:.4})",
            self.inside, self.total
        );
        for (miss, point) in self.misses.iter().take(20) {
            println!("  {miss:.2} °C outside: {point}");
        }
        share
    }
}

#[test]
fn known_substances_boil_inside_their_interval() {
    let library = library();
    let calculator = calculators::find("boiling-point").expect("boiling-point");
    let substances = library.table("substances").expect("substances");
    let mut tally = Tally::new();
    let mut refused = Vec::new();
    for row in csv("tests/reference/vapour_pressure_reference.csv") {
        let (cas, mmhg) = (&row[1], &row[2]);
        let expected: f64 = row[3].parse().expect("T_C");
        let Some(record) = substances.find(cas) else {
            refused.push(format!("{}: not in the table of substances", row[0]));
            continue;
        };
        let given = pairs(&[("substance", cas), ("pressure", &format!("{mmhg} mmHg"))]);
        match calculator.run(&library, &given) {
            Ok(outcome) => {
                let figure = outcome.figure("temperature").expect("temperature");
                let (low, high) = figure.low.zip(figure.high).expect("an interval");
                tally.count(format!("{} at {mmhg} mmHg", row[0]), expected, low, high);
            }
            // No number where the liquid freezes or its curve ends; anywhere else is a failure.
            Err(problems) => {
                let frozen = record
                    .number("melting_point")
                    .is_some_and(|melts| expected < melts + 1.0);
                let beyond = record
                    .numbers::<2>("vapour_pressure_range")
                    .is_none_or(|[low, high]| expected < low + 1.0 || expected > high - 1.0);
                if !frozen && !beyond {
                    refused.push(format!("{} at {mmhg} mmHg: {problems:?}", row[0]));
                }
            }
        }
    }
    let share = tally.share("boiling-point");
    assert!(refused.is_empty(), "refused:\n{}", refused.join("\n"));
    assert!(tally.total > 700, "only {} points", tally.total);
    assert!(share >= 1.0, "{:#?}", tally.misses);
}

#[test]
fn estimates_hold_95_percent() {
    let Some(calculator) = calculators::find("boiling-point-estimate") else {
        panic!("no calculator boiling-point-estimate");
    };
    let library = library();
    let mut tally = Tally::new();
    for row in csv("tests/reference/estimate_points.csv") {
        let known = format!("{} °C", row[5]);
        let pressure = format!("{} mmHg", row[4]);
        let given = pairs(&[
            ("known_temperature", &known),
            ("known_pressure", "760 mmHg"),
            ("kind", kind(&row[3])),
            ("pressure", &pressure),
        ]);
        let outcome = calculator
            .run(&library, &given)
            .unwrap_or_else(|problems| panic!("{row:?}: {problems:?}"));
        let figure = outcome.figure("temperature").expect("temperature");
        let (low, high) = figure.low.zip(figure.high).expect("an interval");
        let expected: f64 = row[6].parse().expect("reference_T_C");
        tally.count(format!("{} at {pressure}", row[0]), expected, low, high);
    }
    assert!(tally.total > 1000, "only {} points", tally.total);
    let share = tally.share("boiling-point-estimate");
    assert!(share >= 0.95, "only {share:.3} inside");
}

/// The class as the calculator names it, from the finer classes of the reference table.
fn kind(fine: &str) -> &str {
    KINDS
        .iter()
        .find(|(name, _)| *name == fine)
        .map_or_else(|| panic!("no class for `{fine}`"), |(_, kind)| kind)
}

const KINDS: &[(&str, &str)] = &[
    ("hydrocarbon", "hydrocarbon"),
    ("alcohol", "alcohol"),
    ("halide", "halide"),
    ("ketone/aldehyde", "ketone"),
    ("sulfur", "sulfur compound"),
    ("ester/anhydride", "ester"),
    ("acid", "acid"),
    ("ether", "ether"),
    ("amine N-H", "amine"),
    ("phenol", "phenol"),
    ("nitro", "nitro"),
    ("nitrile", "nitrile"),
    ("polyol", "polyol"),
    ("amine tertiary/pyridine", "tertiary amine"),
    ("amide", "amide"),
    // Compounds with several of these groups: nobody could name one class.
    ("ether/ester/ketone", "unknown"),
    ("amine/nitrile/nitro", "unknown"),
];
