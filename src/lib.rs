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
//! let found: Vec<&str> = checked.findings.iter().map(|one| one.rule.name).collect();
//! assert_eq!(found, ["part-left-off"]);
//! ```

pub mod cache;
pub mod cli;
pub mod finding;
pub mod job;
pub mod manual;
pub mod model;
pub mod output;
pub mod page;
pub mod preview;
pub mod procedure;
pub mod prose;
pub mod publish;
pub mod quantity;
pub mod record;
pub mod rehearsal;
pub mod render;
pub mod report;
pub mod rules;
pub mod sheet;
pub mod shop;
pub mod site;
pub mod trade;
pub mod tree;
mod verbs;
pub mod words;

use finding::Findings;
use job::Job;
use procedure::Procedure;
use rehearsal::Rehearsal;
use shop::Shop;
use trade::Day;
use tree::{Tree, World};

/// Everything that was read, and what was wrong with it.
#[derive(Debug)]
pub struct Sources {
    /// The files.
    pub tree: Tree,
    /// The shop.
    pub shop: Shop,
    /// The procedures.
    pub procedures: Vec<Procedure>,
    /// The fault tables.
    pub faults: Vec<Procedure>,
    findings: Findings,
}

/// A job and its rehearsal.
#[derive(Debug)]
pub struct Rehearsed<'a> {
    /// The job.
    pub job: Job<'a>,
    /// How it went.
    pub rehearsal: Rehearsal<'a>,
}

/// Every job, rehearsed and judged, or what was kept of each.
#[derive(Debug)]
pub struct Checked<'a, T = Rehearsed<'a>> {
    /// What was kept of the jobs, in order of procedure and then machine.
    pub jobs: Vec<T>,
    /// How many were rehearsed.
    pub rehearsed: usize,
    /// The fault tables, each on each of its machines; they are read, so nothing judged how they go.
    pub faults: Vec<Rehearsed<'a>>,
    /// All that was found, from reading on, in order of place.
    pub findings: Findings,
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
pub fn check(sources: &Sources) -> Checked<'_> {
    check_on(sources, None)
}

/// As [`check`], and says what is out of date on a day.
#[must_use]
pub fn check_on(sources: &Sources, on: Option<Day>) -> Checked<'_> {
    check_taking(sources, on, Some)
}

/// As [`check_on`], keeping of each job only what `take` makes of it: all are judged, and then
/// forgotten one by one, so that a large shop needs no room for them.
#[must_use]
pub fn check_taking<'s, T: Send>(
    sources: &'s Sources,
    on: Option<Day>,
    take: impl Fn(Rehearsed<'s>) -> Option<T> + Sync,
) -> Checked<'s, T> {
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
    let prefixes = rules::PrefixCache::default();
    let judge = |job: Job<'s>| {
        let mut findings = Findings::new();
        let (rehearsal, waived) = prefixes.rehearse(&job, &mut findings);
        (take(Rehearsed { job, rehearsal }), findings, waived)
    };
    let made = job::each(tree, shop, procedures, faults, &mut findings, judge);
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
    Checked {
        jobs,
        rehearsed,
        faults: tables,
        findings,
    }
}
