//! Bench cards: what stands on them is what the calculators say, and the code on them brings the
//! same values back. The code is read by `zbarimg` of Debian's zbar-tools, which shares nothing
//! with what draws it.

use std::io::Write as _;
use std::process::Command;

use calc_wasm::calculators;
use calc_wasm::library::Library;
use forerun_tests::browser::{Browser, serve};
use serde_json::{Value, json};

/// Everything of one setting on a card, as the page shows it.
const SETTING: &str = "const box = document.querySelector('.card-source[data-id=soxhlet]');
    return { inputs: box.dataset.inputs,
        figures: [...box.querySelectorAll('[data-result]')].map(one => [one.dataset.result, one.querySelector('output').textContent]),
        siphon: box.querySelector('[data-input=siphon_volume] b').textContent };";

/// The code as rows of grey values, four pixels for a module.
const PIXELS: &str = "const svg = document.querySelector('.card-qr svg').cloneNode(true);
    const size = 4 * svg.viewBox.baseVal.width;
    svg.setAttribute('xmlns', 'http://www.w3.org/2000/svg');
    svg.setAttribute('width', size); svg.setAttribute('height', size);
    const image = new Image();
    image.src = 'data:image/svg+xml,' + encodeURIComponent(svg.outerHTML);
    await image.decode();
    const canvas = document.createElement('canvas'); canvas.width = canvas.height = size;
    const draw = canvas.getContext('2d'); draw.drawImage(image, 0, 0, size, size);
    const { data } = draw.getImageData(0, 0, size, size);
    return { size, grey: [...data].filter((_, at) => at % 4 === 0) };";

/// What an independent reader finds in the code of the page.
fn read_code(browser: &Browser, name: &str) -> String {
    let pixels = browser.run(PIXELS);
    let grey = pixels["grey"].as_array().expect("grey values");
    let mut picture = format!("P2\n{0} {0}\n255\n", pixels["size"]);
    for value in grey {
        picture.push_str(&value.to_string());
        picture.push('\n');
    }
    let path = std::env::temp_dir().join(format!("forerun-{name}-{}.pgm", std::process::id()));
    let mut file = std::fs::File::create(&path).expect("a file");
    file.write_all(picture.as_bytes()).expect("the picture");
    let read = Command::new("zbarimg")
        .args(["--quiet", "--raw"])
        .arg(&path)
        .output();
    let _ = std::fs::remove_file(&path);
    let read = read.expect("zbarimg, of Debian's zbar-tools");
    String::from_utf8(read.stdout)
        .expect("text")
        .trim()
        .to_owned()
}

fn values(browser: &Browser) -> Value {
    browser.run("return Object.fromEntries([...document.querySelectorAll('#soxhlet [name]')].filter(field => !field.closest('[hidden]')).map(field => [field.name, field.value]))")
}

fn library(folder: &std::path::Path) -> Library {
    let data = std::fs::read_dir(folder)
        .expect("the site")
        .filter_map(|entry| Some(entry.ok()?.path()))
        .find(|path| path.extension().is_some_and(|ending| ending == "tsv"))
        .expect("the data file");
    Library::from_text(&std::fs::read_to_string(data).expect("the data")).expect("readable data")
}

/// The figures on the card are those that the calculator gives for the card's own inputs.
fn agrees(setting: &Value, library: &Library, typed: Option<&str>) {
    let lines = setting["inputs"].as_str().expect("inputs");
    let mut pairs: Vec<(String, String)> = lines
        .lines()
        .filter_map(|line| line.split_once('='))
        .map(|(name, text)| (name.to_owned(), text.to_owned()))
        .collect();
    if let Some(typed) = typed {
        for pair in pairs.iter_mut().filter(|pair| pair.0 == "siphon_volume") {
            typed.clone_into(&mut pair.1);
        }
    }
    let soxhlet = calculators::find("soxhlet").expect("soxhlet");
    let outcome = soxhlet.run(library, &pairs).expect("an answer");
    let figures = setting["figures"].as_array().expect("figures");
    assert!(figures.len() >= 2, "{setting}");
    for figure in figures {
        let name = figure[0].as_str().expect("a name");
        let numeral = outcome.figure(name).expect("the figure").numeral();
        assert_eq!(figure[1], json!(numeral), "{name}");
    }
}

#[test]
fn a_card_follows_what_was_typed_and_its_code_brings_it_back() {
    let folder = std::env::temp_dir()
        .join(format!("forerun-cards-{}", std::process::id()))
        .join("site");
    std::fs::create_dir_all(folder.parent().expect("a parent")).expect("a folder");
    let (_server, address) = serve(&folder);
    let library = library(&folder);
    let page = format!("{address}techniques/soxhlet-extraction/");
    let card = format!("{page}card.html");
    let browser = Browser::open(800, 1100);

    // The author's values, and the code of the site's own address, before any script.
    let built = std::fs::read_to_string(folder.join("techniques/soxhlet-extraction/card.html"))
        .expect("the card");
    assert!(
        built.contains("<svg class=\"qr\""),
        "no code without script"
    );
    browser.go(&card);
    browser.wait("the code", "return document.querySelector('.card-qr svg') !== null && document.readyState === 'complete'");
    agrees(&browser.run(SETTING), &library, None);
    browser.wait("the worker", "const worker = await navigator.serviceWorker.ready; return worker.active?.state === 'activated'");

    // What a reader typed on the page stands on the card, and in its code.
    browser.go(&page);
    browser.wait("the core", "return performance.now() > 1500");
    browser.run("document.querySelector('#soxhlet .drawn').open = true");
    browser.type_into("#soxhlet [name=siphon_volume]", "140 mL");
    browser.wait("the address", "return location.hash.includes('140')");
    let typed = values(&browser);
    browser.go(&card);
    browser.wait("the typed value", "return document.querySelector('.card-source[data-id=soxhlet] [data-input=siphon_volume] b').textContent === '140 mL'");
    agrees(&browser.run(SETTING), &library, Some("140 mL"));
    browser.wait(
        "its code",
        "return !document.querySelector('.card-code').hidden && document.querySelector('.card-qr svg') !== null",
    );
    let code = read_code(&browser, "card");
    assert!(code.starts_with(&format!("{page}#set:soxhlet.")), "{code}");

    // Another phone knows nothing but the code.
    browser.run("localStorage.clear(); return true");
    browser.go(&code);
    browser.wait(
        "the same value",
        "return document.querySelector('#soxhlet [name=siphon_volume]').value === '140 mL'",
    );
    assert_eq!(values(&browser), typed);
    let _ = std::fs::remove_dir_all(folder.parent().expect("a parent"));
}
