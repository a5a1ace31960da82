//! Values that are typed in a step, and the facts of the machines that they are about. Shared by the rules that compare
//! the two.

use super::context::TextScene;
use crate::finding::Span;
use crate::procedure::{Procedure, Step};
use crate::prose::{ActionLink, Verb};
use crate::quantity::{Found, Kind, Spec};
use crate::shop::{Machine, Part, Shop, Sourced};

/// A step with the values that are typed in it.
pub(super) struct TypedStep<'t> {
    pub(super) step: &'t Step,
    procedure: &'t Procedure,
    shop: &'t Shop,
    pub(super) values: Vec<&'t Found>,
}

/// A value of a machine that a typed one is about.
pub(super) struct Typed<'m> {
    /// What it is: "torque", "limits".
    pub(super) what: &'static str,
    /// The link that prints it: `tighten:cover-nut`.
    pub(super) link: String,
    pub(super) key: &'m str,
    pub(super) value: &'m Spec,
    pub(super) span: Span,
}

/// The steps of the scene's procedure. Empty if the file is none.
pub(super) fn typed_steps<'t>(scene: &'t TextScene<'t>) -> Vec<TypedStep<'t>> {
    let Some(procedure) = scene.procedure else {
        return Vec::new();
    };
    let mut values = scene.found.iter().peekable();
    let steps = procedure.steps().map(|step| {
        let (start, end) = (step.span.start(), step.span.start() + step.span.len());
        while values.next_if(|found| found.range.start < start).is_some() {}
        let mut of_step = Vec::new();
        while let Some(found) = values.next_if(|found| found.range.start < end) {
            of_step.push(found);
        }
        TypedStep {
            step,
            procedure,
            shop: scene.shop,
            values: of_step,
        }
    });
    steps.collect()
}

impl<'t> TypedStep<'t> {
    /// The machines of the procedure that the step is for.
    pub(super) fn machines(&self) -> impl Iterator<Item = &'t Machine> + '_ {
        let machines = self.procedure.machines.iter();
        let machines = machines.filter(|id| self.step.is_for(id.value));
        machines.map(|id| &self.shop.machines[id.value])
    }

    /// Whether the step has an action that a value of this kind can be about.
    pub(super) fn is_about_action(&self, found: &Found) -> bool {
        let kind = found.limits.kind();
        self.step.actions().any(|action| match action.verb {
            Verb::Tighten => kind == Kind::Torque,
            Verb::Fill => matches!(kind, Kind::Volume | Kind::Mass | Kind::Ratio),
            Verb::Inspect | Verb::Measure | Verb::Adjust => true,
            _ => false,
        })
    }

    /// The thing of an action, without the stage of a tightening. A dimension is named with its part.
    pub(super) fn thing(action: &ActionLink) -> &str {
        action.verb.takes().key_in(&action.thing.value)
    }

    /// The values of a machine that a typed value is about: of the same kind, of an action in its paragraph.
    pub(super) fn facts(
        &self,
        scene: &TextScene<'t>,
        machine: &'t Machine,
        found: &Found,
    ) -> Vec<Typed<'t>> {
        let actions = self.step.actions();
        let near = actions.filter(|action| is_in_paragraph(scene, action, found));
        let facts = near.flat_map(|action| self.facts_of(scene, machine, action, found));
        facts.collect()
    }

    fn facts_of(
        &self,
        scene: &TextScene<'t>,
        machine: &'t Machine,
        action: &ActionLink,
        found: &Found,
    ) -> Vec<Typed<'t>> {
        let id = Self::thing(action);
        let kind = found.limits.kind();
        let fact = |what, key: &'t str, value: &'t Spec, span| Typed {
            what,
            link: format!("{}:{id}", action.verb.word()),
            key,
            value,
            span,
        };
        let sourced = |what, key: &'t str, value: &'t Sourced| {
            fact(what, key, &value.spec.value, value.spec.span)
        };
        let limits_of = |key: &'t str, value: Option<&'t Sourced>| {
            let value = value.filter(|value| value.spec.value.limits().kind() == kind);
            // A length may be a distance and a time a pause, so they must follow the action directly.
            let is_doubtful = matches!(kind, Kind::Length | Kind::Time | Kind::Angle);
            let is_other = is_doubtful && !follows(scene, action, found)
                || is_of_earlier_clause(scene, action, found)
                || self.is_difference(scene, found);
            let value = value.filter(|_| !is_other);
            value.map(|value| sourced("limits", key, value))
        };
        match action.verb {
            Verb::Tighten if kind == Kind::Torque && !self.is_of_tool(scene, found) => {
                let Some(part) = machine.parts.get(id) else {
                    return Vec::new();
                };
                let torques = part.stages.iter();
                let torques = torques
                    .filter(|stage| stage.spec.value.limits().kind() == Kind::Torque)
                    .map(|stage| sourced("torque", &part.key, stage));
                of_stage(action, torques.collect(), found)
            }
            Verb::Inspect => machine
                .parts
                .get(id)
                .and_then(|part| limits_of(&part.key, part.limits.as_ref()))
                .into_iter()
                .collect(),
            Verb::Measure | Verb::Adjust => machine
                .readings
                .get(id)
                .and_then(|reading| limits_of(&reading.key, reading.limits.as_ref()))
                .into_iter()
                .collect(),
            Verb::Fill => {
                let Some(fluid) = machine.fluids.get(id) else {
                    return Vec::new();
                };
                let supply = fluid.supply.as_ref();
                let mix = supply.and_then(|supply| scene.shop.supplies[supply.value].mix.as_ref());
                let mix = mix.filter(|_| kind == Kind::Ratio);
                let capacity = fluid.capacity.as_ref();
                let capacity = capacity
                    .filter(|capacity| capacity.spec.value.limits().kind() == kind)
                    .map(|capacity| sourced("capacity", &fluid.key, capacity));
                let mix = mix.map(|mix| fact("mixture", &fluid.key, &mix.value, mix.span));
                mix.into_iter().chain(capacity).collect()
            }
            _ => Vec::new(),
        }
    }

    /// Whether a torque is the range of a tool: `with a torque wrench of 10 N·m to 50 N·m`.
    fn is_of_tool(&self, scene: &TextScene<'_>, found: &Found) -> bool {
        let (before, after) = self.around(scene, found);
        let is_tool = |word: &&str| {
            matches!(
                *word,
                "wrench" | "screwdriver" | "driver" | "tool" | "range" | "gauge"
            )
        };
        // After the value, the tool's name; before it, "wrench of", "wrench, range".
        after.first().is_some_and(is_tool)
            || (after.first() == Some(&"torque") && after.get(1).is_some_and(is_tool))
            || before.iter().rev().take(3).any(is_tool)
    }

    /// Whether a value is the distance from another one: `50 rpm higher`.
    fn is_difference(&self, scene: &TextScene<'_>, found: &Found) -> bool {
        let (_, after) = self.around(scene, found);
        let word = after.first().map(|word| word.to_lowercase());
        word.is_some_and(|word| {
            matches!(
                word.as_str(),
                "higher"
                    | "lower"
                    | "more"
                    | "less"
                    | "faster"
                    | "slower"
                    | "above"
                    | "below"
                    | "más"
                    | "menos"
            )
        })
    }

    /// Whether a length is the size of a spanner, socket or key.
    pub(super) fn is_wrench(&self, scene: &TextScene<'_>, found: &Found) -> bool {
        // `wrench-does-not-fit` judges a tool of the crib.
        let mut actions = self.step.actions();
        if actions.any(|action| action.verb == Verb::Use && is_in(action, found)) {
            return false;
        }
        let (_, after) = self.around(scene, found);
        let after = after.iter().take(2);
        let mut after = after
            .copied()
            .filter(|word| !matches!(*word, "ring" | "open" | "deep" | "hex" | "combination"));
        matches!(after.next(), Some("spanner" | "wrench" | "socket" | "key"))
    }

    /// The words before and after a value, in its sentence.
    fn around<'s>(&self, scene: &'s TextScene<'_>, found: &Found) -> (Vec<&'s str>, Vec<&'s str>) {
        let text = scene.file.text.as_str();
        let start = self.step.span.start();
        let end = start + self.step.span.len();
        let is_mark = |letter: char| !letter.is_alphanumeric();
        let last = found
            .paired
            .last()
            .map_or(found.range.end, |pair| pair.range.end);
        let before = text.get(start..found.range.start).unwrap_or_default();
        let after = text.get(last..end).unwrap_or_default();
        let before = before.rsplit(['.', '\n']).next().unwrap_or_default();
        let after = after.split(['.', '\n', ',']).next().unwrap_or_default();
        let words = |text: &'s str| {
            text.split(is_mark)
                .filter(|word| !word.is_empty())
                .collect()
        };
        (words(before), words(after))
    }

    /// The text to remove so that only the link prints a value: `to 9 N·m` after `[Tighten both nuts](tighten:cover-nut)`,
    /// or at the end of the link's text. `None` if more would have to be written anew.
    pub(super) fn removable(
        &self,
        scene: &TextScene<'_>,
        found: &Found,
        link: &str,
    ) -> Option<std::ops::Range<usize>> {
        let text = scene.file.text.as_str();
        let printed = |action: &&ActionLink| {
            let address = format!("{}:{}", action.verb.word(), Self::thing(action));
            address == link
        };
        let action = self.step.actions().find(printed)?;
        let end = end_with_pairs(text, found);
        if is_in(action, found) {
            let start = action.span.start() + "[".len();
            let before = text.get(start..found.range.start)?;
            let kept = without_link_words(before);
            let is_last = text.get(end..)?.starts_with("](");
            return (is_last && !kept.is_empty()).then(|| start + kept.len()..end);
        }
        let start = action.span.end();
        let is_last = text.get(end..)?.trim_start_matches(' ');
        let is_last = is_last.is_empty() || is_last.starts_with(['.', ',', ';', '\r', '\n']);
        (is_last && start < found.range.start && follows(scene, action, found))
            .then_some(start..end)
    }

    /// The fasteners that the step turns on a machine, with their actions.
    pub(super) fn fasteners<'m>(
        &self,
        machine: &'m Machine,
    ) -> impl Iterator<Item = (&ActionLink, &'m Part)> {
        self.step.actions().filter_map(move |action| {
            let turns = matches!(
                action.verb,
                Verb::Remove | Verb::Slacken | Verb::Fit | Verb::Renew | Verb::Tighten
            );
            let part = turns
                .then(|| machine.parts.get(Self::thing(action)))
                .flatten()?;
            part.is_fastener().then_some((action, part))
        })
    }
}

/// Whether a value is in the text of an action.
fn is_in(action: &ActionLink, found: &Found) -> bool {
    (action.span.start()..action.span.start() + action.span.len()).contains(&found.range.start)
}

/// Whether a value stands in the same paragraph as an action.
pub(super) fn is_in_paragraph(scene: &TextScene<'_>, action: &ActionLink, found: &Found) -> bool {
    let (first, last) = (
        action.span.start().min(found.range.start),
        action.span.start().max(found.range.start),
    );
    let between = scene.file.text.get(first..last).unwrap_or_default();
    !between.lines().skip(1).any(|line| line.trim().is_empty())
}

/// Of a part's torques, the one of the stage that the action names; otherwise the one that the typed value
/// is nearest to, because a step may type all of them.
fn of_stage<'t>(action: &ActionLink, mut torques: Vec<Typed<'t>>, found: &Found) -> Vec<Typed<'t>> {
    let stage = action.thing.value.split_once('/');
    let stage = stage.and_then(|(_, stage)| stage.parse::<usize>().ok());
    if let Some(stage) = stage {
        let named = stage.checked_sub(1).filter(|index| *index < torques.len());
        return named
            .map(|index| torques.swap_remove(index))
            .into_iter()
            .collect();
    }
    torques.sort_by_key(|torque| {
        let written = torque.value.limits();
        (
            written.agreement(&found.limits),
            !found.limits.is_inside(written),
        )
    });
    torques.truncate(1);
    torques
}

/// Whether a value follows an action directly: `[Set the gap](adjust:plug-gap) to 0.9 mm`.
fn follows(scene: &TextScene<'_>, action: &ActionLink, found: &Found) -> bool {
    let end = action.span.start() + action.span.len();
    let between = scene.file.text.get(end..found.range.start);
    between.is_some_and(|between| {
        let mut words = between.split_whitespace();
        words.all(|word| matches!(word, "to" | "at" | "is" | "of" | "about" | "=" | ":"))
    })
}

/// Text without the words at its end that join a value to it: `Tighten to`.
fn without_link_words(text: &str) -> &str {
    let mut text = text.trim_end();
    while let Some((before, "to" | "at" | "of")) = text.rsplit_once(' ') {
        text = before.trim_end();
    }
    text
}

/// The end of a value with its pairs in other units, and the parenthesis after them.
fn end_with_pairs(text: &str, found: &Found) -> usize {
    match found.paired.last() {
        None => found.range.end,
        Some(pair) => {
            let end = pair.range.end;
            let closes = text.get(end..).is_some_and(|rest| rest.starts_with(')'));
            end + usize::from(closes)
        }
    }
}

/// Whether a value without limits comes before an action, and in an earlier clause: `Run at 3000 rpm for a minute, then
/// [measure the idle speed](measure:idle-speed)`. It says what is done first.
fn is_of_earlier_clause(scene: &TextScene<'_>, action: &ActionLink, found: &Found) -> bool {
    let limits = &found.limits;
    if limits.lower().is_some() || limits.upper().is_some() {
        return false;
    }
    let between = scene.file.text.get(found.range.end..action.span.start());
    between.is_some_and(|between| between.contains([',', ';', '.']))
}

/// The text of an action's link. `None` if it is empty, or if its address is in a definition elsewhere.
pub(super) fn link_text<'s>(link: &'s str, action: &ActionLink) -> Option<&'s str> {
    // The address is the verb, a colon and the thing.
    let address = action.thing.span.start().checked_sub(action.span.start())?;
    let end = address.checked_sub(action.verb.word().len() + ":".len() + "](".len())?;
    link.get(1..end)
        .filter(|text| !text.is_empty() && link[end..].starts_with("]("))
}
