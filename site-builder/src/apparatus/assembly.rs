//! An `apparatus` block read into parts, joins, hoses, water and clamps.
//!
//! ```toml
//! title = "Simple distillation"
//!
//! [parts]                                   # our own short word = the catalogue's name
//! bath  = "oil bath"
//! flask = { part = "flask 250 mL 24/29", holds = "120 mL of toluene" }
//! head  = "still head 24/29"
//!
//! [set-up]
//! stand  = ["bath", "flask", "head"]        # each on or in the one before; several stands: a list of lists
//! joins  = ["head.side to condenser to adapter to receiver"]
//! hoses  = ["adapter.vacuum to trap to pump"]   # in the direction the gas goes
//! water  = ["condenser.lower to condenser.upper"]
//! clamps = ["flask", "condenser", "receiver by clip"]
//! open   = ["adapter.vent"]                 # openings that are meant to be open
//! ```
//!
//! `head.side` is the opening `side` of the part `head`; where the opening is left out, the first
//! free one that fits is taken.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::catalogue::Catalogue;
use super::part::{Fit, Joint, Misfit, Part};
use super::{Flaw, checks, layout, nearest};

/// A part in its place in an assembly.
#[derive(Debug, Clone)]
pub(crate) struct Item {
    /// The author's short word.
    pub alias: String,
    pub part: Part,
    /// Layers of liquid from the bottom up: mL and what it is.
    pub holds: Vec<(f64, String)>,
    /// How deep a rod reaches below its gland, mm, if the author says so.
    pub depth: Option<f64>,
    pub mirror: bool,
    pub height: Option<f64>,
    pub lift: Option<f64>,
    pub span: Range<usize>,
}

/// An opening of a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct End {
    pub item: usize,
    pub port: usize,
}

/// Two parts joined rigidly, one standing on the other, or a tip over a mouth.
#[derive(Debug, Clone)]
pub(crate) struct Join {
    pub a: End,
    pub b: End,
    pub span: Range<usize>,
}

/// One end of a hose.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum HoseEnd {
    At(End),
    /// Something outside the drawing, one of [`OUTSIDE`].
    Outside(&'static str),
}

/// A hose, in the direction the gas goes.
#[derive(Debug, Clone)]
pub(crate) struct Hose {
    pub from: HoseEnd,
    pub to: HoseEnd,
}

/// What a hose may lead to outside the drawing, and whether gas can escape there.
pub(crate) const OUTSIDE: &[(&str, bool)] = &[
    ("nitrogen", false),
    ("compressed-air", false),
    ("hood", true),
];

/// How something is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Hold {
    Clamp,
    Ring,
    Clip,
}

#[derive(Debug, Clone)]
pub(crate) struct Clamp {
    pub item: usize,
    pub hold: Hold,
    pub right: bool,
    pub span: Range<usize>,
}

/// Water through one jacket.
#[derive(Debug, Clone)]
pub(crate) struct Pass {
    pub into: End,
    pub out: End,
    /// Whether the author named the nipples.
    pub named: bool,
    /// Whether the water comes from the jacket before.
    pub follows: bool,
    pub span: Range<usize>,
}

/// A checked and placed assembly.
#[derive(Debug, Clone)]
pub struct Assembly {
    pub(crate) title: String,
    pub(crate) summary: String,
    pub(crate) items: Vec<Item>,
    pub(crate) stands: Vec<Vec<usize>>,
    pub(crate) joins: Vec<Join>,
    pub(crate) hoses: Vec<Hose>,
    pub(crate) water: Vec<Pass>,
    pub(crate) clamps: Vec<Clamp>,
    pub(crate) open: Vec<End>,
    pub(crate) left: Vec<usize>,
    pub(crate) places: Vec<layout::Place>,
    /// Height y of a second bench below the first, if the drawing needs one.
    pub(crate) lower_bench: Option<f64>,
    pub(crate) whole: Range<usize>,
}

/// Read, place and check one block.
///
/// # Errors
/// Everything wrong at once: first what cannot be read, or, if all can be read, what a
/// demonstrator would not accept.
pub fn assemble(catalogue: &Catalogue, block_text: &str) -> Result<Assembly, Vec<Flaw>> {
    let mut assembly = read(catalogue, block_text)?;
    let mut flaws = layout::place(catalogue, &mut assembly);
    if flaws.is_empty() {
        flaws = checks::all(catalogue, &assembly);
    }
    if flaws.is_empty() {
        Ok(assembly)
    } else {
        Err(flaws)
    }
}

impl Assembly {
    /// The author's title.
    pub fn title(&self) -> &str {
        &self.title
    }

    pub(crate) fn port(&self, end: End) -> &super::part::Port {
        &self.items[end.item].part.ports[end.port]
    }

    /// Words for messages: "`head` (still head 24/29)".
    pub(crate) fn named(&self, item: usize) -> String {
        format!(
            "`{}` ({})",
            self.items[item].alias, self.items[item].part.name
        )
    }

    /// Words for messages: "`head.side` (socket 24/29)".
    pub(crate) fn end_named(&self, end: End) -> String {
        let port = self.port(end);
        format!(
            "`{}.{}` ({})",
            self.items[end.item].alias,
            port.name,
            port.joint.words()
        )
    }

    /// Joins and hoses at an opening.
    pub(crate) fn is_used(&self, end: End) -> bool {
        self.joins.iter().any(|join| join.a == end || join.b == end)
            || self
                .hoses
                .iter()
                .any(|hose| hose.from == HoseEnd::At(end) || hose.to == HoseEnd::At(end))
    }
}

struct Reader<'a> {
    catalogue: &'a Catalogue,
    text: &'a str,
    assembly: Assembly,
    flaws: Vec<Flaw>,
}

/// A part as an author names it, with its opening if that is named too.
type Named = (usize, Option<usize>);

/// A word of the block and where it stands.
#[derive(Debug, Clone)]
struct Word {
    text: String,
    span: Range<usize>,
}

fn read(catalogue: &Catalogue, text: &str) -> Result<Assembly, Vec<Flaw>> {
    let table = DeTable::parse(text).map_err(|why| {
        vec![Flaw::new(
            &why.span().unwrap_or(0..text.len()),
            why.message().trim().to_owned(),
            "put the block's TOML right",
        )]
    })?;
    let mut reader = Reader {
        catalogue,
        text,
        assembly: empty(text),
        flaws: Vec::new(),
    };
    reader.block(table.get_ref());
    if reader.flaws.is_empty() {
        Ok(reader.assembly)
    } else {
        Err(reader.flaws)
    }
}

fn empty(text: &str) -> Assembly {
    Assembly {
        title: String::new(),
        summary: String::new(),
        items: Vec::new(),
        stands: Vec::new(),
        joins: Vec::new(),
        hoses: Vec::new(),
        water: Vec::new(),
        clamps: Vec::new(),
        open: Vec::new(),
        left: Vec::new(),
        places: Vec::new(),
        lower_bench: None,
        // The first line of the block stands for the whole of it.
        whole: 0..text.find('\n').unwrap_or(text.len()),
    }
}

impl Reader<'_> {
    fn flaw(&mut self, span: &Range<usize>, message: impl Into<String>, mend: impl Into<String>) {
        self.flaws.push(Flaw::new(span, message, mend));
    }

    fn block(&mut self, table: &DeTable<'_>) {
        let mut set_up = None;
        let mut parts = None;
        for (key, value) in sorted(table) {
            match (key.get_ref().as_ref(), value.get_ref()) {
                ("title", DeValue::String(title)) => self.assembly.title = title.to_string(),
                ("summary", DeValue::String(summary)) => {
                    self.assembly.summary = summary.to_string()
                }
                ("parts", DeValue::Table(table)) => parts = Some(table),
                ("set-up", DeValue::Table(table)) => set_up = Some(table),
                (name @ ("title" | "summary"), _) => self.flaw(
                    &value.span(),
                    format!("`{name}` is not text"),
                    "write it between quotation marks",
                ),
                (name @ ("parts" | "set-up"), _) => self.flaw(
                    &value.span(),
                    format!("`{name}` is not a table"),
                    format!("write `[{name}]` on a line of its own"),
                ),
                (name, _) => {
                    let near =
                        nearest(name, ["title", "summary", "parts", "set-up"]).unwrap_or_default();
                    self.flaw(
                        &key.span(),
                        format!("an apparatus block has no `{name}`"),
                        format!("did you mean `{near}`?"),
                    );
                }
            }
        }
        let whole = self.assembly.whole.clone();
        if self.assembly.title.trim().is_empty() {
            self.flaw(
                &whole,
                "the apparatus has no title",
                "begin the block with `title = \"…\"`",
            );
        }
        match parts {
            Some(parts) => self.parts(parts),
            None => self.flaw(
                &whole,
                "the apparatus has no parts",
                "list them under `[parts]`, each as `flask = \"flask 250 mL 24/29\"`",
            ),
        }
        if self.flaws.is_empty() && self.assembly.items.is_empty() {
            self.flaw(
                &whole,
                "the apparatus has no parts",
                "list them under `[parts]`, each as `flask = \"flask 250 mL 24/29\"`",
            );
        }
        if let Some(set_up) = set_up
            && self.flaws.is_empty()
        {
            self.set_up(set_up);
        }
    }

    fn parts(&mut self, table: &DeTable<'_>) {
        for (key, value) in sorted(table) {
            let alias = key.get_ref().to_string();
            if alias.contains(['.', ' ']) {
                self.flaw(
                    &key.span(),
                    format!("`{alias}` cannot be a short word for a part"),
                    "use letters, figures and hyphens only",
                );
                continue;
            }
            match value.get_ref() {
                DeValue::String(name) => {
                    self.item(alias, name, value.span());
                }
                DeValue::Table(settings) => self.item_with(alias, settings, value.span()),
                _ => self.flaw(
                    &value.span(),
                    format!("`{alias}` is not the name of a part"),
                    "write the catalogue's name between quotation marks",
                ),
            }
        }
    }

    fn item(&mut self, alias: String, name: &str, span: Range<usize>) -> bool {
        let Some(part) = self.catalogue.find(name) else {
            let near = self.catalogue.nearest(name);
            self.flaw(
                &span,
                format!("there is no part `{name}`"),
                format!("did you mean `{near}`?"),
            );
            return false;
        };
        self.assembly.items.push(Item {
            alias,
            part: part.clone(),
            holds: Vec::new(),
            depth: None,
            mirror: false,
            height: None,
            lift: None,
            span,
        });
        true
    }

    fn item_with(&mut self, alias: String, settings: &DeTable<'_>, span: Range<usize>) {
        let name = settings
            .iter()
            .find(|(key, _)| key.get_ref() == "part")
            .map(|(_, value)| value);
        let Some(DeValue::String(name)) = name.map(Spanned::get_ref) else {
            self.flaw(
                &span,
                format!("`{alias}` does not say which part it is"),
                "add `part = \"…\"` with the catalogue's name",
            );
            return;
        };
        let name_span = settings
            .iter()
            .find(|(key, _)| key.get_ref() == "part")
            .map_or(span, |(_, value)| value.span());
        if !self.item(alias.clone(), name, name_span) {
            return;
        }
        let at = self.assembly.items.len() - 1;
        for (key, value) in sorted(settings) {
            let span = value.span();
            match key.get_ref().as_ref() {
                "part" => {}
                "holds" => self.holds(at, value),
                "mirror" => match value.get_ref() {
                    DeValue::Boolean(mirror) => self.assembly.items[at].mirror = *mirror,
                    _ => self.flaw(
                        &span,
                        "`mirror` is neither true nor false",
                        "write `mirror = true`",
                    ),
                },
                name @ ("depth" | "height" | "lift") => match millimetres(value.get_ref()) {
                    Some(number) if (0.0..=2000.0).contains(&number) => {
                        let item = &mut self.assembly.items[at];
                        match name {
                            "depth" => item.depth = Some(number),
                            "height" => item.height = Some(number),
                            _ => item.lift = Some(number),
                        }
                    }
                    Some(number) => self.flaw(
                        &span,
                        format!("`{name}` is {number} mm"),
                        "write a length between 0 and 2000 mm",
                    ),
                    None => self.flaw(
                        &span,
                        format!("`{name}` is not a length"),
                        format!("write for example `{name} = \"80 mm\"`"),
                    ),
                },
                other => {
                    let near = nearest(
                        other,
                        ["part", "holds", "depth", "height", "lift", "mirror"],
                    )
                    .unwrap_or_default();
                    self.flaw(
                        &key.span(),
                        format!("a part has no setting `{other}`"),
                        format!("did you mean `{near}`?"),
                    );
                }
            }
        }
    }

    fn holds(&mut self, at: usize, value: &Spanned<DeValue<'_>>) {
        let words = self.words(value);
        let named = self.assembly.named(at);
        let mut total = 0.0;
        for word in &words {
            let (amount, of) = word.text.split_once(" of ").unwrap_or((&word.text, ""));
            let Some(volume) = millilitres(amount) else {
                self.flaw(
                    &word.span,
                    format!("`{}` is not a volume", word.text),
                    "write for example `120 mL of toluene`",
                );
                continue;
            };
            total += volume;
            self.assembly.items[at]
                .holds
                .push((volume, of.trim().to_owned()));
        }
        let span = value.span();
        match &self.assembly.items[at].part.cavity {
            None => self.flaw(
                &span,
                format!("{named} does not hold liquid"),
                "leave `holds` out, or take a vessel",
            ),
            Some(cavity) => {
                let most = if self.assembly.items[at].part.volume > 0.0 {
                    self.assembly.items[at].part.volume
                } else {
                    cavity.volume()
                };
                if total > most {
                    self.flaw(
                        &span,
                        format!("{total} mL do not fit into {named}"),
                        format!("at most {most:.0} mL; take a larger one or less liquid"),
                    );
                }
            }
        }
    }

    /// A word, or a list of words, each with its place.
    fn words(&mut self, value: &Spanned<DeValue<'_>>) -> Vec<Word> {
        match value.get_ref() {
            DeValue::String(text) => vec![Word {
                text: text.to_string(),
                span: value.span(),
            }],
            DeValue::Array(list) => list.iter().flat_map(|entry| self.words(entry)).collect(),
            _ => {
                self.flaw(
                    &value.span(),
                    "a word is expected here",
                    "write it between quotation marks",
                );
                Vec::new()
            }
        }
    }

    /// The place of `part` inside a longer word.
    fn within(&self, word: &Word, part: &str) -> Range<usize> {
        match self.text[word.span.clone()].find(part) {
            Some(offset) => word.span.start + offset..word.span.start + offset + part.len(),
            None => word.span.clone(),
        }
    }

    fn set_up(&mut self, table: &DeTable<'_>) {
        const KEYS: [&str; 7] = ["stand", "joins", "hoses", "water", "clamps", "open", "left"];
        for (key, _) in sorted(table) {
            if !KEYS.contains(&key.get_ref().as_ref()) {
                let near = nearest(key.get_ref(), KEYS).unwrap_or_default();
                self.flaw(
                    &key.span(),
                    format!("a set-up has no `{}`", key.get_ref()),
                    format!("did you mean `{near}`?"),
                );
            }
        }
        let get = |name: &str| {
            table
                .iter()
                .find(|(key, _)| key.get_ref() == name)
                .map(|(_, value)| value)
        };
        // Openings named in full are taken first, so that an implied one never takes them away.
        if let Some(value) = get("open") {
            for word in self.words(value) {
                if let Some(end) = self.end(&word) {
                    self.assembly.open.push(end);
                }
            }
        }
        if let Some(value) = get("joins") {
            for word in self.words(value) {
                self.chain(&word, Self::join);
            }
        }
        if let Some(value) = get("stand") {
            self.stand(value);
        }
        if let Some(value) = get("hoses") {
            for word in self.words(value) {
                self.chain(&word, Self::hose);
            }
        }
        if let Some(value) = get("water") {
            for word in self.words(value) {
                self.water(&word);
            }
        }
        if let Some(value) = get("clamps") {
            for word in self.words(value) {
                self.clamp(&word);
            }
        }
        if let Some(value) = get("left") {
            for word in self.words(value) {
                if let Some((item, _)) = self.place(&word) {
                    self.assembly.left.push(item);
                }
            }
        }
    }

    fn stand(&mut self, value: &Spanned<DeValue<'_>>) {
        let DeValue::Array(list) = value.get_ref() else {
            self.flaw(
                &value.span(),
                "`stand` is not a list",
                "write `stand = [\"bath\", \"flask\", …]`, from the bench upwards",
            );
            return;
        };
        if list
            .iter()
            .any(|entry| matches!(entry.get_ref(), DeValue::Array(_)))
        {
            for entry in list.iter() {
                self.one_stand(entry);
            }
        } else {
            self.one_stand(value);
        }
    }

    fn one_stand(&mut self, value: &Spanned<DeValue<'_>>) {
        let words = self.words(value);
        let places: Vec<Option<Named>> = words.iter().map(|word| self.place(word)).collect();
        self.assembly
            .stands
            .push(places.iter().flatten().map(|place| place.0).collect());
        for (pair, places) in words.windows(2).zip(places.windows(2)) {
            if let (Some(a), Some(b)) = (places[0], places[1])
                && !self.link(a, b, &pair[1].span, true)
            {
                break;
            }
        }
    }

    /// `a to b.port to c`: each link handed to `link`, up to the first that is wrong, since what
    /// follows it would be blamed for the wrong reason.
    fn chain(&mut self, word: &Word, link: fn(&mut Self, Named, Named, &Range<usize>) -> bool) {
        let names: Vec<String> = word
            .text
            .split(" to ")
            .map(|name| name.trim().to_owned())
            .collect();
        if names.len() < 2 {
            self.flaw(
                &word.span,
                format!("`{}` joins nothing", word.text),
                "write two or more parts with ` to ` between them",
            );
            return;
        }
        let places: Vec<_> = names
            .iter()
            .map(|name| {
                let span = self.within(word, name);
                match OUTSIDE.iter().position(|(outside, _)| outside == name) {
                    Some(outside) => Some((usize::MAX - outside, None)),
                    None => self.place(&Word {
                        text: name.clone(),
                        span,
                    }),
                }
            })
            .collect();
        for (pair, name) in places.windows(2).zip(names.windows(2)) {
            if let (Some(a), Some(b)) = (pair[0], pair[1]) {
                let start = self.within(word, &name[0]).start;
                let span = if start == word.span.start {
                    word.span.clone()
                } else {
                    start..self.within(word, &name[1]).end.max(start)
                };
                if !link(self, a, b, &span) {
                    return;
                }
            } else {
                return;
            }
        }
    }

    /// `alias` or `alias.port`.
    fn place(&mut self, word: &Word) -> Option<Named> {
        let (alias, port) = match word.text.split_once('.') {
            Some((alias, port)) => (alias.trim(), Some(port.trim())),
            None => (word.text.trim(), None),
        };
        let Some(item) = self
            .assembly
            .items
            .iter()
            .position(|item| item.alias == alias)
        else {
            let near = nearest(
                alias,
                self.assembly.items.iter().map(|item| item.alias.as_str()),
            )
            .unwrap_or_default()
            .to_owned();
            let span = self.within(word, alias);
            self.flaw(
                &span,
                format!("`{alias}` is not under `[parts]`"),
                format!("did you mean `{near}`?"),
            );
            return None;
        };
        let Some(name) = port else {
            return Some((item, None));
        };
        let found = self.assembly.items[item].part.port(name);
        if found.is_none() {
            let part = &self.assembly.items[item].part;
            let known = part
                .ports
                .iter()
                .map(|port| format!("`{}` ({})", port.name, port.joint.words()))
                .collect::<Vec<_>>()
                .join(", ");
            let message = format!("{} has no opening `{name}`", self.assembly.named(item));
            let span = self.within(word, name);
            self.flaw(&span, message, format!("it has {known}"));
        }
        found.map(|port| (item, Some(port)))
    }

    fn end(&mut self, word: &Word) -> Option<End> {
        let (item, port) = self.place(word)?;
        let port = port.or_else(|| {
            let free = |&port: &usize| {
                !self.assembly.is_used(End { item, port })
                    && self.assembly.items[item].part.ports[port]
                        .joint
                        .fit
                        .is_opening()
            };
            (0..self.assembly.items[item].part.ports.len()).find(free)
        });
        match port {
            Some(port) => Some(End { item, port }),
            None => {
                let message = format!("{} has no free opening", self.assembly.named(item));
                self.flaw(&word.span, message, "leave it out, or name another part");
                None
            }
        }
    }

    /// The openings by which two parts may join: the named one, or all that are free.
    fn choices(&self, place: Named) -> Vec<End> {
        let (item, port) = place;
        match port {
            Some(port) => vec![End { item, port }],
            None => {
                // An opening listed as open is taken last, and then refused by the checks.
                let mut free: Vec<End> = (0..self.assembly.items[item].part.ports.len())
                    .map(|port| End { item, port })
                    .filter(|end| !self.assembly.is_used(*end))
                    .collect();
                free.sort_by_key(|end| self.assembly.open.contains(end));
                free
            }
        }
    }

    fn join(&mut self, a: Named, b: Named, span: &Range<usize>) -> bool {
        self.link(a, b, span, false)
    }

    /// Join two parts by the first openings that fit; on a stand, those that look up come first.
    fn link(&mut self, a: Named, b: Named, span: &Range<usize>, upwards: bool) -> bool {
        if a.0 >= self.assembly.items.len() || b.0 >= self.assembly.items.len() {
            self.flaw(
                span,
                "only a hose leads to what is outside the drawing",
                "move this line to `hoses`",
            );
            return false;
        }
        let (mut first, mut second) = (self.choices(a), self.choices(b));
        let looks_down = |end: &End| (80.0..=280.0).contains(&self.assembly.port(*end).towards);
        if upwards {
            first.sort_by_key(looks_down);
            second.sort_by_key(|end| !looks_down(end));
        }
        let pairs = || {
            first
                .iter()
                .flat_map(|a| second.iter().map(move |b| (*a, *b)))
        };
        let fits = pairs().find(|(a, b)| {
            let (a, b) = (self.assembly.port(*a), self.assembly.port(*b));
            a.joint.mate(&b.joint).is_ok()
        });
        let Some((a, b)) = fits else {
            self.misfit(a.0, b.0, pairs().collect(), span);
            return false;
        };
        for end in [a, b] {
            if self.assembly.is_used(end) && self.assembly.port(end).joint.fit != Fit::Seat {
                let message = format!("{} is joined twice", self.assembly.end_named(end));
                self.flaw(span, message, "give each opening one partner");
                return false;
            }
        }
        self.assembly.joins.push(Join {
            a,
            b,
            span: span.clone(),
        });
        true
    }

    /// Two parts that do not join: say which openings were meant, and what would join them.
    fn misfit(&mut self, first: usize, second: usize, pairs: Vec<(End, End)>, span: &Range<usize>) {
        let assembly = &self.assembly;
        let rank = |pair: &(End, End)| {
            let (a, b) = (&assembly.port(pair.0).joint, &assembly.port(pair.1).joint);
            match a.mate(b) {
                Err(Misfit::Size) => 0,
                Err(Misfit::SameFit) if a.fit != Fit::Seat && a.fit != Fit::Foot => 1,
                _ if a.fit.is_opening() && b.fit.is_opening() => 2,
                _ => 3,
            }
        };
        let Some((a, b)) = pairs.into_iter().min_by_key(rank) else {
            let message = format!(
                "{} and {} have no free openings left to join",
                assembly.named(first),
                assembly.named(second)
            );
            self.flaw(
                span,
                message,
                "take a part with one opening more, or name the openings",
            );
            return;
        };
        let (joint, other) = (
            assembly.port(a).joint.clone(),
            assembly.port(b).joint.clone(),
        );
        let (name_a, name_b) = (assembly.end_named(a), assembly.end_named(b));
        let (why, mend) = match joint.mate(&other) {
            Err(Misfit::Size) if joint.fit == Fit::Rod || joint.fit == Fit::Gland => (
                format!("{name_a} does not hold {name_b}"),
                "take an adapter whose gland is made for that thickness".to_owned(),
            ),
            Err(Misfit::Size) if matches!(joint.fit, Fit::Foot | Fit::Seat) => (
                format!(
                    "{} does not sit in {}: {} against {}",
                    assembly.named(b.item),
                    assembly.named(a.item),
                    other.size,
                    joint.size
                ),
                "take both for the same volume, in mL".to_owned(),
            ),
            Err(Misfit::Size) => (
                format!("{name_a} and {name_b} are of different size"),
                self.adapter_words(&joint, &other),
            ),
            Err(Misfit::SameFit) => (
                format!("{name_a} and {name_b} are both {}s", joint.fit.word()),
                match (joint.fit, self.catalogue.adapter(&joint, &other)) {
                    (Fit::Nipple, _) => "join nipples by a hose, under `hoses`".to_owned(),
                    (_, Some(part)) => {
                        format!("turn one part round, or put in between `{}`", part.name)
                    }
                    (_, None) => {
                        "turn one part round: a cone goes into a socket of its size".to_owned()
                    }
                },
            ),
            _ => (
                format!("{name_a} and {name_b} are joints of different kind"),
                self.adapter_words(&joint, &other),
            ),
        };
        self.flaw(span, why, mend);
    }

    fn adapter_words(&self, a: &Joint, b: &Joint) -> String {
        match self.catalogue.adapter(a, b) {
            Some(part) => format!("put in between `{}`", part.name),
            None => "take parts that fit; the catalogue has no adapter for these two".to_owned(),
        }
    }

    fn hose(&mut self, a: Named, b: Named, span: &Range<usize>) -> bool {
        let Some(from) = self.hose_end(a, span) else {
            return false;
        };
        let Some(to) = self.hose_end(b, span) else {
            return false;
        };
        if let (HoseEnd::At(a), HoseEnd::At(b)) = (&from, &to) {
            let (bore, other) = (
                self.assembly.port(*a).joint.clone(),
                self.assembly.port(*b).joint.clone(),
            );
            if bore.size != other.size {
                let message = format!(
                    "no hose fits both {} and {}",
                    self.assembly.end_named(*a),
                    self.assembly.end_named(*b)
                );
                let mend = self.adapter_words(&bore, &other);
                self.flaw(span, message, mend);
                return false;
            }
        }
        self.assembly.hoses.push(Hose { from, to });
        true
    }

    fn hose_end(&mut self, place: Named, span: &Range<usize>) -> Option<HoseEnd> {
        if let Some((name, _)) = OUTSIDE.get(usize::MAX - place.0) {
            return Some(HoseEnd::Outside(name));
        }
        let free = self.choices(place).into_iter().find(|end| {
            let port = self.assembly.port(*end);
            port.joint.fit == Fit::Nipple && !port.water && !self.assembly.is_used(*end)
        });
        if free.is_none() {
            let named = match place.1 {
                Some(port) => self.assembly.end_named(End {
                    item: place.0,
                    port,
                }),
                None => self.assembly.named(place.0),
            };
            let size = place.1.map(|port| {
                self.assembly
                    .port(End {
                        item: place.0,
                        port,
                    })
                    .joint
                    .clone()
            });
            let mend = match size.filter(|joint| matches!(joint.fit, Fit::Cone | Fit::Socket)) {
                Some(joint) => match Joint::new(Fit::Nipple, "8") {
                    Ok(nipple) => self.adapter_words(&joint, &nipple),
                    Err(why) => why,
                },
                None => "name a free nipple, or add an adapter that has one".to_owned(),
            };
            self.flaw(span, format!("{named} has no free nipple for a hose"), mend);
        }
        free.map(HoseEnd::At)
    }

    fn water(&mut self, word: &Word) {
        let names: Vec<String> = word
            .text
            .split(" to ")
            .map(|name| name.trim().to_owned())
            .collect();
        let mut named: Vec<(End, Range<usize>)> = Vec::new();
        let mut follows = false;
        for name in &names {
            let span = self.within(word, name);
            let Some((item, port)) = self.place(&Word {
                text: name.clone(),
                span: span.clone(),
            }) else {
                return;
            };
            let nipples: Vec<usize> = (0..self.assembly.items[item].part.ports.len())
                .filter(|port| self.assembly.items[item].part.ports[*port].water)
                .collect();
            if nipples.len() < 2 {
                let message = format!("{} has no jacket for water", self.assembly.named(item));
                self.flaw(&span, message, "leave it out of `water`");
                return;
            }
            match port {
                None => {
                    self.assembly.water.push(Pass {
                        into: End {
                            item,
                            port: nipples[0],
                        },
                        out: End {
                            item,
                            port: nipples[1],
                        },
                        named: false,
                        follows,
                        span,
                    });
                    follows = true;
                }
                Some(port) if !nipples.contains(&port) => {
                    let message = format!(
                        "{} is not for water",
                        self.assembly.end_named(End { item, port })
                    );
                    self.flaw(&span, message, "name the two nipples of the jacket");
                    return;
                }
                Some(port) => {
                    named.push((End { item, port }, span));
                    if let [(into, start), (out, end)] = &named[..] {
                        if into.item != out.item || into == out {
                            let message = format!(
                                "water goes into {} but not out of it again",
                                self.assembly.named(into.item)
                            );
                            let span = start.clone();
                            self.flaw(
                                &span,
                                message,
                                "name both nipples of a jacket one after the other",
                            );
                            return;
                        }
                        self.assembly.water.push(Pass {
                            into: *into,
                            out: *out,
                            named: true,
                            follows,
                            span: start.start..end.end.max(start.end),
                        });
                        follows = true;
                        named.clear();
                    }
                }
            }
        }
        if let Some((end, span)) = named.pop() {
            let message = format!(
                "water goes into {} but not out of it again",
                self.assembly.named(end.item)
            );
            self.flaw(
                &span,
                message,
                "name both nipples of a jacket one after the other",
            );
        }
    }

    fn clamp(&mut self, word: &Word) {
        let mut words = word.text.split_whitespace();
        let alias = words.next().unwrap_or_default().to_owned();
        let (mut hold, mut right) = (Hold::Clamp, false);
        let rest: Vec<&str> = words.collect();
        for remark in &rest {
            match *remark {
                "by" | "left" => {}
                "right" => right = true,
                "ring" => hold = Hold::Ring,
                "clip" => hold = Hold::Clip,
                "clamp" => hold = Hold::Clamp,
                other => {
                    let span = self.within(word, other);
                    self.flaw(
                        &span,
                        format!("`{other}` does not say how a part is held"),
                        "write `flask`, `flask right`, `funnel by ring` or `receiver by clip`",
                    );
                }
            }
        }
        let Some((item, _)) = self.place(&Word {
            text: alias,
            span: word.span.clone(),
        }) else {
            return;
        };
        let part = &self.assembly.items[item].part;
        let missing = match hold {
            Hold::Clamp => part.mark("grip").is_none(),
            Hold::Ring => part.mark("ring").is_none(),
            Hold::Clip => !part
                .ports
                .iter()
                .any(|port| matches!(port.joint.fit, Fit::Cone | Fit::Socket)),
        };
        if missing {
            let message = format!(
                "{} has no place for a {}",
                self.assembly.named(item),
                match hold {
                    Hold::Clamp => "clamp",
                    Hold::Ring => "ring",
                    Hold::Clip => "joint clip",
                }
            );
            self.flaw(&word.span, message, "hold the part next to it");
            return;
        }
        self.assembly.clamps.push(Clamp {
            item,
            hold,
            right,
            span: word.span.clone(),
        });
    }
}

/// Keys in the order they were written.
fn sorted<'t, 'a>(
    table: &'t DeTable<'a>,
) -> Vec<(
    &'t Spanned<std::borrow::Cow<'a, str>>,
    &'t Spanned<DeValue<'a>>,
)> {
    let mut entries: Vec<_> = table.iter().collect();
    entries.sort_by_key(|(key, _)| key.span().start);
    entries
}

fn millimetres(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Integer(number) => number.as_str().parse().ok(),
        DeValue::Float(number) => number.as_str().parse().ok(),
        DeValue::String(text) => text
            .trim()
            .strip_suffix("mm")?
            .trim()
            .parse()
            .ok()
            .filter(|n: &f64| n.is_finite()),
        _ => None,
    }
}

fn millilitres(text: &str) -> Option<f64> {
    let text = text.trim();
    let (number, factor) = match text.strip_suffix("mL") {
        Some(number) => (number, 1.0),
        None => (text.strip_suffix('L')?, 1000.0),
    };
    let volume: f64 = number.trim().parse().ok()?;
    (volume.is_finite() && volume > 0.0).then_some(volume * factor)
}
