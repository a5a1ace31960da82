//! Reads the front matter of procedures and fault tables.

use super::fields::{fault, procedure as fields};
use super::names::Directory;
use super::{FaultTable, Procedure, ProcedureId, rules};
use crate::finding::{Finding, Findings, Located, Span};
use crate::prose;
use crate::record::{Count, Date, Field, Many, Name, Record, Text, read_toml};
use crate::shop::Machine;

/// Reads the front matter of a procedure into it, and returns whether it is well formed.
pub(super) fn read_procedure_front(
    procedure: &mut Procedure,
    toml: &str,
    span: Span,
    what: &str,
    directory: &Directory<'_>,
    findings: &mut Findings,
) -> bool {
    read_toml(
        toml,
        span,
        what,
        findings,
        |top: &mut Record<'_, Procedure>, findings| {
            let common = Common {
                title: fields::TITLE,
                machines: fields::MACHINES,
                revision: fields::REVISION,
                revised: fields::REVISED,
            };
            read_common(procedure, &common, directory, top, findings);
            read_execution(procedure, directory, top, findings);
        },
    )
}

/// Reads the front matter of a fault table, as [`read_procedure_front`] does. A fault table is read, not executed.
pub(super) fn read_fault_front(
    table: &mut Procedure,
    toml: &str,
    span: Span,
    what: &str,
    directory: &Directory<'_>,
    findings: &mut Findings,
) -> bool {
    read_toml(
        toml,
        span,
        what,
        findings,
        |top: &mut Record<'_, FaultTable>, findings| {
            let common = Common {
                title: fault::TITLE,
                machines: fault::MACHINES,
                revision: fault::REVISION,
                revised: fault::REVISED,
            };
            read_common(table, &common, directory, top, findings);
        },
    )
}

/// The fields that procedures and fault tables have in common.
struct Common<K: 'static> {
    title: &'static Field<K, Text>,
    machines: &'static Field<K, Many<Name<Machine>>>,
    revision: &'static Field<K, Count>,
    revised: &'static Field<K, Date>,
}

fn read_common<K>(
    procedure: &mut Procedure,
    fields: &Common<K>,
    directory: &Directory<'_>,
    top: &Record<'_, K>,
    findings: &mut Findings,
) {
    if let Some(title) = top.text(fields.title, findings) {
        report_action_in_field(&title, findings);
        procedure.title = title;
    }
    let mut machines = top.texts(fields.machines, findings);
    let mut seen = std::collections::BTreeSet::new();
    machines.retain(|id| {
        let is_new = seen.insert(id.value.clone());
        if !is_new {
            let message = format!("`{}` is listed twice in `machines`", id.value);
            findings.push(
                Finding::new(&rules::DUPLICATE_MACHINE, message)
                    .primary(id.span, "")
                    .help("name each machine once"),
            );
        }
        is_new
    });
    procedure.machines = directory.machines(&machines, findings);
    procedure.revision = top
        .count(fields.revision, findings)
        .map_or(1, |count| count.value);
    procedure.revised = top.date(fields.revised, findings).map(|day| day.value);
}

/// Reads the fields about executing the job.
fn read_execution(
    procedure: &mut Procedure,
    directory: &Directory<'_>,
    top: &Record<'_, Procedure>,
    findings: &mut Findings,
) {
    procedure.minutes = top
        .count(fields::MINUTES, findings)
        .map(|minutes| minutes.value);
    procedure.people = top
        .count(fields::PEOPLE, findings)
        .map(|people| people.value);
    for text in top.texts(fields::AT_START, findings) {
        report_action_in_field(&text, findings);
        procedure.at_start.push(text.value);
    }
    procedure.interval = top.text(fields::INTERVAL, findings);
    if let Some(interval) = &procedure.interval {
        report_action_in_field(interval, findings);
    }
    let mut parts = |field| {
        let before = findings.iter().len();
        let names = top.texts(field, findings);
        let parts = names
            .iter()
            .filter_map(|name| directory.procedure(name, findings));
        let parts: Vec<Located<ProcedureId>> = parts.collect();
        // A name that could not be read is missing from both.
        procedure.has_all_parts &= parts.len() == names.len() && findings.iter().len() == before;
        parts
    };
    procedure.begin = parts(fields::BEGIN);
    procedure.finish = parts(fields::FINISH);
    let before = findings.iter().len();
    let reversed = top.text(fields::REVERSES, findings);
    procedure.reverses = reversed.and_then(|name| directory.procedure(&name, findings));
    procedure.has_all_parts &= findings.iter().len() == before;
    let follow_on = top.texts(fields::FOLLOW_ON, findings);
    let follow_on = follow_on
        .iter()
        .filter_map(|name| directory.procedure(name, findings));
    procedure.follow_on = follow_on.collect();
    procedure.left_undone = top.pairs(fields::LEFT_UNDONE, findings);
    for (name, why) in &procedure.left_undone {
        report_action_in_field(why, findings);
        if why.value.trim().is_empty() {
            let message = format!("`{}` is left undone without a reason", name.value);
            findings.push(
                Finding::new(&rules::LEFT_UNDONE_WITHOUT_REASON, message)
                    .primary(why.span, "")
                    .help("give the reason; it is printed"),
            );
        }
    }
}

/// Reports an action in a field that is printed as typed.
fn report_action_in_field(text: &Located<String>, findings: &mut Findings) {
    if prose::has_action(&text.value) {
        findings.push(
            Finding::new(
                &prose::UNREAD_LINK,
                "an action in this field is printed as typed, not read as an action",
            )
            .primary(text.span, "")
            .help("write plain text here, and the action in a step"),
        );
    }
}
