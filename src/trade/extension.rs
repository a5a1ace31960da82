//! Wrench settings with an extension or crowfoot that lengthens the wrench.

use super::adequacy::Window;
use super::error::Error;
use super::figures::{aim, decimals_for, pi, ratio, rounded, shown, whole};
use crate::quantity::{Kind, Limits, Quantity, Rational};

/// An extension or crowfoot on a torque wrench, which changes what its scale means.
///
/// With the length L of the wrench from the middle of the grip to the middle of the drive, the length E
/// of the extension from there to the middle of the fastener, and the angle of the extension to the
/// wrench, the setting for a torque T is T × L / (L + E × cos angle). At 0° the extension points away
/// from the hand. At 90° the setting equals the torque. At 180° it points back at the hand, and the
/// setting is higher. An extension along the axis of the drive changes nothing.
///
/// The factor is exact if the cosine is (0°, 60°, 90° and the same angles in the other quadrants).
/// Otherwise the cosine is off by less than 2 × 10⁻⁷, and windows are narrowed by that error.
///
/// Sources: FAA AC 43.13-1B, figure 7-2; US Army TM 9-254, figure 4-6, for the angle; both from the
/// examples in `tests/reference/torque.toml`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Extension {
    /// Setting divided by torque.
    factor: Rational,
    /// Bounds of the true factor. Equal to it if the cosine is exact.
    least_factor: Rational,
    most_factor: Rational,
}

impl Extension {
    /// An extension on a wrench.
    ///
    /// # Errors
    ///
    /// If an argument is of the wrong kind, the length of the wrench is not above zero, that of the
    /// extension is below zero, or the adapter points back so far that no leverage is left.
    pub fn new(wrench: &Quantity, extension: &Quantity, angle: &Quantity) -> Result<Self, Error> {
        let found = |value: &Quantity| format!("`{value}`");
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
        let is_exact = [whole(1), ratio(1, 2), whole(0), ratio(-1, 2), whole(-1)].contains(&cosine);
        let error = if is_exact {
            whole(0)
        } else {
            ratio(2, 10_000_000)
        };
        let leverage = |cosine: Rational| wrench.value() + reach.value() * cosine;
        let least_leverage = leverage(&cosine - &error);
        if least_leverage <= whole(0) {
            let expected =
                format!("an extension shorter than the wrench's {wrench}, as it points back");
            return Err(Error::new(expected, found(extension)));
        }
        Ok(Self {
            least_factor: wrench.value() / leverage(&cosine + &error),
            most_factor: wrench.value() / least_leverage,
            factor: wrench.value() / leverage(cosine),
        })
    }

    /// The setting that gives `torque` at the fastener, printed with three significant figures.
    /// `None` if it is not a torque.
    #[must_use]
    pub fn setting(&self, torque: &Quantity) -> Option<Quantity> {
        let is_torque = torque.kind() == Kind::Torque;
        is_torque.then(|| shown(torque.value() * &self.factor, torque.unit()))
    }

    /// The settings that give a torque within `limits` at the fastener, for a wrench without error.
    /// Rounded inwards. `None` if the limits are not of a torque or have no bound, or if they are so
    /// narrow that the error of the cosine leaves nothing.
    #[must_use]
    pub fn window(&self, limits: &Limits) -> Option<Window> {
        if limits.kind() != Kind::Torque {
            return None;
        }
        let (lower, upper) = (limits.lower(), limits.upper());
        let least = lower.map(|lower| self.least(lower.value()));
        let most = upper.map(|upper| self.most(upper.value()));
        Window::inward(least.as_ref(), most.as_ref(), limits.unit())
    }

    /// The setting for the nominal of `limits`, otherwise for their middle or their only bound, with
    /// as many digits as it needs to lie in the [window](Self::window). `None` if it can't, or if the
    /// limits are not of a torque.
    ///
    /// ```
    /// use benchleaf::quantity::{Limits, Quantity};
    /// use benchleaf::trade::Extension;
    ///
    /// let value = |text| Quantity::parse(text).unwrap();
    /// let crowfoot = Extension::new(&value("250 mm"), &value("50 mm"), &value("0°"))?;
    /// let limits = Limits::parse("9 N·m ± 1 N·m").unwrap();
    /// assert_eq!(crowfoot.setting_within(&limits).unwrap().text(), "7.50\u{a0}N·m");
    /// let window = crowfoot.window(&limits).unwrap();
    /// assert_eq!(window.to_string(), "6.67\u{a0}N·m to 8.33\u{a0}N·m");
    /// # Ok::<(), benchleaf::trade::Error>(())
    /// ```
    #[must_use]
    pub fn setting_within(&self, limits: &Limits) -> Option<Quantity> {
        let setting = self.setting(&Quantity::new(aim(limits)?, limits.unit(), 0))?;
        let Some(window) = self.window(limits) else {
            let has_bound = limits.lower().is_some() || limits.upper().is_some();
            return (!has_bound).then_some(setting);
        };
        let is_inside = |value: &Rational| {
            let above = window.least.iter().all(|least| value >= least.value());
            above && window.most.iter().all(|most| value <= most.value())
        };
        let few = decimals_for(setting.value(), 3);
        let printed = (few..few.saturating_add(4)).find_map(|decimals| {
            let value = rounded(setting.value(), decimals);
            is_inside(&value).then(|| Quantity::new(value, limits.unit(), decimals))
        });
        // The target can be on a bound that no digits reach from inside.
        printed.or(window.least).or(window.most)
    }

    /// The factor of the target.
    pub(super) fn factor(&self) -> &Rational {
        &self.factor
    }

    /// The least setting whose torque is certainly not below `torque`.
    pub(super) fn least(&self, torque: &Rational) -> Rational {
        (torque * &self.least_factor).max(torque * &self.most_factor)
    }

    /// The greatest setting whose torque is certainly not above `torque`.
    pub(super) fn most(&self, torque: &Rational) -> Rational {
        (torque * &self.least_factor).min(torque * &self.most_factor)
    }
}

/// The setting of a torque wrench that gives `torque` at the fastener through an [`Extension`].
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
/// If `torque` is not a torque, and as [`Extension::new`].
pub fn extension_setting(
    torque: &Quantity,
    wrench: &Quantity,
    extension: &Quantity,
    angle: &Quantity,
) -> Result<Quantity, Error> {
    let not_torque = || Error::new("a torque", format!("`{torque}`"));
    if torque.kind() != Kind::Torque {
        return Err(not_torque());
    }
    Extension::new(wrench, extension, angle)?
        .setting(torque)
        .ok_or_else(not_torque)
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
