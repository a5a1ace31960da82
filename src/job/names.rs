//! Resolves the names in actions to things of the machine and the shop.

use super::chain::Library;
use super::data::LeftUndone;
use crate::finding::{Finding, Findings, Span, nearest};
use crate::model::{SupplyAmount, Thing};
use crate::procedure::{Procedure, Step, UNKNOWN_THING};
use crate::prose::{ActionLink, ThingKind, Verb};
use crate::shop::{Machine, Shop, WaitTime, slug};
use crate::verbs::{Qualifier, WHOLE};
use std::collections::BTreeMap;

/// The scope in which names are resolved.
#[derive(Clone, Copy)]
pub(super) struct Names<'a, 'l> {
    pub(super) shop: &'a Shop,
    pub(super) machine: &'a Machine,
    pub(super) library: &'l Library<'a>,
}

/// A name that could not be resolved.
#[derive(Clone, Debug)]
pub(crate) struct UnresolvedName {
    span: Span,
    kind: ThingKind,
    name: String,
    /// The kind of the thing that does have this name: a valve, say, where the verb takes a part.
    actual_kind: Option<ThingKind>,
    /// A similar name, to suggest.
    nearest: Option<String>,
    /// Whether only that name can be meant, so that an edit may write it.
    is_certain: bool,
    /// What is wrong with what follows the name. `None` if the name itself is unknown.
    qualifier: Option<WrongQualifier>,
    /// The machine that lacks it. `None` if the name should be one of the shop's.
    machine: Option<String>,
}

/// A qualifier, as in `fit:governor-rod/inner-hole`, that its thing does not have.
#[derive(Clone, Debug)]
struct WrongQualifier {
    /// The thing's id.
    thing: String,
    /// What it is called: "position". Empty if the verb takes no qualifier.
    word: &'static str,
    /// What was written. Empty if nothing was written where it is needed.
    written: String,
    /// What can be written.
    known: Vec<String>,
}

impl WrongQualifier {
    fn message(&self, kind: ThingKind) -> String {
        let (kind, word, thing) = (kind.word(), self.word, &self.thing);
        if word.is_empty() {
            format!("this action takes nothing after {kind} `{thing}`")
        } else if self.written.is_empty() {
            format!("the {word} of {kind} `{thing}` is not given")
        } else {
            format!("{kind} `{thing}` has no {word} `{}`", self.written)
        }
    }

    fn help(&self) -> String {
        let known: Vec<String> = self
            .known
            .iter()
            .map(|known| format!("`{}/{known}`", self.thing))
            .collect();
        match known.as_slice() {
            [] => format!("write `{}`: it has no {}s", self.thing, self.word),
            [only] => format!("write {only}"),
            [first @ .., last] => format!("write {} or {last}", first.join(", ")),
        }
    }
}

const MACHINE_KINDS: [ThingKind; 8] = [
    ThingKind::Part,
    ThingKind::Valve,
    ThingKind::Control,
    ThingKind::Fluid,
    ThingKind::Energy,
    ThingKind::Condition,
    ThingKind::Engine,
    ThingKind::Reading,
];

impl<'a> Names<'a, '_> {
    fn find(self, kind: ThingKind, name: &str) -> Option<Thing<'a>> {
        find(self.shop, self.machine, kind, name)
    }

    /// All names of a kind, for suggestions.
    fn names_of(self, kind: ThingKind) -> Vec<&'a str> {
        fn keys<T>(records: &crate::shop::Records<T>) -> Vec<&str> {
            records.keys().collect()
        }
        match kind {
            ThingKind::Part => keys(&self.machine.parts),
            ThingKind::Valve => keys(&self.machine.valves),
            ThingKind::Control => keys(&self.machine.controls),
            ThingKind::Fluid => keys(&self.machine.fluids),
            ThingKind::Energy => keys(&self.machine.energies),
            ThingKind::Condition => keys(&self.machine.conditions),
            ThingKind::Reading => keys(&self.machine.readings),
            // The only name of an engine, suggested only if the machine has an engine.
            ThingKind::Engine => self
                .find(kind, "engine")
                .map(|_| "engine")
                .into_iter()
                .collect(),
            ThingKind::Role => keys(&self.shop.roles),
            ThingKind::Tool => keys(&self.shop.tools),
            ThingKind::Supply => keys(&self.shop.supplies),
            ThingKind::Caution => keys(&self.shop.cautions),
            ThingKind::Place | ThingKind::Procedure | ThingKind::Time => Vec::new(),
        }
    }

    /// Resolves an action's thing. A name that is not found is added to `unresolved`, unless the file that should
    /// have it could not be read in full.
    pub(super) fn resolve(
        self,
        step: &Step,
        action: &ActionLink,
        unresolved: &mut Vec<UnresolvedName>,
    ) -> Option<Thing<'a>> {
        let kind = kind_of(action);
        if kind == ThingKind::Procedure {
            let mut done = step.done.iter();
            let done = done.find(|done| done.span == action.thing.span)?;
            return Some(Thing::Procedure(self.library.procedure(done.value)));
        }
        let name = name_of(action);
        if let Some(thing) = self.find(kind, name) {
            return Some(thing);
        }
        if let Some((thing, written)) = name.split_once('/')
            && self.find(kind, thing).is_some()
        {
            unresolved.push(UnresolvedName {
                span: action.thing.span,
                kind,
                name: name.to_owned(),
                actual_kind: None,
                nearest: Some(thing.to_owned()),
                is_certain: true,
                qualifier: Some(WrongQualifier {
                    thing: thing.to_owned(),
                    word: "",
                    written: written.to_owned(),
                    known: Vec::new(),
                }),
                machine: None,
            });
            return None;
        }
        // The record may be in the part of the file that could not be read.
        let is_complete = if kind.is_of_machine() {
            self.machine.is_complete
        } else {
            !self.shop.incomplete_kinds.contains(&kind)
        };
        if !is_complete {
            return None;
        }
        let actual_kind = MACHINE_KINDS
            .into_iter()
            .find(|kind| self.find(*kind, name).is_some());
        let near = nearest(name, self.names_of(kind));
        // What is near no condition of any machine was to be a time.
        let is_time = action.verb == Verb::Wait
            && near.is_none()
            && actual_kind.is_none()
            && !self.is_known_anywhere(action);
        let kind = if is_time { ThingKind::Time } else { kind };
        unresolved.push(UnresolvedName {
            span: action.thing.span,
            kind,
            name: name.to_owned(),
            actual_kind,
            nearest: near.map(|near| near.name.to_owned()),
            is_certain: near.is_some_and(|near| near.is_certain),
            qualifier: None,
            machine: kind.is_of_machine().then(|| self.machine.id.clone()),
        });
        None
    }

    /// The position named by an action such as `fit:governor-rod/inner-hole`, `turn:crankshaft/valve-overlap` or
    /// `set:choke/open`: the position's words in lower case, joined by hyphens. `None` if the action names no position,
    /// which a control needs.
    pub(super) fn position(
        self,
        action: &ActionLink,
        thing: Thing<'a>,
        unresolved: &mut Vec<UnresolvedName>,
    ) -> Option<&'a str> {
        let positions = match (thing, action.verb.spec().qualifier) {
            (Thing::Part(part), Qualifier::Position) => &part.positions,
            (Thing::Part(part), Qualifier::Turned) => &part.turned_to,
            (Thing::Control(control), Qualifier::Setting) => &control.positions,
            _ => return None,
        };
        let wanted = match action.thing.value.split_once('/') {
            Some((_, wanted)) => wanted,
            None if matches!(thing, Thing::Control(_)) => "",
            None => return None,
        };
        let position = positions
            .iter()
            .find(|position| slug(&position.value) == wanted);
        if position.is_none() {
            let slugs: Vec<String> = positions
                .iter()
                .map(|position| slug(&position.value))
                .collect();
            let near = nearest(wanted, slugs.iter().map(String::as_str));
            unresolved.push(UnresolvedName {
                span: action.thing.span,
                kind: action.verb.takes(),
                name: action.thing.value.clone(),
                actual_kind: None,
                nearest: near.map(|slug| format!("{}/{slug}", thing.key())),
                is_certain: near.is_some_and(|near| near.is_certain),
                qualifier: Some(WrongQualifier {
                    thing: thing.key().to_owned(),
                    word: "position",
                    written: wanted.to_owned(),
                    known: slugs.clone(),
                }),
                machine: Some(self.machine.id.clone()),
            });
        }
        position.map(|position| position.value.as_str())
    }

    /// Whether an action names the whole capacity: `fill:oil/all`.
    pub(super) fn is_whole(
        self,
        action: &ActionLink,
        unresolved: &mut Vec<UnresolvedName>,
    ) -> bool {
        if action.verb.spec().qualifier != Qualifier::All {
            return false;
        }
        match action.thing.value.split_once('/') {
            None => false,
            Some((_, WHOLE)) => true,
            Some((fluid, written)) => {
                unresolved.push(UnresolvedName {
                    span: action.thing.span,
                    kind: ThingKind::Fluid,
                    name: action.thing.value.clone(),
                    actual_kind: None,
                    nearest: Some(format!("{fluid}/{WHOLE}")),
                    is_certain: false,
                    qualifier: Some(WrongQualifier {
                        thing: fluid.to_owned(),
                        word: "amount",
                        written: written.to_owned(),
                        known: vec![WHOLE.to_owned()],
                    }),
                    machine: Some(self.machine.id.clone()),
                });
                false
            }
        }
    }

    /// The number, from 1, of the tightening stage named by an action such as `tighten:head-bolts/2`. `None` if
    /// the action names no stage.
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
                actual_kind: None,
                nearest: stages
                    .clone()
                    .last()
                    .map(|last| format!("{}/{last}", part.key)),
                is_certain: false,
                qualifier: Some(WrongQualifier {
                    thing: part.key.clone(),
                    word: "stage",
                    written: wanted.to_owned(),
                    known: stages.map(|stage| stage.to_string()).collect(),
                }),
                machine: Some(self.machine.id.clone()),
            });
        }
        stage
    }

    /// Whether any machine of the shop has the thing that an action names.
    pub(super) fn is_known_anywhere(self, action: &ActionLink) -> bool {
        is_known_anywhere(self.shop, action)
    }

    /// Whether the machine has all of its things that the actions name.
    pub(super) fn is_fitted<'p>(self, actions: impl IntoIterator<Item = &'p ActionLink>) -> bool {
        actions.into_iter().all(|action| {
            let kind = kind_of(action);
            !kind.is_of_machine() || self.find(kind, name_of(action)).is_some()
        })
    }
}

/// The amount of a supply that an action names, such as `apply:grease/2-mL`.
pub(super) fn amount(
    action: &ActionLink,
    thing: Thing<'_>,
    unresolved: &mut Vec<UnresolvedName>,
) -> Option<Box<SupplyAmount>> {
    let (Thing::Supply(supply), Qualifier::Amount) = (thing, action.verb.spec().qualifier) else {
        return None;
    };
    let (_, written) = action.thing.value.split_once('/')?;
    let each = supply.each.as_ref();
    let each = each.and_then(|each| each.value.limits().nominal());
    let amount = SupplyAmount::parse(written).filter(|amount| amount.fits(each.as_ref()));
    if amount.is_none() {
        let unit = each.as_ref().map(|each| each.unit().symbol());
        let known = match unit {
            Some(unit) => vec![format!("5-{}", unit.replace(' ', "-"))],
            None => vec!["2".to_owned(), "5-mL".to_owned()],
        };
        unresolved.push(UnresolvedName {
            span: action.thing.span,
            kind: ThingKind::Supply,
            name: action.thing.value.clone(),
            actual_kind: None,
            nearest: None,
            is_certain: false,
            qualifier: Some(WrongQualifier {
                thing: supply.key.clone(),
                word: "amount",
                written: written.to_owned(),
                known,
            }),
            machine: None,
        });
    }
    amount.map(Box::new)
}

/// The things that a procedure declares to be left as they are, as far as the machine has them.
pub(super) fn declared_left<'a>(
    procedure: &'a Procedure,
    machine: &'a Machine,
) -> Vec<LeftUndone<'a>> {
    let mut left = Vec::new();
    for (declared, why) in &procedure.left_undone {
        let (key, why) = (declared.value.as_str(), why.value.as_str());
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
            machine
                .controls
                .get(key)
                .map(|control| (control.id.into(), &control.name)),
        ];
        let things = things.into_iter().flatten();
        left.extend(things.map(|(thing, name)| LeftUndone {
            key: declared,
            thing,
            name,
            why,
        }));
    }
    left
}

/// The name of an action's thing, without its qualifier: `governor-rod` in `governor-rod/inner-hole`.
fn name_of(action: &ActionLink) -> &str {
    let name = action.thing.value.as_str();
    match (action.verb.spec().qualifier, name.split_once('/')) {
        (Qualifier::None, _) | (_, None) => name,
        (_, Some((thing, _))) => thing,
    }
}

/// The kind of the thing that an action names. A step waits for a time, or until a condition holds.
pub(crate) fn kind_of(action: &ActionLink) -> ThingKind {
    let name = action.thing.value.split('/').next().unwrap_or_default();
    match action.verb {
        Verb::Wait if WaitTime::parse(name).is_none() => ThingKind::Condition,
        verb => verb.takes(),
    }
}

/// The verb that is performed on a thing: whoever waits until a condition holds confirms it.
pub(super) fn performed(verb: Verb, thing: Thing<'_>) -> Verb {
    match (verb, thing) {
        (Verb::Wait, Thing::Condition(_)) => Verb::Confirm,
        (verb, _) => verb,
    }
}

/// Whether any machine of a shop has the thing that an action names, or may have it because its file could not be read
/// in full.
pub(crate) fn is_known_anywhere(shop: &Shop, action: &ActionLink) -> bool {
    let (kind, name) = (kind_of(action), name_of(action));
    let mut machines = shop.machines.values();
    kind == ThingKind::Procedure
        || machines.any(|machine| !machine.is_complete || find(shop, machine, kind, name).is_some())
}

/// Reports each unknown name once, with all machines that lack it.
pub(crate) fn report(unresolved: Vec<UnresolvedName>, findings: &mut Findings) {
    let mut by_span: BTreeMap<Span, Vec<UnresolvedName>> = BTreeMap::new();
    for name in unresolved {
        by_span.entry(name.span).or_default().push(name);
    }
    for (span, unresolved) in by_span {
        let mut machines: Vec<&str> = unresolved
            .iter()
            .filter_map(|name| name.machine.as_deref())
            .collect();
        machines.sort_unstable();
        machines.dedup();
        let Some(name) = unresolved
            .iter()
            .find(|name| name.nearest.is_some())
            .or(unresolved.first())
        else {
            continue;
        };
        let word = name.kind.word();
        let message = match (&name.qualifier, machines.as_slice()) {
            (Some(qualifier), _) => qualifier.message(name.kind),
            (None, _) if name.kind == ThingKind::Time => {
                format!("`{}` is no time to wait", name.name)
            }
            (None, []) => format!("there is no {word} `{}`", name.name),
            (None, names) => {
                let names: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
                let has = if names.len() == 1 { "has" } else { "have" };
                format!("{} {has} no {word} `{}`", names.join(", "), name.name)
            }
        };
        let mut finding = Finding::new(&UNKNOWN_THING, message).primary(span, "");
        finding = match (name.actual_kind, &name.nearest) {
            (None, None) if name.qualifier.is_some() => {
                finding.help(name.qualifier.as_ref().map(WrongQualifier::help).unwrap_or_default())
            }
            (Some(ThingKind::Part), _) if name.kind == ThingKind::Reading => finding.help(format!(
                "`{0}` is a part: name one of its dimensions, as in `measure:{0}/…`, or inspect it",
                name.name
            )),
            (Some(kind), _) => {
                let kind = kind.with_article();
                finding.help(format!("`{}` is {kind}, which takes other verbs", name.name))
            }
            (None, Some(nearest)) => {
                let mut names = unresolved.iter();
                // On another machine of the procedure, another name may be meant.
                let is_same = names
                    .all(|other| other.is_certain && other.nearest.as_ref() == Some(nearest));
                let edit = is_same.then_some(nearest.as_str());
                let finding = finding.help(format!("did you mean `{nearest}`?"));
                finding.corrected(&name.name, edit)
            }
            (None, None) if name.kind == ThingKind::Time => finding.help(
                "write a number and a unit of time with a hyphen between them, from `5-s` to `48-h`, such as `wait:10-min`, or \
                 the id of a condition of the machine",
            ),
            (None, None) if name.machine.is_some() => finding.help(
                "declare it on the machine, or end the step with `{if-fitted}` if only some machines have it",
            ),
            (None, None) => finding.help(format!("use the id of an existing {word}, or add its record")),
        };
        findings.push(finding);
    }
}

/// The thing of a kind that a name means on a machine. `None` for a procedure, which is resolved where it is read.
pub(super) fn find<'a>(
    shop: &'a Shop,
    machine: &'a Machine,
    kind: ThingKind,
    name: &str,
) -> Option<Thing<'a>> {
    match kind {
        ThingKind::Part => machine.parts.get(name).map(Thing::Part),
        ThingKind::Valve => machine.valves.get(name).map(Thing::Valve),
        ThingKind::Control => machine.controls.get(name).map(Thing::Control),
        ThingKind::Fluid => machine.fluids.get(name).map(Thing::Fluid),
        ThingKind::Energy => machine.energies.get(name).map(Thing::Energy),
        ThingKind::Condition => machine.conditions.get(name).map(Thing::Condition),
        ThingKind::Reading => machine.readings.get(name).map(Thing::Reading),
        ThingKind::Engine => (name == "engine" && machine.has_engine()).then_some(Thing::Engine),
        ThingKind::Role => shop.roles.get(name).map(Thing::Role),
        ThingKind::Tool => shop.tools.get(name).map(Thing::Tool),
        ThingKind::Supply => shop.supplies.get(name).map(Thing::Supply),
        ThingKind::Caution => shop.cautions.get(name).map(Thing::Caution),
        // `places` resolves references, once all steps are numbered.
        ThingKind::Place => Some(Thing::Place),
        ThingKind::Time => WaitTime::parse(name).map(Thing::Time),
        // Reading the procedures resolved these: see `resolve`.
        ThingKind::Procedure => None,
    }
}
