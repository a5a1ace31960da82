//! What a change introduces, what a baseline hides, and what `check --fix` corrects, in git repositories made for the
//! purpose.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

#[path = "support/program.rs"]
mod program;
#[path = "support/repository.rs"]
mod repository;
mod support;

use program::benchleaf;
use repository::{commit, git, repository};
use std::fs;
use std::path::Path;
use support::{output_text, shop, write};

fn run(folder: &Path, arguments: &[&str]) -> (String, String, i32) {
    output_text(&benchleaf(folder).args(arguments).output().unwrap())
}

fn edit(folder: &Path, path: &str, change: impl FnOnce(String) -> String) {
    let path = folder.join("procedures").join(path);
    let text = fs::read_to_string(&path).unwrap();
    let changed = change(text.clone());
    assert_ne!(text, changed);
    fs::write(path, changed).unwrap();
}

/// A repository whose sources have one finding already: the cover is never cleaned of what the shop calls dust.
fn shop_with_finding() -> tempfile::TempDir {
    let folder = shop();
    edit(folder.path(), "tools.toml", |text| {
        text + "\n[tool.old]\nname = \"old gauge\"\nsise = \"1 mm\"\n"
    });
    repository(folder.path());
    let (_, stderr, status) = run(folder.path(), &["check"]);
    assert_eq!(status, 1);
    assert_eq!(stderr.matches("= rule: ").count(), 1, "{stderr}");
    folder
}

#[test]
fn only_what_a_change_introduces_is_reported() {
    let folder = shop_with_finding();
    let folder = folder.path();
    let (stdout, stderr, status) = run(folder, &["check", "--since", "HEAD"]);
    assert_eq!((stderr.as_str(), status), ("", 0));
    assert_eq!(
        stdout,
        "1 finding was already there at `HEAD`\nno sheet is affected\n\
         nothing new: 1 procedure on 1 machine, 1 job rehearsed\n"
    );
    // Lines above move the old finding, and a new one comes.
    edit(folder, "tools.toml", |text| format!("# the crib\n\n{text}"));
    edit(folder, "air/cover.md", |text| {
        text.replace("](note:pump-rod)", "](use:wrench-10)")
    });
    let (stdout, stderr, status) = run(folder, &["check", "--since", "HEAD"]);
    assert_eq!(status, 1, "{stderr}");
    assert!(stderr.contains("= rule: position-not-noted"), "{stderr}");
    assert!(!stderr.contains("unknown-field"), "{stderr}");
    assert!(
        stdout.contains("  Cover: clean, Tarn Rush hand pump: Bench checklist, Shop sheet\n"),
        "{stdout}"
    );
    // The same from the commit before, on another branch.
    git(folder, &["checkout", "--quiet", "-b", "change"]);
    commit(folder, "Forget the note");
    let (_, stderr, status) = run(folder, &["check", "--since", "main"]);
    assert_eq!(status, 1);
    assert!(stderr.contains("= rule: position-not-noted"), "{stderr}");
    let (_, stderr, status) = run(folder, &["check", "--since", "HEAD"]);
    assert_eq!((stderr.as_str(), status), ("", 0));
    // What happened on the other branch meanwhile is not this change.
    git(folder, &["checkout", "--quiet", "main"]);
    edit(folder, "tools.toml", |text| text.replace("sise", "size"));
    commit(folder, "Correct the gauge");
    git(folder, &["checkout", "--quiet", "change"]);
    let (_, stderr, _) = run(folder, &["check", "--since", "main"]);
    assert!(!stderr.contains("unknown-field"), "{stderr}");
}

#[test]
fn finding_of_a_renamed_file_was_there_before() {
    let folder = shop_with_finding();
    let folder = folder.path();
    edit(folder, "air/cover.md", |text| {
        text.replace("](note:pump-rod)", "](use:wrench-10)")
    });
    commit(folder, "Forget the note");
    git(
        folder,
        &["mv", "procedures/air/cover.md", "procedures/air/lid.md"],
    );
    git(
        folder,
        &[
            "mv",
            "procedures/machines/hand-pump.toml",
            "procedures/machines/rush.toml",
        ],
    );
    edit(folder, "air/lid.md", |text| {
        text.replace("\"hand-pump\"", "\"rush\"")
    });
    let (stdout, stderr, status) = run(folder, &["check", "--since", "HEAD"]);
    assert_eq!((stderr.as_str(), status), ("", 0), "{stdout}");
    // The sheets have other names.
    assert!(
        stdout.contains("(removed)") || stdout.contains("(new)") || stdout.contains("Shop sheet"),
        "{stdout}"
    );
}

#[test]
fn finding_is_new_in_a_job_that_did_not_have_it() {
    let folder = shop_with_finding();
    let folder = folder.path();
    edit(folder, "air/cover.md", |text| {
        text.replace("](note:pump-rod)", "](use:wrench-10)")
    });
    commit(folder, "Forget the note");
    let machine = fs::read(folder.join("procedures/machines/hand-pump.toml")).unwrap();
    write(
        &folder.join("procedures/machines/second-pump.toml"),
        machine,
    );
    edit(folder, "air/cover.md", |text| {
        text.replace("[\"hand-pump\"]", "[\"hand-pump\", \"second-pump\"]")
    });
    let (_, stderr, status) = run(folder, &["check", "--since", "HEAD"]);
    assert_eq!(status, 1);
    assert!(stderr.contains("in `cover` on `second-pump`"), "{stderr}");
    assert!(!stderr.contains("on `hand-pump`"), "{stderr}");
}

#[test]
fn raised_level_is_new() {
    let folder = shop();
    let folder = folder.path();
    edit(folder, "machines/hand-pump.toml", |text| {
        text.replacen("basis", "# basis", 1)
    });
    repository(folder);
    let (_, stderr, status) = run(folder, &["check"]);
    assert_eq!(status, 0, "{stderr}");
    let count = stderr.matches("= rule: unverified-value").count();
    assert!(count > 0, "{stderr}");
    edit(folder, "shop.toml", |text| {
        text + "\n[levels]\nunverified-value = \"error\"\n"
    });
    let (_, stderr, status) = run(folder, &["check", "--since", "HEAD"]);
    assert_eq!(status, 1);
    assert_eq!(stderr.matches("= rule: unverified-value").count(), count);
}

#[test]
fn sources_that_the_revision_does_not_have_are_all_new() {
    let folder = shop();
    let folder = folder.path();
    fs::rename(folder.join("procedures"), folder.join("later")).unwrap();
    write(&folder.join("note.txt"), "none yet");
    git(folder, &["init", "--quiet"]);
    git(folder, &["add", "note.txt"]);
    git(folder, &["commit", "--quiet", "--message", "Begin"]);
    fs::rename(folder.join("later"), folder.join("procedures")).unwrap();
    let (stdout, stderr, status) = run(folder, &["check", "--since", "HEAD"]);
    assert_eq!((stderr.as_str(), status), ("", 0));
    assert!(stdout.contains("Shop sheet (new)"), "{stdout}");
}

#[test]
fn revision_that_git_cannot_read_is_an_error() {
    let folder = shop();
    let run = |revision: &str| {
        let argument = format!("--since={revision}");
        let (_, stderr, status) = run(folder.path(), &["check", &argument]);
        assert_eq!(status, 2, "{stderr}");
        stderr
    };
    assert!(run("main").contains("in no git repository"));
    repository(folder.path());
    assert!(run("no-such").contains("no revision `no-such`"));
    // It is no option of git.
    assert!(run("--output=stolen").contains("no revision"));
    assert!(run("HEAD --all").contains("no revision"));
    assert!(!folder.path().join("stolen").exists());
    git(folder.path(), &["checkout", "--quiet", "--orphan", "other"]);
    commit(folder.path(), "Begin anew");
    assert!(run("main").contains("no commit in common"));
}

#[test]
fn configuration_of_a_repository_starts_no_program() {
    let folder = shop();
    let folder = folder.path();
    repository(folder);
    let spy = folder.join("spy.sh");
    write(&spy, "#!/bin/sh\ntouch started\ncat\n");
    let _ = std::process::Command::new("chmod")
        .arg("+x")
        .arg(&spy)
        .status();
    let spy = spy.to_str().unwrap();
    git(folder, &["config", "core.fsmonitor", spy]);
    git(folder, &["config", "diff.external", spy]);
    git(folder, &["config", "diff.spy.textconv", spy]);
    git(folder, &["config", "core.pager", spy]);
    write(&folder.join(".gitattributes"), "*.md diff=spy\n");
    edit(folder, "air/cover.md", |text| text.replace("Brush", "Wipe"));
    let (stdout, _, status) = run(folder, &["check", "--since", "HEAD"]);
    assert_eq!(status, 0);
    assert!(stdout.contains("sheets affected"), "{stdout}");
    assert!(!folder.join("started").exists());
}

#[test]
fn baseline_hides_known_findings_until_they_are_gone() {
    let folder = shop_with_finding();
    let folder = folder.path();
    let (_, stderr, status) = run(folder, &["check", "--baseline", "known.toml"]);
    assert_eq!(status, 2);
    assert!(stderr.contains("--write-baseline"), "{stderr}");
    let (stdout, stderr, status) = run(
        folder,
        &["check", "--baseline", "known.toml", "--write-baseline"],
    );
    assert_eq!((stderr.as_str(), status), ("", 0));
    assert!(
        stdout.contains("1 known finding is in the baseline `known.toml`"),
        "{stdout}"
    );
    let (_, stderr, status) = run(folder, &["check", "--baseline", "known.toml"]);
    assert_eq!((stderr.as_str(), status), ("", 0));
    // It changes only what a check reports.
    let (_, stderr, status) = run(folder, &["publish", "--html-only"]);
    assert_eq!(status, 1, "{stderr}");
    edit(folder, "tools.toml", |text| text.replace("sise", "size"));
    let (_, stderr, status) = run(folder, &["check", "--baseline", "known.toml"]);
    assert_eq!(status, 1);
    assert!(stderr.contains("= rule: outdated-baseline"), "{stderr}");
    // With both, what the baseline has counts as known, and what was there before is not gone.
    edit(folder, "tools.toml", |text| {
        text.replace("size = \"1 mm\"", "sise = \"1 mm\"")
    });
    let (_, stderr, status) = run(
        folder,
        &["check", "--baseline", "known.toml", "--since", "HEAD"],
    );
    assert_eq!((stderr.as_str(), status), ("", 0));
    write(&folder.join("known.toml"), "[[finding]]\nrule = 3\n");
    let (_, stderr, status) = run(folder, &["check", "--baseline", "known.toml"]);
    assert_eq!(status, 2);
    assert!(stderr.contains("line 2"), "{stderr}");
}

/// Mistakes with a safe correction, in three files, one of them with a byte order mark and Windows line ends.
fn with_mistakes(folder: &Path) {
    edit(folder, "air/cover.md", |text| {
        let text = text.replace("remove:cover-nut", "remove:cover-nutt");
        let text = text.replace("3. [](note:pump-rod)\n", "");
        format!("\u{feff}{}", text.replace('\n', "\r\n"))
    });
    edit(folder, "shop.toml", |text| {
        text.replacen("name =", "nmae =", 1)
    });
    edit(folder, "machines/hand-pump.toml", |text| {
        text.replacen("held-by", "held-bye", 1)
    });
}

#[test]
fn corrections_are_shown_then_made_once() {
    let folder = shop();
    let folder = folder.path();
    with_mistakes(folder);
    repository(folder);
    let (diff, stderr, status) = run(folder, &["check", "--fix"]);
    assert_eq!(status, 1, "{stderr}");
    assert!(
        stderr.contains("the diff corrects 4 findings in 3 files"),
        "{stderr}"
    );
    for change in [
        "-nmae = ",
        "+name = ",
        "+++ b/procedures/air/cover.md",
        "+4. [](note:pump-rod)",
    ] {
        assert!(diff.contains(change), "{change}: {diff}");
    }
    assert_eq!(git(folder, &["status", "--porcelain"]), "");
    // Git takes the diff.
    let patch = folder.join("fix.patch");
    fs::write(&patch, &diff).unwrap();
    git(folder, &["apply", "--check", "fix.patch"]);
    fs::remove_file(patch).unwrap();
    let (shown, stderr, status) = run(folder, &["check", "--fix", "--write"]);
    assert_eq!((shown.as_str(), status), (diff.as_str(), 0), "{stderr}");
    assert_eq!(stderr, "corrected 4 findings in 3 files\n");
    let cover = fs::read_to_string(folder.join("procedures/air/cover.md")).unwrap();
    assert!(cover.starts_with("\u{feff}+++\r\n"));
    assert_eq!(cover.matches('\n').count(), cover.matches("\r\n").count());
    let (stdout, stderr, status) = run(folder, &["check"]);
    assert_eq!((stderr.as_str(), status), ("", 0), "{stdout}");
    // Again: the files are changed now, but there is nothing to correct.
    let (stdout, stderr, status) = run(folder, &["check", "--fix", "--write"]);
    assert_eq!((stdout.as_str(), status), ("", 0), "{stderr}");
    assert_eq!(stderr, "there are no safe corrections\n");
}

#[test]
fn file_that_git_does_not_have_is_not_corrected() {
    let folder = shop();
    let folder = folder.path();
    let sources = folder.join("procedures");
    with_mistakes(folder);
    let before = support::files(&sources);
    let refused = |message: &str| {
        let (_, stderr, status) = run(folder, &["check", "--fix", "--write"]);
        assert_eq!(status, 2, "{stderr}");
        assert!(stderr.contains(message), "{stderr}");
        assert!(stderr.contains("--allow-uncommitted"), "{stderr}");
        assert_eq!(support::files(&sources), before);
    };
    refused("not under version control");
    git(folder, &["init", "--quiet"]);
    refused("changes that are not committed");
    // Ignored files are not in a commit either.
    write(&folder.join(".gitignore"), "procedures/shop.toml\n");
    commit(folder, "Add all but one");
    refused("`shop.toml` has changes that are not committed");
    fs::remove_file(folder.join(".gitignore")).unwrap();
    commit(folder, "Add the last one");
    // A change elsewhere is no reason.
    write(&folder.join("note.txt"), "changed");
    edit(folder, "supplies.toml", |text| text + "\n# changed\n");
    let (_, stderr, status) = run(folder, &["check", "--fix", "--write"]);
    assert_eq!(status, 0, "{stderr}");
    for (path, bytes) in &before {
        fs::write(sources.join(path), bytes).unwrap();
    }
    let (_, stderr, status) = run(
        folder,
        &["check", "--fix", "--write", "--allow-uncommitted"],
    );
    assert_eq!(status, 0, "{stderr}");
}

#[test]
fn name_that_could_be_two_is_left_to_the_author() {
    let folder = shop();
    let folder = folder.path();
    edit(folder, "tools.toml", |text| {
        text + "\n[tool.key-4]\nname = \"4 mm key\"\n[tool.key-5]\nname = \"5 mm key\"\n"
    });
    edit(folder, "air/cover.md", |text| {
        text.replace("[10 mm wrench](use:wrench-10)", "[key](use:key-6)")
    });
    repository(folder);
    let (diff, stderr, _) = run(folder, &["check", "--fix"]);
    assert_eq!(diff, "", "{stderr}");
    assert!(stderr.contains("no safe corrections"), "{stderr}");
}
