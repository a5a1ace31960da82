//! The blocks of the sample shop sheet before the steps: introduction, hazards and lists.

use super::parts::{moving, name, petrol, runs, section, strings, table, value};
use crate::page::{Block, Cell, JobId, LinkTarget, SectionId, SetUpLine, TextRun, Topic, Value};

/// The introduction, the hazards and the table for making safe.
pub(super) fn front() -> Vec<Block> {
    vec![
        Block::Text {
            runs: vec![
                TextRun::text("A governor that "),
                TextRun::Emphasis {
                    runs: runs("hunts"),
                },
                TextRun::text(
                    " or lags mostly has a dry or bent linkage. This job frees it, sets it and \
                     proves the speed; ",
                ),
                TextRun::link(
                    LinkTarget::Job(JobId::new("tarn-yarrow", "float-bowl")),
                    runs("Float bowl and jet"),
                ),
                TextRun::text(" comes first where the engine also surges under load; "),
                TextRun::link(
                    LinkTarget::Web("https://example.org/governors?a=1&b=2".to_owned()),
                    runs("how governors work"),
                ),
                TextRun::text("."),
            ],
        },
        section(
            "Set-up",
            SectionId::Topic(Topic::SetUp),
            None,
            vec![Block::SetUp {
                lines: vec![
                    SetUpLine {
                        label: "Machine at the start".to_owned(),
                        runs: runs("Fuel tap open; switch off; petrol filled"),
                    },
                    SetUpLine {
                        label: "Follow-on work".to_owned(),
                        runs: vec![TextRun::link(
                            LinkTarget::Job(JobId::new("tarn-yarrow", "float-bowl")),
                            runs("Float bowl and jet"),
                        )],
                    },
                ],
            }],
        ),
        section(
            "Hazards",
            SectionId::Topic(Topic::Safety),
            None,
            vec![Block::Safety(petrol()), Block::Safety(moving())],
        ),
        section(
            "Make safe",
            SectionId::Topic(Topic::MakeSafe),
            None,
            vec![table(
                "Make safe",
                &[("Energy", 3), ("Isolate", 5), ("Prove", 4), ("Done", 1)],
                vec![
                    vec![
                        name("ignition"),
                        Cell::text("Switch off, pull the plug cap and tie it clear of the plug"),
                        Cell::text("Pull the starter once: no spark"),
                        Cell::Tick,
                    ],
                    vec![
                        name("fuel"),
                        Cell::text("Close the fuel tap"),
                        Cell::text("Loosen the hose clip: nothing runs"),
                        Cell::Tick,
                    ],
                ],
            )],
        ),
    ]
}

/// Tools, kit, values and places.
pub(super) fn lists() -> Vec<Block> {
    vec![
        section(
            "Tools",
            SectionId::Topic(Topic::Tools),
            None,
            vec![Block::Bullets {
                items: vec![
                    runs("10 mm wrench"),
                    runs("torque wrench, 2 N·m to 20 N·m"),
                    runs("tachometer, inductive"),
                ],
            }],
        ),
        section(
            "Kit",
            SectionId::Topic(Topic::Kit),
            None,
            vec![table(
                "Kit",
                &[("Part", 4), ("Number", 3), ("Quantity", 2), ("Note", 3)],
                vec![
                    vec![
                        name("manifold gasket"),
                        Cell::Text {
                            runs: vec![TextRun::Code {
                                text: "YAR-1185".to_owned(),
                            }],
                        },
                        Cell::text("1"),
                        Cell::text("single use"),
                    ],
                    vec![
                        name("rag, lint-free"),
                        Cell::Text { runs: Vec::new() },
                        Cell::text("2"),
                        Cell::Text { runs: Vec::new() },
                    ],
                ],
            )],
        ),
        section(
            "Values",
            SectionId::Topic(Topic::Torques),
            None,
            vec![table(
                "Values",
                &[("What", 4), ("Value", 5), ("Wrench", 2), ("Basis", 4)],
                vec![
                    vec![
                        name("manifold nut, 2 × M6"),
                        Cell::Value {
                            value: value("9 N·m ± 1 N·m", "(80 ± 8) lbf·in"),
                        },
                        Cell::text("10 mm hex"),
                        Cell::text("invented"),
                    ],
                    vec![
                        name("lever nut, M5"),
                        Cell::Value {
                            value: Value {
                                unverified: true,
                                bare: None,
                                ..value("5 N·m to 6 N·m", "(45 to 53) lbf·in")
                            },
                        },
                        Cell::text("8 mm hex"),
                        Cell::Text { runs: Vec::new() },
                    ],
                ],
            )],
        ),
        section(
            "Places",
            SectionId::Topic(Topic::Positions),
            None,
            vec![table(
                "Places",
                &[("Linkage", 3), ("Sat in", 5), ("Turns", 2)],
                vec![vec![
                    name("governor rod"),
                    Cell::Choice {
                        options: strings(&["inner hole", "outer hole"]),
                    },
                    Cell::Blank,
                ]],
            )],
        ),
    ]
}
