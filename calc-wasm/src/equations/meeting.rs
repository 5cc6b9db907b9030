//! What a material is, and what must not meet it.
//!
//! A material is known by its name: a row of the table of materials says what kinds of thing it
//! is, and a substance counts by its class. The table of what must not meet names pairs of kinds,
//! and some that are dangerous only as three (acetone with chloroform and a base), each with its
//! reason. Some may meet in a method, drop by drop, and never in a can. What stands in neither table
//! is unknown, and nothing is said of it.

use crate::library::{Library, Record};
use crate::outcome::Outcome;
use crate::problem::{Problem, holds};
use crate::quantity::digits;

/// From this strength on an acid counts as concentrated, in percent by mass and mol/L (common
/// practice, no source).
const CONCENTRATED: [f64; 2] = [70.0, 12.0];

/// A material whose kinds are known.
#[derive(Debug, Clone)]
pub struct Material<'a> {
    /// As it was written.
    pub written: &'a str,
    /// The name in it by which it was known: `ethanol` of `ethanol, absolute`.
    pub name: &'a str,
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

    /// Whether a method may bring them together all the same, in small portions and under control.
    pub fn is_for_a_method(&self) -> bool {
        self.row.is("method")
    }

    /// What happens, as half a sentence.
    pub fn reason(&self) -> &'a str {
        self.row.text("reason")
    }
}

impl<'a> Material<'a> {
    /// Whether it is of this kind.
    pub fn is(&self, kind: &str) -> bool {
        self.kinds.contains(&kind)
    }

    /// All that it is.
    pub fn kinds(&self) -> &[&'a str] {
        &self.kinds
    }

    /// What the row that is known as `name` says of it, in the strength that `text` names.
    fn new(written: &'a str, name: &'a str, row: Record<'a>, text: &str) -> Self {
        let mut kinds = kinds(row);
        if !row.text("concentrated").is_empty() && is_concentrated(text) {
            kinds.extend(row.list("concentrated"));
        }
        Material {
            written,
            name,
            kinds,
        }
    }
}

/// What `written` is, as in `hydrochloric acid 3 M`; None where no table knows it.
pub fn known<'a>(library: &'a Library, written: &'a str) -> Option<Material<'a>> {
    let exactly = |table: &&str| library.table(table)?.find(written);
    let known = TABLES.iter().find_map(exactly).map(|row| (row, written));
    let (row, name) = known.or_else(|| longest_in(library, written))?;
    Some(Material::new(written, name, row, written))
}

/// All materials and substances that a text names.
pub fn named_in<'a>(library: &'a Library, text: &str) -> Vec<Material<'a>> {
    let rows = TABLES.iter().flat_map(|table| library.rows(table));
    rows.filter_map(|row| {
        let written = names(row).find(|name| stands_in(text, name))?;
        Some(Material::new(written, written, row, text))
    })
    .collect()
}

/// The tables that say what a material is; the first one that knows it is believed.
const TABLES: [&str; 2] = ["materials", "substances"];

/// The names of a row that count inside a longer text. Sodium does not: sodium chloride is none.
fn names(row: Record<'_>) -> impl Iterator<Item = &str> {
    let names = std::iter::once(row.name()).chain(row.list("aliases"));
    names.filter(move |_| !row.is("alone"))
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

/// Refuses what must not meet among `names`, which a calculator brings together, and asks for care
/// where that is enough. Names that no table knows are passed over.
///
/// # Errors
/// The first pair that must never meet, with its reason, blamed on `input`.
pub fn bring_together(
    library: &Library,
    names: &[&str],
    input: &str,
    outcome: &mut Outcome,
) -> Result<(), Problem> {
    let materials: Vec<Material<'_>> = names
        .iter()
        .filter_map(|name| known(library, name))
        .collect();
    for pair in meetings(library, &materials) {
        if pair.is_danger() {
            return Err(Problem::new(input, "danger: {} and {} must never meet: {}")
                .text(pair.first)
                .text(pair.second)
                .text(pair.reason()));
        }
        outcome
            .care("{} and {}: {}.")
            .text(pair.first)
            .text(pair.second)
            .text(pair.reason());
    }
    Ok(())
}

/// What the material of a row is: as the row says, else by its class.
fn kinds(row: Record<'_>) -> Vec<&str> {
    let mut kinds: Vec<&str> = row.list("kinds").collect();
    if kinds.is_empty() {
        kinds = kinds_of_class(row.text("class"));
    }
    if row.is("peroxide_former") {
        kinds.push("peroxide former");
    }
    kinds
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

/// Whether a text names a strength from which an acid counts as concentrated: by a word, or as
/// `98 %` or `18 M`.
fn is_concentrated(text: &str) -> bool {
    let [percent, molar] = CONCENTRATED;
    let strong = |word: &str| {
        digits::lead(word)
            .ok()
            .flatten()
            .is_some_and(|(number, unit)| {
                let unit = unit.trim_start();
                unit.starts_with('%') && number >= percent
                    || unit.starts_with('M') && number >= molar
            })
    };
    let mut words = text.char_indices().filter(|(at, c)| {
        let before = text.as_bytes().get(at.wrapping_sub(1));
        c.is_ascii_digit()
            && !before.is_some_and(|b| b.is_ascii_alphanumeric() || b".,".contains(b))
    });
    holds(text, "conc") || words.any(|(at, _)| strong(&text[at..]))
}

/// The material or substance with the longest name that stands in `written`, and that name.
fn longest_in<'a>(library: &'a Library, written: &str) -> Option<(Record<'a>, &'a str)> {
    let mut longest = None;
    let mut length = 0;
    for row in TABLES.iter().flat_map(|table| library.rows(table)) {
        for name in names(row) {
            if name.len() > length && stands_in(written, name) {
                (longest, length) = (Some((row, name)), name.len());
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
    fn reads_how_strong_an_acid_is() {
        for strong in [
            "sulfuric acid (conc.)",
            "concentrated X",
            "98 % X",
            "X, 96%",
            "18 M X",
            "X 12.5 M",
        ] {
            assert!(is_concentrated(strong), "{strong}");
        }
        for weak in [
            "X",
            "X 1 M",
            "10 % X",
            "X 3.98 %",
            "2-propanol",
            "X 0.5 M, 3 mL",
        ] {
            assert!(!is_concentrated(weak), "{weak}");
        }
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
