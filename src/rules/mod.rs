//! Jobs and their rehearsals become findings.
//!
//! Comes in: a shop, a [`Job`], its [`Rehearsal`]. Goes out: findings. One rule
//! a file, each with its manual page, its example and a check of a few lines.
//! Rules that a stage can only find while it reads stand with that stage; the
//! table of all rules is here.

mod fastener_left_loose;
mod part_left_off;
mod part_not_off;
mod part_not_on;
pub(crate) mod printing;
mod seat_not_noted;
mod unverified_value;

use crate::dry_run::Rehearsal;
use crate::finding::{Finding, Findings, Rule, nearest, rule};
use crate::job::Job;
use crate::shop::Shop;

/// A rule about a rehearsed job.
struct JobRule {
    rule: &'static Rule,
    check: fn(&Job<'_>, &Rehearsal<'_>, &mut Findings),
}

/// Rules about rehearsed jobs: one row each.
const JOB_RULES: [JobRule; 5] = [
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
];

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
    rules.push(&unverified_value::RULE);
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

/// Judges the shop's records.
pub fn judge_shop(shop: &Shop, findings: &mut Findings) {
    unverified_value::check(shop, findings);
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
            && finding.rule.family != crate::finding::Family::DryRun;
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
