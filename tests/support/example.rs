//! The examples of rules. An example lists the files that differ from the tree `hand-pump`: `=== path` starts the content
//! of a file, `=== + path` text to append to one. `=== bare` removes all files, `=== on` gives the day of the check.

#![allow(dead_code, reason = "each test crate uses some of these functions")]

use crate::support::{files, tree};
use benchleaf::finding::{Level, Rule};
use benchleaf::trade::Day;
use benchleaf::tree::Memory;
use benchleaf::{Checked, Sources};
use std::collections::BTreeMap;

/// The files of an example, with the tree it is based on.
pub(crate) struct Example {
    pub(crate) files: BTreeMap<String, Vec<u8>>,
    /// The day of the check.
    pub(crate) on: Option<Day>,
}

/// The example on a rule's page, applied to the tree `hand-pump`.
pub(crate) fn example(rule: &Rule) -> Option<Example> {
    let (_, rest) = rule.page.split_once("```tree\n")?;
    let (text, _) = rest.split_once("```")?;
    let mut tree_files: BTreeMap<String, Vec<u8>> = files(&tree("hand-pump")).into_iter().collect();
    let mut path = None;
    let mut on = None;
    for line in text.lines() {
        let line = line.strip_prefix(' ').unwrap_or(line);
        match line.strip_prefix("=== ") {
            Some("bare") => tree_files.clear(),
            Some(day) if day.starts_with("on ") => on = Some(Day::parse(&day[3..]).unwrap()),
            Some(file) => {
                let added_to = file.strip_prefix("+ ");
                let file = added_to.unwrap_or(file);
                if added_to.is_none() {
                    tree_files.insert(file.to_owned(), Vec::new());
                }
                path = Some(file.to_owned());
            }
            None => {
                let path = path
                    .as_ref()
                    .expect("the content follows the path of its file");
                let content = tree_files.get_mut(path).unwrap();
                content.extend(bytes(line));
                content.push(b'\n');
            }
        }
    }
    Some(Example {
        files: tree_files,
        on,
    })
}

/// The bytes of a line. `\xb1` in it stands for that byte.
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

pub(crate) fn check(sources: &Sources, on: Option<Day>) -> Checked {
    match on {
        Some(day) => benchleaf::check_on(sources, day),
        None => benchleaf::check(sources),
    }
}

/// The findings on some files: rule and level.
pub(crate) fn findings_of(
    files: BTreeMap<String, Vec<u8>>,
    on: Option<Day>,
) -> Vec<(&'static str, Level)> {
    let sources = benchleaf::read(&Memory::new(files));
    let checked = check(&sources, on);
    let findings = checked.findings.iter();
    findings
        .map(|finding| (finding.rule.name, finding.level))
        .collect()
}
