//! Part of stage 4: chemical formulas, from `H2SO4` to HTML with subscripts.
//!
//! - Digits after a letter or a bracket are a count: subscript.
//! - Digits at the start, or after a space, a dot, a plus or an arrow multiply: as they are.
//! - What follows `^`, up to a space or a bracket, is a charge or a mass number: superscript.
//! - A plus or minus at the very end of a species is its charge: superscript.
//! - `*` or `·` between parts is the dot of a solvate; `->` is an arrow, `<=>` goes both ways.

use crate::finding::Flaw;

/// A formula as HTML.
///
/// # Errors
/// A character that no formula has, or a bracket without its partner.
pub fn html(formula: &str) -> Result<String, Flaw> {
    check(formula)?;
    let text = formula
        .replace("<=>", "⇌")
        .replace("->", "→")
        .replace('*', "·");
    let letters: Vec<char> = text.chars().collect();
    let mut out = String::from("<span class=\"formula\">");
    let mut at = 0;
    while at < letters.len() {
        let c = letters[at];
        let after_atom = at > 0
            && (letters[at - 1].is_ascii_alphabetic() || matches!(letters[at - 1], ')' | ']'));
        let run = |keep: fn(char) -> bool| {
            letters[at..]
                .iter()
                .take_while(|c| keep(**c))
                .collect::<String>()
        };
        if c == '^' {
            at += 1;
            let charge: String = letters[at..]
                .iter()
                .take_while(|c| c.is_ascii_digit() || is_sign(**c))
                .collect();
            at += charge.chars().count();
            out.push_str(&format!("<sup>{}</sup>", signed(&charge)));
        } else if c.is_ascii_digit() && after_atom {
            let count = run(|c| c.is_ascii_digit());
            at += count.len();
            out.push_str(&format!("<sub>{count}</sub>"));
        } else if is_sign(c) && is_charge(&letters, at) {
            out.push_str(&format!("<sup>{}</sup>", signed(&c.to_string())));
            at += 1;
        } else {
            out.push(c);
            at += 1;
        }
    }
    out.push_str("</span>");
    Ok(out)
}

fn check(formula: &str) -> Result<(), Flaw> {
    if formula.trim().is_empty() {
        return Err(Flaw::new(0..formula.len(), "the formula is empty"));
    }
    let mut open = Vec::new();
    for (at, c) in formula.char_indices() {
        let span = at..at + c.len_utf8();
        match c {
            '(' | '[' => open.push((at, c)),
            ')' | ']' => {
                let partner = if c == ')' { '(' } else { '[' };
                if open.pop().map(|(_, c)| c) != Some(partner) {
                    return Err(Flaw::new(span, format!("this `{c}` closes nothing")));
                }
            }
            '^' | '+' | '-' | '−' | '·' | '*' | '=' | ' ' | ',' | '.' | '→' | '⇌' => {}
            // Arrows as one types them: `->`, `<=>`.
            '>' if formula[..at].ends_with(['-', '=']) => {}
            '<' if formula[at..].starts_with("<=>") => {}
            c if c.is_ascii_alphanumeric() => {}
            c => {
                return Err(
                    Flaw::new(span, format!("`{c}` does not belong in a formula"))
                        .mend("letters, digits, brackets, ^ for a charge, * for a dot"),
                );
            }
        }
    }
    match open.pop() {
        Some((at, c)) => Err(Flaw::new(at..at + 1, format!("this `{c}` is never closed"))),
        None => Ok(()),
    }
}

fn is_sign(c: char) -> bool {
    matches!(c, '+' | '-' | '−')
}

/// A sign is a charge when it closes a species; between two species it adds, between two
/// atoms it is a bond.
fn is_charge(letters: &[char], at: usize) -> bool {
    let before = at.checked_sub(1).map(|before| letters[before]);
    let after = letters.get(at + 1);
    let closes = after.is_none_or(|c| matches!(c, ' ' | ')' | ']' | ','));
    closes && before.is_some_and(|c| c.is_ascii_alphanumeric() || matches!(c, ')' | ']'))
}

fn signed(charge: &str) -> String {
    charge.replace('-', "−")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn inner(formula: &str) -> String {
        let out = html(formula).expect("a sound formula");
        out["<span class=\"formula\">".len()..out.len() - "</span>".len()].to_owned()
    }

    #[test]
    fn lowers_counts_and_raises_charges() {
        assert_eq!(inner("H2SO4"), "H<sub>2</sub>SO<sub>4</sub>");
        assert_eq!(inner("Ca(OH)2"), "Ca(OH)<sub>2</sub>");
        assert_eq!(inner("NH4+"), "NH<sub>4</sub><sup>+</sup>");
        assert_eq!(inner("SO4^2-"), "SO<sub>4</sub><sup>2−</sup>");
        assert_eq!(inner("^13C"), "<sup>13</sup>C");
        assert_eq!(
            inner("Na2SO4*10H2O"),
            "Na<sub>2</sub>SO<sub>4</sub>·10H<sub>2</sub>O"
        );
        assert_eq!(
            inner("2H2 + O2 -> 2H2O"),
            "2H<sub>2</sub> + O<sub>2</sub> → 2H<sub>2</sub>O"
        );
        assert_eq!(inner("A <=> B"), "A ⇌ B");
        assert_eq!(inner("CH3-CH3"), "CH<sub>3</sub>-CH<sub>3</sub>");
    }

    #[test]
    fn says_what_no_formula_has() {
        assert!(html("H2<O").is_err());
        assert_eq!(html("Ca(OH2").expect_err("open").span, 2..3);
        assert_eq!(html("CaOH)2").expect_err("closed").span, 4..5);
        assert!(html("H₂O").expect_err("a subscript").message.contains('₂'));
        assert!(html(" ").is_err());
    }
}
