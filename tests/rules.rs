//! Every rule has a whole manual page, and the example on it trips the rule.
//!
//! An example gives the files that differ from the tree `hand-pump`, which is
//! clean: whole, or after `=== +` what is added to one; `=== bare` starts from
//! nothing. So each example is also a near miss:
//! the same tree without the fault gives no finding.

#![allow(clippy::unwrap_used, reason = "a test that can't set up has failed")]

mod support;

use benchleaf::finding::{Level, Rule};
use benchleaf::trade::Day;
use benchleaf::tree::Memory;
use std::collections::{BTreeMap, BTreeSet};
use support::{files, root, tree};

/// Rules that a tree of text can't show; `cli.rs` and `demo.rs` trip them.
const NOT_OF_A_TREE: [&str; 3] = ["no-typesetter", "typesetting-failed", "unreadable-file"];
struct Example {
    files: BTreeMap<String, Vec<u8>>,
    /// The day it is checked on.
    on: Option<Day>,
}

/// The example on a rule's page, laid over the clean tree.
fn example(rule: &Rule) -> Option<Example> {
    let (_, rest) = rule.page.split_once("```tree\n")?;
    let (text, _) = rest.split_once("```")?;
    let mut laid: BTreeMap<String, Vec<u8>> = files(&tree("hand-pump")).into_iter().collect();
    let mut path = None;
    let mut on = None;
    for line in text.lines() {
        let line = line.strip_prefix(' ').unwrap_or(line);
        match line.strip_prefix("=== ") {
            Some("bare") => laid.clear(),
            Some(day) if day.starts_with("on ") => on = Some(Day::parse(&day[3..]).unwrap()),
            Some(file) => {
                let added_to = file.strip_prefix("+ ");
                let file = added_to.unwrap_or(file);
                if added_to.is_none() {
                    laid.insert(file.to_owned(), Vec::new());
                }
                path = Some(file.to_owned());
            }
            None => {
                let path = path.as_ref().expect("a file is named first");
                let content = laid.get_mut(path).unwrap();
                content.extend(bytes(line));
                content.push(b'\n');
            }
        }
    }
    Some(Example { files: laid, on })
}

/// A line's bytes; `\xb1` in it is that byte.
fn bytes(line: &str) -> Vec<u8> {
    match line.split_once("\\x") {
        Some((before, after)) => {
            let mut bytes = before.as_bytes().to_vec();
            bytes.push(u8::from_str_radix(&after[..2], 16).unwrap());
            bytes.extend(&after.as_bytes()[2..]);
            bytes
        }
        None => line.as_bytes().to_vec(),
    }
}

fn found(files: BTreeMap<String, Vec<u8>>, on: Option<Day>) -> Vec<(&'static str, Level)> {
    let sources = benchleaf::read(&Memory::new(files));
    let checked = match on {
        Some(day) => benchleaf::check_on(&sources, day),
        None => benchleaf::check(&sources),
    };
    let all = checked.findings.iter();
    all.map(|one| (one.rule.name, one.level)).collect()
}

#[test]
fn the_tree_that_examples_start_from_is_clean() {
    let files = files(&tree("hand-pump")).into_iter().collect();
    assert_eq!(found(files, None), []);
}

#[test]
fn every_page_has_its_parts() {
    for rule in benchleaf::rules() {
        let page = rule.page;
        let first = page.trim_start().lines().next().unwrap_or_default();
        assert!(
            first.trim_end().ends_with('.'),
            "`{}`: a sentence comes first",
            rule.name
        );
        for part in Rule::PARTS {
            let has = page.lines().any(|line| line.trim() == part);
            assert!(has, "`{}` has no `{part}`", rule.name);
        }
    }
}

#[test]
fn every_rule_that_a_file_defines_is_known() {
    let known: BTreeSet<&str> = benchleaf::rules().iter().map(|rule| rule.name).collect();
    let mut defined = BTreeSet::new();
    for (path, bytes) in files(&root().join("src")) {
        let text = String::from_utf8(bytes).unwrap();
        for page in text.split("\nrule! {\n").skip(1) {
            let row = page
                .lines()
                .find(|line| line.starts_with("    \""))
                .unwrap();
            let name = row.split('"').nth(1).unwrap().to_owned();
            assert!(
                known.contains(name.as_str()),
                "src/{path} defines `{name}`, which no list has"
            );
            defined.insert(name);
        }
    }
    assert_eq!(defined.len(), known.len());
}

#[test]
fn every_name_is_one_of_its_own_in_small_letters() {
    let rules = benchleaf::rules();
    for pair in rules.windows(2) {
        assert_ne!(pair[0].name, pair[1].name);
    }
    for rule in rules {
        let name = rule.name;
        assert!(
            name.bytes()
                .all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-'),
            "{name}"
        );
    }
}

#[test]
fn every_example_trips_its_rule_and_no_other_of_its_level() {
    let mut untried = Vec::new();
    let mut wrong = Vec::new();
    for rule in benchleaf::rules() {
        let Some(example) = example(rule) else {
            untried.push(rule.name);
            continue;
        };
        let found = found(example.files, example.on);
        if !found.contains(&(rule.name, rule.level)) {
            wrong.push(format!("the example of `{}` gives {found:?}", rule.name));
        }
        let others: Vec<_> = found
            .iter()
            .filter(|(name, _)| *name != rule.name)
            .collect();
        if !others.is_empty() {
            // One fault gives one finding.
            wrong.push(format!(
                "the example of `{}` also gives {others:?}",
                rule.name
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert_eq!(untried, NOT_OF_A_TREE);
}
