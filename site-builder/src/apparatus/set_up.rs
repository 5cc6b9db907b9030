//! The `[set-up]` of a block: which opening joins which, hoses, water, clamps.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::assembly::{Clamp, End, Hold, Hose, HoseEnd, Join, OUTSIDE, Pass};
use super::block::{Reader, Word, sorted};
use super::part::{Fit, Joint, Misfit};
use crate::finding::choice;

/// A part as an author names it, with its opening if that is named too.
type Named = (usize, Option<usize>);

impl Reader<'_> {
    pub(super) fn set_up(&mut self, table: &DeTable<'_>) {
        const KEYS: [&str; 7] = ["stand", "joins", "hoses", "water", "clamps", "open", "left"];
        for (key, _) in sorted(table) {
            if !KEYS.contains(&key.get_ref().as_ref()) {
                self.flaw(
                    &key.span(),
                    format!("a set-up has no `{}`", key.get_ref()),
                    choice(key.get_ref(), &KEYS),
                );
            }
        }
        let get = |name: &str| {
            table
                .iter()
                .find(|(key, _)| key.get_ref() == name)
                .map(|(_, value)| value)
        };
        // Openings named in full are taken first, so that an implied one never takes them away.
        if let Some(value) = get("open") {
            for word in self.words(value) {
                if let Some(end) = self.end(&word) {
                    self.assembly.open.push(end);
                }
            }
        }
        if let Some(value) = get("joins") {
            for word in self.words(value) {
                self.chain(&word, Self::join);
            }
        }
        if let Some(value) = get("stand") {
            self.stand(value);
        }
        if let Some(value) = get("hoses") {
            for word in self.words(value) {
                self.chain(&word, Self::hose);
            }
        }
        if let Some(value) = get("water") {
            for word in self.words(value) {
                self.water(&word);
            }
        }
        if let Some(value) = get("clamps") {
            for word in self.words(value) {
                self.clamp(&word);
            }
        }
        if let Some(value) = get("left") {
            for word in self.words(value) {
                if let Some((item, _)) = self.place(&word) {
                    self.assembly.left.push(item);
                }
            }
        }
    }

    fn stand(&mut self, value: &Spanned<DeValue<'_>>) {
        let DeValue::Array(list) = value.get_ref() else {
            self.flaw(
                &value.span(),
                "`stand` is not a list",
                "write `stand = [\"bath\", \"flask\", …]`, from the bench upwards",
            );
            return;
        };
        if list
            .iter()
            .any(|entry| matches!(entry.get_ref(), DeValue::Array(_)))
        {
            for entry in list.iter() {
                self.one_stand(entry);
            }
        } else {
            self.one_stand(value);
        }
    }

    fn one_stand(&mut self, value: &Spanned<DeValue<'_>>) {
        let words = self.words(value);
        let places: Vec<Option<Named>> = words.iter().map(|word| self.place(word)).collect();
        self.assembly
            .stands
            .push(places.iter().flatten().map(|place| place.0).collect());
        for (pair, places) in words.windows(2).zip(places.windows(2)) {
            if let (Some(a), Some(b)) = (places[0], places[1])
                && !self.link(a, b, &pair[1].span, true)
            {
                break;
            }
        }
    }

    /// `a to b.port to c`: each link handed to `link`, up to the first that is wrong, since what
    /// follows it would be blamed for the wrong reason.
    fn chain(&mut self, word: &Word, link: fn(&mut Self, Named, Named, &Range<usize>) -> bool) {
        let names: Vec<String> = word
            .text
            .split(" to ")
            .map(|name| name.trim().to_owned())
            .collect();
        if names.len() < 2 {
            self.flaw(
                &word.span,
                format!("`{}` joins nothing", word.text),
                "write two or more parts with ` to ` between them",
            );
            return;
        }
        let places: Vec<_> = names
            .iter()
            .map(|name| {
                let span = self.within(word, name);
                match OUTSIDE.iter().position(|(outside, _)| outside == name) {
                    Some(outside) => Some((usize::MAX - outside, None)),
                    None => self.place(&Word {
                        text: name.clone(),
                        span,
                    }),
                }
            })
            .collect();
        for (pair, name) in places.windows(2).zip(names.windows(2)) {
            if let (Some(a), Some(b)) = (pair[0], pair[1]) {
                let start = self.within(word, &name[0]).start;
                let span = if start == word.span.start {
                    word.span.clone()
                } else {
                    start..self.within(word, &name[1]).end.max(start)
                };
                if !link(self, a, b, &span) {
                    return;
                }
            } else {
                return;
            }
        }
    }

    /// `alias` or `alias.port`.
    fn place(&mut self, word: &Word) -> Option<Named> {
        let (alias, port) = match word.text.split_once('.') {
            Some((alias, port)) => (alias.trim(), Some(port.trim())),
            None => (word.text.trim(), None),
        };
        let Some(item) = self
            .assembly
            .items
            .iter()
            .position(|item| item.alias == alias)
        else {
            let items = self.assembly.items.iter();
            let known: Vec<&str> = items.map(|item| item.alias.as_str()).collect();
            let mend = choice(alias, &known);
            let span = self.within(word, alias);
            self.flaw(&span, format!("`{alias}` is not under `[parts]`"), mend);
            return None;
        };
        let Some(name) = port else {
            return Some((item, None));
        };
        let found = self.assembly.items[item].part.port(name);
        if found.is_none() {
            let part = &self.assembly.items[item].part;
            let known = part
                .ports
                .iter()
                .map(|port| format!("`{}` ({})", port.name, port.joint.words()))
                .collect::<Vec<_>>()
                .join(", ");
            let message = format!("{} has no opening `{name}`", self.assembly.named(item));
            let span = self.within(word, name);
            self.flaw(&span, message, format!("it has {known}"));
        }
        found.map(|port| (item, Some(port)))
    }

    fn end(&mut self, word: &Word) -> Option<End> {
        let (item, port) = self.place(word)?;
        let port = port.or_else(|| {
            let free = |&port: &usize| {
                !self.assembly.is_used(End { item, port })
                    && self.assembly.items[item].part.ports[port]
                        .joint
                        .fit
                        .is_opening()
            };
            (0..self.assembly.items[item].part.ports.len()).find(free)
        });
        match port {
            Some(port) => Some(End { item, port }),
            None => {
                let message = format!("{} has no free opening", self.assembly.named(item));
                self.flaw(&word.span, message, "leave it out, or name another part");
                None
            }
        }
    }

    /// The openings by which two parts may join: the named one, or all that are free.
    fn choices(&self, place: Named) -> Vec<End> {
        let (item, port) = place;
        match port {
            Some(port) => vec![End { item, port }],
            None => {
                // An opening listed as open is taken last, and then refused by the checks.
                let mut free: Vec<End> = (0..self.assembly.items[item].part.ports.len())
                    .map(|port| End { item, port })
                    .filter(|end| !self.assembly.is_used(*end))
                    .collect();
                free.sort_by_key(|end| self.assembly.open.contains(end));
                free
            }
        }
    }

    fn join(&mut self, a: Named, b: Named, span: &Range<usize>) -> bool {
        self.link(a, b, span, false)
    }

    /// Join two parts by the first openings that fit; on a stand, those that look up come first.
    fn link(&mut self, a: Named, b: Named, span: &Range<usize>, upwards: bool) -> bool {
        if a.0 >= self.assembly.items.len() || b.0 >= self.assembly.items.len() {
            self.flaw(
                span,
                "only a hose leads to what is outside the drawing",
                "move this line to `hoses`",
            );
            return false;
        }
        let (mut first, mut second) = (self.choices(a), self.choices(b));
        let looks_down = |end: &End| (80.0..=280.0).contains(&self.assembly.port(*end).towards);
        if upwards {
            first.sort_by_key(looks_down);
            second.sort_by_key(|end| !looks_down(end));
        }
        let pairs = || {
            first
                .iter()
                .flat_map(|a| second.iter().map(move |b| (*a, *b)))
        };
        let fits = pairs().find(|(a, b)| {
            let (a, b) = (self.assembly.port(*a), self.assembly.port(*b));
            a.joint.mate(&b.joint).is_ok()
        });
        let Some((a, b)) = fits else {
            self.misfit(a.0, b.0, pairs().collect(), span);
            return false;
        };
        for end in [a, b] {
            if self.assembly.is_used(end) && self.assembly.port(end).joint.fit != Fit::Seat {
                let message = format!("{} is joined twice", self.assembly.end_named(end));
                self.flaw(span, message, "give each opening one partner");
                return false;
            }
        }
        self.assembly.joins.push(Join {
            a,
            b,
            span: span.clone(),
        });
        true
    }

    /// Two parts that do not join: say which openings were meant, and what would join them.
    fn misfit(&mut self, first: usize, second: usize, pairs: Vec<(End, End)>, span: &Range<usize>) {
        let assembly = &self.assembly;
        let rank = |pair: &(End, End)| {
            let (a, b) = (&assembly.port(pair.0).joint, &assembly.port(pair.1).joint);
            match a.mate(b) {
                Err(Misfit::Size) => 0,
                Err(Misfit::SameFit) if a.fit != Fit::Seat && a.fit != Fit::Foot => 1,
                _ if a.fit.is_opening() && b.fit.is_opening() => 2,
                _ => 3,
            }
        };
        let Some((a, b)) = pairs.into_iter().min_by_key(rank) else {
            let message = format!(
                "{} and {} have no free openings left to join",
                assembly.named(first),
                assembly.named(second)
            );
            self.flaw(
                span,
                message,
                "take a part with one opening more, or name the openings",
            );
            return;
        };
        let (joint, other) = (
            assembly.port(a).joint.clone(),
            assembly.port(b).joint.clone(),
        );
        let (name_a, name_b) = (assembly.end_named(a), assembly.end_named(b));
        let (why, mend) = match joint.mate(&other) {
            Err(Misfit::Size) if joint.fit == Fit::Rod || joint.fit == Fit::Gland => (
                format!("{name_a} does not hold {name_b}"),
                "take an adapter whose gland is made for that thickness".to_owned(),
            ),
            Err(Misfit::Size) if matches!(joint.fit, Fit::Foot | Fit::Seat) => (
                format!(
                    "{} does not sit in {}: {} against {}",
                    assembly.named(b.item),
                    assembly.named(a.item),
                    other.size,
                    joint.size
                ),
                "take both for the same volume, in mL".to_owned(),
            ),
            Err(Misfit::Size) => (
                format!("{name_a} and {name_b} are of different size"),
                self.adapter_words(&joint, &other),
            ),
            Err(Misfit::SameFit) => (
                format!("{name_a} and {name_b} are both {}s", joint.fit.word()),
                match (joint.fit, self.catalogue.adapter(&joint, &other)) {
                    (Fit::Nipple, _) => "join nipples by a hose, under `hoses`".to_owned(),
                    (_, Some(part)) => {
                        format!("turn one part round, or put in between `{}`", part.name)
                    }
                    (_, None) => {
                        "turn one part round: a cone goes into a socket of its size".to_owned()
                    }
                },
            ),
            _ => (
                format!("{name_a} and {name_b} are joints of different kind"),
                self.adapter_words(&joint, &other),
            ),
        };
        self.flaw(span, why, mend);
    }

    fn adapter_words(&self, a: &Joint, b: &Joint) -> String {
        match self.catalogue.adapter(a, b) {
            Some(part) => format!("put in between `{}`", part.name),
            None => "take parts that fit; the catalogue has no adapter for these two".to_owned(),
        }
    }

    fn hose(&mut self, a: Named, b: Named, span: &Range<usize>) -> bool {
        let Some(from) = self.hose_end(a, span) else {
            return false;
        };
        let Some(to) = self.hose_end(b, span) else {
            return false;
        };
        if let (HoseEnd::At(a), HoseEnd::At(b)) = (&from, &to) {
            let (bore, other) = (
                self.assembly.port(*a).joint.clone(),
                self.assembly.port(*b).joint.clone(),
            );
            if bore.size != other.size {
                let message = format!(
                    "no hose fits both {} and {}",
                    self.assembly.end_named(*a),
                    self.assembly.end_named(*b)
                );
                let mend = self.adapter_words(&bore, &other);
                self.flaw(span, message, mend);
                return false;
            }
        }
        self.assembly.hoses.push(Hose { from, to });
        true
    }

    fn hose_end(&mut self, place: Named, span: &Range<usize>) -> Option<HoseEnd> {
        if let Some((name, _)) = OUTSIDE.get(usize::MAX - place.0) {
            return Some(HoseEnd::Outside(name));
        }
        let free = self.choices(place).into_iter().find(|end| {
            let port = self.assembly.port(*end);
            port.joint.fit == Fit::Nipple && !port.water && !self.assembly.is_used(*end)
        });
        if free.is_none() {
            let named = match place.1 {
                Some(port) => self.assembly.end_named(End {
                    item: place.0,
                    port,
                }),
                None => self.assembly.named(place.0),
            };
            let size = place.1.map(|port| {
                self.assembly
                    .port(End {
                        item: place.0,
                        port,
                    })
                    .joint
                    .clone()
            });
            let mend = match size.filter(|joint| matches!(joint.fit, Fit::Cone | Fit::Socket)) {
                Some(joint) => match Joint::new(Fit::Nipple, "8") {
                    Ok(nipple) => self.adapter_words(&joint, &nipple),
                    Err(why) => why,
                },
                None => "name a free nipple, or add an adapter that has one".to_owned(),
            };
            self.flaw(span, format!("{named} has no free nipple for a hose"), mend);
        }
        free.map(HoseEnd::At)
    }

    fn water(&mut self, word: &Word) {
        let names: Vec<String> = word
            .text
            .split(" to ")
            .map(|name| name.trim().to_owned())
            .collect();
        let mut named: Vec<(End, Range<usize>)> = Vec::new();
        let mut follows = false;
        for name in &names {
            let span = self.within(word, name);
            let Some((item, port)) = self.place(&Word {
                text: name.clone(),
                span: span.clone(),
            }) else {
                return;
            };
            let nipples: Vec<usize> = (0..self.assembly.items[item].part.ports.len())
                .filter(|port| self.assembly.items[item].part.ports[*port].water)
                .collect();
            if nipples.len() < 2 {
                let message = format!("{} has no jacket for water", self.assembly.named(item));
                self.flaw(&span, message, "leave it out of `water`");
                return;
            }
            match port {
                None => {
                    self.assembly.water.push(Pass {
                        into: End {
                            item,
                            port: nipples[0],
                        },
                        out: End {
                            item,
                            port: nipples[1],
                        },
                        named: false,
                        follows,
                        span,
                    });
                    follows = true;
                }
                Some(port) if !nipples.contains(&port) => {
                    let message = format!(
                        "{} is not for water",
                        self.assembly.end_named(End { item, port })
                    );
                    self.flaw(&span, message, "name the two nipples of the jacket");
                    return;
                }
                Some(port) => {
                    named.push((End { item, port }, span));
                    if let [(into, start), (out, end)] = &named[..] {
                        if into.item != out.item || into == out {
                            let message = format!(
                                "water goes into {} but not out of it again",
                                self.assembly.named(into.item)
                            );
                            let span = start.clone();
                            self.flaw(
                                &span,
                                message,
                                "name both nipples of a jacket one after the other",
                            );
                            return;
                        }
                        self.assembly.water.push(Pass {
                            into: *into,
                            out: *out,
                            named: true,
                            follows,
                            span: start.start..end.end.max(start.end),
                        });
                        follows = true;
                        named.clear();
                    }
                }
            }
        }
        if let Some((end, span)) = named.pop() {
            let message = format!(
                "water goes into {} but not out of it again",
                self.assembly.named(end.item)
            );
            self.flaw(
                &span,
                message,
                "name both nipples of a jacket one after the other",
            );
        }
    }

    fn clamp(&mut self, word: &Word) {
        let mut words = word.text.split_whitespace();
        let alias = words.next().unwrap_or_default().to_owned();
        let (mut hold, mut right) = (Hold::Clamp, false);
        let rest: Vec<&str> = words.collect();
        for remark in &rest {
            match *remark {
                "by" | "left" => {}
                "right" => right = true,
                "ring" => hold = Hold::Ring,
                "clip" => hold = Hold::Clip,
                "clamp" => hold = Hold::Clamp,
                other => {
                    let span = self.within(word, other);
                    self.flaw(
                        &span,
                        format!("`{other}` does not say how a part is held"),
                        "write `flask`, `flask right`, `funnel by ring` or `receiver by clip`",
                    );
                }
            }
        }
        let Some((item, _)) = self.place(&Word {
            text: alias,
            span: word.span.clone(),
        }) else {
            return;
        };
        let part = &self.assembly.items[item].part;
        let missing = match hold {
            Hold::Clamp => part.mark("grip").is_none(),
            Hold::Ring => part.mark("ring").is_none(),
            Hold::Clip => !part
                .ports
                .iter()
                .any(|port| matches!(port.joint.fit, Fit::Cone | Fit::Socket)),
        };
        if missing {
            let message = format!(
                "{} has no place for a {}",
                self.assembly.named(item),
                match hold {
                    Hold::Clamp => "clamp",
                    Hold::Ring => "ring",
                    Hold::Clip => "joint clip",
                }
            );
            self.flaw(&word.span, message, "hold the part next to it");
            return;
        }
        self.assembly.clamps.push(Clamp {
            item,
            hold,
            right,
            span: word.span.clone(),
        });
    }
}
