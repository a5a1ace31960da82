//! See [`RULE`].

use super::check::On;
use super::context::Joint;
use crate::finding::{Finding, Findings, rule};
use crate::quantity::Quantity;

rule! {
    /// A torque is too high or too low for its thread, but the same number in another unit would be right.
    ///
    /// `torque-too-high-for-fastener` and `torque-too-low-for-fastener` find torques that no unit makes right, and
    /// say how the bounds are calculated.
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
    /// Check the unit at the value's source. If the torque is low on purpose, say why: `low-torque = "brass jet"`.
    "torque-in-wrong-unit", Trade, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Joint(check)];

fn check(joint: &Joint<'_>, findings: &mut Findings) {
    let Some(torque) = &joint.implausible else {
        return;
    };
    let meant: Vec<String> = torque.in_other_units().iter().map(Quantity::text).collect();
    if meant.is_empty() {
        return;
    }
    let message = format!(
        "the torque of `{}` of `{}` is {}, which is too {} for its thread",
        joint.part.key,
        joint.machine.id,
        torque.limits.text(),
        if torque.is_high { "high" } else { "low" },
    );
    let mut help = format!(
        "was {} meant? {}{}",
        meant.join(" or "),
        torque.misplaced_point(),
        torque.because()
    );
    if !torque.is_high {
        help.push_str(&joint.low_on_purpose());
    }
    findings.push(
        Finding::new(&RULE, message)
            .primary(torque.span, "")
            .help(help),
    );
}
