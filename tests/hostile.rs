//! The program with files, names and streams that it can't use.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

#[path = "support/program.rs"]
mod program;
mod support;

use benchleaf::tree::{self, FileState, Listing, World};
use program::benchleaf;
use std::fs;
use std::io::{self, Read as _};
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;
use support::{output_text, write};

/// A shop with a log.
fn shop() -> tempfile::TempDir {
    let folder = support::shop();
    let log = "[unit.pump-1]\nmachine = \"hand-pump\"\n";
    write(&folder.path().join("procedures/log.toml"), log);
    folder
}

fn run(folder: &Path, arguments: &[&str]) -> (String, String, i32) {
    output_text(&benchleaf(folder).args(arguments).output().unwrap())
}

/// A command of each kind that writes to standard output.
const COMMANDS: [&[&str]; 22] = [
    &["start", "new-shop"],
    &["outline", "machine", "foot-pump"],
    &["outline", "procedure", "air/off", "--remove", "cover"],
    &["check"],
    &["publish", "--html-only"],
    &["print", "--machine", "hand-pump", "--html-only"],
    &["kit", "--procedure", "cover", "--html-only"],
    &["where-used", "wrench-10"],
    &["due", "--on", "2026-03-01"],
    &["guards", "hand-pump"],
    &["rehearse", "cover", "--machine", "hand-pump"],
    &["explain", "not-utf8"],
    &["schema", "machine"],
    &["schema", "--output", "schemas"],
    &["completions", "bash"],
    &["man"],
    &["--version"],
    &["convert", "9 N·m"],
    &["mix", "50:1", "5 L"],
    &["calculate", "ring-gap", "--bore", "66 mm"],
    &["--help"],
    &["torque", "--help"],
];

#[test]
fn standard_output_that_cannot_be_written_is_an_error() {
    for arguments in COMMANDS {
        let normal = run(shop().path(), arguments);
        assert_eq!(normal.2, 0, "{arguments:?}: {}", normal.1);
        assert_ne!(normal.0, "", "{arguments:?}");
        // It takes no byte: "no space left on device".
        let full = fs::OpenOptions::new().write(true).open("/dev/full");
        let folder = shop();
        let output = benchleaf(folder.path())
            .args(arguments)
            .stdout(full.unwrap())
            .stderr(Stdio::piped())
            .output()
            .unwrap();
        let (_, stderr, status) = output_text(&output);
        assert_eq!(status, 2, "{arguments:?}: {stderr}");
        assert!(
            stderr.contains("standard output can't be written"),
            "{arguments:?}: {stderr}"
        );
    }
}

#[test]
fn a_reader_that_stops_early_is_no_error() {
    for arguments in COMMANDS {
        let folder = shop();
        let mut child = benchleaf(folder.path())
            .args(arguments)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        let status = child.wait().unwrap();
        let mut stderr = String::new();
        child.stderr.unwrap().read_to_string(&mut stderr).unwrap();
        assert_eq!(
            (status.code(), stderr.as_str()),
            (Some(0), ""),
            "{arguments:?}"
        );
    }
}

/// No system has an address space for the stack of such a thread.
#[test]
fn threads_that_cannot_be_started_are_an_error() {
    let folder = shop();
    for arguments in COMMANDS {
        let output = benchleaf(folder.path())
            .args(arguments)
            .env("RUST_MIN_STACK", "200000000000000")
            .output();
        let (stdout, stderr, status) = output_text(&output.unwrap());
        if arguments.contains(&"--help") || arguments.contains(&"--version") {
            assert_eq!((stderr.as_str(), status), ("", 0), "{arguments:?}");
            continue;
        }
        assert_eq!(
            (stdout.as_str(), status),
            ("", 2),
            "{arguments:?}: {stderr}"
        );
        assert!(
            stderr.contains("can't start the threads of this run"),
            "{arguments:?}: {stderr}"
        );
    }
}

#[test]
fn a_folder_of_templates_that_does_not_exist_is_an_error() {
    let folder = shop();
    write(&folder.path().join("a-file"), "");
    for command in [
        &["publish", "--html-only"][..],
        &["print", "--machine", "hand-pump", "--html-only"],
        &["bind"],
        &["kit", "--procedure", "cover"],
        &["preview", "--port", "0"],
    ] {
        for templates in ["no-such-folder", "a-file"] {
            let arguments = [command, &["--templates", templates]].concat();
            let (stdout, stderr, status) = run(folder.path(), &arguments);
            assert_eq!(
                (stdout.as_str(), status),
                ("", 2),
                "{arguments:?}: {stderr}"
            );
            assert!(
                stderr.contains(&format!("there is no folder `{templates}`")),
                "{arguments:?}: {stderr}"
            );
        }
    }
    // The folder beside the sources need not exist.
    assert_eq!(run(folder.path(), &["publish", "--html-only"]).2, 0);
}

#[test]
fn a_pipe_or_socket_among_the_sources_is_named_and_not_read() {
    let folder = shop();
    let sources = folder.path().join("procedures");
    let pipes = [
        "glossary.toml",
        "air/other.md",
        "machines/other.toml",
        "figures/a.svg",
    ];
    for path in pipes {
        let path = sources.join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        let _ = fs::remove_file(&path);
        let made = Command::new("mkfifo").arg(&path).status().unwrap();
        assert!(made.success());
    }
    let _socket = std::os::unix::net::UnixListener::bind(sources.join("supplies.md")).unwrap();
    // Reading a pipe waits until something writes to it.
    let mut command = Command::new("timeout");
    command
        .args(["20", env!("CARGO_BIN_EXE_benchleaf"), "check"])
        .current_dir(folder.path());
    let (_, stderr, status) = output_text(&command.output().unwrap());
    assert_eq!(status, 1);
    for path in pipes.into_iter().chain(["supplies.md"]) {
        let expected = format!("`{path}` is a pipe, a device or a socket, and not a file");
        assert!(stderr.contains(&expected), "{path}: {stderr}");
    }
}

#[test]
fn names_that_not_every_system_has_are_refused() {
    let procedure = "+++\ntitle = \"Lid\"\nmachines = [\"hand-pump\"]\n+++\nIt leaks.\n\n## Do\n\n1. Look at it.\n";
    let machine = "name = \"Tarn Rush\"\nbasis = \"invented\"\n";
    let refused = |path: &str| {
        let folder = shop();
        let is_machine = path.starts_with("machines/");
        let text = if is_machine { machine } else { procedure };
        write(&folder.path().join("procedures").join(path), text);
        let (_, stderr, status) = run(folder.path(), &["check"]);
        let is_refused = stderr.contains("is the name of a device on some systems");
        assert_eq!(status, i32::from(is_refused), "{path}: {stderr}");
        is_refused
    };
    for path in [
        "air/con.md",
        "air/nul.md",
        "air/com1.md",
        "air/lpt9.md",
        "aux/lid.md",
        "machines/prn.toml",
    ] {
        assert!(refused(path), "{path}");
    }
    for path in [
        "air/console.md",
        "air/null.md",
        "air/com10.md",
        "air/com.md",
        "auxiliary/lid.md",
        "machines/printer.toml",
    ] {
        assert!(!refused(path), "{path}");
    }
}

/// A tree with one source, which grows at each read until it has its whole text.
struct Growing {
    text: &'static str,
    reads: AtomicUsize,
    /// The number of reads until it is whole.
    whole_at: usize,
}

impl World for Growing {
    fn name(&self) -> String {
        "procedures".to_owned()
    }

    fn list(&self) -> Listing {
        Listing {
            paths: vec!["shop.toml".to_owned()],
            faults: Vec::new(),
        }
    }

    fn read(&self, _: &str) -> io::Result<Vec<u8>> {
        let reads = self.reads.fetch_add(1, Ordering::Relaxed);
        let is_whole = reads >= self.whole_at;
        let end = if is_whole { self.text.len() } else { reads + 1 };
        Ok(self.text.as_bytes()[..end].to_vec())
    }

    fn state(&self, _: &str) -> Option<FileState> {
        let size = self.reads.load(Ordering::Relaxed).min(self.whole_at);
        Some(FileState {
            size: size as u64,
            modified: None,
        })
    }
}

#[test]
fn source_that_changes_while_it_is_read_is_read_again() {
    let growing = |whole_at| Growing {
        text: "name = \"Elmbrook workshop\"",
        reads: AtomicUsize::new(0),
        whole_at,
    };
    for whole_at in 0..5 {
        let world = growing(whole_at);
        let tree = tree::read(&world);
        assert_eq!(tree.files[0].text, world.text, "whole at read {whole_at}");
        assert!(tree.is_current(&world));
        world.reads.store(0, Ordering::Relaxed);
        assert_eq!(tree.is_current(&world), whole_at == 0);
    }
    let tree = tree::read(&growing(100));
    let messages = tree.findings.iter().map(|finding| finding.message.as_str());
    let messages: Vec<&str> = messages.collect();
    assert!(
        messages.contains(&"`shop.toml` can't be read: it changes while it is read"),
        "{messages:?}"
    );
}

#[test]
fn tree_is_not_current_when_a_file_comes_goes_or_changes() {
    let folder = shop();
    let sources = folder.path().join("procedures");
    let disk = tree::Disk::open(&sources).unwrap();
    let is_current = |tree: &tree::Tree| tree.is_current(&disk);
    let tree = tree::read(&disk);
    assert!(is_current(&tree));
    // What is not read does not matter.
    write(&sources.join("notes.bak"), "");
    assert!(is_current(&tree));
    write(&sources.join("glossary.toml"), "");
    assert!(!is_current(&tree));
    fs::remove_file(sources.join("glossary.toml")).unwrap();
    assert!(is_current(&tree));
    let file = sources.join("air/cover.md");
    let text = fs::read_to_string(&file).unwrap();
    let modified = fs::metadata(&file).unwrap().modified().unwrap();
    for (text, modified) in [
        (format!("{text}\n"), modified),
        (text, modified + Duration::from_millis(10)),
    ] {
        write(&file, text);
        let opened = fs::File::options().write(true).open(&file);
        opened.unwrap().set_modified(modified).unwrap();
        assert!(!is_current(&tree));
    }
    fs::remove_file(&file).unwrap();
    assert!(!is_current(&tree));
}

/// The text of a procedure with a body.
fn procedure(title: &str, front: &str, body: &str) -> String {
    format!(
        "+++\ntitle = \"{title}\"\nmachines = [\"hand-pump\"]\n{front}+++\nWhy.\n\n## Do\n\n{body}"
    )
}

/// Each limit: the files of a tree that reaches it exactly, and of one that exceeds it by one.
#[test]
fn what_is_above_a_limit_is_refused_and_what_reaches_it_is_not() {
    /// Makes the path and the text of a file of some size.
    type Sized = fn(usize) -> Vec<(&'static str, String)>;
    let cases: [(&str, usize, Sized); 7] = [
        ("a word has more than 200 letters", 200, |size| {
            vec![(
                "air/other.md",
                procedure("Other", "", &format!("1. Look at {}.", "x".repeat(size))),
            )]
        }),
        (
            "line 9 of `air/other.md` is longer than 16384 bytes",
            16_384,
            |size| {
                let step = format!("1. Look at {:>1$}.", "it", size - 12);
                vec![("air/other.md", procedure("Other", "", &step))]
            },
        ),
        (
            "line 1 of `glossary.toml` is longer than 16384 bytes",
            16_384,
            |size| {
                vec![(
                    "glossary.toml",
                    format!("#{}", "x ".repeat(size)[1..size].to_owned()),
                )]
            },
        ),
        ("the procedure has more than 500 steps", 500, |size| {
            vec![(
                "air/other.md",
                procedure("Other", "", &"1. Look at it.\n".repeat(size)),
            )]
        }),
        ("the fault table has more than 500 causes", 500, |size| {
            let body = "1. Worn. [Look at it](inspect:cover).\n".repeat(size);
            vec![("faults/other.md", procedure("Other", "", &body))]
        }),
        ("there are more than 2000 `part` tables", 2_000, |size| {
            let parts =
                (0..size).map(|index| format!("[part.p{index}]\nname = \"part {index}\"\n"));
            let parts: String = parts.collect();
            let text = format!("name = \"Other\"\nbasis = \"invented\"\n{parts}");
            vec![("machines/other.toml", text)]
        }),
        // It does another procedure, which does a third one with five hundred steps three times.
        (
            "the job of procedure `a` has more than 2000 steps",
            2_000,
            |size| {
                let first = format!("1. [](do:b)\n{}", "1. Look at it.\n".repeat(size - 1_504));
                let last = "1. Look at it.\n".repeat(500);
                let middle = "1. [](do:c)\n1. [](do:c)\n1. [](do:c)\n";
                vec![
                    ("air/a.md", procedure("A", "", &first)),
                    ("air/b.md", procedure("B", "", middle)),
                    ("air/c.md", procedure("C", "", &last)),
                ]
            },
        ),
    ];
    for (message, limit, files) in cases {
        for size in [limit, limit + 1] {
            let folder = shop();
            for (path, text) in files(size) {
                write(&folder.path().join("procedures").join(path), text);
            }
            let (stderr, status) = run_briefly(folder.path(), &["check", "--all"]);
            let is_over = stderr.contains(message);
            assert_eq!(is_over, size > limit, "{message}, {size}: {stderr}");
            assert_eq!(status, i32::from(is_over), "{message}, {size}: {stderr}");
        }
    }
}

/// Twenty procedures in a chain, each of which does the next twice, would make a job of a million steps.
#[test]
fn procedures_that_repeat_each_other_are_refused_at_once() {
    for kind in ["do", "begin"] {
        let folder = shop();
        for index in 0..30 {
            let next = index + 1;
            let (front, body) = match kind {
                _ if index == 29 => (String::new(), "1. Look at it.\n".to_owned()),
                "do" => (
                    String::new(),
                    format!("1. [](do:c{next})\n1. [](do:c{next})\n"),
                ),
                _ => (
                    format!("begin = [\"c{next}\"]\nfinish = [\"c{next}\"]\n"),
                    "1. Look at it.\n".to_owned(),
                ),
            };
            let text = procedure(&format!("C{index}"), &front, &body);
            write(
                &folder.path().join(format!("procedures/air/c{index}.md")),
                text,
            );
        }
        let (stderr, status) = run_briefly(folder.path(), &["check"]);
        // What is begun and finished is done once, however often it is named.
        assert_eq!(status, i32::from(kind == "do"), "{kind}: {stderr}");
        assert_eq!(
            stderr.matches("rule: over-limit").count(),
            usize::from(kind == "do"),
            "{stderr}"
        );
    }
}

/// A slip can give thousands of findings. The worst are shown first, with the total.
#[test]
fn very_many_findings_are_counted_and_the_worst_are_shown() {
    let folder = shop();
    let machine = folder.path().join("procedures/machines/hand-pump.toml");
    let fields: Vec<String> = (0..30_000)
        .map(|index| format!("field-{index} = 1\n"))
        .collect();
    let text = fs::read_to_string(&machine).unwrap();
    // Advice, which would come before the errors.
    write(&folder.path().join("procedures/air/cover.txt"), "");
    write(&machine, format!("{}{text}", fields.concat()));
    let (stderr, status) = run_briefly(folder.path(), &["check"]);
    assert_eq!(status, 1);
    assert!(
        stderr.contains("\n30000 errors"),
        "{}",
        &stderr[stderr.len() - 300..]
    );
    assert_eq!(stderr.matches("rule: unknown-field").count(), 50);
    assert!(stderr.contains("of them are shown, errors first; `benchleaf check --all` shows all"));
    assert!(stderr.starts_with("error: "), "{}", &stderr[..300]);
}

/// Runs the program with a limit on its time, and returns standard error and the exit status, which is -1 for an abort.
fn run_briefly(folder: &Path, arguments: &[&str]) -> (String, i32) {
    let mut command = Command::new("timeout");
    command
        .args(["30", env!("CARGO_BIN_EXE_benchleaf")])
        .args(arguments)
        .current_dir(folder);
    let output = command.output().unwrap();
    let stderr = String::from_utf8_lossy(&output.stderr).into_owned();
    (stderr, output.status.code().unwrap_or(-1))
}

#[test]
fn nesting_of_any_depth_is_printed_or_refused() {
    /// Makes a text of some depth.
    type Nested = fn(usize) -> String;
    let in_steps: [(&str, Nested); 9] = [
        ("asterisks", |depth| format!("{0}a{0} b", "*".repeat(depth))),
        ("emphasis of two kinds", |depth| {
            format!("{}c{}", "*a _b ".repeat(depth), " d_ e*".repeat(depth))
        }),
        ("emphasis without ends", |depth| "*a _b ".repeat(depth)),
        ("brackets", |depth| {
            format!("{}a{}", "[".repeat(depth), "]".repeat(depth))
        }),
        ("links", |depth| {
            format!("{}a{}", "[".repeat(depth), "](use:wrench-10)".repeat(depth))
        }),
        ("images", |depth| {
            format!("{}a{}", "![".repeat(depth), "](a.svg)".repeat(depth))
        }),
        ("backticks", |depth| format!("{0}a{0}", "`".repeat(depth))),
        ("lists", |depth| {
            let item = |level: usize| format!("\n{}- a\n", " ".repeat(3 + 2 * level));
            (0..depth.min(400)).map(item).collect()
        }),
        ("quotations", |depth| {
            format!("a\n\n   {} b", "> ".repeat(depth))
        }),
    ];
    let in_fields: [(&str, Nested); 3] = [
        ("asterisks in a field", |depth| {
            format!("note = \"{0}a{0}\"\n", "*".repeat(depth))
        }),
        ("lists in a field", |depth| {
            format!("note = {}{}\n", "[".repeat(depth), "]".repeat(depth))
        }),
        ("tables in a field", |depth| {
            format!("note = {}1{}\n", "{ a = ".repeat(depth), " }".repeat(depth))
        }),
    ];
    let folder = shop();
    let sources = folder.path().join("procedures");
    let procedure = fs::read_to_string(sources.join("air/cover.md")).unwrap();
    let machine = fs::read_to_string(sources.join("machines/hand-pump.toml")).unwrap();
    let steps = in_steps.map(|nested| (nested, true));
    let fields = in_fields.map(|nested| (nested, false));
    let mut printed = 0;
    for ((name, nested), is_step) in steps.into_iter().chain(fields) {
        for depth in [1, 4, 8, 9, 40, 5_000] {
            let text = nested(depth);
            let (step, field) = if is_step {
                (text.as_str(), "")
            } else {
                ("", text.as_str())
            };
            write(
                &sources.join("air/cover.md"),
                procedure.replacen("1. With", &format!("1. {step} With"), 1),
            );
            write(
                &sources.join("machines/hand-pump.toml"),
                format!("{field}{machine}"),
            );
            let (stderr, status) = run_briefly(folder.path(), &["check"]);
            assert!(
                matches!(status, 0 | 1),
                "{name}, {depth}: {status}, {stderr}"
            );
            if status == 0 {
                printed += 1;
                let (stderr, status) = run_briefly(folder.path(), &["publish", "--html-only"]);
                assert_eq!(status, 0, "{name}, {depth}: {stderr}");
            }
        }
    }
    assert!(printed >= 12, "{printed} printed");
}

#[test]
fn a_chain_of_procedures_of_any_length_is_printed_or_refused() {
    for (kind, lengths) in [
        ("begin", [32, 33, 3_000]),
        ("do", [32, 33, 3_000]),
        ("finish", [32, 33, 3_000]),
    ] {
        for length in lengths {
            let folder = shop();
            let sources = folder.path().join("procedures");
            for index in 0..length {
                let next = index + 1;
                let is_last = next == length;
                let front = match kind {
                    "do" => String::new(),
                    _ if is_last => String::new(),
                    field => format!("{field} = [\"c{next}\"]\n"),
                };
                let step = match kind {
                    "do" if !is_last => format!("[](do:c{next})"),
                    _ => "Look at it.".to_owned(),
                };
                let text = format!(
                    "+++\ntitle = \"C{index}\"\nmachines = [\"hand-pump\"]\n{front}+++\nWhy.\n\n## Do\n\n1. {step}\n"
                );
                write(&sources.join(format!("air/c{index}.md")), text);
            }
            let (stderr, status) = run_briefly(folder.path(), &["check"]);
            let expected = i32::from(length > 32);
            assert_eq!(status, expected, "{kind}, {length}: {stderr}");
            let reported = stderr.matches("includes others more than 32 deep").count();
            assert_eq!(
                reported,
                usize::from(length > 32),
                "{kind}, {length}: {stderr}"
            );
        }
    }
}

#[test]
fn a_file_that_is_too_large_is_named_and_not_read() {
    let folder = shop();
    let sources = folder.path().join("procedures");
    // Files of holes: they take no space on the disk, and would take all memory if they were read.
    let files = [
        ("glossary.toml", 1 << 40, "8 MiB"),
        ("air/other.md", (8 << 20) + 1, "8 MiB"),
        ("machines/other.toml", 1 << 33, "8 MiB"),
        ("figures/large.png", (64 << 20) + 1, "64 MiB"),
    ];
    for (path, size, _) in files {
        let path = sources.join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::File::create(&path).unwrap().set_len(size).unwrap();
    }
    let (stderr, status) = run_briefly(folder.path(), &["check"]);
    assert_eq!(status, 1, "{stderr}");
    for (path, _, limit) in files {
        let expected = format!("`{path}` is larger than {limit}");
        assert!(stderr.contains(&expected), "{path}: {stderr}");
    }
    // A large source within the limit is read.
    let folder = shop();
    let text = "# a comment\n".repeat(600_000);
    write(&folder.path().join("procedures/glossary.toml"), text);
    let (stderr, status) = run_briefly(folder.path(), &["check"]);
    assert_eq!(status, 0, "{stderr}");
}
