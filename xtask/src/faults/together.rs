//! Publishes while others publish to the same folder, and while the sources are being written.

use super::scene::{Scene, copy, expect, finished, pages, read, text_of, write};
use crate::TaskError;
use std::fs;
use std::io::Write as _;
use std::path::Path;
use std::process::Stdio;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::Duration;

/// Lets several processes publish two trees to the same folder at once. Returns the number of processes.
pub(super) fn several_runs(scene: &Scene, rounds: usize) -> Result<usize, TaskError> {
    let mut processes = 0;
    for round in 0..rounds {
        let (_folder, output) = scene.outputs()?;
        let trees = [&scene.new_tree, &scene.old_tree, &scene.new_tree];
        let started = trees.map(|tree| {
            let mut command = scene.publish(tree, &output);
            command.stdout(Stdio::piped()).stderr(Stdio::piped());
            command.spawn()
        });
        for child in started {
            processes += 1;
            let child = child.map_err(|error| TaskError(error.to_string()))?;
            let made = child.wait_with_output();
            let made = made.map_err(|error| TaskError(error.to_string()))?;
            let text = text_of(&made);
            let is_busy = made.status.code() == Some(2) && text.contains("another run is writing");
            expect(made.status.success() || is_busy, || {
                format!("round {round}: {text}")
            })?;
        }
        let pages = pages(&output)?;
        expect(
            [&scene.old_pages, &scene.new_pages].contains(&&pages),
            || format!("round {round}: the pages are a mixture"),
        )?;
    }
    Ok(processes)
}

/// Publishes while a source is saved slowly, again and again. Returns the number of runs that published, and of those
/// that published the whole text.
pub(super) fn slow_saves(scene: &Scene, runs: usize) -> Result<usize, TaskError> {
    let (folder, output) = scene.outputs()?;
    let tree = folder.path().join("tree");
    copy(&scene.old_tree, &tree)?;
    let source = tree.join("air/cover.md");
    let text = read(&source)?;
    let (half, rest) = text.split_once("## Set").unwrap_or_default();
    expect(!rest.is_empty(), || "there is no half".to_owned())?;
    // The half is a sound procedure as well: only its last step is missing.
    write(&source, half)?;
    let of_half = folder.path().join("half");
    let made = finished(scene.publish(&tree, &of_half))?;
    expect(made.status.success(), || text_of(&made))?;
    write(&source, &text)?;
    let is_done = AtomicBool::new(false);
    let mut published = 0;
    thread::scope(|scope| {
        let writer = scope.spawn(|| {
            let mut round = 0_u64;
            while !is_done.load(Ordering::Relaxed) {
                // The pauses differ, so that the halves come at every moment of a run. None is as long as a run.
                round += 1;
                save_slowly(
                    &source,
                    half,
                    &text,
                    Duration::from_millis(5 + round * 7 % 20),
                );
                thread::sleep(Duration::from_millis(40 + round * 13 % 120));
            }
        });
        let result = (0..runs).try_for_each(|run| {
            let made = finished(scene.publish(&tree, &output))?;
            if made.status.success() {
                published += 1;
                let pages = pages(&output)?;
                expect(pages == scene.old_pages, || {
                    format!("run {run} published half of a file: {}", text_of(&made))
                })?;
            }
            Ok(())
        });
        is_done.store(true, Ordering::Relaxed);
        let _ = writer.join();
        result
    })?;
    expect(published > 0, || "nothing was published".to_owned())?;
    Ok(published)
}

/// Writes a file as some editors do: it is emptied, and then written in pieces.
fn save_slowly(path: &Path, half: &str, whole: &str, pause: Duration) {
    let Ok(mut file) = fs::File::create(path) else {
        return;
    };
    let _ = file.write_all(half.as_bytes());
    thread::sleep(pause);
    let _ = file.write_all(&whole.as_bytes()[half.len()..]);
}
