//! Jobs become [`Leaf`]s: what is on the page, for any medium.
//!
//! Comes in: jobs and their rehearsals, or a machine with its jobs. Goes out:
//! leaves, plain data that serialises, with every value printed, every number
//! and every blank in place. It knows no medium: nothing here says how anything
//! looks.

pub mod book;
mod desk;
mod edition;
mod fault;
mod front;
mod instruction;
mod kit;
mod machine;
mod manual;
mod page;
mod safety;
mod search;
mod sign;
pub mod site;
mod state;
mod steps;
mod summary;
mod text;
mod uses;

use crate::dry_run::{Rehearsal, State};
use crate::job::{Job, Place};
use crate::tree::Tree;
use desk::{Desk, Naming};
pub use edition::Edition;
use kit::Kit;
pub use kit::{kit_of, kit_path};
pub use machine::{machine_path, of_machine};
pub use manual::{Gone, ManualContent, manual};
pub use page::{
    Blank, Block, Cell, Column, Detail, Fact, Figure, Head, Leaf, LeafKind, Paper, Run,
    SafetyMessage, Section, Sign, SignLine, SignalWord, Step, Stop, Table, Target, Translation,
    Value,
};
pub use search::{SearchIndex, SearchKind, SearchPiece, SearchStep, SearchTerm, SearchThing};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
pub use summary::Summary;
pub use uses::{Use, uses, where_used};

/// What leaves need besides what they are about.
#[derive(Clone, Debug)]
pub struct Setting {
    /// Where each figure of the tree stands in the output.
    figures: BTreeMap<String, String>,
    /// The leaves that are made in this run, by their paths in the first edition: only these are
    /// linked to.
    made: Arc<BTreeSet<String>>,
    /// The language that the leaves are in.
    edition: Edition,
    /// All the languages that they are made in.
    editions: Vec<Edition>,
    /// Where the shop's logo stands in the output.
    pub logo: Option<String>,
}

impl Setting {
    /// The setting for a tree's leaves in one of its editions, when those at the paths in `made`
    /// are made.
    #[must_use]
    pub fn new(
        tree: &Tree,
        edition: &Edition,
        editions: &[Edition],
        made: impl Into<Arc<BTreeSet<String>>>,
    ) -> Setting {
        let figures = tree.figures.iter().map(|figure| {
            (
                figure.path.clone(),
                figure_path(&figure.path, &figure.bytes),
            )
        });
        Setting {
            figures: figures.collect(),
            made: made.into(),
            edition: edition.clone(),
            editions: editions.to_vec(),
            logo: None,
        }
    }

    /// Where a figure of the tree stands in the output, named by its content:
    /// a figure that changes gets another name, so no page shows a new one by mistake.
    #[must_use]
    pub fn figure(&self, path: &str) -> Option<&str> {
        self.figures.get(path).map(String::as_str)
    }

    /// Whether the page at a path of the first edition is made in this run.
    #[must_use]
    pub fn is_made(&self, path: &str) -> bool {
        self.made.contains(path)
    }

    /// The leaf at a path of the first edition, in the other editions.
    fn translations(&self, path: &str) -> Vec<Translation> {
        let others = self.editions.iter();
        others
            .filter(|edition| edition.language != self.edition.language)
            .map(|edition| Translation {
                language: edition.language.clone(),
                name: edition.words.get("language-name").to_owned(),
                path: edition.path(path),
            })
            .collect()
    }
}

fn figure_path(path: &str, bytes: &[u8]) -> String {
    let name = path.rsplit('/').next().unwrap_or(path);
    let (stem, ending) = name.rsplit_once('.').unwrap_or((name, "svg"));
    // A name from disk may hold anything; in an address it may not.
    let stem: String = stem
        .chars()
        .map(|letter| {
            if letter.is_ascii_alphanumeric() {
                letter.to_ascii_lowercase()
            } else {
                '-'
            }
        })
        .collect();
    let content = blake3::hash(bytes).to_hex();
    format!(
        "figures/{stem}-{}.{}",
        &content[..8],
        ending.to_ascii_lowercase()
    )
}

/// Where a job's leaf stands in the output of the first edition, without an ending.
#[must_use]
pub fn path(machine: &str, procedure: &str, kind: LeafKind) -> String {
    format!("{machine}/{procedure}-{}", kind.slug())
}

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
struct Writer<'w, 'a> {
    desk: Desk<'w>,
    job: &'w Job<'a>,
    rehearsal: &'w Rehearsal<'a>,
    /// The machine's state after each step.
    states: &'w [State<'a>],
}

impl<'a> Writer<'_, 'a> {
    fn of_kit(&self) -> Kit<'_, 'a> {
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
