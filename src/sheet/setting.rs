//! What to set on a torque tool or a meter.

use crate::page::PageContext;
use crate::quantity::{Kind, Limits, Quantity};
use crate::shop::{Reading, Tool};
use crate::words::Words;

/// "set to DC V 20", for a meter with several functions and ranges.
pub(crate) fn meter_setting_text(context: PageContext<'_>, reading: &Reading) -> Option<String> {
    let setting = context.shop.setting_of(reading)?;
    let values = [("value", setting.name.value.as_str())];
    Some(context.words().format("set-to", &values))
}

/// What to set on a torque tool, and the range of settings in which the tool's own error stays inside
/// the limits: "set to 9.0 N·m (safe 8.4 N·m to 9.6 N·m)". `None` for an angle, or if the marks of
/// the tool are not known and no round value is safe.
pub(crate) fn setting_text(
    words: &Words,
    wrench: &Tool,
    extension: Option<&Tool>,
    limits: &Limits,
) -> Option<String> {
    if limits.kind() != Kind::Torque {
        return None;
    }
    let fitted = extension.map(|extension| ("tool", &*extension.name));
    let Some(torque) = wrench.torque_with(extension) else {
        // The uncorrected torque would be too much.
        return fitted.map(|fitted| words.format("setting-unknown", &[fitted]));
    };
    let Some(setting) = torque.setting(limits) else {
        let has_marks = torque.graduation().is_some();
        return has_marks.then(|| words.get("no-safe-setting").to_owned());
    };
    let value = words.quantity(&setting.value);
    let set = match fitted {
        Some(fitted) => words.format("set-through", &[("value", &value), fitted]),
        None => words.format("set-to", &[("value", &value)]),
    };
    let quantity = |bound: &Quantity| words.quantity(bound);
    let safe = setting.window.map(|window| {
        match (
            window.least.as_ref().map(quantity),
            window.most.as_ref().map(quantity),
        ) {
            (Some(least), Some(most)) => {
                words.format("safe-between", &[("least", &least), ("most", &most)])
            }
            (Some(bound), None) => words.format("safe-from", &[("value", &bound)]),
            (None, Some(bound)) => words.format("safe-up-to", &[("value", &bound)]),
            (None, None) => String::new(),
        }
    });
    Some(match safe {
        Some(safe) => format!("{set} ({safe})"),
        None => set,
    })
}
