//! Checks a mutant of a procedure in every job that includes it.

use super::demo;
use super::mutation::{Change, Mutant};
use super::no_fault::{KitItem, are_linked, is_idle, is_on_bench, kit_of};
use crate::Sources;
use crate::finding::{Finding, Findings, Span};
use crate::job::{self, Action, Job};
use crate::procedure::{Item, Procedure};
use crate::prose::{ActionLink, Verb};
use crate::rehearsal::{self, State};
use crate::rules;
use crate::tree::Memory;
use std::collections::{BTreeMap, BTreeSet};

/// An action of a job: its verb, thing and position.
type JobAction = (Verb, String, Option<String>);

/// A procedure without what follows its job. That is no part of the job, and may be for none of the mutant's machines.
fn without_follow_on(procedure: &Procedure) -> Procedure {
    let mut alone = procedure.clone();
    alone.follow_on.clear();
    alone
}

/// The actions of a job in order, without references and cautions.
fn actions_of(job: &Job<'_>) -> Vec<JobAction> {
    job.steps()
        .flat_map(|step| step.all_actions())
        .filter(|action| !matches!(action.verb, Verb::See | Verb::Caution))
        .map(|action| {
            let position = action.position.map(str::to_owned);
            (action.verb, action.thing.key().to_owned(), position)
        })
        .collect()
}

/// Collects a procedure and the procedures that it includes.
fn parts_of(procedure: &Procedure, all: &[Procedure], parts: &mut BTreeSet<String>) {
    if parts.insert(procedure.id.clone()) {
        for part in procedure.parts() {
            parts_of(&all[part.value.index()], all, parts);
        }
    }
}

/// The result of checking a mutant.
#[derive(Default)]
pub(super) struct Outcome {
    /// The machines on which the actions of a job are changed.
    pub(super) changed: BTreeSet<String>,
    /// The machines on which there is a finding.
    pub(super) found: BTreeSet<String>,
    /// The machines on which the mutant is no fault, and why.
    pub(super) no_fault: BTreeMap<String, NoFault>,
    /// The findings, as a check of the shop reports them.
    pub(super) findings: Vec<Finding>,
}

impl Outcome {
    pub(super) fn count(&self) -> usize {
        count_of(self.findings.iter())
    }
}

/// The number of findings. A name that is not found counts once, however often it is used.
pub(super) fn count_of<'f>(findings: impl Iterator<Item = &'f Finding>) -> usize {
    let mut unknown = BTreeSet::new();
    let counted = findings.filter(|finding| {
        finding.rule.name != "unknown-thing" || unknown.insert(name_in(&finding.message))
    });
    counted.count()
}

/// The last name between backticks in a message.
fn name_in(message: &str) -> &str {
    message.rsplit('`').nth(1).unwrap_or(message)
}

/// Why a mutant is no fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum NoFault {
    /// No field of the machine's file makes the order of the two steps matter.
    FreeOrder,
    /// The tool or supply is on the kit list all the same.
    StillOnKitList,
    /// The machine's file or an earlier action has the same effect.
    ChangesNothing,
}

/// What is on the kit list of a job.
fn kit_list(job: &Job<'_>) -> BTreeSet<KitItem> {
    let actions = job.steps().flat_map(|step| step.all_actions());
    actions
        .filter_map(|action| kit_of(job.shop, action))
        .flatten()
        .collect()
}

/// The actions of which something is true in all jobs on a machine, by machine and link.
fn always<'a>(
    jobs: &[crate::Rehearsed<'a>],
    is_true: fn(&Action<'_>, &State<'_>) -> bool,
) -> BTreeSet<(&'a str, Span)> {
    let (mut always, mut not) = (BTreeSet::new(), BTreeSet::new());
    for rehearsed in jobs {
        let machine = rehearsed.job.machine.id.as_str();
        rehearsal::rehearse(&rehearsed.job, |scene| {
            let set = if is_true(scene.action, scene.before) {
                &mut always
            } else {
                &mut not
            };
            set.insert((machine, scene.action.span));
        });
    }
    &always - &not
}

/// The demonstration shop without faults.
pub(super) struct Original<'o, 'a> {
    pub(super) sources: &'a Sources,
    /// Each procedure without sections. Used for procedures that are only referred to.
    stubs: Vec<Procedure>,
    /// For each procedure, itself and the procedures that it includes.
    parts: BTreeMap<&'a str, BTreeSet<String>>,
    /// The actions of each job, by procedure and machine.
    actions: BTreeMap<(&'a str, &'a str), Vec<JobAction>>,
    jobs: &'o [crate::Rehearsed<'a>],
    /// By machine, the links of the actions that change nothing in any job on the machine.
    idle: BTreeSet<(&'a str, Span)>,
    /// By machine, the links of the actions that are done on the bench in all jobs on the machine.
    on_bench: BTreeSet<(&'a str, Span)>,
}

impl<'o, 'a> Original<'o, 'a> {
    pub(super) fn new(sources: &'a Sources, jobs: &'o [crate::Rehearsed<'a>]) -> Original<'o, 'a> {
        let parts = sources.procedures.iter().map(|procedure| {
            let mut parts = BTreeSet::new();
            parts_of(procedure, &sources.procedures, &mut parts);
            (procedure.id.as_str(), parts)
        });
        let stubs = sources.procedures.iter().map(|procedure| {
            let mut stub = procedure.clone();
            stub.sections.clear();
            stub.begin.clear();
            stub.finish.clear();
            stub
        });
        let actions = jobs.iter().map(|rehearsed| {
            let job = &rehearsed.job;
            let key = (job.procedure.id.as_str(), job.machine.id.as_str());
            (key, actions_of(job))
        });
        Original {
            sources,
            stubs: stubs.collect(),
            parts: parts.collect(),
            actions: actions.collect(),
            jobs,
            idle: always(jobs, is_idle),
            on_bench: always(jobs, is_on_bench),
        }
    }

    /// Makes and rehearses the jobs that include a mutated procedure, on all its machines. `is_compared` says whether
    /// each job is also rehearsed without the prefix cache, which must not change the findings.
    pub(super) fn check(&self, mutant: &Mutant<'_>, is_compared: bool) -> Outcome {
        let mutated = mutant.mutated();
        let shop = &self.sources.shop;
        let machines: BTreeSet<_> = mutated.machines.iter().map(|id| id.value).collect();
        let is_here = |procedure: &Procedure| {
            let mut own = procedure.machines.iter();
            own.any(|id| machines.contains(&id.value))
        };
        let shop_procedures = self.sources.procedures.iter();
        let jobs: BTreeSet<&str> = shop_procedures
            .clone()
            .filter(|procedure| is_here(procedure))
            .map(|procedure| procedure.id.as_str())
            .filter(|id| self.parts[id].contains(&mutated.id))
            .collect();
        let needed: BTreeSet<&String> = jobs.iter().flat_map(|id| &self.parts[id]).collect();
        // Procedures refer to each other by index, so all of them must be in the list.
        let procedures: Vec<Procedure> = shop_procedures
            .zip(&self.stubs)
            .map(|(procedure, stub)| {
                let is_needed = is_here(procedure) && needed.contains(&procedure.id);
                let mut changed = without_follow_on(match is_needed {
                    true if procedure.id == mutated.id => &mutated,
                    true => procedure,
                    false => stub,
                });
                changed.machines.retain(|id| machines.contains(&id.value));
                let has = |id: &String| {
                    let mut machines = changed.machines.iter().map(|id| &shop.machines[id.value]);
                    machines.any(|machine| {
                        machine.energies.find(id).is_some() || machine.parts.find(id).is_some()
                    })
                };
                let left: Vec<bool> = changed
                    .left_undone
                    .iter()
                    .map(|(id, _)| has(&id.value))
                    .collect();
                let mut left = left.into_iter();
                changed.left_undone.retain(|_| left.next().unwrap_or(false));
                changed
            })
            .collect();
        let mut outcome = Outcome::default();
        let mut findings = Findings::new();
        let jobs_made = job::make(&self.sources.tree, shop, &procedures, &[], &mut findings).jobs;
        let mut is_found_everywhere = !findings.is_empty();
        let mut kits = BTreeMap::new();
        let mut waived = rules::Waived::new();
        let prefixes = rules::prefix_cache();
        for job in &jobs_made {
            let key = (job.procedure.id.as_str(), job.machine.id.as_str());
            let is_of_mutant = jobs.contains(job.procedure.id.as_str());
            if is_of_mutant && self.actions[&key] != actions_of(job) {
                outcome.changed.insert(job.machine.id.clone());
            }
            *kits.entry(key).or_default() = kit_list(job);
            let mut of_job = Findings::new();
            let (rehearsal, job_waived) = prefixes.rehearse(job, &mut of_job);
            if is_compared {
                let mut alone = Findings::new();
                let (rehearsal_alone, waived_alone) = rules::rehearse(job, &mut alone);
                let text_of =
                    |findings: &Findings| format!("{:?}", findings.iter().collect::<Vec<_>>());
                assert_eq!(
                    text_of(&of_job),
                    text_of(&alone),
                    "the prefix cache changes the findings"
                );
                assert_eq!(job_waived, waived_alone);
                let text_of = |moves: &[rehearsal::Move<'_>]| format!("{moves:?}");
                assert_eq!(text_of(&rehearsal.moves), text_of(&rehearsal_alone.moves));
            }
            if !of_job.is_empty() {
                outcome.found.insert(job.machine.id.clone());
            }
            findings.extend(of_job);
            waived.extend(job_waived);
        }
        let mut of_waivers = Findings::new();
        rules::unused_waivers(&procedures, &waived, &mut of_waivers);
        is_found_everywhere |= !of_waivers.is_empty();
        findings.extend(of_waivers);
        if !outcome.changed.is_empty() && findings.is_empty() {
            findings.extend(self.check_source(mutant));
            is_found_everywhere |= !findings.is_empty();
        }
        if is_found_everywhere {
            let machines = mutated
                .machines
                .iter()
                .map(|id| &shop.machines[id.value].id);
            outcome.found.extend(machines.cloned());
        }
        rules::keep_one_of_each_cause(&mut findings);
        outcome.findings = findings.iter().cloned().collect();
        for machine in &mutant.machines {
            if let Some(reason) = self.no_fault(mutant, machine, &kits) {
                outcome.no_fault.insert((*machine).to_owned(), reason);
            }
        }
        outcome
    }

    /// Why a mutant is no fault on a machine. `kits` are the kit lists of the mutated jobs.
    fn no_fault(
        &self,
        mutant: &Mutant<'_>,
        machine: &str,
        kits: &BTreeMap<(&str, &str), BTreeSet<KitItem>>,
    ) -> Option<NoFault> {
        let on_machine = || {
            let jobs = self.jobs.iter().map(|rehearsed| &rehearsed.job);
            jobs.filter(|job| job.machine.id == machine)
        };
        let done = |links: &[&ActionLink]| -> Vec<&'o Action<'a>> {
            let actions = on_machine().flat_map(|job| job.steps().flat_map(|step| &step.actions));
            let is_linked =
                |action: &&Action<'_>| links.iter().any(|link| link.span == action.span);
            let mut spans = BTreeSet::new();
            let own = actions.filter(is_linked);
            let own = own.filter(|action| !matches!(action.verb, Verb::See | Verb::Caution));
            own.filter(|action| spans.insert(action.span)).collect()
        };
        if let Some([first, second]) = mutant.swapped() {
            let (first, second) = (done(&first), done(&second));
            let machine = self.sources.shop.machines.get(machine)?;
            let on_bench =
                |action: &Action<'_>| self.on_bench.contains(&(machine.id.as_str(), action.span));
            let mut pairs = first
                .iter()
                .flat_map(|one| second.iter().map(move |two| (one, two)));
            let is_free = !pairs.any(|(one, two)| are_linked(machine, one, two, on_bench));
            return is_free.then_some(NoFault::FreeOrder);
        }
        let dropped = mutant.dropped();
        if dropped.is_empty() {
            return None;
        }
        let dropped = done(&dropped);
        let is_idle = |action: &&Action<'_>| self.idle.contains(&(machine, action.span));
        if dropped.iter().all(is_idle) {
            return Some(NoFault::ChangesNothing);
        }
        let is_listed = |action: &Action<'_>| {
            let items = kit_of(&self.sources.shop, action);
            let jobs = on_machine().filter(|job| {
                let mut actions = job.steps().flat_map(|step| &step.actions);
                actions.any(|other| other.span == action.span)
            });
            let mut kits = jobs.map(|job| &kits[&(job.procedure.id.as_str(), machine)]);
            items.is_some_and(|items| kits.all(|kit| items.iter().any(|item| kit.contains(item))))
        };
        let is_call = |action: &Action<'_>| matches!(action.verb, Verb::Use | Verb::Apply);
        let is_still_listed =
            |action: &&Action<'_>| is_idle(action) || is_call(action) && is_listed(action);
        dropped
            .iter()
            .all(is_still_listed)
            .then_some(NoFault::StillOnKitList)
    }

    /// Checks the text of a mutant, as far as it shows what the procedure's data does not: a section that is left empty,
    /// and a tool that is still named where it is no longer called for.
    fn check_source(&self, mutant: &Mutant<'_>) -> Findings {
        let text = &self.sources.tree.file(mutant.procedure.file).text;
        let mut mutated = text.clone();
        match mutant.change {
            Change::Drop(position) => {
                let section = &mutant.procedure.sections[position.0];
                let [Item::Step(step)] = section.items.as_slice() else {
                    return Findings::new();
                };
                mutated.replace_range(step.span.range(), "");
            }
            Change::DropAction(..) => {
                for link in mutant.dropped() {
                    let written = &text[link.span.range()];
                    let label = written
                        .strip_prefix('[')
                        .and_then(|rest| rest.split_once("]("));
                    let label = label.map_or("", |(label, _)| label);
                    mutated.replace_range(link.span.range(), label);
                }
            }
            _ => return Findings::new(),
        }
        let mut world = demo();
        world.insert(mutant.procedure.path.clone(), mutated.into_bytes());
        let sources = crate::read(&Memory::new(world));
        let mut findings = sources.findings.clone();
        let Sources { tree, shop, .. } = &sources;
        rules::judge_text(
            tree,
            shop,
            &sources.procedures,
            &sources.faults,
            &mut findings,
        );
        findings
    }
}
