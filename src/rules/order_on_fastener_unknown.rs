//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::shop::{Machine, Part, PartId, Shop};
use std::collections::BTreeSet;

rule! {
    /// Two parts are held by one single fastener, and no `behind` says which of them goes on first.
    ///
    /// Only a fastener of one piece is meant: what it holds lies on it, one part on the other. A `stack` gives the order
    /// as well. A part that lies between the fastener, or a part that it holds, and another part that it holds is also
    /// held by it: it is reported if it does not say so.
    ///
    /// ## At the bench
    ///
    /// The spring washer ends up under the blade instead of under the bolt head.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid-bolt]
    /// name = "lid bolt"
    /// thread = "M6"
    /// [part.lid]
    /// name = "lid"
    /// held-by = ["lid-bolt"]
    /// [part.lid-washer]
    /// name = "lid washer"
    /// held-by = ["lid-bolt"]
    /// ```
    ///
    /// ## Fix
    ///
    /// Name the outer part in the `behind` of the inner one.
    "order-on-fastener-unknown", Names, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    for machine in shop.machines.values().filter(|machine| machine.is_complete) {
        for fastener in machine.parts.values() {
            let is_single = fastener.count == 1 && fastener.stack.is_empty();
            let held = &machine.named_by[fastener.id].holds;
            if is_single && fastener.is_fastener() {
                report_between(machine, fastener, findings);
            }
            if !is_single || held.len() < 2 || !fastener.is_fastener() {
                continue;
            }
            let held: Vec<&Part> = held.iter().map(|name| &machine.parts[name.value]).collect();
            let in_front: Vec<BTreeSet<PartId>> = held
                .iter()
                .map(|part| in_front_of(machine, part.id))
                .collect();
            let unknown = (1..held.len())
                .flat_map(|second| (0..second).map(move |first| (first, second)))
                .find(|(first, second)| {
                    !in_front[*first].contains(&held[*second].id)
                        && !in_front[*second].contains(&held[*first].id)
                });
            let Some((first, second)) = unknown else {
                continue;
            };
            let (first, second) = (held[first], held[second]);
            let message = format!(
                "`{}` of `{}` holds `{}` and `{}`, and nothing says which goes on first",
                fastener.key, machine.id, first.key, second.key
            );
            findings.push(
                Finding::new(&RULE, message)
                    .primary(second.span, "")
                    .secondary(first.span, "on the same fastener")
                    .help("name the outer part in the `behind` of the inner one"),
            );
        }
    }
}

/// Reports parts that lie between parts on a fastener and are not held by it.
fn report_between(machine: &Machine, fastener: &Part, findings: &mut Findings) {
    let is_held = |part: PartId| {
        let mut holders = machine.parts[part].held_by.iter();
        holders.any(|holder| holder.value == fastener.id)
    };
    for part in machine.parts.values() {
        let mut outer = part.behind.iter().map(|name| name.value);
        let is_under = outer.any(|outer| outer == fastener.id || is_held(outer));
        let mut inner = machine.named_by[part.id].behind.iter();
        let inner = inner.find(|inner| is_held(inner.value));
        let (Some(inner), true) = (inner, is_under && !is_held(part.id)) else {
            continue;
        };
        let inner = &machine.parts[inner.value];
        let message = format!(
            "`{}` of `{}` lies under `{}`, in front of `{}` that it holds, but is not `held-by` it",
            part.key, machine.id, fastener.key, inner.key
        );
        findings.push(
            Finding::new(&RULE, message)
                .primary(part.span, "")
                .secondary(fastener.span, "the fastener")
                .help(format!("add `{}` to its `held-by`", fastener.key)),
        );
    }
}

/// The parts that come off before a part.
fn in_front_of(machine: &Machine, part: PartId) -> BTreeSet<PartId> {
    let mut found = BTreeSet::new();
    let mut left = vec![part];
    while let Some(part) = left.pop() {
        for name in &machine.parts[part].behind {
            if found.insert(name.value) {
                left.push(name.value);
            }
        }
    }
    found
}
