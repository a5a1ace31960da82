//! Chooses a torque tool of the crib for a fastener.

use super::{Part, Shop, Tool};
use crate::finding::Located;
use crate::quantity::{Quantity, Rational, Spec, Unit};
use crate::trade::{Choice, Extension, TorqueTool, choose_tool};

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
        self.torque_tool_with(None, part)
    }

    /// The torque tool for a fastener's stages with an extension on it. `None` as for
    /// [`torque_tool_for`](Self::torque_tool_for), or if no tool's settings with the extension can be
    /// calculated.
    #[must_use]
    pub(crate) fn torque_tool_with(
        &self,
        extension: Option<&Tool>,
        part: &Part,
    ) -> Option<CribChoice<'_>> {
        let (tools, torque_tools): (Vec<&Tool>, Vec<TorqueTool>) = self
            .tools
            .values()
            .filter_map(|tool| Some((tool, tool.torque_with(extension)?)))
            .unzip();
        let choice = choose_tool(&torque_tools, &part.torques())?;
        Some(match choice {
            Choice::Covers(index) => CribChoice::Covers(tools.get(index)?),
            Choice::Nearest(index) => CribChoice::Nearest(tools.get(index)?),
        })
    }
}

impl Tool {
    /// The torque tool with an extension on it, if one is given. `None` if it is not a torque tool, or
    /// if the records of the two lack a length that the setting depends on.
    #[must_use]
    pub(crate) fn torque_with(&self, extension: Option<&Tool>) -> Option<TorqueTool> {
        let torque = self.torque.as_ref()?;
        let Some(extension) = extension else {
            return Some(torque.clone());
        };
        let single = |spec: &Option<Located<Spec>>| spec.as_ref()?.value.limits().nominal();
        let angle = match &extension.turned_out {
            None => Quantity::new(Rational::from_integer(0.into()), Unit::DEGREE, 0),
            given => single(given)?,
        };
        let extension =
            Extension::new(&single(&self.length)?, &single(&extension.extends)?, &angle);
        Some(torque.extended(extension.ok()?))
    }
}
