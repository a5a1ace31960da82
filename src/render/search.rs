//! Writes the search index as a JavaScript file.
//!
//! **In**: a [`SearchIndex`]. **Out**: a script that assigns the index as JSON to a global variable. A
//! script element can load it from a disk as well as from a server.
//!
//! The file is small and quick to parse, because it has a few long strings instead of many small
//! values. A number is encoded in base 32, with the low digits first and one character for each digit.
//! All digits of a number but the last have 32 added. The value of a character is its index in
//! [`DIGITS`]. A sequence of numbers is a row. The fields, in order:
//!
//! - `words`: the folded words, sorted, one on each line.
//! - `found`: for each word a line with a row: the indices of the texts that have the word, each as the
//!   difference from the previous one.
//! - `alike`: as `found`, the texts that have a synonym of the word and not the word itself.
//! - `ignored`: the words that a search leaves out, one on each line.
//! - `endings`: the endings that do not distinguish words, the longest first, one on each line.
//! - `values`: values, one on each line: the index of its text, the unit as a folded word, the lower and the
//!   upper limit in decimal digits, separated by spaces. A limit that is not there is empty.
//! - `texts`: the texts, one on each line.
//! - `ids`: for each kind, the ids of its things, one on each line.
//! - `things`: for each kind a row. For each thing it has the thing's name, the number of its other
//!   texts, how many of them are always shown, these texts, the number of its machines, and the machines' indices, each as the difference
//!   from the previous one.
//! - `drawn`: a row: the parts that have a number in a figure, each as the difference from the previous one. A part is its
//!   index among the things of its kind.
//! - `steps`: a row. For each procedure it has the number of steps. For each step it has the text, and
//!   then runs of machines that have the same step number: the length of the run, and the number, or 0
//!   if the step is not done on these machines. The runs cover all machines of the procedure.
//!
//! A reference to a text is 0 if it is the first reference to the next text, and otherwise the text's
//! index plus 1.

use super::html::script_text;
use crate::output::MARK;
use crate::sheet::SearchKind;
use crate::site::{SearchIndex, SearchStep, SearchThing, SearchValue};
use crate::words::marks::plain;
use serde::Serialize;

/// The digits of encoded numbers. None of them is escaped in JSON.
const DIGITS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+-";

/// The version of the format. The script rejects any other.
const VERSION: u32 = 4;

#[derive(Serialize)]
struct File {
    version: u32,
    words: String,
    found: String,
    alike: String,
    ignored: String,
    endings: String,
    values: String,
    texts: String,
    ids: Vec<String>,
    things: Vec<String>,
    drawn: String,
    steps: String,
}

/// The text of an edition's `search-index.js`.
#[must_use]
pub(crate) fn search_file(index: &SearchIndex) -> String {
    let mut referenced = 0;
    let mut file = File {
        version: VERSION,
        words: lines(index.words.iter().map(|word| word.word.as_str())),
        found: rows(index.words.iter().map(|word| word.texts.as_slice())),
        alike: rows(index.words.iter().map(|word| word.by_synonym.as_slice())),
        ignored: lines(index.ignored.iter().map(String::as_str)),
        endings: lines(index.endings.iter().map(String::as_str)),
        values: values(&index.values),
        texts: plain(&lines(index.texts.iter().map(String::as_str))).into_owned(),
        ids: Vec::new(),
        things: Vec::new(),
        drawn: String::new(),
        steps: String::new(),
    };
    push_differences(&mut file.drawn, &index.drawn);
    for kind in SearchKind::ALL {
        let things = index.things.get(&kind).map_or(&[] as &[_], Vec::as_slice);
        file.ids
            .push(lines(things.iter().map(|thing| thing.id.as_str())));
        let mut row = String::new();
        for thing in things {
            push_thing(&mut row, thing, &mut referenced);
        }
        file.things.push(row);
    }
    for steps in &index.steps {
        push(&mut file.steps, steps.len());
        for step in steps {
            push_step(&mut file.steps, step, &mut referenced);
        }
    }
    // Serialisation can't fail: the file has only strings and a number.
    let json = serde_json::to_string(&file).unwrap_or_default();
    format!(
        "// {MARK}\nglobalThis.benchleafSearch={};\n",
        script_text(&json)
    )
}

/// Joins texts as lines. A text has no line break.
fn lines<'t>(texts: impl Iterator<Item = &'t str>) -> String {
    texts.collect::<Vec<_>>().join("\n")
}

/// A line with a row for each list of rising numbers.
fn rows<'n>(lists: impl Iterator<Item = &'n [usize]>) -> String {
    let rows = lists.map(|numbers| {
        let mut row = String::new();
        push_differences(&mut row, numbers);
        row
    });
    rows.collect::<Vec<_>>().join("\n")
}

fn values(values: &[(usize, SearchValue)]) -> String {
    let lines = values.iter().map(|(text, value)| {
        let SearchValue { unit, lower, upper } = value;
        format!("{text} {unit} {lower} {upper}")
    });
    lines.collect::<Vec<_>>().join("\n")
}

fn push_thing(row: &mut String, thing: &SearchThing, referenced: &mut usize) {
    push_text(row, thing.name, referenced);
    push(row, thing.texts.len());
    push(row, thing.shown);
    for text in &thing.texts {
        push_text(row, *text, referenced);
    }
    push(row, thing.machines.len());
    push_differences(row, &thing.machines);
}

fn push_step(row: &mut String, step: &SearchStep, referenced: &mut usize) {
    push_text(row, step.text, referenced);
    for run in step.numbers.chunk_by(|left, right| left == right) {
        push(row, run.len());
        let number = run[0].unwrap_or_default();
        push(row, usize::try_from(number).unwrap_or_default());
    }
}

/// Appends a reference to a text. `referenced` is the number of texts that have been referenced so far.
fn push_text(row: &mut String, text: usize, referenced: &mut usize) {
    if text == *referenced {
        *referenced += 1;
        push(row, 0);
    } else {
        push(row, text + 1);
    }
}

/// Appends rising numbers, each as the difference from the previous one.
fn push_differences(row: &mut String, numbers: &[usize]) {
    let mut previous = 0;
    for number in numbers {
        push(row, number - previous);
        previous = *number;
    }
}

fn push(row: &mut String, mut number: usize) {
    loop {
        let (digit, rest) = (number % 32, number / 32);
        let continuation = if rest > 0 { 32 } else { 0 };
        row.push(char::from(DIGITS[digit + continuation]));
        if rest == 0 {
            return;
        }
        number = rest;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::SearchWord;
    use std::collections::BTreeMap;

    /// An index with two machines, a procedure on both, two steps, and `text` as the text of a step.
    fn index(text: &str) -> SearchIndex {
        let thing = |id: &str, name, texts: &[usize], machines: &[usize]| SearchThing {
            id: id.to_owned(),
            name,
            texts: texts.to_vec(),
            shown: texts.len(),
            machines: machines.to_vec(),
        };
        let word = |word: &str, texts: &[usize], by_synonym: &[usize]| SearchWord {
            word: word.to_owned(),
            texts: texts.to_vec(),
            by_synonym: by_synonym.to_vec(),
        };
        let value = SearchValue {
            unit: "nm".to_owned(),
            lower: "4.5".to_owned(),
            upper: "5.5".to_owned(),
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
                word("look", &[2, 1000], &[]),
                word("pump", &[0, 1], &[3, 5]),
            ],
            values: vec![(5, value)],
            ignored: vec!["the".to_owned()],
            endings: vec!["ing".to_owned(), "s".to_owned()],
            things: BTreeMap::from([
                (
                    SearchKind::Machine,
                    vec![thing("hand", 0, &[], &[]), thing("wind", 1, &[], &[])],
                ),
                (SearchKind::Procedure, vec![thing("look", 2, &[3], &[0, 1])]),
                (SearchKind::Part, vec![thing("look", 2, &[], &[1])]),
            ]),
            drawn: vec![0, 2, 40],
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
        let (_, json) = file.split_once('=').expect("an assignment");
        let json = json.strip_suffix(";\n").expect("the end");
        serde_json::from_str(json).expect("JSON")
    }

    /// Decodes a row.
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
    fn encoded_numbers_can_be_decoded() {
        let expected = [0, 1, 31, 32, 33, 1023, 1024, 123_456_789];
        let mut row = String::new();
        for number in expected {
            push(&mut row, number);
        }
        assert_eq!(numbers(&row), expected);
        assert_eq!(row.len(), 3 + 3 * 2 + 3 + 6);
    }

    #[test]
    fn index_is_encoded_as_documented() {
        let data = data(&search_file(&index("Set it down.")));
        assert_eq!(data["version"], VERSION);
        assert_eq!(data["words"], "look\npump");
        let rows = |field: &str| -> Vec<Vec<usize>> {
            let lines = data[field].as_str().expect("lines").split('\n');
            lines.map(numbers).collect()
        };
        assert_eq!(rows("found"), [vec![2, 998], vec![0, 1]]);
        assert_eq!(rows("alike"), [vec![], vec![3, 2]]);
        assert_eq!(data["values"], "5 nm 4.5 5.5");
        assert_eq!(data["ignored"], "the");
        assert_eq!(data["endings"], "ing\ns");
        assert_eq!(
            data["texts"],
            "Hand pump\nWind pump\nLook\nAir\nLift it off.\nSet it down."
        );
        assert_eq!(data["ids"].as_array().map(Vec::len), Some(11));
        assert_eq!(data["ids"][0], "hand\nwind");
        let row = |kind: usize| numbers(data["things"][kind].as_str().expect("a row"));
        // Two machines, each with a new name, no texts, none of them shown, and no machines.
        assert_eq!(row(0), [0, 0, 0, 0, 0, 0, 0, 0]);
        // A new name, one new text that is shown, and two machines: the first and the next.
        assert_eq!(row(1), [0, 1, 1, 0, 2, 0, 1]);
        // The procedure's name again.
        assert_eq!(row(3), [3, 0, 0, 1, 1]);
        // Each is the difference from the one before it.
        assert_eq!(numbers(data["drawn"].as_str().expect("a row")), [0, 2, 38]);
        let steps = numbers(data["steps"].as_str().expect("a row"));
        assert_eq!(steps, [2, 0, 2, 3, 0, 1, 0, 1, 40]);
    }

    #[test]
    fn user_text_can_not_leave_its_string() {
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
    fn index_file_begins_with_the_output_mark() {
        let file = search_file(&SearchIndex::default());
        assert!(file.starts_with("// made by benchleaf\n"));
        assert_eq!(data(&file)["words"], "");
    }
}
