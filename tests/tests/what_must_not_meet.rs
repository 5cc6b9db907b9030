//! What must not meet in a waste can, on the demo site's own tables. Each case is common practice,
//! no source, unless a statement of Regulation (EC) 1272/2008 (CLP) is named; those are from memory.

use calc_wasm::calculators;
use calc_wasm::equations::meeting;
use calc_wasm::library::Library;
use calc_wasm::outcome::Level;
use forerun_tests::library;

/// What is said of these materials in one can.
fn said(library: &Library, materials: &[&str]) -> Result<calc_wasm::Outcome, String> {
    let rows: Vec<String> = materials
        .iter()
        .map(|material| format!("{material}: 10 mL, , one can"))
        .collect();
    run(library, &rows.join("; "))
}

fn run(library: &Library, amounts: &str) -> Result<calc_wasm::Outcome, String> {
    let calculator = calculators::find("class-quantities").expect("class-quantities");
    let given = forerun_tests::pairs(&[("amounts", amounts)]);
    calculator.run(library, &given).map_err(|problems| {
        let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
        told.join("\n")
    })
}

#[test]
fn refuses_what_reacts_in_one_can_and_says_why() {
    let library = library();
    for (materials, why) in [
        (&["nitric acid", "ethanol", "chloroform"][..], "bursts"),
        (&["nitric acid 65 %", "acetone"], "bursts"),
        (
            &["acetone", "chloroform", "sodium hydroxide"],
            "with any base",
        ),
        (
            &["butanone", "chloroform", "potassium hydroxide pellets"],
            "with any base",
        ),
        (&["dichloromethane", "sodium azide"], "explode"),
        (&["bleach", "hydrochloric acid 3 M"], "chlorine"), // EUH031
        (&["bleach", "ammonia solution"], "chloramines"),
        (&["magnesium perchlorate", "diethyl ether"], "explosive"), // H271
        (&["sodium", "dichloromethane"], "explodes"),
        (&["sodium hydride", "chloroform"], "explodes"),
        (&["sodium", "water"], "hydrogen"), // H260
        (&["sodium cyanide", "acetic acid"], "hydrogen cyanide"), // EUH032
        (&["sodium sulfide", "hydrochloric acid"], "hydrogen sulfide"), // EUH031
        (&["sodium azide", "sulfuric acid"], "hydrazoic"), // EUH032
        (&["sodium azide", "lead acetate"], "explode"),
        (&["hydrogen peroxide", "acetone"], "peroxide"),
        (&["potassium permanganate", "glycerol"], "fire"),
        (&["potassium permanganate", "hydrochloric acid"], "chlorine"),
        (&["sodium cyanide", "potassium chlorate"], "explode"),
        (&["sodium borohydride", "hydrochloric acid"], "hydrogen"),
        (&["acetyl chloride", "water"], "reacts with water"), // EUH014
        (&["acetic anhydride", "methanol"], "alcohols"),
        (&["mercury", "toluene"], "of its own"),
        (&["concentrated sulfuric acid", "toluene"], "chars"),
        (&["sulfuric acid 98 %", "acetone"], "chars"),
        (&["18 M sulfuric acid", "ethanol"], "chars"),
        (&["silver nitrate", "ammonia solution"], "silver nitride"),
        (&["silver oxide", "aqueous ammonia"], "silver nitride"),
        (&["silver nitrate", "nitric acid", "ethanol"], "fulminate"),
        (&["dimethyl sulfoxide", "acetyl chloride"], "explode"),
        (&["DMSO", "sodium hydride"], "explode"),
        (&["nitromethane", "diethylamine"], "explosive"),
    ] {
        let refusal = said(&library, materials).expect_err(&materials.join(" + "));
        assert!(refusal.contains("danger: "), "{refusal}");
        assert!(refusal.contains(why), "{refusal}");
        assert!(refusal.contains("amounts"), "names the place: {refusal}");
    }
}

#[test]
fn lets_go_together_what_may() {
    let library = library();
    for materials in [
        &["ethyl acetate", "hexane", "ethanol"][..],
        &["dichloromethane", "chloroform", "acetone"],
        &["hydrochloric acid", "brine", "water"],
        &["acetic acid", "ethanol", "water"],
        &["sodium acetate", "sodium chloride", "water", "ethanol"],
        // Its usual reduction is run in methanol, and base keeps it.
        &["sodium borohydride", "methanol", "sodium hydroxide"],
        &["silica gel", "sand", "ethyl acetate"],
        // Dilute, it is a catalyst and a wash.
        &["sulfuric acid 1 M", "ethanol", "water"],
        &["sulfuric acid 10 %", "toluene"],
        &["dimethyl sulfoxide", "ethyl acetate", "water"],
    ] {
        let outcome = said(&library, materials).unwrap_or_else(|told| panic!("{told}"));
        let never = outcome
            .cautions
            .iter()
            .find(|one| one.text.contains("must never"));
        assert!(never.is_none(), "{materials:?}: {never:?}");
        assert!(
            !outcome
                .notes
                .iter()
                .any(|note| note.contains("Not in the table"))
        );
    }
}

/// Gas and heat that are usual ask for an open vessel.
#[test]
fn asks_for_care_with_gas() {
    let library = library();
    let outcome = said(
        &library,
        &["hydrochloric acid 3 M", "sodium hydrogencarbonate"],
    )
    .unwrap_or_else(|told| panic!("{told}"));
    let gas = outcome
        .cautions
        .iter()
        .find(|one| one.text.contains("carbon dioxide"));
    assert_eq!(gas.map(|one| one.level), Some(Level::Care));
}

/// In cans of their own they are still on one bench.
#[test]
fn warns_of_what_stands_on_one_bench() {
    let library = library();
    let outcome = run(
        &library,
        "nitric acid: 10 mL, , acid; ethanol: 10 mL, , halogen-free organic",
    )
    .unwrap_or_else(|told| panic!("{told}"));
    let danger = outcome
        .cautions
        .iter()
        .find(|one| one.text.contains("must never meet"));
    assert_eq!(danger.map(|one| one.level), Some(Level::Danger));
}

/// A method may add the concentrated acid to an organic drop by drop, and make Tollens’ reagent
/// fresh: only in one can are they refused.
#[test]
fn a_method_may_bring_together_what_a_can_may_not() {
    let library = library();
    for amounts in [
        "concentrated sulfuric acid: 2 mL, , acids; ethanol: 20 mL, , halogen-free organic",
        "silver nitrate: 1 g, , silver; ammonia: 5 mL, , bases",
    ] {
        let outcome = run(&library, amounts).unwrap_or_else(|told| panic!("{told}"));
        let never = outcome
            .cautions
            .iter()
            .find(|one| one.text.contains("must never"));
        assert!(never.is_none(), "{never:?}");
        let care = outcome
            .cautions
            .iter()
            .find(|one| one.text.contains("only as the method says"));
        assert_eq!(care.map(|one| one.level), Some(Level::Danger), "{amounts}");
    }
}

/// Peroxides grow in every bottle of these, whatever its name.
#[test]
fn peroxide_formers_are_dated() {
    let library = library();
    for name in [
        "diisopropyl ether",
        "tetrahydrofuran",
        "cumene",
        "cyclohexene",
        "dioxane",
    ] {
        let outcome = said(&library, &[name]).unwrap_or_else(|told| panic!("{told}"));
        let found = outcome
            .cautions
            .iter()
            .find(|one| one.text.contains("explosive peroxides"));
        assert_eq!(found.map(|one| one.level), Some(Level::Danger), "{name}");
    }
    let outcome = said(&library, &["ethyl acetate"]).unwrap_or_else(|told| panic!("{told}"));
    assert!(
        !outcome
            .cautions
            .iter()
            .any(|one| one.text.contains("peroxides"))
    );
}

/// Wherever two are named together, not only in the cans.
#[test]
fn refuses_the_pair_in_every_calculator_that_names_two() {
    let library = library();
    for (calculator, given, why) in [
        (
            "eluent-blend",
            &[
                (
                    "solvents",
                    "chloroform: 80 %; acetone: 18 %; triethylamine: 2 %",
                ),
                ("spots", "0.2 @ 2 %; 0.5 @ 5 %"),
            ][..],
            "with any base",
        ),
        (
            "fraction-column",
            &[("light", "methanol"), ("heavy", "acetic anhydride")],
            "reacts with alcohols",
        ),
        (
            "fraction-column",
            &[("light", "diethylamine"), ("heavy", "nitromethane")],
            "explosive",
        ),
        (
            "continuous-extraction",
            &[
                ("rate_from", "power"),
                ("solvent", "acetic anhydride"),
                ("solvent_layer", "denser"),
            ],
            "reacts with water",
        ),
        (
            "recrystallisation",
            &[
                ("solubility_from", "table"),
                ("solid", "potassium chlorate in ethanol"),
                ("hot_temperature", "70 °C"),
                ("cold_temperature", "20 °C"),
            ],
            "explosive",
        ),
    ] {
        let mut library = library.clone();
        if calculator == "recrystallisation" {
            let row = "[solubilities]\nname\tsolvent\tunit\ttemperatures\tsolubilities\n\
                potassium chlorate in ethanol\tethanol\tg/100 g\t0 80\t1 10\n";
            library = Library::from_text(&format!("{row}{}", forerun_tests::flat_tables()))
                .expect("tables");
        }
        let problems = calculators::find(calculator)
            .expect(calculator)
            .run(&library, &forerun_tests::pairs(given))
            .expect_err(calculator);
        let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
        assert!(
            told.iter()
                .any(|one| one.contains("danger: ") && one.contains(why)),
            "{told:?}"
        );
    }
}

#[test]
fn keeps_halogen_out_of_cans_that_are_free_of_it() {
    let library = library();
    for name in ["chloroform", "dichloromethane", "chlorobenzene"] {
        let refusal =
            run(&library, &format!("{name}: 10 mL, , halogen-free organic")).expect_err("refused");
        assert!(refusal.contains("is halogenated"), "{refusal}");
    }
}

#[test]
fn says_what_it_does_not_know() {
    let library = library();
    // Sodium is no part of it.
    let outcome =
        said(&library, &["sodium moonshine", "water"]).unwrap_or_else(|told| panic!("{told}"));
    assert!(
        outcome
            .notes
            .iter()
            .any(|note| note.contains("sodium moonshine"))
    );
    let outcome = said(&library, &["essence of moonlight", "ethanol"])
        .unwrap_or_else(|told| panic!("{told}"));
    assert!(
        outcome
            .notes
            .iter()
            .any(|note| note.contains("Not in the table of materials: essence of moonlight"))
    );
}

/// What mixes with water makes no second layer, and what reacts with it is not distilled with steam
/// (common practice, no source). A pH is measured between −1 and 15 (common practice, no source).
#[test]
fn calculators_refuse_what_cannot_be_done() {
    let library = library();
    for (calculator, input, value, why) in [
        (
            "continuous-extraction",
            "solvent",
            "acetone",
            "mixes with water",
        ),
        (
            "continuous-extraction",
            "solvent",
            "methanol",
            "mixes with water",
        ),
        (
            "steam-distillation",
            "substance",
            "acetic anhydride",
            "reacts with water",
        ),
        ("repeated-extraction", "pH", "-2", "must be −1 to 15"),
        ("repeated-extraction", "pH", "16", "must be −1 to 15"),
    ] {
        let given = forerun_tests::pairs(&[(input, value), ("rate_from", "power")]);
        let given: Vec<_> = given
            .into_iter()
            .filter(|(name, _)| calculator == "continuous-extraction" || name != "rate_from")
            .collect();
        let problems = calculators::find(calculator)
            .expect(calculator)
            .run(&library, &given)
            .expect_err(value);
        assert!(
            problems.iter().any(|one| one.message.contains(why)),
            "{calculator} {value}: {problems:?}"
        );
    }
}

/// A kind that no material or pair knows would guard against nothing.
#[test]
fn the_two_tables_name_the_same_kinds() {
    let library = library();
    let kinds: Vec<&str> = library
        .rows("materials")
        .flat_map(|row| row.list("kinds"))
        .chain([
            "alcohol",
            "amine",
            "ketone",
            "active hydrogen",
            "acid",
            "base",
            "organic",
        ])
        .collect();
    for row in library.rows("incompatible") {
        for column in ["first", "second", "third"] {
            let kind = row.text(column);
            assert!(
                kind.is_empty() || kinds.contains(&kind),
                "{kind} is no material’s"
            );
        }
        assert!(!row.text("reason").is_empty());
    }
}

/// A kind that no pair names guards against nothing. Two say that nothing is known against the
/// material, and peroxide formers are dangerous by themselves.
#[test]
fn every_kind_is_used_by_some_pair() {
    let library = library();
    let named = |kind: &str| {
        let columns = ["first", "second", "third"];
        let mut rows = library.rows("incompatible");
        rows.any(|row| columns.iter().any(|column| row.text(column) == kind))
    };
    for row in library.rows("materials") {
        for kind in row.list("kinds").chain(row.list("concentrated")) {
            let alone = ["inert", "salt", "peroxide former"].contains(&kind);
            assert!(
                alone || named(kind),
                "no pair names {kind} ({})",
                row.name()
            );
        }
    }
    for row in library.rows("substances") {
        let material = meeting::known(&library, row.name()).expect("a substance");
        for kind in material.kinds() {
            let alone = ["inert", "salt", "peroxide former"].contains(kind);
            assert!(
                alone || named(kind),
                "no pair names {kind} ({})",
                row.name()
            );
        }
    }
}
