//! The output's front page.

use super::desk::notices;
use super::text::minutes;
use super::{Index, IndexJob, IndexLeaf, IndexMachine, Leaf, LeafKind, Setting, path};
use crate::job::Job;
use crate::shop::Shop;

/// The front page of one edition. `leaves` are its leaves; `has_pdf` says whether a leaf's PDF is
/// made.
#[must_use]
pub fn index(
    shop: &Shop,
    jobs: &[&Job<'_>],
    leaves: &[&Leaf],
    setting: &Setting,
    has_pdf: impl Fn(&str) -> bool,
) -> Index {
    let words = &setting.edition.words;
    // A leaf of the edition, as the front page links it; none where it is not made.
    let link = |path: &str| {
        let path = setting.edition.path(path);
        let leaf = leaves.iter().find(|leaf| leaf.head.path == path)?;
        Some(IndexLeaf {
            title: leaf.head.kind_title.clone(),
            pdf: has_pdf(&path),
            path,
        })
    };
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
        let entries = of_machine.into_iter().map(|job| IndexJob {
            system: shop.system_title(&job.procedure.system),
            title: job.procedure.title.value.clone(),
            time: job.minutes.map(minutes),
            interval: job.procedure.interval.clone(),
            leaves: LeafKind::OF_JOB
                .iter()
                .filter_map(|kind| link(&path(&machine.id, &job.procedure.id, *kind)))
                .collect(),
        });
        let jobs = entries.collect();
        // By its path: two machines may have one name.
        let folder = setting.edition.path(&format!("{}/", machine.id));
        let own = leaves.iter().filter(|leaf| {
            leaf.head.path.starts_with(&folder) && !LeafKind::OF_JOB.contains(&leaf.kind)
        });
        machines.push(IndexMachine {
            name: machine.name.value.clone(),
            id: machine.id.clone(),
            about: machine
                .engine
                .as_ref()
                .and_then(|engine| engine.kind.clone()),
            leaves: own
                .map(|leaf| IndexLeaf {
                    title: if leaf.kind == LeafKind::FaultTable {
                        leaf.head.title.clone()
                    } else {
                        leaf.head.kind_title.clone()
                    },
                    pdf: has_pdf(&leaf.head.path),
                    path: leaf.head.path.clone(),
                })
                .collect(),
            jobs,
        });
    }
    machines.sort_by(|a, b| a.name.cmp(&b.name));
    let of_shop = leaves.iter().filter(|leaf| leaf.head.machine.is_none());
    Index {
        shop: shop.name.clone(),
        language: setting.edition.language.clone(),
        path: setting.edition.path("index"),
        data_note: shop.data_note.clone(),
        notices: notices(shop, words),
        machines,
        leaves: of_shop
            .filter_map(|leaf| {
                let in_first = leaf.head.path.strip_prefix(&setting.edition.prefix)?;
                link(in_first)
            })
            .collect(),
        translations: setting.translations("index"),
    }
}
