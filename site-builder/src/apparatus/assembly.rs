//! An assembly: parts, and how they are joined, supplied and held.

use std::ops::Range;

use super::part::Part;
use super::path::{Point, point};

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
    pub(crate) places: Vec<Place>,
    /// Height y of a second bench below the first, if the drawing needs one.
    pub(crate) lower_bench: Option<f64>,
    pub(crate) whole: Range<usize>,
}

/// Where a part is: its own origin on the page, its turn, and whether it is seen in a mirror.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Place {
    pub origin: Point,
    /// Degrees clockwise.
    pub turn: f64,
    pub mirror: bool,
    /// Parts held together by joints share a group.
    pub group: usize,
}

impl Place {
    /// A point of the part on the page.
    pub fn map(&self, p: Point) -> Point {
        let p = if self.mirror { point(-p.x, p.y) } else { p };
        p.turned(self.turn).plus(self.origin)
    }

    /// A direction of the part on the page.
    pub fn heading(&self, towards: f64) -> f64 {
        (self.turn + if self.mirror { -towards } else { towards }).rem_euclid(360.0)
    }
}

impl Assembly {
    /// The author's title.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// Short words and nominal volumes, mL, of the parts that are named by one: flasks, funnels.
    pub fn capacities(&self) -> impl Iterator<Item = (&str, &str)> {
        self.items.iter().filter_map(|item| {
            let (before, _) = item.part.name.split_once(" mL")?;
            let volume = before.rsplit(' ').next()?;
            Some((item.alias.as_str(), volume))
        })
    }

    /// Whether a pump draws on it.
    pub fn is_evacuated(&self) -> bool {
        self.items.iter().any(|item| item.part.is("pump"))
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
