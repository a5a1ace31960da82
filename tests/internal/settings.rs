//! What shops enter about tools, mixtures and generators: what is found, and what sheets print.

use super::sheets;
use super::support::{files, tree};
use crate::page::{Edition, OutputContext, SheetKind};
use crate::tree::Memory;
use std::collections::{BTreeMap, BTreeSet};

/// The tree `hand-pump` with text added to its files.
fn world(added: &[(&str, &str)]) -> BTreeMap<String, Vec<u8>> {
    let mut world: BTreeMap<String, Vec<u8>> = files(&tree("hand-pump")).into_iter().collect();
    for (path, text) in added {
        let file = world.entry((*path).to_owned()).or_default();
        file.extend(text.as_bytes());
        file.push(b'\n');
    }
    world
}

fn findings(added: &[(&str, &str)]) -> Vec<String> {
    let sources = crate::read(&Memory::new(world(added)));
    let checked = crate::check_all(&sources);
    let findings = checked.findings.iter();
    findings
        .map(|finding| {
            let labels = finding.others.iter().map(|mark| mark.label.clone());
            let help = finding.help.iter().cloned();
            let texts: Vec<String> = std::iter::once(finding.message.clone())
                .chain(labels)
                .chain(help)
                .filter(|text| !text.is_empty())
                .collect();
            let text = format!("{}: {}", finding.rule.name, texts.join("; "));
            text.replace(['\u{a0}', '\u{202f}'], " ")
        })
        .collect()
}

fn machine_sheet(world: BTreeMap<String, Vec<u8>>, machine: &str) -> String {
    let sources = crate::read(&Memory::new(world));
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    let machine = sources.shop.machines.get(machine).unwrap();
    let sheet =
        crate::sheet::machine_sheet(SheetKind::MachineData, &sources.shop, machine, &[], &output);
    let text = serde_json::to_string(&sheet.unwrap()).unwrap();
    text.replace(['\u{a0}', '\u{202f}'], " ")
}

const WRENCHES: &str = r#"
[tool.fine]
name = "fine wrench"
range = "3 N·m to 15 N·m"
tolerance = "2 %"
graduation = "0.1 N·m"
length = "250 mm"
[tool.coarse]
name = "coarse wrench"
range = "5 N·m to 50 N·m"
tolerance = "2 %"
graduation = "2.5 N·m"
[tool.crowfoot]
name = "crowfoot"
extends = "50 mm"
"#;

/// The findings on steps of a procedure for the hand pump, whose cover nut has 9 N·m ± 1 N·m.
fn findings_on(steps: &str, nut: &str) -> Vec<String> {
    let front = "+++\ntitle = \"Nuts\"\nmachines = [\"hand-pump\"]\n+++\n## Check\n\n";
    let mut world = world(&[
        ("tools.toml", WRENCHES),
        ("air/nuts.md", &format!("{front}{steps}\n")),
    ]);
    let path = "machines/hand-pump.toml";
    let text = String::from_utf8(world[path].clone()).unwrap();
    let text = text.replace("torque = \"9 N·m ± 1 N·m\"", nut);
    world.insert(path.to_owned(), text.into_bytes());
    let sources = crate::read(&Memory::new(world));
    let checked = crate::check_all(&sources);
    let findings = checked.findings.iter();
    findings
        .map(|finding| {
            let message = finding.message.replace('\u{a0}', " ");
            let help = finding.help.iter().map(|help| help.replace('\u{a0}', " "));
            let texts: Vec<String> = std::iter::once(message).chain(help).collect();
            format!("{}: {}", finding.rule.name, texts.join("; "))
        })
        .collect()
}

const NUT: &str = "torque = \"9 N·m ± 1 N·m\"";

#[test]
fn a_step_whose_tool_can_be_set_has_no_finding() {
    for (steps, nut) in [
        ("1. [](tighten:cover-nut)", NUT),
        ("1. With the [](use:fine), [](tighten:cover-nut)", NUT),
        // Without limits, and in a range.
        (
            "1. With the [](use:coarse), [](tighten:cover-nut)",
            "torque = \"7.5 N·m\"",
        ),
        (
            "1. With the [](use:coarse), [](tighten:cover-nut)",
            "torque = \"6.8 to 8.2 N·m\"",
        ),
        // 7.5 N·m on the wrench.
        (
            "1. With the [](use:fine) and the [](use:crowfoot), [](tighten:cover-nut)",
            NUT,
        ),
        // Only one wrench has a length, so it is chosen with the crowfoot.
        ("1. With the [](use:crowfoot), [](tighten:cover-nut)", NUT),
        // The range is that of the scale: 15 N·m on it are 18 N·m at the nut.
        (
            "1. With the [](use:crowfoot), [](tighten:cover-nut)",
            "torque = \"17 N·m ± 1.7 N·m\"",
        ),
        // Each stage with the tool that covers it.
        (
            "1. With the [](use:fine), [](tighten:cover-nut/1)\n2. With the [](use:coarse), [](tighten:cover-nut/2)",
            "stages = [\"10 N·m ± 1 N·m\", \"20 N·m ± 2 N·m\"]",
        ),
    ] {
        assert_eq!(findings_on(steps, nut), [""; 0], "{steps} with {nut}");
    }
}

#[test]
fn a_step_whose_tool_cannot_be_set_is_found() {
    let crowfoot = "1. With the [](use:fine) and the [](use:crowfoot), [](tighten:cover-nut)";
    let coarse = "1. With the [](use:coarse), [](tighten:cover-nut)";
    for (steps, nut, found) in [
        (
            coarse,
            NUT,
            "no-safe-setting: `coarse` can't be set to the torque of `cover-nut` of `hand-pump`; use `fine`",
        ),
        (
            coarse,
            "torque = \"8.8 N·m\"",
            "no-safe-setting: `coarse` can't be set to the torque of `cover-nut` of `hand-pump`; use `fine`",
        ),
        (
            // The best tool of the crib has no such mark either.
            "1. [](tighten:cover-nut)",
            "torque = \"16.3 N·m ± 1 N·m\"",
            "no-safe-setting: `coarse` can't be set to the torque of `cover-nut` of `hand-pump`; \
             only a setting of 15.62 N·m to 16.95 N·m is safe with its tolerance of 2 %; use a tool with such a mark",
        ),
        (
            "1. With the [](use:coarse) and the [](use:crowfoot), [](tighten:cover-nut)",
            NUT,
            "no-safe-setting: the setting of `coarse` with `crowfoot` on it can't be calculated; \
             give single values for the wrench's `length` and the extension's `extends`",
        ),
        (
            // 3 N·m on the scale are 3.6 N·m at the nut.
            crowfoot,
            "torque = \"3.4 N·m ± 0.35 N·m\"",
            "torque-tool-out-of-range: the torque of `cover-nut` of `hand-pump` is outside the range of \
             `fine` with `crowfoot` on it, 3 N·m to 15 N·m; name a torque tool whose range includes the torque",
        ),
    ] {
        assert_eq!(findings_on(steps, nut), [found], "{steps} with {nut}");
    }
}

/// The texts of a shop sheet and a checklist.
fn sheets_of(steps: &str, stages: &str) -> Vec<String> {
    let front = "+++\ntitle = \"Nuts\"\nmachines = [\"hand-pump\"]\n+++\n## Check\n\n";
    let mut world = world(&[
        ("tools.toml", WRENCHES),
        ("air/nuts.md", &format!("{front}{steps}\n")),
    ]);
    let path = "machines/hand-pump.toml";
    let text = String::from_utf8(world[path].clone()).unwrap();
    world.insert(path.to_owned(), text.replace(NUT, stages).into_bytes());
    let sheets = sheets(&Memory::new(world), "nuts");
    let plain = sheets.iter().map(|sheet| sheet.replace('\u{a0}', " "));
    plain.collect()
}

#[test]
fn sheets_print_a_setting_for_each_stage() {
    let stages = "stages = [\"5 N·m ± 0.5 N·m\", \"9.04 N·m ± 1 N·m\", \"at least 10 N·m\"]";
    for sheet in sheets_of("1. [](tighten:cover-nut)", stages) {
        for setting in [
            "set to 5.0 N·m (safe 4.6 N·m to 5.3 N·m)",
            "set to 9.0 N·m (safe 8.3 N·m to 9.8 N·m)",
            "set to 10.3 N·m (safe from 10.3 N·m upwards)",
        ] {
            assert!(sheet.contains(setting), "{setting}: {sheet}");
        }
    }
    let coarse = "1. With the [](use:coarse), [](tighten:cover-nut)";
    for sheet in sheets_of(coarse, NUT) {
        assert!(sheet.contains("no mark of the scale is safe"), "{sheet}");
    }
    let unknown = "1. With the [](use:coarse) and [](use:crowfoot), [](tighten:cover-nut)";
    for sheet in sheets_of(unknown, NUT) {
        let text = "setting with the crowfoot fitted: not known";
        assert!(sheet.contains(text), "{sheet}");
    }
    let data = machine_sheet(world(&[("tools.toml", WRENCHES)]), "hand-pump");
    let text = "fine wrench, set to 9.0 N·m (safe 8.2 N·m to 9.8 N·m)";
    assert!(data.contains(text), "{data}");
}

#[test]
fn a_mix_is_one_number_to_one() {
    let with = |mix: &str| {
        findings(&[(
            "supplies.toml",
            &format!("[supply.mix]\nname = \"mix\"\nmix = \"{mix}\""),
        )])
    };
    for right in ["50:1", "25:1"] {
        assert_eq!(with(right), [""; 0], "{right}");
    }
    for (wrong, expected) in [
        ("40:1 to 50:1", "one ratio of petrol to oil"),
        ("50:1 ± 2:1", "one ratio of petrol to oil"),
        ("at least 40:1", "one ratio of petrol to oil"),
        ("0.02:1", "more petrol than oil"),
    ] {
        let found = with(wrong);
        let message = format!("ill-formed-value: expected {expected}, found `{wrong}`");
        assert!(
            found.len() == 1 && found[0].starts_with(&message),
            "{found:?}"
        );
    }
}

/// Petrol and oil together fill the tank, on every sheet that prints its capacity.
#[test]
fn sheets_print_the_petrol_and_the_oil_of_a_full_tank() {
    let shop = [
        (
            "supplies.toml",
            "[supply.mix]\nname = \"two-stroke mix\"\nmix = \"50:1\"",
        ),
        (
            "machines/hand-pump.toml",
            "[fluid.fuel]\nname = \"fuel\"\nsupply = \"mix\"\ncapacity = \"0.62 L\"",
        ),
        (
            "air/fuel.md",
            "+++\ntitle = \"Fuel\"\nmachines = [\"hand-pump\"]\n+++\n## Fill\n\n1. [](drain:fuel)\n2. [](fill:fuel)\n",
        ),
    ];
    let text = "mixed 50:1: 0.607 L of petrol and 12.2 mL of oil";
    for sheet in sheets(&Memory::new(world(&shop)), "fuel") {
        let sheet = sheet.replace('\u{a0}', " ");
        assert!(sheet.contains(text), "{sheet}");
    }
    assert!(machine_sheet(world(&shop), "hand-pump").contains(text));
}

/// 3000 rpm under load and a droop of 8 % are 3240 rpm without load, or 3261 rpm.
#[test]
fn a_generator_is_checked_by_the_definition_that_the_shop_uses() {
    let with = |of: &str, limits: &str| {
        let machine = format!(
            "name = \"Tarn Rush\"\nbasis = \"invented\"\n\
             generator = {{ poles = 2, frequency = \"50 Hz ± 2 Hz\", droop = \"8 %\", speed = \"speed\" }}\n\
             [reading.speed]\nname = \"speed\"\nlimits = \"{limits}\"\n"
        );
        // Top-level fields come before the tables of the file.
        let mut world = world(&[("machines/case.toml", &machine)]);
        let shop = String::from_utf8(world["shop.toml"].clone()).unwrap();
        world.insert("shop.toml".to_owned(), format!("{of}\n{shop}").into_bytes());
        world
    };
    let found = |of: &str, limits: &str| {
        let sources = crate::read(&Memory::new(with(of, limits)));
        let checked = crate::check_all(&sources);
        let findings: Vec<String> = checked
            .findings
            .iter()
            .map(|finding| {
                let labels: Vec<String> = finding
                    .others
                    .iter()
                    .map(|mark| mark.label.clone())
                    .collect();
                format!("{}: {}", finding.message, labels.join("; ")).replace('\u{a0}', " ")
            })
            .collect();
        findings
    };
    let (full_load, no_load) = ("droop-of = \"full-load\"", "droop-of = \"no-load\"");
    for (of, limits) in [
        ("", "3240 rpm ± 10 rpm"),
        (full_load, "3240 rpm ± 10 rpm"),
        (no_load, "3261 rpm ± 10 rpm"),
    ] {
        assert_eq!(found(of, limits), [""; 0], "{of} {limits}");
    }
    for (of, limits, speed, words) in [
        ("", "3261 rpm ± 10 rpm", "3240 rpm", "full-load"),
        (no_load, "3240 rpm ± 10 rpm", "3261 rpm", "no-load"),
    ] {
        let findings = found(of, limits);
        let [finding] = findings.as_slice() else {
            panic!("{findings:?}")
        };
        assert!(
            finding.contains(&format!("should turn at {speed} without load")),
            "{finding}"
        );
        assert!(
            finding.contains(&format!("droop: 8 % of the {words} speed")),
            "{finding}"
        );
    }
    for (of, words) in [(full_load, "full-load"), (no_load, "no-load")] {
        let sheet = machine_sheet(with(of, "3240 rpm ± 10 rpm"), "case");
        let text = format!("2 poles, 50 Hz ± 2 Hz, droop 8 % of the {words} speed");
        assert!(sheet.contains(&text), "{sheet}");
    }
    let wrong = found("droop-of = \"idle\"", "3240 rpm ± 10 rpm");
    assert_eq!(wrong, ["`droop-of` of `shop.toml` can't be `idle`: "]);
}

/// ISO 8528-5 limits the droop of its classes: "at most 5 %" allows any no-load speed up to 3150 rpm.
#[test]
fn a_droop_may_have_limits() {
    let found = |droop: &str, limits: &str| {
        let machine = format!(
            "name = \"Tarn Rush\"\nbasis = \"invented\"\n\
             generator = {{ poles = 2, frequency = \"50 Hz\", droop = \"{droop}\", speed = \"speed\" }}\n\
             [reading.speed]\nname = \"speed\"\nlimits = \"{limits}\"\n"
        );
        let mut findings = findings(&[("machines/case.toml", &machine)]);
        // A single speed is no limit, which another rule reports.
        findings.retain(|finding| !finding.starts_with("reading-without-limits"));
        findings
    };
    for (droop, limits) in [
        ("at most 5 %", "3100 rpm ± 20 rpm"),
        ("at most 5 %", "3150 rpm"),
        ("at most 5 %", "3160 rpm ± 10 rpm"),
        ("4 % to 5 %", "3140 rpm ± 10 rpm"),
        ("4 % ± 1 %", "3120 rpm ± 10 rpm"),
        ("5 %", "at most 3150 rpm"),
        ("5 %", "3150 rpm"),
    ] {
        assert_eq!(found(droop, limits), [""; 0], "{droop}, {limits}");
    }
    for (droop, limits, wanted) in [
        ("at most 5 %", "3180 rpm ± 20 rpm", "3000 rpm to 3150 rpm"),
        ("at most 5 %", "2900 rpm", "3000 rpm to 3150 rpm"),
        ("4 % to 5 %", "3000 rpm ± 100 rpm", "3120 rpm to 3150 rpm"),
        ("5 %", "at most 3100 rpm", "3150 rpm"),
    ] {
        let findings = found(droop, limits);
        let message = format!(
            "generator-off-frequency: the generator of `case` should turn at {wanted} without load"
        );
        assert!(
            matches!(findings.as_slice(), [finding] if finding.starts_with(&message)),
            "{droop}, {limits}: {findings:?}"
        );
    }
}

/// A shop that prints both systems gets both beside the first unit, and a bare gallon is that of the first.
#[test]
fn volumes_are_printed_in_both_systems_if_the_shop_asks() {
    let machine = r#"
name = "Tarn Reed"
basis = "invented"
[fluid.fuel]
name = "fuel"
supply = "mixture"
capacity = "1 gal"
[fluid.oil]
name = "oil"
supply = "mixture"
capacity = "2 L"
"#;
    let supplies = "[supply.mixture]\nname = \"mixture\"\nmix = \"50:1\"";
    let text = |gallons: &str| {
        let added = [
            ("shop.toml", gallons),
            ("supplies.toml", supplies),
            ("machines/x2.toml", machine),
        ];
        let mut world = world(&added);
        // The field belongs at the top of the file.
        let shop = world.get_mut("shop.toml").unwrap();
        *shop = [gallons.as_bytes(), b"\n", shop.as_slice()].concat();
        shop.truncate(shop.len() - gallons.len() - 1);
        machine_sheet(world, "x2")
    };
    let both = text("gallons = [\"imperial\", \"us\"]");
    assert!(
        both.contains(r#""first":"4.55","second":"1.20 US gal, 1 imp gal""#),
        "{both}"
    );
    assert!(
        both.contains(r#""first":"2","second":"2.11 US qt, 3.52 imp pt""#),
        "{both}"
    );
    assert!(
        both.contains("US fl oz") && both.contains("imp fl oz"),
        "{both}"
    );
    let us = text("gallons = \"us\"");
    assert!(us.contains("US gal") && !us.contains("imp "), "{us}");
}

/// A reading is compared with the limits that the page prints: in the first unit, rounded inwards.
#[test]
fn a_tablet_judges_by_the_printed_limits() {
    let machine = r#"
[reading.play]
name = "play"
limits = "0.002 in to 0.004 in"
tool = "feelers"
"#;
    let procedure = "+++\ntitle = \"Play\"\nmachines = [\"hand-pump\"]\n+++\nIt wears.\n\n## Measure\n\n1. [](measure:play)\n";
    let added = [
        ("machines/hand-pump.toml", machine),
        (
            "tools.toml",
            "[tool.feelers]\nname = \"feelers\"\nrange = \"0.01 mm to 1 mm\"",
        ),
        ("air/play.md", procedure),
    ];
    let [_, checklist] = sheets(&Memory::new(world(&added)), "play")
        .try_into()
        .unwrap();
    // 0.0508 mm to 0.1016 mm.
    let printed = r#""first":"0.051 mm to 0.101 mm""#;
    let checklist = checklist.replace(['\u{a0}', '\u{202f}'], " ");
    assert!(checklist.contains(printed), "{checklist}");
    assert!(
        checklist
            .contains(r#""least":"0.051","most":"0.101","possible":"0","to_thousandths":true"#),
        "{checklist}"
    );
}

/// A safety rule is lowered with a reason only, and every sheet says so beside the claim that it was checked.
#[test]
fn a_lowered_safety_rule_is_printed_with_its_reason() {
    let levels = |setting: &str| {
        let shop = format!("[levels]\n{setting}");
        let added = [("shop.toml", shop.as_str())];
        let rules: Vec<String> = findings(&added)
            .into_iter()
            .map(|finding| finding.split(':').next().unwrap_or_default().to_owned())
            .collect();
        (rules, sheets(&Memory::new(world(&added)), "cover"))
    };
    let notice = "This shop has lowered the check “part-left-off”: broken for parts.";
    let (rules, printed) = levels("part-left-off = \"off: broken for parts\"");
    assert_eq!(rules, [""; 0]);
    for sheet in printed {
        let claim = sheet.find("was checked for consistency only").unwrap();
        assert!(sheet.find(notice).is_some_and(|at| at > claim), "{sheet}");
    }
    for quiet in ["part-left-off = \"error\"", "unverified-value = \"off\""] {
        let (rules, printed) = levels(quiet);
        assert_eq!(rules, [""; 0], "{quiet}");
        let is_printed = printed.iter().any(|sheet| sheet.contains("has lowered"));
        assert!(!is_printed, "{quiet}");
    }
    for setting in ["\"off\"", "\"advice:\"", "\"warning\""] {
        let (rules, _) = levels(&format!("part-left-off = {setting}"));
        assert_eq!(rules, ["lowered-without-reason"], "{setting}");
    }
}

/// A crib with one coarse wrench gives one finding, at the fastener for which it is coarsest.
#[test]
fn a_coarse_tool_is_reported_once() {
    let wrench =
        "[tool.wrench]\nname = \"wrench\"\nrange = \"3 N·m to 15 N·m\"\ntolerance = \"6 %\"\n";
    let found = |torques: &[&str]| {
        let parts = torques.iter().enumerate().map(|(index, torque)| {
            format!("[part.bolt-{index}]\nname = \"bolt {index}\"\ntorque = \"{torque}\"\n")
        });
        let parts: Vec<String> = parts.collect();
        let parts = parts.concat();
        let machine = format!("name = \"Tarn Rush\"\nbasis = \"invented\"\n{parts}");
        let findings = findings(&[("tools.toml", wrench), ("machines/case.toml", &machine)]);
        let coarse = |finding: &String| finding.starts_with("torque-tool-too-coarse");
        // The pump of the tree has a cover nut.
        findings.into_iter().filter(coarse).collect::<Vec<_>>()
    };
    let [finding] = &found(&["10 N·m ± 3 N·m"])[..] else {
        panic!("the cover nut of the tree")
    };
    assert!(finding.contains("`cover-nut` of `hand-pump`"), "{finding}");
    assert!(!finding.contains("too coarse for `"), "{finding}");
    let [finding] = &found(&["10 N·m ± 1.2 N·m", "10 N·m ± 0.8 N·m", "10 N·m ± 3 N·m"])[..]
    else {
        panic!("one tool")
    };
    assert!(finding.contains("for `bolt-1` of `case`"), "{finding}");
    let others = "too coarse for `cover-nut` of `hand-pump`, `bolt-0` of `case`, too";
    assert!(finding.contains(others), "{finding}");
}
