//! Linkages whose position depends on a value.

use super::case::{Case, job};
use crate::tree::Memory;

/// A spring with these fields, and a speed with these limits.
fn machine(limits: &str, fields: &str) -> String {
    format!(
        "engine = {{ kind = \"four-stroke\", ignition-pulses-per-turn = 0.5 }}\n\
         [reading.speed]\nname = \"governed speed\"\nlimits = \"{limits}\"\nengine = \"running\"\n\
         [part.spring]\nname = \"spring\"\n{fields}"
    )
}

const FOR: &str = "positions = [\"hole A\", \"hole B\", \"hole C\"]\nposition-by = \"speed\"\n\
    [part.spring.position-for]\n\"hole A\" = \"2600 rpm to 2950 rpm\"\n\"hole B\" = \"2950 rpm to 3300 rpm\"\n\
    \"hole C\" = \"3300 rpm to 3650 rpm\"\n";

fn position(limits: &str, fields: &str) -> Option<String> {
    let case = Case::on(&machine(limits, fields));
    let sources = crate::read(&Memory::new(case.world));
    let machine = sources.shop.machines.get("case").unwrap();
    let part = machine.parts.get("spring").unwrap();
    part.position
        .as_ref()
        .map(|position| position.value.clone())
}

#[test]
fn the_limits_of_the_reading_decide_on_the_position() {
    for (limits, wanted) in [
        ("2800 rpm ± 50 rpm", Some("hole A")),
        ("3150 rpm ± 50 rpm", Some("hole B")),
        ("3250 rpm to 3300 rpm", Some("hole B")),
        ("3600 rpm ± 50 rpm", Some("hole C")),
        // Across two ranges, and outside of all.
        ("3300 rpm ± 50 rpm", None),
        ("3800 rpm ± 50 rpm", None),
    ] {
        assert_eq!(position(limits, FOR).as_deref(), wanted, "{limits}");
    }
    // What the file says is kept.
    let said = format!("position = \"hole A\"\n{FOR}");
    assert_eq!(
        position("3150 rpm ± 50 rpm", &said).as_deref(),
        Some("hole A")
    );
}

#[test]
fn a_position_for_another_value_is_found() {
    let given = |position: &str| format!("position = \"{position}\"\n{FOR}");
    for (limits, fields, is_found) in [
        ("2800 rpm ± 50 rpm", FOR.to_owned(), false),
        ("3150 rpm ± 50 rpm", given("hole B"), false),
        ("3600 rpm ± 50 rpm", given("hole C"), false),
        // Where two positions are for the value, the author decides.
        ("2950 rpm to 2950 rpm", given("hole A"), false),
        (
            "3150 rpm ± 50 rpm",
            "positions = [\"hole A\", \"hole B\"]\n".to_owned(),
            false,
        ),
        ("3150 rpm ± 50 rpm", given("hole A"), true),
        ("3300 rpm ± 50 rpm", given("hole B"), true),
        ("3800 rpm ± 50 rpm", FOR.to_owned(), true),
        ("3300 rpm ± 50 rpm", FOR.to_owned(), true),
        (
            "3150 rpm ± 50 rpm",
            FOR.replace("3300 rpm\"\n", "3300 m\"\n"),
            true,
        ),
    ] {
        let rules: Vec<String> = Case::on(&machine(limits, &fields))
            .findings()
            .into_iter()
            .map(|(rule, ..)| rule)
            .collect();
        let rule = "position-not-for-value".to_owned();
        assert_eq!(
            rules.contains(&rule),
            is_found,
            "{limits} {fields} {rules:?}"
        );
    }
}

#[test]
fn fields_that_do_not_go_together_are_reported() {
    for (fields, rule) in [
        (
            FOR.replace("position-by = \"speed\"\n", ""),
            "conflicting-fields",
        ),
        (FOR.replace("\"hole C\" =", "\"hole D\" ="), "unknown-name"),
        (FOR.replace("\"speed\"", "\"sped\""), "unknown-name"),
        (
            FOR.replace("2600 rpm to 2950 rpm", "slow"),
            "ill-formed-value",
        ),
    ] {
        let rules: Vec<String> = Case::on(&machine("2800 rpm ± 50 rpm", &fields))
            .findings()
            .into_iter()
            .map(|(rule, ..)| rule)
            .collect();
        assert!(
            rules.iter().any(|found| found == rule),
            "{fields} {rules:?}"
        );
    }
}

#[test]
fn a_variant_for_another_speed_has_another_position_and_its_sheets_say_so() {
    let steps = ["remove:spring", "fit:spring"];
    let mut case = job(&machine("2800 rpm ± 50 rpm", FOR), &steps);
    let front = "machines = [\"case\"]";
    let text = String::from_utf8(case.world["case/job.md"].clone()).unwrap();
    let text = text.replace(front, "machines = [\"case\", \"fast\"]");
    case.world
        .insert("case/job.md".to_owned(), text.into_bytes());
    case.add("machines/fast.toml", "name = \"Tarn Rush F\"\nlike = \"case\"\nbasis = \"invented\"\n[reading.speed]\nlimits = \"3600 rpm ± 50 rpm\"\n");
    let sources = crate::read(&Memory::new(case.world.clone()));
    let position = |id: &str| {
        let machine = sources.shop.machines.get(id).unwrap();
        machine
            .parts
            .get("spring")
            .unwrap()
            .position
            .as_ref()
            .unwrap()
            .value
            .clone()
    };
    assert_eq!([position("case"), position("fast")], ["hole A", "hole C"]);
    let sheets = case.sheets("job");
    let sheet = sheets[0].replace(['\u{a0}', '\u{202f}'], " ");
    assert!(
        sheet.contains("by the governed speed, 2800 rpm ± 50 rpm"),
        "{sheet}"
    );
}
