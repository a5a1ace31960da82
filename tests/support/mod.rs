//! Helpers that several test crates share.
#![allow(dead_code, reason = "each test crate uses some of these functions")]
#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// The project's root.
pub(crate) fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// The path of a tree in `tests/trees`.
pub(crate) fn tree(name: &str) -> PathBuf {
    root().join("tests/trees").join(name)
}

/// A folder with the tree `hand-pump`, which has no findings, in `procedures`.
pub(crate) fn shop() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    copy(&tree("hand-pump"), &folder.path().join("procedures"));
    folder
}

/// The files below a folder, each with its path relative to the folder, in order of the paths.
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

/// Asserts that two outputs have the same pages. Files whose path starts with a dot, such as the record, are
/// not compared.
pub(crate) fn assert_same_pages(left: &Path, right: &[(String, Vec<u8>)]) {
    let pages = |files: &[(String, Vec<u8>)]| -> std::collections::BTreeMap<String, Vec<u8>> {
        let pages = files.iter().filter(|(path, _)| !path.starts_with('.'));
        pages.cloned().collect()
    };
    let (left, right) = (pages(&files(left)), pages(right));
    let paths: std::collections::BTreeSet<&String> = left.keys().chain(right.keys()).collect();
    let differ = paths
        .into_iter()
        .filter(|path| left.get(*path) != right.get(*path));
    let differ: Vec<&String> = differ.collect();
    assert!(differ.is_empty(), "pages that differ: {differ:?}");
}

/// Copies a folder, so that a test can change the copy.
pub(crate) fn copy(from: &Path, to: &Path) {
    for (path, bytes) in files(from) {
        write(&to.join(path), bytes);
    }
}

/// Writes a file and creates its parent folders.
pub(crate) fn write(path: &Path, bytes: impl AsRef<[u8]>) {
    std::fs::create_dir_all(path.parent().unwrap()).unwrap();
    std::fs::write(path, bytes).unwrap();
}

/// The path of the typst program: `BENCHLEAF_TYPST`, else the one that `cargo xtask test` installs, else the one
/// in `PATH`.
pub(crate) fn typst() -> PathBuf {
    let installed = root().join(".tools/bin/typst");
    let given = std::env::var_os("BENCHLEAF_TYPST").map(PathBuf::from);
    given.unwrap_or(if installed.exists() {
        installed
    } else {
        // A program that is named is not looked for in `PATH`.
        let path = std::env::var_os("PATH").unwrap_or_default();
        let programs = std::env::split_paths(&path).map(|folder| folder.join("typst"));
        let mut programs = programs.filter(|program| program.is_file());
        programs.next().unwrap_or_else(|| PathBuf::from("typst"))
    })
}

/// The Python program with the packages of `tests/python/requirements.txt`.
pub(crate) fn python() -> PathBuf {
    let python = root().join(".tools/python/bin/python");
    assert!(
        python.exists(),
        "there is no {}: `cargo xtask test` installs it",
        python.display()
    );
    python
}

/// A process's standard output, standard error and exit status.
pub(crate) fn output_text(output: &Output) -> (String, String, i32) {
    (
        String::from_utf8(output.stdout.clone()).unwrap(),
        String::from_utf8(output.stderr.clone()).unwrap(),
        output.status.code().expect("the process exited"),
    )
}

/// What a program prints when it reads a file.
pub(crate) fn read_with(program: &str, arguments: &[&str], file: &Path) -> String {
    let output = Command::new(program)
        .args(arguments)
        .arg(file)
        .output()
        .unwrap_or_else(|why| panic!("{program} is missing, see `cargo xtask test`: {why}"));
    String::from_utf8_lossy(&output.stdout).into_owned()
}
