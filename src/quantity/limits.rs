//! A nominal with a lower and an upper bound, each of them optional.

use std::cmp::Ordering;

use super::kind::Kind;
use super::number::Number;
use super::rational::Rational;
use super::round::{Toward, decimal_places, exponent_within, is_on_step};
use super::unit::Unit;
use super::value::Quantity;

/// The target of a value and what is allowed around it: a nominal, a lower and an upper bound.
///
/// At least one of the three is present, and all are of one kind. With both bounds, the lower is
/// below the upper, and a nominal lies between them or on one of them. The bounds themselves are
/// allowed. All values are exact and in the unit they were written in. The written form is kept for
/// printing.
///
/// For a torque followed by an angle, see [`Spec`](super::Spec); for a single value, [`Quantity`].
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
    // Computed once, because limits are compared more often than they are written.
    lower: Option<Rational>,
    upper: Option<Rational>,
}

/// How limits are written. Tolerances are above zero.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) enum Form {
    Nominal(Quantity),
    /// The tolerance is in any unit of the kind, or a percentage of the nominal.
    PlusMinus {
        nominal: Quantity,
        tolerance: Quantity,
    },
    /// One of the two may be zero; units as for [`Form::PlusMinus`].
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
    /// Limits of a form that satisfies the invariants, as the parser and the rounding ensure.
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

    /// The unit that the limits are written in: that of the first value.
    #[must_use]
    pub fn unit(&self) -> Unit {
        self.form.first().unit()
    }

    /// What the limited value measures.
    #[must_use]
    pub fn kind(&self) -> Kind {
        self.unit().kind()
    }

    /// The target value, in the written unit.
    #[must_use]
    pub fn nominal(&self) -> Option<Quantity> {
        self.form.nominal().cloned()
    }

    /// The least allowed value, in the written unit. `None` if there is no lower bound.
    ///
    /// The value is exact, but its text may be rounded to the nearest if its decimals do not end.
    /// For text on a page, print the limits as a whole, see [`text_in`](Self::text_in).
    #[must_use]
    pub fn lower(&self) -> Option<Quantity> {
        match &self.form {
            Form::Range { lower, .. } | Form::Between { lower, .. } | Form::AtLeast(lower) => {
                Some(lower.clone())
            }
            _ => self.lower.as_ref().map(|value| self.computed(value)),
        }
    }

    /// The greatest allowed value, in the written unit. `None` if there is no upper bound.
    ///
    /// Its text may be rounded, as that of [`lower`](Self::lower).
    #[must_use]
    pub fn upper(&self) -> Option<Quantity> {
        match &self.form {
            Form::Range { upper, .. } => upper.in_unit(self.unit()),
            Form::Between { upper, .. } | Form::AtMost(upper) => Some(upper.clone()),
            _ => self.upper.as_ref().map(|value| self.computed(value)),
        }
    }

    /// Whether a bound is written, and not computed from a tolerance.
    pub(super) fn is_written(&self, bound: &Quantity) -> bool {
        match &self.form {
            Form::Range { lower, upper } | Form::Between { lower, upper, .. } => {
                lower == bound || upper == bound
            }
            Form::AtLeast(only) | Form::AtMost(only) => only == bound,
            Form::Nominal(_) | Form::PlusMinus { .. } | Form::Deviations { .. } => false,
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

    /// A bound that was not typed, with as many digits as the tolerance, or more if it needs them.
    fn computed(&self, value: &Rational) -> Quantity {
        let typed = exponent_within(&self.form.resolution());
        let decimals = if is_on_step(value, typed) {
            -typed
        } else {
            decimal_places(value).unwrap_or(-typed)
        };
        Quantity::from_number(Number::decimal(value.clone(), decimals), self.unit())
    }

    /// Whether `other` allows every value that these limits allow. False if the kinds differ.
    ///
    /// Nominals are ignored; a nominal alone has no bounds.
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

    /// The limits that allow what both these limits and `other` allow.
    ///
    /// `None` if no value is allowed by both, if only a single value is (no tool can be set to it),
    /// or if the kinds differ.
    ///
    /// A nominal alone has no bounds. If one of the two is inside the other, the result is that one
    /// as written. Otherwise the result has one bound from each, in the unit of that bound. Its
    /// nominal is that of these limits, or else of `other`, if it lies between the bounds and is in
    /// their unit.
    ///
    /// The result is exact with one exception: a computed bound whose decimals do not end
    /// (`20 in·lbf ± 1 N·m`) or that has more than eighteen digits is rounded inwards by less than a
    /// thousandth of the last typed digit, so that it prints exactly.
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
        let tighter = |own: Option<Quantity>, their: Option<Quantity>, order| match (own, their) {
            (Some(own), Some(their)) if own.compare(&their) == Some(order) => Some(own),
            (Some(own), None) => Some(own),
            (_, their) => their,
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
            // Limits without bounds are inside each other, which was handled above.
            (None, None) => return None,
        };
        Some(Self::from_form(form))
    }

    /// The lower bound as typed, or rounded to digits that print within the limits.
    fn least(&self) -> Option<Quantity> {
        self.lower().map(|lower| lower.printable(Toward::Upper))
    }

    /// The upper bound, as [`least`](Self::least) for the lower.
    fn most(&self) -> Option<Quantity> {
        match &self.form {
            Form::Range { upper, .. } => Some(upper.clone()),
            _ => self.upper().map(|upper| upper.printable(Toward::Lower)),
        }
    }
}

impl From<Quantity> for Limits {
    /// A nominal alone.
    fn from(nominal: Quantity) -> Self {
        Self::from_form(Form::Nominal(nominal))
    }
}

impl Form {
    /// The first value as written. Its unit is the unit of the limits.
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

    /// The lower and the upper bound in the unit of the first value.
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

    /// One unit of the last typed digit of the tolerance, in the unit of the first value; the
    /// coarsest if there are several. Without a tolerance, or with a percentage, that of the value.
    pub(super) fn resolution(&self) -> Rational {
        let unit = self.first().unit();
        let resolution = |part: &Quantity| part.unit().difference_to(unit, &part.resolution());
        let of_tolerance = |nominal: &Quantity, part: &Quantity| {
            resolution(if is_relative(nominal, part) {
                nominal
            } else {
                part
            })
        };
        match self {
            Self::Nominal(value) | Self::AtLeast(value) | Self::AtMost(value) => resolution(value),
            Self::Range { lower, upper } | Self::Between { lower, upper, .. } => {
                resolution(lower).max(resolution(upper))
            }
            Self::PlusMinus { nominal, tolerance } => of_tolerance(nominal, tolerance),
            Self::Deviations {
                nominal,
                plus,
                minus,
            } => of_tolerance(nominal, plus).max(of_tolerance(nominal, minus)),
        }
    }

    /// The same form with its values replaced: `point` maps points on the scale, `difference` maps
    /// differences from a nominal.
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

/// Whether the tolerance `part` is a percentage of the nominal.
///
/// If the nominal is a percentage itself, it is not: 20 % ± 5 % means 15 % to 25 %.
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
