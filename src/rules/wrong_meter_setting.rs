//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, nearest, rule};
use crate::shop::{Machine, MeterSetting, Reading, Shop, Sourced, Tool};

rule! {
    /// A reading's meter has no setting for it, or the reading names a setting that does not show its limits.
    ///
    /// A meter with several functions and ranges has them in `settings`. If one of them alone can show the limits of a
    /// reading, that is printed; otherwise the reading names one in `setting`.
    ///
    /// ## At the bench
    ///
    /// The meter shows an overflow, or a resistance of zero where there are two ohms. A meter that is set to amperes and
    /// held to a live socket blows up.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.multimeter]
    /// name = "multimeter"
    /// [tool.multimeter.settings]
    /// "DC V 20" = "0 V to 20 V"
    /// "Ω 200" = "0 Ω to 200 Ω"
    /// === + machines/hand-pump.toml
    /// [reading.coil]
    /// name = "coil"
    /// limits = "5 kΩ to 6 kΩ"
    /// tool = "multimeter"
    /// setting = "Ω 200"
    /// ```
    ///
    /// ## Fix
    ///
    /// Name a setting that shows the limits, or another tool. If the limits are wrong, correct them.
    "wrong-meter-setting", Trade, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    for machine in shop.machines.values() {
        for reading in machine.readings.values() {
            let tool = shop.tool_of(reading);
            let finding = match (tool, &reading.limits) {
                (Some(tool), _) if reading.setting.is_some() => named(machine, reading, tool),
                (Some(tool), Some(limits)) if !tool.settings.is_empty() => {
                    chosen(machine, reading, tool, limits)
                }
                (None, _) => without_tool(machine, reading),
                _ => None,
            };
            if let Some(finding) = finding {
                findings.push(finding);
            }
        }
    }
}

/// A reading with a setting of no tool.
fn without_tool(machine: &Machine, reading: &Reading) -> Option<Finding> {
    let setting = reading.setting.as_ref()?;
    let message = format!(
        "`{}` of `{}` names a setting, but no tool",
        reading.key, machine.id
    );
    let finding = Finding::new(&RULE, message).primary(setting.span, "");
    Some(finding.help("name the meter in `tool`"))
}

/// The setting that a reading names.
fn named(machine: &Machine, reading: &Reading, tool: &Tool) -> Option<Finding> {
    let setting = reading.setting.as_ref()?;
    let settings = tool.settings.iter();
    let found = settings
        .clone()
        .find(|known| known.name.value == setting.value);
    let Some(found) = found else {
        let message = format!("`{}` has no setting `{}`", tool.key, setting.value);
        let finding = Finding::new(&RULE, message).primary(setting.span, "");
        let near = nearest(
            &setting.value,
            settings.map(|known| known.name.value.as_str()),
        );
        return Some(if tool.settings.is_empty() {
            finding.secondary(tool.span, "this tool").help(format!(
                "list its settings in `[tool.{}.settings]`",
                tool.key
            ))
        } else {
            finding
                .suggest(
                    near,
                    format!("name one of its settings: {}", names(&tool.settings)),
                )
                .corrected(&setting.value, near)
        });
    };
    let limits = reading.limits.as_ref()?.spec.value.limits();
    if found.covers(limits) {
        return None;
    }
    let range = found.range.value.limits();
    let message = format!(
        "the limits of `{}` of `{}` are {}, but `{}` shows {}",
        reading.key,
        machine.id,
        limits.text(),
        setting.value,
        range.text()
    );
    let finding = Finding::new(&RULE, message)
        .primary(setting.span, "")
        .secondary(found.range.span, "the range of the setting");
    Some(finding.help(other_settings(tool, reading)))
}

/// The setting of a reading that names none.
fn chosen(machine: &Machine, reading: &Reading, tool: &Tool, limits: &Sourced) -> Option<Finding> {
    let typed = limits.spec.value.limits();
    // A range beside the settings is that of another function.
    let in_range = tool.range.as_ref();
    if in_range.is_some_and(|range| range.value.limits().kind() == typed.kind()) {
        return None;
    }
    let fitting = tool.settings.iter().filter(|setting| setting.covers(typed));
    let message = match fitting.count() {
        1 => return None,
        0 => format!(
            "`{}` has no setting that shows {}, the limits of `{}` of `{}`",
            tool.key,
            typed.text(),
            reading.key,
            machine.id
        ),
        _ => format!(
            "several settings of `{}` show the limits of `{}` of `{}`, which names none",
            tool.key, reading.key, machine.id
        ),
    };
    Some(
        Finding::new(&RULE, message)
            .primary(limits.spec.span, "")
            .secondary(tool.span, "this tool")
            .help(other_settings(tool, reading)),
    )
}

/// Which settings can show the limits of a reading.
fn other_settings(tool: &Tool, reading: &Reading) -> String {
    let limits = reading.limits.as_ref();
    let fitting = tool
        .settings
        .iter()
        .filter(|setting| limits.is_some_and(|limits| setting.covers(limits.spec.value.limits())));
    let fitting: Vec<MeterSetting> = fitting.cloned().collect();
    if fitting.is_empty() {
        return "name a tool that can show them, or correct the limits".to_owned();
    }
    format!(
        "these show the limits: {}; name one in `setting`",
        names(&fitting)
    )
}

fn names(settings: &[MeterSetting]) -> String {
    let names = settings
        .iter()
        .map(|setting| format!("`{}`", setting.name.value));
    names.collect::<Vec<_>>().join(", ")
}
