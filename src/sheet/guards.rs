//! What a machine's records guard: which mistakes the rehearsal can find on it, and on which parts it finds none.
//!
//! Computed with the functions that the rules use, so that a page can't promise a check that does not exist.

use super::summary::Summary;
use crate::finding::Located;
use crate::job::{Action, Thing};
use crate::model::State;
use crate::procedure::Procedure;
use crate::prose::{ThingKind, Verb};
use crate::shop::{
    ConditionId, Energy, Fluid, LostBy, Machine, MachineAction, Part, PartId, Role, RunCondition,
    Shop, ThingId, Valve,
};
use crate::verbs::{Trait, conditions_needed, endangers, endangers_hands_at, fluid_met};
use std::collections::BTreeSet;

/// What the records of a machine guard.
#[derive(Clone, Debug)]
pub(crate) struct Guards<'a> {
    pub(crate) energies: Vec<EnergyGuard<'a>>,
    pub(crate) fluids: Vec<FluidGuard<'a>>,
    pub(crate) conditions: Vec<ConditionGuard<'a>>,
    /// The parts of which no record says more than their name and count. Of a mistake on one of them, only what holds
    /// for every part is found: that it is left off, or taken off twice.
    pub(crate) unguarded: Vec<&'a Part>,
}

/// Verbs, each of which can be done to each of the things.
#[derive(Clone, Debug)]
pub(crate) struct Actions<'a> {
    pub(crate) verbs: Vec<Verb>,
    pub(crate) things: Vec<Thing<'a>>,
}

/// An energy, and what must not be touched while it is live.
#[derive(Clone, Debug)]
pub(crate) struct EnergyGuard<'a> {
    pub(crate) energy: &'a Energy,
    /// The actions that are dangerous while it is live.
    pub(crate) dangerous: Vec<Actions<'a>>,
    /// Whether it endangers hands on any part, and not only on what it names.
    pub(crate) is_general: bool,
    /// The actions that may be done while it is live, on things of which others are dangerous.
    pub(crate) allowed: Vec<Actions<'a>>,
}

/// A fluid, and what has to be done before its line is opened, or before it is drained or filled.
#[derive(Clone, Debug)]
pub(crate) struct FluidGuard<'a> {
    pub(crate) fluid: &'a Fluid,
    /// The actions that open its line while it is full. One of `valves` must be closed first, or the fluid drained.
    pub(crate) opening: Vec<Actions<'a>>,
    pub(crate) valves: Vec<&'a Valve>,
    /// The conditions that must hold when it is drained or filled, or its line is opened.
    pub(crate) needs: Vec<&'a RunCondition>,
    /// The part that must be off to fill it.
    pub(crate) filled_through: Option<&'a Part>,
    /// Parts one of which must be off to drain it.
    pub(crate) drained_through: Vec<&'a Part>,
    /// Parts that must be on and tight to fill it.
    pub(crate) filled_with: Vec<&'a Part>,
    /// The role that signs after it is filled.
    pub(crate) signed_by: Option<&'a Role>,
}

/// A condition, what needs it, and what makes and ends it.
#[derive(Clone, Debug)]
pub(crate) struct ConditionGuard<'a> {
    pub(crate) condition: &'a RunCondition,
    /// The actions that need it.
    pub(crate) needed_by: Vec<Actions<'a>>,
    /// The actions that must come before it is confirmed.
    pub(crate) after: Vec<MachineAction>,
    pub(crate) lost_by: Vec<LostBy>,
    /// The procedures with a step that confirms it.
    pub(crate) confirmed_in: Vec<&'a Procedure>,
}

impl<'a> Guards<'a> {
    /// `jobs` are the jobs on the machine.
    #[must_use]
    pub(crate) fn of(shop: &'a Shop, machine: &'a Machine, jobs: &[&Summary<'a>]) -> Guards<'a> {
        let before = State::initial(shop, machine);
        let energies = machine.energies.values();
        let fluids = machine.fluids.values();
        let conditions = machine.conditions.values();
        let parts = machine.parts.values();
        Guards {
            energies: energies
                .map(|energy| energy_guard(energy, machine, &before))
                .collect(),
            fluids: fluids
                .map(|fluid| fluid_guard(fluid, shop, machine))
                .collect(),
            conditions: conditions
                .map(|condition| condition_guard(condition, machine, jobs))
                .collect(),
            unguarded: parts.filter(|part| !is_guarded(part, machine)).collect(),
        }
    }

    /// The verbs that put hands on a thing of a kind, for each kind of thing that any energy endangers.
    #[must_use]
    pub(crate) fn hands(&self) -> Vec<(ThingKind, Vec<Verb>)> {
        let energies = self.energies.iter();
        let kinds: BTreeSet<ThingKind> = energies.flat_map(EnergyGuard::kinds).collect();
        let of_kind = |kind| (kind, verbs_of(kind, Trait::PutsHandsIn).collect());
        kinds.into_iter().map(of_kind).collect()
    }
}

impl<'a> EnergyGuard<'a> {
    /// The kinds of the things that it endangers.
    fn kinds(&self) -> BTreeSet<ThingKind> {
        let things = self.dangerous.iter().flat_map(|actions| &actions.things);
        things.filter_map(|thing| kind(*thing)).collect()
    }

    /// The kinds of which it endangers every thing, but for what is `allowed`.
    #[must_use]
    pub(crate) fn general_kinds(&self) -> Vec<ThingKind> {
        let kinds = self.kinds().into_iter();
        kinds
            .filter(|kind| self.is_of_general_kind(*kind))
            .collect()
    }

    /// The things that it endangers one by one.
    pub(crate) fn single_things(&self) -> impl Iterator<Item = Thing<'a>> {
        let things = self.dangerous.iter().flat_map(|actions| &actions.things);
        things
            .copied()
            .filter(|thing| kind(*thing).is_some_and(|kind| !self.is_of_general_kind(kind)))
    }

    /// By default an energy endangers hands on parts and readings. Of other energies, only some are handled there.
    fn is_of_general_kind(&self, kind: ThingKind) -> bool {
        self.is_general && kind != ThingKind::Energy
    }
}

/// All things of a machine that an action can act on, but for the dimensions of its parts: whoever measures one handles
/// the part, and is guarded as there.
fn things(machine: &Machine) -> impl Iterator<Item = Thing<'_>> {
    let engine = machine.has_engine().then_some(Thing::Engine);
    let parts = machine.parts.values().map(Thing::Part);
    let readings = machine.readings.values();
    let readings = readings.filter(|reading| reading.dimension.is_none());
    parts
        .chain(machine.valves.values().map(Thing::Valve))
        .chain(machine.controls.values().map(Thing::Control))
        .chain(machine.fluids.values().map(Thing::Fluid))
        .chain(machine.energies.values().map(Thing::Energy))
        .chain(machine.conditions.values().map(Thing::Condition))
        .chain(readings.map(Thing::Reading))
        .chain(engine)
}

/// The kind of a thing of a machine.
fn kind(thing: Thing<'_>) -> Option<ThingKind> {
    Some(match thing {
        Thing::Part(_) => ThingKind::Part,
        Thing::Valve(_) => ThingKind::Valve,
        Thing::Control(_) => ThingKind::Control,
        Thing::Fluid(_) => ThingKind::Fluid,
        Thing::Energy(_) => ThingKind::Energy,
        Thing::Condition(_) => ThingKind::Condition,
        Thing::Reading(_) => ThingKind::Reading,
        Thing::Engine => ThingKind::Engine,
        _ => return None,
    })
}

fn verbs_of(kind: ThingKind, wanted: Trait) -> impl Iterator<Item = Verb> {
    let verbs = Verb::ALL.iter().copied();
    verbs.filter(move |verb| verb.takes() == kind && verb.spec().has(wanted))
}

/// Adds a thing to the actions with the same verbs.
fn add<'a>(list: &mut Vec<Actions<'a>>, verbs: Vec<Verb>, thing: Thing<'a>) {
    if verbs.is_empty() {
        return;
    }
    match list.iter_mut().find(|actions| actions.verbs == verbs) {
        Some(actions) => actions.things.push(thing),
        None => list.push(Actions {
            verbs,
            things: vec![thing],
        }),
    }
}

fn energy_guard<'a>(
    energy: &'a Energy,
    machine: &'a Machine,
    before: &State<'a>,
) -> EnergyGuard<'a> {
    let is_dangerous = |verb, thing: Thing<'a>| {
        if let (Verb::Isolate | Verb::Restore, Thing::Energy(handled)) = (verb, thing)
            && endangers_hands_at(energy, handled)
        {
            return true;
        }
        let action = Action {
            verb,
            thing,
            span: energy.span,
            position: None,
            stage: None,
            is_whole: false,
            amount: None,
            inner: Vec::new(),
        };
        endangers(energy, &action, before)
    };
    let (mut dangerous, mut harmless) = (Vec::new(), Vec::new());
    for thing in things(machine) {
        let verbs = kind(thing).into_iter();
        let verbs = verbs.flat_map(|kind| verbs_of(kind, Trait::PutsHandsIn));
        let (yes, no) = verbs.partition(|verb| is_dangerous(*verb, thing));
        add(&mut dangerous, yes, thing);
        add(&mut harmless, no, thing);
    }
    let mut guard = EnergyGuard {
        energy,
        dangerous,
        is_general: energy.endangers.is_none(),
        allowed: Vec::new(),
    };
    let named = energy.endangers.as_deref().unwrap_or_default();
    let kinds = guard.general_kinds();
    let is_covered = |thing: &Thing<'_>| {
        let is_named = thing.id().is_some_and(|id| named.contains(&id));
        is_named || kind(*thing).is_some_and(|kind| kinds.contains(&kind))
    };
    for actions in &mut harmless {
        actions.things.retain(is_covered);
    }
    harmless.retain(|actions| !actions.things.is_empty());
    guard.allowed = harmless;
    guard
}

fn fluid_guard<'a>(fluid: &'a Fluid, shop: &'a Shop, machine: &'a Machine) -> FluidGuard<'a> {
    let mut opening = Vec::new();
    for part in machine.parts.values() {
        let thing = Thing::Part(part);
        let verbs = Verb::ALL.iter().copied();
        let verbs = verbs.filter(|verb| fluid_met(*verb, thing) == Some(fluid.id));
        add(&mut opening, verbs.collect(), thing);
    }
    let carriers = machine.carriers(fluid.id);
    FluidGuard {
        fluid,
        opening,
        valves: machine.valves_of(fluid.id).collect(),
        needs: conditions(machine, &fluid.needs),
        filled_through: fluid
            .through
            .as_ref()
            .map(|part| &machine.parts[part.value]),
        drained_through: machine.drain_plugs(fluid.id).collect(),
        filled_with: carriers.chain(machine.drain_plugs(fluid.id)).collect(),
        signed_by: fluid.signed_by.as_ref().map(|role| &shop.roles[role.value]),
    }
}

fn conditions<'a>(machine: &'a Machine, ids: &[Located<ConditionId>]) -> Vec<&'a RunCondition> {
    let ids = ids.iter();
    ids.map(|id| &machine.conditions[id.value]).collect()
}

fn condition_guard<'a>(
    condition: &'a RunCondition,
    machine: &'a Machine,
    jobs: &[&Summary<'a>],
) -> ConditionGuard<'a> {
    let mut needed_by = Vec::new();
    for thing in things(machine) {
        let verbs = Verb::ALL.iter().copied().filter(|verb| {
            let mut needs = conditions_needed(machine, *verb, thing).iter();
            needs.any(|need| need.value == condition.id)
        });
        add(&mut needed_by, verbs.collect(), thing);
    }
    let mut confirmed_in: Vec<&Procedure> = Vec::new();
    for (confirmed, procedure) in jobs.iter().flat_map(|job| &job.confirmed) {
        let is_known = confirmed_in.iter().any(|known| known.id == procedure.id);
        if *confirmed == condition.id && !is_known {
            confirmed_in.push(procedure);
        }
    }
    confirmed_in.sort_by_key(|procedure| &procedure.id);
    ConditionGuard {
        condition,
        needed_by,
        after: condition.after.iter().map(|after| after.value).collect(),
        lost_by: condition.lost_by.iter().map(|by| by.value).collect(),
        confirmed_in,
    }
}

/// Whether a mistake on a part can be found that is not found on every part.
fn is_guarded(part: &Part, machine: &Machine) -> bool {
    says_something(part) || is_named(part.id, machine)
}

/// Whether the part's own record has a field that a rule of the rehearsal uses.
fn says_something(part: &Part) -> bool {
    part.is_fastener()
        || part.is_linkage()
        || part.single_use
        || part.clean
        || part.carries.is_some()
        || part.drains.is_some()
        || part.is_judged()
        || part.signed_by.is_some()
        || !part.behind.is_empty()
        || !part.held_by.is_empty()
        || !part.seals.is_empty()
        || !part.stack.is_empty()
        || !part.off_first.is_empty()
        || !part.laid_open_by.is_empty()
}

/// Whether another record names the part in a field that a rule of the rehearsal uses.
fn is_named(part: PartId, machine: &Machine) -> bool {
    let has = |list: &[Located<PartId>]| list.iter().any(|listed| listed.value == part);
    let by_part = &machine.named_by[part];
    let thing = ThingId::Part(part);
    let mut energies = machine.energies.values();
    let mut fluids = machine.fluids.values();
    let mut readings = machine.readings.values();
    let is_part = |action: &Located<MachineAction>| action.value.thing == thing;
    let mut conditions = machine.conditions.values();
    !by_part.behind.is_empty()
        || !by_part.seals.is_empty()
        || !by_part.laid_open.is_empty()
        || !by_part.holds.is_empty()
        || !by_part.off_first.is_empty()
        || has(&machine.run.inspect)
        || fluids.any(|fluid| fluid.through.as_ref().is_some_and(|id| id.value == part))
        || readings.any(|reading| {
            has(&reading.with)
                || has(&reading.without)
                || has(&reading.locked_by)
                || reading.changed_by.iter().any(is_part)
        })
        || energies.any(|energy| {
            let named = energy.endangers.as_ref();
            named.is_some_and(|named| named.contains(&thing))
        })
        || conditions.any(|condition| {
            let mut lost_by = condition.lost_by.iter();
            let is_event = |by: &Located<LostBy>| {
                matches!(by.value, LostBy::Action(action) if action.thing == thing)
            };
            condition.after.iter().any(is_part)
                || lost_by.any(is_event)
        })
}
