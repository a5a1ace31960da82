//! What the sheets of a pair say of each other: how the first leaves the machine, and which one puts it back.

use super::writer::Writer;
use crate::job::ReferenceTarget;
use crate::page::{Block, TextRun, Topic};
use crate::procedure::Procedure;
use crate::rehearsal::Moment;
use crate::shop::capitalised;

impl Writer<'_, '_> {
    /// The sheet that left the machine as it is when the job starts.
    pub(super) fn left_by(&self) -> Option<Vec<TextRun>> {
        let earlier = self.job.earlier.as_ref()?;
        Some(self.other_sheet("left-by", earlier.procedure))
    }

    /// How the machine is when the job ends, if another sheet puts it back.
    pub(super) fn left_for_other_sheet(&self) -> Option<Block> {
        let next = self.job.continued_in?;
        let state = self.state_in_full(&self.rehearsal.end);
        let by = self.other_sheet("put-back-by", next);
        let state = vec![TextRun::text(capitalised(&state))];
        let blocks = vec![Block::Text { runs: by }, Block::Text { runs: state }];
        Some(self.context.section(Topic::LeftOpen, blocks))
    }

    fn other_sheet(&self, key: &str, procedure: &Procedure) -> Vec<TextRun> {
        let words = self.context.words();
        let title = words.format("quoted", &[("title", &procedure.title.value)]);
        let mut runs = vec![TextRun::text(format!("{} ", words.get(key)))];
        let target = ReferenceTarget::Procedure(procedure);
        runs.extend(self.link(target, vec![TextRun::text(title)], None));
        runs
    }

    /// The name of the step of an action. It may be on the sheet that left the machine as it is when this job starts.
    pub(crate) fn step_at(&self, moment: Moment) -> String {
        let name = self.step_name(moment.step);
        let Some(earlier) = self
            .job
            .earlier
            .as_ref()
            .filter(|_| self.is_earlier(moment))
        else {
            return name;
        };
        let values = [("step", &*name), ("title", &earlier.procedure.title.value)];
        self.context.words().format("step-of-sheet", &values)
    }

    /// Whether an action was done before the job, on another sheet.
    pub(crate) fn is_earlier(&self, moment: Moment) -> bool {
        moment.index < self.rehearsal.start
    }
}
