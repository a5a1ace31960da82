//! Ranges that measured values of an engine lie in, whatever its make.

use super::figures::{ratio, whole};
use crate::quantity::{Quantity, Unit};

/// A value that is measured on any engine with spark ignition.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Measured {
    /// The gap of a spark plug.
    PlugGap,
    /// The speed of the crankshaft while the engine runs.
    EngineSpeed,
}

impl Measured {
    /// The least and the greatest value.
    ///
    /// Common practice, no standard. Plugs of engines in use have gaps of 0.4 mm (magneto ignition)
    /// to 1.3 mm, worn ones up to 1.5 mm; the range here is 0.3 mm to 1.6 mm. Engines idle at 600 rpm and
    /// more, small ones with two strokes run at up to 15 000 rpm; the range here is 400 rpm to 18 000 rpm.
    ///
    /// ```
    /// use benchleaf::trade::Measured;
    ///
    /// let (least, most) = Measured::PlugGap.range();
    /// assert_eq!(least.text(), "0.3\u{a0}mm");
    /// assert_eq!(most.text(), "1.6\u{a0}mm");
    /// ```
    #[must_use]
    pub fn range(self) -> (Quantity, Quantity) {
        match self {
            Self::PlugGap => {
                let gap = |tenths| Quantity::new(ratio(tenths, 10), Unit::MILLIMETRE, 1);
                (gap(3), gap(16))
            }
            Self::EngineSpeed => {
                let speed = |rpm| Quantity::new(whole(rpm), Unit::RPM, 0);
                (speed(400), speed(18_000))
            }
        }
    }
}
