//! The ids of the steps of checklists. What is entered at a step is stored by its id, so the id has to change with
//! whatever the step asks, and with nothing else.

use super::mutants::demo;
use crate::page::{
    Block, Edition, OutputContext, SheetKind, SheetStep, SheetStepContent, StepKey, plain,
};
use crate::sheet;
use crate::shop::Shop;
use crate::tree::Memory;
use std::collections::{BTreeMap, BTreeSet};

type Files = BTreeMap<String, Vec<u8>>;

/// Changes a text of a source, which has to be there.
fn edit(files: &mut Files, file: &str, from: &str, to: &str) {
    let text = String::from_utf8(files[file].clone()).unwrap();
    assert!(text.contains(from), "{file} has no {from}");
    files.insert(file.to_owned(), text.replacen(from, to, 1).into_bytes());
}

pub(super) fn push_steps(blocks: &[Block], steps: &mut Vec<SheetStep>) {
    for block in blocks {
        match block {
            Block::Section(section) => push_steps(&section.blocks, steps),
            Block::Steps { steps: own } => steps.extend(own.iter().cloned()),
            _ => {}
        }
    }
}

/// The steps of every checklist, by machine and procedure.
pub(super) fn checklists(
    files: &Files,
    edition: impl Fn(&Shop) -> Edition,
) -> BTreeMap<String, Vec<SheetStep>> {
    let sources = crate::read(&Memory::new(files.clone()));
    let checked = crate::check_all(&sources);
    let output = OutputContext::new(&sources.tree, &edition(&sources.shop), BTreeSet::new());
    let jobs = checked.jobs.iter().map(|rehearsed| {
        let kind = SheetKind::BenchChecklist;
        let job = &rehearsed.job;
        let sheet = sheet::sheet_of_kind(kind, job, &rehearsed.rehearsal, &output).unwrap();
        let mut steps = Vec::new();
        push_steps(&sheet.blocks, &mut steps);
        (format!("{}/{}", job.machine.id, job.procedure.id), steps)
    });
    jobs.collect()
}

fn key(step: &SheetStep) -> &StepKey {
    step.key.as_ref().expect("a step of a checklist has a key")
}

fn ids(steps: &[SheetStep]) -> Vec<&str> {
    steps.iter().map(|step| key(step).id.as_str()).collect()
}

/// The edition of a language, as if the shop had named it first.
fn edition_of(language: &'static str) -> impl Fn(&Shop) -> Edition {
    move |shop| {
        let words = crate::words::Words::of(language).unwrap();
        Edition {
            language: language.to_owned(),
            words: words.for_author(shop.languages.first().map_or("en-GB", String::as_str)),
        }
    }
}

#[test]
fn ids_are_unique_on_a_sheet_and_the_same_in_every_language() {
    let files = demo();
    let english = checklists(&files, Edition::first);
    assert!(english.len() > 50);
    for (job, steps) in &english {
        let ids = ids(steps);
        let unique: BTreeSet<_> = ids.iter().collect();
        assert_eq!(unique.len(), ids.len(), "{job}");
    }
    for language in ["en-US", "es"] {
        let other = checklists(&files, edition_of(language));
        for (job, steps) in &english {
            assert_eq!(ids(&other[job]), ids(steps), "{job} in {language}");
        }
        let texts = |steps: &[SheetStep]| -> Vec<String> {
            steps.iter().map(|step| plain(&step.content.text)).collect()
        };
        let differs = english
            .iter()
            .any(|(job, steps)| texts(steps) != texts(&other[job]));
        assert!(differs, "the sheets in {language} are in another language");
    }
}

#[test]
fn a_new_step_changes_no_other_id() {
    let before = checklists(&demo(), Edition::first);
    let mut files = demo();
    let heading = "## Place\n";
    edit(
        &mut files,
        "safety/make-safe.md",
        heading,
        &format!("{heading}\n1. Sweep the floor.\n"),
    );
    let after = checklists(&files, Edition::first);
    for (job, steps) in &before {
        let (before, after) = (ids(steps), ids(&after[job]));
        // The desk takes nothing apart, so its check does not begin with making safe.
        if job.ends_with("/lending-check") {
            assert_eq!(after, before, "{job}");
            continue;
        }
        assert_eq!(after.len(), before.len() + 1, "{job}");
        let new: Vec<_> = after.iter().filter(|id| !before.contains(id)).collect();
        assert_eq!(new.len(), 1, "{job}");
        let kept: Vec<_> = after
            .iter()
            .filter(|id| before.contains(id))
            .copied()
            .collect();
        assert_eq!(kept, before, "{job}");
    }
}

/// What a step asks, as text. The pictures and the numbers of steps do not belong to it.
fn asks(content: &SheetStepContent) -> String {
    let SheetStepContent {
        above,
        text,
        notes,
        details,
        blanks,
        holds,
        ..
    } = content;
    let notes = above.iter().chain(notes);
    let notes: Vec<String> = notes.map(|note| plain(note)).collect();
    format!(
        "{}\n{notes:?}\n{details:?}\n{blanks:?}\n{holds:?}",
        plain(text)
    )
}

/// Changes that add and remove no step, of a text and of each kind of field that checklists print: the file, the text
/// before and after, and what some step says after the change and not before.
const CHANGES: &[[&str; 4]] = &[
    [
        "driveline/drive-belt.md",
        "Don't lever it.",
        "Never lever it.",
        "Never lever it.",
    ],
    [
        "driveline/drive-belt.md",
        "[undo the belt keeper bolt]",
        "[loosen the belt keeper bolt]",
        "loosen the belt",
    ],
    [
        "fuel/float-bowl.md",
        "No wire, no drill.",
        "No wire at all.",
        "No wire at all.",
    ],
    [
        "machines/tarn-yarrow.toml",
        "10 mm to 14 mm (0.39 in to 0.55 in)",
        "10 mm to 15 mm",
        "Some(\"15\")",
    ],
    [
        "machines/tarn-yarrow.toml",
        "Screw the cable adjuster out",
        "Screw it all out",
        "Screw it all out",
    ],
    [
        "machines/tarn-yarrow.toml",
        "20 N·m ± 2 N·m (14.8 ft·lbf ± 1.5 ft·lbf)",
        "21 N·m ± 2 N·m",
        "21\\u{a0}N·m",
    ],
    [
        "machines/tarn-yarrow.toml",
        "No rust pit or crack, and dry on the outside",
        "Dry outside",
        "Dry outside",
    ],
    [
        "machines/tarn-yarrow.toml",
        "YAR-1312",
        "YAR-9312",
        "YAR-9312",
    ],
    [
        "machines/tarn-yarrow.toml",
        "finger over the engine pulley",
        "finger under it",
        "finger under it",
    ],
    [
        "machines/tarn-yarrow.toml",
        "name = \"belt keeper bolt\"",
        "name = \"belt guard bolt\"",
        "belt guard bolt",
    ],
    [
        "machines/tarn-yarrow.toml",
        "\"rear slot\"",
        "\"back slot\"",
        "back slot",
    ],
    [
        "shop.toml",
        "name = \"Second person\"",
        "name = \"Another person\"",
        "Another person",
    ],
];

#[test]
fn an_id_changes_exactly_with_what_the_step_asks() {
    let before = checklists(&demo(), Edition::first);
    let mut files = demo();
    for [file, from, to, _] in CHANGES {
        edit(&mut files, file, from, to);
    }
    let after = checklists(&files, Edition::first);
    let mut changes = String::new();
    for (job, steps) in &before {
        assert_eq!(after[job].len(), steps.len(), "{job}");
        for (old, new) in steps.iter().zip(&after[job]) {
            let [old_asks, new_asks] = [old, new].map(|step| asks(&step.content));
            let is_changed = old_asks != new_asks;
            let number = old.number;
            assert_eq!(
                key(old).id != key(new).id,
                is_changed,
                "{job}, step {number}:\n{old_asks}\n{new_asks}"
            );
            if is_changed {
                changes += &new_asks;
            }
        }
    }
    for [_, from, _, said] in CHANGES {
        assert!(changes.contains(said), "no step shows the change of {from}");
    }
}

/// A changed step is recognized by the author's id for it, or by its actions.
#[test]
fn a_changed_step_keeps_the_key_that_connects_its_versions() {
    let before = checklists(&demo(), Edition::first);
    let mut files = demo();
    edit(
        &mut files,
        "driveline/drive-belt.md",
        "Don't lever it.",
        "Never lever it.",
    );
    let after = checklists(&files, Edition::first);
    let job = "tarn-yarrow/drive-belt";
    let pairs = before[job].iter().zip(&after[job]);
    let changed: Vec<_> = pairs
        .filter(|(old, new)| key(old).id != key(new).id)
        .collect();
    let [(old, new)] = changed.as_slice() else {
        panic!("one step has changed");
    };
    assert_eq!(key(old).like, key(new).like);
    assert!(!key(old).like.is_empty());
}
