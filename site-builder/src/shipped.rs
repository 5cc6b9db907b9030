//! What the program brings: the compiled core, and every file that an author need not write.
//!
//! It belongs to the program and not to the library, so that saving a table or a template links
//! the program anew and compiles nothing else. Cargo sees a change in a file that is inside, but
//! not a file that is new: touch this one then.

use include_dir::{Dir, include_dir};
use site_builder::finding::Finding;
use site_builder::output::wasm::{Bound, Module};
use site_builder::read::source::{Folders, Inside, Shipped};
use std::path::{Path, PathBuf};

static DATA: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/../content/data");
static ASSEMBLIES: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/../content/assemblies");
static TEMPLATES: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/../templates");
static COURSE: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/start");
static PUBLISHED: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/../tests/published");

/// The files inside the program. In its own checkout there are none: there the folders are what is
/// worked on, and a file that is taken away must be missed.
pub fn files() -> Shipped {
    if Path::new("calc-wasm/Cargo.toml").is_file() {
        Shipped::default()
    } else {
        all()
    }
}

fn all() -> Shipped {
    let mut shipped = Shipped::default();
    gather(&DATA, "data/", &mut shipped.content);
    gather(&ASSEMBLIES, "assemblies/", &mut shipped.content);
    gather(&TEMPLATES, "", &mut shipped.templates);
    gather(&PUBLISHED, "", &mut shipped.published);
    shipped
}

/// The same by the path under which a course would have them.
pub fn by_path() -> Inside {
    let shipped = all();
    let usual = Folders::default();
    let layers = [
        (usual.content, shipped.content),
        (usual.templates, shipped.templates),
        (usual.published, shipped.published),
    ];
    let under = |folder: PathBuf, files: Inside| {
        files.into_iter().map(move |(path, bytes)| {
            let path = folder.join(path).display().to_string();
            (path.replace('\\', "/"), bytes)
        })
    };
    layers
        .into_iter()
        .flat_map(|(folder, files)| under(folder, files))
        .collect()
}

/// The course that `forerun start` lays out.
pub fn course() -> Inside {
    let mut files = Inside::new();
    gather(&COURSE, "", &mut files);
    files
}

fn gather(folder: &Dir<'static>, before: &str, inside: &mut Inside) {
    for file in folder.files() {
        let path = file.path().to_string_lossy().replace('\\', "/");
        inside.insert(format!("{before}{path}"), file.contents());
    }
    for deeper in folder.dirs() {
        gather(deeper, before, inside);
    }
}

/// The core as it was compiled with the program.
///
/// # Errors
/// The program's file is damaged; such a core must not reach a reader.
pub fn core() -> Result<Module, Finding> {
    let module = Module {
        results: Bound {
            script: include_str!(concat!(env!("OUT_DIR"), "/calc.js")).into(),
            wasm: include_bytes!(concat!(env!("OUT_DIR"), "/calc.wasm")).into(),
        },
        code: Bound {
            script: include_str!(concat!(env!("OUT_DIR"), "/code.js")).into(),
            wasm: include_bytes!(concat!(env!("OUT_DIR"), "/code.wasm")).into(),
        },
    };
    if module.sha256() == env!("CORE_SHA256") {
        Ok(module)
    } else {
        let finding = Finding::whole("forerun", "the calculators inside the program are damaged");
        Err(finding.mend("install the program anew, and compare the archive with its checksum"))
    }
}
