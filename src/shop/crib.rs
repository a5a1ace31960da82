//! Chooses a torque tool of the crib for a fastener.

use super::{Part, Shop, Tool};
use crate::trade::{Choice, choose_tool};

/// The torque tool for a fastener.
#[derive(Clone, Copy, Debug)]
pub(crate) enum CribChoice<'s> {
    /// Its range covers every stage.
    Covers(&'s Tool),
    /// No tool covers every stage. This tool comes nearest.
    Nearest(&'s Tool),
}

impl Shop {
    /// The torque tool for a fastener's stages. `None` if the fastener has no torque or the crib has no
    /// torque tool.
    #[must_use]
    pub(crate) fn torque_tool_for(&self, part: &Part) -> Option<CribChoice<'_>> {
        let tools: Vec<&Tool> = self
            .tools
            .values()
            .filter(|tool| tool.torque.is_some())
            .collect();
        let torque_tools: Vec<_> = tools
            .iter()
            .filter_map(|tool| tool.torque.clone())
            .collect();
        let choice = choose_tool(&torque_tools, &part.torques())?;
        Some(match choice {
            Choice::Covers(index) => CribChoice::Covers(tools.get(index)?),
            Choice::Nearest(index) => CribChoice::Nearest(tools.get(index)?),
        })
    }
}
