//! See [`RULE`].

use super::check::On;
use super::context::{TextScene, legend_of};
use crate::finding::{Finding, Findings, nearest, rule};
use crate::shop::{Callout, Legend, Machine};

rule! {
    /// A figure has a number for something that one of its machines does not have.
    ///
    /// Parts, valves and controls can have numbers. A figure can serve several machines; what only some of them have is
    /// marked with `machines`.
    ///
    /// ## At the bench
    ///
    /// The mechanic looks for part 4 of the drawing on a machine that was built without it.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === figures/pump.svg
    /// <svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 30"><path id="cover" d="M5 5h30v20h-30z"/></svg>
    /// === figures/pump.toml
    /// title = "Hand pump"
    /// machines = ["hand-pump"]
    /// [callout.covver]
    /// number = 1
    /// place = "cover"
    /// ```
    ///
    /// ## Fix
    ///
    /// Write the id as the machine's file has it, or name the machines that have the part:
    /// `machines = ["tarn-sedge"]`.
    "callout-not-on-machine", Names, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Text(check)];

fn check(scene: &TextScene<'_>, findings: &mut Findings) {
    let Some(legend) = legend_of(scene) else {
        return;
    };
    for callout in &legend.callouts {
        let machines = legend.machines.iter();
        let machines = machines.map(|id| &scene.shop.machines[id.value]);
        let lacking = |machine: &&Machine| {
            machine.is_complete
                && legend
                    .callouts_for(machine.index)
                    .any(|other| other.key == callout.key)
                && machine.drawn(&callout.key.value).is_none()
        };
        if let Some(machine) = machines.clone().find(lacking) {
            let has_any = machines
                .clone()
                .any(|machine| machine.drawn(&callout.key.value).is_some());
            findings.push(finding(legend, callout, machine, has_any));
        }
    }
}

fn finding(legend: &Legend, callout: &Callout, machine: &Machine, has_any: bool) -> Finding {
    let key = &callout.key.value;
    let message = format!(
        "figure `{}` has a number for `{key}`, which `{}` does not have",
        legend.key, machine.id
    );
    let finding = Finding::new(&RULE, message).primary(callout.key.span, "");
    if has_any {
        return finding.help("name the machines that have it: `machines = […]`");
    }
    let known = machine
        .parts
        .keys()
        .chain(machine.valves.keys())
        .chain(machine.controls.keys());
    let near = nearest(key, known);
    finding
        .suggest(near, "write the id of a part, a valve or a control")
        .corrected(key, near)
}
