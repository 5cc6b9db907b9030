//! Rows of inputs in a real browser of phone size: what is typed into a cell stays in that cell.

use forerun_tests::browser::{Browser, serve};
use serde_json::json;

/// What the page shows: rows, cells of the second row, the fault at the field, marked cells.
const SHOWN: &str = "
    const field = document.querySelector('[data-rows]');
    const rows = [...field.querySelectorAll(':scope > .row')];
    return {
        rows: rows.length,
        second: [...rows[1].querySelectorAll('[data-column]')].map((cell) => cell.value),
        problem: field.closest('.field').querySelector('.field-problem').textContent,
        wrong: [...field.querySelectorAll('[aria-invalid]')].map((cell) => cell.dataset.column),
    };";

#[test]
fn a_cell_keeps_what_is_typed_into_it() {
    let folder = std::env::temp_dir().join(format!("forerun-rows-{}", std::process::id()));
    let (mut server, address) = serve(&folder);
    let browser = Browser::open(360, 740);
    let page = format!("{address}calculators/flash-elution/");
    browser.go(&page);
    let cell = |column: &str| format!(".row:nth-of-type(2) [data-column=\"{column}\"]");
    let settled = |what: &str, address: &str| {
        browser.wait(
            what,
            &format!("return decodeURIComponent(location.hash).includes({address:?})"),
        );
        // Typed values are kept as they were read; a page that loads anew shows the same rows.
        browser.reload();
        // The core parts what stands in the address.
        browser.wait(what, "return document.querySelector('[data-rows]:enabled')");
        browser.run(SHOWN)
    };

    // On some keyboards the semicolon is above the decimal comma.
    browser.type_into(&cell("rf"), "0;25");
    let shown = settled("a semicolon in a number", "b:0.25,80 mg");
    assert_eq!(shown["rows"], json!(2), "{shown}");
    assert_eq!(shown["second"], json!(["b", "0.25", "80 mg"]));
    assert_eq!(shown["problem"], json!(""));

    // Where it is no point, the core refuses it at its cell.
    browser.type_into(&cell("mass"), "80 mg; 90 mg");
    let shown = settled("a semicolon in a mass", "b:0.25,80 mg / 90 mg");
    assert_eq!(shown["rows"], json!(2), "{shown}");
    browser.type_into(&cell("name"), "b; c");
    let problem = browser.wait(
        "a refusal at the cell",
        "return document.querySelector('[aria-invalid]') && document.querySelector('.field-problem:not([hidden])').textContent",
    );
    assert!(
        problem.as_str().is_some_and(|text| text.contains("Row 2")),
        "{problem}"
    );
    let shown = settled("a semicolon in a name", "b / c:0.25");
    assert_eq!(
        (&shown["rows"], &shown["wrong"]),
        (&json!(2), &json!(["mass"])),
        "{shown}"
    );

    // Two whole numbers side by side are two cells, and a decimal comma is none.
    browser.type_into(&cell("rf"), "0,3");
    browser.type_into(&cell("mass"), "80 mg");
    let shown = settled("a decimal comma", "b / c:0.3,80 mg");
    assert_eq!(shown["second"], json!(["b / c", "0.3", "80 mg"]));
    assert_eq!(shown["problem"], json!(""));
    assert_eq!(browser.complaints(), Vec::<String>::new());

    browser.go(&format!(
        "{address}calculators/class-quantities/#set:class-quantities.amounts=a%3A%201%2C5%20mL%3B%20b%3A%203%2C%2020"
    ));
    browser.wait(
        "two rows",
        "return document.querySelectorAll('.row').length === 2",
    );
    let cells = browser.run(
        "return [...document.querySelectorAll('.row')].map((row) => [...row.querySelectorAll('[data-column]')].map((cell) => cell.value).join('|'))",
    );
    assert_eq!(cells, json!(["a|1,5 mL|||", "b|3|20||"]));
    server.stop();
    let _ = std::fs::remove_dir_all(folder);
}
