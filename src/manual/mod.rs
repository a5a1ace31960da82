//! The bound manual: all that a shop knows of some machines, in one book.
//!
//! A job's sheet has every step of it, those of the procedures that begin and
//! finish it, too; a book would print making safe fifty times. So each
//! procedure's own steps stand once a machine, with the numbers they have on
//! the job's sheet, and a line in the place of others' steps says where those
//! are. Values, messages and marks are those of the sheets.

mod back;
mod book;
mod fault;
mod front;
mod job;
mod machine;
mod way;

use crate::dry_run::{Rehearsal, State};
use crate::job::{Job, Phase, Thing};
use crate::page::{Block, Cell, Desk, LeafKind, Setting, SignalWord, Table, mark, paper, path};
use crate::procedure::Procedure;
use crate::prose::Verb;
use crate::sheet::{Writer, cautions};
use crate::shop::{Caution, Machine, Shop};
use crate::tree::Tree;
use crate::words::Words;
pub use book::{Chapter, IndexEntry, IndexLine, Manual, ManualHead, Meaning, Met, Need, Piece};
use std::collections::{BTreeMap, BTreeSet};
use way::Way;

/// A job and how its rehearsal went.
pub type Gone<'c, 'a> = (&'c Job<'a>, &'c Rehearsal<'a>);

/// What a manual is made of.
#[derive(Clone, Debug)]
pub struct ManualContent<'c, 'a> {
    /// The machines whose data it has.
    pub machines: Vec<&'a Machine>,
    /// The jobs. Steps of a procedure whose own job is not among them stand in the jobs that they
    /// are part of.
    pub jobs: Vec<Gone<'c, 'a>>,
    /// The fault tables.
    pub faults: Vec<Gone<'c, 'a>>,
    /// The systems that were asked for, by their folders; none where it is of all.
    pub systems: Vec<String>,
    /// Where it stands in the output of the first edition, without an ending.
    pub path: String,
}

/// The manual, in the edition of a setting.
#[must_use]
pub fn manual(
    tree: &Tree,
    shop: &Shop,
    content: &ManualContent<'_, '_>,
    setting: &Setting,
) -> Manual {
    let several = |procedure: &str| {
        let mut jobs = content.jobs.iter();
        jobs.by_ref()
            .filter(|(job, _)| job.procedure.id == procedure)
            .nth(1)
            .is_some()
    };
    let mut leaves = BTreeMap::new();
    let mut setting = setting.clone();
    let mut made = std::collections::BTreeSet::new();
    for (job, _) in &content.jobs {
        let path = path(&job.machine.id, &job.procedure.id, LeafKind::ShopSheet);
        leaves.insert(setting.edition.path(&path), job_anchor(job));
        made.insert(path);
    }
    for (fault, _) in &content.faults {
        let path = path(&fault.machine.id, &fault.procedure.id, LeafKind::FaultTable);
        leaves.insert(setting.edition.path(&path), fault_anchor(fault));
        made.insert(path);
    }
    setting.made = made.into();
    let book = Book {
        tree,
        shop,
        content,
        setting: &setting,
        leaves,
        own: content
            .jobs
            .iter()
            .map(|(job, _)| ((job.machine.id.as_str(), job.procedure.id.as_str()), *job))
            .collect(),
        for_several: content
            .jobs
            .iter()
            .map(|(job, _)| job.procedure.id.as_str())
            .filter(|id| several(id))
            .collect(),
    };
    book.write()
}

fn job_anchor(job: &Job<'_>) -> String {
    format!("job:{}/{}", job.machine.id, job.procedure.id)
}

fn fault_anchor(fault: &Job<'_>) -> String {
    format!("fault:{}/{}", fault.machine.id, fault.procedure.id)
}

fn machine_anchor(machine: &Machine) -> String {
    format!("machine:{}", machine.id)
}

fn procedure_anchor(procedure: &Procedure) -> String {
    format!("procedure:{}", procedure.id)
}

fn message_anchor(caution: &Caution) -> String {
    format!("safety:{}", caution.key)
}

/// A row's anchor, in a section that has one table.
fn row_anchor(section: &str, row: usize) -> String {
    format!("{section}/row-{}", row + 1)
}

/// Writes a manual.
struct Book<'b, 'a> {
    tree: &'b Tree,
    shop: &'b Shop,
    content: &'b ManualContent<'b, 'a>,
    setting: &'b Setting,
    /// Where leaves stand in the manual, by their paths.
    leaves: BTreeMap<String, String>,
    /// Each job, by machine and procedure.
    own: BTreeMap<(&'b str, &'b str), &'b Job<'a>>,
    /// The procedures that are in the manual for more than one machine.
    for_several: BTreeSet<&'b str>,
}

/// Places of parts, by machine and part: for the index.
type Uses = BTreeMap<(String, String), BTreeSet<String>>;

/// The row of each cause, by machine, fault table and the cause's number.
type Causes = BTreeMap<(String, String, u32), String>;

impl<'b, 'a> Book<'b, 'a> {
    fn write(&self) -> Manual {
        let mut uses = Uses::new();
        let (faults, causes) = self.faults(&mut uses);
        let mut chapters = vec![self.back_of_title()];
        chapters.push(self.control());
        chapters.push(self.safety());
        chapters.extend(self.machines(&mut uses));
        chapters.extend(self.procedures(&causes, &mut uses));
        chapters.extend(faults);
        chapters.extend(self.crib());
        chapters.extend(self.index(&uses));
        let mut manual = Manual {
            head: self.head(),
            anchors: chapters
                .iter()
                .flat_map(|chapter| &chapter.pieces)
                .flat_map(anchors)
                .collect(),
            chapters,
        };
        manual.head.mark = mark(&manual);
        manual
    }

    fn words(&self) -> &'b Words {
        &self.setting.edition.words
    }

    fn word(&self, key: &'b str) -> String {
        self.words().get(key).to_owned()
    }

    fn desk(&self, kind: LeafKind) -> Desk<'b> {
        Desk {
            shop: self.shop,
            setting: self.setting,
            kind,
            is_site: false,
        }
    }

    fn writer<'w>(
        &'w self,
        kind: LeafKind,
        (job, rehearsal): Gone<'b, 'a>,
        states: &'w [State<'a>],
    ) -> Writer<'w, 'a> {
        Writer {
            desk: self.desk(kind),
            job,
            rehearsal,
            states,
        }
    }

    /// How texts that refer to no step find their places.
    fn way<'w>(&'w self, prefix: &'w str, steps: &'w BTreeMap<u32, String>) -> Way<'w> {
        Way {
            words: self.words(),
            prefix,
            steps,
            leaves: &self.leaves,
        }
    }

    fn head(&self) -> ManualHead {
        let content = self.content;
        let all = content.jobs.iter().chain(&content.faults);
        ManualHead {
            title: self.word("manual-title"),
            systems: content
                .systems
                .iter()
                .map(|folder| self.shop.system_title(folder))
                .collect(),
            machines: content
                .machines
                .iter()
                .map(|machine| machine.name.value.clone())
                .collect(),
            shop: self.shop.name.clone(),
            logo: self.setting.logo.clone(),
            language: self.setting.edition.language.clone(),
            paper: paper(self.shop),
            data_note: self.shop.data_note.clone(),
            revised: all
                .filter_map(|(job, _)| job.procedure.revised.clone())
                .max(),
            mark: String::new(),
            entries: ["copy-number", "kept-at", "bound-on"]
                .map(|key| self.word(key))
                .to_vec(),
            path: self.setting.edition.path(&content.path),
        }
    }

    /// The jobs of one machine.
    fn jobs_of(&self, machine: &Machine) -> Vec<&'b Job<'a>> {
        let jobs = self.content.jobs.iter().map(|(job, _)| *job);
        jobs.filter(|job| job.machine.id == machine.id).collect()
    }

    /// The manual's systems in the shop's order, each with its procedures and their jobs.
    fn systems(&self) -> Vec<(&'a str, Vec<Vec<Gone<'b, 'a>>>)> {
        // What begins other jobs comes first in its system, what finishes them last.
        let (mut begun, mut finished) = (BTreeSet::new(), BTreeSet::new());
        for (job, _) in &self.content.jobs {
            for section in &job.sections {
                match section.phase {
                    Phase::Begin => begun.insert(section.origin.id.as_str()),
                    Phase::Finish => finished.insert(section.origin.id.as_str()),
                    Phase::Own => false,
                };
            }
        }
        let rank = |id: &str| match (begun.contains(id), finished.contains(id)) {
            (true, false) => 0,
            (false, true) => 2,
            _ => 1,
        };
        let system = |job: &Job<'_>| {
            let order = self.shop.systems.find(&job.procedure.system);
            order.map_or(usize::MAX, |id| id.index())
        };
        let machine = |job: &Job<'_>| job.machine.index;
        let mut jobs = self.content.jobs.clone();
        jobs.sort_by_key(|(job, _)| {
            let procedure = job.procedure;
            (
                system(job),
                &procedure.system,
                rank(&procedure.id),
                &procedure.title.value,
                &procedure.id,
                machine(job),
            )
        });
        let mut systems: Vec<(&str, Vec<Vec<Gone<'_, '_>>>)> = Vec::new();
        for gone in jobs {
            let procedure = gone.0.procedure;
            if systems
                .last()
                .is_none_or(|(last, _)| *last != procedure.system)
            {
                systems.push((&procedure.system, Vec::new()));
            }
            let Some((_, procedures)) = systems.last_mut() else {
                continue;
            };
            match procedures.last_mut() {
                Some(jobs)
                    if jobs
                        .last()
                        .is_some_and(|(job, _)| job.procedure.id == procedure.id) =>
                {
                    jobs.push(gone);
                }
                _ => procedures.push(vec![gone]),
            }
        }
        systems
    }
}

/// The messages that some jobs meet, by their hazards.
fn met(jobs: &[&Job<'_>]) -> Option<Piece> {
    let messages = cautions(jobs.iter().copied())
        .into_iter()
        .map(|caution| Met {
            word: SignalWord::from(caution.word),
            hazard: caution.hazard.clone(),
            to: message_anchor(caution),
        });
    let messages: Vec<Met> = messages.collect();
    (!messages.is_empty()).then_some(Piece::Met { messages })
}

fn heading(level: u8, title: impl Into<String>, anchor: impl Into<String>) -> Piece {
    Piece::Heading {
        level,
        listed: true,
        title: title.into(),
        anchors: vec![anchor.into()],
    }
}

/// Every place of a piece that a link may lead to.
fn anchors(piece: &Piece) -> Vec<String> {
    match piece {
        Piece::Heading { anchors, .. } => anchors.clone(),
        Piece::Blocks { blocks, .. } => blocks.iter().flat_map(anchors_of_block).collect(),
        Piece::Message { anchor, .. } | Piece::Elsewhere { anchor, .. } => vec![anchor.clone()],
        Piece::Facts { .. }
        | Piece::Needs { .. }
        | Piece::Met { .. }
        | Piece::SignalWords { .. }
        | Piece::Index { .. } => Vec::new(),
    }
}

fn anchors_of_block(block: &Block) -> Vec<String> {
    match block {
        Block::Section(section) => {
            let mut all = vec![section.anchor.clone()];
            all.extend(section.blocks.iter().flat_map(anchors_of_block));
            let rows = rows(&section.blocks).len();
            all.extend((0..rows).map(|row| row_anchor(&section.anchor, row)));
            all
        }
        Block::Steps { steps } => steps.iter().map(|step| step.anchor.clone()).collect(),
        Block::Stop(stop) => vec![stop.anchor.clone()],
        _ => Vec::new(),
    }
}

/// The rows of the table among a section's blocks.
fn rows(blocks: &[Block]) -> &[Vec<Cell>] {
    let table = blocks.iter().find_map(|block| match block {
        Block::Table(Table { rows, .. }) => Some(rows.as_slice()),
        _ => None,
    });
    table.unwrap_or_default()
}

/// Notes each place where an action is on a part.
fn note_uses(uses: &mut Uses, job: &Job<'_>, step: &crate::job::Step<'_>, anchor: &str) {
    for act in step.all_acts() {
        if let (Thing::Part(part), true) = (act.thing, act.verb != Verb::See) {
            let key = (job.machine.id.clone(), part.key.clone());
            uses.entry(key).or_default().insert(anchor.to_owned());
        }
    }
}

/// A chapter, where it has anything to say.
fn chapter(outer: impl Into<String>, inner: impl Into<String>, pieces: Vec<Piece>) -> Chapter {
    Chapter {
        outer: outer.into(),
        inner: inner.into(),
        pieces,
    }
}
