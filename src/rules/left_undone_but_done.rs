//! See [`RULE`].

use super::check::On;
use super::context::Ending;
use crate::finding::{Finding, Findings, rule};
use crate::rehearsal::{EnergyState, Moment, PartPlace};
use crate::shop::ThingId;

rule! {
    /// A thing is declared under `[left-undone]`, but the job restores it.
    ///
    /// ## At the bench
    ///
    /// The sheet tells whoever takes over the machine that something is still open when it is not. The
    /// declaration also hides the day when a later change really leaves it open.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/cover.md
    /// +++
    /// title = "Cover"
    /// machines = ["hand-pump"]
    ///
    /// [left-undone]
    /// pump-rod = "goes to the welder"
    /// +++
    /// Keeps grit out.
    ///
    /// ## Clean
    ///
    /// 1. [](note:pump-rod)
    /// 2. [](remove:pump-rod)
    /// 3. [](fit:pump-rod)
    /// ```
    ///
    /// ## Fix
    ///
    /// Remove the line under `[left-undone]`, or the step that restores the thing.
    "left-undone-but-done", Rehearsal, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Stop(check)];

fn check(ending: &Ending<'_, '_>, findings: &mut Findings) {
    for left in &ending.job.left_undone {
        // A thing that no step touches may be restored on another machine of the procedure.
        let Some(restored_at) = restored_at(ending, left.thing) else {
            continue;
        };
        let message = format!(
            "`{}` is declared under `[left-undone]`, but is not left undone",
            left.key.value
        );
        findings.push(
            Finding::new(&RULE, message)
                .in_job(ending.job.name().to_string())
                .primary(left.key.span, "")
                .secondary(restored_at.span, "restored here")
                .help(format!("remove `{}` from `[left-undone]`", left.key.value)),
        );
    }
}

/// The action that put a thing back into the state that the job found it in. `None` if it is in another state, or
/// if no action changed it.
fn restored_at(ending: &Ending<'_, '_>, thing: ThingId) -> Option<Moment> {
    let (machine, end) = (ending.job.machine, ending.end);
    let (is_restored, since) = match thing {
        ThingId::Part(id) => {
            let state = end.part(id);
            (state.place == PartPlace::On, state.since)
        }
        ThingId::Valve(id) => {
            let state = end.valve(id);
            (state.now == machine.valves[id].initial, state.since)
        }
        ThingId::Control(id) => {
            let state = end.control(id);
            (state.now == machine.controls[id].initial, state.since)
        }
        ThingId::Fluid(id) => {
            let state = end.fluid(id);
            (state.now == machine.fluids[id].initial, state.since)
        }
        ThingId::Energy(id) => {
            let state = end.energy(id);
            (state.now == EnergyState::Live, state.since)
        }
        _ => return None,
    };
    since.filter(|_| is_restored)
}
