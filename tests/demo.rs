//! The demonstration shop as the program publishes it: no findings, no use of the network, PDFs that `qpdf` accepts.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

#[path = "support/program.rs"]
mod program;
mod support;

use program::benchleaf;
use std::collections::BTreeSet;
use std::path::Path;
use std::process::Command;
use support::{files, output_text, root, typst};

fn ending(path: &str) -> &str {
    path.rsplit_once('.').map_or("", |(_, ending)| ending)
}

#[test]
fn the_demonstration_has_no_findings_and_its_pages_need_no_network() {
    let folder = tempfile::tempdir().unwrap();
    let output = benchleaf(&root())
        .args(["publish", "procedures", "--deny", "advice", "--html-only"])
        .arg("--output")
        .arg(folder.path())
        .output()
        .unwrap();
    let (_, findings, status) = output_text(&output);
    assert_eq!((findings.as_str(), status), ("", 0));
    assert_pages_are_self_contained(folder.path());
}

/// Asserts that no page loads anything from the network, and that every link leads to a file and an id that exist.
fn assert_pages_are_self_contained(output: &Path) {
    let output_files = files(output);
    let paths: BTreeSet<&str> = output_files.iter().map(|(path, _)| path.as_str()).collect();
    let mut links = 0;
    for (path, bytes) in &output_files {
        if ending(path) != "html" {
            continue;
        }
        let page = std::str::from_utf8(bytes).unwrap();
        assert!(page.contains("Invented data for demonstration"), "{path}");
        let folder = path.rsplit_once('/').map_or("", |(folder, _)| folder);
        for attribute in ["href=\"", "src=\""] {
            for rest in page.split(attribute).skip(1) {
                let (address, _) = rest.split_once('"').unwrap();
                assert!(!address.contains("//"), "{path} loads {address}");
                links += 1;
                let (file, fragment) = address.split_once('#').unwrap_or((address, ""));
                let target = match (file, file.strip_prefix("../")) {
                    ("", _) => path.clone(),
                    (_, Some(up)) => up.to_owned(),
                    (file, None) if folder.is_empty() => file.to_owned(),
                    (file, None) => format!("{folder}/{file}"),
                };
                assert!(paths.contains(target.as_str()), "{path} links to {target}");
                if !fragment.is_empty() {
                    let (_, bytes) = output_files
                        .iter()
                        .find(|(other, _)| *other == target)
                        .unwrap();
                    let target_page = std::str::from_utf8(bytes).unwrap();
                    assert!(
                        target_page.contains(&format!("id=\"{fragment}\"")),
                        "{path} links to {address}"
                    );
                }
            }
        }
    }
    assert!(links > 500, "{links} links");
}

#[test]
fn the_pdfs_of_the_demonstration_are_well_formed() {
    let folder = tempfile::tempdir().unwrap();
    let output = benchleaf(&root())
        .args([
            "print",
            "procedures",
            "--procedure",
            "governor-linkage",
            "--output",
        ])
        .arg(folder.path())
        .env("BENCHLEAF_TYPST", typst())
        .output()
        .unwrap();
    assert_eq!(output_text(&output).2, 0);
    let pdfs: Vec<_> = files(folder.path())
        .into_iter()
        .filter(|(path, _)| ending(path) == "pdf")
        .collect();
    assert!(pdfs.len() >= 4);
    for (path, _) in pdfs {
        let output = Command::new("qpdf")
            .arg("--check")
            .arg(folder.path().join(&path))
            .output()
            .expect("qpdf is installed: see `cargo xtask test`");
        let (stdout, stderr, status) = output_text(&output);
        assert_eq!(status, 0, "{path}: {stdout}{stderr}");
    }
}
