//! The follow-on work of procedures: what is done some time after them, as jobs of their own.

use super::chain::Library;
use super::rules;
use crate::finding::{Finding, Findings, Located};
use crate::procedure::{Procedure, ProcedureId};
use crate::shop::Machine;
use std::collections::BTreeSet;

/// The procedures for a machine that a procedure names as its follow-on work, each once.
pub(super) fn of<'a>(
    library: &Library<'a>,
    procedure: &Procedure,
    machine: &Machine,
) -> Vec<&'a Procedure> {
    let mut listed = BTreeSet::new();
    let named = procedure.follow_on.iter();
    let named = named.filter(|name| listed.insert(name.value));
    let named = named.map(|name| library.procedure(name.value));
    named
        .filter(|follow_on| follow_on.is_for(machine.index))
        .collect()
}

/// Reports follow-on work that can't follow. That procedures follow each other in a circle is no fault: a machine is
/// cleaned after it was used, and used after it was cleaned.
pub(super) fn check(library: &Library<'_>, findings: &mut Findings) {
    for id in library.ids() {
        if !library.procedure(*id).follow_on.is_empty() {
            check_procedure(library, *id, findings);
        }
    }
}

fn check_procedure(library: &Library<'_>, id: ProcedureId, findings: &mut Findings) {
    let procedure = library.procedure(id);
    let included = included(library, procedure);
    for name in &procedure.follow_on {
        let follow_on = library.procedure(name.value);
        let machines = &procedure.machines;
        let (message, help) = if name.value == id {
            (
                format!("`{}` follows itself", procedure.id),
                "leave it out; `interval` says how often a procedure is repeated",
            )
        } else if included.contains(&name.value) {
            (
                format!(
                    "`{}` is part of `{}`, so it can't follow it",
                    follow_on.id, procedure.id
                ),
                "leave it out: it has been done when the job ends",
            )
        } else if !machines.is_empty()
            && !machines
                .iter()
                .any(|machine| follow_on.is_for(machine.value))
        {
            (
                format!(
                    "`{}` is for none of the machines of `{}`",
                    follow_on.id, procedure.id
                ),
                "name a procedure for one of these machines, or add the machine to its `machines`",
            )
        } else {
            continue;
        };
        findings.push(
            Finding::new(&rules::IMPOSSIBLE_FOLLOW_ON, message)
                .primary(name.span, "")
                .help(help),
        );
    }
}

/// The procedures that a procedure includes, directly or not. It may be in a cycle.
fn included(library: &Library<'_>, procedure: &Procedure) -> BTreeSet<ProcedureId> {
    let ids = |procedure: &Procedure| -> Vec<ProcedureId> {
        procedure
            .parts()
            .map(|part: &Located<_>| part.value)
            .collect()
    };
    let mut included = BTreeSet::new();
    let mut open = ids(procedure);
    while let Some(id) = open.pop() {
        if included.insert(id) {
            open.extend(ids(library.procedure(id)));
        }
    }
    included
}
