//! Published values: every row of `published/*.toml` through its calculator.
//!
//! Adding a case is adding a row. All failures are told at once. `published/equations/` holds the
//! same for single equations.

use std::collections::{BTreeMap, BTreeSet};

use calc_wasm::calculators;
use forerun_tests::{files, library, root, toml};
use site_builder::page::checks::equation;

#[test]
fn published_values() {
    let library = library();
    let mut failures = Vec::new();
    let mut passed = 0;
    // Choices have their own cases, in `technique_choice.rs`.
    let mut unchecked: BTreeSet<&str> = calculators::all()
        .iter()
        .map(|calculator| calculator.name)
        .filter(|name| *name != "technique-choice")
        .collect();
    for path in files("tests/published", "toml") {
        let file = toml(&path);
        let checks = file.get("check").and_then(toml::Value::as_array);
        for check in checks.into_iter().flatten() {
            let word = |key: &str| check.get(key).and_then(toml::Value::as_str).unwrap_or("");
            let name = word("calculator");
            unchecked.remove(name);
            match run(check, &library) {
                Ok(()) => passed += 1,
                Err(message) => failures.push(format!("{name}, {}: {message}", word("case"))),
            }
            if word("source").is_empty() {
                failures.push(format!("{name}, {}: no source", word("case")));
            }
        }
    }
    println!("{passed} published values agree");
    assert!(unchecked.is_empty(), "no published value for {unchecked:?}");
    assert!(
        failures.is_empty(),
        "{} of {} published values differ:\n{}",
        failures.len(),
        failures.len() + passed,
        failures.join("\n")
    );
}

#[test]
fn published_equations() {
    let library = library();
    let file = toml(&root().join("tests/published/equations/equations.toml"));
    let checks = file.get("check").and_then(toml::Value::as_array);
    let checks = checks.expect("checks");
    assert!(checks.len() > 10, "only {} rows", checks.len());
    let mut failures = Vec::new();
    for check in checks {
        let word = |key: &str| check.get(key).and_then(toml::Value::as_str).unwrap_or("");
        let number = |value: &toml::Value| {
            value
                .as_float()
                .or_else(|| value.as_integer().map(|whole| whole as f64))
        };
        let inputs: BTreeMap<String, f64> = check
            .get("inputs")
            .and_then(toml::Value::as_table)
            .into_iter()
            .flatten()
            .filter_map(|(name, value)| Some((name.clone(), number(value)?)))
            .collect();
        let expected = check.get("expected").and_then(number).expect("expected");
        let within = check.get("within").and_then(number).expect("within");
        let case = format!("{}, {}", word("equation"), word("case"));
        match equation(word("equation"), &inputs, &library) {
            None => failures.push(format!("{case}: no such equation, or a number is missing")),
            Some(got) if (got - expected).abs() > within * (1.0 + 1e-9) => {
                failures.push(format!("{case}: expected {expected} ± {within}, got {got}"));
            }
            Some(_) if word("source").is_empty() => failures.push(format!("{case}: no source")),
            Some(_) => {}
        }
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

fn run(check: &toml::Value, library: &calc_wasm::library::Library) -> Result<(), String> {
    let word = |key: &str| {
        check
            .get(key)
            .and_then(toml::Value::as_str)
            .ok_or(format!("`{key}` is missing"))
    };
    let name = word("calculator")?;
    let calculator = calculators::find(name).ok_or("no such calculator")?;
    let inputs: Vec<(String, String)> = check
        .get("inputs")
        .and_then(toml::Value::as_table)
        .ok_or("`inputs` is missing")?
        .iter()
        .map(|(key, value)| {
            let text = value
                .as_str()
                .map_or_else(|| value.to_string(), String::from);
            (key.clone(), text)
        })
        .collect();
    let outcome = calculator.run(library, &inputs).map_err(|problems| {
        let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
        format!("refused: {}", told.join("; "))
    })?;
    let result = word("result")?;
    let figure = outcome
        .figure(result)
        .ok_or_else(|| format!("gives no figure `{result}`"))?;
    let unit = word("unit")?;
    if figure.unit != unit {
        return Err(format!("`{result}` is in `{}`, not `{unit}`", figure.unit));
    }
    let number = |key: &str| {
        let value = check.get(key)?;
        value
            .as_float()
            .or_else(|| value.as_integer().map(|n| n as f64))
    };
    let Some(expected) = number("expected") else {
        let expected = word("expected")?;
        return if figure.shown() == expected {
            Ok(())
        } else {
            Err(format!("expected {expected}, got {}", figure.shown()))
        };
    };
    let within = number("within").ok_or("`within` is missing")?;
    let got = figure.number().ok_or("a verdict, not a number")?;
    if (got - expected).abs() <= within * (1.0 + 1e-9) {
        return Ok(());
    }
    Err(format!(
        "`{result}` expected {expected} ± {within} {unit}, got {got:.6} (interval {})",
        figure.interval().unwrap_or_else(|| "none".into())
    ))
}
