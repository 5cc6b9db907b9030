//! Part of stage 5: the time plan of an experiment, a `plan` block. How long its parts take comes
//! from calculators where it can, else from the author; when each begins follows from what it
//! has to wait for; what can run side by side lies side by side, on lanes of a bar chart.
//!
//! ```toml
//! [[part]]
//! name = "Build, charge, check"
//! takes = "25 min"                 # source: common practice, unless `from` says otherwise
//!
//! [[part]]
//! name = "Soxhlet"
//! takes = "=soxhlet.time"          # a block of this page by its id, or a calculator with inputs
//! times = 1.5                      # reckoned longer than worked out, and why:
//! note = "the first soak is slow"
//!
//! [[part]]
//! name = "Pack the column"
//! takes = "30 min"
//! after = "Build, charge, check"   # else it follows the part above it
//! rest = "column wet and stoppered"  # the work may rest here
//! ```

mod chart;
mod html;
mod read;

pub use read::read;

use calc_wasm::number;

/// The longest a part may take, min: a week.
const LONGEST: f64 = 7.0 * 24.0 * 60.0;

/// One part of the work.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Part {
    /// What is done.
    pub name: String,
    /// How long it takes, min.
    pub minutes: f64,
    /// The interval of that, min, where there is one.
    pub between: Option<(f64, f64)>,
    /// The same in words: `62 min`.
    pub takes: String,
    /// Whether a calculator worked it out.
    pub worked: bool,
    /// Where it comes from.
    pub source: String,
    /// What else is to be said.
    pub note: String,
    /// How the work may rest when this part is done.
    pub rest: Option<String>,
    /// When it begins, min from the start.
    pub start: f64,
    /// Which lane of the chart it lies on, from 0.
    pub lane: usize,
    /// Numbers of the parts it waits for.
    waits: Vec<usize>,
}

impl Part {
    /// When it ends, min from the start.
    pub fn end(&self) -> f64 {
        self.start + self.minutes
    }
}

/// A plan with every part in its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// The parts, in the order written; at least one.
    pub parts: Vec<Part>,
}

impl Plan {
    /// Lets every part begin as soon as what it waits for is done, and gives it the first lane
    /// that is free then.
    fn place(&mut self) {
        let mut lanes: Vec<f64> = Vec::new();
        for at in 0..self.parts.len() {
            let start = self.parts[at]
                .waits
                .iter()
                .map(|before| self.parts[*before].end())
                .fold(0.0, f64::max);
            // Sums of minutes differ in the last bits.
            let free = lanes.iter().position(|end| *end <= start + 1e-6);
            let lane = free.unwrap_or(lanes.len());
            if lane == lanes.len() {
                lanes.push(0.0);
            }
            let part = &mut self.parts[at];
            (part.start, part.lane) = (start, lane);
            lanes[lane] = part.end();
        }
    }

    /// From the start to the end of the last part, min.
    pub fn total(&self) -> f64 {
        self.parts.iter().map(Part::end).fold(0.0, f64::max)
    }

    /// How many lanes lie side by side.
    pub fn lanes(&self) -> usize {
        self.parts
            .iter()
            .map(|part| part.lane + 1)
            .max()
            .unwrap_or(0)
    }
}

/// `0:25`, hours and minutes.
fn clock(minutes: f64) -> String {
    let whole = libm::round(minutes) as i64;
    format!("{}:{:02}", whole / 60, whole % 60)
}

/// `25 min`, `3 h 5 min`; to the minute, below ten to two digits.
fn span(minutes: f64) -> String {
    if minutes < 9.95 {
        return format!("{} min", number::significant(minutes, 2));
    }
    let whole = libm::round(minutes) as i64;
    match (whole / 60, whole % 60) {
        (0, minutes) => format!("{minutes} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two parts side by side, a third that waits for both.
    pub(super) const PLAN: &str = "[[part]]\nname = \"a\"\ntakes = \"30 min\"\n[[part]]\nname = \"b\"\ntakes = \"1 h\"\n[[part]]\nname = \"c\"\ntakes = \"45 min\"\nafter = \"a\"\n[[part]]\nname = \"d\"\ntakes = \"10 ± 2 min\"\nafter = [\"b\", \"c\"]\n";

    pub(super) fn plan(body: &str) -> Plan {
        read(body, &crate::read::data::of_the_site(), &[]).expect("a sound plan")
    }

    #[test]
    fn lays_side_by_side_what_does_not_wait() {
        let plan = plan(PLAN);
        let places: Vec<_> = plan
            .parts
            .iter()
            .map(|part| (part.start.round() as i64, part.lane))
            .collect();
        assert_eq!(places, [(0, 0), (30, 0), (30, 1), (90, 0)]);
        assert_eq!((clock(plan.total()), plan.lanes()), ("1:40".into(), 2));
        let html = plan.html("plan-1");
        assert!(html.contains("All in all 1 h 40 min"), "{html}");
        assert!(html.contains("one thing after the other it would be 2 h 25 min"));
        assert!(html.contains("4: d, from 1:30 to 1:40."));
    }
}
