//! See [`RULE`].

use super::check::On;
use super::context::TextScene;
use super::typed_value::typed_steps;
use crate::finding::{Finding, Findings, Span, rule};
use crate::quantity::{Agreement, Found, Kind, Limits};
use crate::shop::{Machine, Sourced};

rule! {
    /// A value is typed into a procedure's text although it is in the machine's file.
    ///
    /// A value that differs from the machine's is `value-contradicts-machine`.
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
    "duplicated-value", Quantities, Advice => pub(super) RULE
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
    if scene.found.is_empty() {
        return;
    }
    let steps = typed_steps(scene);
    for found in &scene.found {
        let span = scene.file.span(found.range.clone());
        // Minutes and intervals in the front matter are fields, not text.
        if span.start() < procedure.body.start() {
            continue;
        }
        let step = steps.iter().find(|step| step.step.span.contains(span));
        let step = step.filter(|step| step.is_about_action(found));
        let own = step.and_then(|step| {
            let mut facts = step.machines();
            facts.find_map(|machine| {
                let facts = step.facts(scene, machine, found).into_iter();
                let mut equal = facts.filter(|fact| is_repeated(found, fact.value.limits()));
                equal.next().map(|fact| (fact.link, fact.span))
            })
        });
        let anywhere = || {
            machines
                .iter()
                .find_map(|machine| anywhere(machine, &found.limits))
        };
        if let Some((link, value)) = own.or_else(anywhere) {
            let message = format!(
                "`{}` is typed in the text but is already in the machine's file",
                scene.tree.text(span)
            );
            let finding = Finding::new(&RULE, message)
                .primary(span, "")
                .secondary(value, "already here")
                .help(format!("remove it: `[]({link})` prints it"));
            let removed = step.and_then(|step| step.removable(scene, found, &link));
            findings.push(match removed {
                Some(removed) => finding.edit(scene.file.span(removed), ""),
                None => finding,
            });
        }
    }
}

/// Whether a typed value is a written one, or lies in its limits.
fn is_repeated(found: &Found, written: &Limits) -> bool {
    let typed = &found.limits;
    let nominal = typed
        .nominal()
        .or_else(|| typed.lower())
        .or_else(|| typed.upper());
    typed.agreement(written) != Agreement::Contradicting
        || nominal.is_some_and(|nominal| written.contains(&nominal))
}

/// An equal value of the machine, of a kind that is unlikely to match by chance.
fn anywhere(machine: &Machine, typed: &Limits) -> Option<(String, Span)> {
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
        .map(|(link, value)| (link, value.spec.span))
}

fn is_same(typed: &Limits, value: &Sourced) -> bool {
    let written = value.spec.value.limits();
    match (typed.nominal(), written.nominal()) {
        (Some(typed), Some(written)) => typed.agrees_with(&written),
        (None, None) => typed == written,
        _ => false,
    }
}
