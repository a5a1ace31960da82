//! The drawings that the sheets of the demonstration have, and the steps that have them.

use super::demo::without_callouts;
use super::mutants::demo;
use super::step_keys::{checklists, push_steps};
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
        (without_callouts(&plain(&step.content.text)), drawings)
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
                "Note which hole the governor spring is in: see figure\u{a0}2.",
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
        assert_eq!(
            texts(&bolts),
            ["Tighten the rocker cover bolts (4\u{a0}×)."]
        );
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

#[test]
fn a_joint_is_drawn_where_its_first_part_goes_back() {
    for kind in KINDS {
        let drawn = drawn(DrawingKind::Stack, kind, "tarn-sedge", "governor-linkage");
        assert_eq!(texts(&drawn), ["Fit a new insulator gasket."]);
        let [joint] = drawn[0].1.as_slice() else {
            panic!("one joint");
        };
        let alt = "Order of the joint, from the outside in: air cleaner base, air cleaner base gasket, carburettor, \
                   insulator, insulator gasket";
        assert_eq!(joint.alt, alt);
        for text in [">carburettor studs<", ">carburettor<", ">clean: "] {
            assert!(joint.svg.contains(text), "{text}: {}", joint.svg);
        }
        // The paper of a checklist has no space for it.
        assert_eq!(joint.unprinted, kind == SheetKind::BenchChecklist);
    }
}

#[test]
fn a_line_shows_its_valve_as_it_is_before_the_step() {
    let drawn = drawn(
        DrawingKind::Line,
        SheetKind::ShopSheet,
        "tarn-comfrey",
        "fuel-drain",
    );
    let steps: Vec<(&str, &str)> = drawn
        .iter()
        .map(|(text, drawings)| (text.as_str(), drawings[0].alt.as_str()))
        .collect();
    let line = |tap: &str| {
        format!("Flow of the fluid: petrol, fuel tap ({tap}), strainer cup, fuel hose, float bowl")
    };
    let expected = [
        ("Close the fuel tap.", line("open")),
        (
            "With the hand pump, pump the tank dry into the can for old petrol.",
            line("closed"),
        ),
        ("Open the fuel tap.", line("closed")),
    ];
    let expected: Vec<(&str, &str)> = expected.iter().map(|(text, alt)| (*text, &**alt)).collect();
    assert_eq!(steps, expected);
}

/// A small shop with one machine and one procedure.
fn small_shop(machine: &str, steps: &str) -> Vec<Drawing> {
    let procedure =
        format!("+++\ntitle = \"Try\"\nmachines = [\"mower\"]\n+++\n## Work\n\n{steps}\n");
    let world = Memory::new([
        ("shop.toml", "name = \"Elmbrook workshop\"\n"),
        ("machines/mower.toml", machine),
        ("air/try.md", &procedure),
    ]);
    let sources = crate::read(&world);
    let checked = crate::check_all(&sources);
    let [rehearsed] = checked.jobs.as_slice() else {
        panic!("one job: {:?}", checked.findings);
    };
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    let kind = SheetKind::ShopSheet;
    let sheet = sheet::sheet_of_kind(kind, &rehearsed.job, &rehearsed.rehearsal, &output).unwrap();
    let mut steps = Vec::new();
    push_steps(&sheet.blocks, &mut steps);
    let drawings = steps.iter().flat_map(|step| step.content.drawings.clone());
    drawings.collect()
}

#[test]
fn leads_are_drawn_in_the_order_in_which_they_are_taken_off() {
    let machine = "name = \"Mower\"\n\
        [control.key]\nname = \"key switch\"\npositions = [\"off\", \"on\"]\nfound = \"on\"\n\
        [part.supply-lead]\nname = \"supply lead\"\n\
        [part.earth-lead]\nname = \"earth lead\"\noff-first = [\"supply-lead\"]\n";
    let drawings = small_shop(
        machine,
        "1. [](set:key/off)\n2. [](remove:earth-lead)\n3. [](remove:supply-lead)\n\
         4. [](fit:supply-lead)\n5. [](fit:earth-lead)",
    );
    let [order] = drawings.as_slice() else {
        panic!("{drawings:?}");
    };
    assert_eq!(order.kind, DrawingKind::Electrical);
    let alt = "Order in which the leads are taken off: earth lead, supply lead";
    assert_eq!(order.alt, alt);
    for text in [">off<", ">1<", ">first off, last on<"] {
        assert!(order.svg.contains(text), "{text}: {}", order.svg);
    }
}

#[test]
fn a_seal_between_two_parts_is_drawn_between_them() {
    let machine = "name = \"Mower\"\n[part.cover]\nname = \"cover\"\n[part.body]\nname = \"body\"\n\
        [part.ring]\nname = \"ring\"\nseals = [\"cover\", \"body\"]\nbehind = [\"cover\"]\nsingle-use = true\n";
    let drawings = small_shop(
        machine,
        "1. [](remove:cover)\n2. [](remove:ring)\n3. [](renew:ring)\n4. [](fit:cover)",
    );
    let [joint] = drawings.as_slice() else {
        panic!("{drawings:?}");
    };
    assert_eq!(
        joint.alt,
        "Order of the joint, from the outside in: cover, ring, body"
    );
}

/// The ways to the parts of a machine, by their titles.
fn ways(machine: &str) -> Vec<(String, String)> {
    let sources = crate::read(&Memory::new(demo()));
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    let mut machines = sources.shop.machines.values();
    let machine = machines.find(|other| other.id == machine).unwrap();
    let kind = SheetKind::MachineData;
    let sheet = sheet::machine_sheet(kind, &sources.shop, machine, &[], &output).unwrap();
    let sections = sheet.blocks.iter().filter_map(|block| match block {
        Block::Section(section) => Some(&section.blocks),
        _ => None,
    });
    let drawings = sections.flatten().filter_map(|block| match block {
        Block::Drawings { drawings } => Some(drawings),
        _ => None,
    });
    let drawings = drawings.flatten();
    drawings
        .map(|titled| (titled.title.clone(), titled.drawing.alt.clone()))
        .collect()
}

#[test]
fn the_way_to_a_part_is_drawn_in_the_data_of_its_machine() {
    let ways = ways("tarn-sedge");
    let titles: Vec<&str> = ways.iter().map(|(title, _)| title.as_str()).collect();
    // A seal that lies over another part is on the way to that one.
    let expected = [
        "Insulator gasket",
        "Shaft seal, standing half",
        "Recoil spring",
        "Starter rope",
        "Pump casing ring",
    ];
    assert_eq!(titles, expected);
    let seal = "Order in which parts come off, to reach shaft seal, standing half: suction hose, delivery hose, \
                pump casing, impeller, shaft seal, turning half";
    assert_eq!(ways[1].1, seal);
}
