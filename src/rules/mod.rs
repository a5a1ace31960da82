//! Jobs and their rehearsals become findings.
//!
//! Comes in: a shop, a [`Job`], its [`Rehearsal`]. Goes out: findings. Each rule has
//! a file with its manual page, its example, what it looks at and its check; `rules!`
//! lists them. This file runs them. Rules that only a stage can check while it reads
//! are in that stage's own `rules.rs`.

mod context;
mod levels;
mod prefix_cache;
pub(crate) mod printing;
mod prose_mask;
mod shared;
mod waivers;

use crate::finding::{FileId, Findings, Rule};
use crate::job::{Job, Thing};
use crate::procedure::Procedure;
use crate::prose::Verb;
use crate::quantity::find;
use crate::rehearsal::{self, Rehearsal, Scene};
use crate::shop::{Energy, Fluid, Part, Reading, RunCondition, Shop, Tool};
use crate::trade::Day;
use crate::tree::Tree;
use crate::verbs::Trait;
use context::{Ending, TextScene};
pub(crate) use levels::set_levels;
pub(crate) use prefix_cache::PrefixCache;
use prose_mask::prose_of;
use rayon::prelude::*;
use shared::{dangers, joint, parts, tight_holders};
use std::collections::BTreeMap;
use std::sync::LazyLock;
pub(crate) use waivers::{Waived, unused_waivers};

/// Lists the rules. Each name is a file that defines `RULE`, the rule's page, and `ON`, what it looks at.
macro_rules! rules {
    ($($name:ident),+ $(,)?) => {
        $(mod $name;)+

        /// Every rule of this folder that has a file of its own.
        static ROWS: &[Row] = &[$(Row { rule: &$name::RULE, on: $name::ON }),+];
    };
}

rules! {
    adjusted_not_measured,
    adjusted_unmeasured,
    adjusted_while_locked,
    calibration_out_of_date,
    cause_leads_nowhere,
    cause_without_test,
    class_unfit_for_thread,
    coarse_torque_tool,
    confirmed_too_early,
    doubled_seal,
    energy_not_isolated,
    energy_not_proved,
    engine_as_it_was,
    engine_wrong_for_reading,
    fastener_left_loose,
    fastener_started_first,
    filled_into_open_system,
    filled_while_shut,
    fitted_after_tightening,
    fluid_condition_unmet,
    generator_off_frequency,
    ignition_still_live,
    laid_open_unseen,
    left_not_as_found,
    line_opened_full,
    lock_slackened_for_nothing,
    measured_again,
    meter_too_coarse,
    no_leak_check,
    no_torque_tool,
    not_signed_for,
    noted_not_removed,
    old_seal_kept,
    pair_disagrees,
    part_behind_another,
    part_buried,
    part_left_off,
    part_not_off,
    part_not_on,
    part_still_held,
    reading_condition_unmet,
    reading_out_of_reach,
    refitted_dirty,
    refitted_elsewhere,
    refitted_undrained,
    refitted_unseen,
    run_not_ready,
    run_shows_nothing,
    run_without_clearing,
    seat_not_noted,
    single_use_refitted,
    space_in_address,
    stage_out_of_order,
    stages_do_not_rise,
    tachometer_misreads,
    test_without_answer,
    tip_speed_above_ceiling,
    torque_above_fastener,
    torque_in_another_unit,
    torque_tool_out_of_range,
    typed_value,
    unverified_value,
    work_in_fault_table,
    work_on_live_energy,
    work_while_running,
    wrench_fits_nothing,
}

/// A rule and its checks.
struct Row {
    rule: &'static Rule,
    on: &'static [On],
}

/// What a check looks at. An action is shown to it with the machine as it is just before.
#[derive(Clone, Copy)]
enum On {
    /// An action of one of these verbs.
    Action(&'static [Verb], fn(&Scene<'_, '_>, &mut Findings)),
    /// An action of a verb with this trait.
    With(Trait, fn(&Scene<'_, '_>, &mut Findings)),
    /// An action of one of these verbs on a part.
    Part(&'static [Verb], CheckOf<Part>),
    /// An action of one of these verbs on a fluid.
    Fluid(&'static [Verb], CheckOf<Fluid>),
    /// An action of one of these verbs on an energy.
    Energy(&'static [Verb], CheckOf<Energy>),
    /// An action of one of these verbs on a condition.
    Condition(&'static [Verb], CheckOf<RunCondition>),
    /// An action of one of these verbs on a reading.
    Reading(&'static [Verb], CheckOf<Reading>),
    /// An action of one of these verbs on a tool.
    Tool(&'static [Verb], CheckOf<Tool>),
    /// The state that a job ends in.
    Ending(fn(&Ending<'_, '_>, &mut Findings)),
    /// The shop's records.
    Shop(fn(&Shop, &mut Findings)),
    /// The shop's records on a day, where the shop is checked for a day.
    Day(fn(&Shop, Day, &mut Findings)),
    /// A fault table on a machine.
    Fault(fn(&Job<'_>, &mut Findings)),
    /// The text of a source file.
    Text(fn(&TextScene<'_>, &mut Findings)),
}

type CheckOf<T> = fn(&Scene<'_, '_>, &T, &mut Findings);

impl On {
    /// Whether it looks at actions of a verb.
    fn looks_at(&self, verb: Verb) -> bool {
        match self {
            On::With(wanted, _) => verb.spec().has(*wanted),
            On::Action(verbs, _)
            | On::Part(verbs, _)
            | On::Fluid(verbs, _)
            | On::Energy(verbs, _)
            | On::Condition(verbs, _)
            | On::Reading(verbs, _)
            | On::Tool(verbs, _) => verbs.contains(&verb),
            On::Ending(_) | On::Shop(_) | On::Day(_) | On::Fault(_) | On::Text(_) => false,
        }
    }
}

/// The checks of all rules.
fn checks() -> impl Iterator<Item = &'static On> {
    ROWS.iter().flat_map(|row| row.on)
}

/// By verb, the checks that look at it.
static CHECKS_ON: LazyLock<Vec<Vec<On>>> = LazyLock::new(|| {
    let on = |verb| {
        let checks = checks().filter(|on| on.looks_at(verb));
        checks.copied().collect()
    };
    Verb::ALL.iter().copied().map(on).collect()
});

/// Every rule there is, by name.
#[must_use]
pub(crate) fn all() -> Vec<&'static Rule> {
    let stages = [
        crate::tree::RULES.as_slice(),
        crate::record::RULES.as_slice(),
        crate::prose::RULES.as_slice(),
        crate::shop::RULES.as_slice(),
        crate::procedure::RULES.as_slice(),
        crate::job::RULES.as_slice(),
        levels::RULES.as_slice(),
        waivers::RULES.as_slice(),
        printing::RULES.as_slice(),
    ];
    let mut rules: Vec<&'static Rule> = stages.concat();
    rules.extend(ROWS.iter().map(|row| row.rule));
    rules.sort_by_key(|rule| rule.name);
    rules
}

/// Rehearses a job and judges what it sees. A job that is not whole is not judged: the finding
/// that says why is enough.
pub(crate) fn rehearse<'a>(job: &Job<'a>, findings: &mut Findings) -> (Rehearsal<'a>, Waived) {
    judge(job, 0, None, findings)
}

/// Judges a job's sections from `first` on, after what was rehearsed `before` them.
fn judge<'a>(
    job: &Job<'a>,
    first: usize,
    before: Option<&Rehearsal<'a>>,
    findings: &mut Findings,
) -> (Rehearsal<'a>, Waived) {
    if !job.is_whole {
        return (rehearsal::rehearse(job, |_| {}), Waived::new());
    }
    let mut found = Findings::new();
    let sections = first..job.sections.len();
    let rehearsal = rehearsal::rehearse_from(job, sections, before, |scene| {
        judge_action(scene, &mut found);
    });
    let ending = Ending {
        job,
        end: &rehearsal.end,
    };
    for on in checks() {
        if let On::Ending(check) = on {
            check(&ending, &mut found);
        }
    }
    let waived = waivers::waive(job, &mut found);
    findings.extend(found);
    (rehearsal, waived)
}

/// Judges an action by all rules that look at its verb.
fn judge_action(scene: &Scene<'_, '_>, found: &mut Findings) {
    for on in &CHECKS_ON[scene.action.verb as usize] {
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
            // The thing is unknown; there is a finding about it.
            _ => {}
        }
    }
}

/// Judges a fault table on a machine.
pub(crate) fn judge_fault(fault: &Job<'_>, findings: &mut Findings) {
    for on in checks() {
        if let On::Fault(check) = on {
            check(fault, findings);
        }
    }
}

/// Judges the text of the sources.
pub(crate) fn judge_text(
    tree: &Tree,
    shop: &Shop,
    procedures: &[Procedure],
    faults: &[Procedure],
    findings: &mut Findings,
) {
    let procedures: BTreeMap<FileId, &Procedure> = procedures
        .iter()
        .chain(faults)
        .map(|procedure| (procedure.file, procedure))
        .collect();
    let judged: Vec<Findings> = tree
        .files
        .par_iter()
        .map(|file| {
            let scene = TextScene {
                tree,
                shop,
                file,
                procedure: procedures.get(&file.id).copied(),
                found: find(&prose_of(file)),
            };
            let mut findings = Findings::new();
            for on in checks() {
                if let On::Text(check) = on {
                    check(&scene, &mut findings);
                }
            }
            findings
        })
        .collect();
    for found in judged {
        findings.extend(found);
    }
}

/// Judges the shop's records, and what is out of date on a day where one is given.
pub(crate) fn judge_shop(shop: &Shop, day: Option<Day>, findings: &mut Findings) {
    for on in checks() {
        match (on, day) {
            (On::Shop(check), _) => check(shop, findings),
            (On::Day(check), Some(day)) => check(shop, day, findings),
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::prose::ThingKind;

    #[test]
    fn every_verb_of_a_check_is_done_to_the_thing_that_the_check_takes() {
        for row in ROWS {
            assert!(!row.on.is_empty(), "{}", row.rule.name);
            for on in row.on {
                let kind = match on {
                    On::Part(..) => ThingKind::Part,
                    On::Fluid(..) => ThingKind::Fluid,
                    On::Energy(..) => ThingKind::Energy,
                    On::Condition(..) => ThingKind::Condition,
                    On::Reading(..) => ThingKind::Reading,
                    On::Tool(..) => ThingKind::Tool,
                    _ => continue,
                };
                let verbs = Verb::ALL.iter().filter(|verb| on.looks_at(**verb));
                let kinds: Vec<ThingKind> = verbs.map(|verb| verb.takes()).collect();
                assert!(!kinds.is_empty(), "{}", row.rule.name);
                assert!(
                    kinds.iter().all(|of_verb| *of_verb == kind),
                    "{}",
                    row.rule.name
                );
            }
        }
    }
}
