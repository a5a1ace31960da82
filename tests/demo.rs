//! The demonstration shop: it checks clean, all its leaves are made in both
//! media, and every step, value and safety message of every job is read back
//! from its PDF, in order.

#![allow(clippy::unwrap_used, reason = "a test that can't set up has failed")]

mod support;

use benchleaf::page::{
    Blank, Block, Cell, Edition, JobId, OutputContext, PageId, Sheet, SheetKind, SheetStep, TextRun,
};
use benchleaf::render::Paths;
use benchleaf::sheet;
use benchleaf::tree::Disk;
use rayon::prelude::*;
use std::collections::BTreeSet;
use std::path::Path;
use std::process::Command;
use support::{benchleaf, files, root, told, typst};

/// Text without white space, which line ends and columns change.
fn squeezed(text: &str) -> String {
    text.chars()
        .filter(|letter| !letter.is_whitespace())
        .collect()
}

fn ending(path: &str) -> &str {
    path.rsplit_once('.').map_or("", |(_, ending)| ending)
}

fn pdf_text(path: &Path) -> String {
    let output = Command::new("pdftotext")
        .args(["-raw", "-enc", "UTF-8"])
        .arg(path)
        .arg("-")
        .output()
        .expect("pdftotext is there: `cargo xtask test` sees to it");
    assert!(output.status.success(), "{}", path.display());
    squeezed(&String::from_utf8(output.stdout).unwrap())
}

fn plain(runs: &[TextRun]) -> String {
    runs.iter()
        .map(|run| match run {
            TextRun::Text { text } | TextRun::Code { text } => text.clone(),
            TextRun::Strong { runs } | TextRun::Emphasis { runs } => plain(runs),
            TextRun::Link { runs, name, .. } => {
                let name = name.as_ref().map(|name| format!(" ({name})"));
                plain(runs) + &name.unwrap_or_default()
            }
            TextRun::PageNumber { .. } => String::new(),
            TextRun::Break => " ".to_owned(),
        })
        .collect()
}

/// The steps of a leaf, in order, each with its section's title.
fn steps<'l>(blocks: &'l [Block], title: &'l str, found: &mut Vec<(&'l str, &'l SheetStep)>) {
    for block in blocks {
        match block {
            Block::Section(section) => steps(&section.blocks, &section.title, found),
            Block::Steps { steps } => found.extend(steps.iter().map(|step| (title, step))),
            _ => {}
        }
    }
}

/// What has to be read of a step, in order.
fn parts(step: &SheetStep, kind: SheetKind) -> Vec<String> {
    let mut parts = Vec::new();
    for message in &step.before {
        parts.push(message.hazard.clone());
        if kind == SheetKind::ShopSheet {
            parts.push(message.consequence.clone());
        }
        parts.extend(message.avoid.iter().cloned());
    }
    parts.push(format!("{} {}", step.number, plain(&step.content.text)));
    parts.extend(step.content.notes.iter().map(|note| plain(note)));
    for detail in &step.content.details {
        parts.push(detail.label.clone());
        if let Some(value) = &detail.value {
            parts.push(value.first.clone());
            parts.extend(value.second.clone());
        }
        parts.extend(detail.more.iter().cloned());
    }
    for blank in &step.content.blanks {
        match blank {
            Blank::Choice { label, options } => {
                parts.push(label.clone());
                parts.extend(options.iter().cloned());
            }
            Blank::Reading {
                label,
                limits,
                boxes,
                ..
            } => {
                parts.push(label.clone());
                parts.push(limits.first.clone());
                parts.extend(limits.second.clone());
                parts.extend(boxes.iter().cloned());
            }
            Blank::Words { label } => parts.push(label.clone()),
            // It stands beside the step or below it, as there is room: see `read_back`.
            Blank::State { .. } => {}
            Blank::Bag { label, count } => parts.extend([label.clone(), count.clone()]),
        }
    }
    parts.extend(step.content.holds.iter().cloned());
    parts
}

/// Finds the name of every row of every table, and every value; hyphens at line ends left aside.
fn names_are_read_back((leaf, path): (&Sheet, &str), text: &str) {
    let joined = |text: &str| squeezed(text).replace(['-', '\u{ad}'], "");
    let text = joined(text);
    let sections = leaf.blocks.iter().filter_map(|block| match block {
        Block::Section(section) => Some(&section.blocks),
        _ => None,
    });
    let rows = sections.flatten().filter_map(|block| match block {
        Block::Table(table) => Some(&table.rows),
        _ => None,
    });
    for cell in rows.flatten().flatten() {
        let wanted = match cell {
            Cell::Name { text, .. } => text,
            Cell::Value { value } => &value.first,
            _ => continue,
        };
        assert!(
            text.contains(&joined(wanted)),
            "`{wanted}` is not in {path}"
        );
    }
}

/// Finds every part of every step after the one before it.
fn read_back((leaf, path): (&Sheet, &str), text: &str) {
    let mut found = Vec::new();
    steps(&leaf.blocks, "", &mut found);
    if matches!(leaf.kind, SheetKind::KitList | SheetKind::FaultTable) {
        return names_are_read_back((leaf, path), text);
    }
    assert!(!found.is_empty(), "{path} has steps");
    let mut at = 0;
    let mut title = "";
    for (section, step) in found {
        let mut wanted = Vec::new();
        if section != title {
            wanted.push(section.to_owned());
            title = section;
        }
        wanted.extend(parts(step, leaf.kind));
        let begin = at;
        for part in wanted {
            let part = squeezed(&part);
            // A checklist runs what stays clear of a hazard into sentences.
            let part = part.trim_end_matches('.');
            let Some(next) = text[at..].find(part) else {
                panic!(
                    "`{part}` of step {} is not in {path} in its place",
                    step.number
                );
            };
            at += next + part.len();
        }
        for blank in &step.content.blanks {
            if let Blank::State { state, .. } = blank {
                let state = squeezed(state);
                let number = step.number;
                assert!(
                    text[begin..].contains(&state),
                    "`{state}` of step {number} is not in {path}"
                );
            }
        }
    }
}

#[test]
fn it_is_clean_and_every_step_is_read_back_from_its_pdf() {
    let folder = tempfile::tempdir().unwrap();
    let output = benchleaf(&root())
        .args(["publish", "procedures", "--deny", "advice", "--output"])
        .arg(folder.path())
        .env("BENCHLEAF_TYPST", typst())
        .output()
        .unwrap();
    let (said, findings, status) = told(&output);
    assert_eq!((findings.as_str(), status), ("", 0));

    let sources = benchleaf::read(&Disk::open(&root().join("procedures")).unwrap());
    let checked = benchleaf::check(&sources);
    assert!(checked.findings.is_empty());
    assert!(sources.shop.machines.len() >= 4 && sources.procedures.len() >= 10);
    let all = checked
        .jobs
        .iter()
        .flat_map(|one| SheetKind::OF_JOB.map(|kind| (one, kind)));
    let tables = checked.faults.iter();
    let all = all.chain(tables.map(|one| (one, SheetKind::FaultTable)));
    let made: BTreeSet<PageId> = all
        .clone()
        .map(|(one, kind)| {
            let job = JobId::new(&one.job.machine.id, &one.job.procedure.id);
            PageId::JobSheet(kind, job)
        })
        .chain(
            sources
                .procedures
                .iter()
                .map(|one| PageId::Procedure(one.id.clone())),
        )
        .collect();
    assert!(
        said.starts_with(&format!(
            "{} leaves of {} jobs",
            // Of each machine its data, its intervals and its safety messages; of the shop one.
            made.len() - sources.procedures.len() + 3 * sources.shop.machines.len() + 1,
            checked.jobs.len()
        )),
        "{said}"
    );
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, made);
    let paths = Paths::new(&output, None);
    let all: Vec<_> = all.collect();
    all.into_par_iter().for_each(|(one, kind)| {
        let leaf = sheet::make(kind, &one.job, &one.rehearsal, &output).unwrap();
        let path = paths.path(&leaf.page);
        let text = pdf_text(&folder.path().join(format!("{path}.pdf")));
        read_back((&leaf, &path), &text);
        let note = squeezed(leaf.head.data_note.as_deref().unwrap());
        let pages = text.matches(&note).count();
        let numbered = (1..=pages).all(|page| text.contains(&format!("Page{page}of{pages}")));
        assert!(
            pages > 0 && numbered,
            "{path}: each page is marked as invented and numbered"
        );
        assert!(text.contains(&squeezed(&format!("mark {}", leaf.head.mark))));
    });
    every_page_stands_alone(folder.path());
}

/// No page asks a network for anything, and every link between pages leads to one.
fn every_page_stands_alone(output: &Path) {
    let all = files(output);
    let paths: BTreeSet<&str> = all.iter().map(|(path, _)| path.as_str()).collect();
    let mut links = 0;
    for (path, bytes) in &all {
        if ending(path) != "html" {
            continue;
        }
        let page = std::str::from_utf8(bytes).unwrap();
        assert!(page.contains("Invented data for demonstration"), "{path}");
        let folder = path.rsplit_once('/').map_or("", |(folder, _)| folder);
        for attribute in ["href=\"", "src=\""] {
            for rest in page.split(attribute).skip(1) {
                let (address, _) = rest.split_once('"').unwrap();
                assert!(!address.contains("//"), "{path} asks for {address}");
                links += 1;
                let (file, fragment) = address.split_once('#').unwrap_or((address, ""));
                let target = match (file, file.strip_prefix("../")) {
                    ("", _) => path.clone(),
                    (_, Some(up)) => up.to_owned(),
                    (file, None) if folder.is_empty() => file.to_owned(),
                    (file, None) => format!("{folder}/{file}"),
                };
                assert!(paths.contains(target.as_str()), "{path} links to {target}");
                if !fragment.is_empty() {
                    let (_, bytes) = all.iter().find(|(other, _)| *other == target).unwrap();
                    let there = std::str::from_utf8(bytes).unwrap();
                    assert!(
                        there.contains(&format!("id=\"{fragment}\"")),
                        "{path} links to {address}"
                    );
                }
            }
        }
    }
    assert!(links > 500, "links were looked at: {links}");
}

#[test]
fn its_pdfs_are_well_formed() {
    let folder = tempfile::tempdir().unwrap();
    let output = benchleaf(&root())
        .args([
            "print",
            "procedures",
            "--procedure",
            "governor-linkage",
            "--output",
        ])
        .arg(folder.path())
        .env("BENCHLEAF_TYPST", typst())
        .output()
        .unwrap();
    assert_eq!(told(&output).2, 0);
    let pdfs: Vec<_> = files(folder.path())
        .into_iter()
        .filter(|(path, _)| ending(path) == "pdf")
        .collect();
    assert!(pdfs.len() >= 4);
    for (path, _) in pdfs {
        let output = Command::new("qpdf")
            .arg("--check")
            .arg(folder.path().join(&path))
            .output()
            .expect("qpdf is there: `cargo xtask test` sees to it");
        let (said, fault, status) = told(&output);
        assert_eq!(status, 0, "{path}: {said}{fault}");
    }
}

#[test]
fn a_broken_figure_costs_one_pdf_and_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let sources = folder.path().join("procedures");
    support::copy(&support::tree("hand-pump"), &sources);
    support::write(
        &sources.join("figures/cover.png"),
        b"\x89PNG\r\n\x1a\nThis is no drawing.",
    );
    let path = sources.join("air/cover.md");
    let text = std::fs::read_to_string(&path).unwrap();
    support::write(
        &path,
        format!("{text}2. Look. ![the cover](../figures/cover.png)\n"),
    );
    let output = benchleaf(folder.path())
        .arg("publish")
        .env("BENCHLEAF_TYPST", typst())
        .output()
        .unwrap();
    let (said, found, status) = told(&output);
    assert!(
        found.contains("`hand-pump/cover-shop-sheet.pdf` can't be set"),
        "{found}"
    );
    assert!(found.contains("typesetting-failed"), "{found}");
    assert_eq!(status, 1);
    assert!(said.contains("6 leaves of 1 job"), "{said}");
    assert!(
        folder
            .path()
            .join("output/hand-pump/cover-shop-sheet.html")
            .exists()
    );
    assert!(
        folder
            .path()
            .join("output/hand-pump/cover-bench-checklist.pdf")
            .exists()
    );
}
