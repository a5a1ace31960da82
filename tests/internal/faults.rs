//! Fault tables: the rows of the demonstration shop's tables, and the findings about faulty tables.

use super::plain;
use super::support::{files, root, tree};
use crate::page::{Block, Cell, Edition, LinkTarget, OutputContext, Sheet, SheetKind, TextRun};
use crate::sheet;
use crate::tree::{Disk, Memory};
use crate::{CheckedJobs, Rehearsed, Sources};
use std::collections::BTreeSet;

fn demo() -> Sources {
    crate::read(&Disk::open(&root().join("procedures")).unwrap())
}

/// The sheet of a fault table, or the shop sheet of a procedure.
fn sheet_of(
    sources: &Sources,
    checked: &CheckedJobs<'_, Rehearsed<'_>>,
    machine: &str,
    id: &str,
) -> Sheet {
    let faults = checked
        .faults
        .iter()
        .map(|rehearsed| (SheetKind::FaultTable, rehearsed));
    let jobs = checked
        .jobs
        .iter()
        .map(|rehearsed| (SheetKind::ShopSheet, rehearsed));
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    let (kind, rehearsed) = faults
        .chain(jobs)
        .find(|(_, rehearsed)| {
            rehearsed.job.machine.id == machine && rehearsed.job.procedure.id == id
        })
        .unwrap_or_else(|| panic!("there is no `{id}` on `{machine}`"));
    sheet::sheet_of_kind(kind, &rehearsed.job, &rehearsed.rehearsal, &output).unwrap()
}

/// A row of a fault table.
#[derive(Debug, PartialEq)]
struct Row {
    cause: String,
    /// What the test shows if this is not the cause.
    expected: String,
    leads_to: Vec<String>,
}

fn row(cause: &str, expected: &str, leads_to: &[&str]) -> Row {
    Row {
        cause: cause.to_owned(),
        expected: expected.to_owned(),
        leads_to: leads_to.iter().map(|&path| path.to_owned()).collect(),
    }
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

fn text_of(cell: &Cell) -> String {
    match cell {
        Cell::Text { runs } => plain(runs, " / "),
        Cell::Name { text, .. } | Cell::Place { text, .. } | Cell::Drawing { text, .. } => {
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
                    panic!("the remedy is not text");
                };
                // A measured value is written into a blank; another result is ticked.
                let is_value = matches!(cells[2], Cell::Value { .. });
                assert_eq!(is_value, matches!(cells[3], Cell::Blank));
                rows.push(Row {
                    cause: text_of(&cells[0]),
                    expected: text_of(&cells[2]),
                    leads_to: links(runs),
                });
            }
        }
    }
    rows
}

#[test]
fn a_fault_table_lists_its_causes_in_order_with_limits_and_links() {
    let sources = demo();
    let checked = crate::check_all(&sources);
    let sheet = sheet_of(&sources, &checked, "tarn-sedge", "low-pressure");
    let expected = [
        row(
            "1. The casing was not primed.",
            "Priming plug: ring soft and whole. / The hole is full of water.",
            &["job:tarn-sedge/test-run"],
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
            "3450\u{a0}rpm ± 100\u{a0}rpm",
            &["fault-table:tarn-sedge/hunts"],
        ),
        row(
            "5. The delivery hose is kinked or leaks.",
            "Coupling washer soft, no bulge.",
            &[],
        ),
        row(
            "6. The impeller is worn, or is too far from the casing.",
            "at least 2.4\u{a0}bar",
            &["job:tarn-sedge/shaft-seal"],
        ),
        row(
            "7. The shaft seal leaks.",
            "No drip within two minutes.",
            &["job:tarn-sedge/shaft-seal"],
        ),
    ];
    assert_eq!(rows(&sheet), expected);
}

#[test]
fn each_measured_value_has_its_own_row() {
    let sources = demo();
    let checked = crate::check_all(&sources);
    let sheet = sheet_of(&sources, &checked, "tarn-comfrey", "no-output");
    let rows = rows(&sheet);
    let at = rows.iter().position(|row| row.cause.starts_with("3. "));
    let at = at.unwrap();
    assert_eq!(rows[at].expected, "3120\u{a0}rpm ± 60\u{a0}rpm");
    assert_eq!(rows[at + 1], row("", "52\u{a0}Hz ± 1\u{a0}Hz", &[]));
}

#[test]
fn a_cause_is_omitted_if_the_machine_lacks_the_tested_part() {
    let sources = demo();
    let checked = crate::check_all(&sources);
    let has_rope = |machine: &str| {
        let sheet = sheet_of(&sources, &checked, machine, "hard-to-start");
        let rows = rows(&sheet);
        // The numbers have no gap where a cause was omitted.
        for (at, row) in rows.iter().enumerate() {
            assert!(row.cause.starts_with(&format!("{}. ", at + 1)), "{row:?}");
        }
        rows.iter().any(|row| row.cause.contains("rope"))
    };
    let mower = sources.shop.machines.get("tarn-mallow").unwrap();
    assert!(mower.parts.find("starter-rope").is_none());
    assert!(has_rope("tarn-yarrow"));
    assert!(!has_rope("tarn-mallow"));
}

#[test]
fn a_shop_sheet_lists_the_faults_that_its_job_fixes() {
    let sources = demo();
    let checked = crate::check_all(&sources);
    let faults_fixed_by = |id: &str| {
        let sheet = sheet_of(&sources, &checked, "tarn-sedge", id);
        let lines = sheet.blocks.iter().find_map(|block| match block {
            Block::Section(section) => section.blocks.iter().find_map(|block| match block {
                Block::SetUp { lines } => Some(lines.clone()),
                _ => None,
            }),
            _ => None,
        });
        let mut lines = lines.unwrap_or_default().into_iter();
        let line = lines.find(|line| line.label == "Faults this job fixes")?;
        Some(vec![(plain(&line.runs, " / "), links(&line.runs))])
    };
    let low_pressure = "fault-table:tarn-sedge/low-pressure".to_owned();
    assert_eq!(
        faults_fixed_by("shaft-seal"),
        Some(vec![(
            "Gives no water, or too little (causes 6 and 7)".to_owned(),
            vec![low_pressure]
        )])
    );
    assert_eq!(faults_fixed_by("oil-change"), None);
}

/// The findings of the tree `hand-pump` with a fault table added: rule, message and help.
fn findings_of(table: &str) -> Vec<(&'static str, String, String)> {
    let mut sources = files(&tree("hand-pump"));
    sources.push(("faults/stiff.md".to_owned(), table.as_bytes().to_vec()));
    let sources = crate::read(&Memory::new(sources));
    let checked = crate::check_all(&sources);
    let findings = checked.findings.iter().map(|finding| {
        let help = finding.help.clone().unwrap_or_default();
        (finding.rule.name, finding.whole_message(), help)
    });
    findings.collect()
}

/// A fault table with one cause. `front` is more front matter.
fn table(front: &str, cause: &str) -> String {
    format!(
        "+++\ntitle = \"Stiff\"\n{front}+++\nThe lever takes two hands.\n\n## All\n\n1. {cause}\n"
    )
}

const FRONT: &str = "machines = [\"hand-pump\"]\n";

#[test]
fn a_complete_fault_table_has_no_findings() {
    let cause = "Grit.\n   - Work the lever.\n   - [](see:procedure/cover)";
    assert_eq!(findings_of(&table(FRONT, cause)), []);
    // The expected result may be text instead of limits from the machine.
    let cause = "Grit.\n   - [](inspect:cover)\n   - It lies flat.\n   - [](see:procedure/cover)";
    assert_eq!(findings_of(&table(FRONT, cause)), []);
    // A remedy may be advice in words, and may refer to another table.
    let cause = "Grit.\n   - [](measure:stroke)\n   - Oil it, or [](see:fault/stiff).";
    assert_eq!(findings_of(&table(FRONT, cause)), []);
}

#[test]
fn an_unknown_name_gets_a_suggestion() {
    let with_remedy =
        |remedy: &str| findings_of(&table(FRONT, &format!("Grit.\n   - Look.\n   - {remedy}")));
    let suggestion = |name: &str| format!("did you mean `{name}`?");
    let unknown = |kind: &str, nearest: &str| {
        vec![("unresolved-reference", kind.to_owned(), suggestion(nearest))]
    };
    assert_eq!(
        with_remedy("[](see:procedure/covr)"),
        unknown("there is no procedure `covr`", "cover")
    );
    assert_eq!(
        with_remedy("[](see:fault/stif)"),
        unknown("there is no fault table `stif`", "stiff")
    );
    let cause = "Grit.\n   - [](measure:strok)\n   - Oil it.";
    assert_eq!(
        findings_of(&table(FRONT, cause)),
        [(
            "unknown-thing",
            "`hand-pump` has no reading `strok`".to_owned(),
            suggestion("stroke")
        )]
    );
    let cause = "Grit.\n   - Look.\n   - Oil it.";
    assert_eq!(
        findings_of(&table("machines = [\"hand-pomp\"]\n", cause)),
        [(
            "unknown-thing",
            "there is no machine `hand-pomp`".to_owned(),
            suggestion("hand-pump")
        )]
    );
}

#[test]
fn a_fault_table_cannot_have_minutes() {
    let front = format!("{FRONT}minutes = 5\n");
    let findings = findings_of(&table(&front, "Grit.\n   - Look.\n   - Oil it."));
    let [(rule, message, _)] = findings.as_slice() else {
        panic!("{findings:?}");
    };
    assert_eq!(*rule, "unknown-field");
    assert!(message.contains("`minutes`"), "{message}");
}

/// Its job would have no end.
#[test]
fn table_that_includes_a_procedure_which_includes_itself_is_reported() {
    let endless =
        "+++\ntitle = \"A\"\nmachines = [\"hand-pump\"]\n+++\nWhy.\n\n## Do\n\n1. [](do:endless)\n";
    let table = endless.replace("1. ", "1. It is worn.\n   - ");
    let mut world: Vec<(String, Vec<u8>)> = files(&tree("hand-pump"));
    world.push(("air/endless.md".to_owned(), endless.into()));
    world.push(("faults/stuck.md".to_owned(), table.into_bytes()));
    let findings = crate::check(&crate::read(&Memory::new(world))).findings;
    let rules: Vec<&str> = findings.iter().map(|finding| finding.rule.name).collect();
    assert!(rules.contains(&"procedure-cycle"), "{rules:?}");
}
