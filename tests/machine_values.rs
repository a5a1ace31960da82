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
[tool.rpm]
name = "counter"
range = "10 rpm to 20000 rpm"
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

/// Each line of `cases` is the fields of a record, and the rule that they break, if any.
#[track_caller]
fn check(record: &str, cases: &str) {
    let lines = cases.lines().map(str::trim);
    let lines: Vec<&str> = lines
        .filter(|line| !line.is_empty() && !line.starts_with('#'))
        .collect();
    let (mut right, mut wrong) = (0, Vec::new());
    for line in &lines {
        let (fields, rule) = line.split_once(" | ").unwrap_or((line, ""));
        let (found, text) = findings(&format!("{record}\n{}", fields.replace("; ", "\n")));
        let expected: Vec<&str> = Some(rule)
            .filter(|rule| !rule.is_empty())
            .into_iter()
            .collect();
        right += usize::from(expected.is_empty());
        if found != expected {
            wrong.push(format!("{line}: found {found:?}\n{text}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(
        2 * right >= lines.len(),
        "{right} of {} are right",
        lines.len()
    );
}

#[test]
fn torques_are_judged_with_and_without_a_class() {
    check(
        "[part.bolt]\nname = \"bolt\"",
        r#"
        # With a class.
        thread = "M6"; class = "8.8"; torque = "9 N·m ± 1 N·m"
        thread = "M6"; class = "8.8"; torque = "5 N·m ± 0.5 N·m"
        thread = "M6"; class = "8.8"; torque = "at least 5 N·m"
        thread = "M6"; class = "12.9"; torque = "10 N·m"
        thread = "M6"; class = "8.8"; torque = "9 in·lbf" | torque-in-wrong-unit
        thread = "M6"; class = "8.8"; torque = "0.9 N·m" | torque-in-wrong-unit
        thread = "M6"; class = "8.8"; torque = "0.2 N·m" | torque-too-low-for-fastener
        thread = "M6"; class = "8.8"; torque = "90 N·m" | torque-in-wrong-unit
        thread = "M6"; class = "8.8"; torque = "at least 20 N·m" | torque-too-high-for-fastener
        thread = "M6"; class = "8.8"; torque = "5 N·m to 20 N·m" | torque-too-high-for-fastener
        thread = "M8"; class = "10.9"; torque = "30 N·m ± 3 N·m"
        thread = "1/4-20"; class = "grade 5"; torque = "75 in·lbf"
        # Without.
        thread = "M6"; torque = "7 N·m ± 0.7 N·m"
        thread = "M6"; torque = "20 N·m"
        thread = "3/8-24 UNF"; torque = "30 ft·lbf ± 3 ft·lbf"
        thread = "M6"; torque = "40 N·m" | torque-in-wrong-unit
        thread = "M6"; torque = "30 N·m ± 2 N·m" | torque-in-wrong-unit
        thread = "M6"; torque = "2500 N·m" | torque-too-high-for-fastener
        thread = "M6"; torque = "0.05 N·m" | torque-too-low-for-fastener
        thread = "3/8-24 UNF"; torque = "30 in·lbf" | torque-in-wrong-unit
        # Low on purpose.
        thread = "M6"; torque = "0.5 N·m"; low-torque = "brass jet"
        thread = "M6"; class = "8.8"; torque = "0.9 N·m"; low-torque = "plastic cap"
        thread = "M6"; torque = "90 N·m"; low-torque = "brass jet" | torque-in-wrong-unit
        # A material without a depth lowers the floor, a depth moves both bounds.
        thread = "M6"; torque = "1 N·m"; into = "plastic"
        thread = "M6"; torque = "9 N·m"; into = "aluminium"
        thread = "M6"; torque = "1 N·m"; into = "plastic"; engagement = "10 mm"
        thread = "M6"; torque = "6 N·m"; into = "aluminium"; engagement = "9 mm"
        thread = "M6"; class = "8.8"; torque = "9 N·m"; into = "steel"; engagement = "6 mm"
        thread = "M6"; class = "8.8"; torque = "9 N·m ± 1 N·m"; into = "steel"; engagement = "3 mm" | torque-too-high-for-fastener
        thread = "M6"; class = "8.8"; torque = "9 N·m"; into = "aluminium"; engagement = "9 mm" | torque-too-high-for-fastener
        thread = "M6"; torque = "9 N·m"; into = "plastic"; engagement = "10 mm" | torque-in-wrong-unit
        thread = "M6"; torque = "0.01 N·m"; into = "plastic" | torque-too-low-for-fastener
        "#,
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
        r#"
        stages = ["10 N·m", "60 N·m"]
        # A torque before an angle is low on purpose.
        stages = ["10 N·m", "90°"]
        torque = "10 N·m + 90°"
        stages = ["5 N·m", "10 N·m + 90°"]
        stages = ["90°", "90°"]
        torque = "500 N·m + 90°" | torque-in-wrong-unit
        torque = "200 N·m + 90°" | torque-too-high-for-fastener
        stages = ["200 N·m", "90°"] | torque-too-high-for-fastener
        stages = ["2 N·m", "3 N·m"] | torque-too-low-for-fastener
        stages = ["20 N·m", "200 N·m"] | torque-too-high-for-fastener
        "#,
    );
}

#[test]
fn spark_plugs_are_judged_by_published_torques() {
    check(
        "[part.plug]\nname = \"spark plug\"",
        r#"
        thread = "M14x1.25"; spark-plug = "gasket seat"; torque = "20 N·m ± 2 N·m"
        thread = "M14x1.25"; spark-plug = "gasket seat"; into = "cast iron"; torque = "35 N·m"
        thread = "M14x1.25"; spark-plug = "taper seat"; torque = "15 N·m"
        thread = "M10x1"; spark-plug = "gasket seat"; into = "aluminium"; torque = "12 N·m"
        # No published torque for this seat.
        thread = "M12x1.25"; spark-plug = "taper seat"; torque = "1 N·m"
        thread = "M14x1.25"; spark-plug = "gasket seat"; torque = "2 N·m" | torque-in-wrong-unit
        thread = "M14x1.25"; spark-plug = "gasket seat"; torque = "20 in·lbf" | torque-in-wrong-unit
        thread = "M14x1.25"; spark-plug = "gasket seat"; torque = "0.2 N·m" | torque-too-low-for-fastener
        thread = "M14x1.25"; spark-plug = "taper seat"; into = "aluminium"; torque = "30 N·m" | torque-too-high-for-fastener
        thread = "M14x1.5"; spark-plug = "gasket seat"; torque = "20 N·m" | class-thread-mismatch
        thread = "M14x1.25"; spark-plug = "gasket seat"; class = "8.8" | conflicting-fields
        spark-plug = "gasket seat"; torque = "20 N·m"
        "#,
    );
}

#[test]
fn nothing_is_calculated_for_pipe_threads() {
    check(
        "[part.plug]\nname = \"plug\"",
        r#"
        thread = "1/8-27 NPT"; torque = "12 N·m"
        thread = "G1/4"; torque = "0.1 N·m"
        thread = "R1/4"; torque = "900 N·m"; into = "aluminium"; engagement = "9 mm"
        thread = "1/4 NPT"; class = "8.8"; torque = "12 N·m" | class-thread-mismatch
        thread = "1/4-19 NPT"; torque = "12 N·m" | ill-formed-value
        "#,
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
        r#"
        limits = "0.1 mm to 0.2 mm"; tool = "feelers"
        limits = "at most 1 mm"; tool = "feelers"
        limits = "0.004 in to 0.008 in"; tool = "feelers"
        limits = "2 bar to 6 bar"; tool = "gauge"
        # The tool may measure other kinds as well.
        limits = "2 Ω to 3 Ω"; tool = "meter"
        limits = "0.1 in to 0.2 in"; tool = "feelers" | meter-out-of-range
        limits = "0.1 mm to 2 mm"; tool = "feelers" | meter-out-of-range
        limits = "0.01 mm to 0.2 mm"; tool = "feelers" | meter-out-of-range
        limits = "20 bar to 60 bar"; tool = "gauge" | meter-out-of-range
        limits = "at least 1.2 mm"; tool = "feelers" | meter-out-of-range
        limits = "0.15 mm"; tool = "feelers" | reading-without-limits
        limits = "about 0.15 mm" | reading-without-limits
        # Gaps of spark plugs.
        limits = "0.7 mm to 0.8 mm"; without = ["plug"]; tool = "wires"
        limits = "0.030 in ± 0.002 in"; without = ["plug"]
        limits = "at most 1.5 mm"; without = ["plug"]
        limits = "7 mm to 8 mm"
        limits = "7 mm to 8 mm"; without = ["plug"] | reading-implausible
        limits = "0.07 mm to 0.8 mm"; without = ["plug"] | reading-implausible
        limits = "0.7 in to 0.8 in"; without = ["plug"] | reading-implausible
        limits = "10 bar to 12 bar"; without = ["plug"]
        "#,
    );
}

#[test]
fn speeds_and_frequencies_are_judged() {
    check(
        "[engine]\nignition-pulses-per-turn = 1\n[generator]\npoles = 2\nfrequency = \"50 Hz ± 2 Hz\"\n\
         [reading.value]\nname = \"value\"\nengine = \"running\"\ncautions = [\"sharp-edge\"]\n",
        r#"
        limits = "3100 rpm ± 100 rpm"; tool = "tacho"
        limits = "at least 12500 rpm"; tool = "tacho"
        limits = "600 rpm to 700 rpm"; tool = "tacho"
        # This tool may measure a shaft behind a gearbox.
        limits = "120 rpm ± 10 rpm"; tool = "disc"
        limits = "310 rpm ± 10 rpm"; tool = "tacho" | reading-implausible
        limits = "31000 rpm ± 100 rpm"; tool = "tacho" | reading-implausible
        limits = "52 Hz ± 1 Hz"
        limits = "5.2 Hz ± 1 Hz" | reading-implausible
        limits = "25 Hz to 52 Hz" | reading-implausible
        limits = "230 V ± 10 V"; tool = "meter"
        limits = "3000 rpm ± 10 rpm"; tool = "rpm"
        limits = "50 Hz ± 1 Hz"; tool = "rpm" | meter-out-of-range
        limits = "2300 V ± 10 V"; tool = "meter" | meter-out-of-range
        "#,
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
        ("0 mm to 0.2 mm", "0 mm to 0.1 mm", same, false),
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

const ODD: [&str; 1] = ["torque-unit-unlike-others"];
const NONE: [&str; 0] = [];

#[test]
fn a_torque_in_another_system_than_all_others_is_found() {
    // The tree has a torque of its own, in N·m.
    let machine = |torques: &[&str]| {
        let parts = torques.iter().enumerate().map(|(index, torque)| {
            let field = if torque.starts_with('[') {
                "stages"
            } else {
                "torque"
            };
            format!("[part.bolt-{index}]\nname = \"bolt {index}\"\n{field} = {torque}\n")
        });
        findings(&parts.collect::<String>()).0
    };
    assert_eq!(machine(&["\"9 ft·lbf\"", "\"9 N·m\"", "\"20 N·m\""]), ODD);
    assert_eq!(machine(&["\"9 N·m\"", "\"90 in·lbf\"", "\"20 N·m\""]), ODD);
    assert_eq!(
        machine(&["\"9 N·m\"", "\"9 N·m\"", "[\"9 ft·lbf\", \"90°\"]"]),
        ODD
    );
    assert_eq!(
        machine(&["\"7 ft·lbf\"", "\"90 in·lbf\"", "\"20 ft·lbf\""]),
        ODD
    );
    assert_eq!(machine(&["\"1 kgf·m\"", "\"9 N·m\"", "\"20 N·m\""]), ODD);
    assert_eq!(machine(&["\"9 N·m\"", "\"9 N·m\"", "\"20 N·m\""]), NONE);
    // An engine with values in one system and a deck in the other.
    assert_eq!(
        machine(&["\"9 N·m\"", "\"9 ft·lbf\"", "\"20 ft·lbf\""]),
        NONE
    );
    assert_eq!(machine(&["\"9 N·m\"", "\"9 ft·lbf\"", "\"2 kgf·m\""]), NONE);
    // Too few to have a usual system.
    assert_eq!(machine(&["\"9 ft·lbf\"", "\"9 N·m\""]), NONE);
    assert_eq!(machine(&["\"9 ft·lbf\""]), NONE);
    assert_eq!(
        machine(&["[\"90°\"]", "\"9 N·m\"", "\"9 N·m\"", "\"9 N·m\""]),
        NONE
    );
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
