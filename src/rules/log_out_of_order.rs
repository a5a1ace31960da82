//! See [`RULE`].

use super::check::On;
use super::context::TextScene;
use crate::finding::{Finding, Findings, rule};
use crate::tree::SourceKind;

rule! {
    /// The log of a unit contradicts itself.
    ///
    /// Its running hours become fewer, or it has a day before the one on which the unit was new.
    ///
    /// ## At the bench
    ///
    /// A digit typed wrongly makes a service due years too late, or on every day.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === log.toml
    /// [unit.pump-1]
    /// machine = "hand-pump"
    ///
    /// [unit.pump-1.day.2026-01-10]
    /// hours = 168.5
    ///
    /// [unit.pump-1.day.2026-02-27]
    /// hours = 17.2
    /// ```
    ///
    /// ## Fix
    ///
    /// Correct the number or the date. If the meter was replaced, begin a unit with another id, and say when it was new.
    "log-out-of-order", Names, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Text(check)];

fn check(scene: &TextScene<'_>, findings: &mut Findings) {
    if scene.file.kind != SourceKind::Log {
        return;
    }
    for unit in scene.shop.fleet.values() {
        let read = unit.days.iter().filter_map(|day| day.hours.as_ref());
        let read: Vec<_> = read.collect();
        for pair in read.windows(2) {
            let [before, after] = pair else { continue };
            if after.value < before.value {
                let message = format!("the running hours of `{}` become fewer", unit.key);
                findings.push(
                    Finding::new(&RULE, message)
                        .primary(after.span, "fewer than before")
                        .secondary(before.span, "read on an earlier day")
                        .help("correct one of the numbers, or the date of its day"),
                );
            }
        }
        let Some(new) = &unit.new else { continue };
        if let Some(day) = unit.days.iter().find(|day| day.day < new.value) {
            let message = format!("the log of `{}` begins before it was new", unit.key);
            findings.push(
                Finding::new(&RULE, message)
                    .primary(day.span, "")
                    .secondary(new.span, "new on this day")
                    .help("correct one of the dates"),
            );
        }
    }
}
