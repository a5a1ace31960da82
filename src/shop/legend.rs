//! What a figure shows.

use super::{Machine, MachineId, Shop, ThingId};
use crate::finding::{FileId, Located};

/// The legend of a figure: the parts that have numbers in it.
///
/// Its callouts are ids of things, which are resolved on each machine when they are used: a machine can be read again
/// without its figures.
#[derive(Clone, Debug)]
pub(crate) struct Legend {
    /// Its key: the stem of its file's name, and of the drawing's.
    pub(crate) key: String,
    pub(crate) file: FileId,
    pub(crate) title: String,
    pub(crate) machines: Vec<Located<MachineId>>,
    /// The ids of parts that the figure shows taken apart.
    pub(crate) assembly: Vec<Located<String>>,
    /// The path of the drawing or photograph in the tree. `None` if there is none, which is reported.
    pub(crate) picture: Option<String>,
    /// In the order of their numbers.
    pub(crate) callouts: Vec<Callout>,
}

/// The number of a thing in a figure.
#[derive(Clone, Debug)]
pub(crate) struct Callout {
    /// The id of a part, a valve or a control.
    pub(crate) key: Located<String>,
    /// Required, so `None` only if it could not be read.
    pub(crate) number: Option<Located<u32>>,
    /// The ids of the drawing's elements, or areas of a photograph.
    pub(crate) places: Vec<Located<String>>,
    /// The machines that have it. Empty: all of the figure's.
    pub(crate) machines: Vec<Located<MachineId>>,
}

impl Legend {
    /// Whether a machine looks like the figure.
    #[must_use]
    pub(crate) fn is_for(&self, machine: MachineId) -> bool {
        self.machines.iter().any(|id| id.value == machine)
    }

    /// The callouts that are for a machine, whether or not it has what they name.
    pub(crate) fn callouts_for(&self, machine: MachineId) -> impl Iterator<Item = &Callout> {
        let callouts = self.callouts.iter();
        callouts.filter(move |callout| callout.is_for(machine))
    }

    /// The callouts of things that a machine has.
    pub(crate) fn callouts_on<'l>(
        &'l self,
        machine: &'l Machine,
    ) -> impl Iterator<Item = (&'l Callout, ThingId)> {
        let callouts = self.callouts_for(machine.index);
        callouts.filter_map(|callout| Some((callout, machine.drawn(&callout.key.value)?)))
    }
}

impl Shop {
    /// The first figure in which a thing of a machine has a number, and the number.
    pub(crate) fn first_callout(&self, machine: MachineId, key: &str) -> Option<(&Legend, u32)> {
        let legends = self.legends.values();
        let mut shown = legends.filter(|legend| legend.is_for(machine) && legend.picture.is_some());
        shown.find_map(|legend| {
            let mut callouts = legend.callouts_for(machine);
            let callout = callouts.find(|callout| callout.key.value == key)?;
            Some((legend, callout.number.as_ref()?.value))
        })
    }
}

impl Callout {
    fn is_for(&self, machine: MachineId) -> bool {
        self.machines.is_empty() || self.machines.iter().any(|id| id.value == machine)
    }
}

impl Machine {
    /// The part, valve or control with an id: what can have a number in a figure.
    #[must_use]
    pub(crate) fn drawn(&self, key: &str) -> Option<ThingId> {
        let part = || self.parts.find(key).map(ThingId::Part);
        let valve = || self.valves.find(key).map(ThingId::Valve);
        let control = || self.controls.find(key).map(ThingId::Control);
        part().or_else(valve).or_else(control)
    }

    /// The name of a thing that can have a number in a figure.
    #[must_use]
    pub(crate) fn drawn_name(&self, thing: ThingId) -> Option<&str> {
        match thing {
            ThingId::Part(id) => Some(&self.parts[id].name),
            ThingId::Valve(id) => Some(&self.valves[id].name),
            ThingId::Control(id) => Some(&self.controls[id].name),
            _ => None,
        }
    }
}
