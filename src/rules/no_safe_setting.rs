//! See [`RULE`].

use super::check::On;
use super::shared::parts;
use crate::finding::{Finding, Findings, rule};
use crate::prose::Verb;
use crate::quantity::Limits;
use crate::rehearsal::Scene;
use crate::shop::{CribChoice, Part, Shop};
use crate::trade::{AdequacyLevel, TorqueTool};

rule! {
    /// A torque can't be set on its torque tool: no mark of the scale keeps it within its limits.
    ///
    /// A setting is safe if it is a mark of the tool's scale, lies in its range, and gives a torque within
    /// the limits even if the tool has its largest error. The tool's tolerance may be relative to the set
    /// value or to the true torque; the narrower of the two results counts. A torque without limits needs
    /// a mark that differs from it by no more than the tool's tolerance.
    ///
    /// With an extension or crowfoot, what is set on the wrench has to be a mark. The wrench then needs
    /// its `length`, and the extension the length in `extends`.
    ///
    /// This is a warning: the values are right and are printed, but the sheet can't say what to set. If the
    /// tool's error alone is wider than the limits, `torque-tool-too-coarse` reports it. A tool without
    /// `graduation` is not reported, because its marks are not known.
    ///
    /// ## At the bench
    ///
    /// Between two marks a wrench is set by guess, and a click wrench may not hold the setting.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.torque-medium]
    /// name = "medium torque wrench"
    /// range = "5 N·m to 50 N·m"
    /// tolerance = "1 %"
    /// graduation = "2 N·m"
    /// === + machines/hand-pump.toml
    /// [part.lid-bolt]
    /// name = "lid bolt"
    /// torque = "9 N·m ± 0.5 N·m"
    /// ```
    ///
    /// ## Fix
    ///
    /// Enter or name a tool with a finer scale, or correct its `graduation`.
    "no-safe-setting", Trade, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check_crib), On::Part(&[Verb::Tighten], check_step)];

/// Whether no mark of a tool is safe for a torque in its range, for a reason that only this rule reports.
fn has_no_mark(tool: &TorqueTool, torque: &Limits) -> bool {
    if !tool.covers(torque) || tool.setting(torque).is_some() {
        return false;
    }
    let Some(adequacy) = tool.judge(torque) else {
        return false;
    };
    let is_known = tool.graduation().is_some() || is_cut_off(tool, torque);
    is_known && adequacy.level != AdequacyLevel::TooCoarse
}

/// Whether the range of the tool ends before the safe settings begin.
fn is_cut_off(tool: &TorqueTool, torque: &Limits) -> bool {
    let has_limits = torque.lower().is_some() || torque.upper().is_some();
    let window = tool.judge(torque).and_then(|adequacy| adequacy.window);
    has_limits && window.is_none()
}

fn check_crib(shop: &Shop, findings: &mut Findings) {
    for (machine, part) in parts(shop) {
        let Some(CribChoice::Covers(tool)) = shop.torque_tool_for(part) else {
            continue;
        };
        let Some(torque) = &tool.torque else { continue };
        for stage in &part.stages {
            let limits = stage.spec.value.limits();
            if !has_no_mark(torque, limits) {
                continue;
            }
            let message = format!(
                "`{}` can't be set to the torque of `{}` of `{}`",
                tool.key, part.key, machine.id
            );
            findings.push(
                Finding::new(&RULE, message)
                    .primary(stage.spec.span, "")
                    .secondary(tool.span, scale(torque))
                    .help(reason(torque, limits)),
            );
        }
    }
}

fn check_step(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    let (named, extension) = (scene.step.torque_tool(), scene.step.extension());
    let torques = part.torques_of_stage(scene.action.stage);
    if torques.is_empty() || (named.is_none() && extension.is_none()) {
        return;
    }
    let fitted = extension.map(|extension| format!(" with `{}` on it", extension.key));
    let fitted = fitted.unwrap_or_default();
    let of = format!("the torque of `{}` of `{}`", part.key, scene.machine.id);
    let Some(tool) = scene.step.torque_tool_for(scene.shop, part) else {
        // A crib that has no torque tool has not been entered yet.
        let has_torque_tool = scene.shop.tools.values().any(|tool| tool.torque.is_some());
        if has_torque_tool && let Some(extension) = extension {
            let message = format!("no torque tool in the crib can be set to {of}{fitted}");
            let finding = Finding::new(&RULE, message).primary(scene.moment.span, "");
            findings.push(finding.secondary(extension.span, "").help(
                "a setting with an extension needs the wrench's `length` and the extension's `extends`",
            ));
        }
        return;
    };
    let Some(torque) = tool.torque_with(extension) else {
        let message = format!("the setting of `{}`{fitted} can't be calculated", tool.key);
        let finding = Finding::new(&RULE, message).primary(scene.moment.span, "");
        findings.push(
            finding
                .secondary(tool.span, "")
                .help("give single values for the wrench's `length` and the extension's `extends`"),
        );
        return;
    };
    let best = match scene.shop.torque_tool_with(extension, part) {
        Some(CribChoice::Covers(best)) => Some(best),
        _ => None,
    };
    // Without an extension, the best tool of the crib has been checked for the shop.
    if extension.is_none() && best.is_some_and(|best| best.key == tool.key) {
        return;
    }
    let unset = |torque: &TorqueTool| {
        let mut torques = torques.iter();
        torques.find(|limits| has_no_mark(torque, limits)).cloned()
    };
    let Some(limits) = unset(&torque) else { return };
    let message = format!("`{}`{fitted} can't be set to {of}", tool.key);
    let finding = Finding::new(&RULE, message)
        .primary(scene.moment.span, "used here")
        .secondary(tool.span, scale(&torque));
    let better = best.filter(|best| {
        let best_torque = best.torque_with(extension);
        best.key != tool.key && best_torque.is_some_and(|torque| unset(&torque).is_none())
    });
    findings.push(match better {
        Some(better) => finding.help(format!("use `{}`", better.key)),
        None => finding.help(reason(&torque, &limits)),
    });
}

/// What a tool can be set to.
fn scale(torque: &TorqueTool) -> String {
    let range = format!("{} to {}", torque.lowest().text(), torque.highest().text());
    match torque.graduation() {
        Some(graduation) => format!("{range} in steps of {}", graduation.text()),
        None => range,
    }
}

fn reason(torque: &TorqueTool, limits: &Limits) -> String {
    let window = torque.judge(limits).and_then(|adequacy| adequacy.window);
    match window {
        Some(window) => format!(
            "only a setting of {window} is safe with its tolerance of {}; use a tool with such a mark",
            torque.tolerance().text()
        ),
        None if is_cut_off(torque, limits) => format!(
            "with its tolerance of {}, the safe settings are outside its range",
            torque.tolerance().text()
        ),
        None => format!(
            "no mark is within {} of the torque; give the torque its limits, or use a finer tool",
            torque.tolerance().text()
        ),
    }
}
