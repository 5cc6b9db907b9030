//! The answer to the last bit, to compare one machine with another.

use crate::calculators::Calculator;
use crate::library::Library;

/// Lines `name=value low high`, each number as the 16 hexadecimal digits of its bits; or lines
/// `!input=message` when refused.
pub fn bits(calculator: &Calculator, library: &Library, pairs: &[(String, String)]) -> String {
    let mut out = String::new();
    match calculator.run(library, pairs) {
        Ok(outcome) => {
            for figure in &outcome.figures {
                out.push_str(&figure.name);
                out.push('=');
                out.push_str(&figure.numeral());
                for value in [figure.number(), figure.low, figure.high]
                    .into_iter()
                    .flatten()
                {
                    out.push(' ');
                    out.push_str(&hexadecimal(value));
                }
                out.push('\n');
            }
        }
        Err(problems) => {
            for problem in problems {
                for part in ["!", &problem.input, "=", &problem.message, "\n"] {
                    out.push_str(part);
                }
            }
        }
    }
    out
}

fn hexadecimal(value: f64) -> String {
    let bits = value.to_bits();
    (0..16)
        .rev()
        .filter_map(|i| char::from_digit((bits >> (4 * i) & 15) as u32, 16))
        .collect()
}
