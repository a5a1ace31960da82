//! See [`RULE`].

use crate::dry_run::{Moment, Scene, State};
use crate::finding::{Finding, Findings, rule};
use crate::job::{Job, JobName};
use crate::prose::Verb;

rule! {
    /// Something that a second person signs for was done, and the engine is run or the job ends without their signature.
    ///
    /// `signed-by` on a part, a fluid, a reading or on `[run]` names the role.
    ///
    /// ## At the bench
    ///
    /// The torque of a blade bolt is one mistake nobody makes twice.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid]
    /// name = "lid"
    /// signed-by = "mechanic"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](remove:lid)
    /// 2. [](fit:lid)
    /// ```
    ///
    /// ## Mend
    ///
    /// Add `[](hold:…)` after it, with the points they look at below.
    "not-signed-for", DryRun, Error => pub(super) RULE
}

pub(super) fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    if scene.act.verb == Verb::Run {
        report(scene.job, scene.before, Some(scene.at), findings);
    }
}

pub(super) fn check_end(job: &Job<'_>, end: &State<'_>, findings: &mut Findings) {
    report(job.name(), end, None, findings);
}

fn report(job: JobName<'_>, state: &State<'_>, run: Option<Moment>, findings: &mut Findings) {
    for (role, thing, since) in state.account().unsigned() {
        // A run of the engine is signed for at the end, however often it is run.
        if run.is_some() && thing == "engine" {
            continue;
        }
        let message = match run {
            Some(_) => format!("the engine is run before `{role}` has signed for `{thing}`"),
            None => format!("`{role}` has not signed for `{thing}` at the end"),
        };
        let finding = Finding::new(&RULE, message)
            .in_job(job.to_string())
            .help(format!("add `[](hold:{role})` after it"));
        findings.push(match run {
            Some(run) => finding
                .at(run.span, "run here")
                .and(since.span, "done here"),
            None => finding.at(since.span, "done here"),
        });
    }
}
