//! A `plan` block read: what each part says, and how long its calculator says it takes.

use super::{LONGEST, Part, Plan};
use crate::finding::{Flaw, choice, spelling};
use crate::worked::given;
use crate::worked::numbers::{self, Worked};
use calc_wasm::library::Library;
use calc_wasm::number;
use calc_wasm::quantity::{self, Duration, Quantity};
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// What a part may say.
const FIELDS: [&str; 7] = ["name", "takes", "times", "from", "note", "after", "rest"];

/// How far a duration may be reckoned up or down.
const TIMES: Range<f64> = 0.1..20.0;

/// Reads a `plan` block. `page` are the calculators that stand above it.
///
/// # Errors
/// All flaws, by bytes of `body`.
pub fn read(body: &str, library: &Library, page: &[Worked]) -> Result<Plan, Vec<Flaw>> {
    let root = DeTable::parse(body).map_err(|error| vec![given::syntax(body, &error)])?;
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
                Err(problem) => self
                    .flaws
                    .push(Flaw::new(span.clone(), problem.message.to_string())),
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
                // A plan goes by the minute; where there is an interval, that says how finely.
                part.takes = match part.between {
                    Some(_) => figure.shown(),
                    None => super::span(part.minutes),
                };
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read::data::of_the_site;

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
        let page = [Worked::on_a_page("leaf", "soxhlet", &inputs)];
        let body = "[[part]]\nname = \"a\"\ntakes = \"=leaf.time\"\n[[part]]\nname = \"b\"\ntakes = \"=leaf.time cycles=3\"\ntimes = 2\n";
        let plan = read(body, &of_the_site(), &page).expect("sound");
        let outcome = soxhlet.run(&of_the_site(), &pairs).expect("an answer");
        let time = outcome.figure("time").and_then(|figure| figure.number());
        assert_eq!(Some(plan.parts[0].minutes), time);
        // Half the siphonings take half the time; twice that is the whole again.
        assert!((plan.parts[1].minutes - plan.parts[0].minutes).abs() < 1e-9);
        assert!(plan.parts[0].worked && plan.parts[1].takes.starts_with("2 × "));
    }

    #[test]
    fn says_where_a_plan_is_wrong() {
        let wrong = |body: &str| {
            let flaws = read(body, &of_the_site(), &[]).expect_err("flaws");
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
