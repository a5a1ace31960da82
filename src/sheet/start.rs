//! The state of a machine when a job begins, in words.

use crate::rehearsal::{EnergyState, PartPlace, State};
use crate::shop::{FluidState, Machine, ValveState};
use crate::words::Words;

/// What a job's rehearsal starts from: parts that are off or loose, valves, controls, fluids, and energies that are not
/// live. The initial state of a job is that of its machine as found, or what another job left behind.
pub(super) fn state_at_start(words: &Words, machine: &Machine, start: &State<'_>) -> Vec<String> {
    let thing_state = |thing: &str, state: &str| {
        let values = [("thing", thing), ("state", state)];
        words.format("thing-state", &values)
    };
    let mut lines = Vec::new();
    for (key, place) in [
        ("off-list", PartPlace::Off),
        ("loose-list", PartPlace::Loose),
    ] {
        let parts = start.parts().filter(|(_, part)| part.place == place);
        let names: Vec<String> = parts
            .map(|(part, _)| words.counted(&part.name, part.count).into_owned())
            .collect();
        if !names.is_empty() {
            lines.push(words.format(key, &[("parts", &names.join(", "))]));
        }
    }
    for valve in machine.valves.values() {
        let key = match start.valve(valve.id).now {
            ValveState::Open => "is-open",
            ValveState::Closed => "is-closed",
        };
        lines.push(thing_state(&valve.name, words.get(key)));
    }
    for control in machine.controls.values() {
        let position = control.position_name(start.control(control.id).now);
        lines.push(thing_state(&control.name, position));
    }
    for fluid in machine.fluids.values() {
        let key = match start.fluid(fluid.id).now {
            FluidState::Full => "is-filled",
            FluidState::Empty => "is-drained",
        };
        lines.push(thing_state(&fluid.name, words.get(key)));
    }
    for (energy, state) in start.energies() {
        let key = match state.now {
            EnergyState::Isolated => "is-isolated-not-proved",
            EnergyState::Proved => "is-isolated-and-proved",
            EnergyState::Live => continue,
        };
        lines.push(thing_state(&energy.name, words.get(key)));
    }
    lines
}
