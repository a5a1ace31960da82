//! Reports of findings are what the published schemas of their formats ask for, and say the same in each of them.
//!
//! `tests/report/validate.py` has the checks, which other people's validators do: it gets the reports of the example of every
//! rule, of awkward names and texts, and of a tree with more findings than a service shows.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

#[path = "support/example.rs"]
mod example;
#[path = "support/program.rs"]
mod program;
mod support;

use example::example;
use program::benchleaf;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Command;
use std::sync::atomic::{AtomicUsize, Ordering};
use support::{files, output_text, python, root, tree, write};

/// The reports of a check, by their formats.
const REPORTS: [&str; 5] = [
    "sarif=findings.sarif",
    "junit=findings.xml",
    "json=findings.jsonl",
    "github=findings.github",
    "markdown=findings.md",
];

/// Checks the sources in `procedures`, and writes every report beside them.
fn report(folder: &Path, options: &[&str]) {
    let reports = REPORTS.iter().flat_map(|report| ["--report", report]);
    let output = benchleaf(folder)
        .args(["check", "--format", "json"])
        .args(reports)
        .args(options)
        .output()
        .unwrap();
    let (stdout, stderr, status) = output_text(&output);
    assert!(status < 2, "{}: {stderr}", folder.display());
    // What is shown is what is written.
    let written = fs::read_to_string(folder.join("findings.jsonl")).unwrap();
    assert_eq!(stdout, written);
}

/// The findings in `findings.jsonl`, as rule and message, and whether each has edits.
fn findings(text: &str) -> Vec<(String, bool)> {
    let lines = text.lines().map(|line| {
        let finding: serde_json::Value = serde_json::from_str(line).unwrap();
        let has_edits = finding["edits"]
            .as_array()
            .is_some_and(|edits| !edits.is_empty());
        (
            format!("{} {}", finding["rule"], finding["message"]),
            has_edits,
        )
    });
    lines.collect()
}

/// Corrects a copy of the sources of a report, if that is possible, and returns how many were: what had edits is gone,
/// nothing new is found, and there is nothing left to correct.
fn correct(folder: &Path, options: &[&str]) -> usize {
    let before = findings(&fs::read_to_string(folder.join("findings.jsonl")).unwrap());
    if before.iter().all(|(_, has_edits)| !has_edits) {
        return 0;
    }
    let copy = tempfile::tempdir().unwrap();
    support::copy(&folder.join("procedures"), &copy.path().join("procedures"));
    let run = |arguments: &[&str]| {
        let arguments = ["check"].iter().chain(arguments).chain(options);
        output_text(&benchleaf(copy.path()).args(arguments).output().unwrap())
    };
    let name = folder.display();
    let (diff, stderr, _) = run(&["--fix", "--write", "--allow-uncommitted"]);
    assert!(!diff.is_empty(), "{name}: {stderr}");
    assert!(!stderr.contains("not corrected"), "{name}: {stderr}");
    let (after, _, _) = run(&["--format", "json"]);
    let after = findings(&after);
    for (finding, has_edits) in &after {
        assert!(!has_edits, "{name}: {finding} is left");
        let was_there = before
            .iter()
            .any(|(other, has_edits)| other == finding && !has_edits);
        assert!(was_there, "{name}: {finding} is new");
    }
    let (again, stderr, _) = run(&["--fix"]);
    assert_eq!(again, "", "{name}: {stderr}");
    1
}

fn write_tree(folder: &Path, files: &BTreeMap<String, Vec<u8>>) {
    for (path, content) in files {
        write(&folder.join("procedures").join(path), content);
    }
}

/// Texts that mean something in one of the formats.
const AWKWARD: [&str; 8] = [
    "`|` <b>&amp;</b> \\[x](y)",
    "{0} {{1}} %0A%25 ::error::",
    "a,b:c=d 100% @all",
    "⅜ in, 9 N·m ± 1 N·m, 😀 é",
    "]]> <!-- -->",
    "x\ty",
    "\u{1b}[31mred",
    "a\r\nb",
];

#[test]
fn reports_are_valid_and_say_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let mut checks = Vec::new();
    for rule in benchleaf::rules() {
        let Some(example) = example(rule) else {
            continue;
        };
        let on = example.on.map(|day| day.to_string());
        checks.push((rule.name.to_owned(), example.files, on));
    }
    // Each awkward text as a key, as a value and in a procedure's text.
    for (index, text) in AWKWARD.iter().enumerate() {
        let mut awkward: BTreeMap<String, Vec<u8>> =
            files(&tree("hand-pump")).into_iter().collect();
        let quoted = serde_json::to_string(text)
            .unwrap()
            .replace("\\u001b", "\\u001B");
        let shop = awkward.get_mut("shop.toml").unwrap();
        shop.extend(format!("{quoted} = 3\npaper = {quoted}\n").bytes());
        let cover = awkward.get_mut("air/cover.md").unwrap();
        cover.extend(format!("\n## {text}\n\n1. 😀 [{text}](remove:{index}) {{#é}}\n").bytes());
        let cover = awkward["air/cover.md"].clone();
        awkward.insert("air/space, % and ü.md".to_owned(), cover);
        checks.push((format!("awkward-{index}"), awkward, None));
    }
    // More errors, warnings and advice than are displayed.
    let mut many: BTreeMap<String, Vec<u8>> = files(&tree("hand-pump")).into_iter().collect();
    let tools = many.get_mut("tools.toml").unwrap();
    for index in 0..30 {
        let tool = format!("\n[tool.gauge-{index}]\nname = \"gauge {index}\"\nlenght = \"1 m\"\n");
        tools.extend(tool.bytes());
    }
    checks.push(("many".to_owned(), many, None));
    let corrected = AtomicUsize::new(0);
    let corrected = &corrected;
    let (first, second) = checks.split_at(checks.len() / 2);
    std::thread::scope(|scope| {
        for part in [first, second] {
            let folder = folder.path();
            scope.spawn(move || {
                for (name, files, on) in part {
                    let folder = folder.join(name);
                    write_tree(&folder, files);
                    let on = on.iter().flat_map(|day| ["--on", day.as_str()]);
                    let on: Vec<&str> = on.collect();
                    report(&folder, &on);
                    corrected.fetch_add(correct(&folder, &on), Ordering::Relaxed);
                }
            });
        }
    });
    let corrected = corrected.load(Ordering::Relaxed);
    assert!(corrected > 40, "{corrected} trees were corrected");
    let output = Command::new(python())
        .arg(root().join("tests/report/validate.py"))
        .arg(folder.path())
        .arg(root())
        .output()
        .unwrap();
    let (stdout, stderr, status) = output_text(&output);
    assert_eq!(status, 0, "{stderr}");
    assert!(
        stdout.starts_with(&format!("{} checks, ", checks.len())),
        "{stdout}"
    );
    // A second opinion on SARIF, of some: it takes a while for each.
    let some = checks.iter().enumerate();
    let some = some.filter(|(index, (name, ..))| index % 8 == 0 || name.starts_with("awkward"));
    let logs = some
        .map(|(_, check)| check)
        .map(|(name, ..)| folder.path().join(name).join("findings.sarif"));
    sarif_validator(logs);
}

/// Validates logs with the tool of SARIF's own maintainers, which also knows what the schema can't say.
fn sarif_validator(logs: impl Iterator<Item = std::path::PathBuf>) {
    let tool = root().join("tests/report/node_modules/.bin/sarif-multitool");
    assert!(
        tool.exists(),
        "there is no {}: `cargo xtask test` installs it",
        tool.display()
    );
    let output = Command::new(tool)
        .arg("validate")
        .args(logs)
        // Otherwise it needs a library for the world's languages.
        .env("DOTNET_SYSTEM_GLOBALIZATION_INVARIANT", "1")
        .output()
        .unwrap();
    let (stdout, stderr, status) = output_text(&output);
    assert_eq!(status, 0, "{stdout}{stderr}");
    assert!(!stdout.contains(": error "), "{stdout}");
    let warnings = stdout.lines().filter(|line| line.contains(": warning "));
    // The project has no web page yet that the log could name.
    let mut warnings = warnings.filter(|line| !line.contains("SARIF2005"));
    assert_eq!(warnings.next(), None);
}

#[test]
fn paths_are_relative_to_the_root_of_the_repository() {
    let folder = tempfile::tempdir().unwrap();
    let shop = folder.path().join("shops/elmbrook");
    fs::create_dir_all(folder.path().join(".git")).unwrap();
    let mut sources: BTreeMap<String, Vec<u8>> = files(&tree("hand-pump")).into_iter().collect();
    sources.get_mut("shop.toml").unwrap().extend(b"nmae = 1\n");
    write_tree(&shop, &sources);
    report(&shop, &[]);
    let text = fs::read_to_string(shop.join("findings.jsonl")).unwrap();
    assert!(
        text.contains("\"shops/elmbrook/procedures/shop.toml\""),
        "{text}"
    );
    let text = fs::read_to_string(shop.join("findings.github")).unwrap();
    assert!(
        text.contains("file=shops/elmbrook/procedures/shop.toml,"),
        "{text}"
    );
    // Also if the folder is named in another way.
    let output = benchleaf(&shop.join("procedures"))
        .args(["check", ".", "--format", "json"])
        .output()
        .unwrap();
    let (stdout, _, _) = output_text(&output);
    assert!(
        stdout.contains("\"shops/elmbrook/procedures/shop.toml\""),
        "{stdout}"
    );
}

#[test]
fn report_that_cannot_be_written_or_is_misspelt_is_an_error() {
    let folder = tempfile::tempdir().unwrap();
    write_tree(
        folder.path(),
        &files(&tree("hand-pump")).into_iter().collect(),
    );
    let run = |report: &str| {
        let output = benchleaf(folder.path())
            .args(["check", "--report", report])
            .output()
            .unwrap();
        let (_, stderr, status) = output_text(&output);
        assert_eq!(status, 2, "{report}: {stderr}");
        stderr
    };
    assert!(run("sarif=missing/findings.sarif").contains("missing/findings.sarif"));
    assert!(run("sarif=procedures").contains("procedures"));
    assert!(run("serif=findings.sarif").contains("no format `serif`"));
    assert!(run("sarif").contains("FORMAT=FILE"));
    assert!(run("sarif=").contains("FORMAT=FILE"));
}

#[test]
fn hook_and_workflows_of_the_guide_run() {
    let folder = tempfile::tempdir().unwrap();
    let program = Path::new(env!("CARGO_BIN_EXE_benchleaf"));
    let output = Command::new(python())
        .arg(root().join("tests/report/workflows.py"))
        .arg(root())
        .arg(program.parent().unwrap())
        .arg(folder.path())
        .output()
        .unwrap();
    let (stdout, stderr, status) = output_text(&output);
    assert_eq!((stdout.as_str(), status), ("4 set-ups\n", 0), "{stderr}");
}

#[test]
fn addresses_of_rules_lead_to_pages_of_the_published_site() {
    let folder = tempfile::tempdir().unwrap();
    let mut sources: BTreeMap<String, Vec<u8>> = files(&tree("hand-pump")).into_iter().collect();
    write_tree(folder.path(), &sources);
    let site = benchleaf(folder.path())
        .args(["publish", "--html-only"])
        .output()
        .unwrap();
    assert!(site.status.success());
    let shop = String::from_utf8(sources["shop.toml"].clone()).unwrap();
    let shop = format!("address = \"https://sheets.example/shop/\"\nnmae = 1\n{shop}");
    sources.insert("shop.toml".to_owned(), shop.into_bytes());
    write_tree(folder.path(), &sources);
    report(folder.path(), &[]);
    let read = |path: &str| fs::read_to_string(folder.path().join(path)).unwrap();
    let finding: serde_json::Value = serde_json::from_str(read("findings.jsonl").trim()).unwrap();
    let address = finding["rule_address"].as_str().unwrap();
    let page = address
        .strip_prefix("https://sheets.example/shop/")
        .unwrap();
    let (path, anchor) = page.split_once('#').unwrap();
    assert_eq!(anchor, "unknown-field");
    let html = read(&format!("output/{path}"));
    assert!(html.contains("id=\"unknown-field\""));
    let log: serde_json::Value = serde_json::from_str(&read("findings.sarif")).unwrap();
    assert_eq!(
        log["runs"][0]["tool"]["driver"]["rules"][0]["helpUri"],
        address
    );
    assert!(read("findings.md").contains(&format!("[`unknown-field`]({address})")));
    assert!(read("findings.github").contains("%0Ahttps://sheets.example/shop/rules/"));
}
