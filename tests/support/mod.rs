//! What several tests need.
#![allow(dead_code, reason = "each test takes what it needs of this")]
#![allow(clippy::unwrap_used, reason = "a test that can't set up has failed")]

use std::path::{Path, PathBuf};
use std::process::Output;

/// The project's root.
pub(crate) fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// A tree that stands under `tests/trees`.
pub(crate) fn tree(name: &str) -> PathBuf {
    root().join("tests/trees").join(name)
}

/// All files below a folder, by path from it.
pub(crate) fn files(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let mut files: Vec<(String, Vec<u8>)> = walkdir::WalkDir::new(folder)
        .into_iter()
        .map(Result::unwrap)
        .filter(|entry| entry.file_type().is_file())
        .map(|entry| {
            let path = entry.path().strip_prefix(folder).unwrap();
            let path = path.to_str().unwrap().replace('\\', "/");
            (path, std::fs::read(entry.path()).unwrap())
        })
        .collect();
    files.sort();
    files
}

/// Holds that two outputs have the same pages, and names those that differ. The record of when files
/// were written is no page.
pub(crate) fn assert_same_pages(left: &Path, right: &[(String, Vec<u8>)]) {
    let pages = |all: &[(String, Vec<u8>)]| -> std::collections::BTreeMap<String, Vec<u8>> {
        let pages = all.iter().filter(|(path, _)| !path.starts_with('.'));
        pages.cloned().collect()
    };
    let (left, right) = (pages(&files(left)), pages(right));
    let all: std::collections::BTreeSet<&String> = left.keys().chain(right.keys()).collect();
    let differ = all
        .into_iter()
        .filter(|path| left.get(*path) != right.get(*path));
    let differ: Vec<&String> = differ.collect();
    assert!(differ.is_empty(), "these differ: {differ:?}");
}

/// Copies a tree to where a test can spoil it.
pub(crate) fn copy(from: &Path, to: &Path) {
    for (path, bytes) in files(from) {
        write(&to.join(path), bytes);
    }
}

/// Writes a file and the folders it stands in.
pub(crate) fn write(path: &Path, bytes: impl AsRef<[u8]>) {
    std::fs::create_dir_all(path.parent().unwrap()).unwrap();
    std::fs::write(path, bytes).unwrap();
}

/// The typesetter that `cargo xtask test` sees to.
pub(crate) fn typst() -> PathBuf {
    let ours = root().join(".tools/bin/typst");
    let given = std::env::var_os("BENCHLEAF_TYPST").map(PathBuf::from);
    given.unwrap_or(if ours.exists() {
        ours
    } else {
        PathBuf::from("typst")
    })
}

/// What a run wrote to standard output and standard error, and how it ended.
pub(crate) fn told(output: &Output) -> (String, String, i32) {
    (
        String::from_utf8(output.stdout.clone()).unwrap(),
        String::from_utf8(output.stderr.clone()).unwrap(),
        output.status.code().expect("it was not killed"),
    )
}
