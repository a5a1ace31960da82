//! The dimensions of parts that wear: how they are read, what is found in them, and what the sheets have of them.

use super::Quiet;
use super::case::{Case, assert_clean, check_table, job};
use super::support::{root, typst};
use crate::check_jobs;
use crate::output::OutputSettings;
use crate::page::{Edition, OutputContext, SheetKind};
use crate::publish::{Outlet, Pdfs, Selection, publish};
use crate::quantity::Limits;
use crate::render::{Look, Typst};
use crate::sheet::{Summary, sheet_of_kind};
use crate::tree::Memory;
use std::collections::BTreeSet;
use std::process::Command;

/// A shaft with two dimensions, and what lies in front of it.
const SHAFT: &str = r#"
[energy.ignition]
name = "ignition"
kind = "ignition"
isolate = "Pull the cap"
prove = "Pull the starter: it doesn't fire"
restore = "Push the cap on"
[part.shaft]
name = "shaft"
[part.shaft.dimension.pin]
name = "pin diameter"
new = "29.98 mm to 30.00 mm"
desired = "29.97 mm to 30.00 mm"
wear-limit = "at least 29.92 mm"
where = "at two places, 90° apart"
beyond = "Renew the shaft."
[part.shaft.dimension.runout]
name = "run-out"
new = "max 0.02 mm"
wear-limit = "max 0.05 mm"
"#;

/// A part with one dimension of these fields.
fn dimension(fields: &str) -> Case {
    Case::on(&format!(
        "[part.rod]\nname = \"rod\"\n[part.rod.dimension.size]\nname = \"size\"\n{fields}\n"
    ))
}

#[test]
fn a_dimension_is_a_reading_of_its_machine() {
    let sources = crate::read(&Memory::new(Case::on(SHAFT).world));
    let machine = sources.shop.machines.get("case").unwrap();
    let reading = machine.readings.get("shaft/pin").unwrap();
    assert_eq!(reading.name, "pin diameter");
    assert_eq!(reading.title(), "shaft, pin diameter");
    let limits = reading.limits.as_ref().unwrap();
    let wanted = Limits::parse("at least 29.92 mm").unwrap();
    assert_eq!(*limits.spec.value.limits(), wanted);
    assert_eq!(limits.basis.as_deref(), Some("invented"));
    let part = machine.parts.get("shaft").unwrap();
    let of = reading.dimension.as_ref().unwrap();
    assert_eq!(of.part, part.id);
    assert_eq!(part.dimensions[of.dimension].key, "pin");
    assert_eq!(part.dimension_readings[0], reading.id);
}

/// The message of the only finding of a case, and the text that it marks.
#[track_caller]
fn only_finding(case: &Case) -> (String, String) {
    let sources = crate::read(&Memory::new(case.world.clone()));
    let checked = crate::check(&sources);
    let findings: Vec<_> = checked.findings.iter().collect();
    let [finding] = findings.as_slice() else {
        panic!("{findings:#?}");
    };
    let marked = sources.tree.text(finding.primary.as_ref().unwrap().span);
    (finding.message.clone(), marked.to_owned())
}

#[test]
fn a_finding_in_a_dimension_names_the_part_as_well() {
    let wear_limit = "wear-limit = \"max 1 mm\"";
    for (fields, message, marked) in [
        (
            "",
            "dimension `size` of part `rod` has no `wear-limit`",
            "size",
        ),
        (
            "wear-limit = \"max 1 mm\"\nwhere = 3",
            "`where` of dimension `size` of part `rod` should be text, not a whole number",
            "3",
        ),
        (
            "wear-limit = \"max 1 mm\"\nwear = \"2 mm\"",
            "dimension `size` of part `rod` has no field `wear`",
            "wear",
        ),
        (
            "wear-limit = \"max 1 mm\"\ntool = \"lathe\"",
            "dimension `size` of part `rod` names an unknown tool `lathe`",
            "lathe",
        ),
        (
            "wear-limit = \"max 1 mm\"\nbeyond = \"[](renew:rod)\"",
            "an instruction of dimension `size` of part `rod` contains an action",
            "[](renew:rod)",
        ),
    ] {
        let found = only_finding(&dimension(fields));
        assert_eq!(found, (message.to_owned(), marked.to_owned()));
    }
    let listed = Case::on("[part.rod]\nname = \"rod\"\ndimension = \"size\"\n");
    let message = "`dimension` of part `rod` should be a table for each id, not text";
    assert_eq!(only_finding(&listed).0, message);
    let flat = Case::on("[part.rod]\nname = \"rod\"\ndimension.size = \"1 mm\"\n");
    let message = "`size` of part `rod` should be a table, not text";
    assert_eq!(only_finding(&flat).0, message);
    let twice = dimension(&format!(
        "{wear_limit}\n[part.rod.dimension.other]\nname = \"Size\"\n{wear_limit}"
    ));
    let (message, marked) = only_finding(&twice);
    assert_eq!(message, "`size` and `other` have the same name: `Size`");
    assert_eq!(marked, "[part.rod.dimension.other]");
    // Two parts may have dimensions of the same name.
    assert_clean(&dimension(&format!(
        "{wear_limit}\n[part.pin]\nname = \"pin\"\n[part.pin.dimension.size]\nname = \"size\"\n{wear_limit}"
    )));
}

#[test]
fn a_file_has_at_most_two_thousand_dimensions() {
    let part = |name: &str, count: usize| {
        let dimensions = (0..count).map(|index| {
            format!(
                "[part.{name}.dimension.d{index}]\nname = \"{index}\"\nwear-limit = \"max 1 mm\"\n"
            )
        });
        format!(
            "[part.{name}]\nname = \"{name}\"\n{}",
            dimensions.collect::<String>()
        )
    };
    let full = part("rod", 1_500) + &part("pin", 500);
    assert_clean(&Case::on(&full));
    let (message, marked) = only_finding(&Case::on(&(full + &part("cap", 1))));
    assert_eq!(
        message,
        "the parts of a machine have more than 2000 dimensions"
    );
    assert_eq!(marked, "d0");
}

#[test]
fn an_action_names_a_dimension_with_its_part() {
    assert_clean(&job(
        SHAFT,
        &[
            "isolate:ignition",
            "prove:ignition",
            "measure:shaft/pin",
            "restore:ignition",
        ],
    ));
    for (step, help) in [
        ("measure:shaft/pen", "did you mean `shaft/pin`?"),
        (
            "measure:shaft",
            "`shaft` is a part: name one of its dimensions, as in `measure:shaft/…`, or inspect it",
        ),
    ] {
        let case = job(SHAFT, &[step]);
        let sources = crate::read(&Memory::new(case.world));
        let checked = crate::check(&sources);
        let helps: Vec<_> = checked
            .findings
            .iter()
            .map(|finding| finding.help.as_deref())
            .collect();
        assert_eq!(helps, [Some(help)], "{step}");
    }
    let condition =
        "[condition.ready]\nname = \"ready\"\nlost-by = \"work\"\nafter = \"measure:shaft/pin\"\n";
    let (message, _) = only_finding(&Case::on(&format!("{SHAFT}{condition}")));
    assert_eq!(
        message,
        "condition `ready` names a dimension of a part in `measure:shaft/pin`"
    );
}

/// The size when new, the desired size and the wear limit of a dimension, and the rules that find something in them.
const VALUES: [(&str, &str, &str, &str); 29] = [
    // Sound: worn smaller, worn larger, on the limit, one value, another unit, both sides, nothing but the limit.
    ("29.98 mm to 30.00 mm", "29.98 mm", "at least 29.92 mm", ""),
    (
        "65.00 mm to 65.02 mm",
        "65.00 mm to 65.05 mm",
        "max 65.10 mm",
        "",
    ),
    ("29.92 mm to 30.00 mm", "29.92 mm", "at least 29.92 mm", ""),
    ("30 mm", "30 mm", "at least 29.92 mm", ""),
    ("1.180 in to 1.181 in", "", "at least 29.92 mm", ""),
    ("2.00 mm to 2.05 mm", "", "1.90 mm to 2.20 mm", ""),
    ("max 0.02 mm", "max 0.01 mm", "max 0.05 mm", ""),
    ("at least 12 N", "13 N", "at least 10 N", ""),
    ("0.02 mm ± 0.01 mm", "", "max 0.10 mm", ""),
    ("", "29.95 mm", "at least 29.92 mm", ""),
    ("", "", "max 0.05 mm", ""),
    // Worn out when new: all of it, some of it, on the wrong side, in another unit.
    (
        "30.00 mm to 30.02 mm",
        "",
        "at least 30.05 mm",
        "worn-when-new",
    ),
    (
        "29.90 mm to 30.00 mm",
        "",
        "at least 29.92 mm",
        "worn-when-new",
    ),
    ("29.98 mm to 30.00 mm", "", "max 29.92 mm", "worn-when-new"),
    (
        "1.170 in to 1.176 in",
        "",
        "at least 29.92 mm",
        "worn-when-new",
    ),
    ("max 0.2 mm", "", "max 0.05 mm", "worn-when-new"),
    ("30 mm", "30 mm", "at least 30.05 mm", "worn-when-new"),
    // Desired beyond the limit, or less worn than new.
    (
        "29.98 mm to 30.00 mm",
        "29.09 mm",
        "at least 29.92 mm",
        "desired-size-out-of-range",
    ),
    (
        "29.98 mm to 30.00 mm",
        "29.98 mm to 30.01 mm",
        "at least 29.92 mm",
        "desired-size-out-of-range",
    ),
    (
        "65.00 mm to 65.02 mm",
        "64.99 mm",
        "max 65.10 mm",
        "desired-size-out-of-range",
    ),
    (
        "65.00 mm to 65.02 mm",
        "65.2 mm",
        "max 65.10 mm",
        "desired-size-out-of-range",
    ),
    (
        "",
        "29.9 mm",
        "at least 29.92 mm",
        "desired-size-out-of-range",
    ),
    (
        "",
        "2.3 mm",
        "1.90 mm to 2.20 mm",
        "desired-size-out-of-range",
    ),
    // Of another kind.
    ("30 N·m", "", "at least 29.92 mm", "dimension-kinds-differ"),
    (
        "30 mm",
        "30 N",
        "at least 29.92 mm",
        "dimension-kinds-differ",
    ),
    (
        "30 mm",
        "29 mm",
        "at least 12 N",
        "dimension-kinds-differ dimension-kinds-differ",
    ),
    // No limit.
    (
        "29.98 mm to 30.00 mm",
        "",
        "29.92 mm",
        "wear-limit-without-bound",
    ),
    ("", "", "29.92 mm ± 0.02 mm", "wear-limit-without-bound"),
    (
        "30 mm",
        "29.9 mm",
        "29.92 mm +0.02 mm -0 mm",
        "wear-limit-without-bound",
    ),
];

#[test]
fn the_values_of_a_dimension_are_compared() {
    let field = |key: &str, value: &str| match value {
        "" => String::new(),
        value => format!("{key} = \"{value}\"\n"),
    };
    for (new, desired, limit, rules) in VALUES {
        let fields = [("new", new), ("desired", desired), ("wear-limit", limit)];
        let fields: String = fields.map(|(key, value)| field(key, value)).concat();
        let rules: Vec<&str> = rules.split_whitespace().collect();
        let findings = dimension(&fields).findings();
        let found: Vec<&str> = findings.iter().map(|(rule, ..)| rule.as_str()).collect();
        assert_eq!(found, rules, "{fields}{findings:#?}");
    }
}

#[test]
fn a_part_with_dimensions_is_inspected_or_measured_before_it_is_refitted() {
    let safe = "isolate:ignition prove:ignition";
    let ways = "\
inspected | OFF remove:shaft inspect:shaft fit:shaft restore:ignition
inspected in its place | OFF inspect:shaft remove:shaft fit:shaft restore:ignition
both measured | OFF remove:shaft measure:shaft/pin measure:shaft/runout fit:shaft restore:ignition
measured before and after it comes off | OFF measure:shaft/runout remove:shaft measure:shaft/pin fit:shaft restore:ignition
renewed | OFF remove:shaft renew:shaft restore:ignition
measured on the bench while the ignition is live | OFF remove:shaft restore:ignition inspect:shaft measure:shaft/pin isolate:ignition prove:ignition fit:shaft restore:ignition
not inspected | OFF remove:shaft fit:shaft restore:ignition | refitted-uninspected | fit:shaft | job remove:shaft
one not measured | OFF remove:shaft measure:shaft/pin fit:shaft restore:ignition | refitted-uninspected | fit:shaft | job remove:shaft
one measured twice | OFF remove:shaft measure:shaft/pin clean:shaft measure:shaft/pin fit:shaft restore:ignition | refitted-uninspected | fit:shaft | job remove:shaft
measured before the shaft was fitted last | OFF remove:shaft measure:shaft/pin measure:shaft/runout fit:shaft remove:shaft fit:shaft restore:ignition | refitted-uninspected | fit:shaft | job remove:shaft
measured in its place while the ignition is live | measure:shaft/pin | work-on-live-energy | measure:shaft/pin |
";
    check_table(SHAFT, safe, ways);
    // A crack decides as well, which no measurement shows.
    let reuse = SHAFT.replace(
        "name = \"shaft\"\n",
        "name = \"shaft\"\nreuse = \"No crack.\"\n",
    );
    let ways = "\
inspected | OFF remove:shaft inspect:shaft fit:shaft restore:ignition
only measured | OFF remove:shaft measure:shaft/pin measure:shaft/runout fit:shaft restore:ignition | refitted-uninspected | fit:shaft | job remove:shaft
";
    check_table(&reuse, safe, ways);
    // What was measured before it was cleaned does not count.
    let clean = SHAFT.replace("name = \"shaft\"\n", "name = \"shaft\"\nclean = true\n");
    let ways = "\
measured after cleaning | OFF remove:shaft clean:shaft measure:shaft/pin measure:shaft/runout fit:shaft restore:ignition
measured before cleaning | OFF remove:shaft measure:shaft/pin measure:shaft/runout clean:shaft fit:shaft restore:ignition | refitted-uninspected | fit:shaft | job remove:shaft
";
    check_table(&clean, safe, ways);
}

#[test]
fn a_tool_is_in_the_kit_and_is_compared_with_the_wear_limit() {
    let tool = |fields: &str| {
        let mut case = Case::on(&SHAFT.replace(
            "where = \"at two places, 90° apart\"\n",
            "tool = \"micrometer\"\n",
        ))
        .with(
            "job",
            "",
            &[
                "isolate:ignition",
                "prove:ignition",
                "inspect:shaft",
                "restore:ignition",
            ],
        );
        case.add(
            "tools.toml",
            &format!("[tool.micrometer]\nname = \"outside micrometer\"\n{fields}"),
        );
        case
    };
    let sound = tool("range = \"25 mm to 50 mm\"\naccuracy = \"0.005 mm\"\n");
    assert_clean(&sound);
    // The list of tools has its range as well, which the table of the dimensions does not.
    let sheets = sound.sheets("job");
    let listed = "outside micrometer, 25\u{a0}mm to 50\u{a0}mm";
    assert!(sheets[0].contains(listed), "{}", sheets[0]);
    let narrow = tool("range = \"0 mm to 25 mm\"\naccuracy = \"0.005 mm\"\n");
    let rules: Vec<String> = narrow
        .findings()
        .into_iter()
        .map(|(rule, ..)| rule)
        .collect();
    assert_eq!(rules, ["meter-out-of-range"]);
    // How far a pin is out of round is the difference of two readings of the same tool.
    let mut round = tool("range = \"25 mm to 50 mm\"\naccuracy = \"0.005 mm\"\n");
    round.add(
        "machines/case.toml",
        "[part.shaft.dimension.round]\nname = \"out-of-round\"\nwear-limit = \"max 0.03 mm\"\ntool = \"micrometer\"\n",
    );
    assert_clean(&round);
}

/// The tables of the dimensions in a sheet, as JSON.
fn wear_tables(sheet: &str) -> Vec<serde_json::Value> {
    fn find(value: &serde_json::Value, found: &mut Vec<serde_json::Value>) {
        match value {
            serde_json::Value::Object(members) => {
                for (key, member) in members {
                    match member.as_array() {
                        Some(tables) if key == "wear" => found.extend(tables.iter().cloned()),
                        _ => find(member, found),
                    }
                }
            }
            serde_json::Value::Array(items) => items.iter().for_each(|item| find(item, found)),
            _ => {}
        }
    }
    let mut found = Vec::new();
    find(&serde_json::from_str(sheet).unwrap(), &mut found);
    found
}

#[test]
fn a_step_has_the_dimensions_that_it_measures() {
    let case = job(
        SHAFT,
        &[
            "isolate:ignition",
            "prove:ignition",
            "inspect:shaft",
            "measure:shaft/runout",
            "restore:ignition",
        ],
    );
    let sheets = case.sheets("job");
    let [shop_sheet, checklist] = sheets.as_slice() else {
        panic!("{sheets:?}");
    };
    for (sheet, is_filled_in) in [(shop_sheet, false), (checklist, true)] {
        let tables = wear_tables(sheet);
        let [whole, single] = tables.as_slice() else {
            panic!("{tables:#?}");
        };
        assert_eq!(whole["to-fill"], is_filled_in);
        assert_eq!(whole["rows"].as_array().unwrap().len(), 2);
        let pin = &whole["rows"][0];
        assert_eq!(pin["of"], "shaft/pin");
        assert_eq!(pin["how"][0], "at two places, 90° apart");
        assert_eq!(pin["new"]["first"], "29.98\u{a0}mm to 30.00\u{a0}mm");
        assert_eq!(pin["limit"]["first"], "at least 29.92\u{a0}mm");
        assert_eq!(pin["least"], "29.92");
        assert_eq!(pin["most"], serde_json::Value::Null);
        assert_eq!(pin["beyond"], "Renew the shaft.");
        let rows = single["rows"].as_array().unwrap();
        assert_eq!(rows.len(), 1);
        assert_eq!(rows[0]["of"], "shaft/runout");
        assert_eq!(rows[0]["most"], "0.05");
    }
    assert!(shop_sheet.contains("Measure the run-out of the shaft"));
}

#[test]
fn a_fault_table_has_the_dimensions_of_a_part_that_its_test_inspects() {
    let mut case = Case::on(SHAFT);
    case.add(
        "faults/knocks.md",
        "+++\ntitle = \"Knocks\"\nmachines = [\"case\"]\n+++\nIt knocks.\n\n## Worn\n\n1. The shaft is worn.\n   \
         - [](isolate:ignition), [](prove:ignition), [](inspect:shaft)\n   - Renew it.\n",
    );
    assert_clean(&case);
    let sources = crate::read(&Memory::new(case.world));
    let checked = crate::check_all(&sources);
    let [fault] = checked.faults.as_slice() else {
        panic!("there is one fault table");
    };
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    let (job, rehearsal) = (&fault.job, &fault.rehearsal);
    let sheet = sheet_of_kind(SheetKind::FaultTable, job, rehearsal, &output).unwrap();
    let sheet = serde_json::to_string(&sheet).unwrap();
    for (name, limit) in [
        ("Pin diameter", "at least 29.92"),
        ("Run-out", "at most 0.05"),
    ] {
        assert_eq!(sheet.matches(name).count(), 1, "{sheet}");
        assert!(sheet.contains(&format!("\"{limit}\"")), "{sheet}");
    }
}

/// The text of a machine's data sheet, as `pdftotext` reads it from the PDF.
fn data_sheet(case: &Case) -> String {
    let sources = crate::read(&Memory::new(case.world.clone()));
    let checked = check_jobs(&sources, None, |rehearsed| {
        Some(Summary::of(&rehearsed.job))
    });
    let folder = tempfile::tempdir().unwrap();
    let outlet = Outlet {
        look: &Look::default(),
        pdfs: &Pdfs::With(Typst::find(Some(&typst()), None, &root()).unwrap()),
        folder: folder.path(),
        settings: OutputSettings::TEMPORARY,
        world: None,
        progress: &Quiet,
    };
    publish(&sources, &checked, &Selection::default(), outlet).unwrap();
    let output = Command::new("pdftotext")
        .args(["-layout", "-enc", "UTF-8"])
        .arg(folder.path().join("case/machine-data.pdf"))
        .arg("-")
        .output()
        .expect("pdftotext is installed: see `cargo xtask test`");
    assert!(output.status.success());
    String::from_utf8(output.stdout).unwrap()
}

/// The numbers in a text, sorted.
fn numbers(text: &str) -> Vec<&str> {
    let pieces = text.split(|letter: char| !letter.is_ascii_digit() && letter != '.');
    let mut numbers: Vec<&str> = pieces
        .map(|piece| piece.trim_matches('.'))
        .filter(|piece| !piece.is_empty())
        .collect();
    numbers.sort_unstable();
    numbers
}

#[test]
fn the_data_sheet_has_every_number_of_the_dimensions() {
    let fields = SHAFT.split("[part.shaft]").nth(1).unwrap();
    for paper in ["A4", "Letter"] {
        let mut case = job(
            SHAFT,
            &[
                "isolate:ignition",
                "prove:ignition",
                "inspect:shaft",
                "restore:ignition",
            ],
        );
        let file = case.world.get_mut("shop.toml").unwrap();
        let text = String::from_utf8_lossy(file).into_owned();
        *file = format!("paper = \"{paper}\"\n{text}\n[units]\nlength = [\"mm\"]\n").into_bytes();
        let sheet = data_sheet(&case);
        let (_, wear) = sheet.split_once("Wear and reuse").unwrap();
        let (wear, _) = wear.split_once("Make safe").unwrap();
        assert_eq!(numbers(wear), numbers(fields), "{paper}: {wear}");
        for text in ["pin diameter", "run-out", "Renew the shaft.", "90° apart"] {
            let words: Vec<&str> = text.split(' ').collect();
            assert!(words.iter().all(|word| wear.contains(word)), "{wear}");
        }
    }
}
