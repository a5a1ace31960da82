//! Imports between the files of the crate: only from a stage to earlier ones, and never in a circle.

#![allow(clippy::unwrap_used, reason = "a test that can't set up has failed")]

mod imports;
mod samples;
#[path = "../support/mod.rs"]
mod support;

use imports::{CRATE_ROOT, Import, circles, imports};
use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::path::Path;
use support::{files, root};

/// The stages, lowest first. A stage may import from those before it in this list.
const STAGES: [&str; 35] = [
    "cache",
    "quantity",
    "trade",
    "words",
    "output",
    "finding",
    "tree",
    "callout",
    "record",
    "prose",
    "shop",
    "procedure",
    "due",
    "model",
    "verbs",
    "job",
    "rehearsal",
    "rules",
    "schema",
    // `read` and `check` run the stages above.
    CRATE_ROOT,
    "outline",
    "recheck",
    "page",
    "drawing",
    "sheet",
    "site",
    "manual",
    "render",
    "publish",
    "review",
    "fix",
    "report",
    "preview",
    "editor",
    "cli",
];

/// The stage that a file belongs to.
fn stage(file: &str) -> &str {
    file.split('/').next().unwrap_or(file)
}

/// The imports of a stage from a later one.
fn imports_up<'i>(stages: &[&str], imports: &'i [Import]) -> Vec<&'i Import> {
    let rank = |file: &str| {
        let rank = stages.iter().position(|name| *name == stage(file));
        rank.unwrap_or_else(|| panic!("`{}` is not in the list of stages", stage(file)))
    };
    let up = imports
        .iter()
        .filter(|import| rank(&import.to) > rank(&import.from));
    up.collect()
}

fn listed(imports: &[&Import]) -> String {
    imports.iter().fold(String::new(), |mut list, import| {
        let _ = writeln!(
            list,
            "src/{} uses `{}`, which is in src/{}",
            import.from, import.path, import.to
        );
        list
    })
}

/// The imports between the files of the library.
fn all_imports() -> Vec<Import> {
    let files: Vec<(String, String)> = files(&root().join("src"))
        .into_iter()
        // The crate of the program.
        .filter(|(path, _)| {
            let is_source = Path::new(path).extension().is_some_and(|end| end == "rs");
            is_source && path != "main.rs"
        })
        .map(|(path, bytes)| (path, String::from_utf8(bytes).unwrap()))
        .collect();
    let stages: BTreeSet<&str> = files.iter().map(|(path, _)| stage(path)).collect();
    assert_eq!(
        stages,
        BTreeSet::from(STAGES),
        "the folders of `src` are the listed stages"
    );
    let files = files.iter();
    imports(files.map(|(path, text)| (path.as_str(), text.as_str())))
}

#[test]
fn each_stage_imports_only_earlier_stages() {
    let imports = all_imports();
    assert!(imports.len() > 1000, "{} imports", imports.len());
    let up = imports_up(&STAGES, &imports);
    assert!(
        up.is_empty(),
        "imports from a later stage:\n{}",
        listed(&up)
    );
}

#[test]
fn imports_have_no_circle() {
    let imports = all_imports();
    let circles = circles(&imports);
    let circles: Vec<String> = circles.iter().map(|circle| listed(circle)).collect();
    assert!(circles.is_empty(), "circles:\n{}", circles.join("\n"));
}
