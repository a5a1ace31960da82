//! Values of machine files that are right or wrong for the part or the reading that they belong to. There are as many
//! right ones as wrong ones.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

mod support;

use benchleaf::tree::Memory;
use std::collections::BTreeMap;
use support::{files, tree};

const TOOLS: &str = r#"
[tool.feelers]
name = "feeler gauges"
range = "0.05 mm to 1 mm"
[tool.wires]
name = "wire gauges"
[tool.gauge]
name = "pressure gauge"
range = "at most 6 bar"
[tool.meter]
name = "multimeter"
range = "0 V to 600 V"
[tool.tacho]
name = "tachometer"
pulse-settings = [1]
[tool.disc]
name = "contact tachometer"
"#;

/// The rules that the tree `hand-pump` breaks with these records on its machine, and all text of the findings.
fn findings(records: &str) -> (Vec<&'static str>, String) {
    let mut world: BTreeMap<String, Vec<u8>> = files(&tree("hand-pump")).into_iter().collect();
    let mut add = |path: &str, text: &str| {
        let file = world.get_mut(path).unwrap();
        file.push(b'\n');
        file.extend(text.as_bytes());
    };
    add("machines/hand-pump.toml", records);
    add("tools.toml", TOOLS);
    let sources = benchleaf::read(&Memory::new(world));
    let checked = benchleaf::check(&sources);
    let names = checked.findings.iter().map(|finding| finding.rule.name);
    let text = benchleaf::report::terminal(&sources.tree, &checked.findings, false);
    (names.collect(), text.replace('\u{a0}', " "))
}

/// Each case is a record's fields, and the rule that it breaks or nothing.
fn check(record: &str, cases: &[(&str, &str)]) {
    let (mut right, mut wrong) = (0, Vec::new());
    for (fields, rule) in cases {
        let (found, text) = findings(&format!("{record}\n{}", fields.replace("; ", "\n")));
        let expected: Vec<&str> = if rule.is_empty() {
            Vec::new()
        } else {
            vec![rule]
        };
        right += usize::from(rule.is_empty());
        if found != expected {
            wrong.push(format!(
                "{fields}: expected {expected:?}, found {found:?}\n{text}"
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(
        2 * right >= cases.len(),
        "{right} of {} are right",
        cases.len()
    );
}

const LOW: &str = "torque-too-low-for-fastener";
const HIGH: &str = "torque-too-high-for-fastener";
const UNIT: &str = "torque-in-wrong-unit";

#[test]
fn torques_are_judged_with_and_without_a_class() {
    check(
        "[part.bolt]\nname = \"bolt\"",
        &[
            // With a class.
            (
                r#"thread = "M6"; class = "8.8"; torque = "9 N·m ± 1 N·m""#,
                "",
            ),
            (
                r#"thread = "M6"; class = "8.8"; torque = "5 N·m ± 0.5 N·m""#,
                "",
            ),
            (
                r#"thread = "M6"; class = "8.8"; torque = "at least 5 N·m""#,
                "",
            ),
            (r#"thread = "M6"; class = "12.9"; torque = "10 N·m""#, ""),
            (r#"thread = "M6"; class = "8.8"; torque = "9 in·lbf""#, UNIT),
            (r#"thread = "M6"; class = "8.8"; torque = "0.9 N·m""#, UNIT),
            (r#"thread = "M6"; class = "8.8"; torque = "0.2 N·m""#, LOW),
            (r#"thread = "M6"; class = "8.8"; torque = "90 N·m""#, UNIT),
            (
                r#"thread = "M6"; class = "8.8"; torque = "at least 20 N·m""#,
                HIGH,
            ),
            (
                r#"thread = "M6"; class = "8.8"; torque = "5 N·m to 20 N·m""#,
                HIGH,
            ),
            (
                r#"thread = "M8"; class = "10.9"; torque = "30 N·m ± 3 N·m""#,
                "",
            ),
            (
                r#"thread = "1/4-20"; class = "grade 5"; torque = "75 in·lbf""#,
                "",
            ),
            // Without.
            (r#"thread = "M6"; torque = "7 N·m ± 0.7 N·m""#, ""),
            (r#"thread = "M6"; torque = "20 N·m""#, ""),
            (
                r#"thread = "3/8-24 UNF"; torque = "30 ft·lbf ± 3 ft·lbf""#,
                "",
            ),
            (r#"thread = "M6"; torque = "40 N·m""#, UNIT),
            (r#"thread = "M6"; torque = "30 N·m ± 2 N·m""#, UNIT),
            (r#"thread = "M6"; torque = "2500 N·m""#, HIGH),
            (r#"thread = "M6"; torque = "0.05 N·m""#, LOW),
            (r#"thread = "3/8-24 UNF"; torque = "30 in·lbf""#, UNIT),
            // Low on purpose.
            (
                r#"thread = "M6"; torque = "0.5 N·m"; low-torque = "brass jet""#,
                "",
            ),
            (
                r#"thread = "M6"; class = "8.8"; torque = "0.9 N·m"; low-torque = "plastic cap""#,
                "",
            ),
            (
                r#"thread = "M6"; torque = "90 N·m"; low-torque = "brass jet""#,
                UNIT,
            ),
            // A material without a depth lowers the floor, a depth moves both bounds.
            (r#"thread = "M6"; torque = "1 N·m"; into = "plastic""#, ""),
            (r#"thread = "M6"; torque = "9 N·m"; into = "aluminium""#, ""),
            (
                r#"thread = "M6"; torque = "1 N·m"; into = "plastic"; engagement = "10 mm""#,
                "",
            ),
            (
                r#"thread = "M6"; torque = "6 N·m"; into = "aluminium"; engagement = "9 mm""#,
                "",
            ),
            (
                r#"thread = "M6"; class = "8.8"; torque = "9 N·m"; into = "steel"; engagement = "6 mm""#,
                "",
            ),
            (
                r#"thread = "M6"; class = "8.8"; torque = "9 N·m ± 1 N·m"; into = "steel"; engagement = "3 mm""#,
                HIGH,
            ),
            (
                r#"thread = "M6"; class = "8.8"; torque = "9 N·m"; into = "aluminium"; engagement = "9 mm""#,
                HIGH,
            ),
            (
                r#"thread = "M6"; torque = "9 N·m"; into = "plastic"; engagement = "10 mm""#,
                UNIT,
            ),
            (
                r#"thread = "M6"; torque = "0.01 N·m"; into = "plastic""#,
                LOW,
            ),
        ],
    );
}

/// The command `torque` accepts the same ones.
#[test]
fn every_tapped_material_is_accepted() {
    for material in benchleaf::trade::Material::ALL {
        let part =
            format!("[part.bolt]\nname = \"bolt\"\nthread = \"M6\"\ninto = \"{material}\"\n");
        for more in [
            "",
            "engagement = \"9 mm\"\ntorque = \"1 N·m\"\nlow-torque = \"cap\"\n",
        ] {
            assert_eq!(findings(&format!("{part}{more}")).0, [""; 0], "{material}");
        }
    }
    let wood = findings("[part.bolt]\nname = \"bolt\"\nthread = \"M6\"\ninto = \"wood\"\n");
    assert_eq!(wood.0, ["unknown-choice"]);
}

#[test]
fn stages_and_angles_are_judged() {
    check(
        "[part.bolt]\nname = \"bolt\"\nthread = \"M10\"\nclass = \"10.9\"",
        &[
            (r#"stages = ["10 N·m", "60 N·m"]"#, ""),
            // A torque before an angle is low on purpose.
            (r#"stages = ["10 N·m", "90°"]"#, ""),
            (r#"torque = "10 N·m + 90°""#, ""),
            (r#"stages = ["5 N·m", "10 N·m + 90°"]"#, ""),
            (r#"stages = ["90°", "90°"]"#, ""),
            (r#"torque = "500 N·m + 90°""#, UNIT),
            (r#"torque = "200 N·m + 90°""#, HIGH),
            (r#"stages = ["200 N·m", "90°"]"#, HIGH),
            (r#"stages = ["2 N·m", "3 N·m"]"#, LOW),
            (r#"stages = ["20 N·m", "200 N·m"]"#, HIGH),
        ],
    );
}

#[test]
fn spark_plugs_are_judged_by_published_torques() {
    check(
        "[part.plug]\nname = \"spark plug\"",
        &[
            (
                r#"thread = "M14x1.25"; spark-plug = "gasket seat"; torque = "20 N·m ± 2 N·m""#,
                "",
            ),
            (
                r#"thread = "M14x1.25"; spark-plug = "gasket seat"; into = "cast iron"; torque = "35 N·m""#,
                "",
            ),
            (
                r#"thread = "M14x1.25"; spark-plug = "taper seat"; torque = "15 N·m""#,
                "",
            ),
            (
                r#"thread = "M10x1"; spark-plug = "gasket seat"; into = "aluminium"; torque = "12 N·m""#,
                "",
            ),
            // No published torque for this seat.
            (
                r#"thread = "M12x1.25"; spark-plug = "taper seat"; torque = "1 N·m""#,
                "",
            ),
            (
                r#"thread = "M14x1.25"; spark-plug = "gasket seat"; torque = "2 N·m""#,
                UNIT,
            ),
            (
                r#"thread = "M14x1.25"; spark-plug = "gasket seat"; torque = "20 in·lbf""#,
                UNIT,
            ),
            (
                r#"thread = "M14x1.25"; spark-plug = "gasket seat"; torque = "0.2 N·m""#,
                LOW,
            ),
            (
                r#"thread = "M14x1.25"; spark-plug = "taper seat"; into = "aluminium"; torque = "30 N·m""#,
                HIGH,
            ),
            (
                r#"thread = "M14x1.5"; spark-plug = "gasket seat"; torque = "20 N·m""#,
                "class-thread-mismatch",
            ),
            (
                r#"thread = "M14x1.25"; spark-plug = "gasket seat"; class = "8.8""#,
                "conflicting-fields",
            ),
            (r#"spark-plug = "gasket seat"; torque = "20 N·m""#, ""),
        ],
    );
}

#[test]
fn nothing_is_calculated_for_pipe_threads() {
    check(
        "[part.plug]\nname = \"plug\"",
        &[
            (r#"thread = "1/8-27 NPT"; torque = "12 N·m""#, ""),
            (r#"thread = "G1/4"; torque = "0.1 N·m""#, ""),
            (
                r#"thread = "R1/4"; torque = "900 N·m"; into = "aluminium"; engagement = "9 mm""#,
                "",
            ),
            (
                r#"thread = "1/4 NPT"; class = "8.8"; torque = "12 N·m""#,
                "class-thread-mismatch",
            ),
            (
                r#"thread = "1/4-19 NPT"; torque = "12 N·m""#,
                "ill-formed-value",
            ),
        ],
    );
}

#[test]
fn a_wrench_is_not_judged_by_a_thread_without_heads() {
    let step = |part: &str| {
        let mut world: BTreeMap<String, Vec<u8>> = files(&tree("hand-pump")).into_iter().collect();
        let file = world.get_mut("machines/hand-pump.toml").unwrap();
        file.extend(format!("\n[part.plug]\nname = \"plug\"\n{part}").as_bytes());
        let procedure = "+++\ntitle = \"Plug\"\nmachines = [\"hand-pump\"]\n+++\n## Do\n\n\
            1. With the [wrench](use:wrench-10), [tighten it](tighten:plug).\n";
        world.insert("air/plug.md".to_owned(), procedure.into());
        let sources = benchleaf::read(&Memory::new(world));
        let checked = benchleaf::check(&sources);
        let names = checked.findings.iter().map(|finding| finding.rule.name);
        names.filter(|name| *name == "wrench-does-not-fit").count()
    };
    assert_eq!(step("thread = \"G1/4\"\n"), 0);
    assert_eq!(step("thread = \"1/4-18 NPT\"\nhead = \"hex bolt\"\n"), 0);
    assert_eq!(
        step("thread = \"M14x1.25\"\nspark-plug = \"gasket seat\"\n"),
        0
    );
    assert_eq!(step("thread = \"M30\"\n"), 0);
    assert_eq!(step("thread = \"M6\"\n"), 0);
    assert_eq!(step("thread = \"M5\"\n"), 1);
    assert_eq!(step("thread = \"M6\"\nhead = \"socket head\"\n"), 1);
}

#[test]
fn limits_of_readings_are_judged() {
    let plug = "[part.plug]\nname = \"plug\"\nthread = \"M14x1.25\"\nspark-plug = \"gasket seat\"\n\
        [reading.value]\nname = \"value\"\n";
    check(
        plug,
        &[
            (r#"limits = "0.1 mm to 0.2 mm"; tool = "feelers""#, ""),
            (r#"limits = "at most 1 mm"; tool = "feelers""#, ""),
            (r#"limits = "0.004 in to 0.008 in"; tool = "feelers""#, ""),
            (r#"limits = "2 bar to 6 bar"; tool = "gauge""#, ""),
            // The tool may measure other kinds as well.
            (r#"limits = "2 Ω to 3 Ω"; tool = "meter""#, ""),
            (
                r#"limits = "0.1 in to 0.2 in"; tool = "feelers""#,
                "meter-out-of-range",
            ),
            (
                r#"limits = "0.1 mm to 2 mm"; tool = "feelers""#,
                "meter-out-of-range",
            ),
            (
                r#"limits = "0.01 mm to 0.2 mm"; tool = "feelers""#,
                "meter-out-of-range",
            ),
            (
                r#"limits = "20 bar to 60 bar"; tool = "gauge""#,
                "meter-out-of-range",
            ),
            (
                r#"limits = "at least 1.2 mm"; tool = "feelers""#,
                "meter-out-of-range",
            ),
            (
                r#"limits = "0.15 mm"; tool = "feelers""#,
                "reading-without-limits",
            ),
            (r#"limits = "about 0.15 mm""#, "ill-formed-value"),
            // Gaps of spark plugs.
            (
                r#"limits = "0.7 mm to 0.8 mm"; without = ["plug"]; tool = "wires""#,
                "",
            ),
            (r#"limits = "0.030 in ± 0.002 in"; without = ["plug"]"#, ""),
            (r#"limits = "at most 1.5 mm"; without = ["plug"]"#, ""),
            (r#"limits = "7 mm to 8 mm""#, ""),
            (
                r#"limits = "7 mm to 8 mm"; without = ["plug"]"#,
                "reading-implausible",
            ),
            (
                r#"limits = "0.07 mm to 0.8 mm"; without = ["plug"]"#,
                "reading-implausible",
            ),
            (
                r#"limits = "0.7 in to 0.8 in"; without = ["plug"]"#,
                "reading-implausible",
            ),
            (r#"limits = "10 bar to 12 bar"; without = ["plug"]"#, ""),
        ],
    );
}

#[test]
fn speeds_and_frequencies_are_judged() {
    check(
        "[engine]\nignition-pulses-per-turn = 1\n[generator]\npoles = 2\nfrequency = \"50 Hz ± 2 Hz\"\n\
         [reading.value]\nname = \"value\"\n",
        &[
            (r#"limits = "3100 rpm ± 100 rpm"; tool = "tacho""#, ""),
            (r#"limits = "at least 12500 rpm"; tool = "tacho""#, ""),
            (r#"limits = "600 rpm to 700 rpm"; tool = "tacho""#, ""),
            // This tool may measure a shaft behind a gearbox.
            (r#"limits = "120 rpm ± 10 rpm"; tool = "disc""#, ""),
            (
                r#"limits = "310 rpm ± 10 rpm"; tool = "tacho""#,
                "reading-implausible",
            ),
            (
                r#"limits = "31000 rpm ± 100 rpm"; tool = "tacho""#,
                "reading-implausible",
            ),
            (r#"limits = "52 Hz ± 1 Hz""#, ""),
            (r#"limits = "5.2 Hz ± 1 Hz""#, "reading-implausible"),
            (r#"limits = "25 Hz to 52 Hz""#, "reading-implausible"),
            (r#"limits = "230 V ± 10 V"; tool = "meter""#, ""),
            (
                r#"limits = "2300 V ± 10 V"; tool = "meter""#,
                "meter-out-of-range",
            ),
        ],
    );
}

#[test]
fn readings_of_one_adjuster_are_compared() {
    let two = |first: &str, second: &str, more: &str| {
        let (found, _) = findings(&format!(
            "[part.locknut]\nname = \"locknut\"\n[part.other]\nname = \"other\"\n\
             [reading.first]\nname = \"first\"\nlimits = \"{first}\"\nlocked-by = [\"locknut\"]\n\
             [reading.second]\nname = \"second\"\nlimits = \"{second}\"\n{more}\n"
        ));
        found
    };
    let same = "locked-by = [\"locknut\"]";
    for (first, second, more, is_far) in [
        ("0.12 mm to 0.18 mm", "0.17 mm to 0.23 mm", same, false),
        ("0.12 mm to 0.18 mm", "0.006 in to 0.009 in", same, false),
        ("2 mm to 3 mm", "12 mm to 14 mm", same, false),
        ("0.1 mm to 0.2 mm", "5 N to 10 N", same, false),
        (
            "0.1 mm to 0.2 mm",
            "10 mm to 14 mm",
            "locked-by = [\"other\"]",
            false,
        ),
        ("0.1 mm to 0.2 mm", "10 mm to 14 mm", "", false),
        (
            "0.1 mm to 0.2 mm",
            "10 mm to 14 mm",
            "locked-by = [\"locknut\"]\ntool = \"wires\"",
            false,
        ),
        ("0 mm to 0.2 mm", "-0.1 mm to 0.1 mm", same, false),
        ("0.12 mm to 0.18 mm", "1.7 mm to 2.3 mm", same, true),
        ("1.2 mm to 1.8 mm", "0.17 mm to 0.20 mm", same, true),
        ("0.12 mm to 0.18 mm", "0.12 in to 0.18 in", same, true),
        ("0.15 mm ± 0.02 mm", "at most 0.015 mm", same, true),
    ] {
        let found = two(first, second, more);
        let expected: &[&str] = if is_far { &["readings-far-apart"] } else { &[] };
        assert_eq!(found, expected, "{first}, {second}, {more}");
    }
}

/// What the help says of a tapped hole, a mistaken unit and a low torque.
#[test]
fn the_help_shows_the_figures() {
    let help = |fields: &str| {
        let (_, text) = findings(&format!("[part.bolt]\nname = \"bolt\"\n{fields}"));
        text
    };
    let tapped = help(
        "thread = \"M6\"\nclass = \"8.8\"\ntorque = \"9 N·m\"\ninto = \"aluminium\"\nengagement = \"9 mm\"",
    );
    for part in [
        "takes at most 8.47 N·m",
        "6.35 N·m, recommended",
        "recommended 6.35 N·m, the aluminium strips at 8.47 N·m",
    ] {
        assert!(tapped.contains(part), "{part}: {tapped}");
    }
    let unit = help("thread = \"M6\"\ntorque = \"9 in·lbf\"");
    assert!(unit.contains("was 9 N·m or 9 ft·lbf meant?"), "{unit}");
    assert!(unit.contains("give the reason in `low-torque`"), "{unit}");
    let point = help("thread = \"M8\"\nclass = \"8.8\"\ntorque = \"200 N·m\"");
    assert!(point.contains("is the decimal point misplaced?"), "{point}");
}
