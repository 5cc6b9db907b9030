//! How long each calculator takes, with its presets: the evaluation, and writing the answer as
//! HTML. A measurement that a busy machine spoils, so it runs only when asked for:
//! `cargo test --release -p forerun-tests --test speed -- --ignored --nocapture`.

use std::hint::black_box;
use std::time::Instant;

use calc_wasm::calculators;
use calc_wasm::report;
use forerun_tests::library;

/// The most that one evaluation may take, in µs.
const MOST: f64 = 50.0;
/// The same where a real mixture is worked out: some hundred bubble points, and layers.
const MOST_OF_MIXTURES: f64 = 1500.0;
const MIXTURES: [&str; 2] = ["mixture-boiling", "fraction-column"];
/// Each figure is the best of this many rounds, which other work on the machine spoils least.
const ROUNDS: usize = 40;

/// The time of one call in µs.
fn time<T>(mut call: impl FnMut() -> T) -> f64 {
    let calls = 50;
    (0..ROUNDS)
        .map(|_| {
            let started = Instant::now();
            for _ in 0..calls {
                black_box(call());
            }
            started.elapsed().as_secs_f64() * 1e6 / f64::from(calls)
        })
        .fold(f64::INFINITY, f64::min)
}

#[test]
#[ignore = "a measurement, to be run by itself on a quiet machine"]
fn every_calculator_is_quick() {
    let library = library();
    let mut slow = Vec::new();
    println!("{:<24} {:>12} {:>12}", "µs", "evaluation", "writing");
    for calculator in calculators::all() {
        let evaluation = time(|| calculator.run(&library, &[]));
        let both = time(|| report::result(calculator, &library, "c", &[], "../"));
        println!(
            "{:<24} {evaluation:>12.1} {:>12.1}",
            calculator.name,
            both - evaluation
        );
        let most = if MIXTURES.contains(&calculator.name) {
            MOST_OF_MIXTURES
        } else {
            MOST
        };
        if evaluation > most {
            slow.push(format!("{}: {evaluation:.1} µs", calculator.name));
        }
    }
    assert!(slow.is_empty(), "too slow: {}", slow.join("; "));
}
