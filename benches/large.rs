//! The time to check and publish large trees. For comparison, it also measures: reading and parsing the same files
//! with the same libraries (the floor), writing as many files of the same lengths, and running the same typst
//! processes alone.
//!
//! `cargo xtask large N target/large-N` makes the trees. A size without a tree is left out. The times are those of
//! whole processes, the best of several runs; the floor runs in the process of the benchmark. Outputs stay in the
//! folder for temporary files until the end: 20 GB at the largest size.

#![allow(clippy::unwrap_used, reason = "a bench that can't set up has failed")]
#![allow(clippy::print_stdout, reason = "a bench prints its table")]
#![allow(clippy::disallowed_methods, reason = "a bench reads the clock")]

use rayon::prelude::*;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};
use tempfile::TempDir;

const SIZES: [usize; 3] = [100, 1_000, 10_000];

/// The number of runs. The best one counts.
const RUNS: usize = 3;

/// The number of jobs whose PDFs are made.
const PDF_JOBS: usize = 100;

fn main() {
    println!(
        "{:>10} {:>7} {:>9} {:>9} {:>6} {:>9} {:>9} {:>6} {:>9} {:>6} {:>7} {:>7}",
        "procedures",
        "jobs",
        "floor",
        "check",
        "×floor",
        "files",
        "publish",
        "×check",
        "one edit",
        "%cold",
        "MB chk",
        "MB pub"
    );
    // No output is deleted before the end: blocks that were just freed are slow to allocate again.
    let mut outputs = Vec::new();
    for size in SIZES {
        if let Some(folder) = tree(size) {
            outputs.extend(row(size, &folder));
        }
    }
    drop(outputs);
    match (tree(1_000), typst()) {
        (Some(folder), Some(typst)) => pdfs(&folder, &typst),
        _ => println!("no PDFs: there is no tree of 1000, or no typst in .tools"),
    }
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn tree(size: usize) -> Option<PathBuf> {
    let folder = root().join("target").join(format!("large-{size}"));
    folder.is_dir().then_some(folder)
}

/// Prints a size's row, and returns the outputs that were made.
fn row(size: usize, folder: &Path) -> Vec<TempDir> {
    let floor = best_duration(|| timed(|| floor(folder)));
    let check = best_of(|| run(&["check", text(folder)]));
    let mut outputs = Vec::new();
    let fresh = |outputs: &mut Vec<TempDir>| {
        // Waits until the data of earlier runs is on the disk.
        Command::new("sync").status().unwrap();
        outputs.push(tempfile::tempdir().unwrap());
        outputs[outputs.len() - 1].path().to_owned()
    };
    let publish = |output: &Path| {
        let arguments = [
            "publish",
            text(folder),
            "--html-only",
            "--output",
            text(output),
        ];
        run(&arguments)
    };
    let cold = best_of(|| publish(&fresh(&mut outputs)));
    let output = outputs[0].path().to_owned();
    let written = files_in(&output);
    let files = best_duration(|| {
        let copy = fresh(&mut outputs);
        timed(|| write_same_sizes(&written, &copy))
    });
    // Before each run, one step of one procedure is changed.
    let edited = fs::read_dir(folder.join("governor")).unwrap();
    let edited = edited.map(|entry| entry.unwrap().path()).min().unwrap();
    let before = fs::read_to_string(&edited).unwrap();
    let mut turn = 0;
    let edit = best_of(|| {
        turn += 1;
        let step = format!("\n1. Look at it first, for the {turn}th time. ");
        fs::write(&edited, before.replacen("\n1. ", &step, 1)).unwrap();
        publish(&output)
    });
    fs::write(&edited, before).unwrap();
    let ms = |time: Duration| format!("{:.0} ms", time.as_secs_f64() * 1e3);
    let times =
        |of: Duration, than: Duration| format!("{:.1}", of.as_secs_f64() / than.as_secs_f64());
    println!(
        "{size:>10} {:>7} {:>9} {:>9} {:>6} {:>9} {:>9} {:>6} {:>9} {:>6} {:>7} {:>7}",
        check.jobs,
        ms(floor),
        ms(check.time),
        times(check.time, floor),
        ms(files),
        ms(cold.time),
        times(cold.time, check.time),
        ms(edit.time),
        format!(
            "{:.0}",
            100.0 * edit.time.as_secs_f64() / cold.time.as_secs_f64()
        ),
        check.memory / 1024,
        cold.memory / 1024,
    );
    outputs
}

/// The cost of one run of the program.
struct Ran {
    time: Duration,
    /// Peak memory in kilobytes.
    memory: u64,
    /// The number of jobs, if the output has it.
    jobs: u64,
}

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

/// Runs the program to its end.
fn run(arguments: &[&str]) -> Ran {
    let began = Instant::now();
    let mut child = Command::new(env!("CARGO_BIN_EXE_benchleaf"))
        .args(arguments)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    // Linux reports the peak memory of a process until it ends.
    let status = format!("/proc/{}/status", child.id());
    let mut memory = 0;
    while child.try_wait().unwrap().is_none() {
        let text = fs::read_to_string(&status).unwrap_or_default();
        let most = text.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        let most = most.and_then(|rest| rest.split_whitespace().next()?.parse().ok());
        memory = most.unwrap_or(memory);
        std::thread::sleep(Duration::from_millis(1));
    }
    let time = began.elapsed();
    let output = child.wait_with_output().unwrap();
    let first = arguments.first();
    assert!(output.status.success(), "{first:?} failed");
    let output_text = String::from_utf8(output.stdout).unwrap();
    let words: Vec<&str> = output_text.split_whitespace().collect();
    let jobs = words.windows(2).find(|pair| pair[1].starts_with("job"));
    Ran {
        time,
        memory,
        jobs: jobs
            .and_then(|pair| pair[0].parse().ok())
            .unwrap_or_default(),
    }
}

fn best_of(mut run: impl FnMut() -> Ran) -> Ran {
    let runs = (0..RUNS).map(|_| run());
    runs.min_by_key(|ran| ran.time).unwrap()
}

fn best_duration(mut run: impl FnMut() -> Duration) -> Duration {
    (0..RUNS).map(|_| run()).min().unwrap()
}

fn timed<T>(action: impl FnOnce() -> T) -> Duration {
    let began = Instant::now();
    std::hint::black_box(action());
    began.elapsed()
}

/// The files of an output, each with its length.
fn files_in(output: &Path) -> Vec<(PathBuf, usize)> {
    let entries = walkdir::WalkDir::new(output).into_iter();
    let files = entries.filter_map(|entry| {
        let entry = entry.unwrap();
        let length = usize::try_from(entry.metadata().unwrap().len()).unwrap();
        let path = entry.path().strip_prefix(output).unwrap().to_owned();
        entry.file_type().is_file().then_some((path, length))
    });
    files.collect()
}

/// Writes files of the same paths and lengths: the disk time of publishing alone.
fn write_same_sizes(files: &[(PathBuf, usize)], folder: &Path) {
    let longest = files.iter().map(|(_, length)| *length).max().unwrap();
    let bytes = vec![b'x'; longest];
    files.par_iter().for_each(|(path, length)| {
        let path = folder.join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, &bytes[..*length]).unwrap();
    });
}

/// Walks, reads and parses the files of a folder without keeping anything: TOML as tables, CommonMark as events.
fn floor(folder: &Path) -> usize {
    let files: Vec<PathBuf> = walkdir::WalkDir::new(folder)
        .into_iter()
        .filter_map(Result::ok)
        .map(walkdir::DirEntry::into_path)
        .filter(|path| path.is_file())
        .collect();
    files
        .par_iter()
        .map(|path| {
            let Ok(text) = fs::read_to_string(path) else {
                return 0;
            };
            match path.extension().and_then(|end| end.to_str()) {
                Some("toml") => toml::from_str::<toml::Table>(&text).unwrap().len(),
                Some("md") => {
                    let mut parts = text.splitn(3, "+++\n").skip(1);
                    let (front, prose) = (parts.next().unwrap_or(""), parts.next().unwrap_or(""));
                    let keys = toml::from_str::<toml::Table>(front).unwrap().len();
                    keys + pulldown_cmark::Parser::new(prose).count()
                }
                _ => 0,
            }
        })
        .sum()
}

fn typst() -> Option<PathBuf> {
    let program = root().join(".tools/bin/typst");
    program.is_file().then_some(program)
}

/// Measures the PDFs of some jobs, and the same typst processes alone, with the same number in parallel.
fn pdfs(folder: &Path, typst: &Path) {
    let work = tempfile::tempdir().unwrap();
    // Enough procedures of one system for about this number of jobs.
    let mut arguments: Vec<String> = Vec::new();
    let mut jobs = 0;
    let mut files: Vec<PathBuf> = walkdir::WalkDir::new(folder)
        .into_iter()
        .map(|entry| entry.unwrap().into_path())
        .filter(|path| path.extension().is_some_and(|end| end == "md"))
        .collect();
    files.sort();
    for file in files {
        let name = file.file_stem().unwrap().to_str().unwrap();
        // Procedures of the demonstration are for more than two machines.
        if name.ends_with(|letter: char| letter.is_ascii_digit()) && jobs < PDF_JOBS {
            arguments.extend(["--procedure".to_owned(), name.to_owned()]);
            jobs += 2;
        }
    }
    let mut print = vec!["print", text(folder), "--output"];
    let output = work.path().join("output");
    print.push(text(&output));
    print.extend(["--sheet", "shop-sheet", "--typst"]);
    // A wrapper around typst records its arguments: the folder, and each sheet with its date.
    let kept = work.path().join("kept");
    fs::create_dir(&kept).unwrap();
    let between = work.path().join("typst");
    let script = format!(
        "#!/bin/sh\n[ \"$1\" = --version ] && exec '{typst}' --version\n\
         for one in \"$@\"; do case $before in --root) root=$one;; --input)\n\
         case $one in sheet=*) sheet=${{one#sheet=/}};; esac;;\n\
         --creation-timestamp) day=$one;; esac; before=$one; done\n\
         mkdir '{kept}/tree' 2>/dev/null && cp -r \"$root\"/*.typ \"$root\"/fonts \"$root\"/signs \
         \"$root\"/tree '{kept}/tree/' 2>/dev/null\n\
         cp \"$root/$sheet\" \"{kept}/$sheet\"; echo $day > \"{kept}/$sheet.day\"\n\
         exec '{typst}' \"$@\"\n",
        typst = typst.display(),
        kept = kept.display(),
    );
    fs::write(&between, script).unwrap();
    let made = Command::new("chmod")
        .arg("+x")
        .arg(&between)
        .status()
        .unwrap();
    assert!(made.success());
    let asked: Vec<&str> = arguments.iter().map(String::as_str).collect();
    run(&[&print[..], &[text(&between)], &asked].concat());
    let tree = kept.join("tree");
    let mut sheets = Vec::new();
    for entry in fs::read_dir(&kept).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|end| end == "json") {
            let name = path.file_name().unwrap().to_str().unwrap().to_owned();
            fs::copy(&path, tree.join(&name)).unwrap();
            let day = fs::read_to_string(kept.join(format!("{name}.day"))).unwrap();
            sheets.push((name, day.trim().to_owned()));
        }
    }
    let ours = best_duration(|| {
        let _ = fs::remove_dir_all(&output);
        run(&[&print[..], &[text(typst)], &asked].concat()).time
    });
    let bare = best_duration(|| {
        timed(|| {
            sheets.par_iter().for_each(|(sheet, day)| {
                let output = Command::new(typst)
                    .args(["compile", "--ignore-system-fonts", "--pdf-standard", "ua-1"])
                    .args(["--root", text(&tree)])
                    .args(["--font-path", text(&tree.join("fonts"))])
                    .args(["--creation-timestamp", day])
                    .args(["--input", &format!("sheet=/{sheet}")])
                    .args(["--input", "pages=quiet"])
                    .args(["--format", "pdf", text(&tree.join("main.typ")), "-"])
                    .output()
                    .unwrap();
                let output_text = String::from_utf8_lossy(&output.stderr).into_owned();
                assert!(output.status.success(), "{output_text}");
            });
        })
    });
    println!(
        "{} PDFs of {jobs} jobs: {:.2} s in total; typst alone {:.2} s; {:.2} times",
        sheets.len(),
        ours.as_secs_f64(),
        bare.as_secs_f64(),
        ours.as_secs_f64() / bare.as_secs_f64(),
    );
}
