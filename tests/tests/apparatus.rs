//! Apparatus: every assembly of the content builds and draws, every wrong one gets its sentence,
//! and a part from anybody's folder is as good as ours.
//!
//! A wrong assembly is a file in `apparatus/wrong/`: first the findings as comments (`# ` the
//! sentence, `#> ` the mend, both whole), then the block. To write the comments anew, run with
//! RENEW=1 and read the difference before keeping it.

use std::fs;
use std::path::{Path, PathBuf};

use site_builder::apparatus::kit::sum;
use site_builder::apparatus::part::ball_diameter;
use site_builder::apparatus::{Assembly, Catalogue, assemble};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn catalogue() -> Catalogue {
    Catalogue::load(&[&root().join("content/data/parts")])
        .unwrap_or_else(|flaws| panic!("{flaws:#?}"))
}

fn files(folder: &str) -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> = fs::read_dir(root().join(folder))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    files.sort();
    files
}

fn stem(file: &Path) -> String {
    file.file_stem().unwrap().to_string_lossy().into_owned()
}

fn built(catalogue: &Catalogue, name: &str) -> Assembly {
    let text = fs::read_to_string(root().join(format!("content/assemblies/{name}.toml"))).unwrap();
    assemble(catalogue, &text).unwrap_or_else(|flaws| panic!("{name}: {flaws:#?}"))
}

/// Set APPARATUS_OUT to a folder to look at the figures.
#[test]
fn every_assembly_of_the_content_builds() {
    let catalogue = catalogue();
    let files = files("content/assemblies");
    assert!(files.len() >= 10, "{}", files.len());
    for file in files {
        let name = stem(&file);
        let html = built(&catalogue, &name).html(&name);
        assert!(html.contains(&format!("id=\"{name}\"")) && html.contains("</figure>"));
        if let Ok(folder) = std::env::var("APPARATUS_OUT") {
            fs::write(Path::new(&folder).join(format!("{name}.html")), html).unwrap();
        }
    }
}

#[test]
fn every_wrong_assembly_gets_its_sentences() {
    let catalogue = catalogue();
    let files = files("tests/tests/apparatus/wrong");
    assert!(files.len() >= 30, "{}", files.len());
    let mut amiss = Vec::new();
    for file in files {
        let text = fs::read_to_string(&file).unwrap();
        let (comments, block): (Vec<&str>, Vec<&str>) =
            text.lines().partition(|line| line.starts_with('#'));
        let block = block.join("\n") + "\n";
        let flaws = assemble(&catalogue, &block).err().unwrap_or_default();
        for flaw in &flaws {
            assert!(
                block.get(flaw.span.clone()).is_some(),
                "{}: span {:?}",
                stem(&file),
                flaw.span
            );
        }
        let found: Vec<String> = flaws
            .iter()
            .flat_map(|flaw| {
                [
                    format!("# {}", flaw.message),
                    format!("#> {}", flaw.mend.as_deref().unwrap_or_default()),
                ]
            })
            .collect();
        if std::env::var_os("RENEW").is_some() {
            fs::write(&file, format!("{}\n{block}", found.join("\n"))).unwrap();
        } else if flaws.is_empty() || found != comments {
            amiss.push(format!(
                "{}:\n  said {found:#?}\n  due  {comments:#?}",
                stem(&file)
            ));
        }
    }
    assert!(amiss.is_empty(), "{}", amiss.join("\n"));
}

/// Any tutor's part, from a folder outside the content, can be named, joined, drawn and listed.
#[test]
fn a_part_from_another_folder_joins_in() {
    let folder = std::env::temp_dir().join(format!("own-parts-{}", std::process::id()));
    fs::create_dir_all(&folder).unwrap();
    let part = r#"
title = "House parts"
source = "measured on the shelf"

[[part]]
name = "short-path head {joint}"
label = "short-path head, {joint}"
each = { joint = ["24/29"] }
traits = ["condenser", "clamp"]
caution = "The jacket is thin: fill it before heating."
ports = [
  "bottom cone {joint} at 0 0 down",
  "top socket 14/23 at 0 -90 up",
  "side cone {joint} at 90 0 down delivers",
  "lower nipple 8 at 70 -50 down water",
  "upper nipple 8 at 30 -95 up water",
]
draw = [
  "tube 17 M0 4 V-66",
  "tube 14 M0 -62 H70 Q90 -62 90 -42 V4",
]
marks = ["grip at 0 -20 20", "bulb at 0 -50"]
"#;
    fs::write(folder.join("house.toml"), part).unwrap();
    let catalogue = Catalogue::load(&[&root().join("content/data/parts"), &folder]);
    fs::remove_dir_all(&folder).unwrap();
    let catalogue = catalogue.unwrap_or_else(|flaws| panic!("{flaws:#?}"));
    let block = r#"
title = "Short-path distillation"
[parts]
jack = { part = "lab jack", height = "150 mm" }
mantle = "heating mantle 250 mL"
flask = { part = "flask 250 mL 24/29", holds = "100 mL" }
head = "short-path head 24/29"
gland = "thermometer adapter 14/23"
thermometer = "thermometer 160 mm"
receiver = "straight vacuum adapter 24/29"
catch = "flask 100 mL 24/29"
[set-up]
stand = ["jack", "mantle", "flask", "head", "gland", "thermometer"]
joins = ["head.side to receiver to catch"]
water = ["head.lower to head.upper"]
clamps = ["flask", "head", "catch by clip"]
open = ["receiver.vacuum"]
"#;
    let assembly = assemble(&catalogue, block).unwrap_or_else(|flaws| panic!("{flaws:#?}"));
    let html = assembly.html("own");
    assert!(html.contains("Short-path head, 24/29"));
    assert!(html.contains("The jacket is thin: fill it before heating."));
    assert!(
        assembly
            .kit()
            .iter()
            .any(|line| line.name == "short-path head 24/29")
    );
}

#[test]
fn a_part_that_cannot_be_read_says_where() {
    let texts = [(
        "shelf.toml",
        "title = \"A\"\nsource = \"b\"\n[[part]]\nname = \"n\"\nlabel = \"l\"\ndraw = [\"tube 5 M0 0 V-9\"]\nports = [\"a cone 24 at 0 0 down\"]\n",
    )];
    let flaws = Catalogue::from_texts(&texts).unwrap_err();
    assert!(
        flaws[0].message.starts_with(
            "shelf.toml:3: part `n`: port `a cone 24 at 0 0 down`: `24` is not a joint size"
        ),
        "{}",
        flaws[0].message
    );
    for (wrong, sentence) in [
        ("draw = [\"tube x M0 0\"]", "the width is not a number"),
        (
            "draw = [\"tube 5 M0 0 V{length}\"]",
            "`length` is not known here",
        ),
        (
            "draw = [\"tube 5 M0 0 B9\"]",
            "`B` is not a path command known here",
        ),
        ("draw = []", "`draw` is empty"),
        (
            "draw = [\"line M0 0 H9\"]\ntraits = [\"vesel\"]",
            "the nearest is `vessel`",
        ),
    ] {
        let text = format!(
            "title = \"A\"\nsource = \"b\"\n[[part]]\nname = \"n\"\nlabel = \"l\"\n{wrong}\n"
        );
        let flaws = Catalogue::from_texts(&[("shelf.toml", &text)]).unwrap_err();
        assert!(flaws[0].message.contains(sentence), "{}", flaws[0].message);
    }
}

/// V = π·d³/6, so a ball of 78.16 mm holds 250 mL. Source: plane arithmetic; ISO 1773 gives the
/// outer diameter of a 250 mL flask as 85 mm (from memory), which is larger, as it must be.
#[test]
fn a_flask_is_as_wide_as_its_volume_asks() {
    let ball = ball_diameter(250.0);
    assert!((ball - 78.159).abs() < 0.001, "{ball}");
    assert!((std::f64::consts::PI * ball * ball * ball / 6000.0 - 250.0).abs() < 1e-9);
}

/// Numbers stay apart, on every drawing, by more than their own size.
#[test]
fn callouts_never_overlap() {
    let catalogue = catalogue();
    for file in files("content/assemblies") {
        let name = stem(&file);
        let assembly = built(&catalogue, &name);
        let (radius, discs) = assembly.callout_discs();
        assert_eq!(
            discs.len(),
            assembly.html("x").matches("<li id=\"x-part-").count(),
            "{name}: a part without its number"
        );
        for (i, a) in discs.iter().enumerate() {
            for b in &discs[..i] {
                let (x, y) = (a.0 - b.0, a.1 - b.1);
                let apart = (x * x + y * y).sqrt();
                assert!(apart > 2.2 * radius, "{name}: {a:?} and {b:?}");
            }
        }
    }
}

/// At 320 px the page leaves 288 px for a drawing; its numbers are then at least 10 px high.
#[test]
fn numbers_can_be_read_on_a_small_phone() {
    let catalogue = catalogue();
    for file in files("content/assemblies") {
        let name = stem(&file);
        let html = built(&catalogue, &name).html("x");
        let number = |before: &str| -> f64 {
            let rest = &html[html.find(before).unwrap() + before.len()..];
            rest[..rest.find('"').unwrap()].parse().unwrap()
        };
        let view = &html[html.find("viewBox=\"").unwrap() + 9..];
        let wide: f64 = view[..view.find('"').unwrap()]
            .split(' ')
            .nth(2)
            .unwrap()
            .parse()
            .unwrap();
        let pixels = number("<text font-size=\"") * (288.0 / wide).min(number("width=\"") / wide);
        assert!(pixels >= 10.0, "{name}: {pixels:.1} px");
    }
}

/// The policy of the pages forbids style attributes; colours come from classes only.
#[test]
fn figures_carry_no_style_and_no_colour() {
    let catalogue = catalogue();
    for file in files("content/assemblies") {
        let html = built(&catalogue, &stem(&file)).html("x");
        for banned in [" style=", " fill=", " stroke=\"", "<style", "<script"] {
            assert!(!html.contains(banned), "{}: {banned}", stem(&file));
        }
        // An attribute as `onclick="`; the words of a figure may well say "on".
        let mut handlers = html.split(" on").skip(1).filter(|rest| {
            rest.trim_start_matches(char::is_alphabetic)
                .starts_with("=\"")
        });
        assert_eq!(handlers.next(), None, "{}", stem(&file));
    }
}

#[test]
fn every_number_in_the_drawing_leads_to_its_part() {
    let catalogue = catalogue();
    let html = built(&catalogue, "vacuum-distillation").html("fig");
    for number in 1..=18 {
        assert!(
            html.contains(&format!("href=\"#fig-part-{number}\"")),
            "{number}"
        );
        assert!(
            html.contains(&format!("<li id=\"fig-part-{number}\">")),
            "{number}"
        );
        assert!(
            html.contains(&format!("id=\"fig-drawn-{number}\"")),
            "{number}"
        );
    }
    assert!(html.contains("Cooling water enters the Liebig condenser 160 mm, 24/29"));
}

#[test]
fn words_of_the_author_are_shown_and_not_obeyed() {
    let block = "title = \"<b>A</b> & \\\"B\\\"\"\n[parts]\nbeaker = { part = \"beaker 250 mL\", holds = \"20 mL of <i>x</i>\" }\n[set-up]\nstand = [\"beaker\"]\n";
    let html = assemble(&catalogue(), block).unwrap().html("a\"b");
    assert!(
        html.contains("&lt;b&gt;A&lt;/b&gt; &amp; &quot;B&quot;")
            && html.contains("&lt;i&gt;x&lt;/i&gt;")
    );
    assert!(!html.contains("<b>") && !html.contains("<i>") && html.contains("id=\"a&quot;b\""));
}

#[test]
fn kits_add_up_over_an_experiment_and_a_class() {
    let catalogue = catalogue();
    let (simple, vacuum) = (
        built(&catalogue, "simple-distillation").kit(),
        built(&catalogue, "vacuum-distillation").kit(),
    );
    let class = sum(&[(8, &simple), (2, &vacuum)]);
    let count = |name: &str| {
        class
            .iter()
            .find(|line| line.name == name)
            .map_or(0.0, |line| line.quantity)
    };
    let is = |name: &str, number: f64| {
        assert!(
            (count(name) - number).abs() < 1e-9,
            "{name}: {}",
            count(name)
        )
    };
    is("still head 24/29", 10.0);
    is("flask 50 mL 24/29", 4.0);
    is("flask 100 mL 24/29", 10.0);
    is("thermometer adapter 14/23", 12.0);
    is("lab jack", 18.0);
    is("cold trap", 2.0);
    is("clamp with boss head", 20.0);
    assert!(
        class
            .iter()
            .any(|line| line.unit == "m" && line.quantity > 0.0)
    );
    assert_eq!(sum(&[(0, &simple)]), []);
}

/// Nothing an author types brings the builder down.
#[test]
fn cut_and_mangled_blocks_never_panic() {
    let catalogue = catalogue();
    let text =
        fs::read_to_string(root().join("content/assemblies/vacuum-distillation.toml")).unwrap();
    for cut in (0..text.len()).step_by(7) {
        if text.is_char_boundary(cut) {
            let _ = assemble(&catalogue, &text[..cut]).map(|assembly| assembly.html("x"));
        }
    }
    let lines: Vec<&str> = text.lines().collect();
    for skip in 0..lines.len() {
        let rest: Vec<&str> = lines
            .iter()
            .enumerate()
            .filter(|(i, _)| *i != skip)
            .map(|(_, line)| *line)
            .collect();
        let _ = assemble(&catalogue, &rest.join("\n")).map(|assembly| assembly.html("x"));
    }
    for part in catalogue.parts() {
        let block = format!(
            "title = \"t\"\n[parts]\na = \"{}\"\nb = \"{}\"\n[set-up]\nstand = [\"a\", \"b\"]\n",
            part.name, part.name
        );
        let _ = assemble(&catalogue, &block).map(|assembly| assembly.html("x"));
    }
}
