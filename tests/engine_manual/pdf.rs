//! Tables read back from a PDF, by the places of its words.

use std::ffi::OsStr;
use std::path::Path;
use std::process::Command;

/// What a program prints.
pub(crate) fn output_of(program: &str, arguments: &[&OsStr]) -> String {
    let output = Command::new(program).args(arguments).output();
    let output = output.unwrap_or_else(|why| panic!("{program} is missing: {why}"));
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// A word of a PDF: where it is, how high, and its text.
pub(crate) struct Word {
    page: u32,
    left: f64,
    top: f64,
    height: f64,
    text: String,
}

pub(crate) fn words(pdf: &Path) -> Vec<Word> {
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

/// The head of a table: its page, its top edge, and the left edges of the columns.
pub(crate) type Head = (u32, f64, Vec<f64>);

/// A table in a PDF, with the text of each cell up to a value in other units, which is in brackets.
pub(crate) type Rows = Vec<Vec<String>>;

fn first_word(title: &str) -> &str {
    title.split(' ').next().unwrap()
}

/// The left edges of the columns of a table, and where its head is, for each page that it is on.
pub(crate) fn heads(words: &[Word], titles: &[&str]) -> Vec<Head> {
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
pub(crate) fn rows(
    words: &[Word],
    heads: &[Head],
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
                Some((top, line)) if word.top - *top < 1.0 => {
                    line.push(' ');
                    line.push_str(&word.text);
                }
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
