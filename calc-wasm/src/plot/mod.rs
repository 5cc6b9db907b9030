//! Plots: what is drawn, and drawing it as SVG with a title, a description and a data table.
//!
//! Colours and strokes come from the page's style sheet by class; the drawing carries geometry
//! and words only, so that it prints, inverts for a dark page and passes a strict policy.

use crate::sentence::Sentence;

mod scale;
mod svg;

/// A picture that answers a calculator's question at a glance.
#[derive(Debug, Clone)]
pub struct Plot {
    /// What it shows.
    pub title: Sentence,
    /// What a reader sees in it, in one or two sentences, for those who cannot.
    pub description: Sentence,
    /// The axis along the bottom.
    pub x: Axis,
    /// The axis up the side.
    pub y: Axis,
    /// What is drawn, from back to front.
    pub layers: Vec<Layer>,
}

/// One axis.
#[derive(Debug, Clone, Default)]
pub struct Axis {
    /// What it measures.
    pub label: Sentence,
    /// Unit; empty for a bare number.
    pub unit: &'static str,
    /// Whether it is logarithmic.
    pub log: bool,
    /// Ends of the axis; worked out from what is drawn where not given.
    pub ends: Option<(f64, f64)>,
}

/// One thing drawn.
#[derive(Debug, Clone)]
pub struct Layer {
    /// How it is drawn.
    pub kind: Kind,
    /// Its name in the legend and the table, or written on it.
    pub label: Sentence,
    /// Its numbers, as the kind says.
    points: Vec<[f64; 3]>,
    /// The names of ranks.
    names: Vec<String>,
}

/// How a layer is drawn, and what its numbers are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A curve through x, y.
    Line,
    /// The band of uncertainty around a curve: x, lower, upper.
    Band,
    /// Single points x, y without a line.
    Points,
    /// Columns from the bottom: start, end, height.
    Bars,
    /// Level bars with a name each, from the top down: start, end. With these the axis up the
    /// side only counts, and bears no numbers.
    Ranks,
    /// A zone between two x values, such as a pool of fractions: start, end.
    Zone,
    /// A level line across: nothing, y.
    Level,
    /// An upright line: x.
    Upright,
    /// The working point x, y, then the half-widths of its error.
    Mark,
}

impl Layer {
    /// Adds a point of a line or of points.
    #[inline(never)]
    pub fn point(&mut self, x: f64, y: f64) -> &mut Self {
        self.three(x, y, 0.0)
    }

    /// Adds a point for each x of `along`, at the height that `height` gives.
    #[inline(never)]
    pub fn follow(&mut self, along: Spread, height: &dyn Fn(f64) -> f64) -> &mut Self {
        for x in along {
            self.point(x, height(x));
        }
        self
    }

    /// Adds three numbers: of a band x, lower and upper; of bars start, end and height.
    #[inline(never)]
    pub fn three(&mut self, a: f64, b: f64, c: f64) -> &mut Self {
        self.points.push([a, b, c]);
        self
    }

    /// Adds a level bar; a blank name is not written.
    #[inline(never)]
    pub fn rank(&mut self, name: &str, from: f64, to: f64) -> &mut Self {
        self.names.push(name.to_string());
        self.three(from, to, 0.0)
    }

    /// Gives a working point the half-widths of its error; 0 for none.
    #[inline(never)]
    pub fn error(&mut self, dx: f64, dy: f64) -> &mut Self {
        self.three(dx, dy, 0.0)
    }

    /// Fills the next gap of its name with a number.
    #[inline(never)]
    pub fn number(&mut self, value: f64) -> &mut Self {
        self.label.number(value);
        self
    }

    /// Fills the next gap of its name with a text.
    #[inline(never)]
    pub fn text(&mut self, words: &str) -> &mut Self {
        self.label.text(words);
        self
    }

    /// Whether it is one of several that a reader tells apart by colour.
    fn is_series(&self) -> bool {
        matches!(
            self.kind,
            Kind::Line | Kind::Points | Kind::Bars | Kind::Ranks
        )
    }

    /// Whether it has a colour of its kind.
    fn is_area(&self) -> bool {
        matches!(self.kind, Kind::Band | Kind::Zone)
    }

    /// The half-widths of a working point's error.
    fn errors(&self) -> [f64; 2] {
        self.points.get(1).map_or([0.0; 2], |e| [e[0], e[1]])
    }
}

impl Axis {
    /// Makes it linear.
    #[inline(never)]
    pub fn linear(&mut self, label: &'static str, unit: &'static str) -> &mut Self {
        self.label = Sentence::new(label);
        self.unit = unit;
        self
    }

    /// Makes it logarithmic.
    #[inline(never)]
    pub fn log(&mut self, label: &'static str, unit: &'static str) -> &mut Self {
        self.log = true;
        self.linear(label, unit)
    }

    /// Fixes its ends.
    #[inline(never)]
    pub fn from_to(&mut self, low: f64, high: f64) -> &mut Self {
        self.ends = Some((low, high));
        self
    }
}

impl Plot {
    /// An empty plot.
    pub fn new(title: &'static str, description: &'static str) -> Self {
        Plot {
            title: Sentence::new(title),
            description: Sentence::new(description),
            x: Axis::default(),
            y: Axis::default(),
            layers: Vec::new(),
        }
    }

    #[inline(never)]
    fn layer(&mut self, kind: Kind, label: &'static str) -> &mut Layer {
        self.layers.push_mut(Layer {
            kind,
            label: Sentence::new(label),
            points: Vec::new(),
            names: Vec::new(),
        })
    }

    /// Draws a curve, to be given its points.
    pub fn line(&mut self, label: &'static str) -> &mut Layer {
        self.layer(Kind::Line, label)
    }

    /// Draws a band, to be given its points: x, lower, upper.
    pub fn band(&mut self, label: &'static str) -> &mut Layer {
        self.layer(Kind::Band, label)
    }

    /// Draws single points, to be given.
    pub fn points(&mut self, label: &'static str) -> &mut Layer {
        self.layer(Kind::Points, label)
    }

    /// Draws columns, to be given: start, end, height.
    pub fn bars(&mut self, label: &'static str) -> &mut Layer {
        self.layer(Kind::Bars, label)
    }

    /// Draws level bars with a name each, to be given from the top down.
    pub fn ranks(&mut self, label: &'static str) -> &mut Layer {
        self.layer(Kind::Ranks, label)
    }

    /// Draws a zone between two x values.
    pub fn zone(&mut self, label: &'static str, from: f64, to: f64) -> &mut Layer {
        self.layer(Kind::Zone, label).point(from, to)
    }

    /// Draws a level line across.
    pub fn level(&mut self, label: &'static str, y: f64) -> &mut Layer {
        self.layer(Kind::Level, label).point(0.0, y)
    }

    /// Draws an upright line.
    pub fn upright(&mut self, label: &'static str, x: f64) -> &mut Layer {
        self.layer(Kind::Upright, label).point(x, 0.0)
    }

    /// Marks the working point; [`Layer::error`] draws a box around it.
    pub fn mark(&mut self, label: &'static str, x: f64, y: f64) -> &mut Layer {
        self.layer(Kind::Mark, label).point(x, y)
    }
}

impl Plot {
    /// Leaves of the curves what lies around the working points.
    pub fn around_marks(&mut self) {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for layer in &self.layers {
            if let (Kind::Mark, Some(point)) = (layer.kind, layer.points.first()) {
                let [error, _] = layer.errors();
                low = low.min(point[0] - error);
                high = high.max(point[0] + error);
            }
        }
        let room = if self.x.log { high / 2.0 } else { high - low };
        let (low, high) = (low - room / 2.0, high + room);
        for layer in &mut self.layers {
            if matches!(layer.kind, Kind::Line | Kind::Band) {
                let points = &mut layer.points;
                // One more at each end, so that no curve begins short of the axis.
                let last = points.iter().position(|point| point[0] >= high);
                points.truncate(last.map_or(points.len(), |last| last + 1));
                let before = points.iter().take_while(|point| point[0] <= low).count();
                points.drain(..before.saturating_sub(1));
            }
        }
    }
}

/// Values evenly spread, both ends included.
#[derive(Debug, Clone)]
pub struct Spread {
    low: f64,
    high: f64,
    log: bool,
    next: usize,
    steps: usize,
}

/// `count` values evenly spread from `low` to `high`, both included.
#[inline(never)]
pub fn spread(low: f64, high: f64, count: usize) -> Spread {
    Spread {
        low,
        high,
        log: false,
        next: 0,
        steps: count.max(2) - 1,
    }
}

/// `count` values spread evenly by ratio from `low` to `high`, both included.
#[inline(never)]
pub fn spread_log(low: f64, high: f64, count: usize) -> Spread {
    Spread {
        log: true,
        ..spread(libm::log(low), libm::log(high), count)
    }
}

impl Iterator for Spread {
    type Item = f64;

    // Not inlined: every curve is drawn along one, and the page's download pays for each.
    #[inline(never)]
    fn next(&mut self) -> Option<f64> {
        if self.next > self.steps {
            return None;
        }
        let at = self.low + (self.high - self.low) * self.next as f64 / self.steps as f64;
        self.next += 1;
        Some(if self.log { libm::exp(at) } else { at })
    }
}
