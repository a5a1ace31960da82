//! Reads a machine's readings.

use super::super::fields::reading;
use super::super::{
    Calculated, EngineNeed, LevelMarks, MachineAction, Reading, ReadingId, ThingId, rules,
};
use super::calculated::read_calculated;
use super::fields::{Bases, choice, no_actions, owned, prose, spec};
use super::keys::MachineKeys;
use crate::finding::{Finding, Findings, Located};
use crate::prose::Verb;
use crate::quantity::Spec;
use crate::record::Record;

pub(super) fn read_reading(
    id: ReadingId,
    reading: &Record<'_, Reading>,
    keys: &MachineKeys<'_>,
    bases: &Bases,
    has_engine: bool,
    findings: &mut Findings,
) -> Reading {
    let of = reading.what().to_owned();
    reading.text(reading::BASIS, findings);
    let name = owned(reading.text(reading::NAME, findings));
    let level = read_level(reading, findings);
    let (limits, calculated) = read_limits(reading, level.is_some(), findings);
    let limits = limits.map(|spec| bases.source(reading, reading::BASIS, spec));
    let mut result = Reading {
        id,
        key: reading.key().to_owned(),
        name,
        limits,
        calculated,
        level,
        fluid: keys.fluids.named(reading, reading::FLUID, &of, findings),
        needs: keys
            .conditions
            .all_named(reading, reading::NEEDS, &of, findings),
        engine: choice(reading, reading::ENGINE, findings),
        may_be_live: keys
            .energies
            .all_named(reading, reading::MAY_BE_LIVE, &of, findings),
        with: keys.parts.all_named(reading, reading::WITH, &of, findings),
        without: keys
            .parts
            .all_named(reading, reading::WITHOUT, &of, findings),
        locked_by: keys
            .parts
            .all_named(reading, reading::LOCKED_BY, &of, findings),
        changed_by: reading
            .texts(reading::CHANGED_BY, findings)
            .iter()
            .filter_map(|text| keys.action(text, has_engine, &of, findings))
            .collect(),
        signed_by: keys
            .shop
            .roles
            .named(reading, reading::SIGNED_BY, &of, findings),
        cautions: keys
            .shop
            .cautions
            .all_named(reading, reading::CAUTIONS, &of, findings),
        tool: keys.shop.tools.named(reading, reading::TOOL, &of, findings),
        setting: reading.text(reading::SETTING, findings),
        over: prose(reading, reading::OVER, findings),
        under: prose(reading, reading::UNDER, findings),
        dimension: None,
    };
    if let Some(fluid) = &result.fluid {
        let thing = ThingId::Fluid(fluid.value);
        let actions = [Verb::Fill, Verb::Drain];
        let actions = actions.map(|verb| fluid.with(MachineAction { verb, thing }));
        result.changed_by.extend(actions);
    }
    if let Some(first) = reading.texts(reading::MARKS, &mut Findings::new()).first() {
        result.engine.get_or_insert(first.with(EngineNeed::Stopped));
    }
    check_reading(&mut result, findings);
    for text in [&result.over, &result.under].into_iter().flatten() {
        no_actions(text, &of, findings);
    }
    result
}

/// Reads the limits, which are typed or calculated. Only a level has none.
fn read_limits(
    reading: &Record<'_, Reading>,
    is_level: bool,
    findings: &mut Findings,
) -> (Option<Located<Spec>>, Option<Calculated>) {
    let typed = spec(reading, reading::LIMITS, findings);
    let written = reading.text(reading::LIMITS, &mut Findings::new());
    let Some(read) = read_calculated(reading, findings) else {
        if reading
            .texts(reading::MARKS, &mut Findings::new())
            .is_empty()
        {
            reading.need(reading::LIMITS, findings);
        }
        return (typed, None);
    };
    // In a variant, one of the two replaces the other one of the machine that it is like.
    let is_replaced = written
        .as_ref()
        .is_some_and(|written| reading.replaces(written.span, read.span));
    if is_replaced {
        return (typed, None);
    }
    let conflict = written.filter(|written| !reading.replaces(read.span, written.span));
    if conflict.is_some() || is_level {
        let other = if is_level { "marks" } else { "limits" };
        let message = format!("{} has both `{other}` and `calculated`", reading.what());
        let mut finding = Finding::new(&rules::CONFLICTING_FIELDS, message).primary(read.span, "");
        if let Some(written) = conflict {
            finding = finding.secondary(written.span, "its limits");
        }
        findings.push(finding.help("keep one of them"));
    }
    match read.limits {
        Some((spec, calculated)) if !is_level => (Some(spec), Some(calculated)),
        _ => (None, None),
    }
}

/// Reads the marks of a level, which are two. A level has no limits and no tool with settings: it is looked at.
fn read_level(reading: &Record<'_, Reading>, findings: &mut Findings) -> Option<LevelMarks> {
    let marks = reading.texts(reading::MARKS, findings);
    let first = marks.first()?;
    if let Some(limits) = reading.text(reading::LIMITS, &mut Findings::new()) {
        let message = format!("{} has both `marks` and `limits`", reading.what());
        findings.push(
            Finding::new(&rules::CONFLICTING_FIELDS, message)
                .primary(limits.span, "")
                .secondary(first.span, "the first mark")
                .help("keep `marks` if it is a level that is read between two marks"),
        );
    }
    match marks.as_slice() {
        [lower, upper] if lower.value != upper.value => Some(LevelMarks {
            lower: lower.value.clone(),
            upper: upper.value.clone(),
        }),
        _ => {
            let message = format!("the marks of {} are not two", reading.what());
            findings.push(
                Finding::new(&rules::ILL_FORMED_VALUE, message)
                    .primary(first.span, "")
                    .help("write the lower and the upper mark, as in `marks = [\"MIN\", \"MAX\"]`"),
            );
            None
        }
    }
}

/// Reports fields of a reading that contradict each other.
fn check_reading(reading: &mut Reading, findings: &mut Findings) {
    for action in &reading.changed_by {
        if action.value.verb == Verb::Measure && action.value.thing == ThingId::Reading(reading.id)
        {
            let message = format!("`{}` is changed by its own measurement", reading.key);
            findings.push(
                Finding::new(&rules::IMPOSSIBLE_ACTION, message)
                    .primary(action.span, "")
                    .help("name the action that changes the reading, such as `adjust:idle-speed`"),
            );
        }
    }
    let Reading {
        key, with, without, ..
    } = reading;
    // A part in both lists is dropped from both. Otherwise every measurement would be reported as well.
    without.retain(|off| {
        let Some(index) = with.iter().position(|on| on.value == off.value) else {
            return true;
        };
        let message = format!("`{key}` is measured both with and without the same part");
        findings.push(
            Finding::new(&rules::CONFLICTING_FIELDS, message)
                .primary(off.span, "must be off")
                .secondary(with[index].span, "must be on")
                .help("keep the part in `with` or in `without`"),
        );
        with.remove(index);
        false
    });
}
