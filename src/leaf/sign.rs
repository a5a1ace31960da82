//! Lines to sign.

use super::{Block, SignLine, Writer, section};
use crate::job::{Section, Step, Thing};

impl Writer<'_, '_> {
    /// A line for each section, which is a natural stop, one for each hold, and one for handing back.
    pub(super) fn sign_off(&self) -> Block {
        let mechanic = self
            .job
            .shop
            .roles
            .values()
            .next()
            .map_or_else(|| "Mechanic".to_owned(), |role| role.name.clone());
        let mut lines = Vec::new();
        for section in &self.job.sections {
            if let Some(steps) = steps_of(section) {
                lines.push(SignLine {
                    what: format!("{}: {steps}", section.title),
                    role: mechanic.clone(),
                });
            }
            for step in section.steps() {
                lines.extend(holds(step).map(|role| SignLine {
                    what: format!("Hold at step\u{a0}{}", step.number),
                    role: role.to_owned(),
                }));
            }
        }
        lines.push(SignLine {
            what: "Job done, all tools and people clear, machine handed back".to_owned(),
            role: mechanic,
        });
        section("Sign-off", vec![Block::SignOff { lines }])
    }
}

fn steps_of(section: &Section<'_>) -> Option<String> {
    let mut steps = section.steps().map(|step| step.number);
    let first = steps.next()?;
    Some(match steps.last() {
        Some(last) => format!("steps\u{a0}{first} to {last}"),
        None => format!("step\u{a0}{first}"),
    })
}

fn holds<'s>(step: &'s Step<'_>) -> impl Iterator<Item = &'s str> {
    step.acts.iter().filter_map(|act| match act.thing {
        Thing::Role(role) => Some(role.name.as_str()),
        _ => None,
    })
}
