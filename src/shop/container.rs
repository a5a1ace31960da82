//! The containers of what is fresh and of waste.

use super::{Fluid, Shop, SupplyKind, Tool, ToolId};
use crate::prose::Verb;

impl Shop {
    /// The container that a fluid is drained into or filled from, if the shop says so.
    #[must_use]
    pub(crate) fn container_for(&self, verb: Verb, fluid: &Fluid) -> Option<&Tool> {
        let supply = self.supply_of(fluid)?;
        let id = match verb {
            Verb::Drain => *self.waste.get(&supply.kind?)?,
            Verb::Fill => supply.container.as_ref()?.value,
            _ => return None,
        };
        Some(&self.tools[id])
    }

    /// The kind of waste that a container is for.
    #[must_use]
    pub(crate) fn waste_in(&self, container: ToolId) -> Option<SupplyKind> {
        let mut waste = self.waste.iter();
        waste.find_map(|(kind, id)| (*id == container).then_some(*kind))
    }
}
