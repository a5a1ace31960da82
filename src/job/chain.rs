//! Determines which procedures a job consists of, and their order.

use super::data::Phase;
use super::{left, pairs, rules};
use crate::finding::{FileId, Finding, Findings, Located};
use crate::procedure::{FaultId, Procedure, ProcedureId};
use crate::record::{PerRecord, ids};
use crate::shop::{MachineId, Shop};
use crate::tree::OVER_LIMIT;
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

/// All procedures and fault tables.
pub(super) struct Library<'a> {
    procedures: &'a [Procedure],
    faults: &'a [Procedure],
    /// The ids of the procedures, in order of their keys.
    by_key: Vec<ProcedureId>,
    /// The procedures that others include by `begin`, `finish` or `do`, or reverse. A shop has few.
    parts: BTreeSet<ProcedureId>,
    /// For each procedure that others reverse, those others, in order of their keys.
    reversed_by: BTreeMap<ProcedureId, Vec<ProcedureId>>,
}

/// The procedures of a job in order of execution.
#[derive(Clone, Debug, Default)]
pub(super) struct Order<'a> {
    /// What was done before the job, on a sheet of its own: the procedure that the job's own one reverses, with those that
    /// came before it.
    pub(super) earlier: Vec<(Phase, &'a Procedure)>,
    pub(super) steps: Vec<(Phase, &'a Procedure)>,
}

/// The state of a procedure in the depth-first search for cycles.
#[derive(Clone, Copy, PartialEq)]
enum Visit {
    InProgress,
    Done(Extent),
}

/// How far a procedure reaches with those that it includes.
#[derive(Clone, Copy, PartialEq)]
struct Extent {
    /// The number of procedures in the longest chain that it begins.
    height: usize,
    /// The number of its steps, with those of the procedures that replace steps: see `do`.
    steps: usize,
}

/// The limit on procedures that include each other in a chain. It bounds the recursion over them, and a job's length: a
/// chain of thousands would repeat each of its procedures thousands of times.
const MAX_CHAIN: usize = 32;

/// The limit on the steps of a job, with those of the procedures that it includes. A long job has about a hundred. A few
/// procedures that include each other several times by `do` would have billions.
const MAX_STEPS: usize = 2_000;

impl<'a> Library<'a> {
    pub(super) fn new(procedures: &'a [Procedure], faults: &'a [Procedure]) -> Library<'a> {
        let mut by_key: Vec<ProcedureId> = ids(procedures).collect();
        by_key.sort_by_key(|id| &procedures[id.index()].id);
        let sources = procedures.par_iter().chain(faults);
        let parts = sources.fold(BTreeSet::new, |mut parts, procedure| {
            parts.extend(procedure.parts_and_reversed().map(|part| part.value));
            parts
        });
        let mut reversed_by: BTreeMap<ProcedureId, Vec<ProcedureId>> = BTreeMap::new();
        for id in by_key.iter().copied() {
            if let Some(reversed) = &procedures[id.index()].reverses {
                reversed_by.entry(reversed.value).or_default().push(id);
            }
        }
        Library {
            procedures,
            faults,
            by_key,
            parts: parts.reduce(BTreeSet::new, |left, right| &left | &right),
            reversed_by,
        }
    }

    pub(super) fn procedure(&self, id: ProcedureId) -> &'a Procedure {
        &self.procedures[id.index()]
    }

    pub(super) fn fault(&self, id: FaultId) -> &'a Procedure {
        &self.faults[id.index()]
    }

    /// The procedure that puts back what a procedure took off on a machine. `None` if none says so.
    pub(super) fn continued_in(&self, of: &Procedure, machine: MachineId) -> Option<&'a Procedure> {
        let index = self.find(&of.id)?;
        let others = self.reversed_by.get(&index)?.iter();
        let mut others = others.map(|id| self.procedure(*id));
        others.find(|other| other.is_for(machine) && other.file != of.file)
    }

    fn find(&self, key: &str) -> Option<ProcedureId> {
        let key_of = |id: &ProcedureId| self.procedure(*id).id.as_str();
        let found = self.by_key.binary_search_by(|id| key_of(id).cmp(key));
        found.ok().map(|index| self.by_key[index])
    }

    /// The ids of all procedures, in order of their keys.
    pub(super) fn ids(&self) -> &[ProcedureId] {
        &self.by_key
    }

    /// The procedures that others include, each once.
    pub(super) fn parts(&self) -> impl Iterator<Item = ProcedureId> {
        self.parts.iter().copied()
    }

    /// Checks the references between procedures and what they leave undone. Returns the procedures that jobs can be
    /// made of, in order of their keys.
    pub(super) fn check(&self, shop: &Shop, findings: &mut Findings) -> Vec<ProcedureId> {
        for procedure in self.procedures {
            left::check(procedure, shop, findings);
        }
        let unpaired = pairs::check(self.procedures, &self.reversed_by, shop, findings);
        let mut extents = PerRecord::of(self.procedures, |_| None);
        let refused = self.cycles(&mut extents, findings);
        let mut known = PerRecord::of(self.procedures, |_| None);
        for part in self.parts() {
            self.is_sound(part, &refused, &mut known);
        }
        let mut sound = self.by_key.clone();
        sound.retain(|id| {
            let reversed = self.procedure(*id).reverses;
            self.is_usable(*id, &refused, |part| known[part] == Some(true))
                && reversed.is_none_or(|reversed| known[reversed.value] == Some(true))
                && !unpaired.contains(id)
        });
        sound.retain(|id| {
            let is_short = self.has_few_steps(*id, &extents);
            if !is_short {
                findings.push(self.too_long(*id));
            }
            is_short
        });
        sound
    }

    /// The fault tables that jobs can be made of: those that were read in full, and include only procedures of `sound`. A
    /// procedure that includes itself would have no end.
    pub(super) fn readable_faults(&self, sound: &[ProcedureId]) -> Vec<&'a Procedure> {
        let sound: BTreeSet<ProcedureId> = sound.iter().copied().collect();
        let faults = self.faults.iter().filter(|fault| fault.is_complete);
        faults
            .filter(|fault| fault.parts().all(|part| sound.contains(&part.value)))
            .collect()
    }

    /// Whether a procedure was read in full, is not refused, and includes only procedures for which `is_sound`.
    fn is_usable(
        &self,
        id: ProcedureId,
        refused: &BTreeSet<ProcedureId>,
        mut is_sound: impl FnMut(ProcedureId) -> bool,
    ) -> bool {
        let procedure = self.procedure(id);
        procedure.is_complete
            && procedure.has_all_parts
            && !refused.contains(&id)
            && procedure.parts().all(|part| is_sound(part.value))
    }

    /// Whether a procedure and all that it includes, directly or not, were read in full and are in no cycle.
    fn is_sound(
        &self,
        id: ProcedureId,
        refused: &BTreeSet<ProcedureId>,
        known: &mut PerRecord<Procedure, Option<bool>>,
    ) -> bool {
        if let Some(is_sound) = known[id] {
            return is_sound;
        }
        // The recursion ends soon: every cycle and every long chain has a procedure in `refused`, where `is_usable`
        // stops.
        let is_sound = self.is_usable(id, refused, |part| self.is_sound(part, refused, known));
        known[id] = Some(is_sound);
        is_sound
    }

    /// Reports each cycle once, and each chain that is too deep. Returns the procedures of which no job can be made: those
    /// in a cycle, and those at or above the place where a chain becomes too deep.
    fn cycles(
        &self,
        extents: &mut PerRecord<Procedure, Option<Visit>>,
        findings: &mut Findings,
    ) -> BTreeSet<ProcedureId> {
        let mut refused = BTreeSet::new();
        // A procedure that no other includes is in no cycle.
        let mut parts: Vec<ProcedureId> = self.parts().collect();
        parts.sort_by_key(|id| &self.procedure(*id).id);
        for id in parts {
            self.search(id, extents, &mut refused, findings);
        }
        for id in self.by_key.iter().copied() {
            let extent = match extents[id] {
                Some(Visit::Done(extent)) => extent,
                _ => self.extent(id, extents),
            };
            extents[id] = Some(Visit::Done(extent));
            if extent.height > MAX_CHAIN {
                refused.insert(id);
                // Those above it would repeat it.
                if extent.height == MAX_CHAIN + 1 {
                    findings.push(self.too_deep(id));
                }
            } else if extent.steps > MAX_STEPS {
                refused.insert(id);
                let is_first =
                    |part: &Located<ProcedureId>| extent_of(extents, part.value).steps <= MAX_STEPS;
                if self.procedure(id).parts().all(is_first) {
                    findings.push(self.too_long(id));
                }
            }
        }
        refused
    }

    /// Whether the job of a sound procedure, with those that come before and after it, is within the limit.
    fn has_few_steps(
        &self,
        id: ProcedureId,
        extents: &PerRecord<Procedure, Option<Visit>>,
    ) -> bool {
        let procedure = self.procedure(id);
        if procedure.parts_and_reversed().next().is_none() {
            return true;
        }
        let Order { earlier, steps } = self.order(procedure, false);
        let steps = earlier.into_iter().chain(steps).map(|(_, part)| {
            let found = self.find(&part.id);
            found.map_or(0, |id| extent_of(extents, id).steps)
        });
        steps.sum::<usize>() <= MAX_STEPS
    }

    fn too_long(&self, id: ProcedureId) -> Finding {
        let procedure = self.procedure(id);
        let message = format!(
            "the job of procedure `{}` has more than {MAX_STEPS} steps, with those of the procedures that it includes",
            procedure.id
        );
        Finding::new(&OVER_LIMIT, message)
            .primary(procedure.title.span, "")
            .help("split it into several jobs")
    }

    /// Searches a procedure and what it includes for cycles, depth first. It is a loop, because a chain can be of any
    /// length.
    fn search(
        &self,
        id: ProcedureId,
        visits: &mut PerRecord<Procedure, Option<Visit>>,
        refused: &mut BTreeSet<ProcedureId>,
        findings: &mut Findings,
    ) {
        if visits[id].is_some() {
            return;
        }
        let mut path: Vec<(ProcedureId, Option<Located<ProcedureId>>)> = Vec::new();
        let mut rest: Vec<std::vec::IntoIter<Located<ProcedureId>>> = Vec::new();
        let mut next = Some(id);
        loop {
            if let Some(id) = next.take() {
                visits[id] = Some(Visit::InProgress);
                path.push((id, None));
                let parts: Vec<_> = self.procedure(id).parts().copied().collect();
                rest.push(parts.into_iter());
            }
            let (Some(parts), Some(last)) = (rest.last_mut(), path.last_mut()) else {
                return;
            };
            let Some(part) = parts.next() else {
                let id = last.0;
                visits[id] = Some(Visit::Done(self.extent(id, visits)));
                rest.pop();
                path.pop();
                continue;
            };
            last.1 = Some(part);
            match visits[part.value] {
                None => next = Some(part.value),
                Some(Visit::InProgress) => {
                    self.report_cycle(&path, part.value, refused, findings);
                }
                Some(Visit::Done(_)) => {}
            }
        }
    }

    /// How far a procedure reaches. `visits` has the extents of its parts.
    fn extent(&self, id: ProcedureId, visits: &PerRecord<Procedure, Option<Visit>>) -> Extent {
        let procedure = self.procedure(id);
        let heights = procedure
            .parts()
            .map(|part| extent_of(visits, part.value).height);
        let mut steps = 0_usize;
        for step in procedure.steps() {
            steps += 1;
            for part in &step.done {
                steps = steps.saturating_add(extent_of(visits, part.value).steps);
            }
        }
        Extent {
            height: 1 + heights.max().unwrap_or_default(),
            steps,
        }
    }

    fn too_deep(&self, id: ProcedureId) -> Finding {
        let procedure = self.procedure(id);
        let message = format!(
            "procedure `{}` includes others more than {MAX_CHAIN} deep",
            procedure.id
        );
        let finding = Finding::new(&OVER_LIMIT, message).help(
            "name what is to be done in fewer procedures: each of them is printed in full anyway",
        );
        match procedure.parts().next() {
            Some(part) => finding.primary(part.span, "included here"),
            None => finding,
        }
    }

    fn report_cycle(
        &self,
        path: &[(ProcedureId, Option<Located<ProcedureId>>)],
        back_to: ProcedureId,
        refused: &mut BTreeSet<ProcedureId>,
        findings: &mut Findings,
    ) {
        let start = path.iter().position(|(id, _)| *id == back_to);
        let cycle = &path[start.unwrap_or(0)..];
        refused.extend(cycle.iter().map(|(id, _)| *id));
        let ids = cycle.iter().map(|(id, _)| *id).chain([back_to]);
        let names: Vec<String> = ids
            .map(|id| format!("`{}`", self.procedure(id).id))
            .collect();
        let (message, help) = match names.as_slice() {
            [name, _] => (
                format!("procedure {name} includes itself"),
                "remove it from its own `begin`, `finish` or `do`",
            ),
            names => (
                format!(
                    "procedures include each other in a cycle: {}",
                    names.join(" → ")
                ),
                "remove one of them from the other's `begin`, `finish` or `do`",
            ),
        };
        let mut finding = Finding::new(&rules::PROCEDURE_CYCLE, message).help(help);
        for (index, (_, included)) in cycle.iter().enumerate() {
            let Some(included) = included else { continue };
            let label = format!("includes `{}`", self.procedure(included.value).id);
            finding = if index == 0 {
                finding.primary(included.span, label)
            } else {
                finding.secondary(included.span, label)
            };
        }
        findings.push(finding);
    }

    /// The procedures of a job in order of execution.
    ///
    /// `begin` procedures come before the procedure that names them, and `finish` procedures after everything
    /// else. Each occurs once, however often it is named: a machine that is safe need not be made safe again, and
    /// it is run when everything is back. The `begin` and `finish` of a procedure that is included by `do` count
    /// as the job's own. The procedures included by `do` are not in the list, because they replace steps.
    ///
    /// A pair of procedures, one of which reverses the other, is one such job on two sheets. What comes before the first
    /// and need not be done again is on the first sheet, and what is done when everything is back is on the second.
    /// `is_continued` says that the procedure is the first of a pair.
    pub(super) fn order(&self, procedure: &'a Procedure, is_continued: bool) -> Order<'a> {
        let mut begun = Vec::new();
        let mut after = Vec::new();
        let mut part = |procedure| {
            let mut order = Vec::new();
            self.begin(procedure, Phase::Begin, &mut order, &mut begun, &mut after);
            // `begin` pushes the procedure itself last.
            if let Some((phase, _)) = order.last_mut() {
                *phase = Phase::Own;
            }
            order
        };
        let reversed = procedure.reverses.iter();
        let earlier = reversed
            .flat_map(|id| part(self.procedure(id.value)))
            .collect();
        let mut order = part(procedure);
        if is_continued {
            after.clear();
        }
        let mut finished = Vec::new();
        // The job's own `finish` comes first, then that of its `begin` procedures, last begun first.
        while !after.is_empty() {
            for id in std::mem::take(&mut after) {
                if insert(&mut finished, id) {
                    let next = self.procedure(id);
                    self.begin(next, Phase::Finish, &mut order, &mut begun, &mut after);
                }
            }
        }
        Order {
            earlier,
            steps: order,
        }
    }

    /// Appends a procedure, after its `begin` procedures, to `order`. Adds its `finish` procedures to `after`, and
    /// then those of its `begin` procedures.
    fn begin(
        &self,
        procedure: &'a Procedure,
        phase: Phase,
        order: &mut Vec<(Phase, &'a Procedure)>,
        begun: &mut Vec<ProcedureId>,
        after: &mut Vec<ProcedureId>,
    ) {
        let included = self.with_done(procedure);
        let mut later = Vec::new();
        for part in &included {
            for id in &part.begin {
                if insert(begun, id.value) {
                    let first = self.procedure(id.value);
                    self.begin(first, phase, order, begun, &mut later);
                }
            }
        }
        order.push((phase, procedure));
        for part in &included {
            after.extend(part.finish.iter().map(|id| id.value));
        }
        after.extend(later);
    }

    /// The files in which the steps of a procedure and of the one that it reverses are written, with those that they include
    /// by `do`. None if it reverses no procedure.
    pub(super) fn pair_files(&self, procedure: &'a Procedure) -> Vec<FileId> {
        let Some(reversed) = procedure.reverses else {
            return Vec::new();
        };
        let both = [procedure, self.procedure(reversed.value)];
        let written = both.into_iter().flat_map(|part| self.with_done(part));
        written.map(|part| part.file).collect()
    }

    /// A procedure and all procedures that it includes by `do`, directly or not, each once.
    fn with_done(&self, procedure: &'a Procedure) -> Vec<&'a Procedure> {
        let mut included = vec![procedure];
        let mut seen = Vec::new();
        let mut next_index = 0;
        while let Some(procedure) = included.get(next_index).copied() {
            for done in procedure.steps().flat_map(|step| &step.done) {
                if insert(&mut seen, done.value) {
                    included.push(self.procedure(done.value));
                }
            }
            next_index += 1;
        }
        included
    }
}

/// Adds an id to a list that does not have it yet, and returns whether it was added. A set would not be faster,
/// because a job consists of few procedures.
fn insert(ids: &mut Vec<ProcedureId>, id: ProcedureId) -> bool {
    let is_new = !ids.contains(&id);
    if is_new {
        ids.push(id);
    }
    is_new
}

/// The extent of a procedure that was visited. Of one in a cycle, nothing.
fn extent_of(visits: &PerRecord<Procedure, Option<Visit>>, part: ProcedureId) -> Extent {
    match visits[part] {
        Some(Visit::Done(extent)) => extent,
        _ => Extent {
            height: 0,
            steps: 0,
        },
    }
}
