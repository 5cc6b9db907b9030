//! What a demonstrator would send back.
//!
//! One function per rule, each a few lines over the assembly. All rules are common practice, no
//! source, unless a line says otherwise. Every finding names the parts and the mend.

use std::collections::BTreeSet;

use super::Flaw;
use super::assembly::{Assembly, End, Hold, HoseEnd, OUTSIDE};
use super::catalogue::Catalogue;
use super::layout::{reach, target_below};
use super::part::Fit;

/// A thermometer's bulb may stand so far from its mark, mm.
const BULB_TOLERANCE: f64 = 6.0;
/// A bleed may end so far above the bottom, mm.
const BLEED_GAP: f64 = 8.0;
/// What a joint clip may carry, as the volume of the flask in mL.
const CLIP_LIMIT: f64 = 250.0;
/// A vessel that is heated is filled to this share at most.
const FILL_LIMIT: f64 = 2.0 / 3.0;

/// Every rule over one placed assembly.
pub(crate) fn all(catalogue: &Catalogue, assembly: &Assembly) -> Vec<Flaw> {
    let gas = Gas::of(assembly);
    let rules = Rules {
        catalogue,
        assembly,
        gas,
        flaws: Vec::new(),
    };
    rules.run()
}

/// Which parts share their gas space.
struct Gas {
    /// Direct neighbours through joints and gas hoses.
    neighbours: Vec<Vec<usize>>,
}

impl Gas {
    fn of(assembly: &Assembly) -> Self {
        let mut neighbours = vec![Vec::new(); assembly.items.len()];
        let mut link = |a: usize, b: usize| {
            neighbours[a].push(b);
            neighbours[b].push(a);
        };
        for join in &assembly.joins {
            let (a, b) = (&assembly.port(join.a).joint, &assembly.port(join.b).joint);
            if a.fit.is_opening() && b.fit.is_opening() && !a.is_loose(b) {
                link(join.a.item, join.b.item);
            }
            // A bleed and a delivery tube end in the space below their gland.
            if matches!(
                (a.fit, b.fit),
                (Fit::Gland, Fit::Rod) | (Fit::Rod, Fit::Gland)
            ) {
                link(join.a.item, join.b.item);
            }
        }
        for hose in &assembly.hoses {
            if let (HoseEnd::At(a), HoseEnd::At(b)) = (&hose.from, &hose.to) {
                link(a.item, b.item);
            }
        }
        Self { neighbours }
    }

    /// Parts reached from `start` without going through a part for which `stop` holds.
    fn reached(&self, start: usize, stop: impl Fn(usize) -> bool) -> BTreeSet<usize> {
        let mut seen = BTreeSet::from([start]);
        let mut open = vec![start];
        while let Some(item) = open.pop() {
            for &next in &self.neighbours[item] {
                if !stop(next) && seen.insert(next) {
                    open.push(next);
                }
            }
        }
        seen
    }
}

struct Rules<'a> {
    catalogue: &'a Catalogue,
    assembly: &'a Assembly,
    gas: Gas,
    flaws: Vec<Flaw>,
}

impl Rules<'_> {
    fn run(mut self) -> Vec<Flaw> {
        self.receivers();
        self.openings();
        self.closed_while_heated();
        self.flat_under_vacuum();
        self.pumps();
        self.vacuum_leaks();
        self.gauge_and_bumping();
        self.bulbs();
        self.bleeds();
        self.water();
        self.support();
        self.heating();
        self.above_the_bench();
        self.floating();
        self.flaws.sort_by_key(|flaw| flaw.span.start);
        self.flaws
    }

    fn is(&self, item: usize, word: &str) -> bool {
        self.assembly.items[item].part.is(word)
    }

    fn items(&self) -> std::ops::Range<usize> {
        0..self.assembly.items.len()
    }

    fn ends(&self, item: usize) -> Vec<End> {
        (0..self.assembly.items[item].part.ports.len())
            .map(|port| End { item, port })
            .collect()
    }

    fn flaw(&mut self, item: usize, message: String, mend: impl Into<String>) {
        let span = self.assembly.items[item].span.clone();
        self.flaws.push(Flaw::new(&span, message, mend));
    }

    fn span_of(&mut self, span: &std::ops::Range<usize>, message: String, mend: impl Into<String>) {
        self.flaws.push(Flaw::new(span, message, mend));
    }

    /// What comes over must be caught.
    fn receivers(&mut self) {
        for item in self.items() {
            for end in self.ends(item) {
                let port = self.assembly.port(end);
                if port.delivers && !self.assembly.is_used(end) {
                    let message = format!(
                        "nothing catches what comes out of {}",
                        self.assembly.end_named(end)
                    );
                    let mend = match port.joint.fit {
                        Fit::Cone => format!(
                            "join a receiver with a socket {}, for example `{}`",
                            port.joint.size,
                            self.round(&port.joint.size, 100.0)
                        ),
                        _ => "put a receiver under it".to_owned(),
                    };
                    self.flaw(item, message, mend);
                }
            }
        }
    }

    /// The round flask with one socket of a size whose volume comes nearest.
    fn round(&self, size: &str, volume: f64) -> String {
        let sockets = |part: &super::part::Part| {
            let sockets = part
                .ports
                .iter()
                .filter(|port| port.joint.fit == Fit::Socket);
            sockets
                .map(|port| port.joint.size == size)
                .collect::<Vec<_>>()
        };
        self.catalogue
            .parts()
            .filter(|part| part.is("vessel") && part.is("round") && part.volume > 0.0)
            .filter(|part| sockets(part) == [true])
            .min_by(|a, b| {
                (a.volume - volume)
                    .abs()
                    .total_cmp(&(b.volume - volume).abs())
            })
            .map_or_else(
                || format!("a round-bottomed flask {size}"),
                |part| part.name.clone(),
            )
    }

    /// Every opening is joined, or open on purpose.
    fn openings(&mut self) {
        for item in self.items() {
            for end in self.ends(item) {
                let port = self.assembly.port(end);
                let open = self.assembly.open.contains(&end);
                if open && self.assembly.is_used(end) {
                    let message = format!(
                        "{} is listed as open but is joined",
                        self.assembly.end_named(end)
                    );
                    self.flaw(item, message, "take it out of `open`");
                }
                let settled = self.assembly.is_used(end)
                    || open
                    || port.may_open
                    || port.delivers
                    || port.water
                    || !port.joint.fit.is_opening();
                if settled {
                    continue;
                }
                let message = format!("{} is left open", self.assembly.end_named(end));
                let stopper = self.catalogue.parts().find(|part| {
                    part.is("closes") && port.joint.mate(&part.ports[0].joint).is_ok()
                });
                let listed = format!(
                    "write `open = [\"{}.{}\"]` if it is meant to be open",
                    self.assembly.items[item].alias, port.name
                );
                let mend = match stopper {
                    Some(part) => format!("close it with `{}`, or {listed}", part.name),
                    None => format!("join it, or {listed}"),
                };
                self.flaw(item, message, mend);
            }
        }
    }

    /// Openings through which gas can leave a part on its own.
    fn bare(&self, item: usize) -> Option<End> {
        self.ends(item).into_iter().find(|&end| {
            let port = self.assembly.port(end);
            let loose = self.assembly.joins.iter().any(|join| {
                (join.a == end || join.b == end) && self.assembly.port(join.a).joint.is_loose(&self.assembly.port(join.b).joint)
            });
            let to_hood = self.assembly.hoses.iter().any(|hose| {
                hose.from == HoseEnd::At(end) && matches!(&hose.to, HoseEnd::Outside(name) if OUTSIDE.iter().any(|(n, vents)| n == name && *vents))
            });
            let unused = !self.assembly.is_used(end) && !port.water && port.joint.fit.is_opening();
            loose || to_hood || (unused && (self.assembly.open.contains(&end) || port.may_open))
        })
    }

    /// Vessels with something hot below them.
    fn heated(&self) -> Vec<(usize, usize)> {
        let below = |item: usize| {
            self.assembly.joins.iter().find_map(|join| {
                let (a, b) = (
                    self.assembly.port(join.a).joint.fit,
                    self.assembly.port(join.b).joint.fit,
                );
                match (a, b) {
                    (Fit::Seat, Fit::Foot) if join.b.item == item => Some(join.a.item),
                    (Fit::Foot, Fit::Seat) if join.a.item == item => Some(join.b.item),
                    _ => None,
                }
            })
        };
        let mut found = Vec::new();
        for vessel in self.items().filter(|item| self.is(*item, "vessel")) {
            let mut under = below(vessel);
            for _ in 0..8 {
                match under {
                    Some(item) if self.is(item, "heats") => {
                        found.push((vessel, item));
                        break;
                    }
                    Some(item) => under = below(item),
                    None => break,
                }
            }
        }
        found
    }

    /// A heated system is never closed.
    fn closed_while_heated(&mut self) {
        for (vessel, source) in self.heated() {
            let space = self.gas.reached(vessel, |_| false);
            let way_out = space.iter().any(|&item| {
                self.bare(item).is_some()
                    || self.is(item, "vents")
                    || self.is(item, "gives")
                    || self.is(item, "pump")
            });
            if !way_out {
                let message = format!(
                    "{} is heated by {} and nothing lets vapour or air out",
                    self.assembly.named(vessel),
                    self.assembly.named(source)
                );
                self.flaw(vessel, message, "open the system at one place: a vent in `open`, a drying tube, a bubbler, or a hose to the hood");
            }
        }
    }

    /// The space a pump empties, as far as the first bed or filter.
    fn vacuum(&self, pump: usize) -> BTreeSet<usize> {
        let mut space = self.gas.reached(pump, |item| self.is(item, "resists"));
        space.remove(&pump);
        space
    }

    fn pump_items(&self) -> Vec<usize> {
        self.items().filter(|item| self.is(*item, "pump")).collect()
    }

    fn flat_under_vacuum(&mut self) {
        for pump in self.pump_items() {
            for item in self.vacuum(pump) {
                if self.is(item, "flat") && !self.is(item, "vacuum-safe") {
                    let message = format!(
                        "{} has a flat bottom and {} puts it under vacuum",
                        self.assembly.named(item),
                        self.assembly.named(pump)
                    );
                    let size = self.assembly.items[item]
                        .part
                        .ports
                        .iter()
                        .find(|p| p.joint.fit == Fit::Socket)
                        .map(|p| p.joint.size.clone());
                    let mend = match size {
                        Some(size) => {
                            format!(
                                "take a round one, for example `{}`",
                                self.round(&size, self.assembly.items[item].part.volume)
                            )
                        }
                        None => "take a round-bottomed vessel or a thick-walled suction flask"
                            .to_owned(),
                    };
                    self.flaw(item, message, mend);
                }
            }
        }
    }

    /// An oil pump stands behind a cold trap, a water-jet pump behind a guard bottle.
    fn pumps(&mut self) {
        for pump in self.pump_items() {
            for (kind, keeper, mend) in [
                (
                    "oil-pump",
                    "trap",
                    "put a cold trap in the line, for example `cold trap`, so that no vapour reaches the oil",
                ),
                (
                    "jet-pump",
                    "guard",
                    "put `guard bottle` in the line, so that water cannot suck back",
                ),
            ] {
                if !self.is(pump, kind) {
                    continue;
                }
                let bare = self.gas.reached(pump, |item| self.is(item, keeper));
                let meets = bare.into_iter().find(|&item| {
                    item != pump && (self.is(item, "vessel") || self.is(item, "condenser"))
                });
                if let Some(item) = meets {
                    let message = format!(
                        "{} draws straight on {} with no {} between",
                        self.assembly.named(pump),
                        self.assembly.named(item),
                        if keeper == "trap" {
                            "cold trap"
                        } else {
                            "guard bottle"
                        }
                    );
                    self.flaw(pump, message, mend);
                }
            }
        }
    }

    /// Air must not get into what a pump empties.
    fn vacuum_leaks(&mut self) {
        for pump in self.pump_items() {
            for item in self.vacuum(pump) {
                if let Some(end) = self.bare(item)
                    && !self.is(item, "bleed")
                {
                    let message = format!(
                        "{} lets air into what {} empties",
                        self.assembly.end_named(end),
                        self.assembly.named(pump)
                    );
                    self.flaw(
                        item,
                        message,
                        "close it; under vacuum only the bleed lets anything in",
                    );
                }
            }
        }
    }

    /// A distillation under vacuum needs a reading and something against bumping.
    fn gauge_and_bumping(&mut self) {
        let heated = self.heated();
        for pump in self.pump_items() {
            let space = self.vacuum(pump);
            let Some(&(vessel, _)) = heated.iter().find(|(vessel, _)| space.contains(vessel))
            else {
                continue;
            };
            if !space.iter().any(|item| self.is(*item, "gauge")) {
                let message = format!(
                    "{} is distilled under vacuum and nothing reads the pressure",
                    self.assembly.named(vessel)
                );
                self.flaw(
                    pump,
                    message,
                    "put a gauge in the line, for example `electronic gauge`",
                );
            }
            let stirred = heated
                .iter()
                .any(|(v, source)| *v == vessel && self.is(*source, "stirs"));
            if !stirred && !space.iter().any(|item| self.is(*item, "bleed")) {
                let message = format!(
                    "nothing keeps the liquid in {} from bumping under vacuum",
                    self.assembly.named(vessel)
                );
                self.flaw(vessel, message, "add a capillary bleed or heat it on a stirring hot plate; anti-bumping granules do not work here");
            }
        }
    }

    /// Rods in their glands: (gland, rod).
    fn rods(&self) -> Vec<(End, End)> {
        self.assembly
            .joins
            .iter()
            .filter_map(|join| {
                match (
                    self.assembly.port(join.a).joint.fit,
                    self.assembly.port(join.b).joint.fit,
                ) {
                    (Fit::Gland, Fit::Rod) => Some((join.a, join.b)),
                    (Fit::Rod, Fit::Gland) => Some((join.b, join.a)),
                    _ => None,
                }
            })
            .collect()
    }

    /// The bulb stands just below the lower edge of the side arm, or else in the liquid.
    fn bulbs(&mut self) {
        for (gland, rod) in self.rods() {
            if !self.is(rod.item, "thermometer") {
                continue;
            }
            let depth = reach(self.assembly, gland, rod);
            if !self.long_enough(rod.item, depth) {
                continue;
            }
            let (wanted, place) = match target_below(self.assembly, gland, "bulb") {
                Some(wanted) => (wanted, "the side arm"),
                None => continue,
            };
            let off = depth - wanted;
            if off.abs() > BULB_TOLERANCE {
                let side = if off > 0.0 { "below" } else { "above" };
                let message = format!(
                    "the bulb of {} stands {:.0} mm {side} {place}",
                    self.assembly.named(rod.item),
                    off.abs()
                );
                self.flaw(rod.item, message, format!("set `depth = \"{wanted:.0} mm\"` or leave `depth` out, so that the bulb stands just below the side arm's lower edge"));
            }
        }
    }

    fn long_enough(&mut self, item: usize, depth: f64) -> bool {
        let length = self.assembly.items[item].part.length;
        let short = length > 0.0 && depth > length - 8.0;
        if short {
            let message = format!(
                "{} is {length:.0} mm long and cannot reach {depth:.0} mm deep",
                self.assembly.named(item)
            );
            self.flaw(item, message, "take a longer one or set a smaller `depth`");
        }
        !short
    }

    /// The thread of a bleed ends near the bottom, under the liquid.
    fn bleeds(&mut self) {
        for (gland, rod) in self.rods() {
            if !self.is(rod.item, "bleed") {
                continue;
            }
            let depth = reach(self.assembly, gland, rod);
            match target_below(self.assembly, gland, "bottom") {
                None => {
                    let message = format!(
                        "{} does not point at the bottom of a vessel",
                        self.assembly.named(rod.item)
                    );
                    self.flaw(
                        rod.item,
                        message,
                        "put it in a neck whose line runs to the bottom",
                    );
                }
                Some(bottom) if bottom - depth > BLEED_GAP => {
                    let message = format!(
                        "{} ends {:.0} mm above the bottom, so it may blow above the liquid",
                        self.assembly.named(rod.item),
                        bottom - depth
                    );
                    let length = self.assembly.items[rod.item].part.length;
                    let mend = if length < bottom + 12.0 {
                        format!("take a bleed at least {:.0} mm long", bottom + 15.0)
                    } else {
                        format!(
                            "set `depth = \"{:.0} mm\"` or leave `depth` out",
                            bottom - 3.0
                        )
                    };
                    self.flaw(rod.item, message, mend);
                }
                Some(bottom) if depth > bottom + 1.0 => {
                    let message = format!(
                        "{} is pushed {:.0} mm through the bottom",
                        self.assembly.named(rod.item),
                        depth - bottom
                    );
                    self.flaw(
                        rod.item,
                        message,
                        format!(
                            "set `depth = \"{:.0} mm\"` or leave `depth` out",
                            bottom - 3.0
                        ),
                    );
                }
                Some(_) => {}
            }
        }
    }

    /// Water goes in at the lower nipple, so that the jacket fills.
    fn water(&mut self) {
        for pass in &self.assembly.water.clone() {
            let (into, out) = (
                self.assembly.spot(pass.into).0,
                self.assembly.spot(pass.out).0,
            );
            if pass.named && into.y < out.y - 5.0 {
                let message = format!(
                    "water enters {} at the top, by {}",
                    self.assembly.named(pass.into.item),
                    self.assembly.end_named(pass.into)
                );
                let alias = &self.assembly.items[pass.into.item].alias;
                let (low, high) = (
                    &self.assembly.port(pass.out).name,
                    &self.assembly.port(pass.into).name,
                );
                let mend = format!(
                    "write `{alias}.{low} to {alias}.{high}`: in at the lower nipple, so that the jacket fills and no air stays in it"
                );
                self.span_of(&pass.span, message, mend);
            }
        }
        for item in self.items() {
            let jacketed = self.assembly.items[item]
                .part
                .ports
                .iter()
                .any(|port| port.water);
            let passes = self
                .assembly
                .water
                .iter()
                .filter(|pass| pass.into.item == item)
                .count();
            if jacketed && passes == 0 {
                let message = format!("no water runs through {}", self.assembly.named(item));
                let alias = self.assembly.items[item].alias.clone();
                self.flaw(
                    item,
                    message,
                    format!("add `\"{alias}\"` to `water`, or take an air condenser"),
                );
            }
            if passes > 1 {
                let message = format!("water is led through {} twice", self.assembly.named(item));
                self.flaw(item, message, "name each jacket once");
            }
        }
    }

    /// Whether a part stands on something that carries it, down to the bench.
    fn stands(&self, item: usize) -> bool {
        let mut at = item;
        for _ in 0..8 {
            let under = self.assembly.joins.iter().find_map(|join| {
                let (a, b) = (
                    self.assembly.port(join.a).joint.fit,
                    self.assembly.port(join.b).joint.fit,
                );
                match (a, b) {
                    (Fit::Seat, Fit::Foot) if join.b.item == at => Some(join.a.item),
                    (Fit::Foot, Fit::Seat) if join.a.item == at => Some(join.b.item),
                    _ => None,
                }
            });
            match under {
                Some(next) if self.is(next, "bath") => return false,
                Some(next) => at = next,
                None => {
                    let foot = self
                        .ends(at)
                        .into_iter()
                        .find(|end| self.assembly.port(*end).joint.fit == Fit::Foot);
                    let on_bench = |y: f64| {
                        y.abs() < 1.0
                            || self
                                .assembly
                                .lower_bench
                                .is_some_and(|low| (y - low).abs() < 1.0)
                    };
                    return foot.is_some_and(|end| on_bench(self.assembly.spot(end).0.y));
                }
            }
        }
        false
    }

    /// Weight hangs from clamps, not from joints.
    fn support(&mut self) {
        for item in self.items() {
            let clamps: Vec<_> = self
                .assembly
                .clamps
                .iter()
                .filter(|clamp| clamp.item == item)
                .collect();
            let firm = clamps.iter().any(|clamp| clamp.hold != Hold::Clip);
            let clip = clamps.iter().find(|clamp| clamp.hold == Hold::Clip);
            let volume = self.assembly.items[item].part.volume;
            if let Some(clip) = clip
                && !firm
                && !self.stands(item)
                && volume > CLIP_LIMIT
            {
                let span = clip.span.clone();
                let message = format!(
                    "a joint clip alone does not carry {}",
                    self.assembly.named(item)
                );
                self.span_of(&span, message, "put a lab jack under it or clamp its neck");
                continue;
            }
            let alias = self.assembly.items[item].alias.clone();
            if self.is(item, "clamp") && !firm && !self.stands(item) {
                let message = format!("{} hangs on its joints alone", self.assembly.named(item));
                self.flaw(item, message, format!("add `\"{alias}\"` to `clamps`"));
            } else if self.is(item, "weight") && !firm && clip.is_none() && !self.stands(item) {
                let in_bath = self.assembly.joins.iter().any(|join| {
                    (join.b.item == item && self.is(join.a.item, "bath"))
                        || (join.a.item == item && self.is(join.b.item, "bath"))
                });
                let message = if in_bath {
                    format!(
                        "{} is not clamped: a bath does not carry it",
                        self.assembly.named(item)
                    )
                } else {
                    format!("nothing carries {}", self.assembly.named(item))
                };
                let ring = self.assembly.items[item].part.mark("ring").is_some();
                let mend = if ring {
                    format!("add `\"{alias} by ring\"` to `clamps`")
                } else if in_bath || volume > CLIP_LIMIT {
                    format!("add `\"{alias}\"` to `clamps`, so that the neck is held")
                } else {
                    format!("add `\"{alias} by clip\"` to `clamps`, or put a lab jack under it")
                };
                self.flaw(item, message, mend);
            }
        }
    }

    /// Round flasks are not heated on a bare plate, and no vessel is overfilled.
    fn heating(&mut self) {
        for (vessel, source) in self.heated() {
            let direct = self.assembly.joins.iter().any(|join| {
                let pair = [join.a.item, join.b.item];
                pair.contains(&vessel) && pair.contains(&source)
            });
            if direct && self.is(source, "flat-heat") && self.is(vessel, "round") {
                let message = format!(
                    "{} is round and stands on the bare {}",
                    self.assembly.named(vessel),
                    self.assembly.items[source].part.label
                );
                self.flaw(
                    vessel,
                    message,
                    "put an oil bath between them, or use a heating mantle",
                );
            }
            let item = &self.assembly.items[vessel];
            let held: f64 = item.holds.iter().map(|layer| layer.0).sum();
            if item.part.volume > 0.0 && held > item.part.volume * FILL_LIMIT + 0.5 {
                let message = format!(
                    "{} is heated with {held} mL in it, more than two thirds full",
                    self.assembly.named(vessel)
                );
                self.flaw(vessel, message, "take a larger vessel or less liquid");
            }
        }
    }

    /// Nothing hangs lower than the bench.
    fn above_the_bench(&mut self) {
        for item in self.items() {
            let low = self.assembly.bounds(item).bottom;
            let bench = self
                .assembly
                .lower_bench
                .filter(|bench| low > bench / 2.0)
                .unwrap_or(0.0);
            if low > bench + 3.0 {
                let message = format!(
                    "{} would hang {:.0} mm below the bench",
                    self.assembly.named(item),
                    low - bench
                );
                self.flaw(
                    item,
                    message,
                    format!(
                        "begin its stand with a `lab jack`, or raise the one there by {:.0} mm",
                        low - bench + 30.0
                    ),
                );
            }
        }
    }

    /// What is made to stand on the bench, and carries something, stands there.
    fn floating(&mut self) {
        for item in self.items() {
            let ends = self.ends(item);
            let fit = |fit: Fit| {
                ends.iter()
                    .copied()
                    .find(|end| self.assembly.port(*end).joint.fit == fit)
            };
            let (Some(foot), Some(_)) = (fit(Fit::Foot), fit(Fit::Seat)) else {
                continue;
            };
            let above = -self.assembly.spot(foot).0.y;
            if !self.assembly.is_used(foot) && above > 3.0 {
                let message = format!(
                    "{} would float {above:.0} mm above the bench",
                    self.assembly.named(item)
                );
                self.flaw(item, message, "put a `lab jack` under it");
            }
        }
    }
}
