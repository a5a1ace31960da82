//! Parts that are turned to a position, and steps that wait until a condition holds.

use super::case::{Case, assert_clean, check_table, job};

const MACHINE: &str = r#"
[part.crankshaft]
name = "crankshaft"
turned-to = ["TDC on compression", "valve overlap"]
[part.lid]
name = "lid"
[condition.shut]
name = "both valves shut"
after = ["turn:crankshaft"]
lost-by = ["turn:crankshaft"]
[condition.cold]
name = "cold to the hand"
lost-by = "nothing"
[reading.gap]
name = "gap"
limits = "0.1 mm to 0.2 mm"
needs = ["shut"]
"#;

#[test]
fn a_part_is_turned_to_a_position() {
    let ways = "\
to a position | turn:crankshaft/tdc-on-compression confirm:shut measure:gap
to another | turn:crankshaft/valve-overlap confirm:shut measure:gap
to none | turn:crankshaft confirm:shut measure:gap
a part without positions | turn:lid
an unknown position | turn:crankshaft/tdc-on-compresion | unknown-thing | crankshaft/tdc-on-compresion |
far from any | turn:crankshaft/bottom | unknown-thing | crankshaft/bottom |
a position of a part without any | turn:lid/open | unknown-thing | lid/open |
confirmed before it is turned | confirm:shut measure:gap | confirmed-too-early | confirm:shut | case turn:crankshaft
turned on to a position | turn:crankshaft/tdc-on-compression confirm:shut turn:crankshaft/valve-overlap measure:gap | reading-condition-unmet | measure:gap | job turn:crankshaft/valve-overlap
";
    check_table(MACHINE, "", ways);
}

#[test]
fn a_step_waits_until_a_condition_holds() {
    let ways = "\
until it is cold | wait:cold
for a time | wait:10-min
after what has to come first | turn:crankshaft wait:shut measure:gap
confirmed and ended | turn:crankshaft wait:shut end:shut
before what has to come first | wait:shut measure:gap | confirmed-too-early | wait:shut | case turn:crankshaft
lost again | turn:crankshaft wait:shut turn:crankshaft measure:gap | reading-condition-unmet | measure:gap | job turn:crankshaft
twice | wait:cold wait:cold | repeated-without-effect | wait:cold | job wait:cold
a spelling mistake | wait:colt | unknown-thing | colt |
neither | wait:soon | unknown-thing | soon |
no unit of time | wait:10-mm | unknown-thing | 10-mm |
a part | wait:crankshaft | unknown-thing | crankshaft |
";
    check_table(MACHINE, "", ways);
}

/// The messages and helps of the findings about one step.
fn said(step: &str) -> Vec<String> {
    let case = job(MACHINE, &[step]);
    let sources = crate::read(&crate::tree::Memory::new(case.world));
    let findings = crate::check(&sources).findings;
    let findings = findings.iter();
    findings
        .map(|finding| {
            let help = finding.help.as_deref().unwrap_or_default();
            format!("{}; {help}", finding.message)
        })
        .collect()
}

#[test]
fn help_names_what_can_be_meant() {
    let cases = [
        (
            "turn:crankshaft/tdc-on-compresion",
            "part `crankshaft` has no position `tdc-on-compresion`; did you mean `crankshaft/tdc-on-compression`?",
        ),
        (
            "turn:crankshaft/bottom",
            "part `crankshaft` has no position `bottom`; \
             write `crankshaft/tdc-on-compression` or `crankshaft/valve-overlap`",
        ),
        (
            "turn:lid/open",
            "part `lid` has no position `open`; write `lid`: it has no positions",
        ),
        (
            "wait:colt",
            "`case` has no condition `colt`; did you mean `cold`?",
        ),
        (
            "wait:soon",
            "`soon` is no time to wait; write a number and a unit of time with a hyphen between them, from `5-s` to \
             `48-h`, such as `wait:10-min`, or the id of a condition of the machine",
        ),
        (
            "wait:crankshaft",
            "`case` has no condition `crankshaft`; `crankshaft` is a part, which takes other verbs",
        ),
    ];
    for (step, expected) in cases {
        assert_eq!(said(step), [expected], "{step}");
    }
}

#[test]
fn sheets_say_where_to_turn_and_what_to_wait_for() {
    let text = |steps: &[&str]| job(MACHINE, steps).sheets("job").concat();
    let turned = text(&["turn:crankshaft/tdc-on-compression", "turn:crankshaft"]);
    assert!(turned.contains("Turn the crankshaft to TDC on compression."));
    assert!(turned.contains("Turn the crankshaft by hand."));
    let waited = text(&["wait:cold", "wait:10-min"]);
    assert!(waited.contains("Wait until: cold to the hand."));
    assert_eq!(
        waited.matches("\"blank\":\"wait\"").count(),
        1,
        "only a time has a countdown"
    );
    let mut own = Case::on(MACHINE);
    let step = "[Turn it](turn:crankshaft/valve-overlap), then see [](see:step/wait/cold).";
    own.add(
        "case/job.md",
        &format!(
            "+++\ntitle = \"job\"\nmachines = [\"case\"]\n+++\n## Do\n\n1. {step}\n2. When it is [cold](wait:cold), go on.\n"
        ),
    );
    assert_clean(&own);
    let own = own.sheets("job").concat();
    assert!(
        own.contains("\"valve overlap\""),
        "a text of the author's does not hide the position"
    );
    assert!(
        own.contains("step\u{a0}2"),
        "a step is found by what it waits for"
    );
}

#[test]
fn a_step_that_waits_for_what_a_machine_lacks_is_left_out() {
    let with = |machine: &str, step: &str| {
        let mut case = Case::on(machine);
        case.add(
            "case/job.md",
            &format!("+++\ntitle = \"job\"\nmachines = [\"case\"]\n+++\n## Do\n\n1. {step}\n2. [](clean:lid)\n"),
        );
        case.add(
            "machines/other.toml",
            "name = \"Other\"\n[condition.warm]\nname = \"warm\"\nlost-by = \"nothing\"\n",
        );
        case
    };
    assert_clean(&with(MACHINE, "[](wait:warm) {if-fitted}"));
    assert_clean(&with(MACHINE, "[](wait:10-min) {if-fitted}"));
    let findings = with(MACHINE, "[](wait:warm)").findings();
    assert_eq!(findings.len(), 1, "{findings:?}");
    let findings = with(MACHINE, "[](wait:worm) {if-fitted}").findings();
    assert_eq!(findings.len(), 1, "{findings:?}");
}

#[test]
fn records_name_the_confirmation_and_not_the_wait() {
    let with = |id: &str, after: &str| {
        let condition = format!(
            "{MACHINE}[condition.{id}]\nname = \"soaked\"\nafter = [\"{after}\"]\nlost-by = \"nothing\"\n"
        );
        let case = job(&condition, &["wait:cold", &format!("confirm:{id}")]);
        let rules: Vec<String> = case
            .findings()
            .into_iter()
            .map(|finding| finding.0)
            .collect();
        rules
    };
    assert_eq!(with("soaked", "confirm:cold"), [""; 0]);
    assert_eq!(with("min-5", "confirm:cold"), [""; 0]);
    assert_eq!(with("5-up", "confirm:cold"), [""; 0]);
    assert_eq!(with("soaked", "wait:cold"), ["impossible-action"]);
    assert_eq!(with("5-min", "confirm:cold"), ["condition-named-as-time"]);
    assert_eq!(with("48-h", "confirm:cold"), ["condition-named-as-time"]);
}
