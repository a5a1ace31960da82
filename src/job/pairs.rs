//! Checks the pairs of procedures of which one reverses the other.

use super::rules;
use crate::finding::{Finding, Findings};
use crate::procedure::{Procedure, ProcedureId};
use crate::shop::Shop;
use std::collections::{BTreeMap, BTreeSet};

/// Reports pairs that can't be one. Returns the procedures that reverse another in such a pair. `reversed_by` has, for each
/// procedure that others reverse, those others.
pub(super) fn check(
    procedures: &[Procedure],
    reversed_by: &BTreeMap<ProcedureId, Vec<ProcedureId>>,
    shop: &Shop,
    findings: &mut Findings,
) -> BTreeSet<ProcedureId> {
    let procedure = |id: ProcedureId| &procedures[id.index()];
    let mut refused = BTreeSet::new();
    for (reversed, others) in reversed_by {
        for (index, id) in others.iter().enumerate() {
            let (first, second) = (procedure(*reversed), procedure(*id));
            if let Some(finding) = no_removal(first, second) {
                refused.insert(*id);
                findings.push(finding);
                continue;
            }
            let mut earlier = others[..index].iter();
            let double = earlier.find_map(|other| {
                let finding = reversed_twice(first, procedure(*other), second, shop)?;
                Some((*other, finding))
            });
            if let Some((other, finding)) = double {
                refused.extend([other, *id]);
                findings.push(finding);
            }
        }
    }
    refused
}

/// A finding at the name of what a procedure reverses.
fn finding(second: &Procedure, message: String) -> Option<Finding> {
    let name = second.reverses?;
    Some(Finding::new(&rules::NOT_A_PAIR, message).primary(name.span, ""))
}

/// The finding of a procedure that reverses itself, or one that reverses another.
fn no_removal(first: &Procedure, second: &Procedure) -> Option<Finding> {
    if first.file == second.file {
        let message = format!("procedure `{}` reverses itself", second.id);
        let help = "name the procedure that takes off what this one puts back";
        return Some(finding(second, message)?.help(help));
    }
    let before = first.reverses?;
    let message = format!("`{}` reverses a procedure that reverses another", second.id);
    let found = finding(second, message)?.secondary(before.span, "reverses another here");
    Some(found.help("a pair is a removal and its installation: name the removal"))
}

/// The finding of two procedures that reverse one on the same machine.
fn reversed_twice(
    first: &Procedure,
    other: &Procedure,
    second: &Procedure,
    shop: &Shop,
) -> Option<Finding> {
    let mut machines = second.machines.iter();
    let machine = machines.find(|machine| other.is_for(machine.value))?;
    let message = format!(
        "`{}` and `{}` both reverse `{}` on `{}`",
        other.id, second.id, first.id, shop.machines[machine.value].id
    );
    let found = finding(second, message)?.secondary(other.reverses?.span, "reversed here as well");
    Some(
        found
            .help("a job is put back in one way: join the two, or name different machines in them"),
    )
}
