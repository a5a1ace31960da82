//! One fault gives one finding, and two faults give two. Repeated actions are found, and those that are needed twice are not.

use super::case::Case;

const MACHINE: &str = r#"
engine = { kind = "4-stroke" }
[part.lid]
name = "lid"
[part.plate]
name = "plate"
behind = ["lid"]
[part.jet]
name = "jet"
behind = ["lid"]
[valve.tap]
name = "tap"
[condition.cold]
name = "cold"
lost-by = ["run:engine"]
[reading.gap]
name = "gap"
limits = "1 mm to 2 mm"
needs = ["cold"]
"#;

/// The rules that steps break, each with the text of its primary span.
fn broken_by(steps: &str) -> Vec<String> {
    let steps: Vec<&str> = steps.split(' ').collect();
    let findings = Case::on(MACHINE).with("job", "", &steps).findings();
    let broken = findings.into_iter();
    broken.map(|(rule, at, _)| format!("{rule} {at}")).collect()
}

#[test]
fn the_first_consequence_of_a_fault_is_reported_alone() {
    // The lid is on for one reason.
    assert_eq!(
        broken_by("remove:plate fit:plate remove:jet fit:jet"),
        ["part-obstructed job remove:plate"]
    );
    // It is off first, and is put on again too early: another fault.
    assert_eq!(
        broken_by("remove:plate remove:lid fit:plate fit:lid remove:jet fit:jet"),
        [
            "part-obstructed job remove:plate",
            "part-obstructed job remove:jet"
        ]
    );
}

#[test]
fn a_condition_that_was_lost_names_the_action() {
    let case = Case::on(MACHINE);
    let steps = ["confirm:cold", "run:engine", "stop:engine", "measure:gap"];
    let findings = case.with("job", "", &steps).findings();
    let [(rule, at, others)] = findings.as_slice() else {
        panic!("{findings:?}");
    };
    assert_eq!(rule, "reading-condition-unmet");
    assert_eq!(at, "job measure:gap");
    assert!(others.contains(&"job run:engine".to_owned()), "{others:?}");
}

#[test]
fn an_action_that_is_repeated_while_it_holds_is_found() {
    for steps in [
        "close:tap close:tap open:tap",
        "confirm:cold confirm:cold measure:gap",
        "clean:lid clean:lid",
        "inspect:lid inspect:lid",
    ] {
        let broken = broken_by(steps);
        assert!(
            broken
                .iter()
                .any(|rule| rule.starts_with("repeated-without-effect")),
            "{steps}: {broken:?}"
        );
    }
    for steps in [
        "close:tap open:tap close:tap open:tap",
        "confirm:cold measure:gap run:engine stop:engine confirm:cold measure:gap",
        "inspect:lid remove:lid inspect:lid fit:lid",
        "clean:lid remove:lid clean:lid fit:lid",
        // The job found it open.
        "open:tap",
    ] {
        let broken = broken_by(steps);
        assert!(
            !broken
                .iter()
                .any(|rule| rule.starts_with("repeated-without-effect")),
            "{steps}: {broken:?}"
        );
    }
}
