//! The files of the repository: `DEVELOPERS.md` names only paths that exist, and no file contains a path or an address
//! of the machine it was written on.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

mod support;

use support::root;

#[test]
fn paths_in_the_developers_guide_exist() {
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
    assert!(paths > 15, "{paths} paths");
}

#[test]
fn tests_that_the_promises_name_exist() {
    let promises = std::fs::read_to_string(root().join("docs/promises.md")).unwrap();
    let mut text = String::new();
    let (mut files, mut tests) = (0, 0);
    for quoted in promises.split('`').skip(1).step_by(2) {
        let is_file = quoted.contains('/') && quoted.contains('.');
        if is_file {
            files += 1;
            text = std::fs::read_to_string(root().join(quoted))
                .unwrap_or_else(|error| panic!("`{quoted}`: {error}"));
        } else if quoted.contains('_') || ["kills", "errors", "watch", "measure"].contains(&quoted)
        {
            tests += 1;
            let function = format!("fn {quoted}(");
            assert!(
                text.contains(&function),
                "no `{quoted}` in the file before it"
            );
        }
    }
    assert!(files > 25 && tests > 35, "{files} files and {tests} tests");
    // Each promise names one.
    for promise in promises.split("\n- **").skip(1) {
        assert!(
            promise.contains("tests/") || promise.contains("xtask/"),
            "{promise}"
        );
    }
}

#[test]
fn no_file_contains_a_path_of_a_machine() {
    // Split, so that this file does not contain them.
    let banned = [
        ["/work", "/main"].concat(),
        ["index.", "crates.io"].concat(),
        ["/root", "/"].concat(),
    ];
    let skipped = ["target", ".git", ".tools", "output", "corpus", "artifacts"];
    let walk = walkdir::WalkDir::new(root())
        .into_iter()
        .filter_entry(|entry| !skipped.iter().any(|name| entry.file_name() == *name));
    let mut checked = 0;
    for entry in walk.map(Result::unwrap) {
        if !entry.file_type().is_file() || entry.file_name() == "Cargo.lock" {
            continue;
        }
        checked += 1;
        let path = entry.path().display();
        let bytes = std::fs::read(entry.path()).unwrap();
        let Ok(text) = std::str::from_utf8(&bytes) else {
            continue;
        };
        for word in &banned {
            assert!(!text.contains(word.as_str()), "{path} contains `{word}`");
        }
    }
    assert!(checked > 150, "{checked} files");
}
