//! Checks of the finished site that no single stage can make: weight and contrast.

use crate::files::Files;
use crate::finding::Finding;
use flate2::Compression;
use flate2::write::GzEncoder;
use std::collections::BTreeMap;
use std::io::Write;

/// The most that a technique page may carry before it can be read, compressed, in bytes: itself,
/// style and script. The aim is 45 KiB, which the longest page of the demo site does not reach.
pub const READ_LIMIT: usize = 56 * 1024;
/// The most that the calculators of a page may fetch besides, compressed, in bytes: core and data.
/// They are fetched once for the whole site. The aim is 130 KiB, which real mixtures, the
/// sheet, the log of readings and questions in the search do not reach.
pub const CALCULATE_LIMIT: usize = 200 * 1024;
/// The largest site for keeping on a device, compressed, in bytes.
pub const SITE_LIMIT: usize = 3 * 1024 * 1024 / 2;
/// The lowest contrast of text against its ground.
///
/// Source: WCAG 2.2, success criterion 1.4.3 (Contrast, minimum).
pub const CONTRAST: f64 = 4.5;

/// Findings about a finished site.
pub fn check(files: &Files) -> Vec<Finding> {
    let mut findings = weight(files);
    for (path, bytes) in files {
        if path.ends_with(".css") {
            findings.extend(contrast(&String::from_utf8_lossy(bytes)));
        }
    }
    findings
}

/// Weights above their limits, and above their aims: those are notes, for a heavy site still works.
fn weight(files: &Files) -> Vec<Finding> {
    let packed: BTreeMap<&str, usize> = files
        .iter()
        .map(|(path, bytes)| (path.as_str(), compressed(bytes)))
        .collect();
    let mut findings = Vec::new();
    // What it takes to calculate is fetched once, so it is told once.
    let mut calculating = (0, "");
    for (path, bytes) in files.iter().filter(|(path, _)| path.ends_with(".html")) {
        let html = String::from_utf8_lossy(bytes);
        let (to_read, to_calculate) = visit(&html, &packed);
        let to_read = packed[path.as_str()] + to_read;
        if to_read > READ_LIMIT && is_technique(path) {
            findings.push(too_heavy(path, "to read", to_read, READ_LIMIT));
        }
        calculating = calculating.max((to_calculate, path.as_str()));
    }
    let (to_calculate, path) = calculating;
    if to_calculate > CALCULATE_LIMIT {
        let how = "more to calculate, once for the site";
        findings.push(too_heavy(path, how, to_calculate, CALCULATE_LIMIT));
    }
    let all: usize = packed.values().sum();
    if all > SITE_LIMIT {
        findings.push(heavy("the whole site", "compressed", all, SITE_LIMIT));
    }
    findings
}

/// What a page fetches besides itself: what is named anywhere in it is needed to read it, but for
/// what its first tag names. That is fetched when a form is touched or a code is asked for; codes
/// do not count here.
fn visit(html: &str, packed: &BTreeMap<&str, usize>) -> (usize, usize) {
    let start = html.find("<html").unwrap_or(0);
    let end = html[start..].find('>').map_or(start, |end| start + end);
    let sum = |text: &str| -> usize {
        let named = packed
            .iter()
            .filter(|(name, _)| !name.ends_with(".html") && text.contains(**name));
        named.map(|(_, size)| size).sum()
    };
    let calculators = html[start..end].split(" data-code=\"").next();
    (sum(&html[end..]), sum(calculators.unwrap_or_default()))
}

/// Whether this is the page of a technique, and not its card.
fn is_technique(path: &str) -> bool {
    path.starts_with("techniques/") && path.ends_with("/index.html")
}

/// A weight that a reader on a poor line would feel: it stops the build.
fn too_heavy(what: &str, how: &str, size: usize, limit: usize) -> Finding {
    let message = format!(
        "weighs {} KiB compressed {how}; at most {} KiB may",
        size.div_ceil(1024),
        limit / 1024
    );
    Finding::whole(what, message).mend("part the page, or leave out a calculator or a drawing")
}

fn heavy(what: &str, how: &str, size: usize, aim: usize) -> Finding {
    let message = format!(
        "weighs {} KiB {how}; the aim is {} KiB",
        size.div_ceil(1024),
        aim / 1024
    );
    Finding::whole(what, message).note()
}

/// The size as a server sends it.
fn compressed(bytes: &[u8]) -> usize {
    let mut packer = GzEncoder::new(Vec::new(), Compression::best());
    // Writing to memory cannot fail; were it to, the full size is the honest answer.
    match packer.write_all(bytes).and_then(|()| packer.finish()) {
        Ok(packed) => packed.len(),
        Err(_) => bytes.len(),
    }
}

/// Inks on the ground they are printed on, as the style sheet names them.
const PAIRS: [(&str, &str); 9] = [
    ("--ink", "--paper"),
    ("--soft", "--paper"),
    ("--accent", "--paper"),
    ("--danger", "--paper"),
    ("--care", "--paper"),
    ("--good", "--paper"),
    ("--ink", "--wash"),
    ("--danger", "--danger-wash"),
    ("--care", "--care-wash"),
];

/// Every ink on its ground, in light and dark, in each rule that sets both. A course's own style
/// may set a few colours of all pages alone; the others stand as they were.
fn contrast(css: &str) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut page = BTreeMap::new();
    for (selector, rule) in rules(css) {
        let set: BTreeMap<&str, [Colour; 2]> = rule
            .split(';')
            .filter_map(|line| line.split_once(':'))
            .filter_map(|(name, value)| Some((name.trim(), light_and_dark(value.trim())?)))
            .collect();
        let whole = selector == ":root";
        let kept = |name: &str| page.get(name).filter(|_| whole);
        let colours = |name: &str| set.get(name).or_else(|| kept(name)).copied();
        for (ink, ground) in PAIRS {
            if !set.contains_key(ink) && !set.contains_key(ground) {
                continue;
            }
            let (Some(inks), Some(grounds)) = (colours(ink), colours(ground)) else {
                continue;
            };
            for (theme, (one, other)) in ["light", "dark"].iter().zip(inks.into_iter().zip(grounds))
            {
                let ratio = ratio(one, other);
                if ratio < CONTRAST {
                    let message =
                        format!("`{ink}` on `{ground}` has a contrast of {ratio:.1} in {theme}");
                    let finding = Finding::whole("templates/style", message);
                    findings.push(finding.mend(format!("text needs {CONTRAST}")));
                }
            }
        }
        if whole {
            page.extend(set);
        }
    }
    findings
}

/// Each innermost rule with its selector. That of a rule inside another one, as for print, is
/// written with a brace before it, for it does not hold on every page.
fn rules(css: &str) -> Vec<(&str, &str)> {
    let (mut rules, mut depth, mut start) = (Vec::new(), 0, 0);
    let mut selector = "";
    for (at, brace) in css.match_indices(['{', '}']) {
        let text = &css[start..at];
        if brace == "{" {
            // With the brace of the rule around it, where there is one.
            selector = if depth == 0 {
                text
            } else {
                &css[start - 1..at]
            };
            depth += 1;
        } else {
            rules.push((selector, text));
            depth -= 1;
        }
        start = at + 1;
    }
    rules
}

/// `light-dark(#fff, #000)`, or one colour for both.
fn light_and_dark(value: &str) -> Option<[Colour; 2]> {
    match value
        .strip_prefix("light-dark(")
        .and_then(|pair| pair.strip_suffix(')'))
    {
        Some(pair) => {
            let (light, dark) = pair.split_once(',')?;
            Some([parse(light.trim())?, parse(dark.trim())?])
        }
        None => parse(value).map(|colour| [colour, colour]),
    }
}

type Colour = [f64; 3];

/// `#abc` or `#aabbcc`, as parts of 1.
fn parse(text: &str) -> Option<Colour> {
    let hex = text.strip_prefix('#')?;
    let digits: Vec<f64> = hex
        .chars()
        .map(|c| c.to_digit(16).map(f64::from))
        .collect::<Option<_>>()?;
    match digits[..] {
        [r, g, b] => Some([r, g, b].map(|part| part * 17.0 / 255.0)),
        [a, b, c, d, e, f] => {
            Some([(a, b), (c, d), (e, f)].map(|(high, low)| (high * 16.0 + low) / 255.0))
        }
        _ => None,
    }
}

/// Source: WCAG 2.2, definitions of contrast ratio and relative luminance.
fn ratio(one: Colour, other: Colour) -> f64 {
    let light = |colour: Colour| {
        let [r, g, b] = colour.map(|part| {
            if part <= 0.04045 {
                part / 12.92
            } else {
                libm::pow((part + 0.055) / 1.055, 2.4)
            }
        });
        0.2126 * r + 0.7152 * g + 0.0722 * b
    };
    let (one, other) = (light(one), light(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn knows_the_contrast_of_black_and_grey_on_white() {
        let white = parse("#fff").expect("a colour");
        // 21:1 is the definition's greatest; #767676 is the well-known grey at 4.54.
        assert!((ratio(parse("#000000").expect("black"), white) - 21.0).abs() < 1e-9);
        assert!((ratio(parse("#767676").expect("grey"), white) - 4.54).abs() < 0.005);
    }

    /// Bytes that no packer makes smaller: a linear congruential generator.
    ///
    /// Source: D. E. Knuth, The Art of Computer Programming, volume 2, section 3.3.4 (constants
    /// from memory).
    fn noise(length: usize) -> Vec<u8> {
        let mut state = 1u64;
        (0..length)
            .map(|_| {
                state = state
                    .wrapping_mul(6364136223846793005)
                    .wrapping_add(1442695040888963407);
                (state >> 56) as u8
            })
            .collect()
    }

    #[test]
    fn refuses_what_is_heavy_to_read_or_to_calculate() {
        let page = b"<!doctype html><html data-data=\"../calc.00.tsv\" data-code=\"../code.00.js\"><script src=\"../main.00.js\"></script>".to_vec();
        let files = |read: usize, calculate: usize| {
            Files::from([
                ("techniques/a/index.html".to_owned(), page.clone()),
                ("techniques/b/index.html".to_owned(), b"light".to_vec()),
                ("main.00.js".to_owned(), noise(read)),
                ("calc.00.tsv".to_owned(), noise(calculate)),
                ("code.00.js".to_owned(), noise(2 * CALCULATE_LIMIT)),
            ])
        };
        let mut site = files(READ_LIMIT - 4096, CALCULATE_LIMIT - 4096);
        assert_eq!(check(&site), []);
        site.insert("main.00.js".into(), noise(READ_LIMIT + 4096));
        let found = check(&site);
        assert_eq!(found.len(), 1, "{found:?}");
        assert_eq!(found[0].file, "techniques/a/index.html");
        assert_eq!(found[0].severity, crate::finding::Severity::Error);
        assert!(found[0].message.contains("to read"), "{found:?}");
        let found = check(&files(READ_LIMIT - 4096, CALCULATE_LIMIT + 4096));
        assert_eq!(found.len(), 1, "{found:?}");
        assert!(found[0].message.contains("to calculate"), "{found:?}");
    }

    #[test]
    fn finds_a_heavy_site() {
        let files = Files::from([("unnamed.png".to_owned(), noise(SITE_LIMIT + 4096))]);
        let found = check(&files);
        assert_eq!(found.len(), 1, "{found:?}");
        assert_eq!(found[0].file, "the whole site");
    }

    /// A course may set one colour of a pair; the other is the page's, and not that for print.
    #[test]
    fn finds_pale_ink_on_the_ground_of_the_page() {
        let css = |own: &str| {
            let page = ":root{--paper:light-dark(#fff,#000);--accent:light-dark(#700,#fcc)}@media print{:root{--paper:#000}}";
            Files::from([("a.css".to_owned(), format!("{page}{own}").into_bytes())])
        };
        let before = check(&css(""));
        let said = |own: &str| check(&css(own)).split_off(before.len());
        assert!(said(":root{--accent:light-dark(#600,#fdd)}").is_empty());
        let pale = said(":root{--accent:light-dark(#fdd,#fdd)}");
        assert_eq!(pale.len(), 1, "{pale:?}");
        assert!(pale[0].message.contains("in light"), "{pale:?}");
    }

    #[test]
    fn finds_pale_ink() {
        let files = Files::from([(
            "a.css".to_owned(),
            b":root{--paper:light-dark(#fff,#000);--ink:light-dark(#999,#eee)}".to_vec(),
        )]);
        let found = check(&files);
        let places: Vec<&str> = found.iter().map(|one| one.file.as_str()).collect();
        assert_eq!(places, ["templates/style"]);
        assert!(
            check(&Files::from([(
                "a.css".to_owned(),
                b":root{--paper:#fff;--ink:#000}".to_vec()
            )]))
            .is_empty()
        );
    }
}
