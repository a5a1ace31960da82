//! Incremental runs: after a change, a run gives the same pages as a run into an empty folder, and writes only the
//! pages that the change affects.

use super::Quiet;
use super::support::{assert_same_pages, copy, files, root, write};
use crate::output::OutputSettings;
use crate::publish::{Outlet, Pdfs, Published, Selection, publish, summarizer};
use crate::render::Look;
use crate::tree::Disk;
use std::fs;
use std::path::Path;

/// Publishes a tree without PDFs. `None` if the tree has errors.
fn run(tree: &Path, output: &Path) -> Option<Published> {
    let sources = crate::read(&Disk::open(tree).unwrap());
    let look = Look::default();
    let checked = crate::check_jobs(&sources, None, summarizer(&sources, &look));
    if checked.findings.count(crate::finding::Level::Error) > 0 {
        return None;
    }
    let outlet = Outlet {
        look: &look,
        pdfs: &Pdfs::NotAsked,
        folder: output,
        settings: OutputSettings::TEMPORARY,
        world: None,
        progress: &Quiet,
    };
    Some(publish(&sources, &checked, &Selection::default(), outlet).unwrap())
}

fn has_ending(path: &str, ending: &str) -> bool {
    Path::new(path).extension().is_some_and(|end| end == ending)
}

/// Changed versions of a file's text. Most of them leave the tree without errors.
fn changes(path: &str, text: &str) -> Vec<String> {
    let mut changes = Vec::new();
    let mut push = |changed: String| {
        if changed != text {
            changes.push(changed);
        }
    };
    // A comment changes no page.
    if has_ending(path, "toml") {
        push(format!("{text}\n# A remark.\n"));
    }
    for word in [
        "title = \"",
        "name = \"",
        "means = \"",
        "alt",
        "hazard = \"",
    ] {
        push(text.replacen(word, &format!("{word}X "), 1));
    }
    // The last name, too: the first one may be unused.
    if let Some(at) = text.rfind("name = \"") {
        push(format!("{}name = \"Y {}", &text[..at], &text[at + 8..]));
    }
    if has_ending(path, "md") {
        push(text.replacen("revision = ", "revision = 9", 1));
        push(text.replacen("minutes = ", "minutes = 1", 1));
        push(text.replacen("interval = \"", "interval = \"before each use or ", 1));
        push(text.replacen("\n## ", "\n## Z ", 1));
    }
    if has_ending(path, "svg") {
        push(text.replacen("</svg>", "<path d=\"M0 0h1\"/></svg>", 1));
    }
    changes
}

#[test]
fn a_run_after_a_change_gives_the_pages_of_a_fresh_run() {
    let folder = tempfile::tempdir().unwrap();
    let tree = folder.path().join("procedures");
    copy(&root().join("procedures"), &tree);
    let kept = folder.path().join("kept");
    run(&tree, &kept).expect("the demonstration has no errors");
    let mut tried = 0;
    let mut written = 0;
    for (index, (path, bytes)) in files(&tree).into_iter().enumerate() {
        let Ok(text) = String::from_utf8(bytes) else {
            continue;
        };
        // To save time, each kind of change is made in a quarter of the files.
        let changes = changes(&path, &text).into_iter().enumerate();
        for (_, changed) in changes.filter(|(kind, _)| (kind + index) % 4 == 0) {
            write(&tree.join(&path), changed);
            if let Some(published) = run(&tree, &kept) {
                tried += 1;
                written += published.files.written;
                let fresh = tempfile::tempdir().unwrap();
                run(&tree, fresh.path()).unwrap();
                assert_same_pages(&kept, &files(fresh.path()));
            }
        }
        // Deletes a procedure that nothing refers to.
        fs::remove_file(tree.join(&path)).unwrap();
        if has_ending(&path, "md") && run(&tree, &kept).is_some() {
            tried += 1;
            let fresh = tempfile::tempdir().unwrap();
            run(&tree, fresh.path()).unwrap();
            assert_same_pages(&kept, &files(fresh.path()));
        }
        write(&tree.join(&path), text);
    }
    assert!(
        tried > 30,
        "only {tried} changes left the tree without errors"
    );
    let total = files(&kept).len();
    assert!(
        written < tried * total / 2,
        "{written} files were written in {tried} runs of {total} files each"
    );
}

/// Sheets that were printed alone have no links to pages that the same run does not generate.
#[test]
fn a_full_run_after_printing_some_sheets_gives_the_pages_of_a_fresh_run() {
    let folder = tempfile::tempdir().unwrap();
    let tree = root().join("procedures");
    let sources = crate::read(&Disk::open(&tree).unwrap());
    let selection = Selection {
        procedures: vec!["float-bowl".to_owned()],
        ..Selection::default()
    };
    let checked = crate::check_jobs(&sources, None, |rehearsed| {
        selection
            .includes(&rehearsed.job)
            .then(|| crate::sheet::Summary::of(&rehearsed.job))
    });
    let (both, alone) = (folder.path().join("both"), folder.path().join("alone"));
    let outlet = Outlet {
        look: &Look::default(),
        pdfs: &Pdfs::NotAsked,
        folder: &both,
        settings: OutputSettings::TEMPORARY,
        world: None,
        progress: &Quiet,
    };
    publish(&sources, &checked, &selection, outlet).unwrap();
    run(&tree, &both).unwrap();
    run(&tree, &alone).unwrap();
    assert_same_pages(&both, &files(&alone));
}

/// They are the pages of the procedure, and those that name it.
#[test]
fn a_changed_step_rewrites_only_the_affected_pages() {
    let folder = tempfile::tempdir().unwrap();
    let tree = folder.path().join("procedures");
    copy(&root().join("procedures"), &tree);
    let output = folder.path().join("output");
    run(&tree, &output).unwrap();
    let before = files(&output);
    let file = tree.join("governor/governor-linkage.md");
    let text = fs::read_to_string(&file).unwrap();
    let changed = text.replacen("\n1. ", "\n1. Look first. ", 1);
    assert_ne!(changed, text);
    write(&file, changed);
    run(&tree, &output).unwrap();
    let after = files(&output);
    let differ: Vec<&str> = after
        .iter()
        .filter(|file| !file.0.starts_with('.') && !before.contains(file))
        .map(|(path, _)| path.as_str())
        .collect();
    assert!(!differ.is_empty());
    for path in &differ {
        // The copies that a browser keeps are of this version of the pages.
        let of_site = ["search-index.js", "offline.js"].contains(path);
        let is_affected = path.contains("governor-linkage") || of_site;
        assert!(is_affected, "{path} was written again");
    }
}

#[test]
fn a_missing_or_damaged_record_does_not_change_the_output() {
    let folder = tempfile::tempdir().unwrap();
    let output = folder.path().join("output");
    let tree = root().join("procedures");
    run(&tree, &output).unwrap();
    let before = files(&output);
    let record = output.join(".benchleaf/record.json");
    let text = fs::read_to_string(&record).unwrap();
    for spoilt in ["", "{", &text[..text.len() / 2], &text.replace('a', "b")] {
        fs::write(&record, spoilt).unwrap();
        // Without a record, an outdated page must not be kept.
        let page = output.join("procedure/float-bowl.html");
        let old = fs::read_to_string(&page).unwrap().replace("Float", "Flaot");
        fs::write(&page, old).unwrap();
        let changes = run(&tree, &output).unwrap().files;
        // It may be a reader's.
        let aside = output.join("moved-aside");
        assert_eq!(changes.moved_aside.len(), 1);
        assert!(aside.join("procedure/float-bowl.html").exists());
        fs::remove_dir_all(aside).unwrap();
        assert_same_pages(&output, &before);
    }
    fs::remove_file(&record).unwrap();
    let again = run(&tree, &output).unwrap();
    assert_eq!(again.files.written, 0);
    assert_same_pages(&output, &before);
}
