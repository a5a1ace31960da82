//! The differences between the state of a machine and the one at the start of a job.

use super::state::{EnergyState, EngineState, PartPlace, ReadingState, State};
use crate::shop::{FluidState, ThingId, ValveState};

/// A thing whose state differs from the one at the start of a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Difference<'a> {
    pub(crate) thing: ThingId,
    pub(crate) key: &'a str,
    /// Its state in words, such as "off".
    pub(crate) how: &'a str,
}

impl<'a> State<'a> {
    /// All differences from the state at the start of the job: by kind of thing, then in order of keys.
    #[must_use]
    pub(crate) fn differences(&self) -> Vec<Difference<'a>> {
        let machine = self.machine();
        let mut differences = Vec::new();
        let parts = self.parts().filter_map(|(part, state)| {
            let how = match state.place {
                PartPlace::Off => "off",
                PartPlace::Loose if state.stage > 0 => "tightened to a stage",
                PartPlace::Loose => "loose",
                PartPlace::On => return None,
            };
            Some((ThingId::Part(part.id), part.key.as_str(), how))
        });
        push_sorted(&mut differences, parts);
        let valves = machine.valves.values().filter_map(|valve| {
            let now = self.valve(valve.id).now;
            let how = match now {
                ValveState::Open => "open",
                ValveState::Closed => "closed",
            };
            (valve.initial != now).then_some((ThingId::Valve(valve.id), valve.key.as_str(), how))
        });
        push_sorted(&mut differences, valves);
        let controls = machine.controls.values().filter_map(|control| {
            let now = self.control(control.id).now;
            let how = control.position_name(now);
            (control.initial != now).then_some((
                ThingId::Control(control.id),
                control.key.as_str(),
                how,
            ))
        });
        push_sorted(&mut differences, controls);
        let fluids = machine.fluids.values().filter_map(|fluid| {
            let how = match (self.fluid(fluid.id).now, fluid.initial) {
                (FluidState::Empty, FluidState::Full) => "drained",
                (FluidState::Full, FluidState::Empty) => "filled",
                _ => return None,
            };
            Some((ThingId::Fluid(fluid.id), fluid.key.as_str(), how))
        });
        push_sorted(&mut differences, fluids);
        let energies = self.energies().filter_map(|(energy, state)| {
            let how = match state.now {
                EnergyState::Live => return None,
                EnergyState::Isolated => "isolated, not proved",
                EnergyState::Proved => "isolated and proved",
            };
            Some((ThingId::Energy(energy.id), energy.key.as_str(), how))
        });
        push_sorted(&mut differences, energies);
        let conditions = machine.conditions.values().filter_map(|condition| {
            let (id, key) = (condition.id, condition.key.as_str());
            self.condition(id)
                .map(|_| (ThingId::Condition(id), key, "holds"))
        });
        push_sorted(&mut differences, conditions);
        let readings = self.readings().map(|(reading, state)| {
            let how = match state.now {
                ReadingState::Measured => "measured",
                ReadingState::Stale => "adjusted, not measured",
            };
            (ThingId::Reading(reading.id), reading.key.as_str(), how)
        });
        push_sorted(&mut differences, readings);
        if self.engine().now == EngineState::Running {
            push_sorted(&mut differences, [(ThingId::Engine, "engine", "running")]);
        }
        differences
    }
}

/// Appends things to a list of differences, in order of their keys.
fn push_sorted<'a>(
    differences: &mut Vec<Difference<'a>>,
    things: impl IntoIterator<Item = (ThingId, &'a str, &'a str)>,
) {
    let first = differences.len();
    let things = things.into_iter();
    differences.extend(things.map(|(thing, key, how)| Difference { thing, key, how }));
    differences[first..].sort_by_key(|difference| difference.key);
}
