//! Every page for everyone: no violation of the rules that axe-core knows (among them those of the
//! Web Content Accessibility Guidelines 2.2, A and AA), light and dark, with and without script;
//! no error by the Nu HTML checker; no sideways scrolling at 320 px with text twice as large (WCAG
//! 2.2, success criteria 1.4.4 and 1.4.10).
//!
//! The checkers come from npm (`tests/page/package.json`), the second needs Java. Where they cannot
//! be had, a line says so.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use forerun_tests::browser::{Browser, Running, serve};
use forerun_tests::tools::{installed, is_there, skipped};
use serde_json::{Value, json};

/// The demo site as it is served; gone when the test ends.
struct Site {
    folder: PathBuf,
    address: String,
    _server: Running,
}

impl Site {
    fn new(name: &str) -> Self {
        let folder =
            std::env::temp_dir().join(format!("forerun-everyone-{name}-{}", std::process::id()));
        fs::create_dir_all(&folder).expect("a folder");
        let (server, address) = serve(&folder.join("site"));
        Site {
            folder,
            address,
            _server: server,
        }
    }

    /// The addresses of all pages.
    fn pages(&self) -> Vec<String> {
        let root = self.folder.join("site");
        let mut pages = Vec::new();
        gather(&root, &mut pages);
        pages.sort();
        let page = |path: &PathBuf| {
            let path = path.strip_prefix(&root).expect("inside").to_string_lossy();
            format!("{}{}", self.address, path.trim_end_matches("index.html"))
        };
        let pages: Vec<_> = pages.iter().map(page).collect();
        assert!(pages.len() > 80, "{pages:?}");
        pages
    }
}

impl Drop for Site {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.folder);
    }
}

fn gather(folder: &Path, pages: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            gather(&path, pages);
        } else if path.extension().is_some_and(|ending| ending == "html") {
            pages.push(path);
        }
    }
}

/// Goes to a page of the site, a second time where another answer came: the preview takes leave of
/// a connection that was silent for some seconds with an error, and a browser that asks at that very
/// moment takes it for its answer.
fn open(browser: &Browser, page: &str) {
    browser.go(page);
    let ours = "return document.documentElement.lang !== ''";
    if browser.run(ours) != json!(true) {
        browser.go(page);
        assert_eq!(browser.run(ours), json!(true), "{page} did not come");
    }
}

/// Waits for the calculators, where the script runs, and unfolds what is folded.
const UNFOLDED: &str = "
    for (let tries = 0; given && tries < 200 && document.querySelector('.calc-fields:disabled, [aria-busy=true]'); tries++)
        await new Promise(done => setTimeout(done, 20));
    for (const folded of document.querySelectorAll('details')) folded.open = true;";

/// What axe-core finds; size of targets is not among what it looks for unasked.
const FOUND: &str = "
    const told = found => found.violations.flatMap(({ id, nodes }) => nodes.map(({ target, html }) => `${id}: ${target}: ${html.slice(0, 160)}`));
    return told(await axe.run(document, given ?? { rules: { 'target-size': { enabled: true } } }));";

fn lines(found: &Value) -> impl Iterator<Item = &str> {
    let found = found.as_array().expect("what was found");
    found.iter().map(|line| line.as_str().expect("a line"))
}

#[test]
fn nobody_is_kept_out() {
    let what = "what axe-core finds on the pages";
    let axe = match installed("page") {
        Err(why) => return skipped(what, &why),
        Ok(packages) => fs::read_to_string(packages.join("axe-core/axe.min.js")).expect("axe-core"),
    };
    let site = Site::new("axe");
    let pages = site.pages();
    let browser = Browser::open(1280, 900);
    browser.before_pages(&axe);
    let mut found = Vec::new();
    // The widths take turns with the script, for each has its own layout.
    for (script, width) in [(true, 360), (false, 1280)] {
        browser.block(if script { &[] } else { &["*.js"] });
        browser.command(
            "Emulation.setDeviceMetricsOverride",
            &json!({"width": width, "height": 800, "deviceScaleFactor": 1, "mobile": script}),
        );
        for page in &pages {
            open(&browser, page);
            browser.run_with(UNFOLDED, &json!(script));
            // What is dark differs from what is light in its colours.
            for (scheme, rules) in [
                ("light", Value::Null),
                ("dark", json!({"runOnly": ["color-contrast"]})),
            ] {
                let scheme = json!({"name": "prefers-color-scheme", "value": scheme});
                browser.command("Emulation.setEmulatedMedia", &json!({"features": [scheme]}));
                let told = browser.run_with(FOUND, &rules);
                let scheme = &scheme["value"];
                found.extend(
                    lines(&told).map(|line| format!("{page} {scheme}, script {script}: {line}")),
                );
            }
        }
    }
    assert!(
        found.is_empty(),
        "{} found\n{}",
        found.len(),
        found.join("\n")
    );
}

/// Twice the usual size of text, as set in the browser, on the smallest phone.
#[test]
fn large_text_on_a_small_phone_never_scrolls_sideways() {
    let site = Site::new("large");
    let browser = Browser::open(1280, 900);
    browser.command(
        "Emulation.setDeviceMetricsOverride",
        &json!({"width": 320, "height": 640, "deviceScaleFactor": 1, "mobile": true}),
    );
    let mut found = Vec::new();
    for page in site.pages() {
        open(&browser, &page);
        browser.command(
            "Page.setFontSizes",
            &json!({"fontSizes": {"standard": 32, "fixed": 26}}),
        );
        browser.run_with(UNFOLDED, &json!(true));
        let told = browser.run(
            "const root = document.documentElement;
            return [getComputedStyle(root).fontSize, root.clientWidth, root.scrollWidth];",
        );
        assert_eq!(
            told[0],
            json!("36px"),
            "the text of {page} is not twice as large"
        );
        if told[2].as_f64() > told[1].as_f64() {
            found.push(format!("{page}: {told}"));
        }
    }
    assert!(
        found.is_empty(),
        "{} found\n{}",
        found.len(),
        found.join("\n")
    );
}

#[test]
fn pages_are_html() {
    let what = "whether the pages are valid HTML";
    if !is_there("java") {
        return skipped(what, "there is no Java");
    }
    let jar = match installed("page") {
        Err(why) => return skipped(what, &why),
        Ok(packages) => packages.join("vnu-jar/build/dist/vnu.jar"),
    };
    let site = Site::new("html");
    let checked = Command::new("java")
        .args(["-Xss4m", "-jar"])
        .arg(jar)
        .args(["--errors-only", "--stdout", "--skip-non-html"])
        .arg(site.folder.join("site"))
        .output()
        .expect("Java starts");
    let said = String::from_utf8_lossy(&checked.stdout);
    let stderr = String::from_utf8_lossy(&checked.stderr);
    assert!(
        checked.status.success() && said.is_empty(),
        "{} errors\n{said}{stderr}",
        said.lines().count()
    );
}
