//! Numbers in typed text.

use std::ops::Range;

use super::error::{Error, Expected, Quoted, Reason};
use super::number::{MOST_DIGITS, Number};
use super::rational::{Rational, small_power_of_ten};
use super::round::decimal_places;
use super::scan::{Scanner, digits_at, is_dash, is_slash, word_at};

/// Fractions that are a single character: character, numerator, denominator.
const VULGAR: &[(char, u64, u64)] = &[
    ('½', 1, 2),
    ('¼', 1, 4),
    ('¾', 3, 4),
    ('⅛', 1, 8),
    ('⅜', 3, 8),
    ('⅝', 5, 8),
    ('⅞', 7, 8),
];

/// A run of digits: their value, which is correct up to 19 digits, and their number.
#[derive(Clone, Copy, Default, PartialEq, Eq)]
struct DigitRun {
    value: u64,
    count: usize,
}

impl DigitRun {
    const ZERO: Self = Self { value: 0, count: 1 };

    fn push(&mut self, digits: &str) {
        for digit in digits.bytes() {
            // An overflow is harmless: too many digits are rejected by their count.
            self.value = self
                .value
                .wrapping_mul(10)
                .wrapping_add((digit - b'0').into());
        }
        self.count += digits.len();
    }
}

/// Whether a typed number has a point with three digits after it and one to three before it, so that the
/// point can be a separator of thousands: `1.250`, but not `0.250`.
pub(super) fn may_be_thousands(number: &str) -> bool {
    let unsigned = number.trim_start_matches(is_dash);
    let is_digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    unsigned.split_once('.').is_some_and(|(whole, decimals)| {
        (1..=3).contains(&whole.len())
            && !whole.starts_with('0')
            && decimals.len() == 3
            && is_digits(whole)
            && is_digits(decimals)
    })
}

/// A decimal number with other than three digits after its point, so that the point can't be a separator
/// of thousands.
pub(super) fn plainly_decimal(number: &str) -> String {
    if !may_be_thousands(number) {
        return number.to_owned();
    }
    match number.strip_suffix('0') {
        Some(shorter) => shorter.to_owned(),
        None => format!("{number}0"),
    }
}

/// Whether a number can start with this character, apart from a sign.
pub(super) fn is_number_start(c: char) -> bool {
    c.is_ascii_digit() || VULGAR.iter().any(|(sign, ..)| *sign == c)
}

impl Scanner<'_> {
    /// Takes a number with its sign, if it has one, and returns it with its bytes.
    pub(super) fn number(&mut self) -> Result<(Number, Range<usize>), Error> {
        self.skip_spaces();
        let start = self.at;
        let negative = self.rest().starts_with(is_dash) && self.eat(is_dash);
        let number = self.unsigned_number(start)?;
        let number = if negative { number.negated() } else { number };
        Ok((number, start..self.at))
    }

    /// Takes the number of a wire gauge whose unit stands before it: 14 or 4/0.
    pub(super) fn gauge_number(&mut self) -> Result<(Number, Range<usize>), Error> {
        self.skip_spaces();
        let start = self.at;
        let noughts = self
            .rest()
            .bytes()
            .next()
            .filter(|digit| (b'1'..=b'4').contains(digit));
        let is_noughts =
            self.rest().get(1..3) == Some("/0") && digits_at(&self.rest()[3..]).is_empty();
        let Some(noughts) = noughts.filter(|_| is_noughts) else {
            return self.number();
        };
        self.at += 3;
        Ok((Number::noughts((noughts - b'0').into()), start..self.at))
    }

    fn unsigned_number(&mut self, start: usize) -> Result<Number, Error> {
        let mut digits = self.whole_digits();
        self.refuse_leading_zero(start)?;
        self.refuse_separators(start, digits, false)?;
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
                return Err(self.expected(Expected::Number));
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
                return Err(self.expected(Expected::DigitAfterPoint));
            }
            self.refuse_separators(start, digits, true)?;
            return self.decimal(digits, decimals, start);
        }
        if is_slash_then_digit(self.rest()) {
            return self.fraction(0, digits, start);
        }
        self.mixed(digits, start)
    }

    /// Takes the rest of a number that starts with whole digits: perhaps a fraction follows.
    fn mixed(&mut self, digits: DigitRun, start: usize) -> Result<Number, Error> {
        let whole = self.decimal(digits, 0, start)?;
        let mut ahead = *self;
        ahead.skip_spaces();
        if let Some((number, sign)) = ahead.vulgar_fraction(digits.value) {
            self.at = ahead.at + sign;
            return Ok(number);
        }
        let has_space = ahead.at > self.at;
        // `1-1/2` is one and a half. A range would go down, from 1 to a half.
        let has_hyphen = !has_space && ahead.rest().starts_with('-') && {
            ahead.at += 1;
            ahead.is_common_fraction()
        };
        if has_space || has_hyphen {
            let over = ahead.digits();
            if over.count > 0 && is_slash_then_digit(ahead.rest()) {
                *self = ahead;
                return self.fraction(digits.value, over, start);
            }
        }
        Ok(whole)
    }

    /// Whether a fraction below 1 comes next, with a denominator of rules and drills: `1/2` to `63/64`.
    fn is_common_fraction(&self) -> bool {
        let mut ahead = *self;
        let over = ahead.digits();
        if over.count == 0 || !is_slash_then_digit(ahead.rest()) {
            return false;
        }
        ahead.eat_slash();
        let under = ahead.digits();
        matches!(under.value, 2 | 4 | 8 | 16 | 32 | 64) && (1..under.value).contains(&over.value)
    }

    /// Takes a possibly empty run of digits.
    fn digits(&mut self) -> DigitRun {
        let mut digits = DigitRun::default();
        let text = digits_at(self.rest());
        digits.push(text);
        self.at += text.len();
        digits
    }

    /// Takes the digits before the decimal point, without the spaces between groups of three.
    fn whole_digits(&mut self) -> DigitRun {
        let mut digits = self.digits();
        if !(1..=3).contains(&digits.count) {
            return digits;
        }
        while let Some(group) = self.group() {
            // `1 125/1000` is a mixed number, not a fraction of 1125.
            let after = &self.rest()[group..];
            if is_slash_then_digit(after) {
                break;
            }
            digits.push(&self.rest()[group - 3..group]);
            self.at += group;
        }
        digits
    }

    /// Takes the digits after the decimal point. Only thin spaces may group them, because a unit that
    /// starts with a digit (1/min) may follow a normal space.
    fn decimal_digits(&mut self, digits: &mut DigitRun) {
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

    /// The length in bytes of a space and exactly three digits, if they come next.
    fn group(&self) -> Option<usize> {
        let rest = self.rest();
        let space = rest
            .chars()
            .next()
            .filter(|c| c.is_whitespace())?
            .len_utf8();
        (digits_at(&rest[space..]).len() == 3).then_some(space + 3)
    }

    /// Rejects `08`: a zero too many, or a point too few.
    fn refuse_leading_zero(&self, start: usize) -> Result<(), Error> {
        let typed = &self.text[start..self.at];
        let digits = typed.trim_start_matches(is_dash);
        let rest = digits.trim_start_matches('0');
        if rest.len() == digits.len() || digits.len() == 1 {
            return Ok(());
        }
        let plain = if rest.is_empty() { "0" } else { rest };
        let reason = Reason::LeadingZero {
            found: Quoted::new(typed),
            plain: plain.to_owned(),
            decimal: format!("0.{}", &digits[1..]),
        };
        Err(Error::new(reason, start..self.at))
    }

    /// Rejects a comma or an apostrophe between digits. A comma separates thousands or decimals
    /// depending on the writer's country, and a wrong guess would be off by a factor of a thousand.
    fn refuse_separators(
        &self,
        start: usize,
        digits: DigitRun,
        is_after_point: bool,
    ) -> Result<(), Error> {
        let rest = self.rest();
        let Some(separator) = rest
            .chars()
            .next()
            .filter(|c| matches!(c, ',' | '\'' | '’') || (*c == '.' && is_after_point))
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
        let decimal = plainly_decimal(&typed.replace(',', "."));
        let lone = separator == ',' && typed.matches([',', '.']).count() == 1;
        let reason = if lone && (next.len() != 3 || digits == DigitRun::ZERO) {
            Reason::CommaDecimal {
                found,
                plain: decimal,
            }
        } else if separator == ',' && typed.find('.') < typed.find(',') && typed.contains('.') {
            // `1.234,5`: points before a comma separate thousands.
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

    fn decimal(&self, digits: DigitRun, decimals: usize, start: usize) -> Result<Number, Error> {
        self.check_length(digits.count, start)?;
        // Neither fails for a length that was checked; if it did, it would be an error, not a panic.
        let power = u32::try_from(decimals).ok().and_then(small_power_of_ten);
        let (Some(power), Ok(decimals)) = (power, i32::try_from(decimals)) else {
            return Err(self.expected(Expected::Number));
        };
        let value = Rational::reduced(digits.value.into(), power);
        Ok(Number::decimal(value, decimals))
    }

    /// Takes the rest of a fraction, from the slash.
    fn fraction(&mut self, whole: u64, over: DigitRun, start: usize) -> Result<Number, Error> {
        self.eat_slash();
        let under = self.digits();
        self.check_length(over.count.max(under.count), start)?;
        let is_signed = self.text[start..].starts_with(is_dash);
        let is_gauge = !is_signed && word_at(self.rest().trim_start(), "AWG");
        if under.value == 0 && is_gauge && whole == 0 && (1..=4).contains(&over.value) {
            return Ok(Number::noughts(over.value));
        }
        if under.value == 0 {
            return Err(self.expected_at(Expected::DenominatorAboveZero, start..self.at));
        }
        Ok(mixed_number(whole, over.value, under.value))
    }

    /// The number with a single-character fraction that comes next, and the length of that character.
    fn vulgar_fraction(&self, whole: u64) -> Option<(Number, usize)> {
        let next = self.rest().chars().next()?;
        let (sign, over, under) = VULGAR.iter().find(|(sign, ..)| *sign == next)?;
        Some((mixed_number(whole, *over, *under), sign.len_utf8()))
    }
}

fn mixed_number(whole: u64, over: u64, under: u64) -> Number {
    // Of eighteen digits each, so the product fits.
    let parts = i128::from(whole) * i128::from(under) + i128::from(over);
    Number::fraction(Rational::reduced(parts, under.into()), under)
}

fn is_slash_then_digit(text: &str) -> bool {
    text.strip_prefix(is_slash)
        .is_some_and(|rest| !digits_at(rest).is_empty())
}

/// A number in decimals, to suggest instead of a fraction. `None` if the decimals do not end.
pub(super) fn as_decimal(number: &Number) -> Option<String> {
    let places = decimal_places(number.value())?;
    Some(Number::decimal(number.value().clone(), places).to_string())
}
