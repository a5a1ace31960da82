//! The sign-off section at the end of a sheet.

use super::writer::Writer;
use crate::job::{JobStep, Thing};
use crate::page::{Block, SignLine, Topic};

impl Writer<'_, '_> {
    /// The role that signs each group of steps: the shop's first role.
    pub(crate) fn mechanic(&self) -> String {
        let mut roles = self.job.shop.roles.values();
        roles.next().map_or_else(
            || self.context.words().get("mechanic").to_owned(),
            |role| role.name.clone(),
        )
    }

    /// A line for each hold and one for the finished job.
    pub(crate) fn sign_off(&self) -> Block {
        let words = self.context.words();
        let mut lines = Vec::new();
        for step in self.job.steps() {
            let name = self.step_name(step.number);
            lines.extend(hold_roles(step).map(|role| SignLine {
                what: words.format("hold-at", &[("step", &name)]),
                role: role.to_owned(),
            }));
        }
        lines.push(SignLine {
            what: words.get("job-done").to_owned(),
            role: self.mechanic(),
        });
        self.context
            .section(Topic::SignOff, vec![Block::SignOff { lines }])
    }
}

fn hold_roles<'s>(step: &'s JobStep<'_>) -> impl Iterator<Item = &'s str> {
    step.actions.iter().filter_map(|action| match action.thing {
        Thing::Role(role) => Some(role.name.as_str()),
        _ => None,
    })
}
