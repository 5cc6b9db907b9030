//! Which flask, and is the one at hand full enough and not too full?
//!
//! fill = charge/volume of the flask. How full a flask may be hangs on what is done in it: a
//! liquid that bumps, foams or is under vacuum needs room above it, and one that fills little of
//! its flask leaves a large part behind as vapour and film. The limits are common practice, no
//! source. The result is the smallest usual flask that is not too full.

use crate::calculators::Calculator;
use crate::equations::substance::DEFER;
use crate::inputs::{Choice, Field, Inputs, Kind, Word, form_only};
use crate::limits;
use crate::outcome::Outcome;
use crate::problem::Problem;
use crate::quantity::Volume;
use crate::sentence::Sentence;

/// Usual flasks with ground joints, mL (nominal capacities of ISO 4797, from memory).
const SIZES: [f64; 11] = [
    5.0, 10.0, 25.0, 50.0, 100.0, 250.0, 500.0, 1000.0, 2000.0, 5000.0, 10_000.0,
];

/// What is done in the flask.
static PURPOSES: [Choice; 5] = [
    Choice {
        name: "distillation",
        label: "distilling",
    },
    Choice {
        name: "vacuum",
        label: "distilling under vacuum",
    },
    Choice {
        name: "reflux",
        label: "heating under reflux",
    },
    Choice {
        name: "steam",
        label: "passing steam in",
    },
    Choice {
        name: "evaporation",
        label: "rotary evaporator",
    },
];

/// How full a flask should be for it, %: at least, and at most (common practice, no source).
fn fills(purpose: &str) -> (f64, f64) {
    match purpose {
        "steam" => (10.0, 100.0 / 3.0),
        "reflux" => (20.0, 50.0),
        "evaporation" => (5.0, 50.0),
        _ => (100.0 / 3.0, 50.0),
    }
}

static VOLUME: Field<Volume> = Field::preset(
    "volume",
    "Liquid to go in",
    Kind::Quantity(&limits::VOLUME),
    "120 mL",
    "With all that is added later, and with water that steam brings.",
);

static PURPOSE: Field<Word> = Field::preset(
    "purpose",
    "For",
    Kind::Choice(&PURPOSES),
    "distillation",
    "It decides how full the flask may be.",
);

static FLASK: Field<Option<Volume>> = Field::optional(
    "flask",
    "Flask at hand",
    Kind::Quantity(&limits::VOLUME),
    "Its nominal volume, where one is set up already.",
);

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "flask-size",
    title: "Size of the flask",
    question: form_only("How large a flask does this charge need?"),
    inputs: &[&VOLUME.input, &PURPOSE.input, &FLASK.input],
    evaluate,
};

/// The smallest usual flask that is not filled beyond `most` per cent; none where all are too small.
fn smallest(millilitres: f64, most: f64) -> Option<f64> {
    SIZES
        .into_iter()
        .find(|size| millilitres / size * 100.0 <= most * (1.0 + 1e-9))
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let millilitres = inputs.get(&VOLUME).in_millilitres();
    let purpose = inputs.choice(&PURPOSE);
    let (least, most) = fills(purpose);
    let Some(size) = smallest(millilitres, most) else {
        return Err(Problem::new(
            VOLUME.input.name,
            "{~3} mL is too much for one flask of 10 L, which may be filled to {.0} %; do it in several runs",
        )
        .number(millilitres)
        .number(most));
    };
    let fill = millilitres / size * 100.0;
    outcome.number("size", "Flask", size, "mL").digits(9);
    outcome.number("fill", "Filled to", fill, "%").digits(2);
    let at_hand = inputs.quantity(&FLASK).map(|flask| flask.in_millilitres());
    if let Some(flask) = at_hand {
        let words = verdict([millilitres, flask, least, most], size);
        outcome.verdict("verdict", "The flask at hand", &words);
    }
    outcome
        .because("Between {.0} and {.0} % leaves room for what bumps or foams, and little of the charge behind in the flask.")
        .number(least)
        .number(most);
    outcome.by_method("Charge over nominal volume, against the fill that the work allows; the smallest usual flask that is not too full.");
    outcome.valid_for("Flasks of 5 mL to 10 L with ground joints; liquids that do not foam. What foams wants twice the room.");
    outcome.from_source("Fills: common practice, no source. Usual sizes: ISO 4797, from memory.");
    cautions(
        purpose,
        at_hand.map(|flask| millilitres / flask * 100.0 > most),
        outcome,
    );
    plot(millilitres, [least, most], size, outcome);
    outcome
        .then("Set the bath for it", "bath-setting")
        .with("volume", "{~4} mL")
        .number(millilitres);
    Ok(())
}

/// What is to be said of the flask at hand.
fn verdict([millilitres, flask, least, most]: [f64; 4], size: f64) -> Sentence {
    let fill = millilitres / flask * 100.0;
    let mut words = if fill > 100.0 {
        Sentence::new("{~3} mL do not go into a {~4} mL flask")
    } else {
        Sentence::new("{~3} mL fills a {~4} mL flask to {2} %")
    };
    words.number(millilitres).number(flask);
    if fill <= 100.0 {
        words.number(fill);
    }
    if fill > most * (1.0 + 1e-9) {
        words
            .more("; {.0} % at most: take {~5} mL")
            .number(most)
            .number(size);
    } else if fill < least && size < flask {
        words
            .more("; {.0} % at least: take {~5} mL")
            .number(least)
            .number(size);
    } else {
        words.more(": it fits");
    }
    words
}

fn cautions(purpose: &str, too_full: Option<bool>, outcome: &mut Outcome) {
    if too_full == Some(true) {
        outcome.danger("The flask at hand is too full: what bumps or foams goes over, hot, or blocks the way out.");
    }
    if purpose == "vacuum" {
        outcome.danger("Under vacuum round-bottomed flasks only, without a star crack.");
    }
    outcome.care(DEFER);
}

fn plot(millilitres: f64, [least, most]: [f64; 2], size: f64, outcome: &mut Outcome) {
    let fill = |flask: f64| millilitres / flask * 100.0;
    let plot = outcome.plot(
        "How full each flask would be",
        "{~5} mL is the smallest flask that is filled to no more than {.0} %.",
    );
    plot.description.number(size).number(most);
    plot.x.log("Flask", "mL");
    plot.y.linear("Filled to", "%").from_to(0.0, 100.0);
    let fitting = SIZES.into_iter().filter(|flask| fill(*flask) <= 100.0);
    let points = plot.points("usual flasks");
    for flask in fitting {
        points.point(flask, fill(flask));
    }
    plot.level("at most", most);
    plot.level("at least", least);
    plot.mark("{~5} mL", size, fill(size)).number(size);
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Exact arithmetic on the stated limits.
    #[test]
    fn takes_the_smallest_that_is_not_too_full() {
        assert_eq!(smallest(120.0, 50.0), Some(250.0));
        assert_eq!(smallest(125.0, 50.0), Some(250.0));
        assert_eq!(smallest(125.1, 50.0), Some(500.0));
        assert_eq!(smallest(6000.0, 50.0), None);
    }

    #[test]
    fn says_what_to_take_instead() {
        let said = |charge: f64, flask: f64| {
            let size = smallest(charge, 50.0).expect("a size");
            verdict([charge, flask, 100.0 / 3.0, 50.0], size).to_string()
        };
        assert_eq!(
            said(180.0, 250.0),
            "180 mL fills a 250 mL flask to 72 %; 50 % at most: take 500 mL"
        );
        assert_eq!(
            said(120.0, 250.0),
            "120 mL fills a 250 mL flask to 48 %: it fits"
        );
        assert_eq!(
            said(20.0, 250.0),
            "20 mL fills a 250 mL flask to 8.0 %; 33 % at least: take 50 mL"
        );
        assert!(said(300.0, 250.0).starts_with("300 mL do not go into a 250 mL flask"));
    }
}
