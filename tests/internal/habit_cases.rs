//! Habits of a workshop: containers, protection, the order of making safe, breakers, tilted machines, tools on the kit
//! list. Each has correct forms and faulty ones.

use super::case::{Case, assert_clean, assert_finding, check_table, job};

const TOOLS: &str = r#"
[tool.can]
name = "can"
container = true
[tool.old-can]
name = "old can"
container = true
[tool.pump]
name = "suction pump"
[tool.glasses]
name = "glasses"
protects = ["M004"]
[tool.goggles]
name = "goggles"
protects = ["M004"]
[tool.meter]
name = "depth meter"
range = "0 mm to 10 mm"
accuracy = "0.01 mm"
[tool.lamp]
name = "hand lamp, safe in vapour"
also = ["lamp"]
[tool.hook]
name = "hook"
"#;

fn with_tools(mut case: Case) -> Case {
    case.add("tools.toml", TOOLS);
    case
}

/// One procedure with the crib. The steps are whole, without their numbers.
fn job_with_tools(machine: &str, steps: &[&str]) -> Case {
    let mut case = with_tools(Case::on(machine));
    let steps: Vec<String> = steps.iter().map(|step| format!("1. {step}\n")).collect();
    let text = format!(
        "+++\ntitle = \"job\"\nmachines = [\"case\"]\n+++\n## Do\n\n{}",
        steps.concat()
    );
    case.add("case/job.md", &text);
    case
}

const FLUIDS: &str = r#"
[fluid.fuel]
supply = "grease"
[fluid.oil]
supply = "grease"
"#;

#[test]
fn a_container_holds_old_or_fresh_fluid() {
    let into_can = "[](drain:fuel) into the [](use:can)";
    for steps in [
        [into_can, "[](fill:fuel) from the [](use:old-can)"],
        [
            "[](drain:fuel) into the [](use:old-can)",
            "[](fill:fuel) from the [](use:can)",
        ],
        // A pump is no container.
        [
            "[](drain:fuel) with the [](use:pump)",
            "[](fill:fuel) with the [](use:pump)",
        ],
        // The can is only put away in the step that fills.
        [into_can, "[](fill:fuel)"],
    ] {
        assert_clean(&job_with_tools(FLUIDS, &steps));
    }
    let two_fluids = [
        into_can,
        "[](drain:oil)",
        "[](fill:oil) from the [](use:can)",
        "[](fill:fuel)",
    ];
    assert_clean(&job_with_tools(FLUIDS, &two_fluids));
    let topped_up = [
        "[](fill:fuel) from the [](use:can)",
        into_can,
        "[](fill:fuel) from the [](use:old-can)",
    ];
    assert_clean(&job_with_tools(FLUIDS, &topped_up));
    let rule = "old-and-new-in-one-container";
    for fill in [
        "[](fill:fuel) from the [](use:can)",
        "From the [](use:can), [](fill:fuel)",
    ] {
        let case = job_with_tools(FLUIDS, &[into_can, "[](drain:oil)", "[](fill:oil)", fill]);
        assert_finding(&case, rule, "job use:can", "job use:can");
    }
}

const ENGINE: &str = r#"
[engine]
kind = "4-stroke"
[part.flywheel]
name = "flywheel"
[energy.ignition]
kind = "ignition"
isolate = "Pull the cap"
prove = "Pull the starter"
restore = "Push the cap on"
[condition.cold]
name = "cold"
lost-by = ["run:engine"]
[condition.outdoors]
name = "outdoors"
lost-by = "nothing"
"#;

#[test]
fn the_ignition_is_made_safe_before_the_wait_for_a_cold_engine() {
    check_table(
        ENGINE,
        "",
        r"
safe first | isolate:ignition prove:ignition confirm:cold restore:ignition
wait without work on the ignition | confirm:cold
not a wait for cold | confirm:outdoors isolate:ignition prove:ignition restore:ignition
run between | confirm:cold run:engine stop:engine isolate:ignition prove:ignition restore:ignition
waited again | isolate:ignition prove:ignition confirm:cold restore:ignition run:engine stop:engine isolate:ignition prove:ignition confirm:cold restore:ignition
wait first | confirm:cold isolate:ignition prove:ignition restore:ignition | isolated-after-waiting | isolate:ignition | job confirm:cold
wait first after a run | run:engine stop:engine confirm:cold isolate:ignition prove:ignition restore:ignition | isolated-after-waiting | isolate:ignition | job confirm:cold
wait first the second time | isolate:ignition prove:ignition restore:ignition run:engine stop:engine confirm:cold isolate:ignition prove:ignition restore:ignition | isolated-after-waiting | isolate:ignition | job confirm:cold
",
    );
}

#[test]
fn protection_is_put_on_before_the_message_that_asks_for_it() {
    let machine = "[part.nipple]\nname = \"nipple\"\ncautions = [\"spray\", \"noise\"]\n";
    let case = |steps: &[&str]| {
        let mut case = job_with_tools(machine, steps);
        let message = |id: &str, sign: &str, at: &str| {
            format!(
                "[caution.{id}]\nsignal-word = \"caution\"\nsigns = [\"{sign}\"]\nhazard = \"a\"\n\
                 consequence = \"b\"\navoid = \"c\"\n{at}\n"
            )
        };
        // Nothing in the crib protects from noise.
        let text = message("spray", "M004", "at = [\"clean\"]") + &message("noise", "M003", "");
        case.add("cautions.toml", &text);
        case
    };
    for steps in [
        &["Put on [](use:glasses).", "[](clean:nipple)"][..],
        &["[](use:goggles)", "[](clean:nipple)"],
        &["Put on [](use:glasses). [](clean:nipple)"],
        &["[](clean:nipple), with [](use:glasses) on."],
        // The message is about cleaning.
        &["[](inspect:nipple)"],
        &[
            "[](use:glasses)",
            "[](clean:nipple)",
            "[Rinse it](clean:nipple)",
        ],
    ] {
        assert_clean(&case(steps));
    }
    for steps in [
        &["[](clean:nipple)"][..],
        &["[](clean:nipple)", "[](use:glasses)"],
        &["[](use:lamp)", "[](clean:nipple)"],
    ] {
        assert_finding(
            &case(steps),
            "protection-not-worn",
            "job clean:nipple",
            "cautions M004",
        );
    }
}

#[test]
fn equipment_is_at_hand_before_the_message_that_asks_for_it() {
    let machine = "[part.nipple]\nname = \"nipple\"\ncautions = [\"fire\"]\n";
    let case = |steps: &[&str]| {
        let mut case = job_with_tools(machine, steps);
        let message = "[caution.fire]\nsignal-word = \"danger\"\nhazard = \"a\"\nconsequence = \"b\"\n\
            avoid = \"c\"\nat = [\"clean\"]\nat-hand = [\"lamp\"]\n";
        case.add("cautions.toml", message);
        case
    };
    for steps in [
        &["Bring the [](use:lamp).", "[](clean:nipple)"][..],
        &["With the [](use:lamp), [](clean:nipple)"],
        &["[](clean:nipple), with the [](use:lamp) at hand."],
        &["[](inspect:nipple)"],
    ] {
        assert_clean(&case(steps));
    }
    for steps in [
        &["[](clean:nipple)"][..],
        &["[](clean:nipple)", "[](use:lamp)"],
        &["[](use:glasses)", "[](clean:nipple)"],
        &["[](inspect:nipple)", "[](clean:nipple)"],
    ] {
        assert_finding(
            &case(steps),
            "equipment-not-at-hand",
            "job clean:nipple",
            "cautions lamp",
        );
    }
}

#[test]
fn a_lock_is_put_on_before_its_energy_is_proved() {
    let machine = "[part.lid]\nname = \"lid\"\n[energy.mains]\nkind = \"electrical\"\nisolate = \"Off\"\n\
        prove = \"Dead\"\nrestore = \"On\"\nsecured-by = [\"lamp\", \"glasses\"]\n";
    let case = |steps: &[&str]| job_with_tools(machine, steps);
    for steps in [
        // The order of 29 CFR 1910.147(d), from memory: isolate, lock, verify.
        &[
            "[](isolate:mains)",
            "[](use:lamp) [](use:glasses)",
            "[](prove:mains)",
            "[](restore:mains)",
        ][..],
        &[
            "Take the [](use:lamp). [](isolate:mains)",
            "[](use:glasses) [](prove:mains)",
            "[](restore:mains)",
        ],
        // Nobody puts hands on anything.
        &["[](isolate:mains)", "[](restore:mains)"],
        &["[](inspect:lid)"],
    ] {
        let findings = case(steps).findings();
        let is_about_lock =
            |finding: &super::case::ShownFinding| finding.0 == "isolation-not-secured";
        assert!(!findings.iter().any(is_about_lock), "{findings:?}");
    }
    for steps in [
        &["[](isolate:mains)", "[](prove:mains)", "[](restore:mains)"][..],
        &[
            "[](isolate:mains)",
            "[](use:lamp)",
            "[](prove:mains)",
            "[](restore:mains)",
        ],
        &[
            "[](isolate:mains)",
            "[](prove:mains)",
            "[](use:lamp) [](use:glasses)",
            "[](restore:mains)",
        ],
        &[
            "[](use:glasses) [](isolate:mains)",
            "[](prove:mains)",
            "[](restore:mains)",
        ],
    ] {
        let expected = if steps[1].contains("lamp") {
            "case glasses"
        } else {
            "case lamp"
        };
        assert_finding(
            &case(steps),
            "isolation-not-secured",
            "job prove:mains",
            expected,
        );
    }
}

#[test]
fn a_generator_is_started_with_its_breaker_off() {
    let output = r#"
[part.socket]
name = "socket"
[energy.output]
kind = "electrical"
endangers = ["socket"]
isolate = "Breaker off"
prove = "No voltage"
restore = "Breaker on"
"#;
    let pump = format!("{ENGINE}{output}");
    let generator = format!(
        "{pump}[generator]\npoles = 2\nfrequency = \"50 Hz\"\n[run]\nmay-lack = [\"output\"]\n"
    );
    let safe = "isolate:output prove:output";
    check_table(
        &generator,
        safe,
        r"
on while it runs | OFF run:engine restore:output stop:engine
on after the run | OFF run:engine stop:engine restore:output
never off | run:engine stop:engine | started-with-output-on | run:engine |
on before the run | OFF restore:output run:engine stop:engine | started-with-output-on | run:engine | job restore:output
",
    );
    // On any other machine all energies are live for a run.
    check_table(
        &pump,
        safe,
        r"
live | run:engine stop:engine
restored | OFF restore:output run:engine stop:engine
isolated | OFF run:engine restore:output stop:engine | not-ready-to-run | run:engine | job prove:output
",
    );
}

#[test]
fn a_machine_is_tilted_with_an_empty_tank() {
    let machine = format!(
        "{FLUIDS}[condition.tipped]\nname = \"tipped\"\nlost-by = \"nothing\"\ndrained = [\"fuel\"]\n"
    );
    check_table(
        &machine,
        "",
        r"
drained | drain:fuel confirm:tipped end:tipped fill:fuel
never tipped | drain:fuel fill:fuel
full | confirm:tipped | confirmed-while-full | confirm:tipped | case fuel
other fluid drained | drain:oil confirm:tipped fill:oil | confirmed-while-full | confirm:tipped | case fuel
filled before | drain:fuel fill:fuel confirm:tipped | confirmed-while-full | confirm:tipped | job fill:fuel
",
    );
    let empty = machine.replacen("supply", "found = \"empty\"\nsupply", 1);
    assert_clean(&job(&empty, &["confirm:tipped"]));
}

#[test]
fn a_shaft_is_turned_by_what_can_be_reached() {
    let machine = r#"
[part.housing]
name = "housing"
[part.cup]
name = "cup"
behind = ["housing"]
[part.crankshaft]
name = "crankshaft"
"#;
    check_table(
        machine,
        "",
        r"
housing off | remove:housing turn:cup fit:housing
not behind anything | turn:crankshaft
housing on | turn:cup | part-obstructed | turn:cup | case housing
housing back on | remove:housing fit:housing turn:cup | part-obstructed | turn:cup | case housing
",
    );
}

#[test]
fn a_fault_table_makes_safe_what_its_tests_reach() {
    let machine = r#"
[engine]
kind = "4-stroke"
[part.plug]
name = "plug"
reuse = "Ring soft"
[part.hose]
name = "hose"
reuse = "No crack"
may-be-live = ["pressure"]
[energy.heat]
kind = "heat"
endangers = ["plug"]
isolate = "Wait"
prove = "Touch"
[energy.pressure]
kind = "pressure"
endangers = ["hose"]
isolate = "Open the cock"
prove = "No water"
restore = "Shut the cock"
"#;
    let with_causes = |causes: &[&str]| {
        let mut case = Case::on(machine);
        let causes: Vec<String> = causes
            .iter()
            .map(|test| format!("1. A cause.\n   - {test}\n   - Renew it.\n"))
            .collect();
        let text = format!(
            "+++\ntitle = \"dry\"\nmachines = [\"case\"]\n+++\nNo water.\n\n## All\n\n{}",
            causes.concat()
        );
        case.add("faults/dry.md", &text);
        case
    };
    for causes in [
        &["[Wait](isolate:heat), then look at the [plug](inspect:plug)."][..],
        &["[Wait](isolate:heat).", "Look at the [plug](inspect:plug)."],
        &["Look at the [hose](inspect:hose)."],
        &[
            "[Start](run:engine).",
            "[Stop](stop:engine) and [wait](isolate:heat). [](inspect:plug)",
        ],
    ] {
        assert_clean(&with_causes(causes));
    }
    for causes in [
        &["[](inspect:plug)"][..],
        &["[](inspect:plug)", "[Wait](isolate:heat)."],
        &[
            "[Wait](isolate:heat).",
            "[Start](run:engine), then [stop](stop:engine). [](inspect:plug)",
        ],
    ] {
        assert_finding(
            &with_causes(causes),
            "fault-test-on-live-energy",
            "dry inspect:plug",
            "case heat",
        );
    }
}

#[test]
fn a_message_to_disconnect_is_not_printed_where_the_energy_comes_back() {
    let message = |sign: &str, at: &str| {
        let machine = "[part.lever]\nname = \"lever\"\n[energy.spring]\nkind = \"spring\"\nendangers = [\"lever\"]\n\
            isolate = \"a\"\nprove = \"b\"\nrestore = \"c\"\ncautions = [\"strike\"]\n";
        let mut case = Case::on(machine);
        let text = format!(
            "[caution.strike]\nsignal-word = \"warning\"\nsigns = [\"{sign}\"]\nhazard = \"a\"\nconsequence = \"b\"\n\
             avoid = \"c\"\n{at}\n"
        );
        case.add("cautions.toml", &text);
        case
    };
    assert_clean(&message("M021", "at = [\"isolate\", \"prove\"]"));
    assert_clean(&message("W018", ""));
    assert_clean(&message("W018", "at = [\"restore\"]"));
    for at in ["", "at = [\"restore\"]"] {
        let case = message("M021", at);
        assert_finding(
            &case,
            "disconnect-sign-at-restore",
            "cautions M021",
            "case strike",
        );
    }
}

#[test]
fn a_tool_that_a_step_names_is_on_the_kit_list() {
    let machine = "[part.tank]\nname = \"tank\"\n[reading.depth]\nname = \"depth\"\nlimits = \"4 mm to 5 mm\"\ntool = \"meter\"\n";
    for step in [
        "Look in with the [lamp](use:lamp). [](inspect:tank)",
        "With the depth meter, [](measure:depth)",
        // A word inside another one, or in another sense.
        "Look at the lamplight. [](inspect:tank)",
        "Unhook the [tank](inspect:tank).",
        "[Look](use:lamp) in. The hand lamp stays outside.",
    ] {
        assert_clean(&job_with_tools(machine, &[step]));
    }
    let safe =
        "+++\ntitle = \"safe\"\nmachines = [\"case\"]\n+++\n## Do\n\n1. Fetch the [](use:lamp).\n";
    let main = "+++\ntitle = \"job\"\nmachines = [\"case\"]\nbegin = [\"safe\"]\n+++\n## Do\n\n1. Look with the lamp. [](inspect:tank)\n";
    let mut case = with_tools(Case::on(machine));
    case.add("case/safe.md", safe);
    case.add("case/job.md", main);
    assert_clean(&case);
    for (step, named) in [
        ("Look in with the lamp. [](inspect:tank)", "job lamp"),
        (
            "With the hand lamp, [look in](inspect:tank).",
            "job hand lamp",
        ),
        ("[Look in with the lamp](inspect:tank).", "job lamp"),
        ("Hang it on two hooks. [](inspect:tank)", "job hook"),
    ] {
        let case = job_with_tools(machine, &[step]);
        let found = case.findings();
        let [(rule, primary, _)] = found.as_slice() else {
            panic!("{step}: {found:#?}");
        };
        assert_eq!(
            (rule.as_str(), primary.as_str()),
            ("tool-not-in-kit", named),
            "{step}"
        );
    }
}
