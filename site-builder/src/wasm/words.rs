//! Part of stage 9: what only one calculator says travels apart.
//!
//! Most of the core's data are sentences, labels and tables of single calculators. A page should
//! not download those of calculators that it does not use; the calculators should stay one file
//! each, with every sentence where it is used. So they are told apart in the linked module: what
//! can be reached from outside without a step into the description of a calculator is the core's,
//! and what can be reached from there alone is that calculator's words.
//!
//! Addresses do not change, so the code stays as it is: the page puts the words where the linker
//! wanted them before it asks anything. Until then there are zeros; the name in a description is
//! then empty, and the calculator is not found.

use super::mentions::{Mentions, Node, Piece};
use std::collections::{BTreeMap, BTreeSet};

/// Pieces are joined over gaps of so many bytes; a piece of its own costs as many.
const GAP: u32 = 8;

/// What one calculator of so many says stays in the core: a page that uses several would fetch it
/// with the words of each.
const COMMON: usize = 4;

/// How the name of a description ends; what follows differs from build to build. Both ways in
/// which the compiler writes names put the length before each part.
const DESCRIPTION: &str = "10CALCULATOR";

/// The data of a module, parted.
#[derive(Debug)]
pub struct Parted {
    /// What stays.
    pub core: Vec<Piece>,
    /// The words of each calculator, packed.
    pub words: BTreeMap<String, Vec<u8>>,
    /// Everything that anyone can ask for.
    pub used: BTreeSet<Node>,
}

/// Parts the data of the module between the core and its `calculators`; what only the `silent`
/// ask for is left out.
///
/// # Errors
/// A calculator is not where its name says, or the module has more of them.
pub fn part(
    mentions: &Mentions<'_>,
    silent: &BTreeSet<Node>,
    calculators: &[&str],
) -> Result<Parted, String> {
    let mut descriptions = BTreeSet::new();
    let mut said = BTreeMap::new();
    for name in calculators {
        let node = description(mentions, name)?;
        descriptions.insert(node);
        // Through the core too: a calculator that looks another up in the list needs what that
        // one says.
        said.insert(*name, mentions.reach([node], silent));
    }
    let all = described(mentions, DESCRIPTION);
    if let Some(strangers @ 1..) = all.len().checked_sub(descriptions.len()) {
        return Err(format!(
            "the builder does not know {strangers} of its calculators"
        ));
    }
    let mut core = mentions.core(&(&descriptions | silent));
    let mut sayers: BTreeMap<Node, usize> = BTreeMap::new();
    for node in said.values().flatten() {
        *sayers.entry(*node).or_default() += 1;
    }
    let common = |(node, sayers): &(&Node, &usize)| {
        **sayers * COMMON >= said.len() && !descriptions.contains(node)
    };
    core.extend(sayers.iter().filter(common).map(|(node, _)| *node));

    let words = said.iter().map(|(name, said)| {
        let pieces = mentions.pieces(&(said - &core), GAP, true);
        ((*name).to_owned(), packed(&pieces))
    });
    Ok(Parted {
        words: words.collect(),
        used: said.values().fold(core.clone(), |all, said| &all | said),
        core: mentions.pieces(&core, GAP, false),
    })
}

/// The description of a calculator: the static `CALCULATOR` of the file that bears its name.
fn description(mentions: &Mentions<'_>, calculator: &str) -> Result<Node, String> {
    let file = calculator.replace('-', "_");
    let found = described(mentions, &format!("{}{file}{DESCRIPTION}", file.len()));
    match found[..] {
        [node] => Ok(node),
        _ => Err(format!(
            "the calculator `{calculator}` has no static `CALCULATOR` in `calculators/{file}.rs`"
        )),
    }
}

/// Data whose name has `part` in it.
fn described(mentions: &Mentions<'_>, part: &str) -> Vec<Node> {
    let named = mentions.named(|name| name.contains(part));
    let is_data = |node: &Node| matches!(node, Node::Data(_));
    named.into_iter().filter(is_data).collect()
}

/// Pieces as they travel: of each its address and its length, four bytes each with the least
/// first, then its bytes.
pub fn packed(pieces: &[Piece]) -> Vec<u8> {
    let mut packed = Vec::new();
    for piece in pieces {
        packed.extend(piece.address.to_le_bytes());
        packed.extend((piece.bytes.len() as u32).to_le_bytes());
        packed.extend(&piece.bytes);
    }
    packed
}

#[cfg(test)]
mod tests {
    use super::super::mentions::tiny::{Data, Part, module};
    use super::*;

    const NAMES: [&str; 9] = ["a", "b", "c", "d", "e", "f", "g", "h", "i"];

    /// Nine calculators. Each has a description, which mentions its function; the functions
    /// mention a sentence each, all but the first four one more, and the first two another. The
    /// core mentions the list of all descriptions.
    fn nine() -> Vec<u8> {
        let piece = |name: String, address: usize, parts| Data {
            name,
            address: address as u32,
            parts,
        };
        let sentence = |name: &str, at| piece(name.into(), at, vec![Part::Bytes(name.into())]);
        let mut data = vec![
            piece("list".into(), 1000, (4..13).map(Part::Address).collect()),
            sentence("core", 1040),
            sentence("two say", 1050),
            sentence("five say", 1060),
        ];
        data.extend(NAMES.iter().enumerate().map(|(at, name)| {
            let name = format!("calculators1{name}10CALCULATOR");
            piece(name, 1100 + 4 * at, vec![Part::Function(at + 1)])
        }));
        let own = |(at, name): (usize, &&str)| sentence(name, 1200 + 20 * at);
        data.extend(NAMES.iter().enumerate().map(own));
        let mut functions = vec![vec![0, 1]];
        functions.extend((0..9).map(|at| {
            let own = [13 + at].into_iter();
            let own = own.chain((at < 2).then_some(2));
            own.chain((at > 3).then_some(3)).collect()
        }));
        module(&data, &functions)
    }

    fn parted(calculators: &[&str]) -> Result<Parted, String> {
        let module = nine();
        let mentions = Mentions::read(&module, &BTreeSet::new()).expect("the linker's notes");
        part(&mentions, &BTreeSet::new(), calculators)
    }

    fn piece(address: u32, bytes: &[u8]) -> Piece {
        let bytes = bytes.to_vec();
        Piece { address, bytes }
    }

    #[test]
    fn parts_what_single_calculators_say_from_the_core() {
        let parted = parted(&NAMES).expect("parted");
        // The list stands next to the core's own; nothing of a description is among it.
        let kept: Vec<u32> = parted.core.iter().map(|piece| piece.address).collect();
        assert_eq!(kept, [1000, 1060]);
        assert!(parted.core[0].bytes.ends_with(b"core"));
        assert_eq!(parted.core[1], piece(1060, b"five say"));
        // What only two say travels with both.
        let said = |description: u32, own: u32, name: &[u8], function: u32| {
            let description = piece(description, &function.to_le_bytes());
            packed(&[piece(1050, b"two say"), description, piece(own, name)])
        };
        assert_eq!(parted.words["a"], said(1100, 1200, b"a", 1));
        assert_eq!(parted.words["b"], said(1104, 1220, b"b", 2));
        let fifth = [piece(1116, &5u32.to_le_bytes()), piece(1280, b"e")];
        assert_eq!(parted.words["e"], packed(&fifth));
    }

    #[test]
    fn misses_a_calculator_that_is_not_there() {
        let found = parted(&["a", "no-such"]).expect_err("a fault");
        assert!(found.contains("calculators/no_such.rs"), "{found}");
    }

    #[test]
    fn counts_the_calculators_that_it_was_not_asked_for() {
        let found = parted(&NAMES[..7]).expect_err("a fault");
        assert!(found.contains("does not know 2 of its"), "{found}");
    }

    #[test]
    fn joins_neighbours_over_padding_only() {
        let module = nine();
        let mentions = Mentions::read(&module, &BTreeSet::new()).expect("the linker's notes");
        // Numbers 4, 5 and 6 stand next to each other; without 5, its place must not be written.
        let pieces = |numbers: &[u32], padding| {
            let nodes = numbers.iter().map(|at| Node::Data(*at)).collect();
            mentions.pieces(&nodes, GAP, padding).len()
        };
        assert_eq!(pieces(&[4, 5, 6], true), 1);
        assert_eq!(pieces(&[4, 6], true), 2);
        assert_eq!(pieces(&[4, 6], false), 1);
        assert_eq!(pieces(&[1, 2], true), 1);
    }
}
