//! The error of every parser in this module: what is wrong, where, and how to fix it.
//!
//! Every failure is a variant of the private [`Reason`] with its data. Text is composed only in
//! [`Display`](fmt::Display) and [`Error::help`], so that its wording can change without changing
//! the type.

use std::fmt;
use std::ops::Range;

use super::gallons::BareUnit;
use super::number::Number;
pub(super) use super::quoted::Quoted;
use super::suggest::Prefixed;
use super::unit::Unit;

/// Why a text is not a quantity, limits, a spec or a unit.
///
/// [`Display`](fmt::Display) gives the message: what was expected and what was found, in lower case
/// and without a full stop. [`help`](Self::help) says how to fix it, and [`range`](Self::range)
/// which bytes are wrong. Text quoted from the input is shortened but not escaped: escape it before
/// printing it on a terminal.
///
/// ```
/// use benchleaf::quantity::Limits;
///
/// let error = Limits::parse("3,100 rpm").unwrap_err();
/// assert_eq!(error.to_string(), "expected a number without separators, found `3,100`");
/// assert_eq!(error.range(), 0..5);
/// assert_eq!(
///     error.help().as_deref(),
///     Some("write `3100`, or `3.10` if a decimal comma was meant"),
/// );
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Error {
    reason: Reason,
    range: Range<usize>,
}

impl Error {
    pub(super) fn new(reason: Reason, range: Range<usize>) -> Self {
        Self { reason, range }
    }

    /// The error with the value that has the unknown prefix, to be converted in the help.
    pub(super) fn with_value(mut self, number: &Number) -> Self {
        if let Reason::UnknownPrefix {
            prefixed,
            converted,
            ..
        } = &mut self.reason
        {
            *converted = prefixed.converted(number);
        }
        self
    }

    /// Whether the text is certainly a value, although it is refused: it can be read in two ways, or
    /// it can't exist.
    pub(super) fn is_of_a_value(&self) -> bool {
        matches!(
            self.reason,
            Reason::AmbiguousPoint { .. }
                | Reason::AmbiguousVolume { .. }
                | Reason::UnusualFraction { .. }
                | Reason::BelowLeast(_)
        )
    }

    /// Whether no value of the text has a unit.
    pub(super) fn is_missing_unit(&self) -> bool {
        matches!(self.reason, Reason::MissingUnit { .. })
    }

    /// The bytes of the parsed text that are wrong: on character boundaries, within the text.
    ///
    /// Empty if something is missing; the range is then where the missing text belongs.
    #[must_use]
    pub fn range(&self) -> Range<usize> {
        self.range.clone()
    }

    /// The message without the help, as [`Display`](fmt::Display) gives it.
    #[must_use]
    pub fn message(&self) -> String {
        self.to_string()
    }

    /// How to fix the text, if that is known.
    #[must_use]
    pub fn help(&self) -> Option<String> {
        self.reason.help()
    }
}

impl Error {
    /// The text to write in place of [`range`](Self::range), if only one is possible.
    pub(crate) fn replacement(&self) -> Option<String> {
        match &self.reason {
            Reason::ThousandsSeparator {
                plain,
                decimal: None,
                ..
            }
            | Reason::CommaDecimal { plain, .. } => Some(plain.clone()),
            Reason::UnknownUnit {
                spelling: Some(unit),
                ..
            } => Some(unit.to_string()),
            _ => None,
        }
    }
}

impl fmt::Display for Error {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.reason.fmt(out)
    }
}

impl std::error::Error for Error {}

/// The kinds of failure, with the data that their messages need.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Reason {
    Empty,
    Expected(Expected, Quoted),
    ThousandsSeparator {
        found: Quoted,
        plain: String,
        /// The number with a decimal point, if the comma could have been a decimal comma.
        decimal: Option<String>,
    },
    CommaDecimal {
        found: Quoted,
        plain: String,
    },
    /// A point with three digits after it, where a separator of thousands is likely.
    AmbiguousPoint {
        found: Quoted,
        /// The reading with a separator of thousands.
        thousands: String,
        /// The reading with a decimal point, with other than three decimals.
        decimal: String,
        unit: Unit,
    },
    BelowLeast(Box<BelowLeast>),
    /// A zero before other digits, where a point may be missing.
    LeadingZero {
        found: Quoted,
        plain: String,
        /// The number with a point after the zero.
        decimal: String,
    },
    TooManyDigits {
        most: i32,
        found: usize,
    },
    /// A fraction where fractions are not usual, which may be meant as a range.
    UnusualFraction {
        unit: Unit,
        found: Quoted,
        /// The reading as a range.
        range: Option<String>,
        /// The reading as a fraction, in decimals. `None` if the decimals do not end.
        decimal: Option<String>,
    },
    MissingUnit {
        number: Quoted,
        found: Quoted,
    },
    UnknownUnit {
        found: Quoted,
        /// The unit that is meant, if it is only spelled differently.
        spelling: Option<Unit>,
    },
    /// A unit with a prefix that the table lacks.
    UnknownPrefix {
        found: Quoted,
        prefixed: Box<Prefixed>,
        /// The value in a unit of the table.
        converted: Option<String>,
    },
    /// A unit that two systems have under the same name.
    AmbiguousVolume {
        found: Quoted,
        bare: BareUnit,
    },
    /// A spelling that means another unit or is ambiguous, with advice of its own.
    MistakenUnit {
        found: Quoted,
        help: &'static str,
    },
    OtherKind {
        expected: Unit,
        found: Unit,
    },
    OtherUnit {
        expected: Unit,
        found: Unit,
    },
    PercentOfScale {
        unit: Unit,
    },
    Reversed {
        found: Quoted,
        corrected: String,
    },
    TurnAfterOtherKind {
        unit: Unit,
    },
    /// The same value in two units, which are not equal.
    PairContradicts {
        found: Quoted,
        first: String,
        /// The first value in the unit of the second.
        same: String,
    },
}

/// A value that its kind can't have.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct BelowLeast {
    pub(super) unit: Unit,
    /// The least value, in the unit.
    pub(super) least: String,
    /// Whether the least value is possible itself.
    pub(super) is_possible: bool,
    pub(super) found: Quoted,
    /// The value that the text allows, if it is not typed.
    pub(super) allows: Option<String>,
    /// The upper limit, if it is possible.
    pub(super) upper: Option<String>,
}

impl fmt::Display for BelowLeast {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let kind = self.unit.kind().with_article();
        let bound = if self.is_possible {
            "of at least"
        } else {
            "above"
        };
        let (least, found) = (&self.least, &self.found);
        write!(out, "expected {kind} {bound} {least}, found {found}")?;
        match &self.allows {
            Some(value) => write!(out, ", which allows {value}"),
            None => Ok(()),
        }
    }
}

/// What the parser expected: an element of the grammar, or a condition on one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Expected {
    Number,
    Unit,
    DigitAfterPoint,
    DenominatorAboveZero,
    RatioToOne,
    AngleAboveZero,
    ToleranceNotNegative,
    ToleranceAboveZero,
    DifferentLimits,
    BoundsAroundNominal,
    LowerDeviation,
    UpperDeviation,
    Angle,
    LimitsAlone,
    OneValue,
    To,
    And,
    ClosingParenthesis,
    End,
}

impl Expected {
    const fn name(self) -> &'static str {
        match self {
            Self::Number => "a number",
            Self::Unit => "a unit",
            Self::DigitAfterPoint => "a digit after the decimal point",
            Self::DenominatorAboveZero => "a fraction with a denominator above zero",
            Self::RatioToOne => "a ratio to 1",
            Self::AngleAboveZero => "an angle to turn above zero",
            Self::ToleranceNotNegative | Self::ToleranceAboveZero => "a tolerance above zero",
            Self::DifferentLimits => "two different limits",
            Self::BoundsAroundNominal => "bounds on both sides of the nominal",
            Self::LowerDeviation => "a minus before the lower deviation",
            Self::UpperDeviation => "a plus before the upper deviation",
            Self::Angle => "an angle to turn after the `+`",
            Self::LimitsAlone => "limits without an angle to turn",
            Self::OneValue => "one value without limits",
            Self::To => "`to` and an upper bound",
            Self::And => "`and` and an upper bound",
            Self::ClosingParenthesis => "`)`",
            Self::End => "the end of the text",
        }
    }

    const fn help(self) -> Option<&'static str> {
        Some(match self {
            Self::DenominatorAboveZero => {
                "a lower deviation of zero is written with its sign, as in `+1/−0`"
            }
            Self::RatioToOne => "write it with 1 last, as in `50:1`",
            Self::ToleranceAboveZero => {
                "no tool meets a tolerance of zero: leave it out, or say what is allowed"
            }
            Self::DifferentLimits => "write the value once if it is a nominal",
            Self::Angle => {
                "write the angle with its unit, as in `20 N·m + 90°`, or a tolerance to one side with both deviations, as in `9 N·m +1/−0 N·m`"
            }
            _ => return None,
        })
    }
}

impl fmt::Display for Reason {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => out.write_str("expected a value with its unit, found nothing"),
            Self::Expected(expected, found) => {
                write!(out, "expected {}, found {found}", expected.name())
            }
            Self::ThousandsSeparator { found, .. } => {
                write!(out, "expected a number without separators, found {found}")
            }
            Self::CommaDecimal { found, .. } => {
                write!(out, "expected a decimal point, found the comma in {found}")
            }
            Self::LeadingZero { found, .. } => {
                write!(
                    out,
                    "expected a number without a leading zero, found {found}"
                )
            }
            Self::TooManyDigits { most, found } => {
                write!(
                    out,
                    "expected at most {most} digits in a number, found {found}"
                )
            }
            Self::UnusualFraction {
                unit,
                found,
                range: None,
                ..
            } => write!(
                out,
                "expected a decimal number before `{unit}`, found the fraction {found}"
            ),
            Self::UnusualFraction { unit, found, .. } => write!(
                out,
                "expected a number or a range before `{unit}`, found {found}, which can be a range or a fraction"
            ),
            Self::MissingUnit { number, found } => {
                write!(out, "expected a unit after {number}, found {found}")
            }
            Self::UnknownUnit { found, .. }
            | Self::UnknownPrefix { found, .. }
            | Self::MistakenUnit { found, .. } => write!(out, "expected a unit, found {found}"),
            Self::AmbiguousPoint { found, .. } => write!(
                out,
                "expected a number that can be read in one way, found {found}"
            ),
            Self::AmbiguousVolume { found, .. } => {
                write!(out, "expected a US or an imperial unit, found {found}")
            }
            Self::BelowLeast(below) => below.fmt(out),
            Self::OtherKind { expected, found } => write!(
                out,
                "expected {} in `{expected}` or the like, found `{found}`, {}",
                expected.kind().with_article(),
                found.kind().with_article(),
            ),
            Self::OtherUnit { expected, found } => {
                write!(out, "expected the bounds in `{expected}`, found `{found}`")
            }
            Self::PercentOfScale { unit } => {
                write!(out, "expected a tolerance in `{unit}`, found a percentage")
            }
            Self::Reversed { found, .. } => {
                write!(out, "expected the lower limit first, found {found}")
            }
            Self::PairContradicts { found, first, .. } => {
                write!(out, "expected the same value as {first}, found {found}")
            }
            Self::TurnAfterOtherKind { unit } => write!(
                out,
                "expected a torque before the angle to turn, found `{unit}`, {}",
                unit.kind().with_article(),
            ),
        }
    }
}

impl Reason {
    fn help(&self) -> Option<String> {
        Some(match self {
            Self::Empty => "write one such as `9 N·m ± 1 N·m` or `at least 15 bar`".to_owned(),
            Self::Expected(expected, _) => expected.help()?.to_owned(),
            Self::ThousandsSeparator {
                plain,
                decimal: Some(decimal),
                ..
            } => {
                format!("write `{plain}`, or `{decimal}` if a decimal comma was meant")
            }
            Self::ThousandsSeparator {
                plain,
                decimal: None,
                ..
            }
            | Self::CommaDecimal { plain, .. } => format!("write `{plain}`"),
            Self::UnusualFraction {
                unit,
                range,
                decimal,
                ..
            } => {
                let space = if unit.closes_up() { "" } else { " " };
                let decimal = decimal.as_ref().map(|text| format!("`{text}{space}{unit}`"));
                match (range, decimal) {
                    (None, decimal) => format!("write {}", decimal?),
                    (Some(range), Some(decimal)) => {
                        format!("write `{range}` for a range, or {decimal} for a fraction")
                    }
                    (Some(range), None) => {
                        format!("write `{range}` for a range, or decimals for a fraction")
                    }
                }
            }
            Self::LeadingZero { plain, decimal, .. } => {
                format!("write `{plain}`, or `{decimal}` if the point is missing")
            }
            Self::MissingUnit { .. } => {
                "write the number with its unit, as in `9 N·m`".to_owned()
            }
            Self::UnknownUnit {
                spelling: Some(unit),
                ..
            } => format!("write `{unit}`"),
            Self::UnknownPrefix {
                converted: Some(converted),
                ..
            } => format!("write `{converted}`"),
            Self::AmbiguousVolume { bare, .. } => {
                let [us, imperial] = [bare.us, bare.imperial];
                format!("write `{us}` or `{imperial}`; a shop says which it means with `gallons` in `shop.toml`")
            }
            Self::AmbiguousPoint {
                thousands,
                decimal,
                unit,
                ..
            } => {
                let space = if unit.closes_up() { "" } else { " " };
                format!(
                    "write `{thousands}{space}{unit}` if the point separates thousands, or `{decimal}{space}{unit}` if it is a decimal point"
                )
            }
            Self::BelowLeast(below) => {
                let upper = below.upper.as_ref()?;
                format!("write `at most {upper}`")
            }
            Self::MistakenUnit { help, .. } => (*help).to_owned(),
            Self::OtherKind { expected, found }
                if expected.kind().is_pressure() && found.kind().is_pressure() =>
            {
                "gauge and absolute pressure differ by the air pressure: mark both values in the same way"
                    .to_owned()
            }
            Self::PercentOfScale { .. } => {
                "a percentage of a value on this scale has no meaning, because its zero is arbitrary"
                    .to_owned()
            }
            Self::PairContradicts { first, same, .. } => format!("{first} is {same}"),
            Self::Reversed { corrected, .. } => format!("write `{corrected}`"),
            _ => return None,
        })
    }
}
