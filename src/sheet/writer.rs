//! The context for composing the content of one job.

use super::kit::Kit;
use super::serials;
use crate::job::{Job, ReferenceTarget};
use crate::page::text::minutes;
use crate::page::{FigureSize, HeadText, JobId, LinkTarget, OutputContext, PageContext, TextRun};
use crate::rehearsal::{Rehearsal, State};

/// Composes the content of one job, or of one fault table on one machine.
#[derive(Clone, Copy)]
pub(crate) struct Writer<'w, 'a> {
    pub(crate) context: PageContext<'w>,
    pub(crate) job: &'w Job<'a>,
    pub(crate) rehearsal: &'w Rehearsal<'a>,
    /// The machine's state after each step. Empty if the states are not printed.
    pub(crate) states: &'w [State<'a>],
    /// Whether step numbers are steps or causes.
    pub(crate) numbered: Numbered,
    /// Whether the page has the job's figures. Otherwise a reference to a figure names the shop
    /// sheet.
    pub(crate) has_figures: bool,
    /// The number of the step whose text is written, whose figure gives parts their numbers, and the size of the figure.
    pub(crate) at_step: Option<(u32, FigureSize)>,
}

/// What a step number counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Numbered {
    /// The steps of a job.
    Steps,
    /// The causes in a fault table.
    Causes,
}

impl<'w, 'a> Writer<'w, 'a> {
    /// A writer for a job.
    pub(crate) fn of_job(
        job: &'w Job<'a>,
        rehearsal: &'w Rehearsal<'a>,
        states: &'w [State<'a>],
        output: &'w OutputContext,
    ) -> Writer<'w, 'a> {
        Writer {
            context: PageContext {
                shop: job.shop,
                output,
            },
            job,
            rehearsal,
            states,
            numbered: Numbered::Steps,
            has_figures: true,
            at_step: None,
        }
    }

    /// A writer for a fault table, whose causes are stored as steps.
    pub(crate) fn of_fault(
        job: &'w Job<'a>,
        rehearsal: &'w Rehearsal<'a>,
        output: &'w OutputContext,
    ) -> Writer<'w, 'a> {
        Writer {
            numbered: Numbered::Causes,
            has_figures: false,
            ..Writer::of_job(job, rehearsal, &[], output)
        }
    }

    pub(crate) fn job_id(&self) -> JobId {
        JobId::new(&self.job.machine.id, &self.job.procedure.id)
    }

    pub(crate) fn kit(&self) -> Kit<'_, 'a> {
        Kit {
            context: self.context,
            jobs: std::slice::from_ref(&self.job),
        }
    }

    /// The text of the head of the job's sheets.
    pub(crate) fn head_text(&self) -> HeadText {
        let Job {
            machine, procedure, ..
        } = self.job;
        let engine = machine
            .engine
            .as_ref()
            .and_then(|engine| engine.kind.clone());
        let time = self.job.minutes.map(minutes);
        let time = time.map(|time| self.context.words().own(&time).into_owned());
        let [serial_numbers, fitted] = serials::facts(self.context, machine);
        let facts = [
            serial_numbers,
            fitted,
            ("engine", engine),
            ("time-allowed", time),
            (
                "interval",
                Some(self.context.intervals(procedure))
                    .filter(|intervals| !intervals.is_empty())
                    .map(|intervals| intervals.join("; ")),
            ),
        ];
        HeadText {
            title: procedure.title.value.clone(),
            machine: Some(machine.name.value.clone()),
            revision: Some(procedure.revision),
            revised: procedure.revised.clone(),
            facts: facts
                .into_iter()
                .filter_map(|(key, text)| Some((key, text?)))
                .collect(),
            entries: &["job-number", "serial-number", "date", "mechanic"],
            serials: serials::spans(self.context.shop, machine),
        }
    }

    /// "step 4", or "cause 4" in a fault table.
    pub(crate) fn step_name(&self, number: u32) -> String {
        let key = match self.numbered {
            Numbered::Causes => "cause",
            Numbered::Steps => "step",
        };
        let values = [("number", &*number.to_string())];
        self.context.words().format(key, &values)
    }

    /// A link to a target of the job's references, or its text alone if pages have no such target.
    /// `name` is the target's name, if the text says something else.
    pub(crate) fn link(
        &self,
        place: ReferenceTarget<'_>,
        runs: Vec<TextRun>,
        name: Option<String>,
    ) -> Vec<TextRun> {
        let machine = &self.job.machine.id;
        let target = match place {
            // A reader sees a whole fault table at once, so its rows are not link targets.
            ReferenceTarget::Step(_) if self.numbered == Numbered::Causes => None,
            ReferenceTarget::Step(step) => Some(LinkTarget::Step {
                job: self.job_id(),
                step,
            }),
            ReferenceTarget::Procedure(procedure) => {
                Some(LinkTarget::Job(JobId::new(machine, &procedure.id)))
            }
            ReferenceTarget::Fault(fault) => {
                Some(LinkTarget::fault(JobId::new(machine, &fault.id)))
            }
            // Figures are printed beside their steps, with their numbers.
            ReferenceTarget::Figure(_) => None,
        };
        let Some(target) = target else {
            let is_single_run = runs.len() == 1;
            let mut text = if is_single_run {
                runs
            } else {
                vec![TextRun::Emphasis { runs }]
            };
            text.extend(name.map(|name| TextRun::text(format!(" ({name})"))));
            return text;
        };
        vec![TextRun::Link { target, runs, name }]
    }
}
