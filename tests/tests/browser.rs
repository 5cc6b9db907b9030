//! The site in a real browser of phone size: what a student does, with and without a network.

use std::path::PathBuf;
use std::sync::{Mutex, MutexGuard, PoisonError};

use calc_wasm::calculators;
use calc_wasm::library::Library;
use calc_wasm::report;
use forerun_tests::browser::{Browser, Running, serve};
use forerun_tests::random::{Random, inputs_for};
use forerun_tests::{PRINT, print};
use serde_json::{Value, json};
use site_builder::command::proof;
use site_builder::files::Files;
use site_builder::finding::Severity;
use site_builder::page::checks;
use site_builder::read::source::Text;

/// One browser at a time: four at once starve each other on two processors.
static TURN: Mutex<()> = Mutex::new(());

/// A site of its own for each test, gone when the test ends.
struct Site {
    _turn: MutexGuard<'static, ()>,
    folder: PathBuf,
    server: Running,
    address: String,
}

impl Site {
    fn new(name: &str) -> Self {
        let turn = TURN.lock().unwrap_or_else(PoisonError::into_inner);
        let folder = std::env::temp_dir()
            .join(format!("forerun-{name}-{}", std::process::id()))
            .join("site");
        std::fs::create_dir_all(folder.parent().expect("a parent")).expect("a folder");
        let (server, address) = serve(&folder);
        Site {
            _turn: turn,
            folder,
            server,
            address,
        }
    }

    /// The data tables that the pages load.
    fn library(&self) -> Library {
        let data = std::fs::read_dir(&self.folder)
            .expect("the site")
            .filter_map(|entry| Some(entry.ok()?.path()))
            .find(|path| path.extension().is_some_and(|ending| ending == "tsv"))
            .expect("the data file");
        Library::from_text(&std::fs::read_to_string(data).expect("the data"))
            .expect("readable data")
    }
}

impl Drop for Site {
    fn drop(&mut self) {
        if let Some(parent) = self.folder.parent() {
            let _ = std::fs::remove_dir_all(parent);
        }
    }
}

/// Every calculator with its presets, and every published check.
fn cases() -> Vec<(String, Vec<(String, String)>)> {
    let mut cases: Vec<_> = calculators::all()
        .iter()
        .map(|c| (c.name.to_string(), Vec::new()))
        .collect();
    let files: Vec<Text> = forerun_tests::files("tests/published", "toml")
        .into_iter()
        .map(|path| Text {
            file: path.display().to_string(),
            path: path.display().to_string(),
            text: std::fs::read_to_string(&path).expect("a file of checks"),
            ..Text::default()
        })
        .collect();
    let read = checks::read(&files).unwrap_or_else(|findings| panic!("{findings:?}"));
    let read = read.checks;
    assert!(read.len() > 400, "only {} checks were read", read.len());
    cases.extend(
        read.into_iter()
            .map(|check| (check.calculator, check.inputs.into_iter().collect())),
    );
    cases
}

/// Starts a core of its own, as the script of the page at `address` does it. Each has another
/// address, so that the browser makes it anew.
const OWN_CORE: &str = "const start = async (address, name) => {
        const page = new DOMParser().parseFromString(await (await fetch(address)).text(), 'text/html').documentElement.dataset;
        const at = path => new URL(path, new URL(address, location.href)).href;
        const core = await import(at(page.module) + '?' + name);
        await core.default({ module_or_path: at(page.wasm) });
        core.load(await (await fetch(at(page.data))).text());
        return core;
    };";

/// Random inputs for each calculator, besides those that are written down.
const RANDOM: usize = 300;

#[test]
fn page_and_builder_agree_to_the_last_bit() {
    let site = Site::new("agree");
    let library = site.library();
    let browser = Browser::open(360, 740);
    browser.go(&format!("{}search.html", site.address));
    let cases = cases();
    let mut random = Random::new(17);
    for calculator in calculators::all() {
        let written = cases.iter().filter(|(name, _)| name == calculator.name);
        let mut given: Vec<_> = written.map(|(_, pairs)| pairs.clone()).collect();
        // A line cannot hold a line's end, nor can the page's fields.
        given.extend((0..RANDOM).map(|_| inputs_for(calculator, &library, &mut random)));
        let lines = |pairs: &Vec<(String, String)>| {
            let lines = pairs.iter().map(|(key, value)| format!("{key}={value}"));
            lines.collect::<Vec<_>>().join("\n")
        };
        let lines: Vec<String> = given.iter().map(lines).collect();
        let run = |script: &str, given: &Value| {
            let name = calculator.name;
            let core = format!("const core = await start('calculators/{name}/', '{name}');");
            browser.run_with(&format!("{OWN_CORE}{PRINT}{core}{script}"), given)
        };
        let answers = run(
            &format!(
                "return given.map(inputs => ['figures', 'result'].map(what => print(what === 'result' ? core.result('{0}', 'x', inputs, '../') : core.figures('{0}', inputs))));",
                calculator.name
            ),
            &json!(lines),
        );
        let answers = answers.as_array().expect("an answer for each case");
        assert_eq!(answers.len(), given.len());
        for ((pairs, lines), answer) in given.iter().zip(&lines).zip(answers) {
            let expected = [
                report::bits(calculator, &library, pairs),
                report::result(calculator, &library, "x", pairs, "../"),
            ];
            if *answer != json!(expected.each_ref().map(|text| print(text))) {
                let found = run(
                    &format!(
                        "return [core.figures('{0}', given), core.result('{0}', 'x', given, '../')]",
                        calculator.name
                    ),
                    &json!(lines),
                );
                assert_eq!(found, json!(expected), "{} {pairs:?}", calculator.name);
            }
        }
    }
}

#[test]
fn what_draws_codes_comes_when_one_is_asked_for() {
    let site = Site::new("codes");
    let browser = Browser::open(360, 740);
    browser.go(&format!("{}search.html", site.address));
    let found = browser.run(
        &format!("{OWN_CORE} const core = await start('calculators/soxhlet/', 'unknown'); return ['', 'soxhlet', 'soxlet'].filter(name => core.result(name, 'x', '', '') || core.figures(name, ''));"),
    );
    assert_eq!(found, json!(["soxhlet"]));

    let fetched = "return performance.getEntriesByType('resource').map(one => one.name.replace(/.*[/]/, '').split('.')).filter(([name, , ending]) => ending === 'wasm').map(([name]) => name).filter((name, at, all) => all.indexOf(name) === at).sort()";
    browser.go(&format!("{}calculators/soxhlet/", site.address));
    browser.wait(
        "the core",
        "return performance.getEntriesByType('resource').some(one => one.name.endsWith('.tsv')) && performance.now() > 1500",
    );
    assert_eq!(browser.run(fetched), json!(["calc"]));
    browser.press(".calc-tools button[aria-expanded]");
    browser.wait(
        "the code",
        "return document.querySelector('.shared .code svg.qr') !== null",
    );
    assert_eq!(browser.run(fetched), json!(["calc", "code"]));
}

/// The site as it is served, its compiled core included, keeps to its limits.
#[test]
fn the_site_keeps_to_its_limits() {
    let site = Site::new("light");
    let mut files = Files::new();
    let mut folders = vec![site.folder.clone()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).expect("a folder") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let name = path.strip_prefix(&site.folder).expect("inside");
                let name = name.display().to_string();
                files.insert(name, std::fs::read(&path).expect("a file"));
            }
        }
    }
    assert!(files.keys().any(|name| name.ends_with(".wasm")));
    let mut found = proof::check(&files);
    found.retain(|finding| finding.severity == Severity::Error);
    assert_eq!(found, []);
}

/// A form that was touched and says what the author said gets the result that was built.
#[test]
fn the_forms_of_all_pages_say_what_was_built() {
    let site = Site::new("touched");
    let browser = Browser::open(360, 740);
    let mut forms = 0;
    for folder in ["techniques", "experiments"] {
        let pages = std::fs::read_dir(site.folder.join(folder)).expect("pages");
        for page in pages.map(|entry| entry.expect("a page").file_name()) {
            let address = format!("{}{folder}/{}/", site.address, page.to_string_lossy());
            browser.go(&address);
            if browser.run("return document.querySelector('.run-sheet') !== null") == json!(true) {
                forms += a_run_comes_back(&browser, &address);
                continue;
            }
            // Until the core is there, nothing takes the place of what is put in for the results.
            let touched = browser.wait("the core", "const blocks = [...document.querySelectorAll('.calculator')], texts = () => blocks.map(one => one.querySelector('.calc-result').textContent); window.built ??= texts(); for (const one of blocks) { one.querySelector('.calc-result').replaceChildren('old'); one.querySelector('.calc-form').dispatchEvent(new Event('input')); } await new Promise(done => requestAnimationFrame(() => setTimeout(done))); const touched = texts(); return !touched.includes('old') && [blocks.map(one => one.id), window.built, touched]");
            let [ids, built, touched] = [0, 1, 2].map(|at| &touched[at]);
            assert_eq!(built, touched, "{address} {ids}");
            forms += ids.as_array().map_or(0, Vec::len);
        }
    }
    assert!(forms > 50, "only {forms} forms");
}

/// On a page with a run all is what was built when a value was changed and changed back. Gives how
/// many calculators it has.
fn a_run_comes_back(browser: &Browser, address: &str) -> usize {
    let shown = "[...document.querySelectorAll('.calc-result, [data-number], .drawn-values')].map(one => one.textContent)";
    let built = browser.run(&format!("return {shown}"));
    let field = "const field = document.querySelector('#run input');";
    let put = |text: &str| {
        browser.run(&format!("{field} window.author ??= field.value; field.value = {text}; field.dispatchEvent(new Event('input', {{ bubbles: true }}))"));
    };
    put("'nothing of the kind'");
    browser.wait(
        "the refusal",
        &format!(
            "const shown = {shown}; return shown.some(text => text.includes('nothing of the kind'))"
        ),
    );
    put("window.author");
    let back = browser.wait(
        "what was built",
        &format!("const shown = {shown}; return !shown.some(text => text.includes('nothing of the kind')) && shown"),
    );
    assert_eq!(back, built, "{address}");
    let forms = browser.run("return document.querySelectorAll('.calculator').length");
    forms.as_u64().map_or(0, |forms| forms as usize)
}

/// Without a script, without the core, or on a line that fails between the two, a form shows the
/// page's own values beside the result that was built for them, and takes no others.
#[test]
fn a_form_is_closed_while_nothing_can_answer_for_other_values() {
    let site = Site::new("closed");
    let browser = Browser::open(360, 740);
    let page = format!("{}calculators/boiling-point/", site.address);
    let values = "#set:boiling-point.pressure=3%20mmHg";
    let elsewhere = format!("{}about/", site.address);
    let state = "const field = document.querySelector('[name=pressure]'); return [field.matches(':disabled'), field.value, document.querySelector('.calc-result').innerText, document.querySelector('.calc-closed').checkVisibility()]";
    browser.go(&page);
    browser.wait(
        "an open form",
        "return document.querySelector('[name=pressure]').matches(':enabled') && !document.querySelector('.calc-closed').checkVisibility()",
    );
    let built = browser.run("return document.querySelector('.calc-result').innerText");
    let closed = json!([true, "100 mmHg", built, true]);
    for blocked in ["*/main.*.js", "*/calc.*.js", "*/calc.*.wasm", "*/*.tsv"] {
        browser.block(&[blocked]);
        for address in [page.clone(), format!("{page}{values}")] {
            browser.go(&elsewhere);
            browser.go(&address);
            if blocked != "*/main.*.js" {
                browser.wait("the notice", "return document.querySelector('.notice')");
            }
            assert_eq!(browser.run(state), closed, "{blocked} {address}");
        }
    }

    // A card has no result beside values that nothing could work out.
    browser.go(&format!(
        "{}techniques/vacuum-distillation/card.html{values}",
        site.address
    ));
    browser.wait("the notice", "return document.querySelector('.notice')");
    let card = "return document.querySelector('[data-id=boiling-point] [data-result=temperature] dd').textContent";
    assert_eq!(browser.run(card), json!("–"));

    // With the line back, what came with the address is there.
    browser.go(&elsewhere);
    browser.go(&format!("{page}{values}"));
    browser.wait("the notice", "return document.querySelector('.notice')");
    browser.block(&[]);
    browser.press(".notice button");
    browser.wait(
        "the values of the address",
        "return document.querySelector('[name=pressure]')?.value === '3 mmHg' && document.querySelector('.calc-result[aria-busy=false] .figure.main')",
    );
}

/// An address says what was typed, and nothing else: what it names reaches no property of the
/// language, and no caution goes.
#[test]
fn a_link_takes_no_caution_from_a_card() {
    let site = Site::new("link");
    let browser = Browser::open(360, 740);
    let card = format!(
        "{}techniques/fractional-distillation/card.html",
        site.address
    );
    let cautions = |hash: &str| {
        browser.go(&format!("{}about/", site.address));
        browser.go(&format!("{card}{hash}"));
        browser.wait(
            "the values typed",
            "return document.querySelector('[data-id=fraction-column] [data-input=pressure] b').textContent === '600 mmHg' && document.querySelector('[data-id=fraction-column] .card-warnings > *')",
        );
        browser.run("return [...document.querySelectorAll('[data-id=fraction-column] .card-warnings > *')].map(one => one.textContent)")
    };
    let sound = cautions("#set:fraction-column.pressure=600%20mmHg");
    assert!(sound.as_array().is_some_and(|all| all.len() > 1), "{sound}");
    for hostile in [
        "__proto__.dangersOnly=",
        "constructor.prototype=x",
        "fraction-column.__proto__=x",
        "fraction-column.dangersOnly=yes",
        "fraction-column.toString=x",
    ] {
        let hash = format!("#set:{hostile}&fraction-column.pressure=600%20mmHg");
        assert_eq!(cautions(&hash), sound, "{hostile}");
    }
    assert_eq!(browser.run("return 'dangersOnly' in {}"), json!(false));

    // Values that are refused leave the printed cautions where they are.
    browser.go(&format!("{}about/", site.address));
    browser.go(&format!("{card}#set:fraction-column.pressure=none"));
    let kept = browser.wait(
        "the refusal",
        "const all = [...document.querySelectorAll('[data-id=fraction-column] .card-warnings > *')]; return all[0].matches('.problem') && all.length",
    );
    assert!(kept.as_u64().is_some_and(|count| count > 1), "{kept}");

    // A line's end in a value begins no other input.
    browser.go(&format!("{}about/", site.address));
    browser.go(&format!(
        "{card}#set:fraction-column.pressure=600%20mmHg%0Anonsense%3D1"
    ));
    let refusal = browser.wait(
        "the refusal",
        "return document.querySelector('[data-id=fraction-column] .card-warnings .problem')?.textContent",
    );
    assert!(!refusal.to_string().contains("No such input"), "{refusal}");
}

/// What is broken in the address or on the device stops its own part of the page at most.
#[test]
fn each_part_of_a_page_fails_alone() {
    let site = Site::new("alone");
    let browser = Browser::open(360, 740);
    browser.go(&format!("{}search.html#100%", site.address));
    browser.type_into("form.search input", "soxhlet");
    browser.wait(
        "what was found",
        "return document.querySelector('#found a')?.textContent.includes('Soxhlet')",
    );
    let page = format!("{}techniques/vacuum-distillation/", site.address);
    browser.go(&page);
    for broken in ["5", "{}", "\"x\"", "{"] {
        browser.run_with(
            "localStorage.setItem('forerun ticks ' + location.pathname, given); for (const one of document.querySelectorAll('.calculator')) localStorage.setItem(`forerun ${location.pathname}#${one.id}`, given)",
            &json!(broken),
        );
        browser.reload();
        browser.wait(
            "steps that can be ticked and forms that are open",
            "return document.querySelector('.step-tools') && document.querySelector('.calc-fields:enabled')",
        );
        browser.press("ol.steps li:nth-child(2) input[data-step]");
        browser.wait(
            "the tick kept",
            "return JSON.parse(localStorage.getItem('forerun ticks ' + location.pathname)).length === 1",
        );
    }
}

/// A copy to the server that is half done: a new page whose style or script is not there yet, or
/// an old one whose style is gone. A reader without anything kept is told so; else nobody is.
#[test]
fn a_copy_half_done_says_so() {
    let site = Site::new("half");
    let browser = Browser::open(360, 740);
    let page = format!("{}techniques/vacuum-distillation/", site.address);
    let shown = |class: &str| {
        format!(
            "const one = document.querySelector('p.{class}'); return !!one && getComputedStyle(one).display !== 'none' && getComputedStyle(one).visibility === 'visible'"
        )
    };
    let told = |class: &str| browser.run(&shown(class)) == json!(true);
    browser.block(&["*.css"]);
    browser.go(&page);
    assert!(told("half-done"), "without its style");
    browser.block(&["*/main.*.js", "*/core.*.js"]);
    browser.go(&page);
    assert!(!told("half-done"), "the style is there");
    browser.wait(
        "a word on the script that is missing",
        &shown("half-started"),
    );
    browser.block(&[]);
    browser.go(&page);
    browser.wait(
        "a page that has been read for long",
        "return performance.now() > 9000",
    );
    assert!(!told("half-done") && !told("half-started"), "all is there");
}

/// Where data are to be saved, the core comes with the first touch of a form, and the page says so
/// within a tenth of a second; with other values than the page's own it comes at once.
#[test]
fn the_core_comes_when_it_is_touched() {
    let site = Site::new("touch");
    let browser = Browser::open(360, 740);
    browser.before_pages(
        "Object.defineProperty(navigator, 'connection', { value: { saveData: true } })",
    );
    let page = format!("{}calculators/boiling-point/", site.address);
    let came = "return performance.getEntriesByType('resource').map(one => one.name).filter(name => /calc\\.|\\.tsv/.test(name)).length";
    browser.go(&page);
    browser.wait(
        "a quiet page",
        "return document.readyState === 'complete' && performance.now() > 1500",
    );
    assert_eq!(browser.run(came), json!(0), "fetched before it was touched");
    let said = browser.run("document.querySelector('[name=pressure]').focus(); await new Promise(done => setTimeout(done, 100)); return document.querySelector('p[role=status]').textContent");
    assert_eq!(said, json!("Fetching the calculators"));
    browser.wait("the core", &format!("{came} === 3"));

    browser.go(&format!("{}about/", site.address));
    browser.go(&format!("{page}#set:boiling-point.pressure=20%20mmHg"));
    browser.wait("the core for other values", &format!("{came} === 3"));
}

/// A caution stands before the words of its step and inside it, and one in a text where it was
/// written: between its neighbours, at every width.
#[test]
fn cautions_stand_before_what_they_warn_of() {
    let site = Site::new("before");
    let (mut measured, mut wrong) = (0, Vec::new());
    for width in [360, 1280] {
        let browser = Browser::open(width, 800);
        for folder in ["techniques", "experiments"] {
            let pages = std::fs::read_dir(site.folder.join(folder)).expect("pages");
            for page in pages.map(|entry| entry.expect("a page").file_name()) {
                let name = page.to_string_lossy().into_owned();
                browser.go(&format!("{}{folder}/{name}/", site.address));
                let found = browser.run("const box = one => one.getBoundingClientRect(); return [...document.querySelectorAll('main .markdown-alert-caution, main .markdown-alert-warning')].filter(one => one.checkVisibility()).map(one => { const step = one.closest('.step'), [its, all] = [box(one), box(one.parentElement)]; const inside = its.top >= all.top - 1 && its.bottom <= all.bottom + 1 && its.left >= all.left - 1 && its.right <= all.right + 1; const next = one.nextElementSibling, before = !next || box(next).top >= its.bottom - 1; return inside && before && (!step || its.bottom <= box(step.querySelector(':scope > label')).top + 1) ? '' : one.textContent.trim().slice(0, 60); })");
                for one in found.as_array().expect("a list") {
                    measured += 1;
                    if one != "" {
                        wrong.push(format!("{width} {name}: {one}"));
                    }
                }
            }
        }
    }
    assert!(measured > 200, "only {measured} cautions");
    assert_eq!(wrong, Vec::<String>::new());
}

const NUMERAL: &str =
    "return document.querySelector('.calculator .figure.main output')?.textContent";

#[test]
fn a_student_types_reloads_and_goes_on_without_a_network() {
    let mut site = Site::new("student");
    let browser = Browser::open(360, 740);
    let page = format!("{}calculators/boiling-point/", site.address);
    browser.go(&page);
    let first = browser.run(NUMERAL);
    let expected = |pressure: &str| {
        let pairs = forerun_tests::pairs(&[("substance", "toluene"), ("pressure", pressure)]);
        let calculator = calculators::find("boiling-point").expect("boiling-point");
        let outcome = calculator.run(&site.library(), &pairs).expect("an answer");
        outcome
            .figure("temperature")
            .expect("a temperature")
            .numeral()
    };
    assert_eq!(first, json!(expected("100 mmHg")));

    // Typing changes the result at once, and the address and the device keep what was typed.
    let (twenty, fifty) = (expected("20 mmHg"), expected("50 mmHg"));
    browser.wait(
        "the core",
        "return document.querySelector('datalist option') !== null || performance.now() > 3000",
    );
    browser.type_into("[name=pressure]", "20 mmHg");
    browser.wait(
        "the new result",
        &format!("{NUMERAL} === {}", json!(twenty)),
    );
    browser.wait(
        "the address",
        "return location.hash.startsWith('#set:') && location.hash.includes('pressure')",
    );
    assert_eq!(browser.run("return document.querySelector('.calc-result figure.plot svg .mark-label').textContent.includes(given ?? '°C')"), json!(true));

    // What cannot be right gets a sentence, at its field.
    browser.type_into("[name=pressure]", "20 mL");
    let sentence = browser.wait("the problem", "return document.querySelector('[data-input=pressure] .field-problem:not([hidden])')?.textContent");
    assert!(
        sentence
            .as_str()
            .is_some_and(|text| text.contains("pressure")),
        "{sentence}"
    );
    browser.type_into("[name=pressure]", "20 mmHg");
    browser.wait(
        "the result again",
        &format!("{NUMERAL} === {}", json!(twenty)),
    );

    // Nothing shifted, nothing was asked of another host, nothing was refused by the policy.
    let shift = browser.run(
        "return await new Promise(done => { let sum = 0; new PerformanceObserver(list => { for (const entry of list.getEntries()) if (!entry.hadRecentInput) sum += entry.value; }).observe({ type: 'layout-shift', buffered: true }); setTimeout(() => done(sum), 300); })",
    );
    assert!(
        shift.as_f64().is_some_and(|sum| sum < 0.001),
        "layout shift {shift}"
    );
    let foreign = browser.run("return performance.getEntriesByType('resource').map(entry => entry.name).filter(name => !name.startsWith(location.origin))");
    assert_eq!(foreign, json!([]));
    assert_eq!(browser.complaints(), Vec::<String>::new());

    // The worker has the whole site; then the server is gone.
    browser.wait("the worker", "const worker = await navigator.serviceWorker.ready; return worker.active?.state === 'activated'");
    site.server.stop();
    let origin = site.address.trim_end_matches('/').to_string();
    browser.reload();
    browser.wait(
        "the kept value",
        "return document.querySelector('[name=pressure]')?.value === '20 mmHg'",
    );
    browser.wait(
        "the kept result",
        &format!("{NUMERAL} === {}", json!(twenty)),
    );
    browser.type_into("[name=pressure]", "50 mmHg");
    browser.wait(
        "a new result without a network",
        &format!("{NUMERAL} === {}", json!(fifty)),
    );
    // What draws codes was not asked for while there was a network.
    browser.press(".calc-tools button[aria-expanded]");
    browser.wait(
        "a code without a network",
        "return document.querySelector('.shared .code svg.qr') !== null",
    );
    browser.go(&format!("{origin}/techniques/vacuum-distillation/"));
    assert_eq!(
        browser.run("return document.querySelector('h1').textContent"),
        json!("Distillation under reduced pressure")
    );
}

#[test]
fn rows_are_added_moved_and_removed() {
    let site = Site::new("rows");
    let browser = Browser::open(360, 740);
    browser.go(&format!("{}calculators/flash-elution/", site.address));
    let spots = "return [...document.querySelectorAll('[name=spots] .row [data-column=name]')].map(cell => cell.value).join(' ')";
    let before = browser.run(spots);
    let before = before.as_str().expect("spots").to_string();
    let names: Vec<&str> = before.split(' ').collect();
    assert!(names.len() >= 2, "{before}");
    browser.wait("the core", "return performance.now() > 1500");
    browser.run("window.said = []; const status = document.querySelector('[role=status]'); new MutationObserver(() => said.push(status.textContent)).observe(status, { childList: true })");
    browser.press("[name=spots] .row [data-move=down]");
    let swapped = format!("{} {}", names[1], names[0]);
    browser.wait(
        "the swapped rows",
        &format!("{} .startsWith({})", spots, json!(swapped)),
    );
    browser.press("[name=spots] [data-move=add]");
    let last = "[name=spots] .row:nth-last-of-type(1)";
    browser.type_into(&format!("{last} [data-column=name]"), "extra");
    browser.type_into(&format!("{last} [data-column=rf]"), "0.6");
    browser.type_into(&format!("{last} [data-column=mass]"), "10 mg");
    browser.wait(
        "the third spot",
        "return document.querySelector('[data-result=\"retention_volume.extra\"]') !== null",
    );
    browser.press(&format!("{last} [data-move=remove]"));
    browser.wait(
        "two spots again",
        "return document.querySelector('[data-result=\"retention_volume.extra\"]') === null",
    );
    // Each was said, before the result that came of it.
    let said = browser
        .run("return said.filter(text => /^(Moved to row|Row) \\d/.test(text)).map(text => text.replace(/\\d+/, ''))");
    assert_eq!(said, json!(["Moved to row ", "Row  added", "Row  removed"]));
}

#[test]
fn ticked_steps_stay_ticked_without_a_network() {
    let site = Site::new("steps");
    let browser = Browser::open(360, 740);
    browser.go(&format!("{}techniques/vacuum-distillation/", site.address));
    browser.wait("the worker", "const worker = await navigator.serviceWorker.ready; return worker.active?.state === 'activated'");
    browser.press("ol.steps li:nth-child(2) input[data-step]");
    browser.wait(
        "the tick",
        "return document.querySelector('ol.steps li:nth-child(2) input').checked",
    );
    let mut site = site;
    site.server.stop();
    browser.reload();
    browser.wait(
        "the tick after reloading",
        "return document.querySelector('ol.steps li:nth-child(2) input').checked",
    );
    assert_eq!(
        browser.run("return document.querySelector('ol.steps li:nth-child(1) input').checked"),
        json!(false)
    );
    // A word is explained on the page, out of the kept glossary.
    let shown = browser.run(
        "const link = document.querySelector('a.term'); link.click(); for (let i = 0; i < 100 && !document.querySelector('.meaning'); i++) await new Promise(done => setTimeout(done, 50)); const box = document.querySelector('.meaning:popover-open'); return [link.textContent.toLowerCase(), location.pathname, box?.querySelector('p').textContent.length > 20]",
    );
    assert_eq!(shown[1], json!("/techniques/vacuum-distillation/"));
    assert_eq!(shown[2], json!(true), "{shown}");
    let wide = browser
        .run("return document.documentElement.scrollWidth - document.documentElement.clientWidth");
    assert_eq!(wide, json!(0), "the page scrolls sideways on a phone");
}
