//! Plugs and leads with wires, meters with settings, resistances, and levels.

use super::case::{Case, assert_clean, check_table, job};

const MACHINE: &str = r#"
[energy.mains]
name = "mains"
kind = "electrical"
endangers = ["plug", "lamp-plug", "lid"]
isolate = "Switch off"
prove = "Try the lamp"
restore = "Switch on"
[part.lid]
name = "lid"
[part.plug]
name = "plug"
where = "behind the lid"
wires = ["1 BK", "2 GNYE"]
[part.lamp-plug]
name = "lamp plug"
wires = ["1 BK", "2 YEGN"]
[part.other-plug]
name = "other plug"
wires = ["1 BK", "2 BU"]
[part.marked-plug]
name = "marked plug"
wires = ["1 BK", "2 GNYE"]
mark = "white tape"
[reading.winding]
name = "winding"
limits = "20 Ω ± 2 Ω"
[reading.winding-apart]
name = "winding, plug off"
limits = "20 Ω ± 2 Ω"
without = ["lamp-plug"]
[reading.lamp-voltage]
name = "voltage at the lamp"
limits = "12 V ± 1 V"
"#;

#[test]
fn plugs_that_look_alike_are_told_apart_or_come_off_one_by_one() {
    let safe = "isolate:mains prove:mains";
    let ways = format!(
        "\
one by one | {safe} remove:plug fit:plug remove:lamp-plug fit:lamp-plug restore:mains
other colours | {safe} remove:plug remove:other-plug fit:other-plug fit:plug restore:mains
one has a mark | {safe} remove:plug remove:marked-plug fit:marked-plug fit:plug restore:mains
the first has a mark | {safe} remove:marked-plug remove:plug fit:plug fit:marked-plug restore:mains
one is noted | {safe} note:plug remove:plug remove:lamp-plug fit:lamp-plug fit:plug restore:mains
the second is noted | {safe} remove:plug note:lamp-plug remove:lamp-plug fit:lamp-plug fit:plug restore:mains
without wires | {safe} remove:lid remove:plug fit:plug fit:lid restore:mains
alike | {safe} remove:plug remove:lamp-plug fit:lamp-plug fit:plug restore:mains | connections-look-alike | remove:lamp-plug | job remove:plug
alike, the other way round | {safe} remove:lamp-plug remove:plug fit:plug fit:lamp-plug restore:mains | connections-look-alike | remove:plug | job remove:lamp-plug
"
    );
    check_table(MACHINE, "", &ways);
}

#[test]
fn a_resistance_is_measured_on_a_dead_circuit() {
    let safe = "isolate:mains prove:mains";
    let ways = format!(
        "\
made safe | {safe} measure:winding restore:mains
a voltage | measure:lamp-voltage
the plug is off | {safe} remove:lamp-plug measure:winding-apart fit:lamp-plug restore:mains
live | measure:winding | resistance-on-live-circuit | measure:winding | case mains
live again | {safe} restore:mains measure:winding | resistance-on-live-circuit | measure:winding | job restore:mains
"
    );
    check_table(MACHINE, "", &ways);
}

#[test]
fn continuity_is_measured_on_a_dead_circuit_even_if_the_record_allows_it() {
    let machine = r#"
[energy.mains]
name = "mains"
kind = "electrical"
isolate = "Switch off"
prove = "Try the lamp"
restore = "Switch on"
[energy.tank]
name = "pressure of the tank"
kind = "pressure"
endangers = ["lid"]
isolate = "Open the cock"
prove = "The gauge shows nothing"
restore = "Close the cock"
[part.lid]
name = "lid"
[reading.lead]
name = "lead"
limits = "max 1 Ω"
may-be-live = ["mains"]
"#;
    let ways = "\
made safe | isolate:mains prove:mains measure:lead restore:mains
live | measure:lead | resistance-on-live-circuit | measure:lead | case mains
";
    check_table(machine, "", ways);
}

const TOOLS: &str = r#"
[tool.multimeter]
name = "multimeter"
[tool.multimeter.settings]
"DC V 20" = "0 V to 20 V"
"AC V 600" = "0 V to 600 V"
"Ω 200" = "0 Ω to 200 Ω"
"kΩ 20" = "0 kΩ to 20 kΩ"
[tool.lamp]
name = "lamp"
"#;

/// The rule and message of each finding about a reading with these fields.
fn about_reading(fields: &str) -> Vec<(String, String)> {
    let mut case = Case::on(&format!("[reading.coil]\nname = \"coil\"\n{fields}\n"));
    case.add("tools.toml", TOOLS);
    let sources = crate::read(&crate::tree::Memory::new(case.world));
    let findings = crate::check(&sources).findings;
    let findings = findings.iter();
    findings
        .map(|finding| {
            let message = finding.message.replace("\u{a0}", " ");
            (finding.rule.name.to_owned(), message)
        })
        .collect()
}

#[test]
fn a_setting_shows_the_limits_of_its_reading() {
    let right = [
        "limits = \"5 kΩ to 6 kΩ\"\ntool = \"multimeter\"",
        "limits = \"5 kΩ to 6 kΩ\"\ntool = \"multimeter\"\nsetting = \"kΩ 20\"",
        "limits = \"max 1 Ω\"\ntool = \"multimeter\"\nsetting = \"Ω 200\"",
        "limits = \"12 V ± 1 V\"\ntool = \"multimeter\"\nsetting = \"DC V 20\"",
        "limits = \"12 V ± 1 V\"\ntool = \"lamp\"",
        "limits = \"12 V ± 1 V\"",
    ];
    for fields in right {
        assert_eq!(about_reading(fields), [], "{fields}");
    }
    let wrong = [
        (
            "limits = \"5 kΩ to 6 kΩ\"\ntool = \"multimeter\"\nsetting = \"Ω 200\"",
            "the limits of `coil` of `case` are 5 kΩ to 6 kΩ, but `Ω 200` shows 0 Ω to 200 Ω",
        ),
        (
            "limits = \"12 V ± 1 V\"\ntool = \"multimeter\"\nsetting = \"Ω 200\"",
            "the limits of `coil` of `case` are 12 V ± 1 V, but `Ω 200` shows 0 Ω to 200 Ω",
        ),
        (
            "limits = \"12 V ± 1 V\"\ntool = \"multimeter\"\nsetting = \"DC V\"",
            "`multimeter` has no setting `DC V`",
        ),
        (
            "limits = \"12 V ± 1 V\"\ntool = \"multimeter\"",
            "several settings of `multimeter` show the limits of `coil` of `case`, which names none",
        ),
        (
            "limits = \"5 A ± 1 A\"\ntool = \"multimeter\"",
            "`multimeter` has no setting that shows 5 A ± 1 A, the limits of `coil` of `case`",
        ),
        (
            "limits = \"at least 1 MΩ\"\ntool = \"multimeter\"",
            "`multimeter` has no setting that shows at least 1 MΩ, the limits of `coil` of `case`",
        ),
        (
            "limits = \"12 V ± 1 V\"\ntool = \"lamp\"\nsetting = \"DC V 20\"",
            "`lamp` has no setting `DC V 20`",
        ),
        (
            "limits = \"12 V ± 1 V\"\nsetting = \"DC V 20\"",
            "`coil` of `case` names a setting, but no tool",
        ),
    ];
    for (fields, message) in wrong {
        let wanted = [("wrong-meter-setting".to_owned(), message.to_owned())];
        assert_eq!(about_reading(fields), wanted, "{fields}");
    }
}

/// The rules that reading a part with these wires reports.
fn about_wires(wires: &str) -> Vec<String> {
    let case = Case::on(&format!("[part.plug]\nname = \"plug\"\nwires = {wires}\n"));
    let findings = case.findings();
    findings.into_iter().map(|(rule, ..)| rule).collect()
}

#[test]
fn wires_are_a_terminal_and_a_colour_each() {
    for wires in [
        "[\"1 BK\"]",
        "\"earth GNYE\"",
        "[\"1 BK\", \"2 BK\"]",
        "[\"left of two RDWHBU\"]",
    ] {
        assert_eq!(about_wires(wires), Vec::<String>::new(), "{wires}");
    }
    for (wires, rule) in [
        ("[\"1 BK\", \"1 RD\"]", "conflicting-fields"),
        ("[\"1 XY\"]", "unknown-choice"),
        ("[\"1 bk\"]", "unknown-choice"),
        ("[\"1 black\"]", "unknown-choice"),
        ("[\"GNYE\"]", "ill-formed-value"),
    ] {
        assert_eq!(about_wires(wires), [rule], "{wires}");
    }
}

#[test]
fn sheets_print_terminals_settings_and_levels() {
    let mut case = job(
        &format!(
            "{LEVEL}{MACHINE}[reading.coil]\nname = \"coil\"\nlimits = \"5 kΩ to 6 kΩ\"\ntool = \"multimeter\"\n"
        ),
        &[
            "isolate:mains",
            "prove:mains",
            "remove:plug",
            "measure:coil",
            "fit:plug",
            "restore:mains",
            "measure:oil-level",
        ],
    );
    case.add("tools.toml", TOOLS);
    assert_clean(&case);
    let [shop_sheet, checklist] = case.sheets("job").try_into().unwrap();
    for sheet in [&shop_sheet, &checklist] {
        let terminals = "terminals: 1 black (BK), 2 green/yellow (GNYE)";
        assert!(sheet.contains(terminals), "{sheet}");
        assert!(sheet.contains("set to kΩ 20"));
        assert!(sheet.contains("between MIN and MAX"));
    }
    assert!(shop_sheet.contains("behind the lid"));
    assert!(
        checklist.contains("\"options\":[\"below MIN\",\"between MIN and MAX\",\"above MAX\"]")
    );
    assert!(checklist.contains("\"under\":\"Top up\""));
}

const LEVEL: &str = r#"
[run]
start = "Pull."
stop = "Push."
[fluid.oil]
name = "oil"
supply = "grease"
[reading.oil-level]
name = "oil level"
marks = ["MIN", "MAX"]
fluid = "oil"
under = "Top up"
[reading.level-at-run]
name = "level while it runs"
marks = ["LOW", "FULL"]
engine = "running"
"#;

#[test]
fn a_level_is_read_when_its_fluid_is_in_and_the_engine_is_stopped() {
    let ways = "\
at rest | measure:oil-level
at rest after a run | run:engine stop:engine measure:oil-level
one that is read in a run | run:engine measure:level-at-run stop:engine
after filling | drain:oil fill:oil measure:oil-level
before and after a top-up | measure:oil-level fill:oil measure:oil-level
during a run | run:engine measure:oil-level stop:engine | wrong-engine-state | measure:oil-level | job run:engine
the other at rest | measure:level-at-run | wrong-engine-state | measure:level-at-run | case running
drained | drain:oil measure:oil-level fill:oil measure:oil-level | reading-of-drained-fluid | measure:oil-level | job drain:oil
topped up and not read again | measure:oil-level fill:oil | not-measured-after-adjusting | fill:oil |
filled and never read | drain:oil fill:oil | not-measured-after-adjusting | fill:oil |
";
    check_table(LEVEL, "", ways);
}

/// The rules that reading a reading with these fields reports.
fn about_level(fields: &str) -> Vec<String> {
    let case = Case::on(&format!("[reading.level]\nname = \"level\"\n{fields}\n"));
    let findings = case.findings();
    findings.into_iter().map(|(rule, ..)| rule).collect()
}

#[test]
fn a_level_has_two_marks_and_no_limits() {
    for fields in ["marks = [\"MIN\", \"MAX\"]", "limits = \"1 mm to 2 mm\""] {
        assert_eq!(about_level(fields), Vec::<String>::new(), "{fields}");
    }
    for (fields, rule) in [
        ("", "missing-field"),
        ("marks = [\"MIN\"]", "ill-formed-value"),
        ("marks = \"MIN\"", "ill-formed-value"),
        ("marks = [\"MIN\", \"MIN\"]", "ill-formed-value"),
        ("marks = [\"A\", \"B\", \"C\"]", "ill-formed-value"),
        (
            "marks = [\"MIN\", \"MAX\"]\nlimits = \"1 mm to 2 mm\"",
            "conflicting-fields",
        ),
        (
            "marks = [\"MIN\", \"MAX\"]\nfluid = \"oil\"",
            "unknown-name",
        ),
    ] {
        assert_eq!(about_level(fields), [rule], "{fields}");
    }
}
