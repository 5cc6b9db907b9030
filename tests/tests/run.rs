//! A run: what is given once flows through its page, in a real browser of phone size.

use calc_wasm::quantity::Quantity;
use calc_wasm::report;
use calc_wasm::report::sheet::{Moment, differences};
use calc_wasm::sheet::{Sheet, Typed};
use forerun_tests::browser::{Browser, serve};
use forerun_tests::random::Random;
use forerun_tests::{PRINT, print};
use serde_json::json;
use std::path::PathBuf;
use std::time::{Duration, Instant};

/// A folder for one test, gone when the test ends.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let folder = std::env::temp_dir().join(format!("forerun-{name}-{}", std::process::id()));
        std::fs::create_dir_all(&folder).expect("a folder");
        Folder(folder)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// All that a page says, forms included, in one text.
const ALL_WORDS: &str = "const words = () => {
    const fields = [...document.querySelectorAll('main input, main select')].map(field => field.value);
    const main = document.querySelector('main').cloneNode(true);
    for (const part of main.querySelectorAll('.run-sheet, datalist, option, template')) part.remove();
    return [...fields, main.textContent].join('\\n');
};";

#[test]
fn a_run_flows_through_its_page() {
    let folder = Folder::new("run");
    let (_server, address) = serve(&folder.0.join("site"));
    let browser = Browser::open(360, 740);
    let page = format!("{address}techniques/vacuum-distillation/");
    browser.go(&page);
    browser.wait(
        "open forms",
        "return !document.querySelector('#run .calc-fields').disabled",
    );

    browser.type_into("#run-substance", "nitrobenzene");
    browser.type_into("#run-pressure", "20 ± 1 mmHg");
    browser.type_into("#run-charge", "180 mL");
    browser.wait(
        "the sentences to follow",
        "return document.querySelector('[data-number=\"pressure\"]').textContent === '20 ± 1 mmHg'",
    );
    let left = browser.run(&format!(
        "{ALL_WORDS} return ['ethyl benzoate', '28 ± 1', '28 mmHg', '120 mL'].filter(word => words().includes(word))"
    ));
    assert_eq!(left, json!([]), "the author’s values are left on the page");

    // The page's own figures are those of the terminal for the same values, and its calculators
    // agree with each other and with the sentences.
    let figures = browser.run(
        "const figure = (id, name) => document.querySelector(`#${id} [data-result=\"${name}\"] output`).textContent;
         return [figure('boiling-point', 'temperature'), figure('bath-setting', 'head_temperature'),
             figure('reading-check', 'expected_temperature'),
             document.querySelector('#run [data-number=\"bath-setting.head_temperature\"]').textContent,
             document.querySelector('.steps [data-number=\"bath-setting.head_temperature\"]').textContent]",
    );
    let figures: Vec<String> = serde_json::from_value(figures).expect("five texts");
    let library = forerun_tests::library();
    let pairs = forerun_tests::pairs(&[("substance", "nitrobenzene"), ("pressure", "20 ± 1 mmHg")]);
    let outcome = calc_wasm::calculators::find("boiling-point")
        .expect("it")
        .run(&library, &pairs)
        .expect("an answer");
    let expected = outcome.figure("temperature").expect("it").numeral();
    assert!(
        figures.iter().all(|figure| figure.starts_with(&expected)),
        "{figures:?}, not all {expected}"
    );

    // A value that is refused is refused at the run; what hangs on it says that it waits, and
    // shows no figure of before.
    browser.type_into("#run-substance", "nitrobensene");
    browser.wait(
        "the refusal",
        "return document.querySelector('#run .field-problem:not([hidden])')?.textContent.includes('nitrobenzene')",
    );
    let stale = browser.run(
        "return [...document.querySelectorAll('[data-number^=\"bath-setting\"]')].filter(place => place.textContent !== '–').length",
    );
    assert_eq!(stale, json!(0));

    // What is typed into a calculator that draws on the run stands for that calculator alone, and
    // one press takes it back.
    browser.type_into("#run-substance", "methyl benzoate");
    browser.run("document.querySelector('#cold-trap .drawn').open = true");
    browser.type_into("#cold-trap-line_pressure", "5 mmHg");
    browser.wait(
        "the way back",
        "return !document.querySelector('#cold-trap [data-input=\"line_pressure\"] .draw-again').hidden",
    );
    browser.wait(
        "the address",
        "return location.hash.includes('cold-trap.line_pressure=5')",
    );
    browser.reload();
    browser.wait(
        "what was typed, after loading again",
        "return document.querySelector('#run-substance').value === 'methyl benzoate'
             && document.querySelector('#cold-trap-line_pressure').value === '5 mmHg'
             && document.querySelector('#boiling-point .drawn-values').textContent === 'methyl benzoate, 20 ± 1 mmHg'",
    );
    browser.run("document.querySelector('#cold-trap .draw-again').click()");
    browser.wait(
        "the run’s pressure",
        "return document.querySelector('#cold-trap-line_pressure').value === '20 ± 1 mmHg'",
    );

    // The card has the same values, in its settings and in its steps.
    let on_page = browser.run(
        "return document.querySelector('#bath-setting [data-result=\"bath_temperature\"] output').textContent",
    );
    browser.go(&format!("{page}card.html"));
    browser.wait(
        "the card",
        "return document.querySelector('.card-run b').textContent === 'methyl benzoate'
             && document.querySelector('.card-steps [data-number=\"pressure\"]').textContent === '20 ± 1 mmHg'",
    );
    let on_card = browser.run(
        "return document.querySelector('[data-id=\"bath-setting\"] [data-result=\"bath_temperature\"] output').textContent",
    );
    assert_eq!(on_card, on_page);
    let left = browser.run(
        "const card = document.querySelector('.card').cloneNode(true);
         for (const part of card.querySelectorAll('.run-sheet')) part.remove();
         return [/(?<!m)ethyl benzoate/, /28 mmHg/, /28 ± 1/].filter(word => word.test(card.textContent)).map(String)",
    );
    assert_eq!(left, json!([]), "the author’s values are left on the card");
    assert_eq!(browser.complaints(), Vec::<String>::new());
}

/// A page, what is typed into its run, and words of the author's that none of it may leave. The
/// words stand whole: `3 g` is not found in `13 g`.
type OtherValues = (
    &'static str,
    &'static [(&'static str, &'static str)],
    &'static [&'static str],
);

/// Values that another student might bring, for every page with a run but the one above.
const OTHER_VALUES: &[OtherValues] = &[
    (
        "techniques/simple-distillation",
        &[
            ("substance", "toluene"),
            ("charge", "90 mL"),
            ("barometer", "742 ± 1 mmHg"),
        ],
        &["butyl acetate", "120 mL", "755 ± 2 mmHg", "125.7 °C"],
    ),
    (
        "techniques/steam-distillation",
        &[
            ("substance", "anisole"),
            ("amount", "8 g"),
            ("barometer", "748 ± 2 mmHg"),
            ("rate", "6 mL/min"),
            ("collected", "90 mL"),
        ],
        &["(R)-limonene", "3 g", "757 ± 1 mmHg", "4 mL/min", "60 mL"],
    ),
    (
        "techniques/repeated-extraction",
        &[
            ("distribution", "7"),
            ("water", "180 mL"),
            ("portion", "45 mL"),
            ("portions", "2"),
        ],
        &["40 mL", "92.1 %"],
    ),
    (
        "techniques/continuous-extraction",
        &[
            ("distribution", "0.4"),
            ("water", "160 mL"),
            ("flow", "12 mL/min"),
            ("target", "90 %"),
        ],
        &["95 %", "265 min", "3990 mL"],
    ),
    (
        "techniques/soxhlet-extraction",
        &[
            ("siphon", "70 mL"),
            ("held", "18 mL"),
            ("flow", "9 mL/min"),
            ("soak", "0.55"),
            ("target", "97 %"),
        ],
        &["80 mL", "25 mL", "8 mL/min", "95 %"],
    ),
    (
        "techniques/flash-column",
        &[
            ("mass", "520 mg"),
            ("gap", "0.25"),
            ("spots", "red: 0.35, 400 mg; blue: 0.10, 120 mg"),
            ("diameter", "30 mm"),
            ("bed", "160 mm"),
        ],
        &["300 mg", "150 mm", "orange", "yellow: 0.35, 250 mg"],
    ),
    (
        "techniques/recrystallisation",
        &[
            ("solid", "acetanilide"),
            ("mass", "5.5 g"),
            ("cold", "8 °C"),
            ("excess", "30 %"),
        ],
        &["benzoic acid", "3.0 g", "52.9 mL"],
    ),
    (
        "techniques/fractional-distillation",
        &[
            ("light", "acetone"),
            ("heavy", "toluene"),
            ("charge", "110 mL"),
            ("barometer", "750 mmHg"),
            ("purity", "90 %"),
        ],
        &["ethyl acetate", "butyl acetate", "120 mL", "77.1 °C"],
    ),
    (
        "techniques/heating-baths",
        &[
            ("substance", "ethylbenzene"),
            ("charge", "80 mL"),
            ("pressure", "745 mmHg"),
            ("bath", "350 mL"),
            ("power", "250 W"),
        ],
        &["toluene", "400 mL", "300 W"],
    ),
    (
        "techniques/cold-traps",
        &[
            ("substance", "heptane"),
            ("vapour", "35 g"),
            ("line", "3 mmHg"),
            ("trap", "-70 °C"),
        ],
        &["20 g", "2 mmHg", "0.17 %"],
    ),
    (
        "techniques/drying-and-removing-solvent",
        &[
            ("solvent", "acetone"),
            ("solution", "110 mL"),
            ("vapour", "45 g"),
            ("trap", "-70 °C"),
        ],
        &["30 g", "29 g"],
    ),
    (
        "techniques/thin-layer-chromatography",
        &[
            ("plates", "0.22 @ 20 %"),
            ("spots", "red: 0.40, 200 mg; blue: 0.15, 60 mg"),
        ],
        &["0.20 @ 20 %", "yellow: 0.35"],
    ),
    (
        "techniques/filtration",
        &[
            ("solid", "salicylic acid"),
            ("mass", "5.5 g"),
            ("paper", "75 °C"),
            ("solvent", "acetone"),
            ("room", "18 °C"),
        ],
        &["3.0 g", "80 °C", "22 °C"],
    ),
    (
        "techniques/vacuum-and-gauges",
        &[
            ("substance", "nitrobenzene"),
            ("limit", "130 °C"),
            ("tap", "12 °C"),
            ("barometer", "751 ± 1 mmHg"),
            ("difference", "730 ± 1 mm"),
        ],
        &[
            "ethyl benzoate",
            "120 °C",
            "758 ± 1 mmHg",
            "742 ± 1 mm",
            "742",
            "28 mmHg",
        ],
    ),
    (
        "techniques/melting-and-boiling-points",
        &[
            ("substance", "nitrobenzene"),
            ("head", "97 ± 1 °C"),
            ("pressure", "18 ± 1 mmHg"),
        ],
        &["ethyl benzoate", "94 ± 1 °C", "94 °C", "15 mmHg"],
    ),
    (
        "techniques/sublimation",
        &[
            ("temperature", "85 °C"),
            ("vapour", "0.8 g"),
            ("line", "3 mmHg"),
            ("trap", "-25 °C"),
        ],
        &["0.5 g", "2 mmHg", "-20 °C"],
    ),
    (
        "techniques/capillary-bleed",
        &[
            ("substance", "nitrobenzene"),
            ("pressure", "6 ± 1 mmHg"),
            ("wide", "9 mmHg"),
            ("limit", "130 °C"),
        ],
        &["ethyl benzoate", "5 ± 1 mmHg", "8 mmHg", "120 °C"],
    ),
    (
        "techniques/cooling-mixtures",
        &[
            ("substance", "pentane"),
            ("amount", "65 g"),
            ("bath", "-30 °C"),
            ("pressure", "750 mmHg"),
        ],
        &["diethyl ether", "50 g", "760 mmHg"],
    ),
    (
        "experiments/clove-oil",
        &[
            ("oil", "3 g"),
            ("distillate", "130 mL"),
            ("barometer", "750 ± 1 mmHg"),
            ("reading", "738 ± 1 mmHg"),
            ("limit", "160 °C"),
            ("pooled", "18 mL"),
        ],
        &["757", "749 ± 1 mmHg", "8.0 ± 1.4 mmHg", "150 °C", "118 °C"],
    ),
    (
        "experiments/leaf-colours",
        &[
            ("siphon", "70 mL"),
            ("soak", "0.5"),
            ("watered", "180 mL"),
            ("residue", "90 mg"),
            ("rf", "0.33"),
            ("gap", "0.18"),
            (
                "spots",
                "yellow: 0.75, 12 mg; green: 0.33, 60 mg; deep yellow: 0.15, 18 mg",
            ),
        ],
        &["80 mL", "120 mg", "44.1 min", "green: 0.35"],
    ),
    (
        "experiments/tired-ester",
        &[
            ("ether", "60 mL"),
            ("acid", "3.5 g"),
            ("product", "18 mL"),
            ("limit", "130 °C"),
        ],
        &["3.8 g", "120 °C", "6.5 ± 0.5 mmHg", "67.1 mL"],
    ),
];

/// What the author's values, `given`, have left on the page, and what is refused or without a
/// figure on it.
const LEFT: &str = r"const text = words();
    const whole = word => new RegExp(`(?<![\\w.,±–-])${word.replace(/[.()]/g, '\\$&')}(?!\\w)`);
    const around = (word, { index }) => `${word} in “${text.slice(Math.max(0, index - 50), index + 50)}”`;
    const left = given.filter(word => whole(word).test(text)).map(word => around(word, whole(word).exec(text)));
    const refused = [...document.querySelectorAll('main .field-problem:not([hidden]), main .calc-result .problem')].map(place => place.textContent);
    const empty = [...document.querySelectorAll('main [data-number]')].filter(place => place.textContent === '–').map(place => place.dataset.number);
    return [...left, ...refused, ...empty];";

#[test]
fn no_page_keeps_the_authors_values() {
    let folder = Folder::new("values");
    let (_server, address) = serve(&folder.0.join("site"));
    let browser = Browser::open(360, 740);
    let mut failures = Vec::new();
    for (page, typed, author) in OTHER_VALUES {
        browser.go(&format!("{address}{page}/"));
        browser.wait(
            "open forms",
            "return !document.querySelector('#run .calc-fields').disabled",
        );
        for (name, text) in *typed {
            browser.type_into(&format!("#run-{name}"), text);
        }
        let start = Instant::now();
        let mut left = json!(null);
        while left != json!([]) && start.elapsed() < Duration::from_secs(3) {
            std::thread::sleep(Duration::from_millis(100));
            left = browser.run_with(&format!("{ALL_WORDS} {LEFT}"), &json!(author));
        }
        if left != json!([]) {
            failures.push(format!("{page}: {left}"));
        }
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
    assert_eq!(browser.complaints(), Vec::<String>::new());
}

/// How many random changes of the sheet are made.
const CHANGES: usize = 2_000;

#[test]
fn the_sheet_in_the_page_is_the_sheet_of_the_builder() {
    let folder = Folder::new("sheet");
    let (_server, address) = serve(&folder.0.join("site"));
    let browser = Browser::open(360, 740);
    browser.go(&format!("{address}techniques/vacuum-distillation/"));
    let text = browser.run("return document.querySelector('.run-sheet').textContent");
    let text = text.as_str().expect("the sheet");
    let sheet = Sheet::read(text).expect("a sound sheet");
    let keys: Vec<String> = [
        "substance",
        "pressure",
        "bath-setting.bath_temperature",
        "~1.temperature",
    ]
    .map(str::to_owned)
    .into();
    let library = forerun_tests::library();
    let mut random = Random::new(20_261_128);
    let mut changes = Vec::new();
    let mut expected = Vec::new();
    let mut typed = Typed::default();
    let mut worked = sheet.work_out(&library, &typed, None);
    let mut said = 0;
    for _ in 0..CHANGES {
        let lines = a_change(&mut random);
        let now = Typed::read(&lines);
        let next = sheet.work_out(&library, &now, Some(&worked));
        let records = differences(
            &sheet,
            &keys,
            Moment {
                typed: &typed,
                worked: &worked,
            },
            Moment {
                typed: &now,
                worked: &next,
            },
            "../../",
        );
        // What is taken over from before is what would have been worked out anew.
        let fresh = sheet.work_out(&library, &now, None);
        for place in 0..sheet.cells().len() {
            let html = |worked| report::sheet::cell(&sheet, worked, place, "../../");
            assert_eq!(html(&next), html(&fresh), "{lines}");
        }
        said += usize::from(!records.is_empty());
        changes.push(lines);
        expected.push(records);
        (typed, worked) = (now, next);
    }
    assert!(said > CHANGES / 2, "only {said} changes made a difference");
    let answers = browser.run_with(
        &[
            PRINT,
            "const page = document.documentElement.dataset;
         const at = path => new URL(path, location.href).href;
         const core = await import(at(page.module) + '?own');
         await core.default({ module_or_path: at(page.wasm) });
         core.load(await (await fetch(at(page.data))).text());
         core.sheet(given.text, given.keys.join('\\n'));
         return given.changes.map(typed => print(core.change(typed, '../../')))",
        ]
        .concat(),
        &json!({"text": text, "keys": keys, "changes": changes}),
    );
    let answers: Vec<u32> = serde_json::from_value(answers).expect("numbers");
    for (at, (answer, expected)) in answers.iter().zip(&expected).enumerate() {
        assert_eq!(*answer, print(expected), "{}", changes[at]);
    }
    assert_eq!(answers.len(), CHANGES);
}

/// What might be typed: sound, odd and hostile.
fn a_change(random: &mut Random) -> String {
    const OWNERS: [(&str, &str, &[&str]); 7] = [
        (
            "run",
            "substance",
            &[
                "toluene",
                "eugenol",
                "nitrobenzene",
                "water",
                "108-88-3",
                "nothing",
                "",
            ],
        ),
        (
            "run",
            "pressure",
            &[
                "20 ± 1 mmHg",
                "5 mbar",
                "1 atm",
                "0.2 mmHg",
                "7",
                "-3 mmHg",
                "<b>",
            ],
        ),
        ("run", "charge", &["10 mL", "2 L", "0", "a lot"]),
        ("run", "limit", &["90 °C", "180 °C", "-300 °C", "100 K"]),
        (
            "bath-setting",
            "column",
            &["Vigreux, 20 cm", "plain head", "none"],
        ),
        ("bath-setting", "volume", &["50 mL", "5 mL"]),
        ("nobody", "nothing", &["\u{1f}\u{1e}", "=substance"]),
    ];
    let mut lines = String::new();
    for (owner, name, texts) in OWNERS {
        if random.once_in(3) {
            let text = random.pick(texts);
            lines.push_str(&format!("{owner}\t{name}\t{text}\n"));
        }
    }
    lines
}

/// An input is swept with keys, plot and result follow; and a result is asked backwards: the
/// pressure at which toluene boils at 80 °C is the one that another calculator gives.
#[test]
fn what_if_is_answered_in_the_form() {
    let folder = Folder::new("what-if");
    let (_server, address) = serve(&folder.0.join("site"));
    let browser = Browser::open(360, 740);
    browser.go(&format!("{address}calculators/boiling-point/"));
    browser.wait(
        "an open form",
        "return !document.querySelector('.calc-fields').disabled",
    );
    browser.type_into("[name=substance]", "toluene");
    browser.run("document.querySelector('.what-if').open = true");
    browser.wait(
        "the slider",
        "return document.querySelector('.sweep input')",
    );
    browser.run("const select = document.querySelector('.sweep select'); select.value = 'pressure'; select.onchange()");
    let plotted = "return [document.querySelector('[name=pressure]').value, document.querySelector('.figure.main output').textContent, document.querySelector('.plot svg').outerHTML]";
    let before = browser.run(plotted);
    // The key that goes to the end: three times the pressure.
    browser.run("document.querySelector('.sweep input').focus()");
    browser.type_keys(".sweep input", "\u{e010}");
    let after = browser.wait(
        "the pressure at the end",
        &format!("const all = (() => {{ {plotted} }})(); return all[0] === '300 mmHg' && all[1] !== {} && all", before[1]),
    );
    for part in 0..3 {
        assert_ne!(before[part], after[part], "part {part}");
    }

    browser.run("const [input, result] = document.querySelectorAll('.backwards select'); input.value = 'pressure'; result.value = 'temperature'");
    browser.type_into(".backwards input", "80");
    browser.press(".backwards button");
    let found = browser.wait(
        "the pressure",
        "const value = document.querySelector('[name=pressure]').value; return document.querySelector('.figure.main output').textContent.startsWith('80') && value",
    );
    let found = found.as_str().expect("a text");
    let outcome = calc_wasm::calculators::find("boiling-pressure")
        .expect("it")
        .run(
            &forerun_tests::library(),
            &forerun_tests::pairs(&[("substance", "toluene"), ("temperature", "80 °C")]),
        )
        .expect("an answer");
    let pressure = outcome
        .figure("pressure")
        .and_then(|figure| figure.number())
        .expect("it");
    let found = calc_wasm::quantity::read(found, calc_wasm::quantity::Pressure::DIMENSION)
        .expect("a pressure");
    assert!(
        (found.value / pressure - 1.0).abs() < 1e-3,
        "{found:?}, {pressure}"
    );

    // What cannot be reached says what can.
    browser.type_into(".backwards input", "9000");
    browser.press(".backwards button");
    browser.wait("a sentence", "return document.querySelector('.backwards p').textContent.startsWith('No value gives 9000')");
    assert_eq!(browser.complaints(), Vec::<String>::new());
}
