//! Wrench settings with an extension or crowfoot that lengthens the wrench.

use super::error::Error;
use super::figures::{pi, ratio, rounded, shown, whole};
use crate::quantity::{Kind, Quantity, Rational};

/// The setting of a torque wrench that gives `torque` at the fastener through an adapter:
/// T × L / (L + E × cos angle).
///
/// `wrench` is the length L from the middle of the grip to the middle of the drive, `extension` the
/// length E from there to the middle of the fastener, and `angle` the angle of the adapter to the
/// wrench. At 0° it points away from the hand. At 90° the setting equals the torque. At 180° it points
/// back at the hand, and the setting is higher. An extension along the axis of the drive changes
/// nothing.
///
/// The result is exact if the cosine is (0°, 60°, 90° and the same angles in the other quadrants).
/// Otherwise the cosine is off by less than 2 × 10⁻⁷. It prints with three significant figures.
///
/// Sources: FAA AC 43.13-1B, figure 7-2; US Army TM 9-254, figure 4-6, for the angle; both from the
/// examples in `tests/reference/torque.toml`.
///
/// ```
/// use benchleaf::quantity::Quantity;
/// use benchleaf::trade::extension_setting;
///
/// let value = |text| Quantity::parse(text).unwrap();
/// let setting = extension_setting(
///     &value("300 in·lbf"), &value("10 in"), &value("4 in"), &value("0°"),
/// )?;
/// assert_eq!(setting.text(), "214\u{a0}in·lbf");
/// # Ok::<(), benchleaf::trade::Error>(())
/// ```
///
/// # Errors
///
/// If an argument is of the wrong kind, the length of the wrench is not above zero, that of the
/// extension is below zero, or the adapter points back so far that no leverage is left.
pub fn extension_setting(
    torque: &Quantity,
    wrench: &Quantity,
    extension: &Quantity,
    angle: &Quantity,
) -> Result<Quantity, Error> {
    let found = |value: &Quantity| format!("`{value}`");
    if torque.kind() != Kind::Torque {
        return Err(Error::new("a torque", found(torque)));
    }
    if wrench.kind() != Kind::Length || *wrench.value() <= whole(0) {
        return Err(Error::new(
            "a length of the wrench above zero",
            found(wrench),
        ));
    }
    let reach = extension
        .in_unit(wrench.unit())
        .filter(|extension| *extension.value() >= whole(0))
        .ok_or_else(|| {
            let error = Error::new("a length of the extension", found(extension));
            error.with_help("an adapter that points back at the hand has an angle of 180°")
        })?;
    let cosine = cosine(angle).ok_or_else(|| Error::new("an angle", found(angle)))?;
    let leverage = wrench.value() + reach.value() * cosine;
    if leverage <= whole(0) {
        let expected =
            format!("an extension shorter than the wrench's {wrench}, as it points back");
        return Err(Error::new(expected, found(extension)));
    }
    let setting = torque.value() * wrench.value() / leverage;
    Ok(shown(setting, torque.unit()))
}

/// The cosine, to 2 × 10⁻⁷. `None` if the quantity is not an angle.
///
/// The error is the sum of the errors of π (7 × 10⁻⁸), of the truncated series (3 × 10⁻⁸) and of
/// rounding its terms to keep the numbers short (10⁻⁹).
fn cosine(angle: &Quantity) -> Option<Rational> {
    let degrees = angle.in_unit(crate::quantity::Unit::DEGREE)?;
    let degrees = degrees.value();
    let size = if *degrees < whole(0) {
        whole(0) - degrees
    } else {
        degrees.clone()
    };
    let turns = super::figures::floor(&(&size / whole(360)), 0);
    let around = size - turns * whole(360);
    let half = if around > whole(180) {
        whole(360) - around
    } else {
        around
    };
    Some(if half > whole(90) {
        whole(0) - quarter_cosine(&(whole(180) - half))
    } else {
        quarter_cosine(&half)
    })
}

/// The cosine of an angle from 0° to 90°.
fn quarter_cosine(degrees: &Rational) -> Rational {
    for (exact, cosine) in [(0, whole(1)), (60, ratio(1, 2)), (90, whole(0))] {
        if *degrees == whole(exact) {
            return cosine;
        }
    }
    // Up to 45° the series converges fast. Beyond, the sine of the complement is used.
    let short = |value: Rational| rounded(&value, 10);
    let radians = |degrees: Rational| short(degrees * pi() / whole(180));
    let series = |square: &Rational, divisors: [i64; 4]| {
        divisors.into_iter().fold(whole(1), |sum, divisor| {
            short(whole(1) - square * sum / whole(divisor))
        })
    };
    if *degrees <= whole(45) {
        let x = radians(degrees.clone());
        // 1 − x²/2 (1 − x²/12 (1 − x²/30 (1 − x²/56)))
        series(&short(&x * &x), [56, 30, 12, 2])
    } else {
        let x = radians(whole(90) - degrees);
        // x (1 − x²/6 (1 − x²/20 (1 − x²/42 (1 − x²/72))))
        short(series(&short(&x * &x), [72, 42, 20, 6]) * x)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cosine_of(text: &str) -> Rational {
        cosine(&Quantity::parse(text).unwrap()).unwrap()
    }

    #[test]
    fn common_angles_are_exact() {
        for (angle, cosine) in [
            ("0°", (1, 1)),
            ("60°", (1, 2)),
            ("90°", (0, 1)),
            ("120°", (-1, 2)),
            ("180°", (-1, 1)),
            ("300°", (1, 2)),
            ("-60°", (1, 2)),
            ("1 turn", (1, 1)),
        ] {
            assert_eq!(cosine_of(angle), ratio(cosine.0, cosine.1), "{angle}");
        }
    }

    /// Squares of the cosines of 15°, 30° and 45° are (2 + √3) / 4, 3/4 and 1/2.
    #[test]
    fn other_angles_are_within_the_stated_error() {
        for (angle, square) in [
            ("30°", ratio(3, 4)),
            ("45°", ratio(1, 2)),
            ("135°", ratio(1, 2)),
        ] {
            let cosine = cosine_of(angle);
            let off = &cosine * &cosine - square;
            // The square is off by twice the cosine times its error.
            let most = ratio(4, 10_000_000);
            assert!(off < most && whole(0) - &off < most, "{angle}: {off}");
        }
    }

    #[test]
    fn sine_and_cosine_of_the_same_angle_square_to_one() {
        for tenths in (1..900).step_by(7) {
            let angle = format!("{}.{}°", tenths / 10, tenths % 10);
            let other = format!("{}.{}°", (900 - tenths) / 10, (900 - tenths) % 10);
            let (cosine, sine) = (cosine_of(&angle), cosine_of(&other));
            let off = &cosine * &cosine + &sine * &sine - whole(1);
            let most = ratio(6, 10_000_000);
            assert!(off < most && whole(0) - &off < most, "{angle}: {off}");
        }
    }
}
