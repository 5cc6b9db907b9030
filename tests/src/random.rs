//! Random inputs, made from the calculators' own descriptions, so a new calculator is covered as
//! soon as it is listed: usual values, the ends of each range and beyond, other units, reading
//! errors, names from the tables, absurd texts.

use calc_wasm::Calculator;
use calc_wasm::inputs::{Kind, Need};
use calc_wasm::library::Library;
use calc_wasm::limits::Limit;
use calc_wasm::number;

/// A small generator (xorshift64*, S. Vigna, ACM Trans. Math. Softw. 42 (2016) 30): the same
/// numbers on every run, so that a failure comes back.
#[derive(Debug)]
pub struct Random(u64);

impl Random {
    /// Starts at a seed, which must not be zero.
    pub fn new(seed: u64) -> Self {
        Random(seed)
    }

    /// The next number.
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_F491_4F6C_DD1D)
    }

    /// Between 0 and 1.
    pub fn share(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// True once in `n` times.
    pub fn once_in(&mut self, n: u64) -> bool {
        self.next().is_multiple_of(n)
    }

    /// One of these.
    pub fn pick<'t, T>(&mut self, from: &'t [T]) -> &'t T {
        &from[(self.next() % from.len() as u64) as usize]
    }
}

/// What nobody should type, but someone will.
const ABSURD: &[&str] = &[
    "NaN",
    "inf",
    "-inf",
    "1e999 mmHg",
    "-1e308 g",
    "∞",
    "±",
    "± 3",
    "5 ±",
    "5 ± 1e400 mL",
    "--5",
    "1,000 mL",
    "0",
    "-0",
    "1e-320",
    "<script>alert(1)</script>",
    "a: b; c",
    ";;;",
    ":",
    "@",
    ", ,",
    "💥",
    "٣ mL",
    "12 furlongs",
    "\u{0}",
    "  ",
    "\t",
    "'; --",
    "99999999999999999999999999 °C",
    "a: 0.35, 100 mg; a: 0.35, 100 mg",
    "1 = 2",
    "%",
    "µ",
    "(((5",
    "5)))) mmHg",
];

fn text_for(kind: &Kind, library: &Library, random: &mut Random) -> String {
    if random.once_in(60) {
        return random.pick(ABSURD).to_string();
    }
    match kind {
        Kind::Quantity(limit) => amount(limit, random),
        Kind::AnyOf(limits) => {
            let limit: &Limit = random.pick::<&Limit>(limits);
            amount(limit, random)
        }
        Kind::Choice(choices) => random.pick(choices).name.to_string(),
        Kind::Entry(table) => entry(table, library, random),
        Kind::EntryOrQuantity(table, limit) => {
            if random.once_in(2) {
                entry(table, library, random)
            } else {
                amount(limit, random)
            }
        }
        Kind::Words => random
            .pick(&["ice", "silica: 20 g", "toluene", "a", ""])
            .to_string(),
        Kind::Rows(columns) => {
            let count = 1 + random.next() % 4;
            let rows: Vec<String> = (0..count)
                .map(|_| {
                    let mut row = String::new();
                    for column in *columns {
                        if column.optional && random.once_in(3) {
                            continue;
                        }
                        row.extend(column.before);
                        row.push(' ');
                        row.push_str(&text_for(&column.kind, library, random));
                    }
                    row
                })
                .collect();
            rows.join("; ")
        }
    }
}

fn entry(table: &str, library: &Library, random: &mut Random) -> String {
    let names: Vec<&str> = library
        .table(table)
        .unwrap_or_else(|| panic!("no table of {table}"))
        .names()
        .collect();
    random.pick(&names).to_string()
}

/// A value inside the limit, at its ends, or a little outside, in any of its units.
fn amount(limit: &Limit, random: &mut Random) -> String {
    let (low, high) = (limit.lowest, limit.highest);
    let value = match random.next() % 16 {
        0 => low,
        1 => high,
        2 if random.once_in(4) => low - (high - low) * 0.01,
        2 if random.once_in(4) => high * 1.01,
        3 => (low + (high - low) * random.share()).round(),
        _ if low > 0.0 && high / low > 50.0 => low * libm::pow(high / low, random.share()),
        _ => low + (high - low) * random.share(),
    };
    let digits = 2 + (random.next() % 6) as usize;
    let own = limit.dimension.unit(limit.unit);
    let (unit, value) = match own {
        Some(own) if random.once_in(3) => {
            let unit = random.pick(limit.dimension.units);
            let base = value * own.factor + own.offset;
            (unit.symbol, (base - unit.offset) / unit.factor)
        }
        _ => (limit.unit, value),
    };
    let text = number::plain(value, digits);
    if random.once_in(4) {
        // Mostly as people read; now and then as large as the value or larger.
        let share = if random.once_in(8) {
            3.0 * random.share()
        } else {
            random.share() * random.share()
        };
        let error = number::plain(value.abs() * share, 3);
        format!("{text} ± {error} {unit}")
    } else {
        format!("{text} {unit}")
    }
}

/// Inputs for a calculator, made from its own description: mostly such as a person types.
pub fn inputs_for(
    calculator: &Calculator,
    library: &Library,
    random: &mut Random,
) -> Vec<(String, String)> {
    let mut given = Vec::new();
    for input in calculator.inputs {
        let left_out = match input.need {
            Need::Required => 40,
            Need::Optional | Need::Preset(_) => 2,
        };
        if !random.once_in(left_out) {
            given.push((
                input.name.to_string(),
                text_for(&input.kind, library, random),
            ));
        }
    }
    if random.once_in(200) {
        given.push(("presure".to_string(), "3".to_string()));
    }
    given
}
