//! Drawing a plot: SVG with a title and a description, a legend, and a data table.

use super::scale::Scale;
use super::{Axis, Kind, Layer, Plot};
use crate::markup::Markup;
use crate::number;

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

impl Plot {
    /// The figure: legend, drawing and data table. `id` must be unique in the page.
    pub(crate) fn html(&self, id: &str, out: &mut Markup) {
        out.put("<figure class=\"plot\">");
        self.legend(out);
        self.draw(id, out);
        self.table(out);
        out.put("</figure>");
    }

    fn draw(&self, id: &str, out: &mut Markup) {
        let [xs, ys] = self.values();
        let x = Scale::new(&self.x, &xs, LEFT, WIDTH - RIGHT);
        let y = Scale::new(&self.y, &ys, HEIGHT - BOTTOM, TOP);
        out.put("<svg viewBox=\"0 0 # #\" role=\"img\" aria-labelledby=\"#-t #-d\"><title id=\"#-t\">#</title><desc id=\"#-d\">#</desc>")
            .at(WIDTH)
            .at(HEIGHT)
            .text(id)
            .text(id)
            .text(id)
            .text(&self.title)
            .text(id)
            .text(&self.description);
        self.axes(&x, &y, out);
        let mut sheet = Sheet {
            x,
            y,
            series: 0,
            taken: Vec::new(),
        };
        // A name must not cover a working point, whichever is drawn first.
        for layer in &self.layers {
            if let (Kind::Mark, Some(point)) = (layer.kind, layer.points.first()) {
                let (px, py) = (sheet.x.at(point[0]), sheet.y.at(point[1]));
                sheet.taken.push([px - 6.0, py - 6.0, px + 6.0, py + 6.0]);
            }
        }
        for layer in &self.layers {
            sheet.draw(layer, out);
        }
        out.put("</svg>");
    }

    /// All that is drawn along x, and along y.
    fn values(&self) -> [Vec<f64>; 2] {
        let (mut xs, mut ys) = (Vec::new(), Vec::new());
        for layer in &self.layers {
            let [dx, dy] = layer.errors();
            for &[a, b, c] in &layer.points {
                let (along, up): (&[f64], &[f64]) = match layer.kind {
                    Kind::Line | Kind::Points => (&[a], &[b]),
                    Kind::Band => (&[a], &[b, c]),
                    Kind::Bars => (&[a, b], &[c, 0.0]),
                    Kind::Ranks => (&[a, b], &[0.0, layer.points.len() as f64]),
                    Kind::Zone => (&[a, b], &[]),
                    Kind::Level => (&[], &[b]),
                    Kind::Upright => (&[a], &[]),
                    Kind::Mark => (&[a - dx, a + dx], &[b - dy, b + dy]),
                };
                xs.extend_from_slice(along);
                ys.extend_from_slice(up);
                if layer.kind == Kind::Mark {
                    break; // the second point is the error itself
                }
            }
        }
        [xs, ys]
    }

    fn axes(&self, x: &Scale, y: &Scale, out: &mut Markup) {
        let (along, mut up) = (x.ticks(), y.ticks());
        if self.layers.iter().any(|layer| layer.kind == Kind::Ranks) {
            up.clear();
        }
        out.put("<path class=\"grid\" d=\"");
        for tick in &along {
            out.put("M# #V#").at(x.at(*tick)).at(y.start).at(y.end);
        }
        for tick in &up {
            out.put("M# #H#").at(x.start).at(y.at(*tick)).at(x.end);
        }
        out.put("\"/><path class=\"axis\" d=\"M# #V#H#\"/>")
            .at(x.start)
            .at(y.end)
            .at(y.start)
            .at(x.end);
        for tick in along {
            tick_label(x.at(tick), y.start + 14.0, "middle", tick, out);
        }
        for tick in up {
            tick_label(x.start - 5.0, y.at(tick) + 4.0, "end", tick, out);
        }
        let middle = (y.start + y.end) / 2.0;
        out.put("<text class=\"label\" x=\"#\" y=\"#\" text-anchor=\"middle\">#</text>")
            .at((x.start + x.end) / 2.0)
            .at(HEIGHT - 8.0);
        self.x.words(out);
        out.put("<text class=\"label\" x=\"11\" y=\"#\" text-anchor=\"middle\" transform=\"rotate(-90 11 #)\">#</text>")
            .at(middle)
            .at(middle);
        self.y.words(out);
    }

    /// Names of what is drawn, where there is more than one thing to tell apart.
    fn legend(&self, out: &mut Markup) {
        out.put("<figcaption>#").text(&self.title);
        let mut series = 0.0;
        let mut named = false;
        for layer in &self.layers {
            series += f64::from(u8::from(layer.is_series()));
            if layer.label.is_empty() || !(layer.is_series() || layer.is_area()) {
                continue;
            }
            if !named {
                out.put("<ul class=\"legend\">");
                named = true;
            }
            match layer.kind {
                Kind::Band => out.put("<li class=\"band"),
                Kind::Zone => out.put("<li class=\"zone"),
                _ => out.put("<li class=\"series-#").at(series),
            };
            out.put("\">#</li>").text(&layer.label);
        }
        if named {
            out.put("</ul>");
        }
        out.put("</figcaption>");
    }

    fn table(&self, out: &mut Markup) {
        out.put("<details><summary>The plotted values</summary><table><thead><tr><th>Curve</th><th>#</th>");
        self.x.words(out);
        out.put("<th>#</th></tr></thead><tbody>");
        self.y.words(out);
        for layer in &self.layers {
            let count = layer.points.len();
            let (step, most) = match layer.kind {
                Kind::Line | Kind::Points => (count.div_ceil(TABLE_ROWS).max(1), count),
                Kind::Bars => (1, 2 * TABLE_ROWS),
                Kind::Ranks => (1, count),
                Kind::Mark => (1, 1),
                _ => continue,
            };
            for (place, &[a, b, c]) in layer.points.iter().enumerate().take(most).step_by(step) {
                let (x, y) = match layer.kind {
                    Kind::Bars => (a, c),
                    Kind::Ranks => (if a < 0.0 { a } else { b }, place as f64 + 1.0),
                    _ => (a, b),
                };
                out.put("<tr><td>");
                if let Some(name) = layer.names.get(place) {
                    out.put("#, ").text(name);
                }
                out.put("#</td><td>#</td><td>#</td></tr>")
                    .text(&layer.label)
                    .text(&number::plain(x, 3))
                    .text(&number::plain(y, 3));
            }
        }
        out.put("</tbody></table></details>");
    }
}

impl Axis {
    /// Fills the gap with what it measures, and in what.
    fn words(&self, out: &mut Markup) {
        let mut words = self.label.to_string();
        if !self.unit.is_empty() {
            words.push_str(" / ");
            words.push_str(self.unit);
        }
        out.text(&words);
    }
}

#[inline(never)]
fn tick_label(x: f64, y: f64, anchor: &str, tick: f64, out: &mut Markup) {
    out.put("<text class=\"tick\" x=\"#\" y=\"#\" text-anchor=\"#\">#</text>")
        .at(x)
        .at(y)
        .text(anchor)
        .text(&number::plain(tick, 4));
}

/// Where a name may stand: a place along x, and whether it begins or ends there.
type Side = (f64, &'static str);
const START: &str = "start";
const END: &str = "end";

/// What is drawn on: its axes, how many series it bears, and the room that names and working
/// points have taken (left, top, right, bottom).
struct Sheet {
    x: Scale,
    y: Scale,
    series: usize,
    taken: Vec<[f64; 4]>,
}

impl Sheet {
    /// Draws a layer over what is there.
    fn draw(&mut self, layer: &Layer, out: &mut Markup) {
        self.series += usize::from(layer.is_series());
        match layer.kind {
            Kind::Line => {
                out.put("<path class=\"series series-#\" d=\"")
                    .at(self.series as f64);
                self.path(&layer.points, false, 1, "M# #", out);
                out.put("\"/>");
            }
            Kind::Band => {
                out.put("<path class=\"band\" d=\"");
                self.path(&layer.points, false, 2, "M# #", out);
                self.path(&layer.points, true, 1, "L# #", out);
                out.put("Z\"/>");
            }
            Kind::Mark => self.mark(layer, out),
            _ => self.pieces(layer, out),
        }
    }

    /// Draws a layer in which each point stands for itself.
    fn pieces(&mut self, layer: &Layer, out: &mut Markup) {
        let series = self.series as f64;
        let (bottom, top) = (self.y.start, self.y.end);
        let step = (bottom - top) / layer.points.len().max(1) as f64;
        for (at, &[a, b, c]) in layer.points.iter().enumerate() {
            let (left, right) = (self.x.at(a), self.x.at(b));
            match layer.kind {
                Kind::Points => {
                    out.put("<circle class=\"point series-#\" cx=\"#\" cy=\"#\" r=\"4\"/>")
                        .at(series)
                        .at(left)
                        .at(self.y.at(b));
                }
                Kind::Bars => {
                    out.put("<path class=\"bar series-#").at(series);
                    rectangle(left, bottom, self.y.at(c), right, out);
                }
                Kind::Ranks => {
                    let top = top + at as f64 * step;
                    let (high, low) = (top + step * 0.5, top + step * 0.92);
                    out.put("<path class=\"bar series-#").at(series);
                    rectangle(left, low, high, right, out);
                    if !layer.names[at].is_empty() {
                        let side = (self.x.start + 4.0, START);
                        self.name(&layer.names[at], [side; 2], [high - 4.0; 2], out);
                    }
                }
                Kind::Zone => {
                    out.put("<path class=\"zone");
                    rectangle(left, bottom, top, right, out);
                }
                Kind::Level => {
                    let place = self.y.at(b);
                    out.put("<path class=\"mark\" d=\"M# #H#\"/>")
                        .at(self.x.start)
                        .at(place)
                        .at(self.x.end);
                    let sides = [(self.x.end - 2.0, END), (self.x.start + 4.0, START)];
                    self.name(&layer.label, sides, [place - 4.0, place + 12.0], out);
                }
                _ => {
                    out.put("<path class=\"mark\" d=\"M# #V#\"/>")
                        .at(left)
                        .at(bottom)
                        .at(top);
                    let sides = self.beside(left, 4.0);
                    self.name(&layer.label, sides, [top + 10.0, top + 24.0], out);
                }
            }
        }
    }

    /// The working point: guide lines to both axes, error box, dot, name.
    fn mark(&mut self, layer: &Layer, out: &mut Markup) {
        let [mx, my, _] = layer.points[0];
        let [dx, dy] = layer.errors();
        let (px, py) = (self.x.at(mx), self.y.at(my));
        if dx > 0.0 || dy > 0.0 {
            let (left, right) = (self.x.at(mx - dx), self.x.at(mx + dx));
            let (bottom, top) = (self.y.at(my - dy), self.y.at(my + dy));
            out.put("<path class=\"error-bar\" d=\"M# #H#V#H#Z\"/>")
                .at(left)
                .at(bottom)
                .at(right.max(left + 1.0))
                .at(top.min(bottom - 1.0))
                .at(left);
        }
        out.put("<path class=\"mark\" d=\"M# #H#V#\"/><circle class=\"point\" cx=\"#\" cy=\"#\" r=\"5\"/>")
            .at(self.x.start)
            .at(py)
            .at(px)
            .at(self.y.start)
            .at(px)
            .at(py);
        // Above the point, unless that is above the plot.
        let (first, second) = if py < self.y.end + 18.0 {
            (18.0, -8.0)
        } else {
            (-8.0, 18.0)
        };
        let sides = self.beside(px, 8.0);
        self.name(&layer.label, sides, [py + first, py + second], out);
    }

    /// The two sides of an upright at `place` on which a name can stand, the roomier first.
    fn beside(&self, place: f64, gap: f64) -> [Side; 2] {
        let (left, right) = ((place - gap, END), (place + gap, START));
        if place > (self.x.start + self.x.end) / 2.0 {
            [left, right]
        } else {
            [right, left]
        }
    }

    /// Writes `label` at the first place, of all sides at the first height and then of all at the
    /// second, where it lies inside the drawing and on no other name; at the very first where
    /// there is none.
    #[inline(never)]
    fn name(&mut self, label: &str, sides: [Side; 2], heights: [f64; 2], out: &mut Markup) {
        // The letters are some 9 units high; bold ones are about 5.8 wide on average.
        let wide = 5.8 * label.chars().count() as f64;
        let frame = |(x, anchor): Side, y: f64| {
            let left = if anchor == END { x - wide } else { x };
            [left, y - 8.0, left + wide, y + 2.0]
        };
        let free = |[left, top, right, bottom]: [f64; 4]| {
            left >= LEFT
                && right <= self.x.end + RIGHT
                && top >= 0.0
                && bottom <= HEIGHT - BOTTOM
                && !self
                    .taken
                    .iter()
                    .any(|t| left < t[2] && t[0] < right && top < t[3] && t[1] < bottom)
        };
        let mut place = (sides[0], heights[0]);
        'places: for y in heights {
            for side in sides {
                if free(frame(side, y)) {
                    place = (side, y);
                    break 'places;
                }
            }
        }
        self.taken.push(frame(place.0, place.1));
        out.put("<text class=\"mark-label\" x=\"#\" y=\"#\" text-anchor=\"#\">#</text>")
            .at(place.0.0)
            .at(place.1)
            .text(place.0.1)
            .text(label);
    }

    /// A path through points, forwards or back, at the height that stands at `up` in each, begun
    /// as `first` says; those beyond the axes are left out.
    #[inline(never)]
    fn path(
        &self,
        points: &[[f64; 3]],
        back: bool,
        up: usize,
        first: &'static str,
        out: &mut Markup,
    ) {
        let (mut from, mut template) = ((0.0, 0.0), first);
        for at in 0..points.len() {
            let point = points[if back { points.len() - 1 - at } else { at }];
            let (px, py) = (point[0], point[up]);
            if !(px.is_finite() && py.is_finite() && self.x.holds(px)) {
                continue;
            }
            let at = (tenths(self.x.at(px)), tenths(self.y.at(py)));
            // Steps from the place written before: short, and alike, so that they pack well.
            out.put(template).at(at.0 - from.0).at(at.1 - from.1);
            (from, template) = (at, "l# #");
        }
    }
}

/// Ends the class of a path and draws it upright from `bottom` to `top`.
#[inline(never)]
fn rectangle(left: f64, bottom: f64, top: f64, right: f64, out: &mut Markup) {
    out.put("\" d=\"M# #V#H#V#Z\"/>")
        .at(left)
        .at(bottom)
        .at(top)
        .at(right)
        .at(bottom);
}

fn tenths(place: f64) -> f64 {
    f64::round(place * 10.0) / 10.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(plot: &Plot) -> String {
        let mut out = Markup::default();
        plot.html("p", &mut out);
        out.finish()
    }

    /// The texts between `before` and `after`, wherever they stand.
    fn between<'t>(text: &'t str, before: &str, after: &str) -> Vec<&'t str> {
        let ends = text.split(before).skip(1);
        ends.filter_map(|rest| Some(rest.split_once(after)?.0))
            .collect()
    }

    fn numbers(text: &str) -> Vec<f64> {
        let words = text.split(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-'));
        words.filter_map(|word| word.parse().ok()).collect()
    }

    #[test]
    fn steps_lead_to_the_last_place() {
        let mut plot = Plot::new("t", "d");
        plot.x.linear("x", "").from_to(0.0, 1.0);
        plot.y.linear("y", "").from_to(0.0, 1.0);
        let line = plot.line("curve");
        for at in 0..=300 {
            let x = f64::from(at) / 300.0;
            line.point(x, x * x);
        }
        // What is no number, or beyond the axis, is left out.
        line.point(f64::NAN, 0.5).point(2.0, 0.5);
        let html = drawn(&plot);
        let paths = between(&html, "class=\"series series-1\" d=\"", "\"");
        let steps = numbers(paths[0]);
        assert_eq!(steps.len(), 2 * 301);
        let sum = |from: usize| steps.iter().skip(from).step_by(2).sum::<f64>();
        assert!((sum(0) - (WIDTH - RIGHT)).abs() < 0.06, "{}", sum(0));
        assert!((sum(1) - TOP).abs() < 0.06, "{}", sum(1));
    }

    #[test]
    fn names_keep_clear_of_each_other_and_of_the_working_point() {
        let mut plot = Plot::new("t", "d");
        plot.x.linear("x", "").from_to(0.0, 1.0);
        plot.y.linear("y", "").from_to(0.0, 1.0);
        plot.upright("one name", 0.5).point(0.51, 0.0);
        plot.level("level", 0.99);
        plot.mark("here", 0.55, 0.95);
        let html = drawn(&plot);
        let mut taken: Vec<[f64; 4]> = Vec::new();
        for label in between(&html, "<text class=\"mark-label\" ", "</text>") {
            let place = numbers(label.split_once('>').unwrap().0);
            let wide = 5.0 * label.split_once('>').unwrap().1.len() as f64;
            let left = place[0] - if label.contains("\"end\"") { wide } else { 0.0 };
            taken.push([left, place[1] - 7.0, left + wide, place[1]]);
        }
        assert_eq!(taken.len(), 4);
        for (at, a) in taken.iter().enumerate() {
            for b in &taken[..at] {
                let apart = a[0] >= b[2] || b[0] >= a[2] || a[1] >= b[3] || b[1] >= a[3];
                assert!(apart, "{a:?} covers {b:?}");
            }
        }
    }

    #[test]
    fn the_table_has_a_few_rows_of_each_curve() {
        let mut plot = Plot::new("t <i>", "d");
        plot.x.log("p", "mmHg");
        let line = plot.line("curve");
        for at in 1..=100 {
            line.point(f64::from(at), 0.0);
        }
        plot.band("not in the table").three(1.0, 2.0, 3.0);
        plot.mark("here", 7.0, 0.5).error(1.0, 1.0);
        let html = drawn(&plot);
        let rows = between(&html, "<tr><td>", "</td></tr>");
        assert_eq!(rows.len(), 10 + 1);
        assert_eq!(rows[10], "here</td><td>7</td><td>0.5");
        assert!(html.contains("<th>p / mmHg</th>") && html.contains("t &lt;i&gt;"));
    }

    #[test]
    fn a_plot_of_nothing_is_still_a_drawing() {
        let html = drawn(&Plot::new("t", "d"));
        assert!(html.contains("class=\"axis\"") && !html.contains("NaN"));
    }
}
