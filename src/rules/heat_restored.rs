//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, Span, rule};
use crate::job::{Job, Thing};
use crate::prose::Verb;
use crate::rehearsal::Scene;
use crate::shop::Energy;

rule! {
    /// A step restores an energy source of kind heat.
    ///
    /// What is hot cools by itself. Running the engine makes it hot again, so it is isolated and proved again
    /// after each run.
    ///
    /// ## At the bench
    ///
    /// Nobody heats a silencer up again to put the machine back as it was found.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid]
    /// name = "lid"
    /// [energy.hot-barrel]
    /// name = "heat of the barrel"
    /// kind = "heat"
    /// endangers = ["lid"]
    /// isolate = "Wait until the barrel is cold"
    /// prove = "Hold the back of a hand near it: no warmth"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](isolate:hot-barrel)
    /// 2. [](prove:hot-barrel)
    /// 3. [](restore:hot-barrel)
    /// ```
    ///
    /// ## Fix
    ///
    /// Delete the action. If the part was cooled too early, move the wait to where it is needed.
    "heat-restored", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Energy(&[Verb::Restore], check), On::Fault(check_fault)];

fn check(scene: &Scene<'_, '_>, energy: &Energy, findings: &mut Findings) {
    if energy.is_heat() {
        let job = scene.job.to_string();
        findings.push(finding(energy, scene.moment.span).in_job(job));
    }
}

fn check_fault(fault: &Job<'_>, findings: &mut Findings) {
    for action in fault.steps().flat_map(|step| &step.actions) {
        if let (Verb::Restore, Thing::Energy(energy)) = (action.verb, action.thing)
            && energy.is_heat()
        {
            findings.push(finding(energy, action.span).in_job(fault.name().to_string()));
        }
    }
}

fn finding(energy: &Energy, span: Span) -> Finding {
    let message = format!(
        "`{}` is restored, but heat comes back by itself",
        energy.key
    );
    Finding::new(&RULE, message)
        .primary(span, "restored here")
        .secondary(energy.span, "of kind `heat`")
        .help("delete this action: the next run of the engine makes it hot again")
}
