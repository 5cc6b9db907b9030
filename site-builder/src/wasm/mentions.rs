//! Part of stage 9: who mentions whom in the linked core.
//!
//! The linker is asked for its notes (`--emit-relocs`): wherever an address or a function's number
//! stands in the module, a note says whose it is. It is asked, too, to keep pieces of data apart
//! (`--no-merge-data-segments`). Together they are an exact picture of what needs what.
//! <https://github.com/WebAssembly/tool-conventions/blob/main/Linking.md> describes them.

use std::collections::{BTreeMap, BTreeSet};
use wasmparser::{
    BinaryReader, DataKind, ExternalKind, Linking, LinkingSectionReader, Operator, Parser, Payload,
    RelocSectionReader, RelocationEntry, RelocationType, SymbolFlags, SymbolInfo, TypeRef,
};

/// A function or a piece of data, by its place in the module.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Node {
    /// A function; those from outside are counted first.
    Function(u32),
    /// A piece of data.
    Data(u32),
}

/// A run of bytes and where in memory it belongs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Piece {
    /// The address of its first byte.
    pub address: u32,
    /// What stands there.
    pub bytes: Vec<u8>,
}

/// Who mentions whom in a linked module.
#[derive(Debug, Default)]
pub struct Mentions<'m> {
    /// Address and content of each piece of data, in the order of addresses. Memory that begins
    /// as zeros has a number after these and no content.
    data: Vec<(u32, &'m [u8])>,
    /// The names that the linker knows.
    names: BTreeMap<Node, &'m str>,
    exported: Vec<Node>,
    edges: BTreeMap<Node, BTreeSet<Node>>,
}

impl<'m> Mentions<'m> {
    /// Reads the linker's notes in `module`, without those on instructions that are `gone`; these
    /// are known by where in the file they stand.
    ///
    /// # Errors
    /// The module has none, or they do not fit what stands in it.
    pub fn read(module: &'m [u8], gone: &BTreeSet<u32>) -> Result<Self, String> {
        let mut found = Self::default();
        let mut notes = Notes {
            module,
            ..Notes::default()
        };
        let fault = |error: wasmparser::BinaryReaderError| error.to_string();
        for payload in Parser::new(0).parse_all(module) {
            match payload.map_err(fault)? {
                Payload::ImportSection(imports) => {
                    for import in imports.into_imports() {
                        let is_function = matches!(import.map_err(fault)?.ty, TypeRef::Func(_));
                        notes.imported += u32::from(is_function);
                    }
                }
                Payload::ExportSection(exports) => {
                    for export in exports {
                        let export = export.map_err(fault)?;
                        if export.kind == ExternalKind::Func {
                            found.exported.push(Node::Function(export.index));
                        }
                    }
                }
                Payload::StartSection { func, .. } => found.exported.push(Node::Function(func)),
                Payload::CodeSectionStart { range, .. } => notes.code = range.start,
                Payload::CodeSectionEntry(body) => notes.functions.push(body.range().start),
                Payload::DataSection(data) => {
                    notes.data = data.range().start;
                    for piece in data {
                        let piece = piece.map_err(fault)?;
                        let address = address(&piece.kind).ok_or("data without an address")?;
                        notes.pieces.push(piece.range.end - piece.data.len());
                        found.data.push((address, piece.data));
                    }
                }
                Payload::CustomSection(section) => match section.name() {
                    "linking" => {
                        let reader = BinaryReader::new(section.data(), section.data_offset());
                        for part in LinkingSectionReader::new(reader).map_err(fault)? {
                            if let Linking::SymbolTable(table) = part.map_err(fault)? {
                                let symbols: Result<_, _> = table.into_iter().collect();
                                notes.symbols = symbols.map_err(fault)?;
                            }
                        }
                    }
                    name @ ("reloc.CODE" | "reloc.DATA") => {
                        let reader = BinaryReader::new(section.data(), section.data_offset());
                        let reader = RelocSectionReader::new(reader).map_err(fault)?;
                        for entry in reader.entries() {
                            let entry = entry.map_err(fault)?;
                            notes.entries.push((name == "reloc.CODE", entry));
                        }
                    }
                    _ => {}
                },
                _ => {}
            }
        }
        if notes.entries.is_empty() {
            return Err("the linker left no notes of what mentions what".into());
        }
        let follows =
            |one: &(u32, &[u8]), next: &(u32, &[u8])| one.0 + one.1.len() as u32 <= next.0;
        if !found.data.is_sorted_by(follows) {
            return Err("data that is out of the order of addresses, or overlaps".into());
        }
        for symbol in &notes.symbols {
            if let (Some(node), Some(name)) = (node(symbol), name(symbol)) {
                // Functions of one body may share it; the first name is as good as the others.
                found.names.entry(node).or_insert(name);
            }
        }
        for (in_code, entry) in &notes.entries {
            // An address stands behind the one byte of its instruction.
            let instruction = (notes.code + entry.offset as usize).saturating_sub(1);
            if *in_code && gone.contains(&(instruction as u32)) {
                continue;
            }
            if let Some((from, to)) = notes.edge(*in_code, entry, &found.data)? {
                found.edges.entry(from).or_default().insert(to);
            }
        }
        Ok(found)
    }

    /// The functions and pieces whose names `is_wanted`.
    pub fn named(&self, is_wanted: impl Fn(&str) -> bool) -> BTreeSet<Node> {
        let named = self.names.iter().filter(|(_, name)| is_wanted(name));
        named.map(|(node, _)| *node).collect()
    }

    /// The places in source files that panics name: a file's name by address and length, line and
    /// column, and nothing else.
    pub fn places(&self) -> BTreeSet<Node> {
        let content = |node: &Node| match node {
            Node::Data(at) => self.data.get(*at as usize).copied(),
            Node::Function(_) => None,
        };
        let is_place = |from: &Node, to: &BTreeSet<Node>| {
            let named = to.first().filter(|_| to.len() == 1).and_then(content);
            let (Some((_, place)), Some((address, name))) = (content(from), named) else {
                return false;
            };
            // A zero may stand behind the name.
            let name = name.strip_suffix(b"\0").unwrap_or(name);
            let starts = [address.to_le_bytes(), (name.len() as u32).to_le_bytes()].concat();
            place.len() == 16 && place.starts_with(&starts) && name.ends_with(b".rs")
        };
        let places = self.edges.iter().filter(|(from, to)| is_place(from, to));
        places.map(|(from, _)| *from).collect()
    }

    /// What can be reached from outside without a step into `closed`.
    pub fn core(&self, closed: &BTreeSet<Node>) -> BTreeSet<Node> {
        self.reach(self.exported.iter().copied(), closed)
    }

    /// What can be reached from `roots`, themselves included, without a step into `closed`.
    pub fn reach(
        &self,
        roots: impl IntoIterator<Item = Node>,
        closed: &BTreeSet<Node>,
    ) -> BTreeSet<Node> {
        let mut reached = BTreeSet::new();
        let mut open: Vec<Node> = roots.into_iter().collect();
        while let Some(node) = open.pop() {
            if !closed.contains(&node) && reached.insert(node) {
                open.extend(self.edges.get(&node).into_iter().flatten());
            }
        }
        reached
    }

    /// The data among `nodes`, joined where no more than `gap` bytes lie between and, where
    /// `padding` is asked for, nothing else's data does. What lies between becomes zeros.
    pub fn pieces(&self, nodes: &BTreeSet<Node>, gap: u32, padding: bool) -> Vec<Piece> {
        let mut pieces: Vec<Piece> = Vec::new();
        let mut before = None;
        for node in nodes {
            let Node::Data(at) = *node else { continue };
            let Some(&(address, bytes)) = self.data.get(at as usize) else {
                continue;
            };
            let follows = !padding || before.is_some_and(|before: u32| before + 1 == at);
            before = Some(at);
            match pieces.last_mut() {
                Some(last) if follows && address - last.end() <= gap => {
                    last.bytes.resize((address - last.address) as usize, 0);
                    last.bytes.extend(bytes);
                }
                _ => pieces.push(Piece {
                    address,
                    bytes: bytes.to_vec(),
                }),
            }
        }
        pieces
    }
}

impl Piece {
    fn end(&self) -> u32 {
        self.address + self.bytes.len() as u32
    }
}

/// What is gathered on the way through the module. Places count from the start of the file.
#[derive(Default)]
struct Notes<'m> {
    module: &'m [u8],
    imported: u32,
    /// Where the code begins, and each of its functions.
    code: usize,
    functions: Vec<usize>,
    /// Where the data begins, and the content of each piece.
    data: usize,
    pieces: Vec<usize>,
    symbols: Vec<SymbolInfo<'m>>,
    /// The notes, with whether they are about code.
    entries: Vec<(bool, RelocationEntry)>,
}

impl Notes<'_> {
    /// Who mentions whom by one of the linker's notes; nothing where it is about a type, a
    /// global or the like.
    fn edge(
        &self,
        in_code: bool,
        entry: &RelocationEntry,
        data: &[(u32, &[u8])],
    ) -> Result<Option<(Node, Node)>, String> {
        use RelocationType::{
            FunctionIndexLeb, GlobalIndexLeb, MemoryAddrI32, MemoryAddrLeb, MemoryAddrSleb,
            TableIndexI32, TableIndexSleb, TableNumberLeb, TypeIndexLeb,
        };
        let misfit = || format!("the linker's note at {} does not fit", entry.offset);
        let (section, parts) = match in_code {
            true => (self.code, &self.functions),
            false => (self.data, &self.pieces),
        };
        let place = section + entry.offset as usize;
        let part = parts.partition_point(|start| *start <= place);
        let part = part.checked_sub(1).ok_or_else(misfit)? as u32;
        let from = match in_code {
            true => Node::Function(self.imported + part),
            false => Node::Data(part),
        };
        if matches!(entry.ty, TypeIndexLeb | GlobalIndexLeb | TableNumberLeb) {
            return Ok(None);
        }
        let symbol = self.symbols.get(entry.index as usize).ok_or_else(misfit)?;
        // The linker's own places, such as the end of all data, belong to nobody.
        let Some(to) = node(symbol) else {
            return Ok(None);
        };
        // What stands there must be what the note says; else a note was misread.
        let mut written = BinaryReader::new(&self.module[place..], place);
        let written = match entry.ty {
            FunctionIndexLeb | MemoryAddrLeb => written.read_var_u32(),
            MemoryAddrSleb | TableIndexSleb => written.read_var_i32().map(i32::cast_unsigned),
            MemoryAddrI32 | TableIndexI32 => written.read_u32(),
            _ => {
                return Err(format!(
                    "a note of the linker's of an unknown kind, {:?}",
                    entry.ty
                ));
            }
        };
        let written = written.map_err(|error| error.to_string())?;
        let fits = match (entry.ty, symbol) {
            (FunctionIndexLeb, SymbolInfo::Func { index, .. }) => written == *index,
            // The table of functions has an order of its own.
            (TableIndexSleb | TableIndexI32, SymbolInfo::Func { .. }) => true,
            (
                MemoryAddrLeb | MemoryAddrSleb | MemoryAddrI32,
                SymbolInfo::Data {
                    symbol: Some(symbol),
                    ..
                },
            ) => data.get(symbol.index as usize).is_none_or(|(address, _)| {
                let named = i64::from(*address) + i64::from(symbol.offset) + entry.addend;
                named == i64::from(written)
            }),
            _ => false,
        };
        if fits {
            Ok(Some((from, to)))
        } else {
            Err(misfit())
        }
    }
}

fn node(symbol: &SymbolInfo<'_>) -> Option<Node> {
    match symbol {
        SymbolInfo::Func { index, .. } => Some(Node::Function(*index)),
        SymbolInfo::Data {
            flags,
            symbol: Some(symbol),
            ..
        } if !flags.contains(SymbolFlags::ABSOLUTE) => Some(Node::Data(symbol.index)),
        _ => None,
    }
}

fn name<'m>(symbol: &SymbolInfo<'m>) -> Option<&'m str> {
    match symbol {
        SymbolInfo::Func { name, .. } => *name,
        SymbolInfo::Data { name, .. } => Some(name),
        _ => None,
    }
}

fn address(kind: &DataKind<'_>) -> Option<u32> {
    let DataKind::Active { offset_expr, .. } = kind else {
        return None;
    };
    match offset_expr.get_operators_reader().read() {
        Ok(Operator::I32Const { value }) => Some(value.cast_unsigned()),
        _ => None,
    }
}

/// Modules small enough to see through, as a linker would leave them.
#[cfg(test)]
pub mod tiny {
    /// What stands in a piece of data.
    pub enum Part {
        /// Bytes as they are.
        Bytes(Vec<u8>),
        /// The address of a piece, by its number.
        Address(usize),
        /// A function, by its number.
        Function(usize),
    }

    /// A piece of data.
    pub struct Data {
        pub name: String,
        pub address: u32,
        pub parts: Vec<Part>,
    }

    impl Data {
        fn size(&self) -> usize {
            let size = |part: &Part| match part {
                Part::Bytes(bytes) => bytes.len(),
                Part::Address(_) | Part::Function(_) => 4,
            };
            self.parts.iter().map(size).sum()
        }
    }

    /// The module with these pieces of data, and functions that mention pieces by their numbers.
    /// The first function is exported, and all stand in the table.
    pub fn module(data: &[Data], functions: &[Vec<usize>]) -> Vec<u8> {
        let count = functions.len();
        let mut notes = Vec::new();
        let mut code = leb(count);
        for mentioned in functions {
            // For each a constant, which is dropped; then the end.
            code.extend([leb(2 + 7 * mentioned.len()), vec![0]].concat());
            for piece in mentioned {
                code.push(0x41);
                notes.push([vec![4], leb(code.len()), leb(*piece), vec![0]].concat());
                code.extend([long(data[*piece].address as usize), vec![0x1a]].concat());
            }
            code.push(0x0b);
        }
        let in_code = [leb(5), leb(notes.len()), notes.concat()].concat();

        let mut notes = Vec::new();
        let mut pieces = leb(data.len());
        for piece in data {
            let address = long(piece.address as usize);
            pieces.extend([vec![0, 0x41], address, vec![0x0b], leb(piece.size())].concat());
            for part in &piece.parts {
                let place = leb(pieces.len());
                match part {
                    Part::Bytes(bytes) => pieces.extend(bytes),
                    Part::Address(of) => {
                        notes.push([vec![5], place, leb(*of), vec![0]].concat());
                        pieces.extend(data[*of].address.to_le_bytes());
                    }
                    Part::Function(at) => {
                        notes.push([vec![2], place, leb(data.len() + at)].concat());
                        pieces.extend((*at as u32).to_le_bytes());
                    }
                }
            }
        }
        let in_data = [leb(6), leb(notes.len()), notes.concat()].concat();

        let of_data = data.iter().enumerate().map(|(at, piece)| {
            let place = [leb(at), leb(0), leb(piece.size())].concat();
            [vec![1, 0], text(&piece.name), place].concat()
        });
        let of_functions = (0..count).map(|at| [vec![0, 0], leb(at), text("f")].concat());
        let symbols: Vec<u8> = of_data.chain(of_functions).flatten().collect();
        let symbols = sized([leb(data.len() + count), symbols].concat());

        let all: Vec<u8> = (0..count).flat_map(leb).collect();
        [
            b"\0asm\x01\0\0\0".to_vec(),
            section(1, vec![1, 0x60, 0, 0]),
            section(3, [leb(count), vec![0; count]].concat()),
            section(4, [vec![1, 0x70, 0], leb(count)].concat()),
            section(5, vec![1, 0, 1]),
            section(7, [vec![1], text("run"), vec![0, 0]].concat()),
            section(9, [vec![1, 0, 0x41, 0, 0x0b], leb(count), all].concat()),
            section(10, code),
            section(11, pieces),
            section(0, [text("linking"), vec![2, 8], symbols].concat()),
            section(0, [text("reloc.CODE"), in_code].concat()),
            section(0, [text("reloc.DATA"), in_data].concat()),
        ]
        .concat()
    }

    fn section(kind: u8, content: Vec<u8>) -> Vec<u8> {
        [vec![kind], sized(content)].concat()
    }

    fn text(text: &str) -> Vec<u8> {
        sized(text.into())
    }

    fn sized(content: Vec<u8>) -> Vec<u8> {
        [leb(content.len()), content].concat()
    }

    /// A number in as few bytes as it needs.
    fn leb(number: usize) -> Vec<u8> {
        let mut bytes = long(number);
        while let [.., last, 0] = bytes[..] {
            bytes.pop();
            *bytes.last_mut().expect("one at least") = last & 0x7f;
        }
        bytes
    }

    /// A number in five bytes, as linkers leave room for.
    fn long(number: usize) -> Vec<u8> {
        let part = |at: usize| ((number >> (7 * at)) & 0x7f) as u8 | if at < 4 { 0x80 } else { 0 };
        (0..5).map(part).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::tiny::{Data, Part, module};
    use super::*;

    /// A function that mentions a piece, which mentions another.
    fn chain() -> Vec<u8> {
        let piece = |name: &str, address, parts| Data {
            name: name.into(),
            address,
            parts,
        };
        let first = piece("first", 1000, vec![Part::Bytes(b"first".into())]);
        module(
            &[first, piece("second", 1010, vec![Part::Address(0)])],
            &[vec![1]],
        )
    }

    fn core(module: &[u8], gone: &BTreeSet<u32>) -> Result<Vec<Node>, String> {
        let mentions = Mentions::read(module, gone)?;
        Ok(mentions.core(&BTreeSet::new()).into_iter().collect())
    }

    /// Where the constant 1010 stands.
    fn constant(module: &[u8]) -> usize {
        let code = [0x41, 0xf2, 0x87, 0x80, 0x80, 0x00];
        let mut windows = module.windows(code.len());
        windows.position(|window| window == code).expect("1010")
    }

    #[test]
    fn walks_from_code_to_data_to_data() {
        let all = [Node::Function(0), Node::Data(0), Node::Data(1)];
        assert_eq!(core(&chain(), &BTreeSet::new()), Ok(all.to_vec()));
    }

    #[test]
    fn leaves_out_what_instructions_mention_that_are_gone() {
        let gone = BTreeSet::from([constant(&chain()) as u32]);
        assert_eq!(core(&chain(), &gone), Ok(vec![Node::Function(0)]));
    }

    #[test]
    fn refuses_notes_that_do_not_fit_the_module() {
        let mut spoilt = chain();
        let at = constant(&spoilt);
        spoilt[at + 1] += 1;
        let found = core(&spoilt, &BTreeSet::new());
        assert!(found.is_err_and(|why| why.contains("does not fit")));
        let bare = module(&[], &[Vec::new()]);
        let found = core(&bare, &BTreeSet::new());
        assert!(found.is_err_and(|why| why.contains("no notes")));
    }

    #[test]
    fn refuses_data_that_overlaps() {
        let piece = |address| Data {
            name: "piece".into(),
            address,
            parts: vec![Part::Bytes(b"four".into())],
        };
        let found = core(
            &module(&[piece(1000), piece(1003)], &[vec![0, 1]]),
            &BTreeSet::new(),
        );
        assert!(found.is_err_and(|why| why.contains("overlaps")));
    }

    #[test]
    fn knows_the_places_that_panics_name() {
        let places = |name: &[u8], length: u32| {
            let rest = [length, 12, 7].map(u32::to_le_bytes).concat();
            let name = Data {
                name: "name".into(),
                address: 1000,
                parts: vec![Part::Bytes(name.into())],
            };
            let place = Data {
                name: "place".into(),
                address: 1020,
                parts: vec![Part::Address(0), Part::Bytes(rest)],
            };
            let module = module(&[name, place], &[vec![1]]);
            let mentions = Mentions::read(&module, &BTreeSet::new()).expect("the linker's notes");
            mentions.places().len()
        };
        assert_eq!(places(b"src/a.rs", 8), 1);
        assert_eq!(places(b"src/a.rs\0", 8), 1);
        assert_eq!(places(b"src/a.rs", 5), 0);
        assert_eq!(places(b"sentence", 8), 0);
    }
}
