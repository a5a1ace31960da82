//! See [`RULE`].

use super::check::On;
use super::context::Joint;
use crate::finding::{Finding, Findings, rule};
use crate::trade::unit_slips;

rule! {
    /// A torque is implausible for its thread, but the same number in another unit is plausible.
    ///
    /// ## At the bench
    ///
    /// An M6 nut meant for 86 in·lbf breaks at 86 N·m. In the opposite case, the nut falls off.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid-bolt]
    /// name = "lid bolt"
    /// thread = "M6"
    /// class = "8.8"
    /// torque = "86 N·m"
    /// ```
    ///
    /// ## Fix
    ///
    /// Check the unit at the value's source.
    "torque-in-wrong-unit", Trade, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Joint(check)];

fn check(joint: &Joint<'_>, findings: &mut Findings) {
    let (machine, part) = (joint.machine, joint.part);
    let (Some(stage), Ok(takes)) = (part.stages.last(), &joint.takes) else {
        return;
    };
    let limits = stage.spec.value.limits();
    let Some(meant) = unit_slips(limits, &takes.torque).into_iter().next() else {
        return;
    };
    let message = format!(
        "the torque of `{}` of `{}` is {}, which is implausible for its thread",
        part.key,
        machine.id,
        limits.text()
    );
    findings.push(
        Finding::new(&RULE, message)
            .primary(stage.spec.span, "")
            .help(format!(
                "was {} meant? the joint takes about {}: {}",
                meant.text(),
                takes.torque.text(),
                takes.arithmetic.join("; ")
            )),
    );
}
