//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::job::Thing;
use crate::prose::Verb;
use crate::rehearsal::Scene;
use crate::shop::{CribChoice, Tool};

rule! {
    /// A step tightens a fastener with a torque tool whose range does not include its torque.
    ///
    /// ## At the bench
    ///
    /// The tool clicks too early, or never.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.torque-large]
    /// name = "large torque wrench"
    /// range = "40 N·m to 200 N·m"
    /// [tool.torque-small]
    /// name = "small torque wrench"
    /// range = "3 N·m to 15 N·m"
    /// tolerance = "2 %"
    /// === air/nuts.md
    /// +++
    /// title = "Cover nuts: check"
    /// machines = ["hand-pump"]
    /// +++
    /// They work loose.
    ///
    /// ## Check
    ///
    /// 1. With the [large torque wrench](use:torque-large), [tighten both nuts](tighten:cover-nut).
    /// ```
    ///
    /// ## Fix
    ///
    /// Name a tool whose range includes the torque; the finding names the best one in the crib.
    "torque-tool-out-of-range", Trade, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Tool(&[Verb::Use], check)];

fn check(scene: &Scene<'_, '_>, tool: &Tool, findings: &mut Findings) {
    let extension = scene.step.extension();
    // Without the lengths of the wrench and the extension, the settings are not known.
    let Some(torque) = tool.torque_with(extension) else {
        return;
    };
    for action in &scene.step.actions {
        let (Verb::Tighten, Thing::Part(part)) = (action.verb, action.thing) else {
            continue;
        };
        let torques = part.torques_of_stage(action.stage);
        if torques.iter().all(|limits| torque.covers(limits)) {
            continue;
        }
        let through = extension.map(|extension| format!(" with `{}` on it", extension.key));
        let message = format!(
            "the torque of `{}` of `{}` is outside the range of `{}`{}, {} to {}",
            part.key,
            scene.machine.id,
            tool.key,
            through.unwrap_or_default(),
            torque.lowest().text(),
            torque.highest().text(),
        );
        let mut finding = Finding::new(&RULE, message).primary(scene.moment.span, "used here");
        if let Some(stage) = part.stages.last() {
            finding = finding.secondary(stage.spec.span, "its torque");
        }
        findings.push(match scene.shop.torque_tool_with(extension, part) {
            Some(CribChoice::Covers(better)) if better.key != tool.key => {
                finding.help(format!("use `{}`", better.key))
            }
            _ => finding.help("name a torque tool whose range includes the torque"),
        });
    }
}
