//! The demonstration shop: it has no findings, and the text of each PDF, as `pdftotext` reads it, has every
//! step, value and safety message of the sheet, in order.

use super::support::{root, typst};
use super::{Quiet, plain};
use crate::output::OutputSettings;
use crate::page::{
    Blank, Block, Cell, Edition, JobId, OutputContext, PageId, Sheet, SheetKind, SheetStep,
    StepMessage,
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

/// The texts that the PDF must have above a step. A reminder is omitted on a page that has its message.
fn parts_above(step: &SheetStep) -> Vec<&str> {
    let mut parts = Vec::new();
    for StepMessage { message, again } in &step.before {
        if !again {
            parts.extend([message.hazard.as_str(), &message.consequence]);
            parts.extend(message.avoid.iter().map(String::as_str));
        }
    }
    parts
}

/// The texts that the PDF must have in a step, besides its instruction.
fn parts(step: &SheetStep) -> Vec<String> {
    let content = &step.content;
    let mut parts: Vec<String> = content.notes.iter().map(|note| plain(note, " ")).collect();
    let instruction = plain(&content.text, " ").to_lowercase();
    for detail in &content.details {
        // A part that the instruction names is not named again.
        let (name, rest) = detail.label.split_once(", ").unwrap_or((&detail.label, ""));
        let is_named = content.details.len() == 1 && instruction.contains(&name.to_lowercase());
        parts.push(if is_named { rest } else { &detail.label }.to_owned());
        if let Some(value) = &detail.value {
            parts.push(value.first.clone());
            parts.extend(value.second.clone());
        }
        parts.extend(detail.more.iter().cloned());
    }
    for blank in &content.blanks {
        let label = match blank {
            Blank::Choice { label, options, .. } => {
                parts.extend(options.iter().cloned());
                label
            }
            Blank::Reading {
                label,
                limits,
                boxes,
                over,
                under,
                ..
            } => {
                parts.push(limits.first.clone());
                parts.extend(limits.second.clone());
                parts.extend(boxes.iter().cloned());
                parts.extend([over, under].into_iter().flatten().cloned());
                label
            }
            Blank::Level {
                label,
                options,
                over,
                under,
                ..
            } => {
                parts.extend(options.iter().cloned());
                parts.extend([over, under].into_iter().flatten().cloned());
                label
            }
            Blank::Words { label, .. } => label,
            Blank::Wait { label, .. } => {
                parts.push(label.clone());
                continue;
            }
            Blank::Bag { .. } => continue,
        };
        // The only entry of a step is named by the step.
        if content.blanks.len() > 1 {
            parts.push(label.clone());
        }
    }
    parts.extend(content.holds.iter().cloned());
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
            // A place is the item of an inspection.
            Cell::Name { text, .. } | Cell::Place { text, .. } => text,
            Cell::Value { value } => &value.first,
            _ => continue,
        };
        assert!(
            text.contains(&joined(wanted)),
            "`{wanted}` is not in {path}"
        );
    }
}

/// Whether a block is the table of an inspection.
fn is_inspection(block: &Block) -> bool {
    let Block::Table(table) = block else {
        return false;
    };
    let mut cells = table.rows.iter().flatten();
    cells.any(|cell| matches!(cell, Cell::Place { .. }))
}

/// A text without the numbers of parts in figures. On paper they are left out together with the figure.
pub(super) fn without_callouts(text: &str) -> String {
    let mut kept = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find('(') {
        kept.push_str(&rest[..at]);
        rest = &rest[at..];
        let end = rest.find(')').unwrap_or(rest.len());
        let is_number = end > 1 && rest[1..end].bytes().all(|byte| byte.is_ascii_digit());
        if is_number {
            // The space before it goes as well.
            kept.truncate(kept.trim_end_matches('\u{a0}').len());
            rest = &rest[end + 1..];
        } else {
            kept.push('(');
            rest = &rest[1..];
        }
    }
    kept + rest
}

/// Asserts that the PDF has all steps in order, each with its parts, and its messages above it.
fn assert_has_steps((sheet, path): (&Sheet, &str), text: &str) {
    let mut collected = Vec::new();
    steps(&sheet.blocks, "", &mut collected);
    if matches!(sheet.kind, SheetKind::KitList | SheetKind::FaultTable) {
        return assert_has_rows((sheet, path), text);
    }
    let inspections = sheet.blocks.iter().filter(|block| match block {
        Block::Section(section) => section.blocks.iter().any(is_inspection),
        _ => false,
    });
    if inspections.count() > 0 {
        assert_has_rows((sheet, path), text);
    } else {
        assert!(!collected.is_empty(), "{path} has steps");
    }
    let text = &without_callouts(text);
    // Where each step begins and its instruction ends.
    let mut places = Vec::new();
    let mut at = 0;
    for (_, step) in &collected {
        let instruction = plain(&step.content.text, " ");
        // What the step depends on is between its number and its text.
        let wanted = match &step.content.only_if {
            Some(only_if) => [only_if.text.as_str(), &instruction].to_vec(),
            None => vec![instruction.as_str()],
        };
        let mut begins = None;
        for (index, said) in wanted.into_iter().enumerate() {
            let number = if index == 0 {
                step.number.to_string()
            } else {
                String::new()
            };
            let wanted = without_callouts(&squeezed(&format!("{number} {said}")));
            let Some(next) = text[at..].find(&wanted) else {
                panic!("`{wanted}` is not in {path}, or not in this order");
            };
            begins.get_or_insert(at + next);
            at += next + wanted.len();
        }
        places.push((begins.unwrap_or(at), at));
    }
    let mut title = "";
    let mut above = 0;
    for (index, (section, step)) in collected.iter().enumerate() {
        let (begins, ends) = places[index];
        let next = places
            .get(index + 1)
            .map_or(text.len(), |(begins, _)| *begins);
        let has = |within: &str, part: &str| {
            let part = without_callouts(&squeezed(part));
            assert!(
                within.contains(part.trim_end_matches('.')),
                "`{part}` of step {} is not in {path}: {within}",
                step.number
            );
        };
        if *section != title {
            has(&text[above..begins], section);
            title = section;
        }
        for part in parts_above(step) {
            has(&text[above..begins], part);
        }
        for part in parts(step) {
            has(&text[ends..next], &part);
        }
        above = ends;
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
        settings: OutputSettings::TEMPORARY,
        world: None,
        progress: &Quiet,
    };
    let summaries = crate::check_jobs(&sources, None, summarizer(&sources, outlet.look));
    let published = publish(&sources, &summaries, &Selection::default(), outlet).unwrap();
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
        .collect();
    // Each machine has four sheets (data, parts, intervals, safety messages); the shop has one.
    let machine_sheets = 4 * sources.shop.machines.len() + 1;
    assert_eq!(published.sheets, made.len() + machine_sheets);
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
