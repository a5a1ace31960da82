//! Finds the fault tables that refer to a job as a remedy.

use super::data::{Cure, Job, ReferenceTarget};
use crate::finding::FileId;
use crate::procedure::Cause;
use crate::prose;
use crate::shop::MachineId;
use std::collections::BTreeMap;

/// The fault tables that refer to each job, by the job's machine and procedure. A job that no fault table
/// refers to is not in the map.
pub(super) fn cures<'a>(faults: &[Job<'a>]) -> BTreeMap<(MachineId, FileId), Vec<Cure<'a>>> {
    let mut cures: BTreeMap<(MachineId, FileId), Vec<Cure<'a>>> = BTreeMap::new();
    for fault in faults {
        for step in fault.steps() {
            let remedy = Cause::of(step.notes).remedy.unwrap_or_default();
            for action in prose::actions(remedy) {
                let Some(ReferenceTarget::Procedure(procedure)) = fault.places.get(&action.span)
                else {
                    continue;
                };
                let job_cures = cures
                    .entry((fault.machine.index, procedure.file))
                    .or_default();
                match job_cures.last_mut() {
                    Some(last) if last.fault.file == fault.procedure.file => {
                        if !last.causes.contains(&step.number) {
                            last.causes.push(step.number);
                        }
                    }
                    _ => job_cures.push(Cure {
                        fault: fault.procedure,
                        causes: vec![step.number],
                    }),
                }
            }
        }
    }
    cures
}
