//! Points, turns and SVG paths broken into short straight pieces.
//!
//! Only the drawing writes paths; everything that must know where a line runs (bounds, free room
//! for the callouts) works on these pieces.

use super::expression::shown;

/// A point in millimetres; y grows downwards, as in SVG.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Point {
    pub x: f64,
    pub y: f64,
}

pub(crate) const fn point(x: f64, y: f64) -> Point {
    Point { x, y }
}

impl Point {
    pub fn plus(self, other: Self) -> Self {
        point(self.x + other.x, self.y + other.y)
    }

    pub fn minus(self, other: Self) -> Self {
        point(self.x - other.x, self.y - other.y)
    }

    pub fn times(self, factor: f64) -> Self {
        point(self.x * factor, self.y * factor)
    }

    pub fn length(self) -> f64 {
        (self.x * self.x + self.y * self.y).sqrt()
    }

    /// Turned clockwise (as seen on the page) by so many degrees.
    pub fn turned(self, degrees: f64) -> Self {
        let (sin, cos) = libm::sincos(degrees.to_radians());
        point(self.x * cos - self.y * sin, self.x * sin + self.y * cos)
    }
}

/// The unit step in a direction; 0° is up, 90° right, 180° down.
pub(crate) fn step(degrees: f64) -> Point {
    point(0.0, -1.0).turned(degrees)
}

/// Tenths of a millimetre: finer than a hair on paper.
pub(crate) fn shown1(number: f64) -> String {
    shown((number * 10.0).round() / 10.0)
}

/// A point as a path writes it.
pub(crate) fn xy(p: Point) -> String {
    format!("{} {}", shown1(p.x), shown1(p.y))
}

/// A box round points.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Bounds {
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
}

impl Bounds {
    pub const NONE: Self = Self {
        left: f64::INFINITY,
        top: f64::INFINITY,
        right: f64::NEG_INFINITY,
        bottom: f64::NEG_INFINITY,
    };

    pub fn add(&mut self, p: Point, margin: f64) {
        self.left = self.left.min(p.x - margin);
        self.right = self.right.max(p.x + margin);
        self.top = self.top.min(p.y - margin);
        self.bottom = self.bottom.max(p.y + margin);
    }

    /// A line so many millimetres thick to each side, with flat ends.
    pub fn add_line(&mut self, line: &[Point], half: f64) {
        for pair in line.windows(2) {
            let way = pair[1].minus(pair[0]);
            let across = point(-way.y, way.x).times(half / way.length().max(1e-9));
            for end in pair {
                self.add(end.plus(across), 0.0);
                self.add(end.minus(across), 0.0);
            }
        }
    }

    pub fn join(&mut self, other: &Self) {
        if other.left <= other.right {
            self.add(point(other.left, other.top), 0.0);
            self.add(point(other.right, other.bottom), 0.0);
        }
    }
}

/// The lines of an SVG path, curves broken into short pieces.
///
/// Knows M, L, H, V, C, Q, A and Z, in capital and small letters.
pub(crate) fn flatten(path: &str) -> Result<Vec<Vec<Point>>, String> {
    let mut lines: Vec<Vec<Point>> = Vec::new();
    let mut at = point(0.0, 0.0);
    let mut start = at;
    let mut words = Words::of(path);
    while let Some(command) = words.command()? {
        let relative = command.is_ascii_lowercase();
        let mut first = true;
        loop {
            let from = if relative { at } else { point(0.0, 0.0) };
            let mut line = lines.pop().unwrap_or_default();
            match command.to_ascii_uppercase() {
                'M' => {
                    at = words.point()?.plus(from);
                    if first {
                        if !line.is_empty() {
                            lines.push(line);
                        }
                        line = Vec::new();
                        start = at;
                    }
                    line.push(at);
                }
                'L' => {
                    at = words.point()?.plus(from);
                    line.push(at);
                }
                'H' => {
                    at.x = words.number()? + from.x;
                    line.push(at);
                }
                'V' => {
                    at.y = words.number()? + from.y;
                    line.push(at);
                }
                'C' => {
                    let (b, c, d) = (
                        words.point()?.plus(from),
                        words.point()?.plus(from),
                        words.point()?.plus(from),
                    );
                    line.extend(cubic(at, b, c, d));
                    at = d;
                }
                'Q' => {
                    let (b, c) = (words.point()?.plus(from), words.point()?.plus(from));
                    let third = |p: Point, q: Point| p.plus(q.minus(p).times(2.0 / 3.0));
                    line.extend(cubic(at, third(at, b), third(c, b), c));
                    at = c;
                }
                'A' => {
                    let (rx, _ry, _turn) = (words.number()?, words.number()?, words.number()?);
                    let (large, sweep) = (words.number()? > 0.5, words.number()? > 0.5);
                    let end = words.point()?.plus(from);
                    line.extend(arc(at, end, rx, large, sweep));
                    at = end;
                }
                'Z' => {
                    at = start;
                    line.push(at);
                }
                other => {
                    return Err(format!(
                        "`{path}`: `{other}` is not a path command known here"
                    ));
                }
            }
            lines.push(line);
            first = false;
            if command.eq_ignore_ascii_case(&'Z') || !words.number_follows() {
                break;
            }
        }
    }
    if lines.iter().all(|line| line.len() < 2) {
        return Err(format!("`{path}` draws nothing"));
    }
    Ok(lines)
}

fn cubic(a: Point, b: Point, c: Point, d: Point) -> impl Iterator<Item = Point> {
    (1..=12).map(move |i| cubic_at(a, b, c, d, f64::from(i) / 12.0))
}

/// The point a share `t` along a cubic curve.
pub(crate) fn cubic_at(a: Point, b: Point, c: Point, d: Point, t: f64) -> Point {
    let s = 1.0 - t;
    a.times(s * s * s)
        .plus(b.times(3.0 * s * s * t))
        .plus(c.times(3.0 * s * t * t))
        .plus(d.times(t * t * t))
}

/// A circular arc by its end points; a radius too small is widened, as SVG does.
fn arc(from: Point, to: Point, radius: f64, large: bool, sweep: bool) -> Vec<Point> {
    let chord = to.minus(from);
    let half = chord.length() / 2.0;
    if half < 1e-9 {
        return vec![to];
    }
    let radius = radius.max(half);
    let height = (radius * radius - half * half).max(0.0).sqrt();
    let side = if large == sweep { -1.0 } else { 1.0 };
    let normal = point(-chord.y, chord.x).times(1.0 / (2.0 * half));
    let centre = from
        .plus(chord.times(0.5))
        .plus(normal.times(side * height));
    let angle = |p: Point| libm::atan2(p.y - centre.y, p.x - centre.x);
    let (begin, mut span) = (angle(from), angle(to) - angle(from));
    let round = std::f64::consts::TAU;
    if sweep && span < 0.0 {
        span += round;
    }
    if !sweep && span > 0.0 {
        span -= round;
    }
    (1..=24)
        .map(|i| {
            let (sin, cos) = libm::sincos(begin + span * f64::from(i) / 24.0);
            point(centre.x + radius * cos, centre.y + radius * sin)
        })
        .collect()
}

/// A path's letters and numbers, one by one.
pub(super) struct Words<'a> {
    rest: &'a str,
}

impl<'a> Words<'a> {
    pub fn of(path: &'a str) -> Self {
        Words { rest: path }
    }

    fn skip(&mut self) {
        self.rest = self
            .rest
            .trim_start_matches(|c: char| c.is_whitespace() || c == ',');
    }

    pub fn command(&mut self) -> Result<Option<char>, String> {
        self.skip();
        match self.rest.chars().next() {
            None => Ok(None),
            Some(letter) if letter.is_ascii_alphabetic() => {
                self.rest = &self.rest[1..];
                Ok(Some(letter))
            }
            Some(_) => Err(format!("a path command is missing before `{}`", self.rest)),
        }
    }

    pub fn number_follows(&mut self) -> bool {
        self.skip();
        self.rest
            .starts_with(|c: char| c.is_ascii_digit() || c == '-' || c == '.')
    }

    pub fn number(&mut self) -> Result<f64, String> {
        self.skip();
        let end = self
            .rest
            .char_indices()
            .find(|(i, c)| !(c.is_ascii_digit() || *c == '.' || (*c == '-' && *i == 0)))
            .map_or(self.rest.len(), |(i, _)| i);
        let (word, rest) = self.rest.split_at(end);
        self.rest = rest;
        word.parse()
            .map_err(|_| format!("a number is missing in a path before `{word}{rest}`"))
    }

    pub fn point(&mut self) -> Result<Point, String> {
        Ok(point(self.number()?, self.number()?))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_half_circle_goes_the_way_svg_says() {
        // SVG 2, section 9.3.8: sweep-flag 1 draws the arc in the direction of growing angles (clockwise on the page).
        let line = &flatten("M-10 0 A10 10 0 0 1 10 0").unwrap()[0];
        let top = line.iter().fold(0.0_f64, |low, p| low.min(p.y));
        assert!((top + 10.0).abs() < 0.1, "{top}");
    }

    #[test]
    fn a_quarter_turn_is_clockwise() {
        let right = step(90.0);
        assert!((right.x - 1.0).abs() < 1e-12 && right.y.abs() < 1e-12);
    }
}
