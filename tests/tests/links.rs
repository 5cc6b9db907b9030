//! The demo site as a reader walks it: every link inside it leads to a page and a place that are
//! there, no page names two places alike, and every drawing is found from the page of drawings.

use site_builder::files::Files;
use site_builder::output::wasm::Module;
use std::collections::BTreeSet;

fn site() -> Files {
    match site_builder::build(&forerun_tests::folders(), &Module::default()) {
        Ok(built) => built.files,
        Err(findings) => panic!("{findings:#?}"),
    }
}

/// The values of `attribute` in `html`, which writes all of them in double quotes.
fn values<'a>(html: &'a str, attribute: &str) -> Vec<&'a str> {
    html.split(&format!(" {attribute}=\""))
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
        .collect()
}

/// `link` as written on the page at `path`, as a path under the root and an anchor.
fn target(path: &str, link: &str) -> (String, String) {
    let (file, anchor) = link.split_once('#').unwrap_or((link, ""));
    let file = file.split('?').next().unwrap_or_default();
    if file.is_empty() {
        return (path.to_owned(), anchor.to_owned());
    }
    let mut folders: Vec<&str> = path.split('/').collect();
    folders.pop();
    for step in file.split('/') {
        match step {
            "." => {}
            ".." => {
                folders.pop().expect("no link leads above the root");
            }
            name => folders.push(name),
        }
    }
    let mut joined = folders.join("/");
    if joined.is_empty() || joined.ends_with('/') {
        joined.push_str("index.html");
    }
    let joined = joined.trim_start_matches('/').to_owned();
    (joined, anchor.to_owned())
}

#[test]
fn links_lead_somewhere() {
    assert_eq!(
        target("techniques/x/index.html", "../y/#z"),
        ("techniques/y/index.html".to_owned(), "z".to_owned())
    );
    assert_eq!(
        target("a/index.html", ".././#t"),
        ("index.html".into(), "t".into())
    );
    let files = site();
    let mut wrong = Vec::new();
    let mut followed = 0;
    for (path, bytes) in files.iter().filter(|(path, _)| path.ends_with(".html")) {
        let html = std::str::from_utf8(bytes).expect("a page is UTF-8");
        for link in values(html, "href") {
            if link.contains("://") || link.starts_with("data:") || link.starts_with("mailto:") {
                continue;
            }
            let (file, anchor) = target(path, link);
            followed += 1;
            let Some(bytes) = files.get(&file) else {
                wrong.push(format!("{path}: {link}: no file {file}"));
                continue;
            };
            // `#set:` carries values to a calculator; it names no place.
            if anchor.is_empty() || anchor.starts_with("set:") {
                continue;
            }
            let there = String::from_utf8_lossy(bytes);
            if !there.contains(&format!(" id=\"{anchor}\"")) {
                wrong.push(format!("{path}: {link}: no place {anchor} in {file}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(followed > 2000, "only {followed} links");
}

#[test]
fn carried_values_fit_the_calculator_they_open() {
    let files = site();
    let mut carried = 0;
    for (path, bytes) in files.iter().filter(|(path, _)| path.ends_with(".html")) {
        let html = String::from_utf8_lossy(bytes);
        for link in values(&html, "href") {
            let Some((to, values)) = link.split_once("#set:") else {
                continue;
            };
            let Some(name) = to.trim_end_matches('/').rsplit('/').next() else {
                continue;
            };
            let Some(calculator) = calc_wasm::calculators::find(name) else {
                continue;
            };
            for pair in values.split("&amp;").filter(|pair| !pair.is_empty()) {
                let (input, _) = pair.split_once('=').expect("a value");
                let input = input.rsplit('.').next().unwrap_or_default();
                assert!(
                    calculator.inputs.iter().any(|known| known.name == input),
                    "{path}: {link}: {name} has no input {input}"
                );
                carried += 1;
            }
        }
    }
    assert!(carried > 60, "only {carried} values");
}

#[test]
fn no_page_names_two_places_alike() {
    let mut twice = Vec::new();
    for (path, bytes) in site().iter().filter(|(path, _)| path.ends_with(".html")) {
        let html = String::from_utf8_lossy(bytes);
        let mut seen = BTreeSet::new();
        for id in values(&html, "id") {
            if !seen.insert(id.to_owned()) {
                twice.push(format!("{path}: {id}"));
            }
        }
    }
    assert!(twice.is_empty(), "{twice:#?}");
}

#[test]
fn every_drawing_is_found_from_the_page_of_drawings() {
    let files = site();
    let gallery = String::from_utf8_lossy(&files["drawings/index.html"]).into_owned();
    let mut drawings = 0;
    for (path, bytes) in &files {
        if !path.ends_with("/index.html") || path.starts_with("drawings/") {
            continue;
        }
        let html = String::from_utf8_lossy(bytes);
        for figure in html.split("<figure class=\"apparatus\" id=\"").skip(1) {
            let id = figure.split('"').next().unwrap_or_default();
            let folder = path.trim_end_matches("index.html");
            assert!(
                gallery.contains(&format!("<a href=\"../{folder}#{id}\">")),
                "{folder}#{id} is not on the page of drawings"
            );
            drawings += 1;
        }
    }
    assert!(drawings >= 18, "only {drawings} drawings");
}
