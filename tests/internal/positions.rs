//! The position in which a part was noted belongs to the step that puts the part back.

use super::mutants::demo;
use super::step_keys::checklists;
use crate::page::{Blank, Edition, SheetStep};
use std::collections::BTreeSet;

/// The parts that a step notes, and those that it puts back where they were noted.
fn noted_and_refitted(step: &SheetStep) -> (BTreeSet<&str>, BTreeSet<&str>) {
    let blanks = step.content.blanks.iter();
    let noted = blanks.filter_map(|blank| match blank {
        Blank::Choice { noted, .. } | Blank::Words { noted, .. } => noted.as_deref(),
        _ => None,
    });
    let details = step.content.details.iter();
    let refitted = details.filter_map(|detail| detail.noted.as_deref());
    (noted.collect(), refitted.collect())
}

#[test]
fn every_noted_position_comes_back_where_the_part_is_refitted() {
    let mut files = demo();
    // The belt keeper is no linkage: its position is noted in words.
    let file = "driveline/drive-belt.md";
    let text = String::from_utf8(files[file].clone()).unwrap();
    let text = text.replace(
        "7. [Take the belt keeper off]",
        "7. [Note how it sits](note:belt-keeper). [Take the belt keeper off]",
    );
    files.insert(file.to_owned(), text.into_bytes());
    let mut count = 0;
    for (job, steps) in checklists(&files, Edition::first) {
        let mut open = BTreeSet::new();
        for step in &steps {
            let (noted, refitted) = noted_and_refitted(step);
            for part in refitted {
                assert!(open.remove(part), "{job}: `{part}` was noted before");
                count += 1;
            }
            open.extend(noted);
        }
        assert!(open.is_empty(), "{job}: {open:?} is noted and not refitted");
    }
    assert!(count > 8, "{count} positions");
}
