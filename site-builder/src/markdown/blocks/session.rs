//! Blocks that plan a session: `plan` and `kit`.

use super::Fenced;
use crate::markdown::Writer;
use crate::worked::class_kit;
use crate::worked::plan;

impl Writer<'_> {
    /// The time plan, drawn and as a table.
    pub(super) fn plan(&mut self, block: &Fenced<'_>) -> String {
        let read = plan::read(&block.body, self.shelf.library, &self.out.material.worked);
        let Some(plan) = self.sound(block, read) else {
            return String::new();
        };
        let id = self.count("plan");
        let html = plan.html(&id);
        self.out.material.plan.get_or_insert(plan);
        html
    }

    /// The kit of the drawings above, added up.
    pub(super) fn kit(&mut self, block: &Fenced<'_>) -> String {
        let material = &self.out.material;
        let drawings = &material.drawings;
        let kept = &self.shelf.assemblies;
        let read = class_kit::read(&block.body, drawings, kept, &material.worked);
        let Some(kit) = self.sound(block, read) else {
            return String::new();
        };
        let html = kit.html();
        self.out.material.kit.get_or_insert(kit);
        html
    }
}
