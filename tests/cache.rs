//! The caches, within a run and between runs. With `BENCHLEAF_VERIFY_CACHE`, the program computes each cached value
//! again and compares it; no difference may be found.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

#[path = "support/program.rs"]
mod program;
mod support;

use program::benchleaf;
use std::fs;
use std::path::Path;
use support::{assert_same_pages, copy, files, output_text, root, tree, typst, write};

/// Publishes the tree `procedures` of a folder. Returns standard output, standard error and the exit status.
fn publish(folder: &Path, more: &[&str], verify: bool) -> (String, String, i32) {
    let mut command = benchleaf(folder);
    command
        .arg("publish")
        .args(more)
        .env("BENCHLEAF_TYPST", typst());
    if verify {
        command.env("BENCHLEAF_VERIFY_CACHE", "1");
    }
    output_text(&command.output().unwrap())
}

/// As [`publish`], with verification, which must find no difference. Returns standard output.
fn publish_verified(folder: &Path, more: &[&str]) -> String {
    let (stdout, stderr, status) = publish(folder, more, true);
    assert_eq!(status, 0, "{stderr}");
    stdout
}

/// The fingerprint of a file in the record: the first 128 bits of its BLAKE3 hash.
fn fingerprint(bytes: &[u8]) -> String {
    blake3::hash(bytes).to_hex()[..32].to_owned()
}

/// Replaces the first occurrence of a text in a file.
fn change(path: &Path, from: &str, to: &str) {
    let text = fs::read_to_string(path).unwrap();
    assert!(text.contains(from), "{}", path.display());
    write(path, text.replacen(from, to, 1));
}

#[test]
fn cached_values_are_those_that_are_computed_again() {
    let folder = tempfile::tempdir().unwrap();
    copy(
        &root().join("procedures"),
        &folder.path().join("procedures"),
    );
    publish_verified(folder.path(), &["--html-only"]);
    let pages = files(&folder.path().join("output"));
    let stdout = publish_verified(folder.path(), &["--html-only"]);
    assert!(stdout.contains(" 0 files written,"), "{stdout}");
    assert_same_pages(&folder.path().join("output"), &pages);
    let procedures = folder.path().join("procedures");
    change(
        &procedures.join("governor/governor-linkage.md"),
        "\n1. ",
        "\n1. Look first. ",
    );
    let stdout = publish_verified(folder.path(), &["--html-only"]);
    assert!(!stdout.contains(" 0 files written,"), "{stdout}");
}

#[test]
fn kept_pdfs_are_those_that_are_typeset_again() {
    let folder = tempfile::tempdir().unwrap();
    copy(&tree("hand-pump"), &folder.path().join("procedures"));
    publish_verified(folder.path(), &[]);
    let stdout = publish_verified(folder.path(), &[]);
    assert!(stdout.contains(" 0 files written,"), "{stdout}");
    // Without typst, PDFs are kept and cannot be compared.
    let stdout = publish_verified(folder.path(), &["--html-only"]);
    assert!(
        stdout.contains(" 0 files written, 41 unchanged, 0 removed"),
        "{stdout}"
    );
    // A comment is part of the inputs of every page, but changes only the manual, whose list of files has the mark of
    // their content, and the service worker, which has a hash of all files. All other PDFs are kept, because their
    // typst input is unchanged.
    let pump = folder.path().join("procedures/machines/hand-pump.toml");
    change(&pump, "name = \"", "# A comment.\nname = \"");
    let stdout = publish_verified(folder.path(), &[]);
    assert!(stdout.contains(" 2 files written,"), "{stdout}");
}

/// The test changes a page and its fingerprint in the record, so that the page does not match its inputs.
#[test]
fn a_kept_page_with_wrong_bytes_is_detected() {
    let folder = tempfile::tempdir().unwrap();
    copy(&tree("hand-pump"), &folder.path().join("procedures"));
    let html = ["--html-only"];
    publish_verified(folder.path(), &html);
    let output = folder.path().join("output");
    let page = output.join("hand-pump/cover-shop-sheet.html");
    let before = fingerprint(&fs::read(&page).unwrap());
    change(&page, "<h1>", "<h1>Out of date: ");
    let after = fingerprint(&fs::read(&page).unwrap());
    let record = output.join(".benchleaf/record.json");
    let text = fs::read_to_string(&record).unwrap();
    let (_, body) = text.split_once('\n').unwrap();
    assert!(body.contains(&before));
    let body = body.replace(&before, &after);
    let seal = fingerprint(body.as_bytes());
    write(&record, format!("{seal}\n{body}"));
    let (stdout, stderr, status) = publish(folder.path(), &html, false);
    assert_eq!(status, 0, "{stderr}");
    // The file that is written is the service worker, which has a hash of all files.
    assert!(
        stdout.contains(" 1 file written,"),
        "a run without verification keeps the page: {stdout}"
    );
    let (_, stderr, status) = publish(folder.path(), &html, true);
    assert_ne!(status, 0);
    assert!(
        stderr.contains("`hand-pump/cover-shop-sheet.html` would have been kept"),
        "{stderr}"
    );
}
