//! How openings join: fits, sizes, and which go together.
//!
//! Ground joints are sized by ISO 383: wide end and length in millimetres, taper 1:10. A cone goes
//! into a socket of its size, a rod into a gland that is made for its thickness, a hose over a nipple.

/// How an opening joins another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fit {
    /// Ground cone.
    Cone,
    /// Ground socket.
    Socket,
    /// Nipple for a hose.
    Nipple,
    /// A straight rod or tube that slides in a gland.
    Rod,
    /// A screw gland that grips rods.
    Gland,
    /// An underside that stands on something.
    Foot,
    /// Something to stand on or in.
    Seat,
    /// An open end that liquid drips from.
    Tip,
    /// An open mouth that liquid falls into.
    Mouth,
    /// A rubber bung or cone.
    Bung,
    /// A plain neck that takes a bung.
    Collar,
    /// Outer screw thread.
    Thread,
    /// Inner screw thread.
    Cap,
}

impl Fit {
    pub(crate) const WORDS: [(&str, Self); 13] = [
        ("cone", Self::Cone),
        ("socket", Self::Socket),
        ("nipple", Self::Nipple),
        ("rod", Self::Rod),
        ("gland", Self::Gland),
        ("foot", Self::Foot),
        ("seat", Self::Seat),
        ("tip", Self::Tip),
        ("mouth", Self::Mouth),
        ("bung", Self::Bung),
        ("collar", Self::Collar),
        ("thread", Self::Thread),
        ("cap", Self::Cap),
    ];

    pub(crate) fn word(self) -> &'static str {
        Self::WORDS
            .iter()
            .find(|(_, fit)| *fit == self)
            .map_or("", |(word, _)| word)
    }

    /// The fit that this one joins.
    pub(crate) fn partner(self) -> Option<Self> {
        const PAIRS: [(Fit, Fit); 6] = [
            (Fit::Cone, Fit::Socket),
            (Fit::Rod, Fit::Gland),
            (Fit::Foot, Fit::Seat),
            (Fit::Tip, Fit::Mouth),
            (Fit::Bung, Fit::Collar),
            (Fit::Thread, Fit::Cap),
        ];
        PAIRS
            .iter()
            .find_map(|(a, b)| (*a == self).then_some(*b).or((*b == self).then_some(*a)))
    }

    /// Whether gas or liquid can pass here.
    pub(crate) fn is_opening(self) -> bool {
        !matches!(self, Self::Foot | Self::Seat | Self::Rod | Self::Mouth)
    }
}

/// The fit and size of an opening.
#[derive(Debug, Clone, PartialEq)]
pub struct Joint {
    /// Cone, socket, nipple and so on.
    pub fit: Fit,
    /// As written on the glass: `24/29`, `8`, `6-8`, `GL14`; empty for a seat that takes anything.
    pub size: String,
    /// Wide end of a ground joint, outer diameter of a nipple or rod, largest rod of a gland; mm.
    pub diameter: f64,
    /// Length of a ground joint, smallest rod of a gland; mm.
    pub length: f64,
}

/// Why two openings do not join.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Misfit {
    Size,
    SameFit,
    Kind,
}

impl Joint {
    pub(crate) fn new(fit: Fit, size: &str) -> Result<Self, String> {
        let number = |word: &str| {
            word.trim_start_matches("GL")
                .parse::<f64>()
                .map_err(|_| format!("`{size}` is not a size"))
        };
        let (diameter, length) = match (fit, size.split_once('/'), size.split_once('-')) {
            (Fit::Cone | Fit::Socket, Some((wide, long)), _) => (number(wide)?, number(long)?),
            (Fit::Cone | Fit::Socket, None, _) => {
                return Err(format!(
                    "`{size}` is not a joint size; write the wide end and the length, for example 24/29"
                ));
            }
            (Fit::Gland, _, Some((thin, thick))) => (number(thick)?, number(thin)?),
            _ if size.is_empty() => (0.0, 0.0),
            _ => (number(size)?, 0.0),
        };
        if !(0.0..=10_000.0).contains(&diameter) || !(0.0..=500.0).contains(&length) {
            return Err(format!("`{size}` is no size of a laboratory joint"));
        }
        Ok(Self {
            fit,
            size: size.to_owned(),
            diameter,
            length,
        })
    }

    /// "socket 24/29", "nipple 8 mm".
    pub(crate) fn words(&self) -> String {
        let millimetres = if matches!(self.fit, Fit::Nipple | Fit::Rod | Fit::Tip | Fit::Gland) {
            " mm"
        } else {
            ""
        };
        if self.size.is_empty() {
            self.fit.word().to_owned()
        } else {
            format!("{} {}{millimetres}", self.fit.word(), self.size)
        }
    }

    /// Whether two openings join rigidly.
    pub(crate) fn mate(&self, other: &Self) -> Result<(), Misfit> {
        let (a, b) = (self, other);
        match (a.fit, b.fit) {
            // A thin tube may stand loosely in the neck of a receiver.
            (Fit::Tip, Fit::Socket | Fit::Collar) | (Fit::Socket | Fit::Collar, Fit::Tip) => {
                let (tip, neck) = if a.fit == Fit::Tip { (a, b) } else { (b, a) };
                if tip.diameter < neck.diameter {
                    Ok(())
                } else {
                    Err(Misfit::Size)
                }
            }
            (x, y) if x.partner() == Some(y) => {
                let fits = match (x, y) {
                    (Fit::Rod, Fit::Gland) => (b.length..=b.diameter).contains(&a.diameter),
                    (Fit::Gland, Fit::Rod) => (a.length..=a.diameter).contains(&b.diameter),
                    (Fit::Tip, Fit::Mouth) => a.diameter < b.diameter,
                    (Fit::Mouth, Fit::Tip) => b.diameter < a.diameter,
                    (Fit::Seat | Fit::Foot, _) => {
                        a.size.is_empty() || b.size.is_empty() || a.size == b.size
                    }
                    _ => a.size == b.size,
                };
                if fits { Ok(()) } else { Err(Misfit::Size) }
            }
            (x, y) if x == y => Err(Misfit::SameFit),
            _ => Err(Misfit::Kind),
        }
    }

    /// Whether a joint of these two lets no gas out.
    pub(crate) fn is_loose(&self, other: &Self) -> bool {
        self.fit == Fit::Tip || other.fit == Fit::Tip
    }
}
