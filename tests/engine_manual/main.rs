//! The tree `engine-manual`, which has the structure of the manual of a real engine: it is clean, its manual has the
//! chapters in the author's order, each removal and its installation name each other, and the tables of torques, wear,
//! readings and inspections in the PDF have the values of the sources.
//!
//! The sources are read here by the `toml` crate alone, and the PDF by `pdftotext`, so that neither Benchleaf's reader nor
//! its writer is trusted.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

mod pdf;
#[path = "../support/program.rs"]
mod program;
mod sources;
#[path = "../support/mod.rs"]
mod support;

use pdf::{Word, heads, output_of, rows, words};
use program::benchleaf;
use sources::{
    InspectionItem, dimensions, id, inspection_items, machine, procedures, readings, record,
    source, text, torques,
};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use support::{output_text, typst};
use toml::Table;

const MACHINES: [&str; 3] = ["tarn-rowan", "tarn-rowan-electric", "tarn-rowan-late"];

/// What the tree has at least.
const WANTED_PROCEDURES: usize = 15;
const WANTED_PAIRS: usize = 5;

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
                let wanted = format!(
                    "Check that the machine is still as left by “{}”",
                    title(removal)
                );
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
        let is_without = |head: &&pdf::Head| {
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
