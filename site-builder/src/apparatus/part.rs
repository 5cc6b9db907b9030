//! One part: its outline, its openings, what it holds and what it is good for.
//!
//! Everything is in millimetres, y downwards, drawn upright with an origin of the part's own choice.
//! In the data a part is mostly short lines of text:
//!
//! | key | one line says | for example |
//! |---|---|---|
//! | `ports` | name, fit with size, place, direction, remarks | `neck socket 24/29 at 0 -120 up` |
//! | `draw` | a piece of the outline | `tube 14 M0 0 V-60` |
//! | `marks` | a place that matters | `grip at 0 -70 26` |
//! | `cavity` | where liquid collects | `ball 78 0 -39` |
//! | `flow` | an arrow | `vapour M0 0 V-30` |
//!
//! The outlines are this project's own; only joint sizes are standard (ISO 383: wide end and
//! length in millimetres, taper 1:10).

use super::path::{Point, flatten, point, step};

/// What a part can be, and what follows from it. The checks ask for these words only.
pub const TRAITS: &[(&str, &str)] = &[
    ("vessel", "holds liquid; may be a receiver or be heated"),
    (
        "round",
        "round-bottomed: fit for vacuum, unfit for a bare hot plate",
    ),
    ("flat", "flat-bottomed thin glass: never under vacuum"),
    (
        "vacuum-safe",
        "built for vacuum in spite of its flat bottom",
    ),
    ("heats", "warms what stands in or on it"),
    ("flat-heat", "a flat hot surface"),
    ("stirs", "turns a stirrer bar in what stands on it"),
    ("bath", "surrounds a vessel without carrying it"),
    ("weight", "heavy enough to need support"),
    ("clamp", "long or top-heavy: needs a clamp of its own"),
    (
        "adapter",
        "may be offered as the mend for joints that do not fit",
    ),
    ("closes", "a stopper: may be offered to close an opening"),
    ("condenser", "cooled by water or air"),
    (
        "thermometer",
        "has a bulb that must stand in the right place",
    ),
    (
        "bleed",
        "lets a thread of gas in at the bottom of a vessel under vacuum",
    ),
    ("trap", "condenses vapour before a pump"),
    ("guard", "catches liquid that a pump or tap may send back"),
    ("pump", "takes gas away"),
    ("oil-pump", "must stand behind a cold trap"),
    ("jet-pump", "must stand behind a guard bottle"),
    ("presses", "sends air in under pressure"),
    ("gauge", "reads the pressure"),
    (
        "gives",
        "an elastic volume, so that a heated system is not closed",
    ),
    ("vents", "lets gas out though its opening is not bare"),
    ("resists", "a bed or filter that holds pressure back"),
    ("shield", "stands between people and glass"),
];

/// How an opening joins another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fit {
    /// Ground cone.
    Cone,
    /// Ground socket.
    Socket,
    /// Nipple for a hose.
    Nipple,
    /// A straight rod or tube that slides in a gland.
    Rod,
    /// A screw gland that grips rods.
    Gland,
    /// An underside that stands on something.
    Foot,
    /// Something to stand on or in.
    Seat,
    /// An open end that liquid drips from.
    Tip,
    /// An open mouth that liquid falls into.
    Mouth,
    /// A rubber bung or cone.
    Bung,
    /// A plain neck that takes a bung.
    Collar,
    /// Outer screw thread.
    Thread,
    /// Inner screw thread.
    Cap,
}

impl Fit {
    const WORDS: [(&str, Self); 13] = [
        ("cone", Self::Cone),
        ("socket", Self::Socket),
        ("nipple", Self::Nipple),
        ("rod", Self::Rod),
        ("gland", Self::Gland),
        ("foot", Self::Foot),
        ("seat", Self::Seat),
        ("tip", Self::Tip),
        ("mouth", Self::Mouth),
        ("bung", Self::Bung),
        ("collar", Self::Collar),
        ("thread", Self::Thread),
        ("cap", Self::Cap),
    ];

    pub(crate) fn word(self) -> &'static str {
        Self::WORDS
            .iter()
            .find(|(_, fit)| *fit == self)
            .map_or("", |(word, _)| word)
    }

    /// The fit that this one joins.
    pub(crate) fn partner(self) -> Option<Self> {
        const PAIRS: [(Fit, Fit); 6] = [
            (Fit::Cone, Fit::Socket),
            (Fit::Rod, Fit::Gland),
            (Fit::Foot, Fit::Seat),
            (Fit::Tip, Fit::Mouth),
            (Fit::Bung, Fit::Collar),
            (Fit::Thread, Fit::Cap),
        ];
        PAIRS
            .iter()
            .find_map(|(a, b)| (*a == self).then_some(*b).or((*b == self).then_some(*a)))
    }

    /// Whether gas or liquid can pass here.
    pub(crate) fn is_opening(self) -> bool {
        !matches!(self, Self::Foot | Self::Seat | Self::Rod | Self::Mouth)
    }
}

/// The fit and size of an opening.
#[derive(Debug, Clone, PartialEq)]
pub struct Joint {
    /// Cone, socket, nipple and so on.
    pub fit: Fit,
    /// As written on the glass: `24/29`, `8`, `6-8`, `GL14`; empty for a seat that takes anything.
    pub size: String,
    /// Wide end of a ground joint, outer diameter of a nipple or rod, largest rod of a gland; mm.
    pub diameter: f64,
    /// Length of a ground joint, smallest rod of a gland; mm.
    pub length: f64,
}

/// Why two openings do not join.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Misfit {
    Size,
    SameFit,
    Kind,
}

impl Joint {
    pub(crate) fn new(fit: Fit, size: &str) -> Result<Self, String> {
        let number = |word: &str| {
            word.trim_start_matches("GL")
                .parse::<f64>()
                .map_err(|_| format!("`{size}` is not a size"))
        };
        let (diameter, length) = match (fit, size.split_once('/'), size.split_once('-')) {
            (Fit::Cone | Fit::Socket, Some((wide, long)), _) => (number(wide)?, number(long)?),
            (Fit::Cone | Fit::Socket, None, _) => {
                return Err(format!(
                    "`{size}` is not a joint size; write the wide end and the length, for example 24/29"
                ));
            }
            (Fit::Gland, _, Some((thin, thick))) => (number(thick)?, number(thin)?),
            _ if size.is_empty() => (0.0, 0.0),
            _ => (number(size)?, 0.0),
        };
        if !(0.0..=10_000.0).contains(&diameter) || !(0.0..=500.0).contains(&length) {
            return Err(format!("`{size}` is no size of a laboratory joint"));
        }
        Ok(Self {
            fit,
            size: size.to_owned(),
            diameter,
            length,
        })
    }

    /// "socket 24/29", "nipple 8 mm".
    pub(crate) fn words(&self) -> String {
        let millimetres = if matches!(self.fit, Fit::Nipple | Fit::Rod | Fit::Tip | Fit::Gland) {
            " mm"
        } else {
            ""
        };
        if self.size.is_empty() {
            self.fit.word().to_owned()
        } else {
            format!("{} {}{millimetres}", self.fit.word(), self.size)
        }
    }

    /// Whether two openings join rigidly.
    pub(crate) fn mate(&self, other: &Self) -> Result<(), Misfit> {
        let (a, b) = (self, other);
        match (a.fit, b.fit) {
            // A thin tube may stand loosely in the neck of a receiver.
            (Fit::Tip, Fit::Socket | Fit::Collar) | (Fit::Socket | Fit::Collar, Fit::Tip) => {
                let (tip, neck) = if a.fit == Fit::Tip { (a, b) } else { (b, a) };
                if tip.diameter < neck.diameter {
                    Ok(())
                } else {
                    Err(Misfit::Size)
                }
            }
            (x, y) if x.partner() == Some(y) => {
                let fits = match (x, y) {
                    (Fit::Rod, Fit::Gland) => (b.length..=b.diameter).contains(&a.diameter),
                    (Fit::Gland, Fit::Rod) => (a.length..=a.diameter).contains(&b.diameter),
                    (Fit::Tip, Fit::Mouth) => a.diameter < b.diameter,
                    (Fit::Mouth, Fit::Tip) => b.diameter < a.diameter,
                    (Fit::Seat | Fit::Foot, _) => {
                        a.size.is_empty() || b.size.is_empty() || a.size == b.size
                    }
                    _ => a.size == b.size,
                };
                if fits { Ok(()) } else { Err(Misfit::Size) }
            }
            (x, y) if x == y => Err(Misfit::SameFit),
            _ => Err(Misfit::Kind),
        }
    }

    /// Whether a joint of these two lets no gas out.
    pub(crate) fn is_loose(&self, other: &Self) -> bool {
        self.fit == Fit::Tip || other.fit == Fit::Tip
    }
}

/// One opening, underside or seat of a part.
#[derive(Debug, Clone, PartialEq)]
pub struct Port {
    /// Unique within the part: `neck`, `side`, `lower`.
    pub name: String,
    /// Fit and size.
    pub joint: Joint,
    pub(crate) at: Point,
    /// Outward direction, degrees clockwise from up.
    pub towards: f64,
    /// May stay open: it is meant to let air in or out.
    pub may_open: bool,
    /// Distillate or filtrate comes out here, so something must catch it.
    pub delivers: bool,
    /// Carries cooling water, not the gas inside.
    pub water: bool,
}

impl Port {
    fn read(line: &str) -> Result<Self, String> {
        let wrong = |why: &str| {
            format!("port `{line}`: {why}; write for example `neck socket 24/29 at 0 -120 up`")
        };
        let (head, tail) = line
            .split_once(" at ")
            .ok_or_else(|| wrong("` at ` is missing"))?;
        let mut head = head.split_whitespace();
        let name = head.next().ok_or_else(|| wrong("the name is missing"))?;
        let fit = head.next().ok_or_else(|| wrong("the fit is missing"))?;
        let fit = Fit::WORDS
            .iter()
            .find(|(word, _)| *word == fit)
            .map(|(_, fit)| *fit)
            .ok_or_else(|| {
                wrong(&format!(
                    "`{fit}` is no fit; known are {}",
                    Fit::WORDS.map(|(word, _)| word).join(", ")
                ))
            })?;
        let joint = Joint::new(fit, head.next().unwrap_or_default()).map_err(|why| wrong(&why))?;
        let mut tail = tail.split_whitespace();
        let at = read_point(&mut tail).map_err(|why| wrong(&why))?;
        let towards = tail
            .next()
            .and_then(direction)
            .ok_or_else(|| wrong("the direction is missing"))?;
        let mut port = Self {
            name: name.to_owned(),
            joint,
            at,
            towards,
            may_open: false,
            delivers: false,
            water: false,
        };
        for remark in tail {
            match remark {
                "may-open" => port.may_open = true,
                "delivers" => port.delivers = true,
                "water" => port.water = true,
                other => {
                    return Err(wrong(&format!(
                        "`{other}` is no remark; known are may-open, delivers, water"
                    )));
                }
            }
        }
        Ok(port)
    }
}

fn direction(word: &str) -> Option<f64> {
    match word {
        "up" => Some(0.0),
        "right" => Some(90.0),
        "down" => Some(180.0),
        "left" => Some(270.0),
        _ => word.parse().ok(),
    }
}

fn read_point<'a>(words: &mut impl Iterator<Item = &'a str>) -> Result<Point, String> {
    let mut number = || -> Result<f64, String> {
        let word = words.next().ok_or("a number is missing")?;
        word.parse::<f64>()
            .ok()
            .filter(|n| n.is_finite() && n.abs() < 5000.0)
            .ok_or(format!("`{word}` is not a number"))
    };
    Ok(point(number()?, number()?))
}

/// A place on a part that matters to layout or checks.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Mark {
    pub what: String,
    pub at: Point,
    /// Width of the tube there, mm; 0 where it does not matter.
    pub width: f64,
}

/// Marks the layout and the checks look for.
const MARKS: &[(&str, &str)] = &[
    ("grip", "where a clamp holds, with the width there"),
    ("ring", "where a ring carries, with the width there"),
    ("bulb", "where the tip of a thermometer belongs"),
    ("bottom", "the lowest point a bleed must come near"),
    ("label", "where the line from the number should end"),
];

impl Mark {
    fn read(line: &str) -> Result<Self, String> {
        let wrong =
            |why: &str| format!("mark `{line}`: {why}; write for example `grip at 0 -70 26`");
        let (what, tail) = line
            .split_once(" at ")
            .ok_or_else(|| wrong("` at ` is missing"))?;
        if !MARKS.iter().any(|(name, _)| *name == what.trim()) {
            return Err(wrong(&format!(
                "known marks are {}",
                MARKS.iter().map(|m| m.0).collect::<Vec<_>>().join(", ")
            )));
        }
        let mut words = tail.split_whitespace();
        let at = read_point(&mut words).map_err(|why| wrong(&why))?;
        let width = words.next().map_or(Ok(0.0), |w| {
            w.parse().map_err(|_| wrong("the width is not a number"))
        })?;
        Ok(Self {
            what: what.trim().to_owned(),
            at,
            width,
        })
    }
}

/// One piece of an outline.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Piece {
    /// Glass tube of an inner width along a path.
    Tube(f64, String),
    /// Glass ball: diameter and centre.
    Ball(f64, Point),
    /// Glass body with a closed outline.
    Glass(String),
    /// A filled shape of another stuff; the word is its class in the drawing.
    Fill(&'static str, String),
    /// A solid rod of a width along a path, with the class of its stuff.
    Bar(&'static str, f64, String),
    /// A thin line.
    Line(String),
    /// What follows lies over what stands before.
    Over,
}

impl Piece {
    /// The path, where there is one.
    pub fn path(&self) -> Option<&str> {
        match self {
            Self::Tube(_, path)
            | Self::Glass(path)
            | Self::Fill(_, path)
            | Self::Bar(_, _, path)
            | Self::Line(path) => Some(path),
            Self::Ball(..) | Self::Over => None,
        }
    }
}

/// Stuffs that fill a shape or make a rod: word in the data, class in the drawing.
const STUFFS: &[(&str, &str)] = &[
    ("metal", "metal"),
    ("case", "case"),
    ("rubber", "rubber"),
    ("solid", "solid"),
    ("liquid", "liquid"),
    ("cold", "cold"),
    ("hot", "hot"),
    ("paper", "paper"),
];

fn read_piece(line: &str) -> Result<Vec<Piece>, String> {
    let wrong = |why: &str| format!("piece `{line}`: {why}");
    let (word, rest) = line.trim().split_once(' ').unwrap_or((line.trim(), ""));
    let numbers = |count: usize| -> Result<Vec<f64>, String> {
        let read: Vec<f64> = rest
            .split_whitespace()
            .filter_map(|w| w.parse().ok())
            .collect();
        if read.len() == count {
            Ok(read)
        } else {
            Err(wrong(&format!("{count} numbers are expected")))
        }
    };
    let width_and_path = || -> Result<(f64, String), String> {
        let (width, path) = rest
            .trim()
            .split_once(' ')
            .ok_or_else(|| wrong("a width and a path are expected"))?;
        let width = width
            .parse()
            .map_err(|_| wrong("the width is not a number"))?;
        if !(0.1..=400.0).contains(&width) {
            return Err(wrong("the width must lie between 0.1 and 400 mm"));
        }
        Ok((width, checked(path).map_err(|why| wrong(&why))?))
    };
    let path = || checked(rest).map_err(|why| wrong(&why));
    Ok(match word {
        "tube" => {
            let (width, path) = width_and_path()?;
            vec![Piece::Tube(width, path)]
        }
        "ball" => {
            let n = numbers(3)?;
            vec![Piece::Ball(n[0], point(n[1], n[2]))]
        }
        "glass" => vec![Piece::Glass(path()?)],
        "line" => vec![Piece::Line(path()?)],
        "over" => vec![Piece::Over],
        "balls" => {
            let n = numbers(5)?;
            spread(n[2], n[3], n[4])
                .map(|y| Piece::Ball(n[0], point(n[1], y)))
                .collect()
        }
        "prongs" => {
            let n = numbers(5)?;
            let reach = n[0] * 0.36;
            spread(n[2], n[3], n[4])
                .flat_map(|y| {
                    let (left, right) = (n[1] - n[0] / 2.0, n[1] + n[0] / 2.0);
                    [
                        Piece::Line(format!("M{left} {y} l{reach:.2} 5 l-{reach:.2} -1")),
                        Piece::Line(format!(
                            "M{right} {} l-{reach:.2} 5 l{reach:.2} -1",
                            y + 7.0
                        )),
                    ]
                })
                .collect()
        }
        "beads" => {
            let n = numbers(4)?;
            beads(n[0], n[1], n[2], n[3])
        }
        "coil" => {
            let n = numbers(6)?;
            vec![Piece::Tube(n[0], coil(n[1], n[2], n[3], n[4], n[5]))]
        }
        _ => {
            let (stuff, shape) = word.split_once('-').unwrap_or((word, "shape"));
            let class = STUFFS
                .iter()
                .find(|(name, _)| *name == stuff)
                .map(|(_, class)| *class);
            match (class, shape) {
                (Some(class), "shape") => vec![Piece::Fill(class, path()?)],
                (Some(class), "rod") => {
                    let (width, path) = width_and_path()?;
                    vec![Piece::Bar(class, width, path)]
                }
                _ => {
                    return Err(wrong(&format!(
                        "`{word}` is no piece; see the list in the section on parts"
                    )));
                }
            }
        }
    })
}

fn checked(path: &str) -> Result<String, String> {
    flatten(path).map(|_| path.trim().to_owned())
}

fn spread(from: f64, to: f64, count: f64) -> impl Iterator<Item = f64> {
    let count = count.clamp(1.0, 60.0) as u32;
    (0..count).map(move |i| from + (to - from) * (f64::from(i) + 0.5) / f64::from(count))
}

/// Rows of little rings that fill a tube of width `wide` about `x` from `top` to `bottom`.
fn beads(wide: f64, x: f64, top: f64, bottom: f64) -> Vec<Piece> {
    let across = (wide / 5.0).round().clamp(1.0, 30.0);
    let size = wide / across;
    let rows = ((bottom - top) / (size * 0.88)).clamp(0.0, 80.0) as u32;
    let radius = size * 0.42;
    let mut path = String::new();
    for row in 0..rows {
        let y = top + size * (0.5 + 0.88 * f64::from(row));
        let count = if row % 2 == 0 { across } else { across - 1.0 };
        for column in 0..count as u32 {
            let left = x + size * (f64::from(column) - (count - 1.0) / 2.0) - radius;
            path += &format!(
                "M{left:.1} {y:.1}a{radius:.1} {radius:.1} 0 1 0 {0:.1} 0a{radius:.1} {radius:.1} 0 1 0 -{0:.1} 0",
                2.0 * radius
            );
        }
    }
    vec![Piece::Line(path)]
}

/// A tube wound round the axis at `x`, seen from the side.
fn coil(wide: f64, pitch: f64, x: f64, top: f64, bottom: f64) -> String {
    let turns = ((bottom - top) / pitch).clamp(1.0, 40.0) as u32;
    let pitch = (bottom - top) / f64::from(turns);
    let (left, right) = (x - wide / 2.0, x + wide / 2.0);
    let mut path = format!("M{x:.1} {top:.1}");
    for turn in 0..turns {
        let y = top + pitch * f64::from(turn);
        let at = |share: f64| y + pitch * share;
        path += &format!(
            "C{left:.1} {:.1} {left:.1} {:.1} {x:.1} {:.1}C{right:.1} {:.1} {right:.1} {:.1} {x:.1} {:.1}",
            at(0.0),
            at(0.35),
            at(0.5),
            at(0.65),
            at(1.0),
            at(1.0)
        );
    }
    path
}

/// Where liquid collects: half-widths at heights, from the bottom up; a body of revolution.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Cavity {
    pub axis: f64,
    /// (height y, half-width), y falling.
    pub profile: Vec<(f64, f64)>,
    /// Diameter and centre if the cavity is a ball, whose level stays flat however it is tilted.
    pub ball: Option<(f64, Point)>,
}

impl Cavity {
    fn read(line: &str) -> Result<Self, String> {
        let wrong = |why: &str| {
            format!("cavity `{line}`: {why}; write `ball 78 0 -39` or `profile 0: 20@0 20@-60`")
        };
        let (word, rest) = line
            .split_once(' ')
            .ok_or_else(|| wrong("it is too short"))?;
        match word {
            "ball" => {
                let n: Vec<f64> = rest
                    .split_whitespace()
                    .filter_map(|w| w.parse().ok())
                    .collect();
                let [wide, x, y] = n[..] else {
                    return Err(wrong("three numbers are expected"));
                };
                Ok(Self::ball(wide, point(x, y)))
            }
            "profile" => {
                let (axis, rest) = rest
                    .split_once(':')
                    .ok_or_else(|| wrong("`:` is missing"))?;
                let axis = axis
                    .trim()
                    .parse()
                    .map_err(|_| wrong("the axis is not a number"))?;
                let mut profile = Vec::new();
                for word in rest.split_whitespace() {
                    let pair = word
                        .split_once('@')
                        .and_then(|(r, y)| Some((y.parse().ok()?, r.parse().ok()?)));
                    profile.push(pair.ok_or_else(|| {
                        wrong(&format!("`{word}` is not a half-width and a height"))
                    })?);
                }
                if profile.len() < 2 || profile.windows(2).any(|pair| pair[1].0 >= pair[0].0) {
                    return Err(wrong(
                        "two or more heights are expected, from the bottom up",
                    ));
                }
                Ok(Self {
                    axis,
                    profile,
                    ball: None,
                })
            }
            _ => Err(wrong("unknown form")),
        }
    }

    pub fn ball(wide: f64, centre: Point) -> Self {
        let radius = wide / 2.0;
        let profile = (0..=48)
            .map(|i| {
                let (sin, cos) = libm::sincos(std::f64::consts::PI * f64::from(i) / 48.0);
                (centre.y + radius * cos, radius * sin)
            })
            .collect();
        Self {
            axis: centre.x,
            profile,
            ball: Some((wide, centre)),
        }
    }

    /// Volume up to the brim, mL.
    pub fn volume(&self) -> f64 {
        self.profile
            .windows(2)
            .map(|pair| frustum(pair[0].1, pair[1].1, pair[0].0 - pair[1].0))
            .sum()
    }

    /// The height y that `volume` mL reach; the brim if it is more than fits.
    pub fn level(&self, volume: f64) -> f64 {
        let mut left = volume;
        for pair in self.profile.windows(2) {
            let ((low, r), (high, s)) = (pair[0], pair[1]);
            let slice = frustum(r, s, low - high);
            if slice >= left {
                let (mut a, mut b) = (0.0, 1.0);
                for _ in 0..40 {
                    let share = (a + b) / 2.0;
                    if frustum(r, r + (s - r) * share, (low - high) * share) < left {
                        a = share
                    } else {
                        b = share
                    }
                }
                return low - (low - high) * a;
            }
            left -= slice;
        }
        self.profile.last().map_or(0.0, |p| p.0)
    }

    /// Half-width at height `y`.
    pub fn half_width(&self, y: f64) -> f64 {
        for pair in self.profile.windows(2) {
            let ((low, r), (high, s)) = (pair[0], pair[1]);
            if (high..=low).contains(&y) {
                return r + (s - r) * (low - y) / (low - high);
            }
        }
        0.0
    }
}

/// Volume of a cut cone, radii and height in mm, in mL.
fn frustum(r: f64, s: f64, height: f64) -> f64 {
    std::f64::consts::PI * height * (r * r + r * s + s * s) / 3000.0
}

/// Inner diameter in mm of a ball that holds so many mL: V = π·d³/6.
pub fn ball_diameter(volume: f64) -> f64 {
    libm::cbrt(6000.0 * volume / std::f64::consts::PI)
}

/// What an arrow shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Flow {
    /// Vapour on its way up and over.
    Vapour,
    /// Cooling water.
    Coolant,
    /// Gas: air, nitrogen, what the pump draws.
    Gas,
    /// Liquid that runs or drips.
    Liquid,
}

impl Flow {
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Vapour => "vapour",
            Self::Coolant => "coolant",
            Self::Gas => "gas",
            Self::Liquid => "run",
        }
    }
}

/// One part of the catalogue, of one size.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// The name authors write.
    pub name: String,
    /// What it is called in lists: trade words with size.
    pub label: String,
    /// Words of [`TRAITS`].
    pub traits: Vec<String>,
    /// Openings, undersides and seats.
    pub ports: Vec<Port>,
    pub(crate) pieces: Vec<Piece>,
    pub(crate) marks: Vec<Mark>,
    pub(crate) cavity: Option<Cavity>,
    pub(crate) flows: Vec<(Flow, String)>,
    /// Nominal volume in mL, 0 if it has none.
    pub volume: f64,
    /// For rods: the usable length in mm, 0 otherwise.
    pub length: f64,
    /// The caution this part brings, or nothing.
    pub caution: String,
    /// What may be taken instead.
    pub instead: Vec<String>,
    /// What comes with it in the kit list: `rubber cone 38`.
    pub with: Vec<String>,
}

/// The lines of one part, with every sum worked out.
#[derive(Debug, Default)]
pub(crate) struct Lines {
    pub name: String,
    pub label: String,
    pub traits: Vec<String>,
    pub ports: Vec<String>,
    pub draw: Vec<String>,
    pub marks: Vec<String>,
    pub cavity: String,
    pub flow: Vec<String>,
    pub volume: f64,
    pub length: f64,
    pub caution: String,
    pub instead: Vec<String>,
    pub with: Vec<String>,
}

impl Part {
    pub(crate) fn read(lines: Lines) -> Result<Self, String> {
        for word in &lines.traits {
            if !TRAITS.iter().any(|(name, _)| name == word) {
                let near = super::nearest(word, TRAITS.iter().map(|t| t.0)).unwrap_or_default();
                return Err(format!("`{word}` is no trait; did you mean `{near}`?"));
            }
        }
        let ports: Vec<Port> = lines
            .ports
            .iter()
            .map(|line| Port::read(line))
            .collect::<Result<_, _>>()?;
        if let Some(twice) = ports
            .iter()
            .enumerate()
            .find(|(i, p)| ports[..*i].iter().any(|q| q.name == p.name))
        {
            return Err(format!("two ports are called `{}`", twice.1.name));
        }
        let mut pieces = Vec::new();
        for line in &lines.draw {
            pieces.extend(read_piece(line)?);
        }
        if pieces.is_empty() {
            return Err("`draw` is empty, so there is nothing to see".into());
        }
        let mut flows = Vec::new();
        for line in &lines.flow {
            let (word, path) = line.split_once(' ').unwrap_or((line, ""));
            let flow = [Flow::Vapour, Flow::Coolant, Flow::Gas, Flow::Liquid]
                .into_iter()
                .find(|f| f.word() == word);
            let flow = flow.ok_or_else(|| {
                format!("`{word}` is no flow; known are vapour, coolant, gas, run")
            })?;
            flows.push((flow, checked(path)?));
        }
        let cavity = if lines.cavity.is_empty() {
            None
        } else {
            Some(Cavity::read(&lines.cavity)?)
        };
        Ok(Self {
            name: lines.name,
            label: lines.label,
            traits: lines.traits,
            ports,
            pieces,
            marks: lines
                .marks
                .iter()
                .map(|line| Mark::read(line))
                .collect::<Result<_, _>>()?,
            cavity,
            flows,
            volume: lines.volume,
            length: lines.length,
            caution: lines.caution,
            instead: lines.instead,
            with: lines.with,
        })
    }

    pub(crate) fn is(&self, word: &str) -> bool {
        self.traits.iter().any(|t| t == word)
    }

    pub(crate) fn port(&self, name: &str) -> Option<usize> {
        self.ports.iter().position(|port| port.name == name)
    }

    pub(crate) fn mark(&self, what: &str) -> Option<&Mark> {
        self.marks.iter().find(|mark| mark.what == what)
    }

    /// Outline of a ground joint, in the part's own millimetres: wide end at the port.
    pub(crate) fn ground_outline(&self, port: usize) -> Option<[Point; 4]> {
        let port = &self.ports[port];
        let along = match port.joint.fit {
            Fit::Cone => step(port.towards),
            Fit::Socket => step(port.towards + 180.0),
            _ => return None,
        };
        let across = along.turned(90.0);
        let (wide, narrow) = (
            port.joint.diameter / 2.0,
            (port.joint.diameter - port.joint.length / 10.0) / 2.0,
        );
        let far = port.at.plus(along.times(port.joint.length));
        Some([
            port.at.minus(across.times(wide)),
            port.at.plus(across.times(wide)),
            far.plus(across.times(narrow)),
            far.minus(across.times(narrow)),
        ])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ball_is_half_full_at_its_middle() {
        let cavity = Cavity::ball(ball_diameter(250.0), point(0.0, -40.0));
        assert!((cavity.volume() - 250.0).abs() < 1.0, "{}", cavity.volume());
        assert!(
            (cavity.level(125.0) + 40.0).abs() < 0.3,
            "{}",
            cavity.level(125.0)
        );
    }

    #[test]
    fn ground_joints_taper_one_in_ten() {
        // ISO 383: taper 1:10, so 24/29 is 24.0 mm wide at one end and 21.1 mm at the other.
        let part = Part::read(Lines {
            ports: vec!["a cone 24/29 at 0 0 down".into()],
            draw: vec!["tube 10 M0 0 V-20".into()],
            ..Lines::default()
        })
        .unwrap();
        let [a, b, c, d] = part.ground_outline(0).unwrap();
        assert!((b.minus(a).length() - 24.0).abs() < 1e-9);
        assert!((c.minus(d).length() - 21.1).abs() < 1e-9);
    }
}
