//! The repository: the contributor's guide names only paths that exist, and no file has a path of
//! somebody's machine in it.

#![allow(clippy::unwrap_used, reason = "a test that can't set up has failed")]

mod support;

use support::root;

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
