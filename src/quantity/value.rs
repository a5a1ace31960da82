//! One value with its unit.

use std::cmp::Ordering;

use super::error::Error;
use super::kind::Kind;
use super::number::Number;
use super::parse;
use super::rational::Rational;
use super::round::{Toward, exponent_within, is_on_step, round};
use super::scan::MOST_DIGITS;
use super::unit::Unit;

/// A value with its unit: a reading, a capacity, a size.
///
/// The value is exact and stays exact through [`in_unit`](Self::in_unit). Beside it goes how
/// many digits were typed, which decides how it prints and when two values
/// [agree](Self::agrees_with); a value has no tolerance of its own, for which see
/// [`Limits`](super::Limits). Two quantities are equal (`==`) if value, unit and digits are; to
/// compare sizes, use [`compare`](Self::compare).
///
/// ```
/// use benchleaf::quantity::{Quantity, Unit};
///
/// let torque = Quantity::parse("7.2 ft-lb")?;
/// assert_eq!(torque.text(), "7.2\u{a0}ft·lbf");
/// // As many digits as one in the last place of 7.2 ft·lbf is worth in N·m.
/// assert_eq!(torque.in_unit(Unit::NEWTON_METRE).unwrap().text(), "9.8\u{a0}N·m");
/// assert_eq!(torque.in_unit(Unit::BAR), None);
/// # Ok::<(), benchleaf::quantity::Error>(())
/// ```
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Quantity {
    number: Number,
    unit: Unit,
}

impl Quantity {
    /// Reads a number with its unit, and nothing else.
    ///
    /// # Errors
    ///
    /// If the text isn't one value with a known unit; see [`Limits::parse`](super::Limits::parse)
    /// for what is refused in a number.
    pub fn parse(text: &str) -> Result<Self, Error> {
        parse::quantity(text)
    }

    /// An exact value of which `decimals` digits after the point are meant.
    ///
    /// ```
    /// use benchleaf::quantity::{Quantity, Rational, Unit};
    ///
    /// let third = Rational::new(1.into(), 3.into());
    /// assert_eq!(Quantity::new(third, Unit::LITRE, 2).text(), "0.33\u{a0}L");
    /// ```
    #[must_use]
    pub fn new(value: Rational, unit: Unit, decimals: u8) -> Self {
        Self {
            number: Number::decimal(value, i32::from(decimals)),
            unit,
        }
    }

    pub(super) fn from_number(number: Number, unit: Unit) -> Self {
        Self { number, unit }
    }

    pub(super) fn number(&self) -> &Number {
        &self.number
    }

    /// The exact value, in [`unit`](Self::unit).
    #[must_use]
    pub fn value(&self) -> &Rational {
        self.number.value()
    }

    /// The unit the value is given in.
    #[must_use]
    pub fn unit(&self) -> Unit {
        self.unit
    }

    /// What the value is a value of.
    #[must_use]
    pub fn kind(&self) -> Kind {
        self.unit.kind()
    }

    /// One unit of the last meant digit, in [`unit`](Self::unit); above zero.
    ///
    /// Of a common fraction it is a 64th, the finest scale such sizes come on (3/8 names a
    /// size, it doesn't mean "to the nearest eighth"), or finer if the fraction is.
    #[must_use]
    pub fn resolution(&self) -> Rational {
        self.number.resolution()
    }

    /// The same value in another unit, exactly; `None` where that is of another kind.
    ///
    /// It prints with the digits that the typed ones carry: its last digit is never coarser
    /// than the typed one's.
    #[must_use]
    pub fn in_unit(&self, unit: Unit) -> Option<Self> {
        if unit == self.unit {
            return Some(self.clone());
        }
        if unit.kind() != self.kind() {
            return None;
        }
        let conversion = self.unit.conversion(unit);
        let value = conversion.point(self.value());
        let step = exponent_within(&conversion.difference(&self.resolution()));
        Some(Self::from_number(Number::decimal(value, -step), unit))
    }

    /// Whether two values of a kind lie less than one unit of the coarser one's last digit apart.
    pub(super) fn is_a_step_from(&self, other: &Self) -> bool {
        let conversion = other.unit.conversion(self.unit);
        let apart = (self.value() - conversion.point(other.value())).abs();
        apart < self.resolution() || apart < conversion.difference(&other.resolution())
    }

    /// A whole number of times this value, with its digits.
    pub(super) fn times(&self, whole: &Rational) -> Self {
        Self::from_number(self.number.times(whole), self.unit)
    }

    /// This value where its digits print it exactly and aren't more than are read again;
    /// otherwise one of which that holds, by rounding at the third digit after the last or at the
    /// last that is read.
    pub(super) fn printable(self, toward: Toward) -> Self {
        let Some(meant) = self.number.exact_decimals() else {
            // A fraction prints as it was typed.
            return self;
        };
        // Zeros that only fill are printed, and read again as digits that are meant.
        let decimals = meant.max(0);
        let before_point = (exponent_within(&self.value().abs()) + 1).max(1);
        let most = (MOST_DIGITS - before_point).max(0);
        let is_exact = is_on_step(self.value(), -decimals);
        if is_exact && decimals <= most && meant == decimals {
            return self;
        }
        let decimals = if is_exact { decimals } else { decimals + 3 }.min(most);
        let value = round(self.value(), -decimals, toward);
        Self::from_number(Number::decimal(value, decimals), self.unit)
    }

    /// Which of two values is greater, exactly; `None` where their kinds differ.
    ///
    /// ```
    /// use std::cmp::Ordering;
    /// use benchleaf::quantity::Quantity;
    ///
    /// let inch = Quantity::parse("1 in")?;
    /// assert_eq!(inch.compare(&Quantity::parse("25.4 mm")?), Some(Ordering::Equal));
    /// assert_eq!(inch.compare(&Quantity::parse("25.4 s")?), None);
    /// # Ok::<(), benchleaf::quantity::Error>(())
    /// ```
    #[must_use]
    pub fn compare(&self, other: &Self) -> Option<Ordering> {
        (self.kind() == other.kind()).then(|| {
            self.value()
                .cmp(&other.unit.value_to(self.unit, other.value()))
        })
    }

    /// Whether two values can be roundings of one and the same; false where the kinds differ.
    ///
    /// Each stands for all that rounds to it: half a unit of its last digit to either side.
    ///
    /// ```
    /// use benchleaf::quantity::Quantity;
    ///
    /// let torque = Quantity::parse("9.8 N·m")?;
    /// assert!(torque.agrees_with(&Quantity::parse("7.2 ft·lbf")?));
    /// assert!(!torque.agrees_with(&Quantity::parse("7.4 ft·lbf")?));
    /// # Ok::<(), benchleaf::quantity::Error>(())
    /// ```
    #[must_use]
    pub fn agrees_with(&self, other: &Self) -> bool {
        if self.kind() != other.kind() {
            return false;
        }
        let conversion = other.unit.conversion(self.unit);
        let apart = (self.value() - conversion.point(other.value())).abs();
        let reach = self.resolution() + conversion.difference(&other.resolution());
        apart * Rational::small(2, 1) <= reach
    }
}
