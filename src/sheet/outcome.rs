//! What the sheets say of steps that depend on what is found, and of those that are repeated.

use super::writer::Writer;
use crate::job::{JobStep, Thing, When};
use crate::page::OnlyIf;
use crate::procedure::Found;
use crate::shop::Reading;

impl Writer<'_, '_> {
    /// What it depends on whether a step is done. `to_fill` is [`OnlyIf::to_fill`].
    pub(super) fn only_if(&self, step: &JobStep<'_>, to_fill: bool) -> Option<OnlyIf> {
        let when = step.when?;
        Some(OnlyIf {
            text: self
                .context
                .words()
                .format("only-if", &[("outcome", &self.outcome(when))]),
            of: when.thing.key().to_owned(),
            outcomes: when.outcome.each().map(Found::word).collect(),
            to_fill,
        })
    }

    /// How often the steps up to this one are repeated.
    pub(super) fn repeat(&self, step: &JobStep<'_>) -> Option<String> {
        let repeat = step.repeat?;
        let is_first = |first: &&JobStep<'_>| {
            first.number <= step.number
                && first.id == Some(repeat.back_to)
                && first.origin.file == step.origin.file
        };
        let first = self.job.steps().filter(is_first).last()?;
        let values = [
            ("step", &*self.step_name(first.number)),
            ("outcome", &self.outcome(repeat.until)),
            ("count", &repeat.at_most.to_string()),
        ];
        Some(self.context.words().format("repeat-until", &values))
    }

    /// "float height is over its limit".
    fn outcome(&self, when: When<'_>) -> String {
        let name = match when.thing {
            Thing::Reading(reading) => self.short_name(reading),
            Thing::Part(part) => self
                .context
                .words()
                .counted(&part.name, part.count)
                .into_owned(),
            _ => when.thing.key().to_owned(),
        };
        let key = match when.outcome.word() {
            "over" => "outcome-over",
            "under" => "outcome-under",
            "within" => "outcome-within",
            "out" => "outcome-out",
            "not-over" => "outcome-not-over",
            "not-under" => "outcome-not-under",
            "renew" => "outcome-renew",
            _ => "outcome-reuse",
        };
        self.context.words().format(key, &[("thing", &name)])
    }

    /// The name of a reading without what follows a comma, such as where it is taken, if no other reading has it.
    fn short_name(&self, reading: &Reading) -> String {
        fn first(name: &str) -> &str {
            name.split(", ").next().unwrap_or(name)
        }
        if reading.dimension.is_some() {
            return reading.title().to_owned();
        }
        let mut others = self.job.machine.readings.values();
        let is_taken = others
            .any(|other| other.id != reading.id && first(&other.name) == first(&reading.name));
        let name = if is_taken {
            &reading.name
        } else {
            first(&reading.name)
        };
        name.to_owned()
    }
}
