//! Tests of whole writes: several runs, one after another, on one folder.

use super::folder::SIDE;
use super::record::Swap;
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

impl Output {
    fn write(&mut self, files: Vec<(&str, &str)>, whole: bool) -> Result<FileCounts, OutputError> {
        let staged = self.begin()?;
        for (path, text) in files {
            staged.put(path, text.as_bytes(), OutputKey::default())?;
        }
        staged.complete(whole)
    }
}

#[test]
fn a_second_write_of_the_same_writes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = Output::open(folder.path()).unwrap();
    let first = output.write(vec![("a/x.html", "1")], true).unwrap();
    assert_eq!((first.written, first.unchanged), (1, 0));
    let record = folder.path().join(SIDE).join("record.json");
    let before = fs::metadata(&record).unwrap().modified().unwrap();
    let second = output.write(vec![("a/x.html", "1")], true).unwrap();
    assert_eq!((second.written, second.unchanged), (0, 1));
    assert_eq!(fs::metadata(&record).unwrap().modified().unwrap(), before);
}

#[test]
fn what_is_no_longer_made_goes_and_what_is_not_ours_stays() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = Output::open(folder.path()).unwrap();
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
fn a_partial_write_leaves_the_rest_alone() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = Output::open(folder.path()).unwrap();
    output.write(vec![("x", "1"), ("y", "2")], true).unwrap();
    output.write(vec![("x", "3")], false).unwrap();
    assert_eq!(fs::read_to_string(folder.path().join("y")).unwrap(), "2");
    let last = output.write(vec![("x", "3")], true).unwrap();
    assert_eq!(last.removed, 1, "the record still knew of y");
}

#[test]
fn a_file_that_is_not_ours_is_not_written_over() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("x"), "mine").unwrap();
    let mut output = Output::open(folder.path()).unwrap();
    let refused = output.write(vec![("w", "1"), ("x", "2")], true);
    assert!(matches!(refused, Err(OutputError::Foreign { .. })));
    assert_eq!(fs::read_to_string(folder.path().join("x")).unwrap(), "mine");
    assert!(!folder.path().join("w").exists(), "all or none");
}

#[test]
fn a_run_killed_while_files_moved_is_completed_by_the_next() {
    let folder = tempfile::tempdir().unwrap();
    {
        let mut output = Output::open(folder.path()).unwrap();
        output
            .write(vec![("x", "old"), ("y", "old"), ("z", "old")], true)
            .unwrap();
        // Made and listed, and killed after the first of two moves.
        let staged = output.begin().unwrap();
        staged.put("x", b"new", OutputKey::default()).unwrap();
        staged.put("y", b"new", OutputKey::default()).unwrap();
        let (record, moves) = staged.staged();
        let next = folder.path().join(SIDE).join("next");
        record.save(&next).unwrap();
        let swap = Swap {
            moves: moves.clone(),
            removed: vec!["z".to_owned()],
        };
        swap.save(&folder.path().join(SIDE)).unwrap();
        let x = next.join(&moves[0].0);
        fs::rename(x, folder.path().join("x")).unwrap();
    }
    let output = Output::open(folder.path()).unwrap();
    assert_eq!(fs::read_to_string(folder.path().join("x")).unwrap(), "new");
    assert_eq!(fs::read_to_string(folder.path().join("y")).unwrap(), "new");
    assert!(!folder.path().join("z").exists());
    assert_eq!(output.record.files.len(), 2);
}

#[test]
fn two_runs_do_not_write_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let _first = Output::open(folder.path()).unwrap();
    assert!(matches!(
        Output::open(folder.path()),
        Err(OutputError::Busy { .. })
    ));
}

#[test]
fn a_spoilt_record_costs_time_and_nothing_else() {
    let folder = tempfile::tempdir().unwrap();
    Output::open(folder.path())
        .unwrap()
        .write(vec![("x", "1")], true)
        .unwrap();
    fs::write(
        folder.path().join(SIDE).join("record.json"),
        "{\"files\": 3",
    )
    .unwrap();
    let mut output = Output::open(folder.path()).unwrap();
    let again = output.write(vec![("x", "1")], true).unwrap();
    assert_eq!((again.written, again.unchanged), (0, 1));
    // A page of ours is known by its mark, and is written over when it changes.
    let page = format!("<meta content=\"{MARK}\">old");
    output.write(vec![("p", page.as_str())], true).unwrap();
    drop(output);
    fs::remove_file(folder.path().join(SIDE).join("record.json")).unwrap();
    let mut output = Output::open(folder.path()).unwrap();
    let page = format!("<meta content=\"{MARK}\">new");
    assert_eq!(
        output
            .write(vec![("p", page.as_str())], true)
            .unwrap()
            .written,
        1
    );
}

#[test]
fn a_file_that_somebody_put_in_our_place_stays() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = Output::open(folder.path()).unwrap();
    output.write(vec![("x", "1"), ("y", "2")], true).unwrap();
    fs::write(folder.path().join("y"), "mine").unwrap();
    let left = output.write(vec![("x", "1")], true).unwrap();
    assert_eq!(left.removed, 0);
    assert_eq!(fs::read_to_string(folder.path().join("y")).unwrap(), "mine");
    fs::write(folder.path().join("x"), "mine").unwrap();
    let refused = output.write(vec![("x", "3")], true);
    assert!(matches!(refused, Err(OutputError::Foreign { .. })));
}

#[test]
fn nothing_is_written_through_a_link() {
    let folder = tempfile::tempdir().unwrap();
    let elsewhere = tempfile::tempdir().unwrap();
    std::os::unix::fs::symlink(elsewhere.path(), folder.path().join("a")).unwrap();
    let mut output = Output::open(folder.path()).unwrap();
    let refused = output.write(vec![("a/x", "1")], true);
    assert!(matches!(refused, Err(OutputError::Foreign { .. })));
    assert_eq!(fs::read_dir(elsewhere.path()).unwrap().count(), 0);
}

#[test]
fn a_list_of_moves_that_leads_out_of_the_folder_is_not_followed() {
    let folder = tempfile::tempdir().unwrap();
    let inside = folder.path().join("out");
    fs::create_dir_all(inside.join(SIDE).join("next")).unwrap();
    fs::write(folder.path().join("keep"), "mine").unwrap();
    fs::write(inside.join(SIDE).join("next/0"), "bad").unwrap();
    let swap = r#"{"moves": [["0", "../bad"]], "removed": ["../keep"]}"#;
    fs::write(inside.join(SIDE).join("swap.json"), swap).unwrap();
    Output::open(&inside).unwrap();
    assert!(folder.path().join("keep").exists());
    assert!(!folder.path().join("bad").exists());
}

#[test]
fn a_file_is_kept_by_its_key_while_it_is_as_it_was_written() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = Output::open(folder.path()).unwrap();
    let staged = output.begin().unwrap();
    assert!(!staged.keep("x", &key("1"), |_| true), "there is none");
    staged.put("x", b"one", key("1")).unwrap();
    staged.complete(true).unwrap();
    let staged = output.begin().unwrap();
    assert!(!staged.keep("x", &key("2"), |old| *old == key("2")));
    assert!(staged.keep("x", &key("2"), |old| *old == key("1")));
    staged.complete(true).unwrap();
    let staged = output.begin().unwrap();
    assert!(
        staged.keep("x", &key("2"), |old| *old == key("2")),
        "by its new key"
    );
    staged.complete(true).unwrap();
    // Written to by somebody, with the same length.
    fs::write(folder.path().join("x"), "two").unwrap();
    let staged = output.begin().unwrap();
    assert!(!staged.keep("x", &key("2"), |old| *old == key("2")));
    drop(staged);
    // A copy has another time, and the same content.
    fs::write(folder.path().join("x"), "one").unwrap();
    let staged = output.begin().unwrap();
    assert!(staged.keep("x", &key("2"), |old| *old == key("2")));
}

#[test]
fn a_page_that_somebody_changed_is_made_anew_and_counted() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = Output::open(folder.path()).unwrap();
    let page = format!("<meta content=\"{MARK}\">");
    output.write(vec![("x", &page), ("y", "1")], true).unwrap();
    fs::write(folder.path().join("x"), format!("{page} mine")).unwrap();
    let again = output.write(vec![("x", &page), ("y", "2")], true).unwrap();
    assert_eq!((again.written, again.restored), (2, 1));
}

#[test]
fn two_files_do_not_stand_in_one_place() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = Output::open(folder.path()).unwrap();
    let refused = output.write(vec![("x", "1"), ("x", "2")], true);
    assert!(matches!(refused, Err(OutputError::Twice { path }) if path == "x"));
}

#[test]
fn a_write_that_is_dropped_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = Output::open(folder.path()).unwrap();
    output.write(vec![("x", "1")], true).unwrap();
    let staged = output.begin().unwrap();
    staged.put("x", b"2", OutputKey::default()).unwrap();
    drop(staged);
    drop(output);
    let mut output = Output::open(folder.path()).unwrap();
    assert_eq!(fs::read_to_string(folder.path().join("x")).unwrap(), "1");
    let again = output.write(vec![("x", "1")], true).unwrap();
    assert_eq!((again.written, again.unchanged), (0, 1));
}

#[test]
fn without_a_record_pages_that_are_no_longer_made_go_and_copies_stay() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = Output::open(folder.path()).unwrap();
    let old = format!("<meta content=\"{MARK}\">old");
    let before = vec![("a/old.html", old.as_str()), ("a/x.html", "1")];
    output.write(before, true).unwrap();
    drop(output);
    fs::remove_file(folder.path().join(SIDE).join("record.json")).unwrap();
    fs::write(folder.path().join("a/mine.html"), "mine").unwrap();
    let copy = folder.path().join("last-year");
    fs::create_dir(&copy).unwrap();
    fs::write(copy.join("old.html"), &old).unwrap();
    let mut output = Output::open(folder.path()).unwrap();
    let last = output.write(vec![("a/x.html", "1")], true).unwrap();
    assert_eq!(last.removed, 1);
    assert!(!folder.path().join("a/old.html").exists());
    assert!(folder.path().join("a/mine.html").exists());
    assert!(copy.join("old.html").exists());
}

#[test]
fn a_folder_where_a_file_has_to_be_is_named() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("x")).unwrap();
    fs::write(folder.path().join("y"), "mine").unwrap();
    let mut output = Output::open(folder.path()).unwrap();
    for path in ["x", "y/z"] {
        let refused = output.write(vec![(path, "1")], true);
        assert!(
            matches!(refused, Err(OutputError::Foreign { .. })),
            "{path}"
        );
    }
}

/// One letter of a key that was turned could make an old file pass for a new one.
#[test]
fn a_record_with_one_letter_changed_is_not_used() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = Output::open(folder.path()).unwrap();
    let staged = output.begin().unwrap();
    staged.put("x", b"1", key("1")).unwrap();
    staged.complete(true).unwrap();
    drop(output);
    let path = folder.path().join(SIDE).join("record.json");
    let text = fs::read_to_string(&path).unwrap();
    let inputs = key("1").inputs.unwrap().to_string();
    assert!(text.contains(&inputs));
    fs::write(&path, text.replace(&inputs, &inputs.replace('a', "b"))).unwrap();
    let output = Output::open(folder.path()).unwrap();
    assert!(output.record.files.is_empty());
}

/// Makes `count` threads that do something at the same moment, and counts those that succeed.
fn at_once(count: usize, action: impl Fn(usize) -> bool + Sync) -> usize {
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
        let ended = threads.into_iter().map(|thread| thread.join().unwrap());
        ended.filter(|succeeded| *succeeded).count()
    })
}

#[test]
fn of_several_threads_one_adds_a_file_at_a_path() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = Output::open(folder.path()).unwrap();
    let staged = output.begin().unwrap();
    for path in ["a", "b", "c", "d"] {
        let added = at_once(8, |number| {
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
fn a_file_that_several_threads_keep_or_add_is_in_the_run_once() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = Output::open(folder.path()).unwrap();
    for round in 0..8 {
        output.write(vec![("x", "1")], true).unwrap();
        let staged = output.begin().unwrap();
        let added = at_once(8, |number| {
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

/// Writes `x` for one key, and returns the output as a run that verifies opens it.
fn verifying(folder: &Path) -> Output {
    let mut output = Output::open(folder).unwrap();
    let staged = output.begin().unwrap();
    staged.put("x", b"one", key("1")).unwrap();
    staged.complete(true).unwrap();
    output.verify = true;
    output
}

#[test]
fn verification_makes_a_file_again_that_would_be_kept() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = verifying(folder.path());
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
fn verification_catches_other_bytes_for_the_same_key() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = verifying(folder.path());
    let staged = output.begin().unwrap();
    staged.keep("x", &key("1"), |old| *old == key("1"));
    let _ = staged.put("x", b"two", key("1"));
}

#[test]
#[should_panic(expected = "was not made anew")]
fn verification_catches_a_file_that_is_not_made_again() {
    let folder = tempfile::tempdir().unwrap();
    let mut output = verifying(folder.path());
    let staged = output.begin().unwrap();
    staged.keep("x", &key("1"), |old| *old == key("1"));
    let _ = staged.complete(true);
}
