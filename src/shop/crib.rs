//! Which of the crib's torque tools serves a fastener.

use super::{Part, Shop, Tool};
use crate::trade::{Choice, choose_tool};

/// The torque tool for a fastener.
#[derive(Clone, Copy, Debug)]
pub(crate) enum CribChoice<'s> {
    /// It covers every stage.
    Covers(&'s Tool),
    /// None does; this one comes nearest.
    Nearest(&'s Tool),
}

impl Shop {
    /// The torque tool for a fastener's stages; none where it has no torque or the crib no torque tool.
    #[must_use]
    pub(crate) fn torque_tool_for(&self, part: &Part) -> Option<CribChoice<'_>> {
        let tools: Vec<&Tool> = self
            .tools
            .values()
            .filter(|tool| tool.torque.is_some())
            .collect();
        let does: Vec<_> = tools
            .iter()
            .filter_map(|tool| tool.torque.clone())
            .collect();
        let choice = choose_tool(&does, &part.torques())?;
        Some(match choice {
            Choice::Covers(at) => CribChoice::Covers(tools.get(at)?),
            Choice::Nearest(at) => CribChoice::Nearest(tools.get(at)?),
        })
    }
}
