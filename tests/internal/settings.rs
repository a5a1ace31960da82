//! What shops enter about tools, mixtures and generators: what is found, and what sheets print.

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
