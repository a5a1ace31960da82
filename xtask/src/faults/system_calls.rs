//! Publishes with a fault at each system call that changes files: the program is killed there, or the call fails.

use super::Amount;
use super::scene::{Scene, expect, finished, pages, read, text_of};
use crate::TaskError;
use std::collections::BTreeMap;
use std::os::unix::process::ExitStatusExt as _;
use std::path::Path;

/// The system calls at which the program is killed.
const KILLED_AT: [&str; 7] = [
    "rename", "unlink", "unlinkat", "write", "mkdir", "fsync", "syncfs",
];

/// The system calls that fail, each with the errors that it fails with.
const FAILING: [(&str, &[&str]); 8] = [
    ("rename", &["EACCES", "ENOSPC", "EIO"]),
    ("unlink", &["EACCES", "EIO"]),
    ("unlinkat", &["EACCES", "EIO"]),
    ("write", &["ENOSPC", "EIO"]),
    ("mkdir", &["ENOSPC", "EACCES"]),
    ("openat", &["EMFILE", "EACCES", "ENOSPC", "EIO"]),
    ("fsync", &["EIO", "ENOSPC"]),
    ("syncfs", &["EIO"]),
];

/// Kills the program at each call, one in each run. Returns the number of kills.
pub(super) fn kills(scene: &Scene, amount: Amount) -> Result<usize, TaskError> {
    let counts = count(scene, &KILLED_AT)?;
    let mut kills = 0;
    for call in KILLED_AT {
        for number in amount.of(counts.get(call).copied().unwrap_or_default()) {
            let fault = format!("{call}:signal=KILL:when={number}");
            kills += usize::from(inject(scene, call, &fault)?);
        }
    }
    expect(kills > 0, || "nothing was killed".to_owned())?;
    Ok(kills)
}

/// Lets each call fail, one in each run. Returns the number of failures.
pub(super) fn errors(scene: &Scene, amount: Amount) -> Result<usize, TaskError> {
    let calls: Vec<&str> = FAILING.iter().map(|(call, _)| *call).collect();
    let counts = count(scene, &calls)?;
    let mut failures = 0;
    for (call, errors) in FAILING {
        for number in amount.of(counts.get(call).copied().unwrap_or_default()) {
            for error in errors {
                let fault = format!("{call}:error={error}:when={number}");
                failures += usize::from(inject(scene, call, &fault)?);
            }
        }
    }
    expect(failures > 0, || "nothing failed".to_owned())?;
    Ok(failures)
}

/// How often a thread makes each call at most.
fn count(scene: &Scene, calls: &[&str]) -> Result<BTreeMap<String, usize>, TaskError> {
    let (folder, output) = scene.outputs()?;
    let log = folder.path().join("log");
    let trace = format!("trace={}", calls.join(","));
    let log_name = log.to_string_lossy().into_owned();
    let words = ["strace", "-f", "-qq", "-e", &trace, "-o", &log_name];
    let made = finished(scene.traced(&words, &scene.new_tree, &output))?;
    expect(made.status.success(), || text_of(&made))?;
    let mut by_thread: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    let log = read(&log)?;
    for line in log.lines() {
        let Some((thread, rest)) = line.split_once(' ') else {
            continue;
        };
        let (call, _) = rest.trim_start().split_once('(').unwrap_or_default();
        *by_thread.entry((thread, call)).or_default() += 1;
    }
    let mut counts: BTreeMap<String, usize> = BTreeMap::new();
    for ((_, call), count) in by_thread {
        let most = counts.entry(call.to_owned()).or_default();
        *most = count.max(*most);
    }
    Ok(counts)
}

/// Publishes the new tree over the old output with a fault, then a tree with an error, then the new tree. Returns
/// whether the fault happened.
fn inject(scene: &Scene, call: &str, fault: &str) -> Result<bool, TaskError> {
    let (folder, output) = scene.outputs()?;
    let log = folder.path().join("log").to_string_lossy().into_owned();
    let (trace, inject) = (format!("trace={call}"), format!("inject={fault}"));
    let words = [
        "strace", "-f", "-qq", "-e", &trace, "-e", &inject, "-o", &log,
    ];
    let first = finished(scene.traced(&words, &scene.new_tree, &output))?;
    let printed = text_of(&first);
    let is_killed = first.status.signal().is_some() || first.status.code() == Some(137);
    let happened = is_killed || read(Path::new(&log))?.contains("(INJECTED)");
    let in_case = |message: TaskError| TaskError(format!("{fault}: {message}\n{printed}"));
    check(scene, &output, &printed, first.status.code(), is_killed).map_err(in_case)?;
    // A run that was killed is completed even if the sources have an error, and nothing is half new then.
    let second = finished(scene.publish(&scene.broken_tree, &output))?;
    let completed = pages(&output)?;
    expect(
        second.status.code() == Some(1)
            && [&scene.old_pages, &scene.new_pages].contains(&&completed),
        || format!("half new after a run with an error: {}", text_of(&second)),
    )
    .map_err(in_case)?;
    let third = finished(scene.publish(&scene.new_tree, &output))?;
    expect(
        third.status.success() && pages(&output)? == scene.new_pages,
        || format!("not repaired by the next run: {}", text_of(&third)),
    )
    .map_err(in_case)?;
    let tidy = pages(&output.with_file_name("tmp"))?.is_empty()
        && !output.join(".benchleaf/next").exists()
        && !output.join(".benchleaf/swap.json").exists();
    expect(tidy, || "temporary files are left".to_owned()).map_err(in_case)?;
    Ok(happened)
}

/// Checks the output after a fault.
fn check(
    scene: &Scene,
    output: &Path,
    printed: &str,
    status: Option<i32>,
    is_killed: bool,
) -> Result<(), TaskError> {
    let pages = pages(output)?;
    scene.expect_usable(&pages)?;
    expect(!printed.contains("panicked"), || "it panicked".to_owned())?;
    if is_killed {
        return Ok(());
    }
    let is_whole = [&scene.old_pages, &scene.new_pages].contains(&&pages);
    match status {
        Some(0) => expect(pages == scene.new_pages, || {
            "success without the new pages".to_owned()
        }),
        // The program could not be loaded.
        Some(127) => expect(pages == scene.old_pages, || "it was not run".to_owned()),
        Some(1 | 2) => expect(is_whole || printed.contains("half new"), || {
            "half new, and the message does not say so".to_owned()
        }),
        _ => Err(TaskError("an unknown exit status".to_owned())),
    }
}
