//! Whole builds from folders: what an author's mistakes get, and that nothing broken replaces a
//! site that stands.
//!
//! A mistake is a page in `mistakes/`. At its foot stand the findings it must give, each as
//! `<!-- line:column: message | mend -->`, all of them and no others. To write them anew, run
//! with RENEW=1 and read the difference before keeping it.

use site_builder::finding::Finding;
use site_builder::markdown::kept::Kept;
use site_builder::output::wasm::{Bound, Module};
use site_builder::read::source::Folders;
use site_builder::{Built, build, build_again, build_and_write};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};

static COUNT: AtomicUsize = AtomicUsize::new(0);

/// A folder of its own for each test, with a small content that builds.
struct House(PathBuf);

impl House {
    fn new() -> Self {
        let number = COUNT.fetch_add(1, Ordering::Relaxed);
        let root =
            std::env::temp_dir().join(format!("forerun-build-{}-{number}", std::process::id()));
        let house = Self(root);
        house.write(
            "content/other.md",
            page("Another page", "## Oil bath\n\nText.\n"),
        );
        house.write(
            "content/pictures/dot.svg",
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 10 10\"><circle r=\"5\"/></svg>",
        );
        house.write(
            "content/data/glossary.toml",
            "title = \"Glossary\"\npage = true\nbrowser = false\nsource = \"common practice, no source\"\n[[row]]\nname = \"forerun\"\nmeaning = \"What comes over first.\"\n",
        );
        for table in [
            "substances",
            "sources",
            "columns",
            "bath_fluids",
            "materials",
            "incompatible",
        ] {
            let file = format!("content/data/{table}.toml");
            if let Ok(text) = fs::read_to_string(repository().join(&file)) {
                house.write(&file, &text);
            }
        }
        house
    }

    fn write(&self, file: &str, text: impl AsRef<[u8]>) {
        let path = self.0.join(file);
        fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
        fs::write(path, text).expect("a file");
    }

    fn folders(&self) -> Folders {
        Folders {
            content: self.0.join("content"),
            templates: if self.0.join("templates").exists() {
                self.0.join("templates")
            } else {
                repository().join("templates")
            },
            published: self.0.join("published"),
            ..Folders::default()
        }
    }

    fn build(&self) -> Result<Built, Vec<Finding>> {
        build(&self.folders(), &module())
    }

    /// The findings, each on one line, without the folder of this test.
    fn findings(&self) -> Vec<String> {
        let here = format!("{}/", self.0.display());
        self.build()
            .expect_err("findings")
            .iter()
            .map(|finding| {
                let place = format!("{}:{}:{}: ", finding.file, finding.line, finding.column);
                let mend = finding
                    .mend
                    .as_deref()
                    .map_or(String::new(), |mend| format!(" | {mend}"));
                format!("{place}{}{mend}", finding.message).replace(&here, "")
            })
            .collect()
    }

    /// That exactly one finding comes, about this file and saying this.
    fn one(&self, file: &str, says: &str) {
        let found = self.findings();
        assert_eq!(found.len(), 1, "{found:#?}");
        assert!(
            found[0].starts_with(file) && found[0].contains(says),
            "{found:#?}"
        );
    }

    fn out(&self, file: &str) -> PathBuf {
        self.0.join("public").join(file)
    }

    fn read(&self, file: &str) -> String {
        fs::read_to_string(self.out(file)).expect("a file of the site")
    }

    fn build_and_write(&self) -> Result<Built, Vec<Finding>> {
        build_and_write(&self.folders(), &module(), &self.0.join("public"))
    }
}

impl Drop for House {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

fn repository() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn page(title: &str, body: &str) -> String {
    format!("---\ntitle: {title}\nkind: page\nsummary: A page of the tests.\n---\n\n{body}")
}

/// These builds never run the core in a browser; what stands for it only has to be carried along.
fn module() -> Module {
    Module {
        results: Bound {
            script: "export default function () {}".into(),
            wasm: b"\0asm\x01\0\0\0".to_vec(),
        },
        ..Module::default()
    }
}

#[test]
fn every_mistake_gets_its_findings() {
    let folder = repository().join("tests/tests/mistakes");
    let mut wrong = Vec::new();
    let mut files: Vec<PathBuf> = fs::read_dir(folder)
        .expect("the mistakes")
        .map(|entry| entry.expect("a file").path())
        .collect();
    files.sort();
    assert!(files.len() >= 18, "{}", files.len());
    for file in files {
        let text = fs::read_to_string(&file).expect("a page");
        let (body, foot) = text
            .split_once("\n<!--")
            .map_or((text.as_str(), ""), |(body, foot)| (body, foot));
        let expected: Vec<&str> = foot
            .split("<!--")
            .map(|line| line.trim().trim_end_matches("-->").trim())
            .filter(|line| !line.is_empty())
            .collect();
        let house = House::new();
        house.write("content/mistake.md", body.trim_end().to_owned() + "\n");
        let found: Vec<String> = house
            .findings()
            .into_iter()
            .map(|finding| finding.trim_start_matches("content/mistake.md:").to_owned())
            .collect();
        if std::env::var_os("RENEW").is_some() {
            let lines: String = found
                .iter()
                .map(|finding| format!("<!-- {finding} -->\n"))
                .collect();
            fs::write(&file, format!("{}\n\n{lines}", body.trim_end())).expect("renewed");
        } else if expected != found {
            wrong.push(format!(
                "{}\nexpected {expected:#?}\nfound {found:#?}",
                file.display()
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_broken_page_leaves_the_old_site_whole() {
    let house = House::new();
    house.build_and_write().expect("a site");
    let before = house.read("other/index.html");
    house.write(
        "content/other.md",
        page("Another page", "[gone](page:gone)\n"),
    );
    assert!(house.build_and_write().is_err());
    assert_eq!(house.read("other/index.html"), before);
    house.write("content/other.md", page("Mended", "Text.\n"));
    house.build_and_write().expect("a site");
    assert!(house.read("other/index.html").contains("Mended"));
}

#[test]
fn what_is_kept_between_builds_changes_nothing() {
    let house = House::new();
    let mut kept = Kept::default();
    let glossary = fs::read_to_string(house.0.join("content/data/glossary.toml")).expect("it");
    let linked = page(
        "Linked",
        "To the [bath](page:other#oil-bath), a [word](term:forerun).\n",
    );
    // Each save changes something else that the other pages hang on.
    let saves: [(&str, String); 9] = [
        ("content/linked.md", linked),
        (
            "content/other.md",
            page("Another page", "## Oil bath\n\nNew text.\n"),
        ),
        (
            "content/other.md",
            page("Another page", "## Sand bath\n\nNo such anchor.\n"),
        ),
        (
            "content/other.md",
            page("Renamed", "## Oil bath\n\nMended.\n"),
        ),
        (
            "content/data/glossary.toml",
            glossary.replace("\"forerun\"", "\"heart cut\""),
        ),
        ("content/data/glossary.toml", glossary),
        (
            "content/site.toml",
            "title = \"Another manual\"\n".to_owned(),
        ),
        (
            "content/third.md",
            page("Third", "See [another](page:linked).\n"),
        ),
        (
            "content/third.md",
            "---\ntitle: 3\n---\n\n[gone](page:gone)\n".to_owned(),
        ),
    ];
    let mut wrong = 0;
    for (file, text) in saves {
        house.write(file, text);
        let again = build_again(&house.folders(), &module(), Some(&mut kept));
        match (again, house.build()) {
            (Ok(again), Ok(anew)) => assert!(again.files == anew.files, "{file}"),
            (Err(again), Err(anew)) => {
                wrong += 1;
                assert_eq!(again, anew, "{file}");
            }
            (again, anew) => panic!("{file}: {} and {}", again.is_ok(), anew.is_ok()),
        }
    }
    assert_eq!(wrong, 3);
}

#[test]
fn says_what_is_not_utf_8() {
    let house = House::new();
    house.write("content/latin.md", b"---\ntitle: B\xe4der\n---\n");
    house.one("content/latin.md:2:9: ", "is not UTF-8: byte 0xe4");
}

#[test]
fn a_page_without_sound_metadata_can_still_be_linked_to() {
    for metadata in [
        "titel: A page",
        "title: A: page",
        "title: A page\nkind: pag",
    ] {
        let house = House::new();
        let text = page("", "## Oil bath\n\nText.\n").replacen("title: ", metadata, 1);
        house.write("content/wrong.md", text);
        house.write(
            "content/other.md",
            page("Another page", "To the [bath](page:wrong#oil-bath).\n"),
        );
        let found = house.findings();
        assert!(
            found.iter().all(|one| one.starts_with("content/wrong.md")),
            "{found:#?}"
        );
    }
}

#[test]
fn finds_two_pages_of_one_name() {
    let house = House::new();
    house.write("content/tables/other.md", page("The same name", ""));
    house.one(
        "content/tables/other.md",
        "has the same name as content/other.md",
    );
}

#[test]
fn finds_names_that_no_server_takes() {
    let house = House::new();
    for name in ["aux", "a b", "Über", "tab\there", &"long".repeat(30)] {
        house.write(&format!("content/{name}.md"), page("A name", ""));
    }
    let found = house.findings();
    assert_eq!(found.len(), 5, "{found:#?}");
    assert!(
        found
            .iter()
            .all(|finding| finding.contains(": the name `") && finding.contains("call it `")),
        "{found:#?}"
    );
}

#[test]
fn finds_a_huge_file_without_reading_it() {
    let house = House::new();
    let file = fs::File::create(house.0.join("content/huge.md")).expect("a file");
    file.set_len(100 * 1024 * 1024).expect("a size");
    house.one(
        "content/huge.md",
        "is 100 MiB long; the most that is read is 2 MiB",
    );
}

#[cfg(unix)]
#[test]
fn follows_no_link_out_of_the_content() {
    let house = House::new();
    house.write("secret.md", page("Not for readers", ""));
    std::os::unix::fs::symlink(house.0.join("secret.md"), house.0.join("content/open.md"))
        .expect("a link");
    std::os::unix::fs::symlink("nothing.md", house.0.join("content/void.md")).expect("a link");
    std::os::unix::fs::symlink(house.0.join("content"), house.0.join("content/round"))
        .expect("a link");
    let found = house.findings();
    assert_eq!(found.len(), 3, "{found:#?}");
    assert!(
        found[0].contains("open.md:0:0: is a symbolic link out of its folder"),
        "{found:#?}"
    );
    assert!(
        found[1].contains("round:0:0: is a symbolic link to a folder"),
        "{found:#?}"
    );
    assert!(
        found[2].contains("void.md:0:0: is a symbolic link to nothing"),
        "{found:#?}"
    );
}

#[test]
fn finds_a_circle_of_includes() {
    let house = House::new();
    for part in [
        "style/main.css",
        "script/main.js",
        "script/search.js",
        "script/readings.js",
        "script/worker.js",
        "icons/icon.svg",
    ] {
        house.write(&format!("templates/{part}"), "/**/");
    }
    house.write("templates/page.html", "{% include \"part.html\" %}");
    house.write("templates/part.html", "{% include \"page.html\" %}");
    house.one("templates/pa", "ircular");
}

#[test]
fn finds_a_style_sheet_that_is_no_css() {
    let house = House::new();
    for part in [
        "script/main.js",
        "script/search.js",
        "script/readings.js",
        "script/worker.js",
        "icons/icon.svg",
    ] {
        house.write(&format!("templates/{part}"), "/**/");
    }
    for entry in fs::read_dir(repository().join("templates"))
        .expect("templates")
        .flatten()
    {
        if entry.path().is_file() {
            let text = fs::read(entry.path()).expect("a template");
            house.write(
                &format!("templates/{}", entry.file_name().to_string_lossy()),
                text,
            );
        }
    }
    house.write(
        "templates/style/main.css",
        "a { color: red }\nb { color } }\n",
    );
    house.one(
        "templates/style/main.css:2:",
        "the style sheet cannot be read",
    );
}

#[test]
fn nothing_is_set_too_small_to_read_on_paper() {
    let sheets = forerun_tests::files("templates/style", "css");
    assert!(sheets.len() > 10);
    for sheet in sheets {
        let css = fs::read_to_string(&sheet).expect("a style sheet");
        for rule in css.split("font-size:").skip(1) {
            let size = rule
                .split([';', '!', '}'])
                .next()
                .unwrap_or_default()
                .trim();
            let points = size.strip_suffix("pt").and_then(|size| size.parse().ok());
            assert!(
                points.is_none_or(|points: f64| points >= 6.5),
                "{}: {size}",
                sheet.display()
            );
        }
    }
}

#[test]
fn a_table_too_wide_for_paper_says_in_every_cell_what_it_is() {
    let house = House::new();
    house.build_and_write().expect("a site");
    let html = house.read("tables/substances/index.html");
    let (_, row) = html
        .split_once("<th scope=\"row\">toluene</th>")
        .expect("toluene");
    let row = row.split("</tr>").next().unwrap_or_default();
    for cell in row.split("<td").skip(1) {
        assert!(
            cell.starts_with("></td>") || cell.starts_with(" data-head=\""),
            "{cell}"
        );
    }
    assert!(
        row.contains("data-head=\"Boiling point, °C\">110."),
        "{row}"
    );
    // A table that fits keeps its head.
    let html = house.read("tables/columns/index.html");
    assert!(!html.contains("data-head"));
}

#[test]
fn raw_html_is_text_and_script_never_runs() {
    let house = House::new();
    house.write(
        "content/raw.md",
        page("Raw", "<script>alert(1)</script>\n\nA <b onclick=\"x\">word</b> and a [link](https://example.org \"\\\"><script>\").\n\n<style>b{}</style>\n\n<iframe src=x></iframe>\n\n<a href=\"javascript:x\">y</a>\n"),
    );
    house.build_and_write().expect("a site");
    let html = house.read("raw/index.html");
    assert!(html.contains("&lt;script&gt;alert(1)"), "{html}");
    for part in ["<script>", "<b ", "<style", "<iframe", "<a href=\"java"] {
        assert!(!html.contains(part), "{part} in {html}");
    }
    assert!(
        html.contains("&lt;style&gt;") && html.contains("&lt;iframe"),
        "{html}"
    );
}

#[test]
fn formulas_bring_no_styles_of_their_own() {
    let house = House::new();
    house.write(
        "content/tex.md",
        page(
            "Tex",
            "$\\ln\\!\\left(x\\right)$ and $a \\text{ style=\"b\"}$\n\n$$ \\begin{aligned} a &= b \\end{aligned} $$\n",
        ),
    );
    house.build_and_write().expect("a site");
    let html = house.read("tex/index.html");
    let formulas: Vec<&str> = html
        .split("<math")
        .skip(1)
        .filter_map(|rest| rest.split_once("</math>"))
        .map(|(formula, _)| formula)
        .collect();
    assert_eq!(formulas.len(), 3, "{html}");
    for formula in &formulas {
        let tags: Vec<&str> = formula
            .split('<')
            .filter_map(|rest| rest.split('>').next())
            .collect();
        assert!(!tags.iter().any(|tag| tag.contains(" style=")), "{formula}");
    }
    assert!(
        formulas[0].contains("<mspace") && formulas[2].contains("<mtable"),
        "{formulas:?}"
    );
    assert!(
        formulas[1].contains("style=") && formulas[1].contains("b"),
        "{formulas:?}"
    );
}

#[test]
fn raw_html_passes_where_the_site_allows_it_and_script_never() {
    let house = House::new();
    house.write("content/site.toml", "title = \"T\"\nraw_html = true\n");
    house.write(
        "content/raw.md",
        page(
            "Raw",
            "Press <kbd title=\"the key\">Enter</kbd>; 1 < 2.\n\n<details>\n<summary>More</summary>\n\n- *Words* with <sub>low</sub> ones.\n\n</details>\n",
        ),
    );
    house.build_and_write().expect("a site");
    let html = house.read("raw/index.html");
    for part in [
        "Press <kbd title=\"the key\">Enter</kbd>; 1 &lt; 2.",
        "<details>\n<summary>More</summary>",
        "<em>Words</em> with <sub>low</sub> ones.",
        "</details>",
    ] {
        assert!(html.contains(part), "{part} is missing in\n{html}");
    }

    house.write(
        "content/raw.md",
        page(
            "Raw",
            "A <script>alert(1)</script>, a <b onclick=\"x\">word</b>,\na <a href=\"javascript:alert(1)\">link</a>.\n\n> <style>\n> b { color: red }\n> </style>\n\n<iframe src=\"https://example.org\"></iframe>\n\n<div>\n\n- one </div>\n",
        ),
    );
    let found: Vec<String> = house
        .findings()
        .iter()
        .filter_map(|finding| finding.strip_prefix("content/raw.md:"))
        .map(|finding| finding.split(" | ").next().unwrap_or_default().to_owned())
        .collect();
    assert_eq!(
        found,
        [
            "7:3: `<script>` does not pass into the page",
            "7:19: `<script>` does not pass into the page",
            "7:35: `onclick` does not pass into the page",
            "8:3: `<a>` does not pass into the page",
            "8:37: `<a>` does not pass into the page",
            "10:3: `<style>` does not pass into the page",
            "12:3: `<style>` does not pass into the page",
            "14:1: `<iframe>` does not pass into the page",
            "14:35: `<iframe>` does not pass into the page",
            "16:1: `<div>` is never closed",
            "18:7: `</div>` closes nothing that is open here",
        ]
    );

    house.write("content/site.toml", "raw_html = \"yes\"\n");
    let found = house.findings();
    assert!(
        found.iter().any(|finding| finding
            == "content/site.toml:1:12: `raw_html` is neither true nor false | write true or false, without quotes"),
        "{found:#?}"
    );
}

#[test]
fn what_an_author_writes_becomes_a_page() {
    let house = House::new();
    house.write(
        "content/techniques/baths.md",
        "---\ntitle: Baths\nkind: technique\nsummary: How to heat.\nneed: I have something cold\nhazards: [Hot oil burns.]\nsources: [common practice, no source]\nreviewed: 2026-11-25\n---\n\n## Oil bath\n\n## Oil bath\n\nToluene boils at `=boiling-point.temperature substance=\"toluene\" pressure=\"100 mmHg\"`; wash with `:H2SO4`, $p = 1$. See [oil](page:other#oil-bath) and a [forerun](term:Forerun).\n\n![A dot.](../pictures/dot.svg)\n\n> [!WARNING]\n> Hot.\n\n```calculator boiling-point\nsubstance = \"toluene\"\npressure = \"100 mmHg\"\n```\n\n```calculator boiling-point\nsubstance = \"toluene\"\npressure = \"50 mmHg\"\n```\n\n```check\nquestion = \"How *hot*?\"\nanswer = \"At `=boiling-point.temperature substance=\\\"toluene\\\" pressure=\\\"100 mmHg\\\"`.\"\n```\n\n```steps\n1. Stir. (timer: 1.5 h)\n\n   > [!CAUTION]\n   > Slowly.\n2. Heat to `=boiling-point.temperature substance=\"toluene\" pressure=\"100 mmHg\"`.\n```\n",
    );
    let built = house.build_and_write().expect("a site");
    assert_eq!(built.pages, 2);
    let html = house.read("techniques/baths/index.html");
    for part in [
        "<h2 id=\"oil-bath\">",
        "<h2 id=\"oil-bath-2\">",
        "popovertarget=\"number-1\"",
        "<span class=\"tolerance\" popover id=\"number-1\">",
        "H<sub>2</sub>SO<sub>4</sub>",
        "<math",
        "href=\"../../other/#oil-bath\"",
        "<a class=\"term\" href=\"../../glossary/#term-forerun\">",
        "alt=\"A dot.\" width=\"10\" height=\"10\"",
        "<blockquote class=\"markdown-alert-warning\">",
        "id=\"boiling-point\" data-calculator=\"boiling-point\"",
        "id=\"boiling-point-2\" data-calculator=\"boiling-point\"",
        // Those who hear the page can tell the two results apart.
        "aria-label=\"Result: Boiling point at a pressure, Oil bath\"",
        "aria-label=\"Result: Boiling point at a pressure, Oil bath, 2\"",
        "<details class=\"check\" id=\"check-1\"><summary>How <em>hot</em>?</summary>",
        "<ol class=\"steps\" id=\"steps-1\">",
        "<input type=\"checkbox\" data-step=\"1\"> <span>Stir.</span></label> <button type=\"button\" class=\"timer\" data-minutes=\"90\">1.5 h</button>",
        "<span class=\"number\" title=\"",
        "Hot oil burns.",
    ] {
        assert!(html.contains(part), "{part} is missing in\n{html}");
    }
    // The number in the prose and the calculator's own figure are one number.
    let shown = html
        .split("popovertarget=\"number-1\">")
        .nth(1)
        .and_then(|rest| rest.split(' ').next());
    let figure = html
        .split("<output>")
        .nth(1)
        .and_then(|rest| rest.split('<').next());
    assert_eq!(shown, figure);
    assert!(
        shown.is_some_and(|number| number.parse::<f64>().is_ok()),
        "{shown:?}"
    );
    let worker = house.read("worker.js");
    assert!(
        worker.starts_with("const VERSION = \"") && worker.contains("techniques/baths/index.html")
    );
    assert!(house.read("search.json").contains("techniques/baths/"));
    assert!(house.out("calculators/boiling-point/index.html").exists());
    assert!(house.out("glossary/index.html").exists() && house.out("checks/index.html").exists());
}

/// The page that the README shows whole, on the demo site.
#[test]
fn the_page_in_the_readme_builds() {
    let readme = fs::read_to_string(repository().join("README.md")).expect("the README");
    let shown = readme.split("````markdown\n").nth(1).expect("a page");
    let shown = shown.split("````").next().expect("its end");
    let house = House::new();
    for file in walk(&repository().join("content")) {
        let path = file.strip_prefix(repository()).expect("a file of ours");
        let bytes = fs::read(&file).expect("a file of the content");
        house.write(path.to_str().expect("a plain name"), bytes);
    }
    fs::remove_file(house.0.join("content/other.md")).expect("the page of the other tests");
    house.write("content/techniques/readme.md", shown);
    let built = house.build().unwrap_or_else(|found| panic!("{found:#?}"));
    let html = &built.files["techniques/readme/index.html"];
    let html = String::from_utf8_lossy(html);
    for part in [
        "<svg",
        "<output>",
        "data-step=\"2\"",
        "<details class=\"check\"",
    ] {
        assert!(html.contains(part), "no {part}");
    }
}

/// All files below `folder`.
fn walk(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).expect("a folder");
    entries
        .map(|entry| entry.expect("an entry").path())
        .flat_map(|path| {
            if path.is_dir() {
                walk(&path)
            } else {
                vec![path]
            }
        })
        .collect()
}

#[test]
fn fields_that_do_not_apply_are_hidden_until_they_do() {
    let house = House::new();
    house.write(
        "content/gauges.md",
        page(
            "Gauges",
            "```calculator gauge-reading\ngauge = \"dial that counts down from the room\"\nreading = \"700 mmHg\"\n```\n",
        ),
    );
    house.build_and_write().expect("a site");
    let html = house.read("gauges/index.html");
    // A dial is read against the barometer; height and constant belong to a compression gauge.
    let field = |name: &str| {
        let start = format!("<div class=\"field\" data-input=\"{name}\"");
        let (_, rest) = html.split_once(&start).expect(name);
        rest.split_once('>').expect("a tag").0.to_owned()
    };
    assert_eq!(field("gauge"), "");
    for shown in ["reading", "barometer"] {
        assert!(field(shown).ends_with('"'), "{}", field(shown));
    }
    for hidden in ["difference", "height", "constant"] {
        assert!(field(hidden).ends_with(" hidden"), "{}", field(hidden));
    }
    // The author wrote the label; the box and the script go by the name.
    assert!(
        html.contains("name=\"gauge\" data-author=\"dial\""),
        "{html}"
    );
    assert!(html.contains("<option value=\"dial\" selected>"), "{html}");
}

#[test]
fn a_curve_that_misses_the_boiling_point_is_found_where_it_is_written() {
    let house = House::new();
    let file = "content/data/substances.toml";
    let text = fs::read_to_string(repository().join(file)).expect("the table");
    let row = text.find("name = \"toluene\"").expect("toluene");
    let at = row
        + text[row..]
            .find("boiling_point = 110.6\n")
            .expect("its boiling point");
    let mut wrong = text.clone();
    wrong.replace_range(
        at..at + "boiling_point = 110.6".len(),
        "boiling_point = 119.6",
    );
    house.write(file, &wrong);
    let line = text[..at].matches('\n').count() + 1;
    let found = house.findings();
    assert_eq!(
        found,
        [format!(
            "{file}:{line}:17: `boiling_point` is 119.6 °C, but the curve boils at 110.5 °C under 760 mmHg | the two may differ by 1.0 °C: correct this, or `vapour_pressure` and its range"
        )]
    );
}

#[test]
fn the_same_content_gives_the_same_site() {
    let house = House::new();
    let one = house.build().expect("a site").files;
    assert!(one == house.build().expect("a site").files);
}

#[test]
fn a_thousand_pages_build_without_growing_worse() {
    let time = |count: usize| {
        let house = House::new();
        for number in 0..count {
            house.write(
                &format!("content/page-{number}.md"),
                page(
                    &format!("Page {number}"),
                    "## Part\n\nText with [a link](page:other#oil-bath).\n\n```calculator boiling-point\nsubstance = \"toluene\"\npressure = \"100 mmHg\"\n```\n",
                ),
            );
        }
        let begun = std::time::Instant::now();
        house.build().expect("a site");
        begun.elapsed().as_secs_f64()
    };
    time(50);
    let (few, many) = (time(250), time(1000));
    // Linear would be 4; a busy machine is allowed three times that, a quadratic build is not.
    assert!(
        many / few < 12.0,
        "250 pages {few:.3} s, 1000 pages {many:.3} s"
    );
}
