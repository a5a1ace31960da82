//! A nominal with a lower and an upper bound, either of which may be missing.

use std::cmp::Ordering;

use super::error::Error;
use super::kind::Kind;
use super::number::Number;
use super::parse;
use super::rational::Rational;
use super::round::{Toward, decimal_places, exponent_within, is_on_step};
use super::unit::Unit;
use super::value::Quantity;

/// What a value should be, and how far from it is allowed.
///
/// A nominal, a lower and an upper bound; at least one of the three is there, and all are of
/// one kind. With both bounds, the lower is below the upper and a nominal lies between them, or
/// on one of them. A bound itself is allowed. All is exact, in the
/// unit it was written in; how it was written is remembered, and printed again in the standard's
/// form.
///
/// For a torque that is finished by an angle, see [`Spec`](super::Spec); for a plain value,
/// [`Quantity`].
///
/// ```
/// use benchleaf::quantity::{Limits, Quantity};
///
/// let limits = Limits::parse("9 +/- 1 Nm")?;
/// assert_eq!(limits.text(), "9\u{a0}N·m ± 1\u{a0}N·m");
/// assert_eq!(limits.lower(), Some(Quantity::parse("8 N·m")?));
/// assert!(limits.contains(&Quantity::parse("7 ft-lb")?));
/// assert!(!limits.contains(&Quantity::parse("7 N·m")?));
/// # Ok::<(), benchleaf::quantity::Error>(())
/// ```
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Limits {
    form: Form,
    // Worked out once: a limit is judged by more often than it is written.
    lower: Option<Rational>,
    upper: Option<Rational>,
}

/// How limits are written. Zero-width tolerances don't exist, nor do negative ones.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) enum Form {
    Nominal(Quantity),
    /// The tolerance is in any unit of the kind, or in per cent of the nominal.
    PlusMinus {
        nominal: Quantity,
        tolerance: Quantity,
    },
    /// Either may be zero, but not both; units as for [`Form::PlusMinus`].
    Deviations {
        nominal: Quantity,
        plus: Quantity,
        minus: Quantity,
    },
    Range {
        lower: Quantity,
        upper: Quantity,
    },
    /// All three in one unit.
    Between {
        nominal: Quantity,
        lower: Quantity,
        upper: Quantity,
    },
    AtLeast(Quantity),
    AtMost(Quantity),
}

impl Limits {
    /// Reads limits in any of their forms.
    ///
    /// | typed | meaning |
    /// | --- | --- |
    /// | `9 N·m ± 1 N·m`, `(9 ± 1) N·m`, `9 +/- 1 N·m` | nominal and tolerance |
    /// | `9 N·m ± 10 %` | tolerance in parts of the nominal |
    /// | `20 mm ± 2 thou` | tolerance in another unit of the kind |
    /// | `9 N·m +1/−0.5`, `9 N·m (+1/−0.5 N·m)` | unequal tolerance |
    /// | `80 in·lbf (71 to 88)` | nominal between bounds |
    /// | `8 N·m to 10 N·m`, `(8 to 10) N·m`, `8–10 N·m` | bounds |
    /// | `at least 15 bar`, `at most 0.10 mm` | one bound |
    /// | `0.7 mm`, `1 1/2 in`, `50:1` | nominal alone |
    ///
    /// A unit left out is taken from its neighbour. Any space may be a no-break or a thin one,
    /// a minus may be a hyphen. Digits may be grouped by threes with spaces.
    ///
    /// # Errors
    ///
    /// If the text is none of these: among others for a comma in a number (whether it parts
    /// thousands or decimals can't be known), a missing or unknown unit, kinds that don't go
    /// together, a lower limit above the upper one, a tolerance that isn't above zero, a common
    /// fraction of an SI unit, or text left over.
    pub fn parse(text: &str) -> Result<Self, Error> {
        parse::limits(text)
    }

    /// `form` upholds the invariants; the parser and the rounding see to that.
    pub(super) fn from_form(form: Form) -> Self {
        let (lower, upper) = form.bounds();
        debug_assert!(
            lower.is_none() || upper.is_none() || lower < upper,
            "{form:?}"
        );
        Self { form, lower, upper }
    }

    pub(super) fn form(&self) -> &Form {
        &self.form
    }

    /// The unit the limits are written in: that of the first value.
    #[must_use]
    pub fn unit(&self) -> Unit {
        self.form.first().unit()
    }

    /// What the limits are limits of.
    #[must_use]
    pub fn kind(&self) -> Kind {
        self.unit().kind()
    }

    /// The value to aim for, in the written unit.
    #[must_use]
    pub fn nominal(&self) -> Option<Quantity> {
        self.form.nominal().cloned()
    }

    /// The least that is allowed, in the written unit; `None` where there is no lower bound.
    ///
    /// The value is exact. Printed by itself it is rounded to the nearest where its digits don't
    /// end; text for a page comes from the limits as a whole, see [`text_in`](Self::text_in).
    #[must_use]
    pub fn lower(&self) -> Option<Quantity> {
        match &self.form {
            Form::Range { lower, .. } | Form::Between { lower, .. } | Form::AtLeast(lower) => {
                Some(lower.clone())
            }
            _ => self.lower.as_ref().map(|value| self.worked_out(value)),
        }
    }

    /// The most that is allowed, in the written unit; `None` where there is no upper bound.
    ///
    /// Printed by itself it is rounded as [`lower`](Self::lower) is.
    #[must_use]
    pub fn upper(&self) -> Option<Quantity> {
        match &self.form {
            Form::Range { upper, .. } => upper.in_unit(self.unit()),
            Form::Between { upper, .. } | Form::AtMost(upper) => Some(upper.clone()),
            _ => self.upper.as_ref().map(|value| self.worked_out(value)),
        }
    }

    pub(super) fn nominal_value(&self) -> Option<&Rational> {
        self.form.nominal().map(Quantity::value)
    }

    pub(super) fn lower_value(&self) -> Option<&Rational> {
        self.lower.as_ref()
    }

    pub(super) fn upper_value(&self) -> Option<&Rational> {
        self.upper.as_ref()
    }

    /// A bound that wasn't typed, with the digits of the tolerance, or more where it needs them.
    fn worked_out(&self, value: &Rational) -> Quantity {
        let typed = exponent_within(&self.form.resolution());
        let decimals = if is_on_step(value, typed) {
            -typed
        } else {
            decimal_places(value).unwrap_or(-typed)
        };
        Quantity::from_number(Number::decimal(value.clone(), decimals), self.unit())
    }

    /// Whether everything that these limits allow is allowed by `other`; false where the kinds
    /// differ. A nominal doesn't count, nor does one alone allow or forbid anything.
    ///
    /// ```
    /// use benchleaf::quantity::Limits;
    ///
    /// let wide = Limits::parse("8 N·m to 10 N·m")?;
    /// assert!(Limits::parse("71 in·lbf to 88 in·lbf")?.is_inside(&wide));
    /// assert!(!Limits::parse("at least 9 N·m")?.is_inside(&wide));
    /// # Ok::<(), benchleaf::quantity::Error>(())
    /// ```
    #[must_use]
    pub fn is_inside(&self, other: &Self) -> bool {
        if self.kind() != other.kind() {
            return false;
        }
        let conversion = other.unit().conversion(self.unit());
        let theirs = |value: &Rational| conversion.point(value);
        let above = other.lower.as_ref().is_none_or(|least| {
            self.lower
                .as_ref()
                .is_some_and(|lower| *lower >= theirs(least))
        });
        let below = other.upper.as_ref().is_none_or(|most| {
            self.upper
                .as_ref()
                .is_some_and(|upper| *upper <= theirs(most))
        });
        above && below
    }

    /// What both these limits and `other` allow; `None` where nothing is (one value alone counts
    /// as nothing: no tool meets it), or where the kinds differ.
    ///
    /// A nominal alone forbids nothing. Where one is inside the other, the result is that one as
    /// it was written; otherwise it has a bound from each, in the unit of that bound, and the
    /// nominal of these limits, or else of `other`, if it lies between the bounds and in their
    /// unit.
    ///
    /// Exact, but for a worked-out bound whose decimals never end (`20 in·lbf ± 1 N·m`) or are
    /// more than eighteen digits: that one goes inwards by less than a thousandth of the last
    /// typed digit, so that value and print are the same.
    ///
    /// ```
    /// use benchleaf::quantity::Limits;
    ///
    /// let maker = Limits::parse("9 N·m ± 1 N·m")?;
    /// let bench = Limits::parse("at most 80 in·lbf")?;
    /// assert_eq!(
    ///     maker.intersection(&bench),
    ///     Some(Limits::parse("8 N·m to 80 in·lbf")?),
    /// );
    /// assert_eq!(maker.intersection(&Limits::parse("at least 12 N·m")?), None);
    /// # Ok::<(), benchleaf::quantity::Error>(())
    /// ```
    #[must_use]
    pub fn intersection(&self, other: &Self) -> Option<Self> {
        if self.kind() != other.kind() {
            return None;
        }
        if self.is_inside(other) {
            return Some(self.clone());
        }
        if other.is_inside(self) {
            return Some(other.clone());
        }
        let tighter = |one: Option<Quantity>, two: Option<Quantity>, order| match (one, two) {
            (Some(one), Some(two)) if one.compare(&two) == Some(order) => Some(one),
            (Some(one), None) => Some(one),
            (_, two) => two,
        };
        let lower = tighter(self.least(), other.least(), Ordering::Greater);
        let upper = tighter(self.most(), other.most(), Ordering::Less);
        let form = match (lower, upper) {
            (Some(lower), Some(upper)) => {
                if lower.compare(&upper) != Some(Ordering::Less) {
                    return None;
                }
                let fits = |nominal: &Quantity| {
                    [&lower, &upper]
                        .iter()
                        .all(|bound| bound.unit() == nominal.unit())
                        && (lower.value()..=upper.value()).contains(&nominal.value())
                };
                match self.nominal().filter(fits).or(other.nominal().filter(fits)) {
                    Some(nominal) => Form::Between {
                        nominal,
                        lower,
                        upper,
                    },
                    None => Form::Range { lower, upper },
                }
            }
            (Some(lower), None) => Form::AtLeast(lower),
            (None, Some(upper)) => Form::AtMost(upper),
            // Without bounds, each would have been inside the other.
            (None, None) => return None,
        };
        Some(Self::from_form(form))
    }

    /// The lower bound, as it was typed or else to digits that print it within the limits.
    fn least(&self) -> Option<Quantity> {
        self.lower().map(|lower| lower.printable(Toward::Upper))
    }

    /// The upper bound, as [`least`](Self::least) gives the lower.
    fn most(&self) -> Option<Quantity> {
        match &self.form {
            Form::Range { upper, .. } => Some(upper.clone()),
            _ => self.upper().map(|upper| upper.printable(Toward::Lower)),
        }
    }
}

impl Form {
    /// The value that comes first in writing; its unit is that of the whole.
    fn first(&self) -> &Quantity {
        match self {
            Self::Nominal(first)
            | Self::PlusMinus { nominal: first, .. }
            | Self::Deviations { nominal: first, .. }
            | Self::Between { nominal: first, .. }
            | Self::Range { lower: first, .. }
            | Self::AtLeast(first)
            | Self::AtMost(first) => first,
        }
    }

    fn nominal(&self) -> Option<&Quantity> {
        match self {
            Self::Nominal(nominal)
            | Self::PlusMinus { nominal, .. }
            | Self::Deviations { nominal, .. }
            | Self::Between { nominal, .. } => Some(nominal),
            Self::Range { .. } | Self::AtLeast(_) | Self::AtMost(_) => None,
        }
    }

    /// Lower and upper bound in the unit of the first value.
    fn bounds(&self) -> (Option<Rational>, Option<Rational>) {
        let unit = self.first().unit();
        let value = |bound: &Quantity| Some(bound.unit().value_to(unit, bound.value()));
        match self {
            Self::Nominal(_) => (None, None),
            Self::PlusMinus { nominal, tolerance } => {
                let tolerance = difference(nominal, tolerance);
                (
                    Some(nominal.value() - &tolerance),
                    Some(nominal.value() + &tolerance),
                )
            }
            Self::Deviations {
                nominal,
                plus,
                minus,
            } => (
                Some(nominal.value() - difference(nominal, minus)),
                Some(nominal.value() + difference(nominal, plus)),
            ),
            Self::Range { lower, upper } | Self::Between { lower, upper, .. } => {
                (value(lower), value(upper))
            }
            Self::AtLeast(lower) => (value(lower), None),
            Self::AtMost(upper) => (None, value(upper)),
        }
    }

    /// One unit of the last digit that the tolerance was typed with (without one, or with one in
    /// parts of the nominal, that of the value), in the unit of the first value: the coarsest,
    /// where several were typed.
    pub(super) fn resolution(&self) -> Rational {
        let unit = self.first().unit();
        let of = |part: &Quantity| part.unit().difference_to(unit, &part.resolution());
        let on = |nominal: &Quantity, part: &Quantity| {
            of(if is_relative(nominal, part) {
                nominal
            } else {
                part
            })
        };
        match self {
            Self::Nominal(only) | Self::AtLeast(only) | Self::AtMost(only) => of(only),
            Self::Range { lower, upper } | Self::Between { lower, upper, .. } => {
                of(lower).max(of(upper))
            }
            Self::PlusMinus { nominal, tolerance } => on(nominal, tolerance),
            Self::Deviations {
                nominal,
                plus,
                minus,
            } => on(nominal, plus).max(on(nominal, minus)),
        }
    }

    /// The same form with its parts replaced: points on the scale by one function, differences
    /// from a nominal by the other.
    pub(super) fn try_map(
        &self,
        point: impl Fn(&Quantity) -> Option<Quantity>,
        difference: impl Fn(&Quantity) -> Option<Quantity>,
    ) -> Option<Self> {
        Some(match self {
            Self::Nominal(nominal) => Self::Nominal(point(nominal)?),
            Self::PlusMinus { nominal, tolerance } => Self::PlusMinus {
                nominal: point(nominal)?,
                tolerance: difference(tolerance)?,
            },
            Self::Deviations {
                nominal,
                plus,
                minus,
            } => Self::Deviations {
                nominal: point(nominal)?,
                plus: difference(plus)?,
                minus: difference(minus)?,
            },
            Self::Range { lower, upper } => Self::Range {
                lower: point(lower)?,
                upper: point(upper)?,
            },
            Self::Between {
                nominal,
                lower,
                upper,
            } => Self::Between {
                nominal: point(nominal)?,
                lower: point(lower)?,
                upper: point(upper)?,
            },
            Self::AtLeast(lower) => Self::AtLeast(point(lower)?),
            Self::AtMost(upper) => Self::AtMost(point(upper)?),
        })
    }
}

/// Whether a tolerance in the unit of `part` is in parts of the nominal.
///
/// Beside a nominal in per cent it is not: 20 % ± 5 % is 15 % to 25 %.
pub(super) fn is_relative(nominal: &Quantity, part: &Quantity) -> bool {
    part.kind() == Kind::Percent && nominal.kind() != Kind::Percent
}

/// The tolerance `part` in the unit of the nominal.
fn difference(nominal: &Quantity, part: &Quantity) -> Rational {
    if is_relative(nominal, part) {
        nominal.value().abs() * part.value() / Rational::small(100, 1)
    } else {
        part.unit().difference_to(nominal.unit(), part.value())
    }
}
