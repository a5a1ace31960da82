//! Values as typed, and how they become limits: omitted units are filled in, and the result is
//! checked.

use std::ops::Range;

use super::error::{BelowLeast, Error, Expected, Quoted, Reason};
use super::kind::Kind;
use super::limits::{Form, Limits, is_relative};
use super::number::Number;
use super::rational::Rational;
use super::scan::{Scanner, is_slash};
use super::scan_number::{as_decimal, may_be_thousands};
use super::separator::{self, Relation, Typed};
use super::unit::Unit;
use super::value::Quantity;

/// A number, and the unit that follows it if there is one, with their bytes in the text.
pub(super) struct DraftValue {
    pub(super) number: Number,
    /// The fraction in the number, if it was typed with a slash.
    pub(super) slash: Option<TypedFraction>,
    pub(super) at: Range<usize>,
    pub(super) unit: Option<(Unit, Range<usize>)>,
}

/// Two numbers with a slash between them, as typed. They are a fraction only where fractions are usual: `20/25 psi`
/// and `1500/1800 rpm` are ranges to whoever writes them.
pub(super) struct TypedFraction {
    numerator: String,
    denominator: String,
    /// Whether a whole number stands before it, as in `1 1/2`, which is no range.
    is_mixed: bool,
}

impl TypedFraction {
    pub(super) fn find(number: &str) -> Option<TypedFraction> {
        let (before, after) = number.split_once(is_slash)?;
        let is_digit = |letter: char| letter.is_ascii_digit();
        let start = before.trim_end_matches(is_digit).len();
        Some(TypedFraction {
            numerator: before[start..].to_owned(),
            denominator: after.to_owned(),
            is_mixed: before[..start].contains(is_digit),
        })
    }

    /// The two numbers as a range in a unit, the smaller one first. `None` for a mixed number, which is no
    /// range.
    fn as_range(&self, unit: Unit) -> Option<String> {
        let value = |digits: &str| digits.parse::<u64>().unwrap_or(u64::MAX);
        let (mut lower, mut upper) = (&self.numerator, &self.denominator);
        if value(lower) > value(upper) {
            std::mem::swap(&mut lower, &mut upper);
        }
        let space = if unit.closes_up() { "" } else { " " };
        (!self.is_mixed && lower != upper)
            .then(|| format!("{lower}{space}{unit} to {upper}{space}{unit}"))
    }
}

/// Limits as typed, before omitted units are filled in.
pub(super) enum Draft {
    Nominal(DraftValue),
    PlusMinus(DraftValue, DraftValue),
    Deviations {
        nominal: DraftValue,
        plus: DraftValue,
        minus: DraftValue,
    },
    Range(DraftValue, DraftValue),
    Between {
        nominal: DraftValue,
        lower: DraftValue,
        upper: DraftValue,
    },
    AtLeast(DraftValue),
    AtMost(DraftValue),
}

impl Draft {
    /// The values in the order in which they are compared: a nominal, then its tolerances or bounds.
    fn values(&self) -> Vec<&DraftValue> {
        match self {
            Self::Nominal(value) | Self::AtLeast(value) | Self::AtMost(value) => vec![value],
            Self::PlusMinus(first, last) | Self::Range(first, last) => vec![first, last],
            Self::Deviations {
                nominal,
                plus,
                minus,
            } => vec![nominal, plus, minus],
            Self::Between {
                nominal,
                lower,
                upper,
            } => vec![nominal, lower, upper],
        }
    }

    /// Whether any of the values has a unit of its own.
    pub(super) fn has_unit(&self) -> bool {
        let has = |value: &DraftValue| value.unit.is_some();
        match self {
            Self::Nominal(value) | Self::AtLeast(value) | Self::AtMost(value) => has(value),
            Self::PlusMinus(first, last) | Self::Range(first, last) => has(first) || has(last),
            Self::Deviations {
                nominal,
                plus,
                minus,
            } => has(nominal) || has(plus) || has(minus),
            Self::Between {
                nominal,
                lower,
                upper,
            } => has(nominal) || has(lower) || has(upper),
        }
    }

    /// Checks the points in the numbers, which may separate thousands.
    fn check_points(&self, scanner: &Scanner<'_>, shared: Option<Unit>) -> Result<(), Error> {
        if !scanner.text[self.first().at.start..scanner.at()].contains('.') {
            return Ok(());
        }
        let values = self.values();
        let is_doubtful = |value: &&DraftValue| may_be_thousands(&scanner.text[value.at.clone()]);
        if !values.iter().any(is_doubtful) {
            return Ok(());
        }
        let own = values.iter().find_map(|value| value.unit());
        let Some(common) = values[0].unit().or(shared).or(own) else {
            return Ok(());
        };
        // The deviations share a unit.
        let of_deviation = match self {
            Self::Deviations { plus, minus, .. } => minus.unit().or(plus.unit()),
            _ => None,
        };
        let typed = values.iter().enumerate().map(|(index, value)| {
            let omitted = of_deviation.filter(|_| index > 0).unwrap_or(common);
            let unit = value.unit().unwrap_or(omitted);
            // A percentage of the nominal is as likely in both readings.
            let size = if unit.kind() == common.kind() {
                unit.difference_to(common, value.number.value())
            } else {
                Rational::default()
            };
            let text = &scanner.text[value.at.clone()];
            let may_be_thousands = may_be_thousands(text);
            Typed {
                at: value.at.clone(),
                size,
                unit,
                may_be_thousands,
                is_decimal: text.contains('.') && !may_be_thousands,
            }
        });
        let relation = match self {
            Self::Nominal(_) | Self::AtLeast(_) | Self::AtMost(_) => Relation::Alone,
            Self::PlusMinus(..) | Self::Deviations { .. } => Relation::Tolerance,
            Self::Range(..) | Self::Between { .. } => Relation::Bounds,
        };
        separator::check(scanner, &typed.collect::<Vec<_>>(), &relation)
    }

    pub(super) fn first(&self) -> &DraftValue {
        match self {
            Self::Nominal(first)
            | Self::PlusMinus(first, _)
            | Self::Deviations { nominal: first, .. }
            | Self::Range(first, _)
            | Self::Between { nominal: first, .. }
            | Self::AtLeast(first)
            | Self::AtMost(first) => first,
        }
    }

    /// The limits that were typed, with omitted units filled in.
    ///
    /// `shared` is a unit at the end that applies to all values.
    ///
    /// # Errors
    ///
    /// If a unit is missing or of another kind, or the limits are in the wrong order or allow
    /// nothing.
    pub(super) fn settle(
        self,
        scanner: &Scanner<'_>,
        shared: Option<Unit>,
    ) -> Result<Limits, Error> {
        self.check_points(scanner, shared)?;
        let start = self.first().at.start;
        // The unit of the first value: its own, the shared one, or that of a later value.
        let leading = |first: &DraftValue, later: &[&DraftValue]| {
            let later = later.iter().find_map(|value| value.unit());
            match first.unit().or(shared).or(later) {
                Some(unit) => Ok(unit),
                None => first.unit_or_error(scanner),
            }
        };
        let form = match self {
            Self::Nominal(value) => {
                let unit = leading(&value, &[])?;
                Form::Nominal(value.into_quantity(unit)?)
            }
            Self::AtLeast(value) => {
                let unit = leading(&value, &[])?;
                Form::AtLeast(value.into_quantity(unit)?)
            }
            Self::AtMost(value) => {
                let unit = leading(&value, &[])?;
                Form::AtMost(value.into_quantity(unit)?)
            }
            Self::PlusMinus(nominal, tolerance) => {
                let unit = leading(&nominal, &[&tolerance])?;
                let nominal = nominal.into_quantity(unit)?;
                let at = tolerance.at.clone();
                let tolerance = tolerance.tolerance(&nominal, unit)?;
                check_width(scanner, &nominal, &[&tolerance], at)?;
                Form::PlusMinus { nominal, tolerance }
            }
            Self::Deviations {
                nominal,
                plus,
                minus,
            } => {
                let unit = leading(&nominal, &[&minus, &plus])?;
                let nominal = nominal.into_quantity(unit)?;
                let (for_plus, for_minus) =
                    (minus.unit().unwrap_or(unit), plus.unit().unwrap_or(unit));
                let at = plus.at.start.min(minus.at.start)..plus.at.end.max(minus.at.end);
                let plus = plus.tolerance(&nominal, for_plus)?;
                let minus = minus.tolerance(&nominal, for_minus)?;
                check_width(scanner, &nominal, &[&plus, &minus], at)?;
                Form::Deviations {
                    nominal,
                    plus,
                    minus,
                }
            }
            Self::Range(lower, upper) => {
                let unit = leading(&lower, &[&upper])?;
                let at = lower.at.start..upper.unit_at().end;
                let lower = lower.into_quantity(unit)?;
                let upper = upper.of_kind(unit, unit)?;
                check_order(scanner, &lower, &upper, at)?;
                Form::Range { lower, upper }
            }
            Self::Between {
                nominal,
                lower,
                upper,
            } => {
                let unit = leading(&nominal, &[&upper, &lower])?;
                let at = lower.at.start..upper.unit_at().end;
                let nominal = nominal.into_quantity(unit)?;
                let lower = in_same_unit(lower, unit)?;
                let upper = in_same_unit(upper, unit)?;
                check_order(scanner, &lower, &upper, at.clone())?;
                if nominal.value() < lower.value() || nominal.value() > upper.value() {
                    return Err(scanner.expected_at(Expected::BoundsAroundNominal, at));
                }
                Form::Between {
                    nominal,
                    lower,
                    upper,
                }
            }
        };
        let limits = Limits::from_form(form);
        check_least(scanner, &limits, start)?;
        Ok(limits)
    }
}

impl DraftValue {
    pub(super) fn unit(&self) -> Option<Unit> {
        self.unit.as_ref().map(|(unit, _)| *unit)
    }

    /// The bytes of the unit, or of the number if no unit was typed.
    fn unit_at(&self) -> Range<usize> {
        self.unit
            .as_ref()
            .map_or_else(|| self.at.clone(), |(_, at)| at.clone())
    }

    pub(super) fn unit_or_error(&self, scanner: &Scanner<'_>) -> Result<Unit, Error> {
        self.unit().ok_or_else(|| {
            let number = scanner.quote(self.at.clone());
            let end = self.at.end..self.at.end;
            let found = scanner.quote(scanner.next_word());
            Error::new(Reason::MissingUnit { number, found }, end)
        })
    }

    /// A single value, checked as limits are.
    pub(super) fn single(self, scanner: &Scanner<'_>) -> Result<Quantity, Error> {
        let unit = self.unit_or_error(scanner)?;
        let draft = Draft::Nominal(self);
        let limits = draft.settle(scanner, Some(unit))?;
        Ok(limits
            .nominal()
            .unwrap_or_else(|| Quantity::new(Rational::default(), unit, 0)))
    }

    pub(super) fn into_quantity(self, unit: Unit) -> Result<Quantity, Error> {
        let is_usual = match &self.slash {
            Some(slash) => {
                let denominator = slash.denominator.parse();
                denominator.is_ok_and(|denominator| unit.takes_denominator(denominator))
            }
            None => !self.number.is_fraction() || unit.takes_fractions(),
        };
        if !is_usual {
            let found = match &self.slash {
                Some(slash) if !slash.is_mixed => {
                    Quoted::new(&format!("{}/{}", slash.numerator, slash.denominator))
                }
                _ => Quoted::new(&self.number.to_string()),
            };
            let reason = Reason::UnusualFraction {
                unit,
                found,
                range: self.slash.as_ref().and_then(|slash| slash.as_range(unit)),
                decimal: as_decimal(&self.number),
            };
            return Err(Error::new(reason, self.at));
        }
        Ok(Quantity::from_number(self.number, unit))
    }

    /// A value in its own unit, or in `unit` if it has none.
    ///
    /// # Errors
    ///
    /// If that unit is not of the kind of `like`.
    fn of_kind(self, like: Unit, unit: Unit) -> Result<Quantity, Error> {
        let own = self.unit().unwrap_or(unit);
        self.in_unit_like(own, like)
    }

    /// A value in `unit`.
    ///
    /// # Errors
    ///
    /// If `unit` is not of the kind of `like`.
    fn in_unit_like(self, unit: Unit, like: Unit) -> Result<Quantity, Error> {
        if unit.kind() != like.kind() {
            let reason = Reason::OtherKind {
                expected: like,
                found: unit,
            };
            return Err(Error::new(reason, self.unit_at()));
        }
        self.into_quantity(unit)
    }

    /// A tolerance on `nominal`, in its own unit or in `unit` if it has none.
    ///
    /// # Errors
    ///
    /// If it is neither of the nominal's kind nor a percentage, or is below zero.
    fn tolerance(self, nominal: &Quantity, unit: Unit) -> Result<Quantity, Error> {
        let (at, unit_at) = (self.at.clone(), self.unit_at());
        if self.number.value().is_negative() {
            let found = Quoted::new(&self.number.to_string());
            return Err(Error::new(
                Reason::Expected(Expected::ToleranceNotNegative, found),
                at,
            ));
        }
        let mut own = self.unit().unwrap_or(unit);
        if nominal.kind() == Kind::Temperature
            && let Some(scale) = own.scale_of_difference()
        {
            // A tolerance is a difference, so `80 °C ± 5 Δ°C` means `80 °C ± 5 °C`.
            own = scale;
        }
        let like = if own == Unit::PERCENT {
            own
        } else {
            nominal.unit()
        };
        let part = self.in_unit_like(own, like)?;
        // A percentage of a value has no meaning on a scale with an arbitrary zero.
        if is_relative(nominal, &part) && nominal.kind() == Kind::Temperature {
            let reason = Reason::PercentOfScale {
                unit: nominal.unit(),
            };
            return Err(Error::new(reason, at.start..unit_at.end));
        }
        Ok(part)
    }
}

fn in_same_unit(value: DraftValue, unit: Unit) -> Result<Quantity, Error> {
    let at = value.unit_at();
    let bound = value.of_kind(unit, unit)?;
    if bound.unit() == unit {
        return Ok(bound);
    }
    let reason = Reason::OtherUnit {
        expected: unit,
        found: bound.unit(),
    };
    Err(Error::new(reason, at))
}

/// Rejects a tolerance that allows only the nominal: no reading meets it, and no converted bound
/// can be rounded into it.
fn check_width(
    scanner: &Scanner<'_>,
    nominal: &Quantity,
    parts: &[&Quantity],
    at: Range<usize>,
) -> Result<(), Error> {
    let nothing = |part: &&Quantity| {
        part.value().is_zero() || (is_relative(nominal, part) && nominal.value().is_zero())
    };
    if !parts.iter().all(nothing) {
        return Ok(());
    }
    Err(scanner.expected_at(Expected::ToleranceAboveZero, at))
}

fn check_order(
    scanner: &Scanner<'_>,
    lower: &Quantity,
    upper: &Quantity,
    at: Range<usize>,
) -> Result<(), Error> {
    let upper_value = upper.unit().value_to(lower.unit(), upper.value());
    if *lower.value() < upper_value {
        return Ok(());
    }
    if *lower.value() == upper_value {
        return Err(scanner.expected_at(Expected::DifferentLimits, at));
    }
    let found = scanner.quote(at.clone());
    let corrected = format!("{upper} to {lower}");
    Err(Error::new(Reason::Reversed { found, corrected }, at))
}

/// Rejects limits that allow a value that their kind can't have. `start` is where their first value is.
fn check_least(scanner: &Scanner<'_>, limits: &Limits, start: usize) -> Result<(), Error> {
    let values = [
        limits.nominal_value(),
        limits.lower_value(),
        limits.upper_value(),
    ];
    // No kind has a least value above zero.
    if values.into_iter().flatten().all(Rational::is_positive) {
        return Ok(());
    }
    let Some((least, is_possible)) = limits.kind().least() else {
        return Ok(());
    };
    let unit = limits.unit();
    let base = unit.kind().base();
    let is_below = |value: &Rational| {
        let value = unit.value_to(base, value);
        value < least || (value == least && !is_possible)
    };
    let nominal = limits.nominal();
    let values = [nominal.clone(), limits.lower(), limits.upper()];
    let Some(below) = values
        .into_iter()
        .flatten()
        .find(|value| is_below(value.value()))
    else {
        return Ok(());
    };
    let at = start..start + scanner.text[start..scanner.at()].trim_end().len();
    let is_typed = nominal.as_ref() == Some(&below) || limits.is_written(&below);
    let upper = limits
        .upper()
        .filter(|upper| !is_typed && !is_below(upper.value()));
    let below = BelowLeast {
        unit,
        least: unit.least().map(|least| least.text()).unwrap_or_default(),
        is_possible,
        found: scanner.quote(at.clone()),
        allows: (!is_typed).then(|| below.text()),
        upper: upper.map(|upper| upper.text()),
    };
    Err(Error::new(Reason::BelowLeast(Box::new(below)), at))
}
