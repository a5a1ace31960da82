//! The `bind` command: what it writes, what it keeps and what it refuses.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

#[path = "support/program.rs"]
mod program;
mod support;

use program::benchleaf;
use std::os::unix::fs::PermissionsExt as _;
use std::path::Path;
use support::{copy, output_text, read_with, root, typst};

#[test]
fn the_same_tree_gives_the_same_bytes_and_is_not_typeset_again() {
    let folder = tempfile::tempdir().unwrap();
    let bind = |typst: &Path, machine: &str| {
        let output = benchleaf(folder.path())
            .arg("bind")
            .arg(root().join("procedures"))
            .args(["--output", "output", "--machine", machine])
            .env("BENCHLEAF_TYPST", typst)
            .output()
            .unwrap();
        output_text(&output)
    };
    let pdf = folder.path().join("output/tarn-mallow/manual.pdf");
    assert_eq!(bind(&typst(), "tarn-mallow").2, 0);
    let first = std::fs::read(&pdf).unwrap();
    // This typst only prints its version. That is enough, because nothing has changed.
    let fake_typst = folder.path().join("typst");
    let script = format!(
        "#!/bin/sh\n[ \"$1\" = --version ] && exec '{}' --version\nexit 9\n",
        typst().display()
    );
    std::fs::write(&fake_typst, script).unwrap();
    std::fs::set_permissions(&fake_typst, std::fs::Permissions::from_mode(0o755)).unwrap();
    let (stdout, stderr, status) = bind(&fake_typst, "tarn-mallow");
    assert!(stdout.contains("0 files written, 1 unchanged"), "{stdout}");
    assert_eq!((stderr.as_str(), status), ("", 0));
    let (_, stderr, status) = bind(&fake_typst, "tarn-bracken");
    assert!(stderr.contains("can't be made"), "{stderr}");
    assert_eq!(status, 2);
    std::fs::remove_dir_all(folder.path().join("output")).unwrap();
    assert_eq!(bind(&typst(), "tarn-mallow").2, 0);
    assert!(first == std::fs::read(&pdf).unwrap());
}

#[test]
fn a_shop_with_two_languages_has_pdfs_in_each() {
    let folder = tempfile::tempdir().unwrap();
    let tree = folder.path().join("procedures");
    copy(&root().join("procedures"), &tree);
    let shop = std::fs::read_to_string(tree.join("shop.toml")).unwrap();
    let shop = shop.replace("language = \"en-GB\"", "language = [\"en-GB\", \"es\"]");
    std::fs::write(tree.join("shop.toml"), shop).unwrap();
    let output = benchleaf(folder.path())
        .args(["bind", "--output", "output", "--machine", "tarn-bracken"])
        .env("BENCHLEAF_TYPST", typst())
        .output()
        .unwrap();
    let (stdout, stderr, status) = output_text(&output);
    assert_eq!((stderr.as_str(), status), ("", 0), "{stdout}");
    let output = benchleaf(folder.path())
        .args(["print", "--output", "output", "--machine", "tarn-bracken"])
        .args(["--procedure", "air-cleaner"])
        .env("BENCHLEAF_TYPST", typst())
        .output()
        .unwrap();
    assert_eq!(output_text(&output).2, 0);
    for (path, language, title) in [
        ("tarn-bracken/manual.pdf", "en-GB", "Shop manual"),
        ("es/tarn-bracken/manual.pdf", "es", "Manual del taller"),
        (
            "tarn-bracken/air-cleaner-shop-sheet.pdf",
            "en-GB",
            "Shop sheet",
        ),
        (
            "es/tarn-bracken/air-cleaner-shop-sheet.pdf",
            "es",
            "Hoja de taller",
        ),
    ] {
        let meta = read_with(
            "pdfinfo",
            &["-meta"],
            &folder.path().join("output").join(path),
        );
        assert!(
            meta.contains(&format!("<rdf:li>{language}</rdf:li>")),
            "{path}"
        );
        assert!(meta.contains(title), "{path}");
    }
}

#[test]
fn a_tree_with_errors_or_an_unknown_name_gives_no_manual() {
    let folder = tempfile::tempdir().unwrap();
    let tree = folder.path().join("procedures");
    copy(&root().join("procedures"), &tree);
    let bind = |arguments: &[&str]| {
        let output = benchleaf(folder.path())
            .args(["bind", "--output", "output"])
            .args(arguments)
            .env("BENCHLEAF_TYPST", typst())
            .output()
            .unwrap();
        output_text(&output)
    };
    let (_, stderr, status) = bind(&["--machine", "tarn-yarow"]);
    assert!(stderr.contains("did you mean `tarn-yarrow`?"), "{stderr}");
    assert_eq!(status, 2);
    let (_, stderr, status) = bind(&["--system", "fule"]);
    assert!(stderr.contains("did you mean `fuel`?"), "{stderr}");
    assert_eq!(status, 2);
    let (_, stderr, status) = bind(&["--html-only"]);
    assert!(stderr.contains("a manual is a PDF"), "{stderr}");
    assert_eq!(status, 2);
    // There is no procedure of this system for this machine.
    let (_, stderr, status) = bind(&["--machine", "tarn-mallow", "--system", "water"]);
    assert!(stderr.contains("no job matches"), "{stderr}");
    assert_eq!(status, 2);
    std::fs::write(tree.join("fuel/float-bowl.md"), "no front matter").unwrap();
    let (_, stderr, status) = bind(&[]);
    assert!(stderr.contains("nothing was made"), "{stderr}");
    assert_eq!(status, 1);
    assert!(!folder.path().join("output").exists());
}

#[test]
fn a_shops_template_cannot_leave_out_the_notices() {
    let folder = tempfile::tempdir().unwrap();
    let own = folder.path().join("templates/typst");
    std::fs::create_dir_all(&own).unwrap();
    std::fs::write(
        own.join("manual_layout.typ"),
        "#set document(title: [x])\nShort and sweet",
    )
    .unwrap();
    let bind = || {
        let output = benchleaf(folder.path())
            .arg("bind")
            .arg(root().join("procedures"))
            .args(["--output", "output", "--templates", "templates"])
            .args(["--machine", "tarn-mallow"])
            .env("BENCHLEAF_TYPST", typst())
            .output()
            .unwrap();
        output_text(&output)
    };
    let (_, stderr, status) = bind();
    assert!(stderr.contains("leave out the notices"), "{stderr}");
    assert_eq!(status, 2);
    std::fs::remove_file(own.join("manual_layout.typ")).unwrap();
    std::fs::write(own.join("manual.typ"), "Nothing").unwrap();
    let (_, stderr, status) = bind();
    assert!(stderr.contains("would replace the notices"), "{stderr}");
    assert_eq!(status, 2);
}

/// Poppler reads the text of the PDF.
#[test]
fn the_rules_are_an_appendix_on_request() {
    let folder = support::shop();
    let shop = folder.path().join("procedures/shop.toml");
    let text = std::fs::read_to_string(&shop).unwrap();
    let text = format!("language = [\"en-GB\", \"es\"]\n{text}");
    std::fs::write(&shop, text + "\n[levels]\nunverified-value = \"error\"\n").unwrap();
    let make = |arguments: &[&str]| {
        let output = benchleaf(folder.path())
            .args(arguments)
            .env("BENCHLEAF_TYPST", typst())
            .output()
            .unwrap();
        let (_, stderr, status) = output_text(&output);
        assert_eq!((stderr.as_str(), status), ("", 0));
    };
    let squeezed = |text: &str| text.split_whitespace().collect::<String>();
    let read = |path: &str| {
        // Poppler writes to standard output if it is asked to.
        let path = folder.path().join("output").join(path);
        let output = std::process::Command::new("pdftotext")
            .arg("-raw")
            .arg(&path)
            .arg("-")
            .output();
        squeezed(&String::from_utf8_lossy(&output.unwrap().stdout))
    };
    make(&["bind", "--rules-appendix"]);
    for path in ["manual.pdf", "es/manual.pdf"] {
        let text = read(path);
        for rule in benchleaf::rules() {
            let heading = format!("{}({})", rule.name, rule.level);
            assert!(text.contains(&heading), "{path} has no {heading}");
            let what = squeezed(&rule.summary().replace('`', ""));
            assert!(text.contains(&what), "{path} has no {what}");
        }
    }
    assert!(read("manual.pdf").contains("Inthisshop:error"));
    assert!(read("es/manual.pdf").contains("Enestetaller:error"));
    // Without the option, the manual does not have them.
    make(&["bind"]);
    assert!(!read("manual.pdf").contains("part-left-off"));
}
