//! A check that is kept up to date has the findings of a check from nothing, after any change of any file.

use super::support::{files, root, tree};
use crate::Sources;
use crate::finding::Findings;
use crate::recheck::{Outdated, Recheck, replace_text, with_edits};
use crate::tree::Memory;
use fastrand::Rng;
use std::collections::BTreeMap;

/// The texts of a tree, by path.
type Texts = BTreeMap<String, Vec<u8>>;

/// What a finding says, with everything that is made of it.
fn said(findings: &Findings) -> Vec<String> {
    findings
        .iter()
        .map(|finding| format!("{finding:?}"))
        .collect()
}

fn check(recheck: &mut Recheck, sources: &Sources) -> Findings {
    recheck.check(sources, None, &|| false).unwrap()
}

/// The name of a thing, a value or a word of the text of some file.
fn word(texts: &Texts, rng: &mut Rng) -> String {
    let text = rng.choice(texts.values().collect::<Vec<_>>()).unwrap();
    let text = String::from_utf8_lossy(text);
    let words = text.split(|letter: char| letter.is_whitespace() || "()[]\"/:".contains(letter));
    let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
    rng.choice(words).unwrap_or("petcock").to_owned()
}

/// A position in a text that is between two letters.
fn position(text: &str, rng: &mut Rng) -> usize {
    let mut at = rng.usize(0..=text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// The range of a line, with its end.
fn line(text: &str, rng: &mut Rng) -> std::ops::Range<usize> {
    let at = position(text, rng);
    let start = text[..at].rfind('\n').map_or(0, |end| end + 1);
    let end = text[at..].find('\n').map_or(text.len(), |end| at + end + 1);
    start..end
}

/// A text after a change that somebody may make while typing.
fn changed(text: &str, texts: &Texts, rng: &mut Rng) -> String {
    let mut changed = text.to_owned();
    let at = position(text, rng);
    match rng.usize(0..8) {
        0 => changed.insert_str(at, &word(texts, rng)),
        1 => {
            let mut letters = text[at..].char_indices();
            let end = letters.nth(1).map_or(text.len(), |(end, _)| at + end);
            changed.replace_range(at..end, "");
        }
        2 => changed.replace_range(line(text, rng), ""),
        3 => {
            let line = text[line(text, rng)].to_owned();
            changed.insert_str(super::recheck::line(text, rng).start, &line);
        }
        4 | 5 => {
            // Another name in the place of one, as of a machine, a part or a verb.
            let old = word(&Texts::from([(String::new(), text.into())]), rng);
            let new = word(texts, rng);
            let places: Vec<usize> = text.match_indices(&old).map(|(at, _)| at).collect();
            if let Some(at) = rng.choice(places) {
                changed.replace_range(at..at + old.len(), &new);
            }
        }
        6 => {
            let action = *rng
                .choice(["remove", "fit", "isolate", "open", "measure", "do"].as_slice())
                .unwrap();
            let thing = word(texts, rng);
            changed.insert_str(
                line(text, rng).start,
                &format!("1. []({action}:{thing}) {{if-fitted}}\n"),
            );
        }
        _ => {
            let line = line(text, rng);
            changed.insert_str(line.start, "1. It is 20 N·m ± 2, or 5 mm. 🔧\n");
        }
    }
    changed
}

/// Changes random files of a tree in random ways, and compares the findings after each change.
fn compare(mut texts: Texts, changes: usize, seed: u64) {
    let mut rng = Rng::with_seed(seed);
    let world = |texts: &Texts| Memory::new(texts.clone());
    let original = texts.clone();
    let mut sources = crate::read(&world(&texts));
    let mut recheck = Recheck::default();
    check(&mut recheck, &sources);
    let paths: Vec<String> = sources
        .tree
        .files
        .iter()
        .map(|file| file.path.clone())
        .collect();
    let mut read_whole = 0;
    for turn in 0..changes {
        let path = rng.choice(&paths).unwrap();
        let before = String::from_utf8(texts[path].clone()).unwrap();
        // Every third time, the file is repaired, so that there is not ever more nonsense.
        let text = if rng.usize(0..3) == 0 {
            String::from_utf8(original[path].clone()).unwrap()
        } else {
            changed(&before, &texts, &mut rng)
        };
        texts.insert(path.clone(), text.clone().into_bytes());
        let file = sources.tree.source(path).unwrap().id;
        if let Some(outdated) = replace_text(&mut sources, file, text) {
            recheck.drop_outdated(&outdated);
        } else {
            read_whole += 1;
            sources = crate::read(&world(&texts));
            recheck.drop_outdated(&Outdated::all());
        }
        // Some checks are given up for the next change.
        let limit = std::sync::atomic::AtomicUsize::new(if rng.bool() {
            usize::MAX
        } else {
            rng.usize(0..40)
        });
        let is_given_up = || {
            let is_over = |left: usize| left.checked_sub(1);
            let order = std::sync::atomic::Ordering::Relaxed;
            limit.fetch_update(order, order, is_over).is_err()
        };
        let Some(kept) = recheck.check(&sources, None, &is_given_up) else {
            continue;
        };
        let fresh = crate::read(&world(&texts));
        let from_nothing = check(&mut Recheck::default(), &fresh);
        assert_eq!(
            said(&kept),
            said(&from_nothing),
            "change {turn} of seed {seed}, in {path}"
        );
        // Trying out fixes takes most of the time.
        if turn % 32 == 31 {
            let checked = crate::check(&fresh).findings;
            assert_eq!(said(&with_edits(&sources, &kept)), said(&checked));
        }
    }
    assert!(
        read_whole * 4 < changes,
        "one file can be read again for most changes"
    );
}

/// The text of a procedure also depends on the machines of the procedures that it includes: what is measured in those puts
/// its meter on the kit list.
#[test]
fn meter_of_another_machine_changes_what_is_found_in_a_text() {
    let machine = |tool: &str| {
        format!(
            "name = \"Pump\"\n[reading.gap]\nname = \"gap\"\nlimits = \"1 mm to 2 mm\"\ntool = \"{tool}\"\n"
        )
    };
    let procedure = |machines: &str, front: &str, steps: &str| {
        format!(
            "+++\ntitle = \"{steps}\"\nmachines = [{machines}]\n{front}\n+++\nWhy.\n\n## Do\n\n1. {steps}\n"
        )
    };
    let tool =
        |id: &str| format!("[tool.{id}]\nname = \"{id} gauge\"\nrange = \"0.1 mm to 9 mm\"\n");
    let both = procedure("\"one\", \"other\"", "", "[](measure:gap) {if-fitted}");
    let own = procedure(
        "\"other\"",
        "begin = [\"both\"]",
        "Take the feeler gauge along.",
    );
    let world = |machine: String| {
        Memory::new([
            ("shop.toml", "name = \"Shop\"".to_owned()),
            ("tools.toml", tool("feeler") + &tool("plug")),
            ("machines/one.toml", machine),
            ("machines/other.toml", "name = \"Other\"".to_owned()),
            ("air/both.md", both.clone()),
            ("air/own.md", own.clone()),
        ])
    };
    let mut sources = crate::read(&world(machine("feeler")));
    let mut recheck = Recheck::default();
    let before = said(&check(&mut recheck, &sources));
    let file = sources.tree.source("machines/one.toml").unwrap().id;
    let outdated = replace_text(&mut sources, file, machine("plug")).unwrap();
    recheck.drop_outdated(&outdated);
    let kept = said(&check(&mut recheck, &sources));
    assert_ne!(kept, before);
    let fresh = crate::read(&world(machine("plug")));
    assert_eq!(kept, said(&check(&mut Recheck::default(), &fresh)));
}

#[test]
fn findings_after_random_changes_are_those_of_a_check_from_nothing() {
    let seed = std::env::var("BENCHLEAF_SEED")
        .ok()
        .and_then(|seed| seed.parse().ok());
    let changes = if seed.is_some() { 400 } else { 32 };
    let seed = seed.unwrap_or(1);
    compare(
        files(&root().join("procedures")).into_iter().collect(),
        changes,
        seed,
    );
    compare(
        files(&tree("hand-pump")).into_iter().collect(),
        changes,
        seed,
    );
    compare(with_variants(), changes, seed);
    compare(with_pairs(), changes, seed);
}

/// Removals with their installations, in a tree of few other names, so that a changed name often is that of another half.
fn with_pairs() -> Texts {
    let mut texts: Texts = files(&tree("hand-pump")).into_iter().collect();
    let mut add = |id: &str, machines: &str, front: &str, steps: &str| {
        let text = format!(
            "+++\ntitle = \"{id}\"\nmachines = [{machines}]\n{front}\n+++\nWhy.\n\n## Do\n\n{steps}"
        );
        texts.insert(format!("pairs/{id}.md"), text.into_bytes());
    };
    let both = "\"hand-pump\", \"foot-pump\"";
    add(
        "off",
        both,
        "",
        "1. [](remove:cover)\n2. [](remove:plate)\n",
    );
    add(
        "back",
        "\"hand-pump\"",
        "reverses = \"off\"",
        "1. [](clean:cover)\n\n## Back {.reverse}\n",
    );
    add(
        "foot-back",
        "\"foot-pump\"",
        "reverses = \"off\"",
        "1. [](fit:plate)\n2. [](fit:cover)\n",
    );
    add(
        "whole",
        both,
        "begin = [\"off\"]",
        "1. [](inspect:cover)\n2. [](do:back)\n",
    );
    for id in ["hand-pump", "foot-pump"] {
        let text = format!(
            "name = \"{id}\"\nbasis = \"invented\"\n[part.cover]\nname = \"cover\"\n[part.plate]\nname = \"plate\"\nbehind = [\"cover\"]\n"
        );
        texts.insert(format!("machines/{id}.toml"), text.into_bytes());
    }
    texts
}

/// The tree `hand-pump` with variants of its machine, and with its procedures for all of them.
fn with_variants() -> Texts {
    let mut texts: Texts = files(&tree("hand-pump")).into_iter().collect();
    for text in texts.values_mut() {
        let all = String::from_utf8_lossy(text).replace(
            "machines = [\"hand-pump\"]",
            "machines = [\"hand-pump\", \"long-pump\", \"wide-pump\"]",
        );
        *text = all.into_bytes();
    }
    for (id, like) in [("long-pump", "hand-pump"), ("wide-pump", "long-pump")] {
        let text = format!("name = \"{id}\"\nlike = \"{like}\"\n[part.cover]\nclean = true\n");
        texts.insert(format!("machines/{id}.toml"), text.into_bytes());
    }
    texts
}
