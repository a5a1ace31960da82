//! What a rule is shown, and how it reports: an action ([`Scene`]), the end of a job, a file's text.

use crate::finding::{Finding, Rule};
use crate::job::Job;
use crate::procedure::Procedure;
use crate::quantity::Found;
use crate::rehearsal::{Moment, Scene, State};
use crate::shop::{Machine, Part, Shop};
use crate::trade::{self, Takes};
use crate::tree::{Source, Tree};

/// A job that was rehearsed to its end.
pub(super) struct Ending<'r, 'a> {
    pub(super) job: &'r Job<'a>,
    /// The state it ends in.
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
    /// The procedure or fault table it is, where it is one.
    pub(super) procedure: Option<&'t Procedure>,
    /// The values in its prose.
    pub(super) found: Vec<Found>,
}

impl Scene<'_, '_> {
    /// A finding in this job, at this action, with a label on the action (which may be empty).
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
    /// A finding in this job, at the action that brought the state about, where there was one.
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
    /// Points at the action that set something up, where there was one.
    pub(super) fn since(self, since: Option<Moment>, label: &str) -> Finding {
        match since {
            Some(moment) => self.secondary(moment.span, label),
            None => self,
        }
    }
}
