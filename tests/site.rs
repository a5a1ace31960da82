//! The links of the demonstration's pages, checked with the HTML parser of `lxml`.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

#[path = "support/program.rs"]
mod program;
mod support;

use program::benchleaf;
use std::fs;
use std::path::Path;
use std::process::Command;
use support::{root, typst};

/// Checks every link in an output, with the place that it leads to, with another program's parser. Returns what is
/// printed and whether all links lead somewhere.
fn links(output: &Path) -> (String, bool) {
    let checked = Command::new(root().join(".tools/python/bin/python"))
        .arg(root().join("tests/python/links.py"))
        .arg(output)
        .output()
        .unwrap_or_else(|why| panic!("Python is missing, see `cargo xtask test`: {why}"));
    let report = String::from_utf8_lossy(&checked.stdout).into_owned();
    let errors = String::from_utf8_lossy(&checked.stderr);
    assert!(errors.is_empty(), "{errors}");
    (report, checked.status.success())
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
    let (report, is_sound) = links(&output);
    assert!(is_sound, "{report}");
    // The pages of the demonstration have thousands of links. Checks that they were seen.
    let total = report.lines().last().and_then(|line| {
        let (count, _) = line.split_once(' ')?;
        count.parse::<u32>().ok()
    });
    assert!(total.is_some_and(|count| count > 3000), "{report}");

    // Checks that a missing page, a missing PDF and a missing id are reported, each where it is linked.
    for missing in ["glossary.html", "tarn-yarrow/float-bowl-kit-list.pdf"] {
        let path = output.join(missing);
        let bytes = fs::read(&path).unwrap();
        fs::remove_file(&path).unwrap();
        let (report, is_sound) = links(&output);
        let name = path.file_name().unwrap().to_str().unwrap();
        assert!(!is_sound && report.contains(name), "{missing}: {report}");
        fs::write(&path, bytes).unwrap();
    }
    let page = output.join("tarn-yarrow/float-bowl-shop-sheet.html");
    let text = fs::read_to_string(&page).unwrap();
    fs::write(&page, text.replace("id=\"step-4\"", "id=\"step-four\"")).unwrap();
    let (report, is_sound) = links(&output);
    assert!(!is_sound && report.contains("no place"), "{report}");
}
