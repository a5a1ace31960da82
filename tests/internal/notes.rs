//! Notes: where each page prints them, and what moves and changes with them.

use super::case::{Case, assert_clean};
use super::plain;
use crate::manual::{ManualContent, ManualPiece};
use crate::page::{Block, Cell, Edition, OutputContext, PageId, SheetKind, SheetStep};
use crate::sheet::{self, SearchPiece};
use crate::tree::Memory;
use crate::words::marks::is_mark;
use crate::{CheckedJobs, Rehearsed, Sources};
use std::collections::BTreeSet;

const MACHINE: &str = "
[part.lid]
name = \"lid\"
[part.seal]
name = \"seal\"
behind = [\"lid\"]
[part.felt]
name = \"felt\"
behind = [\"seal\"]
";

const JOB: &str = "+++
title = \"Felt\"
machines = [\"case\"]
+++
The felt keeps dust out.

> Note: The felt of older pumps is white.

## Take off

> Note: The lid may stay on its chain, see [](see:step/remove/seal).

1. [](remove:lid)
2. [](remove:seal)

   > Note: The seal is black.
   >
   > It may be brown.
3. [](remove:felt)

> Note: The felt is not washed.

It is dry when it is light.

## Put back {.reverse}

1. [](fit:lid)

> Note: The lip of the seal points down.

2. Turn the seal lip down and [](fit:seal).
";

const FAULT: &str = "+++
title = \"Dust\"
machines = [\"case\"]
+++
Dust comes out.

> Note: It also comes out after the felt was renewed.

## At the lid

> Note: The lid is the upper one.

1. The lid is open.
   - [Look at it](inspect:lid).
   - It is shut.
   - Shut it.

   > Note: It shuts with a click.

> Note: Both lids are alike.
";

fn case() -> Case {
    let mut case = Case::on(MACHINE);
    case.add("case/job.md", JOB);
    case.add("faults/dust.md", FAULT);
    case
}

fn edition(language: &str) -> Edition {
    let words = crate::words::Words::of(language).unwrap();
    Edition {
        language: language.to_owned(),
        words: words.for_author("en-GB"),
    }
}

/// Calls `look` with a case's sources and jobs, and pages in a language.
fn with_pages<T>(
    case: &Case,
    language: &str,
    look: impl FnOnce(&Sources, &CheckedJobs<'_, Rehearsed<'_>>, &OutputContext) -> T,
) -> T {
    let sources = crate::read(&Memory::new(case.world.clone()));
    let checked = crate::check_all(&sources);
    let output = OutputContext::new(&sources.tree, &edition(language), BTreeSet::new());
    look(&sources, &checked, &output)
}

fn find<'c, 'a>(checked: &'c CheckedJobs<'a, Rehearsed<'a>>, id: &str) -> &'c Rehearsed<'a> {
    let mut all = checked.jobs.iter().chain(&checked.faults);
    let found = all.find(|rehearsed| rehearsed.job.procedure.id == id);
    found.expect("the procedure has a job")
}

/// A line without the marks of the page's language, and with plain spaces.
fn as_typed(line: &str) -> String {
    line.replace(is_mark, "").replace('\u{a0}', " ")
}

/// What a sheet's blocks say, one line for each piece: `step`, `above` a step, `note` or `text`.
fn lines(blocks: &[Block], said: &mut Vec<String>) {
    for block in blocks {
        match block {
            Block::Section(section) => lines(&section.blocks, said),
            Block::Text { runs } => said.push(format!("text {}", plain(runs, " / "))),
            Block::Note { runs } => said.push(format!("note {}", plain(runs, " / "))),
            Block::Steps { steps } => steps.iter().for_each(|step| step_lines(step, said)),
            Block::Table(table) => {
                for cell in table.rows.iter().flatten() {
                    if let Cell::Text { runs } = cell
                        && plain(runs, "").contains("Note:")
                    {
                        said.push(format!("cell {}", plain(runs, " / ")));
                    }
                }
            }
            _ => {}
        }
    }
}

fn step_lines(step: &SheetStep, said: &mut Vec<String>) {
    let above = step.content.above.iter();
    said.extend(above.map(|note| format!("above {}", plain(note, " / "))));
    said.push(format!("step {}", plain(&step.content.text, " / ")));
}

fn sheet_lines(case: &Case, language: &str, kind: SheetKind, id: &str) -> Vec<String> {
    with_pages(case, language, |_, checked, output| {
        let rehearsed = find(checked, id);
        let sheet = sheet::sheet_of_kind(kind, &rehearsed.job, &rehearsed.rehearsal, output);
        let mut said = Vec::new();
        lines(&sheet.unwrap().blocks, &mut said);
        said.iter().map(|line| as_typed(line)).collect()
    })
}

#[test]
fn notes_are_no_fault() {
    assert_clean(&case());
}

#[test]
fn a_shop_sheet_has_notes_above_their_steps() {
    let said = sheet_lines(&case(), "en-GB", SheetKind::ShopSheet, "job");
    assert_eq!(
        said,
        [
            "text The felt keeps dust out.",
            "note Note: The felt of older pumps is white.",
            "above Note: The lid may stay on its chain, see step 2.",
            "step Remove the lid.",
            "above Note: The seal is black. / It may be brown.",
            "step Remove the seal.",
            "step Remove the felt.",
            "note Note: The felt is not washed.",
            "text It is dry when it is light.",
            // The seal goes back before the lid, with its note.
            "step Fit the felt.",
            "above Note: The lip of the seal points down.",
            "step Turn the seal lip down and fit the seal.",
            "step Fit the lid.",
        ]
    );
}

#[test]
fn a_checklist_has_the_notes_of_steps_in_the_language_of_the_page() {
    let said = sheet_lines(&case(), "es", SheetKind::BenchChecklist, "job");
    let above: Vec<&String> = said
        .iter()
        .filter(|line| !line.starts_with("step"))
        .collect();
    assert_eq!(
        above,
        [
            "above Nota: The lid may stay on its chain, see paso 2.",
            "above Nota: The seal is black. / It may be brown.",
            "above Nota: The lip of the seal points down.",
        ]
    );
}

#[test]
fn a_fault_table_has_notes_beside_their_causes() {
    let said = sheet_lines(&case(), "en-GB", SheetKind::FaultTable, "dust");
    assert_eq!(
        said,
        [
            "text Dust comes out.",
            "note Note: It also comes out after the felt was renewed.",
            "note Note: Both lids are alike.",
            "cell Note: The lid is the upper one. / Note: It shuts with a click. / Look at it.",
        ]
    );
}

#[test]
fn a_note_is_part_of_what_a_step_says() {
    let key = |text: &str| {
        let mut case = Case::on(MACHINE);
        case.add("case/job.md", text);
        with_pages(&case, "en-GB", |_, checked, output| {
            let rehearsed = find(checked, "job");
            let kind = SheetKind::BenchChecklist;
            let sheet = sheet::sheet_of_kind(kind, &rehearsed.job, &rehearsed.rehearsal, output);
            let mut keys = Vec::new();
            for block in sheet.unwrap().blocks {
                if let Block::Section(section) = block {
                    for block in section.blocks {
                        if let Block::Steps { steps } = block {
                            keys.extend(steps.into_iter().filter_map(|step| step.key));
                        }
                    }
                }
            }
            keys
        })
    };
    let with_note = key(JOB);
    let other = key(&JOB.replace("may stay on its chain", "may stay on its hinge"));
    let paragraph = key(&JOB.replace(
        "\n   > Note: The seal is black.\n   >\n   > It may be brown.\n",
        "\n   Note: The seal is black.\n\n   It may be brown.\n",
    ));
    let changed = |keys: &[crate::page::StepKey]| -> Vec<usize> {
        let pairs = with_note.iter().zip(keys).enumerate();
        let changed = pairs.filter(|(_, (before, after))| before.id != after.id);
        changed.map(|(index, _)| index).collect()
    };
    assert_eq!(changed(&with_note), [0_usize; 0]);
    assert_eq!(changed(&other), [0], "only the id of its step changes");
    assert_eq!(changed(&paragraph), [1], "a paragraph is not a note");
    assert_eq!(with_note[0].like, other[0].like);
}

#[test]
fn a_search_finds_notes() {
    let texts = with_pages(&case(), "en-GB", |_, checked, output| {
        let (job, fault) = (find(checked, "job"), find(checked, "dust"));
        let job = SearchPiece::of_job(&job.job, &job.rehearsal, output);
        let fault = SearchPiece::of_fault(&fault.job, &fault.rehearsal, output);
        let steps = job
            .steps
            .into_iter()
            .map(|(number, text)| format!("{number} {text}"));
        let texts: Vec<String> = job
            .texts
            .into_iter()
            .chain(steps)
            .chain(fault.texts)
            .collect();
        texts.join("\n")
    });
    for (text, place) in [
        ("The felt of older pumps is white.", ""),
        ("The lid may stay on its chain", "1 "),
        ("The seal is black. It may be brown.", "2 "),
        ("The felt is not washed.", ""),
        ("The lip of the seal points down.", "5 "),
        ("It also comes out after the felt was renewed.", ""),
        ("The lid is the upper one.", ""),
        ("It shuts with a click.", ""),
        ("Both lids are alike.", ""),
    ] {
        let line = texts.lines().find(|line| line.contains(text));
        let line = line.unwrap_or_else(|| panic!("no search finds `{text}` in {texts}"));
        assert!(line.starts_with(place), "`{text}` is found in `{line}`");
    }
}

#[test]
fn a_manual_has_notes() {
    let said = with_pages(&case(), "en-GB", |sources, checked, output| {
        let pairs = |all| -> Vec<_> {
            let all: &[Rehearsed<'_>] = all;
            all.iter()
                .map(|rehearsed| (&rehearsed.job, &rehearsed.rehearsal))
                .collect()
        };
        let content = ManualContent {
            machines: sources.shop.machines.values().collect(),
            jobs: pairs(&checked.jobs),
            faults: pairs(&checked.faults),
            systems: Vec::new(),
            rules_appendix: false,
            page: PageId::whole_manual(),
        };
        let manual = crate::manual::manual(&sources.tree, &sources.shop, &content, output);
        let mut said = Vec::new();
        for piece in manual.chapters.iter().flat_map(|chapter| &chapter.pieces) {
            if let ManualPiece::Blocks { blocks, .. } = piece {
                lines(blocks, &mut said);
            }
        }
        said.retain(|line| line.contains("Note:"));
        said.iter().map(|line| as_typed(line)).collect::<Vec<_>>()
    });
    let notes = [
        "note Note: The felt of older pumps is white.",
        "above Note: The lid may stay on its chain, see step 2.",
        "above Note: The seal is black. / It may be brown.",
        "note Note: The felt is not washed.",
        "above Note: The lip of the seal points down.",
        "note Note: It also comes out after the felt was renewed.",
        "note Note: Both lids are alike.",
        "cell Note: The lid is the upper one. / Note: It shuts with a click. / Look at it.",
    ];
    for note in notes {
        assert_eq!(
            said.iter().filter(|line| *line == note).count(),
            1,
            "{note}: {said:#?}"
        );
    }
    assert_eq!(said.len(), notes.len(), "{said:#?}");
}

#[test]
fn a_note_above_an_included_procedure_is_reported() {
    let with = |above: &str| {
        let mut case = case();
        let text = format!(
            "+++\ntitle = \"All\"\nmachines = [\"case\"]\n+++\n## All\n\n{above}1. [](do:job)\n"
        );
        case.add("case/all.md", &text);
        let rules: Vec<String> = case
            .findings()
            .into_iter()
            .map(|finding| finding.0)
            .collect();
        rules
    };
    assert_eq!(with(""), [""; 0]);
    assert_eq!(with("> Note: It takes an hour.\n\n"), ["misplaced-do"]);
    assert_eq!(
        with("> Note: It takes an hour.\n\nThe whole of it.\n\n"),
        [""; 0]
    );
}

#[test]
fn a_reference_in_a_note_has_to_lead_somewhere() {
    let sources = |target: &str| {
        let mut case = case();
        let text = JOB.replace("see:step/remove/seal", target);
        case.world
            .insert("case/job.md".to_owned(), text.into_bytes());
        case
    };
    assert_clean(&sources("see:fault/dust"));
    for target in ["see:fault/dusk", "see:step/clean/seal"] {
        let findings = sources(target).findings();
        let rules: Vec<&str> = findings.iter().map(|finding| finding.0.as_str()).collect();
        assert_eq!(rules, ["unresolved-reference"], "{target}");
    }
}
