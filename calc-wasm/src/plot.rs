//! Plots: what is drawn, and drawing it as SVG with a title, a description and a data table.
//!
//! Colours and strokes come from the page's style sheet by class; the drawing carries geometry
//! and words only, so that it prints, inverts for a dark page and passes a strict policy.

use crate::quantity::number;
use crate::report::escape;
use crate::sentence::Sentence;

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

    #[inline(never)]
    fn words(&self) -> String {
        if self.unit.is_empty() {
            self.label.to_string()
        } else {
            format!("{} / {}", self.label, self.unit)
        }
    }
}

/// Size of the drawing in its own units; at 360 wide it stands 1:1 on a phone.
const WIDTH: f64 = 360.0;
const HEIGHT: f64 = 250.0;
/// Room for labels: left, top, right, bottom.
const LEFT: f64 = 48.0;
const TOP: f64 = 14.0;
const RIGHT: f64 = 12.0;
const BOTTOM: f64 = 40.0;
/// Rows of the data table for each curve.
const TABLE_ROWS: usize = 11;

/// An axis with its ends, and where it lies on paper.
struct Scale {
    low: f64,
    high: f64,
    log: bool,
    start: f64,
    end: f64,
}

impl Scale {
    fn new(axis: &Axis, values: &[f64], start: f64, end: f64) -> Self {
        let usable = |v: &f64| v.is_finite() && (!axis.log || *v > 0.0);
        let least = values
            .iter()
            .copied()
            .filter(usable)
            .fold(f64::INFINITY, f64::min);
        let most = values
            .iter()
            .copied()
            .filter(usable)
            .fold(f64::NEG_INFINITY, f64::max);
        let (mut low, mut high) = axis.ends.unwrap_or((least, most));
        if !low.is_finite() || !high.is_finite() {
            (low, high) = if axis.log { (1.0, 10.0) } else { (0.0, 1.0) };
        }
        if axis.log {
            low = low.max(1e-12);
            high = high.max(low * 1.5);
        } else {
            if axis.ends.is_none() {
                let room = (high - low) * 0.05;
                // A scale that nearly starts at nought had better start there.
                low = if low >= 0.0 && low < 0.3 * high {
                    0.0
                } else {
                    low - room
                };
                high += room;
            }
            if high - low < 1e-9 * high.abs().max(1.0) {
                (low, high) = (low - 1.0, high + 1.0);
            }
        }
        Scale {
            low,
            high,
            log: axis.log,
            start,
            end,
        }
    }

    fn at(&self, value: f64) -> f64 {
        let share = if self.log {
            let value = value.max(self.low * 1e-3);
            libm::log(value / self.low) / libm::log(self.high / self.low)
        } else {
            (value - self.low) / (self.high - self.low)
        };
        self.start + share.clamp(-0.05, 1.05) * (self.end - self.start)
    }

    fn holds(&self, value: f64) -> bool {
        let slack = 1e-9 * (self.high - self.low);
        value >= self.low - slack && value <= self.high + slack
    }

    /// Round values to mark, five or so.
    fn ticks(&self) -> Vec<f64> {
        let mut ticks = Vec::new();
        if self.log {
            let decades = libm::log10(self.high / self.low);
            let steps: &[f64] = if decades > 2.5 {
                &[1.0]
            } else if decades > 1.0 {
                &[1.0, 3.0]
            } else {
                &[1.0, 2.0, 3.0, 5.0, 7.0]
            };
            for place in number::magnitude(self.low)..=number::magnitude(self.high) {
                ticks.extend(
                    steps
                        .iter()
                        .map(|step| step * libm::pow(10.0, f64::from(place)))
                        .filter(|v| self.holds(*v)),
                );
            }
        } else {
            let raw = (self.high - self.low) / 5.0;
            let ten = libm::pow(10.0, f64::from(number::magnitude(raw)));
            let step = [1.0, 2.0, 5.0, 10.0]
                .into_iter()
                .map(|m| m * ten)
                .find(|s| *s >= raw * 0.999)
                .unwrap_or(10.0 * ten);
            let mut count = libm::ceil(self.low / step - 1e-9);
            while count * step <= self.high + 1e-9 * step && ticks.len() < 12 {
                ticks.push(if count == 0.0 { 0.0 } else { count * step });
                count += 1.0;
            }
        }
        ticks
    }
}

/// A coordinate: a tenth of a unit is finer than any screen.
#[inline(never)]
fn at(value: f64) -> String {
    let text = number::fixed(value, 1);
    // SVG knows only the plain hyphen.
    text.strip_suffix(".0").unwrap_or(&text).replace('−', "-")
}

/// Writes `template` with each `#` replaced by the next of `values`. One call for a whole
/// element: a formatted string for each coordinate would double the drawing's share of the
/// download.
fn put(out: &mut String, template: &str, values: &[f64]) {
    let mut values = values.iter();
    for c in template.chars() {
        match (c, values.as_slice()) {
            ('#', [value, ..]) => {
                out.push_str(&at(*value));
                values.next();
            }
            _ => out.push(c),
        }
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
        self.layers.push(Layer {
            kind,
            label: Sentence::new(label),
            points: Vec::new(),
            names: Vec::new(),
        });
        let last = self.layers.len() - 1;
        &mut self.layers[last]
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

    /// The figure: drawing, legend and data table. `id` must be unique in the page.
    pub fn html(&self, id: &str) -> String {
        let mut out = String::new();
        out.push_str("<figure class=\"plot\">");
        self.draw(id, &mut out);
        self.legend(&mut out);
        self.table(&mut out);
        out.push_str("</figure>");
        out
    }

    fn draw(&self, id: &str, out: &mut String) {
        let (xs, ys) = self.values();
        let x = Scale::new(&self.x, &xs, LEFT, WIDTH - RIGHT);
        let y = Scale::new(&self.y, &ys, HEIGHT - BOTTOM, TOP);
        out.push_str(&format!(
            "<svg viewBox=\"0 0 {} {}\" role=\"img\" aria-labelledby=\"{id}-t {id}-d\"><title id=\"{id}-t\">{}</title><desc id=\"{id}-d\">{}</desc>",
            at(WIDTH), at(HEIGHT), escape(&self.title), escape(&self.description)
        ));
        self.axes(&x, &y, out);
        let mut series = 0;
        let mut names = Names {
            taken: Vec::new(),
            right: x.end,
        };
        // A name must not cover a working point, whichever is drawn first.
        for layer in &self.layers {
            if let (Kind::Mark, Some(point)) = (layer.kind, layer.points.first()) {
                let (px, py) = (x.at(point[0]), y.at(point[1]));
                names.taken.push([px - 6.0, py - 6.0, px + 6.0, py + 6.0]);
            }
        }
        for layer in &self.layers {
            layer.draw(&x, &y, &mut series, &mut names, out);
        }
        out.push_str("</svg>");
    }

    /// All that is drawn along x, and along y.
    fn values(&self) -> (Vec<f64>, Vec<f64>) {
        let (mut xs, mut ys) = (Vec::new(), Vec::new());
        for layer in &self.layers {
            let [dx, dy] = layer.errors();
            for &[a, b, c] in &layer.points {
                match layer.kind {
                    Kind::Line | Kind::Points => {
                        xs.push(a);
                        ys.push(b);
                    }
                    Kind::Band => {
                        xs.push(a);
                        ys.extend([b, c]);
                    }
                    Kind::Bars => {
                        xs.extend([a, b]);
                        ys.extend([c, 0.0]);
                    }
                    Kind::Ranks => {
                        xs.extend([a, b]);
                        ys.extend([0.0, layer.points.len() as f64]);
                    }
                    Kind::Zone => xs.extend([a, b]),
                    Kind::Level => ys.push(b),
                    Kind::Upright => xs.push(a),
                    Kind::Mark => {
                        xs.extend([a - dx, a + dx]);
                        ys.extend([b - dy, b + dy]);
                        // The second point is the error itself.
                        break;
                    }
                }
            }
        }
        (xs, ys)
    }

    fn axes(&self, x: &Scale, y: &Scale, out: &mut String) {
        let mut grid = String::new();
        let mut words = String::new();
        for tick in x.ticks() {
            let place = x.at(tick);
            put(&mut grid, "M# #V#", &[place, y.start, y.end]);
            put(
                &mut words,
                "<text class=\"tick\" x=\"#\" y=\"#\" text-anchor=\"middle\">",
                &[place, y.start + 14.0],
            );
            words.push_str(&number::plain(tick, 4));
            words.push_str("</text>");
        }
        let ranks = self.layers.iter().any(|layer| layer.kind == Kind::Ranks);
        for tick in y.ticks().into_iter().filter(|_| !ranks) {
            let place = y.at(tick);
            put(&mut grid, "M# #H#", &[x.start, place, x.end]);
            put(
                &mut words,
                "<text class=\"tick\" x=\"#\" y=\"#\" text-anchor=\"end\">",
                &[x.start - 5.0, place + 4.0],
            );
            words.push_str(&number::plain(tick, 4));
            words.push_str("</text>");
        }
        let middle = (y.start + y.end) / 2.0;
        out.push_str("<path class=\"grid\" d=\"");
        out.push_str(&grid);
        put(
            out,
            "\"/><path class=\"axis\" d=\"M# #V#H#\"/>",
            &[x.start, y.end, y.start, x.end],
        );
        out.push_str(&words);
        put(
            out,
            "<text class=\"label\" x=\"#\" y=\"#\" text-anchor=\"middle\">",
            &[(x.start + x.end) / 2.0, HEIGHT - 8.0],
        );
        out.push_str(&escape(&self.x.words()));
        put(
            out,
            "</text><text class=\"label\" x=\"11\" y=\"#\" text-anchor=\"middle\" transform=\"rotate(-90 11 #)\">",
            &[middle, middle],
        );
        out.push_str(&escape(&self.y.words()));
        out.push_str("</text>");
    }

    /// Names of what is drawn, where there is more than one thing to tell apart.
    fn legend(&self, out: &mut String) {
        let mut series = 0;
        let mut items = String::new();
        for layer in &self.layers {
            let class = match layer.kind {
                Kind::Band => "band".to_string(),
                Kind::Zone => "zone".to_string(),
                _ if layer.is_series() => {
                    series += 1;
                    format!("series-{series}")
                }
                _ => continue,
            };
            let label = &layer.label;
            if !label.is_empty() {
                items.push_str(&format!("<li class=\"{class}\">{}</li>", escape(label)));
            }
        }
        out.push_str(&format!("<figcaption>{}", escape(&self.title)));
        if !items.is_empty() {
            out.push_str(&format!("<ul class=\"legend\">{items}</ul>"));
        }
        out.push_str("</figcaption>");
    }

    fn table(&self, out: &mut String) {
        let mut rows = String::new();
        let mut row = |label: &str, x: f64, y: f64| {
            rows.push_str(&format!(
                "<tr><td>{}</td><td>{}</td><td>{}</td></tr>",
                escape(label),
                number::plain(x, 3),
                number::plain(y, 3)
            ));
        };
        for layer in &self.layers {
            let (label, points) = (&layer.label, &layer.points);
            match layer.kind {
                Kind::Line | Kind::Points => {
                    let step = points.len().div_ceil(TABLE_ROWS).max(1);
                    for [x, y, _] in points.iter().step_by(step) {
                        row(label, *x, *y);
                    }
                }
                Kind::Bars => {
                    for [from, _, height] in points.iter().take(2 * TABLE_ROWS) {
                        row(label, *from, *height);
                    }
                }
                Kind::Ranks => {
                    for (place, ([from, to, _], name)) in
                        points.iter().zip(&layer.names).enumerate()
                    {
                        let end = if *from < 0.0 { *from } else { *to };
                        row(&format!("{name}, {label}"), end, place as f64 + 1.0);
                    }
                }
                Kind::Mark => row(label, points[0][0], points[0][1]),
                _ => {}
            }
        }
        out.push_str(&format!(
            "<details><summary>The plotted values</summary><table><thead><tr><th>Curve</th><th>{}</th><th>{}</th></tr></thead><tbody>{rows}</tbody></table></details>",
            escape(&self.x.words()), escape(&self.y.words())
        ));
    }
}

impl Layer {
    fn draw(&self, x: &Scale, y: &Scale, series: &mut usize, names: &mut Names, out: &mut String) {
        *series += usize::from(self.is_series());
        let number = *series as f64;
        match self.kind {
            Kind::Line => {
                put(out, "<path class=\"series series-#\" d=\"", &[number]);
                path(self.points.iter().map(|p| (p[0], p[1])), "M# #", x, y, out);
                out.push_str("\"/>");
                return;
            }
            Kind::Band => {
                out.push_str("<path class=\"band\" d=\"");
                path(self.points.iter().map(|p| (p[0], p[2])), "M# #", x, y, out);
                path(
                    self.points.iter().rev().map(|p| (p[0], p[1])),
                    "L# #",
                    x,
                    y,
                    out,
                );
                out.push_str("Z\"/>");
                return;
            }
            Kind::Mark => {
                let [mx, my, _] = self.points[0];
                return mark(&self.label, (mx, my), self.errors(), (x, y), names, out);
            }
            _ => {}
        }
        let step = (y.start - y.end) / self.points.len().max(1) as f64;
        for (at, &[a, b, c]) in self.points.iter().enumerate() {
            let (left, right) = (x.at(a), x.at(b));
            match self.kind {
                Kind::Points => put(
                    out,
                    "<circle class=\"point series-#\" cx=\"#\" cy=\"#\" r=\"4\"/>",
                    &[number, left, y.at(b)],
                ),
                Kind::Bars => put(
                    out,
                    "<path class=\"bar series-#\" d=\"M# #V#H#V#Z\"/>",
                    &[number, left, y.start, y.at(c), right, y.start],
                ),
                Kind::Ranks => {
                    let top = y.end + at as f64 * step;
                    let (high, low) = (top + step * 0.5, top + step * 0.92);
                    put(
                        out,
                        "<path class=\"bar series-#\" d=\"M# #V#H#V#Z\"/>",
                        &[number, left, low, high, right, low],
                    );
                    if !self.names[at].is_empty() {
                        names.write(&self.names[at], &[(x.start + 4.0, high - 4.0, START)], out);
                    }
                }
                Kind::Zone => put(
                    out,
                    "<path class=\"zone\" d=\"M# #V#H#V#Z\"/>",
                    &[left, y.start, y.end, right, y.start],
                ),
                Kind::Level => {
                    let place = y.at(b);
                    put(
                        out,
                        "<path class=\"mark\" d=\"M# #H#\"/>",
                        &[x.start, place, x.end],
                    );
                    let (left, right) = (x.start + 4.0, x.end - 2.0);
                    let (above, below) = (place - 4.0, place + 12.0);
                    names.write(
                        &self.label,
                        &[
                            (right, above, END),
                            (left, above, START),
                            (right, below, END),
                            (left, below, START),
                        ],
                        out,
                    );
                }
                _ => {
                    put(
                        out,
                        "<path class=\"mark\" d=\"M# #V#\"/>",
                        &[left, y.start, y.end],
                    );
                    let [first, second] = beside(left, 4.0, x);
                    names.write(
                        &self.label,
                        &[
                            (first.0, y.end + 10.0, first.1),
                            (second.0, y.end + 10.0, second.1),
                            (first.0, y.end + 24.0, first.1),
                            (second.0, y.end + 24.0, second.1),
                        ],
                        out,
                    );
                }
            }
        }
    }
}

/// The working point: guide lines to both axes, error box, dot, name.
fn mark(
    label: &str,
    (mx, my): (f64, f64),
    [dx, dy]: [f64; 2],
    (x, y): (&Scale, &Scale),
    names: &mut Names,
    out: &mut String,
) {
    let (px, py) = (x.at(mx), y.at(my));
    if dx > 0.0 || dy > 0.0 {
        let (left, right) = (x.at(mx - dx), x.at(mx + dx));
        let (bottom, top) = (y.at(my - dy), y.at(my + dy));
        put(
            out,
            "<path class=\"error-bar\" d=\"M# #H#V#H#Z\"/>",
            &[
                left,
                bottom,
                right.max(left + 1.0),
                top.min(bottom - 1.0),
                left,
            ],
        );
    }
    put(
        out,
        "<path class=\"mark\" d=\"M# #H#V#\"/><circle class=\"point\" cx=\"#\" cy=\"#\" r=\"5\"/>",
        &[x.start, py, px, y.start, px, py],
    );
    let sides = beside(px, 8.0, x);
    // Above the point, unless that is above the plot.
    let (first, second) = if py < y.end + 18.0 {
        (18.0, -8.0)
    } else {
        (-8.0, 18.0)
    };
    names.write(
        label,
        &[
            (sides[0].0, py + first, sides[0].1),
            (sides[1].0, py + first, sides[1].1),
            (sides[0].0, py + second, sides[0].1),
            (sides[1].0, py + second, sides[1].1),
        ],
        out,
    );
}

/// Whether a name begins or ends where it is put.
const START: &str = "start";
const END: &str = "end";

/// The two sides of an upright at `place` on which a name can stand, the roomier first.
fn beside(place: f64, gap: f64, x: &Scale) -> [(f64, &'static str); 2] {
    let (left, right) = ((place - gap, END), (place + gap, START));
    if place > (x.start + x.end) / 2.0 {
        [left, right]
    } else {
        [right, left]
    }
}

/// The room that names and working points have taken: left, top, right, bottom.
struct Names {
    taken: Vec<[f64; 4]>,
    right: f64,
}

impl Names {
    /// Writes `label` at the first of `places` where it lies inside the drawing and on no other
    /// name; at the first of them where there is none.
    fn write(&mut self, label: &str, places: &[(f64, f64, &str)], out: &mut String) {
        // The letters are some 9 units high; bold ones are about 5.8 wide on average.
        let wide = 5.8 * label.chars().count() as f64;
        let frame = |&(x, y, anchor): &(f64, f64, &str)| {
            let left = if anchor == END { x - wide } else { x };
            [left, y - 8.0, left + wide, y + 2.0]
        };
        let free = |place: &&(f64, f64, &str)| {
            let [left, top, right, bottom] = frame(place);
            left >= LEFT
                && right <= self.right + RIGHT
                && top >= 0.0
                && bottom <= HEIGHT - BOTTOM
                && !self
                    .taken
                    .iter()
                    .any(|t| left < t[2] && t[0] < right && top < t[3] && t[1] < bottom)
        };
        let Some(place) = places.iter().find(free).or(places.first()) else {
            return;
        };
        self.taken.push(frame(place));
        put(
            out,
            "<text class=\"mark-label\" x=\"#\" y=\"#\" text-anchor=\"",
            &[place.0, place.1],
        );
        out.push_str(place.2);
        out.push_str("\">");
        out.push_str(&escape(label));
        out.push_str("</text>");
    }
}

/// A path through points, begun as `first` says; those beyond the axes are left out.
fn path(
    points: impl Iterator<Item = (f64, f64)>,
    first: &str,
    x: &Scale,
    y: &Scale,
    out: &mut String,
) {
    let (mut from, mut template) = ((0.0, 0.0), first);
    for (px, py) in points {
        if !(px.is_finite() && py.is_finite() && x.holds(px)) {
            continue;
        }
        let at = (tenths(x.at(px)), tenths(y.at(py)));
        // Steps from the place written before: short, and alike, so that they pack well.
        put(out, template, &[at.0 - from.0, at.1 - from.1]);
        (from, template) = (at, "l# #");
    }
}

fn tenths(place: f64) -> f64 {
    (place * 10.0).round() / 10.0
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

/// One thing drawn.
#[derive(Debug, Clone)]
pub enum OldLayer {
    /// A curve.
    Line {
        /// Its name in the legend and the table.
        label: String,
        /// Its points in order.
        points: Vec<(f64, f64)>,
    },
    /// The band of uncertainty around a curve: x, lower, upper.
    Band {
        /// Its name in the legend.
        label: String,
        /// Its points in order.
        points: Vec<(f64, f64, f64)>,
    },
    /// Single points without a line.
    Points {
        /// Their name.
        label: String,
        /// The points.
        points: Vec<(f64, f64)>,
    },
    /// Columns from the bottom: start, end, height.
    Bars {
        /// Their name.
        label: String,
        /// The columns.
        bars: Vec<(f64, f64, f64)>,
    },
    /// Level bars with a name each, from the top down: name, start, end. With these the axis up
    /// the side only counts, and bears no numbers.
    Ranks {
        /// Their name.
        label: String,
        /// The bars; a blank name is not written.
        bars: Vec<(String, f64, f64)>,
    },
    /// A zone between two x values, such as a pool of fractions.
    Zone {
        /// Its name.
        label: String,
        /// Left edge.
        from: f64,
        /// Right edge.
        to: f64,
    },
    /// A level line across.
    Level {
        /// Its name, written on it.
        label: String,
        /// Its height.
        y: f64,
    },
    /// An upright line.
    Upright {
        /// Its name, written on it.
        label: String,
        /// Where it stands.
        x: f64,
    },
    /// The working point, with its error box when it has one.
    Mark {
        /// Its name, written beside it.
        label: String,
        /// Where it lies.
        x: f64,
        /// Where it lies.
        y: f64,
        /// Half-width of its error along x; 0 for none.
        dx: f64,
        /// Half-width of its error along y; 0 for none.
        dy: f64,
    },
}

impl OldLayer {
    fn new(self) -> Layer {
        let layer = |kind, label: String, points: Vec<[f64; 3]>| Layer {
            kind,
            label: label.into(),
            points,
            names: Vec::new(),
        };
        match self {
            OldLayer::Line { label, points } => layer(
                Kind::Line,
                label,
                points.into_iter().map(|p| [p.0, p.1, 0.0]).collect(),
            ),
            OldLayer::Points { label, points } => layer(
                Kind::Points,
                label,
                points.into_iter().map(|p| [p.0, p.1, 0.0]).collect(),
            ),
            OldLayer::Band { label, points } => layer(
                Kind::Band,
                label,
                points.into_iter().map(|p| [p.0, p.1, p.2]).collect(),
            ),
            OldLayer::Bars { label, bars } => layer(
                Kind::Bars,
                label,
                bars.into_iter().map(|p| [p.0, p.1, p.2]).collect(),
            ),
            OldLayer::Ranks { label, bars } => {
                let mut l = layer(Kind::Ranks, label, Vec::new());
                for (name, from, to) in bars {
                    l.rank(&name, from, to);
                }
                l
            }
            OldLayer::Zone { label, from, to } => layer(Kind::Zone, label, vec![[from, to, 0.0]]),
            OldLayer::Level { label, y } => layer(Kind::Level, label, vec![[0.0, y, 0.0]]),
            OldLayer::Upright { label, x } => layer(Kind::Upright, label, vec![[x, 0.0, 0.0]]),
            OldLayer::Mark {
                label,
                x,
                y,
                dx,
                dy,
            } => layer(Kind::Mark, label, vec![[x, y, 0.0], [dx, dy, 0.0]]),
        }
    }
}

impl Axis {
    /// Old.
    pub fn old_linear(label: impl Into<String>, unit: &'static str) -> Self {
        Axis {
            label: label.into().into(),
            unit,
            log: false,
            ends: None,
        }
    }
    /// Old.
    pub fn old_log(label: impl Into<String>, unit: &'static str) -> Self {
        Axis {
            label: label.into().into(),
            unit,
            log: true,
            ends: None,
        }
    }
    /// Old.
    #[must_use]
    pub fn old_from_to(self, low: f64, high: f64) -> Self {
        Axis {
            ends: Some((low, high)),
            ..self
        }
    }
}

impl Plot {
    /// Old.
    pub fn old(
        title: impl Into<String>,
        description: impl Into<String>,
        x: Axis,
        y: Axis,
        layers: Vec<OldLayer>,
    ) -> Self {
        Plot {
            title: title.into().into(),
            description: description.into().into(),
            x,
            y,
            layers: layers.into_iter().map(OldLayer::new).collect(),
        }
    }
}
