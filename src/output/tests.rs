//! Tests of consecutive runs on the same folder.

mod foreign;
mod stopped;

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
