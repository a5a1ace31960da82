//! See [`RULE`].

use super::check::On;
use super::context::TextScene;
use crate::finding::{Finding, Findings, rule};
use crate::procedure::Step;
use crate::prose::Verb;
use crate::quantity::{Kind, Limits};
use crate::shop::{Machine, Sourced};

rule! {
    /// A value is typed into a procedure's text although it is in the machine's file.
    ///
    /// ## At the bench
    ///
    /// The value is corrected on the machine, and the text still gives the old one.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/nuts.md
    /// +++
    /// title = "Cover nuts"
    /// machines = ["hand-pump"]
    /// +++
    /// They work loose.
    ///
    /// ## Check
    ///
    /// 1. [Tighten both nuts](tighten:cover-nut) to 9 N·m.
    /// ```
    ///
    /// ## Fix
    ///
    /// Remove it from the text: the action prints it from the machine, in both units.
    "duplicated-value", Quantities, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Text(check)];

fn check(scene: &TextScene<'_>, findings: &mut Findings) {
    let Some(procedure) = scene.procedure else {
        return;
    };
    let machines: Vec<&Machine> = procedure
        .machines
        .iter()
        .map(|id| &scene.shop.machines[id.value])
        .collect();
    for found in &scene.found {
        let span = scene.file.span(found.range.clone());
        // Minutes and intervals in the front matter are fields, not text.
        if span.start() < procedure.body.start() {
            continue;
        }
        let step = procedure.steps().find(|step| step.span.contains(span));
        let has = machines.iter().find_map(|machine| {
            let own = step.and_then(|step| in_step(step, machine, &found.limits));
            own.or_else(|| anywhere(machine, &found.limits))
        });
        if let Some((link, value)) = has {
            let message = format!(
                "`{}` is typed in the text but is already in the machine's file",
                scene.tree.text(span)
            );
            findings.push(
                Finding::new(&RULE, message)
                    .primary(span, "")
                    .secondary(value.spec.span, "already here")
                    .help(format!("remove it: `[]({link})` prints it")),
            );
        }
    }
}

/// A value of the same kind that the step's own actions print, even if the two no longer agree.
fn in_step<'m>(step: &Step, machine: &'m Machine, typed: &Limits) -> Option<(String, &'m Sourced)> {
    step.actions().find_map(|action| {
        let id = action.thing.value.as_str();
        let value = match action.verb {
            Verb::Tighten => machine.parts.get(id)?.stages.last(),
            Verb::Inspect => machine.parts.get(id)?.limits.as_ref(),
            Verb::Measure | Verb::Adjust => machine.readings.get(id)?.limits.as_ref(),
            Verb::Fill => machine.fluids.get(id)?.capacity.as_ref(),
            _ => None,
        };
        let value = value.filter(|value| value.spec.value.limits().kind() == typed.kind())?;
        // A length may be a wrench size and a time may be a pause, so these must agree.
        let is_doubtful = matches!(typed.kind(), Kind::Length | Kind::Time);
        (!is_doubtful || is_same(typed, value))
            .then(|| (format!("{}:{id}", action.verb.word()), value))
    })
}

/// An equal value of the machine, of a kind that is unlikely to match by chance.
fn anywhere<'m>(machine: &'m Machine, typed: &Limits) -> Option<(String, &'m Sourced)> {
    let is_distinctive = matches!(
        typed.kind(),
        Kind::Torque | Kind::RotationalSpeed | Kind::Frequency | Kind::Pressure | Kind::Voltage
    );
    if !is_distinctive {
        return None;
    }
    let torques = machine
        .parts
        .values()
        .filter_map(|part| Some((format!("tighten:{}", part.key), part.stages.last()?)));
    let readings = machine
        .readings
        .values()
        .filter_map(|reading| Some((format!("measure:{}", reading.key), reading.limits.as_ref()?)));
    torques
        .chain(readings)
        .find(|(_, value)| is_same(typed, value))
}

fn is_same(typed: &Limits, value: &Sourced) -> bool {
    let written = value.spec.value.limits();
    match (typed.nominal(), written.nominal()) {
        (Some(typed), Some(written)) => typed.agrees_with(&written),
        (None, None) => typed == written,
        _ => false,
    }
}
