//! A git repository with sources, for tests of what depends on a change.

use std::path::Path;
use std::process::Command;

/// Runs git in a folder, without the settings of the user.
pub(crate) fn git(folder: &Path, arguments: &[&str]) -> String {
    let output = Command::new("git")
        .current_dir(folder)
        .args(["-c", "init.defaultBranch=main", "-c", "user.name=Ash"])
        .args([
            "-c",
            "user.email=ash@library.example",
            "-c",
            "commit.gpgSign=false",
        ])
        .args(arguments)
        .env("GIT_CONFIG_GLOBAL", "/dev/null")
        .env("GIT_CONFIG_SYSTEM", "/dev/null")
        .output()
        .unwrap();
    let stderr = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "git {arguments:?}: {stderr}");
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// Makes a repository of a folder, with all its files in the first commit.
pub(crate) fn repository(folder: &Path) {
    git(folder, &["init", "--quiet"]);
    commit(folder, "Add the sources");
}

pub(crate) fn commit(folder: &Path, message: &str) {
    git(folder, &["add", "--all"]);
    git(folder, &["commit", "--quiet", "--message", message]);
}
