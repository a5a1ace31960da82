//! The inputs of a calculation as typed, and one value of each for the arithmetic.

use super::input::{Input, InputKind};
use super::worked::{plain, shown};
use crate::quantity::{self, Gallons, Kind, Limits, Quantity, Rational, Unit};
use crate::trade::error::{Error, quoted};
use crate::trade::figures::{aim, exact, whole};
use crate::trade::interval::Interval;
use std::fmt;

/// An input that was read.
#[derive(Clone, Debug)]
pub struct Entered {
    input: &'static Input,
    value: Written,
}

#[derive(Clone, Debug)]
enum Written {
    /// A value, or the number of a plain one as a length in millimetres, which reads all plain numbers.
    Limits(Box<Limits>),
    Word(&'static str),
}

/// Why an input can't be read.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum InputError {
    /// The text is no value. The error has the place in the text.
    Text(quantity::Error),
    /// The value is not one that the input takes.
    Value(Error),
}

impl fmt::Display for InputError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Text(error) => error.fmt(out),
            Self::Value(error) => error.fmt(out),
        }
    }
}

impl std::error::Error for InputError {}

impl InputError {
    /// How to fix it, if that is known.
    #[must_use]
    pub fn help(&self) -> Option<String> {
        match self {
            Self::Text(error) => error.help(),
            Self::Value(error) => error.help().map(str::to_owned),
        }
    }
}

impl From<Error> for InputError {
    fn from(error: Error) -> Self {
        Self::Value(error)
    }
}

impl Input {
    /// Reads what was typed for the input.
    ///
    /// # Errors
    ///
    /// If the text is no value, or none that the input takes.
    pub fn parse(&'static self, text: &str, gallons: Gallons) -> Result<Entered, InputError> {
        let value = match self.takes {
            InputKind::Quantity(kinds) => self.limits(text, kinds, gallons)?,
            InputKind::Number(unit) => Written::Limits(self.plain(text, unit)?.into()),
            InputKind::Count => {
                let number = self.plain(text, "")?;
                let count = number.nominal().map(|number| number.value().clone());
                if !count.is_some_and(|count| count.is_integer() && count.is_positive()) {
                    return Err(Error::new(self.expected(), quoted(text)).into());
                }
                Written::Limits(number.into())
            }
            InputKind::Word(words) => {
                let word = words.iter().find(|word| **word == text.trim());
                let wrong = || Error::new(self.expected(), quoted(text));
                Written::Word(word.ok_or_else(wrong)?)
            }
        };
        Ok(Entered { input: self, value })
    }

    fn expected(&self) -> String {
        format!("{} for `{}`", self.takes.expected(), self.name)
    }

    fn limits(&self, text: &str, kinds: &[Kind], gallons: Gallons) -> Result<Written, InputError> {
        let limits = Limits::parse_with(text, gallons).map_err(InputError::Text)?;
        if !kinds.contains(&limits.kind()) {
            let found = format!("the {} {}", limits.kind().name(), quoted(text));
            return Err(Error::new(self.expected(), found).into());
        }
        Ok(Written::Limits(self.checked(limits, text)?.into()))
    }

    /// A plain number, as a length in millimetres.
    fn plain(&self, text: &str, unit: &str) -> Result<Limits, Error> {
        let wrong = || {
            let help = if unit.is_empty() {
                "write it without a unit, such as `2` or `0.5`".to_owned()
            } else {
                format!("write the number of {unit} without its unit")
            };
            Error::new(self.expected(), quoted(text)).with_help(help)
        };
        let limits = Limits::parse(&format!("{text} mm")).map_err(|_| wrong())?;
        if limits.unit() != Unit::MILLIMETRE {
            return Err(wrong());
        }
        self.checked(limits, text)
    }

    /// Limits with two bounds or none.
    fn checked(&self, limits: Limits, text: &str) -> Result<Limits, Error> {
        match (limits.lower(), limits.upper()) {
            (None, None) => Ok(limits),
            (Some(_), Some(_)) if self.may_vary => Ok(limits),
            (Some(_), Some(_)) => {
                let expected = format!("a single value for `{}`", self.name);
                let error = Error::new(expected, quoted(text));
                Err(error.with_help("write it without a tolerance"))
            }
            _ => {
                let expected = format!("a value with both limits for `{}`", self.name);
                let error = Error::new(expected, quoted(text));
                Err(error.with_help("write a value, a tolerance or a range"))
            }
        }
    }
}

impl Entered {
    /// What it was given for.
    #[must_use]
    pub fn input(&self) -> &'static Input {
        self.input
    }

    /// As typed, in the notation of printed values.
    #[must_use]
    pub fn text(&self) -> String {
        match &self.value {
            Written::Limits(limits) if matches!(self.input.takes, InputKind::Quantity(_)) => {
                limits.text()
            }
            Written::Limits(limits) => limits.text().replace("\u{a0}mm", ""),
            Written::Word(word) => (*word).to_owned(),
        }
    }

    /// The value with its tolerance, if it has a unit.
    #[must_use]
    pub fn limits(&self) -> Option<&Limits> {
        match (&self.value, self.input.takes) {
            (Written::Limits(limits), InputKind::Quantity(_)) => Some(limits),
            _ => None,
        }
    }

    /// Whether it has a tolerance.
    pub(super) fn varies(&self) -> bool {
        matches!(&self.value, Written::Limits(limits) if limits.lower().is_some())
    }

    /// The value that is aimed at, or the lower or the upper end of its tolerance.
    pub(super) fn at(&self, end: End) -> Value {
        let limits = match &self.value {
            Written::Limits(limits) => limits,
            Written::Word(word) => return Value::Word(word),
        };
        let value = match end {
            End::Lower => limits.lower(),
            End::Upper => limits.upper(),
            End::Aim => limits.nominal(),
        };
        let middle = || exact(aim(limits).unwrap_or_default(), limits.unit());
        Value::Quantity(value.unwrap_or_else(middle))
    }
}

/// Which value of an input with a tolerance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum End {
    Aim,
    Lower,
    Upper,
}

/// One value of an input.
#[derive(Clone, Debug)]
pub(super) enum Value {
    Quantity(Quantity),
    Word(&'static str),
}

/// One value of each input that is given or has a default.
#[derive(Debug)]
pub(super) struct Given<'v> {
    pub(super) values: &'v [(&'static Input, Value)],
}

impl Given<'_> {
    fn find(&self, name: &str) -> Option<(&'static Input, &Value)> {
        let mut values = self.values.iter();
        let found = values.find(|(input, _)| input.name == name)?;
        Some((found.0, &found.1))
    }

    /// Whether an optional input is given.
    pub(super) fn has(&self, name: &str) -> bool {
        self.find(name).is_some()
    }

    /// A value with its unit.
    pub(super) fn quantity(&self, name: &str) -> Result<&Quantity, Error> {
        match self.find(name) {
            Some((_, Value::Quantity(quantity))) => Ok(quantity),
            _ => Err(missing(name)),
        }
    }

    /// The number of a unit.
    pub(super) fn in_unit(&self, name: &str, unit: Unit) -> Result<Rational, Error> {
        let quantity = self.quantity(name)?;
        match quantity.in_unit(unit) {
            Some(value) => Ok(value.value().clone()),
            None => Err(Error::new(
                format!("a value in {} for `{name}`", unit.symbol()),
                format!("`{quantity}`"),
            )),
        }
    }

    /// As [`in_unit`](Self::in_unit), above zero.
    pub(super) fn above_zero(&self, name: &str, unit: Unit) -> Result<Rational, Error> {
        let value = self.in_unit(name, unit)?;
        if value.is_positive() {
            return Ok(value);
        }
        Err(self.wrong(name, format!("a value above zero for `{name}`")))
    }

    /// A plain number or a count.
    pub(super) fn number(&self, name: &str) -> Result<Rational, Error> {
        self.in_unit(name, Unit::MILLIMETRE)
    }

    /// A plain number above zero.
    pub(super) fn number_above_zero(&self, name: &str) -> Result<Rational, Error> {
        self.above_zero(name, Unit::MILLIMETRE)
    }

    /// The word that was chosen.
    pub(super) fn word(&self, name: &str) -> Result<&'static str, Error> {
        match self.find(name) {
            Some((_, Value::Word(word))) => Ok(word),
            _ => Err(missing(name)),
        }
    }

    /// The unit that a value is given in.
    pub(super) fn unit(&self, name: &str) -> Result<Unit, Error> {
        Ok(self.quantity(name)?.unit())
    }

    /// The value for a line of the arithmetic, as it was given.
    pub(super) fn text(&self, name: &str) -> String {
        match self.find(name) {
            Some((input, Value::Quantity(quantity))) => match input.takes {
                InputKind::Quantity(_) => quantity.text(),
                _ => plain(&Interval::from(quantity.value().clone())),
            },
            Some((_, Value::Word(word))) => (*word).to_owned(),
            None => String::new(),
        }
    }

    /// The value for a line of the arithmetic, in another unit.
    pub(super) fn text_in(&self, name: &str, unit: Unit) -> String {
        match self.quantity(name) {
            Ok(quantity) if quantity.unit() == unit => quantity.text(),
            Ok(quantity) => match quantity.in_unit(unit) {
                Some(value) => shown(&value.value().clone().into(), unit),
                None => quantity.text(),
            },
            Err(_) => String::new(),
        }
    }

    /// The error for an input whose value is impossible.
    pub(super) fn wrong(&self, name: &str, expected: impl Into<String>) -> Error {
        Error::new(expected, format!("`{}`", self.text(name)))
    }

    /// A percentage as a fraction from zero to one.
    pub(super) fn share(&self, name: &str) -> Result<Rational, Error> {
        let share = self.in_unit(name, Unit::PERCENT)? / whole(100);
        if share.is_negative() || share > whole(1) {
            return Err(self.wrong(name, format!("a share from 0 % to 100 % for `{name}`")));
        }
        Ok(share)
    }
}

fn missing(name: &str) -> Error {
    Error::new(format!("a value for `{name}`"), "none")
}
