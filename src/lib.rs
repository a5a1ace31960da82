//! Benchleaf compiles a repair shop's own machines, parts, specs and procedures
//! into checked shop sheets and bench checklists.
//!
//! The whole of it, in order, each stage knowing only those above it:
//!
//! 1. [`tree`] reads files: text with a place for every byte.
//! 2. [`quantity`] reads values: text to exact limits, and back to print.
//! 3. [`trade`] does the trade's arithmetic over quantities.
//! 4. [`prose`] reads CommonMark, with actions in place.
//! 5. [`shop`] reads TOML, through [`record`], into typed records.
//! 6. [`procedure`] reads Markdown into sections, steps, actions, cautions; fault tables, too.
//! 7. [`job`] joins a procedure and a machine: names found, chains written out, steps numbered.
//! 8. [`rehearsal`] rehearses the job on the [`model`] of the machine.
//! 9. [`rules`] judge the rehearsal.
//! 10. [`sheet`], [`site`] and [`manual`] say what is on a page, in the terms of [`page`];
//!     [`render`] says how it looks, [`output`] puts it on disk; [`publish`] joins them.
//! 11. [`report`] shows [`finding`]s, [`preview`] serves pages while sources are written, and [`cli`]
//!     is the command line.
//!
//! Steps 1 to 9 are [`read`] and [`check`]:
//!
//! ```
//! use benchleaf::{check, read, tree::Memory};
//!
//! let sources = read(&Memory::new([
//!     ("shop.toml", "name = \"Elmbrook workshop\""),
//!     ("machines/hand-pump.toml", "name = \"Hand pump\"\n[part.cover]\nname = \"cover\""),
//!     (
//!         "air/cover.md",
//!         "+++\ntitle = \"Cover\"\nmachines = [\"hand-pump\"]\n+++\n## Look\n1. [](remove:cover)\n",
//!     ),
//! ]));
//! let checked = check(&sources);
//! let found: Vec<&str> = checked.findings.iter().map(|finding| finding.rule.name).collect();
//! assert_eq!(found, ["part-left-off"]);
//! ```

mod cache;
pub mod cli;
pub mod finding;
mod job;
mod manual;
mod model;
mod output;
mod page;
mod preview;
mod procedure;
mod prose;
mod publish;
pub mod quantity;
mod record;
mod rehearsal;
mod render;
pub mod report;
mod rules;
mod sheet;
mod shop;
mod site;
pub mod trade;
pub mod tree;
mod verbs;
mod words;

#[cfg(test)]
#[path = "../tests/internal/mod.rs"]
mod internal;

use finding::{Findings, Rule};
use job::Job;
use procedure::Procedure;
use rehearsal::Rehearsal;
use shop::Shop;
use trade::Day;
use tree::{Tree, World};

/// A shop's sources as they were read, with what was wrong with them.
#[derive(Debug)]
pub struct Sources {
    /// The files, and the text that spans of findings point into.
    pub tree: Tree,
    pub(crate) shop: Shop,
    pub(crate) procedures: Vec<Procedure>,
    pub(crate) faults: Vec<Procedure>,
    findings: Findings,
}

/// The result of a check.
#[derive(Debug)]
pub struct Checked {
    /// The number of jobs that were rehearsed: one for each procedure on each of its machines.
    pub rehearsed: usize,
    /// All that was found, from reading on, in order of file and position.
    pub findings: Findings,
}

/// A job and its rehearsal.
#[derive(Debug)]
pub(crate) struct Rehearsed<'a> {
    pub(crate) job: Job<'a>,
    pub(crate) rehearsal: Rehearsal<'a>,
}

/// The result of a check with what its caller kept of each job.
#[derive(Debug)]
pub(crate) struct CheckedJobs<'a, T> {
    /// What was kept of the jobs, in order of procedure and then machine.
    pub(crate) jobs: Vec<T>,
    pub(crate) rehearsed: usize,
    /// Each fault table on each of its machines. Fault tables are read at the bench, not done, so
    /// the rules on a machine's state do not judge them.
    pub(crate) faults: Vec<Rehearsed<'a>>,
    pub(crate) findings: Findings,
}

/// Reads a shop's sources.
#[must_use]
pub fn read(world: &dyn World) -> Sources {
    let tree = tree::read(world);
    let mut findings = tree.findings.clone();
    let mut in_procedures = Findings::new();
    // Neither needs the other.
    let (shop, (procedures, faults)) = rayon::join(
        || shop::read(&tree, &mut findings),
        || {
            let found = &mut in_procedures;
            let procedures = procedure::read(&tree, found);
            (procedures, procedure::read_faults(&tree, found))
        },
    );
    findings.extend(in_procedures);
    Sources {
        tree,
        shop,
        procedures,
        faults,
        findings,
    }
}

/// Makes every job of some sources, rehearses it and judges it.
#[must_use]
pub fn check(sources: &Sources) -> Checked {
    check_at(sources, None)
}

/// As [`check`], and reports what is out of date on a day, such as a tool's calibration.
#[must_use]
pub fn check_on(sources: &Sources, day: Day) -> Checked {
    check_at(sources, Some(day))
}

/// Every rule, in order of name.
#[must_use]
pub fn rules() -> Vec<&'static Rule> {
    rules::all()
}

fn check_at(sources: &Sources, on: Option<Day>) -> Checked {
    let checked = check_jobs(sources, on, |_| None::<()>);
    Checked {
        rehearsed: checked.rehearsed,
        findings: checked.findings,
    }
}

/// As [`check`], with every job and its rehearsal.
#[cfg(test)]
pub(crate) fn check_all(sources: &Sources) -> CheckedJobs<'_, Rehearsed<'_>> {
    check_jobs(sources, None, Some)
}

/// Checks, keeping of each job only what `take` makes of it. A job is dropped as soon as it is
/// judged, so that memory does not grow with the number of jobs.
#[must_use]
pub(crate) fn check_jobs<'s, T: Send>(
    sources: &'s Sources,
    on: Option<Day>,
    take: impl Fn(Rehearsed<'s>) -> Option<T> + Sync,
) -> CheckedJobs<'s, T> {
    let Sources {
        tree,
        shop,
        procedures,
        faults,
        findings,
    } = sources;
    let mut findings = findings.clone();
    let mut in_shop = Findings::new();
    rayon::join(
        || rules::judge_text(tree, shop, procedures, faults, &mut findings),
        || rules::judge_shop(shop, on, &mut in_shop),
    );
    findings.extend(in_shop);
    let prefixes = rules::prefix_cache();
    let judge = |job: Job<'s>| {
        let mut findings = Findings::new();
        let (rehearsal, waived) = prefixes.rehearse(&job, &mut findings);
        (take(Rehearsed { job, rehearsal }), findings, waived)
    };
    let made = job::make_each(tree, shop, procedures, faults, &mut findings, judge);
    let tables: Vec<Rehearsed<'_>> = made
        .faults
        .into_iter()
        .map(|job| {
            rules::judge_fault(&job, &mut findings);
            let rehearsal = rehearsal::rehearse(&job, |_| {});
            Rehearsed { job, rehearsal }
        })
        .collect();
    let rehearsed = made.jobs.len();
    let mut jobs = Vec::new();
    let mut waived = rules::Waived::new();
    for (job, found, of_job) in made.jobs {
        jobs.extend(job);
        findings.extend(found);
        waived.extend(of_job);
    }
    rules::unused_waivers(procedures, &waived, &mut findings);
    rules::unused_waivers(faults, &waived, &mut findings);
    rules::set_levels(shop, &mut findings);
    findings.sort();
    CheckedJobs {
        jobs,
        rehearsed,
        faults: tables,
        findings,
    }
}
