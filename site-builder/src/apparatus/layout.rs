//! Every part put in its place, in millimetres, from its joints alone.
//!
//! The first part of a stand is set on the bench (y = 0). From there each join puts the next part
//! so that the two openings lie on one point and look at each other. Parts that only hoses lead to
//! stand beside, from left to right. A lab jack is wound up to whatever it has to carry.

use super::assembly::{Assembly, End, HoseEnd, Join, Place};
use super::catalogue::Catalogue;
use super::part::{Fit, Piece};
use super::path::{Bounds, Point, flatten, point, step};
use crate::finding::Flaw;

/// Free bench between things that are not joined, mm.
const GAP: f64 = 34.0;
/// A drawing wider than this goes over two benches, mm.
const WIDEST: f64 = 760.0;
/// Two ends of a closed ring of glass may miss each other by so much, mm.
const RING_TOLERANCE: f64 = 3.0;

impl Assembly {
    /// An opening on the page: place and outward direction.
    pub(crate) fn spot(&self, end: End) -> (Point, f64) {
        let (port, place) = (self.port(end), &self.places[end.item]);
        (place.map(port.at), place.heading(port.towards))
    }

    /// The room a part takes on the page.
    pub(crate) fn bounds(&self, item: usize) -> Bounds {
        let place = &self.places[item];
        let part = &self.items[item].part;
        let mut bounds = Bounds::NONE;
        for piece in &part.pieces {
            let margin = match piece {
                Piece::Tube(wide, _) | Piece::Bar(_, wide, _) => wide / 2.0,
                _ => 0.0,
            };
            if let Piece::Ball(wide, centre) = piece {
                bounds.add(place.map(*centre), wide / 2.0);
            }
            for line in piece
                .path()
                .and_then(|path| flatten(path).ok())
                .unwrap_or_default()
            {
                let line: Vec<Point> = line.into_iter().map(|p| place.map(p)).collect();
                bounds.add_line(&line, margin);
            }
        }
        for port in 0..part.ports.len() {
            for p in part.ground_outline(port).into_iter().flatten() {
                bounds.add(place.map(p), 2.0);
            }
        }
        bounds
    }
}

/// Give every part its place; says which rings of glass do not close and which jacks do not reach.
pub(crate) fn place(catalogue: &Catalogue, assembly: &mut Assembly) -> Vec<Flaw> {
    let mut layout = Layout {
        catalogue,
        assembly,
        places: Vec::new(),
        flaws: Vec::new(),
    };
    layout.places = vec![None; layout.assembly.items.len()];
    layout.heights();
    let groups = layout.groups();
    layout.side_by_side(groups);
    layout.jacks();
    let Layout { places, flaws, .. } = layout;
    let nowhere = Place {
        origin: point(0.0, 0.0),
        turn: 0.0,
        mirror: false,
        group: 0,
    };
    assembly.places = places
        .into_iter()
        .map(|place| place.unwrap_or(nowhere))
        .collect();
    flaws
}

struct Layout<'a> {
    catalogue: &'a Catalogue,
    assembly: &'a mut Assembly,
    places: Vec<Option<Place>>,
    flaws: Vec<Flaw>,
}

impl Layout<'_> {
    /// Heights the author gave to parts that can be wound up.
    fn heights(&mut self) {
        for item in 0..self.assembly.items.len() {
            let Some(height) = self.assembly.items[item].height else {
                continue;
            };
            self.wind_up(item, height);
        }
    }

    fn wind_up(&mut self, item: usize, height: f64) {
        let (name, span) = (
            self.assembly.items[item].part.name.clone(),
            self.assembly.items[item].span.clone(),
        );
        match self.catalogue.heights(&name) {
            None => {
                let message = format!("{} has a fixed height", self.assembly.named(item));
                self.flaws.push(
                    Flaw::new(span.clone(), message)
                        .mend("leave `height` out, or set it on a lab jack"),
                );
            }
            Some([least, _, most]) if !(least..=most).contains(&height) => {
                let message = format!(
                    "{} would have to be {height:.0} mm high",
                    self.assembly.named(item)
                );
                let mend =
                    format!("it reaches from {least} to {most} mm; raise or lower the stand");
                self.flaws.push(Flaw::new(span, message).mend(mend));
            }
            Some(_) => {
                if let Some(part) = self.catalogue.at_height(&name, height) {
                    self.assembly.items[item].part = part;
                }
            }
        }
    }

    /// Place the parts of every group against each other, the first at the origin.
    fn groups(&mut self) -> Vec<Vec<usize>> {
        let count = self.assembly.items.len();
        let at_hoses = self
            .assembly
            .hoses
            .iter()
            .flat_map(|hose| [&hose.from, &hose.to]);
        let along_hoses = at_hoses.filter_map(|end| match end {
            HoseEnd::At(end) => Some(end.item),
            HoseEnd::Outside(_) => None,
        });
        let stands = self
            .assembly
            .stands
            .iter()
            .filter_map(|stand| stand.first().copied());
        let roots: Vec<usize> = stands.chain(along_hoses).chain(0..count).collect();
        let mut groups = Vec::new();
        for root in roots {
            let is_waiting_jack = self.is_jack(root)
                && !self
                    .assembly
                    .stands
                    .iter()
                    .any(|stand| stand.first() == Some(&root));
            if self.places[root].is_some()
                || is_waiting_jack
                || (self.is_jack(root) && self.carries_placed(root))
            {
                continue;
            }
            let group = groups.len();
            self.places[root] = Some(Place {
                origin: point(0.0, 0.0),
                turn: 0.0,
                mirror: self.assembly.items[root].mirror,
                group,
            });
            let mut members = vec![root];
            let mut next = 0;
            while next < members.len() {
                let item = members[next];
                next += 1;
                for join in self.assembly.joins.clone() {
                    let (here, there) = match (join.a.item == item, join.b.item == item) {
                        (true, _) => (join.a, join.b),
                        (_, true) => (join.b, join.a),
                        _ => continue,
                    };
                    if self.is_jack(there.item) && self.places[there.item].is_none() {
                        continue;
                    }
                    match self.places[there.item] {
                        None => {
                            self.places[there.item] = Some(self.joined(here, there, group));
                            members.push(there.item);
                        }
                        Some(_) if join.a.item == item => self.check_ring(&join),
                        Some(_) => {}
                    }
                }
            }
            self.settle(&members);
            groups.push(members);
        }
        groups
    }

    fn is_jack(&self, item: usize) -> bool {
        self.catalogue
            .heights(&self.assembly.items[item].part.name)
            .is_some()
    }

    /// Whether what stands on a jack hangs from something else and is placed already.
    fn carries_placed(&self, jack: usize) -> bool {
        self.assembly.joins.iter().any(|join| {
            (join.a.item == jack && self.places[join.b.item].is_some())
                || (join.b.item == jack && self.places[join.a.item].is_some())
        })
    }

    /// The place of a part whose opening `there` meets the opening `here` of a placed part.
    fn joined(&self, here: End, there: End, group: usize) -> Place {
        let Some(host) = self.places[here.item] else {
            return Place {
                origin: point(0.0, 0.0),
                turn: 0.0,
                mirror: false,
                group,
            };
        };
        let (port, other) = (self.assembly.port(here), self.assembly.port(there));
        let mirror = self.assembly.items[there.item].mirror;
        let mut at = host.map(port.at);
        let heading = host.heading(port.towards);
        let towards = if mirror {
            -other.towards
        } else {
            other.towards
        };
        let mut turn = (heading + 180.0 - towards).rem_euclid(360.0);
        match (port.joint.fit, other.joint.fit) {
            (Fit::Gland, Fit::Rod) => at = at.minus(step(heading).times(self.depth(here, there))),
            // What stands, stands upright, on whatever it stands.
            (Fit::Seat, Fit::Foot) | (Fit::Foot, Fit::Seat) => turn = 0.0,
            // A thin tube ends inside the neck, and drops fall straight down.
            (Fit::Tip, _) | (_, Fit::Tip) => turn = 0.0,
            _ => {}
        }
        let place = Place {
            origin: point(0.0, 0.0),
            turn,
            mirror,
            group,
        };
        Place {
            origin: at.minus(place.map(other.at)),
            ..place
        }
    }

    /// How far a rod reaches below its gland, mm: as the author says, or where it does its work.
    fn depth(&self, gland: End, rod: End) -> f64 {
        let item = &self.assembly.items[rod.item];
        if let Some(depth) = item.depth {
            return depth;
        }
        let Some(host) = self.places[gland.item] else {
            return 0.0;
        };
        let port = self.assembly.port(gland);
        let (at, heading) = (host.map(port.at), host.heading(port.towards));
        let (wanted, short) = if item.part.is("bleed") {
            ("bottom", 3.0)
        } else {
            ("bulb", 0.0)
        };
        target(self.assembly, &self.places, at, heading, wanted)
            .map(|depth| depth - short)
            .or_else(|| {
                target(self.assembly, &self.places, at, heading, "bottom").map(|depth| depth - 12.0)
            })
            .unwrap_or(60.0)
            .clamp(0.0, (item.part.length - 15.0).max(10.0))
    }

    fn check_ring(&mut self, join: &Join) {
        if self.is_jack(join.a.item) || self.is_jack(join.b.item) {
            return;
        }
        let spot =
            |end: End| self.places[end.item].map(|place| place.map(self.assembly.port(end).at));
        let (Some(a), Some(b)) = (spot(join.a), spot(join.b)) else {
            return;
        };
        let (fit, other) = (
            self.assembly.port(join.a).joint.fit,
            self.assembly.port(join.b).joint.fit,
        );
        let slides = matches!(
            (fit, other),
            (Fit::Gland, Fit::Rod) | (Fit::Rod, Fit::Gland)
        );
        let miss = a.minus(b).length();
        if miss > RING_TOLERANCE && !slides {
            let message = format!(
                "the glass does not meet: {} and {} are {miss:.0} mm apart",
                self.assembly.end_named(join.a),
                self.assembly.end_named(join.b)
            );
            self.flaws.push(
                Flaw::new(join.span.clone(), message).mend("take out one join, or use a hose"),
            );
        }
    }

    /// Set a group on the bench, or hang it where the author lifts it to.
    fn settle(&mut self, members: &[usize]) {
        self.publish();
        let root = members[0];
        let foot = self.assembly.items[root]
            .part
            .ports
            .iter()
            .position(|port| port.joint.fit == Fit::Foot);
        let lifted = members
            .iter()
            .copied()
            .find(|item| self.assembly.items[*item].lift.is_some());
        let lowest = |items: &[usize]| {
            items.iter().fold(f64::NEG_INFINITY, |low, item| {
                low.max(self.assembly.bounds(*item).bottom)
            })
        };
        let bench = match (lifted, foot) {
            (Some(item), _) => lowest(&[item]) + self.assembly.items[item].lift.unwrap_or(0.0),
            (None, Some(port)) => self.assembly.spot(End { item: root, port }).0.y,
            (None, None) => lowest(members) + 30.0,
        };
        for item in members {
            if let Some(place) = &mut self.places[*item] {
                place.origin.y -= bench;
            }
        }
        self.publish();
    }

    /// Let the assembly answer questions about the places known so far.
    fn publish(&mut self) {
        let nowhere = Place {
            origin: point(0.0, 0.0),
            turn: 0.0,
            mirror: false,
            group: usize::MAX,
        };
        self.assembly.places = self
            .places
            .iter()
            .map(|place| place.unwrap_or(nowhere))
            .collect();
    }

    /// Groups stand beside each other: the first in the middle, those named `left` to its left.
    /// What would make the drawing wider than a page goes on a second bench below, seen in a
    /// mirror, so that the hoses run back from right to left.
    fn side_by_side(&mut self, groups: Vec<Vec<usize>>) {
        let rooms: Vec<Bounds> = groups.iter().map(|members| self.room(members)).collect();
        let total: f64 = rooms.iter().map(|room| room.right - room.left + GAP).sum();
        let (mut upper, mut lower) = (Vec::new(), Vec::new());
        for (i, members) in groups.iter().enumerate() {
            let is_left = members.iter().any(|item| self.assembly.left.contains(item));
            if i > 0 && !is_left && total > WIDEST {
                lower.push(i)
            } else {
                upper.push((i, is_left))
            }
        }
        let mut taken: Option<Bounds> = None;
        for (i, is_left) in upper {
            let room = rooms[i];
            let shift = match &taken {
                None => 0.0,
                Some(taken) if is_left => taken.left - GAP - room.right,
                Some(taken) => taken.right + GAP - room.left,
            };
            self.shift(&groups[i], shift, 0.0);
            let moved = Bounds {
                left: room.left + shift,
                right: room.right + shift,
                ..room
            };
            taken.get_or_insert(moved).join(&moved);
        }
        let tallest = lower.iter().map(|i| -rooms[*i].top).fold(0.0, f64::max);
        let mut right = taken.map_or(0.0, |taken| taken.right);
        let wide: f64 = lower
            .iter()
            .map(|i| rooms[*i].right - rooms[*i].left + GAP)
            .sum();
        if let Some(taken) = taken {
            right = right.max(taken.left + wide);
        }
        for i in lower {
            self.mirror(&groups[i]);
            let room = rooms[i];
            // In the mirror the left edge is the right one.
            self.shift(&groups[i], right + room.left, tallest + GAP);
            right -= room.right - room.left + GAP;
            self.assembly.lower_bench = Some(tallest + GAP);
        }
        self.publish();
    }

    /// The room a group takes, its stands included.
    fn room(&self, members: &[usize]) -> Bounds {
        let mut room = Bounds::NONE;
        for item in members {
            room.join(&self.assembly.bounds(*item));
        }
        let clamps = self.assembly.on_rods();
        for clamp in clamps.filter(|clamp| members.contains(&clamp.item)) {
            room.add(point(self.assembly.rod_of(clamp).0, room.top), 18.0);
        }
        room
    }

    fn shift(&mut self, members: &[usize], x: f64, y: f64) {
        for item in members {
            if let Some(place) = &mut self.places[*item] {
                place.origin = place.origin.plus(point(x, y));
            }
        }
    }

    fn mirror(&mut self, members: &[usize]) {
        for item in members {
            if let Some(place) = &mut self.places[*item] {
                *place = Place {
                    origin: point(-place.origin.x, place.origin.y),
                    turn: -place.turn,
                    mirror: !place.mirror,
                    ..*place
                };
            }
        }
    }

    /// Wind up the jacks below parts that already have their place.
    fn jacks(&mut self) {
        for join in self.assembly.joins.clone() {
            for (jack, load) in [(join.a, join.b), (join.b, join.a)] {
                if !self.is_jack(jack.item) || self.places[jack.item].is_some() {
                    continue;
                }
                let Some(carried) = self.places[load.item] else {
                    continue;
                };
                let at = carried.map(self.assembly.port(load).at);
                self.wind_up(jack.item, -at.y);
                self.places[jack.item] = Some(Place {
                    origin: point(at.x, 0.0),
                    turn: 0.0,
                    mirror: false,
                    group: carried.group,
                });
            }
        }
        // A jack that carries nothing still stands somewhere.
        self.publish();
    }
}

/// Distance down the axis of a gland to the lowest mark of a kind that lies on that axis.
fn target(
    assembly: &Assembly,
    places: &[Option<Place>],
    at: Point,
    heading: f64,
    what: &str,
) -> Option<f64> {
    let down = step(heading + 180.0);
    let mut best: Option<f64> = None;
    for (item, place) in assembly.items.iter().zip(places) {
        let Some(place) = place else { continue };
        for mark in item.part.marks.iter().filter(|mark| mark.what == what) {
            let way = place.map(mark.at).minus(at);
            let along = way.x * down.x + way.y * down.y;
            let aside = (way.x * down.y - way.y * down.x).abs();
            if along > 0.0 && aside < 6.0 {
                best = Some(best.map_or(along, |b: f64| {
                    if what == "bulb" {
                        b.min(along)
                    } else {
                        b.max(along)
                    }
                }));
            }
        }
    }
    best
}

/// The same for a finished assembly.
pub(crate) fn target_below(assembly: &Assembly, gland: End, what: &str) -> Option<f64> {
    let (at, heading) = assembly.spot(gland);
    let places: Vec<Option<Place>> = assembly.places.iter().copied().map(Some).collect();
    target(assembly, &places, at, heading, what)
}

/// How far a rod's end lies below its gland, mm.
pub(crate) fn reach(assembly: &Assembly, gland: End, rod: End) -> f64 {
    let (at, heading) = assembly.spot(gland);
    let way = assembly.spot(rod).0.minus(at);
    let down = step(heading + 180.0);
    way.x * down.x + way.y * down.y
}
