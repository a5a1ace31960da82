//! See [`RULE`].

use super::check::On;
use super::shared::{is_usual, parts};
use crate::finding::{Finding, Findings, rule};
use crate::shop::{Machine, Part, Shop};

rule! {
    /// A fastener with a torque holds nothing: no part names it in `held-by`, and no reading in `locked-by`.
    ///
    /// Reported only in a shop where at least four fasteners hold something, and at least four in five. Not reported are
    /// parts that hold nothing by nature: a spark plug, a part of a line, a filler plug, a part that has its own `stack`,
    /// and a part with a part number or a `note`, such as a jet or a valve.
    ///
    /// ## At the bench
    ///
    /// The sheet takes the cover off while its bolts are in, or tightens them before the cover is on, and no check says
    /// so.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.a-bolt]
    /// name = "lid bolt"
    /// thread = "M6"
    /// torque = "9 N·m ± 1 N·m"
    /// [part.a]
    /// name = "lid"
    /// held-by = ["a-bolt"]
    /// [part.b-bolt]
    /// name = "spout bolt"
    /// thread = "M6"
    /// torque = "9 N·m ± 1 N·m"
    /// [part.b]
    /// name = "spout"
    /// held-by = ["b-bolt"]
    /// [part.c-bolt]
    /// name = "foot bolt"
    /// thread = "M6"
    /// torque = "9 N·m ± 1 N·m"
    /// [part.c]
    /// name = "foot"
    /// held-by = ["c-bolt"]
    /// [part.d-bolt]
    /// name = "dome bolt"
    /// thread = "M6"
    /// torque = "9 N·m ± 1 N·m"
    /// [part.d]
    /// name = "dome"
    /// ```
    ///
    /// ## Fix
    ///
    /// Name the fastener in the `held-by` of the part that it holds, or in the `locked-by` of the reading that it locks.
    "fastener-holds-nothing", Names, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    let fasteners = || parts(shop).filter(|(machine, part)| is_fastener(machine, part));
    let all = fasteners().count();
    let idle = || fasteners().filter(|(machine, part)| !holds(machine, part));
    let idle_count = idle().count();
    if !is_usual(all - idle_count, all) {
        return;
    }
    for (machine, part) in idle() {
        let message = format!("`{}` of `{}` holds nothing", part.key, machine.id);
        findings.push(
            Finding::new(&RULE, message)
                .primary(part.span, "no `held-by` names it")
                .help("name it in the `held-by` of the part that it holds, or say in its `note` what it does"),
        );
    }
}

/// Whether it is a fastener that is there to hold another part.
fn is_fastener(machine: &Machine, part: &Part) -> bool {
    let is_other = part.spark_plug.is_some()
        || part.number.is_some()
        || part.note.is_some()
        || !part.stack.is_empty();
    let is_filler = || {
        let mut fluids = machine.fluids.values();
        fluids.any(|fluid| matches!(&fluid.through, Some(through) if through.value == part.id))
    };
    let is_line = || part.carries.is_some() || part.drains.is_some();
    !part.stages.is_empty() && !is_other && !is_line() && !is_filler()
}

fn holds(machine: &Machine, part: &Part) -> bool {
    let mut readings = machine.readings.values();
    !machine.named_by[part.id].holds.is_empty()
        || readings.any(|reading| reading.locked_by.iter().any(|lock| lock.value == part.id))
}
