//! Correct procedures stay quiet: the shops in `tests/correct`, written as careful mechanics would write them, give no
//! finding above advice. Their machines are of other kinds than those of the demonstration.
//!
//! A false alarm costs more than a missed fault, because people stop reading findings. A test that only wants silence
//! would also pass if the rules looked at nothing, so each procedure is broken too, by dropping one of its steps.
//!
//! `cargo test --test correct -- --nocapture` prints the counts and the advice.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]
#![allow(clippy::print_stdout, reason = "a test prints its figures")]

mod support;

use benchleaf::finding::{Finding, Level};
use benchleaf::tree::Memory;
use benchleaf::{Checked, Sources};
use std::collections::{BTreeMap, BTreeSet};
use support::{files, root};

/// The shops. Each is a folder in `tests/correct`.
const SHOPS: [&str; 5] = [
    "fennmoor-ring",
    "hollin-park",
    "quarry-lane",
    "skerry-estate",
    "vega-alta",
];

/// What the corpus has at least.
const WANTED_PROCEDURES: usize = 60;
const WANTED_MACHINES: usize = 12;

/// Procedures whose lock-out follows the order of 29 CFR 1910.147(d), from memory: (1) preparation for shutdown, (2)
/// shutdown, (3) isolation, (4) application of locks and tags, (5) release of stored energy, (6) verification.
const LOCKOUTS: [(&str, &str); 5] = [
    ("quarry-lane", "lockout/engine-lockout.md"),
    ("quarry-lane", "lockout/compressor-lockout.md"),
    ("quarry-lane", "hydraulics/trencher-lockout.md"),
    ("fennmoor-ring", "electric/elevator-lockout.md"),
    ("fennmoor-ring", "splitter/hydraulic-oil.md"),
];

/// Procedures that do nothing but measure or look at something that may be live. Without one of their steps they are
/// shorter, and not wrong.
const ONLY_LOOK: [&str; 4] = [
    "chassis/battery-check.md",
    "electric/mains-voltage.md",
    "electrical/voltage-check.md",
    "season/look-over.md",
];

/// The texts of a shop's files.
type Shop = BTreeMap<String, Vec<u8>>;

fn shop(name: &str) -> Shop {
    files(&root().join("tests/correct").join(name))
        .into_iter()
        .collect()
}

fn check(shop: &Shop) -> (Sources, Checked) {
    let sources = benchleaf::read(&Memory::new(shop.clone()));
    let checked = benchleaf::check(&sources);
    (sources, checked)
}

/// The procedures of a shop: paths of Markdown files that are not fault tables.
fn procedures(shop: &Shop) -> Vec<&str> {
    let paths = shop.keys().map(String::as_str);
    paths
        .filter(|path| {
            path.rsplit_once('.')
                .is_some_and(|(_, ending)| ending == "md")
        })
        .filter(|path| !path.starts_with("faults/"))
        .collect()
}

/// Findings above advice.
fn alarms(checked: &Checked) -> Vec<&Finding> {
    let findings = checked.findings.iter();
    findings
        .filter(|finding| finding.level != Level::Advice)
        .collect()
}

/// A finding on one line, with its place.
fn line(sources: &Sources, finding: &Finding) -> String {
    let place = finding.primary.as_ref().map(|mark| {
        let file = sources.tree.file(mark.span.file);
        let (line, _) = file.place(mark.span.start());
        format!("{}:{line}", file.path)
    });
    let place = place.unwrap_or_default();
    format!("{place} {}: {}", finding.rule.name, finding.message)
}

#[test]
fn correct_procedures_give_no_finding_above_advice() {
    let (mut all_procedures, mut all_machines, mut all_jobs) = (0, BTreeSet::new(), 0);
    let mut failures = Vec::new();
    for name in SHOPS {
        let shop = shop(name);
        let (sources, checked) = check(&shop);
        let machines = shop.keys().filter(|path| path.starts_with("machines/"));
        let machines: Vec<String> = machines.map(|path| format!("{name}/{path}")).collect();
        let alarms = alarms(&checked);
        let advice = checked.findings.iter().count() - alarms.len();
        println!(
            "{name}: {} machines, {} procedures, {} jobs, {advice} pieces of advice",
            machines.len(),
            procedures(&shop).len(),
            checked.rehearsed,
        );
        for finding in &checked.findings {
            println!("  {}", line(&sources, finding));
        }
        failures.extend(
            alarms
                .iter()
                .map(|finding| format!("{name}/{}", line(&sources, finding))),
        );
        assert!(checked.rehearsed >= procedures(&shop).len(), "{name}");
        all_procedures += procedures(&shop).len();
        all_jobs += checked.rehearsed;
        all_machines.extend(machines);
    }
    println!(
        "{} machines, {all_procedures} procedures, {all_jobs} jobs",
        all_machines.len()
    );
    assert!(failures.is_empty(), "{}", failures.join("\n"));
    assert!(all_procedures >= WANTED_PROCEDURES);
    assert!(all_machines.len() >= WANTED_MACHINES);
}

#[test]
fn lockouts_follow_the_order_of_29_cfr_1910_147() {
    for (name, path) in LOCKOUTS {
        let shop = shop(name);
        let text = std::str::from_utf8(&shop[path]).unwrap();
        let at = |what: &str| {
            let found = text.find(what);
            found.unwrap_or_else(|| panic!("{path} has no `{what}`"))
        };
        // The supply or the ignition is isolated and locked, then the rest is released, and only then is the first
        // of them tried.
        let source = ["ignition", "supply", "mains"]
            .into_iter()
            .find(|source| text.contains(&format!("isolate:{source}")))
            .unwrap();
        let isolated = at(&format!("isolate:{source}"));
        let locked = at("use:padlock");
        let tagged = text
            .find("use:lockout-tag")
            .or_else(|| text.find("use:tag"))
            .unwrap();
        let released = text.match_indices("isolate:").nth(1).unwrap().0;
        let verified = at(&format!("prove:{source}"));
        assert!(
            isolated < locked && locked < tagged && tagged < released && released < verified,
            "{path}"
        );
    }
}

/// The steps of a Markdown file: for each, the range of its lines with everything that belongs to it.
fn steps(text: &str) -> Vec<std::ops::Range<usize>> {
    let lines: Vec<&str> = text.lines().collect();
    let is_step = |line: &str| {
        let number = line.find(". ").map(|end| &line[..end]);
        number.is_some_and(|number| {
            !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit())
        })
    };
    let starts = (0..lines.len()).filter(|at| is_step(lines[*at]));
    starts
        .map(|start| {
            let rest = lines[start + 1..].iter();
            start..start + 1 + rest.take_while(|line| line.starts_with("   ")).count()
        })
        .collect()
}

fn without_lines(text: &str, dropped: &std::ops::Range<usize>) -> String {
    let lines = text.lines().enumerate();
    lines
        .filter(|(at, _)| !dropped.contains(at))
        .flat_map(|(_, line)| [line, "\n"])
        .collect()
}

#[test]
fn every_procedure_is_found_faulty_without_one_of_its_steps() {
    let mut unseen = Vec::new();
    let (mut dropped, mut found) = (0, 0);
    for name in SHOPS {
        let shop = shop(name);
        let mut broken = shop.clone();
        for path in procedures(&shop) {
            let text = std::str::from_utf8(&shop[path]).unwrap();
            // What ends a job is dropped first: it is most often what somebody forgets.
            let is_seen = steps(text).iter().rev().any(|step| {
                broken.insert(path.to_owned(), without_lines(text, step).into_bytes());
                let is_found = !alarms(&check(&broken).1).is_empty();
                dropped += 1;
                found += usize::from(is_found);
                is_found
            });
            broken.insert(path.to_owned(), shop[path].clone());
            if !is_seen {
                unseen.push(path.to_owned());
            }
        }
    }
    println!("{dropped} steps dropped one at a time, {found} procedures found faulty");
    unseen.sort();
    assert_eq!(unseen, ONLY_LOOK);
}

/// One step that was dropped on purpose in each shop, and more: the rule that finds it.
const DROPPED: [(&str, &str, &str, &str); 15] = [
    (
        "hollin-park",
        "cutting/chain-tension.md",
        "](tighten:bar-nut)",
        "not-ready-to-run",
    ),
    (
        "hollin-park",
        "chassis/battery.md",
        "](prove:battery)",
        "energy-not-proved",
    ),
    (
        "hollin-park",
        "engine/oil-change.md",
        "](drain:oil)",
        "plug-refitted-before-draining",
    ),
    (
        "hollin-park",
        "engine/throttle-cable.md",
        "](note:throttle-cable)",
        "position-not-noted",
    ),
    (
        "hollin-park",
        "cutting/chipper-knives.md",
        "](hold:foreman)",
        "missing-signature",
    ),
    (
        "quarry-lane",
        "hydraulics/motor-hose.md",
        "](inspect:tank-cap)",
        "refitted-uninspected",
    ),
    (
        "quarry-lane",
        "pumps/compressor-belt.md",
        "](measure:belt-deflection)",
        "not-measured-before-adjusting",
    ),
    (
        "quarry-lane",
        "lockout/engine-lockout.md",
        "](prove:ignition)",
        "ignition-still-live",
    ),
    (
        "fennmoor-ring",
        "splitter/ram-hose.md",
        "](isolate:ram-pressure)",
        "energy-not-isolated",
    ),
    (
        "fennmoor-ring",
        "splitter/ram-hose.md",
        "](inspect:ram-hose)",
        "no-leak-check",
    ),
    (
        "fennmoor-ring",
        "electric/batteries.md",
        "](remove:negative-lead)",
        "first-off-still-on",
    ),
    (
        "skerry-estate",
        "engine/head-gasket.md",
        "](remove:head-gasket)",
        "old-part-not-removed",
    ),
    (
        "skerry-estate",
        "engine/head-gasket.md",
        "](measure:cylinder/out-of-round)",
        "exposed-part-not-inspected",
    ),
    (
        "skerry-estate",
        "engine/idle.md",
        "](restore:wheel-motion)",
        "not-ready-to-run",
    ),
    (
        "vega-alta",
        "motor/cambio-de-aceite.md",
        "](remove:junta-del-tapon)",
        "old-part-not-removed",
    ),
];

#[test]
fn a_dropped_step_is_found_by_its_rule() {
    for (name, path, action, rule) in DROPPED {
        let mut shop = shop(name);
        let text = std::str::from_utf8(&shop[path]).unwrap();
        let dropped = text.lines().position(|line| line.contains(action));
        let dropped = dropped.unwrap_or_else(|| panic!("{path} has no `{action}`"));
        let step = steps(text)
            .into_iter()
            .find(|step| step.contains(&dropped))
            .unwrap();
        let text = without_lines(text, &step);
        shop.insert(path.to_owned(), text.into_bytes());
        let (sources, checked) = check(&shop);
        let alarms = alarms(&checked);
        assert!(
            alarms.iter().any(|finding| finding.rule.name == rule),
            "{path} without {action}: {:#?}",
            alarms
                .iter()
                .map(|finding| line(&sources, finding))
                .collect::<Vec<_>>()
        );
    }
}
