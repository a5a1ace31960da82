//! Numbers that are known to lie between two exact fractions, so that a result with π or a root can be rounded in a
//! stated direction.
//!
//! An operation on exact numbers is exact. Roots, π and angles have bounds that are at most one part in 10²⁴ apart, and
//! every operation keeps the true number between the bounds.

use super::error::Error;
use super::figures::{ratio, whole};
use crate::quantity::Rational;
use num_bigint::BigInt;
use std::ops::{Add, Mul, Neg, Sub};

/// A number between two bounds, which are equal if it is known exactly.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Interval {
    low: Rational,
    high: Rational,
}

/// The decimals of bounds that are not exact.
const DECIMALS: u32 = 40;

impl Interval {
    pub(super) fn low(&self) -> &Rational {
        &self.low
    }

    pub(super) fn high(&self) -> &Rational {
        &self.high
    }

    pub(super) fn middle(&self) -> Rational {
        (&self.low + &self.high) / whole(2)
    }

    pub(super) fn is_exact(&self) -> bool {
        self.low == self.high
    }

    /// Between the lesser and the greater of two numbers, without rounding.
    pub(super) fn hull(one: Rational, other: Rational) -> Self {
        if one <= other {
            Self {
                low: one,
                high: other,
            }
        } else {
            Self {
                low: other,
                high: one,
            }
        }
    }

    /// Between the lesser and the greater of two numbers, with bounds that are short.
    fn between(one: Rational, other: Rational) -> Self {
        let (low, high) = if one <= other {
            (one, other)
        } else {
            (other, one)
        };
        if low == high {
            return Self { low, high };
        }
        Self {
            low: short(&low, Rational::floor),
            high: short(&high, Rational::ceil),
        }
    }

    /// This number divided by another one.
    ///
    /// # Errors
    ///
    /// If the divisor may be zero.
    pub(super) fn over(self, divisor: Self) -> Result<Self, Error> {
        if !divisor.low.is_positive() && !divisor.high.is_negative() {
            return Err(Error::new(
                "values that do not cancel out",
                "a difference of zero",
            ));
        }
        Ok(self * Self::between(whole(1) / divisor.high, whole(1) / divisor.low))
    }

    /// π, by its first 37 decimals (OEIS A000796, from memory).
    pub(super) fn pi() -> Self {
        let digits: i128 = 31_415_926_535_897_932_384_626_433_832_795_028_841;
        let scale = || BigInt::from(10_i128.pow(37));
        Self {
            low: Rational::new(digits.into(), scale()),
            high: Rational::new((digits + 1).into(), scale()),
        }
    }

    /// The square root.
    ///
    /// # Errors
    ///
    /// If the number may be below zero.
    pub(super) fn root(&self, what: &str) -> Result<Self, Error> {
        let (Some(low), Some(high)) = (root_bounds(&self.low), root_bounds(&self.high)) else {
            return Err(Error::new(
                format!("{what} that is not below zero"),
                "a negative one",
            ));
        };
        Ok(Self {
            low: low.0,
            high: high.1,
        })
    }

    /// The angle in radians whose tangent this is.
    pub(super) fn arc_tangent(&self) -> Self {
        let (low, high) = (
            arc_tangent_bounds(&self.low),
            arc_tangent_bounds(&self.high),
        );
        Self {
            low: low.0,
            high: high.1,
        }
    }

    /// The sine and the cosine of an angle in degrees, which is known exactly.
    pub(super) fn sine_and_cosine(degrees: &Rational) -> (Self, Self) {
        let turns = (degrees / whole(360)).floor();
        let around = degrees - turns * whole(360);
        let quarters = (&around / whole(90)).floor();
        let rest = around - &quarters * whole(90);
        let (sine, cosine) = if rest > whole(45) {
            let (sine, cosine) = of_half_quarter(&(whole(90) - rest));
            (cosine, sine)
        } else {
            of_half_quarter(&rest)
        };
        if quarters == whole(0) {
            (sine, cosine)
        } else if quarters == whole(1) {
            (cosine, -sine)
        } else if quarters == whole(2) {
            (-sine, -cosine)
        } else {
            (-cosine, sine)
        }
    }
}

impl From<Rational> for Interval {
    fn from(exact: Rational) -> Self {
        Self {
            low: exact.clone(),
            high: exact,
        }
    }
}

/// A number with about forty significant digits, rounded to the side of `to_whole`.
fn short(value: &Rational, to_whole: fn(&Rational) -> Rational) -> Rational {
    let length = |number: BigInt| i64::try_from(number.bits()).unwrap_or(i64::MAX);
    let bits = length(value.numer()) - length(value.denom());
    // log10(2) is about 0.30103. One digit more or less does no harm.
    let before_point = bits.saturating_mul(30_103) / 100_000;
    let places = i64::from(DECIMALS) - before_point;
    let power = u32::try_from(places.unsigned_abs()).unwrap_or(u32::MAX);
    let scale = Rational::from_integer(BigInt::from(10).pow(power));
    if places < 0 {
        to_whole(&(value / &scale)) * scale
    } else {
        to_whole(&(value * &scale)) / scale
    }
}

/// Bounds of the square root of a number; equal if it is exact. `None` if the number is negative.
fn root_bounds(square: &Rational) -> Option<(Rational, Rational)> {
    if square.is_negative() {
        return None;
    }
    if square.is_zero() {
        return Some((whole(0), whole(0)));
    }
    // √(a/b) = √(a·b)/b, with enough digits of the whole number under the root.
    let (numerator, denominator) = (square.numer(), square.denom());
    let shift = BigInt::from(10).pow(DECIMALS);
    let under = &numerator * &denominator * &shift * &shift;
    let root = under.sqrt();
    let divisor = denominator * shift;
    let is_exact = &root * &root == under;
    let low = Rational::new(root.clone(), divisor.clone());
    let high = if is_exact {
        low.clone()
    } else {
        Rational::new(root + 1, divisor)
    };
    Some((low, high))
}

/// Bounds of the arc tangent of a number.
///
/// It is calculated with whole multiples of 10⁻⁴⁵. Halved five times, the angle is below 90°/32, where the series converges
/// fast: tan(x/2) = tan x / (1 + √(1 + tan² x)). Halving halves an error and adds at most two steps; the 24 terms of the
/// series add two steps each, and what they leave out is below 10⁻⁶⁰. Together with the factor 32, that is less than 2000
/// steps.
fn arc_tangent_bounds(tangent: &Rational) -> (Rational, Rational) {
    if tangent.is_zero() {
        return (whole(0), whole(0));
    }
    let one = fixed(&whole(1));
    let square_of_one = &one * &one;
    let mut half = fixed(&tangent.abs());
    for _ in 0..5 {
        let root = (&square_of_one + &half * &half).sqrt();
        half = &half * &one / (&one + root);
    }
    let square = &half * &half / &one;
    let mut power = half;
    let mut sum = BigInt::ZERO;
    for term in 0..24 {
        let part = &power / (2 * term + 1);
        if term % 2 == 0 {
            sum += part;
        } else {
            sum -= part;
        }
        power = power * &square / &one;
    }
    let (low, high) = around(sum * 32, 2000);
    if tangent.is_negative() {
        (-high, -low)
    } else {
        (low, high)
    }
}

/// The decimals of a calculation with whole numbers.
const FIXED: u32 = 45;

/// A number as a whole multiple of 10⁻⁴⁵, rounded down.
fn fixed(value: &Rational) -> BigInt {
    let scale = Rational::from_integer(BigInt::from(10).pow(FIXED));
    (value * scale).floor().numer()
}

/// What is so many steps of 10⁻⁴⁵ around a number of them.
fn around(steps: BigInt, slack: i64) -> (Rational, Rational) {
    let scale = || BigInt::from(10).pow(FIXED);
    let low = Rational::new(&steps - slack, scale());
    (low, Rational::new(steps + slack, scale()))
}

/// The sine and the cosine of an angle from 0° to 45°.
fn of_half_quarter(degrees: &Rational) -> (Interval, Interval) {
    if degrees.is_zero() {
        return (whole(0).into(), whole(1).into());
    }
    if *degrees == whole(30) {
        let cosine = Interval::from(ratio(3, 4)).root("a square");
        return (
            ratio(1, 2).into(),
            cosine.unwrap_or_else(|_| whole(1).into()),
        );
    }
    let radians = Interval::pi() * (degrees / whole(180)).into();
    let series = |first: i64| -> Interval {
        let (low, high) = (
            alternating(&radians.low, first),
            alternating(&radians.high, first),
        );
        let least = low.0.clone().min(high.0.clone());
        let most = low.1.max(high.1);
        Interval {
            low: least,
            high: most,
        }
    };
    (series(1), series(0))
}

/// Bounds of x − x³/3! + … if `first` is 1, and of 1 − x²/2! + … if it is 0, for a number from zero to one.
///
/// As in [`arc_tangent_bounds`]: 18 terms with at most three steps of error each, and 10⁻⁴⁸ for what they leave out.
fn alternating(x: &Rational, first: i64) -> (Rational, Rational) {
    let one = fixed(&whole(1));
    let x = fixed(x);
    let square = &x * &x / &one;
    let mut part = if first == 1 { x } else { one.clone() };
    let mut sum = BigInt::ZERO;
    for term in 0..18 {
        if term % 2 == 0 {
            sum += &part;
        } else {
            sum -= &part;
        }
        let next = first + 2 * term + 1;
        part = part * &square / &one / (next * (next + 1));
    }
    around(sum, 2000)
}

impl Add for Interval {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self {
            low: self.low + other.low,
            high: self.high + other.high,
        }
    }
}

impl Neg for Interval {
    type Output = Self;

    fn neg(self) -> Self {
        Self {
            low: -self.high,
            high: -self.low,
        }
    }
}

impl Sub for Interval {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        self + -other
    }
}

impl Mul for Interval {
    type Output = Self;

    fn mul(self, other: Self) -> Self {
        if self.is_exact() && other.is_exact() {
            return (self.low * other.low).into();
        }
        let corners = [
            &self.low * &other.low,
            &self.low * &other.high,
            &self.high * &other.low,
            &self.high * &other.high,
        ];
        let [first, rest @ ..] = corners;
        let (least, most) = rest
            .into_iter()
            .fold((first.clone(), first), |(least, most), corner| {
                (least.min(corner.clone()), most.max(corner))
            });
        Self::between(least, most)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whether the bounds are around a decimal number and at most 10⁻²⁰ apart.
    fn is_about(interval: &Interval, digits: &str) -> bool {
        let (before, after) = digits.split_once('.').unwrap();
        let number: BigInt = format!("{before}{after}").parse().unwrap();
        let places = BigInt::from(10).pow(u32::try_from(after.len()).unwrap());
        let number = Rational::new(number, places);
        let step = Rational::new(1.into(), BigInt::from(10).pow(20));
        let near = |bound: &Rational| (bound - &number).abs() < step;
        interval.low <= interval.high && near(&interval.low) && near(&interval.high)
    }

    /// Digits from the OEIS, from memory: A002193, A010464, A003881, A019669; cos 1° and sin 1° from tables, from memory.
    #[test]
    fn roots_and_angles_are_near_their_digits() {
        let root = |square| Interval::from(whole(square)).root("a square").unwrap();
        assert!(is_about(&root(2), "1.41421356237309504880168872"));
        assert!(is_about(&root(6), "2.44948974278317809819728407"));
        let quarter = Interval::from(whole(1)).arc_tangent();
        assert!(is_about(&quarter, "0.78539816339744830961566084"));
        let (sine, cosine) = Interval::sine_and_cosine(&whole(1));
        assert!(is_about(&sine, "0.01745240643728351281941897"));
        assert!(is_about(&cosine, "0.99984769515639123915701155"));
    }

    #[test]
    fn what_is_exact_stays_exact() {
        let root = Interval::from(ratio(49, 16)).root("a square").unwrap();
        assert_eq!(root, ratio(7, 4).into());
        for (degrees, sine, cosine) in [(0, 0, 1), (90, 1, 0), (180, 0, -1), (270, -1, 0)] {
            let exact = (whole(sine).into(), whole(cosine).into());
            assert_eq!(Interval::sine_and_cosine(&whole(degrees)), exact);
        }
        let (sine, _) = Interval::sine_and_cosine(&whole(-30));
        assert_eq!(sine, ratio(-1, 2).into());
    }

    #[test]
    fn sines_and_cosines_square_to_one() {
        for degrees in (-800..800).step_by(7) {
            let (sine, cosine) = Interval::sine_and_cosine(&ratio(degrees, 2));
            let sum = sine.clone() * sine + cosine.clone() * cosine;
            assert!(sum.low <= whole(1) && whole(1) <= sum.high, "{degrees}");
            let width = sum.high - sum.low;
            assert!(width < ratio(1, 1_000_000_000_000), "{degrees}");
        }
    }

    #[test]
    fn the_tangent_of_an_arc_tangent_is_the_number() {
        for tangent in [ratio(1, 1000), ratio(1, 3), whole(1), whole(7), whole(1000)] {
            let degrees = Interval::from(tangent.clone()).arc_tangent()
                * Interval::from(whole(180)).over(Interval::pi()).unwrap();
            let (below, _) = tangent_bounds(degrees.low());
            let (_, above) = tangent_bounds(degrees.high());
            assert!(below <= tangent && tangent <= above, "{tangent}");
        }
    }

    fn tangent_bounds(degrees: &Rational) -> (Rational, Rational) {
        let (sine, cosine) = Interval::sine_and_cosine(degrees);
        let tangent = sine.over(cosine).unwrap();
        (tangent.low, tangent.high)
    }

    #[test]
    fn a_negative_number_has_no_root() {
        let error = Interval::from(whole(-1)).root("a height").unwrap_err();
        assert_eq!(
            error.to_string(),
            "expected a height that is not below zero, found a negative one"
        );
    }
}
