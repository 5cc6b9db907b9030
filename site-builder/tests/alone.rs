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
        let mut command = if can_hide() {
            hiding(&self.program)
        } else {
            Command::new(&self.program)
        };
        command
            .args(words)
            .current_dir(self.root.join("course"))
            .env_clear()
            .output()
            .expect("the program starts")
    }

    /// What the program says where all is well.
    fn well(&self, words: &[&str]) -> String {
        let output = self.run(words);
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{words:?}: {said}");
        String::from_utf8_lossy(&output.stdout).into_owned() + &said
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
