//! Makes edits of the steps that rules propose, where a rehearsal shows that they fix the problem.
//!
//! A rule says which steps may be missing, such as `prove:ignition` before the step that it marks. Whether adding them
//! is right depends on the rest of the job, and on the other jobs that have the step. So the steps are added to the job,
//! the job is rehearsed, and the steps become edits only if the problem is gone and nothing else is found, in this job
//! and in the others.

use crate::finding::{Edit, Finding, Findings, Place, Proposal, Span};
use crate::job::{Job, JobFactory, JobStep, NewAction, NewStep, Phase, is_on};
use crate::procedure::{Procedure, Step};
use crate::prose::Verb;
use crate::shop::{Machine, Shop};
use crate::tree::Tree;
use std::collections::{BTreeMap, BTreeSet};

/// Judges a job that was made only to try out a fix.
pub(super) type JudgeJob = fn(&Job<'_>) -> Findings;

/// The most findings of a run that get edits in this way, because each takes many rehearsals.
const MOST_FINDINGS: usize = 60;
/// The most places that are tried for the steps of a proposal.
const MOST_PLACES: usize = 40;
/// The most jobs in which a fix is tried.
const MOST_JOBS: usize = 80;
/// The most jobs that are kept to be used again.
const MOST_KEPT: usize = 160;
/// How often a fix may be extended to undo what it does, such as by restoring what it isolates.
const MOST_EXTENSIONS: usize = 2;

/// The jobs of a run, made again as they are needed.
struct Repair<'a, 'r> {
    tree: &'a Tree,
    shop: &'a Shop,
    procedures: &'a [Procedure],
    factory: JobFactory<'a, 'r>,
    judge: JudgeJob,
    /// Each job with its findings, by its name.
    jobs: BTreeMap<String, (Job<'a>, Findings)>,
}

/// Adds edits to the findings whose proposals fix them.
pub(super) fn add_edits<'a>(
    tree: &'a Tree,
    shop: &'a Shop,
    procedures: &'a [Procedure],
    factory: JobFactory<'a, '_>,
    judge: JudgeJob,
    findings: &mut Findings,
) {
    let mut repair = Repair {
        tree,
        shop,
        procedures,
        factory,
        judge,
        jobs: BTreeMap::new(),
    };
    let proposing = findings
        .all_mut()
        .iter_mut()
        .filter(|finding| !finding.proposals.is_empty() && finding.edits.is_empty());
    for finding in proposing.take(MOST_FINDINGS) {
        finding.edits = repair.edits(finding).unwrap_or_default();
    }
}

impl<'a> Repair<'a, '_> {
    /// The edits that fix a finding. `None` if its proposals do not.
    fn edits(&mut self, finding: &Finding) -> Option<Vec<Edit>> {
        for proposal in &finding.proposals {
            match (proposal.place, proposal.actions.as_slice()) {
                (Place::Instead, [action]) => return self.replacement(finding, action),
                (Place::Text, [from, to]) => return self.text_replacement(finding, from, to),
                _ => {}
            }
        }
        let name = finding.jobs.first()?;
        let (procedure, machine) = self.named(name)?;
        self.make(procedure, machine);
        let (job, before) = self.jobs.get(name)?;
        let plan = Search {
            job,
            before,
            judge: self.judge,
            root: finding,
        }
        .plan(finding, &[], MOST_EXTENSIONS)?;
        let written: Vec<(Span, bool, String)> = plan
            .iter()
            .map(|step| (step.beside, step.is_after, step.action.written.clone()))
            .collect();
        let others = self.others(&plan, finding);
        let is_right = others
            .into_iter()
            .all(|(procedure, machine)| self.is_right_for(procedure, machine, &written, finding));
        if !is_right {
            return None;
        }
        self.written_edits(&written)
    }

    /// The edit that replaces the address of the action at the main location. `None` if the action is derived.
    fn replacement(&self, finding: &Finding, action: &str) -> Option<Vec<Edit>> {
        let span = finding.primary.as_ref()?.span;
        let text = self.tree.text(span);
        let address = text.strip_suffix(')')?;
        let start = address.rfind("](")? + 2;
        // Titles and angle brackets are left as they are.
        if address[start..].contains([' ', '<']) {
            return None;
        }
        Some(vec![Edit {
            span: span.part(start..address.len()),
            replacement: action.to_owned(),
        }])
    }

    /// The edit that replaces a text at the main location. `None` if it is not there once.
    fn text_replacement(&self, finding: &Finding, from: &str, to: &str) -> Option<Vec<Edit>> {
        let span = finding.primary.as_ref()?.span;
        let mut places = self.tree.text(span).match_indices(from);
        let (start, _) = places.next()?;
        let edit = Edit {
            span: span.part(start..start + from.len()),
            replacement: to.to_owned(),
        };
        places.next().is_none().then(|| vec![edit])
    }

    /// The procedure and the machine of a job, by the job's name in findings.
    fn named(&self, name: &str) -> Option<(&'a Procedure, &'a Machine)> {
        let mut procedures = self.procedures.iter();
        procedures.find_map(|procedure| {
            let start = format!("`{}` on `", procedure.id);
            let machine = name.strip_prefix(&start)?.strip_suffix('`')?;
            Some((procedure, self.shop.machines.get(machine)?))
        })
    }

    /// Makes a job, if it has not been made.
    fn make(&mut self, procedure: &'a Procedure, machine: &'a Machine) {
        let name = format!("`{}` on `{}`", procedure.id, machine.id);
        if !self.jobs.contains_key(&name) {
            if self.jobs.len() >= MOST_KEPT {
                self.jobs.clear();
            }
            let job = self.factory.job(procedure, machine, Vec::new());
            let before = (self.judge)(&job);
            self.jobs.insert(name, (job, before));
        }
    }

    /// The other jobs that have the steps which the new ones are beside.
    fn others(&self, plan: &[NewStep<'a>], finding: &Finding) -> Vec<(&'a Procedure, &'a Machine)> {
        let mut jobs: Vec<(&Procedure, &Machine)> = Vec::new();
        let found_in = finding.jobs.iter().filter_map(|name| self.named(name));
        jobs.extend(found_in);
        for (index, procedure) in self.procedures.iter().enumerate() {
            if self.includes_edited(index, plan) {
                let machines = procedure.machines.iter();
                jobs.extend(machines.map(|id| (procedure, &self.shop.machines[id.value])));
            }
        }
        let mut seen = BTreeSet::new();
        jobs.retain(|(procedure, machine)| seen.insert((procedure.file, machine.index)));
        jobs.truncate(MOST_JOBS);
        jobs
    }

    /// Whether a procedure, or one that it includes, has a step that a new one is beside.
    fn includes_edited(&self, procedure: usize, plan: &[NewStep<'a>]) -> bool {
        let mut seen = BTreeSet::new();
        let mut open = vec![procedure];
        while let Some(index) = open.pop() {
            if !seen.insert(index) {
                continue;
            }
            let procedure = &self.procedures[index];
            if plan.iter().any(|step| step.beside.file == procedure.file) {
                return true;
            }
            open.extend(
                procedure
                    .parts_and_reversed()
                    .map(|part| part.value.index()),
            );
        }
        false
    }

    /// Whether nothing else is found in a job with the new steps, and not this finding either.
    fn is_right_for(
        &mut self,
        procedure: &'a Procedure,
        machine: &'a Machine,
        written: &[(Span, bool, String)],
        finding: &Finding,
    ) -> bool {
        self.make(procedure, machine);
        let name = format!("`{}` on `{}`", procedure.id, machine.id);
        let Some((job, before)) = self.jobs.get(&name) else {
            return false;
        };
        // A machine without the thing does not have the step.
        let steps = written.iter().filter_map(|(beside, is_after, action)| {
            Some(NewStep {
                beside: *beside,
                is_after: *is_after,
                action: NewAction::new(self.shop, machine, action)?,
            })
        });
        let after = (self.judge)(&job.with_steps(&steps.collect::<Vec<_>>()));
        !after.iter().any(|found| is_same(found, finding)) && news(&after, before).is_empty()
    }

    /// The text of the new steps, those at the same place as one edit.
    fn written_edits(&self, written: &[(Span, bool, String)]) -> Option<Vec<Edit>> {
        let mut edits: Vec<Edit> = Vec::new();
        let mut at: Vec<(Span, bool)> = Vec::new();
        for (beside, is_after, _) in written {
            if at.contains(&(*beside, *is_after)) {
                continue;
            }
            at.push((*beside, *is_after));
            let here = written
                .iter()
                .filter(|(other, after, _)| other == beside && after == is_after);
            let actions: Vec<&str> = here.map(|(.., action)| action.as_str()).collect();
            edits.push(self.insertion(*beside, *is_after, &actions)?);
        }
        Some(edits)
    }

    /// The edit that writes steps beside another. `None` if that step does not stand on a line of its own.
    fn insertion(&self, beside: Span, is_after: bool, actions: &[&str]) -> Option<Edit> {
        let text = &self.tree.file(beside.file).text;
        let (procedure, step) = self.procedures.iter().find_map(|procedure| {
            let is_here = procedure.file == beside.file;
            let mut steps = procedure.steps().filter(|_| is_here);
            Some((procedure, steps.find(|step| step.span == beside)?))
        })?;
        let line_of = |at: usize| text[..at].rfind('\n').map_or(0, |end| end + 1);
        // The span of an item can begin with its indentation.
        let item = text[beside.range()].trim_start_matches(' ');
        let start = beside.end() - item.len();
        let indent = &text[line_of(start)..start];
        if !indent.bytes().all(|byte| byte == b' ') {
            return None;
        }
        let digits = item.bytes().take_while(u8::is_ascii_digit).count();
        let number: u32 = item[..digits].parse().ok()?;
        let delimiter = item[digits..].chars().next()?;
        let number = number.saturating_add(u32::from(is_after));
        let newline = if text.contains("\r\n") { "\r\n" } else { "\n" };
        let lines: Vec<String> = (number..)
            .zip(actions)
            .map(|(number, action)| {
                let mark = self.mark(procedure, step, action);
                format!("{number}{delimiter} []({action}){mark}")
            })
            .collect();
        let lines = lines.join(&format!("{newline}{indent}"));
        // A caution stays directly above its step.
        let cautions = step.cautions.iter().map(|caution| caution.span);
        let caution = cautions.filter(|caution| caution.start() < start).min();
        let (offset, replacement) = match (is_after, caution) {
            (true, _) => {
                let end = start + item.trim_end().len();
                (end, format!("{newline}{indent}{lines}"))
            }
            (false, Some(caution)) => (
                line_of(caution.start()),
                format!("{indent}{lines}{newline}{newline}"),
            ),
            (false, None) => (start, format!("{lines}{newline}{indent}")),
        };
        Some(Edit {
            span: Span::new(beside.file, offset..offset),
            replacement,
        })
    }

    /// The mark of a new step, which limits it to the machines that have the step beside it and the thing.
    fn mark(&self, procedure: &Procedure, beside: &Step, action: &str) -> String {
        let (verb, name) = action.split_once(':').unwrap_or_default();
        let Some(verb) = Verb::find(verb) else {
            return String::new();
        };
        let machines = || {
            let ids = procedure.machines.iter();
            ids.map(|id| &self.shop.machines[id.value])
        };
        let has_thing = |machine: &&Machine| is_on(self.shop, machine, verb.takes(), name);
        let has_step = |machine: &&Machine| {
            let is_on = |link: &crate::prose::ActionLink| {
                is_on(self.shop, machine, link.verb.takes(), &link.thing.value)
            };
            beside.is_for(machine.index) && (!beside.if_fitted || beside.actions().all(is_on))
        };
        let (all, with_thing) = (machines().count(), machines().filter(has_thing).count());
        let both = || machines().filter(has_step).filter(has_thing);
        match both().count() {
            count if count == all => String::new(),
            count if count == with_thing => " {if-fitted}".to_owned(),
            _ => {
                let ids: Vec<&str> = both().map(|machine| machine.id.as_str()).collect();
                format!(" {{only=\"{}\"}}", ids.join(" "))
            }
        }
    }
}

/// The search for the steps that fix a finding in one job.
struct Search<'s, 'a> {
    job: &'s Job<'a>,
    /// What is found in the job without them.
    before: &'s Findings,
    judge: JudgeJob,
    root: &'s Finding,
}

impl<'a> Search<'_, 'a> {
    /// New steps that fix a finding. `so_far` are those that are added already; `extensions` says how often they may be
    /// extended.
    fn plan(
        &self,
        finding: &Finding,
        so_far: &[NewStep<'a>],
        extensions: usize,
    ) -> Option<Vec<NewStep<'a>>> {
        let mut best: Option<(usize, Vec<NewStep<'a>>)> = None;
        let mut incomplete: Option<(Finding, Vec<NewStep<'a>>)> = None;
        for proposal in &finding.proposals {
            let (shop, machine) = (self.job.shop, self.job.machine);
            let actions = proposal.actions.iter();
            let actions: Option<Vec<_>> = actions
                .map(|action| NewAction::new(shop, machine, action))
                .collect();
            let Some(actions) = actions else { continue };
            for (beside, is_after) in self.places(finding, proposal) {
                let added = actions.iter().map(|action| NewStep {
                    beside,
                    is_after,
                    action: action.clone(),
                });
                let plan: Vec<NewStep<'a>> = so_far.iter().cloned().chain(added).collect();
                let after = (self.judge)(&self.job.with_steps(&plan));
                if after.iter().any(|found| is_same(found, self.root)) {
                    continue;
                }
                match news(&after, self.before).as_slice() {
                    // The fewest findings, because a part that is fitted late may be missing earlier.
                    [] => {
                        let count = after.iter().count();
                        if best.as_ref().is_none_or(|(least, _)| count < *least) {
                            best = Some((count, plan));
                        }
                        // The other places are in no order of preference.
                        if proposal.place != Place::Late {
                            break;
                        }
                    }
                    [first, ..] if incomplete.is_none() => {
                        incomplete = Some(((*first).clone(), plan));
                    }
                    _ => {}
                }
            }
        }
        match (best, incomplete) {
            (Some((_, plan)), _) => Some(plan),
            (None, Some((next, plan))) if extensions > 0 => self.plan(&next, &plan, extensions - 1),
            _ => None,
        }
    }

    /// The places where the steps of a proposal can be written: a written step, and whether they follow it. The best
    /// come first.
    fn places(&self, finding: &Finding, proposal: &Proposal) -> Vec<(Span, bool)> {
        let place = proposal.place;
        let Some(primary) = finding.primary.as_ref().map(|mark| mark.span) else {
            return Vec::new();
        };
        let steps: Vec<(Phase, &JobStep<'a>)> = self
            .job
            .sections
            .iter()
            .flat_map(|section| section.steps().map(|step| (section.phase, step)))
            .collect();
        let Some(marked) = steps
            .iter()
            .position(|(_, step)| step.span.contains(primary))
        else {
            return Vec::new();
        };
        let (phase, marked_step) = steps[marked];
        if place == Place::Before {
            if !marked_step.is_derived {
                return vec![(marked_step.span, false)];
            }
            // A derived step is not in the sources, so the steps are written above its section.
            let mut earlier = steps[..marked].iter().rev();
            let written = earlier
                .find(|(_, step)| !step.is_derived && step.origin.file == marked_step.origin.file);
            return written
                .map(|(_, step)| (step.span, true))
                .into_iter()
                .collect();
        }
        if place == Place::Back {
            let written = |(_, step): &&(Phase, &JobStep<'a>)| !step.is_derived;
            let file = marked_step.origin.file;
            let earlier = || steps[..=marked].iter().rev().filter(written);
            let here = earlier().filter(|(_, step)| step.origin.file == file);
            let here = here.map(|(_, step)| (step.span, false));
            let undone = proposal.undoing.and_then(|undone| {
                steps[..=marked]
                    .iter()
                    .rposition(|(_, step)| step.span.contains(undone))
            });
            let there = undone.map(|undone| {
                let other = steps[undone].1.origin.file;
                let since = steps[undone..=marked].iter().rev().filter(written);
                let since =
                    since.filter(move |(_, step)| step.origin.file == other && other != file);
                since.map(|(_, step)| (step.span, true))
            });
            let mut places: Vec<(Span, bool)> = here.chain(there.into_iter().flatten()).collect();
            places.truncate(MOST_PLACES);
            return places;
        }
        // Steps that another job shares are not given what only this one needs.
        let is_shared = phase != Phase::Own;
        let later = steps[marked..].iter().filter(|(phase, step)| {
            !step.is_derived
                && if is_shared {
                    *phase == Phase::Finish
                } else {
                    step.origin.file == marked_step.origin.file
                }
        });
        let mut later: Vec<(Span, bool)> = later.map(|(_, step)| (step.span, true)).collect();
        if place == Place::Late {
            later.reverse();
        }
        later.truncate(MOST_PLACES);
        later
    }
}

/// Whether two findings are of the same problem at the same place.
fn is_same(found: &Finding, other: &Finding) -> bool {
    let place = |finding: &Finding| finding.primary.as_ref().map(|mark| mark.span);
    found.rule.name == other.rule.name
        && found.message == other.message
        && place(found) == place(other)
}

/// What is found only afterwards.
fn news<'f>(after: &'f Findings, before: &Findings) -> Vec<&'f Finding> {
    let mut known: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    for finding in before {
        *known
            .entry((finding.rule.name, finding.message.as_str()))
            .or_default() += 1;
    }
    let mut new = Vec::new();
    for finding in after {
        match known.get_mut(&(finding.rule.name, finding.message.as_str())) {
            Some(count) if *count > 0 => *count -= 1,
            _ => new.push(finding),
        }
    }
    new
}
