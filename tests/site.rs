//! The demonstration's pages under the eyes of a link checker that is not ours.

#![allow(clippy::unwrap_used, reason = "a test that can't set up has failed")]

#[path = "support/program.rs"]
mod program;
mod support;

use program::benchleaf;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};
use support::{root, typst};

/// Looks at every link of an output, fragments too, without the network.
fn lychee(output: &Path) -> Output {
    let program = root().join(".tools/bin/lychee");
    Command::new(&program)
        .args(["--offline", "--include-fragments", "--no-progress"])
        .arg("--root-dir")
        .arg(output)
        .arg(format!("{}/**/*.html", output.display()))
        .output()
        .unwrap_or_else(|why| panic!("`cargo xtask test` sees to lychee: {why}"))
}

#[test]
fn no_link_of_the_pages_leads_nowhere() {
    let folder = tempfile::tempdir().unwrap();
    let output = folder.path().join("output");
    let made = benchleaf(&root())
        .args(["publish", "procedures", "--output"])
        .arg(&output)
        .env("BENCHLEAF_TYPST", typst())
        .output()
        .unwrap();
    assert!(made.status.success());
    let looked = lychee(&output);
    let said = String::from_utf8_lossy(&looked.stdout).into_owned();
    assert!(looked.status.success(), "{said}");
    // It looked: the pages of the demonstration have thousands of links.
    let total = said
        .split_whitespace()
        .filter_map(|word| word.parse::<u32>().ok())
        .max();
    assert!(total.is_some_and(|count| count > 3000), "{said}");

    // And it would have found what is lost: a page, a PDF, a place on a page.
    for lost in ["glossary.html", "tarn-t7/float-bowl-kit-list.pdf"] {
        let path = output.join(lost);
        let bytes = fs::read(&path).unwrap();
        fs::remove_file(&path).unwrap();
        assert!(!lychee(&output).status.success(), "{lost}");
        fs::write(&path, bytes).unwrap();
    }
    let page = output.join("procedure/float-bowl.html");
    let text = fs::read_to_string(&page).unwrap();
    fs::write(
        &page,
        text.replace("id=\"on.tarn-t7\"", "id=\"on.tarn-t8\""),
    )
    .unwrap();
    assert!(!lychee(&output).status.success(), "a place");
}
