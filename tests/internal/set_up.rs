//! The set-up box of a job, and the front matter that is printed there.

use super::case::{Case, assert_clean};
use super::support::{files, root};
use super::{plain, support};
use crate::page::{Block, Edition, OutputContext, Sheet, SheetKind};
use crate::rehearsal;
use crate::sheet::{self, SetUpKind, Writer};
use crate::tree::Memory;
use std::collections::BTreeSet;

const MACHINE: &str = r#"
[valve.tap]
name = "tap"
found = "closed"
[control.lever]
name = "lever"
positions = ["slow", "fast"]
found = "fast"
[fluid.oil]
name = "oil"
supply = "grease"
[part.lid]
name = "lid"
"#;

/// The lines of the set-up box of a job: label and text.
fn lines(case: &Case, id: &str, from: Option<&str>) -> Vec<(String, String)> {
    let sources = crate::read(&Memory::new(case.world.clone()));
    let checked = crate::check_all(&sources);
    let job = |id: &str| {
        let mut jobs = checked.jobs.iter();
        jobs.find(|rehearsed| rehearsed.job.procedure.id == id)
            .unwrap()
    };
    let rehearsed = job(id);
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    let writer = Writer::of_job(&rehearsed.job, &rehearsed.rehearsal, &[], &output);
    let start = match from {
        Some(other) => rehearsal::states(&job(other).job).pop().unwrap(),
        None => rehearsal::State::initial(rehearsed.job.shop, rehearsed.job.machine),
    };
    let set_up = writer.set_up(&start);
    let lines = set_up.lines.iter();
    lines
        .map(|(_, line)| (line.label.clone(), plain(&line.runs, " ")))
        .collect()
}

fn line(lines: &[(String, String)], label: &str) -> Option<String> {
    let mut lines = lines.iter();
    let (_, text) = lines.find(|(known, _)| known == label)?;
    Some(text.clone())
}

#[test]
fn the_box_says_how_the_machine_is_found_and_what_else_has_to_be_so() {
    let front =
        "people = 2\nat-start = [\"the pump stands on level ground.\", \"the hose is off\"]\n";
    let case = Case::on(MACHINE).with("look", front, &["inspect:lid"]);
    let found = lines(&case, "look", None);
    assert_eq!(
        line(&found, "Machine at the start").unwrap(),
        "Tap closed; lever fast; oil filled; the pump stands on level ground; the hose is off"
    );
    assert_eq!(line(&found, "People").unwrap(), "2");
    assert_eq!(line(&found, "Special tools"), None);
}

/// An installation begins with the machine as its removal left it.
#[test]
fn the_box_can_begin_with_what_another_job_left_behind() {
    let case = Case::on(MACHINE)
        .with(
            "strip",
            "",
            &["open:tap", "set:lever/slow", "drain:oil", "remove:lid"],
        )
        .with("look", "", &["inspect:lid"]);
    let found = lines(&case, "look", Some("strip"));
    assert_eq!(
        line(&found, "Machine at the start").unwrap(),
        "Removed: lid; tap open; lever slow; oil drained"
    );
}

#[test]
fn follow_on_work_and_references_lead_to_pages() {
    let mut case = Case::on(MACHINE)
        .with(
            "look",
            "follow-on = [\"clean\", \"clean\"]\n",
            &["inspect:lid"],
        )
        .with("clean", "follow-on = [\"look\"]\n", &["clean:lid"]);
    case.add(
        "case/look.md",
        "2. Then [](see:procedure/clean).\n3. As in [](see:procedure/clean).\n",
    );
    assert_clean(&case);
    let found = lines(&case, "look", None);
    assert_eq!(line(&found, "Follow-on work").unwrap(), "clean");
    assert_eq!(line(&found, "References").unwrap(), "clean; Machine data");
}

#[test]
fn follow_on_work_that_can_not_follow_is_found() {
    let ways = [
        ("follow-on = [\"other\"]", None),
        ("follow-on = [\"job\"]", Some("job job")),
        (
            "finish = [\"other\"]\nfollow-on = [\"other\"]",
            Some("job other"),
        ),
        (
            "begin = [\"middle\"]\nfollow-on = [\"other\"]",
            Some("job other"),
        ),
        ("follow-on = [\"cover\"]", Some("job cover")),
    ];
    for (front, wanted) in ways {
        let case = Case::on(MACHINE)
            .with("other", "", &["inspect:lid"])
            .with("middle", "begin = [\"other\"]\n", &["inspect:lid"])
            .with("job", &format!("{front}\n"), &["inspect:lid"]);
        let findings = case.findings();
        let found: Vec<&str> = findings
            .iter()
            .filter(|(rule, ..)| rule == "impossible-follow-on")
            .map(|(_, place, _)| place.as_str())
            .collect();
        assert_eq!(
            found,
            wanted.into_iter().collect::<Vec<_>>(),
            "{front}: {findings:?}"
        );
    }
}

/// Every name in the front matter of the demonstration that is misspelled, or that names the procedure itself, is found.
#[test]
fn mutants_of_the_names_in_front_matter_are_found() {
    let demo: Vec<(String, Vec<u8>)> = files(&root().join("procedures")).into_iter().collect();
    let mut count = 0;
    for (index, (path, bytes)) in demo.iter().enumerate() {
        let text = std::str::from_utf8(bytes).unwrap_or_default();
        let Some(line) = text.lines().find(|line| line.starts_with("follow-on = [")) else {
            continue;
        };
        let id = path.rsplit_once('/').unwrap().1.trim_end_matches(".md");
        for name in [id, "make-safe", "nosuch"] {
            let mut world = demo.clone();
            let mutated = text.replace(line, &format!("follow-on = [\"{name}\"]"));
            world[index].1 = mutated.into_bytes();
            let sources = crate::read(&Memory::new(world));
            let findings = crate::check(&sources).findings;
            let rules: Vec<&str> = findings.iter().map(|finding| finding.rule.name).collect();
            let wanted = if name == "nosuch" {
                "unknown-thing"
            } else {
                "impossible-follow-on"
            };
            assert_eq!(rules, [wanted], "{path}: {name}");
            count += 1;
        }
    }
    assert!(count > 0, "the demonstration has follow-on work");
}

/// All blocks of a sheet, also those in sections.
fn set_ups(sheet: &Sheet) -> usize {
    let is_set_up = |block: &Block| matches!(block, Block::SetUp { .. });
    let in_section = |block: &Block| match block {
        Block::Section(section) => section
            .blocks
            .iter()
            .filter(|block| is_set_up(block))
            .count(),
        block => usize::from(is_set_up(block)),
    };
    sheet.blocks.iter().map(in_section).sum()
}

/// Tools, parts and supplies of a job are in the box of its shop sheet, each once, and in no other list there.
#[test]
fn nothing_that_a_job_needs_is_lost_or_printed_twice() {
    let sources =
        crate::read(&crate::tree::Disk::open(&support::root().join("procedures")).unwrap());
    let checked = crate::check_all(&sources);
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    let mut special = 0;
    for rehearsed in &checked.jobs {
        let (job, rehearsal) = (&rehearsed.job, &rehearsed.rehearsal);
        let document = sheet::JobDocument::new(job, rehearsal, &output);
        let shown = |wanted: &[SetUpKind]| -> Vec<String> {
            let lines = document.set_up.lines.iter();
            let lines = lines.filter(|(kind, _)| wanted.contains(kind));
            let texts = lines.flat_map(|(_, line)| {
                let text = plain(&line.runs, " ");
                text.split("; ").map(str::to_owned).collect::<Vec<_>>()
            });
            texts.collect()
        };
        let tools = shown(&[SetUpKind::SpecialTools, SetUpKind::Tools]);
        let lines = document.kit().tool_lines();
        assert_eq!(tools.len(), lines.len(), "{tools:?}");
        for (tool, line) in tools.iter().zip(&lines) {
            assert!(tool.starts_with(&line.name), "{tool}: {}", line.name);
        }
        special += lines.iter().filter(|line| line.special).count();
        let first_plain = lines.iter().position(|line| !line.special);
        let last_special = lines.iter().rposition(|line| line.special);
        assert!(
            last_special < first_plain || first_plain.is_none(),
            "special tools come first"
        );
        let kit = shown(&[SetUpKind::Kit]);
        assert_eq!(kit.len(), document.kit().items().len(), "{kit:?}");
        for kind in [SheetKind::ShopSheet, SheetKind::BenchChecklist] {
            let sheet = document.sheet(kind).unwrap();
            // A checklist has what is out of the ordinary before its first step.
            let is_list = kind == SheetKind::BenchChecklist;
            assert!(is_list || set_ups(&sheet) == 1);
            let data = serde_json::to_string(&sheet).unwrap();
            for section in ["\"id\":\"tools\"", "\"id\":\"kit\"", "\"id\":\"cures\""] {
                assert!(!data.contains(section), "{section}");
            }
        }
    }
    assert!(special > 0, "the demonstration has special tools");
}
