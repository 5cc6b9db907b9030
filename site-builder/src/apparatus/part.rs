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

use super::cavity::Cavity;
pub use super::cavity::ball_diameter;
pub(crate) use super::joint::Misfit;
pub use super::joint::{Fit, Joint};
pub(crate) use super::outline::Piece;
use super::outline::{checked, read_piece};
use super::path::{Point, point, step};
use crate::finding::choice;

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
                let known: Vec<&str> = TRAITS.iter().map(|(name, _)| *name).collect();
                return Err(format!("`{word}` is no trait; {}", choice(word, &known)));
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
