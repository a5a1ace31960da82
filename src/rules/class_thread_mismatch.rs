//! See [`RULE`].

use super::check::On;
use super::context::Joint;
use crate::finding::{Finding, Findings, rule};

rule! {
    /// A fastener's class does not exist for its thread, such as an SAE grade on a metric thread.
    ///
    /// ## At the bench
    ///
    /// One of the two was read from another bolt.
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
    /// Read both again on the bolt: the class is marked on its head.
    "class-thread-mismatch", Trade, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Joint(check)];

fn check(joint: &Joint<'_>, findings: &mut Findings) {
    let (machine, part) = (joint.machine, joint.part);
    let (Some(class), Err(error)) = (&part.class, &joint.takes) else {
        return;
    };
    let message = format!(
        "the class of `{}` of `{}` does not match its thread: {error}",
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
