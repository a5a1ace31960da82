//! The steps of the sample job.

use super::parts::{
    Steps, detail, in_full, lever, moving, petrol, runs, section, spring, strings, value,
};
use super::{FIGURE, content_mut, job};
use crate::drawing::{Gauge, GaugeEnd, gauge};
use crate::page::{
    Blank, Block, Drawing, Figure, FigureId, LinkTarget, ReadingBounds, SectionId, SheetStep,
    TextRun, Value, WearColumns, WearRow, WearTable,
};

fn make_safe(counter: &mut Steps) -> Vec<SheetStep> {
    let mut steps = counter.plain(&[
        "Switch off, pull the plug cap and tie it clear of the plug.",
        "Pull the starter once: no spark.",
        "Close the fuel tap.",
    ]);
    steps[2].before = vec![in_full(petrol())];
    steps
}

fn take_off(counter: &mut Steps) -> Vec<SheetStep> {
    let mut steps = counter.plain(&[
        "Remove the air cleaner cover and the element.",
        "Note which hole the governor rod is in, then tip it and slide it out.",
        "Unhook the governor spring.",
        "With the 10 mm wrench, undo both manifold nuts.",
        "Take the carburettor off its studs and lay it down level.",
        "Remove the manifold gasket.",
    ]);
    content_mut(&mut steps[1]).text = vec![
        TextRun::text("Note "),
        TextRun::Strong {
            runs: runs("which hole"),
        },
        TextRun::text(" the governor rod"),
        TextRun::Callout {
            number: 3,
            part: "governor-rod".to_owned(),
            figure: Some(1),
        },
        TextRun::text(" is in, then tip it and slide it out, see "),
        TextRun::link(
            LinkTarget::Step {
                job: job(),
                step: 16,
            },
            runs("step 16"),
        ),
        TextRun::text("."),
    ];
    content_mut(&mut steps[1]).blanks = vec![Blank::Choice {
        label: "Governor rod sat in".to_owned(),
        options: strings(&["inner hole", "outer hole"]),
        noted: Some("governor-rod".to_owned()),
        decides: None,
    }];
    content_mut(&mut steps[1]).figures = vec![Figure {
        least_width: None,
        size: None,
        id: FigureId(FIGURE.to_owned()),
        content: "1a2b3c4d".to_owned(),
        number: 1,
        again: false,
        optional: false,
        alt: "The governor rod runs from the carburettor's arm to the governor lever, which has \
              two holes, one above the other."
            .to_owned(),
        caption: Some("Governor rod and the two holes of the lever.".to_owned()),
        marked: None,
    }];
    steps[2].before = vec![in_full(spring()), in_full(lever())];
    content_mut(&mut steps[2]).blanks = vec![Blank::Words {
        label: "Length of the spring, unhooked".to_owned(),
        noted: Some("governor-spring".to_owned()),
    }];
    content_mut(&mut steps[2]).wear = vec![wear()];
    content_mut(&mut steps[3]).details = vec![detail(
        "manifold nut, 2 × M6",
        None,
        &["10 mm hex", "bag 3"],
    )];
    content_mut(&mut steps[4]).above = vec![vec![
        TextRun::Strong {
            runs: runs("Note:"),
        },
        TextRun::text(" The hose may stay on the carburettor, see "),
        TextRun::link(
            LinkTarget::Step {
                job: job(),
                step: 3,
            },
            runs("step 3"),
        ),
        TextRun::text("."),
    ]];
    content_mut(&mut steps[4]).notes = vec![
        runs("Fuel stays in the bowl: tipped, it runs out at the main nozzle."),
        vec![
            TextRun::text("The mark "),
            TextRun::Code {
                text: "YAR-F 2".to_owned(),
            },
            TextRun::text(" on the flange points up."),
        ],
    ];
    steps
}

fn put_back(counter: &mut Steps) -> Vec<SheetStep> {
    let mut steps = counter.plain(&[
        "Clean both faces of the manifold: inlet port and carburettor flange.",
        "Fit a new manifold gasket.",
        "Fit the carburettor.",
        "Start both manifold nuts by hand, then tighten them crosswise in two stages.",
        "Fit the fuel hose and its clip.",
        "Hook the governor spring in.",
        "Slide the governor rod into the hole that you noted at step 5.",
        "Tighten the lever nut.",
        "Fit the element and the air cleaner cover.",
    ]);
    content_mut(&mut steps[1]).details = vec![detail(
        "manifold gasket",
        None,
        &["YAR-1185", "new: single use", "bead to the engine"],
    )];
    content_mut(&mut steps[3]).details = vec![
        detail(
            "manifold nut, 2 × M6, stage 1",
            Some(value("5 N·m ± 1 N·m", "(44 ± 8) lbf·in")),
            &["10 mm hex"],
        ),
        detail(
            "manifold nut, 2 × M6, stage 2",
            Some(value("9 N·m ± 1 N·m", "(80 ± 8) lbf·in")),
            &["10 mm hex", "dry", "crosswise"],
        ),
    ];
    content_mut(&mut steps[6]).details = vec![detail(
        "governor rod",
        None,
        &["long leg towards the engine", "where noted at step 5"],
    )];
    content_mut(&mut steps[7]).details = vec![detail(
        "lever nut, M5",
        Some(Value {
            unverified: true,
            bare: None,
            ..value("5 N·m to 6 N·m", "(45 to 53) lbf·in")
        }),
        &["8 mm hex"],
    )];
    content_mut(&mut steps[7]).holds = strings(&["Second mechanic"]);
    steps
}

fn set(counter: &mut Steps) -> Vec<SheetStep> {
    let mut steps = counter.plain(&[
        "Open the fuel tap and look at every joint for a minute: nothing is wet.",
        "Push the plug cap home.",
        "Run the engine to working heat.",
        "Measure the governed speed with no load.",
    ]);
    steps[2].before = vec![in_full(moving())];
    content_mut(&mut steps[3]).details = vec![detail(
        "tachometer",
        None,
        &["set to 1 pulse a turn", "4-stroke"],
    )];
    content_mut(&mut steps[3]).drawings = drawings("rpm");
    content_mut(&mut steps[3]).blanks = vec![Blank::Reading {
        of: "governed-speed".to_owned(),
        label: "Governed speed, no load, warm".to_owned(),
        limits: value("3100 rpm ± 100 rpm", ""),
        boxes: strings(&["as found", "as left"]),
        unit: "rpm".to_owned(),
        bounds: Box::new(ReadingBounds {
            least: Some("3000".to_owned()),
            most: Some("3200".to_owned()),
            possible: Some("0".to_owned()),
            to_thousandths: false,
        }),
        over: Some("Turn the speed screw out.".to_owned()),
        under: Some("Turn the speed screw in.".to_owned()),
    }];
    steps
}

/// A drawing with a text.
pub(super) fn drawings(text: &str) -> Vec<Drawing> {
    let end = |value, text| Some(GaugeEnd { value, text });
    let scale = gauge(&Gauge {
        least: end(3000.0, "3000"),
        most: end(3200.0, "3200"),
        unit: text,
        to_fill: true,
        alt: text,
    });
    scale.into_iter().collect()
}

fn wear() -> WearTable {
    WearTable {
        part: "governor spring".to_owned(),
        rows: vec![WearRow {
            of: "governor-spring/free-length".to_owned(),
            label: "Free length".to_owned(),
            how: strings(&["between the hooks", "vernier caliper"]),
            new: Some(value("41.5 mm to 42 mm", "1.634 in to 1.653 in")),
            desired: Some(value("41.8 mm", "1.646 in")),
            limit: value("at most 43 mm", "at most 1.692 in"),
            unit: "mm".to_owned(),
            bounds: Box::new(ReadingBounds {
                least: None,
                most: Some("43".to_owned()),
                possible: Some("0".to_owned()),
                to_thousandths: true,
            }),
            beyond: Some("Fit a new spring.".to_owned()),
        }],
        has: WearColumns {
            new: true,
            desired: true,
            beyond: true,
        },
        to_fill: true,
    }
}

pub(super) fn sections(counter: &mut Steps) -> Vec<Block> {
    let block = |steps: Vec<SheetStep>| vec![Block::Steps { steps }];
    vec![
        section(
            "Make safe",
            SectionId::Steps(1),
            Some("from Make safe, revision 1"),
            block(make_safe(counter)),
        ),
        section(
            "Take off",
            SectionId::Steps(2),
            None,
            block(take_off(counter)),
        ),
        section(
            "Put back",
            SectionId::Steps(3),
            None,
            [
                vec![Block::Note {
                    runs: vec![
                        TextRun::Strong {
                            runs: runs("Note:"),
                        },
                        TextRun::text(" The parts go back in the reverse order."),
                    ],
                }],
                block(put_back(counter)),
            ]
            .concat(),
        ),
        section("Set", SectionId::Steps(4), None, block(set(counter))),
    ]
}
