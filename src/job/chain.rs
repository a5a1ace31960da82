//! Which procedures make up a job, and in what order.

use super::{Phase, rules};
use crate::finding::{Finding, Findings, Located, nearest};
use crate::procedure::{FaultId, Procedure, ProcedureId, UNKNOWN_THING};
use crate::record::{PerRecord, ids};
use crate::shop::{Machine, Shop};
use rayon::prelude::*;
use std::collections::BTreeSet;

/// All procedures and fault tables.
pub(super) struct Library<'a> {
    procedures: &'a [Procedure],
    faults: &'a [Procedure],
    /// The procedures in order of their keys.
    by_key: Vec<ProcedureId>,
    /// The procedures that others are made up of; a shop has few.
    parts: BTreeSet<ProcedureId>,
}

/// Whether a search has been through a procedure.
#[derive(Clone, Copy, PartialEq)]
enum Visit {
    Under,
    Done,
}

impl<'a> Library<'a> {
    pub(super) fn new(procedures: &'a [Procedure], faults: &'a [Procedure]) -> Library<'a> {
        let mut by_key: Vec<ProcedureId> = ids(procedures).collect();
        by_key.sort_by_key(|id| &procedures[id.index()].id);
        let all = procedures.par_iter().chain(faults);
        let parts = all.fold(BTreeSet::new, |mut parts, procedure| {
            parts.extend(procedure.parts().map(|part| part.value));
            parts
        });
        Library {
            procedures,
            faults,
            by_key,
            parts: parts.reduce(BTreeSet::new, |one, other| &one | &other),
        }
    }

    pub(super) fn procedure(&self, id: ProcedureId) -> &'a Procedure {
        &self.procedures[id.index()]
    }

    pub(super) fn fault(&self, id: FaultId) -> &'a Procedure {
        &self.faults[id.index()]
    }

    /// The procedures that others are made up of, each once.
    pub(super) fn parts(&self) -> impl Iterator<Item = ProcedureId> {
        self.parts.iter().copied()
    }

    /// Checks what procedures say of each other and of machines, and returns those of which jobs can
    /// be made, in order of their keys.
    pub(super) fn check(&self, shop: &Shop, findings: &mut Findings) -> Vec<ProcedureId> {
        for procedure in self.procedures {
            check_left(procedure, shop, findings);
        }
        let looping = self.cycles(findings);
        let mut known = PerRecord::of(self.procedures, |_| None);
        for part in self.parts() {
            self.is_sound(part, &looping, &mut known);
        }
        let mut sound = self.by_key.clone();
        sound.retain(|id| self.is_whole(*id, &looping, |part| known[part] == Some(true)));
        sound
    }

    /// Whether a procedure could be read, is in no circle, and all that it is made up of is sound.
    fn is_whole(
        &self,
        id: ProcedureId,
        looping: &BTreeSet<ProcedureId>,
        mut is_sound: impl FnMut(ProcedureId) -> bool,
    ) -> bool {
        let procedure = self.procedure(id);
        procedure.whole
            && procedure.has_all_parts
            && !looping.contains(&id)
            && procedure.parts().all(|part| is_sound(part.value))
    }

    /// Whether all that a procedure needs could be read, and none of it runs in a circle.
    fn is_sound(
        &self,
        id: ProcedureId,
        looping: &BTreeSet<ProcedureId>,
        known: &mut PerRecord<Procedure, Option<bool>>,
    ) -> bool {
        if let Some(is_sound) = known[id] {
            return is_sound;
        }
        // Every circle has a procedure among those that are looping: no circle is gone round here.
        let is_sound = self.is_whole(id, looping, |part| self.is_sound(part, looping, known));
        known[id] = Some(is_sound);
        is_sound
    }

    /// Reports each circle once, and returns the procedures in one.
    fn cycles(&self, findings: &mut Findings) -> BTreeSet<ProcedureId> {
        let mut looping = BTreeSet::new();
        let mut visits = PerRecord::of(self.procedures, |_| None);
        // What nobody asks for is in no circle.
        let mut parts: Vec<ProcedureId> = self.parts().collect();
        parts.sort_by_key(|id| &self.procedure(*id).id);
        for id in parts {
            self.search(id, &mut Vec::new(), &mut visits, &mut looping, findings);
        }
        looping
    }

    fn search(
        &self,
        id: ProcedureId,
        path: &mut Vec<(ProcedureId, Option<Located<ProcedureId>>)>,
        visits: &mut PerRecord<Procedure, Option<Visit>>,
        looping: &mut BTreeSet<ProcedureId>,
        findings: &mut Findings,
    ) {
        if visits[id].is_some() {
            return;
        }
        visits[id] = Some(Visit::Under);
        path.push((id, None));
        for part in self.procedure(id).parts() {
            if let Some(last) = path.last_mut() {
                last.1 = Some(*part);
            }
            if visits[part.value] == Some(Visit::Under) {
                self.report_cycle(path, part.value, looping, findings);
            } else {
                self.search(part.value, path, visits, looping, findings);
            }
        }
        path.pop();
        visits[id] = Some(Visit::Done);
    }

    fn report_cycle(
        &self,
        path: &[(ProcedureId, Option<Located<ProcedureId>>)],
        back_to: ProcedureId,
        looping: &mut BTreeSet<ProcedureId>,
        findings: &mut Findings,
    ) {
        let start = path.iter().position(|(id, _)| *id == back_to);
        let circle = &path[start.unwrap_or(0)..];
        looping.extend(circle.iter().map(|(id, _)| *id));
        let ids = circle.iter().map(|(id, _)| *id).chain([back_to]);
        let names: Vec<String> = ids
            .map(|id| format!("`{}`", self.procedure(id).id))
            .collect();
        let message = format!(
            "procedures ask for each other in a circle: {}",
            names.join(" → ")
        );
        let mut finding = Finding::new(&rules::CIRCLE_OF_PROCEDURES, message)
            .help("take one of them out of the other's `begin`, `finish` or `do`");
        for (at, (_, asked)) in circle.iter().enumerate() {
            let Some(asked) = asked else { continue };
            let label = format!("asks for `{}`", self.procedure(asked.value).id);
            finding = if at == 0 {
                finding.primary(asked.span, label)
            } else {
                finding.secondary(asked.span, label)
            };
        }
        findings.push(finding);
    }

    /// The procedures of a job in order of doing.
    ///
    /// What begins a procedure is done before it and what finishes it after all
    /// else, each once however often it is asked for: a machine that is safe
    /// need not be made safe again, and is run when everything is back. What a
    /// procedure that is `do`ne needs before and after counts as the job's own.
    pub(super) fn order(&self, procedure: &'a Procedure) -> Vec<(Phase, &'a Procedure)> {
        let mut order = Vec::new();
        let mut begun = Vec::new();
        let mut after = Vec::new();
        self.begin(procedure, Phase::Begin, &mut order, &mut begun, &mut after);
        if let Some(own) = order.last_mut() {
            own.0 = Phase::Own;
        }
        let mut finished = Vec::new();
        // Own finishes first, then those of whatever began the job: the last opened is closed first.
        while !after.is_empty() {
            for next in std::mem::take(&mut after) {
                if is_new(&mut finished, next) {
                    let next = self.procedure(next);
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
        begun: &mut Vec<ProcedureId>,
        after: &mut Vec<ProcedureId>,
    ) {
        let whole = self.with_done(procedure);
        let mut later = Vec::new();
        for part in &whole {
            for next in &part.begin {
                if is_new(begun, next.value) {
                    let next = self.procedure(next.value);
                    self.begin(next, phase, order, begun, &mut later);
                }
            }
        }
        order.push((phase, procedure));
        for part in &whole {
            after.extend(part.finish.iter().map(|next| next.value));
        }
        after.extend(later);
    }

    /// A procedure and all that is `do`ne in it, in order.
    fn with_done(&self, procedure: &'a Procedure) -> Vec<&'a Procedure> {
        let mut whole = vec![procedure];
        let mut seen = Vec::new();
        let mut at = 0;
        // Each once: what is done twice needs no second beginning.
        while let Some(procedure) = whole.get(at).copied() {
            for done in procedure.steps().flat_map(|step| &step.done) {
                if is_new(&mut seen, done.value) {
                    whole.push(self.procedure(done.value));
                }
            }
            at += 1;
        }
        whole
    }
}

/// Adds an id to a list, unless the list has it. A job is made up of few procedures, so that no set
/// is quicker.
fn is_new(ids: &mut Vec<ProcedureId>, id: ProcedureId) -> bool {
    let is_new = !ids.contains(&id);
    if is_new {
        ids.push(id);
    }
    is_new
}

/// What a procedure leaves undone has to be something that one of its machines has.
fn check_left(procedure: &Procedure, shop: &Shop, findings: &mut Findings) {
    if procedure.leaves.is_empty() {
        return;
    }
    let machines = procedure.machines.iter();
    let machines: Vec<&Machine> = machines.map(|id| &shop.machines[id.value]).collect();
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
                Finding::new(&UNKNOWN_THING, message)
                    .primary(name.span, "")
                    .suggest(nearest(&name.value, names)),
            );
        }
    }
}

fn has(machine: &Machine, name: &str) -> bool {
    machine.parts.find(name).is_some()
        || machine.energies.find(name).is_some()
        || machine.valves.find(name).is_some()
        || machine.fluids.find(name).is_some()
}
