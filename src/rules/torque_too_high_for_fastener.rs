//! See [`RULE`].

use super::check::On;
use super::context::Joint;
use crate::finding::{Finding, Findings, rule};

rule! {
    /// A torque is more than the fastener, or the hole it is screwed into, can take.
    ///
    /// The limit is calculated from the thread's stress area, the proof stress of its class and the
    /// friction of its threads: T = K · d · F. Without a class, that of the strongest common bolt is taken: 12.9,
    /// or grade 8. For a spark plug, the limit is four thirds of the greatest torque in published tables. Friction
    /// varies by a quarter and more, so the finding is a reason to check the value, not a verdict: the machine
    /// maker's value takes precedence. No torque is calculated for a pipe thread.
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
    let torque = joint.implausible.as_ref().filter(|torque| torque.is_high);
    // `torque-in-wrong-unit` reports a mistaken unit.
    let Some(torque) = torque.filter(|torque| torque.in_other_units().is_empty()) else {
        return;
    };
    let (part, machine) = (joint.part, joint.machine);
    let (limits, most) = (torque.limits.text(), torque.plausible.most().text());
    let message = match &part.spark_plug {
        Some(_) => format!(
            "the torque of `{}` of `{}` is {limits}, but {most} is already too much for a spark plug of its thread",
            part.key, machine.id
        ),
        None => format!(
            "the torque of `{}` of `{}` is {limits}, but the joint takes at most {most}",
            part.key, machine.id
        ),
    };
    findings.push(
        Finding::new(&RULE, message)
            .primary(torque.span, "")
            .help(format!(
                "compare it with its source; {}{}; the maker's value takes precedence",
                torque.misplaced_point(),
                torque.because()
            )),
    );
}
