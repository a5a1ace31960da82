//! See [`RULE`].

use super::check::On;
use super::shared::parts;
use crate::finding::{Finding, Findings, Level, rule};
use crate::shop::{CribChoice, Shop};
use crate::trade::AdequacyLevel;

rule! {
    /// The best torque tool in the crib is too coarse for a fastener's torque limits.
    ///
    /// Below an accuracy ratio of 4:1 this is advice, and the sheet prints the range that can be set so
    /// that the tool's error stays inside the limits. Below 1:1 it is a warning: the tool can't tell
    /// good from bad. 4:1 is the usual requirement of calibration; as an error it would stop ordinary
    /// shop work.
    ///
    /// ## At the bench
    ///
    /// If a wrench's error is as wide as the limits, the result can be out of limits however carefully
    /// it is set.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.torque-small]
    /// name = "small torque wrench"
    /// range = "3 N·m to 15 N·m"
    /// tolerance = "6 %"
    /// === + machines/hand-pump.toml
    /// [part.lid-bolt]
    /// name = "lid bolt"
    /// torque = "10 N·m ± 1 N·m"
    /// ```
    ///
    /// ## Fix
    ///
    /// Use a finer tool, or stay within the range that the sheet prints.
    "torque-tool-too-coarse", Trade, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    for (machine, part) in parts(shop) {
        let Some(CribChoice::Covers(tool)) = shop.torque_tool_for(part) else {
            continue;
        };
        // The stages before the last only bring the parts together.
        let (Some(stage), Some(torque)) = (part.stages.last(), &tool.torque) else {
            continue;
        };
        let Some(adequacy) = torque.judge(stage.spec.value.limits()) else {
            continue;
        };
        let level = match adequacy.level {
            AdequacyLevel::Close => Level::Advice,
            AdequacyLevel::TooCoarse => Level::Warning,
            AdequacyLevel::Ample | AdequacyLevel::OutOfRange => continue,
        };
        let setting = torque.setting(stage.spec.value.limits());
        let is_reported = torque.graduation().is_some() || adequacy.window.is_none();
        if level == Level::Advice && setting.is_none() && is_reported {
            // `no-safe-setting` reports it.
            continue;
        }
        let message = match adequacy.ratio {
            Some(ratio) => format!(
                "the best torque tool for `{}` of `{}` has an accuracy ratio of {}, below 4:1",
                part.key,
                machine.id,
                ratio.text()
            ),
            None => format!(
                "the best torque tool for `{}` of `{}` is too coarse",
                part.key, machine.id
            ),
        };
        let mut finding = Finding::new(&RULE, message)
            .primary(stage.spec.span, "")
            .secondary(tool.span, "the tool");
        finding.level = level;
        findings.push(match setting.and_then(|setting| setting.window) {
            Some(window) => {
                finding.help(format!("set it within {window} to stay within the limits"))
            }
            None if level == Level::Advice => finding,
            None => finding.help("use a finer tool: its error is wider than the limits"),
        });
    }
}
