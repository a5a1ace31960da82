//! Reads the records of `tools.toml`.

use super::super::fields::{MandatorySign, tool};
use super::super::{MeterSetting, Tool, ToolRank, rules};
use super::fields::{day, owned, spec, trade_value, values, written_spec};
use super::stock::read_signs;
use crate::finding::{Finding, Findings, Located};
use crate::quantity::{Kind, Spec};
use crate::record::{Id, Record};
use crate::trade::{Meter, TorqueTool};

pub(super) fn read_tool(id: Id<Tool>, tool: &Record<'_, Tool>, findings: &mut Findings) -> Tool {
    let range = spec(tool, tool::RANGE, findings);
    let tolerance = spec(tool, tool::TOLERANCE, findings);
    let resolution = spec(tool, tool::RESOLUTION, findings);
    let accuracy = spec(tool, tool::ACCURACY, findings);
    let graduation = spec(tool, tool::GRADUATION, findings);
    let single = |spec: &Option<Located<Spec>>| spec.as_ref()?.value.limits().nominal();
    let torque_range = range
        .as_ref()
        .filter(|range| range.value.limits().kind() == Kind::Torque);
    let torque = torque_range.and_then(|range| {
        let torque_tool = TorqueTool::new(range.value.limits(), single(&tolerance).as_ref());
        let torque_tool = trade_value(torque_tool, range.span, findings)?;
        let (Some(interval), Some(graduation)) = (single(&graduation), &graduation) else {
            return Some(torque_tool);
        };
        let ungraduated = torque_tool.clone();
        let graduated = trade_value(torque_tool.graduated(&interval), graduation.span, findings);
        graduated.or(Some(ungraduated))
    });
    if let Some(range) = range.as_ref().filter(|_| torque_range.is_none())
        && range.value.limits().upper().is_none()
    {
        let message = format!("the range of {} has no upper end", tool.what());
        findings.push(
            Finding::new(&rules::ILL_FORMED_VALUE, message)
                .primary(range.span, "")
                .help("write both ends, as in `0 bar to 6 bar`"),
        );
    }
    let meter = resolution.as_ref().or(accuracy.as_ref()).and_then(|spec| {
        let meter = Meter::new(single(&resolution), single(&accuracy));
        trade_value(meter, spec.span, findings)
    });
    Tool {
        id,
        key: tool.key().to_owned(),
        name: owned(tool.text(tool::NAME, findings)),
        also: values(tool.texts(tool::ALSO, findings)),
        container: tool.flag(tool::CONTAINER, findings),
        rank: if tool.flag(tool::SPECIAL, findings) {
            ToolRank::Special
        } else {
            ToolRank::Usual
        },
        protects: read_protection(tool, findings),
        size: spec(tool, tool::SIZE, findings),
        torque,
        meter,
        has_tolerance: tolerance.is_some(),
        has_accuracy: accuracy.is_some(),
        range,
        graduation,
        length: spec(tool, tool::LENGTH, findings),
        extends: spec(tool, tool::EXTENDS, findings),
        turned_out: spec(tool, tool::TURNED_OUT, findings),
        settings: read_settings(tool, findings),
        pulse_settings: tool.numbers(tool::PULSE_SETTINGS, findings),
        calibrated: day(tool, tool::CALIBRATED, findings),
        due: day(tool, tool::DUE, findings),
        note: tool.text(tool::NOTE, findings).map(|note| note.value),
        span: tool.span(),
    }
}

/// Reads the settings of a meter. One whose range can't be read is left out.
fn read_settings(tool: &Record<'_, Tool>, findings: &mut Findings) -> Vec<MeterSetting> {
    let pairs = tool.pairs(tool::SETTINGS, findings).into_iter();
    let settings = pairs.filter_map(|(name, range)| {
        let range = written_spec(tool, tool::SETTINGS, &range, findings)?;
        let limits = range.value.limits();
        let has_ends = limits.lower().is_some() && limits.upper().is_some();
        if !has_ends || limits.lower() == limits.upper() {
            let message = format!(
                "the setting `{}` of {} has no two ends",
                name.value,
                tool.what()
            );
            findings.push(
                Finding::new(&rules::ILL_FORMED_VALUE, message)
                    .primary(range.span, "")
                    .help("write what it shows at least and at most, as in `0 V to 20 V`"),
            );
            return None;
        }
        Some(MeterSetting { name, range })
    });
    settings.collect()
}

/// Reads the mandatory signs that a tool complies with. A sign of another kind is nothing that a tool could comply
/// with.
fn read_protection(tool: &Record<'_, Tool>, findings: &mut Findings) -> Vec<Located<String>> {
    let mut signs = read_signs(tool, tool::PROTECTS, findings);
    signs.retain(|sign| {
        let is_mandatory = MandatorySign::has(&sign.value);
        if !is_mandatory {
            let message = format!("`{}` is not a mandatory sign", sign.value);
            findings.push(
                Finding::new(&rules::UNKNOWN_CHOICE, message)
                    .primary(sign.span, "")
                    .help(
                        "name the sign that demands this tool, such as `M004` for eye protection",
                    ),
            );
        }
        is_mandatory
    });
    signs
}
