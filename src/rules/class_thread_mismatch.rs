//! See [`RULE`].

use super::check::On;
use super::context::Joint;
use super::shared::parts;
use crate::finding::{Finding, Findings, rule};
use crate::shop::Shop;
use crate::trade::plug_threads;

rule! {
    /// A fastener's class does not exist for its thread, such as an SAE grade on a metric thread.
    ///
    /// Nor are spark plugs made with every thread, and pipe threads have no class.
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

pub(super) const ON: &[On] = &[On::Joint(check), On::Shop(check_plugs)];

fn check(joint: &Joint<'_>, findings: &mut Findings) {
    let (machine, part) = (joint.machine, joint.part);
    let (Some(class), Some(error)) = (&part.class, joint.mismatch) else {
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
    let help = error.help();
    findings.push(
        finding.help(
            help.unwrap_or("correct the class or the thread: the class is marked on the head"),
        ),
    );
}

fn check_plugs(shop: &Shop, findings: &mut Findings) {
    for (machine, part) in parts(shop) {
        let (Some(seat), Some(thread)) = (&part.spark_plug, &part.thread) else {
            continue;
        };
        let threads = plug_threads();
        if threads.contains(&thread.value) {
            continue;
        }
        let threads: Vec<String> = threads.iter().map(|thread| format!("`{thread}`")).collect();
        let message = format!(
            "`{}` of `{}` is a spark plug with the thread `{}`, which they are not made with",
            part.key, machine.id, thread.value
        );
        findings.push(
            Finding::new(&RULE, message)
                .primary(thread.span, "")
                .secondary(seat.span, "a spark plug")
                .help(format!(
                    "the threads of spark plugs are {}",
                    threads.join(", ")
                )),
        );
    }
}
