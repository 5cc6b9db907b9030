//! Real mixtures: activity coefficients against the reference implementation, and what follows
//! from them against published values and against sums worked apart from the core.

use std::collections::BTreeMap;

use calc_wasm::equations::mixture::activity::Activity;
use calc_wasm::equations::mixture::miss::{Miss, kind};
use calc_wasm::equations::mixture::pair::{Azeotrope, Pair, layers};
use calc_wasm::equations::mixture::stairs::Stairs;
use calc_wasm::equations::still::{Equilibrium, Still, light_left};
use calc_wasm::equations::vapour::Curve;
use calc_wasm::library::{Library, Record};
use calc_wasm::problem::Problem;
use forerun_tests::{csv, library, library_without};

/// The reference is thermo's own modified UNIFAC; see `tests/reference/README.md`.
#[test]
fn activity_coefficients_agree_with_the_reference() {
    let library = library();
    let rows = csv("tests/reference/activity.csv");
    assert!(rows.len() >= 400, "{} rows", rows.len());
    let mut worst: f64 = 0.0;
    for row in &rows {
        let number = |at: usize| row[at].parse::<f64>().expect("a number");
        let substance = |at: usize| library.find("substances", &row[at]).expect("a substance");
        let pair = [substance(0), substance(1)];
        let activity = Activity::of(pair, ["first", "second"], &library)
            .unwrap_or_else(|problem| panic!("{row:?}: {problem}"));
        let x = number(3);
        let logs = activity.at(number(2)).log_gamma([x, 1.0 - x]);
        for (side, log) in logs.into_iter().enumerate() {
            let miss = (libm::exp(log) / number(4 + side) - 1.0).abs();
            assert!(miss < 1e-6, "{row:?}: {}", libm::exp(log));
            worst = worst.max(miss);
        }
    }
    println!("largest relative difference {worst:.1e}");
}

/// What is not published is refused with a sentence, and never taken as nought.
#[test]
fn refuses_what_no_parameters_cover() {
    let library = library();
    let substance = |name| library.find("substances", name).expect("a substance");
    for (one, other, said) in [
        ("glycerol", "water", "no published groups make up glycerol"),
        ("furfural", "morpholine", "do not cover all their groups"),
    ] {
        let told = Activity::of(
            [substance(one), substance(other)],
            ["first", "second"],
            &library,
        );
        let told = told.expect_err("a refusal").message.to_string();
        assert!(told.contains(said), "{told}");
    }
}

/// The pair of two substances of the table.
fn pair<'a>(library: &'a Library, names: [&str; 2], mmhg: f64) -> Result<Pair<'a>, Problem> {
    let curves = names.map(|name| {
        let record = library.find("substances", name).expect("a substance");
        Curve::of(record, library).expect("a curve")
    });
    Pair::new(curves, ["first", "second"], library, mmhg)
}

/// The table with its pairs whose substances are known.
fn azeotropes(library: &Library) -> Vec<Record<'_>> {
    let known = |row: &Record<'_>| {
        ["first", "second"]
            .iter()
            .all(|column| library.find("substances", row.text(column)).is_ok())
    };
    library.rows("azeotropes").filter(known).collect()
}

fn names_of<'a>(row: &Record<'a>) -> [&'a str; 2] {
    ["first", "second"].map(|column| row.text(column))
}

/// At its own pressure each published azeotrope stands in the model as it is printed.
#[test]
fn stands_on_every_published_azeotrope() {
    let library = library();
    let rows = azeotropes(&library);
    assert!(rows.len() > 90, "{}", rows.len());
    for row in rows {
        let mmhg = row.number("pressure").expect("a pressure");
        let celsius = row.number("temperature").expect("a temperature");
        let pair = pair(&library, names_of(&row), mmhg).unwrap_or_else(|told| panic!("{told}"));
        let published = pair.published.expect("its row");
        let found = pair
            .azeotropes
            .iter()
            .find(|one| (one.x[0] - published.share).abs() < 1e-6);
        let found = found.unwrap_or_else(|| panic!("{}: {:?}", row.name(), pair.azeotropes));
        assert!(
            (found.celsius - celsius).abs() < 1e-6,
            "{}: {found:?}",
            row.name()
        );
        assert_eq!(found.lowest, !row.is("highest"), "{}", row.name());
        assert_eq!(
            pair.azeotropes.len(),
            1,
            "{}: {:?}",
            row.name(),
            pair.azeotropes
        );
    }
}

/// The median, and what 95 % keep to.
fn spread(mut misses: Vec<f64>) -> [f64; 2] {
    misses.sort_by(f64::total_cmp);
    let at = |share: f64| misses[((misses.len() as f64 * share).ceil() as usize).max(1) - 1];
    [at(0.5), at(0.95)]
}

/// How far the model by itself lies from the published azeotropes: the half-widths that the core
/// gives its intervals cover 95 % of each kind of pair.
#[test]
fn misses_no_more_than_it_says() {
    let with = library();
    let without = library_without("azeotropes");
    let mut kinds: BTreeMap<&str, (Miss, Vec<[f64; 2]>)> = BTreeMap::new();
    let (mut found, mut lost) = (Vec::<[f64; 2]>::new(), Vec::new());
    for row in azeotropes(&with) {
        let mmhg = row.number("pressure").expect("a pressure");
        let names = names_of(&row);
        let held = pair(&with, names, mmhg).expect("a pair");
        let published = held.published.expect("its row");
        let miss = *kind(
            held.curves
                .each_ref()
                .map(|curve| curve.record.text("class")),
        );
        let of_kind = &mut kinds.entry(miss.kind).or_insert((miss, Vec::new())).1;
        of_kind.push([published.celsius_miss.abs(), published.log_alpha_miss.abs()]);
        // Without its azeotrope a pair with an acid is refused.
        let Ok(alone) = pair(&without, names, mmhg) else {
            continue;
        };
        let far = |one: &&Azeotrope| (one.x[0] - published.share).abs();
        let nearest = alone
            .azeotropes
            .iter()
            .min_by(|a, b| far(a).total_cmp(&far(b)));
        match nearest {
            None => lost.push(row.name()),
            Some(one) => found.push([
                (one.celsius - row.number("temperature").expect("a temperature")).abs(),
                far(&one) * 100.0,
            ]),
        }
    }
    for (name, (miss, misses)) in &kinds {
        let of = |at: usize| spread(misses.iter().map(|one| one[at]).collect());
        let ([t, t95], [a, a95]) = (of(0), of(1));
        println!(
            "{name}, {}: median {t:.2} °C, ln α {a:.3}; 95 % {t95:.2} °C, {a95:.3}",
            misses.len()
        );
        assert!(
            t95 <= miss.celsius && a95 <= miss.log_alpha,
            "{name}: {t95} °C, {a95}"
        );
    }
    let of = |at: usize| spread(found.iter().map(|one| one[at]).collect());
    println!(
        "azeotropes found by the model alone, {}: {:.2?} °C, {:.1?} mole %; none for {lost:?}",
        found.len(),
        of(0),
        of(1)
    );
    assert!(lost.len() <= 3, "{lost:?}");
    assert!(of(0)[0] < 0.5 && of(1)[0] < 2.0);
}

/// Pairs of which it is said that they have no azeotrope at one atmosphere (J. Gmehling et al.,
/// Azeotropic Data; any handbook; from memory).
#[test]
fn invents_no_azeotrope() {
    let library = library();
    for names in [
        ["methanol", "water"],
        ["acetone", "water"],
        ["methanol", "ethanol"],
        ["benzene", "toluene"],
        ["acetone", "toluene"],
        ["hexane", "heptane"],
        ["chloroform", "benzene"],
        ["acetone", "benzene"],
    ] {
        let pair = pair(&library, names, 760.0).expect("a pair");
        assert!(
            pair.azeotropes.is_empty(),
            "{names:?}: {:?}",
            pair.azeotropes
        );
    }
}

/// Carboxylic acids pair up in the vapour, so that the model alone would give acetic acid and
/// water an azeotrope, which they have not: without a published one they are refused.
#[test]
fn refuses_an_acid_that_nothing_published_holds() {
    let library = library();
    let told = pair(&library, ["acetic acid", "water"], 760.0).expect_err("a refusal");
    assert!(told.message.contains("pairs up in the vapour"), "{told}");
    assert!(pair(&library, ["acetic acid", "toluene"], 760.0).is_ok());
}

/// Solvents and water at 25 °C: the model parts those that the table calls immiscible.
#[test]
fn parts_water_from_what_does_not_mix_with_it() {
    let library = library();
    let water = library.find("substances", "water").expect("water");
    let (mut right, mut wrong) = (0, Vec::new());
    for row in library.rows("solvents") {
        let Ok(record) = library.find("substances", row.name()) else {
            continue;
        };
        let Ok(activity) = Activity::of([record, water], ["first", "second"], &library) else {
            continue;
        };
        if row.name() == "water" {
            continue;
        }
        if layers(&activity, 25.0).is_none() == row.is("miscible") {
            right += 1;
        } else {
            wrong.push(row.name());
        }
    }
    println!("{right} right, wrong: {wrong:?}");
    assert!(right > 20 && wrong.len() <= 2, "{right}, {wrong:?}");
}

/// The model parts tetrahydrofuran and water, which mix: the table of solvents is believed.
#[test]
fn what_mixes_is_not_said_to_part() {
    let library = library();
    let one = pair(&library, ["tetrahydrofuran", "water"], 760.0).expect("a pair");
    assert!(!one.parts([0.3, 0.7]) && one.layers_at(25.0).is_none());
    let other = pair(&library, ["toluene", "water"], 760.0).expect("a pair");
    assert!(other.parts([0.3, 0.7]) && other.layers_at(25.0).is_some());
}

/// Both layers have equal activities of both.
#[test]
fn layers_are_in_balance() {
    let library = library();
    let mut split = 0;
    for row in azeotropes(&library) {
        let records = names_of(&row).map(|name| library.find("substances", name).expect("known"));
        let activity = Activity::of(records, ["first", "second"], &library).expect("groups");
        for celsius in [25.0, 60.0] {
            let Some([poor, rich]) = layers(&activity, celsius) else {
                continue;
            };
            split += 1;
            let liquid = activity.at(celsius + 273.15);
            let [a, b] = [poor, rich].map(|x| {
                let gamma = liquid.log_gamma(x);
                [0, 1].map(|at| libm::log(x[at]) + gamma[at])
            });
            for at in [0, 1] {
                assert!(
                    (a[at] - b[at]).abs() < 1e-8,
                    "{} {celsius}: {a:?} {b:?}",
                    row.name()
                );
            }
        }
    }
    assert!(split > 60, "{split}");
}

/// Batch runs over plates against scipy's integration on thermo's equilibrium; see
/// `tests/reference/README.md`.
#[test]
fn batch_runs_agree_with_numerical_integration() {
    let library = library_without("azeotropes");
    let mut worst: f64 = 0.0;
    for row in csv("tests/reference/batch.csv") {
        let number = |at: usize| row[at].parse::<f64>().expect("a number");
        let pair = pair(&library, [&row[0], &row[1]], number(2)).expect("a pair");
        let stairs = Stairs::around(&pair, number(3)).expect("a way");
        let share = |x: f64| if stairs.over == 0 { x } else { 1.0 - x };
        let still = Still {
            equilibrium: Equilibrium::Real(&stairs),
            feed: stairs.place(share(number(3))),
            plates: number(4),
            reflux: number(5),
        };
        let run = still.run(1e-4);
        let left = number(6);
        let at = (1..run.len())
            .find(|at| run[*at].left <= left)
            .expect("a moment");
        let pot = share(stairs.share(light_left(&run, at, left) / left));
        let miss = (pot - number(7)).abs();
        assert!(miss < 2e-3, "{row:?}: {pot}");
        worst = worst.max(miss);
    }
    println!("largest difference of the pot {worst:.1e}");
}
