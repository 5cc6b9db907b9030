//! A plan as a bar chart: a lane for each thing that runs beside another, to scale.

use super::{LONGEST, Part, Plan, clock};
use calc_wasm::markup::escape;
use std::fmt::Write as _;

/// Width of the drawing in its own units: about a phone's.
const WIDE: f64 = 360.0;

/// Room left and right, for the first and the last tick's words.
const SIDE: f64 = 12.0;
const LANE: f64 = 30.0;
const BAR: f64 = 20.0;
const TOP: f64 = 16.0;
/// A bar narrower than this for each digit has its number above or below.
const NARROW: f64 = 8.0;
/// What a letter takes at the size that names in bars have, on the safe side.
const LETTER: f64 = 4.8;

impl Plan {
    pub(super) fn svg(&self, id: &str) -> String {
        let total = self.total();
        let x = |minutes: f64| SIDE + minutes / total * (WIDE - 2.0 * SIDE);
        let floor = TOP + self.lanes() as f64 * LANE;
        let mut svg = format!(
            "<svg viewBox=\"0 0 {WIDE} {}\" role=\"img\" aria-labelledby=\"{id}-title {id}-words\"><title id=\"{id}-title\">Time plan</title><desc id=\"{id}-words\">{}</desc>",
            floor + 32.0,
            escape(&self.description())
        );
        let step = tick(total);
        let mut at = 0.0;
        while at <= total + 1e-6 {
            let place = x(at);
            let _ = write!(
                svg,
                "<path class=\"grid\" d=\"M{0:.1} {TOP}V{floor}\"/><text class=\"tick\" x=\"{0:.1}\" y=\"{1}\" text-anchor=\"middle\">{2}</text>",
                place,
                floor + 13.0,
                clock(at)
            );
            at += step;
        }
        let _ = write!(
            svg,
            "<path class=\"axis\" d=\"M{SIDE} {floor}H{}\"/><text class=\"axis\" x=\"{}\" y=\"{}\" text-anchor=\"middle\">hours and minutes from the start</text>",
            WIDE - SIDE,
            WIDE / 2.0,
            floor + 28.0
        );
        for (at, part) in self.parts.iter().enumerate() {
            self.bar(&mut svg, at, part, &x);
        }
        svg.push_str("</svg>");
        svg
    }

    fn bar(&self, svg: &mut String, at: usize, part: &Part, x: &impl Fn(f64) -> f64) {
        let (left, right) = (x(part.start), x(part.end()));
        let (wide, middle) = (right - left, (left + right) / 2.0);
        let top = TOP + part.lane as f64 * LANE + (LANE - BAR) / 2.0;
        let number = at + 1;
        let kind = if part.worked { "worked" } else { "given" };
        let _ = write!(
            svg,
            "<path class=\"bar {kind}\" d=\"M{left:.1} {top}H{right:.1}V{}H{left:.1}Z\"/>",
            top + BAR
        );
        if let Some((low, high)) = part.between {
            let line = top + BAR - 3.0;
            let _ = write!(
                svg,
                "<path class=\"error-bar\" d=\"M{:.1} {line}H{:.1}\"/>",
                x(part.start + low),
                x((part.start + high).min(self.total()))
            );
        }
        if part.rest.is_some() {
            let _ = write!(
                svg,
                "<path class=\"rest\" d=\"M{right:.1} {}V{}\"/>",
                top - 4.0,
                top + BAR + 4.0
            );
        }
        let words = format!("{number} {}", part.name);
        if wide < NARROW * number.to_string().len() as f64 {
            // Beside the bar on the free side of its lane; neighbours that are narrow too take
            // turns at two heights.
            let turn = if at.is_multiple_of(2) { 0.0 } else { 8.0 };
            let y = if part.lane == 0 {
                top - 1.5 - turn
            } else {
                top + BAR + 8.5
            };
            let _ = write!(
                svg,
                "<text class=\"number small\" x=\"{middle:.1}\" y=\"{y}\" text-anchor=\"middle\">{number}</text>"
            );
        } else if words.chars().count() as f64 * LETTER < wide - 4.0 {
            let y = top + BAR / 2.0 + 3.5;
            let _ = write!(
                svg,
                "<text class=\"number\" x=\"{:.1}\" y=\"{y}\">{number}<tspan class=\"name\"> {}</tspan></text>",
                left + 4.0,
                escape(&part.name)
            );
        } else {
            let y = top + BAR / 2.0 + 3.5;
            let _ = write!(
                svg,
                "<text class=\"number\" x=\"{middle:.1}\" y=\"{y}\" text-anchor=\"middle\">{number}</text>"
            );
        }
    }

    fn description(&self) -> String {
        let mut words = self.all_in_all();
        for (at, part) in self.parts.iter().enumerate() {
            let _ = write!(
                words,
                " {}: {}, from {} to {}.",
                at + 1,
                part.name,
                clock(part.start),
                clock(part.end())
            );
        }
        words
    }
}

/// Minutes between two ticks, so that there are no more than eight.
fn tick(total: f64) -> f64 {
    [
        1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 240.0, 480.0, 1440.0,
    ]
    .into_iter()
    .find(|step| total / step <= 7.5)
    .unwrap_or(LONGEST)
}

#[cfg(test)]
mod tests {
    use crate::worked::plan::tests::{PLAN, plan};

    #[test]
    fn draws_bars_to_scale() {
        let svg = plan(PLAN).svg("p");
        // 100 min over 336 units from 12: `b` runs from 30 to 90 min.
        let (left, right) = (12.0 + 0.30 * 336.0, 12.0 + 0.90 * 336.0);
        assert!(
            svg.contains(&format!("d=\"M{left:.1} 21H{right:.1}V41")),
            "{svg}"
        );
    }
}
