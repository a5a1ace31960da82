//! The content of one job, composed once. Sheets and the manual are views of
//! it.

use super::kit::Kit;
use super::section::{SectionItem, StepSection};
use super::serials;
use super::set_up::SetUp;
use super::view::{Given, View, screen_block};
use super::writer::Writer;
use crate::job::Job;
use crate::page::{
    Block, Detail, HeadText, JobId, OutputContext, PageContext, PageId, SafetyMessage, Sheet,
    SheetKind, Topic, plain,
};
use crate::rehearsal::{self, Rehearsal};

/// The content of one job in one language. It does not depend on any page; each view selects from
/// it.
pub(crate) struct JobDocument<'w, 'a> {
    context: PageContext<'w>,
    pub(crate) job: &'w Job<'a>,
    pub(crate) head_text: HeadText,
    /// Why the job is done.
    pub(crate) why: Vec<Block>,
    pub(crate) set_up: SetUp,
    /// What to wear and to prepare before the first step.
    pub(crate) protection: Option<Block>,
    safety: Option<Block>,
    make_safe: Option<Block>,
    torques: Option<Block>,
    places: Option<Block>,
    readings: Option<Block>,
    pub(crate) sections: Vec<StepSection>,
    /// What the job leaves undone on purpose, or for another sheet.
    pub(crate) left_undone: Option<Block>,
    /// The machine's state at each stop, in full.
    states: Option<Block>,
    sign_off: Block,
}

impl std::fmt::Debug for JobDocument<'_, '_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("JobDocument").finish_non_exhaustive()
    }
}

impl<'w, 'a> JobDocument<'w, 'a> {
    /// Composes the content of a job.
    #[must_use]
    pub(crate) fn new(
        job: &'w Job<'a>,
        rehearsal: &Rehearsal<'a>,
        output: &'w OutputContext,
    ) -> JobDocument<'w, 'a> {
        let context = PageContext {
            shop: job.shop,
            output,
        };
        let states = rehearsal::states(job);
        let writer = Writer::of_job(job, rehearsal, &states, output);
        JobDocument {
            context,
            job,
            head_text: writer.head_text(),
            why: writer.why(),
            set_up: writer.set_up(&rehearsal::start(job)),
            protection: writer.protection(),
            safety: writer.safety(),
            make_safe: writer.make_safe(),
            torques: writer.torques(),
            places: writer.places(),
            readings: writer.readings(),
            sections: writer.sections(),
            left_undone: writer.left_undone(),
            states: writer.states_at_stops(),
            sign_off: writer.sign_off(),
        }
    }

    pub(crate) fn id(&self) -> JobId {
        JobId::new(&self.job.machine.id, &self.job.procedure.id)
    }

    pub(crate) fn kit(&self) -> Kit<'_, 'a> {
        Kit {
            context: self.context,
            jobs: std::slice::from_ref(&self.job),
        }
    }

    /// The job's sheet of one of [`SheetKind::OF_JOB`]. `None` for another kind.
    #[must_use]
    pub(crate) fn sheet(&self, kind: SheetKind) -> Option<Sheet> {
        let blocks = match kind {
            SheetKind::ShopSheet => self.shop_sheet(),
            SheetKind::BenchChecklist => self.bench_checklist(),
            SheetKind::KitList => self.kit().blocks(),
            _ => return None,
        };
        let page = PageId::JobSheet(kind, self.id());
        let head_text = self.head_text.clone();
        Some(self.context.sheet(page, kind, head_text, blocks))
    }

    /// Each step's number and text.
    pub(crate) fn step_texts(&self) -> impl Iterator<Item = (u32, String)> + '_ {
        let items = self.sections.iter().flat_map(|section| &section.items);
        items.filter_map(|item| match item {
            SectionItem::Step(step) => Some((step.number, plain(&step.full.text))),
            _ => None,
        })
    }

    /// The safety messages above a step, and the values and facts for it.
    pub(crate) fn step(&self, number: u32) -> Option<(&[SafetyMessage], &[Detail])> {
        let mut items = self.sections.iter().flat_map(|section| &section.items);
        items.find_map(|item| match item {
            SectionItem::Step(step) if step.number == number => {
                Some((step.before.as_slice(), step.full.details.as_slice()))
            }
            _ => None,
        })
    }

    fn shop_sheet(&self) -> Vec<Block> {
        // What is written and signed is on the checklist.
        let mut blocks = vec![self.context.notices()];
        blocks.extend(self.other_serials());
        let set_up = self.set_up.block(|_| true);
        blocks.extend(set_up.map(|block| self.context.section(Topic::SetUp, vec![block])));
        blocks.extend(self.before_steps().map(screen_block));
        blocks.extend(self.steps(View::Reading));
        blocks.extend(self.left_undone.clone().map(screen_block));
        blocks.extend(self.states.clone());
        blocks.push(self.context.wrong_here());
        blocks
    }

    fn bench_checklist(&self) -> Vec<Block> {
        let mut blocks: Vec<Block> = self.other_serials().into_iter().collect();
        // The kit list has the tools, parts and supplies, with boxes to tick.
        blocks.extend(self.set_up.bench_block());
        blocks.extend(self.protection.clone());
        blocks.extend(self.steps(View::Checklist));
        blocks.extend(self.left_undone.clone());
        blocks.push(self.sign_off.clone());
        blocks.push(self.context.wrong_here());
        blocks.push(self.context.notices());
        blocks
    }

    fn other_serials(&self) -> Option<Block> {
        serials::line(self.context, self.job.machine, self.job.procedure)
    }

    fn before_steps(&self) -> impl Iterator<Item = Block> {
        let why =
            (!self.why.is_empty()).then(|| self.context.section(Topic::Why, self.why.clone()));
        let about = [why, self.safety.clone(), self.make_safe.clone()];
        let values = [
            self.torques.clone(),
            self.places.clone(),
            self.readings.clone(),
        ];
        about.into_iter().chain(values).flatten()
    }

    /// The safety messages above the steps.
    pub(crate) fn messages(&self) -> impl Iterator<Item = &SafetyMessage> {
        let items = self.sections.iter().flat_map(|section| &section.items);
        items.flat_map(|item| match item {
            SectionItem::Step(step) => step.before.as_slice(),
            _ => &[],
        })
    }

    fn steps(&self, view: View) -> impl Iterator<Item = Block> {
        let mut given = match view {
            View::Checklist => Given::default(),
            // These begin with all messages in full.
            View::Reading | View::Book => Given::in_full(self.messages()),
        };
        let sections = self.sections.iter();
        sections.filter_map(move |section| section.view(view, self.context, &mut given))
    }
}
