//! No field is declared for nothing: each is asked for by its calculator on some input.

use std::collections::BTreeSet;

use calc_wasm::calculators;
use calc_wasm::inputs::Kind;
use forerun_tests::library;
use forerun_tests::random::{Random, inputs_for};

/// Random inputs for each calculator; a field that counts only beside two choices is reached by
/// some of so many.
const TRIES: usize = 2000;

#[test]
fn every_field_and_cell_is_read() {
    let library = library();
    let mut unread = Vec::new();
    for calculator in calculators::all() {
        let mut random = Random::new(0x5eed);
        let mut asked = BTreeSet::new();
        for _ in 0..TRIES {
            asked
                .extend(calculator.asked(&library, &inputs_for(calculator, &library, &mut random)));
        }
        for input in calculator.inputs {
            let mut names = vec![input.name.to_string()];
            if let Kind::Rows(columns) = input.kind {
                names.extend(
                    columns
                        .iter()
                        .map(|cell| format!("{}.{}", input.name, cell.name)),
                );
            }
            let missing = names.into_iter().filter(|name| !asked.contains(name));
            unread.extend(missing.map(|name| format!("{}: {name}", calculator.name)));
        }
    }
    assert!(unread.is_empty(), "declared and never read: {unread:#?}");
}
