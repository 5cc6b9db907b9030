//! The choice of a technique against an experienced demonstrator's answers, and the rules themselves.

use calc_wasm::calculators;
use calc_wasm::outcome::Value;
use forerun_tests::{library, root, toml};

#[test]
fn chooses_as_a_demonstrator_would() {
    let library = library();
    let calculator = calculators::find("technique-choice").expect("it is listed");
    let file = toml(&root().join("tests/published/technique-choice/cases.toml"));
    let cases = file["case"].as_array().expect("an array of cases");
    assert!(cases.len() >= 25, "only {} cases", cases.len());
    let mut failures = Vec::new();
    for case in cases {
        let word = |key: &str| case.get(key).and_then(::toml::Value::as_str).unwrap_or("");
        let inputs: Vec<(String, String)> = case["inputs"]
            .as_table()
            .expect("a table of inputs")
            .iter()
            .map(|(name, text)| (name.clone(), text.as_str().unwrap_or("").to_string()))
            .collect();
        let wanted = match word("first") {
            measure if measure.starts_with("measure ") => {
                format!("not enough known: first {measure}")
            }
            technique => technique.to_string(),
        };
        let got = match calculator.run(&library, &inputs) {
            Ok(outcome) => match outcome.figure("first_choice").map(|figure| &figure.value) {
                Some(Value::Words(words)) => words.clone(),
                other => format!("{other:?}"),
            },
            Err(problems) => format!("{problems:?}"),
        };
        if got != wanted {
            failures.push(format!("{}: wanted {wanted}, got {got}", word("case")));
        }
        assert_eq!(
            word("source"),
            "common practice, no source",
            "{}",
            word("case")
        );
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

/// A misspelt fact, word or technique would make a rule silent for ever.
#[test]
fn every_rule_can_be_read() {
    let library = library();
    let calculator = calculators::find("technique-choice").expect("it is listed");
    let techniques = library.table("techniques").expect("the techniques");
    let rules = library.table("technique_rules").expect("the rules");
    let mut facts: Vec<&str> = calculator.inputs.iter().map(|input| input.name).collect();
    facts.extend(["margin", "other_boiling_point", "neat", "azeotrope"]);
    for rule in rules.records() {
        let name = rule.name();
        assert!(
            techniques.find(rule.text("technique")).is_some(),
            "{name}: no such technique"
        );
        assert!(
            rule.number("weight")
                .is_some_and(|weight| weight.abs() > 0.5),
            "{name}: weight"
        );
        assert!(rule.list("when").count() > 0, "{name}: no condition");
        for condition in rule.list("when") {
            let at = condition.find(['=', '<', '>', '!']).unwrap_or(0);
            let (fact, test) = condition.split_at(at);
            assert!(facts.contains(&fact), "{name}: `{condition}`");
            let value = test.trim_start_matches(['!', '=', '<', '>']);
            if test.starts_with(['<', '>']) {
                assert!(value.parse::<f64>().is_ok(), "{name}: `{condition}`");
                continue;
            }
            let input = calculator.inputs.iter().find(|input| input.name == fact);
            if let Some(calc_wasm::inputs::Kind::Choice(choices)) = input.map(|input| &input.kind) {
                for word in value.split('|').filter(|word| *word != "unknown") {
                    assert!(
                        choices.iter().any(|choice| choice.name == word),
                        "{name}: `{condition}`"
                    );
                }
            }
        }
    }
    for technique in techniques.records() {
        let calculator = technique.text("calculator");
        if calculator.is_empty() {
            continue;
        }
        let calculator = calculators::find(calculator)
            .unwrap_or_else(|| panic!("{}: no calculator {calculator}", technique.name()));
        for pair in technique.list("carries") {
            let (input, fact) = pair.split_once('=').unwrap_or((pair, ""));
            assert!(
                calculator.inputs.iter().any(|known| known.name == input),
                "{pair}"
            );
            assert!(facts.contains(&fact), "{pair}");
        }
    }
}
