//! Mistakes of a new author in the tree `hand-pump`: each gives one finding, at the text that is wrong.

use super::support::{files, root, tree};
use crate::tree::Memory;
use std::collections::BTreeMap;

// Lines of the tree. A test adds fields, records or steps below them.
const NUT: &str = "drive = \"hex 10 mm\"";
const ROD: &str = "orientation = \"long leg down\"";
const GASKET: &str = "single-use = true";
const STROKE: &str = "over = \"Turn the rod end in\"";
const WRENCH: &str = "size = \"10 mm\"";
const MACHINE: &str = "under = \"Turn the rod end out\"";
const STEP: &str = "3. [](note:pump-rod)";
const HEADING: &str = "## Put back {.reverse}";
const MINUTES: &str = "minutes = 10";

const LEVER: &str = "[control.lever]\nname = \"lever\"\n";
const LEVEL: &str = "[condition.level]\nname = \"level\"\n";
const WATER: &str = "[fluid.water]\nsupply = \"grease\"\n";

/// The files of the tree with text added below `place`, which one of them has.
fn with(additions: &[(&str, &str)]) -> BTreeMap<String, Vec<u8>> {
    let mut world: BTreeMap<String, Vec<u8>> = files(&tree("hand-pump")).into_iter().collect();
    for (place, text) in additions {
        let mut texts = world.values_mut();
        let file = texts
            .find(|bytes| String::from_utf8_lossy(bytes).contains(place))
            .unwrap();
        let old = String::from_utf8(file.clone()).unwrap();
        *file = old
            .replacen(place, &format!("{place}\n{text}"), 1)
            .into_bytes();
    }
    world
}

/// Each finding: its message, and the text that it marks.
fn findings(world: BTreeMap<String, Vec<u8>>) -> Vec<(String, String)> {
    let sources = crate::read(&Memory::new(world));
    let checked = crate::check_all(&sources);
    let mut found = Vec::new();
    for finding in &checked.findings {
        let span = finding.primary.as_ref().unwrap().span;
        let marked = sources.tree.text(span).to_owned();
        found.push((finding.message.clone(), marked));
    }
    found
}

#[track_caller]
fn one(additions: &[(&str, &str)], message: &str, marked: &str) {
    let found = findings(with(additions));
    assert_eq!(
        found,
        [(message.to_owned(), marked.to_owned())],
        "{additions:?}"
    );
}

#[test]
fn a_part_that_names_itself_is_reported_once() {
    for (place, field, part) in [
        (NUT, "stack = [\"cover-nut\"]", "cover-nut"),
        (NUT, "off-first = [\"cover-nut\"]", "cover-nut"),
        (NUT, "behind = [\"cover-nut\"]", "cover-nut"),
        (ROD, "held-by = [\"pump-rod\"]", "pump-rod"),
        (GASKET, "seals = [\"cover-gasket\"]", "cover-gasket"),
        (GASKET, "laid-open-by = [\"cover-gasket\"]", "cover-gasket"),
    ] {
        one(
            &[(place, field)],
            &format!("part `{part}` names itself"),
            part,
        );
    }
}

#[test]
fn a_circle_is_reported_once_and_not_at_its_steps() {
    one(
        &[(NUT, "stack = [\"cover-gasket\", \"cover\"]")],
        "`cover` comes off before `cover-gasket`, and `cover-gasket` before `cover`",
        "cover",
    );
    one(
        &[
            (NUT, "off-first = [\"pump-rod\"]"),
            (ROD, "off-first = [\"cover-nut\"]"),
        ],
        "`cover-nut` comes off before `pump-rod`, and `pump-rod` before `cover-nut`",
        "pump-rod",
    );
    // A circle of three: the names of all three are dropped.
    let found = findings(with(&[
        (NUT, "behind = [\"cover-gasket\"]"),
        (STROKE, "with = [\"cover\"]"),
    ]));
    assert_eq!(found.len(), 1, "{found:?}");
}

/// A part that is not in a circle keeps its order beside one that is.
#[test]
fn a_circle_hides_no_other_order() {
    let lid = "[part.lid]\nname = \"lid\"\nbehind = [\"hood\"]\n[part.hood]\nname = \"hood\"\n";
    let found = findings(with(&[
        (NUT, "stack = [\"cover-gasket\", \"cover\"]"),
        (MACHINE, lid),
        (STEP, "4. [](remove:lid)\n5. [](remove:hood)"),
    ]));
    let obstructed = "`lid` is removed while `hood` is still in front of it";
    assert!(
        found
            .iter()
            .any(|(message, _)| message.starts_with(obstructed)),
        "{found:?}"
    );
}

/// The fastener of a part is off before the part by itself, so nothing is wrong with saying it.
#[test]
fn a_fastener_may_be_the_first_off_of_what_it_holds() {
    assert_eq!(
        findings(with(&[(NUT, "off-first = [\"cover\"]")])),
        Vec::new()
    );
}

#[test]
fn wrong_positions_of_a_control() {
    let lever = |rest: &str| format!("{LEVER}{rest}");
    let good = lever("positions = [\"off\", \"on\"]\nfound = \"off\"");
    let step = |step: &'static str, message, marked| {
        one(&[(MACHINE, &good), (STEP, step)], message, marked);
    };
    step(
        "4. [](set:lever/onn)",
        "control `lever` has no position `onn`",
        "lever/onn",
    );
    step(
        "4. [](set:lever)",
        "the position of control `lever` is not given",
        "lever",
    );
    for (record, message, marked) in [
        (
            "found = \"off\"",
            "control `lever` has no `positions`",
            "lever",
        ),
        (
            "positions = []\nfound = \"off\"",
            "`positions` of control `lever` is empty",
            "[]",
        ),
        (
            "positions = \"off, on\"\nfound = \"off\"",
            "control `lever` has a single position",
            "off, on",
        ),
        (
            "positions = [\"off\", \"Off\"]\nfound = \"off\"",
            "control `lever` has the position `Off` twice",
            "Off",
        ),
    ] {
        one(&[(MACHINE, &lever(record))], message, marked);
    }
}

#[test]
fn wrong_amounts_and_stages() {
    one(
        &[
            (MACHINE, WATER),
            (STEP, "4. [](drain:water), [](fill:water/al)"),
        ],
        "fluid `water` has no amount `al`",
        "water/al",
    );
    one(
        &[(STEP, "4. [](inspect:pump-rod/upper-hole)")],
        "this action takes nothing after part `pump-rod`",
        "pump-rod/upper-hole",
    );
    one(
        &[(STEP, "4. [](tighten:cover-nut/3)")],
        "part `cover-nut` has no stage `3`",
        "cover-nut/3",
    );
}

#[test]
fn wrong_actions_of_conditions_and_readings() {
    let condition = |fields, message, marked| {
        one(&[(MACHINE, &format!("{LEVEL}{fields}"))], message, marked);
    };
    condition(
        "lost-by = [\"nothing\", \"work\"]",
        "condition `level` ends by `nothing` and by other actions",
        "nothing",
    );
    condition("lost-by = [\"wrok\"]", "`wrok` is not an action", "wrok");
    condition(
        "lost-by = []",
        "condition `level` does not say what ends it",
        "level",
    );
    condition(
        "lost-by = \"work\"\nafter = [\"fit:pump-rod/upper-hole\"]",
        "condition `level` names a position, stage or amount in `fit:pump-rod/upper-hole`",
        "fit:pump-rod/upper-hole",
    );
    one(
        &[(STROKE, "changed-by = [\"measure:stroke\"]")],
        "`stroke` is changed by its own measurement",
        "measure:stroke",
    );
    one(
        &[(STROKE, "with = [\"cover\"]\nwithout = [\"cover\"]")],
        "`stroke` is measured both with and without the same part",
        "cover",
    );
}

/// Without the procedures that make its machine safe, much would be missing from a job. That follows from the mistake.
#[test]
fn procedures_to_include_that_cannot_be_read_are_reported_once() {
    let demo: BTreeMap<String, Vec<u8>> = files(&root().join("procedures")).into_iter().collect();
    let path = "lubrication/oil-change.md";
    let text = String::from_utf8(demo[path].clone()).unwrap();
    for key in ["begin", "finish"] {
        let line = text.lines().find(|line| line.starts_with(key)).unwrap();
        for value in [
            "\"\"",
            "[\" \"]",
            "[]",
            "3",
            "[3]",
            "\"make-saf\"",
            "[\"make-safe\", 3]",
        ] {
            let mut world = demo.clone();
            let wrong = text.replace(line, &format!("{key} = {value}"));
            world.insert(path.to_owned(), wrong.into_bytes());
            let found = findings(world);
            assert_eq!(found.len(), 1, "{key} = {value}: {found:?}");
        }
    }
}

/// The fields of the second table are duplicates as well, which is no second mistake.
#[test]
fn a_table_that_is_given_twice_is_reported_once() {
    one(
        &[(
            MACHINE,
            "[part.cover]\nname = \"cover\"\nheld-by = [\"cover-nut\"]",
        )],
        "`cover` is given twice",
        "cover",
    );
}

#[test]
fn wrong_tools_marks_and_procedures() {
    one(
        &[(WRENCH, "protects = [\"W021\"]")],
        "`W021` is not a mandatory sign",
        "W021",
    );
    one(
        &[(WRENCH, "also = [\"\"]")],
        "`also` of tool `wrench-10` has an empty text",
        "",
    );
    one(
        &[(WRENCH, "also = \" \"")],
        "`also` of tool `wrench-10` is empty",
        "\" \"",
    );
    one(
        &[(MINUTES, "finish = [\"cover\"]")],
        "procedure `cover` includes itself",
        "cover",
    );
    let mut world = with(&[]);
    let text = String::from_utf8(world["air/cover.md"].clone()).unwrap();
    let misspelt = text.replace(HEADING, "## Put back {.revers}");
    world.insert("air/cover.md".to_owned(), misspelt.into_bytes());
    let found = findings(world);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].0, "`.revers` is not a mark of a section");
}
