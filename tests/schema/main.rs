//! The JSON Schemas, compared with the reader of the sources by means of a validator that is not ours: `jsonschema` for
//! Python, with Python's own parser of TOML. See `validate.py`.

#![allow(clippy::unwrap_used, reason = "a test that can't set up has failed")]

mod cases;
#[path = "../support/example.rs"]
mod example;
mod reference;
#[path = "../support/mod.rs"]
mod support;

use benchleaf::finding::Level;
use benchleaf::tree::{Memory, SourceKind};
use cases::{Case, Expected, cases};
use rayon::prelude::*;
use serde::Deserialize;
use serde_json::{Value as Json, json};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};
use support::{files, root};

const KINDS: [&str; 8] = [
    "shop",
    "tools",
    "supplies",
    "cautions",
    "glossary",
    "machine",
    "procedure",
    "fault",
];

/// The schemas of all kinds, as the command writes them into a folder.
fn schemas(folder: &Path) -> BTreeMap<&'static str, Json> {
    let mut command = Command::new(env!("CARGO_BIN_EXE_benchleaf"));
    let output = command.args(["schema", "--output"]).arg(folder).output();
    let output = output.unwrap();
    assert!(output.status.success(), "{output:?}");
    KINDS
        .map(|kind| {
            let path = folder.join(format!("{kind}.schema.json"));
            let text = std::fs::read_to_string(path).unwrap();
            (kind, alone(serde_json::from_str(&text).unwrap()))
        })
        .into()
}

/// The schema of a file that takes over nothing from another one: with what is then required of its tables.
fn alone(mut schema: Json) -> Json {
    let then = schema["then"].take();
    require(&mut schema, &then);
    schema
}

/// Adds what another schema requires of the tables of a schema.
fn require(schema: &mut Json, then: &Json) {
    if let Some(required) = then.get("required") {
        schema["required"] = required.clone();
    }
    for (key, then) in then["properties"].as_object().into_iter().flatten() {
        let field = &mut schema["properties"][key];
        match field["patternProperties"].as_object_mut() {
            Some(records) => records
                .values_mut()
                .for_each(|record| require(record, &then["additionalProperties"])),
            None => require(field, then),
        }
    }
}

/// What the validator says of a file.
#[derive(Debug, Deserialize)]
#[serde(rename_all = "lowercase")]
enum Validated {
    Rejected(Vec<Rejected>),
    /// It is no TOML, or it has no front matter.
    Broken(#[allow(dead_code, reason = "it is printed")] String),
}

#[derive(Debug, Deserialize)]
struct Rejected {
    sort: String,
    #[allow(dead_code, reason = "it is printed")]
    at: Vec<String>,
    keys: Vec<String>,
}

/// Validates files, each with its kind, in a single process.
fn validate(schemas: &Path, files: &[(&str, &str)]) -> Vec<Validated> {
    let python = root().join(".tools/python/bin/python");
    assert!(
        python.exists(),
        "{} is missing: `cargo xtask test` makes it, with the Python packages of the tests",
        python.display()
    );
    let mut process = Command::new(python)
        .arg(root().join("tests/schema/validate.py"))
        .arg(schemas)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut input = process.stdin.take().unwrap();
    let lines: String = files.iter().fold(String::new(), |mut lines, (kind, text)| {
        let _ = writeln!(lines, "{}", json!({ "kind": kind, "text": text }));
        lines
    });
    let writer = std::thread::spawn(move || input.write_all(lines.as_bytes()));
    let output = process.wait_with_output().unwrap();
    assert!(output.status.success(), "the validator failed");
    writer.join().unwrap().unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    let validated: Vec<Validated> = text
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    assert_eq!(validated.len(), files.len(), "one answer for each file");
    validated
}

/// What the reader says of a file: each rule with the text that it marks.
#[derive(Debug, Default)]
struct Read {
    text: String,
    findings: Vec<(&'static str, Level, String)>,
}

impl Read {
    fn has(&self, rule: &str) -> bool {
        self.findings.iter().any(|(name, _, _)| *name == rule)
    }

    /// The texts that findings of these rules mark, without quotes.
    fn marked(&self, rules: &[&str]) -> Vec<&str> {
        let findings = self.findings.iter();
        let of_rules = findings.filter(|(name, _, _)| rules.contains(name));
        let mut marked: Vec<&str> = of_rules
            .map(|(_, _, text)| text.trim_matches('"'))
            .collect();
        marked.sort_unstable();
        marked
    }
}

/// Reads a tree: for each of its sources, its path and kind and what the reader says.
fn read(files: BTreeMap<String, Vec<u8>>) -> Vec<(String, &'static str, Read)> {
    let sources = benchleaf::read(&Memory::new(files));
    let checked = benchleaf::check(&sources);
    let of_file = |file: &benchleaf::tree::Source| {
        let kind = match &file.kind {
            SourceKind::Shop => "shop",
            SourceKind::Tools => "tools",
            SourceKind::Supplies => "supplies",
            SourceKind::Cautions => "cautions",
            SourceKind::Glossary => "glossary",
            SourceKind::Log => "log",
            SourceKind::Machine { .. } => "machine",
            SourceKind::Figure { .. } => "figure",
            SourceKind::Procedure { .. } => "procedure",
            SourceKind::Fault { .. } => "fault",
        };
        let findings = checked.findings.iter().filter_map(|finding| {
            let span = finding.primary.as_ref()?.span;
            let marked = sources.tree.text(span).to_owned();
            (span.file == file.id).then_some((finding.rule.name, finding.level, marked))
        });
        let read = Read {
            text: file.text.clone(),
            findings: findings.collect(),
        };
        (file.path.clone(), kind, read)
    };
    sources.tree.files.iter().map(of_file).collect()
}

/// What reader and validator disagree about, if anything.
///
/// Unknown keys, ill-formed ids and values of wrong types are the same. What the validator rejects, the reader rejects.
/// The reader rejects more, because it knows the other files and what values mean.
fn disagreement(read: &Read, validated: &Validated) -> Option<String> {
    let Validated::Rejected(rejected) = validated else {
        let is_broken = read.has("broken-toml") || read.has("no-front-matter");
        return (!is_broken).then(|| "only the reader could read it".to_owned());
    };
    if read.has("broken-toml") || read.has("no-front-matter") {
        return Some("only the validator could read it".to_owned());
    }
    let keys = |sort: &str| {
        let of_sort = rejected.iter().filter(|error| error.sort == sort);
        let keys = of_sort.flat_map(|error| error.keys.iter().map(String::as_str));
        let mut keys: Vec<&str> = keys.collect();
        keys.sort_unstable();
        keys
    };
    let has = |sort: &str| rejected.iter().any(|error| error.sort == sort);
    // Keys that are kinds of quantity or rules are choices of their own.
    let mut unknown = read.marked(&["unknown-field", "unknown-rule"]);
    let choices = read.marked(&["unknown-choice"]);
    unknown.extend(choices.iter().filter(|key| keys("unknown").contains(key)));
    unknown.sort_unstable();
    if unknown != keys("unknown") {
        return Some("unknown keys differ".to_owned());
    }
    if read.marked(&["ill-formed-id"]) != keys("id") {
        return Some("ill-formed ids differ".to_owned());
    }
    if read.has("wrong-type") != has("type") {
        return Some("wrong types differ".to_owned());
    }
    let is_missing = read.has("missing-field") || read.has("end-not-named");
    if has("required") && !is_missing {
        return Some("a key is required only by the schema".to_owned());
    }
    let is_rejected = |level: &Level| *level == Level::Error;
    let by_reader = read.findings.iter().any(|(_, level, _)| is_rejected(level));
    if !rejected.is_empty() && !by_reader {
        return Some("only the schema rejects it".to_owned());
    }
    if rejected.is_empty() && read.has("missing-field") {
        return Some("something is missing only for the reader".to_owned());
    }
    None
}

/// Rules about how a file is written, and not about what the other files say.
const WRITING: [&str; 8] = [
    "broken-toml",
    "ill-formed-id",
    "ill-formed-value",
    "missing-field",
    "unknown-choice",
    "unknown-field",
    "unknown-rule",
    "wrong-type",
];

/// Why reader and validator do not say what is expected of a case.
fn fault(case: &Case, read: &Read, validated: &Validated) -> Option<String> {
    let Validated::Rejected(rejected) = validated else {
        return Some("it is no TOML".to_owned());
    };
    if case.expected == Expected::Different {
        return (!read.has("wrong-type")).then(|| "the reader accepts it".to_owned());
    }
    if let Some(disagreement) = disagreement(read, validated) {
        return Some(disagreement);
    }
    let has = |sort: &str| rejected.iter().any(|error| error.sort == sort);
    let is_met = match case.expected {
        Expected::Nothing => rejected.is_empty() && !WRITING.iter().any(|rule| read.has(rule)),
        Expected::Unknown => has("unknown"),
        Expected::Id => has("id"),
        Expected::Missing => has("required"),
        Expected::Word => !rejected.is_empty() && read.has("unknown-choice"),
        Expected::Action => read.has("impossible-action") != rejected.is_empty(),
        Expected::Same | Expected::Different => true,
    };
    (!is_met).then(|| format!("expected: {:?}", case.expected))
}

#[test]
fn reader_and_schema_reject_the_same_keys_types_and_words() {
    let folder = tempfile::tempdir().unwrap();
    let schemas = schemas(folder.path());
    let caution = &schemas["cautions"]["properties"]["caution"]["patternProperties"];
    let caution = caution.as_object().unwrap().values().next().unwrap();
    let verbs = caution["properties"]["at"]["anyOf"][0]["enum"].as_array();
    let verbs: Vec<&str> = verbs.unwrap().iter().filter_map(Json::as_str).collect();
    let cases: Vec<Case> = schemas
        .iter()
        .flat_map(|(kind, schema)| cases(kind, schema, &verbs))
        .collect();
    assert!(cases.len() > 3000, "{} cases", cases.len());
    let read: Vec<Read> = cases.par_iter().map(read_case).collect();
    let files: Vec<(&str, &str)> = cases
        .iter()
        .map(|case| (case.kind.as_str(), case.text.as_str()))
        .collect();
    let validated = validate(folder.path(), &files);
    let all = cases.iter().zip(&read).zip(&validated);
    let faults: Vec<String> = all
        .filter_map(|((case, read), validated)| {
            let fault = fault(case, read, validated)?;
            let found = &read.findings;
            Some(format!(
                "{}: {fault}\n  reader: {found:?}\n  schema: {validated:?}",
                case.about
            ))
        })
        .collect();
    assert!(
        faults.is_empty(),
        "{} of {} cases:\n{}",
        faults.len(),
        cases.len(),
        faults
            .iter()
            .take(40)
            .cloned()
            .collect::<Vec<_>>()
            .join("\n")
    );
}

/// Reads the file of a case, in a shop that has nothing else.
fn read_case(case: &Case) -> Read {
    let path = match case.kind.as_str() {
        "machine" => "machines/a-machine.toml".to_owned(),
        "procedure" => "air/a-procedure.md".to_owned(),
        "fault" => "faults/a-fault.md".to_owned(),
        kind => format!("{kind}.toml"),
    };
    let mut files = BTreeMap::from([("shop.toml".to_owned(), b"name = \"Shop\"".to_vec())]);
    files.insert(path.clone(), case.text.as_bytes().to_vec());
    if let Some(base) = &case.base {
        files.insert("machines/a-base.toml".to_owned(), base.as_bytes().to_vec());
    }
    let read = read(files).into_iter();
    let mut of_path = read.filter(|(read_path, _, _)| *read_path == path);
    of_path.next().unwrap().2
}

#[test]
fn every_tree_is_valid_and_examples_of_rules_are_rejected_by_both() {
    let folder = tempfile::tempdir().unwrap();
    schemas(folder.path());
    let mut read_files: Vec<(String, &str, Read)> = Vec::new();
    let mut folders = vec![root().join("procedures")];
    for parent in ["tests/trees", "tests/correct"] {
        let entries = std::fs::read_dir(root().join(parent)).unwrap();
        folders.extend(entries.map(|entry| entry.unwrap().path()));
    }
    for folder in &folders {
        read_files.extend(read(files(folder).into_iter().collect()));
    }
    let of_trees = read_files.len();
    assert!(of_trees > 80, "{of_trees} files");
    let rules = benchleaf::rules();
    let examples = rules.par_iter().filter_map(|rule| {
        let files = read(example::example(rule)?.files);
        let named = |(path, kind, read)| (format!("{}: {path}", rule.name), kind, read);
        Some(files.into_iter().map(named).collect::<Vec<_>>())
    });
    let examples: Vec<_> = examples.flatten_iter().collect();
    assert!(examples.len() > 800, "{} files of examples", examples.len());
    read_files.extend(examples);
    let pairs: Vec<(&str, &str)> = read_files
        .iter()
        .map(|(_, kind, read)| (*kind, read.text.as_str()))
        .collect();
    let validated = validate(folder.path(), &pairs);
    for (index, ((name, _, read), validated)) in read_files.iter().zip(&validated).enumerate() {
        let is_valid = matches!(validated, Validated::Rejected(errors) if errors.is_empty());
        assert!(index >= of_trees || is_valid, "{name}: {validated:?}");
        let disagreement = disagreement(read, validated);
        assert_eq!(
            disagreement, None,
            "{name}: {:?} {validated:?}",
            read.findings
        );
    }
    // The comparison saw faults of every sort.
    let sorts = validated.iter().flat_map(|validated| match validated {
        Validated::Rejected(errors) => errors.iter().map(|error| error.sort.as_str()).collect(),
        Validated::Broken(_) => vec!["broken"],
    });
    let sorts: BTreeSet<&str> = sorts.collect();
    for sort in ["unknown", "id", "type", "required", "broken"] {
        assert!(sorts.contains(sort), "{sort} is not in {sorts:?}");
    }
}
