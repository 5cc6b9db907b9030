//! Time spans; base unit min.

use super::{quantity, unit};

quantity! {
    /// A span of time, kept in minutes.
    Duration, "time", "30 min",
    [
        unit("min", &["minutes", "minute", "m"], 1.0),
        unit("s", &["sec", "seconds", "second"], 1.0 / 60.0),
        unit("h", &["hours", "hour", "hr"], 60.0),
        unit("d", &["days", "day"], 1440.0),
    ]
}

impl Duration {
    /// In minutes.
    pub fn in_minutes(self) -> f64 {
        self.0
    }
}
