//! The tree `engine-manual`, which has the structure of the manual of a real engine: it is clean, its manual has the
//! chapters in the author's order, each removal and its installation name each other, and the tables of torques, wear,
//! readings and inspections in the PDF have the values of the sources.
//!
//! The sources are read here by the `toml` crate alone, and the PDF by `pdftotext`, so that neither Benchleaf's reader nor
//! its writer is trusted.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

#[path = "support/program.rs"]
mod program;
mod support;

use program::benchleaf;
use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::process::Command;
use support::{files, output_text, tree, typst};
use toml::{Table, Value};

const MACHINES: [&str; 3] = ["tarn-rowan", "tarn-rowan-electric", "tarn-rowan-late"];

/// What the tree has at least.
const WANTED_PROCEDURES: usize = 15;
const WANTED_PAIRS: usize = 5;

fn source() -> PathBuf {
    tree("engine-manual")
}

/// The procedures: path, front matter and text.
fn procedures() -> Vec<(String, Table, String)> {
    let procedures = files(&source()).into_iter().filter_map(|(path, bytes)| {
        let is_procedure = path.strip_suffix(".md").is_some() && !path.starts_with("faults/");
        let text = is_procedure.then(|| String::from_utf8(bytes).unwrap())?;
        let (front, body) = text
            .strip_prefix("+++\n")
            .unwrap()
            .split_once("+++\n")
            .unwrap();
        Some((path, front.parse().unwrap(), body.to_owned()))
    });
    procedures.collect()
}

/// The id of a procedure by its path.
fn id(path: &str) -> &str {
    path.rsplit_once('/')
        .unwrap()
        .1
        .strip_suffix(".md")
        .unwrap()
}

#[test]
fn the_tree_is_clean() {
    let output = benchleaf(&source())
        .args(["check", ".", "--deny", "advice"])
        .output()
        .unwrap();
    let (stdout, stderr, status) = output_text(&output);
    assert_eq!((stderr.as_str(), status), ("", 0), "{stdout}");
    let all = procedures();
    assert!(all.len() >= WANTED_PROCEDURES, "{}", all.len());
    let like = MACHINES.map(|machine| record(machine).contains_key("like"));
    assert_eq!(like.iter().filter(|like| **like).count(), 2);
}

/// The file of a machine, as written.
fn record(machine: &str) -> Table {
    let path = source().join(format!("machines/{machine}.toml"));
    std::fs::read_to_string(path).unwrap().parse().unwrap()
}

/// A machine with what it takes over from the one that it is like.
fn machine(id: &str) -> Table {
    let own = record(id);
    let Some(like) = own.get("like").and_then(Value::as_str) else {
        return own;
    };
    let mut whole = record(like);
    for key in own.get("lacks").and_then(Value::as_array).unwrap() {
        for (_, value) in &mut whole {
            let Some(table) = value.as_table_mut() else {
                continue;
            };
            table.remove(key.as_str().unwrap());
        }
    }
    merge(&mut whole, &own);
    whole
}

fn merge(into: &mut Table, from: &Table) {
    for (key, value) in from {
        match (into.get_mut(key).and_then(Value::as_table_mut), value) {
            (Some(into), Value::Table(from)) => merge(into, from),
            _ => {
                into.insert(key.clone(), value.clone());
            }
        }
    }
}

/// What a program prints.
fn output_of(program: &str, arguments: &[&OsStr]) -> String {
    let output = Command::new(program).args(arguments).output();
    let output = output.unwrap_or_else(|why| panic!("{program} is missing: {why}"));
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// A word of a PDF: where it is, how high, and its text.
struct Word {
    page: u32,
    left: f64,
    top: f64,
    height: f64,
    text: String,
}

fn words(pdf: &Path) -> Vec<Word> {
    let text = output_of(
        "pdftotext",
        &["-tsv".as_ref(), pdf.as_os_str(), "-".as_ref()],
    );
    let words = text.lines().filter_map(|line| {
        let fields: Vec<&str> = line.split('\t').collect();
        let is_word = fields[0] == "5";
        is_word.then(|| Word {
            page: fields[1].parse().unwrap(),
            left: fields[6].parse().unwrap(),
            top: fields[7].parse().unwrap(),
            height: fields[9].parse().unwrap(),
            text: fields[11].replace('\u{a0}', " "),
        })
    });
    words.collect()
}

/// A table in a PDF, with the text of each cell up to a value in other units, which is in brackets.
type Rows = Vec<Vec<String>>;

fn first_word(title: &str) -> &str {
    title.split(' ').next().unwrap()
}

/// The left edges of the columns of a table, and where its head is, for each page that it is on.
fn heads(words: &[Word], titles: &[&str]) -> Vec<(u32, f64, Vec<f64>)> {
    let starts = words
        .iter()
        .filter(|word| word.text == first_word(titles[0]));
    let heads = starts.filter_map(|start| {
        let mut at = start.left;
        let lefts: Option<Vec<f64>> = titles
            .iter()
            .map(|title| {
                let mut line = words.iter().filter(|word| {
                    word.page == start.page && (word.top - start.top).abs() < 1.0 && word.left >= at
                });
                let found = line.find(|word| word.text == first_word(title))?;
                at = found.left;
                Some(at)
            })
            .collect();
        Some((start.page, start.top, lefts?))
    });
    heads.collect()
}

/// The rows of the tables with these heads. A row starts where a line of its cell `marked` is one for which `is_start`
/// holds.
fn rows(
    words: &[Word],
    heads: &[(u32, f64, Vec<f64>)],
    marked: usize,
    is_start: fn(&str) -> bool,
) -> Rows {
    let mut rows = Rows::new();
    for (page, top, lefts) in heads {
        let column = |word: &Word| lefts.iter().rposition(|left| word.left >= left - 1.0);
        let below = words
            .iter()
            .filter(|word| word.page == *page && word.top > top + 5.0)
            .filter(|word| column(word).is_some());
        // A heading, the head of another table, or a line below the table ends it. So does the foot of the page.
        let is_end = |word: &Word| {
            let is_cell = (11.8..13.5).contains(&word.height);
            word.top > top + 12.0 && !is_cell && word.left < lefts[1] - 1.0
        };
        let ends = below.clone().filter(|word| is_end(word));
        let end = ends.map(|word| word.top).fold(800.0, f64::min);
        let mut cells: Vec<&Word> = below
            .filter(|word| word.top < end - 1.0 && (11.9..13.5).contains(&word.height))
            .collect();
        cells.sort_by(|one, other| {
            let by_top = one.top.total_cmp(&other.top);
            by_top.then(one.left.total_cmp(&other.left))
        });
        // The lines of the marked cells, with their text.
        let mut lines: Vec<(f64, String)> = Vec::new();
        for word in cells.iter().filter(|word| column(word) == Some(marked)) {
            match lines.last_mut() {
                Some((top, line)) if word.top - *top < 1.0 => *line += &format!(" {}", word.text),
                _ => lines.push((word.top, word.text.clone())),
            }
        }
        let starts = lines.iter().filter(|(_, line)| is_start(line));
        let starts: Vec<f64> = starts.map(|(top, _)| *top).collect();
        for (index, start) in starts.iter().enumerate() {
            let next = starts.get(index + 1).copied().unwrap_or(end);
            let mut row = vec![Vec::new(); lefts.len()];
            for word in &cells {
                if word.top > start - 1.0 && word.top < next - 1.0 {
                    row[column(word).unwrap()].push(word.text.as_str());
                }
            }
            rows.push(row.into_iter().map(|words| first_value(&words)).collect());
        }
    }
    rows
}

/// The words up to a value in brackets.
fn first_value(words: &[&str]) -> String {
    let words = words.iter().take_while(|word| !word.starts_with('['));
    words.copied().collect::<Vec<_>>().join(" ")
}

/// The manual of a machine, as words.
fn manual(folder: &Path, machine: &str) -> Vec<Word> {
    let output = benchleaf(folder)
        .arg("bind")
        .arg(source())
        .args(["--output", "output", "--machine", machine])
        .env("BENCHLEAF_TYPST", typst())
        .output()
        .unwrap();
    assert_eq!(output_text(&output).2, 0, "{}", output_text(&output).1);
    words(&folder.join(format!("output/{machine}/manual.pdf")))
}

/// A value as the column of a table prints it, whose head has its unit: "9 ± 1" for "9 N·m ± 1 N·m".
fn without_unit(value: &str, unit: &str) -> String {
    let value = value.replace(&format!(" {unit}"), "");
    value.replace("max ", "at most ")
}

/// The records of a kind, with their keys.
fn records<'m>(machine: &'m Table, kind: &str) -> Vec<(&'m String, &'m Table)> {
    let records = machine[kind].as_table().unwrap().iter();
    records
        .map(|(key, record)| (key, record.as_table().unwrap()))
        .collect()
}

fn text<'t>(record: &'t Table, key: &str) -> Option<&'t str> {
    record.get(key).and_then(Value::as_str)
}

/// The names and torques of the fasteners.
fn torques(machine: &Table) -> BTreeSet<(String, String)> {
    let mut all = BTreeSet::new();
    for (_, part) in records(machine, "part") {
        let count = part.get("count").and_then(Value::as_integer).unwrap_or(1);
        let mut name = text(part, "name").unwrap().to_owned();
        if let Some(thread) = text(part, "thread") {
            let thread = thread.replace('x', "×");
            name += &match count {
                1 => format!(", {thread}"),
                _ => format!(", {count} × {thread}"),
            };
        }
        if let Some(torque) = text(part, "torque") {
            all.insert((name, without_unit(torque, "N·m")));
        } else if let Some(stages) = part.get("stages").and_then(Value::as_array) {
            for (index, stage) in stages.iter().enumerate() {
                let stage_name = format!("{name}, stage {} of {}", index + 1, stages.len());
                all.insert((stage_name, without_unit(stage.as_str().unwrap(), "N·m")));
            }
        }
    }
    all
}

/// The names, new and desired sizes and wear limits of the dimensions.
fn dimensions(machine: &Table) -> BTreeSet<[String; 4]> {
    let mut all = BTreeSet::new();
    for (_, part) in records(machine, "part") {
        if !part.contains_key("dimension") {
            continue;
        }
        for (_, dimension) in records(part, "dimension") {
            let (part, name) = (
                text(part, "name").unwrap(),
                text(dimension, "name").unwrap(),
            );
            let value = |key| match text(dimension, key) {
                Some(value) => without_unit(value, "mm"),
                None => "–".to_owned(),
            };
            all.insert([
                format!("{part}, {name}"),
                value("new"),
                value("desired"),
                value("wear-limit"),
            ]);
        }
    }
    all
}

/// The names and limits of the readings. The limits of a level are its marks.
fn readings(machine: &Table) -> BTreeSet<(String, String)> {
    let readings = records(machine, "reading").into_iter();
    let all = readings.map(|(_, reading)| {
        let marks = reading.get("marks").and_then(Value::as_array);
        let marks = marks.map(|marks| {
            let [low, high] = [0, 1].map(|index| marks[index].as_str().unwrap());
            format!("between {low} and {high}")
        });
        let limits = text(reading, "limits").map(|limits| limits.replace("max ", "at most "));
        (
            text(reading, "name").unwrap().to_owned(),
            limits.or(marks).unwrap(),
        )
    });
    all.collect()
}

/// The same without the marks that say where a line may not break, or may.
fn joined(text: &str) -> String {
    text.replace(['\u{2060}', '\u{200b}'], "")
}

#[test]
fn the_tables_of_the_manual_have_the_values_of_the_sources() {
    let folder = tempfile::tempdir().unwrap();
    // The least numbers of rows: torques, dimensions and readings.
    let least = BTreeMap::from([
        ("tarn-rowan", [20, 18, 8]),
        ("tarn-rowan-electric", [20, 19, 9]),
        ("tarn-rowan-late", [20, 18, 8]),
    ]);
    for id in MACHINES {
        let machine = machine(id);
        let words = manual(folder.path(), id);
        let titles = [
            "Fastener",
            "Class",
            "Torque, N·m",
            "Spanner",
            "Tool and setting",
            "Pattern",
        ];
        let printed: BTreeSet<(String, String)> =
            rows(&words, &heads(&words, &titles), 2, |line| {
                line.contains('±') && !line.starts_with('[')
            })
            .into_iter()
            .map(|row| (joined(&row[0]), row[2].clone()))
            .collect();
        assert_eq!(printed, torques(&machine), "torques of {id}");
        assert!(printed.len() >= least[id][0], "{} torques", printed.len());
        let titles = [
            "Part, dimension",
            "New, mm",
            "Desired, mm",
            "Wear limit, mm",
            "Where, tool",
            "Beyond the limit",
        ];
        let printed: BTreeSet<[String; 4]> = rows(&words, &heads(&words, &titles), 3, |line| {
            line.starts_with("at ")
        })
        .into_iter()
        .map(|row| [0, 1, 2, 3].map(|column| joined(&row[column])))
        .collect();
        assert_eq!(printed, dimensions(&machine), "dimensions of {id}");
        assert!(
            printed.len() >= least[id][1],
            "{} dimensions",
            printed.len()
        );
        let titles = ["Reading", "Limits", "Tool", "Remedy if out of limits"];
        let is_value = |line: &str| {
            ["at ", "between "]
                .iter()
                .any(|start| line.starts_with(start))
                || line.starts_with(|letter: char| letter.is_ascii_digit())
        };
        let printed: BTreeSet<(String, String)> =
            rows(&words, &heads(&words, &titles), 1, is_value)
                .into_iter()
                .map(|row| (joined(&row[0]), row[1].clone()))
                .collect();
        let wanted = readings(&machine);
        assert_eq!(printed, wanted, "readings of {id}");
        assert!(wanted.len() >= least[id][2], "{} readings", wanted.len());
    }
}

/// The manual of a machine as its bookmarks have it: each chapter of procedures with their titles.
fn chapters(pdf: &Path) -> Vec<(String, Vec<String>)> {
    let outline = output_of(
        "mutool",
        &["show".as_ref(), pdf.as_os_str(), "outline".as_ref()],
    );
    let lines = outline.lines().map(|line| {
        let depth =
            line.matches('\t').count() - line.split('"').nth(2).unwrap().matches('\t').count();
        (depth, line.split('"').nth(1).unwrap().to_owned())
    });
    let rest = lines.skip_while(|(_, title)| title != "Procedures").skip(1);
    let mut chapters: Vec<(String, Vec<String>)> = Vec::new();
    for (depth, title) in rest.take_while(|(depth, _)| *depth > 1) {
        match chapters.last_mut() {
            Some((_, titles)) if depth > 2 => titles.push(title),
            _ => chapters.push((title, Vec::new())),
        }
    }
    chapters
}

#[test]
fn the_manual_has_the_chapters_in_the_order_of_the_shop() {
    let folder = tempfile::tempdir().unwrap();
    let shop = std::fs::read_to_string(source().join("shop.toml")).unwrap();
    let shop: Table = shop.parse().unwrap();
    let procedures = procedures();
    let front = |id_wanted: &str| {
        let mut all = procedures.iter();
        &all.find(|(path, ..)| id(path) == id_wanted).unwrap().1
    };
    let names = |table: &Table, key: &str| -> Vec<String> {
        let names = table[key].as_array().unwrap().iter();
        names
            .map(|name| name.as_str().unwrap().to_owned())
            .collect()
    };
    let systems = names(&shop, "chapters");
    let mut sorted = systems.clone();
    sorted.sort();
    assert_ne!(systems, sorted, "the order is not that of the names");
    for machine in MACHINES {
        let wanted: Vec<(String, Vec<String>)> = systems
            .iter()
            .map(|system| {
                let system = shop["system"][system].as_table().unwrap();
                let own = names(system, "procedures").into_iter();
                let own = own.map(|id| front(&id));
                let own =
                    own.filter(|front| names(front, "machines").iter().any(|id| id == machine));
                let titles = own.map(|front| text(front, "title").unwrap().to_owned());
                (text(system, "title").unwrap().to_owned(), titles.collect())
            })
            .collect();
        manual(folder.path(), machine);
        let pdf = folder.path().join(format!("output/{machine}/manual.pdf"));
        assert_eq!(chapters(&pdf), wanted, "{machine}");
    }
    let page = publish(folder.path()).join("index.html");
    let page = std::fs::read_to_string(page).unwrap();
    let places = systems
        .iter()
        .map(|system| page.find(&format!("system/{system}.html")));
    let places: Vec<usize> = places.map(Option::unwrap).collect();
    assert!(places.is_sorted(), "{places:?}");
}

/// Publishes the pages, without PDFs.
fn publish(folder: &Path) -> PathBuf {
    let output = benchleaf(folder)
        .arg("publish")
        .arg(source())
        .args(["--output", "site", "--html-only", "--deny", "advice"])
        .output()
        .unwrap();
    assert_eq!(output_text(&output).2, 0, "{}", output_text(&output).1);
    folder.join("site")
}

/// The text of a page, without its elements.
fn page_text(page: &str) -> String {
    let mut text = String::new();
    let mut is_element = false;
    for letter in page.chars() {
        match letter {
            '<' => is_element = true,
            '>' => is_element = false,
            '\u{a0}' => text.push(' '),
            _ if !is_element => text.push(letter),
            _ => {}
        }
    }
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_removal_and_its_installation_name_each_other() {
    let folder = tempfile::tempdir().unwrap();
    let site = publish(folder.path());
    let procedures = procedures();
    let title = |wanted: &str| {
        let mut all = procedures.iter();
        let (_, front, _) = all.find(|(path, ..)| id(path) == wanted).unwrap();
        text(front, "title").unwrap()
    };
    let mut pairs = 0;
    for (path, front, _) in &procedures {
        let Some(removal) = text(front, "reverses") else {
            continue;
        };
        pairs += 1;
        let installation = id(path);
        for machine in front["machines"].as_array().unwrap() {
            let machine = machine.as_str().unwrap();
            let page = |id: &str, kind: &str| {
                let path = site.join(format!("{machine}/{id}-{kind}.html"));
                std::fs::read_to_string(path).unwrap()
            };
            for kind in ["shop-sheet", "bench-checklist"] {
                let off = page(removal, kind);
                let wanted = format!("It is put back by “{}”", title(installation));
                assert!(
                    page_text(&off).contains(&wanted),
                    "{removal} {kind}: {wanted}"
                );
                assert!(
                    off.contains(&format!("{installation}-{kind}.html")),
                    "{removal} {kind}"
                );
                let back = page(installation, kind);
                let wanted = format!("The machine is as left by “{}”", title(removal));
                assert!(
                    page_text(&back).contains(&wanted),
                    "{installation} {kind}: {wanted}"
                );
                assert!(
                    back.contains(&format!("{removal}-{kind}.html")),
                    "{installation} {kind}"
                );
            }
        }
    }
    assert!(pairs >= WANTED_PAIRS, "{pairs} pairs");
}

/// An item of an inspection: its number and text, what to look for, and when the machine is not ready.
type InspectionItem = (String, String, String);

/// A text without its links.
fn without_links(text: &str) -> String {
    let mut plain = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('[') {
        let (label, after) = after.split_once("](").unwrap();
        plain += before;
        plain += label;
        rest = after.split_once(')').unwrap().1;
    }
    plain + rest
}

/// Whether a machine has whatever an item of an inspection names.
fn has_all(machine: &Table, item: &str) -> bool {
    let links = item
        .split("](")
        .skip(1)
        .map(|rest| rest.split_once(')').unwrap().0);
    let mut names = links.map(|link| link.split_once(':').unwrap().1);
    names.all(|name| {
        let mut tables = machine.values().filter_map(Value::as_table);
        tables.any(|table| table.contains_key(name))
    })
}

/// The items of the inspections of a procedure on a machine.
fn inspection_items(body: &str, id: &str) -> Vec<InspectionItem> {
    let machine = machine(id);
    let mut items: Vec<InspectionItem> = Vec::new();
    let sections = body.split("\n## ").skip(1);
    for section in
        sections.filter(|section| section.lines().next().unwrap().contains("{.inspection}"))
    {
        for item in section.split("\n\n").skip(1) {
            for part in item
                .trim()
                .split("\n")
                .collect::<Vec<_>>()
                .chunk_by(|_, line| line.starts_with(' '))
            {
                let (first, marks) = part[0].split_once(" {").unwrap_or((part[0], ""));
                let (_, text) = first.split_once(". ").unwrap();
                let is_other = marks.contains("only=")
                    && !marks.contains(&format!("{id} "))
                    && !marks.contains(&format!("{id}\""));
                if is_other || (marks.contains("if-fitted") && !has_all(&machine, first)) {
                    continue;
                }
                let points = part[1..]
                    .iter()
                    .map(|line| line.trim_start().strip_prefix("- ").unwrap());
                let (criteria, looks): (Vec<&str>, Vec<&str>) =
                    points.partition(|point| point.starts_with("Not ready if: "));
                let criteria = criteria
                    .iter()
                    .map(|point| point.strip_prefix("Not ready if: ").unwrap());
                items.push((
                    format!("{}. {}", items.len() + 1, without_links(text)),
                    looks.join(" "),
                    criteria.collect::<Vec<_>>().join(" "),
                ));
            }
        }
    }
    items
}

#[test]
fn the_tables_of_inspections_have_the_items_of_the_source() {
    let folder = tempfile::tempdir().unwrap();
    let procedures = procedures();
    let mut inspections = procedures
        .iter()
        .filter(|(_, _, body)| body.contains("{.inspection}"));
    let (path, _, body) = inspections.next().unwrap();
    for machine in MACHINES {
        let output = benchleaf(folder.path())
            .arg("print")
            .arg(source())
            .args([
                "--output",
                "output",
                "--machine",
                machine,
                "--procedure",
                id(path),
            ])
            .env("BENCHLEAF_TYPST", typst())
            .output()
            .unwrap();
        assert_eq!(output_text(&output).2, 0, "{}", output_text(&output).1);
        let sheet = folder
            .path()
            .join(format!("output/{machine}/{}-shop-sheet.pdf", id(path)));
        let words = words(&sheet);
        let with_limits = heads(
            &words,
            &["Item", "What to look for", "Limits", "Not ready if"],
        );
        let without = heads(&words, &["Item", "What to look for", "Not ready if"]);
        let is_without = |head: &&(u32, f64, Vec<f64>)| {
            let mut others = with_limits.iter();
            !others.any(|(page, top, _)| (*page, *top) == (head.0, head.1))
        };
        let without: Vec<_> = without.iter().filter(is_without).cloned().collect();
        let is_number = |line: &str| {
            line.split_once(". ")
                .is_some_and(|(number, _)| number.parse::<u32>().is_ok())
        };
        let mut printed: Vec<InspectionItem> = Vec::new();
        for heads in [&with_limits, &without] {
            let rows = rows(&words, heads, 0, is_number);
            printed.extend(rows.into_iter().map(|row| {
                let last = row.last().unwrap().clone();
                (row[0].clone(), row[1].clone(), last)
            }));
        }
        let wanted = inspection_items(body, machine);
        assert!(wanted.len() >= 8, "{} items", wanted.len());
        assert_eq!(printed.len(), wanted.len(), "{printed:?}");
        for (number, look, not_ready) in &wanted {
            let found = printed.iter().find(|(printed, ..)| printed == number);
            let (_, printed_look, printed_ready) =
                found.unwrap_or_else(|| panic!("{number}: {printed:?}"));
            // Below what the author wrote, the table has what the machine's file says.
            assert!(printed_look.starts_with(look), "{number}: {printed_look}");
            assert_eq!(printed_ready, not_ready, "{number} of {machine}");
        }
    }
}
