//! The shops that a fuzzer's text is put into, and texts to begin with.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// The files of a shop, by path.
pub type Files = BTreeMap<String, Vec<u8>>;

/// The machine of the demonstration that [`Base`] keeps.
const MACHINE: &str = "tarn-comfrey";
/// The procedures of the demonstration that [`Base`] keeps: what begins and finishes most others.
const KEPT: [&str; 4] = [
    "safety/make-safe.md",
    "safety/test-run.md",
    "safety/leak-check.md",
    "fuel/fuel-drain.md",
];
/// The procedure that an input is put into.
const JOB: &str = "ignition/job.md";
/// The front matter of that procedure, if the input is its body.
const FRONT: &str = "title = \"Job\"\nmachines = [\"tarn-comfrey\"]\nminutes = 10\n\
    begin = [\"make-safe\", \"fuel-drain\"]\nfinish = [\"leak-check\", \"test-run\"]\n";
/// Its body, if the input is its front matter.
const BODY: &str = "Why.\n\n## Take off\n\n1. [Unscrew the plug](remove:spark-plug).\n2. [Wipe it](clean:spark-plug).\n\
    3. [Look at the tip](inspect:spark-plug).\n\n## Put back {.reverse}\n";

/// The shops, and the texts to begin with, read once.
#[derive(Debug)]
pub struct Base {
    /// The tree that the examples of rules are applied to.
    small: Files,
    /// One machine of the demonstration, with what begins and finishes its jobs.
    machine: Files,
    /// The procedures and fault tables of the demonstration on that machine: front matter and body.
    procedures: Vec<(String, String)>,
}

impl Default for Base {
    fn default() -> Self {
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        // The manifest is that of the fuzz crate or of the whole project.
        let root = root
            .ancestors()
            .find(|folder| folder.join("procedures").is_dir());
        let root = root.expect("the demonstration is in the project's root");
        let mut machine = files(&root.join("procedures"));
        machine.remove("README.md");
        // It names other machines.
        machine.remove("log.toml");
        machine.retain(|path, _| !path.starts_with("machines/") || path.contains(MACHINE));
        machine.retain(|path, text| !is_legend(path) || is_of_machine(text));
        if let Some(shop) = machine.get_mut("shop.toml") {
            *shop = without_order(&String::from_utf8_lossy(shop)).into_bytes();
        }
        let records = machine.get(&format!("machines/{MACHINE}.toml"));
        let records = records_of(records.map_or(&[], Vec::as_slice));
        let mut procedures = Vec::new();
        let texts: Vec<(String, Vec<u8>)> = machine
            .clone()
            .into_iter()
            .filter(|(path, _)| is_markdown(path))
            .collect();
        for (path, text) in texts {
            machine.remove(&path);
            let text = of_machine(&String::from_utf8_lossy(&text), &records);
            let Some((front, body)) = text.as_deref().and_then(halves) else {
                continue;
            };
            if KEPT.contains(&path.as_str()) {
                machine.insert(path.clone(), joined(front.as_bytes(), body.as_bytes()));
            }
            procedures.push((front.to_owned(), body.to_owned()));
        }
        Base {
            small: files(&root.join("tests/trees/hand-pump")),
            machine,
            procedures,
        }
    }
}

/// Whether a file is the legend of a figure.
fn is_legend(path: &str) -> bool {
    let stem = path.strip_prefix("figures/");
    stem.and_then(|name| name.strip_suffix(".toml")).is_some()
}

/// Whether a legend names the kept machine and no other.
fn is_of_machine(text: &[u8]) -> bool {
    let text = String::from_utf8_lossy(text);
    let mut lines = text.lines().filter(|line| line.starts_with("machines = "));
    lines.all(|line| line == format!("machines = [\"{MACHINE}\"]"))
}

/// The text of a `shop.toml` without the order of chapters and procedures, most of which the shops here do not have.
fn without_order(shop: &str) -> String {
    let mut kept = String::new();
    let mut is_in_list = false;
    for line in shop.split_inclusive('\n') {
        is_in_list |= line.starts_with("chapters = [") || line.starts_with("procedures = [");
        if !is_in_list {
            kept.push_str(line);
        }
        is_in_list &= !line.trim_end().ends_with(']');
    }
    kept
}

impl Base {
    /// A shop in which the text is the front matter of a procedure.
    #[must_use]
    pub fn with_front_matter(&self, text: &[u8]) -> Files {
        self.with_job(joined(text, BODY.as_bytes()))
    }

    /// A shop in which the text is the body of a procedure.
    #[must_use]
    pub fn with_body(&self, text: &[u8]) -> Files {
        self.with_job(joined(FRONT.as_bytes(), text))
    }

    fn with_job(&self, text: Vec<u8>) -> Files {
        let mut files = self.machine.clone();
        files.insert(JOB.to_owned(), text);
        files
    }

    /// A shop with the files in the text, in the form of the examples of rules: `=== path` begins a file, `=== + path`
    /// text to append to one, and `=== bare` removes all others.
    #[must_use]
    pub fn with_files(&self, text: &[u8]) -> Files {
        let mut files = self.small.clone();
        let mut path = "machines/hand-pump.toml".to_owned();
        for line in text.split(|byte| *byte == b'\n') {
            let Some(name) = line.strip_prefix(b"=== ") else {
                let content = files.entry(path.clone()).or_default();
                content.extend(line);
                content.push(b'\n');
                continue;
            };
            let name = String::from_utf8_lossy(name);
            if name == "bare" {
                files.clear();
            } else if let Some(appended) = name.strip_prefix("+ ") {
                appended.clone_into(&mut path);
            } else {
                path = name.into_owned();
                files.insert(path.clone(), Vec::new());
            }
        }
        files
    }

    /// Front matter of the demonstration.
    #[must_use]
    pub fn front_matter(&self) -> Vec<String> {
        self.procedures
            .iter()
            .map(|(front, _)| front.clone())
            .collect()
    }

    /// Bodies of the demonstration.
    #[must_use]
    pub fn bodies(&self) -> Vec<String> {
        self.procedures
            .iter()
            .map(|(_, body)| body.clone())
            .collect()
    }

    /// The examples of all rules, the tree that they are applied to, and that tree with a machine of the demonstration.
    #[must_use]
    pub fn trees(&self) -> Vec<String> {
        let mut trees = vec![as_text(&self.small)];
        for rule in benchleaf::rules() {
            let example = rule.page.split_once("```tree\n");
            let example = example.and_then(|(_, rest)| rest.split_once("```"));
            let lines = example.into_iter().flat_map(|(text, _)| text.lines());
            let lines = lines.map(|line| line.strip_prefix(' ').unwrap_or(line));
            let text = lines.collect::<Vec<_>>().join("\n");
            // The text is appended to a file of its own in the form of the examples.
            if !text.is_empty() && !text.contains("=== on ") {
                trees.push(text);
            }
        }
        trees
    }
}

/// Files as one text, which replaces all others.
fn as_text(files: &Files) -> String {
    let mut text = "=== bare\n".to_owned();
    for (path, content) in files {
        let content = String::from_utf8_lossy(content);
        text.extend(["=== ", path, "\n", &content]);
    }
    text
}

/// The front matter and the body of a procedure.
fn halves(text: &str) -> Option<(&str, &str)> {
    text.strip_prefix("+++\n")?.split_once("+++\n")
}

fn joined(front: &[u8], body: &[u8]) -> Vec<u8> {
    [b"+++\n", front, b"\n+++\n", body].concat()
}

fn is_markdown(path: &str) -> bool {
    Path::new(path).extension().is_some_and(|end| end == "md")
}

/// The ids in the headings of records: `[part.cover]`.
fn records_of(text: &[u8]) -> Vec<String> {
    let text = String::from_utf8_lossy(text);
    let headings = text
        .lines()
        .filter_map(|line| line.strip_prefix('[')?.strip_suffix(']'));
    let ids = headings.filter_map(|heading| heading.split_once('.'));
    ids.map(|(_, id)| id.to_owned()).collect()
}

/// A procedure of the demonstration, for one machine only: without the steps of others, and those about records that it
/// does not have. `None` if it is not for that machine.
fn of_machine(text: &str, records: &[String]) -> Option<String> {
    let machines = text.lines().find(|line| line.starts_with("machines = "))?;
    if !machines.contains(MACHINE) {
        return None;
    }
    let is_known = |id: &str| records.iter().any(|record| record == id);
    let mut is_left_undone = false;
    let kept = |line: &&str| {
        if line.starts_with('[') || line.starts_with("+++") {
            is_left_undone = *line == "[left-undone]";
        }
        let key = line.split_once(" = ").filter(|_| is_left_undone);
        let mut actions = line
            .split("](")
            .skip(1)
            .filter_map(|link| link.split_once(')'));
        let is_other = line.contains("only=\"") && !line.contains(MACHINE);
        !is_other
            && key.is_none_or(|(key, _)| is_known(key))
            && (!line.contains("{if-fitted}")
                || actions.all(|(action, _)| match action.split_once(':') {
                    Some(("use" | "apply", _)) | None => true,
                    Some((_, id)) => is_known(id),
                }))
    };
    let text = text.replace(machines, &format!("machines = [\"{MACHINE}\"]"));
    let lines = text
        .lines()
        .filter(kept)
        .map(|line| match line.split_once(" {only=\"") {
            Some((before, _)) => before,
            None => line,
        });
    Some(lines.flat_map(|line| [line, "\n"]).collect())
}

/// The files below a folder, each with its path relative to it.
fn files(folder: &Path) -> Files {
    let mut files = Files::new();
    let mut folders: Vec<PathBuf> = vec![folder.to_owned()];
    while let Some(current) = folders.pop() {
        for entry in fs::read_dir(&current).into_iter().flatten().flatten() {
            let path = entry.path();
            if path.is_dir() {
                folders.push(path);
            } else if let Ok(relative) = path.strip_prefix(folder) {
                let name = relative.to_string_lossy().replace('\\', "/");
                files.insert(name, fs::read(&path).unwrap_or_default());
            }
        }
    }
    files
}
