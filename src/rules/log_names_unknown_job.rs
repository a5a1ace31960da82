//! See [`RULE`].

use super::check::On;
use super::context::TextScene;
use crate::finding::{Finding, Findings, nearest, rule};
use crate::shop::{Done, Unit};
use crate::tree::SourceKind;

rule! {
    /// The log says that something was done that is no job on the unit's machine.
    ///
    /// Or it names an interval that none of the procedure's inspections has.
    ///
    /// It is no error, because a job that was done may be one that the shop no longer has.
    ///
    /// ## At the bench
    ///
    /// The job stays on the list of what is due, although it was done.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === log.toml
    /// [unit.pump-1]
    /// machine = "hand-pump"
    ///
    /// [unit.pump-1.day.2026-01-10]
    /// done = ["cover", "cower"]
    /// ```
    ///
    /// ## Fix
    ///
    /// Write the id of a procedure that is for the machine. Of a procedure with several inspections, write which one after
    /// a colon, as its heading says it: `lending-check: every 3 months`.
    "log-names-unknown-job", Names, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Text(check)];

fn check(scene: &TextScene<'_>, findings: &mut Findings) {
    if scene.file.kind != SourceKind::Log {
        return;
    }
    for unit in scene.shop.fleet.values() {
        let done = unit.days.iter().flat_map(|day| &day.done);
        for done in done {
            check_done(scene, unit, done, findings);
        }
    }
}

fn check_done(scene: &TextScene<'_>, unit: &Unit, done: &Done, findings: &mut Findings) {
    let Some(machine) = unit.machine else {
        return;
    };
    let name = &done.procedure;
    let of_machine = || {
        let all = scene.procedures.iter();
        all.filter(|procedure| procedure.is_for(machine))
    };
    let Some(procedure) = of_machine().find(|procedure| procedure.id == *name) else {
        // If the front matter of a procedure can't be read, so can't its machines.
        let mut all = scene.procedures.iter();
        if all.any(|procedure| procedure.id == *name && !procedure.is_complete) {
            return;
        }
        let machine = &scene.shop.machines[machine].id;
        let near = nearest(name, of_machine().map(|procedure| procedure.id.as_str()));
        let finding = Finding::new(&RULE, format!("`{name}` is no job on `{machine}`"))
            .primary(done.span, "")
            .suggest(near, "write the id of a procedure that is for this machine");
        findings.push(match &done.interval {
            None => finding.corrected(name, near),
            Some(_) => finding,
        });
        return;
    };
    let Some(text) = &done.interval else {
        return;
    };
    let words = scene.author_words();
    let interval = words.read_interval(text);
    let titles = || {
        procedure
            .inspections()
            .map(|section| section.title.as_str())
    };
    let is_known = interval.is_ok_and(|interval| {
        titles().any(|title| words.read_interval(title).as_ref() == Ok(&interval))
    });
    if !is_known {
        let titles: Vec<String> = titles().map(|title| format!("`{name}: {title}`")).collect();
        let help = if titles.is_empty() {
            format!("it has no inspections: write `{name}` alone")
        } else {
            format!(
                "write one of {}, or `{name}` alone for all of them",
                titles.join(", ")
            )
        };
        findings.push(
            Finding::new(&RULE, format!("`{name}` has no inspection `{text}`"))
                .primary(done.span, "")
                .help(help),
        );
    }
}
