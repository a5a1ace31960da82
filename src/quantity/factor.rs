//! Exact conversion factors, worked out from the definitions while the program is compiled.

use super::rational::Rational;

/// A positive rational (or zero), always in lowest terms.
///
/// In `const` context an overflow stops the compiler, so a table row that builds is a row whose
/// factor is right to the last digit.
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

    /// `digits` with the decimal point `places` from the right: `decimal(254, 1)` is 25.4.
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

    /// For the table: where a factor doesn't fit, the compiler stops.
    pub(super) const fn to_rational(self) -> Rational {
        let most = i128::MAX.cast_unsigned();
        assert!(self.numerator <= most && self.denominator <= most);
        Rational::small(self.numerator.cast_signed(), self.denominator.cast_signed())
    }
}

/// The greatest common divisor; the other number where one is zero.
#[expect(
    clippy::cast_possible_truncation,
    reason = "the loop ends when both fit; a checked conversion can't be made in a constant"
)]
pub(super) const fn gcd(mut one: u128, mut other: u128) -> u128 {
    // Nearly every factor at a bench has one of these two above or below its line.
    if one == 1 || other == 1 {
        return 1;
    }
    // Euclid's steps, until both fit a machine word and subtraction is cheaper than division.
    while one > u64::MAX as u128 || other > u64::MAX as u128 {
        if other == 0 {
            return one;
        }
        (one, other) = (other, one % other);
    }
    word_gcd(one as u64, other as u64) as u128
}

/// As [`gcd`], by Stein's way: halving and taking off.
const fn word_gcd(one: u64, other: u64) -> u64 {
    if one == 0 || other == 0 {
        return one | other;
    }
    // A typed number is far shorter than a factor, and one division levels them.
    let (mut low, mut high) = if one < other {
        (one, other % one)
    } else {
        (other, one % other)
    };
    if high == 0 {
        return low;
    }
    let shift = (low | high).trailing_zeros();
    low >>= low.trailing_zeros();
    while high != 0 {
        high >>= high.trailing_zeros();
        (low, high) = if low < high {
            (low, high - low)
        } else {
            (high, low - high)
        };
    }
    low << shift
}
