//! The `bind` command: what it writes, what it keeps and what it refuses.

#![allow(clippy::unwrap_used, reason = "a test that can't set up has failed")]

#[path = "support/program.rs"]
mod program;
mod support;

use program::benchleaf;
use std::os::unix::fs::PermissionsExt as _;
use std::path::Path;
use std::process::Command;
use support::{copy, root, told, typst};

fn run(program: &str, arguments: &[&str], file: &Path) -> String {
    let output = Command::new(program)
        .args(arguments)
        .arg(file)
        .output()
        .unwrap_or_else(|why| panic!("`cargo xtask test` sees to {program}: {why}"));
    String::from_utf8_lossy(&output.stdout).into_owned()
}

#[test]
fn the_same_tree_gives_the_same_bytes_and_is_not_set_again() {
    let folder = tempfile::tempdir().unwrap();
    let bind = |typst: &Path, machine: &str| {
        let output = benchleaf(folder.path())
            .arg("bind")
            .arg(root().join("procedures"))
            .args(["--output", "output", "--machine", machine])
            .env("BENCHLEAF_TYPST", typst)
            .output()
            .unwrap();
        told(&output)
    };
    let pdf = folder.path().join("output/tarn-m46/manual.pdf");
    assert_eq!(bind(&typst(), "tarn-m46").2, 0);
    let first = std::fs::read(&pdf).unwrap();
    // Nothing has changed, so a typesetter that sets nothing is not missed.
    let idle = folder.path().join("typst");
    let script = format!(
        "#!/bin/sh\n[ \"$1\" = --version ] && exec '{}' --version\nexit 9\n",
        typst().display()
    );
    std::fs::write(&idle, script).unwrap();
    std::fs::set_permissions(&idle, std::fs::Permissions::from_mode(0o755)).unwrap();
    let (said, found, status) = bind(&idle, "tarn-m46");
    assert!(said.contains("0 files written, 1 unchanged"), "{said}");
    assert_eq!((found.as_str(), status), ("", 0));
    let (_, found, status) = bind(&idle, "tarn-b26");
    assert!(found.contains("can't be set"), "{found}");
    assert_eq!(status, 1);
    std::fs::remove_dir_all(folder.path().join("output")).unwrap();
    assert_eq!(bind(&typst(), "tarn-m46").2, 0);
    assert!(first == std::fs::read(&pdf).unwrap());
}

#[test]
fn a_shop_of_two_languages_has_a_manual_in_each() {
    let folder = tempfile::tempdir().unwrap();
    let tree = folder.path().join("procedures");
    copy(&root().join("procedures"), &tree);
    let shop = std::fs::read_to_string(tree.join("shop.toml")).unwrap();
    let shop = shop.replace("language = \"en-GB\"", "language = [\"en-GB\", \"es\"]");
    std::fs::write(tree.join("shop.toml"), shop).unwrap();
    let output = benchleaf(folder.path())
        .args(["bind", "--output", "output", "--machine", "tarn-b26"])
        .env("BENCHLEAF_TYPST", typst())
        .output()
        .unwrap();
    let (said, found, status) = told(&output);
    assert_eq!((found.as_str(), status), ("", 0), "{said}");
    for (path, language, titled) in [
        ("tarn-b26/manual.pdf", "en-GB", "Shop manual"),
        ("es/tarn-b26/manual.pdf", "es", "Manual del taller"),
    ] {
        let meta = run(
            "pdfinfo",
            &["-meta"],
            &folder.path().join("output").join(path),
        );
        assert!(
            meta.contains(&format!("<rdf:li>{language}</rdf:li>")),
            "{path}"
        );
        assert!(meta.contains(titled), "{path}");
    }
}

#[test]
fn nothing_is_bound_of_a_tree_with_errors_or_for_a_name_that_there_is_not() {
    let folder = tempfile::tempdir().unwrap();
    let tree = folder.path().join("procedures");
    copy(&root().join("procedures"), &tree);
    let asked = |arguments: &[&str]| {
        let output = benchleaf(folder.path())
            .args(["bind", "--output", "output"])
            .args(arguments)
            .env("BENCHLEAF_TYPST", typst())
            .output()
            .unwrap();
        told(&output)
    };
    let (_, found, status) = asked(&["--machine", "tarn-t8"]);
    assert!(found.contains("did you mean `tarn-t7`?"), "{found}");
    assert_eq!(status, 2);
    let (_, found, status) = asked(&["--system", "fule"]);
    assert!(found.contains("did you mean `fuel`?"), "{found}");
    assert_eq!(status, 2);
    let (_, found, status) = asked(&["--html-only"]);
    assert!(found.contains("a manual is a PDF"), "{found}");
    assert_eq!(status, 2);
    // Of this machine nothing is done in this system.
    let (_, found, status) = asked(&["--machine", "tarn-m46", "--system", "water"]);
    assert!(found.contains("there is no such job"), "{found}");
    assert_eq!(status, 2);
    std::fs::write(tree.join("fuel/float-bowl.md"), "no front matter").unwrap();
    let (_, found, status) = asked(&[]);
    assert!(found.contains("nothing was made"), "{found}");
    assert_eq!(status, 1);
    assert!(!folder.path().join("output").exists());
}

#[test]
fn a_look_of_ones_own_can_not_leave_out_the_notices() {
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
            .args(["--machine", "tarn-m46"])
            .env("BENCHLEAF_TYPST", typst())
            .output()
            .unwrap();
        told(&output)
    };
    let (_, found, status) = bind();
    assert!(found.contains("leave out the notices"), "{found}");
    assert_eq!(status, 1);
    std::fs::remove_file(own.join("manual_layout.typ")).unwrap();
    std::fs::write(own.join("manual.typ"), "Nothing").unwrap();
    let (_, found, status) = bind();
    assert!(
        found.contains("would take the place of the notices"),
        "{found}"
    );
    assert_eq!(status, 2);
}
