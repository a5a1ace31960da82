//! Jobs become [`Leaf`]s: what is on the page, for any medium.
//!
//! Comes in: jobs and their rehearsals, or a machine with its jobs. Goes out:
//! leaves, plain data that serialises, with every value printed, every number
//! and every blank in place. It knows no medium: nothing here says how anything
//! looks.

mod fault;
mod front;
mod instruction;
mod kit;
mod machine;
mod safety;
mod search;
mod sign;
mod state;
mod steps;
mod summary;
mod uses;

use crate::dry_run::{Rehearsal, State};
use crate::job::{Job, Place};
use crate::page::{Block, Desk, Leaf, LeafKind, Naming, Run, Setting, Target, path, text};
use kit::Kit;
pub use kit::{kit_of, kit_path};
pub(crate) use machine::MachineWriter;
pub use machine::of_machine;
pub(crate) use safety::cautions;
pub use search::{SearchKind, SearchPiece};
pub(crate) use steps::fastener;
pub use summary::Summary;
pub use uses::{Use, uses, where_used};

/// A leaf of a job: one of [`LeafKind::OF_JOB`], or a fault table.
#[must_use]
pub fn make(kind: LeafKind, job: &Job<'_>, rehearsal: &Rehearsal<'_>, setting: &Setting) -> Leaf {
    // Only where it is said what state the machine is in.
    let has_stops = matches!(kind, LeafKind::ShopSheet | LeafKind::BenchChecklist);
    let states = if has_stops {
        crate::dry_run::states(job)
    } else {
        Vec::new()
    };
    let writer = Writer {
        desk: Desk {
            shop: job.shop,
            setting,
            kind,
            is_site: false,
        },
        job,
        rehearsal,
        states: &states,
    };
    let blocks = match kind {
        LeafKind::BenchChecklist => writer.bench_checklist(),
        LeafKind::KitList => writer.of_kit().blocks(),
        LeafKind::FaultTable => writer.fault_table(),
        _ => writer.shop_sheet(),
    };
    writer.desk.leaf(writer.naming(), blocks)
}

/// Writes one leaf of a job.
#[derive(Clone, Copy)]
pub(crate) struct Writer<'w, 'a> {
    pub(crate) desk: Desk<'w>,
    pub(crate) job: &'w Job<'a>,
    pub(crate) rehearsal: &'w Rehearsal<'a>,
    /// The machine's state after each step.
    pub(crate) states: &'w [State<'a>],
}

impl<'a> Writer<'_, 'a> {
    pub(crate) fn of_kit(&self) -> Kit<'_, 'a> {
        Kit {
            desk: self.desk,
            jobs: std::slice::from_ref(&self.job),
        }
    }

    fn naming(&self) -> Naming {
        let Job {
            machine, procedure, ..
        } = self.job;
        let engine = machine
            .engine
            .as_ref()
            .and_then(|engine| engine.kind.clone());
        let facts = [
            ("engine", engine),
            ("time-allowed", self.job.minutes.map(text::minutes)),
            ("interval", procedure.interval.clone()),
        ];
        Naming {
            title: procedure.title.value.clone(),
            machine: Some(machine.name.value.clone()),
            revision: Some(procedure.revision),
            revised: procedure.revised.clone(),
            facts: facts
                .into_iter()
                .filter_map(|(key, text)| Some((key, text?)))
                .collect(),
            entries: &["job-number", "serial-number", "date", "mechanic"],
            path: path(&machine.id, &procedure.id, self.desk.kind),
        }
    }

    fn shop_sheet(&self) -> Vec<Block> {
        let mut blocks = vec![self.desk.notices()];
        blocks.extend(self.why());
        blocks.extend(self.cures());
        blocks.extend(self.safety());
        blocks.extend(self.make_safe());
        blocks.extend(self.of_kit().tools());
        blocks.extend(self.of_kit().kit());
        blocks.extend(self.values());
        blocks.extend(self.places());
        blocks.extend(self.readings());
        blocks.extend(self.sections());
        blocks.extend(self.left_on_purpose());
        blocks.push(self.sign_off());
        blocks.push(self.desk.wrong_here());
        blocks
    }

    fn bench_checklist(&self) -> Vec<Block> {
        let mut blocks: Vec<Block> = self.protection().into_iter().collect();
        blocks.extend(self.sections());
        blocks.extend(self.left_on_purpose());
        blocks.push(self.sign_off());
        blocks.push(self.desk.wrong_here());
        blocks.push(self.desk.notices());
        blocks
    }

    /// A link to a place, or its text alone where it leads nowhere in this run.
    fn link(&self, place: Place<'_>, runs: Vec<Run>) -> Run {
        let target = match place {
            // A table's rows have no anchors; it is seen whole.
            Place::Step(_) if self.desk.kind == LeafKind::FaultTable => None,
            Place::Step(number) => Some(Target::Here {
                anchor: text::step_anchor(number),
            }),
            Place::Procedure(procedure) => {
                let kind = match self.desk.kind {
                    LeafKind::FaultTable => LeafKind::ShopSheet,
                    kind => kind,
                };
                self.desk
                    .job_target(&self.job.machine.id, &procedure.id, kind)
            }
            Place::Fault(fault) => self.fault_target(fault),
            // Figures stand beside their steps, with numbers of their own.
            Place::Figure(_) => None,
        };
        match target {
            Some(target) => Run::Link { target, runs },
            None if runs.len() == 1 => runs.into_iter().next().unwrap_or(Run::Break),
            None => Run::Emphasis { runs },
        }
    }
}
