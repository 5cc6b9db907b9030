//! The pieces of an outline, read from their lines in the data.
//!
//! Glass is described by what it encloses: a tube by its axis and inner width, a ball by its
//! diameter. The drawing adds the wall.

use super::path::{Point, flatten, point};

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

pub(crate) fn read_piece(line: &str) -> Result<Vec<Piece>, String> {
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
            if !(0.1..=1000.0).contains(&n[0]) {
                return Err(wrong("the diameter must lie between 0.1 and 1000 mm"));
            }
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

/// A path that draws something, trimmed.
pub(crate) fn checked(path: &str) -> Result<String, String> {
    let far = |line: &Vec<Point>| {
        line.iter()
            .any(|p| p.x.abs() > 3000.0 || p.y.abs() > 3000.0)
    };
    if flatten(path)?.iter().any(far) {
        return Err(format!("`{path}` runs more than 3 m away"));
    }
    Ok(path.trim().to_owned())
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
