//! Benchleaf compiles a repair shop's own machines, parts, specs and procedures
//! into checked shop sheets and bench checklists.
//!
//! The pipeline. Each stage depends only on stages above it:
//!
//! 1. [`tree`] reads files into text in which every byte has a span.
//! 2. [`quantity`] parses values into exact limits, and formats them for print.
//! 3. [`trade`] computes torques, thread strengths and other figures of the trade from quantities.
//! 4. `prose` parses CommonMark whose links can be actions.
//! 5. `shop` reads TOML into typed records, by means of `record`.
//! 6. `procedure` reads Markdown into sections, steps, actions and cautions. Fault tables have the same form.
//! 7. `job` expands a procedure for a machine: it resolves names, includes other procedures and numbers steps.
//! 8. `rehearsal` rehearses the job on the `model` of the machine.
//! 9. `rules` check the rehearsal. `schema` writes down what authors can write, for their editors.
//! 10. `sheet`, `site` and `manual` compose the content of pages from the types of `page`, with what `drawing` draws;
//!     `callout` places the numbers of figures. `render` makes HTML and PDF of them, `output` writes files, and
//!     `publish` runs all of these.
//! 11. `review` compares the findings with those of another state of the sources, and `fix` applies their edits.
//! 12. [`report`] prints [`finding`]s, `recheck` keeps a check up to date while sources are edited, `preview` serves
//!     their pages, `editor` is a language server, and [`cli`] is the command line.
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
//! let rules: Vec<&str> = checked.findings.iter().map(|finding| finding.rule.name).collect();
//! assert_eq!(rules, ["part-left-off"]);
//! ```

mod cache;
mod callout;
pub mod cli;
mod drawing;
mod due;
mod editor;
pub mod finding;
mod fix;
mod job;
mod manual;
mod model;
mod outline;
mod output;
mod page;
mod preview;
mod procedure;
mod prose;
mod publish;
pub mod quantity;
mod recheck;
mod record;
mod rehearsal;
mod render;
pub mod report;
mod review;
mod rules;
mod schema;
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

use finding::{Finding, Findings, FindingsByFile, Rule};
use job::Job;
use procedure::Procedure;
use rehearsal::Rehearsal;
use shop::Shop;
use std::collections::BTreeMap;
use trade::Day;
use tree::{Tree, World};

/// A shop's sources after reading, with the findings of reading them.
#[derive(Debug)]
pub struct Sources {
    /// The files. The spans of findings are offsets into their text.
    pub tree: Tree,
    pub(crate) shop: Shop,
    pub(crate) procedures: Vec<Procedure>,
    pub(crate) faults: Vec<Procedure>,
    findings: Findings,
    /// The findings of reading that are kept when a file is read again.
    kept: KeptFindings,
}

/// The findings of reading that do not depend on other files than those they are of.
#[derive(Debug, Default)]
struct KeptFindings {
    /// Of the TOML files.
    shop: FindingsByFile,
    /// Of the Markdown files.
    procedures: FindingsByFile,
    /// Of the figures, by their indices.
    figures: BTreeMap<usize, Finding>,
}

impl Sources {
    /// Puts the findings of reading together.
    fn collect_findings(&mut self) {
        let mut findings = self.tree.findings.clone();
        self.kept.shop.add_to(&mut findings);
        self.kept.procedures.add_to(&mut findings);
        procedure::report_duplicate_titles(&self.procedures, &mut findings);
        procedure::report_duplicate_titles(&self.faults, &mut findings);
        let written = self.procedures.iter().chain(&self.faults);
        procedure::report_broken_figures(&self.kept.figures, &written, &mut findings);
        procedure::report_missing_pictures(&self.tree, &self.shop, &mut findings);
        procedure::report_unused_figures(&self.tree, &self.shop, &written, &mut findings);
        self.findings = findings;
    }
}

/// The result of a check.
#[derive(Debug)]
pub struct Checked {
    /// The number of jobs: one for each procedure on each of its machines. Jobs that can't be made are not counted.
    pub rehearsed: usize,
    /// The findings of reading and checking, in order of file and position.
    pub findings: Findings,
}

#[derive(Debug)]
pub(crate) struct Rehearsed<'a> {
    pub(crate) job: Job<'a>,
    pub(crate) rehearsal: Rehearsal<'a>,
}

/// The result of a check, with the values that the caller computed from each job.
#[derive(Debug)]
pub(crate) struct CheckedJobs<'a, T> {
    /// In order of procedure and then machine.
    pub(crate) jobs: Vec<T>,
    pub(crate) rehearsed: usize,
    /// Each fault table on each of its machines. The rules about a machine's state do not apply to fault tables,
    /// because they are read at the bench and not executed from start to end.
    pub(crate) faults: Vec<Rehearsed<'a>>,
    pub(crate) findings: Findings,
}

/// Reads a shop's sources. Errors in them are findings, which [`check`] returns.
#[must_use]
pub fn read(world: &dyn World) -> Sources {
    let tree = tree::read(world);
    let mut kept = KeptFindings {
        figures: procedure::figure_faults(&tree),
        ..KeptFindings::default()
    };
    // TOML and Markdown are read independently of each other.
    let (shop, (procedures, faults)) = rayon::join(
        || shop::read(&tree, &mut kept.shop),
        || {
            let procedures = procedure::read(&tree, &mut kept.procedures);
            let faults = procedure::read_faults(&tree, &mut kept.procedures);
            (procedures, faults)
        },
    );
    let mut sources = Sources {
        tree,
        shop,
        procedures,
        faults,
        findings: Findings::new(),
        kept,
    };
    sources.collect_findings();
    sources
}

/// Makes all jobs, rehearses them and applies all rules.
#[must_use]
pub fn check(sources: &Sources) -> Checked {
    check_at(sources, None)
}

/// Checks like [`check`], and also reports what has expired on `day`, such as a tool's calibration.
#[must_use]
pub fn check_on(sources: &Sources, day: Day) -> Checked {
    check_at(sources, Some(day))
}

/// All rules, in order of their names.
///
/// ```
/// let rule = benchleaf::rules().into_iter().find(|rule| rule.name == "part-left-off").unwrap();
/// assert!(rule.page.contains("A part was removed and is still off when the job ends."));
/// ```
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

/// Checks like [`check`], and returns every job with its rehearsal.
#[cfg(test)]
pub(crate) fn check_all(sources: &Sources) -> CheckedJobs<'_, Rehearsed<'_>> {
    check_jobs(sources, None, Some)
}

/// Checks like [`check_on`], and passes each job to `take` after its check. A job that `take` does not return is
/// dropped at once, so that memory does not grow with the number of jobs. Jobs for which `take` returns `None` are
/// counted but not in the result.
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
        kept: _,
    } = sources;
    let mut findings = findings.clone();
    let mut shop_findings = Findings::new();
    rayon::join(
        || rules::judge_text(tree, shop, procedures, faults, &mut findings),
        || rules::judge_shop(shop, on, &mut shop_findings),
    );
    findings.extend(shop_findings);
    let prefixes = rules::prefix_cache();
    let judge = |job: Job<'s>| {
        let mut findings = Findings::new();
        let (rehearsal, waived) = prefixes.rehearse(&job, &mut findings);
        (take(Rehearsed { job, rehearsal }), findings, waived)
    };
    let made = job::make_each(tree, shop, procedures, faults, &mut findings, judge);
    let fault_tables: Vec<Rehearsed<'_>> = made
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
    for (result, job_findings, job_waived) in made.jobs {
        jobs.extend(result);
        findings.extend(job_findings);
        waived.extend(job_waived);
    }
    conclude(sources, &waived, &mut findings);
    rules::add_edits(tree, shop, procedures, faults, &mut findings);
    CheckedJobs {
        jobs,
        rehearsed,
        faults: fault_tables,
        findings,
    }
}

/// Turns what was found into the findings of a check: with the waivers that waive nothing, at the shop's levels, and one
/// of each cause.
fn conclude(sources: &Sources, waived: &rules::Waived, findings: &mut Findings) {
    rules::unused_waivers(&sources.procedures, waived, findings);
    rules::unused_waivers(&sources.faults, waived, findings);
    rules::set_levels(&sources.shop, findings);
    rules::drop_taken_over(&sources.shop, findings);
    rules::keep_one_of_each_cause(findings);
}
