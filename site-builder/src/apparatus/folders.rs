//! The parts of apparatus, and the assemblies kept in files.

use crate::apparatus::{Assembly, Catalogue, assemble};
use crate::finding::{Finding, Flaw};
use crate::read::source::Text;
use std::collections::BTreeMap;

/// Reads all parts. Where a file is at fault, the parts of the others still serve. A part of the
/// author's replaces the shipped one of its name, and a note says so.
pub fn catalogue(files: &[Text]) -> (Catalogue, Vec<Finding>) {
    let (shipped, own): (Vec<&Text>, Vec<&Text>) = files.iter().partition(|file| file.shipped);
    let files = [&shipped[..], &own[..]].concat();
    let (catalogue, mut findings) = sound(&files);
    if !shipped.is_empty() && !own.is_empty() {
        findings.extend(replaced(&shipped, &own));
    }
    (catalogue, findings)
}

/// Which files have parts of shipped names. A file at fault is told elsewhere.
fn replaced(shipped: &[&Text], own: &[&Text]) -> Vec<Finding> {
    let below = sound(shipped).0;
    let mut findings = Vec::new();
    for file in own {
        for part in sound(&[file]).0.parts() {
            if below.find(&part.name).is_some() {
                let message = format!("its part `{}` replaces the shipped one", part.name);
                findings.push(Finding::whole(&file.file, message).note());
            }
        }
    }
    findings
}

/// The parts of those files that are not at fault.
fn sound(files: &[&Text]) -> (Catalogue, Vec<Finding>) {
    let texts: Vec<(&str, &str)> = files
        .iter()
        .map(|file| (file.stem(), file.text.as_str()))
        .collect();
    if let Ok(catalogue) = Catalogue::from_texts(&texts) {
        return (catalogue, Vec::new());
    }
    let mut sound = Vec::new();
    let mut findings = Vec::new();
    for (file, text) in files.iter().zip(texts) {
        match Catalogue::from_texts(&[text]) {
            Ok(_) => sound.push(text),
            Err(flaws) => findings.extend(on_file(file, flaws)),
        }
    }
    let catalogue = Catalogue::from_texts(&sound).unwrap_or_else(|flaws| {
        // Each file is sound alone and together they are not: say so on the first.
        findings.extend(
            files
                .first()
                .into_iter()
                .flat_map(|file| on_file(file, flaws.clone())),
        );
        Catalogue::default()
    });
    (catalogue, findings)
}

/// Puts together every assembly of `content/assemblies/`.
pub fn assemblies<'a>(
    files: &'a [Text],
    parts: &Catalogue,
) -> (BTreeMap<&'a str, Option<Assembly>>, Vec<Finding>) {
    let mut assemblies = BTreeMap::new();
    let mut findings = Vec::new();
    for file in files {
        let assembly = assemble(parts, &file.text);
        if let Err(flaws) = &assembly {
            findings.extend(on_file(file, flaws.clone()));
        }
        assemblies.insert(file.stem(), assembly.ok());
    }
    (assemblies, findings)
}

fn on_file(file: &Text, flaws: Vec<Flaw>) -> impl Iterator<Item = Finding> {
    flaws.into_iter().map(|flaw| {
        Finding::at(&file.file, &file.text, flaw.span, flaw.message).maybe_mend(flaw.mend)
    })
}
