//! The table in the reference of the format that says which rules a field enables.
//!
//! It is proved both ways: by removing each field of each rule's example and of the cases in `cases.txt`. A rule needs a
//! field if its finding is gone without the field; a field exempts from a rule if a finding appears without the field.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

#[path = "../support/example.rs"]
mod example;
#[path = "../support/mod.rs"]
mod support;

use benchleaf::finding::{Family, Rule};
use benchleaf::trade::Day;
use example::{Example, example, findings_of};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use support::{files, root, tree};

/// The tables of the format, in the order of its reference.
const TABLES: [&str; 16] = [
    "waste",
    "machine",
    "engine",
    "generator",
    "energy",
    "valve",
    "control",
    "fluid",
    "part",
    "dimension",
    "reading",
    "condition",
    "run",
    "tool",
    "supply",
    "caution",
];

/// A field of a TOML file.
struct Field {
    path: String,
    /// `part.behind`, `run.needs`, or `machine.engine` for a field above all tables.
    name: String,
    /// The index of its line.
    line: usize,
    /// What is left of the line without the field.
    rest: String,
}

/// What removing fields shows.
#[derive(Default)]
struct Proved {
    /// Fields, and rules that find nothing without them.
    needed: BTreeSet<(String, &'static str)>,
    /// Fields, and rules that would find what the fields allow.
    exempts: BTreeSet<(String, &'static str)>,
}

/// The fields of the TOML files of an example.
fn fields(example: &Example) -> Vec<Field> {
    let mut fields = Vec::new();
    for (path, bytes) in &example.files {
        let Some(stem) = path.strip_suffix(".toml") else {
            continue;
        };
        let (folder, file) = stem.split_once('/').unwrap_or(("", stem));
        let of_file = if folder == "machines" {
            "machine"
        } else {
            file
        };
        let mut table = of_file;
        let text = std::str::from_utf8(bytes).unwrap_or_default();
        for (line, content) in text.lines().enumerate() {
            if let Some(header) = content.strip_prefix('[') {
                // A dimension is in the table of its part: `[part.shaft.dimension.pin]`.
                let mut keys = header.split(['.', ']']).step_by(2);
                let outer = keys.next().unwrap();
                table = keys.next().filter(|key| !key.is_empty()).unwrap_or(outer);
                continue;
            }
            let Some((key, value)) = content.split_once(" = ") else {
                continue;
            };
            let mut add = |table: &str, key: &str, rest: String| {
                fields.push(Field {
                    path: path.clone(),
                    name: format!("{table}.{key}"),
                    line,
                    rest,
                });
            };
            // A required field with a value for none.
            let rest = if key == "lost-by" {
                "lost-by = \"nothing\""
            } else {
                ""
            };
            add(table, key, rest.to_owned());
            let inside = value
                .strip_prefix("{ ")
                .and_then(|value| value.strip_suffix(" }"));
            let inside: Vec<&str> = inside
                .map(|inside| inside.split(", ").collect())
                .unwrap_or_default();
            for (index, field) in inside.iter().enumerate() {
                let mut others = inside.clone();
                others.remove(index);
                let rest = format!("{key} = {{ {} }}", others.join(", "));
                add(key, field.split(" = ").next().unwrap(), rest);
            }
        }
    }
    fields
}

/// The rules with findings in an example, without one of its fields.
fn without(example: &Example, field: &Field) -> BTreeSet<&'static str> {
    let mut files = example.files.clone();
    let text = String::from_utf8(files[&field.path].clone()).unwrap();
    let lines = text.lines().enumerate();
    let kept: Vec<&str> = lines
        .map(|(line, content)| {
            if line == field.line {
                &field.rest
            } else {
                content
            }
        })
        .collect();
    files.insert(field.path.clone(), (kept.join("\n") + "\n").into_bytes());
    rules_of(files, example)
}

fn rules_of(files: BTreeMap<String, Vec<u8>>, example: &Example) -> BTreeSet<&'static str> {
    let findings = findings_of(files, example.on).into_iter();
    findings.map(|(rule, _)| rule).collect()
}

/// Whether a rule is about the work and the machine, and not about how the sources are written.
fn is_about_work(rule: &Rule) -> bool {
    matches!(rule.family, Family::Rehearsal | Family::Trade)
}

/// What removing each field of an example shows.
fn prove(example: &Example) -> Proved {
    let rules = benchleaf::rules();
    let about_work: BTreeSet<&str> = rules
        .iter()
        .filter(|rule| is_about_work(rule))
        .map(|rule| rule.name)
        .collect();
    let mut proved = Proved::default();
    let found = rules_of(example.files.clone(), example);
    let found: Vec<&'static str> = found.into_iter().collect();
    for field in fields(example) {
        let left: Vec<&'static str> = without(example, &field).into_iter().collect();
        // Without a required field, the file can't be read.
        let is_read = left.iter().all(|rule| about_work.contains(rule));
        match (found.as_slice(), left.as_slice()) {
            ([rule], left) if is_read && about_work.contains(rule) && !left.contains(rule) => {
                proved.needed.insert((field.name, rule));
            }
            ([], [rule]) if is_read => {
                proved.exempts.insert((field.name, rule));
            }
            _ => {}
        }
    }
    proved
}

/// The cases, each with the field and the rule that its title names.
fn cases() -> Vec<(String, Example)> {
    let text = include_str!("cases.txt");
    let cases = text.split("\n=== ").skip(1);
    cases
        .map(|case| {
            let (title, lines) = case.split_once('\n').unwrap();
            (title.to_owned(), of_case(lines))
        })
        .collect()
}

/// The files of a case: its tables of tools, its other tables as a machine, its steps as a procedure, and its day.
fn of_case(lines: &str) -> Example {
    let mut machine = "name = \"Tarn Case\"\nbasis = \"invented\"\n".to_owned();
    let (mut tools, mut steps) = (String::new(), String::new());
    let mut is_tool = false;
    let mut on = None;
    for line in lines.lines() {
        if let Some(day) = line.strip_prefix("on ") {
            on = Some(Day::parse(day).unwrap());
            continue;
        }
        if let Some(actions) = line.strip_prefix("- ") {
            let _ = writeln!(steps, "1. []({})", actions.replace(", ", ") []("));
            continue;
        }
        if line.starts_with('[') {
            is_tool = line.starts_with("[tool.");
        }
        let file = if is_tool { &mut tools } else { &mut machine };
        let _ = writeln!(file, "{line}");
    }
    let mut files: BTreeMap<String, Vec<u8>> = files(&tree("hand-pump")).into_iter().collect();
    files.insert("machines/case.toml".to_owned(), machine.into_bytes());
    files
        .entry("tools.toml".to_owned())
        .or_default()
        .extend(tools.into_bytes());
    if !steps.is_empty() {
        let text = format!(
            "+++\ntitle = \"Case\"\nmachines = [\"case\"]\n+++\nIt wears.\n\n## Do\n\n{steps}"
        );
        files.insert("air/case.md".to_owned(), text.into_bytes());
    }
    Example { files, on }
}

/// What all examples and cases show.
fn proved() -> Proved {
    let rules = benchleaf::rules();
    let of_rules = rules
        .iter()
        .filter(|rule| is_about_work(rule))
        .map(|rule| (rule.name.to_owned(), example(rule).unwrap()));
    let all: Vec<(String, Example)> = of_rules.chain(cases()).collect();
    let each: Vec<(String, Proved)> = all
        .into_par_iter()
        .map(|(title, example)| (title, prove(&example)))
        .collect();
    let mut proved = Proved::default();
    let mut wrong = Vec::new();
    for (title, shown) in each {
        if let Some((field, rule)) = title.split_once(", ") {
            let is_pair = |(of, name): &(String, &str)| of == field && *name == rule;
            if !shown.needed.iter().chain(&shown.exempts).any(is_pair) {
                wrong.push(format!(
                    "{title}: shows {:?} and {:?}",
                    shown.needed, shown.exempts
                ));
            }
        }
        proved.needed.extend(shown.needed);
        proved.exempts.extend(shown.exempts);
    }
    assert!(
        wrong.is_empty(),
        "cases that do not show what they say:\n{}",
        wrong.join("\n")
    );
    proved
}

/// The table of the reference.
fn table(proved: &Proved) -> String {
    let mut rows: BTreeMap<(usize, &str), [Vec<String>; 2]> = BTreeMap::new();
    for (column, pairs) in [&proved.needed, &proved.exempts].into_iter().enumerate() {
        for (field, rule) in pairs {
            let of_table = field.split('.').next().unwrap();
            let place = TABLES.iter().position(|table| *table == of_table);
            let place =
                place.unwrap_or_else(|| panic!("`{of_table}` is not in the list of tables"));
            let row = rows.entry((place, field)).or_default();
            row[column].push(format!("`{rule}`"));
        }
    }
    let mut table =
        "| field | rules that need it | rules that it exempts from |\n| --- | --- | --- |\n"
            .to_owned();
    for ((_, field), [needed, exempts]) in rows {
        let _ = writeln!(
            table,
            "| `{field}` | {} | {} |",
            needed.join(", "),
            exempts.join(", ")
        );
    }
    table
}

/// The paragraph of the reference about rules that need none of these fields.
fn other_rules(proved: &Proved) -> String {
    let needed: BTreeSet<&str> = proved.needed.iter().map(|(_, rule)| *rule).collect();
    let rules = benchleaf::rules().into_iter();
    let others = rules.filter(|rule| is_about_work(rule) && !needed.contains(rule.name));
    let others: Vec<String> = others.map(|rule| format!("`{}`", rule.name)).collect();
    let text = format!(
        "These rules need no field but the required ones: {}.",
        others.join(", ")
    );
    let mut lines = vec![String::new()];
    for word in text.split(' ') {
        let line = lines.last_mut().unwrap();
        if line.is_empty() {
            line.push_str(word);
        } else if line.len() + word.len() < WIDTH {
            let _ = write!(line, " {word}");
        } else {
            lines.push(word.to_owned());
        }
    }
    lines.join("\n") + "\n"
}

/// The width of the reference's lines.
const WIDTH: usize = 118;

/// `INSTA_UPDATE=always` writes the table into the reference, as it updates snapshots.
#[test]
fn the_reference_says_which_rules_a_field_enables() {
    let proved = proved();
    let wanted = format!("{}\n{}", table(&proved), other_rules(&proved));
    let path = root().join("procedures/README.md");
    let reference = std::fs::read_to_string(&path).unwrap();
    let start = reference
        .find("| field | rules")
        .expect("the reference has the table");
    let length = reference[start..]
        .find("\n## ")
        .expect("a heading follows the table");
    let shown = &reference[start..start + length];
    if shown != wanted && std::env::var("INSTA_UPDATE").is_ok_and(|update| update == "always") {
        std::fs::write(&path, reference.replace(shown, &wanted)).unwrap();
        return;
    }
    assert!(
        shown == wanted,
        "procedures/README.md should have:\n{wanted}"
    );
}
