//! Outlined removals: for every part of every machine of the demonstration, the procedure that takes the part off checks
//! clean as written.

use super::support::{files, root};
use crate::finding::Finding;
use crate::outline::{Obstacle, Outlined, Request, removal};
use crate::tree::Memory;
use crate::{Sources, read};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

/// The texts of a shop's files.
type Shop = BTreeMap<String, Vec<u8>>;

/// The path of a removal.
fn path(machine: &str, part: &str) -> String {
    format!("running/{machine}-{part}.md")
}

/// Outlines the removal of every part of a shop. Parts that can't come off have no entry.
fn outline_all(sources: &Sources) -> BTreeMap<String, Result<Outlined, Obstacle>> {
    let machines = sources.shop.machines.values();
    let parts: Vec<_> = machines
        .flat_map(|machine| machine.parts.values().map(move |part| (machine, part)))
        .collect();
    let outlined = parts.into_par_iter().map(|(machine, part)| {
        let path = path(&machine.id, &part.key);
        let request = Request {
            sources,
            machine,
            part,
        };
        let outlined = removal(request, &path);
        (path, outlined)
    });
    outlined.collect()
}

/// The findings of a shop with all outlined removals.
fn check_with(shop: &Shop, outlined: &BTreeMap<String, Result<Outlined, Obstacle>>) -> Vec<String> {
    let mut files = shop.clone();
    for (path, outlined) in outlined {
        if let Ok(outlined) = outlined {
            files.insert(path.clone(), outlined.text.clone().into_bytes());
        }
    }
    let sources = read(&Memory::new(files));
    let checked = crate::check(&sources);
    let line = |finding: &Finding| {
        let mark = finding.primary.as_ref();
        let place = mark.map(|mark| {
            let file = sources.tree.file(mark.span.file);
            let (line, _) = file.place(mark.span.start());
            format!("{}:{line}", file.path)
        });
        let level = finding.level;
        let place = place.unwrap_or_default();
        format!(
            "{place} {level}: {}: {}",
            finding.rule.name,
            finding.whole_message()
        )
    };
    let found = checked.findings.iter();
    found.map(line).collect()
}

/// The findings that the removals add to those of the shop.
fn added(shop: &Shop, outlined: &BTreeMap<String, Result<Outlined, Obstacle>>) -> Vec<String> {
    // The same advice names more jobs than before.
    let without_jobs = |line: &String| line.split(" in `").next().unwrap_or_default().to_owned();
    let before: BTreeSet<String> = check_with(shop, &BTreeMap::new())
        .iter()
        .map(without_jobs)
        .collect();
    let mut found = check_with(shop, outlined);
    found.retain(|line| !before.contains(&without_jobs(line)));
    found
}

#[test]
fn every_removal_of_the_demonstration_checks_clean_as_written() {
    let shop: Shop = files(&root().join("procedures")).into_iter().collect();
    let sources = read(&Memory::new(shop.clone()));
    let outlined = outline_all(&sources);
    assert!(outlined.len() > 150, "{} parts", outlined.len());
    for (path, outlined) in &outlined {
        let outlined = outlined
            .as_ref()
            .unwrap_or_else(|why| panic!("{path}: {why:?}"));
        let gaps = crate::outline::gaps(&outlined.text);
        assert!(gaps.is_empty(), "{path}: {gaps:?}\n{}", outlined.text);
        // Every machine is made safe and tested as the shop's other procedures are.
        assert!(
            !outlined.begin.is_empty() && !outlined.finish.is_empty(),
            "{path}"
        );
    }
    let found = added(&shop, &outlined);
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// Machines of other kinds, in shops with other habits. What their files do not say is marked, and nothing else is found.
#[test]
fn removals_of_other_shops_have_no_findings_but_gaps() {
    let (mut parts, mut with_gaps) = (0, 0);
    for name in [
        "fennmoor-ring",
        "hollin-park",
        "quarry-lane",
        "skerry-estate",
        "vega-alta",
    ] {
        let folder = root().join("tests/correct").join(name);
        let shop: Shop = files(&folder).into_iter().collect();
        let sources = read(&Memory::new(shop.clone()));
        let outlined = outline_all(&sources);
        for (path, outlined) in &outlined {
            let outlined = outlined
                .as_ref()
                .unwrap_or_else(|why| panic!("{path}: {why:?}"));
            parts += 1;
            with_gaps += usize::from(!crate::outline::gaps(&outlined.text).is_empty());
        }
        let mut found = added(&shop, &outlined);
        found.retain(|line| !line.contains("gap-not-filled"));
        assert!(found.is_empty(), "{name}:\n{}", found.join("\n"));
    }
    assert!(
        parts > 300 && with_gaps * 20 < parts,
        "{with_gaps} of {parts}"
    );
}

/// What the removal of a part says, where the model decides it.
#[test]
fn a_removal_follows_the_model() {
    let shop: Shop = files(&root().join("procedures")).into_iter().collect();
    let sources = read(&Memory::new(shop));
    let text = |machine: &str, part: &str| {
        let machine = sources.shop.machines.get(machine).unwrap();
        let part = machine.parts.get(part).unwrap();
        let request = Request {
            sources: &sources,
            machine,
            part,
        };
        removal(request, "outlined/it.md").unwrap().text
    };
    let has_in_order = |text: &str, wanted: &[&str]| {
        let mut rest = text;
        for part in wanted {
            let at = rest.find(part);
            let at = at.unwrap_or_else(|| panic!("no `{part}`, or not there, in:\n{text}"));
            rest = &rest[at..];
        }
    };
    // What lies in front, what holds it, and where its linkages were.
    has_in_order(
        &text("tarn-sedge", "carburettor"),
        &[
            "slacken:hose-clip",
            "remove:fuel-hose",
            "remove:cover-knob",
            "remove:air-cover",
            "remove:carb-stud",
            "remove:air-base",
            "remove:base-gasket",
            "note:governor-rod",
            "remove:governor-rod",
            "remove:carburettor",
            "{.reverse}",
        ],
    );
    // An energy that only this work meets, and the part that is inspected before it is covered.
    has_in_order(
        &text("tarn-comfrey", "starter-spring"),
        &[
            "isolate:recoil-spring",
            "prove:recoil-spring",
            "remove:starter-pulley",
            "remove:starter-spring",
            "{.reverse}",
            "fit:starter-spring",
            "inspect:starter-spring",
        ],
    );
    // A fluid without a tap, the gloves that the shop wears for it, and a setting that a lock held.
    has_in_order(
        &text("tarn-yarrow", "drain-plug"),
        &[
            "use:",
            "remove:drain-plug",
            "drain:oil",
            "{.reverse}",
            "fill:oil",
        ],
    );
    has_in_order(
        &text("tarn-sedge", "rocker-locknut"),
        &[
            "remove:rocker-locknut",
            "{.reverse}",
            "see:procedure/valve-clearance",
        ],
    );
}

/// The removal of the part `plate` of a machine with these parts.
fn removal_of_plate(parts: &str) -> Result<Outlined, Obstacle> {
    let machine = format!("name = \"T\"\nbasis = \"invented\"\n{parts}");
    let sources = read(&Memory::new([
        ("shop.toml", "name = \"S\"\n"),
        ("supplies.toml", "[supply.oil]\nname = \"oil\"\n"),
        ("machines/t.toml", &machine),
    ]));
    let machine = sources.shop.machines.get("t").unwrap();
    let part = machine.parts.get("plate").unwrap();
    let request = Request {
        sources: &sources,
        machine,
        part,
    };
    removal(request, "air/it.md")
}

/// A fastener can't be touched before a lead is off that lies behind it. The reader of the file only compares parts.
#[test]
fn parts_that_wait_for_each_other_are_an_obstacle() {
    let outlined = removal_of_plate(
        "[part.plate]\nname = \"plate\"\nheld-by = [\"bolt\"]\n\
         [part.bolt]\nname = \"bolt\"\n\
         [part.lead]\nname = \"lead\"\nbehind = [\"bolt\"]\noff-first = [\"plate\"]\n",
    );
    let Err(Obstacle::Circle(keys)) = outlined else {
        panic!("{outlined:?}");
    };
    assert_eq!(keys, ["lead", "bolt", "lead"]);
}

/// The plug lies behind the part that has to be drained: the file can't be right. The check says so, and nothing is
/// taken off twice.
#[test]
fn a_fluid_whose_plug_cannot_be_reached_is_drained_all_the_same() {
    let outlined = removal_of_plate(
        "[fluid.oil]\nname = \"oil\"\nsupply = \"oil\"\n\
         [part.plate]\nname = \"plate\"\ncarries = \"oil\"\n\
         [part.plug]\nname = \"plug\"\ndrains = \"oil\"\nbehind = [\"plate\"]\n",
    );
    let text = outlined.unwrap().text;
    let (drained, removed) = (text.find("drain:oil"), text.find("remove:plate"));
    assert!(drained.is_some() && drained < removed, "{text}");
    assert_eq!(text.matches("remove:plate").count(), 1, "{text}");
    let gap = "MISSING: what this is drained into: oil";
    assert!(text.contains(gap), "{text}");
}

/// A chain of parts as long as a machine's file may have would overflow the stack.
#[test]
fn a_long_chain_of_parts_is_an_obstacle() {
    let mut machine = "name = \"T\"\nbasis = \"invented\"\n".to_owned();
    for index in 0..1_999 {
        let _ = write!(
            machine,
            "[part.p{index}]\nname = \"p{index}\"\nbehind = [\"p{}\"]\n",
            index + 1
        );
    }
    machine.push_str("[part.p1999]\nname = \"p1999\"\n");
    let sources = read(&Memory::new([
        ("shop.toml", "name = \"S\"\n".to_owned()),
        ("machines/t.toml", machine),
    ]));
    let machine = sources.shop.machines.get("t").unwrap();
    let part = machine.parts.get("p0").unwrap();
    let request = Request {
        sources: &sources,
        machine,
        part,
    };
    assert_eq!(
        removal(request, "air/it.md").unwrap_err(),
        Obstacle::TooMany
    );
}
