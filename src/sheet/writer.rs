//! What is at hand while the pages of one job are written.

use super::kit::Kit;
use crate::job::{Job, ReferenceTarget};
use crate::page::text::minutes;
use crate::page::{HeadText, JobId, LinkTarget, OutputContext, PageContext, TextRun};
use crate::rehearsal::{Rehearsal, State};

/// Writes what pages say of one job, or of one fault table on one machine.
#[derive(Clone, Copy)]
pub(crate) struct Writer<'w, 'a> {
    pub(crate) desk: PageContext<'w>,
    pub(crate) job: &'w Job<'a>,
    pub(crate) rehearsal: &'w Rehearsal<'a>,
    /// The machine's state after each step; none where no page says it.
    pub(crate) states: &'w [State<'a>],
    /// What the job's steps are.
    pub(crate) numbered: Numbered,
    /// Whether the page has the job's figures, so that a reference need not say where they are.
    pub(crate) has_figures: bool,
}

/// What is numbered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Numbered {
    /// The steps of a job.
    Steps,
    /// The causes in a fault table.
    Causes,
}

impl<'w, 'a> Writer<'w, 'a> {
    /// A writer of a job's steps.
    pub(crate) fn of_job(
        job: &'w Job<'a>,
        rehearsal: &'w Rehearsal<'a>,
        states: &'w [State<'a>],
        output: &'w OutputContext,
    ) -> Writer<'w, 'a> {
        Writer {
            desk: PageContext {
                shop: job.shop,
                output,
            },
            job,
            rehearsal,
            states,
            numbered: Numbered::Steps,
            has_figures: true,
        }
    }

    /// A writer of a fault table, whose causes have the places of steps.
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

    pub(crate) fn of_kit(&self) -> Kit<'_, 'a> {
        Kit {
            desk: self.desk,
            jobs: std::slice::from_ref(&self.job),
        }
    }

    /// What the head of a sheet of the job says.
    pub(crate) fn naming(&self) -> HeadText {
        let Job {
            machine, procedure, ..
        } = self.job;
        let engine = machine
            .engine
            .as_ref()
            .and_then(|engine| engine.kind.clone());
        let facts = [
            ("engine", engine),
            ("time-allowed", self.job.minutes.map(minutes)),
            (
                "interval",
                procedure
                    .interval
                    .as_ref()
                    .map(|text| self.desk.interval(text)),
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
        }
    }

    /// "step 4"; in a fault table "cause 4".
    pub(crate) fn step_name(&self, number: u32) -> String {
        let key = match self.numbered {
            Numbered::Causes => "cause",
            Numbered::Steps => "step",
        };
        let places = [("number", &*number.to_string())];
        self.desk.words().say(key, &places)
    }

    /// A link to a place of the job; its text alone where pages have no such place. `name` is what the
    /// place is called, where the text says something else.
    pub(crate) fn link(
        &self,
        place: ReferenceTarget<'_>,
        runs: Vec<TextRun>,
        name: Option<String>,
    ) -> Vec<TextRun> {
        let machine = &self.job.machine.id;
        let target = match place {
            // A table is seen whole: its rows have no places of their own.
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
            // Figures are beside their steps, with numbers of their own.
            ReferenceTarget::Figure(_) => None,
        };
        let Some(target) = target else {
            let is_one = runs.len() == 1;
            let mut said = if is_one {
                runs
            } else {
                vec![TextRun::Emphasis { runs }]
            };
            said.extend(name.map(|name| TextRun::text(format!(" ({name})"))));
            return said;
        };
        vec![TextRun::Link { target, runs, name }]
    }
}
