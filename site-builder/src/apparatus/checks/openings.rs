//! Openings: what comes over is caught, and the rest is joined, closed or open on purpose.

use super::Rules;
use crate::apparatus::assembly::{End, HoseEnd, OUTSIDE};
use crate::apparatus::part::{Fit, Part};

impl Rules<'_> {
    /// What comes over must be caught.
    pub(super) fn receivers(&mut self) {
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
    pub(super) fn round(&self, size: &str, volume: f64) -> String {
        let sockets = |part: &Part| {
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
    pub(super) fn openings(&mut self) {
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
    pub(super) fn bare(&self, item: usize) -> Option<End> {
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
}
