//! A removal and its installation as a pair: two jobs, of which the second starts where the first ends.

use super::case::{Case, assert_clean, assert_finding};
use crate::tree::Memory;

/// A carburettor behind a cover, on a fuel line, with a linkage whose position is noted.
const MACHINE: &str = r#"
[energy.ignition]
name = "ignition"
kind = "ignition"
isolate = "Pull the cap"
prove = "Pull the starter: it doesn't fire"
restore = "Push the cap on"
[valve.tap]
name = "fuel tap"
[part.knob]
name = "knob"
thread = "M6"
[part.cover]
name = "cover"
held-by = ["knob"]
[part.rod]
name = "rod"
behind = ["cover"]
positions = ["hole A", "hole B"]
[part.nut]
name = "nut"
thread = "M6"
count = 2
behind = ["cover"]
[part.carburettor]
name = "carburettor"
behind = ["cover", "rod"]
held-by = ["nut"]
clean = true
[part.gasket]
name = "gasket"
behind = ["carburettor"]
single-use = true
seals = ["carburettor"]
[part.plate]
name = "plate"
"#;

const SAFE_FRONT: &str = "[left-undone]\nignition = \"what it is made safe for restores it\"\n";
const SAFE: [&str; 2] = ["isolate:ignition", "prove:ignition"];
const RESTORED: [&str; 1] = ["restore:ignition"];
const OFF: [&str; 9] = [
    "close:tap",
    "remove:knob",
    "remove:cover",
    "note:rod",
    "remove:rod",
    "remove:nut",
    "remove:carburettor",
    "remove:gasket",
    "remove:plate",
];
const BACK: [&str; 11] = [
    "fit:plate",
    "clean:carburettor",
    "renew:gasket",
    "fit:carburettor",
    "fit:nut",
    "tighten:nut",
    "fit:rod",
    "fit:cover",
    "fit:knob",
    "tighten:knob",
    "open:tap",
];

/// A pair with a procedure that makes the machine safe and one that restores it.
fn pair_on(machine: &str, off: &[&str], back: &[&str]) -> Case {
    let safe = "begin = [\"safe\"]\nfinish = [\"restored\"]\n";
    Case::on(machine)
        .with("safe", SAFE_FRONT, &SAFE)
        .with("restored", "begin = [\"safe\"]\n", &RESTORED)
        .with("off", safe, off)
        .with("back", &format!("{safe}reverses = \"off\"\n"), back)
}

fn pair(off: &[&str], back: &[&str]) -> Case {
    pair_on(MACHINE, off, back)
}

/// The steps without one.
fn without<'s>(steps: &[&'s str], left_out: &str) -> Vec<&'s str> {
    let kept = steps.iter().copied().filter(|step| *step != left_out);
    kept.collect()
}

/// The actions of a procedure's job, as written.
fn actions(case: &Case, id: &str) -> Vec<String> {
    let sources = crate::read(&Memory::new(case.world.clone()));
    let checked = crate::check_all(&sources);
    let mut jobs = checked.jobs.iter();
    let rehearsed = jobs
        .find(|rehearsed| rehearsed.job.procedure.id == id)
        .unwrap();
    let steps = rehearsed.job.steps();
    let actions = steps.flat_map(|step| step.all_actions());
    actions
        .map(|action| format!("{}:{}", action.verb.word(), action.thing.key()))
        .collect()
}

#[test]
fn a_pair_needs_no_list_of_what_is_left_undone() {
    assert_clean(&pair(&OFF, &BACK));
    // Without the pair, the same steps leave the machine in pieces.
    let alone = Case::on(MACHINE)
        .with("safe", SAFE_FRONT, &SAFE)
        .with("restored", "begin = [\"safe\"]\n", &RESTORED)
        .with("off", "begin = [\"safe\"]\nfinish = [\"restored\"]\n", &OFF);
    let rules: Vec<String> = alone
        .findings()
        .into_iter()
        .map(|(rule, ..)| rule)
        .collect();
    assert!(
        rules.iter().any(|rule| rule == "part-left-off"),
        "{rules:?}"
    );
    assert!(
        rules.iter().any(|rule| rule == "left-not-as-found"),
        "{rules:?}"
    );
}

#[test]
fn what_both_begin_with_is_done_once_and_what_finishes_comes_last() {
    let case = pair(&OFF, &BACK);
    let off = actions(&case, "off");
    assert_eq!(off[..2], ["isolate:ignition", "prove:ignition"]);
    assert!(!off.contains(&"restore:ignition".to_owned()), "{off:?}");
    let back = actions(&case, "back");
    assert!(!back.contains(&"isolate:ignition".to_owned()), "{back:?}");
    assert_eq!(back.last().unwrap(), "restore:ignition");
}

#[test]
fn the_installation_is_derived_from_the_removal() {
    let mut case = pair(&OFF, &[]);
    case.world.insert("case/back.md".to_owned(), b"+++\ntitle = \"back\"\nmachines = [\"case\"]\nbegin = [\"safe\"]\nfinish = [\"restored\"]\nreverses = \"off\"\n+++\n## Clean\n\n1. [](clean:carburettor)\n\n## Put back {.reverse}\n".to_vec());
    assert_clean(&case);
    let back = actions(&case, "back");
    let wanted = "clean:carburettor fit:plate renew:gasket fit:carburettor fit:nut tighten:nut fit:rod fit:cover fit:knob tighten:knob open:tap restore:ignition";
    assert_eq!(back.join(" "), wanted);
}

#[test]
fn a_fault_of_a_pair_is_found_once_where_it_was_made() {
    let all = BACK;
    // Removed in the first, not put back in the second: the span is where it came off.
    for (missing, rule, at) in [
        ("fit:plate", "part-left-off", "off remove:plate"),
        ("open:tap", "left-not-as-found", "off close:tap"),
        ("tighten:knob", "fastener-left-loose", "back fit:knob"),
        (
            "clean:carburettor",
            "refitted-dirty",
            "back fit:carburettor",
        ),
    ] {
        assert_finding(&pair(&OFF, &without(&all, missing)), rule, at, "");
    }
    // Faults of the first that only the second shows.
    let off = without(&OFF, "note:rod");
    assert_finding(
        &pair(&off, &all),
        "position-not-noted",
        "off remove:rod",
        "",
    );
    let used = all.iter().map(|step| {
        if *step == "renew:gasket" {
            "fit:gasket"
        } else {
            step
        }
    });
    let used: Vec<&str> = used.collect();
    assert_finding(
        &pair(&OFF, &used),
        "single-use-refitted",
        "back fit:gasket",
        "off remove:gasket",
    );
    // A fault in the first alone.
    let order = [
        "close:tap",
        "remove:cover",
        "remove:knob",
        "note:rod",
        "remove:rod",
        "remove:nut",
        "remove:carburettor",
        "remove:gasket",
        "remove:plate",
    ];
    assert_finding(
        &pair(&order, &all),
        "part-still-held",
        "off remove:cover",
        "case knob",
    );
    // A part that the first did not take off.
    let mut more = OFF.to_vec();
    more.retain(|step| *step != "remove:gasket");
    assert_finding(
        &pair(&more, &without(&all, "renew:gasket")),
        "old-seal-reused",
        "back fit:carburettor",
        "",
    );
    // Nobody leaves an engine running for another sheet.
    let machine = format!(
        "engine = {{ kind = \"four-stroke\", ignition-pulses-per-turn = 0.5 }}\n{MACHINE}\n\
         [condition.clear]\nname = \"clear\"\nlost-by = \"nothing\"\n[run]\nneeds = [\"clear\"]\n"
    );
    let running = Case::on(&machine)
        .with("off", "", &["confirm:clear", "run:engine"])
        .with("back", "reverses = \"off\"\n", &["stop:engine"]);
    assert_finding(&running, "left-not-as-found", "off run:engine", "");
}

#[test]
fn a_waiver_in_the_removal_holds_for_the_pair() {
    let mut case = pair(&OFF, &without(&BACK, "fit:plate"));
    let path = "case/off.md";
    let text = String::from_utf8(case.world[path].clone()).unwrap();
    let waived = "[](remove:plate) {waive=\"part-left-off: the new cover needs no plate\"}";
    let text = text.replace("[](remove:plate)", waived);
    case.world.insert(path.to_owned(), text.into_bytes());
    assert_clean(&case);
}

#[test]
fn another_job_includes_a_pair_as_any_procedures() {
    let case = pair(&OFF, &BACK);
    assert_clean(&case.with(
        "both",
        "begin = [\"safe\"]\nfinish = [\"restored\"]\n",
        &["do:off", "do:back"],
    ));
    let case = pair(&OFF, &BACK);
    assert_clean(&case.with(
        "around",
        "begin = [\"off\"]\nfinish = [\"back\"]\n",
        &["inspect:cover"],
    ));
    // Each installation puts back what its own removal took off.
    let machine = format!("{MACHINE}\n[part.lamp]\nname = \"lamp\"\n");
    let around = "begin = [\"safe\"]\nfinish = [\"restored\"]\n";
    let reverse = |id: &str| {
        format!(
            "+++\ntitle = \"{id}-back\"\nmachines = [\"case\"]\n{around}reverses = \"{id}\"\n+++\n## Put back {{.reverse}}\n"
        )
    };
    let mut case = pair_on(&machine, &OFF, &BACK)
        .with("lamp", around, &["remove:lamp"])
        .with(
            "both",
            "begin = [\"safe\"]\nfinish = [\"restored\"]\n",
            &["do:lamp", "do:off", "do:back", "do:lamp-back"],
        );
    case.add("case/lamp-back.md", &reverse("lamp"));
    assert_clean(&case);
    let joined = actions(&case, "both").join(" ");
    assert!(
        joined.ends_with("tighten:knob open:tap fit:lamp restore:ignition"),
        "{joined}"
    );
    let mut case = pair_on(&machine, &OFF, &[])
        .with("lamp", around, &["remove:lamp"])
        .with(
            "both",
            "begin = [\"safe\"]\nfinish = [\"restored\"]\n",
            &[
                "do:off",
                "do:lamp",
                "clean:carburettor",
                "do:back",
                "do:lamp-back",
            ],
        );
    case.world.remove("case/back.md");
    case.add("case/lamp-back.md", &reverse("lamp"));
    case.add("case/back.md", &reverse("off").replace("off-back", "back"));
    let joined = actions(&case, "both").join(" ");
    assert!(
        joined.ends_with("tighten:knob open:tap fit:lamp restore:ignition"),
        "{joined}"
    );
}

#[test]
fn what_is_no_pair_is_reported() {
    let itself = Case::on(MACHINE).with("off", "reverses = \"off\"\n", &["inspect:cover"]);
    assert_finding(&itself, "not-a-pair", "off off", "");
    let twice = pair(&OFF, &BACK).with("again", "reverses = \"off\"\n", &["inspect:cover"]);
    assert_finding(&twice, "not-a-pair", "back off", "again off");
    // Also if they share another machine than the first of their lists.
    let mut several = pair(&OFF, &BACK).with("again", "reverses = \"off\"\n", &["inspect:cover"]);
    several.add(
        "machines/other.toml",
        "name = \"Tarn Rush B\"\nlike = \"case\"\nbasis = \"invented\"\n",
    );
    several.add(
        "machines/third.toml",
        "name = \"Tarn Rush C\"\nlike = \"case\"\nbasis = \"invented\"\n",
    );
    for (id, machines) in [
        ("off", "[\"case\", \"other\", \"third\"]"),
        ("safe", "[\"case\", \"other\", \"third\"]"),
        ("restored", "[\"case\", \"other\", \"third\"]"),
        ("back", "[\"other\", \"third\"]"),
        ("again", "[\"case\", \"third\"]"),
    ] {
        let path = format!("case/{id}.md");
        let text = String::from_utf8(several.world[&path].clone()).unwrap();
        let text = text.replace("[\"case\"]", machines);
        several.world.insert(path, text.into_bytes());
    }
    let found = several.findings();
    assert!(
        found.iter().any(|(rule, ..)| rule == "not-a-pair"),
        "{found:#?}"
    );
    let chain = pair(&OFF, &BACK).with("third", "reverses = \"back\"\n", &["inspect:cover"]);
    assert_finding(&chain, "not-a-pair", "third back", "back off");
    let unknown = Case::on(MACHINE).with("back", "reverses = \"of\"\n", &["inspect:cover"]);
    assert_finding(&unknown, "unknown-thing", "back of", "");
    // The installation is for a machine that the removal is not for.
    let mut case = pair(&OFF, &BACK);
    let text = String::from_utf8(case.world["case/off.md"].clone()).unwrap();
    let text = text.replace("[\"case\"]", "[\"hand-pump\"]");
    case.world
        .insert("case/off.md".to_owned(), text.into_bytes());
    let found = case.findings();
    assert!(
        found
            .iter()
            .any(|(rule, ..)| rule == "procedure-not-for-machine"),
        "{found:#?}"
    );
}

#[test]
fn each_sheet_of_a_pair_names_the_other_and_the_state_between_them() {
    let case = pair(&OFF, &BACK);
    for sheet in case.sheets("off") {
        assert!(
            sheet.contains("It is put back by") && sheet.contains("“back”"),
            "{sheet}"
        );
        assert!(sheet.contains("Machine left incomplete"), "{sheet}");
    }
    for sheet in case.sheets("back") {
        assert!(
            sheet.contains("Check that the machine is still as left by") && sheet.contains("“off”"),
            "{sheet}"
        );
        assert!(sheet.contains("removed: knob, cover, rod"), "{sheet}");
        // The position was noted on the other sheet.
        assert!(sheet.contains("of “off”"), "{sheet}");
    }
}
