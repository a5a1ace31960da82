//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::shop::{Machine, Part, PartId, Shop};
use std::collections::BTreeSet;

rule! {
    /// Two parts are held by one single fastener, and no `behind` says which of them goes on first.
    ///
    /// The rule looks at fasteners with a `count` of one: the parts that such a fastener holds lie on top of each other.
    /// A `stack` gives their order as well. A part between the fastener and a part that it holds, or between two such
    /// parts, is held by the fastener too, and is reported if its `held-by` does not name the fastener.
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

/// The most parts on one fastener that are compared with each other.
const MOST_HELD: usize = 64;

fn check(shop: &Shop, findings: &mut Findings) {
    for machine in shop.machines.values().filter(|machine| machine.is_complete) {
        for fastener in machine.parts.values() {
            let holds = &machine.named_by[fastener.id].holds;
            let is_single = fastener.count == 1 && fastener.stack.is_empty();
            if !is_single || !fastener.is_fastener() || holds.len() > MOST_HELD {
                continue;
            }
            let held: Vec<&Part> = holds
                .iter()
                .map(|name| &machine.parts[name.value])
                .collect();
            report_between(machine, fastener, &held, findings);
            report_unknown_order(machine, fastener, &held, findings);
        }
    }
}

/// Reports the first two parts on a fastener of which neither is in front of the other.
fn report_unknown_order(
    machine: &Machine,
    fastener: &Part,
    held: &[&Part],
    findings: &mut Findings,
) {
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
        return;
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

/// Reports parts that lie between parts on a fastener and are not held by it.
fn report_between(machine: &Machine, fastener: &Part, held: &[&Part], findings: &mut Findings) {
    let is_held = |part: PartId| held.iter().any(|held| held.id == part);
    let mut reported = BTreeSet::new();
    for inner in held {
        for part in inner.behind.iter().map(|name| &machine.parts[name.value]) {
            let mut outer = part.behind.iter().map(|name| name.value);
            let is_under = outer.any(|outer| outer == fastener.id || is_held(outer));
            let is_between = is_under && !is_held(part.id) && part.id != fastener.id;
            if !is_between || !reported.insert(part.id) {
                continue;
            }
            let message = format!(
                "`{}` of `{}` lies under `{}`, in front of `{}`, but its `held-by` does not name the fastener",
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
