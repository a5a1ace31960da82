//! The tutorial does what it says: its commands are run in a folder of their own, and print what it shows.
//!
//! In `docs/tutorial.md`, a block of `console` has commands after `$ `, each followed by what it prints. A line `...`
//! stands for any lines. A comment above a block says what the block is: `write PATH` a file that the reader types,
//! `change PATH` a change of one as a diff, and `shows PATH` what a file contains.

use super::program::benchleaf;
use super::support::{self, root, typst};
use std::ffi::OsString;
use std::fs;
use std::path::Path;
use std::process::Command;

/// A block of the tutorial.
#[derive(Debug)]
struct Block {
    /// The number of its first line.
    line: usize,
    language: String,
    /// The comment above it: what it is, and the path of a file.
    role: Option<(String, String)>,
    text: String,
}

fn blocks(tutorial: &str) -> Vec<Block> {
    let mut blocks: Vec<Block> = Vec::new();
    let mut role = None;
    let mut open = false;
    for (index, line) in tutorial.lines().enumerate() {
        if let Some(language) = line.strip_prefix("```") {
            open = !open;
            if open {
                blocks.push(Block {
                    line: index + 1,
                    language: language.to_owned(),
                    role: role.take(),
                    text: String::new(),
                });
            }
        } else if open {
            let text = &mut blocks.last_mut().unwrap().text;
            text.push_str(line);
            text.push('\n');
        } else if let Some(comment) = line.strip_prefix("<!-- ") {
            let comment = comment.strip_suffix(" -->").unwrap();
            let (word, path) = comment.split_once(' ').unwrap();
            role = Some((word.to_owned(), path.to_owned()));
        } else if !line.is_empty() {
            assert_eq!(role, None, "line {index}: a comment without its block");
        }
    }
    assert!(!open, "a block without its end");
    blocks
}

/// Whether a text is the shown one, in which a line `...` stands for any lines.
fn is_shown(text: &str, shown: &str) -> bool {
    let lines: Vec<&str> = text.lines().collect();
    let pieces: Vec<Vec<&str>> = shown
        .split_inclusive('\n')
        .collect::<Vec<_>>()
        .split(|line| line.trim_end() == "...")
        .map(|piece| {
            piece
                .iter()
                .map(|line| line.trim_end_matches('\n'))
                .collect()
        })
        .collect();
    let mut at = 0;
    for (index, piece) in pieces.iter().enumerate() {
        let found = if index == 0 {
            lines.starts_with(piece).then_some(0)
        } else if piece.is_empty() {
            Some(at)
        } else {
            lines[at..]
                .windows(piece.len())
                .position(|window| window == piece)
                .map(|offset| at + offset)
        };
        let Some(found) = found else { return false };
        at = found + piece.len();
    }
    let ends_open = pieces.len() > 1 && pieces.last().is_some_and(Vec::is_empty);
    ends_open || at == lines.len()
}

#[test]
fn a_line_of_dots_stands_for_any_lines() {
    for (shown, wanted) in [
        ("a\nb\nc\n", true),
        ("a\n...\n", true),
        ("...\nc\n", true),
        ("a\n...\nc\n", true),
        ("a\n...\nb\nc\n", true),
        ("a\nb\n", false),
        ("b\nc\n", false),
        ("...\nb\n", false),
        ("a\nx\nc\n", false),
        ("a\n...\nx\n...\n", false),
    ] {
        assert_eq!(is_shown("a\nb\nc\n", shown), wanted, "{shown:?}");
    }
}

/// Runs a command as a shell would, and returns all that it prints.
fn run(folder: &Path, command: &str) -> String {
    let program = benchleaf(folder);
    let bin = Path::new(program.get_program())
        .parent()
        .unwrap()
        .to_owned();
    let mut path = OsString::from(bin);
    path.push(":");
    path.push(std::env::var_os("PATH").unwrap_or_default());
    let output = Command::new("sh")
        .args(["-c", &format!("exec 2>&1; {command}")])
        .current_dir(folder)
        .env("PATH", path)
        .env("BENCHLEAF_TYPST", typst())
        .output()
        .unwrap();
    String::from_utf8(output.stdout).unwrap()
}

/// The text before and after the change that a diff shows.
fn change(diff: &str) -> (String, String) {
    let (mut before, mut after) = (String::new(), String::new());
    for line in diff.lines() {
        let (mark, text) = line.split_at(line.len().min(1));
        for (marks, side) in [(" -", &mut before), (" +", &mut after)] {
            if mark.is_empty() || marks.contains(mark) {
                side.push_str(text);
                side.push('\n');
            }
        }
    }
    (before, after)
}

#[test]
fn the_tutorial_does_what_it_shows() {
    let tutorial = fs::read_to_string(root().join("docs/tutorial.md")).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let (mut commands, mut files) = (0, 0);
    for block in blocks(&tutorial) {
        let place = format!("docs/tutorial.md:{}", block.line);
        match (block.language.as_str(), &block.role) {
            ("console", None) => {
                for command in block.text.split("$ ").skip(1) {
                    let (command, shown) = command.split_once('\n').unwrap();
                    let printed = run(folder.path(), command);
                    let printed = printed.replace(folder.path().to_str().unwrap(), "");
                    assert!(
                        is_shown(&printed, shown),
                        "{place}: `{command}` prints:\n{printed}"
                    );
                    commands += 1;
                }
            }
            // How the program is installed.
            ("sh", None) => {}
            (_, Some((role, path))) => {
                let path = folder.path().join(path);
                let text = fs::read_to_string(&path).unwrap_or_default();
                match role.as_str() {
                    "write" => support::write(&path, &block.text),
                    "change" => {
                        let (before, after) = change(&block.text);
                        assert_eq!(text.matches(&before).count(), 1, "{place}: in\n{text}");
                        fs::write(&path, text.replacen(&before, &after, 1)).unwrap();
                    }
                    "shows" => assert!(is_shown(&text, &block.text), "{place}: it is\n{text}"),
                    other => panic!("{place}: what is `{other}`?"),
                }
                files += 1;
            }
            (language, None) => panic!("{place}: what is a block of `{language}`?"),
        }
    }
    assert!(
        commands >= 10 && files >= 3,
        "{commands} commands, {files} files"
    );
}
