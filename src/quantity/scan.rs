//! Numbers and units as they stand in typed text: the parser's words.

use std::ops::Range;

use num_bigint::BigInt;

use super::error::{Error, Found, Part, Reason};
use super::number::{Number, Rational};
use super::round::{decimal_places, power_of_ten};
use super::unit::{self, Unit};

/// A place in the text, always on a character's boundary.
#[derive(Clone, Copy)]
pub(super) struct Scanner<'t> {
    text: &'t str,
    at: usize,
}

/// More digits than any instrument shows; beyond them a number is a slip or an attack.
const MOST_DIGITS: usize = 18;

/// Fractions with a character of their own.
const VULGAR: &[(char, u64, u64)] = &[
    ('½', 1, 2),
    ('¼', 1, 4),
    ('¾', 3, 4),
    ('⅛', 1, 8),
    ('⅜', 3, 8),
    ('⅝', 5, 8),
    ('⅞', 7, 8),
];

/// Hyphens, dashes and the minus: word processors turn any of them into any other.
pub(super) fn is_dash(c: char) -> bool {
    matches!(c, '-' | '\u{2010}' | '\u{2011}' | '–' | '—' | '−')
}

fn is_slash(c: char) -> bool {
    matches!(c, '/' | '\u{2044}')
}

fn digits_at(text: &str) -> &str {
    let end = text
        .find(|c: char| !c.is_ascii_digit())
        .unwrap_or(text.len());
    &text[..end]
}

/// Whether `text` goes on with `word` as a whole word, in any case.
fn word_at(text: &str, word: &str) -> bool {
    text.get(..word.len())
        .is_some_and(|start| start.eq_ignore_ascii_case(word))
        && !text[word.len()..].starts_with(char::is_alphabetic)
}

impl<'t> Scanner<'t> {
    pub(super) fn new(text: &'t str) -> Self {
        Self { text, at: 0 }
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

    /// What is left, without the spaces around it; empty, at the end, if nothing is.
    pub(super) fn remaining(&self) -> Range<usize> {
        let rest = self.rest();
        let start = self.text.len() - rest.trim_start().len();
        start..start.max(self.at + rest.trim_end().len())
    }

    /// The next word, for an error to point at.
    pub(super) fn next_word(&self) -> Range<usize> {
        let remaining = self.remaining();
        let text = &self.text[remaining.clone()];
        let length = text.find(char::is_whitespace).unwrap_or(text.len());
        remaining.start..remaining.start + length
    }

    /// An error about the next word, or the end of the text.
    pub(super) fn expected(&self, part: Part) -> Error {
        self.expected_at(part, self.next_word())
    }

    /// An error about what stands at `range`.
    pub(super) fn expected_at(&self, part: Part, range: Range<usize>) -> Error {
        Error::new(Reason::Expected(part, self.quote(range.clone())), range)
    }

    /// What stands at `range`, for a message.
    pub(super) fn quote(&self, range: Range<usize>) -> Found {
        Found::new(&self.text[range])
    }

    pub(super) fn next_is(&self, test: impl Fn(char) -> bool) -> bool {
        self.rest().trim_start().starts_with(test)
    }

    /// Takes one character, if it passes.
    pub(super) fn eat(&mut self, test: impl Fn(char) -> bool) -> bool {
        let rest = self.rest().trim_start();
        let Some(c) = rest.chars().next().filter(|c| test(*c)) else {
            return false;
        };
        self.at = self.text.len() - rest.len() + c.len_utf8();
        true
    }

    pub(super) fn eat_slash(&mut self) -> bool {
        self.eat(is_slash)
    }

    /// Takes words with any spaces between them.
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

    /// Takes a plus-minus sign, also one typed as `+/-` or `+-`.
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

    /// A number, with its sign if it has one.
    pub(super) fn number(&mut self) -> Result<(Number, Range<usize>), Error> {
        self.skip_spaces();
        let start = self.at;
        let negative = self.rest().starts_with(is_dash) && self.eat(is_dash);
        let number = self.unsigned_number(start)?;
        let number = if negative { number.negated() } else { number };
        Ok((number, start..self.at))
    }

    fn unsigned_number(&mut self, start: usize) -> Result<Number, Error> {
        let mut digits = self.whole_digits();
        self.refuse_separators(start, &digits)?;
        if digits.is_empty() {
            if let Some((number, sign)) = self.vulgar_fraction(0) {
                self.at += sign;
                return Ok(number);
            }
            if self
                .rest()
                .strip_prefix('.')
                .is_none_or(|rest| digits_at(rest).is_empty())
            {
                self.at = start;
                return Err(self.expected(Part::Number));
            }
        }
        if self.rest().starts_with('.') {
            self.at += 1;
            let part = self.decimal_digits();
            if part.is_empty() {
                return Err(self.expected(Part::DigitAfterPoint));
            }
            self.refuse_separators(start, &digits)?;
            digits.push_str(&part);
            return self.decimal(&digits, part.len(), start);
        }
        if is_slash_then_digit(self.rest()) {
            return self.fraction(0, &digits, start);
        }
        self.mixed(&digits, start)
    }

    /// A whole number, perhaps with a fraction after it.
    fn mixed(&mut self, digits: &str, start: usize) -> Result<Number, Error> {
        let whole = self.decimal(digits, 0, start)?;
        let Ok(parts) = digits.parse::<u64>() else {
            return Ok(whole);
        };
        let mut ahead = *self;
        ahead.skip_spaces();
        if let Some((number, sign)) = ahead.vulgar_fraction(parts) {
            self.at = ahead.at + sign;
            return Ok(number);
        }
        let over = digits_at(ahead.rest());
        if ahead.at > self.at && !over.is_empty() {
            ahead.at += over.len();
            if is_slash_then_digit(ahead.rest()) {
                *self = ahead;
                return self.fraction(parts, over, start);
            }
        }
        Ok(whole)
    }

    /// Digits before the point, with spaces between groups of three left out.
    fn whole_digits(&mut self) -> String {
        let mut digits = digits_at(self.rest()).to_owned();
        self.at += digits.len();
        if !(1..=3).contains(&digits.len()) {
            return digits;
        }
        while let Some(group) = self.group(char::is_whitespace) {
            // `1 125/1000` is a mixed number, not 1125 over anything.
            let after = &self.rest()[group..];
            let text = digits_at(&self.rest()[group - 3..]);
            if text.len() != 3 || is_slash_then_digit(after) {
                break;
            }
            digits.push_str(text);
            self.at += group;
        }
        digits
    }

    /// Digits after the point. Only thin spaces group them: after a plain one, a unit that
    /// begins with a digit may follow (1/min).
    fn decimal_digits(&mut self) -> String {
        let mut digits = digits_at(self.rest()).to_owned();
        self.at += digits.len();
        while !digits.is_empty() && digits.len().is_multiple_of(3) {
            let rest = self.rest();
            let Some(space) = rest
                .chars()
                .next()
                .filter(|c| matches!(c, '\u{202F}' | '\u{2009}'))
            else {
                break;
            };
            let group = digits_at(&rest[space.len_utf8()..]);
            let end = space.len_utf8() + group.len();
            if !(1..=3).contains(&group.len()) || is_slash_then_digit(&rest[end..]) {
                break;
            }
            digits.push_str(group);
            self.at += end;
        }
        digits
    }

    /// The bytes of a space and three digits, if they come next.
    fn group(&self, is_space: impl Fn(char) -> bool) -> Option<usize> {
        let rest = self.rest();
        let space = rest.chars().next().filter(|c| is_space(*c))?.len_utf8();
        (digits_at(&rest[space..]).len() == 3).then_some(space + 3)
    }

    /// Refuses a comma or an apostrophe between digits: which of the two meanings a comma has
    /// depends on the writer's country, and a wrong guess is wrong by a thousand.
    fn refuse_separators(&self, start: usize, digits: &str) -> Result<(), Error> {
        let rest = self.rest();
        let Some(separator) = rest
            .chars()
            .next()
            .filter(|c| matches!(c, ',' | '\'' | '’'))
        else {
            return Ok(());
        };
        let next = digits_at(&rest[separator.len_utf8()..]);
        if digits.is_empty() || next.is_empty() || (separator != ',' && next.len() != 3) {
            return Ok(());
        }
        let in_number = |c: char| c.is_ascii_digit() || c == '.' || c == separator;
        let length = rest.find(|c| !in_number(c)).unwrap_or(rest.len());
        let range = start..self.at + rest[..length].trim_end_matches([separator, '.']).len();
        let typed = &self.text[range.clone()];
        let found = Found::new(typed);
        let decimal = typed.replace(',', ".");
        let lone = separator == ',' && typed.matches([',', '.']).count() == 1;
        let reason = if lone && (next.len() != 3 || digits == "0") {
            Reason::CommaDecimal {
                found,
                plain: decimal,
            }
        } else if separator == ',' && typed.find('.') < typed.find(',') && typed.contains('.') {
            // `1.234,5`: points part the thousands where a comma comes after them.
            let plain = typed.replace('.', "").replace(',', ".");
            Reason::ThousandsSeparator {
                found,
                plain,
                decimal: None,
            }
        } else {
            let plain = typed.replace(separator, "");
            Reason::ThousandsSeparator {
                found,
                plain,
                decimal: lone.then_some(decimal),
            }
        };
        Err(Error::new(reason, range))
    }

    fn check_length(&self, length: usize, start: usize) -> Result<(), Error> {
        if length <= MOST_DIGITS {
            return Ok(());
        }
        let reason = Reason::TooManyDigits {
            most: MOST_DIGITS,
            found: length,
        };
        Err(Error::new(reason, start..self.at))
    }

    fn decimal(&self, digits: &str, decimals: usize, start: usize) -> Result<Number, Error> {
        self.check_length(digits.len(), start)?;
        // Neither fails on what the length allows; a failure would be an error, not a panic.
        let (Ok(parts), Ok(decimals)) = (digits.parse::<u64>(), i32::try_from(decimals)) else {
            return Err(self.expected(Part::Number));
        };
        Ok(Number::decimal(
            Rational::from_integer(parts.into()) * power_of_ten(-decimals),
            decimals,
        ))
    }

    /// The rest of a fraction from its slash on.
    fn fraction(&mut self, whole: u64, over: &str, start: usize) -> Result<Number, Error> {
        self.eat_slash();
        let under = digits_at(self.rest());
        self.at += under.len();
        self.check_length(over.len().max(under.len()), start)?;
        let (Ok(over), Ok(under)) = (over.parse::<u64>(), under.parse::<u64>()) else {
            return Err(self.expected_at(Part::Number, start..self.at));
        };
        if under == 0 {
            return Err(self.expected_at(Part::DenominatorAboveZero, start..self.at));
        }
        Ok(mixed_number(whole, over, under))
    }

    /// A fraction that is one character, after a whole number, and its length.
    fn vulgar_fraction(&self, whole: u64) -> Option<(Number, usize)> {
        let next = self.rest().chars().next()?;
        let (sign, over, under) = VULGAR.iter().find(|(sign, ..)| *sign == next)?;
        Some((mixed_number(whole, *over, *under), sign.len_utf8()))
    }

    /// The unit that comes next; `None`, with nothing taken, if no unit does.
    pub(super) fn unit(&mut self) -> Result<Option<(Unit, Range<usize>)>, Error> {
        self.skip_spaces();
        let start = self.at;
        let typed = self.rest()[..unit_length(self.rest())].trim_end();
        if typed.is_empty() {
            return Ok(None);
        }
        let whole = start..start + typed.len();
        let found = || Found::new(typed);
        if let Some(unit) = unit::find(typed) {
            self.at = whole.end;
            return Ok(Some((unit, whole)));
        }
        if let Some(help) = unit::mistaken(typed) {
            return Err(Error::new(
                Reason::MistakenUnit {
                    found: found(),
                    help,
                },
                whole,
            ));
        }
        if typed.starts_with(':') {
            return Err(self.expected_at(Part::RatioToOne, whole));
        }
        let nearest = unit::nearest(typed);
        if nearest.is_none() {
            // A unit with something after it: better said of what comes after.
            let ends = typed
                .rmatch_indices(char::is_whitespace)
                .map(|(end, _)| end);
            // No unit has more words than that, and a long text must not take long.
            for end in ends.filter(|end| *end <= LONGEST_UNIT) {
                if let Some(unit) = unit::find(&typed[..end]) {
                    self.at = start + end;
                    return Ok(Some((unit, start..self.at)));
                }
            }
        }
        Err(Error::new(
            Reason::UnknownUnit {
                found: found(),
                nearest,
            },
            whole,
        ))
    }
}

/// In bytes, with room for double spaces.
const LONGEST_UNIT: usize = 40;

fn mixed_number(whole: u64, over: u64, under: u64) -> Number {
    let parts = BigInt::from(whole) * BigInt::from(under) + BigInt::from(over);
    Number::fraction(Rational::new(parts, BigInt::from(under)), under)
}

fn is_slash_then_digit(text: &str) -> bool {
    text.strip_prefix(is_slash)
        .is_some_and(|rest| !digits_at(rest).is_empty())
}

/// How far the text can belong to a unit.
fn unit_length(text: &str) -> usize {
    let mut previous = ' ';
    for (offset, c) in text.char_indices() {
        let after = &text[offset + c.len_utf8()..];
        let word_starts = previous.is_whitespace();
        let stops = match c {
            '±' | '(' | ')' | '+' | ',' | ';' | '–' | '—' | '−' => true,
            // A hyphen joins the parts of a unit only with letters at both sides.
            c if is_dash(c) => word_starts || !after.starts_with(char::is_alphabetic),
            c if is_slash(c) => after.trim_start().starts_with(|c| c == '+' || is_dash(c)),
            c if c.is_ascii_digit() => word_starts && offset > 0,
            _ => word_starts && word_at(&text[offset..], "to"),
        };
        if stops {
            return offset;
        }
        previous = c;
    }
    text.len()
}

/// A value in decimals, to offer instead of a fraction; none where it doesn't end.
pub(super) fn as_decimal(number: &Number) -> Option<String> {
    let places = decimal_places(number.value())?;
    Some(Number::decimal(number.value().clone(), places).to_string())
}
