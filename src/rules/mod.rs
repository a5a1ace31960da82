//! Jobs and their rehearsals become findings.
//!
//! Comes in: a shop, a [`Job`], its [`Rehearsal`]. Goes out: findings. One rule
//! a file, each with its manual page, its example and a check of a few lines.
//! Rules that a stage can only find while it reads stand with that stage; the
//! table of all rules is here.

mod calibration_out_of_date;
mod class_unfit_for_thread;
mod coarse_torque_tool;
mod fastener_left_loose;
mod generator_off_frequency;
mod meter_too_coarse;
mod no_torque_tool;
mod part_left_off;
mod part_not_off;
mod part_not_on;
pub(crate) mod printing;
mod seat_not_noted;
mod stages_do_not_rise;
mod tachometer_misreads;
mod tip_speed_above_ceiling;
mod torque_above_fastener;
mod torque_in_another_unit;
mod torque_tool_out_of_range;
mod unverified_value;
mod wrench_fits_nothing;

use crate::dry_run::Rehearsal;
use crate::finding::{Finding, Findings, Rule, nearest, rule};
use crate::job::Job;
use crate::shop::{Machine, Part, Shop};
use crate::trade::{self, Condition, Day, Takes, takes};

/// A rule about a rehearsed job.
struct JobRule {
    rule: &'static Rule,
    check: fn(&Job<'_>, &Rehearsal<'_>, &mut Findings),
}

/// Rules about rehearsed jobs: one row each.
const JOB_RULES: [JobRule; 7] = [
    JobRule {
        rule: &fastener_left_loose::RULE,
        check: fastener_left_loose::check,
    },
    JobRule {
        rule: &part_left_off::RULE,
        check: part_left_off::check,
    },
    JobRule {
        rule: &part_not_off::RULE,
        check: part_not_off::check,
    },
    JobRule {
        rule: &part_not_on::RULE,
        check: part_not_on::check,
    },
    JobRule {
        rule: &seat_not_noted::RULE,
        check: seat_not_noted::check,
    },
    JobRule {
        rule: &torque_tool_out_of_range::RULE,
        check: torque_tool_out_of_range::check,
    },
    JobRule {
        rule: &wrench_fits_nothing::RULE,
        check: wrench_fits_nothing::check,
    },
];

/// A rule about the shop's own records, on a day where one is given.
struct ShopRule {
    rule: &'static Rule,
    check: fn(&Shop, Option<Day>, &mut Findings),
}

/// Rules about the shop's records: one row each.
const SHOP_RULES: [ShopRule; 12] = [
    ShopRule {
        rule: &calibration_out_of_date::RULE,
        check: calibration_out_of_date::check,
    },
    ShopRule {
        rule: &class_unfit_for_thread::RULE,
        check: class_unfit_for_thread::check,
    },
    ShopRule {
        rule: &coarse_torque_tool::RULE,
        check: coarse_torque_tool::check,
    },
    ShopRule {
        rule: &generator_off_frequency::RULE,
        check: generator_off_frequency::check,
    },
    ShopRule {
        rule: &meter_too_coarse::RULE,
        check: meter_too_coarse::check,
    },
    ShopRule {
        rule: &no_torque_tool::RULE,
        check: no_torque_tool::check,
    },
    ShopRule {
        rule: &stages_do_not_rise::RULE,
        check: stages_do_not_rise::check,
    },
    ShopRule {
        rule: &tachometer_misreads::RULE,
        check: tachometer_misreads::check,
    },
    ShopRule {
        rule: &tip_speed_above_ceiling::RULE,
        check: tip_speed_above_ceiling::check,
    },
    ShopRule {
        rule: &torque_above_fastener::RULE,
        check: torque_above_fastener::check,
    },
    ShopRule {
        rule: &torque_in_another_unit::RULE,
        check: torque_in_another_unit::check,
    },
    ShopRule {
        rule: &unverified_value::RULE,
        check: unverified_value::check,
    },
];

/// Every part of every machine that could be read whole.
fn parts(shop: &Shop) -> impl Iterator<Item = (&Machine, &Part)> {
    let machines = shop.machines.values().filter(|machine| machine.whole);
    machines.flat_map(|machine| machine.parts.values().map(move |part| (machine, part)))
}

/// What a fastener takes; none where its thread or class is not given.
///
/// A thread whose state is not given is taken as dry, as published tables are.
fn joint(part: &Part) -> Option<Result<Takes, trade::Error>> {
    let (thread, class) = (part.thread.as_ref()?, part.class.as_ref()?);
    let condition = part.assembled.unwrap_or(Condition::Dry);
    Some(takes(
        &thread.value,
        class.value,
        condition,
        part.tapped.as_ref(),
    ))
}

/// Every rule there is, by name.
#[must_use]
pub fn all() -> Vec<&'static Rule> {
    let stages = [
        crate::tree::RULES.as_slice(),
        crate::record::RULES.as_slice(),
        crate::prose::RULES.as_slice(),
        crate::shop::RULES.as_slice(),
        crate::procedure::RULES.as_slice(),
        crate::job::RULES.as_slice(),
    ];
    let mut rules: Vec<&'static Rule> = stages.concat();
    rules.extend(JOB_RULES.iter().map(|row| row.rule));
    rules.extend(SHOP_RULES.iter().map(|row| row.rule));
    rules.extend([
        &UNKNOWN_RULE,
        &printing::NO_TYPESETTER,
        &printing::TYPESETTING_FAILED,
    ]);
    rules.sort_by_key(|rule| rule.name);
    rules
}

/// Judges one rehearsed job. Of one that could not be written out whole, the finding that says why is enough.
pub fn judge(job: &Job<'_>, rehearsal: &Rehearsal<'_>, findings: &mut Findings) {
    if !job.is_whole {
        return;
    }
    for row in &JOB_RULES {
        (row.check)(job, rehearsal, findings);
    }
}

/// Judges the shop's records, and what is out of date on a day where one is given.
pub fn judge_shop(shop: &Shop, on: Option<Day>, findings: &mut Findings) {
    for row in &SHOP_RULES {
        (row.check)(shop, on, findings);
    }
}

/// Sets findings to the levels that the shop asks for.
///
/// A level for a rule that does not exist is a finding of its own. An error in
/// reading can't be set lower: what could not be read can't be printed.
pub fn set_levels(shop: &Shop, findings: &mut Findings) {
    let rules = all();
    for setting in &shop.levels {
        if !rules.iter().any(|rule| rule.name == setting.rule.value) {
            let known = rules.iter().map(|rule| rule.name);
            let message = format!("there is no rule `{}`", setting.rule.value);
            findings.push(
                Finding::new(&UNKNOWN_RULE, message)
                    .at(setting.rule.span, "")
                    .near(nearest(&setting.rule.value, known)),
            );
        }
    }
    findings.set_levels(|finding| {
        let fixed = finding.rule.level == crate::finding::Level::Error
            && !matches!(
                finding.rule.family,
                crate::finding::Family::DryRun | crate::finding::Family::Trade
            );
        let set = shop
            .levels
            .iter()
            .rfind(|setting| setting.rule.value == finding.rule.name);
        match set {
            Some(setting) if !fixed => setting.level,
            _ => Some(finding.level),
        }
    });
}

rule! {
    /// The shop sets a level for a rule that does not exist.
    ///
    /// ## At the bench
    ///
    /// The rule that was meant stays at its own level, and nobody knows.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + shop.toml
    /// [levels]
    /// unverified-valu = "error"
    /// ```
    ///
    /// ## Mend
    ///
    /// Correct the name; the finding itself names its rule.
    "unknown-rule", Names, Error => UNKNOWN_RULE
}
