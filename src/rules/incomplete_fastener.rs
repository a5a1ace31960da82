//! See [`RULE`].

use super::check::On;
use super::shared::{holds_fluid, is_usual, parts};
use crate::finding::{Finding, Findings, rule};
use crate::shop::{Machine, Part, Shop};

rule! {
    /// A fastener has a torque, but lacks what makes it usable: `thread`, `class`, `assembled`, or `drive` or `head`.
    ///
    /// Each field is expected only in a shop that gives it for at least four in five of its fasteners with a torque. A
    /// shop that never says how a thread is assembled means dry threads, as published tables do.
    ///
    /// A part that holds a fluid or a line, or whose joint a seal closes, has a thread of its own size and needs no
    /// `thread` and no `class`: a strainer cup, the nut of a hose. A spark plug and a part with `low-torque` need no
    /// `class`. `assembled` is not expected without a thread, and not of a pipe thread, which is always sealed.
    ///
    /// Also reported is a part without a torque that has a `class`, `assembled`, `pattern` or `engagement`: they say
    /// nothing without one.
    ///
    /// ## At the bench
    ///
    /// The same torque stretches an oiled bolt about a third more than a dry one. Without the thread, nobody compares
    /// the torque with what the bolt takes; without the drive, the mechanic tries sockets.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid-bolt]
    /// name = "lid bolt"
    /// thread = "M6"
    /// drive = "hex 10 mm"
    /// assembled = "oiled"
    /// ```
    ///
    /// ## Fix
    ///
    /// Add what is missing from the source that the torque is from.
    "incomplete-fastener", Trade, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

/// A field that belongs to a torque.
struct Field {
    name: &'static str,
    is_given: fn(&Part) -> bool,
    /// Whether a fastener is expected to have it.
    is_asked: fn(&Machine, &Part) -> bool,
}

const FIELDS: [Field; 4] = [
    Field {
        name: "`thread`",
        is_given: |part| part.thread.is_some(),
        is_asked: |machine, part| !holds_fluid(machine, part),
    },
    Field {
        name: "`class`",
        is_given: |part| part.class.is_some(),
        is_asked: |machine, part| {
            let thread = part.thread.as_ref();
            let is_screw = thread.is_some_and(|thread| !thread.value.is_pipe());
            let is_soft = part.spark_plug.is_some() || part.low_torque.is_some();
            is_screw && !is_soft && !holds_fluid(machine, part)
        },
    },
    Field {
        name: "`assembled`",
        is_given: |part| part.assembled.is_some(),
        is_asked: |_, part| {
            part.thread
                .as_ref()
                .is_some_and(|thread| !thread.value.is_pipe())
        },
    },
    Field {
        name: "`drive` or `head`",
        is_given: |part| part.drive.is_some() || part.head.is_some(),
        is_asked: |_, _| true,
    },
];

fn check(shop: &Shop, findings: &mut Findings) {
    let torqued = || parts(shop).filter(|(_, part)| !part.stages.is_empty());
    let usual: Vec<&Field> = FIELDS
        .iter()
        .filter(|field| {
            let asked = torqued().filter(|(machine, part)| (field.is_asked)(machine, part));
            let given: Vec<bool> = asked.map(|(_, part)| (field.is_given)(part)).collect();
            is_usual(
                given.iter().filter(|is_given| **is_given).count(),
                given.len(),
            )
        })
        .collect();
    for (machine, part) in torqued() {
        let lacking = usual
            .iter()
            .filter(|field| (field.is_asked)(machine, part) && !(field.is_given)(part));
        let lacking: Vec<&str> = lacking.map(|field| field.name).collect();
        if lacking.is_empty() {
            continue;
        }
        let message = format!(
            "`{}` of `{}` has a torque, but no {}",
            part.key,
            machine.id,
            lacking.join(" and no ")
        );
        findings.push(
            Finding::new(&RULE, message)
                .primary(part.span, "")
                .help("add it from the source of the torque; most fasteners of the shop have it"),
        );
    }
    for (machine, part) in parts(shop).filter(|(_, part)| part.stages.is_empty()) {
        let given = [
            ("class", part.class.is_some()),
            ("assembled", part.assembled.is_some()),
            ("pattern", part.pattern.is_some()),
            ("engagement", part.tapped.is_some()),
        ];
        let given = given.iter().filter(|(_, is_given)| *is_given);
        let given: Vec<String> = given.map(|(name, _)| format!("`{name}`")).collect();
        if given.is_empty() {
            continue;
        }
        let message = format!(
            "`{}` of `{}` has {}, but no torque",
            part.key,
            machine.id,
            given.join(" and ")
        );
        findings.push(
            Finding::new(&RULE, message)
                .primary(part.span, "")
                .help("add its `torque` or `stages`, or remove what says nothing without them"),
        );
    }
}
