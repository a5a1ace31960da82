//! Keeps one finding of each cause.

use super::{
    dangerous_voltage_without_caution, energy_without_caution, fastener_holds_nothing,
    incomplete_fastener, incomplete_seal, incomplete_tool, inspection_without_criterion,
    order_on_fastener_unknown, reading_without_tool, speed_not_measured_in_run,
    speed_without_engine_state, tip_speed_not_compared, unlike_other_machines, work_not_in_record,
};
use crate::finding::{Cause, Family, FileId, Finding, Findings, Level, Mark, Rule, Span};
use crate::shop::Shop;
use std::collections::{BTreeMap, BTreeSet};

/// Sorts findings, and keeps one of each cause.
///
/// Comes after [`super::set_levels`] and [`super::waivers::waive`], so that a finding that the shop has turned off, or
/// that a step waives, hides no other.
pub(super) fn keep_one(findings: &mut Findings) {
    drop_incomplete(findings);
    drop_consequences(findings);
    findings.sort();
    merge_jobs(findings);
}

/// As [`super::drop_taken_over`] says.
pub(super) fn drop_taken_over(shop: &Shop, findings: &mut Findings) {
    let mut said: BTreeSet<(&'static str, Span, String)> = BTreeSet::new();
    let key = |finding: &Finding, message: String| {
        let span = finding.primary.as_ref()?.span;
        Some((finding.rule.name, span, message))
    };
    for finding in findings.iter() {
        said.extend(key(finding, finding.message.clone()));
    }
    let is_said = |finding: &Finding| {
        let file = finding.primary.as_ref()?.span.file;
        let mut variants = shop
            .machines
            .values()
            .filter(|machine| machine.files.contains(&file) && machine.file != file);
        variants.find_map(|variant| {
            let name = format!("`{}`", variant.id);
            let below = shop.machines.values();
            let mut below = below
                .filter(|below| variant.files.contains(&below.file) && below.file != variant.file);
            below.find(|below| {
                let message = finding.message.replace(&name, &format!("`{}`", below.id));
                message != finding.message
                    && key(finding, message).is_some_and(|key| said.contains(&key))
            })
        })
    };
    let kept: Vec<Finding> = findings
        .iter()
        .filter(|finding| !finding.jobs.is_empty() || is_said(finding).is_none())
        .cloned()
        .collect();
    *findings = kept.into_iter().collect();
}

/// The rules that report a field that is missing from a record, without comparing machines.
const OF_MISSING_FIELD: [&Rule; 13] = [
    &dangerous_voltage_without_caution::RULE,
    &energy_without_caution::RULE,
    &fastener_holds_nothing::RULE,
    &incomplete_fastener::RULE,
    &incomplete_seal::RULE,
    &incomplete_tool::RULE,
    &inspection_without_criterion::RULE,
    &order_on_fastener_unknown::RULE,
    &reading_without_tool::RULE,
    &speed_not_measured_in_run::RULE,
    &speed_without_engine_state::RULE,
    &tip_speed_not_compared::RULE,
    &work_not_in_record::RULE,
];

/// Drops what a missing field gives if the file can't be read without errors: a misspelled field is missing.
/// Of several findings about missing fields of one record, that of comparing the machines is dropped.
fn drop_incomplete(findings: &mut Findings) {
    let file_of = |finding: &Finding| finding.primary.as_ref().map(|mark| mark.span.file);
    let is_unread = |finding: &&Finding| {
        let is_of_reading = matches!(finding.rule.family, Family::Reading | Family::Names);
        finding.level == Level::Error && is_of_reading
    };
    let unread: BTreeSet<Option<FileId>> = findings.iter().filter(is_unread).map(file_of).collect();
    let is_compared = |finding: &Finding| finding.rule.name == unlike_other_machines::RULE.name;
    let is_of_field = |finding: &Finding| {
        let mut rules = OF_MISSING_FIELD.iter();
        rules.any(|rule| rule.name == finding.rule.name)
    };
    let span_of = |finding: &Finding| finding.primary.as_ref().map(|mark| mark.span);
    let of_field = findings.iter().filter(|finding| is_of_field(finding));
    let records: BTreeSet<Option<Span>> = of_field.map(span_of).collect();
    let all = std::mem::take(findings).into_iter();
    *findings = all
        .filter(|finding| {
            let is_of_record = is_compared(finding) || is_of_field(finding);
            let is_doubled = is_compared(finding) && records.contains(&span_of(finding));
            !(is_doubled || is_of_record && unread.contains(&file_of(finding)))
        })
        .collect();
}

/// Drops the consequences of a fault within each job: findings all of whose causes earlier ones have, if those
/// are as severe. A less severe one is dropped for a later one.
///
/// A state that a reported action brought about is also such a cause: what was taken off by mistake is off. Only what
/// the end of the job reports at that action itself is kept.
///
/// The findings of a job are in the order of its actions.
fn drop_consequences(findings: &mut Findings) {
    // For each job and cause, the level and the index of the finding that is kept.
    let mut kept = BTreeMap::new();
    // For each job and reported action, the level.
    let mut reported: BTreeMap<(&str, Span), Level> = BTreeMap::new();
    let mut is_dropped: Vec<bool> = Vec::new();
    for (index, finding) in findings.iter().enumerate() {
        is_dropped.push(false);
        let [job] = finding.jobs.as_slice() else {
            continue;
        };
        let here = finding.primary.as_ref().map(|mark| mark.span);
        let keys: Vec<(&str, &Cause)> = finding
            .causes
            .iter()
            .map(|cause| (job.as_str(), cause))
            .collect();
        let is_new = |key: &(&str, &Cause)| {
            let other: Option<&(Level, usize)> = kept.get(key);
            let since = key.1.since.filter(|since| Some(*since) != here);
            let action = since.and_then(|since| reported.get(&(key.0, since)));
            let known = other.map(|(level, _)| level).max(action);
            known.is_none_or(|level| *level < finding.level)
        };
        let new: Vec<_> = keys.iter().copied().filter(is_new).collect();
        if new.is_empty() && !keys.is_empty() {
            is_dropped[index] = true;
            for key in keys {
                kept.entry(key).or_insert((finding.level, index));
            }
            continue;
        }
        for key in new {
            if let Some((_, milder)) = kept.insert(key, (finding.level, index)) {
                // A finding with several causes still reports the others.
                is_dropped[milder] |= findings.iter().nth(milder).is_some_and(has_one_cause);
            }
        }
        if let Some(here) = here {
            let level = reported.entry((job, here)).or_insert(finding.level);
            *level = finding.level.max(*level);
        }
    }
    let all = std::mem::take(findings).into_iter().zip(is_dropped);
    *findings = all
        .filter(|(_, is_dropped)| !is_dropped)
        .map(|(finding, _)| finding)
        .collect();
}

fn has_one_cause(finding: &Finding) -> bool {
    finding.causes.len() == 1
}

/// Merges findings of several jobs that have one fault: the first is kept, and the places of the others are added to
/// it.
///
/// They have the same causes, and the jobs share the text in which the fault is: the action that is to blame, or a step
/// that is missing. A missing step is in text that jobs share if it makes the machine safe for them, or if the findings
/// are in one file. Each job takes off its own parts. Findings of one rule at one action are also merged if they have a
/// cause in common, because another machine has other parts.
fn merge_jobs(findings: &mut Findings) {
    let mut first_of: BTreeMap<(Vec<Cause>, Option<FileId>), usize> = BTreeMap::new();
    let mut at_action: BTreeMap<(&str, Span), Vec<usize>> = BTreeMap::new();
    let mut merged: Vec<Finding> = Vec::new();
    for finding in std::mem::take(findings) {
        let Some(here) = finding.primary.as_ref().map(|mark| mark.span) else {
            merged.push(finding);
            continue;
        };
        if finding.causes.is_empty() {
            merged.push(finding);
            continue;
        }
        let mut causes = finding.causes.iter();
        let is_shared = causes.all(|cause| cause.is_shared || cause.since.is_some());
        let key = (finding.causes.clone(), (!is_shared).then_some(here.file));
        let same_action = at_action.entry((finding.rule.name, here)).or_default();
        let of_action = same_action.iter().find(|index| {
            let mut causes = merged[**index].causes.iter();
            causes.any(|cause| finding.causes.contains(cause))
        });
        if let Some(first) = first_of.get(&key).or(of_action) {
            merge(&mut merged[*first], finding, here);
        } else {
            first_of.insert(key, merged.len());
            same_action.push(merged.len());
            merged.push(finding);
        }
    }
    *findings = merged.into_iter().collect();
}

/// Adds a finding, which is at `here`, to the first one with the same fault.
fn merge(first: &mut Finding, mut other: Finding, here: Span) {
    first.level = first.level.max(other.level);
    first.add_jobs(&mut other.jobs);
    // Steps that fix only some of the jobs are no fix.
    let is_at_first = first.primary.as_ref().is_some_and(|mark| mark.span == here);
    if !is_at_first || first.proposals != other.proposals {
        first.proposals.clear();
    }
    if first.edits != other.edits {
        first.edits.clear();
    }
    for cause in other.causes {
        if !first.causes.contains(&cause) {
            first.causes.push(cause);
        }
    }
    if is_at_first && other.message.len() > first.message.len() {
        // The one that names more things.
        first.message = other.message;
        first.help = other.help;
        return;
    }
    if !first.marks().any(|mark| mark.span == here) {
        first.others.push(Mark {
            span: here,
            label: other.message,
        });
    }
}
