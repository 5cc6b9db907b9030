//! Whatever is typed or written, from a quantity to a whole page, the answer is a value, a page or a
//! finding with its place: never a panic, and never markup of the author's.
//!
//! A run takes seconds. `PROPTEST_CASES=100000` before the command searches on; what fails is
//! made small and printed, and goes into a test of its own where the fault is mended.

use std::sync::LazyLock;

use calc_wasm::calculators;
use calc_wasm::quantity::{self, Dimension, Quantity};
use proptest::prelude::*;
use proptest::test_runner::Config;
use site_builder::apparatus;
use site_builder::finding::Finding;
use site_builder::markdown::{self, Shelf};
use site_builder::read::source::{self, Sources, Text};
use site_builder::read::{data, draft};

/// `cases` cases, or as many as the environment asks for.
fn cases(cases: u32) -> Config {
    let asked = std::env::var("PROPTEST_CASES");
    Config {
        cases: asked
            .ok()
            .and_then(|asked| asked.parse().ok())
            .unwrap_or(cases),
        // A failure is mended and kept as a test with words of its own.
        failure_persistence: None,
        ..Config::default()
    }
}

static DIMENSIONS: &[&Dimension] = &[
    quantity::Pressure::DIMENSION,
    quantity::Temperature::DIMENSION,
    quantity::TemperatureDifference::DIMENSION,
    quantity::Volume::DIMENSION,
    quantity::Mass::DIMENSION,
    quantity::Fraction::DIMENSION,
    quantity::Number::DIMENSION,
    quantity::Duration::DIMENSION,
];

/// Any text, and such as is nearly a quantity.
fn like_a_quantity() -> impl Strategy<Value = String> {
    let sign = prop::sample::select(vec!["", "-", "−", "+", "±", "~"]);
    let number = prop_oneof![
        "[0-9]{1,20}",
        "[0-9]{1,4}[.,][0-9]{0,12}",
        "[0-9]{1,3}([,. ][0-9]{3}){1,3}",
        "[0-9]e-?[0-9]{1,4}",
        "[0-9][.]?[0-9]{0,3} ?[×x·] ?10\\^?[-−]?[0-9⁰-⁹]{1,3}",
    ];
    let known = prop::sample::select(vec![
        "", "mmHg", "kPa", "psi", "°C", "K", "°F", "mL", "dm³", "g", "mg", "%", "min", "h",
    ]);
    let unit = prop_oneof![known.prop_map(str::to_owned), "[a-zµ°²³⁻/·]{1,6}",];
    let composed = (sign.clone(), number.clone(), sign, number, unit).prop_map(
        |(first, value, second, error, unit)| match second {
            "±" => format!("{first}{value} ± {error} {unit}"),
            _ => format!("{first}{value} {unit}"),
        },
    );
    prop_oneof![any::<String>(), "\\PC{0,24}", composed]
}

proptest! {
    #![proptest_config(cases(10_000))]

    #[test]
    fn quantities(text in like_a_quantity()) {
        for dimension in DIMENSIONS {
            if let Ok(read) = quantity::read(&text, dimension) {
                prop_assert!(read.value.is_finite(), "{text:?} is {}", read.value);
                prop_assert!(read.error >= 0.0, "{text:?} ± {}", read.error);
            }
        }
    }
}

/// What all pages are read beside.
struct House {
    sources: Sources,
    tables: Vec<data::DataTable>,
    library: calc_wasm::library::Library,
    parts: apparatus::Catalogue,
}

static HOUSE: LazyLock<House> = LazyLock::new(|| {
    let (sources, _) = source::read(&forerun_tests::folders());
    let (tables, _) = data::read(&sources.data);
    let (library, _) = data::library(&tables);
    let (parts, _) = apparatus::folders::catalogue(&sources.parts);
    House {
        sources,
        tables,
        library,
        parts,
    }
});

/// Reads a page as a build does.
fn rendered(text: &str) -> (String, Vec<Finding>) {
    let house = &*HOUSE;
    let pages = [Text {
        file: "content/page.md".into(),
        path: "page.md".into(),
        text: text.into(),
        ..Text::default()
    }];
    let (drafts, mut findings) = draft::plan(&pages, &house.tables);
    let (assemblies, _) = apparatus::folders::assemblies(&house.sources.assemblies, &house.parts);
    let pictures = std::collections::BTreeMap::new();
    let mut shelf = Shelf::new(
        &drafts,
        &house.tables,
        &pictures,
        &house.library,
        &house.parts,
        assemblies,
    );
    shelf.raw_html = true;
    let mut html = String::new();
    for draft in &drafts {
        let base = draft::base(&draft.url);
        let page = markdown::render(draft.source, draft.body, &base, &shelf);
        html.push_str(&page.html);
        findings.extend(page.findings);
    }
    (html, findings)
}

/// What holds of every page, whatever was written in it.
fn sound(text: &str) -> Result<(), TestCaseError> {
    let (html, findings) = rendered(text);
    let lines = text.matches('\n').count() + 1;
    for finding in &findings {
        prop_assert!(finding.line <= lines, "{finding} of {lines} lines");
        prop_assert!(!finding.message.trim().is_empty());
    }
    let small = html.to_lowercase();
    for active in [
        "<script",
        "<iframe",
        "<style",
        "<foreignobject",
        "javascript:",
    ] {
        // In text it is shown; as markup or an address it would act.
        let shown = small.replace("&lt;", "").replace(">javascript:", "");
        let acts = match active {
            "javascript:" => shown.contains("href=\"javascript:"),
            _ => shown.contains(active),
        };
        prop_assert!(!acts, "{active} in {html}");
    }
    Ok(())
}

/// A key or value of an author who knows half of the format, or a text of any kind.
fn word() -> impl Strategy<Value = String> {
    let known = prop::sample::select(vec![
        "title",
        "kind",
        "summary",
        "hazards",
        "sources",
        "reviewed",
        "id",
        "card",
        "technique",
        "page",
        "substance",
        "toluene",
        "pressure",
        "20 ± 1 mmHg",
        "groups",
        "also",
        "takes",
        "part",
        "name",
        "join",
        "set-up",
        "parts",
        "question",
        "answer",
        "solvents",
        "hexane: 80 %; ethyl acetate",
        "true",
        "8",
        "=boiling-point.temperature",
    ]);
    prop_oneof![
        known.prop_map(str::to_owned),
        "\\PC{0,16}",
        "[\"'\\[\\]{}:;#`<>|\\\\]{1,5}",
    ]
}

/// Lines such as stand in metadata and blocks.
fn lines(between: &'static str) -> impl Strategy<Value = String> {
    let line = (word(), word(), 0..5_u8).prop_map(move |(key, value, form)| match form {
        0 => format!("{key}{between}\"{value}\""),
        1 => format!("{key}{between}[\"{value}\"]"),
        2 => format!("[[{key}]]"),
        3 => format!("[{key}]"),
        _ => format!("{key}{between}{value}"),
    });
    prop::collection::vec(line, 0..8).prop_map(|lines| lines.join("\n"))
}

const HEAD: &str = "---\ntitle: T\nkind: page\nsummary: S.\n---\n\n";

proptest! {
    #![proptest_config(cases(1_000))]

    #[test]
    fn metadata(inside in prop_oneof![lines(": "), any::<String>()], end in prop_oneof!["---\n", "", "[.]{3}\n"]) {
        sound(&format!("---\n{inside}\n{end}\nText.\n"))?;
    }

    #[test]
    fn blocks(
        word in prop_oneof!["calculator", "apparatus", "plan", "kit", "waste", "steps", "check", "\\PC{0,8}"],
        name in prop::sample::select(calculators::all()),
        named in any::<bool>(),
        body in prop_oneof![lines(" = "), any::<String>()],
    ) {
        let name = if named { name.name } else { "" };
        sound(&format!("{HEAD}```{word} {name}\n{body}\n```\n"))?;
    }

    #[test]
    fn texts(body in prop_oneof![any::<String>(), "\\PC{0,80}", "([-#>*_`|$<&!\\[\\]() \n=:a]|<script>|javascript:|onload=){0,60}"]) {
        sound(&format!("{HEAD}{body}\n"))?;
    }
}

/// A page of the site with a piece taken out, doubled, or put in the wrong place.
fn torn() -> impl Strategy<Value = String> {
    let pages: Vec<String> = HOUSE
        .sources
        .pages
        .iter()
        .map(|page| page.text.clone())
        .collect();
    let place = any::<prop::sample::Index>;
    let piece = prop_oneof![
        word(),
        "\\PC{0,20}",
        Just("```\n".to_owned()),
        Just("---\n".to_owned())
    ];
    (
        prop::sample::select(pages),
        place(),
        place(),
        place(),
        piece,
        0..4_u8,
    )
        .prop_map(|(page, from, to, at, piece, how)| {
            let bounds: Vec<usize> = page.char_indices().map(|(at, _)| at).collect();
            let at = bounds[at.index(bounds.len())];
            let (one, other) = (
                bounds[from.index(bounds.len())],
                bounds[to.index(bounds.len())],
            );
            let (from, to) = (one.min(other), one.max(other));
            match how {
                0 => format!("{}{}", &page[..from], &page[to..]),
                1 => format!("{}{}", &page[..to], &page[from..]),
                2 => format!("{}{}{}", &page[..at], &page[from..to], &page[at..]),
                _ => format!("{}{piece}{}", &page[..at], &page[at..]),
            }
        })
}

proptest! {
    #![proptest_config(cases(150))]

    #[test]
    fn whole_pages(page in torn()) {
        sound(&page)?;
    }
}
