//! What is not glass: the rods of the stands, and hoses as curves.

use super::assembly::{Assembly, Clamp, End, Hold, Hose, HoseEnd};
use super::part::Flow;
use super::path::{Point, cubic_at, point, step, xy};

/// How far a stand's rod is from the axis it holds, mm.
const ROD_AWAY: f64 = 82.0;

/// A rod of a stand: where, how high, and on which side of what it holds.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Rod {
    pub x: f64,
    pub top: f64,
    pub right: bool,
    pub group: usize,
}

/// Four points of a curve and which flow it carries.
#[derive(Debug, Clone)]
pub(crate) struct Curve {
    pub points: [Point; 4],
    pub width: f64,
    pub flow: Flow,
    /// Share along the curve at which the arrow sits.
    pub arrow: f64,
    /// The arrow points from the first point to the last.
    pub forward: bool,
}

impl Curve {
    pub fn at(&self, t: f64) -> Point {
        let [a, b, c, d] = self.points;
        cubic_at(a, b, c, d, t)
    }

    pub fn line(&self) -> Vec<Point> {
        (0..=24).map(|i| self.at(f64::from(i) / 24.0)).collect()
    }

    pub fn path(&self) -> String {
        let [a, b, c, d] = self.points.map(xy);
        format!("M{a}C{b} {c} {d}")
    }
}

impl Assembly {
    /// Rods of the retort stands; clamps on one side of one upright share a rod.
    pub(crate) fn rods(&self) -> Vec<Rod> {
        let mut rods: Vec<Rod> = Vec::new();
        for clamp in self.on_rods() {
            let (x, top) = self.rod_of(clamp);
            let group = self.places[clamp.item].group;
            match rods.iter_mut().find(|rod| {
                rod.group == group && rod.right == clamp.right && (rod.x - x).abs() < 75.0
            }) {
                Some(rod) => {
                    rod.top = rod.top.min(top);
                    rod.x = if clamp.right {
                        rod.x.max(x)
                    } else {
                        rod.x.min(x)
                    };
                }
                None => rods.push(Rod {
                    x,
                    top,
                    right: clamp.right,
                    group,
                }),
            }
        }
        rods
    }

    /// Where the rod for one clamp wants to be.
    pub(crate) fn rod_of(&self, clamp: &Clamp) -> (f64, f64) {
        let (at, _, upright) = self.grip(clamp);
        let away = match (upright, clamp.right) {
            (false, _) => 0.0,
            (true, true) => ROD_AWAY,
            (true, false) => -ROD_AWAY,
        };
        (at.x + away, at.y - 42.0)
    }

    /// Clamps and rings; a joint clip hangs on no rod.
    pub(crate) fn on_rods(&self) -> impl Iterator<Item = &Clamp> {
        let clamps = self.clamps.iter();
        clamps.filter(|clamp| clamp.hold != Hold::Clip)
    }

    /// Where a clamp or ring holds, how wide the part is there, and whether it stands upright.
    pub(crate) fn grip(&self, clamp: &Clamp) -> (Point, f64, bool) {
        let mark = if clamp.hold == Hold::Ring {
            "ring"
        } else {
            "grip"
        };
        let (place, part) = (&self.places[clamp.item], &self.items[clamp.item].part);
        let turn = place.turn.rem_euclid(180.0);
        let upright = !(35.0..=145.0).contains(&turn);
        part.mark(mark)
            .map_or((place.origin, 20.0, upright), |mark| {
                (place.map(mark.at), mark.width, upright)
            })
    }

    /// Length of a hose as drawn, mm.
    pub(crate) fn hose_length(&self, hose: &Hose) -> f64 {
        self.hose_curve(hose).map_or(500.0, |curve| {
            curve
                .line()
                .windows(2)
                .map(|pair| pair[1].minus(pair[0]).length())
                .sum()
        })
    }

    pub(crate) fn hose_curve(&self, hose: &Hose) -> Option<Curve> {
        let width = |end: End| self.port(end).joint.diameter + 4.0;
        Some(match (&hose.from, &hose.to) {
            (HoseEnd::At(a), HoseEnd::At(b)) => Curve {
                points: between(self.spot(*a), self.spot(*b)),
                width: width(*a),
                flow: Flow::Gas,
                arrow: 0.5,
                forward: true,
            },
            (HoseEnd::At(a), HoseEnd::Outside(_)) => Curve {
                points: away(self.spot(*a), -52.0),
                width: width(*a),
                flow: Flow::Gas,
                arrow: 1.0,
                forward: true,
            },
            (HoseEnd::Outside(_), HoseEnd::At(b)) => Curve {
                points: away(self.spot(*b), -52.0),
                width: width(*b),
                flow: Flow::Gas,
                arrow: 0.6,
                forward: false,
            },
            (HoseEnd::Outside(_), HoseEnd::Outside(_)) => return None,
        })
    }

    /// Water hoses: into each jacket, between jackets, out to the drain.
    pub(crate) fn water_curves(&self) -> Vec<Curve> {
        let mut curves = Vec::new();
        let curve = |points, arrow, forward| Curve {
            points,
            width: 9.0,
            flow: Flow::Coolant,
            arrow,
            forward,
        };
        for (i, pass) in self.water.iter().enumerate() {
            let (mut into, mut out) = (pass.into, pass.out);
            if !pass.named && self.spot(into).0.y < self.spot(out).0.y - 5.0 {
                (into, out) = (out, into);
            }
            if pass.follows
                && let Some(before) = i.checked_sub(1).map(|i| &self.water[i])
            {
                let mut from = before.out;
                if !before.named && self.spot(before.into).0.y < self.spot(before.out).0.y - 5.0 {
                    from = before.into;
                }
                curves.push(curve(between(self.spot(from), self.spot(into)), 0.5, true));
            } else {
                curves.push(curve(away(self.spot(into), 62.0), 0.55, false));
            }
            if !self.water.get(i + 1).is_some_and(|next| next.follows) {
                let fall = if step(self.spot(out).1).y < -0.5 {
                    128.0
                } else {
                    62.0
                };
                curves.push(curve(away(self.spot(out), fall), 1.0, true));
            }
        }
        curves
    }
}

/// A hose from one nipple to another.
fn between((a, heading): (Point, f64), (b, other): (Point, f64)) -> [Point; 4] {
    let apart = b.minus(a).length();
    // Nipples that look at each other need no loop.
    let facing = step(heading).plus(step(other)).length() < 0.2;
    let reach = (apart * 0.45).clamp(if facing { 4.0 } else { 26.0 }, 150.0);
    [
        a,
        a.plus(step(heading).times(reach)),
        b.plus(step(other).times(reach)),
        b,
    ]
}

/// A hose that leaves the drawing, bending up (negative) or down.
fn away((a, heading): (Point, f64), rise: f64) -> [Point; 4] {
    let out = step(heading);
    let lift = point(out.x * 34.0, out.y * 34.0 + rise);
    [
        a,
        a.plus(out.times(24.0)),
        a.plus(point(out.x * 34.0, out.y * 34.0 + rise * 0.35)),
        a.plus(lift),
    ]
}
