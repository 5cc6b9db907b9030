//! What a material is, and what must not meet it.
//!
//! A material is known by its name: a row of the table of materials says what kinds of thing it
//! is, and a substance counts by its class. The table of what must not meet names pairs of kinds,
//! and some that are dangerous only as three (acetone with chloroform and a base), each with its
//! reason. What stands in neither table is unknown, and nothing is said of it.

use crate::library::{Library, Record};

/// A material whose kinds are known.
#[derive(Debug, Clone)]
pub struct Material<'a> {
    /// As it was written.
    pub written: &'a str,
    kinds: Vec<&'a str>,
}

/// Materials that must not meet, by a row of the table.
#[derive(Debug, Clone, Copy)]
pub struct Meeting<'a> {
    /// The one, as written.
    pub first: &'a str,
    /// The other, as written.
    pub second: &'a str,
    row: Record<'a>,
}

impl<'a> Meeting<'a> {
    /// Whether they must never meet, rather than with care and in the open.
    pub fn is_danger(&self) -> bool {
        self.row.is("danger")
    }

    /// What happens, as half a sentence.
    pub fn reason(&self) -> &'a str {
        self.row.text("reason")
    }
}

impl Material<'_> {
    /// Whether it is of this kind.
    pub fn is(&self, kind: &str) -> bool {
        self.kinds.contains(&kind)
    }
}

/// What `written` is, as in `hydrochloric acid 3 M`; None where no table knows it.
pub fn known<'a>(library: &'a Library, written: &'a str) -> Option<Material<'a>> {
    let row = |table| library.table(table).and_then(|rows| rows.find(written));
    let kinds = if let Some(row) = row("materials") {
        row.list("kinds").collect()
    } else if let Some(substance) = row("substances") {
        kinds_of_class(substance.text("class"))
    } else {
        longest_in(library, written)?.list("kinds").collect()
    };
    Some(Material { written, kinds })
}

/// The names of a row that count inside a longer text. Sodium does not: sodium chloride is none.
fn names(row: Record<'_>) -> impl Iterator<Item = &str> {
    let names = std::iter::once(row.name()).chain(row.list("aliases"));
    names.filter(move |_| !row.is("alone"))
}

/// All materials and substances that a text names.
pub fn named_in<'a>(library: &'a Library, text: &str) -> Vec<Material<'a>> {
    let materials = library.rows("materials").filter_map(|row| {
        let written = names(row).find(|name| stands_in(text, name))?;
        let kinds = row.list("kinds").collect();
        Some(Material { written, kinds })
    });
    let substances = library.rows("substances").filter_map(|row| {
        let written = names(row).find(|name| stands_in(text, name))?;
        let kinds = kinds_of_class(row.text("class"));
        Some(Material { written, kinds })
    });
    materials.chain(substances).collect()
}

/// The pairs among `materials` that must not meet, each pair once, in the order of the table.
pub fn meetings<'a>(library: &'a Library, materials: &[Material<'a>]) -> Vec<Meeting<'a>> {
    let mut met: Vec<Meeting<'a>> = Vec::new();
    for row in library.rows("incompatible") {
        let third = row.text("third");
        if !third.is_empty() && !materials.iter().any(|one| one.is(third)) {
            continue;
        }
        for one in materials.iter().filter(|one| one.is(row.text("first"))) {
            for other in materials.iter().filter(|one| one.is(row.text("second"))) {
                let (first, second) = (one.written, other.written);
                let said = met.iter().any(|pair| {
                    [pair.first, pair.second].contains(&first)
                        && [pair.first, pair.second].contains(&second)
                });
                if first != second && !said {
                    met.push(Meeting { first, second, row });
                }
            }
        }
    }
    met
}

/// What a substance is by its class in the table of substances.
fn kinds_of_class(class: &str) -> Vec<&'static str> {
    match class {
        "water" => vec!["water"],
        "halide" => vec!["organic", "halogenated"],
        "ketone" => vec!["organic", "ketone", "active hydrogen"],
        "aldehyde" | "nitro" | "nitrile" => vec!["organic", "active hydrogen"],
        "alcohol" | "polyol" => vec!["organic", "alcohol"],
        "acid" => vec!["organic", "acid"],
        "amine" | "tertiary amine" => vec!["organic", "base", "amine"],
        _ => vec!["organic"],
    }
}

/// The material with the longest name that stands in `written`.
fn longest_in<'a>(library: &'a Library, written: &str) -> Option<Record<'a>> {
    let mut longest = None;
    let mut length = 0;
    for row in library.rows("materials") {
        for name in names(row) {
            if name.len() > length && stands_in(written, name) {
                (longest, length) = (Some(row), name.len());
            }
        }
    }
    longest
}

/// Whether `name` stands in `text` as a word of its own, capitals aside.
fn stands_in(text: &str, name: &str) -> bool {
    let (text, name) = (text.as_bytes(), name.as_bytes());
    let part_of_a_word = |byte: Option<&u8>| {
        byte.is_some_and(|byte| byte.is_ascii_alphanumeric() || *byte == b'-' || *byte >= 0x80)
    };
    text.windows(name.len().max(1))
        .enumerate()
        .any(|(at, window)| {
            window.eq_ignore_ascii_case(name)
                && !part_of_a_word(at.checked_sub(1).and_then(|before| text.get(before)))
                && !part_of_a_word(text.get(at + name.len()))
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    const TABLES: &str = "[materials]\nname\taliases\tkinds\n\
        nitric acid\t\toxidising acid; acid\nsodium hydroxide\tNaOH\tbase\nchloroform\t\torganic; halogenated; haloform\n\
        [substances]\nname\taliases\tclass\nethanol\t\talcohol\nacetone\tpropanone\tketone\n\
        [incompatible]\nname\tfirst\tsecond\tthird\tdanger\treason\n\
        a\toxidising acid\torganic\t\ttrue\tit bursts\nb\thaloform\tactive hydrogen\tbase\ttrue\tit boils over\n";

    fn met(names: &[&str]) -> Vec<String> {
        let library = Library::from_text(TABLES).expect("tables");
        let materials: Vec<_> = names
            .iter()
            .filter_map(|name| known(&library, name))
            .collect();
        let pairs = meetings(&library, &materials);
        let told =
            |pair: &Meeting<'_>| format!("{} + {}: {}", pair.first, pair.second, pair.reason());
        pairs.iter().map(told).collect()
    }

    #[test]
    fn tells_pairs_and_threes() {
        assert_eq!(
            met(&["65 % nitric acid", "Ethanol"]),
            ["65 % nitric acid + Ethanol: it bursts"]
        );
        assert_eq!(met(&["chloroform", "acetone"]), [""; 0]);
        assert_eq!(
            met(&["chloroform", "propanone", "NaOH 2 M"]),
            ["chloroform + propanone: it boils over"]
        );
    }

    #[test]
    fn knows_words_and_not_parts_of_words() {
        let library = Library::from_text(TABLES).expect("tables");
        assert!(known(&library, "hydrochloroform").is_none());
        assert!(known(&library, "chloroform-d").is_none());
        let named = named_in(
            &library,
            "spent (nitric acid), ethanol; acetonedicarboxylate",
        );
        let names: Vec<_> = named.iter().map(|one| one.written).collect();
        assert_eq!(names, ["nitric acid", "ethanol"]);
    }
}
