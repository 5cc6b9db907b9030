//! Numbers in the steps of a technique's card within an experiment. They hang on the run of the
//! technique's own page, and would stand beside the experiment's settings as if they belonged to
//! them: a bath for one compound beside the pressure for another.

use crate::worked::material::{Material, Steps};
use crate::worked::run::{NUMBER, number_html};

/// What is written in by hand.
const BLANK: &str = "<span class=\"number\">________</span>";

/// The steps of a technique as an experiment's print has them: with the experiment's number where
/// it has the same one, else with room to write it in.
pub(super) fn steps(technique: &Material, experiment: &Material) -> Vec<Steps> {
    let mut steps = technique.steps.clone();
    let shown = |key: &str| shown(key, technique, experiment);
    for step in steps.iter_mut().flat_map(|block| &mut block.steps) {
        step.words = words(&step.words, &shown);
    }
    steps
}

/// The experiment's own number for a key of the technique's run: a value that both give under one
/// name and label, or a result of a calculator that both have under one id.
fn shown(key: &str, technique: &Material, experiment: &Material) -> Option<String> {
    let Some((id, result)) = key.split_once('.') else {
        let its = technique.given.iter().find(|value| value.name == key)?;
        let mut given = experiment.given.iter();
        let same = given.find(|value| value.name == key && value.label == its.label)?;
        return Some(same.value.clone());
    };
    let of = |material: &Material| material.worked.iter().position(|worked| worked.id == id);
    let its = &technique.worked[of(technique)?];
    let same = &experiment.worked[of(experiment)?];
    let alike = its.calculator.name == same.calculator.name;
    let figure = same.outcome.figure(result).filter(|_| alike)?;
    Some(figure.shown())
}

fn words(html: &str, shown: &impl Fn(&str) -> Option<String>) -> String {
    let mut out = String::new();
    let mut rest = html;
    while let Some((before, number)) = rest.split_once(NUMBER) {
        out.push_str(before);
        let parts = number.split_once('"').zip(number.split_once("</span>"));
        let Some(((key, _), (_, after))) = parts else {
            out.push_str(NUMBER);
            rest = number;
            break;
        };
        match shown(key) {
            Some(text) => out.push_str(&number_html(key, &text, "")),
            None => out.push_str(BLANK),
        }
        rest = after;
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::worked::material::{RunGiven, Step};
    use crate::worked::numbers::Worked;

    fn page(label: &str, step: &str, boiling: &[(&str, &str)]) -> Material {
        Material {
            given: vec![RunGiven {
                name: "pressure".into(),
                label: label.into(),
                value: "8 mmHg".into(),
            }],
            worked: vec![Worked::on_a_page("boiling-point", "boiling-point", boiling)],
            steps: vec![Steps {
                steps: vec![Step {
                    words: step.into(),
                    ..Step::default()
                }],
                ..Steps::default()
            }],
            ..Material::default()
        }
    }

    fn said(technique: &Material, experiment: &Material) -> String {
        steps(technique, experiment)[0].steps[0].words.clone()
    }

    #[test]
    fn a_technique_s_number_never_stands_beside_an_experiment_s_settings() {
        let number = |key: &str, text: &str| format!("{NUMBER}{key}\" title=\"x\">{text}</span>");
        let step = format!(
            "Wait for {}, bath at {}, head at {}.",
            number("pressure", "28 mmHg"),
            number("bath-setting.bath_temperature", "130 °C"),
            number("boiling-point.temperature", "110.7 °C")
        );
        let toluene = [("substance", "toluene"), ("pressure", "760 mmHg")];
        let water = [("substance", "water"), ("pressure", "760 mmHg")];
        let technique = page("Pressure at the head", &step, &toluene);
        let experiment = page("Pressure at the head", "", &water);
        let boils = experiment.worked[0].outcome.figure("temperature");
        let boils = boils.expect("water boils").shown();
        let same = said(&technique, &experiment);
        assert_eq!(
            same,
            format!(
                "Wait for {NUMBER}pressure\">8 mmHg</span>, bath at {BLANK}, head at {NUMBER}boiling-point.temperature\">{boils}</span>."
            )
        );
        let other = said(&technique, &page("Pressure of the line", "", &water));
        assert!(other.starts_with(&format!("Wait for {BLANK},")), "{other}");
    }
}
