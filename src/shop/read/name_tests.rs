//! Every field that names something resolves names that exist, and reports others.

use crate::finding::{Findings, FindingsByFile};
use crate::record::{Described, Form, Table, Value};
use crate::shop::fields::Waste;
use crate::shop::{
    Caution, Energy, EngineRun, Fluid, Generator, Part, Reading, RepairKit, RunCondition, Supply,
    System, Valve, rules,
};
use crate::tree::{self, Memory};
use std::fmt::Write as _;

/// A table of each kind with its required fields.
const RECORDS: [(&str, &str); 13] = [
    (
        "caution",
        "signal-word = \"danger\"\nhazard = \"a\"\nconsequence = \"b\"\navoid = \"c\"",
    ),
    (
        "energy",
        "kind = \"ignition\"\nisolate = \"a\"\nprove = \"b\"\nrestore = \"c\"",
    ),
    ("valve", "name = \"tap\""),
    ("fluid", ""),
    ("part", "name = \"cover\""),
    ("reading", "name = \"speed\"\nlimits = \"1 to 2 rpm\""),
    ("condition", "name = \"warm\""),
    ("kit", "name = \"set\""),
    ("generator", "poles = 2\nfrequency = \"50 Hz\""),
    ("run", ""),
    ("supply", "name = \"petrol\""),
    ("system", "title = \"Fuel\""),
    ("waste", ""),
];

/// Reads a shop that has one record of each kind, and adds `field` to the record of `table`.
fn findings_with(table: &str, field: &str) -> Findings {
    let mut machine = "name = \"Hand pump\"\nengine = { kind = \"4-stroke\" }\n".to_owned();
    let (mut supplies, mut cautions) = (String::new(), String::new());
    let mut shop = "name = \"Shop\"\n[role.the-role]\nname = \"Smith\"\n".to_owned();
    for (kind, required) in RECORDS {
        let file = match kind {
            "supply" => &mut supplies,
            "caution" => &mut cautions,
            "system" | "waste" => &mut shop,
            _ => &mut machine,
        };
        let header = if matches!(kind, "generator" | "run" | "waste") {
            kind.to_owned()
        } else {
            format!("{kind}.the-{kind}")
        };
        let added = if kind == table { field } else { "" };
        let also_required = match kind {
            "fluid" if !added.starts_with("supply =") => "supply = \"the-supply\"",
            "condition" if !added.starts_with("lost-by =") => "lost-by = \"nothing\"",
            "kit" if !added.starts_with("holds =") => "holds = \"the-part\"",
            _ => "",
        };
        let _ = writeln!(file, "[{header}]\n{required}\n{also_required}\n{added}");
    }
    let tree = tree::read(&Memory::new([
        ("shop.toml", shop),
        ("the-system/the-procedure.md", String::new()),
        (
            "tools.toml",
            "[tool.the-tool]\nname = \"can\"\ncontainer = true".to_owned(),
        ),
        ("supplies.toml", supplies),
        ("cautions.toml", cautions),
        ("machines/hand-pump.toml", machine),
    ]));
    let mut by_file = FindingsByFile::default();
    crate::shop::read(&tree, &mut by_file);
    let mut findings = Findings::new();
    by_file.add_to(&mut findings);
    findings
}

/// The tables that have fields with names.
const TABLES: [&Table; 13] = [
    Caution::TABLE,
    Energy::TABLE,
    EngineRun::TABLE,
    Fluid::TABLE,
    Generator::TABLE,
    Part::TABLE,
    Reading::TABLE,
    RepairKit::TABLE,
    RunCondition::TABLE,
    Supply::TABLE,
    System::TABLE,
    Valve::TABLE,
    Waste::TABLE,
];

/// A name that a field knows, and one that it does not know.
fn names(kinds: &[&str], key: &str) -> (&'static str, &'static str) {
    match kinds {
        // The only part is the record itself, and a part can't be behind itself.
        ["part"]
            if matches!(
                key,
                "behind" | "held-by" | "stack" | "off-first" | "seals" | "laid-open-by"
            ) =>
        {
            ("", "the-valve")
        }
        ["part"] => ("the-part", "the-valve"),
        ["energy"] => ("the-energy", "the-part"),
        ["condition"] => ("the-condition", "the-part"),
        ["caution"] => ("the-caution", "the-part"),
        ["fluid"] => ("the-fluid", "the-part"),
        ["procedure"] => ("the-procedure", "the-part"),
        ["reading"] => ("the-reading", "the-part"),
        ["role"] => ("the-role", "the-part"),
        ["supply"] => ("the-supply", "the-part"),
        ["tool"] => ("the-tool", "the-part"),
        // Several kinds: what an energy endangers, and what a run can do without.
        [_, _, ..] => ("the-part", "the-condition"),
        unexpected => panic!("no test names for {unexpected:?}"),
    }
}

#[test]
fn every_name_field_resolves_known_names_and_reports_unknown_ones() {
    let mut tried = 0;
    for table in TABLES {
        for field in table.fields {
            let key = field.key;
            let (Value::Text(form) | Value::Texts { form, .. }) = field.value else {
                continue;
            };
            let (known, unknown) = match form {
                Form::Id(kinds) => names(&kinds(), key),
                Form::Action(_) => ("remove:the-part", "remove:the-valve"),
                _ => continue,
            };
            tried += 1;
            let findings_for = |name: &str| {
                let findings = findings_with(table.name, &format!("{key} = \"{name}\""));
                let findings = findings
                    .iter()
                    .map(|finding| (finding.rule.name, finding.message.clone()));
                findings.collect::<Vec<_>>()
            };
            if !known.is_empty() {
                let findings = findings_for(known);
                assert_eq!(
                    findings,
                    [],
                    "`{key}` of `{}` rejects a known name",
                    table.name
                );
            }
            let findings = findings_for(unknown);
            assert_eq!(
                findings.len(),
                1,
                "`{key}` of `{}` should report one unknown name: {findings:?}",
                table.name
            );
            assert_eq!(findings[0].0, rules::UNKNOWN_NAME.name, "{findings:?}");
        }
    }
    assert!(tried > 40, "{tried} fields");
}

#[test]
fn lost_by_and_after_name_actions_that_a_step_can_perform() {
    let known = [
        "remove:the-part",
        "renew:the-part",
        "open:the-valve",
        "drain:the-fluid",
        "isolate:the-energy",
        "measure:the-reading",
        "run:engine",
        "hold:the-role",
        "use:the-tool",
        "apply:the-supply",
    ];
    let wrong = [
        ("caution:the-caution", &rules::IMPOSSIBLE_ACTION),
        ("see:step/run/engine", &rules::IMPOSSIBLE_ACTION),
        ("do:the-procedure", &rules::IMPOSSIBLE_ACTION),
        ("confirm:the-condition", &rules::IMPOSSIBLE_ACTION),
        ("run:engin", &rules::UNKNOWN_NAME),
        ("use:the-tol", &rules::UNKNOWN_NAME),
        ("apply:the-tool", &rules::UNKNOWN_NAME),
        ("fit:the-part/upper-hole", &rules::UNKNOWN_NAME),
        ("open:the-fluid", &rules::UNKNOWN_NAME),
        ("wrok", &rules::UNKNOWN_CHOICE),
        ("shut:the-valve", &rules::UNKNOWN_CHOICE),
    ];
    let rules_of = |key: &str, action: &str| -> Vec<&'static str> {
        let findings = findings_with("condition", &format!("{key} = [\"{action}\"]"));
        findings.iter().map(|finding| finding.rule.name).collect()
    };
    for key in ["lost-by", "after"] {
        for action in known {
            assert!(rules_of(key, action).is_empty(), "{key} = {action}");
        }
        for (action, rule) in wrong {
            assert_eq!(rules_of(key, action), [rule.name], "{key} = {action}");
        }
    }
    assert!(rules_of("lost-by", "work").is_empty());
    assert!(rules_of("lost-by", "nothing").is_empty());
    assert_eq!(rules_of("after", "work"), [rules::UNKNOWN_CHOICE.name]);
    assert_eq!(rules_of("after", "nothing"), [rules::UNKNOWN_CHOICE.name]);
    // Either nothing ends it, or something does.
    let both = findings_with("condition", "lost-by = [\"nothing\", \"run:engine\"]");
    assert_eq!(both.iter().count(), 1);
    let neither = findings_with("condition", "lost-by = []");
    let found: Vec<&str> = neither.iter().map(|finding| finding.rule.name).collect();
    assert_eq!(found, [rules::END_NOT_NAMED.name]);
    let blank = findings_with("condition", "lost-by = \"\"");
    let found: Vec<&str> = blank.iter().map(|finding| finding.rule.name).collect();
    assert_eq!(found, ["missing-field"]);
    // Two conditions that wait for each other can never hold.
    let circle = "after = \"confirm:other\"\n[condition.other]\nname = \"other\"\nafter = \"confirm:the-condition\"\nlost-by = \"nothing\"";
    let findings = findings_with("condition", circle);
    let found: Vec<&str> = findings.iter().map(|finding| finding.rule.name).collect();
    assert_eq!(found, [rules::IMPOSSIBLE_ACTION.name; 2]);
    let chain = "after = \"confirm:other\"\n[condition.other]\nname = \"other\"\nafter = \"run:engine\"\nlost-by = \"nothing\"";
    assert!(findings_with("condition", chain).is_empty());
}
