//! A single value with its unit.

use std::cmp::Ordering;

use super::kind::Kind;
use super::number::{MOST_DIGITS, Number};
use super::rational::Rational;
use super::round::{Toward, decimal_places, exponent_within, is_on_step, round};
use super::thousandths::plain_decimals;
use super::unit::Unit;

/// A value with its unit: a reading, a capacity, a size.
///
/// The value is exact, and conversion with [`in_unit`](Self::in_unit) keeps it exact. A quantity also
/// keeps how many digits were typed: they decide how it prints and whether two values
/// [agree](Self::agrees_with). It has no tolerance; for one, see [`Limits`](super::Limits).
///
/// Two quantities are equal (`==`) if value, unit and digits are equal. To compare sizes, use
/// [`compare`](Self::compare).
///
/// ```
/// use benchleaf::quantity::{Quantity, Unit};
///
/// let torque = Quantity::parse("7.2 ft-lb")?;
/// assert_eq!(torque.text(), "7.2\u{a0}ft·lbf");
/// // It prints with digits as fine as the last typed one.
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
    /// A quantity of an exact value, printed with `decimals` digits after the decimal point.
    ///
    /// It prints with four instead of three where three could be read as thousands: `1.2500 psi`.
    ///
    /// ```
    /// use benchleaf::quantity::{Quantity, Rational, Unit};
    ///
    /// let third = Rational::new(1.into(), 3.into());
    /// assert_eq!(Quantity::new(third, Unit::LITRE, 2).text(), "0.33\u{a0}L");
    /// ```
    #[must_use]
    pub fn new(value: Rational, unit: Unit, decimals: u8) -> Self {
        Self::from_number(Number::decimal(value, i32::from(decimals)), unit)
    }

    pub(super) fn from_number(number: Number, unit: Unit) -> Self {
        let number = number.with_decimals(|value, decimals| plain_decimals(value, unit, decimals));
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

    /// What the quantity measures.
    #[must_use]
    pub fn kind(&self) -> Kind {
        self.unit.kind()
    }

    /// One unit of the last typed digit, in [`unit`](Self::unit). Above zero.
    ///
    /// For a common fraction it is 1/64, the finest scale on which such sizes are made (3/8 names a
    /// size and does not mean "to the nearest eighth"), or less if the denominator is greater.
    #[must_use]
    pub fn resolution(&self) -> Rational {
        self.number.resolution()
    }

    /// The same value in another unit, exactly. `None` if the unit is of another kind.
    ///
    /// Its last printed digit is never coarser than the last typed one.
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

    /// This value times a whole number, with the same digits.
    pub(super) fn times(&self, whole: &Rational) -> Self {
        Self::from_number(self.number.times(whole), self.unit)
    }

    /// A value whose digits print it exactly and can be parsed again: this one if possible,
    /// otherwise it rounded to three more digits than it has, or to the most that are parsed.
    pub(super) fn printable(self, toward: Toward) -> Self {
        let Some(typed) = self.number.exact_decimals() else {
            // A fraction prints exactly, as typed.
            return self;
        };
        // Zeros before the point that only fill are parsed again as significant digits.
        let decimals = typed.max(0);
        let before_point = (exponent_within(&self.value().abs()) + 1).max(1);
        let most = (MOST_DIGITS - before_point).max(0);
        let is_exact = is_on_step(self.value(), -decimals);
        if is_exact && decimals <= most && typed == decimals {
            return self;
        }
        let decimals = if is_exact { decimals } else { decimals + 3 }.min(most);
        let value = round(self.value(), -decimals, toward);
        Self::from_number(Number::decimal(value, decimals), self.unit)
    }

    /// Compares two values exactly. `None` if their kinds differ.
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

    /// Whether two values can be roundings of the same value. False if the kinds differ.
    ///
    /// Each value covers all that rounds to it: half a unit of its last digit in both directions.
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
        let tolerance = self.resolution() + conversion.difference(&other.resolution());
        apart * Rational::small(2, 1) <= tolerance
    }
}

impl Unit {
    /// The least value that a quantity in the unit can have: absolute zero, no length, 4/0 AWG. `None`
    /// if it can be negative in another direction, as an angle or a voltage.
    ///
    /// ```
    /// use benchleaf::quantity::Unit;
    ///
    /// assert_eq!(Unit::DEGREE_CELSIUS.least().unwrap().text(), "−273.15\u{a0}°C");
    /// assert_eq!(Unit::VOLT.least(), None);
    /// ```
    #[must_use]
    pub fn least(self) -> Option<Quantity> {
        let (least, _) = self.kind().least()?;
        let least = self.kind().base().value_to(self, &least);
        let decimals = decimal_places(&least).unwrap_or(0).min(2);
        Some(Quantity::from_number(
            Number::decimal(least, decimals),
            self,
        ))
    }
}
