//! Reads a machine's readings.

use super::super::{EngineNeed, Reading, ReadingId, Sourced, ThingId, rules};
use super::fields::{choice, no_actions, owned, parse_spec, prose};
use super::keys::MachineKeys;
use super::name_fields as names;
use crate::finding::{Finding, Findings};
use crate::prose::Verb;
use crate::record::Record;

pub(super) fn read_reading(
    id: ReadingId,
    reading: &mut Record<'_>,
    keys: &MachineKeys<'_>,
    basis: Option<&str>,
    has_engine: bool,
    findings: &mut Findings,
) -> Reading {
    let of = reading.what().to_owned();
    let own_basis = reading.text("basis", findings).map(|basis| basis.value);
    let basis = own_basis.or_else(|| basis.map(str::to_owned));
    let name = owned(reading.need_text("name", findings));
    let states = [
        ("running", EngineNeed::Running),
        ("stopped", EngineNeed::Stopped),
    ];
    let limits = reading
        .need_text("limits", findings)
        .and_then(|text| parse_spec(reading, "limits", &text, &[], findings))
        .map(|spec| Sourced { spec, basis });
    let mut result = Reading {
        id,
        key: reading.key().to_owned(),
        name,
        limits,
        needs: keys
            .conditions
            .all_named(reading, &names::READING_NEEDS, &of, findings),
        engine: choice(reading, "engine", &states, findings),
        may_be_live: keys
            .energies
            .all_named(reading, &names::READING_MAY_BE_LIVE, &of, findings),
        with: keys
            .parts
            .all_named(reading, &names::READING_WITH, &of, findings),
        without: keys
            .parts
            .all_named(reading, &names::READING_WITHOUT, &of, findings),
        locked_by: keys
            .parts
            .all_named(reading, &names::READING_LOCKED_BY, &of, findings),
        changed_by: reading
            .texts(names::READING_CHANGED_BY.key, findings)
            .iter()
            .filter_map(|text| keys.action(text, has_engine, &of, findings))
            .collect(),
        signed_by: keys
            .shop
            .roles
            .named(reading, &names::READING_SIGNED_BY, &of, findings),
        cautions: keys
            .shop
            .cautions
            .all_named(reading, &names::READING_CAUTIONS, &of, findings),
        tool: keys
            .shop
            .tools
            .named(reading, &names::READING_TOOL, &of, findings),
        over: prose(reading, "over", findings),
        under: prose(reading, "under", findings),
    };
    check_reading(&mut result, findings);
    for text in [&result.over, &result.under].into_iter().flatten() {
        no_actions(text, &of, findings);
    }
    result
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
