//! Repair kits: several new parts under one number.

use super::case::{Case, assert_clean, job};
use super::supply_cases::kit_rows;

const MACHINE: &str = r#"
[part.bowl-gasket]
name = "bowl gasket"
number = "G-1"
price = "2.00"
single-use = true
[part.needle]
name = "needle"
number = "N-1"
[part.washer]
name = "washer"
count = 2
single-use = true
[part.jet]
name = "jet"
number = "J-1"
[kit.small]
name = "gasket set"
number = "K-1"
bin = "B4"
price = "5.00"
holds = ["bowl-gasket", "washer"]
[kit.full]
name = "carburettor kit"
number = "K-9"
holds = ["bowl-gasket", "washer", "needle"]
"#;

fn renewing(parts: &[&str]) -> Case {
    let steps = parts
        .iter()
        .flat_map(|part| [format!("remove:{part}"), format!("renew:{part}")]);
    let steps: Vec<String> = steps.collect();
    job(
        MACHINE,
        &steps.iter().map(String::as_str).collect::<Vec<_>>(),
    )
}

/// The name, the number and the amount of each row, and what it is for.
fn rows(case: &Case) -> Vec<String> {
    assert_clean(case);
    let rows = kit_rows(case).into_iter();
    let texts = rows.map(|row| {
        row.iter()
            .filter(|text| !text.is_empty())
            .cloned()
            .collect::<Vec<_>>()
            .join(" | ")
    });
    texts.collect()
}

#[test]
fn a_kit_stands_for_the_parts_that_it_holds() {
    for (parts, wanted) in [
        // One part with a number of its own is pulled alone.
        (&["bowl-gasket"][..], "bowl gasket | G-1"),
        (&["needle"], "needle | N-1"),
        // One without a number is only in the kit.
        (&["washer"], "gasket set | K-1"),
        // Two or more: the kit with the most of them.
        (&["bowl-gasket", "washer"], "K-"),
        (
            &["bowl-gasket", "washer", "needle"],
            "carburettor kit | K-9",
        ),
        (&["washer", "jet"], "jet | J-1"),
    ] {
        let rows = rows(&renewing(parts));
        assert!(
            rows.iter().any(|row| row.contains(wanted)),
            "{parts:?} {rows:?}"
        );
        let gaskets = rows.iter().filter(|row| row.contains("bowl gasket | G-1"));
        assert_eq!(
            gaskets.count(),
            usize::from(parts == ["bowl-gasket"]),
            "{rows:?}"
        );
    }
    let kit = rows(&renewing(&["bowl-gasket", "washer", "needle"]));
    assert!(
        kit[0].contains("for bowl gasket, washer and needle")
            || kit[0].contains("for bowl gasket, washer, needle"),
        "{kit:?}"
    );
    let small = rows(&renewing(&["washer"]));
    assert!(
        small[0].contains("B4") && small[0].contains("5.00"),
        "{small:?}"
    );
}

#[test]
fn as_many_kits_are_pulled_as_the_parts_need() {
    let twice = [
        "remove:bowl-gasket",
        "renew:bowl-gasket",
        "remove:bowl-gasket",
        "renew:bowl-gasket",
        "remove:washer",
        "renew:washer",
    ];
    let rows = rows(&job(MACHINE, &twice));
    assert!(rows[0].contains("| 2 |"), "{rows:?}");
}

/// A part may have the id of a kit, and a kit may be needed only on an outcome.
#[test]
fn a_kit_and_a_part_of_the_same_id_are_both_pulled() {
    let machine = format!("{MACHINE}[part.small]\nname = \"small spring\"\nnumber = \"S-1\"\n");
    let steps = [
        "remove:washer",
        "renew:washer",
        "remove:small",
        "renew:small",
    ];
    let rows = rows(&job(&machine, &steps));
    for wanted in ["small spring | S-1", "gasket set | K-1"] {
        assert!(rows.iter().any(|row| row.contains(wanted)), "{rows:?}");
    }
}

#[test]
fn a_kit_that_may_not_be_needed_says_so() {
    let machine = format!(
        "{MACHINE}[part.float]\nname = \"float\"\nreuse = \"dry inside\"\n[kit.float-set]\nname = \"float set\"\nnumber = \"K-2\"\nholds = [\"float\"]\n"
    );
    let mut case = job(&machine, &["remove:float", "inspect:float", "renew:float"]);
    let text = String::from_utf8(case.world["case/job.md"].clone()).unwrap();
    let marks = "[](renew:float) {if=\"float.renew\"}\n1. [](fit:float) {if=\"float.reuse\"}";
    let text = text.replace("[](renew:float)", marks);
    case.world
        .insert("case/job.md".to_owned(), text.into_bytes());
    let rows = rows(&case);
    assert!(
        rows[0].contains("for float; only if it is needed"),
        "{rows:?}"
    );
}

#[test]
fn a_variant_takes_the_kit_over_without_what_it_lacks() {
    let mut case = renewing(&["bowl-gasket", "needle"]);
    let text = String::from_utf8(case.world["case/job.md"].clone()).unwrap();
    case.world.insert(
        "case/job.md".to_owned(),
        text.replace("[\"case\"]", "[\"other\"]").into_bytes(),
    );
    case.add(
        "machines/other.toml",
        "name = \"Tarn Rush B\"\nlike = \"case\"\nlacks = [\"washer\"]\n",
    );
    let rows = rows(&case);
    assert!(rows[0].contains("carburettor kit | K-9"), "{rows:?}");
}

#[test]
fn a_kit_holds_known_parts_each_once() {
    for (holds, rule) in [
        ("\"bowl-gasket\", \"bowl-gaskets\"", "unknown-name"),
        ("\"bowl-gasket\", \"bowl-gasket\"", "conflicting-fields"),
    ] {
        let machine = MACHINE.replace(
            "holds = [\"bowl-gasket\", \"washer\"]",
            &format!("holds = [{holds}]"),
        );
        let rules: Vec<String> = Case::on(&machine)
            .findings()
            .into_iter()
            .map(|(rule, ..)| rule)
            .collect();
        assert_eq!(rules, [rule]);
    }
}
