//! The output's front page.

use super::words::minutes;
use super::{DEFERENCE, Index, IndexJob, IndexLeaf, IndexMachine, LeafKind, path};
use crate::job::Job;
use crate::shop::Shop;

/// The front page of some jobs; `has_pdf` says whether a leaf's PDF is made.
#[must_use]
pub fn index(shop: &Shop, jobs: &[&Job<'_>], has_pdf: impl Fn(&str) -> bool) -> Index {
    let mut machines: Vec<IndexMachine> = Vec::new();
    for machine in shop.machines.values() {
        let mut of_machine: Vec<&Job<'_>> = jobs
            .iter()
            .copied()
            .filter(|job| job.machine.id == machine.id)
            .collect();
        if of_machine.is_empty() {
            continue;
        }
        of_machine.sort_by_key(|job| (&job.procedure.system, &job.procedure.title.value));
        let entries = of_machine.into_iter().map(|job| {
            let leaves = LeafKind::ALL.map(|kind| {
                let path = path(&machine.id, &job.procedure.id, kind);
                IndexLeaf {
                    title: kind.title(),
                    pdf: has_pdf(&path),
                    path,
                }
            });
            IndexJob {
                system: shop.system_title(&job.procedure.system),
                title: job.procedure.title.value.clone(),
                time: job.minutes.map(minutes),
                interval: job.procedure.interval.clone(),
                leaves: leaves.to_vec(),
            }
        });
        machines.push(IndexMachine {
            name: machine.name.value.clone(),
            id: machine.id.clone(),
            about: machine
                .engine
                .as_ref()
                .and_then(|engine| engine.kind.clone()),
            jobs: entries.collect(),
        });
    }
    machines.sort_by(|a, b| a.name.cmp(&b.name));
    let mut notices = vec![DEFERENCE.to_owned()];
    notices.extend(shop.notices.iter().cloned());
    Index {
        shop: shop.name.clone(),
        language: shop.language.clone(),
        data_note: shop.data_note.clone(),
        notices,
        machines,
    }
}
