//! Part of stage 6: bench cards. What a page says about the work at the bench, gathered while its
//! Markdown was read, becomes a sheet of paper: settings, steps, drawing, kit, cautions, waste,
//! and a code of the page's address with the same values.

use crate::class_kit::{ClassKit, SetUp};
use crate::finding::Finding;
use crate::front_matter::Kind;
use crate::markdown::Rendered;
use crate::numbers::Worked;
use crate::page::{Draft, Site};
use crate::plan::Plan;
use calc_wasm::inputs::{Kind as InputKind, Need};
use calc_wasm::library::Library;
use calc_wasm::outcome::Level;
use calc_wasm::{Outcome, qr, report};
use serde::Serialize;
use std::collections::BTreeMap;
use std::ops::Range;

/// What a page gives to its card.
#[derive(Clone, Debug, Default)]
pub struct Material {
    /// Its calculators with the author's values.
    pub worked: Vec<Worked>,
    /// Its steps.
    pub steps: Vec<Steps>,
    /// Its drawings.
    pub drawings: Vec<SetUp>,
    /// Its time plan.
    pub plan: Option<Plan>,
    /// Its kit, added up.
    pub kit: Option<ClassKit>,
    /// Its waste.
    pub waste: Vec<Stream>,
    /// Names of the pages it links to, in order, once each.
    pub mentioned: Vec<String>,
}

impl Material {
    /// Notes that the page links to another.
    pub fn mentions(&mut self, name: &str) {
        if self.mentioned.iter().all(|known| known != name) {
            self.mentioned.push(name.to_owned());
        }
    }
}

/// The steps of one `steps` block.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Steps {
    /// The heading above them.
    pub title: String,
    /// The steps.
    pub steps: Vec<Step>,
}

/// One step.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Step {
    /// What to do, HTML.
    pub words: String,
    /// How long it takes, where it has a timer.
    pub takes: Option<String>,
    /// The cautions beside it.
    pub cautions: Vec<Warning>,
}

/// One waste stream.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Stream {
    /// Its name.
    pub name: String,
    /// What goes in, HTML.
    pub what: String,
}

/// A card as its template gets it.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Card {
    /// Name of the technique or experiment.
    pub name: String,
    /// Its title.
    pub title: String,
    /// The experiment whose values these are, where it is not the card's own page.
    pub within: Option<String>,
    /// Address of the page whose values these are, under the root.
    pub url: String,
    /// Its hazards.
    pub cautions: Vec<String>,
    /// Its calculators.
    pub settings: Vec<Setting>,
    /// Its steps.
    pub steps: Vec<Steps>,
    /// Its drawings, SVG.
    pub drawings: Vec<String>,
    /// Its time plan, SVG with a key.
    pub plan: Option<String>,
    /// Its kit, HTML: a list for each drawing, or one for all.
    pub kit: Vec<String>,
    /// Its waste.
    pub waste: Vec<Stream>,
    /// Where the code leads, where the site's address is known.
    pub address: Option<String>,
    /// The code, SVG.
    pub qr: Option<String>,
    /// Size of its print, in tenths of a point, by how much has to go on one side.
    pub size: usize,
    /// Whether it takes more than one side of A4 even at the smallest size.
    pub overfull: bool,
}

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

/// One caution, of a calculator or beside a step.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Warning {
    /// `danger` or `care`
    pub level: &'static str,
    /// The word for it.
    pub word: &'static str,
    /// The sentences; beside a step HTML.
    pub text: String,
}

impl Warning {
    /// With the word for its level.
    pub fn new(level: Level, text: String) -> Self {
        let (level, word) = match level {
            Level::Danger => ("danger", "Danger"),
            Level::Care => ("care", "Take care"),
        };
        Self { level, word, text }
    }
}

/// How many figures of a calculator a card shows where its author did not choose.
const USUAL: usize = 3;

/// Letters that fill one side of A4 at 10 pt, with what headings, boxes and gaps take of the
/// room; found by printing.
const LETTERS: f64 = 4400.0;
/// Sizes of print, in tenths of a point. Below the smallest nobody reads at arm's length.
const SIZES: Range<usize> = 65..105;

/// Below this not even the smallest size fits, for the reckoning is on the safe side.
const OVERFULL: usize = 60;

/// All that cards are made from.
#[derive(Debug)]
pub struct Deck<'d> {
    pages: BTreeMap<&'d str, (&'d Draft<'d>, &'d Rendered)>,
    address: &'d str,
    library: &'d Library,
}

impl<'d> Deck<'d> {
    /// Gathers the pages.
    pub fn new(
        drafts: &'d [Draft<'d>],
        rendered: &'d [Rendered],
        site: &'d Site,
        library: &'d Library,
    ) -> Self {
        let pages = drafts.iter().zip(rendered);
        Self {
            pages: pages.map(|pair| (pair.0.name, pair)).collect(),
            address: &site.address,
            library,
        }
    }

    /// The pages that have cards.
    pub fn practical(&self) -> Vec<&'d Draft<'d>> {
        let drafts = self.pages.values().map(|(draft, _)| *draft);
        drafts
            .filter(|draft| draft.matter.kind.is_practical())
            .collect()
    }

    /// The cards of one page: its own, and for an experiment those of the techniques that it
    /// links to, with the experiment's values.
    pub fn of(&self, draft: &Draft<'_>) -> Vec<Card> {
        let Some((draft, rendered)) = self.pages.get(draft.name) else {
            return Vec::new();
        };
        let mut cards = vec![self.card(draft, rendered, None)];
        if draft.matter.kind == Kind::Experiment {
            let techniques = rendered
                .material
                .mentioned
                .iter()
                .filter_map(|name| self.pages.get(name.as_str()))
                .filter(|(other, _)| other.matter.kind == Kind::Technique);
            cards.extend(
                techniques
                    .map(|(technique, its)| self.card(technique, its, Some((*draft, *rendered)))),
            );
        }
        cards
    }

    /// The card of a page; within an experiment, with what the experiment works out by the
    /// calculators that the page uses, and none of the page's own examples.
    fn card(
        &self,
        draft: &Draft<'_>,
        rendered: &Rendered,
        within: Option<(&Draft<'_>, &Rendered)>,
    ) -> Card {
        let material = &rendered.material;
        let (owner, source) = within.unwrap_or((draft, rendered));
        let of_this_page = |worked: &&Worked| {
            let same = |other: &Worked| other.calculator.name == worked.calculator.name;
            within.is_none() || material.worked.iter().any(same)
        };
        let mut settings: Vec<Setting> = source
            .material
            .worked
            .iter()
            .filter(of_this_page)
            .filter_map(|worked| self.setting(worked, owner.matter.kind, material.kit.is_some()))
            .collect();
        say_once(&mut settings);
        let mut card = Card {
            name: draft.name.to_owned(),
            title: draft.matter.title.clone(),
            within: within.map(|(owner, _)| owner.matter.title.clone()),
            url: owner.url.clone(),
            cautions: draft.matter.hazards.clone(),
            settings,
            steps: material.steps.clone(),
            plan: material
                .plan
                .as_ref()
                .map(|plan| plan.card(&format!("{}-plan", draft.name))),
            waste: material.waste.clone(),
            ..Card::default()
        };
        match &material.kit {
            // So many set-ups leave no room for their drawings; the techniques' cards have them.
            Some(kit) => card.kit.push(kit.card()),
            None => {
                for (at, drawn) in material.drawings.iter().enumerate() {
                    let id = format!("{}-drawing-{}", draft.name, at + 1);
                    // Placing the numbers takes longest of all, so it is not done again.
                    let (of_page, of_card) = (format!("{}-", drawn.id), format!("{id}-"));
                    card.drawings.push(drawn.svg.replace(&of_page, &of_card));
                    card.kit.push(drawn.assembly.parts(&id));
                }
            }
        }
        if !self.address.is_empty() {
            let page = format!("{}{}", self.address, owner.url);
            let whole = format!("{page}{}", fragment(&card.settings));
            // Too many values for one code: the page itself still has the author's.
            let (address, code) = match qr::svg(&whole) {
                Some(code) => (whole, Some(code)),
                None => (page.clone(), qr::svg(&page)),
            };
            (card.address, card.qr) = (Some(address), code);
        }
        if card.wanted_size() < SIZES.start {
            // Before the print gets too small to read, the lesser cautions go; the page has them.
            for setting in &mut card.settings {
                setting.dangers_only = true;
                setting.cautions.retain(|caution| caution.level == "danger");
            }
        }
        let size = card.wanted_size();
        card.overfull = size < OVERFULL;
        card.size = size.clamp(SIZES.start, SIZES.end);
        card
    }

    fn setting(&self, worked: &Worked, kind: Kind, dangers_only: bool) -> Option<Setting> {
        if worked.card.as_ref().is_some_and(Vec::is_empty) {
            return None;
        }
        // A block that was refused has its findings already.
        let outcome = worked.calculator.run(self.library, &worked.pairs).ok()?;
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
                &outcome,
                if dangers_only { USUAL - 1 } else { USUAL },
            ),
            cautions: outcome
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
            let preset = match input.need {
                Need::Preset(preset) => preset.to_owned(),
                Need::Required | Need::Optional => String::new(),
            };
            let written = typed(input.name);
            let shown = match &worked.card {
                Some(names) => names.iter().any(|name| name == input.name),
                // What is chosen from a list says how to reckon, and seldom what to set.
                None => written.is_some() && !matches!(input.kind, InputKind::Choice(_)),
            };
            let value = written.unwrap_or(preset);
            let asked = input.when.is_none_or(|(other, values)| {
                let other = typed(other).or_else(|| preset_of(worked, other));
                other.is_some_and(|other| values.contains(&other.as_str()))
            });
            Given {
                name: input.name,
                label: input.label,
                shown: shown && asked && !value.is_empty(),
                value: if shown { value } else { String::new() },
                when: input
                    .when
                    .map(|(other, values)| format!("{other}={}", values.join(" "))),
            }
        })
        .collect()
}

fn preset_of(worked: &Worked, name: &str) -> Option<String> {
    let mut inputs = worked.calculator.inputs.iter();
    match inputs.find(|input| input.name == name)?.need {
        Need::Preset(preset) => Some(preset.to_owned()),
        Need::Required | Need::Optional => None,
    }
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
fn say_once(settings: &mut [Setting]) {
    let mut said: Vec<Warning> = Vec::new();
    for setting in settings {
        setting.cautions.retain(|caution| !said.contains(caution));
        said.extend(setting.cautions.iter().cloned());
    }
}

/// The values in an address: `#set:soxhlet.power=150%20W&…`, or nothing.
fn fragment(settings: &[Setting]) -> String {
    let pairs: Vec<String> = settings
        .iter()
        .flat_map(|setting| setting.inputs.lines().map(move |line| (setting, line)))
        .filter_map(|(setting, line)| {
            let (name, text) = line.split_once('=')?;
            let (id, text) = (report::percent(&setting.id), report::percent(text));
            Some(format!("{id}.{name}={text}"))
        })
        .collect();
    if pairs.is_empty() {
        String::new()
    } else {
        format!("#set:{}", pairs.join("&"))
    }
}

impl Card {
    /// The size of print at which the card fills one side, down to half a point.
    fn wanted_size(&self) -> usize {
        (libm::sqrt(LETTERS / self.letters() as f64) * 20.0) as usize * 5
    }

    /// How many letters fill as much room as all that stands on the card.
    fn letters(&self) -> usize {
        let step = |step: &Step| {
            let cautions = step.cautions.iter().map(|caution| 12 + caution.text.len());
            40 + without_tags(&step.words) + cautions.sum::<usize>()
        };
        let setting = |setting: &Setting| {
            let shown = setting.given.iter().filter(|given| given.shown);
            let given = shown.map(|given| given.label.len() + given.value.len() + 4);
            let cautions = setting
                .cautions
                .iter()
                .map(|caution| caution.text.len() + 12);
            120 + given.sum::<usize>() + 70 * setting.figures.len() + cautions.sum::<usize>()
        };
        let steps = self.steps.iter().flat_map(|group| &group.steps);
        let waste = self.waste.iter();
        400 + steps.map(step).sum::<usize>()
            + 50 * self.steps.len()
            + self
                .cautions
                .iter()
                .map(|caution| caution.len() + 20)
                .sum::<usize>()
            + self.settings.iter().map(setting).sum::<usize>()
            + waste
                .map(|stream| 20 + stream.name.len() + stream.what.len())
                .sum::<usize>()
            + self
                .kit
                .iter()
                .map(|kit| without_tags(kit) * 5 / 4)
                .sum::<usize>()
            + if self.drawings.is_empty() { 0 } else { 1000 }
            + self
                .plan
                .as_ref()
                .map_or(0, |plan| 700 + without_tags(plan))
    }
}

/// Notes on cards that take more than one side of A4.
pub fn overfull(draft: &Draft<'_>, cards: &[Card]) -> Option<Finding> {
    let card = cards.first().filter(|card| card.overfull)?;
    let message = format!(
        "the bench card of `{}` takes more than one side of A4",
        card.name
    );
    let mend = "keep calculators off it with `card = false`, or choose with `card = [\"…\"]`";
    Some(
        Finding::whole(&draft.source.file, message)
            .mend(mend)
            .note(),
    )
}

/// How many letters stand between tags.
fn without_tags(html: &str) -> usize {
    html.split('<')
        .map(|piece| piece.rsplit('>').next().unwrap_or_default().len())
        .sum()
}

/// Words without links: there is nothing to press on paper.
pub fn without_links(html: &str) -> String {
    let mut out = String::with_capacity(html.len());
    let mut rest = html;
    while let Some(at) = rest.find("<a") {
        let is_link = rest[at + 2..].starts_with([' ', '>']);
        let end = rest[at..].find('>').map_or(rest.len(), |end| at + end + 1);
        out.push_str(&rest[..if is_link { at } else { end }]);
        rest = &rest[end..];
    }
    out.push_str(rest);
    out.replace("</a>", "")
}

#[cfg(test)]
mod tests {
    use super::*;
    use calc_wasm::calculators;

    /// The tables of the site, on which some calculators draw.
    fn library() -> Library {
        let content = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../content");
        let (files, _) = crate::source::read_data(&content);
        crate::data::library(&crate::data::read(&files).0).0
    }

    fn worked(card: Option<Vec<String>>) -> Worked {
        let pairs = [
            ("siphon_volume", "80 mL"),
            ("rate_from", "measured"),
            ("boil_up_rate", "8 mL/min"),
        ];
        Worked {
            id: "soxhlet".into(),
            calculator: calculators::find("soxhlet").expect("soxhlet"),
            pairs: pairs.map(|(name, text)| (name.into(), text.into())).into(),
            card,
            heading: "1. Out of the leaf".into(),
        }
    }

    fn deck(library: &Library) -> Deck<'_> {
        Deck {
            pages: BTreeMap::new(),
            address: "",
            library,
        }
    }

    #[test]
    fn shows_what_was_written_and_the_first_figures() {
        let library = library();
        let setting = deck(&library)
            .setting(&worked(None), Kind::Technique, false)
            .expect("a setting");
        let shown: Vec<&str> = setting
            .given
            .iter()
            .filter(|given| given.shown)
            .map(|given| given.value.as_str())
            .collect();
        assert_eq!(shown, ["80 mL", "8 mL/min"]);
        assert_eq!(setting.figures.len(), USUAL);
        let outcome = worked(None)
            .calculator
            .run(&library, &worked(None).pairs)
            .expect("an answer");
        assert_eq!(setting.figures[0].value, outcome.figures[0].numeral());
    }

    #[test]
    fn shows_what_the_author_chose_or_nothing() {
        let library = library();
        let names = vec!["held_volume".to_owned(), "time".to_owned()];
        let setting = deck(&library)
            .setting(&worked(Some(names)), Kind::Experiment, false)
            .expect("a setting");
        let shown: Vec<&str> = setting
            .given
            .iter()
            .filter(|given| given.shown)
            .map(|given| given.name)
            .collect();
        assert_eq!(shown, ["held_volume"]);
        assert_eq!(setting.figures[0].name, "time");
        assert_eq!(setting.title, "1. Out of the leaf – Soxhlet extraction");
        assert!(
            deck(&library)
                .setting(&worked(Some(Vec::new())), Kind::Technique, false)
                .is_none()
        );
    }

    #[test]
    fn writes_the_values_into_the_address() {
        let library = library();
        let setting = deck(&library)
            .setting(&worked(None), Kind::Technique, false)
            .expect("a setting");
        assert_eq!(
            fragment(&[setting]),
            "#set:soxhlet.siphon_volume=80%20mL&soxhlet.rate_from=measured&soxhlet.boil_up_rate=8%20mL%2Fmin"
        );
        assert_eq!(fragment(&[]), "");
    }

    #[test]
    fn takes_links_out_and_leaves_other_tags() {
        assert_eq!(
            without_links("<a class=\"term\" href=\"x\">Rf</a> of <abbr>x</abbr> <a>y</a>"),
            "Rf of <abbr>x</abbr> y"
        );
    }
}
