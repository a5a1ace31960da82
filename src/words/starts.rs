//! Finds the words of a list in running text, by how they begin.

use std::ops::ControlFlow;

/// The words of a list, each with a value, by their first three bytes in either case.
///
/// Most words of a text begin as none of the list does, and are passed by at a test of one bit each. An automaton for the
/// list took longer, because it looks at every letter.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Starts<T> {
    /// A bit for each key that a word has.
    bits: Vec<u64>,
    /// The values of the words, by key.
    values: Vec<(u16, T)>,
}

/// The first bytes that make a key.
const LENGTH: usize = 3;

/// The bits of a byte that are in a key. They are the same for the two cases of an ASCII letter.
const MASK: u8 = 31;

impl<T: Copy + Ord> Starts<T> {
    /// The beginnings of some words, each with its value. Every word begins with a letter or a digit.
    pub(crate) fn of<'w>(words: impl Iterator<Item = (&'w str, T)>) -> Starts<T> {
        let mut starts = Starts {
            bits: vec![0; 1 << (5 * LENGTH - 6)],
            values: Vec::new(),
        };
        for (word, value) in words.filter(|(word, _)| !word.is_empty()) {
            for key in keys(word.as_bytes()) {
                starts.bits[usize::from(key) / 64] |= 1 << (key % 64);
                starts.values.push((key, value));
            }
        }
        starts.values.sort_unstable();
        starts.values.dedup();
        starts
    }

    /// The values of the words that a text may begin with. Some begin otherwise.
    pub(crate) fn at(&self, text: &[u8]) -> impl Iterator<Item = T> + '_ {
        let key = key(text);
        // Nearly all texts end here.
        let values = match self.bits[usize::from(key) / 64] >> (key % 64) & 1 {
            0 => &[][..],
            _ => &self.values[self.values.partition_point(|(own, _)| *own < key)..],
        };
        let values = values.iter().take_while(move |(own, _)| *own == key);
        values.map(|(_, value)| *value)
    }

    /// Passes the places where a text may have one of the words to `take`, with the word's value.
    pub(crate) fn find(&self, text: &str, mut take: impl FnMut(usize, T)) {
        let _: ControlFlow<()> = word_starts(text, |at| {
            for value in self.at(&text.as_bytes()[at..]) {
                take(at, value);
            }
            ControlFlow::Continue(())
        });
    }
}

/// Passes the places where the words of a text may begin to `take`, until it breaks: a letter or digit after anything
/// else, and every character outside ASCII after anything but an ASCII letter, because it may be a quotation mark.
///
/// This is a loop and no iterator, because it runs over every procedure and is several times as fast.
pub(super) fn word_starts(
    text: &str,
    mut take: impl FnMut(usize) -> ControlFlow<()>,
) -> ControlFlow<()> {
    let mut before = Class::Other;
    for (at, byte) in text.bytes().enumerate() {
        let class = CLASSES[usize::from(byte)];
        if class != Class::Other && before != Class::Letter {
            take(at)?;
        }
        before = class;
    }
    ControlFlow::Continue(())
}

/// What a byte can be in a text.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Class {
    /// An ASCII letter or digit.
    Letter,
    /// The first byte of a character outside ASCII.
    Lead,
    Other,
}

/// The class of each byte.
static CLASSES: [Class; 256] = {
    let mut classes = [Class::Other; 256];
    let mut byte = 0_u8;
    loop {
        classes[byte as usize] = match byte {
            byte if byte.is_ascii_alphanumeric() => Class::Letter,
            0xC0.. => Class::Lead,
            _ => Class::Other,
        };
        match byte.checked_add(1) {
            Some(next) => byte = next,
            None => break,
        }
    }
    classes
};

/// The key of what begins with some bytes. What is missing counts as zero.
fn key(bytes: &[u8]) -> u16 {
    let byte = |at: usize| u16::from(bytes.get(at).copied().unwrap_or_default() & MASK);
    (byte(0) << 5 | byte(1)) << 5 | byte(2)
}

/// The keys of all texts that begin with a word. Anything may follow a short one.
fn keys(word: &[u8]) -> std::ops::RangeInclusive<u16> {
    let free = LENGTH.saturating_sub(word.len());
    let first = key(word);
    first..=first + ((1 << (5 * free)) - 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(starts: &Starts<usize>, text: &str) -> Vec<(usize, usize)> {
        let mut all = Vec::new();
        starts.find(text, |at, value| all.push((at, value)));
        all
    }

    #[test]
    fn words_are_found_by_their_beginning_in_either_case() {
        let starts = Starts::of([("pump", 1), ("éa", 2), ("V", 3), ("", 4)].into_iter());
        let found = |text| found(&starts, text);
        assert_eq!(found("a Pump, pum"), [(2, 1), (8, 1)]);
        assert_eq!(found("“pumps” hpump"), [(3, 1)]);
        assert_eq!(found("Éa x"), [(0, 2)]);
        assert_eq!(found("V vw 2v"), [(0, 3), (2, 3)]);
        assert_eq!(found("pu"), []);
        assert_eq!(found(""), []);
    }

    #[test]
    fn every_word_is_found_in_every_text_that_begins_with_it() {
        let words = ["one", "2", "zwölf", "às", "ñ", "b"];
        let starts = Starts::of(words.iter().zip(0..).map(|(word, index)| (*word, index)));
        for (index, word) in words.iter().enumerate() {
            for rest in ["", "s", " x", "é", "123"] {
                let text = format!("({word}{rest}");
                assert!(found(&starts, &text).contains(&(1, index)), "{text}");
            }
        }
    }
}
