//! A `readings` block: what is read in a run.

use super::Fenced;
use crate::markdown::Writer;
use crate::worked::readings;

impl Writer<'_> {
    /// The log, as a table to fill in by hand until a script takes it over.
    pub(super) fn readings(&mut self, block: &Fenced<'_>) -> String {
        let read = readings::read(&block.body, &self.out.material.worked);
        let Some(readings) = self.sound(block, read) else {
            return String::new();
        };
        self.out.readings = true;
        let id = self.unique("readings");
        readings.html(&id)
    }
}
