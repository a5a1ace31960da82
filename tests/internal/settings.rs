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
            "name = \"Tarn C1\"\nbasis = \"invented\"\n\
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
