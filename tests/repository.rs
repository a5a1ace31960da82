//! The shape of the source: imports go one way, and the contributor's guide
//! names only what is there.

#![allow(clippy::unwrap_used, reason = "a test that can't set up has failed")]

mod support;

use std::collections::BTreeSet;
use support::{files, root};

/// The stages, lowest first: each may use those before it in this list, and none after it.
const STAGES: [&str; 23] = [
    "words",
    "quantity",
    "trade",
    "output",
    "finding",
    "tree",
    "record",
    "prose",
    "shop",
    "procedure",
    "model",
    "job",
    "dry_run",
    "rules",
    "page",
    "sheet",
    "site",
    "manual",
    "render",
    "publish",
    "report",
    "preview",
    "cli",
];

/// Every `crate::stage` in a file, in code or in comments.
fn named_stages(text: &str) -> BTreeSet<String> {
    text.split("crate::")
        .skip(1)
        .map(|rest| {
            rest.chars()
                .take_while(|letter| letter.is_alphanumeric() || *letter == '_')
                .collect()
        })
        .collect()
}

#[test]
fn imports_go_one_way() {
    let rank = |stage: &str| STAGES.iter().position(|one| *one == stage);
    let mut looked_at = BTreeSet::new();
    for (path, bytes) in files(&root().join("src")) {
        let Some((stage, _)) = path.split_once('/') else {
            continue;
        };
        let own = rank(stage).unwrap_or_else(|| panic!("`{stage}` is not in the list of stages"));
        looked_at.insert(stage.to_owned());
        for other in named_stages(std::str::from_utf8(&bytes).unwrap()) {
            let Some(other_rank) = rank(&other) else {
                continue;
            };
            assert!(
                other_rank <= own,
                "src/{path} uses `{other}`, which comes after `{stage}`"
            );
        }
    }
    assert_eq!(looked_at.len(), STAGES.len(), "every stage has its folder");
}

#[test]
fn the_guide_names_only_what_is_there() {
    let guide = std::fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let mut paths = 0;
    for quoted in guide.split('`').skip(1).step_by(2) {
        let is_path = quoted.contains('/') && !quoted.contains([' ', '<', '*', '$', '(', ':']);
        if is_path {
            paths += 1;
            assert!(
                root().join(quoted).exists(),
                "DEVELOPERS.md names `{quoted}`"
            );
        }
    }
    assert!(paths > 15, "paths were looked at: {paths}");
}

#[test]
fn no_file_carries_what_has_no_place_in_it() {
    // Written apart, so that this file does not find itself.
    let banned = [
        ["/work", "/main"].concat(),
        ["index.", "crates.io"].concat(),
        ["/root", "/"].concat(),
    ];
    let skipped = ["target", ".git", ".tools", "output", "corpus", "artifacts"];
    let walk = walkdir::WalkDir::new(root())
        .into_iter()
        .filter_entry(|entry| !skipped.iter().any(|name| entry.file_name() == *name));
    let mut looked_at = 0;
    for entry in walk.map(Result::unwrap) {
        if !entry.file_type().is_file() || entry.file_name() == "Cargo.lock" {
            continue;
        }
        looked_at += 1;
        let path = entry.path().display();
        let bytes = std::fs::read(entry.path()).unwrap();
        let Ok(text) = std::str::from_utf8(&bytes) else {
            continue;
        };
        for word in &banned {
            assert!(!text.contains(word.as_str()), "{path} holds `{word}`");
        }
    }
    assert!(looked_at > 150, "files were looked at: {looked_at}");
}
