//! The mutants of a procedure: each is the procedure with one fault in it.

use crate::procedure::{Item, Procedure, Step};
use crate::prose::{ActionLink, Inline, ThingKind, Verb};
use crate::shop::{Machine, Shop, slug};
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};

/// How a procedure was mutated.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Kind {
    /// Nothing is changed. Shows that the test finds no faults of its own making.
    None,
    /// A step is missing.
    DropStep,
    /// An action is missing from a step that has others.
    DropAction,
    /// A position is not noted.
    DropNote,
    /// A valve is neither opened nor closed.
    DropValve,
    /// A valve is opened where it was closed, or the reverse.
    TurnValve,
    /// Two neighbouring steps are swapped.
    SwapSteps,
    /// An action names another part of the machine.
    RenamePart,
    /// An action names a part that no machine has.
    UnknownPart,
    /// The old part is fitted instead of a new one.
    FitUsed,
    /// A linkage is fitted in another of its positions.
    OtherPosition,
    /// A part is turned to a position that it does not have.
    UnknownPosition,
    /// A step waits for a condition that no machine has.
    UnknownCondition,
}

/// What is changed.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Change {
    Nothing,
    Drop(StepPosition),
    Swap(StepPosition, StepPosition),
    DropAction(StepPosition, usize),
    Verb(StepPosition, usize, &'static str),
    Thing(StepPosition, usize, String),
}

/// The position of a step: the indices of its section and of the item.
pub(super) type StepPosition = (usize, usize);

/// A procedure with one fault in it.
pub(super) struct Mutant<'a> {
    pub(super) kind: Kind,
    pub(super) procedure: &'a Procedure,
    pub(super) change: Change,
    /// The machines on which it is a mutant, by key: a step for other machines is not one.
    pub(super) machines: BTreeSet<&'a str>,
    /// The title of the mutated section.
    pub(super) section: &'a str,
    /// The actions that were dropped, moved or changed, by step.
    pub(super) actions: Vec<Vec<String>>,
}

impl<'a> Mutant<'a> {
    /// The links that are missing from the mutant.
    pub(super) fn dropped(&self) -> Vec<&'a ActionLink> {
        match self.change {
            Change::Drop(position) => step(self.procedure, position).actions().collect(),
            Change::DropAction(position, index) => {
                let mut actions = step(self.procedure, position).actions();
                actions.nth(index).into_iter().collect()
            }
            _ => Vec::new(),
        }
    }

    /// The links of the two steps that are swapped.
    pub(super) fn swapped(&self) -> Option<[Vec<&'a ActionLink>; 2]> {
        let Change::Swap(first, second) = self.change else {
            return None;
        };
        let links = |position| step(self.procedure, position).actions().collect();
        Some([links(first), links(second)])
    }

    pub(super) fn name(&self) -> String {
        let actions: Vec<String> = self
            .actions
            .iter()
            .map(|actions| actions.join(", "))
            .collect();
        format!(
            "{:?} {}, {}: {}",
            self.kind,
            self.procedure.id,
            self.section,
            actions.join(" <> ")
        )
    }

    /// Whether it drops a step with an action on a part, valve, fluid or energy.
    pub(super) fn is_touching_step(&self) -> bool {
        let touches = |action: &String| {
            let verb = action
                .split_once(':')
                .and_then(|(verb, _)| Verb::find(verb));
            let kind = verb.map(Verb::takes);
            kind.is_some_and(|kind| {
                matches!(
                    kind,
                    ThingKind::Part | ThingKind::Valve | ThingKind::Fluid | ThingKind::Energy
                )
            })
        };
        self.kind == Kind::DropStep && self.actions.iter().flatten().any(touches)
    }

    /// The mutated procedure.
    pub(super) fn mutated(&self) -> Procedure {
        let mut mutated = self.procedure.clone();
        match &self.change {
            Change::Nothing => {}
            Change::Drop((section, item)) => {
                mutated.sections[*section].items.remove(*item);
            }
            Change::Swap(first, second) => {
                let (one, other) = (step(self.procedure, *first), step(self.procedure, *second));
                *step_mut(&mut mutated, *first) = other.clone();
                *step_mut(&mut mutated, *second) = one.clone();
            }
            Change::DropAction(position, index) => {
                change_inline(step_mut(&mut mutated, *position), *index, drop_action);
            }
            Change::Verb(position, index, verb) => {
                change_action(step_mut(&mut mutated, *position), *index, |action| {
                    action.verb = Verb::find(verb).expect("the verb exists");
                });
            }
            Change::Thing(position, index, name) => {
                change_action(step_mut(&mut mutated, *position), *index, |action| {
                    action.thing.value.clone_from(name);
                });
            }
        }
        mutated
    }
}

/// The actions of a step as text. References and cautions are left out: they do nothing.
fn written_actions(step: &Step) -> Vec<String> {
    let actions = step.actions();
    actions
        .filter(|action| !matches!(action.verb, Verb::See | Verb::Caution))
        .map(written)
        .collect()
}

fn written(action: &ActionLink) -> String {
    format!("{}:{}", action.verb.word(), action.thing.value)
}

/// Calls `change` with one action of a step, given by its index.
fn change_inline(step: &mut Step, index: usize, change: impl FnOnce(&mut Inline)) {
    fn find<'i>(inlines: &'i mut [Inline], left: &mut usize) -> Option<&'i mut Inline> {
        for inline in inlines {
            if matches!(inline, Inline::Action(..)) {
                if *left == 0 {
                    return Some(inline);
                }
                *left -= 1;
            }
            if let Inline::Action(_, inner)
            | Inline::Strong(inner)
            | Inline::Emphasis(inner)
            | Inline::Link(_, inner) = inline
                && let Some(inline) = find(inner, left)
            {
                return Some(inline);
            }
        }
        None
    }
    let mut left = index;
    let mut paragraphs = std::iter::once(&mut step.text).chain(&mut step.notes);
    let target = paragraphs.find_map(|paragraph| find(paragraph, &mut left));
    change(target.expect("the step has that many actions"));
}

fn change_action(step: &mut Step, index: usize, change: impl FnOnce(&mut ActionLink)) {
    change_inline(step, index, |inline| {
        if let Inline::Action(action, _) = inline {
            change(action);
        }
    });
}

/// Replaces an action by its text.
fn drop_action(inline: &mut Inline) {
    if let Inline::Action(_, parts) = inline {
        *inline = Inline::Strong(std::mem::take(parts));
    }
}

pub(super) fn step(procedure: &Procedure, (section, item): StepPosition) -> &Step {
    match &procedure.sections[section].items[item] {
        Item::Step(step) => step,
        _ => panic!("the item is not a step"),
    }
}

fn step_mut(procedure: &mut Procedure, (section, item): StepPosition) -> &mut Step {
    match &mut procedure.sections[section].items[item] {
        Item::Step(step) => step,
        _ => panic!("the item is not a step"),
    }
}

/// Makes the mutants of a procedure.
struct Mutator<'a> {
    procedure: &'a Procedure,
    machine: &'a Machine,
    /// All machines that the procedure is for.
    machines: Vec<&'a Machine>,
    /// The parts that the procedure names, in order.
    named_parts: Vec<&'a str>,
    mutants: BTreeMap<(Kind, Change), Mutant<'a>>,
}

/// All mutants of a procedure. The same change on several machines is one mutant.
pub(super) fn mutants_of<'a>(procedure: &'a Procedure, shop: &'a Shop) -> Vec<Mutant<'a>> {
    let mut mutants = BTreeMap::new();
    let machines = procedure.machines.iter();
    let machines: Vec<&Machine> = machines
        .map(|machine| &shop.machines[machine.value])
        .collect();
    for machine in machines.iter().copied() {
        let steps = steps_on(procedure, machine);
        let actions = steps.iter().flat_map(|(_, step)| step.actions());
        let named_parts = actions
            .filter(|action| action.verb.takes() == ThingKind::Part)
            .map(|action| action.thing.value.as_str())
            .filter(|key| {
                machines
                    .iter()
                    .all(|machine| machine.parts.find(key).is_some())
            })
            .collect();
        let mut mutator = Mutator {
            procedure,
            machine,
            machines: machines.clone(),
            named_parts,
            mutants,
        };
        mutator.add(Kind::None, Change::Nothing, (0, 0), Vec::new());
        mutator.steps(&steps);
        mutants = mutator.mutants;
    }
    mutants.into_values().collect()
}

/// The steps of a procedure that are part of its job on a machine.
pub(super) fn steps_on<'a>(
    procedure: &'a Procedure,
    machine: &Machine,
) -> Vec<(StepPosition, &'a Step)> {
    let sections = procedure.sections.iter().enumerate();
    sections
        .flat_map(|(section_index, section)| {
            let items = section.items.iter().enumerate();
            items.filter_map(move |(item_index, item)| match item {
                Item::Step(step) => Some(((section_index, item_index), step)),
                _ => None,
            })
        })
        .filter(|(_, step)| is_for(step, machine))
        .collect()
}

impl<'a> Mutator<'a> {
    fn steps(&mut self, steps: &[(StepPosition, &'a Step)]) {
        for (step_index, (position, step)) in steps.iter().enumerate() {
            let position = *position;
            let own = written_actions(step);
            self.add(
                Kind::DropStep,
                Change::Drop(position),
                position,
                vec![own.clone()],
            );
            if let Some((next, other)) = steps.get(step_index + 1) {
                let both = vec![own, written_actions(other)];
                self.add(
                    Kind::SwapSteps,
                    Change::Swap(position, *next),
                    position,
                    both,
                );
            }
            let actions: Vec<&ActionLink> = step.actions().collect();
            for (action_index, action) in actions.iter().enumerate() {
                self.action(position, action_index, action, actions.len() > 1);
            }
        }
    }

    fn add(
        &mut self,
        kind: Kind,
        change: Change,
        position: StepPosition,
        actions: Vec<Vec<String>>,
    ) {
        let procedure = self.procedure;
        let mutant = self
            .mutants
            .entry((kind, change.clone()))
            .or_insert_with(|| Mutant {
                kind,
                procedure,
                change,
                machines: BTreeSet::new(),
                section: &procedure.sections[position.0].title,
                actions,
            });
        mutant.machines.insert(&self.machine.id);
    }

    /// The mutants that change one action of a step.
    fn action(
        &mut self,
        position: StepPosition,
        action_index: usize,
        action: &ActionLink,
        has_others: bool,
    ) {
        let mut kinds = Vec::new();
        if has_others {
            kinds.push(Kind::DropAction);
        }
        if action.verb == Verb::Note {
            kinds.push(Kind::DropNote);
        }
        let changed = match action.verb {
            Verb::Open => Some((Kind::TurnValve, "close")),
            Verb::Close => Some((Kind::TurnValve, "open")),
            Verb::Renew => Some((Kind::FitUsed, "fit")),
            _ => None,
        };
        if matches!(action.verb, Verb::Open | Verb::Close) {
            kinds.push(Kind::DropValve);
        }
        let own = || vec![vec![written(action)]];
        for kind in kinds {
            self.add(
                kind,
                Change::DropAction(position, action_index),
                position,
                own(),
            );
        }
        if let Some((kind, verb)) = changed {
            self.add(
                kind,
                Change::Verb(position, action_index, verb),
                position,
                own(),
            );
        }
        self.unknown_name(position, action_index, action);
        if action.verb.takes() != ThingKind::Part {
            return;
        }
        self.other_position(position, action_index, action);
        // The next part of the machine, and the next one that the procedure names.
        let own = action.thing.value.as_str();
        // A name that another of the procedure's machines lacks would be found by that alone.
        let is_everywhere = |key: &&str| {
            self.machines
                .iter()
                .all(|machine| machine.parts.find(key).is_some())
        };
        let parts: Vec<&str> = self.machine.parts.keys().filter(is_everywhere).collect();
        let names: BTreeSet<String> = [next(&parts, own), next(&self.named_parts, own)]
            .into_iter()
            .flatten()
            .collect();
        let renamed = names.into_iter().map(|name| (Kind::RenamePart, name));
        let unknown = (Kind::UnknownPart, "left-handed-hook".to_owned());
        for (kind, name) in renamed.chain([unknown]) {
            let to = vec![vec![format!("{}->{name}", written(action))]];
            self.add(
                kind,
                Change::Thing(position, action_index, name),
                position,
                to,
            );
        }
    }
}

impl Mutator<'_> {
    /// The mutant that names a position to turn to, or a condition to wait for, that there is not.
    fn unknown_name(&mut self, position: StepPosition, action_index: usize, action: &ActionLink) {
        let name = action.thing.value.as_str();
        let (kind, unknown) = match (action.verb, name.split_once('/')) {
            (Verb::Turn, Some((part, _))) => (Kind::UnknownPosition, format!("{part}/half-way")),
            (Verb::Wait, None) if self.machine.conditions.find(name).is_some() => {
                (Kind::UnknownCondition, "left-handed-hook".to_owned())
            }
            _ => return,
        };
        let to = vec![vec![format!("{}->{unknown}", written(action))]];
        self.add(
            kind,
            Change::Thing(position, action_index, unknown),
            position,
            to,
        );
    }

    /// The mutant that fits a linkage in the next of its positions: another than the one that is written, or than the
    /// one that the machine's file has.
    fn other_position(&mut self, position: StepPosition, action_index: usize, action: &ActionLink) {
        let written_thing = action.thing.value.as_str();
        let (key, given) = match written_thing.split_once('/') {
            Some((key, given)) => (key, Some(given)),
            None => (written_thing, None),
        };
        let Some(part) = self
            .machine
            .parts
            .find(key)
            .map(|id| &self.machine.parts[id])
        else {
            return;
        };
        if !matches!(action.verb, Verb::Fit | Verb::Renew) || part.positions.is_empty() {
            return;
        }
        let known = part.position.as_ref();
        let right = given
            .map(str::to_owned)
            .or_else(|| known.map(|known| slug(&known.value)));
        let mut others = part.positions.iter().map(|other| slug(&other.value));
        let other = others.find(|other| Some(other) != right.as_ref());
        if let Some(other) = other {
            let name = format!("{key}/{other}");
            let to = vec![vec![format!("{}->{name}", written(action))]];
            self.add(
                Kind::OtherPosition,
                Change::Thing(position, action_index, name),
                position,
                to,
            );
        }
    }
}

/// The next different name after the last occurrence of a name in a list, which wraps around.
fn next(names: &[&str], own: &str) -> Option<String> {
    let last = names.iter().rposition(|name| *name == own);
    let rest = names.iter().cycle().skip(last.map_or(0, |last| last + 1));
    let mut others = rest.take(names.len()).filter(|name| **name != own);
    others.next().map(|name| (*name).to_owned())
}

/// Whether a step is part of the procedure on a machine.
fn is_for(step: &Step, machine: &Machine) -> bool {
    let has = |action: &ActionLink| {
        let name = action.thing.value.as_str();
        match action.verb.takes() {
            ThingKind::Part => machine.parts.find(name).is_some(),
            ThingKind::Valve => machine.valves.find(name).is_some(),
            ThingKind::Fluid => machine.fluids.find(name).is_some(),
            ThingKind::Energy => machine.energies.find(name).is_some(),
            ThingKind::Condition => machine.conditions.find(name).is_some(),
            ThingKind::Reading => machine.readings.find(name).is_some(),
            _ => true,
        }
    };
    step.is_for(machine.index) && (!step.if_fitted || step.actions().all(has))
}
