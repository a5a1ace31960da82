//! Exact fractions of any size. Up to 128 bits they need no heap memory.

use std::cmp::Ordering;
use std::fmt;
use std::ops::Neg;

use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{One, ToPrimitive};

use super::gcd::gcd;

/// An exact fraction in lowest terms, of any size.
///
/// Numerators and denominators of up to 128 bits are stored inline, without heap memory. Results
/// that do not fit continue as big integers, so that no operation rounds or overflows. No value is
/// ever a float between parsing and printing.
///
/// ```
/// use benchleaf::quantity::Rational;
///
/// let third = Rational::new(1.into(), 3.into());
/// assert_eq!(&third + &third + third, Rational::from_integer(1.into()));
///
/// // Exact however long: ten to the power of sixty-four, and back.
/// let big = Rational::from_integer(10_i128.pow(32).into());
/// assert_eq!(&big * &big / &big, big);
/// ```
#[derive(Clone, PartialEq, Eq, Hash)]
pub struct Rational(Parts);

#[derive(Clone, PartialEq, Eq, Hash)]
pub(super) enum Parts {
    /// In lowest terms; the denominator is above zero; neither is `i128::MIN`, so that both can
    /// be negated and the fraction inverted.
    Small { numerator: i128, denominator: i128 },
    /// Only values that do not fit into `Small`, so that equal values are equal field by field.
    Big(Box<BigRational>),
}

const ZERO: Rational = Rational::small(0, 1);

impl Rational {
    /// `numerator` over `denominator`, in any terms.
    ///
    /// # Panics
    ///
    /// If `denominator` is zero.
    #[must_use]
    pub fn new(numerator: BigInt, denominator: BigInt) -> Self {
        BigRational::new(numerator, denominator).into()
    }

    /// A whole number.
    #[must_use]
    pub fn from_integer(number: BigInt) -> Self {
        BigRational::from_integer(number).into()
    }

    /// `numerator` over `denominator` in any terms. The denominator is above zero, and neither is
    /// `i128::MIN`.
    pub(super) fn reduced(numerator: i128, denominator: i128) -> Self {
        let common = gcd_signed(numerator, denominator);
        Self::small(divided(numerator, common), divided(denominator, common))
    }

    /// `numerator` over `denominator`, which satisfy the invariants of [`Parts::Small`].
    pub(super) const fn small(numerator: i128, denominator: i128) -> Self {
        Self(Parts::Small {
            numerator,
            denominator,
        })
    }

    /// Numerator and denominator, if both are small.
    pub(super) fn as_small(&self) -> Option<(i128, i128)> {
        match self.0 {
            Parts::Small {
                numerator,
                denominator,
            } => Some((numerator, denominator)),
            Parts::Big(_) => None,
        }
    }

    pub(super) fn to_big(&self) -> BigRational {
        match &self.0 {
            // Already in lowest terms, so the raw constructor avoids a second reduction.
            Parts::Small {
                numerator,
                denominator,
            } => BigRational::new_raw((*numerator).into(), (*denominator).into()),
            Parts::Big(big) => (**big).clone(),
        }
    }

    /// The numerator in lowest terms. It has the sign of the value.
    #[must_use]
    pub fn numer(&self) -> BigInt {
        match &self.0 {
            Parts::Small { numerator, .. } => (*numerator).into(),
            Parts::Big(big) => big.numer().clone(),
        }
    }

    /// The denominator in lowest terms, above zero.
    #[must_use]
    pub fn denom(&self) -> BigInt {
        match &self.0 {
            Parts::Small { denominator, .. } => (*denominator).into(),
            Parts::Big(big) => big.denom().clone(),
        }
    }

    /// Whether the value is a whole number.
    #[must_use]
    pub fn is_integer(&self) -> bool {
        match &self.0 {
            Parts::Small { denominator, .. } => *denominator == 1,
            Parts::Big(big) => big.is_integer(),
        }
    }

    /// Whether the value is zero.
    #[must_use]
    pub fn is_zero(&self) -> bool {
        self.sign() == Ordering::Equal
    }

    /// Whether the value is above zero.
    #[must_use]
    pub fn is_positive(&self) -> bool {
        self.sign() == Ordering::Greater
    }

    /// Whether the value is below zero.
    #[must_use]
    pub fn is_negative(&self) -> bool {
        self.sign() == Ordering::Less
    }

    /// The value compared with zero.
    fn sign(&self) -> Ordering {
        match &self.0 {
            Parts::Small { numerator, .. } => numerator.cmp(&0),
            Parts::Big(big) => big.numer().cmp(&BigInt::ZERO),
        }
    }

    /// The absolute value.
    #[must_use]
    pub fn abs(&self) -> Self {
        if self.is_negative() {
            -self
        } else {
            self.clone()
        }
    }

    /// The greatest whole number that is not above the value.
    ///
    /// ```
    /// use benchleaf::quantity::Rational;
    ///
    /// let half = Rational::new((-7).into(), 2.into());
    /// assert_eq!(half.floor(), Rational::from_integer((-4).into()));
    /// ```
    #[must_use]
    pub fn floor(&self) -> Self {
        match &self.0 {
            Parts::Small {
                numerator,
                denominator,
            } => Self::small(div_rem(*numerator, *denominator).0, 1),
            Parts::Big(big) => big.floor().into(),
        }
    }

    /// The least whole number that is not below the value.
    #[must_use]
    pub fn ceil(&self) -> Self {
        -(-self).floor()
    }

    /// The nearest whole number; halves are rounded away from zero.
    ///
    /// ```
    /// use benchleaf::quantity::Rational;
    ///
    /// let half = Rational::new((-7).into(), 2.into());
    /// assert_eq!(half.round(), Rational::from_integer((-4).into()));
    /// ```
    #[must_use]
    pub fn round(&self) -> Self {
        let half = Self::small(1, 2);
        if self.is_negative() {
            (self - half).ceil()
        } else {
            (self + half).floor()
        }
    }

    /// One divided by this value, which callers have checked is not zero.
    pub(super) fn reciprocal(&self) -> Self {
        match &self.0 {
            Parts::Small {
                numerator,
                denominator,
            } => Self::small(denominator * numerator.signum(), numerator.abs()),
            Parts::Big(big) => big.recip().into(),
        }
    }
}

impl From<BigRational> for Rational {
    fn from(big: BigRational) -> Self {
        let small = |number: &BigInt| number.to_i128().filter(|number| *number != i128::MIN);
        match (small(big.numer()), small(big.denom())) {
            (Some(numerator), Some(denominator)) => Self::small(numerator, denominator),
            _ => Self(Parts::Big(Box::new(big))),
        }
    }
}

impl Default for Rational {
    /// Zero.
    fn default() -> Self {
        ZERO
    }
}

pub(super) fn gcd_signed(left: i128, right: i128) -> i128 {
    // Neither is `i128::MIN`, so the divisor is at most `i128::MAX`.
    gcd(left.unsigned_abs(), right.unsigned_abs()).cast_signed()
}

/// `number` divided by one of its divisors, which is above zero. Most often the divisor is one.
pub(super) fn divided(number: i128, divisor: i128) -> i128 {
    if divisor == 1 {
        number
    } else {
        div_rem(number, divisor).0
    }
}

/// The quotient, rounded down, and the remainder, which is not below zero. The divisor is above
/// zero.
///
/// A 64-bit division takes a tenth of the time of a 128-bit one, and the numbers nearly always fit.
pub(super) fn div_rem(number: i128, divisor: i128) -> (i128, i128) {
    match (i64::try_from(number), i64::try_from(divisor)) {
        (Ok(number), Ok(divisor)) => (
            number.div_euclid(divisor).into(),
            number.rem_euclid(divisor).into(),
        ),
        _ => (number.div_euclid(divisor), number.rem_euclid(divisor)),
    }
}

impl Neg for &Rational {
    type Output = Rational;

    fn neg(self) -> Rational {
        match &self.0 {
            Parts::Small {
                numerator,
                denominator,
            } => Rational::small(-numerator, *denominator),
            Parts::Big(big) => (-(**big).clone()).into(),
        }
    }
}

impl Neg for Rational {
    type Output = Self;

    fn neg(self) -> Self {
        -&self
    }
}

impl Ord for Rational {
    fn cmp(&self, other: &Self) -> Ordering {
        if let (Some((a, b)), Some((c, d))) = (self.as_small(), other.as_small()) {
            if b == d {
                return a.cmp(&c);
            }
            if a.signum() != c.signum() {
                return a.signum().cmp(&c.signum());
            }
            if let (Some(left), Some(right)) = (a.checked_mul(d), c.checked_mul(b)) {
                return left.cmp(&right);
            }
        }
        self.to_big().cmp(&other.to_big())
    }
}

impl PartialOrd for Rational {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl fmt::Display for Rational {
    /// `7`, or `7/2`. For text on a page, see [`Quantity`](super::Quantity) and
    /// [`Limits`](super::Limits).
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.is_integer() {
            write!(out, "{}", self.numer())
        } else {
            write!(out, "{}/{}", self.numer(), self.denom())
        }
    }
}

impl fmt::Debug for Rational {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, out)
    }
}

/// Ten to the power of `exponent`.
pub(super) fn power_of_ten(exponent: i32) -> Rational {
    match (small_power_of_ten(exponent.unsigned_abs()), exponent < 0) {
        (Some(power), false) => Rational::small(power, 1),
        (Some(power), true) => Rational::small(1, power),
        (None, below_one) => {
            let power = BigInt::from(10).pow(exponent.unsigned_abs());
            let power = if below_one {
                BigRational::new_raw(BigInt::one(), power)
            } else {
                BigRational::from_integer(power)
            };
            power.into()
        }
    }
}

/// The powers of ten that fit into an `i128`.
const POWERS: [i128; 39] = {
    let mut powers = [1; 39];
    let mut exponent = 1;
    while exponent < powers.len() {
        powers[exponent] = powers[exponent - 1] * 10;
        exponent += 1;
    }
    powers
};

pub(super) fn small_power_of_ten(exponent: u32) -> Option<i128> {
    POWERS.get(usize::try_from(exponent).ok()?).copied()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// Numbers of every length, and those at the edges.
    fn part() -> impl Strategy<Value = i128> {
        let edge = proptest::sample::select(vec![
            0,
            1,
            -1,
            10,
            i128::MAX,
            i128::MIN,
            i128::MIN + 1,
            i128::from(u64::MAX),
            i128::from(i64::MIN),
        ]);
        let any = (any::<i128>(), 0_u32..127).prop_map(|(number, bits)| number >> bits);
        prop_oneof![1 => edge, 4 => any]
    }

    fn pair() -> impl Strategy<Value = (Rational, BigRational)> {
        (
            part(),
            part().prop_filter("not over zero", |part| *part != 0),
        )
            .prop_map(|(n, d)| (n.into(), d.into()))
            .prop_map(|(n, d): (BigInt, BigInt)| {
                (Rational::new(n.clone(), d.clone()), BigRational::new(n, d))
            })
    }

    proptest! {
        #![proptest_config(ProptestConfig {
            cases: 2000, failure_persistence: None, ..ProptestConfig::default()
        })]

        /// The library's big fractions are the judge of every operation.
        #[test]
        fn every_operation_gives_what_big_fractions_give((a, big_a) in pair(), (b, big_b) in pair()) {
            let check = |ours: Rational, theirs: BigRational| {
                prop_assert_eq!(ours.numer(), theirs.numer().clone());
                prop_assert_eq!(ours.denom(), theirs.denom().clone());
                // Equal values have equal parts, or `==` and hashes would lie.
                prop_assert_eq!(&ours, &Rational::from(theirs));
                Ok(())
            };
            check(a.clone(), big_a.clone())?;
            check(&a + &b, &big_a + &big_b)?;
            check(&a - &b, &big_a - &big_b)?;
            check(&a * &b, &big_a * &big_b)?;
            if !b.is_zero() {
                check(&a / &b, &big_a / &big_b)?;
            }
            check(-&a, -big_a.clone())?;
            check(a.floor(), big_a.floor())?;
            check(a.ceil(), big_a.ceil())?;
            check(a.round(), big_a.round())?;
            prop_assert_eq!(a.cmp(&b), big_a.cmp(&big_b));
            prop_assert_eq!(a.is_integer(), big_a.is_integer());
            // And carried on from results that no longer fit.
            let (c, big_c) = (&a * &b, &big_a * &big_b);
            check(&c * &c - &a, &big_c * &big_c - &big_a)?;
            check(&c + &b, &big_c + &big_b)?;
            prop_assert_eq!(c.cmp(&a), big_c.cmp(&big_a));
        }
    }

    #[test]
    fn powers_of_ten_fit_or_grow() {
        assert_eq!(power_of_ten(0), Rational::from_integer(1.into()));
        assert_eq!(&power_of_ten(38) * &power_of_ten(-38), power_of_ten(0));
        assert_eq!(&power_of_ten(60) / &power_of_ten(59), power_of_ten(1));
        assert!(power_of_ten(39).as_small().is_none());
    }
}
