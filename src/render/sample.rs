//! Leaves to test with: one job with everything that a leaf can hold, in both
//! kinds, and the ways to make it long, empty or hostile. All data is invented.

use crate::page::{
    Blank, Block, Cell, Column, Detail, Fact, Figure, Head, Leaf, LeafKind, Paper, Run,
    SafetyMessage, Section, SignLine, SignalWord, Step, Table, Target, Value,
};
use crate::site::{Entry, Link, Nav, Page, PageKind, Part};
use crate::words::Words;

/// A drawing to stand in the work folder under [`FIGURE`].
pub(super) const DRAWING: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 120 90" width="120" height="90">
<g fill="none" stroke="#000" stroke-width="2" stroke-linecap="round" stroke-linejoin="round">
<rect x="8" y="48" width="34" height="30" rx="2"/><path d="M25 48V30"/><circle cx="25" cy="27" r="3"/>
<path d="M28 27 88 40"/><path d="M96 14 88 40 98 74"/><circle cx="88" cy="40" r="3"/><circle cx="91" cy="52" r="2"/>
<path d="M98 74h14" stroke-dasharray="3 4"/></g>
</svg>"##;

/// Where the drawing stands.
pub(super) const FIGURE: &str = "figures/linkage-1a2b3c4d.svg";

fn value(first: &str, second: &str) -> Value {
    Value {
        first: first.to_owned(),
        second: (!second.is_empty()).then(|| second.to_owned()),
        unverified: false,
    }
}

fn detail(label: &str, value: Option<Value>, more: &[&str]) -> Detail {
    Detail {
        label: label.to_owned(),
        value,
        more: strings(more),
    }
}

fn strings(texts: &[&str]) -> Vec<String> {
    texts.iter().map(|text| (*text).to_owned()).collect()
}

fn runs(text: &str) -> Vec<Run> {
    vec![Run::text(text)]
}

fn message(
    id: &str,
    word: SignalWord,
    hazard: &str,
    consequence: &str,
    avoid: &[&str],
) -> SafetyMessage {
    SafetyMessage {
        id: id.to_owned(),
        anchor: None,
        word,
        hazard: hazard.to_owned(),
        consequence: consequence.to_owned(),
        avoid: strings(avoid),
        signs: Vec::new(),
    }
}

fn petrol() -> SafetyMessage {
    message(
        "petrol-vapour",
        SignalWord::Danger,
        "Petrol vapour catches fire.",
        "A fire in the workshop kills.",
        &[
            "Work outdoors or with the doors open.",
            "Keep sparks, flames and the heater away.",
            "Catch what runs out in a metal can with a lid.",
        ],
    )
}

fn spring() -> SafetyMessage {
    message(
        "spring-under-tension",
        SignalWord::Caution,
        "The governor spring flies off.",
        "It can hit an eye.",
        &[
            "Wear eye protection.",
            "Hold the spring with pliers while it comes off.",
        ],
    )
}

fn moving() -> SafetyMessage {
    message(
        "tines-turn",
        SignalWord::Warning,
        "The tines turn as soon as the engine runs in gear.",
        "They can cut a foot.",
        &[
            "Block the wheels and take the belt off.",
            "Stand beside the tiller, not before it.",
        ],
    )
}

fn lever() -> SafetyMessage {
    message(
        "lever-bends",
        SignalWord::Notice,
        "The governor lever bends easily.",
        "A bent lever makes the engine hunt.",
        &["Push at the rod's end only."],
    )
}

/// Builds the steps of a job with numbers that go on.
struct Steps(u32);

impl Steps {
    fn step(&mut self, text: &str) -> Step {
        self.0 += 1;
        Step {
            number: self.0,
            anchor: format!("step-{}", self.0),
            same_as: None,
            before: Vec::new(),
            text: runs(text),
            notes: Vec::new(),
            details: Vec::new(),
            blanks: Vec::new(),
            figures: Vec::new(),
            holds: Vec::new(),
        }
    }

    fn plain(&mut self, texts: &[&str]) -> Vec<Step> {
        texts.iter().map(|text| self.step(text)).collect()
    }
}

fn section(title: &str, anchor: &str, from: Option<&str>, blocks: Vec<Block>) -> Block {
    Block::Section(Section {
        title: title.to_owned(),
        anchor: anchor.to_owned(),
        from: from.map(str::to_owned),
        blocks,
    })
}

fn table(caption: &str, columns: &[(&str, u8)], rows: Vec<Vec<Cell>>) -> Block {
    Block::Table(Table {
        caption: caption.to_owned(),
        columns: columns
            .iter()
            .map(|(title, share)| Column {
                title: (*title).to_owned(),
                share: *share,
            })
            .collect(),
        rows,
    })
}

fn name(text: &str) -> Cell {
    Cell::Name {
        text: text.to_owned(),
    }
}

/// The head of the sample job.
pub(super) fn head(kind: LeafKind) -> Head {
    Head {
        kind_title: Words::english().get(kind.title_key()).to_owned(),
        title: "Governor linkage: free and reset".to_owned(),
        machine: Some("Tarn T7 tiller".to_owned()),
        shop: "Millbrook Tool Library".to_owned(),
        logo: None,
        language: "en".to_owned(),
        paper: Paper::A4,
        data_note: Some("Invented data for demonstration; not for use on any machine".to_owned()),
        revision: Some(2),
        revised: Some("2026-10-02".to_owned()),
        mark: "7f3a9c21".to_owned(),
        facts: [
            ("Engine", "4-stroke, single, 196 cm³"),
            ("Time allowed", "35 min"),
            ("Interval", "every 100 h"),
        ]
        .map(|(label, text)| Fact {
            label: label.to_owned(),
            text: text.to_owned(),
        })
        .to_vec(),
        entries: strings(&["Job number", "Machine number", "Mechanic", "Date"]),
        path: format!("tarn-t7/governor-linkage-{}", kind.slug()),
        address: None,
    }
}

fn make_safe(steps: &mut Steps) -> Vec<Step> {
    let mut made = steps.plain(&[
        "Switch off, pull the plug cap and tie it clear of the plug.",
        "Pull the starter once: no spark.",
        "Close the fuel tap.",
    ]);
    made[2].before = vec![petrol()];
    made
}

fn take_off(steps: &mut Steps) -> Vec<Step> {
    let mut made = steps.plain(&[
        "Remove the air cleaner cover and the element.",
        "Note which hole the governor rod sits in, then tip it and slide it out.",
        "Unhook the governor spring.",
        "With the 10 mm wrench, undo both manifold nuts.",
        "Take the carburettor off its studs and lay it down level.",
        "Remove the manifold gasket.",
    ]);
    made[1].text = vec![
        Run::text("Note "),
        Run::Strong {
            runs: runs("which hole"),
        },
        Run::text(" the governor rod sits in, then tip it and slide it out, see "),
        Run::Link {
            target: Target::Here {
                anchor: "step-16".to_owned(),
            },
            runs: runs("step 16"),
        },
        Run::text("."),
    ];
    made[1].blanks = vec![Blank::Choice {
        label: "Governor rod sat in".to_owned(),
        options: strings(&["inner hole", "outer hole"]),
    }];
    made[1].figures = vec![Figure {
        number: 1,
        anchor: "figure-1".to_owned(),
        path: FIGURE.to_owned(),
        alt: "The governor rod runs from the carburettor's arm to the governor lever, which has \
              two holes, one above the other."
            .to_owned(),
        caption: Some("Governor rod and the two holes of the lever.".to_owned()),
    }];
    made[2].before = vec![spring(), lever()];
    made[2].blanks = vec![Blank::Words {
        label: "Length of the spring, unhooked".to_owned(),
    }];
    made[3].details = vec![detail(
        "manifold nut, 2 × M6",
        None,
        &["10 mm hex", "bag 3"],
    )];
    made[4].notes = vec![
        runs("Fuel stays in the bowl: tipped, it runs out at the main nozzle."),
        vec![
            Run::text("The mark "),
            Run::Code {
                text: "T7-F 2".to_owned(),
            },
            Run::text(" on the flange points up."),
        ],
    ];
    made
}

fn put_back(steps: &mut Steps) -> Vec<Step> {
    let mut made = steps.plain(&[
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
    made[1].details = vec![detail(
        "manifold gasket",
        None,
        &["T7-1185", "new: single use", "bead to the engine"],
    )];
    made[3].details = vec![
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
    made[6].details = vec![detail(
        "governor rod",
        None,
        &["long leg towards the engine", "where noted at step 5"],
    )];
    made[7].details = vec![detail(
        "lever nut, M5",
        Some(Value {
            unverified: true,
            ..value("5 N·m to 6 N·m", "(45 to 53) lbf·in")
        }),
        &["8 mm hex"],
    )];
    made[7].holds = strings(&["Second mechanic"]);
    made
}

fn set(steps: &mut Steps) -> Vec<Step> {
    let mut made = steps.plain(&[
        "Open the fuel tap and look at every joint for a minute: nothing is wet.",
        "Push the plug cap home.",
        "Run the engine to working heat.",
        "Measure the governed speed with no load.",
    ]);
    made[2].before = vec![moving()];
    made[3].details = vec![detail(
        "tachometer",
        None,
        &["set to 1 pulse a turn", "4-stroke"],
    )];
    made[3].blanks = vec![Blank::Reading {
        label: "Governed speed, no load, warm".to_owned(),
        limits: value("3100 rpm ± 100 rpm", ""),
        boxes: strings(&["as found", "as left"]),
        unit: "rpm".to_owned(),
        least: Some("3000".to_owned()),
        most: Some("3200".to_owned()),
        over: Some("Turn the speed screw out.".to_owned()),
        under: Some("Turn the speed screw in.".to_owned()),
    }];
    made
}

fn sections(steps: &mut Steps) -> Vec<Block> {
    let steps_of = |steps: Vec<Step>| vec![Block::Steps { steps }];
    vec![
        section(
            "Make safe",
            "make-safe",
            Some("from Make safe, revision 1"),
            steps_of(make_safe(steps)),
        ),
        section("Take off", "take-off", None, steps_of(take_off(steps))),
        section("Put back", "put-back", None, steps_of(put_back(steps))),
        section("Set", "set", None, steps_of(set(steps))),
    ]
}

fn sign_off(lines: &[(&str, &str)]) -> Block {
    section(
        "Sign-off",
        "sign-off",
        None,
        vec![Block::SignOff {
            lines: lines
                .iter()
                .map(|(what, role)| SignLine {
                    what: (*what).to_owned(),
                    role: (*role).to_owned(),
                })
                .collect(),
        }],
    )
}

fn notices() -> Block {
    Block::Notices {
        notices: strings(&[
            "This leaf does not replace the equipment maker's instructions, local codes or \
             licensed practice; where they differ, they rule.",
            "Tell the lead mechanic when this sheet is wrong: it is mended the same day.",
        ]),
    }
}

/// What stands before the steps of a shop sheet.
fn front() -> Vec<Block> {
    vec![
        Block::Text {
            runs: vec![
                Run::text("A governor that "),
                Run::Emphasis {
                    runs: runs("hunts"),
                },
                Run::text(
                    " or lags mostly has a dry or bent linkage. This job frees it, sets it and \
                     proves the speed; ",
                ),
                Run::Link {
                    target: Target::Leaf {
                        path: "tarn-t7/float-bowl-shop-sheet".to_owned(),
                        anchor: None,
                    },
                    runs: runs("Float bowl and jet"),
                },
                Run::text(" comes first where the engine also surges under load; "),
                Run::Link {
                    target: Target::Web {
                        address: "https://example.org/governors?a=1&b=2".to_owned(),
                    },
                    runs: runs("how governors work"),
                },
                Run::text("."),
            ],
        },
        section(
            "What can hurt",
            "safety",
            None,
            vec![Block::Safety(petrol()), Block::Safety(moving())],
        ),
        section(
            "Make safe",
            "energies",
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

/// Tools, kit, values, places and readings of a shop sheet.
fn lists() -> Vec<Block> {
    vec![
        section(
            "Tools",
            "tools",
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
            "kit",
            None,
            vec![table(
                "Kit",
                &[("Part", 4), ("Number", 3), ("Quantity", 2), ("Note", 3)],
                vec![
                    vec![
                        name("manifold gasket"),
                        Cell::Text {
                            runs: vec![Run::Code {
                                text: "T7-1185".to_owned(),
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
            "values",
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
            "places",
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

/// The sample job as a shop sheet.
pub(super) fn shop_sheet() -> Leaf {
    let mut blocks = front();
    blocks.extend(lists());
    blocks.extend(sections(&mut Steps(0)));
    blocks.push(sign_off(&[
        ("Take off, steps 4 to 9", "Mechanic"),
        ("Put back, steps 10 to 18", "Mechanic"),
        ("Set, steps 19 to 22", "Second mechanic"),
    ]));
    blocks.push(notices());
    Leaf {
        kind: LeafKind::ShopSheet,
        head: head(LeafKind::ShopSheet),
        blocks,
    }
}

/// The sample job as a bench checklist.
pub(super) fn checklist() -> Leaf {
    let mut blocks = sections(&mut Steps(0));
    for step in steps_mut(&mut blocks) {
        step.figures.clear();
        step.notes.clear();
    }
    blocks.push(sign_off(&[
        ("Take off and put back, steps 4 to 18", "Mechanic"),
        ("Set, steps 19 to 22", "Second mechanic"),
    ]));
    blocks.push(notices());
    Leaf {
        kind: LeafKind::BenchChecklist,
        head: head(LeafKind::BenchChecklist),
        blocks,
    }
}

/// Every step below some blocks.
fn steps_mut(blocks: &mut [Block]) -> Vec<&mut Step> {
    let mut found = Vec::new();
    for block in blocks {
        match block {
            Block::Section(section) => found.extend(steps_mut(&mut section.blocks)),
            Block::Steps { steps } => found.extend(steps),
            _ => {}
        }
    }
    found
}

/// A leaf with a head and no more.
pub(super) fn bare(kind: LeafKind) -> Leaf {
    Leaf {
        kind,
        head: Head {
            data_note: None,
            revised: None,
            facts: Vec::new(),
            entries: Vec::new(),
            ..head(kind)
        },
        blocks: Vec::new(),
    }
}

/// A job of many steps, some of them with a name that is longer than a line.
pub(super) fn long(kind: LeafKind) -> Leaf {
    let mut steps = Steps(0);
    let mut made: Vec<Step> = (0..60)
        .map(|_| {
            steps.step("Undo the next of the sixty screws and put it into its place in the tray.")
        })
        .collect();
    made[7].text = runs(&format!("Remove the {}.", "counterbalanceshaft".repeat(9)));
    made[8].details = vec![detail(
        "crankcase cover screw with captive washer and thread lock, the third from the left \
         counted from the side of the flywheel",
        Some(value("9 N·m ± 1 N·m", "(80 ± 8) lbf·in")),
        &["T30", "dry"],
    )];
    made[20].before = vec![petrol(), moving(), spring(), lever()];
    let row = vec![
        name(&"Schiebermuffenarretierung".repeat(3)),
        Cell::text("T7-".to_owned() + &"0123456789".repeat(4)),
    ];
    Leaf {
        kind,
        head: head(kind),
        blocks: vec![
            section(
                "Kit",
                "kit",
                None,
                vec![table("Kit", &[("Part", 1), ("Number", 1)], vec![row; 40])],
            ),
            section("Strip", "strip", None, vec![Block::Steps { steps: made }]),
        ],
    }
}

/// The sample shop sheet with every text of a user's replaced. What identifies
/// things (paths, anchors, the language) stays.
pub(super) fn with_every_text(text: &str) -> Leaf {
    let mut leaf = shop_sheet();
    let head = &mut leaf.head;
    for text_of_head in [&mut head.title, &mut head.shop, &mut head.mark] {
        text.clone_into(text_of_head);
    }
    head.data_note = Some(text.to_owned());
    head.machine = Some(text.to_owned());
    for fact in &mut head.facts {
        text.clone_into(&mut fact.label);
        text.clone_into(&mut fact.text);
    }
    for entry in &mut head.entries {
        text.clone_into(entry);
    }
    replace_in_blocks(&mut leaf.blocks, text);
    leaf
}

fn replace_in_blocks(blocks: &mut [Block], text: &str) {
    for block in blocks {
        match block {
            Block::Section(section) => {
                text.clone_into(&mut section.title);
                section.from = Some(text.to_owned());
                replace_in_blocks(&mut section.blocks, text);
            }
            Block::Text { runs } => replace_in_runs(runs, text),
            Block::Bullets { items } => items
                .iter_mut()
                .for_each(|item| replace_in_runs(item, text)),
            Block::Safety(message) => replace_in_message(message, text),
            Block::Table(table) => {
                text.clone_into(&mut table.caption);
                for column in &mut table.columns {
                    text.clone_into(&mut column.title);
                }
                for cell in table.rows.iter_mut().flatten() {
                    replace_in_cell(cell, text);
                }
            }
            Block::Steps { steps } => steps
                .iter_mut()
                .for_each(|step| replace_in_step(step, text)),
            Block::Figure(figure) => replace_in_figure(figure, text),
            Block::Notices { notices } => replace_all(notices, text),
            Block::SignOff { lines } => {
                for line in lines {
                    text.clone_into(&mut line.what);
                    text.clone_into(&mut line.role);
                }
            }
            Block::Protection { signs, notes } => {
                for sign in signs {
                    text.clone_into(&mut sign.referent);
                }
                replace_all(notes, text);
            }
            Block::Stop(stop) => {
                text.clone_into(&mut stop.title);
                text.clone_into(&mut stop.role);
                replace_all(&mut stop.state, text);
                stop.never = stop.never.as_ref().map(|_| text.to_owned());
            }
            Block::WrongHere { label } => text.clone_into(label),
        }
    }
}

fn replace_all(texts: &mut [String], text: &str) {
    for one in texts {
        text.clone_into(one);
    }
}

fn replace_in_runs(runs: &mut [Run], text: &str) {
    for run in runs {
        match run {
            Run::Text { text: one } | Run::Code { text: one } => text.clone_into(one),
            Run::Strong { runs } | Run::Emphasis { runs } | Run::Link { runs, .. } => {
                replace_in_runs(runs, text);
            }
            Run::Break => {}
        }
    }
}

fn replace_in_value(value: &mut Value, text: &str) {
    text.clone_into(&mut value.first);
    value.second = Some(text.to_owned());
}

fn replace_in_message(message: &mut SafetyMessage, text: &str) {
    text.clone_into(&mut message.hazard);
    text.clone_into(&mut message.consequence);
    replace_all(&mut message.avoid, text);
}

fn replace_in_cell(cell: &mut Cell, text: &str) {
    match cell {
        Cell::Text { runs } => replace_in_runs(runs, text),
        Cell::Name { text: one }
        | Cell::Place { text: one, .. }
        | Cell::Pattern { text: one, .. } => text.clone_into(one),
        Cell::Value { value } => replace_in_value(value, text),
        Cell::Choice { options } => replace_all(options, text),
        Cell::Tick | Cell::Blank => {}
    }
}

fn replace_in_figure(figure: &mut Figure, text: &str) {
    text.clone_into(&mut figure.alt);
    figure.caption = Some(text.to_owned());
}

fn replace_in_step(step: &mut Step, text: &str) {
    step.before
        .iter_mut()
        .for_each(|message| replace_in_message(message, text));
    replace_in_runs(&mut step.text, text);
    for note in &mut step.notes {
        replace_in_runs(note, text);
    }
    for detail in &mut step.details {
        text.clone_into(&mut detail.label);
        if let Some(value) = &mut detail.value {
            replace_in_value(value, text);
        }
        replace_all(&mut detail.more, text);
    }
    for blank in &mut step.blanks {
        match blank {
            Blank::Choice { label, options } => {
                text.clone_into(label);
                replace_all(options, text);
            }
            Blank::Reading {
                label,
                limits,
                boxes,
                unit,
                over,
                under,
                ..
            } => {
                text.clone_into(label);
                replace_in_value(limits, text);
                replace_all(boxes, text);
                text.clone_into(unit);
                *over = Some(text.to_owned());
                *under = Some(text.to_owned());
            }
            Blank::Words { label } => text.clone_into(label),
            Blank::State { label, state: one } | Blank::Bag { label, count: one } => {
                text.clone_into(label);
                text.clone_into(one);
            }
        }
    }
    for figure in &mut step.figures {
        replace_in_figure(figure, text);
    }
    replace_all(&mut step.holds, text);
}

/// A machine's page with every text set to `text` where one is given.
pub(super) fn page(text: Option<&str>) -> Page {
    let say = |usual: &str| text.unwrap_or(usual).to_owned();
    let leaf = |kind: LeafKind, pdf| Link {
        title: Words::english().get(kind.title_key()).to_owned(),
        path: format!("tarn-t7/governor-linkage-{}", kind.slug()),
        anchor: None,
        pdf,
    };
    let crumb = |title: &str, path: &str| Link {
        title: say(title),
        path: path.to_owned(),
        anchor: None,
        pdf: false,
    };
    Page {
        kind: PageKind::Machine,
        title: say("Tarn T7 tiller"),
        over: Some(say("Machine")),
        shop: say("Millbrook Tool Library"),
        logo: None,
        language: "en".to_owned(),
        path: "tarn-t7/index".to_owned(),
        data_note: Some(say(
            "Invented data for demonstration; not for use on any machine",
        )),
        nav: Nav {
            crumbs: vec![crumb("Front page", "index")],
            previous: Some(crumb("Tarn P50 transfer pump", "tarn-p50/index")),
            next: None,
            translations: Vec::new(),
        },
        facts: vec![Fact {
            label: say("Engine"),
            text: say("4-stroke, single, 196 cm³"),
        }],
        manual: None,
        links: vec![leaf(LeafKind::MachineData, false)],
        parts: vec![
            Part::Links {
                title: say("Governor"),
                anchor: "system-governor".to_owned(),
                entries: vec![Entry {
                    link: crumb(
                        "Governor linkage: free and reset",
                        "procedure/governor-linkage",
                    ),
                    about: vec![say("35 min"), say("every 100 h")],
                    leaves: vec![
                        leaf(LeafKind::ShopSheet, true),
                        leaf(LeafKind::BenchChecklist, false),
                    ],
                }],
            },
            Part::OnMachine {
                anchor: "on.tarn-t7".to_owned(),
                name: say("Tarn T7 tiller"),
                facts: Vec::new(),
                links: Vec::new(),
                blocks: vec![Block::Text {
                    runs: vec![Run::text(say("Free the linkage."))],
                }],
            },
        ],
        notices: vec![say(
            "These leaves do not replace the equipment maker's instructions.",
        )],
    }
}
