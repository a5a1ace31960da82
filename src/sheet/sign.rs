//! The sign-off section at the end of a sheet.

use super::writer::Writer;
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

    /// A line for the finished job. Groups and holds are signed where they are.
    pub(crate) fn sign_off(&self) -> Block {
        let lines = vec![SignLine {
            what: self.context.words().get("job-done").to_owned(),
            role: self.mechanic(),
        }];
        self.context
            .section(Topic::SignOff, vec![Block::SignOff { lines }])
    }
}
