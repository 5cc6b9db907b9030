//! In which fractions does each spot of the plate come off the column, and how pure is a pool?
//!
//! Retention volume V = V_m/Rf, because k = (1 − Rf)/Rf and V = V_m·(1 + k); V_m is the liquid in
//! the bed, porosity × bed volume. A band is a bell curve of standard deviation σ = V/√N; it is
//! said to lie within ± 2σ, where 95 % of it is. Resolution of neighbours:
//! Rs = 2·(V₂ − V₁)/(w₁ + w₂), w = 4σ. What a fraction holds is the area of the bell within it.
//! Source: J. D. Fair and C. M. Kormos, J. Chromatogr. A 1211 (2008) 49.
//! It holds for a column that is not overloaded, packed evenly and run in one eluent.

use crate::calculators::Calculator;
use crate::equations::flash::{self, bed_volume, capacity_factor};
use crate::equations::substance::DEFER;
use crate::inputs::{Cell, Column, Field, Inputs, Kind, Rows, Words, form_only};
use crate::limits::{self, Limit};
use crate::outcome::{Figure, Outcome};
use crate::problem::Problem;
use crate::quantity::{Fraction, Mass, Number, Quantity, Volume, digits};
use crate::sentence::Sentence;

/// More spots than this are no longer told apart on one plate.
const MOST_SPOTS: usize = 8;
/// More fractions than this, and the tubes are too small for the column.
const MOST_FRACTIONS: f64 = 300.0;
/// How well an Rf is read off a plate, and a porosity known (common practice).
const RF_ERROR: f64 = 0.01;
const POROSITY_ERROR: f64 = 0.05;
/// The pool that is proposed takes fractions at least this pure.
const PURE: f64 = 0.95;

static POROSITY: Limit = Limit::new(
    Fraction::DIMENSION,
    "",
    0.3,
    0.95,
    "a packed bed is neither solid nor empty",
)
.usually(0.6, 0.9, "Silica beds have a porosity near 0.8.");

static PLATES: Limit = Limit::new(
    Number::DIMENSION,
    "",
    4.0,
    20_000.0,
    "fewer do not separate, more belong to an instrument",
)
.usually(
    20.0,
    500.0,
    "Hand-packed flash columns give some 20 to 500 plates.",
);

static TUBE: Limit = Limit::new(
    Volume::DIMENSION,
    "mL",
    0.1,
    5000.0,
    "a fraction is between a few drops and a large bottle",
);

static SPOT_NAME: Cell<Words> = Cell::new("name", "Spot", None, Kind::Words, false);

static SPOT_RF: Cell<Number> = Cell::new("rf", "Rf", Some(':'), Kind::Quantity(&limits::RF), false);

static SPOT_MASS: Cell<Mass> = Cell::new(
    "mass",
    "Mass",
    Some(','),
    Kind::Quantity(&limits::MASS),
    true,
);

static SPOTS: &[&Column] = &[&SPOT_NAME.column, &SPOT_RF.column, &SPOT_MASS.column];

static SPOTS_INPUT: Field<Rows> = Field::preset(
    "spots",
    "Spots of the plate",
    Kind::Rows(SPOTS),
    "a: 0.35, 100 mg; b: 0.20, 80 mg",
    "A plate run in the eluent of the column; masses as far as they are known.",
);

static FRACTION_VOLUME: Field<Volume> = Field::preset(
    "fraction_volume",
    "One fraction",
    Kind::Quantity(&TUBE),
    "10 mL",
    "Counted from the moment the sample goes on.",
);

static POROSITY_INPUT: Field<Fraction> = Field::preset(
    "porosity",
    "Total porosity",
    Kind::Quantity(&POROSITY),
    "0.80",
    "Share of the bed that is liquid.",
);

static PLATES_INPUT: Field<Number> = Field::preset(
    "plates",
    "Plates of the column",
    Kind::Quantity(&PLATES),
    "100",
    "A well-packed flash column has about a hundred; a poor one, twenty.",
);

static WANTED: Field<Words> = Field::optional(
    "wanted",
    "Wanted spot",
    Kind::Words,
    "Its name; blank for the first one.",
);

static POOL: Field<Words> = Field::optional(
    "pool",
    "Fractions to join",
    Kind::Words,
    "As in 9-13; blank for those that are 95 % pure.",
);

pub(crate) static CALCULATOR: Calculator = Calculator {
    name: "flash-elution",
    title: "Flash column: which fractions",
    question: form_only("In which fractions does each spot come off?"),
    inputs: &[
        &SPOTS_INPUT.input,
        &flash::DIAMETER.input,
        &flash::BED_HEIGHT.input,
        &FRACTION_VOLUME.input,
        &POROSITY_INPUT.input,
        &PLATES_INPUT.input,
        &WANTED.input,
        &POOL.input,
    ],
    evaluate,
};

/// One spot as a band leaving the column.
struct Band<'a> {
    name: &'a str,
    rf: f64,
    mass: f64,
    /// Volume at its middle, standard deviation, half-width of the interval of the volume; mL.
    volume: f64,
    sigma: f64,
    half: f64,
}

impl Band<'_> {
    /// Share of the band that has left the column after `volume` mL.
    #[inline(never)]
    fn left(&self, volume: f64) -> f64 {
        0.5 * libm::erfc((self.volume - volume) / (self.sigma * std::f64::consts::SQRT_2))
    }

    /// Share of the band between two volumes.
    #[inline(never)]
    fn share(&self, from: f64, to: f64) -> f64 {
        self.left(to) - self.left(from)
    }

    /// Mass between two volumes.
    fn mass_between(&self, from: f64, to: f64) -> f64 {
        self.mass * self.share(from, to)
    }

    /// Mass per mL at `volume`.
    fn height(&self, volume: f64) -> f64 {
        let z = (volume - self.volume) / self.sigma;
        self.mass * libm::exp(-0.5 * z * z) / (self.sigma * f64::sqrt(2.0 * std::f64::consts::PI))
    }

    /// First and last fraction that hold it, within ± 2σ.
    #[inline(never)]
    fn fractions(&self, tube: f64) -> (f64, f64) {
        let first = f64::floor((self.volume - 2.0 * self.sigma).max(0.0) / tube) + 1.0;
        let last = f64::ceil((self.volume + 2.0 * self.sigma) / tube - 1e-9);
        (first, last.max(first))
    }
}

/// Rs = 2·(V₂ − V₁)/(w₁ + w₂) with w = 4σ.
fn resolution(early: &Band<'_>, late: &Band<'_>) -> f64 {
    (late.volume - early.volume) / (2.0 * (early.sigma + late.sigma))
}

/// What all spots together have left between two volumes.
#[inline(never)]
fn held(bands: &[Band<'_>], from: f64, to: f64) -> f64 {
    let mut all = 0.0;
    for band in bands {
        all += band.mass_between(from, to);
    }
    all
}

fn evaluate(inputs: &Inputs<'_>, outcome: &mut Outcome) -> Result<(), Problem> {
    let diameter = inputs.get(&flash::DIAMETER).in_millimetres();
    let height = inputs.get(&flash::BED_HEIGHT).in_millimetres();
    let tube = inputs.get(&FRACTION_VOLUME).in_millilitres();
    let weighed = inputs
        .rows(&SPOTS_INPUT)
        .iter()
        .all(|row| row.measured(&SPOT_MASS).is_some());
    let bands = bands(inputs, bed_volume(diameter, height), weighed)?;
    let mut end = 0.0_f64;
    for band in &bands {
        end = end.max(band.fractions(tube).1);
    }
    if end > MOST_FRACTIONS {
        return Err(Problem::new(FRACTION_VOLUME.input.name,
            "these would be {~6} fractions; take larger ones, or an eluent in which the last spot runs higher",
        )
        .number(end));
    }
    let wanted = wanted(inputs, &bands)?;
    let (first, last) = match inputs.words(&POOL) {
        "" => proposed(&bands, wanted, tube),
        text => read_pool(text)?,
    };
    let (from, to) = ((first - 1.0) * tube, last * tube);
    let all = held(&bands, from, to);
    // A pool far from every band holds nothing to speak of, and nothing has no purity.
    if all < 1e-9 * wanted.mass {
        return Err(Problem::new(
            POOL.input.name,
            "these fractions hold nothing of any spot",
        ));
    }
    let mut closest = f64::INFINITY;
    for pair in bands.windows(2) {
        if let [early, late] = pair {
            closest = closest.min(resolution(early, late));
        }
    }

    why(closest, outcome);
    outcome.by_method("Retention volume V = V_m/Rf; bell-shaped bands of width 4V/√N; each compound is said to be in the fractions within ± 2σ, which hold 95 % of it. The interval carries ± 0.01 in Rf and ± 0.05 in porosity unless you give your own, first order.");
    outcome.from_source("J. D. Fair and C. M. Kormos, J. Chromatogr. A 1211 (2008) 49; reading errors common practice, no source.");
    outcome.valid_for("One eluent throughout, the adsorbent of the plate, Rf 0.1 to 0.8, a column that is packed evenly and not overloaded.");
    outcome.in_range(bands.iter().all(|band| (0.1..=0.8).contains(&band.rf)));
    plot(&bands, tube, (first, last), end, outcome);
    let mut pool = Sentence::new("{.0} to {.0}");
    pool.number(first).number(last);
    outcome.verdict(
        "pool",
        Sentence::new("Fractions to join for {}").text(wanted.name),
        &pool,
    );
    let pooled = wanted.mass_between(from, to);
    outcome.number("purity", "Purity of the pool", pooled / all * 100.0, "%");
    outcome.number(
        "recovery",
        "Recovery in the pool",
        pooled / wanted.mass * 100.0,
        "%",
    );
    figures(&bands, tube, outcome);
    table(&bands, tube, end, outcome);
    if !weighed {
        outcome
            .note("Not every spot has a mass, so all are taken as equal: purity is then a guess.");
    }
    outcome.note("Overload and tailing make reality worse than these bells. Spot every second fraction on a plate before any are joined.");
    if weighed {
        overload(inputs, &bands, [diameter, height], outcome);
    }
    if closest < 1.0 {
        outcome
            .then("Find a better eluent", "eluent-blend")
            .with("target_rf", "0.35");
    }
    let next = outcome.then("What pressure does it need?", "flash-flow");
    flash::carry_over(diameter, height, next);
    next.with("eluent_volume", "{~4} mL").number(end * tube);
    flash::cautions(outcome);
    outcome.care(DEFER);
    Ok(())
}

/// The bands in the order in which they come off a bed of `volume` mL.
fn bands<'a>(inputs: &'a Inputs<'_>, volume: f64, weighed: bool) -> Result<Vec<Band<'a>>, Problem> {
    let plates = inputs.get(&PLATES_INPUT).base();
    let porosity = inputs.get_measured(&POROSITY_INPUT);
    let share = porosity.value.in_ones();
    let liquid = volume * share;
    // Relative error of V_m.
    let spread = if porosity.error > 0.0 {
        porosity.error
    } else {
        POROSITY_ERROR
    } / share;
    let rows = inputs.rows(&SPOTS_INPUT);
    if rows.is_empty() || rows.len() > MOST_SPOTS {
        return Err(
            Problem::new(SPOTS_INPUT.input.name, "give one to {.0} spots")
                .number(MOST_SPOTS as f64),
        );
    }
    let mut bands: Vec<Band<'a>> = Vec::new();
    for row in rows {
        let name = row.words(&SPOT_NAME);
        if bands.iter().any(|band| band.name == name) {
            return Err(
                Problem::new(SPOTS_INPUT.input.name, "two spots are called “{}”").text(name),
            );
        }
        let Some(rf) = row.measured(&SPOT_RF) else {
            continue;
        };
        let read = if rf.error > 0.0 { rf.error } else { RF_ERROR };
        let rf = rf.value.base();
        let mass = row.quantity(&SPOT_MASS).filter(|_| weighed);
        let volume = liquid * (1.0 + capacity_factor(rf));
        let band = Band {
            name,
            rf,
            mass: mass.map_or(1.0, Mass::in_milligrams),
            volume,
            sigma: flash::band_sigma(volume, plates),
            half: volume * libm::hypot(read / rf, spread),
        };
        // In the order in which they leave.
        let later = bands.iter().position(|other| other.volume > volume);
        bands.insert(later.unwrap_or(bands.len()), band);
    }
    Ok(bands)
}

/// Says when the spots together are more than the bed carries at the least ΔRf of neighbours.
fn overload(
    inputs: &Inputs<'_>,
    bands: &[Band<'_>],
    [diameter, height]: [f64; 2],
    outcome: &mut Outcome,
) {
    let gaps = bands.windows(2).map(|pair| pair[0].rf - pair[1].rf);
    let delta = gaps.fold(1.0, f64::min);
    let load: f64 = bands.iter().map(|band| band.mass).sum();
    let Some(carries) = flash::carries(inputs.library(), diameter, height, delta) else {
        return;
    };
    if load > carries * (1.0 + 1e-9) {
        outcome.extrapolated = true;
        outcome
            .care("Overloaded: {~4} mg on a bed that carries {2} mg at ΔRf {~3}: the bands are broader, come earlier and run into each other. Take a wider column or several runs (W. C. Still and others, 1978, table 1).")
            .number(load)
            .number(carries)
            .number(delta);
    }
}

fn why(closest: f64, outcome: &mut Outcome) {
    if closest.is_finite() {
        outcome
            .because("The closest neighbours have a resolution of {2}: {}. Distance between the Rf counts most; plates count only by their square root.")
            .number(closest)
            .text(match closest {
                rs if rs >= 1.5 => "they part to the base line",
                rs if rs >= 1.0 => "they part but for a few mixed fractions",
                _ => "much of them comes off together",
            });
    } else {
        outcome.because("One spot alone: the column only frees it from what runs with the front and what stays at the top.");
    }
}

/// The band of the wanted spot, which is the first one written unless it is named.
fn wanted<'b, 'a>(inputs: &Inputs<'_>, bands: &'b [Band<'a>]) -> Result<&'b Band<'a>, Problem> {
    let mut name = inputs.words(&WANTED);
    if let ("", Some(row)) = (name, inputs.rows(&SPOTS_INPUT).first()) {
        name = row.words(&SPOT_NAME);
    }
    bands
        .iter()
        .find(|band| band.name == name)
        .ok_or_else(|| Problem::new(WANTED.input.name, "“{}” is none of the spots").text(name))
}

/// The fractions around the middle of the wanted band that are at least 95 % pure.
fn proposed(bands: &[Band<'_>], wanted: &Band<'_>, tube: f64) -> (f64, f64) {
    let pure = |fraction: f64| {
        let (from, to) = ((fraction - 1.0) * tube, fraction * tube);
        wanted.mass_between(from, to) >= PURE * held(bands, from, to)
    };
    let (from, to) = wanted.fractions(tube);
    let middle = f64::floor(wanted.volume / tube) + 1.0;
    let (mut first, mut last) = (middle, middle);
    while first > from && pure(first - 1.0) {
        first -= 1.0;
    }
    while last < to && pure(last + 1.0) {
        last += 1.0;
    }
    (first, last)
}

/// Reads `9-13`, `9 to 13` or `9`.
fn read_pool(text: &str) -> Result<(f64, f64), Problem> {
    let run = || {
        let (first, rest) = digits::lead(text).ok()??;
        let rest = rest.trim_start();
        let last = match rest {
            "" => first,
            _ => ["-", "–", "to"]
                .iter()
                .find_map(|sign| digits::whole(rest.strip_prefix(sign)?))?,
        };
        let whole = |fraction: f64| (fraction - f64::trunc(fraction)).abs() < 1e-9;
        let counted = first >= 1.0 && last >= first && last <= MOST_FRACTIONS;
        (counted && whole(first) && whole(last)).then_some((first, last))
    };
    run().ok_or_else(|| {
        Problem::new(
            POOL.input.name,
            "“{}” is not a run of fractions; write it like “9-13”",
        )
        .text(text)
    })
}

/// Where each band comes off, and how well neighbours part.
fn figures(bands: &[Band<'_>], tube: f64, outcome: &mut Outcome) {
    for band in bands {
        let (first, last) = band.fractions(tube);
        figure(
            ["retention_volume.{}", "{}: middle of the band"],
            band,
            band.volume,
            outcome,
        )
        .give_or_take(band.half)
        .unit = "mL";
        figure(
            ["first_fraction.{}", "{}: first fraction"],
            band,
            first,
            outcome,
        )
        .digits(9);
        figure(
            ["last_fraction.{}", "{}: last fraction"],
            band,
            last,
            outcome,
        )
        .digits(9);
    }
    for pair in bands.windows(2) {
        if let [early, late] = pair {
            let mut name = Sentence::new("resolution.{}-{}");
            let mut label = Sentence::new("Resolution of {} and {}");
            for band in [early, late] {
                name.text(band.name);
                label.text(band.name);
            }
            outcome.number(&name, &label, resolution(early, late), "");
        }
    }
}

/// A figure that is called after its band.
#[inline(never)]
fn figure<'o>(
    [name, label]: [&'static str; 2],
    band: &Band<'_>,
    value: f64,
    outcome: &'o mut Outcome,
) -> &'o mut Figure {
    let mut name = Sentence::new(name);
    let mut label = Sentence::new(label);
    outcome.number(name.text(band.name), label.text(band.name), value, "")
}

/// Share of each spot in each fraction that holds some of any.
fn table(bands: &[Band<'_>], tube: f64, end: f64, outcome: &mut Outcome) {
    let table = outcome.table("What each fraction holds", "Fraction\tEluent so far");
    for band in bands {
        table.heads.more("\tof {}").text(band.name);
    }
    for earlier in 0..end as u32 {
        let fraction = f64::from(earlier + 1);
        let to = fraction * tube;
        let from = to - tube;
        // Sixty rows are as many as anyone reads.
        if table.rows.len() < 60 && bands.iter().any(|band| band.share(from, to) >= 0.01) {
            let row = table.row("{.0}\t{~4} mL").number(fraction).number(to);
            for band in bands {
                row.more("\t{.0} %").number(band.share(from, to) * 100.0);
            }
        }
    }
}

/// The chromatogram with the fractions as columns and the pool as a zone.
fn plot(bands: &[Band<'_>], tube: f64, (first, last): (f64, f64), end: f64, outcome: &mut Outcome) {
    let plot = outcome.plot(
        "Chromatogram",
        "Each spot comes off as a bell-shaped band, the later the broader; the pool reaches from fraction {.0} to {.0}.",
    );
    plot.description.number(first).number(last);
    plot.x.linear("Eluent", "mL");
    plot.y.linear("Concentration", "mg/mL");
    plot.zone("pool", (first - 1.0) * tube, last * tube);
    if end <= 60.0 {
        let columns = plot.bars("fractions");
        for earlier in 0..end as u32 {
            let to = f64::from(earlier + 1) * tube;
            columns.three(to - tube, to, held(bands, to - tube, to) / tube);
        }
    }
    for band in bands {
        let line = plot.line("{}").text(band.name);
        for step in -16..17 {
            let volume = band.volume + f64::from(step) * 0.2 * band.sigma;
            line.point(volume, band.height(volume));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(pairs: &[(&str, &str)]) -> Result<Outcome, Vec<Problem>> {
        CALCULATOR.run_on("", pairs)
    }

    /// A run of fractions from the middle ± 1σ holds 68.27 % of a normal distribution.
    #[test]
    fn pool_holds_what_the_normal_distribution_says() {
        // V_m = 0.8·(π/4·4 cm²)·15 cm; tubes of a tenth of σ put the edges on ± σ.
        let volume = 0.8 * 15.0 * std::f64::consts::PI / 0.5;
        let tube = format!("{} mL", crate::number::fixed(volume / 100.0, 9));
        let outcome = run(&[
            ("spots", "a: 0.5"),
            ("fraction_volume", &tube),
            ("pool", "91-110"),
        ])
        .unwrap();
        let recovery = outcome.figure("recovery").and_then(Figure::number).unwrap();
        assert!((recovery - 68.27).abs() < 0.01, "{recovery}");
    }

    #[test]
    fn refuses_a_pool_that_is_none() {
        for pool in ["13-9", "0-3", "x", "1.5-3", "1-9999"] {
            assert_eq!(
                run(&[("pool", pool)]).unwrap_err()[0].input,
                "pool",
                "{pool}"
            );
        }
        assert!(run(&[("spots", "a: 0.3; a: 0.4")]).is_err());
        assert!(run(&[("wanted", "z")]).is_err());
    }
}
