//! The guards of a machine are those of the rules: each action that a guard names gives its finding in a procedure of
//! one step, and no other action gives it.

use super::support::{files, root, tree};
use crate::job::Thing;
use crate::prose::{ThingKind, Verb};
use crate::sheet::{Actions, Guards};
use crate::shop::Machine;
use crate::tree::Memory;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// An action in source notation, and what it must not be done before or while: `remove:hose`, `energy spring`.
type Guarded = BTreeSet<(String, String)>;

type Files = BTreeMap<String, Vec<u8>>;

/// Every action that a step can do on a machine, in source notation.
fn actions(machine: &Machine) -> Vec<String> {
    let mut actions = Vec::new();
    let all: [(ThingKind, Vec<&str>); 8] = [
        (ThingKind::Part, machine.parts.keys().collect()),
        (ThingKind::Valve, machine.valves.keys().collect()),
        (ThingKind::Control, machine.controls.keys().collect()),
        (ThingKind::Fluid, machine.fluids.keys().collect()),
        (ThingKind::Energy, machine.energies.keys().collect()),
        (ThingKind::Condition, machine.conditions.keys().collect()),
        (ThingKind::Reading, machine.readings.keys().collect()),
        (ThingKind::Engine, vec!["engine"]),
    ];
    for (kind, keys) in all {
        let verbs = Verb::ALL.iter().filter(|verb| verb.takes() == kind);
        for verb in verbs {
            actions.extend(keys.iter().map(|key| match machine.controls.get(key) {
                Some(control) if kind == ThingKind::Control => {
                    format!("{}:{key}/{}", verb.word(), control.position_name(0))
                }
                _ => format!("{}:{key}", verb.word()),
            }));
        }
    }
    actions
}

/// What the rules find when each action of a machine is the only step of a procedure.
fn found(mut files: Files, machine: &str) -> Guarded {
    let sources = crate::read(&Memory::new(files.clone()));
    for (index, action) in actions(&sources.shop.machines.get(machine).unwrap().to_owned())
        .iter()
        .enumerate()
    {
        let text = format!(
            "+++\ntitle = \"{index}\"\nmachines = [\"{machine}\"]\n+++\n## Do\n\n1. [x]({action})\n"
        );
        files.insert(format!("probe/step-{index}.md"), text.into_bytes());
    }
    let sources = crate::read(&Memory::new(files));
    let checked = crate::check(&sources);
    let mut found = Guarded::new();
    for finding in &checked.findings {
        let what = match finding.rule.name {
            "work-on-live-energy" | "ignition-still-live" => ("while `", "energy"),
            "full-line-opened" => ("while `", "fluid"),
            "fluid-condition-unmet" | "reading-condition-unmet" | "not-ready-to-run" => {
                ("before `", "condition")
            }
            "filled-or-drained-while-closed" => ("while `", "part"),
            "confirmed-too-early" => ("before `", "action"),
            _ => continue,
        };
        // A part that must be inspected before a run is no condition.
        if finding.message.ends_with("is inspected") {
            continue;
        }
        // A cause that several jobs share is one finding, with the message of each job beside its span.
        let own = finding.primary.as_ref().unwrap().span;
        let of_others = finding.others.iter();
        let of_others = of_others.map(|mark| (mark.label.as_str(), mark.span));
        for (message, span) in std::iter::once((finding.message.as_str(), own)).chain(of_others) {
            for rest in message.split(what.0).skip(1) {
                let name = rest.split('`').next().unwrap();
                let link = sources.tree.text(span);
                let action = link.split(['(', ')', '/']).nth(1).unwrap();
                found.insert((action.to_owned(), format!("{} {name}", what.1)));
            }
        }
    }
    found
}

/// What the guards of a machine promise.
fn promised(files: &Files, machine: &str) -> Guarded {
    let sources = crate::read(&Memory::new(files.clone()));
    let machine = sources.shop.machines.get(machine).unwrap();
    let guards = Guards::of(&sources.shop, machine, &[]);
    let mut promised = Guarded::new();
    let mut promise = |list: &[Actions<'_>], what: &str| {
        for actions in list {
            for (verb, thing) in actions
                .verbs
                .iter()
                .flat_map(|verb| actions.things.iter().map(move |thing| (verb, thing)))
            {
                // The danger was met when the other energy was isolated, and is reported there.
                if *verb == Verb::Prove && matches!(thing, Thing::Energy(_)) {
                    continue;
                }
                promised.insert((format!("{}:{}", verb.word(), thing.key()), what.to_owned()));
            }
        }
    };
    for guard in &guards.energies {
        promise(&guard.dangerous, &format!("energy {}", guard.energy.key));
    }
    for guard in &guards.fluids {
        promise(&guard.opening, &format!("fluid {}", guard.fluid.key));
        let fluid = |verb| Actions {
            verbs: vec![verb],
            things: vec![Thing::Fluid(guard.fluid)],
        };
        if let Some(part) = guard.filled_through {
            promise(&[fluid(Verb::Fill)], &format!("part {}", part.key));
        }
        // The finding names the first of several plugs.
        if let Some(part) = guard.drained_through.first() {
            promise(&[fluid(Verb::Drain)], &format!("part {}", part.key));
        }
    }
    for guard in &guards.conditions {
        let condition = guard.condition;
        promise(&guard.needed_by, &format!("condition {}", condition.key));
        for after in &guard.after {
            let confirmed = Actions {
                verbs: vec![Verb::Confirm],
                things: vec![Thing::Condition(condition)],
            };
            let after = after.written(&sources.shop, machine);
            promise(&[confirmed], &format!("action {after}"));
        }
    }
    promised
}

/// The files of a tree without its procedures and fault tables.
fn without_procedures(files: Vec<(String, Vec<u8>)>) -> Files {
    let is_markdown = |path: &str| Path::new(path).extension().is_some_and(|end| end == "md");
    let files = files.into_iter();
    files.filter(|(path, _)| !is_markdown(path)).collect()
}

/// A machine with every kind of danger and exception.
const CASE: &str = r#"
name = "Tarn C1"
basis = "invented"
engine = { kind = "4-stroke" }
[energy.ignition]
kind = "ignition"
isolate = "a"
prove = "b"
restore = "c"
[energy.mains]
kind = "electrical"
endangers = ["lamp", "tap", "water", "speed", "spring", "ignition", "gear"]
isolate = "a"
prove = "b"
restore = "c"
[energy.spring]
kind = "spring"
endangers = ["lid", "lamp"]
isolate = "a"
prove = "b"
restore = "c"
[energy.muffler]
kind = "heat"
endangers = ["lid"]
isolate = "a"
prove = "b"
[valve.tap]
name = "tap"
shuts = "water"
[control.gear]
name = "gear lever"
positions = ["neutral", "reverse"]
found = "neutral"
[fluid.water]
supply = "grease"
needs = ["cold"]
through = "cap"
[fluid.oil]
supply = "grease"
[part.cap]
name = "cap"
[part.plug]
name = "plug"
drains = "oil"
[part.second-plug]
name = "second plug"
drains = "oil"
[part.hose]
name = "hose"
carries = "water"
[part.lid]
name = "lid"
may-be-live = ["ignition"]
[part.lamp]
name = "lamp"
may-be-live = ["mains"]
[part.shaft]
name = "shaft"
[reading.speed]
name = "speed"
limits = "1 to 2 rpm"
engine = "running"
needs = ["warm", "cold"]
[reading.gap]
name = "gap"
limits = "1 to 2 mm"
may-be-live = ["ignition"]
locked-by = ["lid"]
[condition.cold]
name = "cold"
lost-by = ["run:engine", "work"]
[condition.warm]
name = "warm"
lost-by = "nothing"
after = ["run:engine", "fill:oil"]
[run]
needs = ["cold"]
"#;

#[test]
fn guards_are_those_of_the_rules() {
    let mut case = without_procedures(files(&tree("hand-pump")));
    case.insert("machines/case.toml".to_owned(), CASE.into());
    let demo = without_procedures(files(&root().join("procedures")));
    let mut tried = 0;
    for (files, machine) in [
        (&case, "case"),
        (&demo, "tarn-yarrow"),
        (&demo, "tarn-comfrey"),
        (&demo, "tarn-mallow"),
    ] {
        let (promised, found) = (promised(files, machine), found(files.clone(), machine));
        let not_found: Vec<_> = promised.difference(&found).collect();
        assert!(
            not_found.is_empty(),
            "{machine}: no rule finds {not_found:?}"
        );
        let not_promised: Vec<_> = found.difference(&promised).collect();
        assert!(
            not_promised.is_empty(),
            "{machine}: no guard names {not_promised:?}"
        );
        tried += found.len();
    }
    assert!(tried > 500, "{tried}");
}

/// The keys of the parts that nothing guards on the machine of `CASE`, with a text in the place of another.
fn unguarded(case: &str) -> Vec<String> {
    let mut world = without_procedures(files(&tree("hand-pump")));
    world.insert("machines/case.toml".to_owned(), case.into());
    let sources = crate::read(&Memory::new(world));
    let checked = crate::check(&sources);
    let errors: Vec<_> = checked
        .findings
        .iter()
        .filter(|finding| finding.rule.name != "no-procedures")
        .filter(|finding| finding.level == crate::finding::Level::Error)
        .map(|finding| &finding.message)
        .collect();
    assert!(errors.is_empty(), "{errors:?}");
    let machine = sources.shop.machines.get("case").unwrap();
    let guards = Guards::of(&sources.shop, machine, &[]);
    guards
        .unguarded
        .iter()
        .map(|part| part.key.clone())
        .collect()
}

#[test]
fn a_part_is_guarded_by_its_own_fields_and_by_those_that_name_it() {
    assert_eq!(unguarded(CASE), ["shaft"]);
    let shaft = "[part.shaft]\nname = \"shaft\"\n";
    for own in [
        "behind = [\"lid\"]",
        "held-by = [\"lid\"]",
        "carries = \"water\"",
        "drains = \"water\"",
        "stack = [\"lid\"]",
        "off-first = [\"lid\"]",
        "single-use = true",
        "seals = [\"lid\"]",
        "clean = true",
        "laid-open-by = [\"lid\"]",
        "signed-by = \"mechanic\"",
        "positions = [\"upper\", \"lower\"]",
        "thread = \"M6\"",
        "drive = \"hex 10 mm\"",
        "torque = \"9 N·m ± 1 N·m\"",
        "reuse = \"no crack\"",
        "limits = \"at least 2 mm\"",
    ] {
        let case = CASE.replace(shaft, &format!("{shaft}{own}\n"));
        assert_eq!(unguarded(&case), [""; 0], "{own}");
    }
    for own in [
        "note = \"steel\"",
        "number = \"17\"",
        "count = 2",
        "price = \"2.50\"",
        "orientation = \"long end up\"",
    ] {
        let case = CASE.replace(shaft, &format!("{shaft}{own}\n"));
        assert_eq!(unguarded(&case), ["shaft"], "{own}");
    }
    for (from, to) in [
        ("[part.lamp]", "[part.lamp]\nbehind = [\"shaft\"]"),
        ("[part.lamp]", "[part.lamp]\nheld-by = [\"shaft\"]"),
        ("[part.lamp]", "[part.lamp]\nseals = [\"shaft\"]"),
        ("[part.lamp]", "[part.lamp]\nstack = [\"shaft\"]"),
        ("[part.lamp]", "[part.lamp]\noff-first = [\"shaft\"]"),
        ("[part.lamp]", "[part.lamp]\nlaid-open-by = [\"shaft\"]"),
        ("[fluid.oil]", "[fluid.oil]\nthrough = \"shaft\""),
        ("[reading.gap]", "[reading.gap]\nwith = [\"shaft\"]"),
        ("[reading.gap]", "[reading.gap]\nwithout = [\"shaft\"]"),
        (
            "[reading.gap]",
            "[reading.gap]\nchanged-by = [\"turn:shaft\"]",
        ),
        ("[\"lid\"]", "[\"lid\", \"shaft\"]"),
        ("[run]", "[run]\nlooks = [\"shaft\"]"),
        ("\"work\"", "\"turn:shaft\""),
        ("\"fill:oil\"", "\"turn:shaft\""),
    ] {
        let case = CASE.replacen(from, to, 1);
        assert_eq!(unguarded(&case), [""; 0], "{to}");
    }
    let lacked = CASE.replace("[run]", "[run]\nmay-lack = [\"shaft\"]");
    assert_eq!(unguarded(&lacked), ["shaft"]);
}
