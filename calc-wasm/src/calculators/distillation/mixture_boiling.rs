//! Where do two liquids boil together, what is in the vapour, and do they form an azeotrope?
//!
//! A mixture boils where the partial pressures add up to the pressure above it, P = Σ x·γ·p, x in
//! moles, p of the pure liquids by Antoine, γ by modified UNIFAC (Dortmund). The vapour holds
//! y = x·γ·p/P; α = (y₁/y₂)/(x₁/x₂). See `equations/mixture/` for equations, sources and ranges.
//! A published azeotrope wins over the model. The interval is how far the model lies from
//! published azeotropes, by kind of pair, with the bands of both vapour-pressure curves.
//! It holds for two liquids that do not react and do not pair up in the vapour.

use crate::calculators::Calculator;
use crate::equations::meeting;
use crate::equations::mixture::activity::Shares;
use crate::equations::mixture::miss::Miss;
use crate::equations::mixture::pair::{Azeotrope, Boil, Pair, vapour};
use crate::equations::mixture::words;
use crate::equations::substance;
use crate::equations::vapour::Curve;
use crate::inputs::{Choice, Entry, Field, Inputs, Kind, Word, form_only};
use crate::limits::{self, Limit};
use crate::outcome::{Outcome, share_ends};
use crate::problem::Problem;
use crate::quantity::{Fraction, Measured, Pressure, Quantity};
use crate::sentence::Sentence;

static SHARE_LIMIT: Limit = Limit::new(
    Fraction::DIMENSION,
    "%",
    0.01,
    99.99,
    "beyond, it is a pure liquid; ask boiling-point",
);

static FIRST: Field<Entry> = Field::preset(
    "first",
    "One liquid",
    Kind::Entry("substances"),
    "ethanol",
    "Name, other name or CAS number.",
);

static SECOND: Field<Entry> = Field::preset(
    "second",
    "The other",
    Kind::Entry("substances"),
    "water",
    "Name, other name or CAS number.",
);

static PRESSURE: Field<Pressure> = Field::preset(
    "pressure",
    "Pressure",
    Kind::Quantity(&limits::PRESSURE),
    "760 mmHg",
    "Above the liquid.",
);

static SHARE: Field<Fraction> = Field::preset(
    "share",
    "Share of the one in the liquid",
    Kind::Quantity(&SHARE_LIMIT),
    "50 %",
    "Of the boiling liquid, all layers together.",
);

static BY: Field<Word> = Field::preset(
    "by",
    "Counted by",
    Kind::Choice(&[
        Choice {
            name: "mole",
            label: "moles",
        },
        Choice {
            name: "mass",
            label: "mass",
        },
    ]),
    "mole",
    "What the share is a share of.",
);

static SHOW: Field<Word> = Field::preset(
    "show",
    "Plot",
    Kind::Choice(&[
        Choice {
            name: "temperature",
            label: "boiling temperature of liquid and vapour",
        },
        Choice {
            name: "plates",
            label: "vapour against liquid, with plates",
        },
    ]),
    "temperature",
    "Both show the same.",
);

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "mixture-boiling",
    title: "Boiling of a mixture",
    question: form_only("Where do the two boil together, and is there an azeotrope?"),
    inputs: &[
        &FIRST.input,
        &SECOND.input,
        &PRESSURE.input,
        &SHARE.input,
        &BY.input,
        &SHOW.input,
    ],
    evaluate,
};

/// Most plates that are stepped off.
const MOST_STEPS: usize = 10;

/// The two as pure liquids that boil at this pressure.
fn pair<'a>(inputs: &Inputs<'a>) -> Result<Pair<'a>, Problem> {
    let curves = [Curve::read(inputs, &FIRST)?, Curve::read(inputs, &SECOND)?];
    if curves[0].name() == curves[1].name() {
        return Err(
            Problem::new(SECOND.input.name, "{} is both of them; a mixture takes two")
                .text(curves[0].name()),
        );
    }
    let pressure = inputs.get(&PRESSURE);
    let measured = Measured {
        value: pressure,
        error: 0.0,
    };
    for curve in &curves {
        curve.boiling(PRESSURE.input.name, measured)?;
    }
    let names = [FIRST.input.name, SECOND.input.name];
    Pair::new(curves, names, inputs.library(), pressure.in_mmhg())
}

/// Molar masses, g/mol, which every substance of the table has.
fn molar_masses(pair: &Pair<'_>) -> Result<[f64; 2], Problem> {
    let mass = |at: usize, field: &Field<Entry>| {
        let record = pair.curves[at].record;
        record.number("molar_mass").ok_or_else(|| {
            Problem::new(field.input.name, "no molar mass is known here for {}").text(record.name())
        })
    };
    Ok([mass(0, &FIRST)?, mass(1, &SECOND)?])
}

/// Shares in moles of what has this share of the first by mass.
fn by_moles(share: f64, masses: [f64; 2]) -> Shares {
    let [one, other] = [share / masses[0], (1.0 - share) / masses[1]];
    [one / (one + other), other / (one + other)]
}

/// Share of the first by mass.
fn by_mass(x: Shares, masses: [f64; 2]) -> f64 {
    x[0] * masses[0] / (x[0] * masses[0] + x[1] * masses[1])
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let pair = pair(inputs)?;
    let names = pair.curves.each_ref().map(Curve::name);
    meeting::bring_together(inputs.library(), &names, SECOND.input.name, outcome)?;
    let masses = molar_masses(&pair)?;
    let share = inputs.get(&SHARE).in_ones();
    let x = match inputs.choice(&BY) {
        "mass" => by_moles(share, masses),
        _ => [share, 1.0 - share],
    };
    let boil = pair.boil(x);
    let miss = Miss::of(&pair);
    figures(&pair, x, boil, &miss, masses, outcome);
    because(&pair, x, boil, outcome);
    outcome.by_method("Σ x·γ·p solved for the temperature; γ by modified UNIFAC (Dortmund), p by Antoine, an ideal vapour. Layers where both have equal activities. The interval: {}, and the bands of both curves.");
    outcome.method.text(miss.kind);
    outcome.from_source("U. Weidlich, J. Gmehling, Ind. Eng. Chem. Res. 26 (1987) 1372, with parameters of that group to 2016. ");
    for curve in &pair.curves {
        curve.cite(&mut outcome.source);
        outcome.source.more(" ");
    }
    outcome.valid_for("Two liquids that do not react, from about −20 to 180 °C and up to some atmospheres; nothing else in them.");
    words::doubts(&pair, outcome);
    notes(&pair, masses, outcome);
    if inputs.choice(&SHOW) == "plates" {
        plot_plates(&pair, x, outcome);
    } else {
        plot_temperatures(&pair, x, boil, outcome);
    }
    steps(&pair, x, outcome);
    cautions(&pair, outcome);
    next(&pair, x, outcome);
    Ok(())
}

/// The label of a share, which is of the first.
fn label(template: &'static str, pair: &Pair<'_>) -> Sentence {
    let mut label = Sentence::new(template);
    label.text(pair.curves[0].name());
    label
}

fn figures(
    pair: &Pair<'_>,
    x: Shares,
    boil: Boil,
    miss: &Miss,
    masses: [f64; 2],
    outcome: &mut Outcome,
) {
    outcome
        .number("temperature", "Boils at", boil.celsius, "°C")
        .give_or_take(miss.celsius_at(pair, x));
    let over = |off: f64| vapour(x, boil.log_alpha + off)[0] * 100.0;
    let label = label("{} in the vapour, by moles", pair);
    outcome
        .number("vapour_share", &label, over(0.0), "%")
        .within(over(-miss.log_alpha), over(miss.log_alpha));
    let alpha = |off: f64| libm::exp((boil.log_alpha + off).clamp(-40.0, 40.0));
    outcome
        .number("relative_volatility", "Relative volatility", alpha(0.0), "")
        .within(alpha(-miss.log_alpha), alpha(miss.log_alpha));
    let kind = match pair.azeotropes.first() {
        None => "none",
        Some(one) if one.lowest => "lowest",
        Some(_) => "highest",
    };
    outcome.verdict("azeotrope", "Azeotrope", kind);
    if let Some(one) = pair.azeotropes.first() {
        azeotrope(pair, one, miss, masses, outcome);
    }
    let layers = if pair.parts(x) { "yes" } else { "no" };
    outcome.verdict("layers", "Layers while it boils", layers);
}

fn azeotrope(
    pair: &Pair<'_>,
    one: &Azeotrope,
    miss: &Miss,
    masses: [f64; 2],
    outcome: &mut Outcome,
) {
    let [low, high] = share_ends(one.x[0], miss.share_half(pair, one));
    outcome
        .number(
            "azeotrope_temperature",
            "The azeotrope boils at",
            one.celsius,
            "°C",
        )
        .give_or_take(miss.celsius_at(pair, one.x));
    outcome
        .number(
            "azeotrope_share",
            &label("{} in the azeotrope, by moles", pair),
            one.x[0] * 100.0,
            "%",
        )
        .within(low * 100.0, high * 100.0);
    let mass = |share: f64| by_mass([share, 1.0 - share], masses) * 100.0;
    outcome
        .number(
            "azeotrope_mass_share",
            &label("{} in the azeotrope, by mass", pair),
            mass(one.x[0]),
            "%",
        )
        .within(mass(low), mass(high));
}

fn because(pair: &Pair<'_>, x: Shares, boil: Boil, outcome: &mut Outcome) {
    let [one, other] = [0, 1].map(|at| pair.curves[at].name());
    if pair.parts(x) {
        outcome
            .because("{} and {} stand in two layers while they boil. Each layer gives the same vapour, at one temperature, as long as both are there.")
            .text(one)
            .text(other);
        return;
    }
    let ideal = pair.ideal(x);
    outcome
        .because("By Raoult’s law {} and {} would boil together at {.1} °C. They do so at {.1} °C, for they hold to each other {} than to themselves.")
        .text(one)
        .text(other)
        .number(ideal)
        .number(boil.celsius)
        .text(if boil.celsius < ideal { "less" } else { "more" });
}

fn notes(pair: &Pair<'_>, masses: [f64; 2], outcome: &mut Outcome) {
    let name = pair.curves[0].name();
    for more in pair.azeotropes.iter().skip(1) {
        outcome
            .note("The model finds a second azeotrope, {.1} °C with {.0} mole % of {}: more than it can be trusted with.")
            .number(more.celsius)
            .number(more.x[0] * 100.0)
            .text(name);
    }
    let cold = pair.azeotropes.first();
    if cold.is_some_and(|one| pair.parts_when_cold(one)) {
        outcome.note(
            "The distillate parts into layers when it cools: a separator takes one of the two out.",
        );
    }
    if let Some([poor, rich]) = pair.layers_at(25.0) {
        outcome
            .note("At 25 °C they do not mix in all proportions: by the model the layers hold {.2} and {.2} % by mass of {}. Take that as a hint, for it was made for boiling liquids.")
            .number(by_mass(poor, masses) * 100.0)
            .number(by_mass(rich, masses) * 100.0)
            .text(name);
    }
}

/// Plates at total reflux: the vapour of each is the liquid of the next, from the liquid given to
/// within a hundredth of where they lead.
fn steps(pair: &Pair<'_>, x: Shares, outcome: &mut Outcome) {
    let name = pair.curves[0].name();
    let table = outcome.table(
        "Plates stepped off at total reflux, from this liquid upwards",
        "Plate\tBoils at\t{} in the liquid, mole %\tIn the vapour, mole %",
    );
    table.heads.text(name);
    let mut liquid = x;
    for plate in 1..=MOST_STEPS {
        let boil = pair.boil(liquid);
        let over = vapour(liquid, boil.log_alpha);
        table
            .row("{.0}\t{.1} °C\t{.1}\t{.1}")
            .number(plate as f64)
            .number(boil.celsius)
            .number(liquid[0] * 100.0)
            .number(over[0] * 100.0);
        if (over[0] - liquid[0]).abs() < 1e-3 {
            break;
        }
        liquid = over;
    }
}

/// Liquid and vapour against temperature.
fn plot_temperatures(pair: &Pair<'_>, x: Shares, boil: Boil, outcome: &mut Outcome) {
    let plot = outcome.plot(
        "Boiling of {} with {}",
        "The lower line is the boiling liquid, the upper one the vapour over it; liquid with {.0} mole % boils at {.1} °C",
    );
    let [one, other] = [0, 1].map(|at| pair.curves[at].name());
    plot.title.text(one).text(other);
    plot.description.number(x[0] * 100.0).number(boil.celsius);
    if let Some(azeotrope) = pair.azeotropes.first() {
        plot.description
            .more(", and the two lines meet at {.0} mole % and {.1} °C")
            .number(azeotrope.x[0] * 100.0)
            .number(azeotrope.celsius);
    }
    plot.description.more(".");
    plot.x
        .linear("{} in liquid or vapour", "mole %")
        .from_to(0.0, 100.0);
    plot.x.label.text(one);
    plot.y.linear("Temperature", "°C");
    let line = plot.line("liquid");
    for (x, boil) in &pair.nodes {
        line.point(x[0] * 100.0, boil.celsius);
    }
    let line = plot.line("vapour");
    for (x, boil) in &pair.nodes {
        line.point(vapour(*x, boil.log_alpha)[0] * 100.0, boil.celsius);
    }
    plot.mark("{.1} °C", x[0] * 100.0, boil.celsius)
        .number(boil.celsius);
}

/// Vapour against liquid, with the plates of the table.
fn plot_plates(pair: &Pair<'_>, x: Shares, outcome: &mut Outcome) {
    let plot = outcome.plot(
        "Vapour over {} with {}",
        "The stairs lead from the liquid with {.0} mole % along the plates at total reflux, to where vapour and liquid are alike.",
    );
    let [one, other] = [0, 1].map(|at| pair.curves[at].name());
    plot.title.text(one).text(other);
    plot.description.number(x[0] * 100.0);
    plot.x
        .linear("{} in the liquid", "mole %")
        .from_to(0.0, 100.0);
    plot.x.label.text(one);
    plot.y.linear("In the vapour", "mole %").from_to(0.0, 100.0);
    let line = plot.line("vapour over the liquid");
    line.point(0.0, 0.0);
    for (x, boil) in &pair.nodes {
        line.point(x[0] * 100.0, vapour(*x, boil.log_alpha)[0] * 100.0);
    }
    line.point(100.0, 100.0);
    plot.line("both alike").point(0.0, 0.0).point(100.0, 100.0);
    let stairs = plot.line("plates");
    let mut liquid = x;
    stairs.point(x[0] * 100.0, x[0] * 100.0);
    for _ in 0..MOST_STEPS {
        let over = vapour(liquid, pair.boil(liquid).log_alpha);
        stairs.point(liquid[0] * 100.0, over[0] * 100.0);
        stairs.point(over[0] * 100.0, over[0] * 100.0);
        if (over[0] - liquid[0]).abs() < 1e-3 {
            break;
        }
        liquid = over;
    }
}

fn cautions(pair: &Pair<'_>, outcome: &mut Outcome) {
    for curve in &pair.curves {
        substance::cautions(curve.record, outcome);
    }
    if pair.nodes.iter().any(|(x, _)| pair.parts(*x)) {
        outcome.care("Two layers bump: stir well, and heat slowly.");
    }
    substance::implosion(pair.mmhg, outcome);
    outcome.care("Never distil to dryness, and add boiling stones before heating.");
    outcome.care(substance::DEFER);
}

fn next(pair: &Pair<'_>, x: Shares, outcome: &mut Outcome) {
    let [one, other] = [0, 1].map(|at| pair.curves[at].temperature_unchecked(pair.mmhg));
    let light = usize::from(one > other);
    let next = outcome.then("What a column makes of the two", "fraction-column");
    next.with("light", "{}").text(pair.curves[light].name());
    next.with("heavy", "{}").text(pair.curves[1 - light].name());
    next.with("pressure", "{~5} mmHg").number(pair.mmhg);
    next.with("feed", "{~4} %").number(x[light] * 100.0);
}
