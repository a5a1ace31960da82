//! Machines that are variants of others.

use super::support::{files, root, tree};
use crate::finding::Level;
use crate::tree::Memory;
use fastrand::Rng;
use std::collections::BTreeMap;

/// The texts of a tree, by path.
type Texts = BTreeMap<String, Vec<u8>>;

const BASE: &str = "\
name = \"Tarn Rush\"
basis = \"measured, March 2026\"
[energy.flow]
name = \"flow\"
kind = \"pressure\"
isolate = \"Shut the main tap\"
prove = \"Open the spout: it runs dry\"
restore = \"Open the main tap\"
endangers = [\"cover\"]
[part.cover]
name = \"cover\"
held-by = [\"cover-nut\"]
[part.cover-nut]
name = \"cover nut\"
thread = \"M6\"
drive = \"hex 10 mm\"
torque = \"9 N·m ± 1 N·m\"
[part.gasket]
name = \"gasket\"
behind = [\"cover\"]
single-use = true
seals = [\"cover\"]
[condition.dry]
name = \"casing dry\"
lost-by = [\"fit:cover\"]
";

/// The tree `hand-pump` with a machine and a variant of it.
fn with_variant(base: &str, variant: &str) -> Texts {
    let mut texts: Texts = files(&tree("hand-pump")).into_iter().collect();
    let mut add = |id: &str, text: &str| {
        texts.insert(format!("machines/{id}.toml"), text.to_owned().into_bytes());
    };
    add("base", base);
    add(
        "variant",
        &format!("name = \"Tarn Rush B\"\nlike = \"base\"\n{variant}"),
    );
    texts
}

/// The findings that are warnings or errors: the rule, the file and the text of the primary span, and the message.
fn found(texts: &Texts) -> Vec<(String, String, String)> {
    let sources = crate::read(&Memory::new(texts.clone()));
    let checked = crate::check(&sources);
    let severe = checked.findings.iter();
    let severe = severe.filter(|finding| finding.level >= Level::Warning);
    let shown = severe.map(|finding| {
        let place = finding.primary.as_ref().map(|mark| {
            let path = &sources.tree.file(mark.span.file).path;
            format!("{path} {}", sources.tree.text(mark.span))
        });
        let rule = finding.rule.name.to_owned();
        (rule, place.unwrap_or_default(), finding.message.clone())
    });
    shown.collect()
}

#[track_caller]
fn assert_found(variant: &str, expected: &[(&str, &str, &str)]) {
    let found = found(&with_variant(BASE, variant));
    let found: Vec<(&str, &str, &str)> = found
        .iter()
        .map(|(rule, place, message)| (rule.as_str(), place.as_str(), message.as_str()))
        .collect();
    assert_eq!(found, expected, "{variant}");
}

#[test]
fn a_correct_variant_gives_no_finding() {
    for variant in [
        "",
        // A changed value, with a source of its own.
        "[part.cover-nut]\ntorque = \"10 N·m ± 1 N·m\"\nbasis = \"measured, May 2026\"\n",
        "basis = \"measured, May 2026\"\n[part.cover-nut]\nstages = [\"5 N·m\", \"9 N·m\"]\n",
        // A part that is added, and one that lies behind it.
        "[part.clip]\nname = \"clip\"\n[part.cover]\nbehind = [\"clip\"]\n",
        // A part that is not taken over leaves the lists of others.
        "lacks = [\"cover-nut\"]\n",
        "lacks = [\"gasket\", \"dry\"]\n",
        "lacks = \"gasket\"\n",
        // A part that is replaced.
        "lacks = [\"cover-nut\"]\n[part.cover-nut]\nname = \"wing nut\"\nthread = \"M6\"\n",
        // What is endangered is another part.
        "lacks = [\"cover\"]\n[energy.flow]\nendangers = [\"gasket\"]\n[condition.dry]\nlost-by = \"work\"\n",
        "lacks = [\"cover\", \"flow\", \"dry\"]\n",
    ] {
        assert_found(variant, &[]);
    }
}

#[test]
fn a_faulty_variant_is_reported_once_where_the_fault_is() {
    let (own, base) = ("machines/variant.toml", "machines/base.toml");
    let _ = base;
    assert_found(
        "lacks = [\"cover-nuts\"]\n",
        &[(
            "unknown-name",
            &format!("{own} cover-nuts"),
            "`lacks` names an unknown thing `cover-nuts`",
        )],
    );
    assert_found(
        "lacks = [\"cover-nut\"]\n[part.gasket]\nheld-by = [\"cover-nut\"]\n",
        &[(
            "unknown-name",
            &format!("{own} cover-nut"),
            "part `gasket` names an unknown part `cover-nut`",
        )],
    );
    assert_found(
        "lacks = [\"cover\", \"dry\"]\n",
        &[(
            "danger-not-named",
            &format!("{own} cover"),
            "energy `flow` endangers nothing on this machine, which lacks what it endangers",
        )],
    );
    assert_found(
        "lacks = [\"cover\", \"flow\"]\n",
        &[(
            "end-not-named",
            &format!("{own} cover"),
            "nothing ends condition `dry` on this machine, which lacks what ends it",
        )],
    );
    assert_found(
        "[part.gasket]\nseal = [\"cover\"]\n",
        &[(
            "unknown-field",
            &format!("{own} seal"),
            "part `gasket` has no field `seal`",
        )],
    );
    assert_found(
        "[part.clip]\ncount = 2\n",
        &[(
            "missing-field",
            &format!("{own} clip"),
            "part `clip` has no `name`",
        )],
    );
}

#[test]
fn a_fault_of_the_base_is_reported_once() {
    let fault = BASE.replace("single-use = true", "single-use = \"yes\"");
    let found_alone = found(&with_variant(&fault, ""));
    assert_eq!(found_alone.len(), 1, "{found_alone:#?}");
    assert_eq!(found_alone[0].0, "wrong-type");
    // Nothing follows from a base that can't be read.
    let broken = BASE.replace("[part.gasket]", "[part.gasket");
    let found_broken = found(&with_variant(&broken, "lacks = [\"oddity\"]\n"));
    let rules: Vec<&str> = found_broken
        .iter()
        .map(|(rule, ..)| rule.as_str())
        .collect();
    assert_eq!(rules, ["broken-toml"], "{found_broken:#?}");
}

/// The tree `hand-pump` with machines that have only a name, each like another one.
fn chain(machines: &[(&str, Option<&str>)]) -> Texts {
    let mut texts: Texts = files(&tree("hand-pump")).into_iter().collect();
    for (id, like) in machines {
        let like = like.map_or(String::new(), |like| format!("like = \"{like}\"\n"));
        let text = format!("name = \"{id}\"\n{like}");
        texts.insert(format!("machines/{id}.toml"), text.into_bytes());
    }
    texts
}

#[test]
fn machines_that_are_like_no_machine_or_themselves_are_reported_once() {
    let rules_of = |machines: &[(&str, Option<&str>)]| -> Vec<(String, String)> {
        let found = found(&chain(machines)).into_iter();
        found.map(|(rule, place, _)| (rule, place)).collect()
    };
    let expected = |rule: &str, place: &str| vec![(rule.to_owned(), place.to_owned())];
    assert_eq!(
        rules_of(&[("a", None), ("b", Some("a")), ("c", Some("b"))]),
        []
    );
    assert_eq!(
        rules_of(&[("a", Some("nowhere")), ("b", Some("a"))]),
        expected("unknown-name", "machines/a.toml nowhere")
    );
    assert_eq!(
        rules_of(&[("a", Some("a")), ("b", Some("a"))]),
        expected("conflicting-fields", "machines/a.toml a")
    );
    assert_eq!(
        rules_of(&[
            ("a", Some("c")),
            ("b", Some("a")),
            ("c", Some("b")),
            ("d", Some("c"))
        ]),
        expected("conflicting-fields", "machines/a.toml c")
    );
    let names: Vec<String> = (0..40).map(|index| format!("m{index:02}")).collect();
    let line = |count: usize, last: Option<&'static str>| -> Texts {
        let machines: Vec<(&str, Option<&str>)> = (0..count)
            .map(|index| {
                let next = (index + 1 < count).then(|| names[index + 1].as_str());
                (names[index].as_str(), next.or(last))
            })
            .collect();
        chain(&machines)
    };
    assert_eq!(found(&line(9, None)), []);
    let long = found(&line(40, None));
    assert_eq!(long.len(), 1, "{long:#?}");
    assert_eq!(long[0].0, "over-limit");
    assert_eq!(long[0].1, "machines/m30.toml m31");
    let circle = found(&line(40, Some("m00")));
    assert_eq!(circle.len(), 1, "{circle:#?}");
    assert_eq!(circle[0].0, "conflicting-fields");
}

/// What is made of a tree that has a machine `id`: its findings, and what its jobs say, without the names of files.
fn made(texts: &Texts, id: &str) -> (Vec<String>, Vec<String>) {
    let sources = crate::read(&Memory::new(texts.clone()));
    let checked = crate::check_all(&sources);
    let findings = checked.findings.iter();
    let findings = findings.map(|finding| format!("{}: {}", finding.rule.name, finding.message));
    let jobs = checked.jobs.iter().filter(|made| made.job.machine.id == id);
    let actions = jobs.flat_map(|made| {
        let title = made.job.procedure.id.clone();
        let steps = made.job.steps();
        let actions =
            steps.flat_map(|step| step.all_actions().map(move |action| (step.number, action)));
        let shown = actions.map(move |(number, action)| {
            let part = match action.thing {
                crate::job::Thing::Part(part) => {
                    let stages = part
                        .stages
                        .iter()
                        .map(|stage| (&stage.spec.value, &stage.basis));
                    format!(
                        "{:?} {:?}",
                        stages.collect::<Vec<_>>(),
                        part.limits.as_ref().map(|limits| &limits.spec.value)
                    )
                }
                _ => String::new(),
            };
            format!(
                "{title} {number} {} {} {part}",
                action.verb.word(),
                action.thing.key()
            )
        });
        shown.collect::<Vec<String>>()
    });
    (findings.collect(), actions.collect())
}

/// A variant that differs from a machine of the demonstration in some lines is the same machine as a copy of the whole
/// file with these lines.
#[test]
fn a_variant_is_the_same_machine_as_a_changed_copy() {
    let demonstration: Texts = files(&root().join("procedures")).into_iter().collect();
    let mut rng = Rng::with_seed(17);
    let mut changes = 0;
    for turn in 0..40 {
        let machines: Vec<String> = demonstration
            .keys()
            .filter(|path| path.starts_with("machines/"))
            .cloned()
            .collect();
        let path = rng.choice(&machines).unwrap();
        let id = path
            .trim_start_matches("machines/")
            .trim_end_matches(".toml");
        let base = String::from_utf8(demonstration[path].clone()).unwrap();
        let (copy, differences) = differences(&base, &mut rng);
        changes += differences.len();
        let name = "name = \"Copy\"\nbasis = \"invented for this demonstration\"\n";
        let variant = format!("{name}like = \"{id}\"\n{}", differences.concat());
        let (copy, variant) = (copy.into_bytes(), variant.into_bytes());
        let with = |text: Vec<u8>| {
            let mut texts = demonstration.clone();
            for (path, text) in &mut texts {
                if !path.starts_with("machines/") && text.starts_with(b"+++") {
                    let quoted = format!("\"{id}\"");
                    let also = format!("{quoted}, \"copy\"");
                    let (front, body) = split(text);
                    *text = [front.replace(&quoted, &also), body].concat().into_bytes();
                }
            }
            texts.insert("machines/copy.toml".to_owned(), text);
            made(&texts, "copy")
        };
        let (expected, actual) = (with(copy), with(variant.clone()));
        assert!(!expected.1.is_empty());
        let shown = String::from_utf8_lossy(&variant).into_owned();
        similar_asserts(&expected.1, &actual.1, turn, &shown);
        // The names of places differ, and a finding of both machines is one.
        let missing = |these: &[String], others: &[String]| -> Vec<String> {
            let missing = these.iter().filter(|finding| !others.contains(finding));
            missing.cloned().collect()
        };
        let lost = missing(&expected.0, &actual.0);
        let new = missing(&actual.0, &expected.0);
        assert!(
            lost.is_empty() && new.is_empty(),
            "{turn}\n{shown}\nlost {lost:#?}\nnew {new:#?}"
        );
    }
    assert!(changes > 60, "{changes}");
}

#[track_caller]
fn similar_asserts(expected: &[String], actual: &[String], turn: usize, variant: &str) {
    for (expected, actual) in expected.iter().zip(actual) {
        assert_eq!(expected, actual, "{turn}\n{variant}");
    }
    assert_eq!(expected.len(), actual.len(), "{turn}\n{variant}");
}

fn split(text: &[u8]) -> (String, String) {
    let text = String::from_utf8(text.to_vec()).unwrap();
    let end = text[3..].find("+++").map_or(0, |end| end + 3);
    let (front, body) = text.split_at(end);
    (front.to_owned(), body.to_owned())
}

/// Changes up to three fields of records of a machine's file. Returns the changed text, and the tables of a variant.
fn differences(base: &str, rng: &mut Rng) -> (String, Vec<String>) {
    let mut header = "";
    let mut fields: Vec<(String, String, usize)> = Vec::new();
    for (index, line) in base.lines().enumerate() {
        if line.starts_with('[') {
            header = line;
        } else if let Some((key, _)) = line.split_once(" = ")
            && header.contains('.')
        {
            fields.push((header.to_owned(), key.to_owned(), index));
        }
    }
    let mut lines: Vec<String> = base.lines().map(str::to_owned).collect();
    // The copy has a name of its own.
    lines[0] = "name = \"Copy\"".to_owned();
    let mut tables: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for _ in 0..rng.usize(1..=3) {
        let (header, key, index) = rng.choice(&fields).unwrap();
        // The value of the same field of another record.
        let others: Vec<&(String, String, usize)> = fields
            .iter()
            .filter(|(other, other_key, _)| {
                let table = |header: &str| header.split('.').next().map(str::to_owned);
                table(other) == table(header) && other_key == key
            })
            .collect();
        let (.., other) = rng.choice(others).unwrap();
        let line = base.lines().nth(*other).unwrap().to_owned();
        let changed = tables.entry(header.clone()).or_default();
        if changed
            .iter()
            .any(|changed| changed.starts_with(&format!("{key} = ")))
        {
            continue;
        }
        changed.push(line.clone());
        lines[*index] = line;
    }
    let tables = tables.into_iter();
    let tables = tables.map(|(header, lines)| format!("{header}\n{}\n", lines.join("\n")));
    (lines.join("\n"), tables.collect())
}

/// The rules of the warnings and errors of some machines, each with lines at the top of its file.
fn rules_of(machines: &[(&str, &str)]) -> Vec<String> {
    let mut texts: Texts = files(&tree("hand-pump")).into_iter().collect();
    for (id, lines) in machines {
        let text = format!("name = \"{id}\"\n{lines}\n");
        texts.insert(format!("machines/{id}.toml"), text.into_bytes());
    }
    let found = found(&texts).into_iter();
    found
        .map(|(rule, place, _)| format!("{rule} {place}"))
        .collect()
}

#[test]
fn serial_numbers_of_variants_neither_overlap_nor_leave_a_gap() {
    let b = "like = \"a\"\n";
    let late = |lines: &str| format!("{b}{lines}");
    for machines in [
        // All serial numbers, each in one file.
        vec![
            ("a", "to = \"T7-2399\"".to_owned()),
            ("b", late("from = \"T7-2400\"")),
        ],
        vec![
            ("a", "from = \"T7-1\"\nto = \"T7-0900\"".to_owned()),
            ("b", late("from = \"T7-901\"\nto = \"T7-2399\"")),
            ("c", late("from = \"t7-2400\"")),
        ],
        // Other letters are another series.
        vec![
            ("a", "to = \"A-99\"".to_owned()),
            ("b", late("from = \"B-1\"")),
        ],
        // The same numbers with other options.
        vec![
            ("a", "to = \"T7-9\"".to_owned()),
            ("b", late("to = \"T7-9\"\nfitted = [\"electric start\"]")),
        ],
        vec![
            ("a", String::new()),
            ("b", late("fitted = [\"electric start\"]")),
        ],
        // Machines that are no variants of each other.
        vec![
            ("a", "to = \"T7-9\"".to_owned()),
            ("b", "to = \"T7-9\"".to_owned()),
        ],
        // No serial numbers at all.
        vec![("a", String::new()), ("b", late(""))],
    ] {
        let given: Vec<(&str, &str)> = machines
            .iter()
            .map(|(id, lines)| (*id, lines.as_str()))
            .collect();
        assert_eq!(rules_of(&given), Vec::<String>::new(), "{machines:?}");
    }
    for (machines, expected) in [
        (
            vec![
                ("a", "to = \"T7-2400\"".to_owned()),
                ("b", late("from = \"T7-2400\"")),
            ],
            vec!["serial-numbers-overlap machines/b.toml T7-2400"],
        ),
        (
            vec![("a", String::new()), ("b", late("from = \"T7-2400\""))],
            vec!["serial-numbers-overlap machines/b.toml T7-2400"],
        ),
        (
            vec![
                ("a", "to = \"T7-2399\"".to_owned()),
                ("b", late("from = \"T7-2450\"")),
            ],
            vec!["serial-numbers-not-covered machines/b.toml T7-2450"],
        ),
        // A range within another one leaves no gap.
        (
            vec![
                ("a", "to = \"T7-100\"".to_owned()),
                ("b", late("from = \"T7-50\"\nto = \"T7-60\"")),
                ("c", late("from = \"T7-101\"")),
            ],
            vec!["serial-numbers-overlap machines/b.toml T7-50"],
        ),
        (
            vec![("a", "from = \"T7-9\"\nto = \"T7-8\"".to_owned())],
            vec!["conflicting-fields machines/a.toml T7-8"],
        ),
        (
            vec![("a", "from = \"T7-9\"\nto = \"T8-10\"".to_owned())],
            vec!["conflicting-fields machines/a.toml T8-10"],
        ),
        (
            vec![("a", "lacks = [\"cover\"]".to_owned())],
            vec!["conflicting-fields machines/a.toml cover"],
        ),
        (
            vec![("a", "from = \"T7-\"".to_owned())],
            vec!["ill-formed-value machines/a.toml T7-"],
        ),
    ] {
        let given: Vec<(&str, &str)> = machines
            .iter()
            .map(|(id, lines)| (*id, lines.as_str()))
            .collect();
        assert_eq!(rules_of(&given), expected, "{machines:?}");
    }
}

#[test]
fn superseded_part_number_is_reported_where_it_is_still_used() {
    let part = |lines: &str| format!("[part.strap]\nname = \"strap\"\n{lines}");
    let new = part("number = \"A-2\"\nsupersedes = [\"A-1\"]");
    let found = |other: &str| rules_of(&[("a", &new), ("b", &part(other))]);
    assert_eq!(
        found("number = \"A-2\"\nsupersedes = [\"A-1\"]"),
        Vec::<String>::new()
    );
    assert_eq!(found("number = \"A-3\""), Vec::<String>::new());
    assert_eq!(found(""), Vec::<String>::new());
    assert_eq!(
        found("number = \"A-1\""),
        ["superseded-part-number machines/b.toml strap"]
    );
    assert_eq!(
        found("supersedes = [\"A-0\"]"),
        ["conflicting-fields machines/b.toml A-0"]
    );
    assert_eq!(
        found("number = \"A-4\"\nsupersedes = [\"A-4\"]"),
        ["conflicting-fields machines/b.toml A-4"]
    );
}

/// What is found in a machine's records is not found again on its variants.
#[test]
fn a_finding_about_a_taken_over_record_is_given_once() {
    // The message of this rule names the machine.
    let held = |part: &str| format!("[part.{part}]\nname = \"{part}\"\nheld-by = [\"bolt\"]\n");
    let base = format!(
        "name = \"Tarn Rush\"\n[part.bolt]\nname = \"bolt\"\nthread = \"M6\"\n{}{}",
        held("lid"),
        held("washer")
    );
    let texts = with_variant(&base, "");
    let sources = crate::read(&Memory::new(texts));
    let checked = crate::check(&sources);
    let findings = checked.findings.iter();
    let rules: Vec<&str> = findings.map(|finding| finding.rule.name).collect();
    let count = |name: &str| rules.iter().filter(|rule| **rule == name).count();
    assert_eq!(count("order-on-fastener-unknown"), 1, "{rules:?}");
}
