//! The answer as lines for the terminal.

use crate::calculators::Calculator;
use crate::outcome::{Level, Outcome};

/// The answer in plain lines, rounded to what the intervals deserve.
pub fn text(calculator: &Calculator, outcome: &Outcome) -> String {
    let mut out = format!("{}\n", calculator.title);
    let widest = outcome
        .figures
        .iter()
        .map(|f| f.label.chars().count())
        .max()
        .unwrap_or(0);
    for figure in &outcome.figures {
        let pad = " ".repeat(widest - figure.label.chars().count());
        out.push_str(&format!("  {}{pad}  {}", figure.label, figure.shown()));
        if let Some(interval) = figure.interval() {
            out.push_str(&format!("  ({interval})"));
        }
        out.push('\n');
    }
    if outcome.extrapolated {
        out.push_str("  outside its range: a guide only\n");
    }
    for caution in &outcome.cautions {
        let word = match caution.level {
            Level::Danger => "Danger",
            Level::Care => "Take care",
        };
        out.push_str(&format!("{word}: {}\n", caution.text));
    }
    for table in &outcome.tables {
        out.push_str(&format!(
            "{}\n  {}\n",
            table.title,
            table.heads.replace('\t', "  |  ")
        ));
        for row in &table.rows {
            out.push_str(&format!("  {}\n", row.replace('\t', "  |  ")));
        }
    }
    let lines = [
        ("Why", &*outcome.why),
        ("Method", &outcome.method),
        ("Range", &outcome.validity),
        ("Source", &outcome.source),
    ];
    for (word, line) in lines.into_iter().filter(|(_, line)| !line.is_empty()) {
        out.push_str(&format!("{word}: {line}\n"));
    }
    for note in &outcome.notes {
        out.push_str(&format!("Note: {note}\n"));
    }
    out
}
