//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::job::Thing;
use crate::prose::{self, Verb};
use crate::quantity::Kind;
use crate::rehearsal::Scene;
use crate::shop::{CribChoice, Part, Tool};
use crate::trade::is_same_size;

rule! {
    /// A step tightens a fastener to a torque with a plain spanner or an impact wrench.
    ///
    /// A spanner that only holds something still is not reported: the step says "hold", or names a torque tool
    /// as well.
    ///
    /// ## At the bench
    ///
    /// The sheet prints a torque, but the step names a tool that can't measure it.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.spanner-10]
    /// name = "10 mm spanner"
    /// size = "10 mm"
    /// === air/nuts.md
    /// +++
    /// title = "Cover nuts: check"
    /// machines = ["hand-pump"]
    /// +++
    /// They work loose.
    ///
    /// ## Check
    ///
    /// 1. With the [10 mm spanner](use:spanner-10), [tighten both nuts](tighten:cover-nut).
    /// ```
    ///
    /// ## Fix
    ///
    /// Name the torque tool that the finding gives, or none: the sheet prints the one to use.
    "torqued-without-torque-tool", Trade, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Tool(&[Verb::Use], check)];

fn check(scene: &Scene<'_, '_>, tool: &Tool, findings: &mut Findings) {
    let actions = scene.step.actions.iter();
    let mut tightened = actions
        .filter(|action| action.verb == Verb::Tighten)
        .peekable();
    // Nearly all steps that use a tool tighten nothing.
    if tightened.peek().is_none() {
        return;
    }
    let has_torque_tool = scene
        .step
        .actions
        .iter()
        .any(|action| matches!(action.thing, Thing::Tool(tool) if tool.torque.is_some()));
    if has_torque_tool || tool.extends.is_some() {
        return;
    }
    // English and Spanish share the word.
    let is_impact = tool.name.to_lowercase().contains("impact");
    for action in tightened {
        let Thing::Part(part) = action.thing else {
            continue;
        };
        if part.torques().is_empty() || !(is_impact || turns(tool, part) && !holds(scene)) {
            continue;
        }
        let message = format!(
            "`{}` can't measure the torque of `{}` of `{}`",
            tool.key, part.key, scene.machine.id
        );
        let mut finding = Finding::new(&RULE, message).primary(scene.moment.span, "used here");
        if let Some(stage) = part.stages.last() {
            finding = finding.secondary(stage.spec.span, "its torque");
        }
        findings.push(match scene.shop.torque_tool_for(part) {
            Some(CribChoice::Covers(torque_tool)) => finding.help(format!(
                "use `{}`, or name no tool: the sheet prints the one to use",
                torque_tool.key
            )),
            _ => finding.help("name a torque tool whose range includes the torque"),
        });
    }
}

/// Whether a tool is a spanner, socket or key that turns the fastener.
fn turns(tool: &Tool, part: &Part) -> bool {
    let size = tool
        .size
        .as_ref()
        .and_then(|size| size.value.limits().nominal());
    let size = size.filter(|size| size.kind() == Kind::Length);
    size.zip(part.hex_size())
        .is_some_and(|(size, hex)| is_same_size(&size, &hex))
}

/// Whether the step holds something still.
fn holds(scene: &Scene<'_, '_>) -> bool {
    let text = prose::plain(&scene.step.text);
    let mut words = text.split(|letter: char| !letter.is_alphabetic());
    words.any(|word| {
        let word = word.to_lowercase();
        matches!(
            word.as_str(),
            "hold" | "holding" | "counterhold" | "sujete" | "sujetando"
        )
    })
}
