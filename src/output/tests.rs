//! Tests of consecutive runs on the same folder.

use super::record::{METADATA, Stamp, WrittenFile};
use super::swap::{Move, Removal, Swap};
use super::*;
use std::fs;
use std::path::Path;
use std::sync::Barrier;

fn key(inputs: &str) -> OutputKey {
    OutputKey {
        inputs: Some(Fingerprint::of_bytes(inputs.as_bytes())),
        ..OutputKey::default()
    }
}

fn open(folder: &Path) -> Result<Output, OutputError> {
    Output::open(folder, OutputSettings::TEMPORARY)
}

/// The text of a file in a folder. Empty if there is none.
fn text(folder: &Path, path: &str) -> String {
    fs::read_to_string(folder.join(path)).unwrap_or_default()
}

fn aside(path: &str, to: &str) -> MovedAside {
    let (path, to) = (path.to_owned(), to.to_owned());
    MovedAside { path, to }
}

/// A page as benchleaf makes them.
fn page(content: &str) -> String {
    format!("<meta content=\"{MARK}\">{content}")
}

impl Output {
    fn write(
        &mut self,
        files: Vec<(&str, &str)>,
        is_whole: bool,
    ) -> Result<FileChanges, OutputError> {
        let staged = self.begin()?;
        for (path, text) in files {
            staged.put(path, text.as_bytes(), OutputKey::default())?;
        }
        staged.complete(is_whole)
    }
}

#[test]
fn second_write_of_the_same_files_writes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = open(folder.path()).unwrap();
    let first = output.write(vec![("a/x.html", "1")], true).unwrap();
    assert_eq!((first.written, first.unchanged), (1, 0));
    let record = folder.path().join(METADATA).join("record.json");
    let before = fs::metadata(&record).unwrap().modified().unwrap();
    let second = output.write(vec![("a/x.html", "1")], true).unwrap();
    assert_eq!((second.written, second.unchanged), (0, 1));
    assert_eq!(fs::metadata(&record).unwrap().modified().unwrap(), before);
}

#[test]
fn outdated_files_are_removed_and_foreign_files_stay() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = open(folder.path()).unwrap();
    output
        .write(vec![("a/x", "1"), ("b/y", "2")], true)
        .unwrap();
    fs::write(folder.path().join("b/mine"), "mine").unwrap();
    let third = output.write(vec![("a/x", "1")], true).unwrap();
    assert_eq!(third.removed, 1);
    assert!(!folder.path().join("b/y").exists());
    assert_eq!(
        fs::read_to_string(folder.path().join("b/mine")).unwrap(),
        "mine"
    );
}

#[test]
fn partial_write_keeps_other_files() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = open(folder.path()).unwrap();
    output.write(vec![("x", "1"), ("y", "2")], true).unwrap();
    output.write(vec![("x", "3")], false).unwrap();
    assert_eq!(fs::read_to_string(folder.path().join("y")).unwrap(), "2");
    let last = output.write(vec![("x", "3")], true).unwrap();
    assert_eq!(last.removed, 1, "y must still be in the record");
}

#[test]
fn foreign_file_is_not_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("x"), "mine").unwrap();
    let mut output = open(folder.path()).unwrap();
    let refused = output.write(vec![("w", "1"), ("x", "2")], true);
    assert!(matches!(refused, Err(OutputError::Foreign { .. })));
    assert_eq!(fs::read_to_string(folder.path().join("x")).unwrap(), "mine");
    assert!(
        !folder.path().join("w").exists(),
        "a failed run must write nothing"
    );
}

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

#[test]
fn second_run_on_a_locked_folder_is_an_error() {
    let folder = tempfile::tempdir().unwrap();
    let _first = open(folder.path()).unwrap();
    assert!(matches!(open(folder.path()), Err(OutputError::Busy { .. })));
}

#[test]
fn files_are_recognized_without_a_valid_record() {
    let folder = tempfile::tempdir().unwrap();
    let record = folder.path().join(METADATA).join("record.json");
    let first = open(folder.path()).unwrap().write(vec![("x", "1")], true);
    first.unwrap();
    fs::write(record, "{\"files\": 3").unwrap();
    let mut output = open(folder.path()).unwrap();
    let again = output.write(vec![("x", "1")], true).unwrap();
    assert_eq!((again.written, again.unchanged), (0, 1));
    assert_eq!((again.moved_aside, again.left), (vec![], vec![]));
}

/// A checklist that a reader filled in and saved has the same mark as the page it was saved from.
#[test]
fn without_a_record_nothing_is_removed_or_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    let (one, two) = (page("one"), page("two"));
    let before = vec![
        ("a/gone.html", &*one),
        ("a/kept.html", &one),
        ("a/new.html", &one),
    ];
    let mut output = open(folder.path()).unwrap();
    output.write(before, true).unwrap();
    drop(output);
    fs::remove_dir_all(folder.path().join(METADATA)).unwrap();
    let saved = page("one, filled in");
    fs::write(folder.path().join("a/saved.html"), &saved).unwrap();
    fs::write(folder.path().join("a/mine.html"), "mine").unwrap();
    let copy = folder.path().join("last-year");
    fs::create_dir(&copy).unwrap();
    fs::write(copy.join("gone.html"), &one).unwrap();
    let mut output = open(folder.path()).unwrap();
    let after = vec![("a/kept.html", &*one), ("a/new.html", &two)];
    let changes = output.write(after, true).unwrap();
    assert_eq!(
        (changes.written, changes.unchanged, changes.removed),
        (1, 1, 0)
    );
    assert_eq!(changes.left, ["a/gone.html", "a/saved.html"]);
    let moved = aside("a/new.html", "moved-aside/a/new.html");
    assert_eq!(changes.moved_aside, [moved]);
    for (path, expected) in [
        ("a/gone.html", &*one),
        ("a/kept.html", &one),
        ("a/new.html", &two),
        ("a/saved.html", &saved),
        ("a/mine.html", "mine"),
        ("last-year/gone.html", &one),
        ("moved-aside/a/new.html", &one),
    ] {
        assert_eq!(text(folder.path(), path), expected, "{path}");
    }
}

#[test]
fn changed_file_is_moved_aside_and_made_again() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = open(folder.path()).unwrap();
    output
        .write(vec![("a/x", "1"), ("y", "1"), ("z", "1")], true)
        .unwrap();
    for (round, name) in ["moved-aside", "moved-aside-2"].into_iter().enumerate() {
        let mine = format!("mine {round}");
        fs::write(folder.path().join("a/x"), &mine).unwrap();
        // An empty file is what a power failure can leave.
        fs::write(folder.path().join("y"), "").unwrap();
        let next = format!("new {round}");
        let files = vec![("a/x", "1"), ("y", &*next), ("z", "1")];
        let changes = output.write(files, true).unwrap();
        let expected = [
            aside("a/x", &format!("{name}/a/x")),
            aside("y", &format!("{name}/y")),
        ];
        assert_eq!(changes.moved_aside, expected);
        assert_eq!((changes.written, changes.unchanged), (2, 1));
        assert_eq!(text(folder.path(), "a/x"), "1");
        assert_eq!(text(folder.path(), &format!("{name}/a/x")), mine);
    }
}

#[test]
fn changed_file_that_is_no_longer_made_stays() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = open(folder.path()).unwrap();
    output.write(vec![("x", "1"), ("y", "2")], true).unwrap();
    fs::write(folder.path().join("y"), "mine").unwrap();
    let changes = output.write(vec![("x", "1")], true).unwrap();
    assert_eq!((changes.removed, changes.left), (0, vec!["y".to_owned()]));
    assert_eq!(text(folder.path(), "y"), "mine");
}

/// A damaged disk or a copy tool can change the content of a file and not its size or time.
#[test]
fn rehashing_finds_damage_that_size_and_time_do_not_show() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = open(folder.path()).unwrap();
    let files = [("x", "sound"), ("y", "sound"), ("z", "sound")];
    output.write(files.to_vec(), true).unwrap();
    let file = folder.path().join("x");
    let modified = fs::metadata(&file).unwrap().modified().unwrap();
    fs::write(&file, "\0\0\0\0\0").unwrap();
    let opened = fs::File::options().write(true).open(&file).unwrap();
    opened.set_modified(modified).unwrap();
    let unseen = output.write(files.to_vec(), true).unwrap();
    assert_eq!((unseen.written, unseen.unchanged), (0, 3));
    drop(output);
    let settings = OutputSettings {
        rehashes: true,
        ..OutputSettings::TEMPORARY
    };
    let mut output = Output::open(folder.path(), settings).unwrap();
    let staged = output.begin().unwrap();
    assert!(!staged.keep("x", &OutputKey::default(), |_| true));
    assert!(staged.keep("y", &OutputKey::default(), |_| true));
    staged.put("x", b"sound", OutputKey::default()).unwrap();
    staged.put("z", b"sound", OutputKey::default()).unwrap();
    let changes = staged.complete(true).unwrap();
    assert_eq!((changes.written, changes.unchanged), (1, 2));
    assert_eq!(changes.moved_aside, [aside("x", "moved-aside/x")]);
    assert_eq!(text(folder.path(), "x"), "sound");
}

#[test]
fn synced_write_gives_the_same_files() {
    let folder = tempfile::tempdir().unwrap();
    let settings = OutputSettings {
        sync: Syncing::On,
        rehashes: false,
    };
    let mut output = Output::open(folder.path(), settings).unwrap();
    // More files than are synced one by one, and then fewer.
    let paths: Vec<String> = (0..40).map(|number| format!("a/b/{number}")).collect();
    let many: Vec<(&str, &str)> = paths.iter().map(|path| (path.as_str(), "1")).collect();
    assert_eq!(output.write(many, true).unwrap().written, 40);
    let changes = output.write(vec![("c/d", "2")], true).unwrap();
    assert_eq!((changes.written, changes.removed), (1, 40));
    assert_eq!(text(folder.path(), "c/d"), "2");
}

#[test]
fn staged_files_are_private_and_a_dropped_write_leaves_none() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = tempfile::tempdir().unwrap();
    let mut output = open(folder.path()).unwrap();
    let staged = output.begin().unwrap();
    staged.put("x", b"1", OutputKey::default()).unwrap();
    let next = folder.path().join(METADATA).join("next");
    let mode = fs::metadata(&next).unwrap().permissions().mode();
    assert_eq!(mode & 0o777, 0o700);
    drop(staged);
    assert!(!next.exists());
}

#[test]
fn symbolic_link_is_not_followed() {
    let folder = tempfile::tempdir().unwrap();
    let elsewhere = tempfile::tempdir().unwrap();
    std::os::unix::fs::symlink(elsewhere.path(), folder.path().join("a")).unwrap();
    let mut output = open(folder.path()).unwrap();
    let refused = output.write(vec![("a/x", "1")], true);
    assert!(matches!(refused, Err(OutputError::Foreign { .. })));
    assert_eq!(fs::read_dir(elsewhere.path()).unwrap().count(), 0);
}

#[test]
fn swap_with_paths_outside_the_folder_is_ignored() {
    let outer = tempfile::tempdir().unwrap();
    let folder = outer.path().join("out");
    let metadata = folder.join(METADATA);
    fs::create_dir_all(metadata.join("next")).unwrap();
    fs::write(outer.path().join("keep"), "mine").unwrap();
    fs::write(metadata.join("next/0"), "bad").unwrap();
    let before = WrittenFile {
        digest: Fingerprint::of_bytes(b"mine"),
        stamp: Stamp::default(),
    };
    let swap = Swap {
        moves: vec![Move {
            from: "0".to_owned(),
            to: "../bad".to_owned(),
            before: None,
        }],
        removed: vec![Removal {
            path: "../keep".to_owned(),
            before,
        }],
    };
    swap.save(&metadata, Syncing::Off).unwrap();
    open(&folder).unwrap();
    assert!(outer.path().join("keep").exists());
    assert!(!outer.path().join("bad").exists());
}

#[test]
fn unchanged_file_with_the_same_key_is_kept() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = open(folder.path()).unwrap();
    let staged = output.begin().unwrap();
    assert!(
        !staged.keep("x", &key("1"), |_| true),
        "there is no file to keep"
    );
    staged.put("x", b"one", key("1")).unwrap();
    staged.complete(true).unwrap();
    let staged = output.begin().unwrap();
    assert!(!staged.keep("x", &key("2"), |old| *old == key("2")));
    assert!(staged.keep("x", &key("2"), |old| *old == key("1")));
    staged.complete(true).unwrap();
    let staged = output.begin().unwrap();
    assert!(
        staged.keep("x", &key("2"), |old| *old == key("2")),
        "the new key must be recorded"
    );
    staged.complete(true).unwrap();
    // Somebody changes the file without changing its length.
    fs::write(folder.path().join("x"), "two").unwrap();
    let staged = output.begin().unwrap();
    assert!(!staged.keep("x", &key("2"), |old| *old == key("2")));
    drop(staged);
    // The content is the same again, but the time is not, as in a copy.
    fs::write(folder.path().join("x"), "one").unwrap();
    let staged = output.begin().unwrap();
    assert!(staged.keep("x", &key("2"), |old| *old == key("2")));
}

#[test]
fn second_file_at_the_same_path_is_an_error() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = open(folder.path()).unwrap();
    let refused = output.write(vec![("x", "1"), ("x", "2")], true);
    assert!(matches!(refused, Err(OutputError::Twice { path }) if path == "x"));
}

#[test]
fn dropped_write_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = open(folder.path()).unwrap();
    output.write(vec![("x", "1")], true).unwrap();
    let staged = output.begin().unwrap();
    staged.put("x", b"2", OutputKey::default()).unwrap();
    drop(staged);
    drop(output);
    let mut output = open(folder.path()).unwrap();
    assert_eq!(fs::read_to_string(folder.path().join("x")).unwrap(), "1");
    let again = output.write(vec![("x", "1")], true).unwrap();
    assert_eq!((again.written, again.unchanged), (0, 1));
}

#[test]
fn folder_in_place_of_a_file_is_an_error() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("x")).unwrap();
    fs::write(folder.path().join("y"), "mine").unwrap();
    let mut output = open(folder.path()).unwrap();
    for path in ["x", "y/z"] {
        let refused = output.write(vec![(path, "1")], true);
        assert!(
            matches!(refused, Err(OutputError::Foreign { .. })),
            "{path}"
        );
    }
}

/// A record that can't be read at the moment is not lost: its files are not moved aside.
#[test]
fn record_that_can_not_be_read_is_an_error() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = open(folder.path()).unwrap();
    output.write(vec![("x", "1")], true).unwrap();
    drop(output);
    let record = folder.path().join(METADATA).join("record.json");
    fs::remove_file(&record).unwrap();
    // A link in a circle: every user gets an error.
    std::os::unix::fs::symlink(&record, &record).unwrap();
    let error = open(folder.path()).unwrap_err();
    assert!(matches!(error, OutputError::Io { doing: "read", .. }));
    assert_eq!(text(folder.path(), "x"), "1");
}

/// Without the checksum, a damaged key could make an outdated file look current.
#[test]
fn damaged_record_is_not_used() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = open(folder.path()).unwrap();
    let staged = output.begin().unwrap();
    staged.put("x", b"1", key("1")).unwrap();
    staged.complete(true).unwrap();
    drop(output);
    let path = folder.path().join(METADATA).join("record.json");
    let text = fs::read_to_string(&path).unwrap();
    let inputs = key("1").inputs.unwrap().to_string();
    assert!(text.contains(&inputs));
    fs::write(&path, text.replace(&inputs, &inputs.replace('a', "b"))).unwrap();
    let output = open(folder.path()).unwrap();
    assert!(output.record.files.is_empty());
}

/// Runs an action on `count` threads at the same time, and counts the threads where it returns true.
fn run_in_parallel(count: usize, action: impl Fn(usize) -> bool + Sync) -> usize {
    let start = Barrier::new(count);
    std::thread::scope(|scope| {
        let (start, action) = (&start, &action);
        let threads = (0..count).map(|number| {
            scope.spawn(move || {
                start.wait();
                action(number)
            })
        });
        let threads: Vec<_> = threads.collect();
        let results = threads.into_iter().map(|thread| thread.join().unwrap());
        results.filter(|succeeded| *succeeded).count()
    })
}

#[test]
fn only_one_thread_can_add_a_file_at_a_path() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = open(folder.path()).unwrap();
    let staged = output.begin().unwrap();
    for path in ["a", "b", "c", "d"] {
        let added = run_in_parallel(8, |number| {
            let text = format!("{number}");
            match staged.put(path, text.as_bytes(), OutputKey::default()) {
                Ok(()) => true,
                Err(OutputError::Twice { .. }) => false,
                Err(error) => panic!("{error}"),
            }
        });
        assert_eq!(added, 1, "{path}");
    }
    let counts = staged.complete(true).unwrap();
    assert_eq!((counts.written, counts.unchanged), (4, 0));
}

#[test]
fn file_kept_or_added_by_several_threads_is_added_once() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = open(folder.path()).unwrap();
    for round in 0..8 {
        output.write(vec![("x", "1")], true).unwrap();
        let staged = output.begin().unwrap();
        let added = run_in_parallel(8, |number| {
            if (number + round) % 2 == 0 {
                staged.keep("x", &OutputKey::default(), |_| true)
            } else {
                staged.put("x", b"1", OutputKey::default()).is_ok()
            }
        });
        assert_eq!(added, 1);
        assert_eq!(staged.complete(true).unwrap().unchanged, 1);
    }
}

/// Writes `x` with the key `1`, then turns on verification.
fn verifying_output(folder: &Path) -> Output {
    let mut output = open(folder).unwrap();
    let staged = output.begin().unwrap();
    staged.put("x", b"one", key("1")).unwrap();
    staged.complete(true).unwrap();
    output.verify = true;
    output
}

#[test]
fn verification_does_not_keep_files() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = verifying_output(folder.path());
    let staged = output.begin().unwrap();
    assert!(!staged.keep("x", &key("1"), |old| *old == key("1")));
    staged.put("x", b"one", key("1")).unwrap();
    assert_eq!(staged.complete(true).unwrap().unchanged, 1);
    let staged = output.begin().unwrap();
    assert!(staged.keep_unverified("x", &key("1"), |old| *old == key("1")));
    assert_eq!(staged.complete(true).unwrap().unchanged, 1);
}

#[test]
#[should_panic(expected = "differs from the file made anew")]
fn verification_detects_different_bytes_for_the_same_key() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = verifying_output(folder.path());
    let staged = output.begin().unwrap();
    staged.keep("x", &key("1"), |old| *old == key("1"));
    let _ = staged.put("x", b"two", key("1"));
}

#[test]
#[should_panic(expected = "was not made anew")]
fn verification_detects_a_file_that_is_not_made_again() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = verifying_output(folder.path());
    let staged = output.begin().unwrap();
    staged.keep("x", &key("1"), |old| *old == key("1"));
    let _ = staged.complete(true);
}
