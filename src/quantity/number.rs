//! A number as typed: its exact value, and the digits it was written with.

use std::fmt::{self, Write};

use super::rational::{Rational, power_of_ten};
use super::round::{Toward, decimal_places, steps};

/// Between groups of three digits: NIST SP 811, 10.5.3, asks for a thin space. It is a no-break
/// space, because a line break would turn one number into two.
pub(super) const GROUP_SPACE: char = '\u{202F}';
/// Between a number and its unit: NIST SP 811, 7.2.
pub(super) const UNIT_SPACE: char = '\u{A0}';
/// A minus, not a hyphen: it is as wide as a digit, and lines do not break after it.
pub(super) const MINUS: char = '\u{2212}';

/// The most digits that are accepted: more than any instrument shows, so that a longer number is a
/// typing error or an attack.
pub(super) const MOST_DIGITS: i32 = 18;

/// An exact value and how many of its digits are significant.
///
/// The digits say how the value is printed and how precisely it is known; they never change the
/// value. Printing rounds to them, half to even (ISO 80000-1, annex B, rule A). A typed number
/// prints exactly, a converted one with as many digits as the conversion keeps significant.
///
/// See [`PrintPart::Number`](super::PrintPart::Number).
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Number {
    value: Rational,
    digits: Digits,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Digits {
    /// Digits after the decimal point. If negative, that many zeros before the point are not
    /// significant.
    Decimals(i32),
    /// A common fraction with this denominator, which is above 1. The value is not a whole number.
    Fraction(u64),
    /// A wire gauge thicker than 0: −3 is written `4/0`, four noughts.
    Noughts,
}

/// The denominator of the finest scale in common use for sizes given as fractions: 3/8 names a size
/// on a scale of 64ths and does not mean "to the nearest eighth".
const FRACTION_SCALE: u64 = 64;

impl Number {
    pub(super) fn decimal(value: Rational, decimals: i32) -> Self {
        Self {
            value,
            digits: Digits::Decimals(decimals),
        }
    }

    /// `value` as a fraction with this denominator; a whole number (4/2) becomes a decimal.
    pub(super) fn fraction(value: Rational, denominator: u64) -> Self {
        let whole = value.is_integer();
        let digits = if whole {
            Digits::Decimals(0)
        } else {
            Digits::Fraction(denominator)
        };
        Self { value, digits }
    }

    /// A wire gauge of this many noughts, from 1 to 4: `4/0` is −3.
    pub(super) fn noughts(count: u64) -> Self {
        Self {
            value: Rational::small(1 - i128::from(count), 1),
            digits: Digits::Noughts,
        }
    }

    /// The number with as many decimals as `decimals` gives for those it has.
    pub(super) fn with_decimals(mut self, decimals: impl FnOnce(&Rational, i32) -> i32) -> Self {
        if let Digits::Decimals(typed) = self.digits {
            self.digits = Digits::Decimals(decimals(&self.value, typed));
        }
        self
    }

    pub(super) fn negated(self) -> Self {
        Self {
            value: -self.value,
            digits: self.digits,
        }
    }

    /// This number times a whole number, with the same digits.
    pub(super) fn times(&self, whole: &Rational) -> Self {
        let value = &self.value * whole;
        match self.digits {
            Digits::Decimals(decimals) => Self::decimal(value, decimals),
            Digits::Fraction(denominator) => Self::fraction(value, denominator),
            Digits::Noughts => Self::decimal(value, 0),
        }
    }

    pub(super) fn value(&self) -> &Rational {
        &self.value
    }

    pub(super) fn is_fraction(&self) -> bool {
        matches!(self.digits, Digits::Fraction(_))
    }

    /// One unit of the last digit.
    pub(super) fn resolution(&self) -> Rational {
        match self.digits {
            Digits::Decimals(decimals) => power_of_ten(-decimals),
            Digits::Fraction(denominator) => {
                Rational::small(1, denominator.max(FRACTION_SCALE).into())
            }
            Digits::Noughts => Rational::small(1, 1),
        }
    }

    /// The decimals that print the number exactly. `None` for a fraction such as 1/3.
    pub(super) fn exact_decimals(&self) -> Option<i32> {
        match self.digits {
            Digits::Decimals(decimals) => Some(decimals),
            Digits::Fraction(_) => decimal_places(&self.value),
            Digits::Noughts => Some(0),
        }
    }
}

impl Number {
    /// The digits as printed, with this character as the decimal mark.
    #[must_use]
    pub fn text(&self, decimal_mark: char) -> String {
        let mut text = String::new();
        // Writing to a string does not fail.
        let _ = self.write(&mut text, decimal_mark);
        text
    }

    fn write(&self, out: &mut impl Write, decimal_mark: char) -> fmt::Result {
        match self.digits {
            Digits::Decimals(decimals) => write_decimal(out, &self.value, decimals, decimal_mark),
            Digits::Fraction(denominator) => write_fraction(out, &self.value, denominator),
            Digits::Noughts => {
                let noughts = Rational::small(1, 1) - &self.value;
                write!(out, "{}/0", noughts.numer())
            }
        }
    }
}

impl fmt::Display for Number {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.write(out, '.')
    }
}

fn write_decimal(
    out: &mut impl Write,
    value: &Rational,
    decimals: i32,
    decimal_mark: char,
) -> fmt::Result {
    let steps = steps(value, -decimals, Toward::Nearest);
    // A step above one is filled with zeros.
    let steps = steps * power_of_ten(-decimals.min(0));
    if steps.is_negative() {
        out.write_char(MINUS)?;
    }
    let shown = usize::try_from(decimals).unwrap_or(0);
    let mut buffer = [b'0'; BUFFER];
    let long;
    let digits = if let Some(digits) = digits_in(&mut buffer, &steps, shown + 1) {
        digits
    } else {
        let digits = steps.abs().numer().to_string();
        long = format!("{digits:0>width$}", width = shown + 1);
        &long
    };
    // A digit before the decimal point even below 1: NIST SP 811, 10.5.2.
    let (whole, part) = digits.split_at(digits.len() - shown);
    write_grouped(out, whole, (whole.len() + 2) % 3 + 1)?;
    if !part.is_empty() {
        out.write_char(decimal_mark)?;
        write_grouped(out, part, 3)?;
    }
    Ok(())
}

/// In bytes; enough for any typed number, and for nearly any converted one.
const BUFFER: usize = 40;

/// The digits of a whole number without its sign, padded with zeros to at least `least` digits.
/// `None` if they do not fit into the buffer.
fn digits_in<'b>(buffer: &'b mut [u8; BUFFER], number: &Rational, least: usize) -> Option<&'b str> {
    let (number, _) = number.as_small()?;
    let mut rest = u64::try_from(number.unsigned_abs()).ok()?;
    let mut start = BUFFER;
    while rest > 0 {
        start -= 1;
        buffer[start] = b'0' + u8::try_from(rest % 10).ok()?;
        rest /= 10;
    }
    let start = start.min(BUFFER.checked_sub(least)?);
    std::str::from_utf8(&buffer[start..]).ok()
}

/// Writes digits in groups of three, the first group with `first` digits. Four or fewer digits are
/// not grouped (NIST SP 811, 10.5.3).
fn write_grouped(out: &mut impl Write, digits: &str, first: usize) -> fmt::Result {
    if digits.len() < 5 {
        return out.write_str(digits);
    }
    let (head, mut rest) = digits.split_at(first);
    out.write_str(head)?;
    while !rest.is_empty() {
        let (group, after) = rest.split_at(rest.len().min(3));
        out.write_char(GROUP_SPACE)?;
        out.write_str(group)?;
        rest = after;
    }
    Ok(())
}

/// Writes `3/8` or `1 1/2`, with the denominator that was typed: 2/4 stays 2/4.
fn write_fraction(out: &mut impl Write, value: &Rational, denominator: u64) -> fmt::Result {
    if value.is_negative() {
        out.write_char(MINUS)?;
    }
    let size = value.abs();
    let whole = size.floor();
    let over = (size - &whole) * Rational::small(denominator.into(), 1);
    if whole.is_zero() {
        write!(out, "{over}/{denominator}")
    } else {
        write!(out, "{whole}{UNIT_SPACE}{over}/{denominator}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(numerator: i64, denominator: i64, decimals: i32) -> String {
        let value = Rational::new(numerator.into(), denominator.into());
        Number::decimal(value, decimals).to_string()
    }

    #[test]
    fn digits_are_grouped_from_five_on_both_sides_of_the_point() {
        assert_eq!(shown(3100, 1, 0), "3100");
        assert_eq!(shown(31_000, 1, 0), "31\u{202F}000");
        assert_eq!(shown(123_456_789, 1, 0), "123\u{202F}456\u{202F}789");
        assert_eq!(shown(1_129_848, 10_000_000, 4), "0.1130");
        assert_eq!(shown(1_129_848, 10_000_000, 7), "0.112\u{202F}984\u{202F}8");
    }

    #[test]
    fn halves_go_to_the_even_digit_and_zero_has_no_sign() {
        assert_eq!(shown(5, 2, 0), "2");
        assert_eq!(shown(7, 2, 0), "4");
        assert_eq!(shown(-7, 2, 0), "\u{2212}4");
        assert_eq!(shown(-1, 25, 1), "0.0");
        assert_eq!(shown(1034, 1, -1), "1030");
    }

    #[test]
    fn digits_without_end_are_printed_as_far_as_asked() {
        let groups = "\u{202F}333".repeat(20);
        assert_eq!(
            shown(1, 3, 60),
            format!("0.{}", groups.trim_start_matches('\u{202F}'))
        );
        assert_eq!(shown(1, 3, -3), "0");
    }

    #[test]
    fn fractions_keep_their_denominator() {
        let fraction =
            |n: i64, d: u64| Number::fraction(Rational::new(n.into(), d.into()), d).to_string();
        assert_eq!(fraction(3, 8), "3/8");
        assert_eq!(fraction(6, 4), "1\u{A0}2/4");
        assert_eq!(fraction(4, 2), "2");
        assert_eq!(fraction(-3, 2), "\u{2212}1\u{A0}1/2");
    }
}
