//! The file that the search reads: an index as plain data, to be loaded by a script element, so that
//! it loads from a disk as well as from a server.
//!
//! It is small, and takes next to no work to load: a few long strings instead of many small values.
//! A row of numbers is written as text, five bits a character, the low ones first; all but a
//! number's last character have 32 added to their value. The characters' values are their places in
//! [`DIGITS`]. In order:
//!
//! - `words`: the folded words, a line each, in order.
//! - `found`: for each word, a line: the texts that have it, as steps from the one before.
//! - `texts`: the texts, a line each.
//! - `ids`: for each kind, the ids of its things, a line each.
//! - `things`: for each kind, a row: of each thing its name, the count of its other texts, these,
//!   the count of its machines, and these as steps from the one before.
//! - `steps`: a row: of each procedure the count of its steps; of each of these its text, and then,
//!   until all machines of the procedure are done, how many of them have the same number, and that
//!   number, 0 where the step is not done.
//!
//! A text is 0 where it is the next that nothing had before, and otherwise one more than its place.

use super::html::script_text;
use crate::output::MARK;
use crate::sheet::SearchKind;
use crate::site::{SearchIndex, SearchStep, SearchThing};
use serde::Serialize;

/// The characters of numbers. None of them needs an escape.
const DIGITS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+-";

/// The format's version: the script reads no other.
const VERSION: u32 = 1;

#[derive(Serialize)]
struct File {
    version: u32,
    words: String,
    found: String,
    texts: String,
    ids: Vec<String>,
    things: Vec<String>,
    steps: String,
}

/// The text of an edition's `search-index.js`.
#[must_use]
pub(crate) fn search_file(index: &SearchIndex) -> String {
    let mut known = 0;
    let mut file = File {
        version: VERSION,
        words: lines(index.words.iter().map(|(word, _)| word.as_str())),
        found: String::new(),
        texts: lines(index.texts.iter().map(String::as_str)),
        ids: Vec::new(),
        things: Vec::new(),
        steps: String::new(),
    };
    let found: Vec<String> = index
        .words
        .iter()
        .map(|(_, texts)| {
            let mut row = String::new();
            push_rising(&mut row, texts);
            row
        })
        .collect();
    file.found = found.join("\n");
    for kind in SearchKind::ALL {
        let things = index.things.get(&kind).map_or(&[] as &[_], Vec::as_slice);
        file.ids
            .push(lines(things.iter().map(|thing| thing.id.as_str())));
        let mut row = String::new();
        for thing in things {
            push_thing(&mut row, thing, &mut known);
        }
        file.things.push(row);
    }
    for steps in &index.steps {
        push(&mut file.steps, steps.len());
        for step in steps {
            push_step(&mut file.steps, step, &mut known);
        }
    }
    // Texts and nothing else: they always have a JSON.
    let json = serde_json::to_string(&file).unwrap_or_default();
    format!(
        "// {MARK}\nglobalThis.benchleafSearch={};\n",
        script_text(&json)
    )
}

/// Texts without line breaks as lines.
fn lines<'t>(texts: impl Iterator<Item = &'t str>) -> String {
    texts.collect::<Vec<_>>().join("\n")
}

fn push_thing(row: &mut String, thing: &SearchThing, known: &mut usize) {
    push_text(row, thing.name, known);
    push(row, thing.texts.len());
    for text in &thing.texts {
        push_text(row, *text, known);
    }
    push(row, thing.machines.len());
    push_rising(row, &thing.machines);
}

fn push_step(row: &mut String, step: &SearchStep, known: &mut usize) {
    push_text(row, step.text, known);
    for same in step.numbers.chunk_by(|one, other| one == other) {
        push(row, same.len());
        let number = same[0].unwrap_or_default();
        push(row, usize::try_from(number).unwrap_or_default());
    }
}

/// A text by its place; `known` is how many have been named already.
fn push_text(row: &mut String, text: usize, known: &mut usize) {
    if text == *known {
        *known += 1;
        push(row, 0);
    } else {
        push(row, text + 1);
    }
}

fn push_rising(row: &mut String, numbers: &[usize]) {
    let mut before = 0;
    for number in numbers {
        push(row, number - before);
        before = *number;
    }
}

fn push(row: &mut String, mut number: usize) {
    loop {
        let (digit, rest) = (number % 32, number / 32);
        let more = if rest > 0 { 32 } else { 0 };
        row.push(char::from(DIGITS[digit + more]));
        if rest == 0 {
            return;
        }
        number = rest;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;

    /// An index with texts of a user's, two machines, a procedure on both, and two steps.
    fn index(text: &str) -> SearchIndex {
        let thing = |id: &str, name, texts: &[usize], machines: &[usize]| SearchThing {
            id: id.to_owned(),
            name,
            texts: texts.to_vec(),
            machines: machines.to_vec(),
        };
        let texts = [
            "Hand pump",
            "Wind pump",
            "Look",
            "Air",
            "Lift it off.",
            text,
        ];
        SearchIndex {
            texts: texts.map(str::to_owned).to_vec(),
            words: vec![
                ("look".to_owned(), vec![2, 1000]),
                ("pump".to_owned(), vec![0, 1]),
            ],
            things: BTreeMap::from([
                (
                    SearchKind::Machine,
                    vec![thing("hand", 0, &[], &[]), thing("wind", 1, &[], &[])],
                ),
                (SearchKind::Procedure, vec![thing("look", 2, &[3], &[0, 1])]),
                (SearchKind::Part, vec![thing("look", 2, &[], &[1])]),
            ]),
            steps: vec![vec![
                SearchStep {
                    text: 4,
                    numbers: vec![Some(3), Some(3)],
                },
                SearchStep {
                    text: 5,
                    numbers: vec![None, Some(40)],
                },
            ]],
        }
    }

    fn data(file: &str) -> serde_json::Value {
        let (_, json) = file.split_once('=').expect("it assigns");
        let json = json.strip_suffix(";\n").expect("it ends");
        serde_json::from_str(json).expect("it is JSON")
    }

    /// The numbers of a row, as the script reads them.
    fn numbers(row: &str) -> Vec<usize> {
        let mut numbers = Vec::new();
        let (mut number, mut shift) = (0, 0);
        for letter in row.bytes() {
            let value = DIGITS.iter().position(|digit| *digit == letter);
            let value = value.expect("a digit");
            number |= (value % 32) << shift;
            shift += 5;
            if value < 32 {
                numbers.push(number);
                (number, shift) = (0, 0);
            }
        }
        numbers
    }

    #[test]
    fn a_number_is_read_back() {
        let all = [0, 1, 31, 32, 33, 1023, 1024, 123_456_789];
        let mut row = String::new();
        for number in all {
            push(&mut row, number);
        }
        assert_eq!(numbers(&row), all);
        assert_eq!(row.len(), 3 + 3 * 2 + 3 + 6);
    }

    #[test]
    fn an_index_is_written_as_it_says_above() {
        let data = data(&search_file(&index("Set it down.")));
        assert_eq!(data["version"], VERSION);
        assert_eq!(data["words"], "look\npump");
        let found: Vec<Vec<usize>> = data["found"]
            .as_str()
            .expect("lines")
            .split('\n')
            .map(numbers)
            .collect();
        assert_eq!(found, [vec![2, 998], vec![0, 1]]);
        assert_eq!(
            data["texts"],
            "Hand pump\nWind pump\nLook\nAir\nLift it off.\nSet it down."
        );
        assert_eq!(data["ids"].as_array().map(Vec::len), Some(9));
        assert_eq!(data["ids"][0], "hand\nwind");
        let row = |at: usize| numbers(data["things"][at].as_str().expect("a row"));
        // New name, no text, no machine; twice.
        assert_eq!(row(0), [0, 0, 0, 0, 0, 0]);
        // New name, one text, a new one; two machines, the first and the next.
        assert_eq!(row(1), [0, 1, 0, 2, 0, 1]);
        // The name that the procedure had.
        assert_eq!(row(3), [3, 0, 1, 1]);
        let steps = numbers(data["steps"].as_str().expect("a row"));
        assert_eq!(steps, [2, 0, 2, 3, 0, 1, 0, 1, 40]);
    }

    #[test]
    fn a_users_text_is_data_only() {
        let hostile = "</script><!--\u{2028}\u{2029}';alert(1)//\"\\";
        let file = search_file(&index(hostile));
        for bad in ["</", "<!--", "\u{2028}", "\u{2029}"] {
            assert!(!file.contains(bad), "{bad:?}");
        }
        let data = data(&file);
        let texts = data["texts"].as_str().expect("lines");
        assert_eq!(texts.split('\n').next_back(), Some(hostile));
    }

    #[test]
    fn the_file_carries_our_mark() {
        let file = search_file(&SearchIndex::default());
        assert!(file.starts_with("// made by benchleaf\n"));
        assert_eq!(data(&file)["words"], "");
    }
}
