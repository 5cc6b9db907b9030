//! What harms people is said wherever a substance is named: by the hazard statements of its row.
//! Wording of the statements: Regulation (EC) 1272/2008 (CLP), Annex III; which substance has which:
//! the same, Annex VI (from memory); what else is held here is common practice, no source.

use calc_wasm::calculators;
use calc_wasm::outcome::{Level, Outcome};
use forerun_tests::{library, pairs};

fn ask(calculator: &str, given: &[(&str, &str)]) -> Result<Outcome, String> {
    let calculator = calculators::find(calculator).expect(calculator);
    let answer = calculator.run(&library(), &pairs(given));
    answer.map_err(|problems| {
        let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
        told.join("\n")
    })
}

/// The caution that holds these words.
fn caution<'o>(outcome: &'o Outcome, words: &str) -> Option<(Level, &'o str)> {
    let mut cautions = outcome.cautions.iter();
    let found = cautions.find(|caution| caution.text.contains(words))?;
    Some((found.level, &found.text))
}

/// The statements stand at every solvent of an eluent, and wherever a substance is asked for.
#[test]
fn says_what_a_solvent_does_to_people() {
    for (solvents, words) in [
        (
            "dichloromethane: 95 %; ethyl acetate",
            "dichloromethane: suspected of causing cancer (H351)",
        ),
        (
            "hexane: 50 %; chloroform",
            "suspected of causing cancer (H351)",
        ),
        (
            "hexane: 50 %; 1,2-dichloroethane",
            "may cause cancer (H350)",
        ),
        ("hexane: 50 %; benzene", "may cause cancer (H350)"),
        (
            "hexane: 50 %; ethyl acetate",
            "fertility or the unborn child (H361)",
        ),
        ("hexane: 50 %; ethyl acetate", "(H372: the nerves)"),
        (
            "petroleum ether 40–60: 50 %; diethyl ether",
            "diethyl ether forms explosive peroxides",
        ),
    ] {
        let outcome = ask(
            "eluent-blend",
            &[("solvents", solvents), ("target_rf", "0.25")],
        )
        .unwrap_or_else(|told| panic!("{solvents}: {told}"));
        assert!(
            caution(&outcome, words).is_some(),
            "{words} in {:#?}",
            outcome.cautions
        );
    }
    for (calculator, input, name, words) in [
        (
            "boiling-point",
            "substance",
            "benzene",
            "may cause cancer (H350)",
        ),
        ("bath-setting", "substance", "hexane", "(H372: the nerves)"),
        (
            "flash-column",
            "solvent",
            "dichloromethane",
            "cancer (H351)",
        ),
        ("flash-flow", "solvent", "dichloromethane", "cancer (H351)"),
        (
            "class-quantities",
            "amounts",
            "chloroform: 10 mL",
            "cancer (H351)",
        ),
        (
            "class-quantities",
            "amounts",
            "DCM technical grade: 10 mL",
            "cancer (H351)",
        ),
        (
            "cold-trap",
            "substance",
            "benzene",
            "may cause cancer (H350)",
        ),
    ] {
        let given = [(input, name), ("fluid", "water")];
        let given = if calculator == "bath-setting" {
            &given[..]
        } else {
            &given[..1]
        };
        let outcome = ask(calculator, given).unwrap_or_else(|told| panic!("{told}"));
        assert!(
            caution(&outcome, words).is_some(),
            "{calculator}: {:#?}",
            outcome.cautions
        );
    }
}

/// Poison and tears travel with the steam.
#[test]
fn steam_carries_poison_and_tears() {
    for (substance, words) in [
        ("aniline", "poison"),
        ("nitrobenzene", "poison"),
        ("benzyl chloride", "tears"),
    ] {
        let outcome = ask("steam-distillation", &[("substance", substance)]);
        let outcome = outcome.unwrap_or_else(|told| panic!("{told}"));
        let found = caution(&outcome, words);
        assert_eq!(
            found.map(|(level, _)| level),
            Some(Level::Danger),
            "{substance}"
        );
    }
    let harmless = ask("steam-distillation", &[("substance", "methyl benzoate")]);
    let harmless = harmless.unwrap_or_else(|told| panic!("{told}"));
    assert!(caution(&harmless, "poison").is_none());
}

/// What single substances do when they are heated.
#[test]
fn says_what_decomposes_and_what_polymerises() {
    for (substance, words) in [
        ("dimethyl sulfoxide", "decomposes"),
        ("styrene", "polymerises"),
    ] {
        let outcome = ask(
            "boiling-point",
            &[("substance", substance), ("pressure", "20 mmHg")],
        );
        let outcome = outcome.unwrap_or_else(|told| panic!("{told}"));
        let found = caution(&outcome, words);
        assert_eq!(
            found.map(|(level, _)| level),
            Some(Level::Danger),
            "{substance}"
        );
    }
    let outcome = ask("boiling-point", &[("substance", "toluene")]);
    let outcome = outcome.unwrap_or_else(|told| panic!("{told}"));
    assert!(
        caution(&outcome, "hot surface").is_some(),
        "vapour is lit by a hot plate as well"
    );
}

/// Sodium explodes with chlorinated solvents.
#[test]
fn no_chlorinated_solvent_is_dried_over_sodium() {
    let library = library();
    let tables = std::fs::read_to_string(forerun_tests::root().join("content/data/solvents.toml"));
    let tables: toml::Table = tables.expect("solvents").parse().expect("TOML");
    let mut tried = 0;
    for row in tables["row"].as_array().expect("rows") {
        if row["halogenated"].as_bool() == Some(true) {
            tried += 1;
            let drying = row["drying"].as_str().expect("drying");
            assert!(
                drying.contains("never sodium metal"),
                "{}: {drying}",
                row["name"]
            );
        }
    }
    assert!(tried >= 5, "{tried}");
    assert!(library.table("solvents").is_some());
}

/// Thin-layer plates of one mixture say little of a strong solvent: in dichloromethane some 5 % of
/// methanol do what hexane asks 50 % of ethyl acetate for (common practice, no source).
#[test]
fn strong_solvents_need_two_plates() {
    let one = ask(
        "eluent-blend",
        &[
            ("solvents", "dichloromethane: 97 %; methanol"),
            ("spots", "0.2 @ 3 %"),
        ],
    );
    let refusal = one.expect_err("one plate");
    assert!(refusal.contains("two plates"), "{refusal}");
    let two = ask(
        "eluent-blend",
        &[
            ("solvents", "dichloromethane: 97 %; methanol"),
            ("spots", "0.15 @ 2 %; 0.5 @ 8 %"),
            ("target_rf", "0.35"),
        ],
    )
    .unwrap_or_else(|told| panic!("{told}"));
    // log k is straight over log φ (E. Soczewiński, Anal. Chem. 41 (1969) 179; from memory): between
    // k = 5.67 at 2 % and 1 at 8 %, k = 1.857 stands at 4.88 % (exact arithmetic).
    let share = two
        .figure("proportion")
        .and_then(|figure| figure.number())
        .expect("a share");
    assert!((share - 4.88).abs() < 0.01, "{share}");
}

/// Pairs that make two layers are no eluent (common practice, no source), nor what stays with the
/// product or washes the silica out.
#[test]
fn eluents_mix_and_suit_silica() {
    for (solvents, words) in [
        ("hexane: 95 %; methanol", "do not mix"),
        ("heptane: 90 %; acetonitrile", "do not mix"),
        ("toluene: 90 %; water", "do not mix"),
        (
            "ethyl acetate: 90 %; dimethyl sulfoxide",
            "does not suit silica",
        ),
        (
            "ethyl acetate: 90 %; N,N-dimethylformamide",
            "does not suit silica",
        ),
        ("ethyl acetate: 90 %; nitromethane", "does not suit silica"),
    ] {
        let spots = "0.2 @ 5 %; 0.5 @ 10 %";
        let refusal =
            ask("eluent-blend", &[("solvents", solvents), ("spots", spots)]).expect_err(solvents);
        assert!(refusal.contains(words), "{solvents}: {refusal}");
    }
    // A third one joins them.
    let joined = "hexane: 50 %; ethyl acetate: 45 %; methanol: 5 %";
    let given = [("solvents", joined), ("spots", "0.2 @ 2 %; 0.4 @ 8 %")];
    assert!(ask("eluent-blend", &given).is_ok());
}

/// A hot spot lights what a water bath would not (common practice, no source; flammable below a
/// flash point of 60 °C by CLP, Annex I).
#[test]
fn no_sand_under_what_burns_where_another_bath_serves() {
    for (substance, fluid) in [
        ("diethyl ether", "sand"),
        ("ethanol", "sand"),
        ("ethanol", "low-melting alloy"),
        ("toluene", "sand"),
    ] {
        let refusal = ask(
            "bath-setting",
            &[("substance", substance), ("fluid", fluid)],
        );
        let refusal = refusal.expect_err(substance);
        assert!(refusal.contains("flammable"), "{refusal}");
        let others = refusal.split("these do: ").nth(1).expect("others");
        assert!(
            others.contains("oil") && !others.contains("sand"),
            "{others}"
        );
    }
    // Where no other serves, and where nothing burns.
    for (substance, fluid) in [("nitrobenzene", "sand"), ("chloroform", "sand")] {
        let answer = ask(
            "bath-setting",
            &[("substance", substance), ("fluid", fluid)],
        );
        assert!(answer.is_ok(), "{substance}: {answer:?}");
    }
}

/// The pot’s limit is the liquid’s; the bath stands above it.
#[test]
fn says_why_the_bath_is_hotter_than_the_pot_may_be() {
    let given = [
        ("substance", "benzyl alcohol"),
        ("highest_pot_temperature", "120 °C"),
    ];
    let outcome = ask("vacuum-plan", &given).unwrap_or_else(|told| panic!("{told}"));
    let bath = outcome
        .figure("bath_temperature")
        .and_then(|it| it.number());
    let said = outcome
        .notes
        .iter()
        .any(|note| note.contains("that limit is the liquid’s"));
    assert_eq!(said, bath.is_some_and(|bath| bath > 120.0), "{bath:?}");
    assert!(said, "the case is one where it is hotter: {bath:?}");
}

/// Three times the load of the table’s row (W. C. Still and others, J. Org. Chem. 43 (1978) 2923,
/// table 1: 40 mg on 10 mm at ΔRf 0.1, 160 mg on 20 mm).
#[test]
fn an_overloaded_column_is_said_to_be() {
    let elution = |masses: [&str; 2]| {
        let spots = format!("a: 0.35, {} mg; b: 0.2, {} mg", masses[0], masses[1]);
        let outcome = ask("flash-elution", &[("spots", &spots), ("diameter", "20 mm")]);
        let outcome = outcome.unwrap_or_else(|told| panic!("{told}"));
        caution(&outcome, "Overloaded").is_some()
    };
    assert!(!elution(["100", "60"]));
    assert!(elution(["300", "180"]));
}
