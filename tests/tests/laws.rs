//! Laws that hold for every calculator and every input, tried with random ones.
//!
//! The inputs are made from the calculators' own descriptions, so a new calculator is covered as
//! soon as it is listed: usual values, the ends of each range and beyond, other units, reading
//! errors, names from the tables, absurd texts. A failure prints inputs that can be typed again.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use calc_wasm::Calculator;
use calc_wasm::calculators;
use calc_wasm::inputs::Kind;
use calc_wasm::library::Library;
use calc_wasm::number;
use calc_wasm::outcome::{Figure, Outcome, Value};
use calc_wasm::problem::Problem;
use calc_wasm::quantity::{self, Dimension, Quantity};
use calc_wasm::report;
use forerun_tests::random::{Random, inputs_for};
use forerun_tests::{library, pairs};

/// Evaluations over all calculators together.
const EVALUATIONS: usize = if cfg!(debug_assertions) {
    20_000
} else {
    1_000_000
};

/// Units in which nothing is ever negative.
const AMOUNTS: &[&str] = &[
    "mL", "g", "mg", "min", "mmHg", "%", "mm", "mL/min", "kPa", "g/g",
];

fn check_outcome(outcome: &Outcome) -> Result<(), String> {
    for figure in &outcome.figures {
        if format!("{}{:?}", figure.label, figure.value).contains("{?}") {
            return Err(format!("{} is overfull", figure.name));
        }
        match &figure.value {
            Value::Number(value) => {
                let ends = [Some(*value), figure.low, figure.high];
                if let Some(end) = ends.into_iter().flatten().find(|end| !end.is_finite()) {
                    return Err(format!("{} holds {end}", figure.name));
                }
                let whole = figure.unit.is_empty() && figure.digits >= 9;
                if *value < 0.0 && (whole || AMOUNTS.contains(&figure.unit)) {
                    return Err(format!("{} is {value} {}", figure.name, figure.unit));
                }
                if let Some(end) = impossible(figure, *value) {
                    return Err(format!("{} cannot be {end} {}", figure.name, figure.unit));
                }
                if let Some((low, high)) = figure.low.zip(figure.high)
                    && !(low <= high
                        && *value >= low - 1e-9 * low.abs()
                        && *value <= high + 1e-9 * high.abs())
                {
                    return Err(format!(
                        "{} = {value} lies outside {low} to {high}",
                        figure.name
                    ));
                }
            }
            Value::Words(words) if words.is_empty() => {
                return Err(format!("{} says nothing", figure.name));
            }
            Value::Words(_) => {}
        }
    }
    if outcome.figures.is_empty() {
        return Err("no figure at all".into());
    }
    for (what, text) in [
        ("method", &outcome.method),
        ("source", &outcome.source),
        ("validity", &outcome.validity),
    ] {
        if text.is_empty() {
            return Err(format!("{what} says nothing"));
        }
    }
    Ok(())
}

/// An end, or the value itself, that no measurement could give: less than nothing of what there is
/// some of, more than all of a whole.
fn impossible(figure: &Figure, value: f64) -> Option<f64> {
    let whole = match figure.unit {
        "%" => 100.0,
        "" if SHARES.contains(&figure.name.as_str()) => 1.0,
        _ => f64::INFINITY,
    };
    let least = if value >= 0.0 && figure.unit != "°C" {
        0.0
    } else {
        f64::NEG_INFINITY
    };
    let ends = [Some(value), figure.low, figure.high];
    let mut ends = ends.into_iter().flatten();
    ends.find(|end| *end < least || *end > whole * (1.0 + 1e-9))
}

/// Figures without a unit that are shares of a whole.
const SHARES: &[&str] = &["soak_efficiency", "predicted_rf"];

/// A number that was not one shows as `NaN`, `inf`, or as the dash of `number::fixed`.
/// Every sentence is filled to its end, and with no more than it has room for.
fn check_sentences(outcome: &Outcome) -> Result<(), String> {
    let mut sentences = vec![
        &outcome.why,
        &outcome.method,
        &outcome.source,
        &outcome.validity,
    ];
    sentences.extend(outcome.cautions.iter().map(|caution| &caution.text));
    sentences.extend(&outcome.notes);
    for table in &outcome.tables {
        sentences.extend([&table.title, &table.heads]);
        sentences.extend(&table.rows);
        let cells = table.heads.split('\t').count();
        if let Some(row) = table
            .rows
            .iter()
            .find(|row| row.split('\t').count() != cells)
        {
            return Err(format!("{cells} cells are wanted in `{row}`"));
        }
    }
    for step in &outcome.next {
        sentences.push(&step.label);
        sentences.extend(step.inputs.iter().map(|(_, value)| value));
    }
    if let Some(plot) = &outcome.plot {
        sentences.extend([&plot.title, &plot.description, &plot.x.label, &plot.y.label]);
        sentences.extend(plot.layers.iter().map(|layer| &layer.label));
    }
    match sentences.iter().find(|sentence| !sentence.is_whole()) {
        Some(sentence) => Err(format!("a gap is open or overfull: {sentence:?}")),
        None => Ok(()),
    }
}

fn check_html(html: &str) -> Result<(), String> {
    let words = html.split(|c: char| !c.is_alphanumeric());
    for word in words {
        if word == "NaN" || word == "inf" {
            return Err(format!("`{word}` in the text"));
        }
    }
    for dash in [
        "<output>–<",
        "– °C",
        "– mL",
        "– mm",
        "– g",
        "– %",
        "– min",
        "– kPa",
        "M–",
        "=\"–",
    ] {
        if let Some(at) = html.find(dash) {
            let from = html.floor_char_boundary(at.saturating_sub(60));
            let to = html.floor_char_boundary((at + 20).min(html.len()));
            return Err(format!("a dash for a number: {}", &html[from..to]));
        }
    }
    Ok(())
}

fn check_problems(
    calculator: &Calculator,
    given: &[(String, String)],
    problems: &[Problem],
) -> Result<(), String> {
    if problems.is_empty() {
        return Err("refused without a reason".into());
    }
    for problem in problems {
        let first = problem.input.split(' ').next().unwrap_or("");
        let known = calculator.inputs.iter().any(|input| input.name == first)
            || given.iter().any(|(name, _)| *name == problem.input);
        if !known {
            return Err(format!("blames `{}`, which is no input", problem.input));
        }
        if !problem.message.is_whole() {
            return Err(format!("a gap is open or overfull: {:?}", problem.message));
        }
        let letters = problem.message.trim();
        if letters.is_empty() || letters.ends_with('.') {
            return Err(format!("message `{letters}`"));
        }
    }
    Ok(())
}

fn one(
    calculator: &Calculator,
    library: &Library,
    given: &[(String, String)],
    html: bool,
) -> Result<bool, String> {
    let answered = match calculator.run(library, given) {
        Ok(outcome) => {
            check_outcome(&outcome)?;
            check_sentences(&outcome)?;
            true
        }
        Err(problems) => {
            check_problems(calculator, given, &problems)?;
            false
        }
    };
    if answered && html {
        let absurd = given.iter().any(|(_, text)| {
            let text = text.to_lowercase();
            text.contains("nan") || text.contains("inf") || text.contains('–')
        });
        if !absurd {
            check_html(&report::result(calculator, library, "c", given, "../"))?;
        }
    }
    Ok(answered)
}

/// Every calculator with random inputs: see the top of the file.
#[test]
fn no_input_makes_nonsense() {
    let library = library();
    let all = calculators::all();
    let each = EVALUATIONS.div_ceil(all.len());
    let next = AtomicUsize::new(0);
    let workers = thread::available_parallelism()
        .map_or(2, usize::from)
        .min(8);
    // Panics are caught and told with their inputs; their own message would drown the list.
    let told = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |panic| {
        if thread::current().name() != Some(WORKER) {
            told(panic);
        }
    }));
    let failures: Vec<String> = thread::scope(|scope| {
        let handles: Vec<_> = (0..workers)
            .map(|_| {
                let worker = thread::Builder::new().name(WORKER.into());
                worker
                    .spawn_scoped(scope, || {
                        let mut failures = Vec::new();
                        while let Some(calculator) = all.get(next.fetch_add(1, Ordering::Relaxed)) {
                            failures.extend(try_one(calculator, &library, each));
                        }
                        failures
                    })
                    .expect("a thread")
            })
            .collect();
        handles
            .into_iter()
            .flat_map(|handle| {
                handle
                    .join()
                    .unwrap_or_else(|_| vec!["a thread died".into()])
            })
            .collect()
    });
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

/// Name of the threads that try random inputs.
const WORKER: &str = "random inputs";

/// Most failures told of one calculator.
const TOLD: usize = 3;

fn try_one(calculator: &Calculator, library: &Library, each: usize) -> Vec<String> {
    let mut failures = Vec::new();
    let mut answered = 0;
    let seed = calculator
        .name
        .bytes()
        .fold(0x9E37_79B9_7F4A_7C15, |seed: u64, byte| {
            seed.rotate_left(7) ^ u64::from(byte)
        });
    let mut random = Random::new(seed);
    let started = std::time::Instant::now();
    for at in 0..each {
        let given = inputs_for(calculator, library, &mut random);
        let html = at % 16 == 0;
        let tried = catch_unwind(AssertUnwindSafe(|| one(calculator, library, &given, html)));
        let told = match tried {
            Ok(Ok(one)) => {
                answered += usize::from(one);
                continue;
            }
            Ok(Err(message)) => message,
            Err(panic) => {
                let text = panic
                    .downcast_ref::<String>()
                    .map(String::as_str)
                    .or_else(|| panic.downcast_ref::<&str>().copied());
                format!("panics: {}", text.unwrap_or("?"))
            }
        };
        let typed: Vec<String> = given.iter().map(|(n, t)| format!("{n}={t:?}")).collect();
        failures.push(format!("{} {}: {told}", calculator.name, typed.join(" ")));
        if failures.len() >= TOLD {
            break;
        }
    }
    println!(
        "{}: {answered} of {each} answered, {:.1} µs each",
        calculator.name,
        started.elapsed().as_secs_f64() * 1e6 / each as f64
    );
    // Random inputs that are always refused would test nothing.
    if failures.is_empty() && answered * 100 < each {
        failures.push(format!(
            "{}: only {answered} of {each} answered",
            calculator.name
        ));
    }
    failures
}

/// A calculator's own page shows a worked answer before anything is typed.
#[test]
fn every_calculator_answers_at_once() {
    let library = library();
    let mut failures = Vec::new();
    for calculator in calculators::all() {
        match calculator.run(&library, &[]) {
            Ok(outcome) => {
                if outcome.plot.is_none() {
                    failures.push(format!("{}: no plot", calculator.name));
                }
                // The quantities for a class are where a plan ends.
                if outcome.next.is_empty() && calculator.name != "class-quantities" {
                    failures.push(format!("{}: no next step", calculator.name));
                }
                if outcome.why.is_empty() {
                    failures.push(format!("{}: no why", calculator.name));
                }
            }
            Err(problems) => failures.push(format!("{}: {problems:?}", calculator.name)),
        }
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

/// Next steps open a calculator that exists, with inputs that it has and can read.
#[test]
fn next_steps_lead_somewhere() {
    let library = library();
    let mut failures = Vec::new();
    let mut random = Random::new(7);
    for calculator in calculators::all() {
        let mut wrong: Vec<String> = Vec::new();
        for at in 0..2000 {
            let given = if at == 0 {
                Vec::new()
            } else {
                inputs_for(calculator, &library, &mut random)
            };
            let Ok(outcome) = calculator.run(&library, &given) else {
                continue;
            };
            for step in &outcome.next {
                let Some(target) = calculators::find(&step.calculator) else {
                    wrong.push(format!("{}: no such calculator", step.calculator));
                    continue;
                };
                for (name, text) in &step.inputs {
                    let Some(input) = target.inputs.iter().find(|input| input.name == *name) else {
                        wrong.push(format!("{}: no input {name}", step.calculator));
                        continue;
                    };
                    // A value beyond the target's range is told there; one in a wrong form is our slip.
                    if let Kind::Quantity(limit) = input.kind
                        && let Err(message) = quantity::read(text, limit.dimension)
                    {
                        wrong.push(format!("{}: {name}: {message}", step.calculator));
                    }
                }
            }
        }
        wrong.sort();
        wrong.dedup();
        wrong.truncate(5);
        failures.extend(wrong.iter().map(|w| format!("{} to {w}", calculator.name)));
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

fn figure(name: &str, library: &Library, given: &[(&str, &str)], result: &str) -> Option<f64> {
    let calculator = calculators::find(name).unwrap_or_else(|| panic!("no calculator {name}"));
    let outcome = calculator.run(library, &pairs(given)).ok()?;
    outcome.figure(result)?.number()
}

#[test]
fn boiling_temperature_rises_with_pressure_and_leads_back() {
    let library = library();
    let mut steps = 0;
    let mut back = 0;
    for record in library.table("substances").expect("substances").records() {
        let name = record.name();
        let mut before: Option<f64> = None;
        for exponent in 0..150 {
            let mmhg = 0.5 * libm::pow(1.05, f64::from(exponent));
            let pressure = format!("{mmhg:.9} mmHg");
            let given = [("substance", name), ("pressure", pressure.as_str())];
            let Some(celsius) = figure("boiling-point", &library, &given, "temperature") else {
                continue;
            };
            if let Some(before) = before {
                assert!(
                    celsius > before,
                    "{name} at {pressure}: {celsius} after {before}"
                );
                steps += 1;
            }
            before = Some(celsius);
            let at = format!("{celsius:.9} °C");
            let given = [("substance", name), ("temperature", at.as_str())];
            if let Some(found) = figure("boiling-pressure", &library, &given, "pressure") {
                assert!(
                    (found / mmhg - 1.0).abs() < 1e-6,
                    "{name} at {at}: {found}, not {mmhg}"
                );
                back += 1;
            }
        }
    }
    println!("{steps} steps up, {back} round trips");
    assert!(
        steps > 5000 && back > 5000,
        "{steps} steps, {back} round trips"
    );
}

#[test]
fn more_portions_never_leave_more() {
    let library = library();
    let mut random = Random::new(11);
    for _ in 0..400 {
        let draw = |random: &mut Random, low: f64, high: f64| {
            format!("{:.6}", low * libm::pow(high / low, random.share()))
        };
        let distribution = draw(&mut random, 0.01, 1000.0);
        let aqueous = format!("{} mL", draw(&mut random, 1.0, 1000.0));
        let portion = format!("{} mL", draw(&mut random, 1.0, 1000.0));
        let mut before = 100.0;
        for portions in 1..=12 {
            let count = portions.to_string();
            let given = [
                ("distribution", distribution.as_str()),
                ("aqueous_volume", &aqueous),
                ("portion_volume", &portion),
                ("portions", &count),
            ];
            let left = figure("repeated-extraction", &library, &given, "remaining")
                .unwrap_or_else(|| panic!("{given:?} refused"));
            assert!(left <= before, "{given:?}: {left} % after {before} %");
            before = left;
        }
    }
}

/// Writing a value in any unit and reading it again gives the value.
#[test]
fn units_lead_there_and_back() {
    let dimensions: [&'static Dimension; 19] = [
        quantity::Area::DIMENSION,
        quantity::Concentration::DIMENSION,
        quantity::Density::DIMENSION,
        quantity::Distribution::DIMENSION,
        quantity::Duration::DIMENSION,
        quantity::FlowRate::DIMENSION,
        quantity::Fraction::DIMENSION,
        quantity::GaugeConstant::DIMENSION,
        quantity::HeatCapacity::DIMENSION,
        quantity::Length::DIMENSION,
        quantity::LinearFlow::DIMENSION,
        quantity::Mass::DIMENSION,
        quantity::MolarEnergy::DIMENSION,
        quantity::MolarMass::DIMENSION,
        quantity::Power::DIMENSION,
        quantity::Pressure::DIMENSION,
        quantity::Temperature::DIMENSION,
        quantity::TemperatureDifference::DIMENSION,
        quantity::Viscosity::DIMENSION,
    ];
    let mut random = Random::new(13);
    for dimension in dimensions {
        for unit in dimension.units {
            for spelling in std::iter::once(&unit.symbol).chain(unit.also) {
                for _ in 0..200 {
                    let base = 1e-3 * libm::pow(1e6, random.share());
                    let text = format!("{} {spelling}", number::plain(unit.from_base(base), 12));
                    let read = quantity::read(&text, dimension)
                        .unwrap_or_else(|message| panic!("{text}: {message}"));
                    // Twelve digits were written, and no more than twelve places; a temperature
                    // loses some to its offset.
                    let slack = 1e-10 * base + 1e-11 * unit.offset.abs() + 1e-12 * unit.factor;
                    assert!(
                        (read.value - base).abs() <= slack,
                        "{text} read as {} {}, not {base}",
                        read.value,
                        dimension.base().symbol
                    );
                }
            }
        }
    }
}

/// The table of other columns and the main figure answer the same question for the column chosen.
#[test]
fn columns_agree_with_the_one_chosen() {
    let library = library();
    let calculator = calculators::find("fraction-column").expect("fraction-column");
    for column in library.table("columns").expect("columns").names() {
        for (target, wanted) in [("95 %", "light"), ("80 %", "light"), ("90 %", "heavy")] {
            let given = pairs(&[
                ("column", column),
                ("target_purity", target),
                ("wanted", wanted),
            ]);
            let outcome = calculator.run(&library, &given).expect("an answer");
            let main = outcome.figure("main_fraction").expect("main_fraction");
            let table = outcome.tables.first().expect("a table");
            let cells = |row: &str| row.split('\t').map(str::to_string).collect::<Vec<_>>();
            let mut rows = table.rows.iter().map(|row| cells(row));
            let row = rows.find(|row| row[0] == column);
            assert_eq!(
                row.expect("a row")[2],
                main.shown(),
                "{column}, {target} {wanted}"
            );
        }
    }
}

/// An error as large as the pressure would lead below absolute zero.
#[test]
fn hopeless_pressure_is_refused() {
    let library = library();
    for pressure in ["15 ± 20 mmHg", "1 ± 50 mmHg"] {
        let given = [("substance", "toluene"), ("pressure", pressure)];
        assert_eq!(
            figure("boiling-point", &library, &given, "temperature"),
            None
        );
    }
    let given = [("substance", "toluene"), ("pressure", "15 ± 10 mmHg")];
    assert!(figure("boiling-point", &library, &given, "temperature").is_some());
}

/// What comes back as crystals, and what stays behind, are parts of what was weighed in; a reading
/// that is less sure than large says nothing. Ends that were impossible once.
#[test]
fn intervals_stay_where_the_quantity_can_be() {
    let library = library();
    let run = |name: &str, given: &[(&str, &str)]| {
        let calculator = calculators::find(name).expect("a calculator");
        calculator.run(&library, &pairs(given))
    };
    let ends = |name: &str, given: &[(&str, &str)], figure: &str| {
        let outcome = run(name, given).expect("an answer");
        let found = outcome.figure(figure).expect("a figure");
        (
            found.low.expect("an interval"),
            found.number().expect("a number"),
            found.high.expect("an interval"),
        )
    };
    let given = [
        ("solubility_hot", "5.5 ± 4 g/100 mL"),
        ("solubility_cold", "3 ± 2.5 g/100 mL"),
        ("mass", "2.5 g"),
    ];
    for (figure, whole) in [
        ("crystals", 2.5),
        ("mother_liquor", 2.5),
        ("recovery", 100.0),
    ] {
        let (low, value, high) = ends("recrystallisation", &given, figure);
        assert!(
            0.0 <= low && low < value && value < high && high <= whole,
            "{figure}: {low} {value} {high}"
        );
    }
    let (low, value, high) = ends("flash-column", &[("rf", "0.1 ± 0.09")], "eluent_volume");
    // The same factor both ways (exact arithmetic): exp(0.9).
    assert!(
        (value / low - high / value).abs() < 1e-9 && (high / value - libm::exp(0.9)).abs() < 1e-9
    );
    let given = [
        ("mass_organic", "60 ± 50 mg"),
        ("mass_aqueous", "40 ± 39 mg"),
    ];
    let (low, ..) = ends("distribution-from-test", &given, "distribution");
    assert!(low > 0.0, "{low}");
    let (low, _, high) = ends(
        "repeated-extraction",
        &[("distribution", "5 ± 5")],
        "recovery",
    );
    assert!(low > 0.0 && high < 100.0, "{low} {high}");
    let problems = run("flash-column", &[("rf", "0.1 ± 0.2")]).expect_err("less sure than large");
    assert!(
        problems[0].message.contains("less sure than it is large"),
        "{problems:?}"
    );
}
