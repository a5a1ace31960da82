//! The same value in two units, side by side, and whether the two agree.

use std::ops::Range;

use super::gallons::Gallons;
use super::kind::Kind;
use super::limits::Limits;
use super::prose;
use super::rational::Rational;
use super::scan::{is_dash, is_slash, starts_words, word_at};
use super::scan_number::is_number_start;
use super::value::Quantity;

/// The same value in another unit, typed beside a value: the `7.2 ft·lbf` in
/// `9.8 N·m (7.2 ft·lbf)`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Paired {
    /// The bytes of the value in the text, without brackets.
    pub range: Range<usize>,
    /// The value.
    pub limits: Limits,
    /// Whether it agrees with the value beside it.
    pub agreement: Agreement,
}

/// Whether two values can be the same value in two units, as makers round it.
///
/// Nominals are compared, and bounds with bounds; a nominal alone is compared with the range of the
/// other. Each value may be off by half a unit of its last digit, or by two and a half units if it
/// ends in 0 or 5, because makers round to fives, but by no more than a twentieth of itself (1 K). What
/// is left is compared with the greater value, for temperatures with 100 K.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Agreement {
    /// They differ by at most 2 %.
    Equal,
    /// They differ by at most 4 %: probably an error of rounding.
    Apart,
    /// They differ by more, or no value is within the limits of both.
    Contradicting,
}

/// The values in other units that follow the value at `range`.
pub(super) fn pairs_after(
    text: &str,
    range: &Range<usize>,
    value: &Limits,
    gallons: Gallons,
) -> Vec<Paired> {
    let mut pairs: Vec<Paired> = Vec::new();
    let mut at = range.end;
    // The bracket that is open, if any: one around all values, or one after the first.
    let before = text[..range.start].trim_end_matches([' ', '*', '_']);
    let mut closing = match before.chars().next_back() {
        Some('(') => Some(')'),
        Some('[') => Some(']'),
        _ => None,
    };
    let mut has_opened = false;
    loop {
        let rest = after_value(&text[at..]);
        let Some((sign, inner)) = sign(rest) else {
            break;
        };
        if let Some(close) = sign.opens {
            if has_opened {
                break;
            }
            has_opened = true;
            closing = Some(close);
        }
        let inner = inner.trim_start_matches([' ', '*', '_', '\u{a0}']);
        let start = text.len() - inner.len();
        let begins = inner.starts_with(|c| is_number_start(c) || is_dash(c) || c == '~')
            || word_at(inner, "at")
            || starts_words(inner, &["about"]);
        if !begins {
            break;
        }
        let Ok((limits, end)) = prose::in_prose(text, start, gallons) else {
            break;
        };
        let units = pairs.iter().map(|pair| pair.limits.unit());
        // Two values in the same unit are alternatives, not the same value.
        let is_new = units
            .chain([value.unit()])
            .all(|unit| unit != limits.unit());
        if limits.kind() != value.kind() || !is_new {
            break;
        }
        let agreement = agreement(value, &limits);
        let is_other_value = sign.is_list
            && closing.is_none()
            && !is_listed_once(value.kind())
            && agreement == Agreement::Contradicting;
        if is_other_value {
            break;
        }
        pairs.push(Paired {
            range: start..end,
            limits,
            agreement,
        });
        at = end;
    }
    // A bracket that was opened after the value must be closed after the last other value.
    let is_closed =
        !has_opened || closing.is_some_and(|close| after_value(&text[at..]).starts_with(close));
    if is_closed { pairs } else { Vec::new() }
}

/// The text after a value, without spaces, marks of emphasis and the full stop of an abbreviation
/// before a bracket or comma.
fn after_value(text: &str) -> &str {
    let trimmed = |text: &'_ str| {
        text.trim_start_matches([' ', '\u{a0}', '\n', '*', '_'])
            .len()
    };
    let rest = &text[text.len() - trimmed(text)..];
    match rest.strip_prefix('.') {
        Some(after) => {
            let after = &after[after.len() - trimmed(after)..];
            if after.starts_with([')', ']', ',', ';', '(', '[', '/', '=']) {
                after
            } else {
                rest
            }
        }
        None => rest,
    }
}

/// What stands between two values.
struct Sign {
    /// The bracket that closes it.
    opens: Option<char>,
    /// Whether it is one of a list: a comma or `or`.
    is_list: bool,
}

/// The sign that `text` begins with, and the text after it.
fn sign(text: &str) -> Option<(Sign, &str)> {
    let sign = text.chars().next()?;
    let after = &text[sign.len_utf8()..];
    let opens = match sign {
        '(' => Some(')'),
        '[' => Some(']'),
        _ => None,
    };
    let is_or = word_at(text, "or");
    let is_list = matches!(sign, ',' | ';') || is_or;
    let is_sign = opens.is_some() || matches!(sign, '=' | '≈') || is_slash(sign) || is_list;
    let after = if is_or { text.get(2..)? } else { after };
    is_sign.then_some((Sign { opens, is_list }, after))
}

/// Whether values of a kind that stand in a list are the same value in two units. Sizes, times and
/// temperatures may be different ones: a 10 mm, 3/8 in or 1/2 in socket.
fn is_listed_once(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::Torque | Kind::Pressure | Kind::GaugePressure | Kind::AbsolutePressure | Kind::Force
    )
}

impl Limits {
    /// Compares two values as makers round them. Values of different kinds contradict each other.
    ///
    /// ```
    /// use benchleaf::quantity::{Agreement, Limits};
    ///
    /// let agreement = |left, right| {
    ///     let (left, right) = (Limits::parse(left).unwrap(), Limits::parse(right).unwrap());
    ///     left.agreement(&right)
    /// };
    /// assert_eq!(agreement("10 N·m", "7 ft·lbf"), Agreement::Equal);
    /// assert_eq!(agreement("9.8 N·m", "7.6 ft·lbf"), Agreement::Apart);
    /// assert_eq!(agreement("20 N·m", "177 ft·lbf"), Agreement::Contradicting);
    /// ```
    #[must_use]
    pub fn agreement(&self, other: &Self) -> Agreement {
        if self.kind() == other.kind() {
            agreement(self, other)
        } else {
            Agreement::Contradicting
        }
    }
}

/// Compares two values of one kind.
pub(super) fn agreement(left: &Limits, right: &Limits) -> Agreement {
    let pairs = [
        left.nominal().zip(right.nominal()),
        left.lower().zip(right.lower()),
        left.upper().zip(right.upper()),
    ];
    let rounding_of = |limits: &Limits, value: &Quantity| {
        // A bound that is not typed is the nominal less a tolerance: its last digit is nobody's choice.
        let is_typed = limits.nominal().as_ref() == Some(value) || limits.is_written(value);
        allowance(value, is_typed)
    };
    let mut gaps: Vec<Rational> = pairs
        .into_iter()
        .flatten()
        .map(|(first, second)| {
            let (of_first, of_second) = (rounding_of(left, &first), rounding_of(right, &second));
            gap(&first, &second, &of_first, &of_second)
        })
        .collect();
    if gaps.is_empty() {
        gaps.extend(gap_of_nominal(left, right));
        gaps.extend(gap_of_nominal(right, left));
    }
    let excludes = |lower: Option<Quantity>, upper: Option<Quantity>| {
        lower.zip(upper).is_some_and(|(lower, upper)| {
            let (of_lower, of_upper) = (allowance(&lower, true), allowance(&upper, true));
            lower.compare(&upper).is_some_and(std::cmp::Ordering::is_gt)
                && gap(&lower, &upper, &of_lower, &of_upper).is_positive()
        })
    };
    if excludes(left.lower(), right.upper()) || excludes(right.lower(), left.upper()) {
        return Agreement::Contradicting;
    }
    let greatest = gaps.into_iter().max().unwrap_or_default();
    if greatest > Rational::small(4, 100) {
        Agreement::Contradicting
    } else if greatest > Rational::small(2, 100) {
        Agreement::Apart
    } else {
        Agreement::Equal
    }
}

/// By what part of the greater value two values differ, beyond what their rounding allows.
fn gap(left: &Quantity, right: &Quantity, of_left: &Rational, of_right: &Rational) -> Rational {
    let conversion = right.unit().conversion(left.unit());
    let value = conversion.point(right.value());
    let apart = (left.value() - &value).abs();
    let allowed = of_left + conversion.difference(of_right);
    let gap = apart - allowed;
    if !gap.is_positive() {
        return Rational::default();
    }
    let size = if left.kind() == Kind::Temperature {
        Kind::Temperature
            .base()
            .difference_to(left.unit(), &Rational::small(100, 1))
    } else {
        left.value().abs().max(value.abs())
    };
    gap / size
}

/// The part by which a nominal alone is outside the other's limits.
fn gap_of_nominal(nominal: &Limits, bounded: &Limits) -> Option<Rational> {
    let value = nominal.nominal()?;
    let is_beyond = |bound: &Option<Quantity>, order| {
        bound
            .as_ref()
            .is_some_and(|bound| value.compare(bound) == Some(order))
    };
    let (lower, upper) = (bounded.lower(), bounded.upper());
    // One bound and a nominal are the same value.
    let bound = match (&lower, &upper) {
        (Some(only), None) | (None, Some(only)) => Some(only),
        (Some(lower_bound), Some(upper_bound)) => {
            if is_beyond(&lower, std::cmp::Ordering::Less) {
                Some(lower_bound)
            } else if is_beyond(&upper, std::cmp::Ordering::Greater) {
                Some(upper_bound)
            } else {
                None
            }
        }
        (None, None) => None,
    };
    bound.map(|bound| {
        gap(
            &value,
            bound,
            &allowance(&value, true),
            &allowance(bound, true),
        )
    })
}

/// How far a value may be from the exact one that it was rounded from: half a unit of its last digit,
/// or two and a half if it was typed and ends in 0 or 5. But no more than a twentieth of the value, or
/// 1 K: otherwise `1 US gal (4.55 L)` and `30 °C (95 °F)` would agree.
fn allowance(value: &Quantity, is_typed: bool) -> Rational {
    let step = value.resolution();
    let ends_in_five = (value.value() / &step / Rational::small(5, 1)).is_integer();
    let halves = if is_typed && ends_in_five { 5 } else { 1 };
    let rounding = step * Rational::small(halves, 2);
    let most = if value.kind() == Kind::Temperature {
        let base = Kind::Temperature.base();
        base.difference_to(value.unit(), &Rational::small(1, 1))
    } else {
        value.value().abs() / Rational::small(20, 1)
    };
    rounding.min(most)
}

/// A value that fills `text`, with the same value in other units beside it. `None` if the text is
/// anything else.
pub(super) fn in_field(text: &str, gallons: Gallons) -> Option<(Limits, Vec<Paired>)> {
    let start = text.len() - text.trim_start().len();
    let (limits, end) = prose::in_prose(text, start, gallons).ok()?;
    let pairs = pairs_after(text, &(start..end), &limits, gallons);
    let last = pairs.last()?.range.end;
    let rest = after_value(&text[last..]);
    let rest = rest.strip_prefix([')', ']']).unwrap_or(rest);
    rest.trim().is_empty().then_some((limits, pairs))
}
