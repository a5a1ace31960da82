//! Meters: whether their readings are accurate enough for limits.

use super::adequacy::{Adequacy, AdequacyLevel, compare};
use super::error::Error;
use super::figures::{middle, whole};
use crate::quantity::{Limits, Quantity, Rational, Unit};

/// A meter's resolution and accuracy; at least one of the two.
///
/// The accuracy is a percentage of the reading or a fixed amount. The error of a reading is the
/// accuracy plus half the resolution, which is the worst case.
///
/// ```
/// use benchleaf::quantity::{Limits, Quantity};
/// use benchleaf::trade::{AdequacyLevel, Meter};
///
/// let tachometer = Meter::new(
///     Some(Quantity::parse("10 rpm").unwrap()),
///     Some(Quantity::parse("0.5 %").unwrap()),
/// )?;
/// let adequacy = tachometer.judge(&Limits::parse("3100 rpm ± 100 rpm").unwrap()).unwrap();
/// assert_eq!(adequacy.level, AdequacyLevel::Ample);
/// assert_eq!(adequacy.ratio.unwrap().text(), "4.8:1");
/// # Ok::<(), benchleaf::trade::Error>(())
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Meter {
    resolution: Option<Quantity>,
    accuracy: Option<Quantity>,
}

impl Meter {
    /// A meter with the step of its display and its accuracy.
    ///
    /// # Errors
    ///
    /// If both are missing, if one is not above zero, or if they are amounts of different kinds.
    pub fn new(resolution: Option<Quantity>, accuracy: Option<Quantity>) -> Result<Self, Error> {
        for part in resolution.iter().chain(&accuracy) {
            if *part.value() <= whole(0) {
                return Err(Error::new("an amount above zero", format!("`{part}`")));
            }
        }
        match (&resolution, &accuracy) {
            (None, None) => {
                return Err(Error::new(
                    "a meter's resolution or its accuracy",
                    "neither",
                ));
            }
            (Some(step), Some(part))
                if part.unit() != Unit::PERCENT && part.kind() != step.kind() =>
            {
                let expected = format!("an accuracy in per cent or in `{}`", step.unit());
                return Err(Error::new(expected, format!("`{part}`")));
            }
            _ => {}
        }
        Ok(Self {
            resolution,
            accuracy,
        })
    }

    /// The step of the display.
    #[must_use]
    pub fn resolution(&self) -> Option<&Quantity> {
        self.resolution.as_ref()
    }

    /// The accuracy, a percentage of the reading or a fixed amount.
    #[must_use]
    pub fn accuracy(&self) -> Option<&Quantity> {
        self.accuracy.as_ref()
    }

    /// Compares the meter with limits. `None` if it measures another kind.
    ///
    /// Limits with less than two bounds have no width to compare the error with; the result is
    /// [`AdequacyLevel::Ample`].
    #[must_use]
    pub fn judge(&self, limits: &Limits) -> Option<Adequacy> {
        let error = self.error_at(&middle(limits)?, limits.unit())?;
        let at = |value: &Rational| self.error_at(value, limits.unit());
        let guarded = |lower: &Rational, upper: &Rational| {
            // The error at the upper bound. If it grows with the reading, it is at least the error
            // at the edge of the window.
            let most = at(upper).unwrap_or_else(|| error.clone());
            (lower + &most, upper - &most)
        };
        Some(compare(limits, &error, guarded).unwrap_or(Adequacy {
            level: AdequacyLevel::Ample,
            ratio: None,
            window: None,
        }))
    }

    /// The maximum error of a reading, in `unit`.
    fn error_at(&self, reading: &Rational, unit: Unit) -> Option<Rational> {
        let amount = |part: &Quantity| {
            if part.unit() == Unit::PERCENT && unit != Unit::PERCENT {
                let size = if *reading < whole(0) {
                    whole(0) - reading
                } else {
                    reading.clone()
                };
                return Some(size * part.value() / whole(100));
            }
            // An error is a difference, so no offset applies to temperatures.
            let from = (part.kind() == unit.kind()).then(|| part.unit().factor())?;
            Some(part.value() * from / unit.factor())
        };
        let none = || Some(whole(0));
        let step = self.resolution.as_ref().map_or_else(none, amount)?;
        let accuracy = self.accuracy.as_ref().map_or_else(none, amount)?;
        Some(step / whole(2) + accuracy)
    }
}
