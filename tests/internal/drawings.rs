//! The drawings that the sheets of the demonstration have, and the steps that have them.

use super::mutants::demo;
use super::step_keys::checklists;
use crate::page::{
    Block, Drawing, DrawingKind, Edition, OutputContext, Sheet, SheetKind, SheetStep, plain,
};
use crate::sheet;
use crate::tree::Memory;
use std::collections::BTreeSet;

/// A sheet of the demonstration, in a language.
fn sheet(kind: SheetKind, machine: &str, procedure: &str, language: &str) -> Sheet {
    let mut files = demo();
    let shop = String::from_utf8(files["shop.toml"].clone()).unwrap();
    let language = format!("language = \"{language}\"");
    let shop = shop.replace("language = \"en-GB\"", &language);
    files.insert("shop.toml".to_owned(), shop.into_bytes());
    let sources = crate::read(&Memory::new(files));
    let checked = crate::check_all(&sources);
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    let mut jobs = checked.jobs.iter();
    let rehearsed = jobs
        .find(|rehearsed| {
            rehearsed.job.machine.id == machine && rehearsed.job.procedure.id == procedure
        })
        .unwrap_or_else(|| panic!("no {procedure} on {machine}"));
    sheet::sheet_of_kind(kind, &rehearsed.job, &rehearsed.rehearsal, &output).unwrap()
}

fn push_steps(blocks: &[Block], steps: &mut Vec<SheetStep>) {
    for block in blocks {
        match block {
            Block::Section(section) => push_steps(&section.blocks, steps),
            Block::Steps { steps: own } => steps.extend(own.iter().cloned()),
            _ => {}
        }
    }
}

/// The text of each step that has drawings of a kind, with the drawings.
fn drawn(
    kind: DrawingKind,
    sheet_kind: SheetKind,
    machine: &str,
    procedure: &str,
) -> Vec<(String, Vec<Drawing>)> {
    let mut steps = Vec::new();
    push_steps(
        &sheet(sheet_kind, machine, procedure, "en-GB").blocks,
        &mut steps,
    );
    let of_kind = |step: &SheetStep| {
        let drawings = step.content.drawings.iter();
        let drawings: Vec<Drawing> = drawings
            .filter(|drawing| drawing.kind == kind)
            .cloned()
            .collect();
        (plain(&step.content.text), drawings)
    };
    let steps = steps.iter().map(of_kind);
    steps.filter(|(_, drawings)| !drawings.is_empty()).collect()
}

/// The texts of the steps.
fn texts(drawn: &[(String, Vec<Drawing>)]) -> Vec<&str> {
    drawn.iter().map(|(text, _)| text.as_str()).collect()
}

/// Each sheet that has the steps of a job.
const KINDS: [SheetKind; 2] = [SheetKind::ShopSheet, SheetKind::BenchChecklist];

#[test]
fn a_reading_has_its_limits_as_a_scale() {
    for kind in KINDS {
        let drawn = drawn(DrawingKind::Gauge, kind, "tarn-sedge", "valve-clearance");
        let expected = [
            "With the feeler gauges, measure the inlet as found.",
            "Measure the exhaust as found.",
            "Turn the crankshaft twice, back to the same place. Measure the inlet as left.",
            "Measure the exhaust as left.",
            "Measure the speed as found.",
            "Measure the speed as left.",
            "With the nozzle still open, read the delivery pressure.",
        ];
        assert_eq!(texts(&drawn), expected);
        let [inlet] = drawn[0].1.as_slice() else {
            panic!("one scale");
        };
        for number in [">0.09<", ">0.13\u{a0}mm<"] {
            assert!(inlet.svg.contains(number), "{}", inlet.svg);
        }
        assert!(inlet.alt.contains("inlet valve clearance"), "{}", inlet.alt);
        // There is space to mark only where something is written down.
        let is_higher = inlet.height > 50;
        assert_eq!(is_higher, kind == SheetKind::BenchChecklist);
    }
}

/// Which circles of a drawing are filled.
fn filled(drawing: &Drawing) -> Vec<bool> {
    let circles = drawing.svg.split("<circle ").skip(1);
    let circles = circles.filter_map(|circle| circle.split("/>").next());
    circles.map(|circle| circle.contains("fill=")).collect()
}

#[test]
fn a_lever_is_drawn_where_its_hole_is_noted_and_where_it_is_known() {
    for kind in KINDS {
        let drawn = drawn(
            DrawingKind::Positions,
            kind,
            "tarn-sedge",
            "governor-linkage",
        );
        let steps: Vec<(&str, Vec<bool>)> = drawn
            .iter()
            .map(|(text, drawings)| {
                let [lever] = drawings.as_slice() else {
                    panic!("{text} has {} drawings", drawings.len());
                };
                (text.as_str(), filled(lever))
            })
            .collect();
        // The rod and the throttle spring go back where they were noted, which differs from machine to machine.
        let expected = [
            (
                "Note which hole the governor spring is in: see figure\u{a0}1.",
                vec![false; 3],
            ),
            ("Note which hole the governor rod is in.", vec![false; 2]),
            ("Note which hole the throttle spring is in.", vec![false; 2]),
            ("Fit the governor spring.", vec![true, false, false]),
        ];
        assert_eq!(steps, expected);
    }
}

#[test]
fn the_order_of_fasteners_is_drawn_where_they_are_tightened() {
    for kind in KINDS {
        let bolts = drawn(
            DrawingKind::Tightening,
            kind,
            "tarn-sedge",
            "valve-clearance",
        );
        assert_eq!(texts(&bolts), ["Tighten the rocker cover bolts (4)."]);
        assert!(bolts[0].1[0].alt.contains("crosswise"), "{bolts:?}");
        // Two studs need no order, and the casing is tightened in two stages.
        let casing = drawn(DrawingKind::Tightening, kind, "tarn-sedge", "shaft-seal");
        let [(_, drawings)] = casing.as_slice() else {
            panic!("{casing:?}");
        };
        for stage in ["stage 1 of 2", "stage 2 of 2", "18\u{a0}N·m ± 2\u{a0}N·m"] {
            let svg = &drawings[0].svg;
            assert!(svg.contains(stage), "{stage}: {svg}");
        }
    }
}

/// The id of a step on a checklist is what entries are stored by.
#[test]
fn the_id_of_a_step_does_not_depend_on_its_drawing() {
    let bolts = |places: &str| {
        let mut files = demo();
        let file = "machines/tarn-sedge.toml";
        let text = String::from_utf8(files[file].clone()).unwrap();
        let count = "name = \"rocker cover bolt\"\ncount = 4\n";
        assert!(text.contains(count));
        let text = text.replace(count, &format!("{count}{places}"));
        files.insert(file.to_owned(), text.into_bytes());
        let steps = &checklists(&files, Edition::first)["tarn-sedge/valve-clearance"];
        let step = steps.iter().find(|step| {
            let mut drawings = step.content.drawings.iter();
            drawings.any(|drawing| drawing.kind == DrawingKind::Tightening)
        });
        let step = step.unwrap();
        (step.key.clone(), step.content.drawings.clone())
    };
    let round = bolts("");
    let square = bolts("bolts-at = [\"0, 0\", \"60, 0\", \"60, 30\", \"0, 30\"]\n");
    assert_eq!(round.0, square.0);
    assert_ne!(round.1, square.1);
}
