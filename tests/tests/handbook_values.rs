//! Values of the content's tables that were wrong once, against the handbooks named beside each.

use calc_wasm::equations::dissolving;
use forerun_tests::library;

/// CRC Handbook, 44th edition, and Lange's Handbook, 10th edition, tables of azeotropes, as
/// tabulated in Wikipedia, Azeotrope tables: °C and percent by mass of the first.
#[test]
fn azeotropes_with_water() {
    let library = library();
    for (first, celsius, percent) in [
        ("dichloromethane", 38.8, 99.6),
        ("hydrogen chloride", 110.0, 20.24),
        ("carbon tetrachloride", 66.8, 95.9),
        ("methyl acetate", 56.1, 95.0),
    ] {
        let mut rows = library.rows("azeotropes");
        let row = rows
            .find(|row| row.text("first") == first && row.text("second") == "water")
            .expect(first);
        assert_eq!(row.number("temperature"), Some(celsius), "{first}");
        assert_eq!(row.number("first_percent"), Some(percent), "{first}");
    }
}

/// Grams in 100 mL or 100 g of water.
#[test]
fn solubilities_in_water() {
    let library = library();
    let at = |solid: &str, celsius: f64| {
        let row = library.find("solubilities", solid).expect(solid);
        dissolving::solubility(&dissolving::points(row), celsius)
    };
    let near = |solid: &str, celsius: f64, low: f64, high: f64| {
        let found = at(solid, celsius).unwrap_or_else(|| panic!("{solid} at {celsius} °C"));
        assert!(
            (low..=high).contains(&found),
            "{solid} at {celsius} °C: {found}"
        );
    };
    // The Merck Index: 1 g in 185 mL of water, 20 mL of boiling water (from memory).
    near("acetanilide", 25.0, 0.54, 0.56);
    near("acetanilide", 6.0, 0.52, 0.54);
    // CRC Handbook, physical constants of organic compounds: 6.8 at 95 °C (from memory).
    near("benzoic acid", 95.0, 6.7, 6.9);
    assert_eq!(
        at("benzoic acid", 99.0),
        None,
        "no value above 95 °C is known here"
    );
    // A. Seidell, Solubilities of Organic Compounds: 1.74 at 75 °C, some 2.2 at 80 °C (from memory).
    near("salicylic acid", 75.0, 1.65, 1.85);
    near("salicylic acid", 80.0, 2.0, 2.5);
}

/// Carvone is a liquid in every store: CRC Handbook, 95th edition, (S)-carvone melts below 15 °C,
/// as tabulated in chemicals 1.5.2.
#[test]
fn carvone_is_a_liquid() {
    let library = library();
    let carvone = library.find("substances", "carvone").expect("carvone");
    assert!(
        carvone
            .number("melting_point")
            .is_some_and(|melts| melts <= 15.0)
    );
}
