//! The SVG of a placed assembly.
//!
//! Glass is drawn twice: first all edges of a layer, a little wider than the bore, then all bores.
//! Where tubes and balls of one layer meet, the bores cover the edges between them, so a flask with
//! three necks is one clean outline without any sum of shapes. Colours come from classes alone.

use std::fmt::Write as _;

use super::assembly::{Assembly, End, Hold, Place};
use super::expression::shown;
use super::fittings::Curve;
use super::part::{Fit, Flow, Part, Piece};
use super::path::{Bounds, Point, flatten, point, shown1, step, xy};
use super::scene::Scene;
use super::squeeze::squeezed;
use calc_wasm::markup::escape;

/// Page pixels for one millimetre at full size.
const SCALE: f64 = 1.15;

impl Assembly {
    /// Parts that hot vapour reaches.
    fn is_warm(&self) -> bool {
        self.items.iter().any(|item| item.part.is("heats"))
    }

    /// The whole `<svg>`.
    pub(crate) fn svg(&self, id: &str) -> String {
        let scene = Scene::of(self);
        scene.svg(id)
    }

    /// The numbers and their places, and the radius of their discs: for the text and the tests.
    #[doc(hidden)]
    pub fn callout_discs(&self) -> (f64, Vec<(f64, f64)>) {
        let scene = Scene::of(self);
        (
            scene.radius,
            scene
                .callouts
                .iter()
                .map(|callout| (callout.centre.x, callout.centre.y))
                .collect(),
        )
    }

    /// Flows that the drawing shows.
    pub(crate) fn flows(&self) -> Vec<Flow> {
        let mut flows: Vec<Flow> = self.arrows().into_iter().map(|(flow, _)| flow).collect();
        flows.extend(self.water_curves().iter().map(|curve| curve.flow));
        flows.extend(self.hoses.iter().map(|_| Flow::Gas));
        flows.sort();
        flows.dedup();
        flows
    }

    /// Arrows that parts bring with them, as lines on the page.
    fn arrows(&self) -> Vec<(Flow, Vec<Point>)> {
        let mut arrows = Vec::new();
        for (item, place) in self.items.iter().zip(&self.places) {
            for (flow, path) in &item.part.flows {
                if *flow == Flow::Vapour && !self.is_warm() {
                    continue;
                }
                for line in flatten(path).unwrap_or_default() {
                    arrows.push((*flow, line.into_iter().map(|p| place.map(p)).collect()));
                }
            }
        }
        arrows
    }
}

impl Scene<'_> {
    fn svg(&self, id: &str) -> String {
        let Bounds {
            left,
            top,
            right,
            bottom,
        } = self.bounds;
        let (wide, high) = (right - left, bottom - top);
        let mut svg = String::new();
        let _ = write!(
            svg,
            "<svg viewBox=\"{} {} {} {}\" width=\"{:.0}\" height=\"{:.0}\" role=\"group\" aria-labelledby=\"{id}-title {id}-desc\" stroke-width=\"{}\" stroke-linejoin=\"round\">",
            shown1(left),
            shown1(top),
            shown1(wide),
            shown1(high),
            wide * SCALE,
            high * SCALE,
            shown(self.ink)
        );
        let _ = write!(
            svg,
            "<title id=\"{id}-title\">{}</title><desc id=\"{id}-desc\">{}</desc>",
            escape(&self.assembly.title),
            escape(&self.assembly.short_words())
        );
        for y in [Some(0.0), self.assembly.lower_bench].into_iter().flatten() {
            let _ = write!(
                svg,
                "<path class=\"bench\" d=\"M{} {}H{}\"/>",
                shown1(left + self.radius),
                shown1(y),
                shown1(right - self.radius)
            );
        }
        self.stands(&mut svg);
        self.hose_lines(&mut svg);
        for &item in &self.order {
            self.part(&mut svg, id, item);
        }
        self.joints(&mut svg);
        self.jaws(&mut svg);
        self.flow_arrows(&mut svg);
        self.numbers(&mut svg, id);
        self.scale_bar(&mut svg);
        svg.push_str("</svg>");
        squeezed(&svg)
    }

    fn stands(&self, svg: &mut String) {
        svg.push_str("<g class=\"stand\">");
        for rod in self.assembly.rods() {
            let inward = if rod.right { -1.0 } else { 1.0 };
            let _ = write!(
                svg,
                "<path class=\"metal\" d=\"M{} 0v-9h{}v9z\"/><path class=\"metal\" d=\"M{} -9V{}h9V-9z\"/>",
                shown1(rod.x - inward * 18.0),
                shown1(inward * 120.0),
                shown1(rod.x - 4.5),
                shown1(rod.top)
            );
        }
        for clamp in self.assembly.on_rods() {
            let (at, wide, upright) = self.assembly.grip(clamp);
            let rod = self.rod_for(clamp);
            if upright {
                let edge = at.x + if rod > at.x { wide / 2.0 } else { -wide / 2.0 };
                self.bar(
                    svg,
                    "metal",
                    6.0,
                    &format!("M{} {}H{}", shown1(rod), shown1(at.y), shown1(edge)),
                );
                let _ = write!(
                    svg,
                    "<path class=\"case\" d=\"M{} {}h18v18h-18z\"/>",
                    shown1(rod - 9.0),
                    shown1(at.y - 9.0)
                );
            }
        }
        svg.push_str("</g>");
    }

    /// Jaws, rings and clips lie over the glass they hold.
    fn jaws(&self, svg: &mut String) {
        for clamp in &self.assembly.clamps {
            let place = &self.assembly.places[clamp.item];
            match clamp.hold {
                Hold::Clamp => {
                    let (at, wide, _) = self.assembly.grip(clamp);
                    let across = point(1.0, 0.0).turned(place.turn).times(wide / 2.0 + 3.5);
                    let along = point(0.0, 1.0).turned(place.turn).times(8.0);
                    for side in [1.0, -1.0] {
                        let middle = at.plus(across.times(side));
                        self.bar(
                            svg,
                            "case",
                            5.0,
                            &format!("M{}L{}", xy(middle.minus(along)), xy(middle.plus(along))),
                        );
                    }
                }
                Hold::Ring => {
                    let (at, wide, _) = self.assembly.grip(clamp);
                    self.bar(
                        svg,
                        "metal",
                        6.0,
                        &format!(
                            "M{} {}h{}",
                            shown1(at.x - wide / 2.0 - 3.0),
                            shown1(at.y),
                            shown1(wide + 6.0)
                        ),
                    );
                }
                Hold::Clip => {
                    let Some(end) = self.clip_end(clamp.item) else {
                        continue;
                    };
                    let (at, heading) = self.assembly.spot(end);
                    let across = step(heading + 90.0)
                        .times(self.assembly.port(end).joint.diameter / 2.0 + 5.0);
                    let (a, b) = (at.plus(across), at.minus(across));
                    self.bar(svg, "clip", 7.0, &format!("M{}L{}", xy(a), xy(b)));
                }
            }
        }
    }

    /// The joint that a clip holds together: the first ground joint in use.
    fn clip_end(&self, item: usize) -> Option<End> {
        (0..self.assembly.items[item].part.ports.len())
            .map(|port| End { item, port })
            .find(|end| {
                matches!(self.assembly.port(*end).joint.fit, Fit::Cone | Fit::Socket)
                    && self.assembly.is_used(*end)
            })
    }

    /// A solid bar with an outline. A straight one is a box, so that its ends are drawn too.
    fn bar(&self, svg: &mut String, class: &str, wide: f64, path: &str) {
        if let Ok([line]) = flatten(path).as_deref()
            && let [a, b] = line[..]
        {
            let way = b.minus(a);
            let across = point(-way.y, way.x).times(wide / 2.0 / way.length().max(1e-9));
            let corners = [
                a.plus(across),
                b.plus(across),
                b.minus(across),
                a.minus(across),
            ];
            let _ = write!(
                svg,
                "<path class=\"{class}\" d=\"M{}Z\"/>",
                corners.map(xy).join("L")
            );
            return;
        }
        let _ = write!(
            svg,
            "<path class=\"bar-edge\" stroke-width=\"{}\" d=\"{path}\"/><path class=\"bar-{class}\" stroke-width=\"{}\" d=\"{path}\"/>",
            shown(wide + 2.0 * self.ink),
            shown(wide)
        );
    }

    fn hose_lines(&self, svg: &mut String) {
        for hose in &self.hoses {
            let path = hose.path();
            let _ = write!(
                svg,
                "<path class=\"hose-edge\" stroke-width=\"{}\" d=\"{path}\"/><path class=\"hose\" stroke-width=\"{}\" d=\"{path}\"/>",
                shown(hose.width + 2.0 * self.ink),
                shown(hose.width)
            );
        }
    }

    fn part(&self, svg: &mut String, id: &str, item: usize) {
        let place = &self.assembly.places[item];
        let part = &self.assembly.items[item].part;
        let mut turn = String::new();
        if place.turn.abs() > 0.01 {
            let _ = write!(turn, " rotate({})", shown(place.turn));
        }
        if place.mirror {
            turn.push_str(" scale(-1 1)");
        }
        let _ = write!(
            svg,
            "<g class=\"part\" id=\"{id}-drawn-{}\" transform=\"translate({}){turn}\">",
            item + 1,
            xy(place.origin)
        );
        let openings = self.opening_pieces(item);
        let mut layers: Vec<Vec<&Piece>> = vec![openings.iter().collect()];
        for piece in &part.pieces {
            match piece {
                Piece::Over => layers.push(Vec::new()),
                _ => layers
                    .last_mut()
                    .into_iter()
                    .for_each(|layer| layer.push(piece)),
            }
        }
        for (i, layer) in layers.iter().enumerate() {
            self.layer(svg, layer);
            if i == 0 {
                svg.push_str(&liquid(part, place, &self.assembly.items[item].holds));
            }
        }
        for port in &part.ports {
            self.opening_lines(svg, port);
        }
        svg.push_str("</g>");
    }

    /// The glass of joints and nipples, which data leave out.
    fn opening_pieces(&self, item: usize) -> Vec<Piece> {
        let part = &self.assembly.items[item].part;
        let mut pieces = Vec::new();
        for (i, port) in part.ports.iter().enumerate() {
            let back = |length: f64| port.at.plus(step(port.towards + 180.0).times(length));
            match port.joint.fit {
                Fit::Socket => {
                    pieces.push(Piece::Tube(
                        port.joint.diameter + 1.0,
                        format!("M{}L{}", xy(port.at), xy(back(port.joint.length))),
                    ));
                    // A closed end; the tube that goes on from here opens it again, which leaves a shoulder.
                    let across = step(port.towards + 90.0).times(port.joint.diameter / 2.0 + 0.5);
                    let (near, far) = (back(port.joint.length - 2.0), back(port.joint.length));
                    let corners = [
                        near.plus(across),
                        near.minus(across),
                        far.minus(across),
                        far.plus(across),
                    ];
                    pieces.push(Piece::Glass(format!("M{}Z", corners.map(xy).join("L"))));
                }
                Fit::Cone => {
                    let outline: Vec<String> = part
                        .ground_outline(i)
                        .into_iter()
                        .flatten()
                        .map(xy)
                        .collect();
                    pieces.push(Piece::Glass(format!("M{}Z", outline.join("L"))));
                }
                Fit::Nipple => {
                    let bore = (port.joint.diameter - 3.0).max(3.0);
                    pieces.push(Piece::Tube(
                        bore,
                        format!("M{}L{}", xy(port.at), xy(back(17.0))),
                    ));
                }
                _ => {}
            }
        }
        pieces
    }

    /// Barbs of a nipple.
    fn opening_lines(&self, svg: &mut String, port: &super::part::Port) {
        if port.joint.fit != Fit::Nipple {
            return;
        }
        let across = step(port.towards + 90.0).times(port.joint.diameter / 2.0);
        for back in [3.0, 7.5] {
            let at = port.at.plus(step(port.towards + 180.0).times(back));
            let _ = write!(
                svg,
                "<path class=\"detail\" d=\"M{}L{}\"/>",
                xy(at.plus(across)),
                xy(at.minus(across))
            );
        }
    }

    fn layer(&self, svg: &mut String, layer: &[&Piece]) {
        let ink = self.ink;
        let glass =
            |piece: &&&Piece| matches!(piece, Piece::Tube(..) | Piece::Ball(..) | Piece::Glass(_));
        if layer.iter().any(|piece| glass(&piece)) {
            svg.push_str("<g class=\"glass\">");
            for piece in layer.iter().filter(glass) {
                match piece {
                    Piece::Tube(wide, path) => {
                        let _ = write!(
                            svg,
                            "<path class=\"edge\" stroke-width=\"{}\" d=\"{path}\"/>",
                            shown(wide + 2.0 * ink)
                        );
                    }
                    Piece::Ball(wide, at) => {
                        let _ = write!(
                            svg,
                            "<circle class=\"edge-solid\" cx=\"{}\" cy=\"{}\" r=\"{}\"/>",
                            shown(at.x),
                            shown(at.y),
                            shown(wide / 2.0 + ink / 2.0)
                        );
                    }
                    Piece::Glass(path) => {
                        let _ = write!(
                            svg,
                            "<path class=\"edge-solid\" stroke-width=\"{}\" d=\"{path}\"/>",
                            shown(2.0 * ink)
                        );
                    }
                    _ => {}
                }
            }
            for piece in layer.iter().filter(glass) {
                match piece {
                    Piece::Tube(wide, path) => {
                        let _ = write!(
                            svg,
                            "<path class=\"bore\" stroke-width=\"{}\" d=\"{path}\"/>",
                            shown(*wide)
                        );
                    }
                    Piece::Ball(wide, at) => {
                        let _ = write!(
                            svg,
                            "<circle class=\"inside\" cx=\"{}\" cy=\"{}\" r=\"{}\"/>",
                            shown(at.x),
                            shown(at.y),
                            shown(wide / 2.0)
                        );
                    }
                    Piece::Glass(path) => {
                        let _ = write!(svg, "<path class=\"inside\" d=\"{path}\"/>");
                    }
                    _ => {}
                }
            }
            svg.push_str("</g>");
        }
        for piece in layer {
            match piece {
                Piece::Fill(class, path) => {
                    let _ = write!(svg, "<path class=\"{class}\" d=\"{path}\"/>");
                }
                Piece::Bar(class, wide, path) => self.bar(svg, class, *wide, path),
                Piece::Line(path) => {
                    let _ = write!(svg, "<path class=\"detail\" d=\"{path}\"/>");
                }
                _ => {}
            }
        }
    }

    /// Ground faces that are in use, and glands with their rod, over everything they join.
    fn joints(&self, svg: &mut String) {
        for join in &self.assembly.joins {
            let (a, b) = (self.assembly.port(join.a), self.assembly.port(join.b));
            match (a.joint.fit, b.joint.fit) {
                (Fit::Cone, Fit::Socket) | (Fit::Socket, Fit::Cone) => {
                    let end = if a.joint.fit == Fit::Cone {
                        join.a
                    } else {
                        join.b
                    };
                    let place = &self.assembly.places[end.item];
                    let outline: Vec<String> = self.assembly.items[end.item]
                        .part
                        .ground_outline(end.port)
                        .into_iter()
                        .flatten()
                        .map(|p| xy(place.map(p)))
                        .collect();
                    let _ = write!(
                        svg,
                        "<path class=\"ground-joint\" d=\"M{}Z\"/>",
                        outline.join("L")
                    );
                }
                (Fit::Gland, Fit::Rod) => self.gland(svg, join.a),
                (Fit::Rod, Fit::Gland) => self.gland(svg, join.b),
                _ => {}
            }
        }
    }

    fn gland(&self, svg: &mut String, end: End) {
        let (at, heading) = self.assembly.spot(end);
        let wide = self.assembly.port(end).joint.diameter + 9.0;
        self.bar(
            svg,
            "case",
            wide,
            &format!(
                "M{}L{}",
                xy(at.minus(step(heading).times(3.0))),
                xy(at.plus(step(heading).times(9.0)))
            ),
        );
    }

    fn flow_arrows(&self, svg: &mut String) {
        let size = (self.radius * 0.42).clamp(4.5, 8.0);
        for (flow, line) in self.assembly.arrows() {
            arrow(svg, flow, &line, size, self.ink);
        }
        for hose in &self.hoses {
            let (t, d) = (self.arrow_share(hose), 0.02);
            let (mut a, mut b) = (hose.at((t - d).max(0.0)), hose.at((t + d).min(1.0)));
            if !hose.forward {
                std::mem::swap(&mut a, &mut b);
            }
            let way = b.minus(a).times(1.0 / b.minus(a).length().max(1e-6));
            let head = size.max(hose.width * 0.62) * 1.25;
            let tip = if t >= 1.0 {
                b.plus(way.times(head))
            } else {
                hose.at(t).plus(way.times(head * 0.6))
            };
            let _ = write!(
                svg,
                "<path class=\"flow-{}\" d=\"{}\"/>",
                hose.flow.word(),
                head_path(tip, way, head)
            );
        }
    }

    /// The share along a hose, near the wanted one, at which nothing lies over it.
    fn arrow_share(&self, hose: &Curve) -> f64 {
        if hose.arrow >= 1.0 {
            return 1.0;
        }
        let shares = [0.0, 0.1, -0.1, 0.2, -0.2, 0.3, -0.3]
            .map(|step| (hose.arrow + step).clamp(0.08, 0.92));
        let seen = |share: f64| {
            [-0.05, 0.0, 0.05]
                .iter()
                .all(|d| self.grid.at(hose.at(share + d)) == 1)
        };
        shares
            .into_iter()
            .find(|share| seen(*share))
            .unwrap_or(hose.arrow)
    }

    fn numbers(&self, svg: &mut String, id: &str) {
        for callout in &self.callouts {
            let _ = write!(
                svg,
                "<path class=\"callout-line\" d=\"M{}L{}\"/><circle class=\"callout-end\" cx=\"{}\" cy=\"{}\" r=\"{}\"/>",
                xy(callout.centre),
                xy(callout.anchor),
                shown1(callout.anchor.x),
                shown1(callout.anchor.y),
                shown(self.ink * 1.5)
            );
        }
        let long = self.long();
        for callout in &self.callouts {
            let number = callout.item + 1;
            let label = escape(&self.assembly.items[callout.item].part.label);
            let _ = write!(
                svg,
                "<a class=\"callout\" href=\"#{id}-part-{number}\" aria-label=\"{number}: {label}\"><g transform=\"translate({})\"><g class=\"callout-size{long}\"><circle r=\"{}\"/><text font-size=\"{}\" text-anchor=\"middle\" dy=\".35em\">{number}</text></g></g></a>",
                xy(callout.centre),
                shown1(self.radius),
                shown1(self.radius * 1.22)
            );
        }
    }

    /// Class by which the style sheet makes letters of a long drawing smaller on a wide screen.
    fn long(&self) -> &'static str {
        match (self.bounds.right - self.bounds.left) as u32 {
            0..=330 => "",
            331..=520 => " long",
            _ => " longer",
        }
    }

    fn scale_bar(&self, svg: &mut String) {
        let Bounds {
            left,
            right,
            bottom,
            ..
        } = self.bounds;
        let length = if right - left > 260.0 { 100.0 } else { 50.0 };
        let (x, y) = (left + self.radius, bottom - self.radius * 0.9);
        let _ = write!(
            svg,
            "<g class=\"scale\"><path d=\"M{} {}v8m0 -4h{}m0 -4v8\"/><g transform=\"translate({} {})\"><text class=\"callout-size{}\" font-size=\"{}\" dy=\".35em\">{} cm</text></g></g>",
            shown1(x),
            shown1(y - 4.0),
            shown1(length),
            shown1(x + length + self.radius * 0.5),
            shown1(y),
            self.long(),
            shown1(self.radius),
            length / 10.0
        );
    }
}

/// The liquid in a vessel, layer on layer, level on the page however the vessel is tilted.
fn liquid(part: &Part, place: &Place, holds: &[(f64, String)]) -> String {
    let Some(cavity) = &part.cavity else {
        return String::new();
    };
    let mut svg = String::new();
    let (mut filled, mut low) = (0.0, cavity.profile[0].0);
    let is_water = |of: &str| of.contains("water") || of.contains("aqueous");
    let told = holds.iter().any(|(_, of)| is_water(of));
    for (layer, (volume, of)) in holds.iter().enumerate() {
        // Water is blue; where no layer is said to be water, every second one is.
        let watery = if told { is_water(of) } else { layer % 2 == 1 };
        filled += volume;
        let high = cavity.level(filled);
        let mut outline: Vec<(f64, f64)> = vec![(low, cavity.half_width(low))];
        outline.extend(
            cavity
                .profile
                .iter()
                .copied()
                .filter(|(y, _)| *y < low && *y > high),
        );
        outline.push((high, cavity.half_width(high)));
        let right = outline.iter().map(|(y, r)| xy(point(cavity.axis + r, *y)));
        let left = outline
            .iter()
            .rev()
            .map(|(y, r)| xy(point(cavity.axis - r, *y)));
        let path = right.chain(left).collect::<Vec<_>>().join("L");
        let level = match cavity.ball {
            Some((_, centre)) if place.turn.abs() > 0.01 => {
                let turn = if place.mirror {
                    place.turn
                } else {
                    -place.turn
                };
                format!(" transform=\"rotate({} {})\"", shown(turn), xy(centre))
            }
            _ => String::new(),
        };
        let _ = write!(
            svg,
            "<path class=\"liquid{}\" d=\"M{path}Z\"{level}/>",
            if watery { " water" } else { "" }
        );
        low = high;
    }
    svg
}

/// A line with a head at its end.
fn arrow(svg: &mut String, flow: Flow, line: &[Point], size: f64, ink: f64) {
    let [.., before, tip] = line else { return };
    let way = tip.minus(*before);
    let way = way.times(1.0 / way.length().max(1e-6));
    let mut shaft: Vec<Point> = line.to_vec();
    if let Some(last) = shaft.last_mut() {
        *last = tip.minus(way.times(size * 0.6));
    }
    let path = shaft.iter().map(|p| xy(*p)).collect::<Vec<_>>().join("L");
    let _ = write!(
        svg,
        "<path class=\"flow-{0}-line\" stroke-width=\"{1}\" d=\"M{path}\"/><path class=\"flow-{0}\" d=\"{2}\"/>",
        flow.word(),
        shown(ink * 1.4),
        head_path(*tip, way, size)
    );
}

fn head_path(tip: Point, way: Point, size: f64) -> String {
    let back = tip.minus(way.times(size));
    let across = way.turned(90.0).times(size * 0.48);
    format!(
        "M{}L{}L{}Z",
        xy(tip),
        xy(back.plus(across)),
        xy(back.minus(across))
    )
}
