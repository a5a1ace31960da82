//! Tests of files in the output that benchleaf did not write as they are.

use super::*;

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
