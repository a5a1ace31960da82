//! The guide by task: every example in it checks as the guide says.
//!
//! A line with a path and a colon, and the block below it, are a file. A block of `diff` is a mistake in the file before it.
//! A sentence says what the check then reports, or that it is clean. Each part begins with the files of the part "The
//! folder".

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

mod support;

use benchleaf::tree::Memory;
use std::collections::{BTreeMap, BTreeSet};
use support::root;

type Files = BTreeMap<String, String>;

/// What a part of the guide says, in order.
enum Said {
    File { path: String, text: String },
    Mistake(String),
    Clean,
    Reports(String),
}

/// The parts of the guide, each with its title.
fn parts(guide: &str) -> Vec<(String, Vec<Said>)> {
    let mut parts: Vec<(String, Vec<Said>)> = Vec::new();
    let mut lines = guide.lines();
    let mut path = None;
    let mut paragraph = String::new();
    while let Some(line) = lines.next() {
        let mut said = |said: Option<Said>| {
            if let Some((_, all)) = parts.last_mut() {
                all.extend(said);
            }
        };
        if let Some(language) = line.strip_prefix("```") {
            let block: Vec<&str> = lines.by_ref().take_while(|line| *line != "```").collect();
            let text = block.join("\n") + "\n";
            said(Some(match (language, path.take()) {
                ("diff", None) => Said::Mistake(text),
                (_, Some(path)) => Said::File { path, text },
                _ => panic!("a block of {language} without a path:\n{text}"),
            }));
        } else if let Some(title) = line.strip_prefix("## ") {
            parts.push((title.to_owned(), Vec::new()));
        } else if let Some(named) = line
            .strip_prefix('`')
            .and_then(|line| line.strip_suffix("`:"))
        {
            path = Some(named.to_owned());
        } else if line.is_empty() {
            said(result(&std::mem::take(&mut paragraph)));
        } else {
            paragraph.push_str(line);
            paragraph.push(' ');
        }
    }
    if let Some((_, all)) = parts.last_mut() {
        all.extend(result(&paragraph));
    }
    parts
}

/// What a paragraph says of the check.
fn result(paragraph: &str) -> Option<Said> {
    if paragraph.contains("`check` is clean") {
        return Some(Said::Clean);
    }
    let (_, rest) = paragraph.split_once("`check` reports `")?;
    let (rule, _) = rest.split_once('`').unwrap();
    Some(Said::Reports(rule.to_owned()))
}

/// Makes a change that is given as a `diff`, whose lines are consecutive.
fn changed(text: &str, change: &str) -> String {
    let lines = |sign: char| -> String {
        let lines = change.lines().filter_map(|line| line.strip_prefix(sign));
        lines.fold(String::new(), |text, line| text + line + "\n")
    };
    let (before, after) = (lines('-'), lines('+'));
    assert!(text.contains(&before), "the file does not have:\n{before}");
    text.replacen(&before, &after, 1)
}

/// The rules that report something, of any level.
fn found(files: &Files) -> BTreeSet<&'static str> {
    let files = files.iter();
    let bytes = files.map(|(path, text)| (path.clone(), text.clone().into_bytes()));
    let sources = benchleaf::read(&Memory::new(bytes.collect::<BTreeMap<String, Vec<u8>>>()));
    let checked = benchleaf::check(&sources);
    let findings = checked.findings.iter();
    findings.map(|finding| finding.rule.name).collect()
}

#[test]
fn every_example_of_the_guide_checks_as_it_says() {
    let guide = std::fs::read_to_string(root().join("docs/guide.md")).unwrap();
    let mut base = Files::new();
    let (mut clean, mut reported) = (0, 0);
    let mut wrong = Vec::new();
    for (title, said) in parts(&guide) {
        let mut files = base.clone();
        let mut last = String::new();
        let mut mistaken: Option<Files> = None;
        for said in said {
            match said {
                Said::File { path, text } => {
                    last.clone_from(&path);
                    files.insert(path, text);
                }
                Said::Mistake(change) => {
                    let mut with_mistake = files.clone();
                    let text = with_mistake.get_mut(&last).unwrap();
                    *text = changed(text, &change);
                    mistaken = Some(with_mistake);
                }
                Said::Clean => {
                    clean += 1;
                    let found = found(&files);
                    if !found.is_empty() {
                        wrong.push(format!("{title}: not clean, but {found:?}"));
                    }
                }
                Said::Reports(rule) => {
                    reported += 1;
                    let found = found(mistaken.as_ref().unwrap_or(&files));
                    mistaken = None;
                    if found != BTreeSet::from([rule.as_str()]) {
                        wrong.push(format!("{title}: not {rule}, but {found:?}"));
                    }
                }
            }
        }
        if title == "The folder" {
            base = files;
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(
        clean >= 9 && reported >= 8,
        "{clean} clean, {reported} reported"
    );
}
