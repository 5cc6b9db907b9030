//! The drawing's paths in fewer bytes: steps from the place before instead of places, tenths of a
//! millimetre, no letter twice running, no blank that can be spared. The lines stay the same to
//! a tenth of a millimetre, and they no longer hang on where a part stands, so they pack well.

use super::path::{Point, Words, point};

/// The drawing with every path squeezed.
pub(crate) fn squeezed(svg: &str) -> String {
    let mut pieces = svg.split(" d=\"");
    let mut short = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        let (path, rest) = piece.split_once('"').unwrap_or((piece, ""));
        let path = in_steps(path).unwrap_or_else(|_| path.to_owned());
        short.push_str(" d=\"");
        short.push_str(&path);
        short.push('"');
        short.push_str(rest);
    }
    short
}

/// One path in steps.
///
/// # Errors
/// What [`flatten`](super::path::flatten) says of a path that it cannot read.
fn in_steps(path: &str) -> Result<String, String> {
    let mut words = Words::of(path);
    let mut pen = Pen::default();
    while let Some(command) = words.command()? {
        let from = |at: Point| {
            if command.is_ascii_lowercase() {
                at
            } else {
                point(0.0, 0.0)
            }
        };
        let mut letter = command.to_ascii_uppercase();
        loop {
            let (at, origin) = (pen.asked, from(pen.asked));
            match letter {
                'M' => {
                    pen.lift(words.point()?.plus(origin));
                    letter = 'L'; // places that follow one another are lines
                }
                'H' => pen.across(words.number()? + origin.x),
                'V' => pen.down(words.number()? + origin.y),
                'L' => {
                    let to = words.point()?.plus(origin);
                    if (to.x - at.x).abs() < 0.04 {
                        pen.down(to.y);
                    } else if (to.y - at.y).abs() < 0.04 {
                        pen.across(to.x);
                    } else {
                        pen.go('l', &[], &[to]);
                    }
                }
                'C' => {
                    let (b, c) = (words.point()?.plus(origin), words.point()?.plus(origin));
                    let to = words.point()?.plus(origin);
                    pen.go('c', &[], &[b, c, to]);
                }
                'Q' => {
                    let b = words.point()?.plus(origin);
                    let to = words.point()?.plus(origin);
                    pen.go('q', &[], &[b, to]);
                }
                'A' => {
                    let mut shape = [0.0; 5];
                    for number in &mut shape {
                        *number = words.number()?;
                    }
                    let to = words.point()?.plus(origin);
                    pen.go('a', &shape, &[to]);
                }
                'Z' => pen.close(),
                other => return Err(format!("`{other}` is not a path command known here")),
            }
            if letter == 'Z' || !words.number_follows() {
                break;
            }
        }
    }
    Ok(pen.text)
}

/// What has been written, where it has led, and where it was asked to lead: rounding never adds up.
struct Pen {
    text: String,
    command: char,
    start: Point,
    asked: Point,
    written: Point,
}

impl Default for Pen {
    fn default() -> Self {
        let zero = point(0.0, 0.0);
        Self {
            text: String::new(),
            command: ' ',
            start: zero,
            asked: zero,
            written: zero,
        }
    }
}

impl Pen {
    fn lift(&mut self, to: Point) {
        self.command = ' ';
        self.letter('M');
        self.number(tenths(to.x));
        self.number(tenths(to.y));
        (self.start, self.asked) = (to, to);
        self.written = point(tenths(to.x), tenths(to.y));
    }

    fn across(&mut self, x: f64) {
        self.letter('h');
        self.number(tenths(x - self.written.x));
        self.asked.x = x;
        self.written.x = tenths(self.written.x + tenths(x - self.written.x));
    }

    fn down(&mut self, y: f64) {
        self.letter('v');
        self.number(tenths(y - self.written.y));
        self.asked.y = y;
        self.written.y = tenths(self.written.y + tenths(y - self.written.y));
    }

    /// A line of any other kind: numbers as they are, then points, the last of which it leads to.
    fn go(&mut self, letter: char, shape: &[f64], points: &[Point]) {
        self.letter(letter);
        for number in shape {
            self.number(tenths(*number));
        }
        let from = self.written;
        for p in points {
            let step = p.minus(from);
            self.number(tenths(step.x));
            self.number(tenths(step.y));
            self.asked = *p;
            self.written = point(
                tenths(from.x + tenths(step.x)),
                tenths(from.y + tenths(step.y)),
            );
        }
    }

    fn close(&mut self) {
        self.letter('z');
        self.command = ' ';
        self.asked = self.start;
        self.written = point(tenths(self.start.x), tenths(self.start.y));
    }

    fn letter(&mut self, letter: char) {
        if self.command != letter {
            self.text.push(letter);
            self.command = letter;
        }
    }

    fn number(&mut self, number: f64) {
        let number = if number == 0.0 { 0.0 } else { number };
        let apart = self.text.ends_with(|c: char| c.is_ascii_digit()) && number >= 0.0;
        if apart {
            self.text.push(' ');
        }
        self.text.push_str(&format!("{number}"));
    }
}

fn tenths(number: f64) -> f64 {
    (number * 10.0).round() / 10.0
}

#[cfg(test)]
mod tests {
    use super::super::path::flatten;
    use super::*;

    #[test]
    fn writes_steps() {
        assert_eq!(
            squeezed(
                "<path class=\"edge\" d=\"M10 20 L30 20 L30.04 -5.5 L0 0 L1 1 Z\"/><path d=\"M0 0 h5 H7 A4 4 0 0 1 9 3.26\"/>"
            ),
            "<path class=\"edge\" d=\"M10 20h20v-25.5l-30 5.5 1 1z\"/><path d=\"M0 0h5 2a4 4 0 0 1 2 3.3\"/>"
        );
    }

    #[test]
    fn leads_to_the_same_places() {
        let path = "M-20 -30 -17.33 -34 C-12.21 -13 -8 -12.07 0 -14.11 Q8 -12 12.34 -13 L17.77 -8 V-20.55 H3.33 a2 2 0 1 0 4 0 Z M5 5 L6.66 7.77 8.88 9.99";
        let (long, short) = (
            flatten(path).unwrap(),
            flatten(&in_steps(path).unwrap()).unwrap(),
        );
        assert_eq!(long.len(), short.len());
        for (a, b) in long.iter().flatten().zip(short.iter().flatten()) {
            assert!(a.minus(*b).length() < 0.11, "{a:?} {b:?}");
        }
    }

    #[test]
    fn leaves_what_it_cannot_read() {
        assert_eq!(squeezed("<path d=\"S1\"/>"), "<path d=\"S1\"/>");
    }
}
