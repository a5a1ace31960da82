//! Reads a machine's conditions.

use super::super::fields::{TakenOver, Things, condition};
use super::super::{
    ConditionId, LostBy, Machine, MachineAction, Records, RunCondition, ThingId, WaitTime, rules,
};
use super::fields::owned;
use super::keys::MachineKeys;
use crate::finding::{Finding, Findings, Located, Span, nearest};
use crate::prose::Verb;
use crate::record::Record;

pub(super) fn read_condition(
    id: ConditionId,
    condition: &Record<'_, RunCondition>,
    keys: &MachineKeys<'_>,
    has_engine: bool,
    findings: &mut Findings,
) -> RunCondition {
    let of = condition.what().to_owned();
    if let Some(time) = WaitTime::parse(condition.key()) {
        let message = format!("{of} has the name of a time, {}", time.quantity().text());
        findings.push(
            Finding::new(&rules::CONDITION_NAMED_AS_TIME, message)
                .primary(condition.span(), "`wait:` would wait for the time")
                .help("name it after what holds, such as `engine-cold`"),
        );
    }
    let mut lost_by = Vec::new();
    let events = condition.optional_texts(condition::LOST_BY, findings);
    if events.is_none() || condition.is_empty_list(condition::LOST_BY) {
        let message = format!("{of} does not say what ends it");
        findings.push(
            Finding::new(&rules::END_NOT_NAMED, message)
                .primary(condition.span(), "needs `lost-by`")
                .help(
                    "name in `lost-by` the actions that end it, such as `run:engine`, or write `lost-by = \"nothing\"`",
                ),
        );
    }
    let events = events.unwrap_or_default();
    report_no_end_left(condition, &events, keys, findings);
    let is_only = events.len() == 1;
    for text in events {
        if text.value == LostBy::NOTHING && is_only {
            continue;
        }
        if text.value == LostBy::NOTHING {
            let message = format!("{of} ends by `nothing` and by other actions");
            findings.push(
                Finding::new(&rules::CONFLICTING_FIELDS, message)
                    .primary(text.span, "")
                    .help("remove `nothing`, or write only `nothing`"),
            );
        } else if text.value == LostBy::WORK {
            lost_by.push(text.with(LostBy::Work));
        } else if let Some(word) = nearest(&text.value, [LostBy::WORK, LostBy::NOTHING]) {
            let message = format!("`{}` is not an action", text.value);
            findings.push(
                Finding::new(&rules::UNKNOWN_CHOICE, message)
                    .primary(text.span, "")
                    .help(format!("did you mean `{word}`?"))
                    .corrected(&text.value, Some(word)),
            );
        } else if let Some(action) = keys.action(&text, has_engine, &of, findings) {
            lost_by.push(text.with(LostBy::Action(action.value)));
        }
    }
    let after = condition.texts(condition::AFTER, findings);
    let after = after.iter();
    RunCondition {
        id,
        key: condition.key().to_owned(),
        lost_by,
        after: after
            .filter_map(|text| keys.action(text, has_engine, &of, findings))
            .collect(),
        drained: keys
            .fluids
            .all_named(condition, condition::DRAINED, &of, findings),
        name: owned(condition.text(condition::NAME, findings)),
    }
}

/// Reports a condition of which the machine lacks all that ends it.
fn report_no_end_left(
    condition: &Record<'_, RunCondition>,
    events: &[Located<String>],
    keys: &MachineKeys<'_>,
    findings: &mut Findings,
) {
    let things = events.iter().map(|text| {
        let (_, thing) = text.value.split_once(':').unwrap_or_default();
        text.with(thing.to_owned())
    });
    let things: Vec<Located<String>> = things.collect();
    if let Some(lack) = keys.lack_of_all(&things, TakenOver::KINDS) {
        let message = format!(
            "nothing ends {} on this machine, which lacks what ends it",
            condition.what()
        );
        findings.push(
            Finding::new(&rules::END_NOT_NAMED, message)
                .primary(lack.span, "")
                .secondary(condition.span(), "the condition")
                .help("write what ends it here in a table of this file, or put the condition in `lacks` as well"),
        );
    }
}

/// Reports conditions that can never be confirmed, because they must come after themselves, and those that their own
/// confirmation ends.
pub(super) fn check_conditions(machine: &Machine, findings: &mut Findings) {
    let conditions = &machine.conditions;
    for condition in conditions.values() {
        let own = |action: &MachineAction| {
            action.verb == Verb::Confirm && action.thing == ThingId::Condition(condition.id)
        };
        for action in &condition.after {
            if confirms_before(conditions, action.value).any(|earlier| own(&earlier)) {
                let message = format!("`{}` must come after itself", condition.key);
                findings.push(impossible(message, action.span));
            }
        }
        let after = condition
            .after
            .iter()
            .map(|action| action.with(LostBy::Action(action.value)));
        for event in after.chain(condition.lost_by.iter().copied()) {
            if let LostBy::Action(MachineAction {
                verb: Verb::Restore,
                thing: ThingId::Energy(id),
            }) = event.value
                && machine.energies[id].is_heat()
            {
                let message = format!(
                    "heat is not restored, but `{}` depends on that",
                    condition.key
                );
                findings.push(impossible(message, event.span));
            }
        }
        let mut lost_by = condition.lost_by.iter();
        let ends_itself =
            |by: &&Located<LostBy>| matches!(&by.value, LostBy::Action(action) if own(action));
        if let Some(by) = lost_by.find(ends_itself) {
            let message = format!("`{}` is lost by its own confirmation", condition.key);
            findings.push(impossible(message, by.span));
        }
    }
}

/// An action, and all confirmations that must come before it, each once.
fn confirms_before(
    conditions: &Records<RunCondition>,
    action: MachineAction,
) -> impl Iterator<Item = MachineAction> {
    let mut before = vec![action];
    let mut next_index = 0;
    while let Some(action) = before.get(next_index).copied() {
        next_index += 1;
        let (Verb::Confirm, ThingId::Condition(id)) = (action.verb, action.thing) else {
            continue;
        };
        for earlier in &conditions[id].after {
            if !before.contains(&earlier.value) {
                before.push(earlier.value);
            }
        }
    }
    before.into_iter()
}

fn impossible(message: String, span: Span) -> Finding {
    Finding::new(&rules::IMPOSSIBLE_ACTION, message)
        .primary(span, "")
        .help("name the action that really has to come first, or that really ends the condition")
}
