//! Addition, subtraction, multiplication and division of [`Rational`]s.

use std::ops::{Add, Div, Mul, Sub};

use num_rational::BigRational;

use super::rational::{Rational, divided, gcd_signed};

/// The result of checked arithmetic; `None` also for `i128::MIN`, which cannot be negated.
fn fitting(result: Option<i128>) -> Option<i128> {
    result.filter(|number| *number != i128::MIN)
}

// Knuth, The Art of Computer Programming, volume 2, 4.5.1: factors are reduced before they are
// multiplied, so that intermediate results stay small and the result is in lowest terms. `None` if
// a result does not fit into an `i128`.

fn sum((a, b): (i128, i128), (c, d): (i128, i128)) -> Option<Rational> {
    if b == 1 && d == 1 {
        return Some(Rational::small(fitting(a.checked_add(c))?, 1));
    }
    let common = gcd_signed(b, d);
    let (left, right) = (divided(d, common), divided(b, common));
    let total = a
        .checked_mul(left)?
        .checked_add(c.checked_mul(right)?)
        .filter(|total| *total != i128::MIN)?;
    let rest = gcd_signed(total, common);
    let denominator = fitting(right.checked_mul(divided(d, rest)))?;
    Some(Rational::small(divided(total, rest), denominator))
}

fn product((a, b): (i128, i128), (c, d): (i128, i128)) -> Option<Rational> {
    let (across, back) = (gcd_signed(a, d), gcd_signed(c, b));
    let numerator = fitting(divided(a, across).checked_mul(divided(c, back)))?;
    let denominator = fitting(divided(b, back).checked_mul(divided(d, across)))?;
    Some(Rational::small(numerator, denominator))
}

/// Applies an operator: `small` if both operands and the result fit into `i128`, otherwise `big`.
fn operate(
    left: &Rational,
    right: &Rational,
    small: impl Fn((i128, i128), (i128, i128)) -> Option<Rational>,
    big: impl Fn(BigRational, BigRational) -> BigRational,
) -> Rational {
    if let (Some(small_left), Some(small_right)) = (left.as_small(), right.as_small())
        && let Some(result) = small(small_left, small_right)
    {
        return result;
    }
    big(left.to_big(), right.to_big()).into()
}

impl Add for &Rational {
    type Output = Rational;

    fn add(self, other: Self) -> Rational {
        operate(self, other, sum, |left, right| left + right)
    }
}

impl Sub for &Rational {
    type Output = Rational;

    fn sub(self, other: Self) -> Rational {
        let small =
            |left, (numerator, denominator): (i128, i128)| sum(left, (-numerator, denominator));
        operate(self, other, small, |left, right| left - right)
    }
}

impl Mul for &Rational {
    type Output = Rational;

    fn mul(self, other: Self) -> Rational {
        operate(self, other, product, |left, right| left * right)
    }
}

impl Div for &Rational {
    type Output = Rational;

    /// # Panics
    ///
    /// If `other` is zero.
    fn div(self, other: Self) -> Rational {
        assert!(!other.is_zero(), "a division by zero");
        self * &other.reciprocal()
    }
}

/// Implements an operator for operands by value and in both mixed forms.
macro_rules! by_value {
    ($($operator:ident, $method:ident;)+) => {
        $(
            impl $operator<Rational> for Rational {
                type Output = Rational;

                fn $method(self, other: Rational) -> Rational {
                    (&self).$method(&other)
                }
            }

            impl $operator<&Rational> for Rational {
                type Output = Rational;

                fn $method(self, other: &Rational) -> Rational {
                    (&self).$method(other)
                }
            }

            impl $operator<Rational> for &Rational {
                type Output = Rational;

                fn $method(self, other: Rational) -> Rational {
                    self.$method(&other)
                }
            }
        )+
    };
}

by_value! {
    Add, add;
    Sub, sub;
    Mul, mul;
    Div, div;
}
