//! Which fault tables lead to which jobs.

use super::{Cure, Job, ReferenceTarget};
use crate::finding::FileId;
use crate::procedure::Cause;
use crate::prose;
use crate::shop::MachineId;
use std::collections::BTreeMap;

/// By machine and procedure, the fault tables that lead to that job, with their causes.
pub(super) fn cures<'a>(faults: &[Job<'a>]) -> BTreeMap<(MachineId, FileId), Vec<Cure<'a>>> {
    let mut cures: BTreeMap<(MachineId, FileId), Vec<Cure<'a>>> = BTreeMap::new();
    for fault in faults {
        for step in fault.steps() {
            let mend = Cause::of(step.notes).mend.unwrap_or_default();
            for action in prose::actions(mend) {
                let Some(ReferenceTarget::Procedure(procedure)) = fault.places.get(&action.span)
                else {
                    continue;
                };
                let of_job = cures
                    .entry((fault.machine.index, procedure.file))
                    .or_default();
                match of_job.last_mut() {
                    Some(last) if last.fault.file == fault.procedure.file => {
                        if !last.causes.contains(&step.number) {
                            last.causes.push(step.number);
                        }
                    }
                    _ => of_job.push(Cure {
                        fault: fault.procedure,
                        causes: vec![step.number],
                    }),
                }
            }
        }
    }
    cures
}
