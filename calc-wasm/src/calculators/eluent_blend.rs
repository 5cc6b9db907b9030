//! Which proportion of two solvents brings a spot to the Rf that is wanted?
//!
//! Polarity index of a mixture: P′ = Σ φᵢ·P′ᵢ by volume. From one measured Rf, with
//! k = (1 − Rf)/Rf, log k falls by 1 for each 2 units of P′. From two or more, the straight line
//! of log k against the proportion of the last solvent, by least squares.
//! Source: L. R. Snyder, J. Chromatogr. 92 (1974) 223 and J. Chromatogr. Sci. 16 (1978) 223.
//! The rule of two units is a guide: the change it foretells may be wrong by half of itself, so it
//! is best near the mixture that was measured.

use crate::calculators::Calculator;
use crate::equations::flash::{UNITS_PER_DECADE, capacity_factor, log_k_shift, polarity};
use crate::equations::substance::DEFER;
use crate::inputs::{Column, Input, Inputs, Kind, form_only};
use crate::limits::{self, Limit};
use crate::outcome::{Outcome, with_unit};
use crate::plot::{Axis, OldLayer, Plot};
use crate::problem::Problem;
use crate::quantity::{Fraction, Measured, Number, Quantity, number};

/// By what share of itself the change that the rule foretells may be wrong, and how well an Rf is
/// read off a plate (both common practice).
const RULE_ERROR: f64 = 0.5;
const RF_ERROR: f64 = 0.01;
/// Two proportions closer than this make no line.
const APART: f64 = 0.005;

static WISHED_RF: Limit = Limit::new(
    Number::DIMENSION,
    "",
    0.05,
    0.95,
    "nearer to 0 or 1 nothing is separated",
);

static SOLVENTS: &[Column] = &[
    Column {
        name: "solvent",
        label: "Solvent",
        before: None,
        kind: Kind::Entry("solvents"),
        optional: false,
    },
    Column {
        name: "share",
        label: "Share",
        before: Some(':'),
        kind: Kind::Quantity(&limits::SHARE),
        optional: true,
    },
];

static SPOTS: &[Column] = &[
    Column {
        name: "rf",
        label: "Rf",
        before: None,
        kind: Kind::Quantity(&limits::RF),
        optional: false,
    },
    Column {
        name: "share",
        label: "in a share of the last solvent",
        before: Some('@'),
        kind: Kind::Quantity(&limits::SHARE),
        optional: true,
    },
];

pub(super) static CALCULATOR: Calculator = Calculator {
    name: "eluent-blend",
    title: "Eluent: blend of solvents",
    question: form_only("Which proportion brings the spot to the Rf I want?"),
    inputs: &[
        Input::preset(
            "solvents",
            "Mixture",
            Kind::Rows(SOLVENTS),
            "hexane: 80 %; ethyl acetate: 20 %",
            "By volume; the proportion of the last one is sought, the others keep theirs to each other.",
        ),
        Input::preset(
            "spots",
            "The wanted spot on the plate",
            Kind::Rows(SPOTS),
            "0.20 @ 20 %",
            "Rf, and the share of the last solvent it was run in; share blank for the mixture above. Two plates make a line.",
        ),
        Input::preset(
            "target_rf",
            "Rf wanted",
            Kind::Quantity(&WISHED_RF),
            "0.35",
            "0.35 is best for a flash column.",
        ),
    ],
    evaluate,
};

/// A mixture of which one part is varied: polarity index of the rest and of that part.
struct Blend {
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

/// log k as a straight line over the share of the last solvent, and how far it is believed.
struct Line {
    middle: f64,
    at_middle: f64,
    slope: f64,
    /// Half-width in log k at the middle, and its growth with distance from there.
    half: f64,
    fan: f64,
    measured: (f64, f64),
    plates: usize,
}

impl Line {
    fn log_k(&self, share: f64) -> f64 {
        self.at_middle + self.slope * (share - self.middle)
    }

    fn half_at(&self, share: f64) -> f64 {
        libm::hypot(self.half, self.fan * (share - self.middle))
    }
}

/// Rf = 1/(1 + k), from log k.
fn rf(log_k: f64) -> f64 {
    1.0 / (1.0 + libm::pow(10.0, log_k))
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let blend = blend(inputs)?;
    let line = line(inputs, &blend)?;
    let wanted = inputs.need::<Number>("target_rf")?.base();
    let log_wanted = libm::log10(capacity_factor(wanted));
    let share = line.middle + (log_wanted - line.at_middle) / line.slope;
    let names: Vec<&str> = inputs
        .rows("solvents")
        .iter()
        .filter_map(|row| Some(row.entry("solvent")?.name()))
        .collect();
    let last = names.last().copied().unwrap_or("");
    if !(-1e-9..=1.0 + 1e-9).contains(&share) {
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
        return Err(Problem::new(
            "target_rf",
            format!(
                "even {end} {last} the spot runs at Rf {}; take something {way} polar in place of {instead}",
                number::fixed(rf(line.log_k(at)), 2)
            ),
        ));
    }
    let half = line.half_at(share) / line.slope.abs();
    let predicted = line.log_k(blend.share);
    let spread = line.half_at(blend.share);
    let (least, most) = line.measured;
    let line_holds = line.plates > 1 && (least - 0.1..=most + 0.1).contains(&share);
    let rule_holds = line.plates == 1
        && (blend.polarity(share) - blend.polarity(least)).abs() <= UNITS_PER_DECADE / 2.0;

    outcome.because(format!(
            "Each tenth more of {last} changes k by a factor of {}. Measure the spot in the mixture found: it decides, not the line.",
            number::significant(libm::pow(10.0, (line.slope / 10.0).abs()), 2)
        ));
    outcome.by_method(if line.plates > 1 {
            "Straight line of log k against proportion through the plates measured, k = (1 − Rf)/Rf; the interval carries the reading of the Rf, ± 0.01 unless you give your own, first order."
        } else {
            "Polarity index by volume; log k changes by 1 for 2 units, from the one plate measured; the interval takes that change to be right within half of itself, and joins the reading of the Rf, ± 0.01 unless you give your own. A second plate in another proportion makes a line of your own."
        });
    outcome.from_source("L. R. Snyder, J. Chromatogr. 92 (1974) 223 and J. Chromatogr. Sci. 16 (1978) 223; errors common practice, no source.");
    outcome.valid_for("Silica, solvents that mix, Rf 0.1 to 0.8; by the rule within one unit of polarity of the plate measured, by the line within a tenth of the proportions measured.");
    outcome.in_range(line_holds || rule_holds);
    outcome.draw(plot(&line, share, wanted, last));
    let percent = |share: f64| (share * 100.0).clamp(0.0, 100.0);
    outcome
        .number(
            "proportion",
            &format!("Share of {last}"),
            percent(share),
            "%",
        )
        .within(percent(share - half), percent(share + half));
    let of_given = format!("with {} % {last}", number::plain(percent(blend.share), 3));
    outcome
        .number("predicted_rf", &format!("Rf {of_given}"), rf(predicted), "")
        .within(rf(predicted + spread), rf(predicted - spread));
    outcome.number(
        "polarity_index",
        &format!("Polarity index {of_given}"),
        blend.polarity(blend.share),
        "",
    );
    outcome.number(
        "proposed_polarity_index",
        "Polarity index of the mixture found",
        blend.polarity(share),
        "",
    );
    advise(inputs, &names, outcome);
    outcome
        .old_then("Which column for it?", "flash-column")
        .old_with("solvent", last)
        .old_with("rf", &number::plain(wanted, 3));
    outcome
        .old_then("What pressure does it need?", "flash-flow")
        .old_with("solvent", last);
    Ok(())
}

/// Reads the mixture: shares must come to the whole; one may be blank and takes what is left.
fn blend(inputs: &Inputs<'_>) -> Result<Blend, Problem> {
    let refuse = |message: String| Err(Problem::new("solvents", message));
    let rows = inputs.rows("solvents");
    if rows.len() < 2 {
        return refuse("give at least two solvents; the share of the last one is sought".into());
    }
    let share = |at: usize| {
        let row = rows.get(at)?;
        row.quantity::<Fraction>("share").map(Fraction::in_ones)
    };
    let given: f64 = (0..rows.len()).filter_map(share).sum();
    let blanks = (0..rows.len()).filter(|at| share(*at).is_none()).count();
    if blanks > 1 || given > 1.001 || (blanks == 0 && given < 0.999) {
        return refuse(format!(
            "the shares come to {} %, they must come to 100 %; one may be left blank",
            number::plain(given * 100.0, 5)
        ));
    }
    let left = (1.0 - given).max(0.0);
    let last = rows.len() - 1;
    let mut weighed = 0.0;
    let mut blend = Blend {
        rest: 0.0,
        last: 0.0,
        share: share(last).unwrap_or(left),
    };
    for (at, row) in rows.iter().enumerate() {
        let Some(solvent) = row.entry("solvent") else {
            continue;
        };
        let Some(index) = solvent.number("polarity_index") else {
            return refuse(format!(
                "no polarity index of {} is known here",
                solvent.name()
            ));
        };
        if at == last {
            blend.last = index;
        } else {
            let share = share(at).unwrap_or(left);
            blend.rest += index * share;
            weighed += share;
        }
    }
    if weighed < 1e-6 {
        return refuse("only the last solvent has a share; the others need one too".into());
    }
    blend.rest /= weighed;
    if (blend.last - blend.rest).abs() < 0.1 {
        return refuse(
            "the last solvent is as polar as the rest: mixing them changes nothing".into(),
        );
    }
    Ok(blend)
}

/// The line of log k: by the rule from one plate, by least squares from more.
fn line(inputs: &Inputs<'_>, blend: &Blend) -> Result<Line, Problem> {
    let refuse = |message: &'static str| Err(Problem::new("spots", message));
    // Share, log k, error of log k: u(Rf)/(ln 10·Rf·(1 − Rf)).
    let plates: Vec<(f64, f64, f64)> = inputs
        .rows("spots")
        .iter()
        .filter_map(|row| {
            let Measured { value, error } = row.measured::<Number>("rf")?;
            let rf = value.base();
            let read = if error > 0.0 { error } else { RF_ERROR };
            let share = row.quantity::<Fraction>("share").map(Fraction::in_ones);
            Some((
                share.unwrap_or(blend.share),
                libm::log10(capacity_factor(rf)),
                read / (std::f64::consts::LN_10 * rf * (1.0 - rf)),
            ))
        })
        .collect();
    let count = plates.len() as f64;
    if plates.is_empty() {
        return refuse("give at least one measured Rf");
    }
    let mean = |of: fn(&(f64, f64, f64)) -> f64| plates.iter().map(of).sum::<f64>() / count;
    let (middle, at_middle, read) = (mean(|p| p.0), mean(|p| p.1), mean(|p| p.2));
    let least = plates.iter().map(|p| p.0).fold(f64::INFINITY, f64::min);
    let most = plates.iter().map(|p| p.0).fold(0.0, f64::max);
    let measured = (least, most);
    if plates.len() == 1 {
        let slope = log_k_shift(blend.rest, blend.last);
        return Ok(Line {
            middle,
            at_middle,
            slope,
            half: read,
            fan: RULE_ERROR * slope.abs(),
            measured,
            plates: 1,
        });
    }
    if most - least < APART {
        return refuse("the plates were run in the same mixture; a line needs two proportions");
    }
    let spread: f64 = plates.iter().map(|p| (p.0 - middle) * (p.0 - middle)).sum();
    let slope = plates
        .iter()
        .map(|p| (p.0 - middle) * (p.1 - at_middle))
        .sum::<f64>()
        / spread;
    if slope.abs() < 0.05 {
        return refuse("the Rf hardly changes with the proportion; vary another solvent");
    }
    Ok(Line {
        middle,
        at_middle,
        slope,
        half: read / libm::sqrt(count),
        fan: read / libm::sqrt(spread),
        measured,
        plates: plates.len(),
    })
}

fn advise(inputs: &Inputs<'_>, names: &[&str], outcome: &mut Outcome) {
    let has = |wanted: &[&str]| names.iter().any(|name| wanted.contains(name));
    if has(&[
        "pentane",
        "hexane",
        "heptane",
        "cyclohexane",
        "petroleum ether 40–60",
    ]) && has(&[
        "methanol",
        "acetonitrile",
        "N,N-dimethylformamide",
        "dimethyl sulfoxide",
        "nitromethane",
        "water",
    ]) {
        outcome.old_care("These do not mix in all proportions: a cloudy mixture gives no band. Put ethyl acetate, acetone or dichloromethane in place of one.");
    }
    if has(&["methanol", "water", "acetic acid"]) {
        outcome.old_note("Much methanol, water or acid carries fine silica through and drags the spots: keep methanol to about a tenth (common practice).");
    }
    if has(&["chloroform"]) && has(&["acetone"]) {
        outcome.old_danger("Chloroform and acetone react violently where a base is near: choose another pair, and never join their wastes.");
    }
    if has(&[
        "benzene",
        "carbon tetrachloride",
        "chloroform",
        "1,2-dichloroethane",
        "1,4-dioxane",
    ]) {
        outcome.old_danger("One of these is known or suspected to cause cancer: use toluene, dichloromethane or ethyl acetate in its place.");
    }
    if has(&[
        "diethyl ether",
        "diisopropyl ether",
        "tetrahydrofuran",
        "1,4-dioxane",
    ]) {
        outcome.old_danger("Ethers form explosive peroxides on standing: test before the fractions are concentrated, and never to dryness.");
    }
    let halogenated = inputs
        .rows("solvents")
        .iter()
        .filter_map(|row| row.entry("solvent"))
        .any(|solvent| solvent.is("halogenated"));
    outcome.old_note(if halogenated {
        "A halogenated part makes all of it halogenated waste."
    } else {
        "Used eluent goes to the halogen-free solvents."
    });
    outcome.old_care("Most eluents are flammable and none is good to breathe: mix and run them in the hood, without flame or hot plate beside it.");
    outcome.old_care(DEFER);
}

/// Rf against the share of the last solvent.
fn plot(line: &Line, share: f64, wanted: f64, last: &str) -> Plot {
    let shares = || (0..=40).map(|step| f64::from(step) / 40.0);
    Plot::old(
        format!("Rf against the share of {last}"),
        format!(
            "The Rf follows an S-shaped curve; it reaches {} at {} %.",
            number::plain(wanted, 3),
            number::significant(share * 100.0, 2)
        ),
        Axis::old_linear(format!("Share of {last}"), "%").old_from_to(0.0, 100.0),
        Axis::old_linear("Rf", "").old_from_to(0.0, 1.0),
        vec![
            OldLayer::Band {
                label: "within the error".into(),
                points: shares()
                    .map(|at| {
                        let (middle, half) = (line.log_k(at), line.half_at(at));
                        (at * 100.0, rf(middle + half), rf(middle - half))
                    })
                    .collect(),
            },
            OldLayer::Line {
                label: "Rf".into(),
                points: shares()
                    .map(|at| (at * 100.0, rf(line.log_k(at))))
                    .collect(),
            },
            OldLayer::Level {
                label: "wanted".into(),
                y: wanted,
            },
            OldLayer::Mark {
                label: with_unit(number::significant(share * 100.0, 2), "%"),
                x: share * 100.0,
                y: wanted,
                dx: 0.0,
                dy: 0.0,
            },
        ],
    )
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
