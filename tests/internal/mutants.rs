//! Mutation test of the rules. Each procedure of the demonstration shop, on each of its machines, is mutated with one
//! fault at a time. Each mutant must give a finding in a job on that machine. Mutants without a finding are listed in
//! `mutants.toml` with the reason why that is acceptable. An entry of the list that covers no mutant fails the test.
//!
//! A mutant that does not change the actions of any job (it drops a sentence without an action, a reference, or a step
//! that the derived reassembly does not need) is not counted.
//! `cargo test --lib mutants -- --nocapture` prints the figures.

use super::support::{files, root};
use crate::Sources;
use crate::finding::Findings;
use crate::job::{self, Job};
use crate::procedure::{Item, Procedure, Step};
use crate::prose::{ActionLink, Inline, ThingKind, Verb};
use crate::rehearsal;
use crate::rules;
use crate::shop::Machine;
use crate::tree::Memory;
use rayon::prelude::*;
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};

/// The least percentage of mutants that must be found, among those that drop a step with an action on a part, valve,
/// fluid or energy. Mutants listed as harmless count as not found.
const WANTED_IN_100: usize = 95;

/// How a procedure was mutated.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Kind {
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
}

/// A procedure with one fault in it.
struct Mutant {
    kind: Kind,
    machine: String,
    mutated: Procedure,
    /// The title of the mutated section.
    section: String,
    /// The actions that were dropped, moved or changed, by step.
    actions: Vec<Vec<String>>,
}

impl Mutant {
    fn name(&self) -> String {
        let actions: Vec<String> = self
            .actions
            .iter()
            .map(|actions| actions.join(", "))
            .collect();
        format!(
            "{:?} {} on {}, {}: {}",
            self.kind,
            self.mutated.id,
            self.machine,
            self.section,
            actions.join(" <> ")
        )
    }

    /// Whether it drops a step with an action on a part, valve, fluid or energy.
    fn is_touching_step(&self) -> bool {
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
}

/// An entry of `mutants.toml`: mutants that may have no finding.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Harmless {
    /// Why the fault does no harm, or why the sources do not allow finding it.
    reason: String,
    kind: Vec<Kind>,
    /// The procedures, as patterns. Empty for all.
    #[serde(default)]
    procedure: Vec<String>,
    /// The machines, as patterns. Empty for all.
    #[serde(default)]
    machine: Vec<String>,
    /// Patterns. Each action of the mutated steps must match one of them. `*` matches any text.
    #[serde(default)]
    actions: Vec<String>,
    /// For swapped steps: the patterns for one of the steps, and for the other.
    #[serde(default)]
    between: Option<[Vec<String>; 2]>,
    /// For swapped steps: whether the entry covers only steps on different things.
    #[serde(default)]
    apart: bool,
}

#[derive(Deserialize)]
struct Table {
    harmless: Vec<Harmless>,
}

/// Whether a name matches a pattern. Each `*` in it matches any text.
pub(super) fn matches_pattern(name: &str, pattern: &str) -> bool {
    let Some((start, rest)) = pattern.split_once('*') else {
        return name == pattern;
    };
    let Some(name) = name.strip_prefix(start) else {
        return false;
    };
    (0..=name.len())
        .filter(|index| name.is_char_boundary(*index))
        .any(|index| matches_pattern(&name[index..], rest))
}

impl Harmless {
    fn covers(&self, mutant: &Mutant) -> bool {
        let all_match = |actions: &[String], patterns: &[String]| {
            actions.iter().all(|action| {
                patterns
                    .iter()
                    .any(|pattern| matches_pattern(action, pattern))
            })
        };
        let is_listed = |names: &[String], name: &str| {
            names.is_empty() || names.iter().any(|pattern| matches_pattern(name, pattern))
        };
        let actions = match (&self.between, mutant.actions.as_slice()) {
            (Some([patterns, other_patterns]), [first, second]) => {
                (all_match(first, patterns) && all_match(second, other_patterns))
                    || (all_match(first, other_patterns) && all_match(second, patterns))
            }
            (Some(_), _) => false,
            (None, actions) => actions
                .iter()
                .all(|actions| all_match(actions, &self.actions)),
        };
        let things = |actions: &[String]| -> BTreeSet<String> {
            let things = actions.iter().filter_map(|action| action.split_once(':'));
            things.map(|(_, thing)| thing.to_owned()).collect()
        };
        let is_apart = || match mutant.actions.as_slice() {
            [first, second] => things(first).is_disjoint(&things(second)),
            _ => true,
        };
        self.kind.contains(&mutant.kind)
            && is_listed(&self.procedure, &mutant.mutated.id)
            && is_listed(&self.machine, &mutant.machine)
            && actions
            && (!self.apart || is_apart())
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

fn step_at(procedure: &mut Procedure, (section, item): StepPosition) -> &mut Step {
    match &mut procedure.sections[section].items[item] {
        Item::Step(step) => step,
        _ => panic!("the item is not a step"),
    }
}

/// Makes the mutants of a procedure on one machine.
struct Mutator<'a> {
    procedure: &'a Procedure,
    machine: &'a Machine,
    /// The parts that the procedure names, in order.
    named_parts: Vec<&'a str>,
    mutants: Vec<Mutant>,
}

/// The position of a step: the indices of its section and of the item.
type StepPosition = (usize, usize);

/// All mutants of a procedure on a machine.
fn mutants_of(procedure: &Procedure, machine: &Machine) -> Vec<Mutant> {
    let sections = procedure.sections.iter().enumerate();
    let steps: Vec<(StepPosition, &Step)> = sections
        .flat_map(|(section_index, section)| {
            let items = section.items.iter().enumerate();
            items.filter_map(move |(item_index, item)| match item {
                Item::Step(step) => Some(((section_index, item_index), step)),
                _ => None,
            })
        })
        // Steps for other machines are not part of the job.
        .filter(|(_, step)| is_for(step, machine))
        .collect();
    let actions = steps.iter().flat_map(|(_, step)| step.actions());
    let named_parts = actions
        .filter(|action| action.verb.takes() == ThingKind::Part)
        .map(|action| action.thing.value.as_str())
        .collect();
    let mut mutator = Mutator {
        procedure,
        machine,
        named_parts,
        mutants: Vec::new(),
    };
    for (step_index, (position, step)) in steps.iter().enumerate() {
        let position = *position;
        mutator.add(
            Kind::DropStep,
            position,
            vec![written_actions(step)],
            |mutated| {
                mutated.sections[position.0].items.remove(position.1);
            },
        );
        if let Some((next, other)) = steps.get(step_index + 1) {
            let both = vec![written_actions(step), written_actions(other)];
            mutator.add(Kind::SwapSteps, position, both, |mutated| {
                *step_at(mutated, position) = (*other).clone();
                *step_at(mutated, *next) = (*step).clone();
            });
        }
        let actions: Vec<&ActionLink> = step.actions().collect();
        for (action_index, action) in actions.iter().enumerate() {
            mutator.action(position, action_index, action, actions.len() > 1);
        }
    }
    mutator.mutants
}

impl Mutator<'_> {
    fn add(
        &mut self,
        kind: Kind,
        position: StepPosition,
        actions: Vec<Vec<String>>,
        spoil: impl FnOnce(&mut Procedure),
    ) {
        let mut mutated = self.procedure.clone();
        spoil(&mut mutated);
        self.mutants.push(Mutant {
            kind,
            machine: self.machine.id.clone(),
            mutated,
            section: self.procedure.sections[position.0].title.clone(),
            actions,
        });
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
            Verb::Open => Some((Kind::TurnValve, Verb::Close)),
            Verb::Close => Some((Kind::TurnValve, Verb::Open)),
            Verb::Renew => Some((Kind::FitUsed, Verb::Fit)),
            _ => None,
        };
        if matches!(action.verb, Verb::Open | Verb::Close) {
            kinds.push(Kind::DropValve);
        }
        for kind in kinds {
            self.add(kind, position, vec![vec![written(action)]], |mutated| {
                change_inline(step_at(mutated, position), action_index, drop_action);
            });
        }
        if let Some((kind, verb)) = changed {
            self.add(kind, position, vec![vec![written(action)]], |mutated| {
                change_action(step_at(mutated, position), action_index, |action| {
                    action.verb = verb;
                });
            });
        }
        if action.verb.takes() != ThingKind::Part {
            return;
        }
        // The next part of the machine, and the next one that the procedure names.
        let own = action.thing.value.as_str();
        let parts: Vec<&str> = self.machine.parts.keys().collect();
        let names: BTreeSet<String> = [next(&parts, own), next(&self.named_parts, own)]
            .into_iter()
            .flatten()
            .collect();
        let renamed = names.into_iter().map(|name| (Kind::RenamePart, name));
        let unknown = (Kind::UnknownPart, "left-handed-hook".to_owned());
        for (kind, name) in renamed.chain([unknown]) {
            let to = format!("{}->{name}", written(action));
            self.add(kind, position, vec![vec![to]], |mutated| {
                change_action(step_at(mutated, position), action_index, |action| {
                    action.thing.value = name;
                });
            });
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

/// An action of a job: its verb, thing and position.
type JobAction = (Verb, String, Option<String>);

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
enum Outcome {
    /// The actions of all jobs are unchanged. The rules that give a finding all the same.
    Unchanged(BTreeSet<&'static str>),
    /// These rules give a finding.
    Found(BTreeSet<&'static str>),
    /// No rule gives a finding.
    Missed,
}

/// A percentage as text: "97.3 %", "of none".
fn share(part: usize, whole: usize) -> String {
    if whole == 0 {
        return "of none".to_owned();
    }
    let tenths = part * 1000 / whole;
    format!("{}.{} %", tenths / 10, tenths % 10)
}

/// The demonstration shop without faults.
struct Original<'a> {
    sources: &'a Sources,
    /// Each procedure without sections. Used for procedures that are only referred to.
    stubs: Vec<Procedure>,
    /// For each procedure, itself and the procedures that it includes.
    parts: BTreeMap<&'a str, BTreeSet<String>>,
    /// The actions of each job, by procedure and machine.
    actions: BTreeMap<(&'a str, &'a str), Vec<JobAction>>,
}

impl Original<'_> {
    /// Makes and rehearses the jobs that include a mutated procedure, on its machine.
    fn check(&self, mutant: &Mutant) -> Outcome {
        let mutated = &mutant.mutated;
        let machine = self.sources.shop.machines.get(&mutant.machine).unwrap();
        let shop_procedures = self.sources.procedures.iter();
        let here = shop_procedures
            .clone()
            .filter(|procedure| procedure.is_for(machine.index));
        let jobs: BTreeSet<&str> = here
            .map(|procedure| procedure.id.as_str())
            .filter(|id| self.parts[id].contains(&mutated.id))
            .collect();
        let needed: BTreeSet<&String> = jobs.iter().flat_map(|id| &self.parts[id]).collect();
        // Procedures refer to each other by index, so all of them must be in the list.
        let procedures: Vec<Procedure> = shop_procedures
            .zip(&self.stubs)
            .map(|(procedure, stub)| {
                let is_needed = procedure.is_for(machine.index) && needed.contains(&procedure.id);
                let mut changed = match is_needed {
                    true if procedure.id == mutated.id => mutated.clone(),
                    true => procedure.clone(),
                    false => stub.clone(),
                };
                changed.machines.retain(|id| id.value == machine.index);
                let has = |id: &String| {
                    machine.energies.find(id).is_some() || machine.parts.find(id).is_some()
                };
                changed.left_undone.retain(|(id, _)| has(&id.value));
                changed
            })
            .collect();
        let Sources { tree, shop, .. } = self.sources;
        let mut findings = Findings::new();
        let jobs_made = job::make(tree, shop, &procedures, &[], &mut findings).jobs;
        let mut jobs_with_it = jobs_made
            .iter()
            .filter(|job| jobs.contains(job.procedure.id.as_str()));
        let is_changed = jobs_with_it.any(|job| {
            let key = (job.procedure.id.as_str(), job.machine.id.as_str());
            self.actions[&key] != actions_of(job)
        });
        let mut waived = rules::Waived::new();
        let prefixes = rules::prefix_cache();
        for job in &jobs_made {
            let (mut with, mut without) = (Findings::new(), Findings::new());
            let (as_others, of_job) = prefixes.rehearse(job, &mut with);
            let (alone, of_same) = rules::rehearse(job, &mut without);
            let text_of =
                |findings: &Findings| format!("{:?}", findings.iter().collect::<Vec<_>>());
            assert_eq!(
                text_of(&with),
                text_of(&without),
                "the prefix cache changes the findings"
            );
            assert_eq!(of_job, of_same);
            let text_of = |moves: &[rehearsal::Move<'_>]| format!("{moves:?}");
            assert_eq!(text_of(&as_others.moves), text_of(&alone.moves));
            findings.extend(with);
            waived.extend(of_job);
        }
        rules::unused_waivers(&procedures, &waived, &mut findings);
        if is_changed && findings.is_empty() {
            findings.extend(self.check_source(mutant));
        }
        let rules: BTreeSet<&str> = findings.iter().map(|finding| finding.rule.name).collect();
        match (is_changed, rules.is_empty()) {
            (false, _) => Outcome::Unchanged(rules),
            (true, false) => Outcome::Found(rules),
            (true, true) => Outcome::Missed,
        }
    }

    /// Checks the source of a mutant that leaves a section empty. The reader of the file reports an empty section.
    fn check_source(&self, mutant: &Mutant) -> Findings {
        let mut procedures = self.sources.procedures.iter();
        let procedure = procedures
            .find(|procedure| procedure.id == mutant.mutated.id)
            .unwrap();
        let both = procedure.sections.iter().zip(&mutant.mutated.sections);
        let mut emptied =
            both.filter(|(before, after)| after.items.is_empty() && !before.items.is_empty());
        let Some((section, _)) = emptied.next() else {
            return Findings::new();
        };
        let mut text = self.sources.tree.file(procedure.file).text.clone();
        for item in section.items.iter().rev() {
            if let Item::Step(step) = item {
                text.replace_range(step.span.range(), "");
            }
        }
        let mut world = demo();
        world.insert(procedure.path.clone(), text.into_bytes());
        let sources = crate::read(&Memory::new(world));
        crate::check_all(&sources).findings
    }
}

pub(super) fn demo() -> BTreeMap<String, Vec<u8>> {
    files(&root().join("procedures")).into_iter().collect()
}

#[test]
fn every_mutant_is_found_or_listed_as_harmless() {
    let sources = crate::read(&Memory::new(demo()));
    let checked = crate::check_all(&sources);
    assert!(
        checked.findings.is_empty(),
        "the demonstration has findings"
    );
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
    let jobs = checked.jobs.iter().map(|rehearsed| {
        let job = &rehearsed.job;
        let key = (job.procedure.id.as_str(), job.machine.id.as_str());
        (key, actions_of(job))
    });
    let original = Original {
        sources: &sources,
        stubs: stubs.collect(),
        parts: parts.collect(),
        actions: jobs.collect(),
    };
    let mut mutants = Vec::new();
    for procedure in &sources.procedures {
        for machine in &procedure.machines {
            let machine = &sources.shop.machines[machine.value];
            // An unchanged procedure shows that this test finds no faults of its own making.
            mutants.push(Mutant {
                kind: Kind::DropStep,
                machine: machine.id.clone(),
                mutated: procedure.clone(),
                section: String::new(),
                actions: Vec::new(),
            });
            mutants.extend(mutants_of(procedure, machine));
        }
    }
    let outcomes: Vec<Outcome> = mutants
        .par_iter()
        .map(|mutant| original.check(mutant))
        .collect();
    let table = std::fs::read_to_string(root().join("tests/internal/mutants.toml")).unwrap();
    let table: Table = toml::from_str(&table).unwrap();
    report_and_assert(&mutants, &outcomes, &table.harmless);
}

#[derive(Default)]
struct Count {
    all: usize,
    found: usize,
    listed: usize,
}

impl Count {
    fn add(&mut self, is_found: bool, is_listed: bool) {
        self.all += 1;
        self.found += usize::from(is_found);
        self.listed += usize::from(is_listed);
    }

    fn line(&self, name: &str) -> String {
        let Count { all, found, listed } = *self;
        let (of_all, of_unlisted) = (share(found, all), share(found, all - listed));
        format!(
            "{name:26} {all:5} mutants, {found:5} found: {of_all:>7}; {listed:4} listed as harmless, of the others {of_unlisted:>7}\n"
        )
    }
}

/// Prints the figures. Fails if a mutant was neither found nor listed.
#[allow(clippy::print_stdout, reason = "the figures are a result of the test")]
fn report_and_assert(mutants: &[Mutant], outcomes: &[Outcome], harmless: &[Harmless]) {
    let mut by_kind: BTreeMap<Kind, Count> = BTreeMap::new();
    let mut touching = Count::default();
    let mut by_rule: BTreeMap<&str, usize> = BTreeMap::new();
    let mut used = vec![0; harmless.len()];
    let mut unexplained = Vec::new();
    for (mutant, outcome) in mutants.iter().zip(outcomes) {
        let mut is_listed = false;
        match outcome {
            Outcome::Unchanged(found) => {
                let is_clean = found.is_empty() || !mutant.actions.is_empty();
                assert!(is_clean, "{}: {found:?}", mutant.name());
                continue;
            }
            Outcome::Found(rules) => {
                for rule in rules {
                    *by_rule.entry(rule).or_default() += 1;
                }
            }
            Outcome::Missed => match harmless.iter().position(|entry| entry.covers(mutant)) {
                Some(index) => {
                    used[index] += 1;
                    is_listed = true;
                }
                None => unexplained.push(mutant.name()),
            },
        }
        let is_found = matches!(outcome, Outcome::Found(_));
        by_kind
            .entry(mutant.kind)
            .or_default()
            .add(is_found, is_listed);
        if mutant.is_touching_step() {
            touching.add(is_found, is_listed);
        }
    }
    let kinds = by_kind.iter();
    let mut report: String = kinds
        .map(|(kind, count)| count.line(&format!("{kind:?}")))
        .collect();
    report += &touching.line("dropped steps that touch");
    println!("{report}found by: {by_rule:?}");
    assert!(
        unexplained.is_empty(),
        "{} mutants are neither found nor listed in `mutants.toml`:\n{}",
        unexplained.len(),
        unexplained.join("\n")
    );
    let unused: Vec<&str> = harmless
        .iter()
        .zip(&used)
        .filter(|(entry, used)| **used == 0 || entry.reason.trim().is_empty())
        .map(|(entry, _)| entry.reason.as_str())
        .collect();
    assert!(
        unused.is_empty(),
        "entries that cover no mutant: {unused:#?}"
    );
    assert!(
        touching.found * 100 >= touching.all * WANTED_IN_100,
        "of dropped steps, too few are found:\n{report}"
    );
}
