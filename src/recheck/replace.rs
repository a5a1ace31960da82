//! Reads one file of the sources again, and finds what depends on it.

use super::Outdated;
use crate::Sources;
use crate::finding::{FileId, FindingsByFile};
use crate::job;
use crate::procedure::{self, Procedure, Reference};
use crate::shop::{self, Machine, MachineId, SupplyId, ToolId};
use crate::tree::SourceKind;
use std::collections::BTreeSet;

/// Replaces the text of a file, and reads it again. Returns what the change makes outdated.
///
/// `None` if the change is none that one file can be read again for, such as a line that is too long: the sources are to
/// be read from nothing then, because they may be half changed.
pub(crate) fn replace_text(sources: &mut Sources, file: FileId, text: String) -> Option<Outdated> {
    if !sources.tree.replace_text(file, text) {
        return None;
    }
    let kind = sources.tree.file(file).kind.clone();
    let mut outdated = match kind {
        SourceKind::Procedure { id, .. } => replace_procedure(sources, file, &id)?,
        SourceKind::Fault { .. } => replace_fault(sources, file)?,
        SourceKind::Machine { .. } => replace_machine(sources, file),
        SourceKind::Shop
        | SourceKind::Tools
        | SourceKind::Supplies
        | SourceKind::Cautions
        | SourceKind::Glossary
        | SourceKind::Log
        | SourceKind::Figure { .. } => {
            sources.kept.shop = FindingsByFile::default();
            sources.shop = shop::read(&sources.tree, &mut sources.kept.shop);
            Outdated::all()
        }
    };
    outdated.moved.insert(file);
    sources.collect_findings();
    Some(outdated)
}

fn replace_procedure(sources: &mut Sources, file: FileId, id: &str) -> Option<Outdated> {
    // Of two procedures with one id, one is ignored.
    let has_id =
        |kind: &SourceKind| matches!(kind, SourceKind::Procedure { id: other, .. } if other == id);
    let files = sources.tree.files.iter();
    if files.filter(|file| has_id(&file.kind)).nth(1).is_some() {
        return None;
    }
    let mut procedures = sources.procedures.iter();
    let index = procedures.position(|procedure| procedure.file == file)?;
    let (read, findings) = procedure::read_again(&sources.tree, file)?;
    sources.kept.procedures.set(file, findings);
    let before = std::mem::replace(&mut sources.procedures[index], read);
    let mut outdated = Outdated::default();
    let mut changed = BTreeSet::from([file]);
    // The first of a pair depends on which procedure continues it.
    let now = &sources.procedures[index];
    if before.reverses != now.reverses || !has_same_machines(&before, now) {
        let reversed = before.reverses.iter().chain(&now.reverses);
        changed.extend(reversed.map(|id| sources.procedures[id.value.index()].file));
    }
    add_with_includers(sources, changed, &mut outdated);
    if !has_same_machines(&before, &sources.procedures[index]) {
        let is_referred = |reference: &Reference| matches!(reference, Reference::Procedure(id) if id.index() == index);
        let referring = referring(sources, is_referred);
        add_with_includers(sources, referring, &mut outdated);
    }
    Some(outdated)
}

fn replace_fault(sources: &mut Sources, file: FileId) -> Option<Outdated> {
    let index = sources.faults.iter().position(|fault| fault.file == file)?;
    let (read, findings) = procedure::read_again(&sources.tree, file)?;
    sources.kept.procedures.set(file, findings);
    let before = std::mem::replace(&mut sources.faults[index], read);
    let mut outdated = Outdated::default();
    outdated.texts.insert(file);
    outdated.procedures.insert(file);
    if !has_same_machines(&before, &sources.faults[index]) {
        let is_referred = |reference: &Reference| matches!(reference, Reference::Fault(id) if id.index() == index);
        let referring = referring(sources, is_referred);
        add_with_includers(sources, referring, &mut outdated);
    }
    Some(outdated)
}

/// Reads the machine of a file again, and those that are like it.
fn replace_machine(sources: &mut Sources, file: FileId) -> Outdated {
    let machines = sources.shop.machines.values();
    let of_file = machines.filter(|machine| machine.files.contains(&file));
    let of_file: Vec<MachineId> = of_file.map(|machine| machine.index).collect();
    let known_before = known_if_fitted(sources);
    let mut outdated = Outdated {
        records: true,
        ..Outdated::default()
    };
    for machine in of_file {
        read_again(sources, machine, &mut outdated);
    }
    // On any machine, a step marked `{if-fitted}` has the names that some other machine has.
    let known_now = known_if_fitted(sources);
    let pairs = written(sources).zip(known_before.iter().zip(&known_now));
    let changed = pairs.filter(|(_, (before, now))| before != now);
    let changed: BTreeSet<FileId> = changed.map(|(procedure, _)| procedure.file).collect();
    if !changed.is_empty() {
        add_with_includers(sources, changed, &mut outdated);
    }
    outdated
}

fn read_again(sources: &mut Sources, machine: MachineId, outdated: &mut Outdated) {
    let before = sources.shop.machines[machine].clone();
    let findings = shop::read_machine_again(&sources.tree, &mut sources.shop, machine);
    sources.kept.shop.set(before.file, findings);
    let now = &sources.shop.machines[machine];
    outdated.texts.insert(now.file);
    outdated.machines.insert(machine);
    // Figures have numbers for its parts.
    let legends = sources.shop.legends.values();
    let legends = legends.filter(|legend| legend.is_for(machine));
    outdated.texts.extend(legends.map(|legend| legend.file));
    // Two machines with one name are reported at the later one.
    if before.name.value != now.name.value {
        let files = sources.tree.files.iter();
        let machines = files.filter(|file| matches!(file.kind, SourceKind::Machine { .. }));
        outdated.texts.extend(machines.map(|file| file.id));
    }
    let on_machine = written(sources).filter(|procedure| procedure.is_for(machine));
    let on_machine: BTreeSet<FileId> = on_machine.map(|procedure| procedure.file).collect();
    // What a machine brings into the kit also counts for the text of procedures that include one of its own.
    if kit(&before) == kit(now) {
        outdated.texts.extend(on_machine);
    } else {
        outdated.texts.extend(with_includers(sources, on_machine));
    }
}

/// All procedures and fault tables.
fn written(sources: &Sources) -> impl Iterator<Item = &Procedure> {
    sources.procedures.iter().chain(&sources.faults)
}

fn has_same_machines(before: &Procedure, now: &Procedure) -> bool {
    let machines = |procedure: &Procedure| -> Vec<MachineId> {
        procedure.machines.iter().map(|id| id.value).collect()
    };
    machines(before) == machines(now)
}

/// The procedures and fault tables with a reference that `is_referred` selects.
fn referring(sources: &Sources, is_referred: impl Fn(&Reference) -> bool) -> BTreeSet<FileId> {
    let written = written(sources);
    let referring = written.filter(|procedure| procedure.references.values().any(&is_referred));
    referring.map(|procedure| procedure.file).collect()
}

/// Some procedures, and those that include any of them by `begin`, `do` or `finish`, or reverse one, directly or not.
fn with_includers(sources: &Sources, mut files: BTreeSet<FileId>) -> BTreeSet<FileId> {
    loop {
        let count = files.len();
        for procedure in written(sources) {
            let mut parts = procedure.parts_and_reversed();
            let includes = parts.any(|part| {
                let part = &sources.procedures[part.value.index()];
                files.contains(&part.file)
            });
            if includes {
                files.insert(procedure.file);
            }
        }
        if files.len() == count {
            return files;
        }
    }
}

/// Makes the jobs and the text of procedures outdated, and of those that include them.
fn add_with_includers(sources: &Sources, files: BTreeSet<FileId>, outdated: &mut Outdated) {
    let files = with_includers(sources, files);
    outdated.texts.extend(&files);
    outdated.procedures.extend(files);
}

/// The tools and supplies that a machine's readings and fluids need.
fn kit(machine: &Machine) -> Vec<(&str, Option<ToolId>, Option<SupplyId>)> {
    let readings = machine.readings.values().map(|reading| {
        let tool = reading.tool.as_ref().map(|tool| tool.value);
        (reading.key.as_str(), tool, None)
    });
    let fluids = machine.fluids.values().map(|fluid| {
        let supply = fluid.supply.as_ref().map(|supply| supply.value);
        (fluid.key.as_str(), None, supply)
    });
    readings.chain(fluids).collect()
}

/// For each procedure and fault table, whether any machine has what its steps marked `{if-fitted}` name.
fn known_if_fitted(sources: &Sources) -> Vec<Vec<bool>> {
    let known = written(sources).map(|procedure| {
        let steps = procedure.steps().filter(|step| step.if_fitted);
        let actions = steps.flat_map(|step| step.actions().chain(step.outcomes()));
        actions
            .map(|action| job::is_known_anywhere(&sources.shop, action))
            .collect()
    });
    known.collect()
}
