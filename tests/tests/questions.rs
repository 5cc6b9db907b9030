//! Questions typed into the search: which calculator is asked, with what, and the figure that is
//! shown, which is the calculator's own.

use std::collections::BTreeMap;
use std::fs;
use std::io::Write;
use std::process::Command;

use calc_wasm::{calculators, question, report};
use forerun_tests::{library, root};
use site_builder::build;
use site_builder::output::wasm::Module;

/// What was typed, the calculator, and what it is asked.
type Asked = (
    &'static str,
    &'static str,
    &'static [(&'static str, &'static str)],
);

const READ: &[Asked] = &[
    (
        "toluene 100 mmHg",
        "boiling-point",
        &[("substance", "toluene"), ("pressure", "100 mmHg")],
    ),
    (
        "bp ethyl benzoate 15 ± 1 torr?",
        "boiling-point",
        &[("substance", "ethyl benzoate"), ("pressure", "15 ± 1 torr")],
    ),
    (
        "boiling point of tolune at 100mbar",
        "boiling-point",
        &[("substance", "toluene"), ("pressure", "100mbar")],
    ),
    (
        "108-88-3 bp",
        "boiling-point",
        &[("substance", "toluene"), ("pressure", "760 mmHg")],
    ),
    (
        "vapour pressure of water at 25 °C",
        "boiling-pressure",
        &[("substance", "water"), ("temperature", "25 °C")],
    ),
    (
        "flash column 400 mg",
        "flash-column",
        &[("sample_mass", "400 mg")],
    ),
    (
        "10 % v/v",
        "eluent-blend",
        &[("solvents", "hexane: 90 %; ethyl acetate: 10 %")],
    ),
    (
        "pentane with 5% diethyl ether",
        "eluent-blend",
        &[("solvents", "pentane: 95 %; diethyl ether: 5 %")],
    ),
    (
        "steam distillation of limonene 5 g",
        "steam-distillation",
        &[("substance", "(R)-limonene"), ("amount", "5 g")],
    ),
    (
        "oil bath toluene 50 mbar",
        "bath-setting",
        &[("substance", "toluene"), ("pressure", "50 mbar")],
    ),
    (
        "azeotrope of ethanol and water",
        "mixture-boiling",
        &[("first", "ethanol"), ("second", "water")],
    ),
];

#[test]
fn questions_are_read() {
    let library = library();
    for (text, calculator, pairs) in READ {
        let asked = question::read(&library, text).unwrap_or_else(|| panic!("{text}: no question"));
        let found: Vec<(&str, &str)> = asked.pairs.iter().map(|(n, t)| (&**n, &**t)).collect();
        assert_eq!(asked.calculator.name, *calculator, "{text}");
        assert_eq!(found, *pairs, "{text}");
    }
}

/// No figure is the search's own: each is the calculator's, with its interval.
#[test]
fn answers_are_those_of_the_calculator() {
    let library = library();
    for (text, calculator, _) in READ {
        let asked = question::read(&library, text).expect("a question");
        let outcome = calculators::find(calculator)
            .expect("a calculator")
            .run(&library, &asked.pairs)
            .unwrap_or_else(|problems| panic!("{text}: {problems:?}"));
        let html = report::asked(&library, text, "../");
        let main = outcome.figure(asked.wanted[0]);
        let main = main.unwrap_or_else(|| panic!("{text}: no {}", asked.wanted[0]));
        assert!(html.contains(&main.numeral()), "{text}: {html}");
        if let Some(interval) = main.interval() {
            assert!(html.contains(&interval), "{text}: {html}");
        }
        assert!(
            html.contains(&format!(
                "href=\"../calculators/{calculator}/#set:{calculator}."
            )),
            "{text}: {html}"
        );
    }
}

#[test]
fn what_asks_nothing_has_no_answer() {
    let library = library();
    for text in [
        "",
        "toluene",
        "24/29",
        "400 mg",
        "bumping",
        "water aspirator",
        "95 % ethanol",
        "100 mmHg",
        "melting point of phenol 41 °C",
        "density of toluene 20 °C",
        "108-88-3",
        "± ± %",
        "flash point of ethanol 12 °C",
    ] {
        assert_eq!(report::asked(&library, text, ""), "", "{text}");
    }
}

/// A pressure out of range gets a sentence with the range and no figure.
#[test]
fn what_is_out_of_range_is_refused_with_a_sentence() {
    let html = report::asked(&library(), "boiling point toluene 20 bar", "");
    assert!(html.contains("class=\"problem\""), "{html}");
    assert!(!html.contains("class=\"figure"), "{html}");
}

/// Where an answer leads.
fn address(html: &str) -> Option<String> {
    let (_, rest) = html.split_once("href=\"")?;
    Some(rest.split_once('"')?.0.replace("&amp;", "&"))
}

/// The questions of `tests/script/questions.tsv`, each with where the core's answer leads.
fn answered_by_the_core() -> BTreeMap<String, Option<String>> {
    let library = library();
    let text = fs::read_to_string(root().join("tests/script/questions.tsv"));
    let text = text.expect("the questions");
    let lines = text.lines().filter(|line| !line.starts_with('#'));
    lines
        .filter_map(|line| line.split_once('\t'))
        .map(|(asked, _)| {
            let html = report::asked(&library, asked, "");
            (asked.to_string(), address(&html))
        })
        .collect()
}

/// The page's own script ranks, so it needs Node; where there is none, a line says so.
#[test]
fn a_hundred_questions_find_their_answers() {
    // The core is run natively here; what stands for it in the page is only carried along.
    let built = build(&forerun_tests::folders(), &Module::default());
    let built = built.unwrap_or_else(|findings| panic!("{findings:#?}"));
    let root = fs::canonicalize(root()).expect("the repository");
    let folder = root.join("target/questions");
    fs::create_dir_all(&folder).expect("a folder");
    let (index, answers) = (folder.join("search.json"), folder.join("answers.json"));
    fs::write(&index, &built.files["search.json"]).expect("the index");
    let json = serde_json::to_vec(&answered_by_the_core()).expect("the answers as JSON");
    fs::write(&answers, json).expect("the answers");
    let ran = Command::new("node")
        .arg("--test")
        .arg(root.join("tests/script/questions.test.mjs"))
        .env("INDEX", index)
        .env("ANSWERS", answers)
        .output();
    match ran {
        Ok(said) => assert!(
            said.status.success(),
            "{}",
            String::from_utf8_lossy(&said.stdout)
        ),
        // Past the harness, which keeps back what a passing test prints.
        Err(why) => std::io::stderr()
            .write_all(format!("\n!!!! NOT TESTED: a hundred questions: {why} !!!!\n\n").as_bytes())
            .expect("stderr"),
    }
}
