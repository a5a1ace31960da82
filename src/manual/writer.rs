//! The context for composing a manual, and the order of its parts.

use super::book::{CautionUse, Chapter, Manual, ManualHead, ManualPiece};
use super::figures::figures;
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

/// A job and its rehearsal.
pub(crate) type JobAndRehearsal<'c, 'a> = (&'c Job<'a>, &'c Rehearsal<'a>);

/// The input of a manual.
#[derive(Clone, Debug)]
pub(crate) struct ManualContent<'c, 'a> {
    /// The machines whose data the manual has.
    pub(crate) machines: Vec<&'a Machine>,
    /// The jobs in the manual. If a job includes a procedure that has no job of its own here, its
    /// steps are printed with the job.
    pub(crate) jobs: Vec<JobAndRehearsal<'c, 'a>>,
    pub(crate) faults: Vec<JobAndRehearsal<'c, 'a>>,
    /// The folders of the requested systems. Empty for all systems.
    pub(crate) systems: Vec<String>,
    /// Whether the reference of the rules is an appendix.
    pub(crate) rules_appendix: bool,
    pub(crate) page: PageId,
}

/// Composes a manual in the language of `output`.
#[must_use]
pub(crate) fn manual(
    tree: &Tree,
    shop: &Shop,
    content: &ManualContent<'_, '_>,
    output: &OutputContext,
) -> Manual {
    let is_on_several = |procedure: &str| {
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
        jobs: content
            .jobs
            .iter()
            .map(|(job, _)| (job_id(job), *job))
            .collect(),
        faults: content.faults.iter().map(|(job, _)| job_id(job)).collect(),
        on_several_machines: content
            .jobs
            .iter()
            .map(|(job, _)| job.procedure.id.as_str())
            .filter(|id| is_on_several(id))
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

/// The context for composing a manual.
pub(super) struct Book<'b, 'a> {
    pub(super) tree: &'b Tree,
    pub(super) shop: &'b Shop,
    pub(super) content: &'b ManualContent<'b, 'a>,
    pub(super) output: &'b OutputContext,
    /// The jobs in the manual, by id.
    pub(super) jobs: BTreeMap<JobId, &'b Job<'a>>,
    faults: BTreeSet<JobId>,
    /// The ids of the procedures that the manual has for more than one machine.
    pub(super) on_several_machines: BTreeSet<&'b str>,
}

/// The link targets where each part is used, by machine and part, for the index.
pub(super) type Uses = BTreeMap<(String, String), BTreeSet<LinkTarget>>;

/// The table row of each cause, by fault table and the cause's number.
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
        chapters.push(self.glossary());
        if self.content.rules_appendix {
            chapters.extend(self.rules());
        }
        chapters.extend(self.index(&uses));
        let mut manual = Manual {
            page: self.content.page.clone(),
            head: self.head(),
            figures: figures(&chapters),
            chapters,
            outside: BTreeMap::new(),
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

    /// Resolves the target of a link to a target in the manual. `None` if the manual does not have
    /// it. `steps` maps the numbers of the steps that the text may refer to.
    pub(super) fn resolve(
        &self,
        target: &LinkTarget,
        steps: &BTreeMap<u32, LinkTarget>,
    ) -> Option<LinkTarget> {
        match target {
            LinkTarget::Web(_) => Some(target.clone()),
            LinkTarget::Step { step, .. } => steps.get(step).cloned(),
            LinkTarget::Job(job) => self.jobs.contains_key(job).then(|| target.clone()),
            LinkTarget::Page(PageId::JobSheet(SheetKind::FaultTable, fault)) => {
                self.faults.contains(fault).then(|| target.clone())
            }
            _ => None,
        }
    }

    /// Converts blocks for the manual and resolves their links.
    pub(super) fn blocks(
        &self,
        blocks: Vec<Block>,
        steps: &BTreeMap<u32, LinkTarget>,
    ) -> Vec<Block> {
        let resolve = |target: &LinkTarget| self.resolve(target, steps);
        map_links_of_blocks(book_blocks(blocks), &resolve)
    }

    fn head(&self) -> ManualHead {
        let content = self.content;
        let jobs = content.jobs.iter().chain(&content.faults);
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
            revised: jobs
                .filter_map(|(job, _)| job.procedure.revised.clone())
                .max(),
            mark: String::new(),
            entries: ["copy-number", "kept-at", "bound-on"]
                .map(|key| self.word(key))
                .to_vec(),
        }
    }

    /// The jobs of a machine, in the order of the content.
    pub(super) fn jobs_of(&self, machine: &Machine) -> Vec<&'b Job<'a>> {
        let jobs = self.content.jobs.iter().map(|(job, _)| *job);
        jobs.filter(|job| job.machine.id == machine.id).collect()
    }

    /// The manual's systems in the shop's order, each with its procedures and their jobs.
    pub(super) fn systems(&self) -> Vec<(&'a str, Vec<Vec<JobAndRehearsal<'b, 'a>>>)> {
        // Of those that the shop puts into no order, procedures that begin other jobs come first in their
        // system, and procedures that finish them come last.
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
        let machine = |job: &Job<'_>| job.machine.index;
        let mut jobs = self.content.jobs.clone();
        jobs.sort_by_key(|(job, _)| {
            let procedure = job.procedure;
            (
                self.shop.chapter_place(&procedure.system),
                self.shop.procedure_place(&procedure.system, &procedure.id),
                rank(&procedure.id),
                &procedure.title.value,
                &procedure.id,
                machine(job),
            )
        });
        let mut systems: Vec<(&str, Vec<Vec<JobAndRehearsal<'_, '_>>>)> = Vec::new();
        for rehearsed in jobs {
            let procedure = rehearsed.0.procedure;
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
                    jobs.push(rehearsed);
                }
                _ => procedures.push(vec![rehearsed]),
            }
        }
        systems
    }
}

/// The safety messages that apply to some jobs, by hazard. `None` if there are none.
pub(super) fn caution_uses(jobs: &[&Job<'_>]) -> Option<ManualPiece> {
    let messages = cautions(jobs.iter().copied())
        .into_iter()
        .map(|caution| CautionUse {
            word: SignalWord::from(caution.signal_word),
            hazard: caution.hazard.clone(),
            to: LinkTarget::Caution(caution.key.clone()),
        });
    let messages: Vec<CautionUse> = messages.collect();
    (!messages.is_empty()).then_some(ManualPiece::CautionUses { messages })
}

/// A heading that the table of contents lists.
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

/// Records the parts that a step acts on, for the index.
pub(super) fn record_uses(uses: &mut Uses, job: &Job<'_>, step: &JobStep<'_>, place: &LinkTarget) {
    for action in step.all_actions() {
        if let (Thing::Part(part), true) = (action.thing, action.verb != Verb::See) {
            let key = (job.machine.id.clone(), part.key.clone());
            uses.entry(key).or_default().insert(place.clone());
        }
    }
}

/// A chapter of a part of the manual.
pub(super) fn chapter(
    part: impl Into<String>,
    outer: impl Into<String>,
    inner: impl Into<String>,
    pieces: Vec<ManualPiece>,
) -> Chapter {
    Chapter {
        part: part.into(),
        has_columns: false,
        outer: outer.into(),
        inner: inner.into(),
        pieces,
    }
}
