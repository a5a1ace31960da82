//! Exact conversion factors, worked out from the definitions while the program is compiled.

use num_bigint::BigInt;

use super::number::Rational;

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
        let (mut common, mut rest) = (numerator, denominator);
        while rest != 0 {
            (common, rest) = (rest, common % rest);
        }
        Self {
            numerator: numerator / common,
            denominator: denominator / common,
        }
    }

    /// The exponent, if the factor is a power of ten.
    pub(super) fn exponent_of_ten(self) -> Option<i32> {
        let (power, sign) = match self {
            Self {
                numerator,
                denominator: 1,
            } => (numerator, 1),
            Self {
                numerator: 1,
                denominator,
            } => (denominator, -1),
            _ => return None,
        };
        let exponent = power.checked_ilog10()?;
        (power == 10_u128.pow(exponent)).then_some(sign * i32::try_from(exponent).ok()?)
    }

    pub(super) fn to_rational(self) -> Rational {
        // Lowest terms already, so the raw constructor saves a second reduction.
        Rational::new_raw(BigInt::from(self.numerator), BigInt::from(self.denominator))
    }
}
