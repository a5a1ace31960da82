//! The links of the demonstration's pages, checked by `lychee`.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

#[path = "support/program.rs"]
mod program;
mod support;

use program::benchleaf;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};
use support::{root, typst};

/// Checks every link in an output, with its fragment, without the network.
fn lychee(output: &Path) -> Output {
    let program = root().join(".tools/bin/lychee");
    Command::new(&program)
        .args(["--offline", "--include-fragments", "--no-progress"])
        .arg("--root-dir")
        .arg(output)
        .arg(format!("{}/**/*.html", output.display()))
        .output()
        .unwrap_or_else(|why| panic!("lychee is missing, see `cargo xtask test`: {why}"))
}

#[test]
fn all_links_resolve() {
    let folder = tempfile::tempdir().unwrap();
    let output = folder.path().join("output");
    let made = benchleaf(&root())
        .args(["publish", "procedures", "--output"])
        .arg(&output)
        .env("BENCHLEAF_TYPST", typst())
        .output()
        .unwrap();
    assert!(made.status.success());
    let checked = lychee(&output);
    let report = String::from_utf8_lossy(&checked.stdout).into_owned();
    assert!(checked.status.success(), "{report}");
    // The pages of the demonstration have thousands of links. Checks that lychee saw them.
    let total = report
        .split_whitespace()
        .filter_map(|word| word.parse::<u32>().ok())
        .max();
    assert!(total.is_some_and(|count| count > 3000), "{report}");

    // Checks that lychee reports a missing page, a missing PDF and a missing id.
    for missing in ["glossary.html", "tarn-yarrow/float-bowl-kit-list.pdf"] {
        let path = output.join(missing);
        let bytes = fs::read(&path).unwrap();
        fs::remove_file(&path).unwrap();
        assert!(!lychee(&output).status.success(), "{missing}");
        fs::write(&path, bytes).unwrap();
    }
    let page = output.join("tarn-yarrow/float-bowl-shop-sheet.html");
    let text = fs::read_to_string(&page).unwrap();
    fs::write(&page, text.replace("id=\"step-4\"", "id=\"step-four\"")).unwrap();
    assert!(!lychee(&output).status.success(), "a missing id");
}
