//! Apparatus: every assembly of the content builds; every wrong one gets its sentence.

use std::fs;
use std::path::{Path, PathBuf};

use site_builder::apparatus::{Catalogue, assemble};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn catalogue() -> Catalogue {
    Catalogue::load(&[&root().join("content/data/parts")])
        .unwrap_or_else(|flaws| panic!("{flaws:#?}"))
}

fn texts(folder: &str) -> Vec<(String, String)> {
    let mut files: Vec<PathBuf> = fs::read_dir(root().join(folder))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    files.sort();
    files
        .iter()
        .map(|file| {
            (
                file.file_stem().unwrap().to_string_lossy().into_owned(),
                fs::read_to_string(file).unwrap(),
            )
        })
        .collect()
}

#[test]
fn every_assembly_of_the_content_builds() {
    let catalogue = catalogue();
    for (name, text) in texts("content/assemblies") {
        match assemble(&catalogue, &text) {
            Ok(assembly) => {
                let html = assembly.html(&name);
                if let Ok(folder) = std::env::var("APPARATUS_OUT") {
                    fs::write(Path::new(&folder).join(format!("{name}.html")), html).unwrap();
                }
            }
            Err(flaws) => {
                for flaw in &flaws {
                    eprintln!(
                        "{name}: {:?}\n   {}\n   {}",
                        &text[flaw.span.clone()],
                        flaw.message,
                        flaw.mend
                    );
                }
                panic!("{name} has flaws");
            }
        }
    }
}
