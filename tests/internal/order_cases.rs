//! The order of parts: stacks on a long fastener, and parts that are first off and last on. Each table has correct jobs
//! and faulty ones.

use super::case::{Case, check_table, job};

/// A carburettor between two gaskets and an insulator, on studs. The heads of the studs are in the air cleaner.
const STACK: &str = r#"
[part.cover]
name = "cover"
[part.stud]
name = "stud"
count = 2
behind = ["cover"]
thread = "M6"
stack = ["base", "outer-gasket", "carburettor", "insulator", "inner-gasket"]
[part.base]
name = "base"
[part.outer-gasket]
name = "outer gasket"
single-use = true
seals = ["carburettor"]
[part.carburettor]
name = "carburettor"
behind = ["rod"]
[part.insulator]
name = "insulator"
[part.inner-gasket]
name = "inner gasket"
single-use = true
seals = ["insulator"]
[part.rod]
name = "rod"
"#;

const STACK_OFF: &str = "remove:cover remove:rod remove:stud remove:base remove:outer-gasket remove:carburettor remove:insulator remove:inner-gasket";

#[test]
fn parts_on_a_stud_come_off_and_go_back_in_the_order_of_the_stack() {
    check_table(
        STACK,
        STACK_OFF,
        r"
whole | OFF renew:inner-gasket fit:insulator fit:carburettor renew:outer-gasket fit:base fit:rod fit:stud tighten:stud fit:cover
rod after the studs | OFF renew:inner-gasket fit:insulator fit:carburettor renew:outer-gasket fit:base fit:stud tighten:stud fit:rod fit:cover
down to the base only | remove:cover remove:stud remove:base fit:base fit:stud tighten:stud fit:cover
down to the carburettor | remove:cover remove:stud remove:base remove:outer-gasket remove:rod remove:carburettor fit:carburettor fit:rod renew:outer-gasket fit:base fit:stud tighten:stud fit:cover
studs slackened first | remove:cover slacken:stud remove:stud remove:base fit:base fit:stud tighten:stud fit:cover
a stud that was only checked | remove:cover slacken:stud tighten:stud fit:cover
studs only slack | remove:cover slacken:stud remove:base fit:base tighten:stud fit:cover | part-still-held | remove:base | job slacken:stud
studs in | remove:cover remove:base fit:base fit:cover | part-still-held | remove:base | case base
rod still on | remove:cover remove:stud remove:base remove:outer-gasket remove:carburettor fit:carburettor renew:outer-gasket fit:base fit:stud tighten:stud fit:cover | part-obstructed | remove:carburettor | case rod
carburettor from behind the gasket | remove:cover remove:rod remove:stud remove:base remove:carburettor remove:outer-gasket fit:carburettor renew:outer-gasket fit:base fit:rod fit:stud tighten:stud fit:cover | part-obstructed | remove:carburettor | case carburettor
gaskets changed round | OFF renew:inner-gasket renew:outer-gasket fit:insulator fit:carburettor fit:base fit:rod fit:stud tighten:stud fit:cover | fitted-before-part-behind | renew:outer-gasket | case carburettor
insulator forgotten until last | OFF renew:inner-gasket fit:carburettor fit:insulator renew:outer-gasket fit:base fit:rod fit:stud tighten:stud fit:cover | fitted-before-part-behind | fit:carburettor | case insulator
studs before the base | OFF renew:inner-gasket fit:insulator fit:carburettor renew:outer-gasket fit:rod fit:stud fit:base tighten:stud fit:cover | fastener-started-too-early | fit:base | job fit:stud
inner gasket after the insulator | OFF fit:insulator renew:inner-gasket fit:carburettor renew:outer-gasket fit:base fit:rod fit:stud tighten:stud fit:cover | fitted-before-part-behind | fit:insulator | case inner-gasket
old outer gasket | OFF renew:inner-gasket fit:insulator fit:carburettor fit:outer-gasket fit:base fit:rod fit:stud tighten:stud fit:cover | single-use-refitted | fit:outer-gasket |
",
    );
}

#[test]
fn a_derived_reassembly_rebuilds_the_stack() {
    let steps: Vec<&str> = STACK_OFF.split(' ').collect();
    let case = Case::on(STACK).with_reverse("job", &steps);
    assert_eq!(case.findings(), []);
}

#[test]
fn sheets_say_where_the_parts_of_a_stack_lie() {
    let back = "renew:inner-gasket fit:insulator fit:carburettor renew:outer-gasket fit:base fit:rod fit:stud tighten:stud fit:cover";
    let steps = format!("{STACK_OFF} {back}");
    let case = job(STACK, &steps.split(' ').collect::<Vec<_>>());
    let sheets = case.sheets("job").concat();
    for text in [
        "lies between carburettor and inner gasket",
        "lies between base and carburettor",
        "lies against: insulator",
        "lies against: outer gasket",
        "sets free, from the outside in: base, outer gasket, carburettor, insulator and inner gasket",
        "passes through, from the outside in: base, outer gasket, carburettor, insulator and inner gasket",
    ] {
        assert!(sheets.contains(text), "no `{text}` on the sheets");
    }
}

#[test]
fn a_part_has_one_place_in_a_stack_and_in_the_order_of_parts() {
    let twice = STACK.replace(
        "\"inner-gasket\"]\n[part.base]",
        "\"outer-gasket\"]\n[part.base]",
    );
    let findings = job(&twice, &["inspect:cover"]).findings();
    let rules: Vec<&str> = findings.iter().map(|finding| finding.0.as_str()).collect();
    assert_eq!(rules, ["conflicting-fields"], "{findings:#?}");
    // A circle through a stack and `behind`: nothing of it could ever come off.
    let circle = STACK.replace(
        "name = \"base\"",
        "name = \"base\"\nbehind = [\"carburettor\"]",
    );
    let findings = job(&circle, &["inspect:cover"]).findings();
    let rules: Vec<&str> = findings.iter().map(|finding| finding.0.as_str()).collect();
    assert_eq!(rules, ["conflicting-fields"], "{findings:#?}");
}

/// A battery. The negative lead comes off first. Both leads have a clamp bolt.
const BATTERY: &str = r#"
[part.negative-lead]
name = "negative lead"
held-by = ["negative-bolt"]
off-first = ["positive-lead", "starter-nut"]
[part.negative-bolt]
name = "negative clamp bolt"
thread = "M6"
[part.positive-lead]
name = "positive lead"
held-by = ["positive-bolt"]
[part.positive-bolt]
name = "positive clamp bolt"
thread = "M6"
[part.starter-nut]
name = "nut of the starter cable"
thread = "M6"
[part.battery]
name = "battery"
behind = ["negative-lead", "positive-lead"]
"#;

#[test]
fn the_part_that_is_first_off_is_last_on() {
    let off = "slacken:negative-bolt remove:negative-lead slacken:positive-bolt remove:positive-lead remove:battery";
    check_table(
        BATTERY,
        off,
        r"
whole | OFF fit:battery fit:positive-lead tighten:positive-bolt fit:negative-lead tighten:negative-bolt
positive bolt taken out | remove:negative-bolt remove:negative-lead remove:positive-bolt remove:positive-lead fit:positive-lead fit:positive-bolt tighten:positive-bolt fit:negative-lead fit:negative-bolt tighten:negative-bolt
negative lead only | slacken:negative-bolt remove:negative-lead fit:negative-lead tighten:negative-bolt
starter cable alone | slacken:negative-bolt remove:negative-lead slacken:starter-nut tighten:starter-nut fit:negative-lead tighten:negative-bolt
looked at with the lead on | inspect:positive-lead inspect:starter-nut
positive bolt first | slacken:positive-bolt slacken:negative-bolt remove:negative-lead remove:positive-lead fit:positive-lead tighten:positive-bolt fit:negative-lead tighten:negative-bolt | first-off-still-on | slacken:positive-bolt | case positive-lead
positive lead first | slacken:positive-bolt remove:positive-lead slacken:negative-bolt remove:negative-lead fit:positive-lead tighten:positive-bolt fit:negative-lead tighten:negative-bolt | first-off-still-on | slacken:positive-bolt | case positive-lead
positive tightened last | OFF fit:battery fit:positive-lead fit:negative-lead tighten:negative-bolt tighten:positive-bolt | first-off-still-on | tighten:positive-bolt | job fit:negative-lead
starter cable with the lead on | slacken:starter-nut tighten:starter-nut slacken:negative-bolt remove:negative-lead fit:negative-lead tighten:negative-bolt | first-off-still-on | slacken:starter-nut | case starter-nut
",
    );
    // Two mistakes: the nut is worked on before the lead is off, and again after it is back.
    let steps = "slacken:starter-nut slacken:negative-bolt remove:negative-lead fit:negative-lead tighten:negative-bolt tighten:starter-nut";
    let case = job(BATTERY, &steps.split(' ').collect::<Vec<_>>());
    assert_eq!(case.findings().len(), 2);
    let sheets = job(
        BATTERY,
        &[
            "slacken:negative-bolt",
            "remove:negative-lead",
            "fit:negative-lead",
            "tighten:negative-bolt",
        ],
    );
    assert!(sheets.sheets("job").concat().contains("first off, last on"));
}
