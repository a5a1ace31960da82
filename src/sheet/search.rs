//! What the search has to know of one job.

use super::writer::Writer;
use crate::job::Job;
use crate::page::{Block, OutputContext, TextRun, plain};
use crate::rehearsal::Rehearsal;

/// What the search has to know of one job, or of one fault table on one machine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct SearchPiece {
    pub(crate) kind: SearchKind,
    /// The procedure's or the fault table's id.
    pub(crate) id: String,
    pub(crate) machine: String,
    pub(crate) title: String,
    /// A job's system; the complaint and the causes of a fault table.
    pub(crate) texts: Vec<String>,
    /// The steps that are its own, each with its number on the job's shop sheet.
    pub(crate) steps: Vec<(u32, String)>,
}

impl SearchPiece {
    /// A job's piece. Only the steps that are written in its own procedure are in it: what is begun,
    /// done or finished as part of it is found under the procedure that says it.
    #[must_use]
    pub(crate) fn of_job(
        job: &Job<'_>,
        rehearsal: &Rehearsal<'_>,
        output: &OutputContext,
    ) -> SearchPiece {
        let writer = Writer::of_job(job, rehearsal, &[], output);
        let own = job
            .steps()
            .filter(|step| step.origin.id == job.procedure.id);
        let steps = own.map(|step| (step.number, writer.said(step)));
        SearchPiece {
            texts: vec![job.shop.system_title(&job.procedure.system)],
            steps: steps.collect(),
            ..SearchPiece::named(SearchKind::Procedure, job)
        }
    }

    /// A fault table's piece: the complaint, and each cause with its test and its remedy.
    #[must_use]
    pub(crate) fn of_fault(
        job: &Job<'_>,
        rehearsal: &Rehearsal<'_>,
        output: &OutputContext,
    ) -> SearchPiece {
        let writer = Writer::of_fault(job, rehearsal, output);
        let complaint = job.procedure.why.iter();
        let complaint = complaint.filter_map(|block| match writer.text(block)? {
            Block::Text { runs } => Some(plain(&runs)),
            Block::Bullets { items } => {
                let items: Vec<String> = items.iter().map(|runs| plain(runs)).collect();
                Some(items.join(" "))
            }
            _ => None,
        });
        let causes = job.steps().map(|step| writer.said(step));
        SearchPiece {
            texts: complaint.chain(causes).collect(),
            ..SearchPiece::named(SearchKind::Fault, job)
        }
    }

    fn named(kind: SearchKind, job: &Job<'_>) -> SearchPiece {
        SearchPiece {
            kind,
            id: job.procedure.id.clone(),
            machine: job.machine.id.clone(),
            title: job.procedure.title.value.clone(),
            texts: Vec::new(),
            steps: Vec::new(),
        }
    }
}

impl Writer<'_, '_> {
    /// A step and its notes, as the sheet says them, without their dress.
    fn said(&self, step: &crate::job::JobStep<'_>) -> String {
        let paragraphs = std::iter::once(&*step.text).chain(step.notes.iter().map(Vec::as_slice));
        let said: Vec<String> = paragraphs
            .map(|inlines| {
                let runs: Vec<TextRun> = self.runs(inlines, &step.actions);
                plain(&runs)
            })
            .collect();
        said.join(" ")
    }
}

/// What kind of thing is found. This is also their order in an index.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum SearchKind {
    /// A machine.
    Machine,
    /// A procedure, on all its machines.
    Procedure,
    /// A fault table, on one machine.
    Fault,
    /// A part, of one machine.
    Part,
    /// A reading, of one machine.
    Reading,
    /// A tool.
    Tool,
    /// A supply.
    Supply,
    /// A safety message.
    Caution,
    /// A word of the glossary.
    Term,
}

impl SearchKind {
    /// All of them, in order.
    pub(crate) const ALL: [SearchKind; 9] = [
        SearchKind::Machine,
        SearchKind::Procedure,
        SearchKind::Fault,
        SearchKind::Part,
        SearchKind::Reading,
        SearchKind::Tool,
        SearchKind::Supply,
        SearchKind::Caution,
        SearchKind::Term,
    ];
}
