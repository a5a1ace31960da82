//! Readings against limits.

use std::fmt;

use super::limits::Limits;
use super::number::Number;
use super::rational::Rational;
use super::round::exponent_within;
use super::unit::Unit;
use super::value::Quantity;

/// Where a reading stands against limits.
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
    /// Under the lower bound, by so much.
    Below(Margin),
    /// Allowed; so much is left to the nearer bound.
    Within(Margin),
    /// Over the upper bound, by so much.
    Above(Margin),
}

/// How far a reading is from a bound: a difference, never negative.
///
/// Not a [`Quantity`], since a difference of temperatures converts without the offset of the
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

    /// The unit the limits are written in.
    #[must_use]
    pub fn unit(&self) -> Unit {
        self.unit
    }

    /// The difference as printed, to the nearest digit that reading and limits carry: one that
    /// is far smaller prints as zero.
    #[must_use]
    pub fn text(&self) -> String {
        super::print::in_one_piece(self)
    }
}

impl fmt::Display for Margin {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        super::print::write_value(out, &self.number, self.unit)
    }
}

impl Limits {
    /// Where `reading` stands, exactly; `None` where there is nothing to judge by: the kinds
    /// differ, or the limits are a nominal alone.
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

    /// Whether the limits allow `value`; false where there is nothing to judge by, see
    /// [`judge`](Self::judge).
    #[must_use]
    pub fn contains(&self, value: &Quantity) -> bool {
        matches!(self.judge(value), Some(Verdict::Within(_)))
    }
}
