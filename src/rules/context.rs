//! The input of a check: an action ([`Scene`]), the end of a job or a file's text. Also how a check reports.

use crate::finding::{Finding, Rule};
use crate::job::Job;
use crate::procedure::Procedure;
use crate::quantity::{self, Found, Refused, Spec};
use crate::rehearsal::{Moment, Scene, State};
use crate::shop::{Machine, Part, Shop};
use crate::trade::{self, Takes};
use crate::tree::{Source, Tree};

/// The end of a rehearsed job.
pub(super) struct Ending<'r, 'a> {
    pub(super) job: &'r Job<'a>,
    /// The machine's state when the job ends.
    pub(super) end: &'r State<'a>,
}

/// A fastener whose thread and class are given.
pub(super) struct Joint<'s> {
    pub(super) machine: &'s Machine,
    pub(super) part: &'s Part,
    /// What its joint takes, or why the class does not go with the thread.
    pub(super) takes: Result<Takes, trade::Error>,
}

/// A source file and the values typed in it.
pub(super) struct TextScene<'t> {
    pub(super) tree: &'t Tree,
    pub(super) shop: &'t Shop,
    pub(super) file: &'t Source,
    /// The procedure or fault table that the file contains, if any.
    pub(super) procedure: Option<&'t Procedure>,
    /// The quantities in its prose.
    pub(super) found: Vec<Found>,
    /// Text that is certainly a quantity, but can be read in two ways or can't exist.
    pub(super) refused: Vec<Refused>,
}

impl TextScene<'_> {
    /// The error of the field that has the value at a byte as its whole text. `None` if the value is in
    /// running text, or if the field can be read. The reader of the file reports the error.
    pub(super) fn field_error(&self, at: usize) -> Option<quantity::Error> {
        if self.procedure.is_some() {
            return None;
        }
        let text = self.file.text.as_str();
        let start = text[..at].rfind(['"', '\n'])? + 1;
        let field = &text[start..];
        let field = &field[..field.find('"')?];
        Spec::parse_with(field, self.shop.gallons).err()
    }
}

impl Scene<'_, '_> {
    /// A finding in this job, with its primary span at this action. The label may be empty.
    pub(super) fn finding(
        &self,
        rule: &'static Rule,
        message: impl Into<String>,
        label: &str,
    ) -> Finding {
        Finding::new(rule, message)
            .in_job(self.job.to_string())
            .primary(self.moment.span, label)
    }
}

impl Ending<'_, '_> {
    /// A finding in this job, with its primary span at the action that caused the state, if any.
    pub(super) fn finding(
        &self,
        rule: &'static Rule,
        message: impl Into<String>,
        since: Option<Moment>,
        label: &str,
    ) -> Finding {
        let finding = Finding::new(rule, message).in_job(self.job.name().to_string());
        match since {
            Some(moment) => finding.primary(moment.span, label),
            None => finding,
        }
    }
}

impl Finding {
    /// Adds a secondary span at the action that caused the state, if any.
    pub(super) fn since(self, since: Option<Moment>, label: &str) -> Finding {
        match since {
            Some(moment) => self.secondary(moment.span, label),
            None => self,
        }
    }
}
