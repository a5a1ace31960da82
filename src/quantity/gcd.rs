//! The greatest common divisor of two 128-bit numbers, at compile time as well as at run time.

/// The greatest common divisor; if one number is zero, the other.
#[expect(
    clippy::cast_possible_truncation,
    reason = "both fit when the loop ends; a checked conversion is not const"
)]
pub(super) const fn gcd(mut left: u128, mut right: u128) -> u128 {
    // The most common case: a numerator or denominator of one.
    if left == 1 || right == 1 {
        return 1;
    }
    // Euclid's algorithm until both fit into 64 bits; from there subtraction is cheaper.
    while left > u64::MAX as u128 || right > u64::MAX as u128 {
        if right == 0 {
            return left;
        }
        (left, right) = (right, left % right);
    }
    word_gcd(left as u64, right as u64) as u128
}

/// As [`gcd`], by Stein's binary algorithm.
const fn word_gcd(left: u64, right: u64) -> u64 {
    if left == 0 || right == 0 {
        return left | right;
    }
    // A typed number is far shorter than a factor. One division makes their lengths equal.
    let (mut low, mut high) = if left < right {
        (left, right % left)
    } else {
        (right, left % right)
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
