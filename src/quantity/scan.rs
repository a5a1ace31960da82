//! Numbers and units as they stand in typed text: the parser's words.

use std::ops::Range;

use super::error::{Error, Part, Quoted, Reason};
use super::number::Number;
use super::rational::{Rational, small_power_of_ten};
use super::round::decimal_places;
use super::unit::{self, Unit};

/// A place in the text, always on a character's boundary.
#[derive(Clone, Copy)]
pub(super) struct Scanner<'t> {
    text: &'t str,
    at: usize,
    in_prose: bool,
}

/// More digits than any instrument shows; beyond them a number is a slip or an attack.
pub(super) const MOST_DIGITS: i32 = 18;

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

/// Digits as read: their value, which is right as long as they are few enough, and how many.
#[derive(Clone, Copy, Default, PartialEq, Eq)]
struct Digits {
    value: u64,
    count: usize,
}

impl Digits {
    const ZERO: Self = Self { value: 0, count: 1 };

    fn push(&mut self, digits: &str) {
        for digit in digits.bytes() {
            // Too many are refused by their count.
            self.value = self
                .value
                .wrapping_mul(10)
                .wrapping_add((digit - b'0').into());
        }
        self.count += digits.len();
    }
}

/// Hyphens, dashes and the minus: word processors turn any of them into any other.
pub(super) fn is_dash(c: char) -> bool {
    matches!(c, '-' | '\u{2010}' | '\u{2011}' | '–' | '—' | '−')
}

pub(super) fn is_slash(c: char) -> bool {
    matches!(c, '/' | '\u{2044}')
}

pub(super) fn digits_at(text: &str) -> &str {
    let digits = text.bytes().take_while(u8::is_ascii_digit);
    &text[..digits.count()]
}

/// Whether a number can begin with this character, apart from a sign.
pub(super) fn is_number_start(c: char) -> bool {
    c.is_ascii_digit() || VULGAR.iter().any(|(sign, ..)| *sign == c)
}

/// Whether `text` goes on with `word` as a whole word, in any case.
pub(super) fn word_at(text: &str, word: &str) -> bool {
    text.get(..word.len())
        .is_some_and(|start| start.eq_ignore_ascii_case(word))
        && !text[word.len()..].starts_with(char::is_alphabetic)
}

/// Whether a text begins with these words.
pub(super) fn starts_words(text: &str, words: &[&str]) -> bool {
    Scanner::in_prose(text, 0).eat_words(words)
}

impl<'t> Scanner<'t> {
    pub(super) fn new(text: &'t str) -> Self {
        Self {
            text,
            at: 0,
            in_prose: false,
        }
    }

    /// At `at` in running text, where a value ends with its unit and whatever else is there goes
    /// on: a full stop after a number ends a sentence, and what isn't a unit is no fault.
    pub(super) fn in_prose(text: &'t str, at: usize) -> Self {
        Self {
            text,
            at,
            in_prose: true,
        }
    }

    pub(super) fn is_in_prose(&self) -> bool {
        self.in_prose
    }

    /// Whether `c` is the last character before this place, spaces apart.
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
    pub(super) fn quote(&self, range: Range<usize>) -> Quoted {
        Quoted::new(&self.text[range])
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
        self.refuse_separators(start, digits)?;
        if digits.count == 0 {
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
        let point = self.rest().strip_prefix('.');
        let stop = |after: &str| self.in_prose && digits_at(after).is_empty();
        if point.is_some_and(|after| !stop(after)) {
            self.at += 1;
            let whole = digits.count;
            self.decimal_digits(&mut digits);
            let decimals = digits.count - whole;
            if decimals == 0 {
                return Err(self.expected(Part::DigitAfterPoint));
            }
            self.refuse_separators(start, digits)?;
            return self.decimal(digits, decimals, start);
        }
        if is_slash_then_digit(self.rest()) {
            return self.fraction(0, digits, start);
        }
        self.mixed(digits, start)
    }

    /// A whole number, perhaps with a fraction after it.
    fn mixed(&mut self, digits: Digits, start: usize) -> Result<Number, Error> {
        let whole = self.decimal(digits, 0, start)?;
        let mut ahead = *self;
        ahead.skip_spaces();
        if let Some((number, sign)) = ahead.vulgar_fraction(digits.value) {
            self.at = ahead.at + sign;
            return Ok(number);
        }
        if ahead.at > self.at {
            let over = ahead.digits();
            if over.count > 0 && is_slash_then_digit(ahead.rest()) {
                *self = ahead;
                return self.fraction(digits.value, over, start);
            }
        }
        Ok(whole)
    }

    /// Digits with nothing between them; none is possible.
    fn digits(&mut self) -> Digits {
        let mut digits = Digits::default();
        let text = digits_at(self.rest());
        digits.push(text);
        self.at += text.len();
        digits
    }

    /// Digits before the point, with spaces between groups of three left out.
    fn whole_digits(&mut self) -> Digits {
        let mut digits = self.digits();
        if !(1..=3).contains(&digits.count) {
            return digits;
        }
        while let Some(group) = self.group() {
            // `1 125/1000` is a mixed number, not 1125 over anything.
            let after = &self.rest()[group..];
            if is_slash_then_digit(after) {
                break;
            }
            digits.push(&self.rest()[group - 3..group]);
            self.at += group;
        }
        digits
    }

    /// Digits after the point. Only thin spaces group them: after a plain one, a unit that
    /// begins with a digit may follow (1/min).
    fn decimal_digits(&mut self, digits: &mut Digits) {
        let text = digits_at(self.rest());
        digits.push(text);
        self.at += text.len();
        let mut last = text.len();
        while last > 0 && last.is_multiple_of(3) {
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
            digits.push(group);
            self.at += end;
            last = group.len();
        }
    }

    /// The bytes of a space and exactly three digits, if they come next.
    fn group(&self) -> Option<usize> {
        let rest = self.rest();
        let space = rest
            .chars()
            .next()
            .filter(|c| c.is_whitespace())?
            .len_utf8();
        (digits_at(&rest[space..]).len() == 3).then_some(space + 3)
    }

    /// Refuses a comma or an apostrophe between digits: which of the two meanings a comma has
    /// depends on the writer's country, and a wrong guess is wrong by a thousand.
    fn refuse_separators(&self, start: usize, digits: Digits) -> Result<(), Error> {
        let rest = self.rest();
        let Some(separator) = rest
            .chars()
            .next()
            .filter(|c| matches!(c, ',' | '\'' | '’'))
        else {
            return Ok(());
        };
        let next = digits_at(&rest[separator.len_utf8()..]);
        if digits.count == 0 || next.is_empty() || (separator != ',' && next.len() != 3) {
            return Ok(());
        }
        let in_number = |c: char| c.is_ascii_digit() || c == '.' || c == separator;
        let length = rest.find(|c| !in_number(c)).unwrap_or(rest.len());
        let range = start..self.at + rest[..length].trim_end_matches([separator, '.']).len();
        let typed = &self.text[range.clone()];
        let found = Quoted::new(typed);
        let decimal = typed.replace(',', ".");
        let lone = separator == ',' && typed.matches([',', '.']).count() == 1;
        let reason = if lone && (next.len() != 3 || digits == Digits::ZERO) {
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
        if i32::try_from(length).is_ok_and(|length| length <= MOST_DIGITS) {
            return Ok(());
        }
        let reason = Reason::TooManyDigits {
            most: MOST_DIGITS,
            found: length,
        };
        Err(Error::new(reason, start..self.at))
    }

    fn decimal(&self, digits: Digits, decimals: usize, start: usize) -> Result<Number, Error> {
        self.check_length(digits.count, start)?;
        // Neither fails on what the length allows; a failure would be an error, not a panic.
        let power = u32::try_from(decimals).ok().and_then(small_power_of_ten);
        let (Some(power), Ok(decimals)) = (power, i32::try_from(decimals)) else {
            return Err(self.expected(Part::Number));
        };
        let value = Rational::reduced(digits.value.into(), power);
        Ok(Number::decimal(value, decimals))
    }

    /// The rest of a fraction from its slash on.
    fn fraction(&mut self, whole: u64, over: Digits, start: usize) -> Result<Number, Error> {
        self.eat_slash();
        let under = self.digits();
        self.check_length(over.count.max(under.count), start)?;
        if under.value == 0 {
            return Err(self.expected_at(Part::DenominatorAboveZero, start..self.at));
        }
        Ok(mixed_number(whole, over.value, under.value))
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
        if self.in_prose {
            return Ok(self.unit_in_prose());
        }
        let typed = self.rest()[..unit_length(self.rest())].trim_end();
        if typed.is_empty() {
            return Ok(None);
        }
        let whole = start..start + typed.len();
        let found = || Quoted::new(typed);
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

    /// The longest unit that comes next in running text; a unit may end where a word does.
    fn unit_in_prose(&mut self) -> Option<(Unit, Range<usize>)> {
        let rest = self.rest();
        // What joins the parts of a unit doesn't begin one.
        if rest.starts_with(['.', '·', '*', '-']) {
            return None;
        }
        let mut longest = rest.len().min(LONGEST_UNIT);
        while !rest.is_char_boundary(longest) {
            longest -= 1;
        }
        let could_be = &rest[..unit::reach(&rest[..longest])];
        let typed = &rest[..unit_length(could_be)];
        let ends = typed.char_indices().rev().map(|(at, c)| at + c.len_utf8());
        let mut known = ends
            .filter(|end| can_end(&rest[..*end], &rest[*end..]))
            .filter(|end| !NOT_IN_PROSE.contains(&&typed[..*end]))
            .filter(|end| !has_new_sentence(&typed[..*end]))
            .filter_map(|end| Some((unit::find(&typed[..end])?, end)));
        let (unit, end) = known.next()?;
        let start = self.at;
        self.at += end;
        Some((unit, start..self.at))
    }
}

/// Units that other words are far more often: `3 at a time`, the '90s.
const NOT_IN_PROSE: [&str; 2] = ["at", "'"];

/// Whether a unit can end between the two parts of a text.
fn can_end(before: &str, after: &str) -> bool {
    let mut following = after.chars();
    let goes_on = match following.next() {
        Some(c) if c.is_alphanumeric() || matches!(c, '²' | '³' | '⁻' | '_' | '°') => true,
        // More of a unit, or of a word: 10 m/s², 10 mm-long, 10W-40.
        Some('·' | '*' | '^' | '-' | '\u{2010}' | '\u{2011}') => {
            following.next().is_some_and(char::is_alphanumeric)
        }
        Some(c) if is_slash(c) => following.next().is_some_and(char::is_alphabetic),
        _ => false,
    };
    // Most places are within a word: whatever takes longer is asked after that.
    if goes_on {
        return false;
    }
    let Some(last) = before.chars().next_back() else {
        return false;
    };
    if last.is_whitespace() || matches!(last, '.' | '-' | '·' | '*') {
        return false;
    }
    // A mark of gauge or absolute pressure belongs to its unit, and whole.
    mark_length(after) == 0 && before.matches('(').count() == before.matches(')').count()
}

/// `2 oz. In`: no torque, but the end of one sentence and the start of the next.
fn has_new_sentence(text: &str) -> bool {
    text.match_indices('.').any(|(at, stop)| {
        let next = text[at + stop.len()..].strip_prefix(' ');
        next.is_some_and(|next| next.starts_with(char::is_uppercase))
    })
}

/// In bytes, with room for double spaces.
const LONGEST_UNIT: usize = 40;

fn mixed_number(whole: u64, over: u64, under: u64) -> Number {
    // Of eighteen digits each: far from what overflows.
    let parts = i128::from(whole) * i128::from(under) + i128::from(over);
    Number::fraction(Rational::reduced(parts, under.into()), under)
}

fn is_slash_then_digit(text: &str) -> bool {
    text.strip_prefix(is_slash)
        .is_some_and(|rest| !digits_at(rest).is_empty())
}

/// How far the text can belong to a unit.
fn unit_length(text: &str) -> usize {
    let mut previous = ' ';
    let mut mark_end = 0;
    for (offset, c) in text.char_indices() {
        if offset < mark_end {
            previous = c;
            continue;
        }
        let after = &text[offset + c.len_utf8()..];
        let word_starts = previous.is_whitespace();
        let stops = match c {
            '(' if offset > 0 => {
                mark_end = offset + mark_length(&text[offset..]);
                mark_end == offset
            }
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

/// The bytes of a mark of gauge or absolute pressure, as in `bar(g)`; zero if there is none.
fn mark_length(text: &str) -> usize {
    const MARKS: [&str; 6] = ["(g)", "(a)", "(gauge)", "(gage)", "(abs)", "(absolute)"];
    let starts = |mark: &&str| {
        text.get(..mark.len())
            .is_some_and(|start| start.eq_ignore_ascii_case(mark))
    };
    MARKS.into_iter().find(starts).map_or(0, str::len)
}

/// A value in decimals, to offer instead of a fraction; none where it doesn't end.
pub(super) fn as_decimal(number: &Number) -> Option<String> {
    let places = decimal_places(number.value())?;
    Some(Number::decimal(number.value().clone(), places).to_string())
}
