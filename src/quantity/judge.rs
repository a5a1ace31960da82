//! Comparison of readings with limits.

use std::fmt;

use super::limits::Limits;
use super::number::Number;
use super::print::{to_text, write_value};
use super::rational::Rational;
use super::round::exponent_within;
use super::unit::Unit;
use super::value::Quantity;

/// Whether a reading is below, within or above limits, and by how much.
///
/// ```
/// use benchleaf::quantity::{Limits, Quantity, Verdict};
///
/// let speed = Limits::parse("3150 rpm ± 150 rpm")?;
/// let judge = |reading| Ok::<_, benchleaf::quantity::Error>(
///     speed.judge(&Quantity::parse(reading)?).expect("a rotational speed against its limits"));
///
/// let Verdict::Above(margin) = judge("3500 rpm")? else { panic!("3500 rpm is too fast") };
/// assert_eq!(margin.text(), "200\u{a0}rpm");
/// assert!(matches!(judge("3280 rpm")?, Verdict::Within(_)));
/// // A bound itself is allowed.
/// assert!(matches!(judge("3000 rpm")?, Verdict::Within(_)));
/// # Ok::<(), benchleaf::quantity::Error>(())
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Below the lower bound, by this much.
    Below(Margin),
    /// Allowed, with this margin to the nearer bound.
    Within(Margin),
    /// Above the upper bound, by this much.
    Above(Margin),
}

/// The distance of a reading from a bound, never negative.
///
/// Not a [`Quantity`], because a difference of temperatures converts without the offset of the
/// scale.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Margin {
    number: Number,
    unit: Unit,
}

impl Margin {
    /// The exact difference, in [`unit`](Self::unit).
    #[must_use]
    pub fn value(&self) -> &Rational {
        self.number.value()
    }

    /// The unit that the limits are written in.
    #[must_use]
    pub fn unit(&self) -> Unit {
        self.unit
    }

    /// The difference as printed, rounded to the finer last digit of reading and limits. A much
    /// smaller difference prints as zero.
    #[must_use]
    pub fn text(&self) -> String {
        to_text(self)
    }
}

impl fmt::Display for Margin {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write_value(out, &self.number, self.unit)
    }
}

impl Limits {
    /// Compares a reading with the limits, exactly. `None` if the kinds differ, or if the limits have
    /// no bounds.
    #[must_use]
    pub fn judge(&self, reading: &Quantity) -> Option<Verdict> {
        if reading.kind() != self.kind() {
            return None;
        }
        let unit = self.unit();
        let conversion = reading.unit().conversion(unit);
        let value = conversion.point(reading.value());
        let typed = conversion.difference(&reading.resolution());
        let finest = exponent_within(&typed.min(self.form().resolution()));
        let margin = |value: Rational| Margin {
            number: Number::decimal(value, -finest),
            unit,
        };

        let over_lower = self.lower_value().map(|lower| &value - lower);
        let under_upper = self.upper_value().map(|upper| upper - &value);
        let zero = Rational::default();
        Some(match (over_lower, under_upper) {
            (Some(over), _) if over < zero => Verdict::Below(margin(-over)),
            (_, Some(under)) if under < zero => Verdict::Above(margin(-under)),
            (Some(over), Some(under)) => Verdict::Within(margin(over.min(under))),
            (Some(left), None) | (None, Some(left)) => Verdict::Within(margin(left)),
            (None, None) => return None,
        })
    }

    /// Whether the limits allow `value`. False where [`judge`](Self::judge) gives `None`.
    #[must_use]
    pub fn contains(&self, value: &Quantity) -> bool {
        matches!(self.judge(value), Some(Verdict::Within(_)))
    }
}
