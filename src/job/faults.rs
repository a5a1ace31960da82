//! Which fault tables lead to which jobs.

use super::{Cure, Job, Place};
use crate::procedure::Cause;
use crate::prose;
use std::collections::BTreeMap;

/// Tells each job the fault tables that lead to it, with their causes.
pub(super) fn cure<'a>(jobs: &mut [Job<'a>], faults: &[Job<'a>]) {
    let mut cures: BTreeMap<(&str, &str), Vec<Cure<'a>>> = BTreeMap::new();
    for fault in faults {
        for step in fault.steps() {
            let mend = Cause::of(step.notes).mend.unwrap_or_default();
            for action in prose::actions(mend) {
                let Some(Place::Procedure(procedure)) = fault.places.get(&action.span) else {
                    continue;
                };
                let of_job = cures.entry((&fault.machine.id, &procedure.id)).or_default();
                match of_job.last_mut() {
                    Some(last) if last.fault.id == fault.procedure.id => {
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
    for job in jobs {
        let key = (job.machine.id.as_str(), job.procedure.id.as_str());
        job.cures = cures.remove(&key).unwrap_or_default();
    }
}
