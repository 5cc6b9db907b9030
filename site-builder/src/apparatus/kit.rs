//! What to fetch: parts, and what holds and joins them; added up for an experiment and a class.

use std::collections::BTreeMap;

use super::assembly::{Assembly, Hold, HoseEnd};
use super::part::Fit;

/// One line of a kit list.
#[derive(Debug, Clone, PartialEq)]
pub struct KitLine {
    /// The catalogue's name, which also tells lines apart when they are added up.
    pub name: String,
    /// What it is called, with its size.
    pub label: String,
    /// How many, or how much of `unit`.
    pub quantity: f64,
    /// Empty for pieces, `m` for hose.
    pub unit: String,
    /// What may be taken instead.
    pub instead: Vec<String>,
}

impl KitLine {
    fn extra(name: &str, label: &str, quantity: f64, unit: &str) -> Self {
        Self {
            name: name.into(),
            label: label.into(),
            quantity,
            unit: unit.into(),
            instead: Vec::new(),
        }
    }
}

impl Assembly {
    /// Everything the assembly needs, the numbered parts first, in their order.
    pub fn kit(&self) -> Vec<KitLine> {
        let mut lines: Vec<KitLine> = Vec::new();
        for item in &self.items {
            let part = &item.part;
            add(
                &mut lines,
                KitLine {
                    name: part.name.clone(),
                    label: part.label.clone(),
                    quantity: 1.0,
                    unit: String::new(),
                    instead: part.instead.clone(),
                },
            );
        }
        for line in self.extras() {
            add(&mut lines, line);
        }
        lines
    }

    /// What has no number in the drawing: supports, hoses, grease.
    pub(crate) fn extras(&self) -> Vec<KitLine> {
        let mut lines = Vec::new();
        for item in &self.items {
            for with in &item.part.with {
                add(&mut lines, KitLine::extra(with, with, 1.0, ""));
            }
        }
        let stands = self.rods().len() as f64;
        let count = |hold: Hold| {
            self.clamps
                .iter()
                .filter(|clamp| clamp.hold == hold)
                .count() as f64
        };
        for (name, number) in [
            ("retort stand", stands),
            ("clamp with boss head", count(Hold::Clamp)),
            ("ring with boss head", count(Hold::Ring)),
        ] {
            if number > 0.0 {
                lines.push(KitLine::extra(name, name, number, ""));
            }
        }
        for clamp in self.clamps.iter().filter(|clamp| clamp.hold == Hold::Clip) {
            let size = self.items[clamp.item]
                .part
                .ports
                .iter()
                .find(|p| matches!(p.joint.fit, Fit::Socket | Fit::Cone))
                .map_or("", |p| &p.joint.size);
            let name = format!("joint clip {size}");
            add(&mut lines, KitLine::extra(&name, &name, 1.0, ""));
        }
        let vacuum = self.items.iter().any(|item| item.part.is("pump"));
        for hose in &self.hoses {
            let bore = [&hose.from, &hose.to]
                .into_iter()
                .find_map(|end| match end {
                    HoseEnd::At(end) => Some(self.port(*end).joint.size.clone()),
                    HoseEnd::Outside(_) => None,
                });
            let name = format!(
                "{} hose, {} mm bore",
                if vacuum { "vacuum" } else { "gas" },
                bore.unwrap_or_default()
            );
            let metres = (self.hose_length(hose) / 1000.0 * 1.2 * 2.0).ceil() / 2.0;
            add(&mut lines, KitLine::extra(&name, &name, metres, "m"));
        }
        if !self.water.is_empty() {
            let hoses = 2.0 + self.water.iter().filter(|pass| pass.follows).count() as f64;
            lines.push(KitLine::extra(
                "water hose, 8 mm bore",
                "water hose, 8 mm bore, each end secured",
                hoses * 1.5,
                "m",
            ));
        }
        if self.items.iter().any(|item| item.part.is("stirs")) {
            lines.push(KitLine::extra("stirrer bar", "stirrer bar", 1.0, ""));
        } else if self.items.iter().any(|item| item.part.is("heats")) && !vacuum {
            lines.push(KitLine::extra(
                "anti-bumping granules",
                "anti-bumping granules, fresh for each heating",
                1.0,
                "",
            ));
        }
        if vacuum
            && self.joins.iter().any(|join| {
                self.port(join.a).joint.fit == Fit::Socket
                    || self.port(join.b).joint.fit == Fit::Socket
            })
        {
            lines.push(KitLine::extra(
                "joint grease",
                "joint grease for vacuum",
                1.0,
                "",
            ));
        }
        lines
    }
}

fn add(lines: &mut Vec<KitLine>, line: KitLine) {
    match lines
        .iter_mut()
        .find(|known| known.name == line.name && known.unit == line.unit)
    {
        Some(known) => known.quantity += line.quantity,
        None => lines.push(line),
    }
}

/// Kit lists added up, each taken so many times (benches, groups, a class), sorted by name.
pub fn sum(lists: &[(usize, &[KitLine])]) -> Vec<KitLine> {
    let mut total: BTreeMap<(String, String), KitLine> = BTreeMap::new();
    for (times, lines) in lists {
        for line in *lines {
            let entry = total
                .entry((line.name.clone(), line.unit.clone()))
                .or_insert_with(|| KitLine {
                    quantity: 0.0,
                    ..line.clone()
                });
            entry.quantity += line.quantity * *times as f64;
        }
    }
    total
        .into_values()
        .filter(|line| line.quantity > 0.0)
        .collect()
}
