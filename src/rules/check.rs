//! A rule's checks, each with its subject.

use super::context::{Ending, Joint, TextScene};
use crate::finding::{Findings, Rule};
use crate::job::Job;
use crate::prose::Verb;
use crate::rehearsal::Scene;
use crate::shop::{Energy, Fluid, Part, Reading, RunCondition, Shop, Tool};
use crate::trade::Day;
use crate::verbs::Trait;

/// A rule and its checks.
pub(super) struct RuleChecks {
    pub(super) rule: &'static Rule,
    pub(super) on: &'static [On],
}

/// The subject of a check. A check of an action sees the machine's state before the action.
#[derive(Clone, Copy)]
pub(super) enum On {
    /// An action of one of these verbs.
    Action(&'static [Verb], fn(&Scene<'_, '_>, &mut Findings)),
    /// An action of a verb with this trait.
    With(Trait, fn(&Scene<'_, '_>, &mut Findings)),
    /// A step, with its first action.
    Step(fn(&Scene<'_, '_>, &mut Findings)),
    /// An action of one of these verbs on a part.
    Part(&'static [Verb], CheckOf<Part>),
    /// An action of one of these verbs on a fluid.
    Fluid(&'static [Verb], CheckOf<Fluid>),
    /// An action of one of these verbs on an energy.
    Energy(&'static [Verb], CheckOf<Energy>),
    /// An action of one of these verbs on a condition.
    Condition(&'static [Verb], CheckOf<RunCondition>),
    /// An action of one of these verbs on a reading.
    Reading(&'static [Verb], CheckOf<Reading>),
    /// An action of one of these verbs on a tool.
    Tool(&'static [Verb], CheckOf<Tool>),
    /// The state that a job ends in. Not called if another procedure continues it: that one's job is checked, which begins
    /// where this one ends.
    Ending(fn(&Ending<'_, '_>, &mut Findings)),
    /// The end of a job, also if another procedure continues it.
    Stop(fn(&Ending<'_, '_>, &mut Findings)),
    /// The shop's records.
    Shop(fn(&Shop, &mut Findings)),
    /// A fastener's joint. Its plausible torques are computed once for all rules.
    Joint(fn(&Joint<'_>, &mut Findings)),
    /// The shop's records on a given day. Not called without a day.
    Day(fn(&Shop, Day, &mut Findings)),
    /// A fault table on a machine.
    Fault(fn(&Job<'_>, &mut Findings)),
    /// The text of a source file.
    Text(fn(&TextScene<'_>, &mut Findings)),
}

pub(super) type CheckOf<T> = fn(&Scene<'_, '_>, &T, &mut Findings);

impl On {
    /// Whether the check applies to actions of a verb.
    pub(super) fn looks_at(&self, verb: Verb) -> bool {
        match self {
            On::With(wanted, _) => verb.spec().has(*wanted),
            On::Action(verbs, _)
            | On::Part(verbs, _)
            | On::Fluid(verbs, _)
            | On::Energy(verbs, _)
            | On::Condition(verbs, _)
            | On::Reading(verbs, _)
            | On::Tool(verbs, _) => verbs.contains(&verb),
            On::Step(_)
            | On::Ending(_)
            | On::Stop(_)
            | On::Shop(_)
            | On::Joint(_)
            | On::Day(_)
            | On::Fault(_)
            | On::Text(_) => false,
        }
    }
}
