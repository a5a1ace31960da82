//! A run after a change makes the same pages as a run from nothing, and makes only those that the
//! change has a say in.

use super::Quiet;
use super::support::{assert_same_pages, copy, files, root, write};
use crate::publish::{Outlet, Pdfs, Published, Selection, publish, summarizer};
use crate::render::Look;
use crate::tree::Disk;
use std::fs;
use std::path::Path;

/// Publishes a tree without PDFs; none where it has errors.
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
        progress: &Quiet,
    };
    Some(publish(&sources, &checked, &Selection::default(), outlet).unwrap())
}

fn has_ending(path: &str, ending: &str) -> bool {
    Path::new(path).extension().is_some_and(|end| end == ending)
}

/// Changes of a file's text, each of which leaves a tree without errors.
fn changes(path: &str, text: &str) -> Vec<String> {
    let mut changes = Vec::new();
    let mut push = |changed: String| {
        if changed != text {
            changes.push(changed);
        }
    };
    // A remark changes no page.
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
    // The last of its names, too: the first may be used nowhere.
    if let Some(at) = text.rfind("name = \"") {
        push(format!("{}name = \"Y {}", &text[..at], &text[at + 8..]));
    }
    if has_ending(path, "md") {
        push(text.replacen("revision = ", "revision = 9", 1));
        push(text.replacen("minutes = ", "minutes = 1", 1));
        push(text.replacen("interval = \"", "interval = \"every 7 h or ", 1));
        push(text.replacen("\n## ", "\n## Z ", 1));
    }
    if has_ending(path, "svg") {
        push(text.replacen("</svg>", "<path d=\"M0 0h1\"/></svg>", 1));
    }
    changes
}

#[test]
fn after_any_change_the_pages_are_those_of_a_run_from_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let tree = folder.path().join("procedures");
    copy(&root().join("procedures"), &tree);
    let kept = folder.path().join("kept");
    run(&tree, &kept).expect("the demonstration has no errors");
    let mut tried = 0;
    let mut made = 0;
    for (at, (path, bytes)) in files(&tree).into_iter().enumerate() {
        let Ok(text) = String::from_utf8(bytes) else {
            continue;
        };
        // All of them take minutes; each kind of change is tried on a quarter of the files.
        let changes = changes(&path, &text).into_iter().enumerate();
        for (_, changed) in changes.filter(|(kind, _)| (kind + at) % 4 == 0) {
            write(&tree.join(&path), changed);
            if let Some(published) = run(&tree, &kept) {
                tried += 1;
                made += published.files.written;
                let fresh = tempfile::tempdir().unwrap();
                run(&tree, fresh.path()).unwrap();
                assert_same_pages(&kept, &files(fresh.path()));
            }
        }
        // Taken away, where nothing asks for it.
        fs::remove_file(tree.join(&path)).unwrap();
        if has_ending(&path, "md") && run(&tree, &kept).is_some() {
            tried += 1;
            let fresh = tempfile::tempdir().unwrap();
            run(&tree, fresh.path()).unwrap();
            assert_same_pages(&kept, &files(fresh.path()));
        }
        write(&tree.join(&path), text);
    }
    assert!(tried > 30, "only {tried} changes left the tree sound");
    let all = files(&kept).len();
    assert!(
        made < tried * all / 2,
        "{made} pages were written in {tried} runs, of {all} each time"
    );
}

/// Sheets that were printed alone have no way to pages that are not made with them.
#[test]
fn after_some_sheets_were_printed_a_whole_run_makes_what_it_makes_from_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let tree = root().join("procedures");
    let sources = crate::read(&Disk::open(&tree).unwrap());
    let selection = Selection {
        procedures: vec!["float-bowl".to_owned()],
        ..Selection::default()
    };
    let checked = crate::check_jobs(&sources, None, |one| {
        selection
            .includes(&one.job)
            .then(|| crate::sheet::Summary::of(&one.job))
    });
    let (both, alone) = (folder.path().join("both"), folder.path().join("alone"));
    let outlet = Outlet {
        look: &Look::default(),
        pdfs: &Pdfs::NotAsked,
        folder: &both,
        progress: &Quiet,
    };
    publish(&sources, &checked, &selection, outlet).unwrap();
    run(&tree, &both).unwrap();
    run(&tree, &alone).unwrap();
    assert_same_pages(&both, &files(&alone));
}

/// One procedure that is changed costs its own pages and those that name it, and no other.
#[test]
fn one_changed_step_makes_only_the_pages_it_stands_on() {
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
    for path in differ {
        let is_its = path.contains("governor-linkage") || path == "search-index.js";
        assert!(is_its, "{path} was made anew");
    }
}

#[test]
fn without_its_record_or_with_a_spoilt_one_the_output_comes_out_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let output = folder.path().join("output");
    let tree = root().join("procedures");
    run(&tree, &output).unwrap();
    let before = files(&output);
    let record = output.join(".benchleaf/record.json");
    let text = fs::read_to_string(&record).unwrap();
    for spoilt in ["", "{", &text[..text.len() / 2], &text.replace('a', "b")] {
        fs::write(&record, spoilt).unwrap();
        // A page that is out of date must not be kept for want of a record.
        let page = output.join("procedure/float-bowl.html");
        let old = fs::read_to_string(&page).unwrap().replace("Float", "Flaot");
        fs::write(&page, old).unwrap();
        run(&tree, &output).unwrap();
        assert_same_pages(&output, &before);
    }
    fs::remove_file(&record).unwrap();
    let again = run(&tree, &output).unwrap();
    assert_eq!(again.files.written, 0);
    assert_same_pages(&output, &before);
}
