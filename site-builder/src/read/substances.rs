//! Part of stage 3: what a row of the table of substances must hold besides what every row has.
//!
//! A wrong digit here would become a wrong temperature on every page, so a row is held against
//! itself: registry number, units, ranges, and the curve against the normal boiling point.

use crate::finding::Flaw;
use crate::read::cell::plain;
use calc_wasm::equations::vapour::Curve;
use calc_wasm::library::Library;
use calc_wasm::limits::{DENSITY, MOLAR_MASS};
use calc_wasm::number::fixed;
use std::ops::Range;
use toml::de::DeTable;

/// The name of the table.
pub const TABLE: &str = "substances";

/// A printed boiling point is often a whole degree: so much may be rounding, °C.
const ROUNDING: f64 = 0.5;
/// One atmosphere in mmHg, as the normal boiling point is defined.
const ATMOSPHERE: f64 = 760.0;
/// °C. Source: BIPM, The International System of Units, 9th edition, section 2.3.1.
const ABSOLUTE_ZERO: f64 = -273.15;

/// The units in which the calculators read a column.
const UNITS: [(&str, &str); 12] = [
    ("molar_mass", "g/mol"),
    ("boiling_point", "°C"),
    ("melting_point", "°C"),
    ("density", "g/mL"),
    ("density_temperature", "°C"),
    ("viscosity", "mPa s"),
    ("heat_of_vaporisation", "kJ/mol"),
    ("heat_capacity", "J/(g K)"),
    ("flash_point", "°C"),
    ("autoignition", "°C"),
    ("vapour_pressure_range", "°C"),
    ("vapour_pressure_band", "± °C"),
];

/// The unit that a column must be in, if it says another.
pub fn other_unit(column: &str, unit: &str) -> Option<&'static str> {
    let (_, right) = UNITS.iter().find(|(name, _)| *name == column)?;
    (*right != unit).then_some(right)
}

/// What is wrong in one row.
pub fn flaws(fields: &DeTable<'_>) -> Vec<Flaw> {
    let row = Row(fields);
    let mut flaws: Vec<Flaw> = Vec::new();
    flaws.extend(row.registry_number());
    flaws.extend(row.ranges());
    let curve = row.curve_numbers();
    if curve.is_empty() {
        flaws.extend(row.curve_and_boiling_point());
    }
    flaws.extend(curve);
    flaws
}

struct Row<'r, 'a>(&'r DeTable<'a>);

impl Row<'_, '_> {
    fn text(&self, key: &str) -> Option<(String, Range<usize>)> {
        let value = self.0.get(key)?;
        Some((plain(value.get_ref())?, value.span()))
    }

    fn numbers(&self, key: &str) -> Option<(Vec<f64>, Range<usize>)> {
        let (text, span) = self.text(key)?;
        let numbers = text.split(' ').map(|part| part.parse().ok());
        Some((numbers.collect::<Option<_>>().unwrap_or_default(), span))
    }

    fn number(&self, key: &str) -> Option<(f64, Range<usize>)> {
        let (numbers, span) = self.numbers(key)?;
        Some((*numbers.first()?, span))
    }

    fn registry_number(&self) -> Option<Flaw> {
        let (cas, span) = self.text("cas")?;
        if cas.is_empty() || is_cas(&cas) {
            return None;
        }
        let message =
            format!("`{cas}` is not a CAS number: its last digit does not check the others");
        Some(Flaw::new(span, message).mend("copy it again from the supplier's sheet"))
    }

    /// Numbers that no liquid has.
    fn ranges(&self) -> Vec<Flaw> {
        let mut flaws = Vec::new();
        for (key, limit) in [("molar_mass", &MOLAR_MASS), ("density", &DENSITY)] {
            if let Some((value, span)) = self.number(key)
                && !(limit.lowest..=limit.highest).contains(&value)
            {
                let message = format!("`{key}` is {value} {}", limit.unit);
                let mend = format!("it must be {}: {}", limit.range(), limit.why);
                flaws.push(Flaw::new(span, message).mend(mend));
            }
        }
        for key in ["viscosity", "heat_of_vaporisation", "heat_capacity"] {
            if let Some((value, span)) = self.number(key)
                && value <= 0.0
            {
                let message = format!("`{key}` is {value}");
                flaws.push(Flaw::new(span, message).mend("it must be above nought"));
            }
        }
        for (key, unit) in UNITS {
            if let Some((value, span)) = self.number(key)
                && unit == "°C"
                && value <= ABSOLUTE_ZERO
            {
                let message = format!("`{key}` is {} °C", fixed(value, 1));
                flaws.push(Flaw::new(span, message).mend("nothing is colder than −273.15 °C"));
            }
        }
        if let (Some((melting, span)), Some((boiling, _))) =
            (self.number("melting_point"), self.number("boiling_point"))
            && melting >= boiling
        {
            let message = format!(
                "it melts at {} °C and boils at {} °C",
                fixed(melting, 1),
                fixed(boiling, 1)
            );
            flaws.push(Flaw::new(span, message).mend("a liquid melts below its boiling point"));
        }
        flaws
    }

    /// The curve's own numbers: how many, and whether they can be a curve.
    fn curve_numbers(&self) -> Vec<Flaw> {
        let mut flaws = Vec::new();
        let Some((curve, span)) = self.numbers("vapour_pressure") else {
            return flaws;
        };
        let curve_span = span.clone();
        let range = self.numbers("vapour_pressure_range");
        match (curve.as_slice(), &range) {
            (&[_, b, c], Some((limits, _))) => {
                // Below the pole at −C the equation means nothing.
                if b <= 0.0 || limits.first().is_some_and(|lowest| c + lowest <= 0.0) {
                    let message = "`vapour_pressure` does not rise over its range";
                    let mend = "log10(p/mmHg) = A − B/(t + C), with B and t + C above nought";
                    flaws.push(Flaw::new(span, message).mend(mend));
                }
            }
            (&[_, _, _], None) => {
                let message = "the curve has no `vapour_pressure_range`";
                let mend = "add the lowest and the highest temperature of its data, in °C";
                flaws.push(Flaw::new(span, message).mend(mend));
            }
            _ => flaws.push(
                Flaw::new(span, "`vapour_pressure` is not three numbers")
                    .mend("write A, B and C of log10(p/mmHg) = A − B/(t + C), t in °C"),
            ),
        }
        if let Some((limits, span)) = range
            && !matches!(limits[..], [low, high] if low < high)
        {
            let message = "`vapour_pressure_range` is not two rising temperatures";
            flaws.push(Flaw::new(span, message).mend("write the lowest, then the highest, in °C"));
        }
        if let Some((band, span)) = self.numbers("vapour_pressure_band")
            && (band.len() != 5 || band.iter().any(|half| *half <= 0.0))
        {
            let message = "`vapour_pressure_band` is not five numbers above nought";
            let mend = "write ± °C at 760, 100, 30, 10 and 1 mmHg";
            flaws.push(Flaw::new(span, message).mend(mend));
        }
        // Every result names the source of its curve.
        if self
            .text("vapour_pressure_source")
            .is_none_or(|(text, _)| text.is_empty())
        {
            let message = "the curve has no `vapour_pressure_source`";
            let mend = "name it by a short name of content/data/sources.toml, or in full";
            flaws.push(Flaw::new(curve_span, message).mend(mend));
        }
        flaws
    }

    /// That the curve passes the normal boiling point, where its data reach so far.
    ///
    /// The difference allowed is the band of the curve at one atmosphere (how far its own
    /// sources disagree) and the rounding of a printed boiling point.
    fn curve_and_boiling_point(&self) -> Option<Flaw> {
        let (boiling, span) = self.number("boiling_point")?;
        let (limits, _) = self.numbers("vapour_pressure_range")?;
        let highest = *limits.last()?;
        let library = self.alone();
        let substance = library.table(TABLE)?.records().next()?;
        let curve = Curve::of(substance, &library)?;
        let passes = curve.temperature_unchecked(ATMOSPHERE);
        if passes > highest + ROUNDING && boiling > highest {
            return None;
        }
        let allowed = curve.band(ATMOSPHERE) + ROUNDING;
        if (passes - boiling).abs() <= allowed {
            return None;
        }
        let message = format!(
            "`boiling_point` is {} °C, but the curve boils at {} °C under 760 mmHg",
            fixed(boiling, 1),
            fixed(passes, 1)
        );
        let mend = format!(
            "the two may differ by {} °C: correct this, or `vapour_pressure` and its range",
            fixed(allowed, 1)
        );
        Some(Flaw::new(span, message).mend(mend))
    }

    /// The row as the core reads it, in a table of its own.
    fn alone(&self) -> Library {
        let cells = self
            .0
            .iter()
            .filter_map(|(key, value)| Some((key.get_ref().as_ref(), plain(value.get_ref())?)));
        let (keys, cells): (Vec<&str>, Vec<String>) = cells.unzip();
        let text = format!("[{TABLE}]\n{}\n{}\n", keys.join("\t"), cells.join("\t"));
        Library::from_text(&text).unwrap_or_default()
    }
}

/// Whether the check digit of a CAS registry number fits: the sum of the digits, each times
/// its place counted from the right, modulo ten.
///
/// Source: CAS, "Check Digit Verification of CAS Registry Numbers".
fn is_cas(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    let [first, second, check] = parts[..] else {
        return false;
    };
    let digits = |part: &str| part.bytes().all(|b| b.is_ascii_digit());
    if !(2..=7).contains(&first.len()) || second.len() != 2 || check.len() != 1 {
        return false;
    }
    if !(digits(first) && digits(second) && digits(check)) {
        return false;
    }
    let sum: usize = format!("{first}{second}")
        .bytes()
        .rev()
        .enumerate()
        .map(|(place, digit)| (place + 1) * usize::from(digit - b'0'))
        .sum();
    check.parse() == Ok(sum % 10)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Toluene, as `content/data/substances.toml` has it with its sources.
    const TOLUENE: &str = "name = \"toluene\"\ncas = \"108-88-3\"\nmolar_mass = 92.14\nboiling_point = 110.6\nmelting_point = -95\ndensity = 0.8685\nvapour_pressure = [7.03984, 1393.171, 224.47]\nvapour_pressure_range = [-26.67, 112.42]\nvapour_pressure_band = [0.5, 0.5, 0.7, 1, 1.5]\nvapour_pressure_source = \"eos-lemmon\"\n";

    fn found(text: &str) -> Vec<(String, String, String)> {
        let table = DeTable::parse(text).expect("a row");
        flaws(table.get_ref())
            .into_iter()
            .map(|flaw| {
                let written = text[flaw.span].to_owned();
                (written, flaw.message, flaw.mend.unwrap_or_default())
            })
            .collect()
    }

    /// The row with one field written otherwise gets one finding, at that field.
    fn with(right: &str, wrong: &str) -> (String, String, String) {
        assert!(TOLUENE.contains(right), "{right}");
        let mut found = found(&TOLUENE.replace(right, wrong));
        assert_eq!(found.len(), 1, "{found:#?}");
        found.remove(0)
    }

    #[test]
    fn a_sound_row_passes() {
        assert_eq!(found(TOLUENE), []);
        // A curve that ends far below one atmosphere says nothing about the boiling point.
        assert_eq!(
            found(&TOLUENE.replace("112.42]", "60]").replace("110.6", "118")),
            []
        );
    }

    #[test]
    fn a_curve_must_pass_the_normal_boiling_point() {
        let (written, message, mend) = with("110.6", "119.6");
        assert_eq!(written, "119.6");
        assert_eq!(
            message,
            "`boiling_point` is 119.6 °C, but the curve boils at 110.5 °C under 760 mmHg"
        );
        assert!(mend.contains("may differ by 1.0 °C"), "{mend}");
        // A slip in the constants is the same finding, whichever way the curve goes.
        assert!(with("7.03984", "8.03984").1.contains("under 760 mmHg"));
        assert!(with("7.03984", "6.03984").1.contains("under 760 mmHg"));
        // In kelvin.
        assert!(with("110.6", "383.75").1.contains("383.8 °C"));
    }

    #[test]
    fn a_curve_has_three_constants_and_two_limits_and_five_bands() {
        assert!(with(", 224.47]", "]").1.contains("is not three numbers"));
        assert!(with("1393.171", "-1393.171").1.contains("does not rise"));
        assert!(
            with("[-26.67, 112.42]", "[112.42, -26.67]")
                .1
                .contains("not two rising")
        );
        assert!(with(", 1.5]", "]").1.contains("not five numbers"));
        let range = "vapour_pressure_range = [-26.67, 112.42]\n";
        assert!(with(range, "").1.contains("no `vapour_pressure_range`"));
        let source = "vapour_pressure_source = \"eos-lemmon\"\n";
        assert!(with(source, "").1.contains("no `vapour_pressure_source`"));
    }

    #[test]
    fn numbers_that_no_liquid_has_are_found() {
        // Per litre instead of per millilitre.
        let (written, message, mend) = with("0.8685", "868.5");
        assert_eq!(
            (written.as_str(), message.as_str()),
            ("868.5", "`density` is 868.5 g/mL")
        );
        assert!(mend.contains("0.3 to 20 g/mL"), "{mend}");
        assert!(with("92.14", "0.09214").1.contains("`molar_mass`"));
        assert!(with("-95", "-395").2.contains("−273.15 °C"));
        assert!(
            with("-95", "195")
                .1
                .contains("melts at 195.0 °C and boils at 110.6")
        );
        assert!(
            with("density", "viscosity = -1\ndensity")
                .1
                .contains("`viscosity`")
        );
    }

    #[test]
    fn units_are_those_the_calculators_read() {
        assert_eq!(other_unit("density", "kg/m³"), Some("g/mL"));
        assert_eq!(other_unit("density", "g/mL"), None);
        assert_eq!(other_unit("colour", "red"), None);
    }

    #[test]
    fn checks_the_digit_of_registry_numbers() {
        // Numbers as printed on suppliers' labels: water, toluene, ethyl benzoate.
        for right in ["7732-18-5", "108-88-3", "93-89-0"] {
            assert!(is_cas(right), "{right}");
        }
        for wrong in ["7732-18-4", "108883", "1-2-3", "x", "108-8８-3"] {
            assert!(!is_cas(wrong), "{wrong}");
        }
        assert!(
            with("108-88-3", "108-88-4")
                .1
                .contains("is not a CAS number")
        );
    }
}
