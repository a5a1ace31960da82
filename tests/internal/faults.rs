//! Fault tables: what the demonstration shop's say of a machine, row by row.

use super::support::{files, root, tree};
use crate::page::{Block, Cell, Edition, LinkTarget, OutputContext, Sheet, SheetKind, TextRun};
use crate::sheet;
use crate::tree::{Disk, Memory};
use crate::{CheckedJobs, Rehearsed, Sources};
use std::collections::BTreeSet;

fn demo() -> Sources {
    crate::read(&Disk::open(&root().join("procedures")).unwrap())
}

/// The sheet of a fault table, or a shop sheet.
fn make(
    sources: &Sources,
    checked: &CheckedJobs<'_, Rehearsed<'_>>,
    machine: &str,
    id: &str,
) -> Sheet {
    let faults = checked
        .faults
        .iter()
        .map(|one| (SheetKind::FaultTable, one));
    let jobs = checked.jobs.iter().map(|one| (SheetKind::ShopSheet, one));
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    let (kind, one) = faults
        .chain(jobs)
        .find(|(_, one)| one.job.machine.id == machine && one.job.procedure.id == id)
        .unwrap_or_else(|| panic!("there is no `{id}` on `{machine}`"));
    sheet::sheet_of_kind(kind, &one.job, &one.rehearsal, &output).unwrap()
}

/// What a row says: cause, what the test should show, where it leads.
#[derive(Debug, PartialEq)]
struct Row {
    cause: String,
    right: String,
    leads_to: Vec<String>,
}

fn row(cause: &str, right: &str, leads_to: &[&str]) -> Row {
    Row {
        cause: cause.to_owned(),
        right: right.to_owned(),
        leads_to: leads_to.iter().map(|&path| path.to_owned()).collect(),
    }
}

fn plain(runs: &[TextRun]) -> String {
    runs.iter()
        .map(|run| match run {
            TextRun::Text { text } | TextRun::Code { text } => text.clone(),
            TextRun::Strong { runs } | TextRun::Emphasis { runs } => plain(runs),
            TextRun::Link { runs, name, .. } => {
                let name = name.as_ref().map(|name| format!(" ({name})"));
                plain(runs) + &name.unwrap_or_default()
            }
            TextRun::PageNumber { .. } => String::new(),
            TextRun::Break => " / ".to_owned(),
        })
        .collect()
}

fn links(runs: &[TextRun]) -> Vec<String> {
    runs.iter()
        .filter_map(|run| match run {
            TextRun::Link {
                target: target @ (LinkTarget::Job(_) | LinkTarget::Page(_)),
                ..
            } => Some(target.to_string()),
            _ => None,
        })
        .collect()
}

fn read(cell: &Cell) -> String {
    match cell {
        Cell::Text { runs } => plain(runs),
        Cell::Name { text, .. } | Cell::Place { text, .. } | Cell::Pattern { text, .. } => {
            text.clone()
        }
        Cell::Value { value } => value.first.clone(),
        Cell::Choice { .. } | Cell::Tick | Cell::Blank => String::new(),
    }
}

fn rows(sheet: &Sheet) -> Vec<Row> {
    let mut rows = Vec::new();
    for block in &sheet.blocks {
        let Block::Section(section) = block else {
            continue;
        };
        for block in &section.blocks {
            let Block::Table(table) = block else { continue };
            if table.columns[0].title != "Likely cause" {
                continue;
            }
            for cells in &table.rows {
                let Cell::Text { runs } = &cells[4] else {
                    panic!("a remedy is text");
                };
                // A value is written beside its limits; all else is ticked.
                let is_value = matches!(cells[2], Cell::Value { .. });
                assert_eq!(is_value, matches!(cells[3], Cell::Blank));
                rows.push(Row {
                    cause: read(&cells[0]),
                    right: read(&cells[2]),
                    leads_to: links(runs),
                });
            }
        }
    }
    rows
}

#[test]
fn a_table_has_its_causes_in_order_with_limits_and_links() {
    let sources = demo();
    let checked = crate::check_all(&sources);
    let sheet = make(&sources, &checked, "tarn-p50", "low-pressure");
    let expected = [
        row(
            "1. The casing was not primed.",
            "Priming plug: ring soft and whole. / The hole is full of water.",
            &["job:tarn-p50/test-run"],
        ),
        row(
            "2. Air comes in on the suction side.",
            "Coupling washer soft, no crack that lets air in.",
            &[],
        ),
        row(
            "3. The suction basket is blocked, or lies too near the surface or the bottom.",
            "Every hole is open, and it lay a forearm deep and clear of the bottom.",
            &[],
        ),
        row(
            "4. The engine runs too slowly.",
            "3600\u{a0}rpm ± 100\u{a0}rpm",
            &["fault-table:tarn-p50/hunts"],
        ),
        row(
            "5. The delivery hose is kinked or leaks.",
            "Coupling washer soft, no bulge.",
            &[],
        ),
        row(
            "6. The impeller is worn, or is too far from the casing.",
            "at least 2.6\u{a0}bar",
            &["job:tarn-p50/shaft-seal"],
        ),
        row(
            "7. The shaft seal leaks.",
            "No drip within two minutes.",
            &["job:tarn-p50/shaft-seal"],
        ),
    ];
    assert_eq!(rows(&sheet), expected);
}

#[test]
fn each_value_of_a_test_has_a_row_of_its_own() {
    let sources = demo();
    let checked = crate::check_all(&sources);
    let sheet = make(&sources, &checked, "tarn-g30", "no-output");
    let rows = rows(&sheet);
    let at = rows.iter().position(|row| row.cause.starts_with("3. "));
    let at = at.unwrap();
    assert_eq!(rows[at].right, "3120\u{a0}rpm ± 60\u{a0}rpm");
    assert_eq!(rows[at + 1], row("", "52\u{a0}Hz ± 1\u{a0}Hz", &[]));
}

#[test]
fn a_cause_goes_where_the_machine_lacks_what_it_tests() {
    let sources = demo();
    let checked = crate::check_all(&sources);
    let has_rope = |machine: &str| {
        let sheet = make(&sources, &checked, machine, "hard-to-start");
        let rows = rows(&sheet);
        // Numbers go on without a gap, whatever was dropped.
        for (at, row) in rows.iter().enumerate() {
            assert!(row.cause.starts_with(&format!("{}. ", at + 1)), "{row:?}");
        }
        rows.iter().any(|row| row.cause.contains("rope"))
    };
    let mower = sources.shop.machines.get("tarn-m46").unwrap();
    assert!(mower.parts.find("starter-rope").is_none());
    assert!(has_rope("tarn-t7"));
    assert!(!has_rope("tarn-m46"));
}

#[test]
fn a_sheet_names_what_it_cures() {
    let sources = demo();
    let checked = crate::check_all(&sources);
    let cures = |id: &str| {
        let sheet = make(&sources, &checked, "tarn-p50", id);
        let section = sheet.blocks.iter().find_map(|block| match block {
            Block::Section(section) if section.title == "Faults this job fixes" => {
                Some(section.blocks.clone())
            }
            _ => None,
        });
        section.map(|blocks| {
            let [Block::Bullets { items }] = blocks.as_slice() else {
                panic!("it is one list");
            };
            let items = items.iter();
            items
                .map(|item| (plain(item), links(item)))
                .collect::<Vec<_>>()
        })
    };
    let low_pressure = "fault-table:tarn-p50/low-pressure".to_owned();
    assert_eq!(
        cures("shaft-seal"),
        Some(vec![(
            "Gives no water, or too little (causes 6 and 7)".to_owned(),
            vec![low_pressure]
        )])
    );
    assert_eq!(cures("oil-change"), None);
}

/// The findings of the tree `hand-pump` with a fault table laid over it: rule, message and help.
fn found(table: &str) -> Vec<(&'static str, String, String)> {
    let mut laid = files(&tree("hand-pump"));
    laid.push(("faults/stiff.md".to_owned(), table.as_bytes().to_vec()));
    let sources = crate::read(&Memory::new(laid));
    let checked = crate::check_all(&sources);
    let findings = checked.findings.iter().map(|one| {
        let help = one.help.clone().unwrap_or_default();
        (one.rule.name, one.whole_message(), help)
    });
    findings.collect()
}

/// A table with one cause, and more in its front matter.
fn table(front: &str, cause: &str) -> String {
    format!(
        "+++\ntitle = \"Stiff\"\n{front}+++\nThe lever takes two hands.\n\n## All\n\n1. {cause}\n"
    )
}

const FRONT: &str = "machines = [\"hand-pump\"]\n";

#[test]
fn a_whole_table_is_clean() {
    let cause = "Grit.\n   - Work the lever.\n   - [](see:procedure/cover)";
    assert_eq!(found(&table(FRONT, cause)), []);
    // In words, what is right need not stand on the machine.
    let cause = "Grit.\n   - [](inspect:cover)\n   - It lies flat.\n   - [](see:procedure/cover)";
    assert_eq!(found(&table(FRONT, cause)), []);
    // A word of advice is a remedy, and a table may lead to another.
    let cause = "Grit.\n   - [](measure:stroke)\n   - Oil it, or [](see:fault/stiff).";
    assert_eq!(found(&table(FRONT, cause)), []);
}

#[test]
fn a_name_that_is_not_known_gets_the_nearest() {
    let to = |remedy: &str| found(&table(FRONT, &format!("Grit.\n   - Look.\n   - {remedy}")));
    let near = |name: &str| format!("did you mean `{name}`?");
    let unknown =
        |kind: &str, near_name: &str| vec![("unknown-place", kind.to_owned(), near(near_name))];
    assert_eq!(
        to("[](see:procedure/covr)"),
        unknown("there is no procedure `covr`", "cover")
    );
    assert_eq!(
        to("[](see:fault/stif)"),
        unknown("there is no fault table `stif`", "stiff")
    );
    let cause = "Grit.\n   - [](measure:strok)\n   - Oil it.";
    assert_eq!(
        found(&table(FRONT, cause)),
        [(
            "unknown-thing",
            "`hand-pump` has no reading `strok`".to_owned(),
            near("stroke")
        )]
    );
    let cause = "Grit.\n   - Look.\n   - Oil it.";
    assert_eq!(
        found(&table("machines = [\"hand-pomp\"]\n", cause)),
        [(
            "unknown-thing",
            "there is no machine `hand-pomp`".to_owned(),
            near("hand-pump")
        )]
    );
}

#[test]
fn a_table_is_not_done_so_it_takes_no_time() {
    let front = format!("{FRONT}minutes = 5\n");
    let found = found(&table(&front, "Grit.\n   - Look.\n   - Oil it."));
    let [(rule, message, _)] = found.as_slice() else {
        panic!("{found:?}");
    };
    assert_eq!(*rule, "unknown-key");
    assert!(message.contains("`minutes`"), "{message}");
}
