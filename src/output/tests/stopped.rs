//! Tests of runs that were stopped while they moved files.

use super::*;

/// Writes `x`, `y` and `z`. Then begins a run that changes `x` and `y` and no longer has `z`, and stops it when `count` of
/// its moves are done.
fn stopped_run(folder: &Path, count: usize) {
    let mut output = open(folder).unwrap();
    let before = vec![("x", "old"), ("y", "old"), ("a/z", "old")];
    output.write(before, true).unwrap();
    let z = output.record.files["a/z"].written;
    let staged = output.begin().unwrap();
    staged.put("x", b"new", OutputKey::default()).unwrap();
    staged.put("y", b"new", OutputKey::default()).unwrap();
    let (record, moves) = staged.record_and_moves();
    let next = folder.join(METADATA).join("next");
    record.save(&next).unwrap();
    for Move { from, to, .. } in &moves[..count] {
        fs::rename(next.join(from), folder.join(to)).unwrap();
    }
    let removed = vec![Removal {
        path: "a/z".to_owned(),
        before: z,
    }];
    let swap = Swap { moves, removed };
    swap.save(&folder.join(METADATA), Syncing::Off).unwrap();
    staged.next.keep();
}

#[test]
fn next_run_completes_a_run_that_was_stopped_while_it_moved_files() {
    for count in 0..=2 {
        let folder = tempfile::tempdir().unwrap();
        stopped_run(folder.path(), count);
        let changes =
            Output::complete_stopped_run(folder.path(), OutputSettings::TEMPORARY).unwrap();
        assert_eq!(changes, Some(FileChanges::default()));
        assert_eq!(text(folder.path(), "x"), "new");
        assert_eq!(text(folder.path(), "y"), "new");
        assert!(!folder.path().join("a").exists());
        assert_eq!(open(folder.path()).unwrap().record.files.len(), 2);
        let again = Output::complete_stopped_run(folder.path(), OutputSettings::TEMPORARY);
        assert_eq!(again.unwrap(), None, "there is nothing left to complete");
    }
}

/// What is done between the two runs belongs to the user.
#[test]
fn completing_a_stopped_run_keeps_files_that_were_saved_meanwhile() {
    let folder = tempfile::tempdir().unwrap();
    stopped_run(folder.path(), 1);
    for path in ["x", "y", "a/z"] {
        fs::write(folder.path().join(path), "mine").unwrap();
    }
    let changes = Output::complete_stopped_run(folder.path(), OutputSettings::TEMPORARY);
    let changes = changes.unwrap().unwrap();
    assert_eq!(changes.moved_aside, [aside("y", "moved-aside/y")]);
    assert_eq!(changes.left, ["a/z"]);
    // `x` was in place before it was changed.
    for path in ["x", "moved-aside/y", "a/z"] {
        assert_eq!(text(folder.path(), path), "mine", "{path}");
    }
    assert_eq!(text(folder.path(), "y"), "new");
}

#[test]
fn run_that_can_not_be_completed_says_so_and_is_completed_later() {
    let folder = tempfile::tempdir().unwrap();
    stopped_run(folder.path(), 0);
    // A file in place of the folder that files are moved aside to.
    fs::write(folder.path().join("y"), "mine").unwrap();
    for name in ["moved-aside", "moved-aside/y"] {
        assert!(!folder.path().join(name).exists());
    }
    fs::write(folder.path().join("moved-aside"), "").unwrap();
    let error = open(folder.path()).unwrap_err();
    assert!(matches!(error, OutputError::HalfNew { .. }));
    assert!(error.to_string().contains("half new"), "{error}");
    fs::remove_file(folder.path().join("moved-aside")).unwrap();
    open(folder.path()).unwrap();
    assert_eq!(text(folder.path(), "y"), "new");
    assert_eq!(text(folder.path(), "moved-aside/y"), "mine");
}

/// New files come before those that link to them, and the files at the root come last, so that a half-new output can
/// be used.
#[test]
fn new_files_are_moved_before_changed_ones_and_removals_come_last() {
    let paths = ["b/new", "a/page", "index.html"];
    for (blocked, is_new) in [("b", 0), ("a/page", 1), ("index.html", 2)] {
        let folder = tempfile::tempdir().unwrap();
        let before = vec![("index.html", "old"), ("a/old", "old"), ("a/page", "old")];
        let mut output = open(folder.path()).unwrap();
        output.write(before, true).unwrap();
        let staged = output.begin().unwrap();
        for path in paths {
            staged.put(path, b"new", OutputKey::default()).unwrap();
        }
        // What stands in the way after the check can't be moved aside, because this name is taken.
        fs::write(folder.path().join("moved-aside"), "").unwrap();
        let _ = fs::remove_file(folder.path().join(blocked));
        if blocked == "b" {
            fs::write(folder.path().join("b"), "mine").unwrap();
        } else {
            fs::create_dir(folder.path().join(blocked)).unwrap();
        }
        let error = staged.complete(true).unwrap_err();
        assert!(matches!(error, OutputError::HalfNew { .. }), "{error}");
        let done = paths.map(|path| text(folder.path(), path) == "new");
        let expected: Vec<bool> = (0..3).map(|number| number < is_new).collect();
        assert_eq!(done.to_vec(), expected, "{blocked}");
        assert!(folder.path().join("a/old").exists());
    }
}
