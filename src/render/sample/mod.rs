//! Sample sheets and pages for tests: a job with everything that a sheet can have, as shop sheet and
//! checklist, and long, empty and hostile variants. All data is invented.

mod lists;
mod page;
mod parts;
mod replace;
mod steps;

use crate::page::{
    Block, Cell, Edition, Fact, HeadEntry, JobId, OutputContext, PageId, Paper, SectionId, Sheet,
    SheetHead, SheetKind, SheetStep, SheetStepContent, SignLine, Topic,
};
use crate::tree::{self, Memory};
use crate::words::{DEFAULT_LANGUAGE, Words};
use lists::{front, lists};
pub(super) use page::page;
use parts::{
    Steps, again, detail, lever, moving, name, petrol, runs, section, spring, strings, table, value,
};
pub(super) use replace::with_every_text;
use steps::sections;

/// The content of [`FIGURE`].
pub(super) const DRAWING: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 120 90" width="120" height="90">
<g fill="none" stroke="#000" stroke-width="2" stroke-linecap="round" stroke-linejoin="round">
<rect x="8" y="48" width="34" height="30" rx="2"/><path d="M25 48V30"/><circle cx="25" cy="27" r="3"/>
<path d="M28 27 88 40"/><path d="M96 14 88 40 98 74"/><circle cx="88" cy="40" r="3"/><circle cx="91" cy="52" r="2"/>
<path d="M98 74h14" stroke-dasharray="3 4"/></g>
</svg>"##;

/// The path of the sample figure in the shop's tree.
pub(super) const FIGURE: &str = "governor/linkage.svg";

/// The path of the sample figure in the output.
pub(super) const FIGURE_IN_OUTPUT: &str = "figures/linkage-1a2b3c4d.svg";

pub(super) fn job() -> JobId {
    JobId::new("tarn-yarrow", "governor-linkage")
}

/// The page of a sheet of this kind for the sample job or its machine.
pub(super) fn page_id(kind: SheetKind) -> PageId {
    match kind {
        SheetKind::ShopSheet
        | SheetKind::BenchChecklist
        | SheetKind::KitList
        | SheetKind::FaultTable => PageId::JobSheet(kind, job()),
        SheetKind::MachineData
        | SheetKind::PartsList
        | SheetKind::IntervalChart
        | SheetKind::CautionSheet => PageId::MachineSheet(kind, job().machine),
        SheetKind::WhereUsed => PageId::WhereUsed,
    }
}

/// The contexts of a run in these languages. The run makes all pages that the samples link to.
pub(super) fn outputs(languages: &[&str]) -> Vec<OutputContext> {
    let editions = languages.iter().map(|language| Edition {
        language: (*language).to_owned(),
        words: Words::english().clone(),
    });
    let editions: Vec<Edition> = editions.collect();
    let bowl = JobId::new("tarn-yarrow", "float-bowl");
    let machines = ["tarn-yarrow", "tarn-sedge"].map(|id| PageId::Machine(id.to_owned()));
    let pages = SheetKind::ALL
        .map(page_id)
        .into_iter()
        .chain(machines)
        .chain([
            PageId::Front,
            PageId::JobSheet(SheetKind::ShopSheet, bowl),
            PageId::Procedure("governor-linkage".to_owned()),
        ]);
    let pages: std::collections::BTreeSet<PageId> = pages.collect();
    let empty = tree::read(&Memory::new([] as [(&str, &str); 0]));
    OutputContext::of_editions(&empty, &editions, pages)
}

/// The head of the sample job's sheets.
pub(super) fn head(kind: SheetKind) -> SheetHead {
    SheetHead {
        kind_title: Words::english().get(kind.title_key()).to_owned(),
        title: "Governor linkage: free and reset".to_owned(),
        machine: Some("Tarn Yarrow tiller".to_owned()),
        shop: "Millbrook Tool Library".to_owned(),
        language: DEFAULT_LANGUAGE.to_owned(),
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
        entries: [
            ("job-number", "Job number"),
            ("serial-number", "Machine number"),
            ("mechanic", "Mechanic"),
            ("date", "Date"),
        ]
        .map(|(key, label)| HeadEntry {
            key: key.to_owned(),
            label: label.to_owned(),
            serials: Vec::new(),
        })
        .to_vec(),
    }
}

fn sign_off(lines: &[(&str, &str)]) -> Block {
    section(
        "Sign-off",
        SectionId::Topic(Topic::SignOff),
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
            "This sheet does not replace the equipment maker's instructions, local codes or \
             licensed practice; where they differ, they rule.",
            "Tell the lead mechanic when this sheet is wrong: it is corrected the same day.",
        ]),
    }
}

/// The sample job as a shop sheet.
pub(super) fn shop_sheet() -> Sheet {
    let mut blocks = front();
    blocks.extend(lists());
    blocks.extend(sections(&mut Steps(0)));
    blocks.push(sign_off(&[
        ("Take off, steps 4 to 9", "Mechanic"),
        ("Put back, steps 10 to 18", "Mechanic"),
        ("Set, steps 19 to 22", "Second mechanic"),
    ]));
    blocks.push(notices());
    Sheet {
        page: page_id(SheetKind::ShopSheet),
        kind: SheetKind::ShopSheet,
        head: head(SheetKind::ShopSheet),
        blocks,
    }
}

/// The sample job as a bench checklist.
pub(super) fn checklist() -> Sheet {
    let mut blocks = sections(&mut Steps(0));
    for step in steps_mut(&mut blocks) {
        let content = content_mut(step);
        content.figures.clear();
        content.notes.clear();
        content.wear.clear();
    }
    blocks.push(sign_off(&[
        ("Take off and put back, steps 4 to 18", "Mechanic"),
        ("Set, steps 19 to 22", "Second mechanic"),
    ]));
    blocks.push(notices());
    Sheet {
        page: page_id(SheetKind::BenchChecklist),
        kind: SheetKind::BenchChecklist,
        head: head(SheetKind::BenchChecklist),
        blocks,
    }
}

/// Every step in blocks and their sections.
fn steps_mut(blocks: &mut [Block]) -> Vec<&mut SheetStep> {
    let mut all_steps = Vec::new();
    for block in blocks {
        match block {
            Block::Section(section) => all_steps.extend(steps_mut(&mut section.blocks)),
            Block::Steps { steps } => all_steps.extend(steps),
            _ => {}
        }
    }
    all_steps
}

/// The content of a step, mutable. The sample steps do not share their content.
fn content_mut(step: &mut SheetStep) -> &mut SheetStepContent {
    std::sync::Arc::make_mut(&mut step.content)
}

/// A sheet with a minimal head and no blocks.
pub(super) fn bare(kind: SheetKind) -> Sheet {
    Sheet {
        page: page_id(kind),
        kind,
        head: SheetHead {
            data_note: None,
            revised: None,
            facts: Vec::new(),
            entries: Vec::new(),
            ..head(kind)
        },
        blocks: Vec::new(),
    }
}

/// A sheet with many steps and table rows, some with words that are longer than a line.
pub(super) fn long(kind: SheetKind) -> Sheet {
    let mut counter = Steps(0);
    let mut steps: Vec<SheetStep> = (0..60)
        .map(|_| {
            counter.step("Undo the next of the sixty screws and put it into its place in the tray.")
        })
        .collect();
    content_mut(&mut steps[7]).text =
        runs(&format!("Remove the {}.", "counterbalanceshaft".repeat(9)));
    content_mut(&mut steps[8]).details = vec![detail(
        "crankcase cover screw with captive washer and thread lock, the third from the left \
         counted from the side of the flywheel",
        Some(value("9 N·m ± 1 N·m", "(80 ± 8) lbf·in")),
        &["T30", "dry"],
    )];
    steps[20].before = [petrol(), moving(), spring(), lever()].map(again).to_vec();
    let row = vec![
        name(&"Schiebermuffenarretierung".repeat(3)),
        Cell::text("YAR-".to_owned() + &"0123456789".repeat(4)),
    ];
    Sheet {
        page: page_id(kind),
        kind,
        head: head(kind),
        blocks: vec![
            section(
                "Kit",
                SectionId::Topic(Topic::Kit),
                None,
                vec![table("Kit", &[("Part", 1), ("Number", 1)], vec![row; 40])],
            ),
            section(
                "Strip",
                SectionId::Steps(1),
                None,
                vec![Block::Steps { steps }],
            ),
        ],
    }
}
