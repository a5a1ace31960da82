//! See [`RULE`].

use super::check::On;
use super::context::Joint;
use crate::finding::{Finding, Findings, rule};
use crate::trade::unit_slips;

rule! {
    /// A torque can't be right for its thread, and the same number in another unit would be.
    ///
    /// ## At the bench
    ///
    /// 86 N·m on an M6 nut that was meant for 86 in·lbf breaks it; the other way round it falls off.
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
    /// Read the unit again where the value came from.
    "torque-in-another-unit", Trade, Warning => pub(super) RULE
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
        "`{}` of `{}` is tightened to {}, which does not fit its thread",
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
