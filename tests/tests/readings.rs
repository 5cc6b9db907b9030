//! Readings in a real browser of phone size: logged without a network, kept through a reload, a
//! kill and a new version of the site, exported, restored elsewhere, printed on one side.

use std::path::{Path, PathBuf};

use calc_wasm::readings::{self, Entries, Sheet, Spec};
use calc_wasm::report;
use forerun_tests::browser::{Browser, serve};
use serde_json::{Value, json};

fn folder(name: &str) -> PathBuf {
    let folder = std::env::temp_dir().join(format!("forerun-{name}-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a folder");
    folder
}

/// Types into the log: pairs of column and text.
fn fill(browser: &Browser, cells: &[(&str, &str)]) {
    for (name, text) in cells {
        browser.type_into(&format!(".log [name=\"{name}\"]"), text);
    }
}

fn count(browser: &Browser) -> Value {
    browser.run("return document.querySelectorAll('.log-table tbody tr').length")
}

fn add(browser: &Browser, cells: &[(&str, &str)]) {
    let before = count(browser).as_u64().expect("a number");
    fill(browser, cells);
    browser.press(".log-add");
    browser.wait(
        "the reading",
        &format!(
            "return document.querySelectorAll('.log-table tbody tr').length === {}",
            before + 1
        ),
    );
}

/// The verdicts, the first reading first, once all are there.
fn verdicts(browser: &Browser) -> Value {
    browser.wait(
        "the verdicts",
        "const said = [...document.querySelectorAll('.log-said')].reverse(); return said.length && said.every(one => one.dataset.verdict !== undefined) && said.map(one => one.dataset.verdict)",
    )
}

/// What the page would put into a file: its text.
const EXPORTED: &str = "
    let text;
    const made = URL.createObjectURL;
    URL.createObjectURL = blob => { text = blob.text(); return made(blob); };
    addEventListener('click', event => { if (event.target.download) event.preventDefault(); }, { once: true, capture: true });
    document.querySelector(given).click();
    URL.createObjectURL = made;
    return await text;";

/// Gives the input for files a file of this name and text.
const CHOOSE: &str = "
    const input = document.querySelector(given.input), files = new DataTransfer();
    for (const [name, text] of given.files) files.items.add(new File([text], name, { type: 'application/json' }));
    input.files = files.files;
    input.dispatchEvent(new Event('change'));";

fn kept(browser: &Browser) {
    browser.wait("the worker", "const worker = await navigator.serviceWorker.ready; return worker.active?.state === 'activated'");
    browser.wait("the log", "return document.querySelector('.log-add')");
}

/// Head, pressure, bath, fraction, mass: a distillation at 28 mmHg as the page plans it. Ethyl
/// benzoate boils near 109 °C there, by the page's own calculator.
const RUN: [[&str; 5]; 12] = [
    ["70", "28", "110", "1", ""],
    ["96", "28", "118", "1", "3.2"],
    ["108", "28", "124", "2", ""],
    ["109", "28", "125", "2", ""],
    ["109.2", "28", "125", "2", ""],
    ["109,4", "28", "125", "2", ""],
    ["109.6", "28", "125", "2", ""],
    ["109 ± 2", "28", "125", "2", ""],
    ["382.5 K", "28", "125", "2", ""],
    ["110", "37 mbar", "125", "2", "98.4"],
    ["116", "28", "131", "3", ""],
    ["118", "28", "132", "3", "6.1"],
];

#[test]
fn a_distillation_is_logged_without_a_network_and_survives() {
    let folder = folder("readings");
    let (mut server, address) = serve(&folder.join("site"));
    let profile = folder.join("profile");
    let page = format!("{address}techniques/vacuum-distillation/");
    let mut browser = Browser::open_in(&profile, 360, 740);
    browser.phone(360, 740);
    browser.go(&page);
    kept(&browser);
    let large = browser.run("const box = document.querySelector('.log-add').getBoundingClientRect(); return [box.height >= 56, document.documentElement.scrollWidth]");
    assert_eq!(large, json!([true, 360]));

    // What is on the device is in the page at once; the server is gone.
    server.stop();
    fill(&browser, &[("charge", "120")]);
    for (at, [head, pressure, bath, fraction, mass]) in RUN.iter().enumerate() {
        if at == 6 {
            browser.reload();
            kept(&browser);
            assert_eq!(count(&browser), json!(6), "after a reload");
        }
        let cells = [
            ("head", head),
            ("pressure", pressure),
            ("bath", bath),
            ("fraction", fraction),
        ];
        let mut cells: Vec<_> = cells.iter().map(|(name, text)| (*name, **text)).collect();
        cells.extend((!mass.is_empty()).then_some(("mass", *mass)));
        add(&browser, &cells);
    }
    let expected = json!([
        "low", "low", "agrees", "agrees", "agrees", "agrees", "agrees", "agrees", "agrees",
        "agrees", "high", "high"
    ]);
    assert_eq!(verdicts(&browser), expected);
    let offered = browser.run("return ['head', 'pressure', 'fraction', 'mass'].map(name => document.querySelector(`.log [name=${name}]`).value)");
    assert_eq!(offered, json!(["118", "28", "3", ""]));

    // The core drew one working point with its box for each reading, on the curve.
    let drawn = browser.run("return [document.querySelectorAll('.log-result .plot .point').length, document.querySelector('.log-result .plot .series') !== null]");
    assert_eq!(drawn, json!([12, true]));
    let found = browser
        .run("return document.querySelector('.log-result [data-result=found] output').textContent");
    // (3.2 + 98.4 + 6.1) / 120.
    assert!(
        found
            .as_str()
            .is_some_and(|text| text.starts_with("89.7") || text.starts_with("89.8")),
        "{found}"
    );

    // A slip is undone; what is deleted is asked about, and comes back.
    add(&browser, &[("head", "1180")]);
    browser.press(".log-undo");
    browser.wait(
        "twelve again",
        "return document.querySelectorAll('.log-table tbody tr').length === 12",
    );
    browser.press("[data-entry='11'] .log-change");
    browser.press(".log-drop");
    assert_eq!(count(&browser), json!(12), "asked before anything goes");
    browser.press(".notice button");
    browser.wait(
        "eleven",
        "return document.querySelectorAll('.log-table tbody tr').length === 11",
    );
    browser.press(".log-undo");
    browser.wait(
        "twelve again",
        "return document.querySelectorAll('.log-table tbody tr').length === 12",
    );

    // The browser is killed, and the profile opened again.
    browser.kill();
    browser = Browser::open_in(&profile, 360, 740);
    browser.go(&page);
    kept(&browser);
    browser.wait(
        "the readings",
        "return document.querySelectorAll('.log-table tbody tr').length === 12",
    );
    assert_eq!(verdicts(&browser), expected, "after a kill");

    // The core says natively what it says in the page.
    let export = browser.run_with(EXPORTED, &json!(".log-json"));
    let shown = "const box = document.createElement('div'); box.innerHTML = given; box.querySelector('.judged').remove(); return [box.textContent, document.querySelector('.log-result').textContent]";
    let both = browser.run_with(shown, &json!(natively(&export)));
    assert_eq!(both[0], both[1]);

    // Exported; the table for other programs has a line for each.
    let table = browser.run_with(EXPORTED, &json!(".log-csv"));
    assert_eq!(
        table.as_str().map(|text| text.lines().count()),
        Some(13),
        "{table}"
    );
    one_side(
        &browser,
        &folder.join("report.pdf"),
        &["98.4", "82.0 %", "Agrees"],
    );

    // Elsewhere: a new server, as of another version of the site, and a fresh profile.
    drop(browser);
    let (_server, address) = serve(&folder.join("other"));
    let other = Browser::open(360, 740);
    other.go(&format!("{address}techniques/vacuum-distillation/"));
    other.wait("the log", "return document.querySelector('.log-add')");
    let text = export.as_str().expect("an export");
    let broken = text.replacen("\"head\":\"109\"", "\"head\":", 1);
    other.run_with(
        CHOOSE,
        &json!({"input": ".log-restore input", "files": [["broken.json", broken]]}),
    );
    let refusal = other.wait(
        "the refusal",
        "return document.querySelector('.notice p')?.textContent",
    );
    assert!(
        refusal
            .as_str()
            .is_some_and(|said| said.contains("line 6 ")),
        "{refusal}"
    );
    other.press(".notice button");
    assert_eq!(
        count(&other),
        json!(0),
        "nothing of a broken export is taken"
    );
    let hostile = text.replacen(
        "\"head\":\"70\"",
        "\"head\":\"70\",\"note\":\"<img src=x onerror=window.hit=1>\"",
        1,
    );
    other.run_with(
        CHOOSE,
        &json!({"input": ".log-restore input", "files": [["bench.json", hostile]]}),
    );
    other.wait(
        "the readings",
        "return document.querySelectorAll('.log-table tbody tr').length === 12",
    );
    assert_eq!(verdicts(&other), expected, "restored");
    let markup = other.run("return [document.querySelector('.log img'), window.hit ?? null, document.querySelector('[data-entry=\"0\"]').textContent.includes('<img')]");
    assert_eq!(markup, json!([null, null, true]));

    // The class side by side.
    other.go(&format!("{address}class/"));
    other.wait(
        "the page",
        "return document.querySelector('.class-files input')?.onchange && true",
    );
    let half = text.replacen("\"mass\":\"98.4\"", "\"mass\":\"60\"", 1);
    other.run_with(CHOOSE, &json!({"input": ".class-files input", "files": [["one.json", text], ["<b>two.json", half], ["three.json", "{}"]]}));
    let class = other.wait("both groups", "const rows = [...document.querySelectorAll('.class-result tbody tr')].map(row => row.textContent); return rows.some(row => row.includes('82.0 %')) && rows.some(row => row.includes('50.0 %')) && [document.querySelectorAll('.class-result .plot').length, document.querySelector('.class-result b'), document.querySelectorAll('.class-refused li').length]");
    assert_eq!(class, json!([2, null, 1]));
    assert_eq!(other.complaints(), Vec::<String>::new());
    drop(other);
    let _ = std::fs::remove_dir_all(&folder);
}

#[test]
fn extraction_and_column_are_judged_by_what_their_page_expects() {
    let folder = folder("readings-others");
    let (_server, address) = serve(&folder.join("site"));
    let browser = Browser::open(360, 740);
    // D = 5, 150 mL, portions of 40 mL: 4/7, 40/49 and 316/343 are out (57.1, 81.6 and 92.1 %).
    browser.go(&format!("{address}techniques/repeated-extraction/"));
    browser.wait("the log", "return document.querySelector('.log-add')");
    fill(&browser, &[("charge", "10")]);
    for [portion, mass] in [["1", "5.7"], ["2", "2.45"], ["3", "0.3"]] {
        add(&browser, &[("portion", portion), ("mass", mass)]);
    }
    assert_eq!(verdicts(&browser), json!(["agrees", "agrees", "low"]));
    // What the page's calculator is given now counts: with D = 2, what came out is too much.
    browser.type_into(".calculator [name=distribution]", "2");
    browser.wait(
        "new verdicts",
        "return [...document.querySelectorAll('.log-said')].at(-1).dataset.verdict === 'high'",
    );

    browser.go(&format!("{address}techniques/flash-column/"));
    browser.wait("the log", "return document.querySelector('.log-add')");
    let window = browser.run("return ['first_fraction.yellow', 'last_fraction.yellow'].map(name => Number(document.querySelector(`[data-result=\"${name}\"] output`).textContent))");
    let [first, last] = [0, 1].map(|at| window[at].as_f64().expect("a fraction"));
    for fraction in [first, last, last + 3.0, first - 2.0] {
        let (fraction, spot) = (fraction.to_string(), "yellow");
        add(&browser, &[("fraction", &fraction), ("spot", spot)]);
    }
    assert_eq!(
        verdicts(&browser),
        json!(["agrees", "agrees", "high", "low"])
    );
    drop(browser);
    let _ = std::fs::remove_dir_all(&folder);
}

/// Where the browser keeps nothing, or has no room left, the log works as long as the page and
/// says so.
#[test]
fn what_cannot_be_kept_is_said() {
    let folder = folder("readings-refused");
    let (_server, address) = serve(&folder.join("site"));
    let page = format!("{address}techniques/vacuum-distillation/");
    let kept = "return document.querySelector('.log-kept').textContent";
    for (fault, said) in [
        (
            "Object.defineProperty(window, 'indexedDB', { value: { open() { throw new Error('refused'); } } })",
            "keeps nothing here",
        ),
        (
            "IDBObjectStore.prototype.put = () => { throw new DOMException('full', 'QuotaExceededError'); }",
            "could not be kept on this device",
        ),
    ] {
        let browser = Browser::open(360, 740);
        browser.before_pages(fault);
        browser.go(&page);
        browser.wait("the log", "return document.querySelector('.log-add')");
        for head in ["108", "109"] {
            add(&browser, &[("head", head), ("pressure", "28")]);
        }
        assert_eq!(verdicts(&browser), json!(["agrees", "agrees"]));
        let words = browser.run(kept);
        assert!(
            words.as_str().is_some_and(|words| words.contains(said)),
            "{words}"
        );
        let export = browser.run_with(EXPORTED, &json!(".log-json"));
        assert!(
            export.as_str().is_some_and(|text| text.contains("\"109\"")),
            "{export}"
        );
    }
    let _ = std::fs::remove_dir_all(&folder);
}

/// Without a script, and before anything was logged, paper gets a table to fill in by hand.
#[test]
fn without_a_log_there_is_a_table_to_fill_in() {
    let folder = folder("readings-blank");
    let (_server, address) = serve(&folder.join("site"));
    let browser = Browser::open(360, 740);
    browser.block(&["*/main.*.js"]);
    browser.go(&format!("{address}techniques/vacuum-distillation/"));
    let blank = "const table = document.querySelector('.readings-blank table'); return [table.checkVisibility(), table.tBodies[0].rows.length, table.tHead.textContent]";
    assert_eq!(
        browser.run(blank),
        json!([
            true,
            12,
            "No.TimeHead °CPressure mmHgBath °CFractionMass of fraction gRemark"
        ])
    );
    drop(browser);
    let _ = std::fs::remove_dir_all(&folder);
}

/// The log of an export, worked out here: its HTML.
fn natively(export: &Value) -> String {
    let run: Value = serde_json::from_str(export.as_str().expect("a text")).expect("JSON");
    let text = |value: &Value| value.as_str().unwrap_or_default().to_string();
    let spec = Spec::read(&text(&run["spec"]));
    let once = run["once"].as_object().expect("what was asked once");
    let entries = run["entries"].as_array().expect("readings");
    let cells = |entry: &Value| {
        spec.each()
            .map(|one| text(&entry["cells"][&one.name]))
            .collect()
    };
    let entries = Entries {
        once: once
            .iter()
            .map(|(name, value)| (name.clone(), text(value)))
            .collect(),
        rows: entries.iter().map(cells).collect(),
    };
    let sheet = Sheet::read(&text(&run["sheet"]));
    let log = readings::log(&forerun_tests::library(), &spec, &sheet, &entries);
    report::log(&log, "readings", "../../")
}

/// Prints the report sheet: one side, with these words on it.
fn one_side(browser: &Browser, file: &Path, words: &[&str]) {
    browser.run("window.print = () => {}; document.querySelector('.log-report').click()");
    browser.wait("the report", "return document.querySelector('.report td')");
    let text = browser.run("return document.querySelector('.report').textContent");
    for word in words {
        assert!(
            text.as_str().is_some_and(|text| text.contains(word)),
            "{word}: {text}"
        );
    }
    std::fs::write(file, browser.print()).expect("a file");
    let pdf = std::fs::read(file).expect("the print");
    // Each page of a PDF is an object of this type (ISO 32000-1, 7.7.3.3).
    let pages = String::from_utf8_lossy(&pdf)
        .matches("/Type /Page\n")
        .count();
    assert_eq!(pages, 1, "sides of the report sheet");
}
