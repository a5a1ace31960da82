//! Chooses a torque tool of the crib for a fastener.

use super::{CribTool, Part, Shop, Tool, ToolId};
use crate::finding::Located;
use crate::quantity::{Quantity, Rational, Spec, Unit};
use crate::trade::{Choice, Extension, TorqueTool, choose_tool};
use std::cmp::Ordering;

/// The torque tool for a fastener.
#[derive(Clone, Copy, Debug)]
pub(crate) enum CribChoice<'s> {
    /// Its range covers every stage.
    Covers(&'s Tool),
    /// No tool covers every stage. This tool comes nearest.
    Nearest(&'s Tool),
}

impl Shop {
    /// The first tool of the crib whose size is that of a fastener's hexagon. A torque tool and an extension are none,
    /// because they are named for what else they do.
    #[must_use]
    pub(crate) fn wrench_for(&self, part: &Part) -> Option<&Tool> {
        let hex = part.hex_size()?;
        self.tools.values().find(|tool| {
            let size = tool.size.as_ref();
            let size = size.and_then(|size| size.value.limits().nominal());
            let is_plain = tool.torque.is_none() && tool.meter.is_none() && tool.extends.is_none();
            is_plain && size.is_some_and(|size| size.compare(&hex).is_some_and(Ordering::is_eq))
        })
    }

    /// The torque tool for a fastener's stages. `None` if the fastener has no torque or the crib has no
    /// torque tool.
    #[must_use]
    pub(crate) fn torque_tool_for(&self, part: &Part) -> Option<CribChoice<'_>> {
        part.torque_tool.map(|tool| self.chosen(tool))
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
        if extension.is_none() {
            return self.torque_tool_for(part);
        }
        let tool = self.choose_torque_tool(extension, part);
        tool.map(|tool| self.chosen(tool))
    }

    /// Chooses the torque tool for a fastener.
    pub(super) fn choose_torque_tool(
        &self,
        extension: Option<&Tool>,
        part: &Part,
    ) -> Option<CribTool> {
        let torques = part.torques();
        if torques.is_empty() {
            return None;
        }
        let (tools, torque_tools): (Vec<ToolId>, Vec<TorqueTool>) = self
            .tools
            .values()
            .filter_map(|tool| Some((tool.id, tool.torque_with(extension)?)))
            .unzip();
        Some(match choose_tool(&torque_tools, &torques)? {
            Choice::Covers(index) => CribTool::Covers(*tools.get(index)?),
            Choice::Nearest(index) => CribTool::Nearest(*tools.get(index)?),
        })
    }

    fn chosen(&self, tool: CribTool) -> CribChoice<'_> {
        match tool {
            CribTool::Covers(tool) => CribChoice::Covers(&self.tools[tool]),
            CribTool::Nearest(tool) => CribChoice::Nearest(&self.tools[tool]),
        }
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
