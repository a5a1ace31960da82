//! Checks jobs by rehearsing them, and checks the shop's records and text.
//!
//! In: a shop, a [`Job`], its rehearsal. Out: findings. Each rule has a file with its
//! manual page, its example, its subject and its check. `rules!` lists the files, and
//! `judge` runs the checks. Rules that a stage checks while it reads are in that stage's
//! own `rules.rs`.

mod advice;
mod causes;
mod check;
mod context;
mod judge;
mod kit_names;
mod levels;
mod outdated_baseline;
mod prefix_cache;
mod prose_mask;
mod repair;
mod shared;
mod typed_value;
mod waivers;

use crate::finding::{Finding, Findings, Rule};
use crate::job::{self, Job};
use crate::procedure::Procedure;
#[cfg(test)]
use crate::rehearsal::Rehearsal;
use crate::shop::Shop;
use crate::trade::Day;
use crate::tree::{Source, Tree};
use check::RuleChecks;
pub(crate) use gap_not_filled::GAP_MARK;
use judge::Judge;
pub(crate) use levels::{OwnLevel, own_level};
pub(crate) use prefix_cache::PrefixCache;
use rayon::prelude::*;
use std::sync::LazyLock;
pub(crate) use waivers::{Waived, unused_waivers};

/// Lists the rules. Each name is a file that defines `RULE`, with the rule's page, and `ON`, with its checks.
macro_rules! rules {
    ($($name:ident),+ $(,)?) => {
        $(mod $name;)+

        /// Every rule of this folder that has a file of its own.
        static ROWS: &[RuleChecks] = &[$(RuleChecks { rule: &$name::RULE, on: $name::ON }),+];
    };
}

rules! {
    adjusted_while_locked,
    calibration_out_of_date,
    callout_not_on_machine,
    callout_number_used_twice,
    callout_without_place,
    cause_without_remedy,
    cause_without_test,
    character_without_glyph,
    class_thread_mismatch,
    confirmed_too_early,
    confirmed_while_full,
    contrary_to_outcome,
    connections_look_alike,
    dangerous_voltage_without_caution,
    desired_size_out_of_range,
    dimension_kinds_differ,
    disconnect_sign_at_restore,
    drained_into_wrong_container,
    duplicate_name,
    duplicated_value,
    energy_not_isolated,
    energy_not_proved,
    energy_without_caution,
    engine_action_without_effect,
    equipment_not_at_hand,
    exposed_part_not_inspected,
    fastener_holds_nothing,
    fastener_left_loose,
    fastener_started_too_early,
    fault_test_on_live_energy,
    filled_into_open_system,
    filled_from_wrong_container,
    filled_or_drained_while_closed,
    first_off_still_on,
    fitted_after_tightening,
    fitted_before_part_behind,
    fluid_condition_unmet,
    full_line_opened,
    full_quantity_without_draining,
    gap_not_filled,
    generator_off_frequency,
    heat_restored,
    ignition_still_live,
    incomplete_fastener,
    incomplete_seal,
    incomplete_tool,
    inspection_decides_nothing,
    inspection_without_criterion,
    interval_given_twice,
    isolated_after_waiting,
    isolation_not_secured,
    left_not_as_found,
    left_undone_but_done,
    lock_slackened_without_adjusting,
    log_names_unknown_job,
    log_out_of_order,
    measured_twice,
    meter_out_of_range,
    meter_too_coarse,
    missing_signature,
    mixture_implausible,
    no_leak_check,
    no_safe_setting,
    no_torque_tool,
    not_measured_after_adjusting,
    not_measured_before_adjusting,
    not_ready_to_run,
    noted_but_not_removed,
    nothing_to_look_for,
    old_and_new_in_one_container,
    old_part_not_removed,
    old_seal_reused,
    order_on_fastener_unknown,
    outcome_impossible,
    outcome_not_known,
    part_already_fitted,
    part_already_removed,
    part_left_off,
    part_obstructed,
    part_still_held,
    part_without_callout,
    plug_refitted_before_draining,
    position_not_for_value,
    position_not_noted,
    protection_not_worn,
    reading_condition_unmet,
    reading_implausible,
    reading_of_drained_fluid,
    reading_without_limits,
    reading_without_tool,
    readings_far_apart,
    refitted_dirty,
    refitted_in_wrong_position,
    refitted_uninspected,
    repeated_without_effect,
    resistance_on_live_circuit,
    run_without_all_clear,
    run_without_measuring,
    serial_numbers_not_covered,
    serial_numbers_overlap,
    single_use_refitted,
    speed_not_measured_in_run,
    speed_without_engine_state,
    stage_out_of_order,
    stages_not_increasing,
    started_with_output_on,
    superseded_part_number,
    tachometer_misreads,
    text_names_other_part,
    tip_speed_above_limit,
    tip_speed_not_compared,
    tool_not_in_kit,
    torque_in_wrong_unit,
    torque_too_high_for_fastener,
    torque_too_low_for_fastener,
    torque_tool_out_of_range,
    torque_tool_too_coarse,
    torque_unit_unlike_others,
    torqued_without_torque_tool,
    two_kinds_through_one_part,
    unclear_value,
    unlike_other_machines,
    unreadable_interval,
    unverified_value,
    value_contradicts_machine,
    values_disagree,
    wear_limit_without_bound,
    work_in_fault_table,
    work_not_in_record,
    work_on_live_energy,
    work_while_running,
    worn_when_new,
    wrench_does_not_fit,
    wrong_engine_state,
    wrong_kind_of_supply,
    wrong_meter_setting,
    wrong_parts_for_reading,
}

/// An entry of a baseline whose finding is gone. `review` reports it.
pub(crate) static OUTDATED_BASELINE: &Rule = &outdated_baseline::RULE;

/// The checks of all rules.
static JUDGE: LazyLock<Judge> = LazyLock::new(|| Judge::new(ROWS));

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
        &[OUTDATED_BASELINE],
    ];
    let mut rules: Vec<&'static Rule> = stages.concat();
    rules.extend(ROWS.iter().map(|row| row.rule));
    rules.sort_by_key(|rule| rule.name);
    rules
}

/// Rehearses a job and judges it. An incomplete job is not judged, because the reason is already
/// reported.
#[cfg(test)]
pub(crate) fn rehearse<'a>(job: &Job<'a>, findings: &mut Findings) -> (Rehearsal<'a>, Waived) {
    JUDGE.rehearse_from(job, 0, None, findings)
}

/// Rehearses a job and returns what is found in it.
pub(crate) fn judge_job(job: &Job<'_>) -> Findings {
    let mut found = Findings::new();
    JUDGE.rehearse_from(job, 0, None, &mut found);
    found
}

/// A cache of the rehearsals of one run.
pub(crate) fn prefix_cache<'a>() -> PrefixCache<'a> {
    PrefixCache::new(&JUDGE)
}

/// Whether a finding says that a text has a gap, as [`GAP_MARK`] marks it.
pub(crate) fn is_gap(finding: &Finding) -> bool {
    finding.rule.name == gap_not_filled::RULE.name
}

/// Judges a fault table on a machine.
pub(crate) fn judge_fault(fault: &Job<'_>, findings: &mut Findings) {
    JUDGE.judge_fault(fault, findings);
}

/// Judges the text of the sources.
pub(crate) fn judge_text(
    tree: &Tree,
    shop: &Shop,
    procedures: &[Procedure],
    faults: &[Procedure],
    findings: &mut Findings,
) {
    let judged = JUDGE.judge_text(tree, shop, procedures, faults, &tree.files, || true);
    for found in judged.into_iter().flatten() {
        findings.extend(found);
    }
}

/// Judges the text of some sources. Returns the findings of each; `None` of a source for which `is_wanted` returns false
/// when its turn comes.
pub(crate) fn judge_text_of(
    tree: &Tree,
    shop: &Shop,
    procedures: &[Procedure],
    faults: &[Procedure],
    files: &[&Source],
    is_wanted: impl Fn() -> bool + Sync,
) -> Vec<Option<Findings>> {
    let files = files.par_iter().copied();
    JUDGE.judge_text(tree, shop, procedures, faults, files, is_wanted)
}

/// Judges the shop's records. With a day, also judges what is out of date on it.
pub(crate) fn judge_shop(shop: &Shop, day: Option<Day>, findings: &mut Findings) {
    JUDGE.judge_shop(shop, day, findings);
}

/// Adds edits to findings of rehearsals, as [`repair`] says.
pub(crate) fn add_edits(
    tree: &Tree,
    shop: &Shop,
    procedures: &[Procedure],
    faults: &[Procedure],
    findings: &mut Findings,
) {
    if findings.iter().all(|finding| finding.proposals.is_empty()) {
        return;
    }
    job::with_factory(tree, shop, procedures, faults, |factory| {
        repair::add_edits(tree, shop, procedures, factory, judge_job, findings);
    });
}

/// Sets findings to the levels that the shop asks for, as [`levels::set_levels`] says.
pub(crate) fn set_levels(shop: &Shop, findings: &mut Findings) {
    levels::set_levels(shop, &all(), findings);
}

/// Drops what is found on a variant in the file of the machine that it is like, if the same is found on that machine. It
/// differs only in the machine's name.
pub(crate) fn drop_taken_over(shop: &Shop, findings: &mut Findings) {
    let mut variants = shop.machines.values();
    if variants.all(|machine| machine.files.len() == 1) {
        return;
    }
    causes::drop_taken_over(shop, findings);
}

/// Sorts findings and keeps one of each cause. Comes last, after [`set_levels`].
pub(crate) fn keep_one_of_each_cause(findings: &mut Findings) {
    causes::keep_one(findings);
}

#[cfg(test)]
mod tests {
    use super::check::On;
    use super::*;
    use crate::prose::{ThingKind, Verb};

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
