//! What happens to the files of the output folder: when somebody changed them, when a run is stopped, and when the
//! sources change meanwhile. `cargo xtask faults` stops runs at every step.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

#[path = "support/program.rs"]
mod program;
mod support;

use program::benchleaf;
use std::fs;
use std::os::unix::fs::PermissionsExt as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread::sleep;
use std::time::Duration;
use support::{assert_same_pages, copy, files, output_text, shop, typst, write};

const PAGE: &str = "hand-pump/cover-bench-checklist.html";

fn run(folder: &Path, arguments: &[&str]) -> (String, String, i32) {
    output_text(&benchleaf(folder).args(arguments).output().unwrap())
}

/// Publishes without PDFs, and returns what is printed to standard error.
fn publish(folder: &Path, options: &[&str]) -> String {
    let arguments = [&["publish", "--html-only"], options].concat();
    let (_, stderr, status) = run(folder, &arguments);
    assert_eq!(status, 0, "{stderr}");
    stderr
}

/// Publishes with PDFs, and returns what is printed to standard error.
fn publish_with(folder: &Path, typst: &Path) -> String {
    let mut command = benchleaf(folder);
    command.args(["publish", "--typst"]).arg(typst);
    let (_, stderr, status) = output_text(&command.output().unwrap());
    assert_eq!(status, 0, "{stderr}");
    stderr
}

/// Makes the title of the procedure longer, so that its pages change.
fn change_title(folder: &Path) {
    let file = folder.join("procedures/air/cover.md");
    let text = fs::read_to_string(&file).unwrap();
    let changed = text.replacen("title = \"Cover", "title = \"Cover: cover", 1);
    assert_ne!(changed, text);
    write(&file, changed);
}

#[test]
fn changed_page_is_moved_aside_and_named() {
    let folder = shop();
    publish(folder.path(), &[]);
    let page = folder.path().join("output").join(PAGE);
    let before = fs::read_to_string(&page).unwrap();
    write(&page, "mine");
    let stderr = publish(folder.path(), &[]);
    insta::assert_snapshot!(stderr, @r"
    1 file had been changed since benchleaf wrote it, and was moved aside; to change a page, edit the sources
      output/hand-pump/cover-bench-checklist.html is now output/moved-aside/hand-pump/cover-bench-checklist.html
    ");
    assert_eq!(fs::read_to_string(&page).unwrap(), before);
    let aside = folder.path().join("output/moved-aside").join(PAGE);
    assert_eq!(fs::read_to_string(&aside).unwrap(), "mine");
    assert_eq!(publish(folder.path(), &[]), "", "it is named once");
    assert_eq!(fs::read_to_string(&aside).unwrap(), "mine");
}

/// A checklist that a reader filled in and saved as a page has the same mark as the page that benchleaf made.
#[test]
fn copy_of_the_output_without_its_record_loses_no_file() {
    let folder = shop();
    publish(folder.path(), &[]);
    let output = folder.path().join("output");
    fs::remove_dir_all(output.join(".benchleaf")).unwrap();
    let saved = fs::read_to_string(output.join(PAGE)).unwrap() + "<!-- filled in -->";
    write(&output.join("hand-pump/saved.html"), &saved);
    let before = files(&output);
    change_title(folder.path());
    let stderr = publish(folder.path(), &[]);
    assert!(
        stderr.contains("1 file may be outdated") && stderr.contains("output/hand-pump/saved.html"),
        "{stderr}"
    );
    let after = files(&output);
    for (path, bytes) in before {
        let aside = format!("moved-aside/{path}");
        let is_there =
            |file: &&(String, Vec<u8>)| file.1 == bytes && [&path, &aside].contains(&&file.0);
        assert!(after.iter().any(|file| is_there(&file)), "{path} is lost");
    }
}

#[test]
fn verify_finds_damage_that_size_and_time_do_not_show() {
    let folder = shop();
    publish(folder.path(), &[]);
    let output = folder.path().join("output");
    let before = files(&output);
    let page = output.join(PAGE);
    let metadata = fs::metadata(&page).unwrap();
    let zeroed = vec![0; usize::try_from(metadata.len()).unwrap()];
    write(&page, &zeroed);
    let opened = fs::File::options().write(true).open(&page).unwrap();
    opened.set_modified(metadata.modified().unwrap()).unwrap();
    assert_eq!(publish(folder.path(), &[]), "", "nothing shows the damage");
    let stderr = publish(folder.path(), &["--verify"]);
    assert!(
        stderr.contains(&format!("output/{PAGE} is now output/moved-aside/{PAGE}")),
        "{stderr}"
    );
    assert_eq!(
        fs::read(output.join("moved-aside").join(PAGE)).unwrap(),
        zeroed
    );
    fs::remove_dir_all(output.join("moved-aside")).unwrap();
    assert_same_pages(&output, &before);
    assert_eq!(publish(folder.path(), &["--verify"]), "");
}

/// Makes a run fail after its last move: the record can't be replaced.
fn stopped_run(folder: &Path) -> PathBuf {
    publish(folder, &[]);
    change_title(folder);
    let record = folder.join("output/.benchleaf/record.json");
    fs::rename(&record, folder.join("record")).unwrap();
    fs::create_dir_all(record.join("full")).unwrap();
    record
}

#[test]
fn run_that_was_stopped_is_completed_even_if_the_sources_have_errors() {
    let folder = shop();
    let record = stopped_run(folder.path());
    let (_, stderr, status) = run(folder.path(), &["publish", "--html-only"]);
    assert_eq!(status, 2);
    assert!(
        stderr.contains("`output` is half new and half old: can't write `output/.benchleaf`"),
        "{stderr}"
    );
    // As long as it can't be completed, no command does anything else.
    for command in [
        &["publish"][..],
        &["print", "--machine", "hand-pump"],
        &["kit", "--procedure", "cover"],
        &["bind"],
    ] {
        let (_, again, status) = run(folder.path(), command);
        assert_eq!(
            (again.as_str(), status),
            (stderr.as_str(), 2),
            "{command:?}"
        );
    }
    fs::remove_dir_all(&record).unwrap();
    write(&folder.path().join("procedures/tools.toml"), "[tool");
    let (_, stderr, status) = run(folder.path(), &["publish", "--html-only"]);
    assert_eq!(status, 1);
    assert!(
        stderr.starts_with("completed the run that was stopped while it moved files to output\n"),
        "{stderr}"
    );
    let (_, stderr, status) = run(folder.path(), &["publish", "--html-only"]);
    assert_eq!(status, 1);
    assert!(!stderr.contains("completed"), "{stderr}");
}

/// The pages do not depend on whether they are written to the disk.
#[test]
fn files_that_are_not_synced_are_the_same() {
    let (folder, other) = (shop(), shop());
    publish(folder.path(), &[]);
    publish(other.path(), &["--no-sync"]);
    let other = files(&other.path().join("output"));
    assert_same_pages(&folder.path().join("output"), &other);
}

/// A program in place of Typst that says when it is started, and then never ends.
fn waiting_typst(folder: &Path) -> PathBuf {
    let program = folder.join("typst");
    let script = format!(
        "#!/bin/sh\n[ \"$1\" = --version ] && exec '{}' --version\necho $$ > '{}'\nexec sleep 1000\n",
        typst().display(),
        folder.join("started").display()
    );
    write(&program, script);
    fs::set_permissions(&program, fs::Permissions::from_mode(0o755)).unwrap();
    program
}

/// The names of the files in a folder.
fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let names = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap());
    names.collect()
}

#[test]
fn signal_removes_temporary_folders_and_a_killed_run_leaves_them_to_the_next() {
    let folder = shop();
    publish(folder.path(), &[]);
    let before = files(&folder.path().join("output"));
    let temporary = folder.path().join("tmp");
    fs::create_dir(&temporary).unwrap();
    let program = waiting_typst(folder.path());
    let foreign = temporary.join("benchleaf-mine");
    fs::create_dir(&foreign).unwrap();
    for (signal, expected) in [("INT", Some(130)), ("TERM", Some(130)), ("KILL", None)] {
        let started = folder.path().join("started");
        let _ = fs::remove_file(&started);
        change_title(folder.path());
        let mut child = benchleaf(folder.path())
            .args(["publish", "--typst"])
            .arg(&program)
            .env("TMPDIR", &temporary)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        while fs::read_to_string(&started).unwrap_or_default().is_empty() {
            assert_eq!(child.try_wait().unwrap(), None, "it ended by itself");
            sleep(Duration::from_millis(10));
        }
        let inside: Vec<String> = names(&temporary);
        let own: Vec<&String> = inside
            .iter()
            .filter(|name| name.starts_with("benchleaf-print-"))
            .collect();
        assert_eq!(
            own.len(),
            1,
            "that of the run before is removed: {inside:?}"
        );
        let mode = fs::metadata(temporary.join(own[0]))
            .unwrap()
            .permissions()
            .mode();
        assert_eq!(mode & 0o777, 0o700);
        let sent = Command::new("kill")
            .args(["-s", signal, &child.id().to_string()])
            .status();
        assert!(sent.unwrap().success());
        assert_eq!(child.wait().unwrap().code(), expected, "{signal}");
        if signal != "KILL" {
            let id = fs::read_to_string(&started).unwrap();
            let state = fs::read_to_string(format!("/proc/{}/stat", id.trim())).unwrap_or_default();
            // A zombie has ended; who started it has not asked yet.
            assert!(
                state.is_empty() || state.contains(") Z "),
                "{signal}: {state}"
            );
        }
        assert_same_pages(&folder.path().join("output"), &before);
        let next = folder.path().join("output/.benchleaf/next");
        let left = names(&temporary).len() - 1;
        assert_eq!(
            (left, next.exists()),
            if signal == "KILL" {
                (1, true)
            } else {
                (0, false)
            }
        );
    }
    // The next run cleans up, and does not touch a folder that it did not make.
    let output = benchleaf(folder.path())
        .args(["publish", "--typst"])
        .arg(typst())
        .env("TMPDIR", &temporary)
        .output();
    let (_, stderr, status) = output_text(&output.unwrap());
    assert_eq!((stderr.as_str(), status), ("", 0));
    assert_eq!(names(&temporary), ["benchleaf-mine"]);
    assert!(!folder.path().join("output/.benchleaf/next").exists());
}

/// A file that is saved slowly has half of its text for some time.
#[test]
fn half_of_a_file_that_is_being_saved_is_not_published() {
    let folder = shop();
    let file = folder.path().join("procedures/air/cover.md");
    let whole = fs::read_to_string(&file).unwrap();
    let (half, _) = whole.split_once("## Set").unwrap();
    let made = publish_with(folder.path(), &typst());
    assert_eq!(made, "");
    let of_whole = files(&folder.path().join("output"));
    let other = tempfile::tempdir().unwrap();
    copy(folder.path(), other.path());
    // The fake typesetter completes the file, as the editor would while pages are made.
    let program = other.path().join("typst");
    let sources = other.path().join("procedures/air/cover.md");
    write(&other.path().join("whole.md"), &whole);
    let script = format!(
        "#!/bin/sh\n[ \"$1\" = --version ] || cp '{}' '{}'\nexec '{}' \"$@\"\n",
        other.path().join("whole.md").display(),
        sources.display(),
        typst().display()
    );
    write(&program, script);
    fs::set_permissions(&program, fs::Permissions::from_mode(0o755)).unwrap();
    write(&sources, half);
    let stderr = publish_with(other.path(), &program);
    assert!(
        stderr.ends_with("the sources have changed meanwhile: they are read again\n"),
        "{stderr}"
    );
    assert_same_pages(&other.path().join("output"), &of_whole);
}
