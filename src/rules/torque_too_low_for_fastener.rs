//! See [`RULE`].

use super::check::On;
use super::context::Joint;
use crate::finding::{Finding, Findings, rule};

rule! {
    /// A torque is far too low for the thread of its fastener.
    ///
    /// The limit is half of the torque of the weakest common bolt of the thread (4.6, or grade 1), or a third of that
    /// of the part's own class if this is more. It is lower for a bolt in plastic or aluminium (`into`, `engagement`),
    /// and a quarter of that for a plug that closes a drain. For a spark plug, it is two thirds of the least torque in
    /// published tables. A stage before another one is not judged, nor is a torque before an angle.
    /// No torque is calculated for a pipe thread.
    ///
    /// ## At the bench
    ///
    /// With the decimal point in the wrong place, the wrench clicks at once, and the nut falls off on the first run.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid-bolt]
    /// name = "lid bolt"
    /// thread = "M8"
    /// torque = "0.25 N·m"
    /// ```
    ///
    /// ## Fix
    ///
    /// Check the value at its source. If it is low on purpose, say why: `low-torque = "brass jet"`.
    "torque-too-low-for-fastener", Trade, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Joint(check)];

fn check(joint: &Joint<'_>, findings: &mut Findings) {
    let torque = joint.implausible.as_ref().filter(|torque| !torque.is_high);
    // `torque-in-wrong-unit` reports a mistaken unit.
    let Some(torque) = torque.filter(|torque| torque.in_other_units().is_empty()) else {
        return;
    };
    let message = format!(
        "the torque of `{}` of `{}` is {}, below {}, the least that is plausible for its thread",
        joint.part.key,
        joint.machine.id,
        torque.limits.text(),
        torque.plausible.least().text()
    );
    findings.push(
        Finding::new(&RULE, message)
            .primary(torque.span, "")
            .help(format!(
                "compare it with its source; {}{}{}",
                torque.misplaced_point(),
                torque.because(),
                joint.low_on_purpose()
            )),
    );
}
