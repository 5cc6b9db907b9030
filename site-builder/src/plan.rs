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

use crate::finding::{Flaw, choice, spelling};
use crate::numbers::{self, Worked};
use calc_wasm::library::Library;
use calc_wasm::quantity::{self, Duration, Quantity, number};
use calc_wasm::report::escape;
use std::fmt::Write as _;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

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

/// What a part may say.
const FIELDS: [&str; 7] = ["name", "takes", "times", "from", "note", "after", "rest"];
/// The longest a part may take, min: a week.
const LONGEST: f64 = 7.0 * 24.0 * 60.0;
/// How far a duration may be reckoned up or down.
const TIMES: Range<f64> = 0.1..20.0;

/// Reads a `plan` block. `page` are the calculators that stand above it.
///
/// # Errors
/// All flaws, by bytes of `body`.
pub fn read(body: &str, library: &Library, page: &[Worked]) -> Result<Plan, Vec<Flaw>> {
    let root = DeTable::parse(body).map_err(|error| vec![numbers::syntax(body, &error)])?;
    let mut reader = Reader {
        body,
        library,
        page,
        parts: Vec::new(),
        flaws: Vec::new(),
    };
    for (key, value) in root.get_ref() {
        match (key.get_ref().as_ref(), value.get_ref().as_array()) {
            ("part", Some(parts)) => parts.iter().for_each(|part| reader.part(part)),
            ("part", None) => reader.flaw(
                value.span(),
                "`part` is not a list",
                "begin each part with `[[part]]`",
            ),
            (name, _) => reader.flaw(
                key.span(),
                format!("a plan has no `{name}`"),
                "it is made of `[[part]]`",
            ),
        }
    }
    if reader.parts.is_empty() && reader.flaws.is_empty() {
        reader.flaw(
            0..body.trim_end().len(),
            "the plan has no parts",
            "begin each with `[[part]]`, then `name` and `takes`",
        );
    }
    if !reader.flaws.is_empty() {
        return Err(reader.flaws);
    }
    let mut plan = Plan {
        parts: reader.parts,
    };
    plan.place();
    Ok(plan)
}

struct Reader<'r> {
    body: &'r str,
    library: &'r Library,
    page: &'r [Worked],
    parts: Vec<Part>,
    flaws: Vec<Flaw>,
}

impl Reader<'_> {
    fn part(&mut self, value: &Spanned<DeValue<'_>>) {
        let Some(fields) = value.get_ref().as_table() else {
            return self.flaw(
                value.span(),
                "a part is not a group of fields",
                "begin each part with `[[part]]`",
            );
        };
        for (key, _) in fields {
            let name = key.get_ref().as_ref();
            if !FIELDS.contains(&name) {
                let mend = choice(name, &FIELDS);
                self.flaw(key.span(), format!("a part has no `{name}`"), mend);
            }
        }
        let mut part = Part::default();
        for wanted in ["name", "takes"] {
            if !fields.contains_key(wanted) {
                let head = value.span().start..value.span().start + "[[part]]".len();
                let mend = match wanted {
                    "name" => "add `name = \"…\"`",
                    _ => "add `takes = \"25 min\"`, or `\"=soxhlet.time\"`",
                };
                self.flaw(head, format!("this part has no `{wanted}`"), mend);
            }
        }
        part.name = self.words(fields, "name").map_or(String::new(), |it| it.0);
        if let Some((_, span)) = self.words(fields, "name")
            && self.parts.iter().any(|other| other.name == part.name)
        {
            self.flaw(
                span,
                format!("there is a part `{}` already", part.name),
                "give it a name of its own, for others wait for it by name",
            );
        }
        part.note = self.words(fields, "note").map_or(String::new(), |it| it.0);
        part.rest = self.words(fields, "rest").map(|it| it.0);
        part.waits = self.waits(fields);
        if let Some((takes, span)) = self.words(fields, "takes") {
            self.takes(&mut part, &takes, &span);
        }
        if let Some((source, span)) = self.words(fields, "from") {
            if part.worked {
                self.flaw(
                    span,
                    "`from` stands beside a worked-out time",
                    "the calculator is its source; say more in `note`",
                );
            }
            part.source = source;
        }
        if let Some(times) = fields.get("times") {
            self.times(&mut part, times);
        }
        self.parts.push(part);
    }

    /// `25 min`, `25 ± 5 min`, or what a calculator says.
    fn takes(&mut self, part: &mut Part, takes: &str, span: &Range<usize>) {
        let Some(request) = takes.strip_prefix('=') else {
            part.source = "common practice".into();
            match quantity::read(takes, Duration::DIMENSION) {
                Ok(read) if read.value > 0.0 && read.value <= LONGEST => {
                    part.minutes = read.value;
                    part.between = (read.error > 0.0)
                        .then_some((read.value - read.error, read.value + read.error));
                    part.takes = takes.to_owned();
                }
                Ok(_) => self.flaw(
                    span.clone(),
                    format!("`{takes}` is not between 0 min and a week"),
                    "write how long this part takes",
                ),
                Err(message) => self.flaws.push(Flaw::new(span.clone(), message)),
            }
            return;
        };
        // Where the string stands as written, a fault is put on its own word.
        let inside = self.body[span.clone()].find(request);
        match numbers::figure(request, self.library, self.page) {
            Ok((calculator, figure)) => {
                let minutes = Duration::DIMENSION
                    .unit(figure.unit)
                    .filter(|_| !figure.unit.is_empty())
                    .and_then(|unit| Some((figure.number()?, unit.factor)));
                let Some((value, factor)) = minutes else {
                    let head = request.split_whitespace().next().unwrap_or_default();
                    return self.flaw(
                        span.clone(),
                        format!("`{head}` is no time"),
                        "name a result that is, as `soxhlet.time`",
                    );
                };
                part.minutes = value * factor;
                let ends = figure.low.zip(figure.high);
                part.between = ends.map(|(low, high)| (low * factor, high * factor));
                part.takes = figure.shown();
                part.worked = true;
                part.source = calculator.title.to_owned();
            }
            Err(flaws) => self.flaws.extend(flaws.into_iter().map(|mut flaw| {
                flaw.span = match inside {
                    Some(at) => span.start + at + flaw.span.start..span.start + at + flaw.span.end,
                    None => span.clone(),
                };
                flaw
            })),
        }
    }

    fn times(&mut self, part: &mut Part, value: &Spanned<DeValue<'_>>) {
        let times = match value.get_ref() {
            DeValue::Integer(number) => number.to_string().parse().ok(),
            DeValue::Float(number) => number.to_string().parse::<f64>().ok(),
            _ => None,
        };
        match times {
            Some(times) if TIMES.contains(&times) => {
                part.minutes *= times;
                part.between = part.between.map(|(low, high)| (low * times, high * times));
                part.takes = format!("{} × {}", number::plain(times, 3), part.takes);
            }
            _ => self.flaw(
                value.span(),
                "`times` is not a number from 0.1 to 20",
                "write how many times the duration to reckon with, as `times = 2`",
            ),
        }
    }

    /// The parts to wait for: those named, or the one above.
    fn waits(&mut self, fields: &DeTable<'_>) -> Vec<usize> {
        let Some(after) = fields.get("after") else {
            return self.parts.len().checked_sub(1).into_iter().collect();
        };
        let one = std::slice::from_ref(after);
        let names = match after.get_ref() {
            DeValue::Array(names) => names.iter().as_slice(),
            _ => one,
        };
        let mut waits = Vec::new();
        for name in names {
            let wanted = name.get_ref().as_str().unwrap_or_default();
            match self.parts.iter().position(|part| part.name == wanted) {
                Some(place) => waits.push(place),
                None => {
                    let above = self.parts.iter().map(|part| part.name.as_str());
                    let mend = spelling(wanted, above)
                        .unwrap_or_else(|| "name a part that stands above this one".to_owned());
                    let message = format!("no part above is called `{wanted}`");
                    self.flaw(name.span(), message, mend);
                }
            }
        }
        waits
    }

    fn words(&mut self, fields: &DeTable<'_>, name: &str) -> Option<(String, Range<usize>)> {
        let value = fields.get(name)?;
        match value.get_ref().as_str() {
            Some(words) if !words.trim().is_empty() => {
                Some((words.trim().to_owned(), value.span()))
            }
            _ => {
                let flaw = Flaw::new(value.span(), format!("`{name}` is not words"))
                    .mend("write words between quotes");
                if !self.flaws.contains(&flaw) {
                    self.flaws.push(flaw);
                }
                None
            }
        }
    }

    fn flaw(&mut self, span: Range<usize>, message: impl Into<String>, mend: impl Into<String>) {
        self.flaws.push(Flaw::new(span, message).mend(mend));
    }
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

    /// The chart, its words and the table behind it.
    pub fn html(&self, id: &str) -> String {
        let rests = self.parts.iter().any(|part| part.rest.is_some());
        let mut html = format!(
            "<figure class=\"plan\" id=\"{id}\">\n{}\n<figcaption><ul class=\"legend\"><li class=\"worked\">worked out by a calculator</li><li class=\"given\">given by the author</li>{}</ul>\n<p>{}</p></figcaption>\n</figure>\n",
            self.svg(id),
            if rests {
                "<li class=\"rest\">the work may rest</li>"
            } else {
                ""
            },
            escape(&self.all_in_all())
        );
        html.push_str("<div class=\"wide\" role=\"region\" aria-label=\"Time plan\" tabindex=\"0\"><table class=\"plan-table\"><thead><tr><th scope=\"col\">No.</th><th scope=\"col\">Part</th><th scope=\"col\">Begins</th><th scope=\"col\">Takes</th><th scope=\"col\">From</th><th scope=\"col\">Note</th></tr></thead><tbody>\n");
        for (at, part) in self.parts.iter().enumerate() {
            let rest = part.rest.as_ref();
            let rest = rest.map_or(String::new(), |how| {
                format!("The work may rest here: {how}.")
            });
            let note = [part.note.as_str(), &rest];
            let note: Vec<&str> = note.into_iter().filter(|words| !words.is_empty()).collect();
            let _ = writeln!(
                html,
                "<tr><td>{}</td><th scope=\"row\">{}</th><td data-head=\"Begins\">{}</td><td data-head=\"Takes\">{}{}</td><td data-head=\"From\">{}</td><td data-head=\"Note\">{}</td></tr>",
                at + 1,
                escape(&part.name),
                clock(part.start),
                escape(&part.takes),
                part.range(),
                escape(&part.source),
                escape(&note.join(". ").replace(".. ", ". "))
            );
        }
        html.push_str("</tbody></table></div>\n");
        html
    }

    /// The chart and a key to its numbers, for a card.
    pub fn card(&self, id: &str) -> String {
        let mut html = format!(
            "<figure class=\"plan\">{}</figure><ol class=\"plan-key\">",
            self.svg(id)
        );
        for part in &self.parts {
            let _ = write!(
                html,
                "<li>{} <span class=\"takes\">{}</span></li>",
                escape(&part.name),
                escape(&part.takes)
            );
        }
        html.push_str("</ol>");
        html
    }

    fn all_in_all(&self) -> String {
        let (total, each): (f64, f64) = (
            self.total(),
            self.parts.iter().map(|part| part.minutes).sum(),
        );
        let mut words = format!("All in all {}", span(total));
        if each > total + 0.5 {
            let _ = write!(
                words,
                ", with side by side what can be; one thing after the other it would be {}",
                span(each)
            );
        }
        words.push('.');
        words
    }
}

impl Part {
    /// The interval for the table.
    fn range(&self) -> String {
        self.between.map_or(String::new(), |(low, high)| {
            format!(
                " <span class=\"interval\">{} to {}</span>",
                span(low),
                span(high)
            )
        })
    }
}

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
    fn svg(&self, id: &str) -> String {
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
    /// The tables of the site, on which some calculators draw.
    fn library() -> Library {
        let content = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../content");
        let (files, _) = crate::source::read_data(&content);
        crate::data::library(&crate::data::read(&files).0).0
    }

    fn plan(body: &str) -> Plan {
        read(body, &library(), &[]).expect("a sound plan")
    }

    const PLAN: &str = "[[part]]\nname = \"a\"\ntakes = \"30 min\"\n[[part]]\nname = \"b\"\ntakes = \"1 h\"\n[[part]]\nname = \"c\"\ntakes = \"45 min\"\nafter = \"a\"\n[[part]]\nname = \"d\"\ntakes = \"10 ± 2 min\"\nafter = [\"b\", \"c\"]\n";

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

    #[test]
    fn takes_a_block_of_the_page_and_the_calculator_itself() {
        let soxhlet = calc_wasm::calculators::find("soxhlet").expect("soxhlet");
        let inputs = [
            ("siphon_volume", "80 mL"),
            ("boil_up_rate", "8 mL/min"),
            ("cycles", "6"),
        ];
        let pairs: Vec<_> = inputs
            .map(|(name, text)| (name.to_owned(), text.to_owned()))
            .into();
        let page = [Worked {
            id: "leaf".into(),
            calculator: soxhlet,
            pairs: pairs.clone(),
            card: None,
            heading: String::new(),
        }];
        let body = "[[part]]\nname = \"a\"\ntakes = \"=leaf.time\"\n[[part]]\nname = \"b\"\ntakes = \"=leaf.time cycles=3\"\ntimes = 2\n";
        let plan = read(body, &library(), &page).expect("sound");
        let outcome = soxhlet.run(&library(), &pairs).expect("an answer");
        let time = outcome.figure("time").and_then(|figure| figure.number());
        assert_eq!(Some(plan.parts[0].minutes), time);
        // Half the siphonings take half the time; twice that is the whole again.
        assert!((plan.parts[1].minutes - plan.parts[0].minutes).abs() < 1e-9);
        assert!(plan.parts[0].worked && plan.parts[1].takes.starts_with("2 × "));
    }

    #[test]
    fn says_where_a_plan_is_wrong() {
        let wrong = |body: &str| {
            let flaws = read(body, &library(), &[]).expect_err("flaws");
            format!(
                "{} | {}",
                flaws[0].message,
                flaws[0].mend.clone().unwrap_or_default()
            )
        };
        assert!(wrong("").starts_with("the plan has no parts"));
        assert!(wrong("[[part]]\nname = \"a\"\ntakes = \"5 mL\"\n").contains("mL"));
        assert!(
            wrong("[[part]]\nname = \"a\"\ntakes = \"=soxhlet.cycles\"\n").contains("is no time")
        );
        assert!(wrong("[[part]]\nname = \"a\"\ntakes = \"0 min\"\n").contains("not between"));
    }
}
