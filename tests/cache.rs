//! The law of everything that is remembered, within a run and between runs: same inputs, same bytes.
//! In these runs of the program every value that a cache finds is made again and compared.

#![allow(clippy::unwrap_used, reason = "a test that can't set up has failed")]

#[path = "support/program.rs"]
mod program;
mod support;

use program::benchleaf;
use std::fs;
use std::path::Path;
use support::{assert_same_pages, copy, files, root, told, tree, typst, write};

/// Publishes the tree `procedures` of a folder, and returns what was written to the terminal and the
/// exit status.
fn publish(folder: &Path, more: &[&str], verify: bool) -> (String, String, i32) {
    let mut command = benchleaf(folder);
    command
        .arg("publish")
        .args(more)
        .env("BENCHLEAF_TYPST", typst());
    if verify {
        command.env("BENCHLEAF_VERIFY_CACHE", "1");
    }
    told(&command.output().unwrap())
}

/// As [`publish`] with verification, which has to find nothing.
fn publish_verified(folder: &Path, more: &[&str]) -> String {
    let (said, found, status) = publish(folder, more, true);
    assert_eq!(status, 0, "{found}");
    said
}

/// Replaces the first occurrence of a text in a file.
/// The fingerprint of a file in the record: the first 128 bits of its BLAKE3 hash.
fn fingerprint(bytes: &[u8]) -> String {
    blake3::hash(bytes).to_hex()[..32].to_owned()
}

fn change(path: &Path, from: &str, to: &str) {
    let text = fs::read_to_string(path).unwrap();
    assert!(text.contains(from), "{}", path.display());
    write(path, text.replacen(from, to, 1));
}

#[test]
fn whatever_is_found_while_the_demonstration_is_published_is_what_is_made_anew() {
    let folder = tempfile::tempdir().unwrap();
    copy(
        &root().join("procedures"),
        &folder.path().join("procedures"),
    );
    publish_verified(folder.path(), &["--html-only"]);
    let pages = files(&folder.path().join("output"));
    let said = publish_verified(folder.path(), &["--html-only"]);
    assert!(said.contains(" 0 files written,"), "{said}");
    assert_same_pages(&folder.path().join("output"), &pages);
    let procedures = folder.path().join("procedures");
    change(
        &procedures.join("governor/governor-linkage.md"),
        "\n1. ",
        "\n1. Look first. ",
    );
    let said = publish_verified(folder.path(), &["--html-only"]);
    assert!(!said.contains(" 0 files written,"), "{said}");
}

#[test]
fn whatever_pdf_is_kept_is_what_is_set_anew() {
    let folder = tempfile::tempdir().unwrap();
    copy(&tree("hand-pump"), &folder.path().join("procedures"));
    publish_verified(folder.path(), &[]);
    let said = publish_verified(folder.path(), &[]);
    assert!(said.contains(" 0 files written,"), "{said}");
    // Without typst, PDFs are kept and can't be compared.
    let said = publish_verified(folder.path(), &["--html-only"]);
    assert!(
        said.contains(" 0 files written, 25 unchanged, 0 removed"),
        "{said}"
    );
    // A remark is in the inputs of every page, but only the manual prints it: its list of files has the
    // mark of their content. All other PDFs are kept by what they say.
    let pump = folder.path().join("procedures/machines/hand-pump.toml");
    change(&pump, "name = \"", "# A remark.\nname = \"");
    let said = publish_verified(folder.path(), &[]);
    assert!(said.contains(" 1 file written,"), "{said}");
}

/// Breaks the law on purpose: a page has other bytes than those that its inputs give, and the record
/// says that they are its own.
#[test]
fn a_page_that_would_be_kept_with_other_bytes_is_caught() {
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
    let (said, found, status) = publish(folder.path(), &html, false);
    assert_eq!(status, 0, "{found}");
    assert!(
        said.contains(" 0 files written,"),
        "a usual run keeps it: {said}"
    );
    let (_, found, status) = publish(folder.path(), &html, true);
    assert_ne!(status, 0);
    assert!(
        found.contains("`hand-pump/cover-shop-sheet.html` would have been kept"),
        "{found}"
    );
}
