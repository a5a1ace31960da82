//! Constructors from text: the only way from typed text to a [`Spec`], [`Limits`], a [`Quantity`]
//! or a [`Unit`].
//!
//! They are here and not beside their types, so that the types do not import the parser that
//! builds them. The grammar is in `grammar.rs`.

use std::str::FromStr;

use super::error::{Error, Expected, Quoted, Reason};
use super::gallons::Gallons;
use super::grammar::{limits_at, value};
use super::kind::Kind;
use super::limits::Limits;
use super::pair::{Agreement, in_field};
use super::scan::Scanner;
use super::spec::Spec;
use super::unit::Unit;
use super::value::Quantity;

impl Spec {
    /// Parses limits in any form of [`Limits::parse`]. After a torque, a `+` and an angle may
    /// follow; the angle may have limits of its own. Limits may be followed by the same in another
    /// unit, as in `20 N·m (177 in·lbf)`: the first is the value, the other is compared with it.
    ///
    /// # Errors
    ///
    /// As [`Limits::parse`]; also if what follows the `+` is not an angle, or what precedes it is
    /// not a torque, or if two units [contradict](Agreement::Contradicting) each other.
    pub fn parse(text: &str) -> Result<Self, Error> {
        Self::parse_with(text, Gallons::Unstated)
    }

    /// As [`parse`](Self::parse), with the gallon that is meant where the text does not say.
    ///
    /// # Errors
    ///
    /// As [`parse`](Self::parse).
    pub fn parse_with(text: &str, gallons: Gallons) -> Result<Self, Error> {
        Self::parse_single(text, gallons).or_else(|error| {
            let Some((limits, pairs)) = in_field(text, gallons) else {
                return Err(error);
            };
            match pairs
                .iter()
                .find(|pair| pair.agreement == Agreement::Contradicting)
            {
                Some(pair) => {
                    let reason = Reason::PairContradicts {
                        found: Quoted::new(&text[pair.range.clone()]),
                        first: limits.text(),
                        same: limits.text_in(pair.limits.unit()).unwrap_or_default(),
                    };
                    Err(Error::new(reason, pair.range.clone()))
                }
                None => Ok(limits.into()),
            }
        })
    }

    fn parse_single(text: &str, gallons: Gallons) -> Result<Self, Error> {
        let mut scanner = start(text, gallons)?;
        let limits = limits_at(&mut scanner)?;
        let plus = scanner.remaining();
        if !scanner.eat(|c| c == '+') {
            finish(&scanner)?;
            return Ok(limits.into());
        }
        let angle = scanner.remaining();
        let turn = limits_at(&mut scanner)?;
        let angle = angle.start..scanner.at();
        finish(&scanner)?;
        if turn.kind() != Kind::Angle {
            return Err(scanner.expected_at(Expected::Angle, angle));
        }
        if limits.kind() != Kind::Torque {
            let reason = Reason::TurnAfterOtherKind {
                unit: limits.unit(),
            };
            return Err(Error::new(reason, plus));
        }
        let least = turn
            .lower()
            .or_else(|| turn.nominal())
            .or_else(|| turn.upper());
        if least.is_some_and(|least| !least.value().is_positive()) {
            return Err(scanner.expected_at(Expected::AngleAboveZero, angle));
        }
        Ok(Self::with_turn(limits, turn))
    }
}

impl Limits {
    /// Parses limits in any of their forms.
    ///
    /// | typed | meaning |
    /// | --- | --- |
    /// | `9 N·m ± 1 N·m`, `(9 ± 1) N·m`, `9 +/- 1 N·m` | nominal and tolerance |
    /// | `9 N·m ± 10 %` | tolerance as a percentage of the nominal |
    /// | `20 mm ± 2 thou` | tolerance in another unit of the kind |
    /// | `9 N·m +1/−0.5`, `9 N·m (+1/−0.5 N·m)` | unequal deviations |
    /// | `80 in·lbf (71 to 88)` | nominal between bounds |
    /// | `8 N·m to 10 N·m`, `(8 to 10) N·m`, `8–10 N·m` | two bounds |
    /// | `between 8 and 10 N·m` | two bounds |
    /// | `at least 15 bar`, `min 15 bar`, `15 bar min`, `≥ 15 bar` | a lower bound |
    /// | `at most 0.10 mm`, `max 0.10 mm`, `0.10 mm max`, `≤ 0.10 mm`, `up to 0.10 mm` | an upper bound |
    /// | `0.7 mm`, `1 1/2 in`, `50:1`, `about 9 N·m` | nominal only |
    ///
    /// A value without a unit takes the unit of its neighbour. Any space may be a no-break or a
    /// thin space, and a hyphen is accepted as a minus. Spaces may group digits by threes.
    ///
    /// # Errors
    ///
    /// If the text has none of these forms. Among others: a comma in a number (it could separate thousands or
    /// decimals), a point that probably separates thousands (`1.250 rpm`), a value that its kind can't have (below
    /// absolute zero), a missing or unknown unit, `gal` alone, kinds that cannot be combined, a lower limit above the
    /// upper one, a tolerance that is not above zero, a common fraction of an SI unit, or text after the value.
    pub fn parse(text: &str) -> Result<Self, Error> {
        Self::parse_with(text, Gallons::Unstated)
    }

    /// As [`parse`](Self::parse), with the gallon that is meant where the text does not say.
    ///
    /// # Errors
    ///
    /// As [`parse`](Self::parse).
    pub fn parse_with(text: &str, gallons: Gallons) -> Result<Self, Error> {
        let mut scanner = start(text, gallons)?;
        let limits = limits_at(&mut scanner)?;
        if scanner.next_is(|c| c == '+') && limits.kind() == Kind::Torque {
            let rest = scanner.remaining();
            return Err(scanner.expected_at(Expected::LimitsAlone, rest));
        }
        finish(&scanner)?;
        Ok(limits)
    }
}

impl Quantity {
    /// Parses a number with its unit, and nothing else.
    ///
    /// # Errors
    ///
    /// If the text is not one value with a known unit; see [`Limits::parse`] for what is rejected
    /// in a number.
    pub fn parse(text: &str) -> Result<Self, Error> {
        Self::parse_with(text, Gallons::Unstated)
    }

    /// As [`parse`](Self::parse), with the gallon that is meant where the text does not say.
    ///
    /// # Errors
    ///
    /// As [`parse`](Self::parse).
    pub fn parse_with(text: &str, gallons: Gallons) -> Result<Self, Error> {
        let mut scanner = start(text, gallons)?;
        let value = value(&mut scanner)?;
        let rest = scanner.remaining();
        if !rest.is_empty() && Limits::parse_with(text, gallons).is_ok() {
            return Err(scanner.expected_at(Expected::OneValue, rest));
        }
        value.unit_or_error(&scanner)?;
        finish(&scanner)?;
        value.single(&scanner)
    }
}

impl Unit {
    /// Parses a unit in any known spelling.
    ///
    /// A dot, an asterisk, a hyphen and a space between two parts all mean multiplication. Case
    /// matters for SI symbols only.
    ///
    /// # Errors
    ///
    /// If the spelling is unknown. The help names a unit only if the text can mean no other.
    pub fn parse(text: &str) -> Result<Self, Error> {
        Self::parse_with(text, Gallons::Unstated)
    }

    /// As [`parse`](Self::parse), with the gallon that is meant where the text does not say.
    ///
    /// # Errors
    ///
    /// As [`parse`](Self::parse).
    pub fn parse_with(text: &str, gallons: Gallons) -> Result<Self, Error> {
        let mut scanner = start(text, gallons)?;
        let Some((unit, _)) = scanner.unit()? else {
            return Err(scanner.expected(Expected::Unit));
        };
        finish(&scanner)?;
        Ok(unit)
    }
}

/// `text.parse()` does the same as `T::parse(text)`.
macro_rules! from_str {
    ($($type:ident)+) => {
        $(
            impl FromStr for $type {
                type Err = Error;

                fn from_str(text: &str) -> Result<Self, Error> {
                    Self::parse(text)
                }
            }
        )+
    };
}

from_str! { Spec Limits Quantity Unit }

fn start(text: &str, gallons: Gallons) -> Result<Scanner<'_>, Error> {
    let mut scanner = Scanner::new(text, gallons);
    scanner.skip_spaces();
    if scanner.rest().is_empty() {
        return Err(Error::new(Reason::Empty, 0..text.len()));
    }
    Ok(scanner)
}

fn finish(scanner: &Scanner<'_>) -> Result<(), Error> {
    let rest = scanner.remaining();
    if rest.is_empty() {
        return Ok(());
    }
    Err(scanner.expected_at(Expected::End, rest))
}
