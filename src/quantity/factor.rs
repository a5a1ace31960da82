//! Exact conversion factors, computed from their definitions at compile time.

use super::gcd::gcd;
use super::rational::Rational;

/// A rational that is not negative, always in lowest terms.
///
/// An overflow in a `const` is a compile error, so the factor of every row that compiles is exact.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Factor {
    numerator: u128,
    denominator: u128,
}

impl Factor {
    pub(super) const ZERO: Self = Self::whole(0);
    pub(super) const ONE: Self = Self::whole(1);

    pub(super) const fn whole(number: u128) -> Self {
        Self {
            numerator: number,
            denominator: 1,
        }
    }

    /// `digits` with `places` of them after the decimal point: `decimal(254, 1)` is 25.4.
    pub(super) const fn decimal(digits: u128, places: u32) -> Self {
        Self::reduced(digits, 10_u128.pow(places))
    }

    pub(super) const fn times(self, other: Self) -> Self {
        Self::reduced(
            self.numerator * other.numerator,
            self.denominator * other.denominator,
        )
    }

    pub(super) const fn over(self, other: Self) -> Self {
        Self::reduced(
            self.numerator * other.denominator,
            self.denominator * other.numerator,
        )
    }

    pub(super) const fn squared(self) -> Self {
        self.times(self)
    }

    const fn reduced(numerator: u128, denominator: u128) -> Self {
        let common = gcd(numerator, denominator);
        Self {
            numerator: numerator / common,
            denominator: denominator / common,
        }
    }

    /// The factor as a [`Rational`]. A factor in a `const` that does not fit is a compile error.
    pub(super) const fn to_rational(self) -> Rational {
        let most = i128::MAX.cast_unsigned();
        assert!(self.numerator <= most && self.denominator <= most);
        Rational::small(self.numerator.cast_signed(), self.denominator.cast_signed())
    }
}
