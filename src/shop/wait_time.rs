//! How long a step waits.

use crate::quantity::{Quantity, Rational, Unit};
use num_traits::ToPrimitive as _;

/// A time to wait.
///
/// Invariant: whole seconds, from 5 s, below which nobody needs a clock, to 48 h, above which nobody waits at a bench.
/// It is written in an address, which has no spaces: `10-min`. It is printed in the largest unit in which it is a
/// whole number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct WaitTime(u32);

const LEAST: u32 = 5;
const MOST: u32 = 48 * 3600;

impl WaitTime {
    /// `None` if the text is no such time.
    pub(crate) fn parse(text: &str) -> Option<WaitTime> {
        let (number, unit) = text.split_once('-')?;
        let written = Quantity::parse(&format!("{number} {unit}")).ok()?;
        let seconds = written.in_unit(Unit::SECOND)?;
        let is_whole = seconds.value().is_integer();
        let seconds = seconds.value().numer().to_u32().filter(|_| is_whole)?;
        (LEAST..=MOST)
            .contains(&seconds)
            .then_some(WaitTime(seconds))
    }

    pub(crate) fn seconds(self) -> u32 {
        self.0
    }

    pub(crate) fn quantity(self) -> Quantity {
        let (count, unit) = match self.0 {
            seconds if seconds.is_multiple_of(3600) => (seconds / 3600, Unit::HOUR),
            seconds if seconds.is_multiple_of(60) => (seconds / 60, Unit::MINUTE),
            seconds => (seconds, Unit::SECOND),
        };
        Quantity::new(Rational::from_integer(count.into()), unit, 0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_time_to_wait_is_a_number_and_a_unit_of_time() {
        for (text, seconds, printed) in [
            ("10-min", 600, "10\u{a0}min"),
            ("90-s", 90, "90\u{a0}s"),
            ("120-s", 120, "2\u{a0}min"),
            ("1.5-h", 5400, "90\u{a0}min"),
            ("2-hours", 7200, "2\u{a0}h"),
            ("2-d", 172_800, "48\u{a0}h"),
        ] {
            let time = WaitTime::parse(text).expect(text);
            assert_eq!(time.seconds(), seconds, "{text}");
            assert_eq!(time.quantity().text(), printed, "{text}");
        }
        for text in [
            "",
            "10",
            "min",
            "-min",
            "10-mm",
            "0-min",
            "4-s",
            "3-d",
            "-5-min",
            "10-20-min",
            "1.5-s",
            "1,500-s",
        ] {
            assert_eq!(WaitTime::parse(text), None, "{text}");
        }
    }
}
