//! From an action's name to the thing on the machine.

use super::chain::Library;
use super::{Left, Thing};
use crate::finding::{Finding, Findings, Span, nearest};
use crate::procedure::{Procedure, Step, UNKNOWN_THING};
use crate::prose::{ActionLink, ThingKind};
use crate::shop::{Machine, Shop};
use crate::verbs::Qualifier;
use std::collections::BTreeMap;

/// Where names are looked up.
#[derive(Clone, Copy)]
pub(super) struct Names<'a, 'l> {
    pub(super) shop: &'a Shop,
    pub(super) machine: &'a Machine,
    pub(super) library: &'l Library<'a>,
}

/// A name that a machine does not know.
#[derive(Clone, Debug)]
pub(super) struct UnresolvedName {
    span: Span,
    kind: ThingKind,
    name: String,
    /// What it is instead: a valve, say, where a part is asked for.
    is: Option<ThingKind>,
    near: Option<String>,
    /// The machine that lacks it; none for a thing of the shop.
    machine: Option<String>,
}

const MACHINE_KINDS: [ThingKind; 7] = [
    ThingKind::Part,
    ThingKind::Valve,
    ThingKind::Fluid,
    ThingKind::Energy,
    ThingKind::Condition,
    ThingKind::Engine,
    ThingKind::Reading,
];

impl<'a> Names<'a, '_> {
    /// The thing of that kind and name, if there is one.
    fn find(self, kind: ThingKind, name: &str) -> Option<Thing<'a>> {
        let (shop, machine) = (self.shop, self.machine);
        match kind {
            ThingKind::Part => machine.parts.get(name).map(Thing::Part),
            ThingKind::Valve => machine.valves.get(name).map(Thing::Valve),
            ThingKind::Fluid => machine.fluids.get(name).map(Thing::Fluid),
            ThingKind::Energy => machine.energies.get(name).map(Thing::Energy),
            ThingKind::Condition => machine.conditions.get(name).map(Thing::Condition),
            ThingKind::Reading => machine.readings.get(name).map(Thing::Reading),
            ThingKind::Engine => {
                (name == "engine" && machine.has_engine()).then_some(Thing::Engine)
            }
            ThingKind::Role => shop.roles.get(name).map(Thing::Role),
            ThingKind::Tool => shop.tools.get(name).map(Thing::Tool),
            ThingKind::Supply => shop.supplies.get(name).map(Thing::Supply),
            ThingKind::Caution => shop.cautions.get(name).map(Thing::Caution),
            // Places are found when all steps are numbered.
            ThingKind::Place => Some(Thing::Place),
            // Those that a step does were found when it was read.
            ThingKind::Procedure => None,
        }
    }

    fn known(self, kind: ThingKind) -> Vec<&'a str> {
        fn keys<T>(records: &crate::shop::Records<T>) -> Vec<&str> {
            records.keys().collect()
        }
        match kind {
            ThingKind::Part => keys(&self.machine.parts),
            ThingKind::Valve => keys(&self.machine.valves),
            ThingKind::Fluid => keys(&self.machine.fluids),
            ThingKind::Energy => keys(&self.machine.energies),
            ThingKind::Condition => keys(&self.machine.conditions),
            ThingKind::Reading => keys(&self.machine.readings),
            // Its only name; offered where it is mistyped, and not where there is none.
            ThingKind::Engine => self
                .find(kind, "engine")
                .map(|_| "engine")
                .into_iter()
                .collect(),
            ThingKind::Role => keys(&self.shop.roles),
            ThingKind::Tool => keys(&self.shop.tools),
            ThingKind::Supply => keys(&self.shop.supplies),
            ThingKind::Caution => keys(&self.shop.cautions),
            ThingKind::Place | ThingKind::Procedure => Vec::new(),
        }
    }

    /// The action's thing; where there is none, a word on it, if its file could be read whole.
    pub(super) fn resolve(
        self,
        step: &Step,
        action: &ActionLink,
        unresolved: &mut Vec<UnresolvedName>,
    ) -> Option<Thing<'a>> {
        let kind = action.verb.takes();
        if kind == ThingKind::Procedure {
            let mut done = step.done.iter();
            let done = done.find(|done| done.span == action.thing.span)?;
            return Some(Thing::Procedure(self.library.procedure(done.value)));
        }
        let name = name_of(action);
        if let Some(thing) = self.find(kind, name) {
            return Some(thing);
        }
        // What a half-read file lacks was perhaps in the other half.
        let is_whole = if kind.is_of_machine() {
            self.machine.whole
        } else {
            !self.shop.half_read.contains(&kind)
        };
        if !is_whole {
            return None;
        }
        let is = MACHINE_KINDS
            .into_iter()
            .find(|other| self.find(*other, name).is_some());
        unresolved.push(UnresolvedName {
            span: action.thing.span,
            kind,
            name: name.to_owned(),
            is,
            near: nearest(name, self.known(kind)).map(str::to_owned),
            machine: kind.is_of_machine().then(|| self.machine.id.clone()),
        });
        None
    }

    /// The seat that a linkage is fitted in, where the action names one: its words joined by hyphens.
    pub(super) fn seat(
        self,
        action: &ActionLink,
        thing: Thing<'a>,
        unresolved: &mut Vec<UnresolvedName>,
    ) -> Option<&'a str> {
        let (Thing::Part(part), Qualifier::Seat) = (thing, action.verb.spec().qualifier) else {
            return None;
        };
        let (_, wanted) = action.thing.value.split_once('/')?;
        let id = |seat: &str| seat.to_lowercase().replace(' ', "-");
        let found = part.seats.iter().find(|seat| id(&seat.value) == wanted);
        if found.is_none() {
            let ids: Vec<String> = part.seats.iter().map(|seat| id(&seat.value)).collect();
            let near = nearest(wanted, ids.iter().map(String::as_str));
            unresolved.push(UnresolvedName {
                span: action.thing.span,
                kind: ThingKind::Part,
                name: action.thing.value.clone(),
                is: None,
                near: near.map(|near| format!("{}/{near}", part.key)),
                machine: Some(self.machine.id.clone()),
            });
        }
        found.map(|seat| seat.value.as_str())
    }

    /// The stage that a fastener is tightened to, where the action names one.
    pub(super) fn stage(
        self,
        action: &ActionLink,
        thing: Thing<'a>,
        unresolved: &mut Vec<UnresolvedName>,
    ) -> Option<usize> {
        let (Thing::Part(part), Qualifier::Stage) = (thing, action.verb.spec().qualifier) else {
            return None;
        };
        let (_, wanted) = action.thing.value.split_once('/')?;
        let stages = 1..=part.stages.len();
        let stage = wanted.parse().ok().filter(|stage| stages.contains(stage));
        if stage.is_none() {
            unresolved.push(UnresolvedName {
                span: action.thing.span,
                kind: ThingKind::Part,
                name: action.thing.value.clone(),
                is: None,
                near: stages.last().map(|last| format!("{}/{last}", part.key)),
                machine: Some(self.machine.id.clone()),
            });
        }
        stage
    }

    /// Whether any machine of the shop has what an action names.
    pub(super) fn is_known_anywhere(self, action: &ActionLink) -> bool {
        let kind = action.verb.takes();
        let name = name_of(action);
        let mut machines = self.shop.machines.values();
        kind == ThingKind::Procedure
            || self.find(kind, name).is_some()
            || machines.any(|machine| {
                !machine.whole || Names { machine, ..self }.find(kind, name).is_some()
            })
    }

    /// Whether the machine has all that the actions need of it.
    pub(super) fn is_fitted<'p>(self, actions: impl IntoIterator<Item = &'p ActionLink>) -> bool {
        actions.into_iter().all(|action| {
            let kind = action.verb.takes();
            !kind.is_of_machine() || self.find(kind, name_of(action)).is_some()
        })
    }
}

/// What a procedure leaves undone, as far as a machine has it.
pub(super) fn left<'a>(procedure: &'a Procedure, machine: &'a Machine) -> Vec<Left<'a>> {
    let mut left = Vec::new();
    for (key, why) in &procedure.leaves {
        let (key, why) = (key.value.as_str(), why.value.as_str());
        let things = [
            machine
                .parts
                .get(key)
                .map(|part| (part.id.into(), &part.name)),
            machine
                .energies
                .get(key)
                .map(|energy| (energy.id.into(), &energy.name)),
            machine
                .valves
                .get(key)
                .map(|valve| (valve.id.into(), &valve.name)),
            machine
                .fluids
                .get(key)
                .map(|fluid| (fluid.id.into(), &fluid.name)),
        ];
        let things = things.into_iter().flatten();
        left.extend(things.map(|(thing, name)| Left { thing, name, why }));
    }
    left
}

/// The thing that an action names, without the seat or the stage behind it: `governor-rod` of
/// `governor-rod/inner-hole`.
fn name_of(action: &ActionLink) -> &str {
    let name = action.thing.value.as_str();
    match (action.verb.spec().qualifier, name.split_once('/')) {
        (Qualifier::Seat | Qualifier::Stage, Some((part, _))) => part,
        _ => name,
    }
}

/// Says each unknown name once, with all the machines that lack it.
pub(super) fn report(unresolved: Vec<UnresolvedName>, findings: &mut Findings) {
    let mut by_place: BTreeMap<Span, Vec<UnresolvedName>> = BTreeMap::new();
    for name in unresolved {
        by_place.entry(name.span).or_default().push(name);
    }
    for (span, unresolved) in by_place {
        let mut machines: Vec<&str> = unresolved
            .iter()
            .filter_map(|name| name.machine.as_deref())
            .collect();
        machines.sort_unstable();
        machines.dedup();
        let Some(name) = unresolved
            .iter()
            .find(|name| name.near.is_some())
            .or(unresolved.first())
        else {
            continue;
        };
        let word = name.kind.word();
        let message = match machines.as_slice() {
            [] => format!("there is no {word} `{}`", name.name),
            names => {
                let names: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
                let has = if names.len() == 1 { "has" } else { "have" };
                format!("{} {has} no {word} `{}`", names.join(", "), name.name)
            }
        };
        let mut finding = Finding::new(&UNKNOWN_THING, message).primary(span, "");
        finding = match (name.is, &name.near) {
            (Some(other), _) => {
                finding.help(format!("`{}` is a {}, and takes other verbs", name.name, other.word()))
            }
            (None, Some(near)) => finding.help(format!("did you mean `{near}`?")),
            (None, None) if name.machine.is_some() => finding.help(
                "declare it on the machine, or end the step in `{if-fitted}` where only some machines have it",
            ),
            (None, None) => finding,
        };
        findings.push(finding);
    }
}
