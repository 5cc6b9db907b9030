//! The program where there is nothing else: no checkout, no toolchain, no network.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

/// A folder of its own for each test, gone when it ends, with a copy of the program beside it.
struct House {
    root: PathBuf,
    program: PathBuf,
}

impl House {
    fn new(name: &str) -> Self {
        Self::with(name, Path::new(env!("CARGO_BIN_EXE_forerun")))
    }

    fn with(name: &str, program: &Path) -> Self {
        let root = std::env::temp_dir().join(format!("forerun-{name}-{}", std::process::id()));
        fs::create_dir_all(root.join("course")).expect("a folder");
        let copy = root.join("forerun");
        copied(program, &copy);
        Self {
            program: copy,
            root,
        }
    }

    fn course(&self, file: &str) -> PathBuf {
        self.root.join("course").join(file)
    }

    fn write(&self, file: &str, text: impl AsRef<[u8]>) {
        let path = self.course(file);
        fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
        fs::write(path, text).expect("a file");
    }

    fn read(&self, file: &str) -> String {
        fs::read_to_string(self.course(file)).unwrap_or_else(|error| panic!("{file}: {error}"))
    }

    /// Runs the copy in the course's folder, with no variable set.
    fn run(&self, words: &[&str]) -> Output {
        self.run_in(&self.root.join("course"), words)
    }

    fn run_in(&self, folder: &Path, words: &[&str]) -> Output {
        let mut command = if can_hide() {
            hiding(&self.program)
        } else {
            Command::new(&self.program)
        };
        command
            .args(words)
            .current_dir(folder)
            .env_clear()
            .output()
            .expect("the program starts")
    }

    /// What the program says where all is well.
    fn well(&self, words: &[&str]) -> String {
        self.well_in(&self.root.join("course"), words)
    }

    fn well_in(&self, folder: &Path, words: &[&str]) -> String {
        let output = self.run_in(folder, words);
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{words:?}: {said}");
        String::from_utf8_lossy(&output.stdout).into_owned() + &said
    }
}

impl House {
    /// Proofs the course in `folder`: as many pages, and nothing found.
    fn proofs(&self, folder: &Path, pages: usize) -> String {
        let said = self.well_in(folder, &["proof"]);
        assert!(
            said.contains(&format!("{pages} pages, 0 findings.")),
            "{said}"
        );
        said
    }
}

impl Drop for House {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.root);
    }
}

/// Copied by a process of its own: a program that this one still writes to, were it only through
/// a child of another test, could not be started.
fn copied(from: &Path, to: &Path) {
    let copied = Command::new("cp").args([from, to]).status();
    assert!(copied.expect("cp").success());
}

fn repository() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    here.canonicalize().expect("the repository")
}

/// Whether folders can be hidden from a program here, as Linux lets whoever may mount.
fn can_hide() -> bool {
    let tried = Command::new("unshare")
        .args(["--map-root-user", "--mount", "--net", "true"])
        .stderr(Stdio::null())
        .status();
    tried.is_ok_and(|status| status.success())
}

/// The program behind empty folders where the checkout and the toolchain are, and without any
/// network.
fn hiding(program: &Path) -> Command {
    let home = std::env::var_os("HOME")
        .map(PathBuf::from)
        .unwrap_or_default();
    let out_of_reach = [repository(), home.join(".cargo"), home.join(".rustup")];
    let mut command = Command::new("/usr/bin/env");
    command
        .args(["unshare", "--map-root-user", "--mount", "--net", "sh", "-c"])
        .arg("while [ \"$1\" != -- ]; do mount -t tmpfs none \"$1\"; shift; done; shift; exec \"$@\"")
        .arg("sh")
        .args(out_of_reach.iter().filter(|folder| folder.is_dir()))
        .arg("--")
        .arg(program);
    command
}

/// All files below a folder, by path.
fn tree(root: &Path) -> BTreeMap<String, Vec<u8>> {
    fn gather(root: &Path, folder: &Path, files: &mut BTreeMap<String, Vec<u8>>) {
        for entry in fs::read_dir(folder).expect("a folder").flatten() {
            let path = entry.path();
            if path.is_dir() {
                gather(root, &path, files);
            } else {
                let name = path.strip_prefix(root).expect("below it");
                let bytes = fs::read(&path).expect("a file");
                files.insert(name.to_string_lossy().into_owned(), bytes);
            }
        }
    }
    let mut files = BTreeMap::new();
    gather(root, root, &mut files);
    files
}

#[test]
fn it_builds_proofs_and_computes_in_an_empty_folder() {
    let house = House::new("empty");
    let said = house.well(&["build"]);
    assert!(said.contains("there is no folder `content` here"), "{said}");
    let page = house.read("public/calculators/boiling-point/index.html");
    assert!(page.contains("Boiling temperature"), "{page}");
    assert!(
        house
            .read("public/tables/substances/index.html")
            .contains("toluene")
    );
    house.well(&["proof"]);
    let said = house.well(&[
        "compute",
        "boiling-point",
        "substance=toluene",
        "pressure=100 mmHg",
    ]);
    assert!(said.contains("52.0 °C"), "{said}");
}

/// The pages of the demo site alone give the demo site, byte for byte: all else is inside.
#[test]
fn it_brings_all_that_the_checkout_has() {
    let house = House::new("same");
    let repository = repository();
    for (file, bytes) in tree(&repository.join("content")) {
        if !file.starts_with("data/") && !file.starts_with("assemblies/") {
            house.write(&format!("content/{file}"), bytes);
        }
    }
    house.well(&["build"]);
    let there = Command::new(env!("CARGO_BIN_EXE_forerun"))
        .current_dir(&repository)
        .args(["build", "--out"])
        .arg(house.root.join("checkout"))
        .output()
        .expect("a build");
    assert!(
        there.status.success(),
        "{}",
        String::from_utf8_lossy(&there.stderr)
    );
    let (here, there) = (
        tree(&house.course("public")),
        tree(&house.root.join("checkout")),
    );
    let different: Vec<&String> = there
        .iter()
        .filter(|(file, bytes)| here.get(*file) != Some(bytes))
        .map(|(file, _)| file)
        .collect();
    assert!(
        different.is_empty() && here.len() == there.len(),
        "a file that is new is not inside; touch site-builder/src/shipped.rs: {different:?}"
    );
    assert!(
        here.len() > 100,
        "only {} files: is the demo site built?",
        here.len()
    );
}

#[test]
fn files_of_the_author_lie_over_those_inside() {
    let house = House::new("overlay");
    house.write(
        "content/data/joints.toml",
        "title = \"Joints of this house\"\npage = true\nsource = \"common practice, no source\"\n[[row]]\nname = \"24/29\"\n",
    );
    house.write("templates/search.html", "Nothing is searched here.");
    house.write(
        "templates/style/colours.css",
        ":root { --ink: #123456; --paper: #ffffff }",
    );
    house.well(&["build"]);
    let table = house.read("public/tables/joints/index.html");
    assert!(table.contains("Joints of this house"), "{table}");
    assert_eq!(
        house.read("public/search.html"),
        "Nothing is searched here."
    );
    let files = tree(&house.course("public"));
    let style = files.iter().find(|(file, _)| file.ends_with(".css"));
    let style = String::from_utf8_lossy(style.expect("a style sheet").1);
    assert!(style.contains("#123456"), "{style}");
    // The files beside them still come from inside.
    assert!(files.contains_key("tables/substances/index.html"));
    assert!(files.contains_key("calculators/index.html"));
}

#[test]
fn rows_parts_and_a_little_style_are_enough() {
    let house = House::new("rows");
    house.write(
        "content/data/cooling_mixtures.toml",
        "source = \"measured in this house\"\n[[row]]\nname = \"ice and sugar\"\ntemperature = -2\n",
    );
    house.write(
        "content/data/parts/ours.toml",
        "title = \"Ours\"\nsource = \"common practice, no source\"\n[[part]]\nname = \"stopper 24/29\"\nlabel = \"Stopper of ours\"\nports = [\"below cone 24/29 at 0 0 down\"]\ndraw = [\"glass M-8 0 H8 V-20 H-8 Z\"]\n",
    );
    house.write(
        "content/style.css",
        ":root { --accent: light-dark(#123456, #abcdef) }",
    );
    house.write(
        "content/mark.svg",
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 40 20\"/>",
    );
    house.write(
        "content/site.toml",
        "title = \"Kurs\"\nlanguage = \"de\"\nlogo = \"mark.svg\"\n",
    );
    let said = house.well(&["build"]);
    assert!(
        said.contains(
            "note: content/data/parts/ours.toml: its part `stopper 24/29` replaces the shipped one"
        ),
        "{said}"
    );
    let table = house.read("public/tables/cooling-mixtures/index.html");
    assert!(table.contains("ice and sugar") && table.contains("measured in this house"));
    assert!(
        table.contains("ice and water"),
        "the shipped rows are there: {table}"
    );
    let start = house.read("public/index.html");
    assert!(start.contains("<html lang=\"de\""), "{start}");
    assert!(
        start.contains("<img class=\"logo\" src=\"pictures/mark."),
        "{start}"
    );
    assert!(
        start.contains("alt=\"\" width=\"40\" height=\"20\">Kurs</a>"),
        "{start}"
    );
    // Nothing leads to subjects that the course has not got.
    assert!(
        !start.contains("echniques") && !start.contains("drawings/"),
        "{start}"
    );
    let files = tree(&house.course("public"));
    let style = files.iter().find(|(file, _)| file.ends_with(".css"));
    let style = String::from_utf8_lossy(style.expect("a style sheet").1);
    assert!(style.contains("#123456"), "{style}");
    house.write(
        "content/style.css",
        ":root { --accent: light-dark(#fedcba, #abcdef) }",
    );
    house.write(
        "content/site.toml",
        "language = \"german!\"\nlogo = \"marc.svg\"\n",
    );
    let said = house.run(&["proof"]);
    let said = String::from_utf8_lossy(&said.stderr);
    for part in [
        "`german!` is no mark of a language",
        "there is no picture `marc.svg`",
        "the nearest is `mark.svg`",
    ] {
        assert!(said.contains(part), "{part} is missing in\n{said}");
    }
    house.write("content/site.toml", "");
    let said = house.run(&["proof"]);
    let said = String::from_utf8_lossy(&said.stderr);
    assert!(
        said.contains("`--accent` on `--paper` has a contrast of 1."),
        "{said}"
    );
}

/// Every link and every file that the pages of a site name is there.
fn dangling(files: &BTreeMap<String, Vec<u8>>) -> Vec<String> {
    let mut dangling = Vec::new();
    for (page, bytes) in files.iter().filter(|(file, _)| file.ends_with(".html")) {
        let html = String::from_utf8_lossy(bytes);
        let named = ["href", "src"].map(|attribute| format!(" {attribute}=\""));
        let links = named
            .iter()
            .flat_map(|before| html.split(before.as_str()).skip(1));
        for link in links.filter_map(|rest| rest.split(['"', '#', '?']).next()) {
            let mut place: Vec<&str> = page.split('/').collect();
            place.pop();
            for step in link.split('/') {
                match step {
                    ".." => drop(place.pop()),
                    "." | "" => {}
                    step => place.push(step),
                }
            }
            let place = place.join("/");
            let index = if place.is_empty() {
                "index.html".into()
            } else {
                format!("{place}/index.html")
            };
            let elsewhere = link.is_empty() || link.contains(':');
            if !elsewhere && !files.contains_key(&place) && !files.contains_key(&index) {
                dangling.push(format!("{page}: {link}"));
            }
        }
    }
    dangling
}

#[test]
fn a_course_is_begun_by_one_command() {
    let house = House::new("start");
    house.well(&["start", "ours"]);
    let course = house.course("ours");
    for file in [
        "README.md",
        "content/site.toml",
        "content/data/substances.toml",
    ] {
        assert!(course.join(file).is_file(), "{file}");
    }
    let again = house.run(&["start", "ours"]);
    let said = String::from_utf8_lossy(&again.stderr);
    assert_eq!(again.status.code(), Some(1), "{said}");
    assert!(
        said.contains("ours: is not empty; nothing was written"),
        "{said}"
    );
    // From a folder deep inside, the course is found.
    let inside = course.join("content/techniques");
    let said = house.proofs(&inside, 2);
    let here = course.canonicalize().expect("the course");
    assert!(
        said.contains(&format!("The course is in {}.", here.display())),
        "{said}"
    );
    house.well_in(&inside, &["build"]);
    house.well_in(&inside, &["build", "--out", "elsewhere"]);
    let files = tree(&course.join("public"));
    assert!(files == tree(&inside.join("elsewhere")));
    assert_eq!(dangling(&files), [""; 0]);
    let said = house.well_in(
        &inside,
        &[
            "compute",
            "boiling-point",
            "substance=isooctane",
            "pressure=760 mmHg",
        ],
    );
    // CRC Handbook of Chemistry and Physics, 95th ed. 2014, through chemicals 1.5.2: 99.2 °C.
    assert!(said.contains("99.2 °C"), "{said}");
}

/// What an own course may take: a substance, a pump, a column, a part, an assembly, pages and an
/// experiment of its own, from an empty folder and the program alone.
#[test]
fn a_course_grows_by_a_few_short_files() {
    let house = House::new("grows");
    house.well(&["start", "."]);
    house.write(
        "content/data/vacuum_sources.toml",
        "source = \"measured in this house\"\n[[row]]\nname = \"old pump\"\nlowest = 12\nhighest = 760\nneeds_trap = false\nfollows_water = false\n",
    );
    house.write(
        "content/data/columns.toml",
        "source = \"measured in this house\"\n[[row]]\nname = \"ring column\"\nplate_height_low = 40\nplate_height_high = 60\npressure_drop = 2\nhold_up = 3\nmargin_low = 20\nmargin_high = 35\n",
    );
    house.write(
        "content/data/parts/ours.toml",
        "title = \"Parts of ours\"\nsource = \"common practice, no source\"\n\n[[part]]\nname = \"house stopper 29/32\"\nlabel = \"stopper of this house, 29/32\"\ntraits = [\"closes\"]\nports = [\"bottom cone 29/32 at 0 0 down\"]\ndraw = [\"glass M-13 0 L-17 -12 H17 L13 0 Z\"]\n",
    );
    house.write(
        "content/assemblies/stored.toml",
        "title = \"Stored\"\nsummary = \"Closed, on a ring of cork.\"\n[parts]\nring = \"cork ring\"\nflask = { part = \"flask 250 mL 29/32\", holds = \"100 mL of distillate\" }\nstopper = \"house stopper 29/32\"\n[set-up]\nstand = [\"ring\", \"flask\", \"stopper\"]\n",
    );
    let page = |title: &str, body: &str| {
        format!(
            "---\ntitle: {title}\nkind: technique\nsummary: S.\nneed: \"N\"\nhazards: [Vacuum bursts glass.]\nsources: [\"common practice, no source\"]\nreviewed: 2026-11-25\n---\n\n{body}\n\n## Method\n\n```steps\n1. Do it.\n```\n"
        )
    };
    house.write(
        "content/techniques/old-pump.md",
        page(
            "The old pump",
            "```calculator vacuum-plan\nsubstance = \"isooctane\"\nhighest_pot_temperature = \"60 °C\"\ncoolant_temperature = \"5 °C\"\nvacuum_source = \"old pump\"\n```",
        ),
    );
    house.write(
        "content/techniques/ring-column.md",
        page(
            "The ring column",
            "See [the other](page:old-pump).\n\n```calculator fraction-column\nlight = \"isooctane\"\nheavy = \"decane\"\npressure = \"760 mmHg\"\nfeed = \"50 %\"\ntarget_purity = \"95 %\"\ncolumn = \"ring column\"\n```\n\n```apparatus\nfrom = \"stored\"\n```",
        ),
    );
    house.proofs(&house.root.join("course"), 4);
    house.well(&["build"]);
    let files = tree(&house.course("public"));
    assert_eq!(dangling(&files), [""; 0]);
    let column = house.read("public/techniques/ring-column/index.html");
    for part in ["stopper of this house", "ring column", "isooctane"] {
        assert!(column.contains(part), "{part} is missing");
    }
    let pump = house.read("public/techniques/old-pump/index.html");
    assert!(pump.contains("old pump"), "{pump}");
    let table = house.read("public/tables/vacuum-sources/index.html");
    assert!(
        table.contains("old pump") && table.contains("diaphragm pump"),
        "{table}"
    );
}

#[test]
fn what_is_inside_can_be_read() {
    let house = House::new("inside");
    let list = house.well(&["shipped"]);
    for file in ["content/data/columns.toml", "templates/base.html"] {
        assert!(list.lines().any(|line| line == file), "{list}");
    }
    let shown = house.well(&["shipped", "content/data/columns.toml"]);
    let here = repository().join("content/data/columns.toml");
    assert_eq!(
        shown.trim(),
        fs::read_to_string(here).expect("the table").trim()
    );
    let output = house.run(&["shipped", "templates/bass.html"]);
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(
        said.contains("the nearest is `templates/base.html`"),
        "{said}"
    );
}

#[test]
fn a_folder_that_is_named_must_be_there() {
    let house = House::new("named");
    for folder in ["--content", "--templates"] {
        let output = house.run(&["proof", folder, "gone"]);
        let said = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(1), "{said}");
        assert!(said.contains("gone: there is no such folder"), "{said}");
    }
}

/// One byte of the core changed in the program's file, as a bad copy might.
#[test]
fn a_damaged_core_is_not_published() {
    let house = House::new("damaged");
    house.well(&["build"]);
    let public = tree(&house.course("public"));
    let core = public
        .iter()
        .find(|(file, _)| file.starts_with("calc.") && file.ends_with(".wasm"))
        .map(|(_, bytes)| bytes)
        .expect("the core");
    let mut bytes = fs::read(&house.program).expect("the program");
    let place = bytes
        .windows(core.len())
        .position(|window| window == core.as_slice())
        .expect("the core is inside");
    bytes[place + core.len() / 2] ^= 1;
    let damaged = house.root.join("damaged");
    fs::write(&damaged, bytes).expect("the program");
    copied(&damaged, &house.program);
    for command in ["build", "proof"] {
        let output = house.run(&[command]);
        let said = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(1), "{said}");
        assert!(
            said.contains("the calculators inside the program are damaged"),
            "{said}"
        );
    }
    assert!(
        tree(&house.course("public")) == public,
        "the site that stood is as it was"
    );
}

/// The archive, and with it `cargo install`, gives the same program.
#[test]
fn the_archive_holds_a_program_that_stands_alone() {
    let folder = std::env::temp_dir().join(format!("forerun-archive-{}", std::process::id()));
    let _ = fs::remove_dir_all(&folder);
    let run = |program: &str, words: &[&str], place: &Path| {
        let output = Command::new(program)
            .args(words)
            .current_dir(place)
            .output()
            .expect("it starts");
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{program} {words:?}: {said}");
        String::from_utf8_lossy(&output.stdout).trim().to_owned()
    };
    let out = folder.display().to_string();
    let script = repository().join("site-builder/archive.sh");
    let archive = run(&script.display().to_string(), &[&out], &repository());
    let name = Path::new(&archive)
        .file_name()
        .expect("a name")
        .to_string_lossy();
    run(
        "sha256sum",
        &["--check", &format!("{name}.sha256")],
        &folder,
    );
    run("tar", &["-xzf", &archive], &folder);
    let unpacked = folder.join(name.trim_end_matches(".tar.gz"));
    run("sha256sum", &["--check", "SHA256SUMS"], &unpacked);
    let house = House::with("unpacked", &unpacked.join("forerun"));
    house.write(
        "content/first.md",
        "---\ntitle: First\nkind: page\nsummary: S.\n---\n\n```calculator boiling-point\nsubstance = \"toluene\"\npressure = \"100 mmHg\"\n```\n",
    );
    house.well(&["build"]);
    assert!(house.read("public/first/index.html").contains("52.0"));
    let _ = fs::remove_dir_all(&folder);
}
