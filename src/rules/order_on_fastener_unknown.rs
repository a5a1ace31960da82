//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::shop::{Machine, Part, PartId, Shop};
use std::collections::BTreeSet;

rule! {
    /// Two parts are held by one single fastener, and no `behind` says which of them goes on first.
    ///
    /// Only a fastener of one piece is meant: what it holds lies on it, one part on the other. A `stack` gives the order
    /// as well.
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
            if !is_single || held.len() < 2 || !fastener.is_fastener() {
                continue;
            }
            let held: Vec<&Part> = held.iter().map(|name| &machine.parts[name.value]).collect();
            let in_front: Vec<BTreeSet<PartId>> =
                held.iter().map(|part| in_front_of(machine, part.id)).collect();
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
