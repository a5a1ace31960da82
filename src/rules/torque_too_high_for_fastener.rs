//! See [`RULE`].

use super::check::On;
use super::context::Joint;
use crate::finding::{Finding, Findings, rule};
use crate::trade::unit_slips;
use std::cmp::Ordering;

rule! {
    /// A torque is more than the fastener, or the hole it is screwed into, can take.
    ///
    /// The limit is calculated from the thread's stress area, the proof stress of its class and the
    /// friction of its threads: T = K · d · F. Friction varies by a quarter and more, so the finding is
    /// a reason to check the value, not a verdict: the machine maker's value takes precedence.
    ///
    /// ## At the bench
    ///
    /// The bolt stretches, or pulls the thread out of the casting, before the wrench clicks.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid-bolt]
    /// name = "lid bolt"
    /// thread = "M6"
    /// class = "8.8"
    /// torque = "20 N·m ± 1 N·m"
    /// ```
    ///
    /// ## Fix
    ///
    /// Check the value at its source, and the class on the bolt's head.
    "torque-too-high-for-fastener", Trade, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Joint(check)];

fn check(joint: &Joint<'_>, findings: &mut Findings) {
    let (machine, part) = (joint.machine, joint.part);
    let (Some(stage), Ok(takes)) = (part.stages.last(), &joint.takes) else {
        return;
    };
    let limits = stage.spec.value.limits();
    let most = limits.upper().or_else(|| limits.nominal());
    let is_above =
        most.is_some_and(|most| most.compare(&takes.ceiling).is_some_and(Ordering::is_gt));
    // `torque-in-wrong-unit` reports a mistaken unit.
    if !is_above || !unit_slips(limits, &takes.torque).is_empty() {
        return;
    }
    let message = format!(
        "the torque of `{}` of `{}` is {}, but the joint takes at most {}",
        part.key,
        machine.id,
        limits.text(),
        takes.ceiling.text()
    );
    findings.push(
        Finding::new(&RULE, message)
            .primary(stage.spec.span, "")
            .help(format!(
                "{}; the maker's value takes precedence",
                takes.arithmetic.join("; ")
            )),
    );
}
