//! Finds the fault tables that refer to a job as a remedy.

use super::data::{Job, ReferenceTarget, RemediedFault};
use crate::finding::FileId;
use crate::procedure::Cause;
use crate::prose;
use crate::shop::MachineId;
use std::collections::BTreeMap;

/// The fault tables that refer to each job, by the job's machine and procedure. A job that no fault table
/// refers to is not in the map.
pub(super) fn remedied_faults<'a>(
    faults: &[Job<'a>],
) -> BTreeMap<(MachineId, FileId), Vec<RemediedFault<'a>>> {
    let mut remedied_faults: BTreeMap<(MachineId, FileId), Vec<RemediedFault<'a>>> =
        BTreeMap::new();
    for fault in faults {
        for step in fault.steps() {
            let remedy = Cause::of(step.notes).remedy.unwrap_or_default();
            for action in prose::actions(remedy) {
                let Some(ReferenceTarget::Procedure(procedure)) = fault.places.get(&action.span)
                else {
                    continue;
                };
                let faults_of_job = remedied_faults
                    .entry((fault.machine.index, procedure.file))
                    .or_default();
                match faults_of_job.last_mut() {
                    Some(last) if last.fault.file == fault.procedure.file => {
                        if !last.causes.contains(&step.number) {
                            last.causes.push(step.number);
                        }
                    }
                    _ => faults_of_job.push(RemediedFault {
                        fault: fault.procedure,
                        causes: vec![step.number],
                    }),
                }
            }
        }
    }
    remedied_faults
}
