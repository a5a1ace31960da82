//! Lines to sign at the end of a sheet; each group of steps is signed where it ends.

use super::writer::Writer;
use crate::job::{JobStep, Thing};
use crate::page::{Block, SignLine, Topic};

impl Writer<'_, '_> {
    /// Who signs each group: the shop's first role.
    pub(crate) fn mechanic(&self) -> String {
        let mut roles = self.job.shop.roles.values();
        roles.next().map_or_else(
            || self.desk.words().get("mechanic").to_owned(),
            |role| role.name.clone(),
        )
    }

    /// A line for each hold, and one for handing back.
    pub(crate) fn sign_off(&self) -> Block {
        let words = self.desk.words();
        let mut lines = Vec::new();
        for step in self.job.steps() {
            let name = self.step_name(step.number);
            lines.extend(holds(step).map(|role| SignLine {
                what: words.say("hold-at", &[("step", &name)]),
                role: role.to_owned(),
            }));
        }
        lines.push(SignLine {
            what: words.get("job-done").to_owned(),
            role: self.mechanic(),
        });
        self.desk
            .section(Topic::SignOff, vec![Block::SignOff { lines }])
    }
}

fn holds<'s>(step: &'s JobStep<'_>) -> impl Iterator<Item = &'s str> {
    step.actions.iter().filter_map(|action| match action.thing {
        Thing::Role(role) => Some(role.name.as_str()),
        _ => None,
    })
}
