//! What the rehearsal catches: every procedure of the demonstration shop, on
//! every machine it is for, is spoilt mechanically, one fault at a time, and
//! each fault has to be found in a job on that machine. What is not found is
//! listed in `mutants.toml` with the reason why it may stay so; an entry of
//! that list which waives nothing fails, so that the list can't rot.
//!
//! A fault that leaves what is done as it was (a sentence without an action, a
//! reference, a step that the way back is written without) is no fault, and is
//! not counted. `cargo test --lib mutants -- --nocapture` prints the figures.

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

/// Of the dropped steps that touch a part, a valve, a fluid, an energy or a torque, how many of a
/// hundred have to be found. What is listed as harmless counts as not found.
const WANTED_IN_100: usize = 95;

/// In what way a procedure was spoilt.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Kind {
    /// A step is missing.
    DropStep,
    /// An action is missing from a step that has others.
    DropAction,
    /// A place is not noted.
    DropNote,
    /// A valve is neither opened nor closed.
    DropValve,
    /// A valve is opened where it was closed, or the reverse.
    TurnValve,
    /// Two neighbouring steps have changed places.
    SwapSteps,
    /// Another part of the machine is worked on.
    RenamePart,
    /// A part that no machine has is worked on.
    UnknownPart,
    /// A new part's place is taken by the old one.
    FitUsed,
}

/// A procedure with one fault in it.
struct Mutant {
    kind: Kind,
    machine: String,
    spoilt: Procedure,
    /// The section's title.
    section: String,
    /// The actions that were dropped, moved or changed: of each step that was touched.
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
            self.spoilt.id,
            self.machine,
            self.section,
            actions.join(" <> ")
        )
    }

    /// Whether it drops a step that touches the machine.
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

/// Faults that may stay unfound, and why.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Harmless {
    /// Why a mechanic is none the worse, or why nothing in the sources could tell.
    reason: String,
    kind: Vec<Kind>,
    /// In these procedures; in any where none is named.
    #[serde(default)]
    procedure: Vec<String>,
    /// On these machines; on any where none is named.
    #[serde(default)]
    machine: Vec<String>,
    /// What every action of the touched step is one of. `*` stands for anything.
    #[serde(default)]
    actions: Vec<String>,
    /// Of a swap: what every action of the one step is one of, and of the other.
    #[serde(default)]
    between: Option<[Vec<String>; 2]>,
    /// Of a swap: whether it may be so only where the steps touch different things.
    #[serde(default)]
    apart: bool,
}

#[derive(Deserialize)]
struct Table {
    harmless: Vec<Harmless>,
}

/// Whether a name is as a pattern says, in which each `*` stands for any letters.
fn is_like(name: &str, pattern: &str) -> bool {
    let Some((start, rest)) = pattern.split_once('*') else {
        return name == pattern;
    };
    let Some(name) = name.strip_prefix(start) else {
        return false;
    };
    (0..=name.len())
        .filter(|at| name.is_char_boundary(*at))
        .any(|at| is_like(&name[at..], rest))
}

impl Harmless {
    fn covers(&self, mutant: &Mutant) -> bool {
        let all = |actions: &[String], patterns: &[String]| {
            actions
                .iter()
                .all(|action| patterns.iter().any(|pattern| is_like(action, pattern)))
        };
        let named = |names: &[String], name: &str| {
            names.is_empty() || names.iter().any(|one| is_like(name, one))
        };
        let actions = match (&self.between, mutant.actions.as_slice()) {
            (Some([one, other]), [first, second]) => {
                (all(first, one) && all(second, other)) || (all(first, other) && all(second, one))
            }
            (Some(_), _) => false,
            (None, actions) => actions.iter().all(|actions| all(actions, &self.actions)),
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
            && named(&self.procedure, &mutant.spoilt.id)
            && named(&self.machine, &mutant.machine)
            && actions
            && (!self.apart || is_apart())
    }
}

/// A step's actions as they are written, those left out that do nothing.
fn written_actions(step: &Step) -> Vec<String> {
    let all = step.actions();
    all.filter(|action| !matches!(action.verb, Verb::See | Verb::Caution))
        .map(written)
        .collect()
}

fn written(action: &ActionLink) -> String {
    format!("{}:{}", action.verb.word(), action.thing.value)
}

/// Does something to the action of a step that stands at a place among its actions.
fn change(step: &mut Step, at: usize, with: impl FnOnce(&mut Inline)) {
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
                && let Some(found) = find(inner, left)
            {
                return Some(found);
            }
        }
        None
    }
    let mut left = at;
    let mut paragraphs = std::iter::once(&mut step.text).chain(&mut step.notes);
    let found = paragraphs.find_map(|paragraph| find(paragraph, &mut left));
    with(found.expect("the step has that many actions"));
}

fn change_action(step: &mut Step, at: usize, with: impl FnOnce(&mut ActionLink)) {
    change(step, at, |inline| {
        if let Inline::Action(action, _) = inline {
            with(action);
        }
    });
}

/// Leaves an action's text and takes the action.
fn drop_action(inline: &mut Inline) {
    if let Inline::Action(_, parts) = inline {
        *inline = Inline::Strong(std::mem::take(parts));
    }
}

fn step_at(procedure: &mut Procedure, (section, item): At) -> &mut Step {
    match &mut procedure.sections[section].items[item] {
        Item::Step(step) => step,
        _ => panic!("there is a step"),
    }
}

/// Puts faults into one procedure for one machine.
struct Spoiler<'a> {
    procedure: &'a Procedure,
    machine: &'a Machine,
    /// Parts that the procedure speaks of, in order.
    spoken: Vec<&'a str>,
    made: Vec<Mutant>,
}

/// Where a step stands: its section and its place in it.
type At = (usize, usize);

/// Every fault that can be put into a procedure for a machine.
fn mutants_of(procedure: &Procedure, machine: &Machine) -> Vec<Mutant> {
    let sections = procedure.sections.iter().enumerate();
    let steps: Vec<(At, &Step)> = sections
        .flat_map(|(section, one)| {
            let items = one.items.iter().enumerate();
            items.filter_map(move |(nth, item)| match item {
                Item::Step(step) => Some(((section, nth), step)),
                _ => None,
            })
        })
        // A step for another machine is not there to be spoilt.
        .filter(|(_, step)| is_for(step, machine))
        .collect();
    let actions = steps.iter().flat_map(|(_, step)| step.actions());
    let spoken = actions
        .filter(|action| action.verb.takes() == ThingKind::Part)
        .map(|action| action.thing.value.as_str())
        .collect();
    let mut spoiler = Spoiler {
        procedure,
        machine,
        spoken,
        made: Vec::new(),
    };
    for (nth, (at, step)) in steps.iter().enumerate() {
        let at = *at;
        spoiler.add(Kind::DropStep, at, vec![written_actions(step)], |spoilt| {
            spoilt.sections[at.0].items.remove(at.1);
        });
        if let Some((next, other)) = steps.get(nth + 1) {
            let both = vec![written_actions(step), written_actions(other)];
            spoiler.add(Kind::SwapSteps, at, both, |spoilt| {
                *step_at(spoilt, at) = (*other).clone();
                *step_at(spoilt, *next) = (*step).clone();
            });
        }
        let actions: Vec<&ActionLink> = step.actions().collect();
        for (nth, action) in actions.iter().enumerate() {
            spoiler.action(at, nth, action, actions.len() > 1);
        }
    }
    spoiler.made
}

impl Spoiler<'_> {
    fn add(
        &mut self,
        kind: Kind,
        at: At,
        actions: Vec<Vec<String>>,
        spoil: impl FnOnce(&mut Procedure),
    ) {
        let mut spoilt = self.procedure.clone();
        spoil(&mut spoilt);
        self.made.push(Mutant {
            kind,
            machine: self.machine.id.clone(),
            spoilt,
            section: self.procedure.sections[at.0].title.clone(),
            actions,
        });
    }

    /// The faults of one action of a step.
    fn action(&mut self, at: At, nth: usize, action: &ActionLink, has_others: bool) {
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
            self.add(kind, at, vec![vec![written(action)]], |spoilt| {
                change(step_at(spoilt, at), nth, drop_action);
            });
        }
        if let Some((kind, verb)) = changed {
            self.add(kind, at, vec![vec![written(action)]], |spoilt| {
                change_action(step_at(spoilt, at), nth, |action| action.verb = verb);
            });
        }
        if action.verb.takes() != ThingKind::Part {
            return;
        }
        // The machine's next part, and the next that the procedure speaks of.
        let own = action.thing.value.as_str();
        let parts: Vec<&str> = self.machine.parts.keys().collect();
        let names: BTreeSet<String> = [next(&parts, own), next(&self.spoken, own)]
            .into_iter()
            .flatten()
            .collect();
        let renamed = names.into_iter().map(|name| (Kind::RenamePart, name));
        let unknown = (Kind::UnknownPart, "left-handed-hook".to_owned());
        for (kind, name) in renamed.chain([unknown]) {
            let to = format!("{}->{name}", written(action));
            self.add(kind, at, vec![vec![to]], |spoilt| {
                change_action(step_at(spoilt, at), nth, |action| action.thing.value = name);
            });
        }
    }
}

/// The name that follows the last of a name's own places in a list, another than itself.
fn next(names: &[&str], own: &str) -> Option<String> {
    let last = names.iter().rposition(|name| *name == own);
    let rest = names.iter().cycle().skip(last.map_or(0, |last| last + 1));
    let mut others = rest.take(names.len()).filter(|name| **name != own);
    others.next().map(|name| (*name).to_owned())
}

/// Whether a machine keeps a step.
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

/// An action that is done: its verb, its thing and the position.
type Done = (Verb, String, Option<String>);

/// What is done in a job, in order: tools, supplies and signatures, too.
fn done(job: &Job<'_>) -> Vec<Done> {
    job.steps()
        .flat_map(|step| step.all_actions())
        .filter(|action| !matches!(action.verb, Verb::See | Verb::Caution))
        .map(|action| {
            let position = action.position.map(str::to_owned);
            (action.verb, action.thing.key().to_owned(), position)
        })
        .collect()
}

/// The procedures that are part of another, itself among them.
fn parts_of(procedure: &Procedure, all: &[Procedure], parts: &mut BTreeSet<String>) {
    if parts.insert(procedure.id.clone()) {
        for part in procedure.parts() {
            parts_of(&all[part.value.index()], all, parts);
        }
    }
}

/// What happened to a mutant.
enum Fate {
    /// What is done is what was done; what is found of it nevertheless.
    Same(BTreeSet<&'static str>),
    /// It was found, by these rules.
    Found(BTreeSet<&'static str>),
    /// It was not.
    Missed,
}

/// A share in words: "97.3 %", "of 0".
fn share(part: usize, whole: usize) -> String {
    if whole == 0 {
        return "of none".to_owned();
    }
    let tenths = part * 1000 / whole;
    format!("{}.{} %", tenths / 10, tenths % 10)
}

/// The demonstration shop, as it is.
struct Clean<'a> {
    sources: &'a Sources,
    /// Each procedure without anything to do, as it is where it is only referred to.
    stubs: Vec<Procedure>,
    /// For each procedure, itself and those that are part of it.
    parts: BTreeMap<&'a str, BTreeSet<String>>,
    /// What is done in each job, by procedure and machine.
    done: BTreeMap<(&'a str, &'a str), Vec<Done>>,
}

impl Clean<'_> {
    /// Makes and rehearses the jobs that a spoilt procedure is part of, on its machine.
    fn fate(&self, mutant: &Mutant) -> Fate {
        let spoilt = &mutant.spoilt;
        let machine = self.sources.shop.machines.get(&mutant.machine).unwrap();
        let all = self.sources.procedures.iter();
        let here = all.clone().filter(|one| one.is_for(machine.index));
        let jobs: BTreeSet<&str> = here
            .map(|one| one.id.as_str())
            .filter(|id| self.parts[id].contains(&spoilt.id))
            .collect();
        let needed: BTreeSet<&String> = jobs.iter().flat_map(|id| &self.parts[id]).collect();
        // They name each other by their places among all of them, so that none is left out.
        let procedures: Vec<Procedure> = all
            .zip(&self.stubs)
            .map(|(one, stub)| {
                let is_needed = one.is_for(machine.index) && needed.contains(&one.id);
                let mut one = match is_needed {
                    true if one.id == spoilt.id => spoilt.clone(),
                    true => one.clone(),
                    false => stub.clone(),
                };
                one.machines.retain(|id| id.value == machine.index);
                let has = |id: &String| {
                    machine.energies.find(id).is_some() || machine.parts.find(id).is_some()
                };
                one.left_undone.retain(|(id, _)| has(&id.value));
                one
            })
            .collect();
        let Sources { tree, shop, .. } = self.sources;
        let mut found = Findings::new();
        let made = job::make(tree, shop, &procedures, &[], &mut found).jobs;
        let mut asked = made
            .iter()
            .filter(|job| jobs.contains(job.procedure.id.as_str()));
        let is_changed = asked.any(|job| {
            let key = (job.procedure.id.as_str(), job.machine.id.as_str());
            self.done[&key] != done(job)
        });
        let mut waived = rules::Waived::new();
        let prefixes = rules::prefix_cache();
        for job in &made {
            let (mut with, mut without) = (Findings::new(), Findings::new());
            let (as_others, of_job) = prefixes.rehearse(job, &mut with);
            let (alone, of_same) = rules::rehearse(job, &mut without);
            let say = |findings: &Findings| format!("{:?}", findings.iter().collect::<Vec<_>>());
            assert_eq!(say(&with), say(&without), "what begins jobs has a say");
            assert_eq!(of_job, of_same);
            let say = |moves: &[rehearsal::Move<'_>]| format!("{moves:?}");
            assert_eq!(say(&as_others.moves), say(&alone.moves));
            found.extend(with);
            waived.extend(of_job);
        }
        rules::unused_waivers(&procedures, &waived, &mut found);
        if is_changed && found.is_empty() {
            found.extend(self.read_again(mutant));
        }
        let rules: BTreeSet<&str> = found.iter().map(|one| one.rule.name).collect();
        match (is_changed, rules.is_empty()) {
            (false, _) => Fate::Same(rules),
            (true, false) => Fate::Found(rules),
            (true, true) => Fate::Missed,
        }
    }

    /// A section that has nothing left in it is found when the file is read.
    fn read_again(&self, mutant: &Mutant) -> Findings {
        let mut procedures = self.sources.procedures.iter();
        let whole = procedures.find(|one| one.id == mutant.spoilt.id).unwrap();
        let both = whole.sections.iter().zip(&mutant.spoilt.sections);
        let mut cut = both.filter(|(was, is)| is.items.is_empty() && !was.items.is_empty());
        let Some((was, _)) = cut.next() else {
            return Findings::new();
        };
        let mut text = self.sources.tree.file(whole.file).text.clone();
        for item in was.items.iter().rev() {
            if let Item::Step(step) = item {
                text.replace_range(step.span.range(), "");
            }
        }
        let mut world = demo();
        world.insert(whole.path.clone(), text.into_bytes());
        let sources = crate::read(&Memory::new(world));
        crate::check_all(&sources).findings
    }
}

fn demo() -> BTreeMap<String, Vec<u8>> {
    files(&root().join("procedures")).into_iter().collect()
}

#[test]
fn every_fault_is_found_or_is_known_to_be_harmless() {
    let sources = crate::read(&Memory::new(demo()));
    let checked = crate::check_all(&sources);
    assert!(checked.findings.is_empty(), "the clean tree is clean");
    let parts = sources.procedures.iter().map(|one| {
        let mut parts = BTreeSet::new();
        parts_of(one, &sources.procedures, &mut parts);
        (one.id.as_str(), parts)
    });
    let stubs = sources.procedures.iter().map(|one| {
        let mut stub = one.clone();
        stub.sections.clear();
        stub.begin.clear();
        stub.finish.clear();
        stub
    });
    let jobs = checked.jobs.iter().map(|one| {
        let job = &one.job;
        let key = (job.procedure.id.as_str(), job.machine.id.as_str());
        (key, done(job))
    });
    let clean = Clean {
        sources: &sources,
        stubs: stubs.collect(),
        parts: parts.collect(),
        done: jobs.collect(),
    };
    let mut mutants = Vec::new();
    for procedure in &sources.procedures {
        for machine in &procedure.machines {
            let machine = &sources.shop.machines[machine.value];
            // What is left as it is shows that the rehearsal here finds nothing by itself.
            mutants.push(Mutant {
                kind: Kind::DropStep,
                machine: machine.id.clone(),
                spoilt: procedure.clone(),
                section: String::new(),
                actions: Vec::new(),
            });
            mutants.extend(mutants_of(procedure, machine));
        }
    }
    let fates: Vec<Fate> = mutants.par_iter().map(|one| clean.fate(one)).collect();
    let table = std::fs::read_to_string(root().join("tests/internal/mutants.toml")).unwrap();
    let table: Table = toml::from_str(&table).unwrap();
    judge(&mutants, &fates, &table.harmless);
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
        let (whole, rest) = (share(found, all), share(found, all - listed));
        format!(
            "{name:26} {all:5} faults, {found:5} found: {whole:>7}; {listed:4} listed as harmless, of the others {rest:>7}\n"
        )
    }
}

/// Prints the figures, and fails on a fault that was neither found nor listed.
#[allow(
    clippy::print_stdout,
    reason = "the figures are what the test is run for"
)]
fn judge(mutants: &[Mutant], fates: &[Fate], harmless: &[Harmless]) {
    let mut by_kind: BTreeMap<Kind, Count> = BTreeMap::new();
    let mut touching = Count::default();
    let mut by_rule: BTreeMap<&str, usize> = BTreeMap::new();
    let mut used = vec![0; harmless.len()];
    let mut unexplained = Vec::new();
    for (mutant, fate) in mutants.iter().zip(fates) {
        let mut is_listed = false;
        match fate {
            Fate::Same(found) => {
                let is_clean = found.is_empty() || !mutant.actions.is_empty();
                assert!(is_clean, "{}: {found:?}", mutant.name());
                continue;
            }
            Fate::Found(rules) => {
                for rule in rules {
                    *by_rule.entry(rule).or_default() += 1;
                }
            }
            Fate::Missed => match harmless.iter().position(|one| one.covers(mutant)) {
                Some(at) => {
                    used[at] += 1;
                    is_listed = true;
                }
                None => unexplained.push(mutant.name()),
            },
        }
        let is_found = matches!(fate, Fate::Found(_));
        by_kind
            .entry(mutant.kind)
            .or_default()
            .add(is_found, is_listed);
        if mutant.is_touching_step() {
            touching.add(is_found, is_listed);
        }
    }
    let kinds = by_kind.iter();
    let mut said: String = kinds
        .map(|(kind, count)| count.line(&format!("{kind:?}")))
        .collect();
    said += &touching.line("dropped steps that touch");
    println!("{said}found by: {by_rule:?}");
    assert!(
        unexplained.is_empty(),
        "{} faults are neither found nor listed in `mutants.toml`:\n{}",
        unexplained.len(),
        unexplained.join("\n")
    );
    let idle: Vec<&str> = harmless
        .iter()
        .zip(&used)
        .filter(|(one, used)| **used == 0 || one.reason.trim().is_empty())
        .map(|(one, _)| one.reason.as_str())
        .collect();
    assert!(idle.is_empty(), "entries that cover nothing: {idle:#?}");
    assert!(
        touching.found * 100 >= touching.all * WANTED_IN_100,
        "of dropped steps, too few are found:\n{said}"
    );
}
