//! Correct procedures that rules once took for faulty, each beside the fault that it resembles.

use super::case::{Case, assert_clean, check_table, job};
use crate::finding::Level;
use crate::tree::Memory;

/// A belt that a locked tensioner sets.
const BELT: &str = r#"
[part.tensioner-nut]
name = "tensioner nut"
thread = "M8"
[part.belt]
name = "belt"
[reading.deflection]
name = "belt deflection"
limits = "8 mm to 12 mm"
with = ["belt"]
locked-by = ["tensioner-nut"]
"#;

#[test]
fn a_lost_setting_need_not_be_measured_as_found() {
    let set = "adjust:deflection tighten:tensioner-nut measure:deflection";
    let table = r"
measured, set, measured | measure:deflection slacken:tensioner-nut SET
a new belt has no tension as found | slacken:tensioner-nut remove:belt renew:belt SET
the lock came off, and the setting with it | remove:tensioner-nut remove:belt fit:belt fit:tensioner-nut SET
the same belt, the lock only slackened | slacken:tensioner-nut remove:belt fit:belt SET | not-measured-before-adjusting | adjust:deflection |
nothing came off | slacken:tensioner-nut SET | not-measured-before-adjusting | adjust:deflection |
a new belt that is not measured as left | slacken:tensioner-nut remove:belt renew:belt adjust:deflection tighten:tensioner-nut | not-measured-after-adjusting | tighten:tensioner-nut |
";
    check_table(BELT, "", &table.replace("SET", set));
}

/// A gear case with one plug, which is tilted to empty it.
const GEAR_CASE: &str = r#"
[fluid.gear-oil]
supply = "grease"
through = "gear-plug"
[part.gear-plug]
name = "gear case plug"
thread = "M10"
drains = "gear-oil"
[part.gear-cover]
name = "gear case cover"
carries = "gear-oil"
"#;

#[test]
fn one_plug_serves_to_drain_and_to_fill() {
    let table = r"
emptied and filled | remove:gear-plug drain:gear-oil fill:gear-oil fit:gear-plug tighten:gear-plug
the level is looked at | remove:gear-plug fit:gear-plug tighten:gear-plug
the plug stays in | remove:gear-plug drain:gear-oil fit:gear-plug tighten:gear-plug fill:gear-oil | filled-or-drained-while-closed | fill:gear-oil | case gear-plug
the cover is off | remove:gear-plug drain:gear-oil remove:gear-cover fill:gear-oil fit:gear-cover fit:gear-plug tighten:gear-plug | filled-into-open-system | fill:gear-oil | job remove:gear-cover
not filled again | remove:gear-plug drain:gear-oil fit:gear-plug tighten:gear-plug | left-not-as-found | drain:gear-oil |
";
    check_table(GEAR_CASE, "", table);
}

#[test]
fn a_part_is_cleaned_before_it_comes_off_as_well() {
    let machine = "[part.plug]\nname = \"plug\"\nclean = true\n";
    let table = r"
cleaned when off | remove:plug clean:plug fit:plug
brushed off first, then cleaned when off | clean:plug remove:plug clean:plug fit:plug
only brushed off first | clean:plug remove:plug fit:plug | refitted-dirty | fit:plug | job clean:plug
not cleaned | remove:plug fit:plug | refitted-dirty | fit:plug | job remove:plug
cleaned when off, and not after the second time | remove:plug clean:plug fit:plug remove:plug fit:plug | refitted-dirty | fit:plug | job remove:plug
";
    check_table(machine, "", table);
    // Cleaned in its place: perhaps a missing step, perhaps not.
    assert_eq!(
        levels(&job(machine, &["clean:plug"])),
        [("refitted-dirty", Level::Advice)]
    );
}

/// The rules and levels of a case's findings.
fn levels(case: &Case) -> Vec<(&'static str, Level)> {
    let sources = crate::read(&Memory::new(case.world.clone()));
    let checked = crate::check_all(&sources);
    let findings = checked.findings.iter();
    findings
        .map(|finding| (finding.rule.name, finding.level))
        .collect()
}

/// A splitter with an engine and a hydraulic ram.
const SPLITTER: &str = r#"
engine = { kind = "4-stroke" }
[energy.ignition]
kind = "ignition"
isolate = "Pull the cap"
prove = "No spark"
restore = "Push it home"
[energy.pressure]
kind = "pressure"
endangers = ["hose"]
isolate = "Move the lever"
prove = "The gauge reads zero"
restore = "Cap the test point"
[valve.cock]
name = "cock"
shuts = "oil"
[fluid.oil]
supply = "grease"
leak-check = "running"
[part.hose]
name = "hose"
carries = "oil"
may-be-live = ["ignition", "pressure"]
[condition.all-clear]
name = "nobody near"
lost-by = ["work"]
[run]
needs = ["all-clear"]
start = "Pull the starter."
stop = "Switch off."
"#;

#[test]
fn isolation_may_be_verified_after_stored_energy_is_released() {
    let hose = "close:cock remove:hose fit:hose open:cock inspect:hose";
    let back = "restore:pressure restore:ignition";
    let of = |steps: &str| {
        let steps = format!("{steps} {back}").replace("HOSE", hose);
        levels(&job(SPLITTER, &steps.split(' ').collect::<Vec<_>>()))
    };
    assert_eq!(
        of("isolate:ignition prove:ignition isolate:pressure prove:pressure HOSE"),
        []
    );
    // The order of 29 CFR 1910.147(d), from memory: isolate (3), release stored energy (5), verify (6).
    assert_eq!(
        of("isolate:ignition isolate:pressure prove:ignition prove:pressure HOSE"),
        [("ignition-still-live", Level::Advice)]
    );
    // Not isolated at all when the pressure is released.
    assert_eq!(
        of("isolate:pressure prove:pressure isolate:ignition prove:ignition HOSE"),
        [("ignition-still-live", Level::Error)]
    );
    // Never verified.
    assert_eq!(
        of("isolate:ignition isolate:pressure prove:pressure HOSE"),
        [("energy-not-proved", Level::Error)]
    );
}

#[test]
fn a_joint_under_pressure_is_inspected_while_the_engine_runs() {
    let off = "isolate:ignition prove:ignition isolate:pressure prove:pressure close:cock \
        remove:hose fit:hose open:cock restore:pressure restore:ignition confirm:all-clear";
    let table = r"
inspected during the run | OFF run:engine inspect:hose stop:engine
inspected after the run | OFF run:engine stop:engine inspect:hose
not run in this job | OFF
never inspected | OFF run:engine stop:engine | no-leak-check | fit:hose |
";
    check_table(SPLITTER, off, table);
    let early = off.replace("open:cock", "open:cock inspect:hose");
    let table =
        "inspected before the run | OFF run:engine stop:engine | no-leak-check | fit:hose |\n";
    check_table(SPLITTER, &early, table);
    // Petrol is looked for before the ignition is live.
    let petrol = SPLITTER.replace("leak-check = \"running\"\n", "");
    let table = "\
inspected before the ignition is live | OFF run:engine stop:engine
";
    check_table(&petrol, &early, table);
    let table = "\
inspected too late | OFF run:engine inspect:hose stop:engine | no-leak-check | restore:ignition | job fit:hose
";
    check_table(&petrol, off, table);
}

/// An engine with a sump plug, a filler cap, a fuel line and a tine drive.
const ENGINE: &str = r#"
engine = { kind = "4-stroke" }
[energy.ignition]
kind = "ignition"
isolate = "Pull the cap"
prove = "No spark"
restore = "Push it home"
[energy.tines]
kind = "motion"
isolate = "Chock the tines"
prove = "They stay"
restore = "Take the chock out"
[valve.tap]
name = "tap"
shuts = "fuel"
[fluid.fuel]
supply = "grease"
through = "fuel-cap"
[fluid.oil]
supply = "grease"
through = "oil-cap"
[part.fuel-cap]
name = "fuel cap"
reuse = "Seal soft"
[part.oil-cap]
name = "oil cap"
clean = true
[part.sump-plug]
name = "sump plug"
thread = "M10"
drains = "oil"
[part.hose]
name = "hose"
carries = "fuel"
[condition.all-clear]
name = "nobody near"
lost-by = ["work"]
[run]
needs = ["all-clear"]
start = "Pull the starter."
stop = "Switch off."
"#;

#[test]
fn a_derived_reassembly_fills_what_is_closed_and_through_its_cap() {
    let safe = "isolate:ignition prove:ignition isolate:tines prove:tines";
    let reversed = |steps: &str| {
        let steps = format!("{safe} {steps}");
        Case::on(ENGINE).with_reverse("job", &steps.split(' ').collect::<Vec<_>>())
    };
    // The oil goes in after its plug, and before its cap.
    assert_clean(&reversed("remove:sump-plug drain:oil"));
    assert_clean(&reversed(
        "remove:oil-cap clean:oil-cap remove:sump-plug drain:oil",
    ));
    assert_clean(&reversed(
        "remove:sump-plug drain:oil remove:oil-cap clean:oil-cap",
    ));
    // The tank is closed as soon as it is empty, and opened again to be filled. The leak check comes after that, and
    // before anything is live.
    assert_clean(&reversed(
        "remove:fuel-cap drain:fuel inspect:fuel-cap fit:fuel-cap remove:hose",
    ));
    assert_clean(&reversed("close:tap remove:hose"));
    let sheet = |case: &Case| case.sheets("job").concat();
    assert!(sheet(&reversed("remove:sump-plug drain:oil")).contains("oil cap"));
    // What the author forgets is still found.
    let dirty = reversed("remove:oil-cap remove:sump-plug drain:oil").findings();
    let rules: Vec<&str> = dirty.iter().map(|finding| finding.0.as_str()).collect();
    assert_eq!(rules, ["refitted-dirty"]);
}

#[test]
fn a_second_wrench_may_hold_something_still() {
    let machine = r#"
[part.hose-nut]
name = "hose nut"
drive = "hex 19 mm"
[part.clamp-nut]
name = "clamp nut"
drive = "hex 13 mm"
"#;
    let tools = r#"
[tool.wrench-13]
name = "13 mm wrench"
size = "13 mm"
[tool.wrench-19]
name = "19 mm wrench"
size = "19 mm"
[tool.wrench-22]
name = "22 mm wrench"
size = "22 mm"
"#;
    let findings = |step: &str| {
        let mut case = Case::on(machine);
        let text = format!(
            "+++\ntitle = \"job\"\nmachines = [\"case\"]\n+++\n## Do\n\n1. {step}\n2. [](tighten:hose-nut)\n"
        );
        case.world.insert("case/job.md".to_owned(), text.into());
        let crib = case.world.get_mut("tools.toml").unwrap();
        crib.extend_from_slice(tools.as_bytes());
        case.findings().into_iter().map(|finding| finding.0)
    };
    let count = |step: &str| {
        findings(step)
            .filter(|rule| rule == "wrench-does-not-fit")
            .count()
    };
    let cases = [
        ("With the [](use:wrench-19), [](slacken:hose-nut)", 0),
        (
            "Keep the adapter from turning with the [](use:wrench-22). With the [](use:wrench-19), [](slacken:hose-nut)",
            0,
        ),
        // The only wrench, whatever it is for.
        ("With the [](use:wrench-22), [](slacken:hose-nut)", 1),
        // One of the two nuts has no wrench.
        (
            "With the [](use:wrench-19) and the [](use:wrench-22), [](slacken:hose-nut) and [](slacken:clamp-nut)",
            1,
        ),
        (
            "With the [](use:wrench-22), and no other, [](slacken:hose-nut) and [](slacken:clamp-nut)",
            1,
        ),
    ];
    for (step, expected) in cases {
        assert_eq!(count(step), expected, "{step}");
    }
}

#[test]
fn a_machine_is_parked_before_its_ignition_is_isolated() {
    let machine = r#"
[energy.ignition]
kind = "ignition"
isolate = "Pull the cap"
prove = "No spark"
restore = "Push it home"
[condition.parked]
name = "boom on the ground, brake set"
lost-by = ["run:engine"]
[condition.engine-cold]
name = "engine cold"
lost-by = ["run:engine"]
"#;
    let table = "\
parked, isolated, cooled | confirm:parked isolate:ignition prove:ignition confirm:engine-cold restore:ignition
cooled first | confirm:parked confirm:engine-cold isolate:ignition prove:ignition restore:ignition | isolated-after-waiting | isolate:ignition | job confirm:engine-cold
";
    check_table(
        &format!(
            "engine = {{ kind = \"4-stroke\" }}\n[run]\nneeds = [\"all-clear\"]\nstart = \"Pull.\"\nstop = \"Off.\"\n[condition.all-clear]\nname = \"nobody near\"\nlost-by = [\"work\"]\n{machine}"
        ),
        "",
        table,
    );
}

#[test]
fn a_generator_is_started_by_its_battery() {
    let machine = r#"
engine = { kind = "4-stroke" }
generator = { poles = 2, frequency = "50 Hz" }
[energy.battery]
name = "starting battery"
kind = "electrical"
endangers = ["socket"]
isolate = "Take the negative lead off"
prove = "No voltage"
restore = "Put it back"
[energy.output]
name = "output"
kind = "electrical"
endangers = ["socket"]
isolate = "Set the breaker to off"
prove = "No voltage at the socket"
restore = "Set the breaker to on"
[part.socket]
name = "socket"
[condition.all-clear]
name = "nobody near"
lost-by = ["work"]
[run]
needs = ["all-clear"]
may-lack = ["output"]
start = "Turn the key."
stop = "Key off."
"#;
    let table = "\
breaker off at the start | isolate:output prove:output confirm:all-clear run:engine restore:output stop:engine
breaker on at the start | confirm:all-clear run:engine stop:engine | started-with-output-on | run:engine |
";
    check_table(machine, "", table);
}

/// A mower with a drain plug that is hard to reach.
const SUMP: &str = r#"
[fluid.oil]
supply = "grease"
through = "dipstick"
[part.dipstick]
name = "dipstick"
[part.drain-plug]
name = "drain plug"
thread = "M10"
drains = "oil"
"#;

#[test]
fn oil_is_sucked_out_through_its_filler() {
    let table = r"
through the plug | remove:dipstick remove:drain-plug drain:oil fit:drain-plug tighten:drain-plug fill:oil fit:dipstick
through the filler | remove:dipstick drain:oil fill:oil fit:dipstick
both are closed | drain:oil remove:dipstick fill:oil fit:dipstick | filled-or-drained-while-closed | drain:oil | case drain-plug
perhaps swapped | remove:dipstick drain:oil remove:drain-plug fit:drain-plug tighten:drain-plug fill:oil fit:dipstick | filled-or-drained-while-closed | remove:drain-plug | job drain:oil
";
    check_table(SUMP, "", table);
}
