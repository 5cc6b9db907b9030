//! Part of stage 6: bench cards. What a page says about the work at the bench, gathered while its Markdown
//! was read, becomes a sheet of paper: settings, steps, drawing, kit, cautions, waste, and a code
//! of the page's address with the same values.

mod fit;
mod numbers;
mod settings;

pub use fit::overfull;
pub use settings::{Figure, Given, Setting};

use crate::markdown::Rendered;
use crate::read::draft::Draft;
use crate::read::front_matter::Kind;
use crate::read::site::Site;
use crate::worked::class_kit::svg_as;
use crate::worked::material::{RunGiven, Steps, Stream};
use crate::worked::numbers::Worked;
use calc_wasm::qr;
use fit::{OVERFULL, SIZES};
use serde::Serialize;
use settings::{say_once, setting};
use std::collections::BTreeMap;

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
    /// What the run of its page gives.
    pub given: Vec<RunGiven>,
    /// The sheet behind it, on the page's own card.
    pub sheet: Option<String>,
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

/// All that cards are made from.
#[derive(Debug)]
pub struct Deck<'d> {
    pages: BTreeMap<&'d str, (&'d Draft<'d>, &'d Rendered)>,
    address: &'d str,
}

impl<'d> Deck<'d> {
    /// Gathers the pages.
    pub fn new(drafts: &'d [Draft<'d>], rendered: &'d [Rendered], site: &'d Site) -> Self {
        let pages = drafts.iter().zip(rendered);
        Self {
            pages: pages.map(|pair| (pair.0.name, pair)).collect(),
            address: &site.address,
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
            .filter_map(|worked| setting(worked, owner.matter.kind, material.kit.is_some()))
            .collect();
        say_once(&mut settings);
        let mut card = Card {
            name: draft.name.to_owned(),
            title: draft.matter.title.clone(),
            within: within.map(|(owner, _)| owner.matter.title.clone()),
            url: owner.url.clone(),
            cautions: draft.matter.hazards.clone(),
            given: source.material.given.clone(),
            sheet: source.material.sheet.clone().filter(|_| within.is_none()),
            settings,
            steps: match within {
                Some((_, owner)) => numbers::steps(material, &owner.material),
                None => material.steps.clone(),
            },
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
                    card.drawings.push(svg_as(&id, &drawn.svg, &drawn.id));
                    // An experiment does not fill the flask with the technique's charge.
                    let fills = if within.is_none() { &*drawn.fills } else { &[] };
                    card.kit.push(drawn.assembly.parts(&id, fills));
                }
            }
        }
        if !self.address.is_empty() {
            // The page has the author's values by itself. `#set:` with nothing after it asks for
            // them, whatever the reader's device has kept. The shorter, the coarser the code.
            let values = if card.settings.is_empty() {
                ""
            } else {
                "#set:"
            };
            let address = format!("{}{}{values}", self.address, owner.url);
            (card.qr, card.address) = (qr::svg(&address), Some(address));
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
}
