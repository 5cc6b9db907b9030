//! No column passes an azeotrope: each pair of the table is refused or labelled, none given a
//! purity in silence. The values of the table carry their sources row by row.

use calc_wasm::calculators;
use calc_wasm::outcome::Level;
use forerun_tests::{library, pairs};

/// What is said of the two, whichever boils lower; an answer or the refusal.
fn said(first: &str, second: &str, pressure: &str) -> Result<calc_wasm::Outcome, String> {
    let library = library();
    let column = calculators::find("fraction-column").expect("fraction-column");
    let mut refusals = String::new();
    for (light, heavy) in [(first, second), (second, first)] {
        let given = pairs(&[("light", light), ("heavy", heavy), ("pressure", pressure)]);
        match column.run(&library, &given) {
            Ok(outcome) => return Ok(outcome),
            Err(problems) => {
                for problem in problems {
                    refusals.push_str(&problem.message);
                    refusals.push('\n');
                }
            }
        }
    }
    Err(refusals)
}

#[test]
fn every_pair_of_the_table_is_refused_at_its_pressure() {
    let library = library();
    let mut tried = 0;
    for row in library.rows("azeotropes") {
        let [first, second] = ["first", "second"].map(|column| row.text(column));
        let known = |name| library.find("substances", name).is_ok();
        if !known(first) || !known(second) {
            continue;
        }
        tried += 1;
        let pressure = format!("{} mmHg", row.text("pressure"));
        let refusal = said(first, second, &pressure).expect_err(row.name());
        assert!(refusal.contains("which no column passes"), "{refusal}");
    }
    assert!(tried > 90, "{tried}");
}

/// Pairs of which it was said that they have an azeotrope (R. C. Weast, CRC Handbook, tables of
/// azeotropes; from memory).
#[test]
fn knows_the_pairs_of_a_teaching_laboratory() {
    for (first, second) in [
        ("pentane", "acetone"),
        ("acetone", "cyclohexane"),
        ("ethyl acetate", "heptane"),
        ("dichloromethane", "methanol"),
        ("tetrahydrofuran", "hexane"),
        ("ethyl acetate", "hexane"),
        ("methanol", "tert-butyl methyl ether"),
    ] {
        assert!(
            said(first, second, "760 mmHg").is_err(),
            "{first} and {second}"
        );
    }
}

/// Unlike pairs are labelled; that an azeotrope is likely is said of none, for methanol or acetone
/// with water has none at one atmosphere (any handbook; from memory).
#[test]
fn unlike_pairs_are_labelled_and_nothing_is_claimed() {
    for (first, second) in [
        ("methanol", "water"),
        ("acetone", "water"),
        ("acetone", "toluene"),
        ("ethanol", "1,4-dioxane"),
    ] {
        let outcome = said(first, second, "760 mmHg").unwrap_or_else(|told| panic!("{told}"));
        assert!(outcome.extrapolated, "{first} and {second}");
        let care = outcome
            .cautions
            .iter()
            .find(|one| one.text.contains("look the pair up"));
        assert_eq!(care.map(|one| one.level), Some(Level::Care));
        assert!(!outcome.notes.iter().any(|note| note.contains("likely")));
    }
    let alike = said("cyclohexane", "toluene", "760 mmHg").unwrap_or_else(|told| panic!("{told}"));
    assert!(!alike.extrapolated);
}

/// Far from the pressure of the table the pair may part: figures, labelled.
#[test]
fn at_another_pressure_it_is_said_to_shift() {
    let outcome = said("ethanol", "water", "100 mmHg").unwrap_or_else(|told| panic!("{told}"));
    assert!(outcome.extrapolated);
    assert!(
        outcome
            .cautions
            .iter()
            .any(|one| one.text.contains("shifts with the pressure"))
    );
}
