//! Real mixtures: activity coefficients against the reference implementation, and what follows
//! from them against published values and against sums worked apart from the core.

use calc_wasm::equations::mixture::activity::Activity;
use forerun_tests::{csv, library};

/// The reference is thermo's own modified UNIFAC; see `tests/reference/README.md`.
#[test]
fn activity_coefficients_agree_with_the_reference() {
    let library = library();
    let rows = csv("tests/reference/activity.csv");
    assert!(rows.len() >= 400, "{} rows", rows.len());
    let mut worst: f64 = 0.0;
    for row in &rows {
        let number = |at: usize| row[at].parse::<f64>().expect("a number");
        let substance = |at: usize| library.find("substances", &row[at]).expect("a substance");
        let pair = [substance(0), substance(1)];
        let activity = Activity::of(pair, ["first", "second"], &library)
            .unwrap_or_else(|problem| panic!("{row:?}: {problem}"));
        let x = number(3);
        let logs = activity.at(number(2)).log_gamma([x, 1.0 - x]);
        for (side, log) in logs.into_iter().enumerate() {
            let miss = (libm::exp(log) / number(4 + side) - 1.0).abs();
            assert!(miss < 1e-6, "{row:?}: {}", libm::exp(log));
            worst = worst.max(miss);
        }
    }
    println!("largest relative difference {worst:.1e}");
}

/// What is not published is refused with a sentence, and never taken as nought.
#[test]
fn refuses_what_no_parameters_cover() {
    let library = library();
    let substance = |name| library.find("substances", name).expect("a substance");
    for (one, other, said) in [
        ("glycerol", "water", "no published groups make up glycerol"),
        ("furfural", "morpholine", "do not cover all their groups"),
    ] {
        let told = Activity::of(
            [substance(one), substance(other)],
            ["first", "second"],
            &library,
        );
        let told = told.expect_err("a refusal").message.to_string();
        assert!(told.contains(said), "{told}");
    }
}
