//! Property of the derived reassembly: after any possible disassembly it gives no finding, and the job ends in the
//! state in which it began.
//!
//! The machines are random: parts in front of each other, held by fasteners, single-use parts, linkages, lines
//! with fluid in them, a tap, an ignition. The disassembly is a random walk over the parts that can come off next.

use crate::finding::Level;
use crate::job::Thing;
use crate::prose::Verb;
use crate::tree::Memory;
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

/// A part of a random machine.
#[derive(Clone, Debug)]
struct Part {
    id: String,
    /// Parts in front of it.
    behind: Vec<String>,
    held_by: Vec<String>,
    is_fastener: bool,
    renew: bool,
    /// 0: no positions. 1: its position is in the file. 2: its position is not in the file.
    positions: u8,
    carries: bool,
}

#[derive(Clone, Debug)]
struct Machine {
    parts: Vec<Part>,
    has_tap: bool,
}

/// Random numbers, drawn in advance, and the index of the next one.
#[derive(Clone, Debug)]
struct Dice(Vec<u32>, usize);

impl Dice {
    fn roll(&mut self, sides: usize) -> usize {
        let rolled = self.0[self.1 % self.0.len()] as usize;
        self.1 += 1;
        rolled % sides.max(1)
    }

    fn chance(&mut self, percent: usize) -> bool {
        self.roll(100) < percent
    }
}

fn machine(dice: &mut Dice) -> Machine {
    let mut parts: Vec<Part> = Vec::new();
    for number in 0..2 + dice.roll(9) {
        let body: Vec<String> = parts
            .iter()
            .filter(|part| !part.is_fastener)
            .map(|part| part.id.clone())
            .collect();
        let behind: Vec<String> = body.iter().filter(|_| dice.chance(30)).cloned().collect();
        let mut held_by = Vec::new();
        for holder in 0..dice.roll(3) {
            let id = format!("screw-{number}-{holder}");
            // A part in front of another may be in front of its screws, too.
            let screw_behind: Vec<String> =
                behind.iter().filter(|_| dice.chance(70)).cloned().collect();
            parts.push(Part {
                id: id.clone(),
                behind: screw_behind,
                held_by: Vec::new(),
                is_fastener: true,
                renew: dice.chance(15),
                positions: 0,
                carries: false,
            });
            held_by.push(id);
        }
        // A screw may hold two parts.
        if let Some(front) = behind.first().filter(|_| dice.chance(20)) {
            let shared: Vec<String> = parts
                .iter()
                .filter(|part| part.id == *front)
                .flat_map(|part| part.held_by.clone())
                .collect();
            held_by.extend(shared);
        }
        let positions = u8::try_from(dice.roll(4)).unwrap();
        parts.push(Part {
            id: format!("part-{number}"),
            behind,
            held_by,
            is_fastener: false,
            renew: dice.chance(25),
            positions: if positions > 2 { 0 } else { positions },
            carries: dice.chance(20),
        });
    }
    Machine {
        parts,
        has_tap: dice.chance(60),
    }
}

fn machine_file(machine: &Machine) -> String {
    let list = |names: &[String]| {
        let quoted: Vec<String> = names.iter().map(|name| format!("\"{name}\"")).collect();
        format!("[{}]", quoted.join(", "))
    };
    let mut text = String::from(
        "name = \"Random\"\nbasis = \"invented\"\n[fluid.fuel]\nsupply = \"petrol\"\ncapacity = \"1 L\"\n\
         [energy.ignition]\nkind = \"ignition\"\nisolate = \"Pull the cap\"\nprove = \"No spark\"\nrestore = \"Push it home\"\n",
    );
    if machine.has_tap {
        text.push_str("[valve.tap]\nname = \"tap\"\nshuts = \"fuel\"\n");
    }
    for part in &machine.parts {
        let _ = writeln!(text, "[part.{}]\nname = \"{}\"", part.id, part.id);
        for (field, names) in [("behind", &part.behind), ("held-by", &part.held_by)] {
            if !names.is_empty() {
                let _ = writeln!(text, "{field} = {}", list(names));
            }
        }
        if part.is_fastener {
            text.push_str("thread = \"M6\"\ntorque = \"9 N·m ± 1 N·m\"\n");
        }
        if part.renew {
            text.push_str("single-use = true\n");
        }
        if part.carries {
            text.push_str("carries = \"fuel\"\n");
        }
        if part.positions > 0 {
            text.push_str("positions = [\"upper hole\", \"lower hole\"]\n");
        }
        if part.positions == 1 {
            text.push_str("position = \"upper hole\"\n");
        }
    }
    text
}

#[derive(Clone, Copy, PartialEq)]
enum Place {
    Loose,
    Off,
}

/// A random possible disassembly, as steps.
fn strip(machine: &Machine, dice: &mut Dice) -> Vec<String> {
    let mut steps = vec![
        "[](isolate:ignition)".to_owned(),
        "[](prove:ignition)".to_owned(),
    ];
    let mut places: BTreeMap<&str, Place> = BTreeMap::new();
    let mut is_shut = false;
    for _ in 0..4 + dice.roll(30) {
        let is_off = |id: &str, places: &BTreeMap<&str, Place>| places.get(id) == Some(&Place::Off);
        let removable: Vec<&Part> = machine
            .parts
            .iter()
            .filter(|part| !is_off(&part.id, &places))
            .filter(|part| part.behind.iter().all(|front| is_off(front, &places)))
            .filter(|part| {
                part.held_by
                    .iter()
                    .all(|holder| places.contains_key(holder.as_str()))
            })
            .collect();
        if removable.is_empty() {
            break;
        }
        let part = removable[dice.roll(removable.len())];
        if part.is_fastener && dice.chance(25) && !places.contains_key(part.id.as_str()) {
            steps.push(format!("[](slacken:{})", part.id));
            places.insert(&part.id, Place::Loose);
            continue;
        }
        if part.carries && !is_shut {
            let shut = if machine.has_tap && dice.chance(70) {
                "close:tap"
            } else {
                "drain:fuel"
            };
            steps.push(format!("[]({shut})"));
            is_shut = true;
        }
        if part.positions == 2 {
            steps.push(format!("[](note:{})", part.id));
        }
        steps.push(format!("[](remove:{})", part.id));
        places.insert(&part.id, Place::Off);
    }
    steps
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 300,
        // The failing input is printed, so no file of seeds is needed.
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn the_reassembly_undoes_the_disassembly(rolls in prop::collection::vec(any::<u32>(), 200)) {
        let mut dice = Dice(rolls, 0);
        let machine = machine(&mut dice);
        let steps = strip(&machine, &mut dice);
        let mut procedure = "+++\ntitle = \"Strip\"\nmachines = [\"random\"]\n+++\n## Take off\n".to_owned();
        for step in &steps {
            let _ = writeln!(procedure, "1. {step}");
        }
        procedure.push_str("\n## Put back {.reverse}\n");
        let machine_text = machine_file(&machine);
        let sources = crate::read(&Memory::new([
            ("shop.toml", "name = \"Elmbrook workshop\"\n".to_owned()),
            ("supplies.toml", "[supply.petrol]\nname = \"petrol\"\n".to_owned()),
            ("machines/random.toml", machine_text.clone()),
            ("strip/strip.md", procedure.clone()),
        ]));
        let checked = crate::check_all(&sources);
        // Advice is about the machine, whose records are drawn at random.
        let faults = checked.findings.iter().filter(|finding| finding.level != Level::Advice);
        let messages: Vec<&String> = faults.map(|finding| &finding.message).collect();
        prop_assert!(messages.is_empty(), "{messages:#?}\n{machine_text}\n{procedure}");

        // Each part that was removed is fitted exactly once.
        let job = &checked.jobs[0].job;
        let parts_with = |verbs: &[Verb]| -> Vec<String> {
            let actions = job.steps().flat_map(|step| &step.actions);
            actions.filter(|action| verbs.contains(&action.verb) && matches!(action.thing, Thing::Part(_)))
                .map(|action| action.thing.key().to_owned())
                .collect()
        };
        let (off, on) = (parts_with(&[Verb::Remove]), parts_with(&[Verb::Fit, Verb::Renew]));
        prop_assert_eq!(off.len(), on.len());
        prop_assert_eq!(off.iter().collect::<BTreeSet<_>>(), on.iter().collect::<BTreeSet<_>>());
        let loose = parts_with(&[Verb::Slacken]);
        let tight = parts_with(&[Verb::Tighten]);
        for fastener in off.iter().chain(&loose).filter(|id| id.starts_with("screw")) {
            let times = tight.iter().filter(|id| *id == fastener).count();
            prop_assert_eq!(times, 1, "{} is tightened once", fastener);
        }
    }
}
