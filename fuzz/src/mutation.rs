//! Changes a text by lines and words, as an author might and as none would. What bytes alone reach, a fuzzer adds.

use fastrand::Rng;

/// The reference of the format, whose code spans are the words to put in: fields, verbs, marks, choices and values.
const REFERENCE: &str = include_str!("../../procedures/README.md");

/// Characters that end, nest or hide something.
const SPECIAL: [&str; 36] = [
    "\"", "'", "[", "]", "(", ")", "{", "}", "\\", "|", ">", "<", "#", "-", "*", "_", "`", "&",
    "!", "~", "=", ",", ".", "+++", "===", "\n", "\r", "\t", "\u{a0}", "\u{200b}", "\u{e000}",
    "\u{202e}", "\u{301}", "½", "😀", "−",
];
/// Numbers at a limit of something.
const NUMBERS: [&str; 14] = [
    "0",
    "-1",
    "1",
    "2",
    "0.001",
    "1,000",
    "255",
    "65536",
    "4294967296",
    "99999999999999999999",
    "1e30",
    "1/0",
    "1 1/2",
    "0.000000000000000001",
];

/// Changes texts of one kind.
#[derive(Debug)]
pub struct Mutator {
    /// Texts to begin with, and to take lines from.
    seeds: Vec<String>,
    words: Vec<&'static str>,
}

impl Mutator {
    /// A mutator of texts like these.
    #[must_use]
    pub fn new(seeds: Vec<String>) -> Mutator {
        let mut words: Vec<&str> = REFERENCE.split('`').skip(1).step_by(2).collect();
        words.retain(|word| !word.is_empty() && !word.contains('\n'));
        words.sort_unstable();
        words.dedup();
        Mutator { seeds, words }
    }

    /// The text after one to four changes, of at most `longest` bytes. The same seed gives the same text.
    #[must_use]
    pub fn mutate(&self, text: &str, seed: u64, longest: usize) -> String {
        let mut rng = Rng::with_seed(seed);
        let mut text = text.to_owned();
        if text.len() < 2 || rng.u8(..) < 4 {
            text = self.seed(&mut rng).to_owned();
        }
        for _ in 0..rng.usize(1..=4) {
            text = self.change(&text, &mut rng);
        }
        let mut end = longest.min(text.len());
        while !text.is_char_boundary(end) {
            end -= 1;
        }
        text.truncate(end);
        text
    }

    /// As [`mutate`](Self::mutate), in a buffer whose first `size` bytes are the text. Returns the new size.
    pub fn mutate_in_place(
        &self,
        data: &mut [u8],
        size: usize,
        longest: usize,
        seed: u32,
    ) -> usize {
        let text = String::from_utf8_lossy(&data[..size]);
        let changed = self.mutate(&text, seed.into(), longest.min(data.len()));
        data[..changed.len()].copy_from_slice(changed.as_bytes());
        changed.len()
    }

    fn seed(&self, rng: &mut Rng) -> &str {
        rng.choice(&self.seeds).map_or("", String::as_str)
    }

    fn change(&self, text: &str, rng: &mut Rng) -> String {
        match rng.u8(..12) {
            0..=4 => self.change_lines(text, rng),
            5..=10 => self.change_words(text, rng),
            _ => {
                let at = boundary(text, rng);
                let special = rng.choice(SPECIAL).unwrap_or_default();
                [&text[..at], special, &text[at..]].concat()
            }
        }
    }

    fn change_lines(&self, text: &str, rng: &mut Rng) -> String {
        let mut lines: Vec<&str> = text.split('\n').collect();
        let (one, two) = (rng.usize(..lines.len()), rng.usize(..lines.len()));
        let other: Vec<&str> = self.seed(rng).split('\n').collect();
        let from = rng.usize(..other.len());
        match rng.u8(..6) {
            0 => {
                let end = (one + rng.usize(1..4)).min(lines.len());
                lines.drain(one..end);
            }
            1 => lines.insert(two, lines[one]),
            2 => lines.swap(one, two),
            3 => {
                let line = lines.remove(one);
                lines.insert(two.min(lines.len()), line);
            }
            4 => lines.insert(one, other[from]),
            _ => {
                lines.truncate(one);
                lines.extend(&other[from..]);
            }
        }
        lines.join("\n")
    }

    fn change_words(&self, text: &str, rng: &mut Rng) -> String {
        let own = words(text);
        let Some(&(start, end)) = rng.choice(&own) else {
            return self.seed(rng).to_owned();
        };
        let (before, word, after) = (&text[..start], &text[start..end], &text[end..]);
        let other = self.seed(rng);
        let from_seed = rng
            .choice(words(other))
            .map_or("", |(start, end)| &other[start..end]);
        let from_text = rng
            .choice(&own)
            .map_or("", |&(start, end)| &text[start..end]);
        let from_reference = rng.choice(&self.words).copied().unwrap_or_default();
        let number = rng.choice(NUMBERS).unwrap_or_default();
        let is_number = word.bytes().all(|byte| byte.is_ascii_digit());
        match rng.u8(..8) {
            _ if is_number && rng.bool() => [before, number, after].concat(),
            0 => [before, after].concat(),
            1 => [before, word, word, after].concat(),
            2 => [before, from_seed, after].concat(),
            3 => [before, from_text, after].concat(),
            4 => [before, from_reference, " ", word, after].concat(),
            5 => [before, word, from_reference, after].concat(),
            6 => [before, from_reference, after].concat(),
            _ => [before, &word.repeat(1 + rng.usize(..200)), after].concat(),
        }
    }
}

/// A character boundary of a text.
fn boundary(text: &str, rng: &mut Rng) -> usize {
    let mut at = rng.usize(..=text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// The ranges of the words of a text: ids, numbers and names.
fn words(text: &str) -> Vec<(usize, usize)> {
    let mut words = Vec::new();
    let mut start = None;
    for (at, letter) in text.char_indices() {
        if letter.is_alphanumeric() || letter == '-' {
            start.get_or_insert(at);
        } else if let Some(start) = start.take() {
            words.push((start, at));
        }
    }
    words.extend(start.map(|start| (start, text.len())));
    words
}
