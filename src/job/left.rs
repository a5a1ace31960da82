//! Checks the names of what procedures leave undone.

use crate::finding::{Finding, Findings, nearest};
use crate::procedure::{Procedure, UNKNOWN_THING};
use crate::shop::{Machine, Shop};

/// Reports names under `[left-undone]` that none of the procedure's machines has.
pub(super) fn check(procedure: &Procedure, shop: &Shop, findings: &mut Findings) {
    if procedure.left_undone.is_empty() {
        return;
    }
    let machines = procedure.machines.iter();
    let machines: Vec<&Machine> = machines.map(|id| &shop.machines[id.value]).collect();
    for (name, _) in &procedure.left_undone {
        let is_known = machines.is_empty()
            || machines
                .iter()
                .any(|machine| !machine.is_complete || has(machine, &name.value));
        if !is_known {
            let message = format!(
                "`{}` is left undone, but none of the procedure's machines has it",
                name.value
            );
            let names = machines.iter().flat_map(|machine| {
                let parts = machine.parts.keys().chain(machine.energies.keys());
                parts
                    .chain(machine.valves.keys())
                    .chain(machine.fluids.keys())
                    .chain(machine.controls.keys())
            });
            let finding = Finding::new(&UNKNOWN_THING, message).primary(name.span, "");
            findings.push(if let Some(kind) = other_kind(&machines, &name.value) {
                finding.help(format!(
                    "`{}` is a {kind}; only parts, valves, controls, fluids and energies can be left undone",
                    name.value
                ))
            } else {
                let near = nearest(&name.value, names);
                let help = "name a part, valve, control, fluid or energy of the procedure's machines";
                finding.suggest(near, help).corrected(&name.value, near)
            });
        }
    }
}

/// The kind of the thing with this name, if no job can leave things of the kind undone.
fn other_kind(machines: &[&Machine], name: &str) -> Option<&'static str> {
    let any = |has: fn(&Machine, &str) -> bool| machines.iter().any(|machine| has(machine, name));
    if any(|machine, name| machine.conditions.find(name).is_some()) {
        Some("condition")
    } else if any(|machine, name| machine.readings.find(name).is_some()) {
        Some("reading")
    } else {
        None
    }
}

fn has(machine: &Machine, name: &str) -> bool {
    machine.parts.find(name).is_some()
        || machine.energies.find(name).is_some()
        || machine.valves.find(name).is_some()
        || machine.controls.find(name).is_some()
        || machine.fluids.find(name).is_some()
}
