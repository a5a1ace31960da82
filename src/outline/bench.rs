//! Rehearses a draft: makes its job with the shop's sources, and lists what the rules find in it.

use super::draft::Draft;
use super::sentence::Sentences;
use super::strip::{Obstacle, Strip, Stripped};
use crate::Sources;
use crate::finding::{Finding, Level, Span};
use crate::job::{self, Job, Phase};
use crate::procedure::{self, Procedure};
use crate::rehearsal;
use crate::rules::judge_job;
use crate::shop::{Machine, PartId};
use crate::tree::Tree;
use crate::words::Words;
use std::collections::{BTreeMap, BTreeSet};

/// A draft is rehearsed here.
pub(super) struct Bench<'s> {
    pub(super) sources: &'s Sources,
    pub(super) machine: &'s Machine,
    words: &'s Words,
    sentences: &'s Sentences,
    /// The sources, and the draft as the last of them.
    tree: Tree,
    /// What is found in the procedures that are done before and after the draft, by rule and message.
    known: BTreeMap<(&'static str, String), usize>,
}

/// A problem of a draft.
#[derive(Clone, Debug)]
pub(super) struct Problem {
    pub(super) finding: Finding,
    pub(super) at: At,
}

/// Where a problem is found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum At {
    /// In a procedure that is done before the draft.
    Begin,
    /// In a step of the draft, by its index.
    Step(usize),
    /// In a derived step.
    Refit,
    /// In a procedure that is done after the draft, or at the end.
    Finish,
}

impl<'s> Bench<'s> {
    /// `None` if no procedure can have that path.
    pub(super) fn new(
        sources: &'s Sources,
        machine: &'s Machine,
        words: &'s Words,
        sentences: &'s Sentences,
        path: &str,
    ) -> Option<Bench<'s>> {
        Some(Bench {
            sources,
            machine,
            words,
            sentences,
            tree: sources.tree.with_source(path, String::new())?,
            known: BTreeMap::new(),
        })
    }

    /// Plans how a part comes off, once the procedures before the draft are done. `None` if the draft could not be read.
    pub(super) fn strip(
        &mut self,
        draft: &Draft,
        part: PartId,
        slackened: &BTreeSet<PartId>,
    ) -> Option<Result<Stripped, Obstacle>> {
        self.with_job(draft, |job, _| {
            let begin = job
                .sections
                .iter()
                .take_while(|section| section.phase == Phase::Begin);
            let begin = rehearsal::rehearse_from(job, 0..begin.count(), None, |_| {});
            let mut strip = Strip::new(job.machine, begin.end, slackened);
            strip.take_off(part)?;
            Ok(strip.done())
        })
    }

    /// Remembers what is found without any step of the draft: that is not for the draft to correct. Returns how bad it is,
    /// without advice.
    pub(super) fn remember_known(&mut self, draft: &Draft) -> usize {
        self.known.clear();
        let problems = self.problems(draft);
        let advice = |problem: &&Problem| problem.finding.level == Level::Advice;
        let weight = weight(&problems) - problems.iter().filter(advice).count();
        for problem in problems {
            let finding = problem.finding;
            let key = (finding.rule.name, finding.message);
            *self.known.entry(key).or_default() += 1;
        }
        weight
    }

    /// What is found in a draft, apart from what is known.
    pub(super) fn problems(&mut self, draft: &Draft) -> Vec<Problem> {
        let found = self.with_job(draft, |job, procedure| {
            let found: Vec<Problem> = judge_job(job)
                .into_iter()
                .map(|finding| Problem {
                    at: place(
                        job,
                        procedure,
                        finding.primary.as_ref().map(|mark| mark.span),
                    ),
                    finding,
                })
                .collect();
            found
        });
        let mut known = self.known.clone();
        let mut problems = found.unwrap_or_default();
        problems.retain(|problem| {
            let key = (problem.finding.rule.name, problem.finding.message.clone());
            match known.get_mut(&key) {
                Some(count) if *count > 0 => {
                    *count -= 1;
                    false
                }
                _ => true,
            }
        });
        problems
    }

    /// Makes the job of a draft. `None` if the draft could not be read.
    fn with_job<T>(
        &mut self,
        draft: &Draft,
        action: impl FnOnce(&Job<'_>, &Procedure) -> T,
    ) -> Option<T> {
        self.tree
            .set_last_text(draft.text(self.words, self.sentences));
        let file = self.tree.files.last()?.id;
        let (procedure, _) = procedure::read_again(&self.tree, file)?;
        let Sources {
            shop,
            procedures,
            faults,
            ..
        } = self.sources;
        let machine = &shop.machines[self.machine.index];
        let made = job::with_factory(&self.tree, shop, procedures, faults, |factory| {
            let job = factory.job(&procedure, machine, Vec::new());
            action(&job, &procedure)
        });
        Some(made)
    }
}

/// The weight of an error.
pub(super) const ERROR: usize = 10;

/// How bad problems are in all.
pub(super) fn weight(problems: &[Problem]) -> usize {
    let weights = problems.iter().map(|problem| match problem.finding.level {
        Level::Error => ERROR,
        Level::Warning => 4,
        Level::Advice => 1,
    });
    weights.sum()
}

/// Where a span is, seen from the draft.
fn place(job: &Job<'_>, procedure: &Procedure, span: Option<Span>) -> At {
    let Some(span) = span else {
        return At::Finish;
    };
    if span.file == procedure.file {
        let step = procedure.steps().position(|step| step.span.contains(span));
        return step.map_or(At::Refit, At::Step);
    }
    let is_here = |phase: Phase| {
        let mut sections = job.sections.iter().filter(|section| section.phase == phase);
        sections.any(|section| section.steps().any(|step| step.span.contains(span)))
    };
    if is_here(Phase::Finish) {
        At::Finish
    } else {
        At::Begin
    }
}
