//! Runs the checks of all rules over a job, a fault table, the shop's records and the sources' text.

use super::check::{On, RuleChecks};
use super::context::{Ending, Joint, TextScene};
use super::kit_names::KitNames;
use super::prose_mask::prose_of;
use super::shared::{Fastening, parts};
use super::waivers::{self, Waived};
use crate::finding::{FileId, Findings, Span};
use crate::job::{Job, Thing};
use crate::procedure::Procedure;
use crate::prose::Verb;
use crate::quantity::find;
use crate::rehearsal::{self, Course, Rehearsal, Scene};
use crate::shop::Shop;
use crate::trade::{self, Day, PlausibleTorque};
use crate::tree::{Source, Tree};
use indexmap::IndexMap;
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

/// The checks of all rules, those on actions sorted by verb.
pub(super) struct Judge {
    rules: &'static [RuleChecks],
    /// The checks of actions, indexed by verb.
    on_actions: Vec<Vec<On>>,
    /// The checks of steps.
    on_steps: Vec<fn(&Scene<'_, '_>, &mut Findings)>,
}

impl Judge {
    pub(super) fn new(rules: &'static [RuleChecks]) -> Judge {
        let looking_at = |verb: &Verb| {
            let checks = rules.iter().flat_map(|rule| rule.on);
            checks.filter(|on| on.looks_at(*verb)).copied().collect()
        };
        let checks = rules.iter().flat_map(|rule| rule.on);
        let on_steps = checks.filter_map(|on| match on {
            On::Step(check) => Some(*check),
            _ => None,
        });
        Judge {
            rules,
            on_steps: on_steps.collect(),
            on_actions: Verb::ALL.iter().map(looking_at).collect(),
        }
    }

    fn checks(&self) -> impl Iterator<Item = &'static On> {
        self.rules.iter().flat_map(|rule| rule.on)
    }

    /// Rehearses a job's sections from `first` on, starting from the rehearsal `before`, and judges them. If steps depend on
    /// outcomes, every course of the job is rehearsed from its start. The result is that of the course in which nothing is
    /// wrong.
    pub(super) fn rehearse_from<'a>(
        &self,
        job: &Job<'a>,
        first: usize,
        before: Option<&Rehearsal<'a>>,
        findings: &mut Findings,
    ) -> (Rehearsal<'a>, Waived) {
        if !job.is_complete {
            return (rehearsal::rehearse(job, |_| {}), Waived::new());
        }
        let mut found = Findings::new();
        let courses = Course::of(job);
        let rehearsal = if courses.len() == 1 {
            let sections = first..job.sections.len();
            let rehearsal = rehearsal::rehearse_from(job, sections, before, |scene| {
                self.judge_action(scene, &mut found);
            });
            self.judge_ending(job, &rehearsal, &mut found);
            rehearsal
        } else {
            self.judge_courses(job, &courses, &mut found)
        };
        let waived = waivers::waive(job, &mut found);
        findings.extend(found);
        (rehearsal, waived)
    }

    /// Judges each course of a job. What is found in several is reported of the first.
    fn judge_courses<'a>(
        &self,
        job: &Job<'a>,
        courses: &[Course<'a>],
        findings: &mut Findings,
    ) -> Rehearsal<'a> {
        let mut plain = None;
        let mut known: BTreeSet<(&'static str, Option<Span>, String)> = BTreeSet::new();
        for course in courses {
            let mut found = Findings::new();
            let rehearsal = rehearsal::rehearse_course(job, course, |scene| {
                self.judge_action(scene, &mut found);
            });
            self.judge_ending(job, &rehearsal, &mut found);
            for mut finding in found {
                let place = finding.primary.as_ref().map(|mark| mark.span);
                if !known.insert((finding.rule.name, place, finding.message.clone())) {
                    continue;
                }
                if !course.is_plain() {
                    finding.message = format!("{} (with {})", finding.message, course.words());
                }
                findings.push(finding);
            }
            plain.get_or_insert(rehearsal);
        }
        plain.unwrap_or_else(|| rehearsal::rehearse(job, |_| {}))
    }

    fn judge_ending<'a>(&self, job: &Job<'a>, rehearsal: &Rehearsal<'a>, found: &mut Findings) {
        let ending = Ending {
            job,
            moves: &rehearsal.moves,
            end: &rehearsal.end,
        };
        for on in self.checks() {
            match on {
                On::Ending(check) if job.continued_in.is_none() => check(&ending, found),
                On::Stop(check) => check(&ending, found),
                _ => {}
            }
        }
    }

    /// Judges an action by all rules that look at its verb.
    pub(super) fn judge_action(&self, scene: &Scene<'_, '_>, found: &mut Findings) {
        if scene.is_first_of_step() {
            for check in &self.on_steps {
                check(scene, found);
            }
        }
        for on in &self.on_actions[scene.action.verb as usize] {
            match (on, scene.action.thing) {
                (On::Action(_, check) | On::With(_, check), _) => check(scene, found),
                (On::Part(_, check), Thing::Part(part)) => check(scene, part, found),
                (On::Fluid(_, check), Thing::Fluid(fluid)) => check(scene, fluid, found),
                (On::Energy(_, check), Thing::Energy(energy)) => check(scene, energy, found),
                (On::Condition(_, check), Thing::Condition(condition)) => {
                    check(scene, condition, found);
                }
                (On::Reading(_, check), Thing::Reading(reading)) => check(scene, reading, found),
                (On::Tool(_, check), Thing::Tool(tool)) => check(scene, tool, found),
                // The thing is unknown, which is already reported.
                _ => {}
            }
        }
    }

    /// Judges a fault table on a machine.
    pub(super) fn judge_fault(&self, fault: &Job<'_>, findings: &mut Findings) {
        for on in self.checks() {
            if let On::Fault(check) = on {
                check(fault, findings);
            }
        }
    }

    /// Judges the text of some sources. Returns the findings of each. None of a source for which `is_wanted` returns false
    /// when its turn comes.
    pub(super) fn judge_text<'t>(
        &self,
        tree: &Tree,
        shop: &Shop,
        procedures: &[Procedure],
        faults: &[Procedure],
        files: impl IntoParallelIterator<Item = &'t Source, Iter: IndexedParallelIterator>,
        is_wanted: impl Fn() -> bool + Sync,
    ) -> Vec<Option<Findings>> {
        let all_procedures = procedures;
        let procedures: BTreeMap<FileId, &Procedure> = procedures
            .iter()
            .chain(faults)
            .map(|procedure| (procedure.file, procedure))
            .collect();
        let kit_names = KitNames::of(shop);
        files
            .into_par_iter()
            .map(|file| {
                if !is_wanted() {
                    return None;
                }
                let values = find(&prose_of(file), shop.gallons);
                let scene = TextScene {
                    tree,
                    shop,
                    kit_names: &kit_names,
                    file,
                    procedure: procedures.get(&file.id).copied(),
                    procedures: all_procedures,
                    found: values.found,
                    refused: values.refused,
                };
                let mut findings = Findings::new();
                for on in self.checks() {
                    if let On::Text(check) = on {
                        check(&scene, &mut findings);
                    }
                }
                Some(findings)
            })
            .collect()
    }

    /// Judges the shop's records. With a day, also judges what is out of date on it.
    pub(super) fn judge_shop(&self, shop: &Shop, day: Option<Day>, findings: &mut Findings) {
        for on in self.checks() {
            match (on, day) {
                (On::Shop(check), _) => check(shop, findings),
                (On::Day(check), Some(day)) => check(shop, day, findings),
                _ => {}
            }
        }
        // The same torque is not calculated again for every part that has it, because that is slow.
        let mut known: IndexMap<Fastening<'_>, Option<Result<PlausibleTorque, trade::Error>>> =
            IndexMap::new();
        for (machine, part) in parts(shop) {
            let Some(fastening) = Fastening::of(part) else {
                continue;
            };
            let plausible = known.entry(fastening);
            let plausible = plausible.or_insert_with_key(Fastening::plausible_torque);
            let Some(plausible) = plausible else {
                continue;
            };
            let joint = Joint::new(machine, part, plausible);
            for on in self.checks() {
                if let On::Joint(check) = on {
                    check(&joint, findings);
                }
            }
        }
    }
}
