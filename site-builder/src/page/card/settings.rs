//! One calculator on a card: what is set, what comes out, what it calls for.

use crate::read::front_matter::Kind;
use crate::worked::material::Warning;
use crate::worked::numbers::Worked;
use calc_wasm::Outcome;
use calc_wasm::inputs::Kind as InputKind;
use calc_wasm::outcome::Level;
use serde::Serialize;

/// One calculator on a card.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Setting {
    /// Its id in the page.
    pub id: String,
    /// Its name.
    pub calculator: &'static str,
    /// Its title; on the cards of an experiment with the heading that it stands under.
    pub title: String,
    /// Whether only dangers are told of, for want of room.
    pub dangers_only: bool,
    /// All the author's inputs, lines of `key=value`.
    pub inputs: String,
    /// What is set, for every input; blank ones wait for a reader who types them.
    pub given: Vec<Given>,
    /// What comes out, the main figure first.
    pub figures: Vec<Figure>,
    /// What these values call for.
    pub cautions: Vec<Warning>,
}

/// One input on a card.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Given {
    /// Its name.
    pub name: &'static str,
    /// Its name for readers.
    pub label: &'static str,
    /// What was typed.
    pub value: String,
    /// `gauge=dial`, where it is asked only then.
    pub when: Option<String>,
    /// Whether it stands on the card.
    pub shown: bool,
}

/// One figure on a card.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Figure {
    /// Its name.
    pub name: String,
    /// Its name for readers.
    pub label: String,
    /// The number, or words.
    pub value: String,
    /// Its unit.
    pub unit: &'static str,
    /// `51.6 to 52.3`
    pub interval: Option<String>,
}

/// How many figures of a calculator a card shows where its author did not choose.
const USUAL: usize = 3;

/// What a calculator of a page of this `kind` puts on its card; nothing where its author keeps it
/// off.
pub(super) fn setting(worked: &Worked, kind: Kind, dangers_only: bool) -> Option<Setting> {
    if worked.card.as_ref().is_some_and(Vec::is_empty) {
        return None;
    }
    let pairs = worked.pairs.iter();
    let lines: Vec<String> = pairs.map(|(name, text)| format!("{name}={text}")).collect();
    Some(Setting {
        id: worked.id.clone(),
        calculator: worked.calculator.name,
        // An experiment asks the same calculator several times.
        title: match (kind, worked.heading.as_str()) {
            (Kind::Experiment, heading) if !heading.is_empty() => {
                format!("{heading} – {}", worked.calculator.title)
            }
            _ => worked.calculator.title.to_owned(),
        },
        dangers_only,
        inputs: lines.join("\n"),
        given: given(worked),
        figures: figures(
            worked,
            &worked.outcome,
            if dangers_only { USUAL - 1 } else { USUAL },
        ),
        cautions: worked
            .outcome
            .cautions
            .iter()
            // The card says so once, at its foot; and the techniques' cards, which lie beside an
            // experiment's, have the lesser ones.
            .filter(|caution| !caution.text.starts_with("Local rules"))
            .filter(|caution| !dangers_only || caution.level == Level::Danger)
            .map(|caution| Warning::new(caution.level, caution.text.to_string()))
            .collect(),
    })
}

/// All inputs of a calculator; those that the author wrote, or chose for the card, are shown.
fn given(worked: &Worked) -> Vec<Given> {
    let typed = |name: &str| {
        let pair = worked.pairs.iter().find(|(key, _)| key == name);
        pair.map(|(_, text)| text.clone())
    };
    let inputs = worked.calculator.inputs.iter();
    inputs
        .map(|input| {
            let written = typed(input.name);
            let shown = match &worked.card {
                Some(names) => names.iter().any(|name| name == input.name),
                // What is chosen from a list says how to reckon, and seldom what to set.
                None => written.is_some() && !matches!(input.kind, InputKind::Choice(_)),
            };
            let value = written.unwrap_or_else(|| input.by_itself().to_owned());
            let asked = input.when.is_none_or(|(other, values)| {
                let by_itself = || Some(worked.calculator.input(other)?.by_itself().to_owned());
                let other = typed(other).or_else(by_itself);
                other.is_some_and(|other| values.contains(&other.as_str()))
            });
            Given {
                name: input.name,
                label: input.label,
                shown: shown && asked && !value.is_empty(),
                value: if shown { value } else { String::new() },
                when: input
                    .when
                    .map(|(other, values)| format!("{other}={}", values.join("|"))),
            }
        })
        .collect()
}

fn figures(worked: &Worked, outcome: &Outcome, usual: usize) -> Vec<Figure> {
    let all = outcome.figures.iter();
    let chosen: Vec<_> = match &worked.card {
        Some(names) => all
            .filter(|figure| names.iter().any(|name| name.as_str() == figure.name))
            .collect(),
        None => all.take(usual).collect(),
    };
    chosen
        .into_iter()
        .map(|figure| Figure {
            name: figure.name.to_string(),
            label: figure.label.to_string(),
            value: figure.numeral(),
            unit: figure.unit,
            interval: figure.interval(),
        })
        .collect()
}

/// A caution that several calculators of a card give stands at the first.
pub(super) fn say_once(settings: &mut [Setting]) {
    let mut said: Vec<Warning> = Vec::new();
    for setting in settings {
        setting.cautions.retain(|caution| !said.contains(caution));
        said.extend(setting.cautions.iter().cloned());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn worked(card: Option<Vec<String>>) -> Worked {
        let pairs = [
            ("siphon_volume", "80 mL"),
            ("rate_from", "measured"),
            ("boil_up_rate", "8 mL/min"),
        ];
        Worked {
            card,
            heading: "1. Out of the leaf".into(),
            ..Worked::on_a_page("soxhlet", "soxhlet", &pairs)
        }
    }

    #[test]
    fn shows_what_was_written_and_the_first_figures() {
        let setting = setting(&worked(None), Kind::Technique, false).expect("a setting");
        let shown: Vec<&str> = setting
            .given
            .iter()
            .filter(|given| given.shown)
            .map(|given| given.value.as_str())
            .collect();
        assert_eq!(shown, ["80 mL", "8 mL/min"]);
        assert_eq!(setting.figures.len(), USUAL);
        let outcome = worked(None).outcome;
        assert_eq!(setting.figures[0].value, outcome.figures[0].numeral());
    }

    #[test]
    fn shows_what_the_author_chose_or_nothing() {
        let names = vec!["held_volume".to_owned(), "time".to_owned()];
        let setting = setting(&worked(Some(names)), Kind::Experiment, false).expect("a setting");
        let shown: Vec<&str> = setting
            .given
            .iter()
            .filter(|given| given.shown)
            .map(|given| given.name)
            .collect();
        assert_eq!(shown, ["held_volume"]);
        assert_eq!(setting.figures[0].name, "time");
        assert_eq!(setting.title, "1. Out of the leaf – Soxhlet extraction");
        assert!(super::setting(&worked(Some(Vec::new())), Kind::Technique, false).is_none());
    }
}
