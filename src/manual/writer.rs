//! What is at hand while a manual is written, and the order of its parts.

use super::book::{CautionUse, Chapter, Manual, ManualHead, ManualPiece};
use crate::job::{Job, JobStep, Phase, Thing};
use crate::page::{
    Block, JobId, LinkTarget, OutputContext, PageContext, PageId, SheetKind, SignalWord,
    map_links_of_blocks, mark, paper,
};
use crate::prose::Verb;
use crate::rehearsal::Rehearsal;
use crate::sheet::{book_blocks, cautions};
use crate::shop::{Machine, Shop};
use crate::tree::Tree;
use crate::words::Words;
use std::collections::{BTreeMap, BTreeSet};

/// A job and how its rehearsal went.
pub(crate) type JobAndRehearsal<'c, 'a> = (&'c Job<'a>, &'c Rehearsal<'a>);

/// What a manual is made of.
#[derive(Clone, Debug)]
pub(crate) struct ManualContent<'c, 'a> {
    /// The machines whose data it has.
    pub(crate) machines: Vec<&'a Machine>,
    /// The jobs. Steps of a procedure whose own job is not among them are in the jobs that they
    /// are part of.
    pub(crate) jobs: Vec<JobAndRehearsal<'c, 'a>>,
    /// The fault tables.
    pub(crate) faults: Vec<JobAndRehearsal<'c, 'a>>,
    /// The systems that were asked for, by their folders; none where it is of all.
    pub(crate) systems: Vec<String>,
    /// Which page of the output it is.
    pub(crate) page: PageId,
}

/// The manual, in an edition.
#[must_use]
pub(crate) fn manual(
    tree: &Tree,
    shop: &Shop,
    content: &ManualContent<'_, '_>,
    output: &OutputContext,
) -> Manual {
    let several = |procedure: &str| {
        let mut jobs = content.jobs.iter();
        jobs.by_ref()
            .filter(|(job, _)| job.procedure.id == procedure)
            .nth(1)
            .is_some()
    };
    let book = Book {
        tree,
        shop,
        content,
        output,
        own: content
            .jobs
            .iter()
            .map(|(job, _)| (job_id(job), *job))
            .collect(),
        faults: content.faults.iter().map(|(job, _)| job_id(job)).collect(),
        for_several: content
            .jobs
            .iter()
            .map(|(job, _)| job.procedure.id.as_str())
            .filter(|id| several(id))
            .collect(),
    };
    book.write()
}

pub(super) fn job_id(job: &Job<'_>) -> JobId {
    JobId::new(&job.machine.id, &job.procedure.id)
}

pub(super) fn job_place(job: &Job<'_>) -> LinkTarget {
    LinkTarget::Job(job_id(job))
}

pub(super) fn fault_place(fault: &Job<'_>) -> LinkTarget {
    LinkTarget::fault(job_id(fault))
}

/// Writes a manual.
pub(super) struct Book<'b, 'a> {
    pub(super) tree: &'b Tree,
    pub(super) shop: &'b Shop,
    pub(super) content: &'b ManualContent<'b, 'a>,
    pub(super) output: &'b OutputContext,
    /// Each job.
    pub(super) own: BTreeMap<JobId, &'b Job<'a>>,
    /// The fault tables.
    faults: BTreeSet<JobId>,
    /// The procedures that are in the manual for more than one machine.
    pub(super) for_several: BTreeSet<&'b str>,
}

/// Places of parts, by machine and part: for the index.
pub(super) type Uses = BTreeMap<(String, String), BTreeSet<LinkTarget>>;

/// The row of each cause, by fault table and the cause's number.
pub(super) type Causes = BTreeMap<(JobId, u32), LinkTarget>;

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
            page: self.content.page.clone(),
            head: self.head(),
            chapters,
        };
        manual.head.mark = mark(&manual);
        manual
    }

    pub(super) fn words(&self) -> &'b Words {
        &self.output.edition.words
    }

    pub(super) fn word(&self, key: &str) -> String {
        self.words().get(key).to_owned()
    }

    pub(super) fn context(&self) -> PageContext<'b> {
        PageContext {
            shop: self.shop,
            output: self.output,
        }
    }

    /// Where a link of a text leads in the manual; none where the manual has no such place. `steps` are
    /// the places of the steps that the text may refer to, by their numbers.
    pub(super) fn place(
        &self,
        target: &LinkTarget,
        steps: &BTreeMap<u32, LinkTarget>,
    ) -> Option<LinkTarget> {
        match target {
            LinkTarget::Web(_) => Some(target.clone()),
            LinkTarget::Step { step, .. } => steps.get(step).cloned(),
            LinkTarget::Job(job) => self.own.contains_key(job).then(|| target.clone()),
            LinkTarget::Page(PageId::JobSheet(SheetKind::FaultTable, fault)) => {
                self.faults.contains(fault).then(|| target.clone())
            }
            _ => None,
        }
    }

    /// Blocks as the manual shows them, their links led to its places.
    pub(super) fn blocks(
        &self,
        blocks: Vec<Block>,
        steps: &BTreeMap<u32, LinkTarget>,
    ) -> Vec<Block> {
        let to = |target: &LinkTarget| self.place(target, steps);
        map_links_of_blocks(book_blocks(blocks), &to)
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
            language: self.output.edition.language.clone(),
            paper: paper(self.shop),
            data_note: self.shop.data_note.clone(),
            revised: all
                .filter_map(|(job, _)| job.procedure.revised.clone())
                .max(),
            mark: String::new(),
            entries: ["copy-number", "kept-at", "bound-on"]
                .map(|key| self.word(key))
                .to_vec(),
        }
    }

    /// The jobs of one machine.
    pub(super) fn jobs_of(&self, machine: &Machine) -> Vec<&'b Job<'a>> {
        let jobs = self.content.jobs.iter().map(|(job, _)| *job);
        jobs.filter(|job| job.machine.id == machine.id).collect()
    }

    /// The manual's systems in the shop's order, each with its procedures and their jobs.
    pub(super) fn systems(&self) -> Vec<(&'a str, Vec<Vec<JobAndRehearsal<'b, 'a>>>)> {
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
            order.map_or(usize::MAX, crate::record::Id::index)
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
        let mut systems: Vec<(&str, Vec<Vec<JobAndRehearsal<'_, '_>>>)> = Vec::new();
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
pub(super) fn met(jobs: &[&Job<'_>]) -> Option<ManualPiece> {
    let messages = cautions(jobs.iter().copied())
        .into_iter()
        .map(|caution| CautionUse {
            word: SignalWord::from(caution.word),
            hazard: caution.hazard.clone(),
            to: LinkTarget::Caution(caution.key.clone()),
        });
    let messages: Vec<CautionUse> = messages.collect();
    (!messages.is_empty()).then_some(ManualPiece::CautionUses { messages })
}

/// A heading that the contents list.
pub(super) fn heading(
    level: u8,
    title: impl Into<String>,
    places: impl IntoIterator<Item = LinkTarget>,
) -> ManualPiece {
    ManualPiece::Heading {
        level,
        listed: true,
        title: title.into(),
        places: places.into_iter().collect(),
    }
}

/// Notes each place where an action is on a part.
pub(super) fn note_uses(uses: &mut Uses, job: &Job<'_>, step: &JobStep<'_>, place: &LinkTarget) {
    for action in step.all_actions() {
        if let (Thing::Part(part), true) = (action.thing, action.verb != Verb::See) {
            let key = (job.machine.id.clone(), part.key.clone());
            uses.entry(key).or_default().insert(place.clone());
        }
    }
}

/// A chapter; each begins a new page.
pub(super) fn chapter(
    outer: impl Into<String>,
    inner: impl Into<String>,
    pieces: Vec<ManualPiece>,
) -> Chapter {
    Chapter {
        outer: outer.into(),
        inner: inner.into(),
        pieces,
    }
}
