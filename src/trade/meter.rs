//! Meters: whether their readings are accurate enough for limits.

use super::adequacy::{Adequacy, Window, compare};
use super::error::Error;
use super::figures::{middle, whole};
use crate::quantity::{Limits, Quantity, Rational, Unit};

/// A meter's resolution and accuracy; at least one of the two.
///
/// The accuracy is a percentage of the reading or of the true value (data sheets do not agree; the
/// window holds for both), or a fixed amount. The error of a reading is the accuracy plus half the
/// resolution, which is the worst case.
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
    /// [`AdequacyLevel::Ample`](super::AdequacyLevel::Ample). With one bound, they have a window.
    #[must_use]
    pub fn judge(&self, limits: &Limits) -> Option<Adequacy> {
        let unit = limits.unit();
        let error = self.error_in(unit)?;
        let (lower, upper) = (limits.lower(), limits.upper());
        let least = lower.map(|lower| error.least_reading(lower.value()));
        let most = upper.map(|upper| {
            let mirrored = error.least_reading(&(whole(0) - upper.value()))?;
            Some(whole(0) - mirrored)
        });
        let window = match (&least, &most) {
            (Some(None), _) | (_, Some(None)) => None,
            _ => Window::inward(least.flatten().as_ref(), most.flatten().as_ref(), unit),
        };
        let size = magnitude(&middle(limits)?);
        let in_the_middle = &error.fixed + size * &error.share;
        Some(compare(limits, &in_the_middle, window))
    }

    /// The maximum error of a reading, in `unit`. `None` if the meter measures another kind.
    fn error_in(&self, unit: Unit) -> Option<ReadingError> {
        let mut error = ReadingError {
            fixed: whole(0),
            share: whole(0),
        };
        let parts = [(&self.resolution, whole(2)), (&self.accuracy, whole(1))];
        for (part, divisor) in parts {
            let Some(part) = part else { continue };
            if part.unit() == Unit::PERCENT && unit != Unit::PERCENT {
                error.share = error.share + part.value() / whole(100) / divisor;
                continue;
            }
            // An error is a difference, so no offset applies to temperatures.
            let from = (part.kind() == unit.kind()).then(|| part.unit().factor())?;
            error.fixed = error.fixed + part.value() * from / unit.factor() / divisor;
        }
        Some(error)
    }
}

/// The maximum error of a reading: a fixed amount, and a share of the reading or of the true value.
struct ReadingError {
    /// In the unit of the reading.
    fixed: Rational,
    /// As a fraction of one.
    share: Rational,
}

impl ReadingError {
    /// The least reading whose true value is certainly not below `lower`, whether the share is of the
    /// reading or of the true value. `None` if no reading is.
    fn least_reading(&self, lower: &Rational) -> Option<Rational> {
        if self.share >= whole(1) {
            return None;
        }
        let (less, more) = (whole(1) - &self.share, whole(1) + &self.share);
        // Of the reading r: r − fixed − share × |r| must not be below the bound.
        let guarded = lower + &self.fixed;
        let of_reading = if guarded < whole(0) {
            guarded / &more
        } else {
            guarded / &less
        };
        // Of the true value t: t + share × |t| grows with t, and is at least r − fixed.
        let of_true = if *lower < whole(0) { less } else { more } * lower + &self.fixed;
        Some(of_reading.max(of_true))
    }
}

fn magnitude(value: &Rational) -> Rational {
    if *value < whole(0) {
        whole(0) - value
    } else {
        value.clone()
    }
}
