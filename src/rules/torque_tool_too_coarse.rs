//! See [`RULE`].

use super::check::On;
use super::shared::parts;
use crate::finding::{Finding, Findings, Level, rule};
use crate::quantity::Rational;
use crate::shop::{CribChoice, Shop, Tool};
use crate::trade::AdequacyLevel;

rule! {
    /// The best torque tool in the crib is too coarse for a fastener's torque limits.
    ///
    /// Each tool is reported once, at the fastener for which it is coarsest; the help names the others.
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

/// A fastener for which a tool is too coarse.
struct Coarse<'s> {
    tool: &'s Tool,
    level: Level,
    /// Limits to error. `None` sorts last: the tool has no error to compare.
    ratio: Option<Rational>,
    name: String,
    finding: Finding,
}

fn check(shop: &Shop, findings: &mut Findings) {
    let mut coarse = coarse_fasteners(shop);
    // The worst of each tool first.
    coarse.sort_by_key(|found| {
        let ratio = found.ratio.clone();
        (
            found.tool.id,
            std::cmp::Reverse(found.level),
            ratio.is_none(),
            ratio,
        )
    });
    let mut rest = coarse.into_iter().peekable();
    while let Some(worst) = rest.next() {
        let mut others = Vec::new();
        while let Some(other) = rest.next_if(|other| other.tool.id == worst.tool.id) {
            others.push(other.name);
        }
        findings.push(with_others(worst.finding, &others));
    }
}

/// The most fasteners that the help of a finding names.
const MOST_NAMED: usize = 5;

fn with_others(mut finding: Finding, others: &[String]) -> Finding {
    if others.is_empty() {
        return finding;
    }
    let named = others.iter().take(MOST_NAMED).cloned();
    let mut named: Vec<String> = named.collect();
    let more = others.len().saturating_sub(MOST_NAMED);
    if more > 0 {
        named.push(format!("{more} more"));
    }
    let others = format!("it is too coarse for {}, too", named.join(", "));
    finding.help = Some(match finding.help {
        Some(help) => format!("{help}; {others}"),
        None => others,
    });
    finding
}

fn coarse_fasteners(shop: &Shop) -> Vec<Coarse<'_>> {
    let mut coarse = Vec::new();
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
        let message = match &adequacy.ratio {
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
        let finding = match setting.and_then(|setting| setting.window) {
            Some(window) => {
                finding.help(format!("set it within {window} to stay within the limits"))
            }
            None if level == Level::Advice => {
                finding.help("use a finer tool, or aim at the middle of the limits")
            }
            None => finding.help("use a finer tool: its error is wider than the limits"),
        };
        coarse.push(Coarse {
            tool,
            level,
            ratio: adequacy.ratio.map(|ratio| ratio.value().clone()),
            name: format!("`{}` of `{}`", part.key, machine.id),
            finding,
        });
    }
    coarse
}
