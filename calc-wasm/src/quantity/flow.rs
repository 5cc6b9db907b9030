//! Volume flow and the linear flow of a liquid level; base units mL/min and cm/min.

use super::{quantity, unit};

quantity! {
    /// A volume flow, kept in mL/min.
    FlowRate, "flow rate", "5 mL/min",
    [
        unit("mL/min", &["ml/min"], 1.0),
        unit("mL/h", &["ml/h"], 1.0 / 60.0),
        unit("mL/s", &["ml/s"], 60.0),
        unit("L/min", &["l/min"], 1000.0),
        unit("L/h", &["l/h"], 1000.0 / 60.0),
        unit("drops/min", &["drop/min"], 0.05),
        unit("drops/s", &["drop/s"], 3.0),
    ]
}

quantity! {
    /// How fast a liquid level sinks, kept in cm/min.
    LinearFlow, "linear flow", "5 cm/min",
    [
        unit("cm/min", &[], 1.0),
        unit("mm/min", &[], 0.1),
        unit("mm/s", &[], 6.0),
        unit("cm/s", &[], 60.0),
        unit("in/min", &[], 2.54),
    ]
}
