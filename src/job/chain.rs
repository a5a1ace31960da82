//! Which procedures make up a job, and in what order.

use super::{Phase, rules};
use crate::finding::{FileId, Finding, Findings, Located, nearest};
use crate::procedure::{Procedure, Step};
use crate::prose::Verb;
use crate::shop::{Machine, Shop};
use foldhash::fast::FixedState;
use indexmap::IndexMap;
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

/// All procedures and fault tables by id.
pub(super) struct Library<'a> {
    /// In order of the ids.
    by_id: ById<'a, &'a Procedure>,
    faults: BTreeMap<&'a str, &'a Procedure>,
    /// What is `do`ne in a procedure, by its file; few have any.
    done: BTreeMap<FileId, Vec<&'a Located<String>>>,
    /// The procedures that others are made up of, in order of the ids; a shop has few.
    parts: Vec<&'a Procedure>,
}

/// Found by a hash: every name in every procedure is looked up.
type ById<'a, T> = IndexMap<&'a str, T, FixedState>;

/// Whether a search has been through a procedure.
#[derive(Clone, Copy, PartialEq)]
enum Visit {
    Under,
    Done,
}

impl<'a> Library<'a> {
    pub(super) fn new(procedures: &'a [Procedure], faults: &'a [Procedure]) -> Library<'a> {
        fn with_id(one: &Procedure) -> (&str, &Procedure) {
            (&one.id, one)
        }
        let mut by_id: ById<'_, &Procedure> = procedures.iter().map(with_id).collect();
        by_id.sort_unstable_keys();
        let whole = procedures.par_iter().chain(faults);
        let done = whole.filter_map(|one| {
            let names: Vec<&Located<String>> = done_in(one).collect();
            (!names.is_empty()).then_some((one.file, names))
        });
        let mut library = Library {
            by_id,
            faults: faults.iter().map(with_id).collect(),
            done: done.collect(),
            parts: Vec::new(),
        };
        let named = procedures
            .par_iter()
            .chain(faults)
            .fold(BTreeSet::new, |mut named, one| {
                named.extend(library.named(one).map(|name| name.value.as_str()));
                named
            });
        let named: BTreeSet<&str> = named.reduce(BTreeSet::new, |one, other| &one | &other);
        let parts = named.into_iter().filter_map(|id| library.find(id));
        library.parts = parts.collect();
        library
    }

    /// The fault tables by id.
    pub(super) fn faults(&self) -> &BTreeMap<&'a str, &'a Procedure> {
        &self.faults
    }

    pub(super) fn find(&self, id: &str) -> Option<&'a Procedure> {
        self.by_id.get(id).copied()
    }

    /// The names that are `do`ne in a procedure, in order.
    fn done(&self, procedure: &Procedure) -> &[&'a Located<String>] {
        self.done.get(&procedure.file).map_or(&[], Vec::as_slice)
    }

    /// Every procedure that another is made up of: what begins it, what it does, what finishes it.
    fn named(&self, procedure: &'a Procedure) -> impl Iterator<Item = &'a Located<String>> {
        procedure
            .begin
            .iter()
            .chain(self.done(procedure).iter().copied())
            .chain(&procedure.finish)
    }

    /// The procedures that others are made up of, each once.
    pub(super) fn parts(&self) -> &[&'a Procedure] {
        &self.parts
    }

    pub(super) fn ids(&self) -> impl Iterator<Item = &'a str> {
        self.by_id.keys().copied()
    }

    /// Checks what procedures say of each other and of machines, and returns those of which jobs can be made.
    pub(super) fn check(&self, shop: &Shop, findings: &mut Findings) -> Vec<&'a Procedure> {
        for fault in self.faults.values() {
            check_machines(fault, shop, findings);
        }
        let procedures: Vec<&Procedure> = self.by_id.values().copied().collect();
        let found: Vec<Findings> = procedures
            .par_iter()
            .map(|procedure| self.check_one(procedure, shop))
            .collect();
        for found in found {
            findings.extend(found);
        }
        let looping = self.cycles(findings);
        let mut known = ById::default();
        for part in &self.parts {
            self.is_sound(part, &looping, &mut known);
        }
        let mut sound = procedures;
        sound.retain(|one| {
            self.is_whole(one, &looping, |part| {
                known.get(part.id.as_str()) == Some(&true)
            })
        });
        sound
    }

    /// What is wrong with what one procedure says of others and of machines.
    fn check_one(&self, procedure: &'a Procedure, shop: &Shop) -> Findings {
        let mut findings = Findings::new();
        check_machines(procedure, shop, &mut findings);
        for name in self.named(procedure) {
            if self.find(&name.value).is_none() {
                let message = format!("there is no procedure `{}`", name.value);
                findings.push(
                    Finding::new(&rules::UNKNOWN_THING, message)
                        .at(name.span, "")
                        .near(nearest(&name.value, self.ids())),
                );
            }
        }
        check_leaves(procedure, shop, &mut findings);
        findings
    }

    /// Whether a procedure could be read, is in no circle, and all that it is made up of is sound.
    fn is_whole(
        &self,
        procedure: &'a Procedure,
        looping: &BTreeSet<&str>,
        mut is_sound: impl FnMut(&'a Procedure) -> bool,
    ) -> bool {
        let mut named = self.named(procedure);
        procedure.whole
            && !looping.contains(procedure.id.as_str())
            && named.all(|name| self.find(&name.value).is_some_and(&mut is_sound))
    }

    /// Whether all that a procedure needs could be read, and none of it runs in a circle.
    fn is_sound(
        &self,
        procedure: &'a Procedure,
        looping: &BTreeSet<&str>,
        known: &mut ById<'a, bool>,
    ) -> bool {
        if let Some(is_sound) = known.get(procedure.id.as_str()) {
            return *is_sound;
        }
        // Every circle has a procedure among those that are looping: no circle is gone round here.
        let is_sound = self.is_whole(procedure, looping, |part| {
            self.is_sound(part, looping, known)
        });
        known.insert(&procedure.id, is_sound);
        is_sound
    }

    /// Reports each circle once, and returns the procedures in one.
    fn cycles(&self, findings: &mut Findings) -> BTreeSet<&'a str> {
        let mut looping = BTreeSet::new();
        let mut visits = ById::default();
        // What nobody asks for is in no circle.
        for procedure in self.parts.iter().copied() {
            let mut path = Vec::new();
            self.search(procedure, &mut path, &mut visits, &mut looping, findings);
        }
        looping
    }

    fn search(
        &self,
        procedure: &'a Procedure,
        path: &mut Vec<(&'a Procedure, Option<&'a Located<String>>)>,
        visits: &mut ById<'a, Visit>,
        looping: &mut BTreeSet<&'a str>,
        findings: &mut Findings,
    ) {
        if visits.contains_key(procedure.id.as_str()) {
            return;
        }
        visits.insert(&procedure.id, Visit::Under);
        path.push((procedure, None));
        for name in self.named(procedure) {
            let Some(next) = self.find(&name.value) else {
                continue;
            };
            if let Some(last) = path.last_mut() {
                last.1 = Some(name);
            }
            if visits.get(next.id.as_str()) == Some(&Visit::Under) {
                report_cycle(path, next, looping, findings);
            } else {
                self.search(next, path, visits, looping, findings);
            }
        }
        path.pop();
        visits.insert(&procedure.id, Visit::Done);
    }

    /// The procedures of a job in order of doing.
    ///
    /// What begins a procedure is done before it and what finishes it after all
    /// else, each once however often it is asked for: a machine that is safe
    /// need not be made safe again, and is run when everything is back. What a
    /// procedure that is `do`ne needs before and after counts as the job's own.
    pub(super) fn order(&self, procedure: &'a Procedure) -> Vec<(Phase, &'a Procedure)> {
        let mut order = Vec::new();
        let mut begun = BTreeSet::new();
        let mut after = Vec::new();
        self.begin(procedure, Phase::Begin, &mut order, &mut begun, &mut after);
        if let Some(own) = order.last_mut() {
            own.0 = Phase::Own;
        }
        let mut finished = BTreeSet::new();
        // Own finishes first, then those of whatever began the job: the last opened is closed first.
        while !after.is_empty() {
            for next in std::mem::take(&mut after) {
                if finished.insert(next.id.as_str()) {
                    self.begin(next, Phase::Finish, &mut order, &mut begun, &mut after);
                }
            }
        }
        order
    }

    fn begin(
        &self,
        procedure: &'a Procedure,
        phase: Phase,
        order: &mut Vec<(Phase, &'a Procedure)>,
        begun: &mut BTreeSet<&'a str>,
        after: &mut Vec<&'a Procedure>,
    ) {
        let whole = self.with_done(procedure);
        let mut later = Vec::new();
        for part in &whole {
            for next in part.begin.iter().filter_map(|name| self.find(&name.value)) {
                if begun.insert(&next.id) {
                    self.begin(next, phase, order, begun, &mut later);
                }
            }
        }
        order.push((phase, procedure));
        for part in &whole {
            after.extend(part.finish.iter().filter_map(|name| self.find(&name.value)));
        }
        after.extend(later);
    }

    /// A procedure and all that is `do`ne in it, in order.
    fn with_done(&self, procedure: &'a Procedure) -> Vec<&'a Procedure> {
        let mut whole = vec![procedure];
        let mut seen = BTreeSet::from([procedure.id.as_str()]);
        let mut at = 0;
        // Each once: what is done twice needs no second beginning.
        while let Some(one) = whole.get(at).copied() {
            for name in self.done(one) {
                if let Some(next) = self.find(&name.value)
                    && seen.insert(&next.id)
                {
                    whole.push(next);
                }
            }
            at += 1;
        }
        whole
    }
}

/// A procedure's machines have to be the shop's.
fn check_machines(procedure: &Procedure, shop: &Shop, findings: &mut Findings) {
    for machine in &procedure.machines {
        if shop.machines.find(&machine.value).is_none() {
            let known = shop.machines.keys();
            let message = format!("there is no machine `{}`", machine.value);
            findings.push(
                Finding::new(&rules::UNKNOWN_THING, message)
                    .at(machine.span, "")
                    .near(nearest(&machine.value, known)),
            );
        }
    }
}

/// What a procedure leaves undone has to be something that one of its machines has.
fn check_leaves(procedure: &Procedure, shop: &Shop, findings: &mut Findings) {
    let machines: Vec<&Machine> = procedure
        .machines
        .iter()
        .filter_map(|id| shop.machines.get(&id.value))
        .collect();
    for (name, _) in &procedure.leaves {
        let known = machines.is_empty()
            || machines
                .iter()
                .any(|machine| !machine.whole || has(machine, &name.value));
        if !known {
            let message = format!("none of its machines has a `{}` to leave", name.value);
            let names = machines.iter().flat_map(|machine| {
                let parts = machine.parts.keys();
                parts.chain(machine.energies.keys())
            });
            findings.push(
                Finding::new(&rules::UNKNOWN_THING, message)
                    .at(name.span, "")
                    .near(nearest(&name.value, names)),
            );
        }
    }
}

fn report_cycle<'a>(
    path: &[(&'a Procedure, Option<&'a Located<String>>)],
    back_to: &'a Procedure,
    looping: &mut BTreeSet<&'a str>,
    findings: &mut Findings,
) {
    let start = path
        .iter()
        .position(|(one, _)| one.id == back_to.id)
        .unwrap_or(0);
    let circle = &path[start..];
    looping.extend(circle.iter().map(|(one, _)| one.id.as_str()));
    let mut names: Vec<String> = circle
        .iter()
        .map(|(one, _)| format!("`{}`", one.id))
        .collect();
    names.push(format!("`{}`", back_to.id));
    let message = format!(
        "procedures ask for each other in a circle: {}",
        names.join(" → ")
    );
    let mut finding = Finding::new(&rules::CIRCLE_OF_PROCEDURES, message)
        .help("take one of them out of the other's `begin`, `finish` or `do`");
    for (at, (_, name)) in circle.iter().enumerate() {
        let Some(name) = name else { continue };
        let label = format!("asks for `{}`", name.value);
        finding = if at == 0 {
            finding.at(name.span, label)
        } else {
            finding.and(name.span, label)
        };
    }
    findings.push(finding);
}

fn done_in(procedure: &Procedure) -> impl Iterator<Item = &Located<String>> {
    procedure
        .steps()
        .flat_map(Step::actions)
        .filter(|action| action.verb == Verb::Do)
        .map(|action| &action.thing)
}

fn has(machine: &Machine, name: &str) -> bool {
    machine.parts.find(name).is_some()
        || machine.energies.find(name).is_some()
        || machine.valves.find(name).is_some()
        || machine.fluids.find(name).is_some()
}
