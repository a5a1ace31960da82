//! See [`RULE`].

use super::check::On;
use crate::finding::{Findings, Located, rule};
use crate::job::Thing;
use crate::prose::Verb;
use crate::quantity::{Kind, Quantity};
use crate::rehearsal::Scene;
use crate::shop::{Part, Tool, Turned};
use crate::trade::{Head, Thread};

rule! {
    /// A step uses a wrench, socket or key that fits no fastener in the step.
    ///
    /// If each fastener has another one in the step that fits it, the wrench may hold something still, such as the
    /// adapter of a hose, and is not reported.
    ///
    /// ## At the bench
    ///
    /// Somebody fetches it, tries it, and rounds off a corner.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.wrench-13]
    /// name = "13 mm wrench"
    /// size = "13 mm"
    /// === air/nuts.md
    /// +++
    /// title = "Cover nuts: check"
    /// machines = ["hand-pump"]
    /// +++
    /// They work loose.
    ///
    /// ## Check
    ///
    /// 1. With the [13 mm wrench](use:wrench-13), [tighten both nuts](tighten:cover-nut).
    /// ```
    ///
    /// ## Fix
    ///
    /// Name the wrench that fits; the finding gives the size of each fastener.
    "wrench-does-not-fit", Trade, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Tool(&[Verb::Use], check)];

fn check(scene: &Scene<'_, '_>, tool: &Tool, findings: &mut Findings) {
    let Some(size) = wrench_size(tool) else {
        return;
    };
    let turned = scene.step.actions.iter().filter(|action| {
        matches!(
            action.verb,
            Verb::Remove | Verb::Slacken | Verb::Fit | Verb::Renew | Verb::Tighten
        )
    });
    let turned: Vec<&Part> = turned
        .filter_map(|action| match action.thing {
            Thing::Part(part) if part.is_fastener() => Some(part),
            _ => None,
        })
        .collect();
    // Without a fastener in the step, the wrench may hold something still. A fastener of unknown size
    // may fit.
    if turned.is_empty()
        || turned
            .iter()
            .any(|part| !is_known(part) || fits(&size, part))
    {
        return;
    }
    let others: Vec<Quantity> = wrenches(scene, tool).collect();
    if turned
        .iter()
        .all(|part| others.iter().any(|other| fits(other, part)))
    {
        return;
    }
    let needed: Vec<String> = turned
        .iter()
        .map(|part| match part.hex_size() {
            Some(hex) => format!("`{}` takes {}", part.key, hex.text()),
            None => format!(
                "no head for the thread of `{}` takes it; give the size in `drive`",
                part.key
            ),
        })
        .collect();
    let message = format!("`{}` fits no fastener in this step", tool.key);
    let finding = scene.finding(&RULE, message, "");
    findings.push(finding.help(needed.join(", ")));
}

/// The size of a wrench, socket or key. `None` for any other tool.
fn wrench_size(tool: &Tool) -> Option<Quantity> {
    let size = tool.size.as_ref()?.value.limits().nominal()?;
    (size.kind() == Kind::Length).then_some(size)
}

/// The sizes of the wrenches that the step uses, without this one.
fn wrenches<'s>(scene: &'s Scene<'_, '_>, tool: &'s Tool) -> impl Iterator<Item = Quantity> + 's {
    let actions = scene.step.actions.iter();
    actions.filter_map(move |action| match action.thing {
        Thing::Tool(other) if action.verb == Verb::Use && other.key != tool.key => {
            wrench_size(other)
        }
        _ => None,
    })
}

/// Whether the wrench size is known or follows from the thread. For a thread that the tables of heads don't
/// have, such as a pipe thread, nothing is known; nor for a spark plug, whose hexagon belongs to no head.
fn is_known(part: &Part) -> bool {
    if part.hex_size().is_some() {
        return true;
    }
    let has_head = |thread: &Located<Thread>| {
        let mut heads = Head::ALL.iter();
        heads.any(|head| head.across_flats(&thread.value).is_some())
    };
    part.drive.is_none()
        && part.head.is_none()
        && part.spark_plug.is_none()
        && part.thread.as_ref().is_some_and(has_head)
}

/// The `drive` decides, then the head. Without either, any head that is made for the thread may fit.
fn fits(wrench: &Quantity, part: &Part) -> bool {
    if let Some(Turned::Hex(drive)) = part.drive.as_ref().map(|drive| &drive.value) {
        return drive.is_fitted_by(wrench);
    }
    let Some(thread) = &part.thread else {
        return true;
    };
    let heads = Head::fitted(wrench, &thread.value);
    match &part.head {
        Some(head) => heads.contains(&head.value),
        None => !heads.is_empty(),
    }
}
