//! Which proportion of two solvents brings a spot to the Rf that is wanted?
//!
//! Polarity index of a mixture: P′ = Σ φᵢ·P′ᵢ by volume. From one measured Rf, with
//! k = (1 − Rf)/Rf, log k falls by 1 for each 2 units of P′. From two or more, the straight line
//! of log k against the proportion of the last solvent, by least squares.
//! Source: L. R. Snyder, J. Chromatogr. 92 (1974) 223 and J. Chromatogr. Sci. 16 (1978) 223.
//! The rule of two units is a guide: the change it foretells may be wrong by half of itself, so it
//! is best near the mixture that was measured.
//! It fails where the last solvent is much stronger on silica than its polarity says, as methanol
//! is: a few per cent cover the surface. There log k is straight over log φ, and two plates are
//! asked for. Source: E. Soczewiński, Anal. Chem. 41 (1969) 179 (from memory).

use crate::calculators::Calculator;
use crate::equations::flash::{UNITS_PER_DECADE, capacity_factor, log_k_shift, polarity};
use crate::equations::meeting;
use crate::equations::substance::{self, DEFER};
use crate::inputs::{Cell, Column, Entry, Field, Inputs, Kind, Row, Rows, form_only};
use crate::library::Record;
use crate::limits::{self, Limit};
use crate::outcome::Outcome;
use crate::plot::spread;
use crate::problem::Problem;
use crate::quantity::{Fraction, Measured, Number, Quantity};
use crate::sentence::Sentence;

/// By what share of itself the change that the rule foretells may be wrong, and how well an Rf is
/// read off a plate (both common practice).
const RULE_ERROR: f64 = 0.5;
const RF_ERROR: f64 = 0.01;
/// Two proportions closer than this make no line.
const APART: f64 = 0.005;
/// Less of a strong solvent than this is not measured into an eluent.
const TRACE: f64 = 0.001;

static WISHED_RF: Limit = Limit::new(
    Number::DIMENSION,
    "",
    0.05,
    0.95,
    "nearer to 0 or 1 nothing is separated",
);

static PART_SOLVENT: Cell<Entry> =
    Cell::new("solvent", "Solvent", None, Kind::Entry("solvents"), false);

static PART_SHARE: Cell<Fraction> = Cell::new(
    "share",
    "Share",
    Some(':'),
    Kind::Quantity(&limits::SHARE),
    true,
);

static SPOT_RF: Cell<Number> = Cell::new("rf", "Rf", None, Kind::Quantity(&limits::RF), false);

static SPOT_SHARE: Cell<Fraction> = Cell::new(
    "share",
    "in a share of the last solvent",
    Some('@'),
    Kind::Quantity(&limits::SHARE),
    true,
);

static SOLVENTS: &[&Column] = &[&PART_SOLVENT.column, &PART_SHARE.column];

static SPOTS: &[&Column] = &[&SPOT_RF.column, &SPOT_SHARE.column];

static SOLVENTS_INPUT: Field<Rows> = Field::preset(
    "solvents",
    "Mixture",
    Kind::Rows(SOLVENTS),
    "hexane: 80 %; ethyl acetate: 20 %",
    "By volume; the proportion of the last one is sought, the others keep theirs to each other.",
);

static SPOTS_INPUT: Field<Rows> = Field::preset(
    "spots",
    "The wanted spot on the plate",
    Kind::Rows(SPOTS),
    "0.20 @ 20 %",
    "Rf, and the share of the last solvent it was run in; share blank for the mixture above. Two plates make a line.",
);

static TARGET_RF: Field<Number> = Field::preset(
    "target_rf",
    "Rf wanted",
    Kind::Quantity(&WISHED_RF),
    "0.35",
    "0.35 is best for a flash column.",
);

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "eluent-blend",
    title: "Eluent: blend of solvents",
    question: form_only("Which proportion brings the spot to the Rf I want?"),
    inputs: &[&SOLVENTS_INPUT.input, &SPOTS_INPUT.input, &TARGET_RF.input],
    evaluate,
};

/// A mixture of which one part is varied: polarity index of the rest and of that part.
struct Blend {
    /// Whether that part is strong on silica.
    strong: bool,
    rest: f64,
    last: f64,
    /// Share of the last solvent in the mixture given.
    share: f64,
}

impl Blend {
    /// P′ with `share` of the last solvent.
    fn polarity(&self, share: f64) -> f64 {
        polarity(self.rest, self.last, share)
    }
}

/// log k as a straight line over the share of the last solvent, or over its logarithm where that
/// solvent is strong on silica, and how far it is believed.
struct Line {
    strong: bool,
    /// The middle of the plates on the axis, and log k there.
    middle: f64,
    at_middle: f64,
    slope: f64,
    /// Half-width in log k at the middle, and its growth with distance from there.
    half: f64,
    fan: f64,
    /// Least and greatest share measured.
    least: f64,
    most: f64,
    plates: usize,
}

impl Line {
    #[inline(never)]
    fn log_k(&self, share: f64) -> f64 {
        self.at_middle + self.slope * (on_axis(share, self.strong) - self.middle)
    }

    #[inline(never)]
    fn half_at(&self, share: f64) -> f64 {
        libm::hypot(
            self.half,
            self.fan * (on_axis(share, self.strong) - self.middle),
        )
    }

    /// The share at which log k is `log_k`, between the ends where `half` is nought.
    #[inline(never)]
    fn share(&self, log_k: f64) -> f64 {
        let at = self.middle + (log_k - self.at_middle) / self.slope;
        if self.strong { libm::pow(10.0, at) } else { at }
    }
}

/// Where a share stands on the axis of the line. Of a strong solvent at least a thousandth is
/// taken, for the logarithm of nought has no end.
#[inline(never)]
fn on_axis(share: f64, strong: bool) -> f64 {
    if strong {
        libm::log10(share.max(TRACE))
    } else {
        share
    }
}

/// Rf = 1/(1 + k), from log k.
#[inline(never)]
fn rf(log_k: f64) -> f64 {
    1.0 / (1.0 + libm::pow(10.0, log_k))
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let rows = inputs.rows(&SOLVENTS_INPUT);
    let blend = blend(rows)?;
    suited(inputs, outcome)?;
    let line = line(inputs, &blend)?;
    let wanted = inputs.get(&TARGET_RF).base();
    let share = line.share(libm::log10(capacity_factor(wanted)));
    let last = rows
        .last()
        .and_then(|row| row.entry(&PART_SOLVENT))
        .map_or("", |solvent| solvent.name());
    let least = if line.strong { TRACE } else { -1e-9 };
    if !(least..=1.0 + 1e-9).contains(&share) {
        return Err(out_of_reach(&line, share, last));
    }
    let (least, most) = (line.least, line.most);
    let near = if line.strong {
        least / 2.0..=most * 2.0
    } else {
        least - 0.1..=most + 0.1
    };
    let line_holds = line.plates > 1 && near.contains(&share);
    let rule_holds = line.plates == 1
        && (blend.polarity(share) - blend.polarity(least)).abs() <= UNITS_PER_DECADE / 2.0;

    // A tenth more on the axis of shares, twice as much on that of logarithms.
    let (step, each) = if line.strong {
        ("Twice as much", std::f64::consts::LOG10_2)
    } else {
        ("Each tenth more", 0.1)
    };
    outcome
        .because("{} of {} changes k by a factor of {2}. Measure the spot in the mixture found: it decides, not the line.")
        .text(step)
        .text(last)
        .number(libm::pow(10.0, (line.slope * each).abs()));
    outcome.by_method(if line.strong {
        "Straight line of log k against the logarithm of the share through the plates measured, k = (1 − Rf)/Rf, for a solvent that is strong on silica; the interval carries the reading of the Rf, ± 0.01 unless you give your own, first order."
    } else if line.plates > 1 {
        "Straight line of log k against proportion through the plates measured, k = (1 − Rf)/Rf; the interval carries the reading of the Rf, ± 0.01 unless you give your own, first order."
    } else {
        "Polarity index by volume; log k changes by 1 for 2 units, from the one plate measured; the interval takes that change to be right within half of itself, and joins the reading of the Rf, ± 0.01 unless you give your own. A second plate in another proportion makes a line of your own."
    });
    outcome.from_source("L. R. Snyder, J. Chromatogr. 92 (1974) 223 and J. Chromatogr. Sci. 16 (1978) 223; strong solvents E. Soczewiński, Anal. Chem. 41 (1969) 179 (from memory); errors common practice, no source.");
    outcome.valid_for("Silica, solvents that mix, Rf 0.1 to 0.8; by the rule within one unit of polarity of the plate measured, by the line within a tenth of the proportions measured, or half and twice them where the last solvent is strong.");
    outcome.in_range(line_holds || rule_holds);
    plot(&line, share, wanted, last, outcome);
    figures(&blend, &line, share, last, outcome);
    advise(inputs, outcome);
    let next = outcome.then("Which column for it?", "flash-column");
    next.with("solvent", "{}").text(last);
    next.with("rf", "{~3}").number(wanted);
    outcome
        .then("What pressure does it need?", "flash-flow")
        .with("solvent", "{}")
        .text(last);
    Ok(())
}

/// What to say where no share of the last solvent brings the spot to the Rf wanted.
fn out_of_reach(line: &Line, share: f64, last: &str) -> Problem {
    // Past the end where the last solvent stands alone, or past the end without it.
    let (end, at, instead) = if share > 1.0 {
        ("pure", 1.0, last)
    } else {
        ("without", 0.0, "the others")
    };
    let way = if (share > 1.0) == (line.slope < 0.0) {
        "more"
    } else {
        "less"
    };
    Problem::new(
        TARGET_RF.input.name,
        "even {} {} the spot runs at Rf {.2}; take something {} polar in place of {}",
    )
    .text(end)
    .text(last)
    .number(rf(line.log_k(at)))
    .text(way)
    .text(instead)
}

fn figures(blend: &Blend, line: &Line, share: f64, last: &str, outcome: &mut Outcome) {
    let (log_k, half) = (line.log_k(share), line.half_at(share));
    let proportion = outcome.number(
        "proportion",
        Sentence::new("Share of {}").text(last),
        percent(share),
        "%",
    );
    if line.strong {
        let end = |log_k| percent(line.share(log_k));
        proportion.within(end(log_k - half), end(log_k + half));
    } else {
        proportion.give_or_take(half / line.slope.abs() * 100.0);
    }
    let predicted = line.log_k(blend.share);
    let spread = line.half_at(blend.share);
    let of_given = |template| {
        let mut label = Sentence::new(template);
        label.number(percent(blend.share)).text(last);
        label
    };
    outcome
        .number(
            "predicted_rf",
            &of_given("Rf with {~3} % {}"),
            rf(predicted),
            "",
        )
        .within(rf(predicted + spread), rf(predicted - spread));
    outcome.number(
        "polarity_index",
        &of_given("Polarity index with {~3} % {}"),
        blend.polarity(blend.share),
        "",
    );
    outcome.number(
        "proposed_polarity_index",
        "Polarity index of the mixture found",
        blend.polarity(share),
        "",
    );
}

/// A share in per cent, between nought and the whole.
#[inline(never)]
fn percent(share: f64) -> f64 {
    (share * 100.0).clamp(0.0, 100.0)
}

/// The share written in a row; None where it is blank.
#[inline(never)]
fn share(row: &Row<'_>, cell: &Cell<Fraction>) -> Option<f64> {
    row.quantity(cell).map(Fraction::in_ones)
}

/// Reads the mixture: shares must come to the whole; one may be blank and takes what is left.
fn blend(rows: &[Row<'_>]) -> Result<Blend, Problem> {
    let refusal = |message: &'static str| Problem::new(SOLVENTS_INPUT.input.name, message);
    let Some((last, others)) = rows.split_last().filter(|(_, others)| !others.is_empty()) else {
        return Err(refusal(
            "give at least two solvents; the share of the last one is sought",
        ));
    };
    let (mut given, mut blanks) = (0.0, 0);
    for row in rows {
        match share(row, &PART_SHARE) {
            Some(share) => given += share,
            None => blanks += 1,
        }
    }
    if blanks > 1 || given > 1.001 || (blanks == 0 && given < 0.999) {
        return Err(refusal(
            "the shares come to {~5} %, they must come to 100 %; one may be left blank",
        )
        .number(given * 100.0));
    }
    let left = (1.0 - given).max(0.0);
    let (mut rest, mut weighed) = (0.0, 0.0);
    for row in others {
        let share = share(row, &PART_SHARE).unwrap_or(left);
        rest += polarity_index(row)? * share;
        weighed += share;
    }
    let strong = last.entry(&PART_SOLVENT);
    let blend = Blend {
        strong: strong.is_some_and(|solvent| solvent.is("strong")),
        rest: rest / weighed,
        last: polarity_index(last)?,
        share: share(last, &PART_SHARE).unwrap_or(left),
    };
    if weighed < 1e-6 {
        Err(refusal(
            "only the last solvent has a share; the others need one too",
        ))
    } else if (blend.last - blend.rest).abs() < 0.1 {
        Err(refusal(
            "the last solvent is as polar as the rest: mixing them changes nothing",
        ))
    } else {
        Ok(blend)
    }
}

/// The polarity index of a row's solvent.
#[inline(never)]
fn polarity_index(row: &Row<'_>) -> Result<f64, Problem> {
    let solvent = row.entry(&PART_SOLVENT);
    solvent
        .and_then(|solvent| solvent.number("polarity_index"))
        .ok_or_else(|| {
            Problem::new(
                SOLVENTS_INPUT.input.name,
                "no polarity index of {} is known here",
            )
            .text(solvent.map_or("it", |solvent| solvent.name()))
        })
}

/// The line of log k: by the rule from one plate, by least squares from more.
fn line(inputs: &Inputs<'_>, blend: &Blend) -> Result<Line, Problem> {
    let refuse = |message: &'static str| Err(Problem::new(SPOTS_INPUT.input.name, message));
    // Share and log k of each plate.
    let mut plates = Vec::new();
    let (mut middle, mut at_middle, mut half) = (0.0, 0.0, 0.0);
    let (mut least, mut most) = (f64::INFINITY, 0.0_f64);
    for row in inputs.rows(&SPOTS_INPUT) {
        let Some(Measured { value, error }) = row.measured(&SPOT_RF) else {
            continue;
        };
        let rf = value.base();
        let read = if error > 0.0 { error } else { RF_ERROR };
        let share = share(row, &SPOT_SHARE).unwrap_or(blend.share);
        let log_k = libm::log10(capacity_factor(rf));
        let at = on_axis(share, blend.strong);
        middle += at;
        at_middle += log_k;
        // Error of log k: u(Rf)/(ln 10·Rf·(1 − Rf)).
        half += read / (std::f64::consts::LN_10 * rf * (1.0 - rf));
        least = least.min(share);
        most = most.max(share);
        plates.push((at, log_k));
    }
    if plates.is_empty() {
        return refuse("give at least one measured Rf");
    }
    if blend.strong && plates.len() < 2 {
        return refuse(
            "the last solvent is so strong on silica that one plate tells nothing of another mixture: give two plates, in 2 and 8 % of it, say",
        );
    }
    if blend.strong && least < TRACE {
        return refuse(
            "a plate without the last solvent says nothing of it where it is so strong on silica",
        );
    }
    let count = plates.len() as f64;
    let mut line = Line {
        strong: blend.strong,
        middle: middle / count,
        at_middle: at_middle / count,
        slope: log_k_shift(blend.rest, blend.last),
        half: half / count,
        fan: 0.0,
        least,
        most,
        plates: plates.len(),
    };
    if line.plates == 1 {
        line.fan = RULE_ERROR * line.slope.abs();
        return Ok(line);
    }
    if most - least < APART {
        return refuse("the plates were run in the same mixture; a line needs two proportions");
    }
    let (mut spread, mut rise) = (0.0, 0.0);
    for (at, log_k) in plates {
        let off = at - line.middle;
        spread += off * off;
        rise += off * (log_k - line.at_middle);
    }
    line.slope = rise / spread;
    if line.slope.abs() < 0.05 {
        return refuse("the Rf hardly changes with the proportion; vary another solvent");
    }
    line.fan = line.half / f64::sqrt(spread);
    line.half /= f64::sqrt(count);
    Ok(line)
}

/// The solvents of the mixture.
fn solvents<'a>(inputs: &Inputs<'a>) -> Vec<Record<'a>> {
    let rows = inputs.rows(&SOLVENTS_INPUT).iter();
    rows.filter_map(|row| row.entry(&PART_SOLVENT)).collect()
}

/// Refuses what makes no eluent: solvents that part, that do not suit silica, or that must not meet.
fn suited(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let solvents = solvents(inputs);
    if let Some(one) = solvents.iter().find(|one| !one.text("unsuited").is_empty()) {
        return Err(
            Problem::new(SOLVENTS_INPUT.input.name, "{} does not suit silica: {}")
                .text(one.name())
                .text(one.text("unsuited")),
        );
    }
    let part = |one: &Record<'_>, other: &Record<'_>| {
        one.text("mixing") == "hydrocarbon" && other.text("mixing") == "no"
            || one.text("miscible") == "false" && other.name() == "water"
    };
    for one in &solvents {
        for other in solvents.iter().filter(|other| part(one, other)) {
            if solvents.len() == 2 {
                return Err(Problem::new(
                    SOLVENTS_INPUT.input.name,
                    "{} and {} do not mix in all proportions, and a cloudy mixture gives no band; put ethyl acetate, acetone or dichloromethane in place of one",
                )
                .text(one.name())
                .text(other.name()));
            }
            outcome
                .care(
                    "{} and {} mix only with enough of the others: a cloudy mixture gives no band.",
                )
                .text(one.name())
                .text(other.name());
        }
    }
    let names: Vec<&str> = solvents.iter().map(Record::name).collect();
    meeting::bring_together(inputs.library(), &names, SOLVENTS_INPUT.input.name, outcome)
}

fn advise(inputs: &Inputs<'_>, outcome: &mut Outcome) {
    let solvents = solvents(inputs);
    let any = |named: &[&str]| solvents.iter().any(|one| named.contains(&one.name()));
    if any(&["methanol", "water", "acetic acid"]) {
        outcome.note("Much methanol, water or acid carries fine silica through and drags the spots: keep methanol to about a tenth (common practice).");
    }
    if any(&["chloroform"]) && any(&["acetone"]) {
        outcome.danger("Chloroform and acetone react violently where a base is near: choose another pair, and never join their wastes.");
    }
    for solvent in &solvents {
        match substance::row_of(inputs.library(), solvent.name()) {
            Some(row) => substance::cautions(row, outcome),
            None => substance::hazards(*solvent, outcome),
        }
    }
    outcome.note(if solvents.iter().any(|one| one.is("halogenated")) {
        "A halogenated part makes all of it halogenated waste."
    } else {
        "Used eluent goes to the halogen-free solvents."
    });
    outcome.care("Most eluents are flammable and none is good to breathe: mix and run them in the hood, without flame or hot plate beside it.");
    outcome.care(DEFER);
}

/// Rf against the share of the last solvent.
fn plot(line: &Line, share: f64, wanted: f64, last: &str, outcome: &mut Outcome) {
    let plot = outcome.plot(
        "Rf against the share of {}",
        "The Rf follows an S-shaped curve; it reaches {~3} at {2} %.",
    );
    let found = share * 100.0;
    plot.title.text(last);
    plot.description.number(wanted).number(found);
    plot.x
        .linear("Share of {}", "%")
        .from_to(0.0, 100.0)
        .label
        .text(last);
    plot.y.linear("Rf", "").from_to(0.0, 1.0);
    let band = plot.band("within the error");
    let least = if line.strong { TRACE } else { 0.0 };
    for at in spread(least, 1.0, 41) {
        let (middle, half) = (line.log_k(at), line.half_at(at));
        band.three(at * 100.0, rf(middle + half), rf(middle - half));
    }
    let curve = plot.line("Rf");
    for at in spread(least, 1.0, 41) {
        curve.point(at * 100.0, rf(line.log_k(at)));
    }
    plot.level("wanted", wanted);
    plot.mark("{2} %", found, wanted).number(found);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outcome::Figure;

    fn run(pairs: &[(&str, &str)]) -> Result<Outcome, Vec<Problem>> {
        let tables = "[solvents]\nname\tpolarity_index\thalogenated\nhexane\t0.1\tfalse\nethyl acetate\t4.4\tfalse\nmethanol\t5.1\tfalse\n";
        CALCULATOR.run_on(tables, pairs)
    }

    fn figure(outcome: &Outcome, name: &str) -> f64 {
        outcome.figure(name).and_then(Figure::number).unwrap()
    }

    /// Two units of polarity index: k falls to a tenth, so Rf 1/11 becomes 1/2.
    #[test]
    fn two_units_make_a_factor_of_ten() {
        let outcome = run(&[
            ("solvents", "hexane: 80 %; ethyl acetate"),
            ("spots", "0.0909090909 @ 20 %"),
            ("target_rf", "0.5"),
        ])
        .unwrap();
        assert!((figure(&outcome, "polarity_index") - 0.96).abs() < 1e-9);
        assert!((figure(&outcome, "proposed_polarity_index") - 2.96).abs() < 1e-6);
        assert!((figure(&outcome, "proportion") - (20.0 + 200.0 / 4.3)).abs() < 1e-5);
    }

    /// Three plates on one line of log k give back a point of that line.
    #[test]
    fn line_goes_through_the_plates() {
        let outcome = run(&[
            ("spots", "0.2 @ 10 %; 0.5 @ 30 %"),
            ("target_rf", "0.3333333333"),
        ])
        .unwrap();
        // log k is log 4 at 10 % and 0 at 30 %; k = 2 lies half-way.
        assert!((figure(&outcome, "proportion") - 20.0).abs() < 1e-6);
        assert!((figure(&outcome, "predicted_rf") - 1.0 / 3.0).abs() < 1e-6);
    }

    #[test]
    fn refuses_what_makes_no_mixture() {
        for solvents in [
            "hexane",
            "hexane: 50 %; ethyl acetate: 20 %",
            "hexane; ethyl acetate",
            "hexane: 0 %; methanol: 100 %",
        ] {
            assert_eq!(
                run(&[("solvents", solvents)]).unwrap_err()[0].input,
                "solvents",
                "{solvents}"
            );
        }
        assert!(run(&[("spots", "0.2 @ 10 %; 0.3 @ 10 %")]).is_err());
        let beyond = run(&[("spots", "0.01 @ 95 %"), ("target_rf", "0.9")]).unwrap_err();
        assert!(
            beyond[0].message.contains("more polar"),
            "{}",
            beyond[0].message
        );
    }
}
