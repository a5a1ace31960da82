//! See [`RULE`].

use super::check::On;
use super::context::Joint;
use crate::finding::{Finding, Findings, rule};

rule! {
    /// A fastener's class is not made for its thread: an SAE grade on a metric thread, a class in a size it does not come in.
    ///
    /// ## At the bench
    ///
    /// One of the two was read off another bolt.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid-bolt]
    /// name = "lid bolt"
    /// thread = "M6"
    /// class = "grade 5"
    /// torque = "9 N·m"
    /// ```
    ///
    /// ## Fix
    ///
    /// Read both again on the bolt: the class stands on its head.
    "class-unfit-for-thread", Trade, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Joint(check)];

fn check(joint: &Joint<'_>, findings: &mut Findings) {
    let (machine, part) = (joint.machine, joint.part);
    let (Some(class), Err(error)) = (&part.class, &joint.takes) else {
        return;
    };
    let message = format!(
        "the class of `{}` of `{}` does not go with its thread: {error}",
        part.key, machine.id
    );
    let mut finding = Finding::new(&RULE, message).primary(class.span, "");
    if let Some(thread) = &part.thread {
        finding = finding.secondary(thread.span, "its thread");
    }
    findings.push(match error.help() {
        Some(help) => finding.help(help),
        None => finding,
    });
}
