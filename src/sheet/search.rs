//! The part of the search index that comes from one job.

use super::writer::Writer;
use crate::job::{Job, JobItem, JobStep};
use crate::page::{Block, OutputContext, TextRun, plain};
use crate::prose::ProseBlock;
use crate::rehearsal::Rehearsal;

/// The search entries of one job, or of one fault table on one machine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct SearchPiece {
    pub(crate) kind: SearchKind,
    /// The procedure's or the fault table's id.
    pub(crate) id: String,
    pub(crate) machine: String,
    pub(crate) title: String,
    /// For a job, the title of its system, which is always shown with the title.
    pub(crate) shown: Vec<String>,
    /// For a job, why it is done, and its interval. For a fault table, the complaint and the causes.
    pub(crate) texts: Vec<String>,
    /// The steps that are written in the job's own procedure, each with its number on the job's
    /// shop sheet. Empty for a fault table.
    pub(crate) steps: Vec<(u32, String)>,
}

impl SearchPiece {
    /// The search entries of a job. Steps of procedures that the job begins with, includes or ends
    /// with are left out: they are found under their own procedure.
    #[must_use]
    pub(crate) fn of_job(
        job: &Job<'_>,
        rehearsal: &Rehearsal<'_>,
        output: &OutputContext,
    ) -> SearchPiece {
        let writer = Writer::of_job(job, rehearsal, &[], output);
        let own_steps = job
            .steps()
            .filter(|step| step.origin.id == job.procedure.id);
        let steps = own_steps.map(|step| (step.number, writer.step_text(step)));
        let intervals = writer.context.intervals(job.procedure);
        SearchPiece {
            shown: vec![job.shop.system_title(&job.procedure.system)],
            texts: writer
                .introduction()
                .into_iter()
                .chain(intervals)
                .chain(writer.notes_between())
                .collect(),
            steps: steps.collect(),
            ..SearchPiece::named(SearchKind::Procedure, job)
        }
    }

    /// The search entries of a fault table: the complaint, and each cause with its test and its
    /// remedy.
    #[must_use]
    pub(crate) fn of_fault(
        job: &Job<'_>,
        rehearsal: &Rehearsal<'_>,
        output: &OutputContext,
    ) -> SearchPiece {
        let writer = Writer::of_fault(job, rehearsal, output);
        let causes = job.steps().map(|step| writer.step_text(step));
        SearchPiece {
            texts: writer
                .introduction()
                .into_iter()
                .chain(causes)
                .chain(writer.notes_between())
                .collect(),
            ..SearchPiece::named(SearchKind::Fault, job)
        }
    }

    fn named(kind: SearchKind, job: &Job<'_>) -> SearchPiece {
        SearchPiece {
            kind,
            id: job.procedure.id.clone(),
            machine: job.machine.id.clone(),
            title: job.procedure.title.value.clone(),
            shown: Vec::new(),
            texts: Vec::new(),
            steps: Vec::new(),
        }
    }
}

impl Writer<'_, '_> {
    /// The paragraphs before the first section: why a job is done, or the complaint of a fault table.
    fn introduction(&self) -> Vec<String> {
        let blocks = self.job.procedure.why.iter();
        let texts = blocks.filter_map(|block| match self.text(block)? {
            Block::Text { runs } | Block::Note { runs } => Some(plain(&runs)),
            Block::Bullets { items } => {
                let items: Vec<String> = items.iter().map(|runs| plain(runs)).collect();
                Some(items.join(" "))
            }
            _ => None,
        });
        texts.collect()
    }

    /// The notes between the steps of the job's own procedure.
    fn notes_between(&self) -> impl Iterator<Item = String> {
        let own = self.job.sections.iter();
        let own = own.filter(|section| section.origin.id == self.job.procedure.id);
        let items = own.flat_map(|section| &section.items);
        items.filter_map(|item| match item {
            JobItem::Text(ProseBlock::Note(note)) => Some(plain(&self.note(note))),
            _ => None,
        })
    }

    /// The text of a step, its paragraphs and the notes above it as on the sheet, without markup.
    fn step_text(&self, step: &JobStep<'_>) -> String {
        let paragraphs = std::iter::once(&*step.text).chain(step.notes.iter().map(Vec::as_slice));
        let paragraphs = paragraphs.map(|inlines| {
            let runs: Vec<TextRun> = self.runs(inlines, &step.actions);
            plain(&runs)
        });
        let notes = step.above.iter().map(|note| plain(&self.note(note)));
        let texts: Vec<String> = paragraphs.chain(notes).collect();
        texts.join(" ")
    }
}

/// The kinds of search results, in the order of an index.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum SearchKind {
    Machine,
    /// A procedure on all of its machines.
    Procedure,
    /// A fault table on one machine.
    Fault,
    /// A part of one machine.
    Part,
    /// A reading of one machine.
    Reading,
    /// What one machine is filled with.
    Fluid,
    Tool,
    Supply,
    Caution,
    /// A glossary term.
    Term,
    /// A rule of the check.
    Rule,
}

impl SearchKind {
    pub(crate) const ALL: [SearchKind; 11] = [
        SearchKind::Machine,
        SearchKind::Procedure,
        SearchKind::Fault,
        SearchKind::Part,
        SearchKind::Reading,
        SearchKind::Fluid,
        SearchKind::Tool,
        SearchKind::Supply,
        SearchKind::Caution,
        SearchKind::Term,
        SearchKind::Rule,
    ];
}
