//! Reads Markdown sources as procedures.

use super::front::{read_fault_front, read_procedure_front};
use super::inlines::take_figures;
use super::loops::{check_loops, drop_outcomes};
use super::names::{Directory, resolve_text};
use super::quote::{Quote, read_quote};
use super::step::read_step;
use super::stray::{check_plain_list, report_stray_actions, report_unread};
use super::{Item, Procedure, Section, Step, rules};
use crate::finding::{FileId, Finding, Findings, FindingsByFile, Located, Span};
use crate::prose::{self, Heading, ProseBlock, Verb};
use crate::record::{check_device, check_file_id};
use crate::tree::{OVER_LIMIT, Source, SourceKind, Tree};
use foldhash::fast::FixedState;
use indexmap::IndexMap;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Reads all Markdown sources of a tree, in order of their paths.
pub(crate) fn read(tree: &Tree, by_file: &mut FindingsByFile) -> Vec<Procedure> {
    let directory = Directory::new(tree);
    let mut procedures: Vec<Procedure> = Vec::with_capacity(tree.files.len());
    let mut by_id: IndexMap<&str, usize, FixedState> = IndexMap::default();
    let results: Vec<Option<(&Source, &String, Procedure, Findings)>> = tree
        .files
        .par_iter()
        .map(|file| {
            let SourceKind::Procedure { system, id } = &file.kind else {
                return None;
            };
            let mut findings = Findings::new();
            let procedure = read_file(file, system, id, &PROCEDURE, &directory, &mut findings);
            Some((file, id, procedure, findings))
        })
        .collect();
    for (file, id, procedure, mut findings) in results.into_iter().flatten() {
        let first = by_id.get(id.as_str());
        if let Some(first) = first.and_then(|index| procedures.get(*index)) {
            let message = format!(
                "`{id}` is the id of two procedures, `{}` and `{}`",
                first.path, file.path
            );
            findings.push(
                Finding::new(&rules::DUPLICATE_ID, message)
                    .primary(procedure.title.span, "this procedure is ignored")
                    .secondary(first.title.span, "the other procedure")
                    .help("give one of the files another name"),
            );
            by_file.set(file.id, findings);
            continue;
        }
        by_file.set(file.id, findings);
        by_id.insert(id, procedures.len());
        procedures.push(procedure);
    }
    procedures
}

/// Reads a procedure or a fault table again, after its text has changed. Returns the findings of reading it. `None` if the
/// file is of another kind.
pub(crate) fn read_again(tree: &Tree, file: FileId) -> Option<(Procedure, Findings)> {
    let directory = Directory::new(tree);
    let file = tree.file(file);
    let (system, id, format) = match &file.kind {
        SourceKind::Procedure { system, id } => (system.as_str(), id, &PROCEDURE),
        SourceKind::Fault { id } => (FAULTS, id, &FAULT_TABLE),
        _ => return None,
    };
    let mut findings = Findings::new();
    let procedure = read_file(file, system, id, format, &directory, &mut findings);
    Some((procedure, findings))
}

/// The folder of fault tables.
const FAULTS: &str = "faults";

/// Reads all fault tables of a tree, in order of their paths.
pub(crate) fn read_faults(tree: &Tree, by_file: &mut FindingsByFile) -> Vec<Procedure> {
    let directory = Directory::new(tree);
    let mut faults = Vec::new();
    for file in &tree.files {
        if let SourceKind::Fault { id } = &file.kind {
            let mut findings = Findings::new();
            faults.push(read_file(
                file,
                FAULTS,
                id,
                &FAULT_TABLE,
                &directory,
                &mut findings,
            ));
            by_file.set(file.id, findings);
        }
    }
    faults
}

/// The differences between the formats of procedures and fault tables.
struct Format {
    name: &'static str,
    /// The word for items of its numbered lists in findings.
    items: &'static str,
    /// Whether its front matter has the fields about executing the job, such as `minutes` and `begin`.
    is_executed: bool,
}

const PROCEDURE: Format = Format {
    name: "procedure",
    items: "steps",
    is_executed: true,
};
const FAULT_TABLE: Format = Format {
    name: "fault table",
    items: "causes",
    is_executed: false,
};

fn read_file(
    file: &Source,
    system: &str,
    id: &str,
    format: &Format,
    directory: &Directory<'_>,
    findings: &mut Findings,
) -> Procedure {
    check_file_id(id, file.span(0..0), findings);
    check_device(system, file.span(0..0), findings);
    let mut procedure = Procedure {
        id: id.to_owned(),
        system: system.to_owned(),
        file: file.id,
        path: file.path.clone(),
        title: Located {
            value: id.to_owned(),
            span: file.span(0..0),
        },
        machines: Vec::new(),
        minutes: None,
        people: None,
        at_start: Vec::new(),
        interval: None,
        begin: Vec::new(),
        finish: Vec::new(),
        follow_on: Vec::new(),
        revision: 1,
        revised: None,
        reverses: None,
        left_undone: Vec::new(),
        body: file.span(0..0),
        why: Vec::new(),
        sections: Vec::new(),
        references: BTreeMap::new(),
        figures: BTreeMap::new(),
        is_complete: false,
        has_all_parts: true,
    };
    let Some((front, body)) = split(&file.text) else {
        let has_opening = file
            .text
            .lines()
            .next()
            .is_some_and(|line| line.trim_end() == "+++");
        let (what, label) = if has_opening {
            (
                "has front matter without an end",
                "expected another `+++` below",
            )
        } else {
            ("does not begin with front matter", "expected `+++` here")
        };
        findings.push(
            Finding::new(
                &rules::NO_FRONT_MATTER,
                format!("`{}` {what}", file.path),
            )
            .primary(file.span(0..first_line_len(&file.text)), label)
            .help(
                "begin the file with TOML between two `+++` lines: at least `title` and `machines`",
            ),
        );
        return procedure;
    };
    let what = format!("{} `{id}`", format.name);
    let read_front = if format.is_executed {
        read_procedure_front
    } else {
        read_fault_front
    };
    let toml = &file.text[front.clone()];
    procedure.is_complete = read_front(
        &mut procedure,
        toml,
        file.span(front),
        &what,
        directory,
        findings,
    );
    let span = file.span(body.clone());
    procedure.body = span;
    let blocks = prose::read(&file.text[body], span, findings);
    read_body(&mut procedure, format, blocks, directory, findings);
    check_loops(&mut procedure, findings);
    resolve_text(&mut procedure, directory, findings);
    if procedure.is_complete {
        report_empty(&procedure, format, findings);
    }
    procedure
}

/// Reports a procedure or a section without content, which would print as an empty page or not at all.
fn report_empty(procedure: &Procedure, format: &Format, findings: &mut Findings) {
    if procedure.sections.is_empty() {
        let message = format!("{} `{}` has no {}", format.name, procedure.id, format.items);
        findings.push(
            Finding::new(&rules::NO_STEPS, message)
                .primary(procedure.title.span, "")
                .help("write a `##` heading and a numbered list below it"),
        );
    }
    for section in &procedure.sections {
        if section.items.is_empty() && !section.reverse {
            let message = format!("section `{}` is empty", section.title);
            findings.push(
                Finding::new(&rules::NO_STEPS, message)
                    .primary(section.span, "")
                    .help(if format.is_executed {
                        "write its steps, mark it `{.reverse}` if it is the reassembly, or remove the heading".to_owned()
                    } else {
                        format!("write its {}, or remove the heading", format.items)
                    }),
            );
        }
    }
}

/// The ranges of the front matter and the body. `None` if the file has no complete front matter.
fn split(text: &str) -> Option<(std::ops::Range<usize>, std::ops::Range<usize>)> {
    let mut lines = text.split_inclusive('\n');
    let first = lines.next().filter(|line| line.trim_end() == "+++")?;
    let mut offset = first.len();
    for line in lines {
        if line.trim_end() == "+++" {
            return Some((first.len()..offset, offset + line.len()..text.len()));
        }
        offset += line.len();
    }
    None
}

fn first_line_len(text: &str) -> usize {
    text.lines().next().map_or(0, str::len)
}

/// The most steps of a procedure, and causes of a fault table. A long job has about a hundred.
const MAX_STEPS: usize = 500;

fn read_body(
    procedure: &mut Procedure,
    format: &Format,
    blocks: Vec<ProseBlock>,
    directory: &Directory<'_>,
    findings: &mut Findings,
) {
    // Cautions and notes that wait for the step below them.
    let mut waiting = Quote::default();
    let mut count = 0;
    for block in blocks {
        // A note above anything but a step belongs to the section.
        let is_steps = matches!(&block, ProseBlock::List(list) if list.numbered);
        if !is_steps && !matches!(block, ProseBlock::Quote(..)) {
            place_notes(&mut waiting, procedure);
        }
        match block {
            ProseBlock::Heading(heading) => {
                report_cautions_without_step(&mut waiting, findings);
                if let Some(section) = read_heading(&heading, findings) {
                    procedure.sections.push(section);
                }
            }
            ProseBlock::Quote(blocks, span) => {
                let quote = read_quote(blocks, span, findings);
                waiting.cautions.extend(quote.cautions);
                waiting.notes.extend(quote.notes);
            }
            ProseBlock::List(list) if list.numbered => {
                let Some(section) = procedure.sections.last_mut() else {
                    place_notes(&mut waiting, procedure);
                    if let Some(item) = list.items.first() {
                        findings.push(
                            Finding::new(
                                &rules::STEP_OUTSIDE_SECTION,
                                "a step comes before the first `##` heading",
                            )
                            .primary(item.span, "")
                            .help("write a heading above it: `## Take off`"),
                        );
                    }
                    continue;
                };
                section.items.reserve_exact(list.items.len());
                for item in list.items {
                    count += 1;
                    if count > MAX_STEPS {
                        procedure.is_complete = false;
                        if count == MAX_STEPS + 1 {
                            findings.push(too_many(format, item.span));
                        }
                        continue;
                    }
                    let mut step = read_step(item, directory, findings);
                    if !format.is_executed {
                        drop_outcomes(&mut step, findings);
                    }
                    step.cautions.splice(0..0, waiting.cautions.drain(..));
                    step.above.splice(0..0, waiting.notes.drain(..));
                    procedure.has_all_parts &= resolve_done(&mut step, directory, findings);
                    section.items.push(Item::Step(step));
                }
            }
            ProseBlock::Paragraph(mut inlines, span) => {
                let figures = take_figures(&mut inlines);
                report_stray_actions(&inlines, findings);
                let is_empty = prose::plain(&inlines).trim().is_empty()
                    && prose::actions(&inlines).next().is_none();
                let text = (!is_empty).then_some(ProseBlock::Paragraph(inlines, span));
                if let Some(section) = procedure.sections.last_mut() {
                    section.items.extend(text.map(Item::Text));
                    section.items.extend(figures.into_iter().map(Item::Figure));
                } else {
                    procedure.why.extend(text);
                    for figure in figures {
                        report_unread("a figure before the first heading", figure.span, findings);
                    }
                }
            }
            ProseBlock::List(list) => {
                check_plain_list(&list, findings);
                push_text(procedure, ProseBlock::List(list));
            }
            // Quotes become notes only here.
            ProseBlock::Note(_) => push_text(procedure, block),
        }
    }
    place_notes(&mut waiting, procedure);
    report_cautions_without_step(&mut waiting, findings);
}

/// Appends text that belongs to no step: to the last section, or before the first one.
fn push_text(procedure: &mut Procedure, block: ProseBlock) {
    match procedure.sections.last_mut() {
        Some(section) => section.items.push(Item::Text(block)),
        None => procedure.why.push(block),
    }
}

/// Appends the notes that have no step directly below them as text.
fn place_notes(waiting: &mut Quote, procedure: &mut Procedure) {
    for note in waiting.notes.drain(..) {
        push_text(procedure, ProseBlock::Note(note));
    }
}

fn too_many(format: &Format, step: Span) -> Finding {
    let (name, items) = (format.name, format.items);
    let message = format!("the {name} has more than {MAX_STEPS} {items}");
    Finding::new(&OVER_LIMIT, message)
        .primary(step, "not read from here on")
        .help(if format.is_executed {
            "split it into several procedures, and name them in `begin`, `finish` or `do`"
        } else {
            "split it into several fault tables"
        })
}

const REVERSE: &str = ".reverse";
const INSPECTION: &str = ".inspection";

/// The marks of a section.
const MARKS: [&str; 2] = [REVERSE, INSPECTION];

fn read_heading(heading: &Heading, findings: &mut Findings) -> Option<Section> {
    if heading.level != 2 {
        let finding = Finding::new(
            &rules::WRONG_HEADING_LEVEL,
            "a section heading must begin with `##`",
        )
        .primary(heading.span, "");
        findings.push(if heading.level == 1 {
            finding.help("write the title as `title` in the front matter; sections begin with `##`")
        } else {
            finding
                .help("write it with `##`: sections can't be nested")
                .edit(heading.span.part(0..usize::from(heading.level)), "##")
        });
        if heading.level == 1 {
            return None;
        }
    }
    let text = prose::plain(&heading.text);
    let classes = heading.classes.iter().map(|class| format!(".{class}"));
    let mut marks: Vec<String> = classes.chain(heading.others.iter().cloned()).collect();
    if let Some((_, rest)) = text.split_once('{') {
        marks.push(format!("{{{rest}"));
    }
    for mark in marks.iter().filter(|mark| !MARKS.contains(&mark.as_str())) {
        let message = format!("`{mark}` is not a mark of a section");
        findings.push(
            Finding::new(&rules::UNKNOWN_MARK, message)
                .primary(heading.span, "")
                .suggest(
                    crate::finding::nearest(mark, MARKS),
                    "the marks of a section are `{.reverse}` and `{.inspection}`; other marks go at the end of a step",
                ),
        );
    }
    // A misspelt mark has been reported. Without what it stands for, its consequences would be reported, too.
    let is_marked = |known: &str| {
        marks.iter().any(|mark| {
            mark == known
                || crate::finding::nearest(mark, MARKS).is_some_and(|near| near.name == known)
        })
    };
    let (reverse, inspection) = (is_marked(REVERSE), is_marked(INSPECTION));
    if reverse && inspection {
        findings.push(
            Finding::new(
                &rules::UNKNOWN_MARK,
                "a section can't be both an inspection and the reassembly",
            )
            .primary(heading.span, "")
            .help("keep one of the marks `{.reverse}` and `{.inspection}`, and make two sections"),
        );
    }
    report_stray_actions(&heading.text, findings);
    if !take_figures(&mut heading.text.clone()).is_empty() {
        report_unread("a figure in a heading", heading.span, findings);
    }
    Some(Section {
        title: text,
        reverse,
        inspection: inspection && !reverse,
        items: Vec::new(),
        span: heading.span,
    })
}

/// Resolves the procedures that a step includes by `do`, and returns whether all of them exist.
fn resolve_done(step: &mut Step, directory: &Directory<'_>, findings: &mut Findings) -> bool {
    let mut all_exist = true;
    let mut done = Vec::new();
    for action in step.actions().filter(|action| action.verb == Verb::Do) {
        let procedure = directory.procedure(&action.thing, findings);
        all_exist &= procedure.is_some();
        done.extend(procedure);
    }
    step.done = done;
    all_exist
}

fn report_cautions_without_step(waiting: &mut Quote, findings: &mut Findings) {
    for caution in waiting.cautions.drain(..) {
        let message = format!("caution `{}` has no step below it", caution.thing.value);
        findings.push(
            Finding::new(&rules::CAUTION_WITHOUT_STEP, message)
                .primary(caution.span, "")
                .help("move it above the step it belongs to"),
        );
    }
}
