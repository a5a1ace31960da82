//! The scanner of typed text. `scan_number.rs` and `scan_unit.rs` add numbers and units to it.

use std::ops::Range;

use super::error::{Error, Expected, Quoted, Reason};
use super::gallons::Gallons;

/// A position in a text, with the functions that read from it.
///
/// A copy of a scanner is a backtracking point.
#[derive(Clone, Copy)]
pub(super) struct Scanner<'t> {
    pub(super) text: &'t str,
    /// The current byte, always on a character boundary.
    pub(super) at: usize,
    pub(super) in_prose: bool,
    pub(super) gallons: Gallons,
}

/// Whether `c` is a hyphen, a dash or a minus. Word processors replace any of them by another.
pub(super) fn is_dash(c: char) -> bool {
    matches!(
        c,
        '-' | '\u{2010}' | '\u{2011}' | '\u{2012}' | '–' | '—' | '−'
    )
}

pub(super) fn is_slash(c: char) -> bool {
    matches!(c, '/' | '\u{2044}')
}

pub(super) fn digits_at(text: &str) -> &str {
    let digits = text.bytes().take_while(u8::is_ascii_digit);
    &text[..digits.count()]
}

/// Whether `text` begins with `word` as a whole word, in any case.
pub(super) fn word_at(text: &str, word: &str) -> bool {
    text.get(..word.len())
        .is_some_and(|start| start.eq_ignore_ascii_case(word))
        && !text[word.len()..].starts_with(char::is_alphabetic)
}

/// Whether `text` begins with these words, in any case.
pub(super) fn starts_words(text: &str, words: &[&str]) -> bool {
    Scanner::in_prose(text, 0, Gallons::Unstated).eat_words(words)
}

impl<'t> Scanner<'t> {
    pub(super) fn new(text: &'t str, gallons: Gallons) -> Self {
        Self {
            text,
            at: 0,
            in_prose: false,
            gallons,
        }
    }

    /// A scanner at byte `at` of running text. There, a value ends with its unit: a full stop after a
    /// number ends a sentence, and a word that is not a unit is not an error.
    pub(super) fn in_prose(text: &'t str, at: usize, gallons: Gallons) -> Self {
        Self {
            text,
            at,
            in_prose: true,
            gallons,
        }
    }

    pub(super) fn is_in_prose(&self) -> bool {
        self.in_prose
    }

    /// Whether `c` is the last character before this position, ignoring spaces.
    pub(super) fn is_after(&self, c: char) -> bool {
        self.text[..self.at].trim_end().ends_with(c)
    }

    pub(super) fn at(&self) -> usize {
        self.at
    }

    pub(super) fn rest(&self) -> &'t str {
        &self.text[self.at..]
    }

    pub(super) fn skip_spaces(&mut self) {
        self.at = self.text.len() - self.rest().trim_start().len();
    }

    /// The bytes of the rest without the spaces around it; an empty range at the end if there is
    /// none.
    pub(super) fn remaining(&self) -> Range<usize> {
        let rest = self.rest();
        let start = self.text.len() - rest.trim_start().len();
        start..start.max(self.at + rest.trim_end().len())
    }

    /// The bytes of the next word, for an error.
    pub(super) fn next_word(&self) -> Range<usize> {
        let remaining = self.remaining();
        let text = &self.text[remaining.clone()];
        let length = text.find(char::is_whitespace).unwrap_or(text.len());
        remaining.start..remaining.start + length
    }

    /// An error about the next word, or the end of the text.
    pub(super) fn expected(&self, expected: Expected) -> Error {
        self.expected_at(expected, self.next_word())
    }

    /// An error about the text at `range`.
    pub(super) fn expected_at(&self, expected: Expected, range: Range<usize>) -> Error {
        Error::new(Reason::Expected(expected, self.quote(range.clone())), range)
    }

    /// The text at `range`, for a message.
    pub(super) fn quote(&self, range: Range<usize>) -> Quoted {
        Quoted::new(&self.text[range])
    }

    pub(super) fn next_is(&self, test: impl Fn(char) -> bool) -> bool {
        self.rest().trim_start().starts_with(test)
    }

    /// Takes one character if it passes `test`, after any spaces.
    pub(super) fn eat(&mut self, test: impl Fn(char) -> bool) -> bool {
        let rest = self.rest().trim_start();
        let Some(c) = rest.chars().next().filter(|c| test(*c)) else {
            return false;
        };
        self.at = self.text.len() - rest.len() + c.len_utf8();
        true
    }

    /// Takes a sign that may be typed as two characters.
    pub(super) fn eat_sign(&mut self, sign: char, typed: &str) -> bool {
        if self.eat(|c| c == sign) {
            return true;
        }
        let rest = self.rest().trim_start();
        let is_typed = rest.starts_with(typed);
        if is_typed {
            self.at = self.text.len() - rest.len() + typed.len();
        }
        is_typed
    }

    pub(super) fn eat_slash(&mut self) -> bool {
        self.eat(is_slash)
    }

    /// Takes all of `words`, with any spaces between them, or nothing.
    pub(super) fn eat_words(&mut self, words: &[&str]) -> bool {
        let mut ahead = *self;
        for word in words {
            ahead.skip_spaces();
            if !word_at(ahead.rest(), word) {
                return false;
            }
            ahead.at += word.len();
        }
        *self = ahead;
        true
    }

    /// Takes a plus-minus sign, which may be typed as `+/-` or `+-`.
    pub(super) fn eat_plus_minus(&mut self) -> bool {
        if self.eat(|c| c == '±') {
            return true;
        }
        let mut ahead = *self;
        if !ahead.eat(|c| c == '+') {
            return false;
        }
        let rest = ahead.rest();
        let rest = rest.strip_prefix('/').unwrap_or(rest);
        let Some(dash) = rest.chars().next().filter(|c| is_dash(*c)) else {
            return false;
        };
        self.at = self.text.len() - rest.len() + dash.len_utf8();
        true
    }
}
