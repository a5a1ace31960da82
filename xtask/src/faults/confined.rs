//! Watches which files a run opens, which programs it starts, and whether it opens a network connection.

use super::scene::{Scene, expect, finished, read, text_of};
use crate::TaskError;
use std::path::Path;
use std::process::Command;

/// What the loader and the standard library of every program read.
const SYSTEM: [&str; 7] = [
    "/lib/",
    "/lib64/",
    "/usr/lib/",
    "/etc/ld.so",
    "/proc/",
    "/sys/",
    "/dev/null",
];

/// Publishes with PDFs, and checks every file, program and connection. Returns the number of files opened.
pub(super) fn watch(scene: &Scene, program: &Path, typst: &Path) -> Result<usize, TaskError> {
    let (folder, output) = scene.outputs()?;
    let temporary = output.with_file_name("tmp");
    let log = folder.path().join("log");
    let mut command = Command::new("strace");
    command
        .args([
            "-f",
            "-qq",
            "-s",
            "4096",
            "-e",
            "trace=open,openat,creat,execve,%network",
            "-o",
        ])
        .arg(&log)
        .arg(program)
        .arg("publish")
        .arg(&scene.new_tree)
        .arg("--output")
        .arg(&output)
        .arg("--typst")
        .arg(typst)
        .env("TMPDIR", &temporary)
        // Cargo sets it, and the loader would search there.
        .env_remove("LD_LIBRARY_PATH");
    let made = finished(command)?;
    expect(made.status.success(), || text_of(&made))?;
    let text = |path: &Path| path.to_string_lossy().into_owned();
    let programs = [text(program), text(typst)];
    let written = [text(&output), text(&temporary)];
    let tree = text(&scene.new_tree);
    let (mut opened, mut started) = (0, 0);
    for line in read(&log)?.lines() {
        let call = line.split_whitespace().nth(1).unwrap_or_default();
        let path = line.split('"').nth(1).unwrap_or_default();
        let is_in = |folder: &str| path.starts_with(folder);
        // Relative to a folder that is open already, and has been checked.
        let is_inside =
            !path.starts_with('/') && !path.contains("..") && !line.contains("AT_FDCWD");
        let allowed = match call.split('(').next().unwrap_or_default() {
            // The end of a call that was interrupted, or the end of a process.
            "<..." | "+++" | "---" => true,
            "execve" => {
                started += 1;
                programs.iter().any(|program| path == program)
            }
            "open" | "openat" | "creat" => {
                opened += 1;
                let writes = ["O_WRONLY", "O_RDWR", "O_CREAT"]
                    .iter()
                    .any(|flag| line.contains(flag));
                let is_written = written.iter().any(|folder| is_in(folder));
                let is_read = is_in(&tree) || SYSTEM.iter().any(|folder| is_in(folder));
                is_inside || is_written || path == "/dev/null" || (is_read && !writes)
            }
            _ => false,
        };
        expect(allowed, || format!("not promised: {line}"))?;
    }
    expect(started > 2 && opened > 100, || {
        format!("{started} programs and {opened} files were seen")
    })?;
    Ok(opened)
}
