//! Leaves to test with: one job with everything that a leaf can hold, in both
//! kinds, and the ways to make it long, empty or hostile. All data is invented.

mod lists;
mod page;
mod parts;
mod replace;
mod steps;

use crate::page::{Block, Cell, Fact, Head, Leaf, LeafKind, Paper, SignLine, Step};
use crate::words::Words;
use lists::{front, lists};
pub(super) use page::page;
use parts::{
    Steps, detail, lever, moving, name, petrol, runs, section, spring, strings, table, value,
};
pub(super) use replace::with_every_text;
use steps::sections;

/// A drawing to stand in the work folder under [`FIGURE`].
pub(super) const DRAWING: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 120 90" width="120" height="90">
<g fill="none" stroke="#000" stroke-width="2" stroke-linecap="round" stroke-linejoin="round">
<rect x="8" y="48" width="34" height="30" rx="2"/><path d="M25 48V30"/><circle cx="25" cy="27" r="3"/>
<path d="M28 27 88 40"/><path d="M96 14 88 40 98 74"/><circle cx="88" cy="40" r="3"/><circle cx="91" cy="52" r="2"/>
<path d="M98 74h14" stroke-dasharray="3 4"/></g>
</svg>"##;

/// Where the drawing stands.
pub(super) const FIGURE: &str = "figures/linkage-1a2b3c4d.svg";
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
