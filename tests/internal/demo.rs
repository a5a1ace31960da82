//! The demonstration shop: it has no findings, and the text of each PDF, as `pdftotext` reads it, has every
//! step, value and safety message of the sheet, in order.

use super::support::{root, typst};
use super::{Quiet, plain};
use crate::page::{
    Blank, Block, Cell, Edition, JobId, OutputContext, PageId, Sheet, SheetKind, SheetStep,
};
use crate::publish::{Outlet, Pdfs, Selection, publish, summarizer};
use crate::render::Paths;
use crate::render::{Look, Typst};
use crate::sheet;
use crate::tree::Disk;
use rayon::prelude::*;
use std::collections::BTreeSet;
use std::path::Path;
use std::process::Command;

/// Text without white space, because line breaks and columns change it.
fn squeezed(text: &str) -> String {
    text.chars()
        .filter(|letter| !letter.is_whitespace())
        .collect()
}

fn pdf_text(path: &Path) -> String {
    let output = Command::new("pdftotext")
        .args(["-raw", "-enc", "UTF-8"])
        .arg(path)
        .arg("-")
        .output()
        .expect("pdftotext is installed: see `cargo xtask test`");
    assert!(output.status.success(), "{}", path.display());
    squeezed(&String::from_utf8(output.stdout).unwrap())
}

/// The steps of a sheet, in order, each with its section's title.
fn steps<'l>(blocks: &'l [Block], title: &'l str, collected: &mut Vec<(&'l str, &'l SheetStep)>) {
    for block in blocks {
        match block {
            Block::Section(section) => steps(&section.blocks, &section.title, collected),
            Block::Steps { steps } => collected.extend(steps.iter().map(|step| (title, step))),
            _ => {}
        }
    }
}

/// The texts of a step that the PDF must contain, in order.
fn parts(step: &SheetStep, kind: SheetKind) -> Vec<String> {
    let mut parts = Vec::new();
    for message in &step.before {
        parts.push(message.hazard.clone());
        if kind == SheetKind::ShopSheet {
            parts.push(message.consequence.clone());
        }
        parts.extend(message.avoid.iter().cloned());
    }
    parts.push(format!(
        "{} {}",
        step.number,
        plain(&step.content.text, " ")
    ));
    parts.extend(step.content.notes.iter().map(|note| plain(note, " ")));
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
            Blank::Choice { label, options, .. } => {
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
            Blank::Words { label, .. } => parts.push(label.clone()),
            // Depending on the space, it is beside the step or below it: see `assert_has_steps`.
            Blank::State { .. } => {}
            Blank::Bag { label, count } => parts.extend([label.clone(), count.clone()]),
        }
    }
    parts.extend(step.content.holds.iter().cloned());
    parts
}

/// Asserts that the PDF has the name of every table row and every value. Hyphens are ignored: line breaks add some.
fn assert_has_rows((sheet, path): (&Sheet, &str), text: &str) {
    let joined = |text: &str| squeezed(text).replace(['-', '\u{ad}'], "");
    let text = joined(text);
    let sections = sheet.blocks.iter().filter_map(|block| match block {
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

/// Asserts that the PDF has the parts of all steps in order.
fn assert_has_steps((sheet, path): (&Sheet, &str), text: &str) {
    let mut collected = Vec::new();
    steps(&sheet.blocks, "", &mut collected);
    if matches!(sheet.kind, SheetKind::KitList | SheetKind::FaultTable) {
        return assert_has_rows((sheet, path), text);
    }
    assert!(!collected.is_empty(), "{path} has steps");
    let mut at = 0;
    let mut title = "";
    for (section, step) in collected {
        let mut wanted = Vec::new();
        if section != title {
            wanted.push(section.to_owned());
            title = section;
        }
        wanted.extend(parts(step, sheet.kind));
        let begin = at;
        for part in wanted {
            let part = squeezed(&part);
            // A checklist joins the texts on how to avoid a hazard to sentences.
            let part = part.trim_end_matches('.');
            let Some(next) = text[at..].find(part) else {
                panic!(
                    "`{part}` of step {} is not in {path}, or not in this order",
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
fn the_demonstration_has_no_findings_and_its_pdfs_have_every_step() {
    let folder = tempfile::tempdir().unwrap();
    let sources = crate::read(&Disk::open(&root().join("procedures")).unwrap());
    let checked = crate::check_all(&sources);
    assert!(checked.findings.is_empty());
    let outlet = Outlet {
        look: &Look::default(),
        pdfs: &Pdfs::With(Typst::find(Some(&typst()), None, &root()).unwrap()),
        folder: folder.path(),
        progress: &Quiet,
    };
    let summaries = crate::check_jobs(&sources, None, summarizer(&sources, outlet.look));
    let published = publish(&sources, &summaries, &Selection::default(), outlet).unwrap();
    assert!(published.findings.is_empty());
    assert!(sources.shop.machines.len() >= 4 && sources.procedures.len() >= 10);
    let sheets = checked
        .jobs
        .iter()
        .flat_map(|rehearsed| SheetKind::OF_JOB.map(|kind| (rehearsed, kind)));
    let tables = checked.faults.iter();
    let sheets = sheets.chain(tables.map(|rehearsed| (rehearsed, SheetKind::FaultTable)));
    let made: BTreeSet<PageId> = sheets
        .clone()
        .map(|(rehearsed, kind)| {
            let job = JobId::new(&rehearsed.job.machine.id, &rehearsed.job.procedure.id);
            PageId::JobSheet(kind, job)
        })
        .chain(
            sources
                .procedures
                .iter()
                .map(|procedure| PageId::Procedure(procedure.id.clone())),
        )
        .collect();
    // Each machine has three sheets (data, intervals, safety messages); the shop has one.
    let machine_sheets = 3 * sources.shop.machines.len() + 1;
    assert_eq!(
        published.sheets,
        made.len() - sources.procedures.len() + machine_sheets
    );
    assert_eq!(published.jobs, checked.jobs.len());
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, made);
    let paths = Paths::new(&output, None);
    let sheets: Vec<_> = sheets.collect();
    sheets.into_par_iter().for_each(|(rehearsed, kind)| {
        let sheet =
            sheet::sheet_of_kind(kind, &rehearsed.job, &rehearsed.rehearsal, &output).unwrap();
        let path = paths.path(&sheet.page);
        let text = pdf_text(&folder.path().join(format!("{path}.pdf")));
        assert_has_steps((&sheet, &path), &text);
        let note = squeezed(sheet.head.data_note.as_deref().unwrap());
        let pages = text.matches(&note).count();
        let numbered = (1..=pages).all(|page| text.contains(&format!("Page{page}of{pages}")));
        assert!(
            pages > 0 && numbered,
            "{path}: a page has no note on invented data or no number"
        );
        assert!(text.contains(&squeezed(&format!("mark {}", sheet.head.mark))));
    });
}
