//! What the arithmetic of a calculation gives, before it is rounded.

use crate::quantity::{Quantity, Rational, Unit};
use crate::trade::figures::{decimals_for, exact};
use crate::trade::interval::Interval;

/// The lines of the arithmetic, and the results in the order of the table. A result that the inputs do not give is
/// `None`.
#[derive(Debug)]
pub(super) struct Worked {
    pub(super) lines: Vec<String>,
    pub(super) values: Vec<Option<Exact>>,
}

/// A result before rounding, and the unit to print it in.
#[derive(Clone, Debug)]
pub(super) struct Exact {
    pub(super) value: Interval,
    pub(super) unit: Unit,
}

impl Exact {
    pub(super) fn new(value: impl Into<Interval>, unit: Unit) -> Self {
        Self {
            value: value.into(),
            unit,
        }
    }

    /// A plain number.
    pub(super) fn number(value: impl Into<Interval>) -> Self {
        Self::new(value, Unit::TO_ONE)
    }

    /// In another unit of its kind. The same if the unit is of another kind.
    pub(super) fn shown_in(self, unit: Unit) -> Self {
        let convert = |value: &Rational| {
            let value = Quantity::new(value.clone(), self.unit, 0).in_unit(unit)?;
            Some(value.value().clone())
        };
        let bounds = convert(self.value.low()).zip(convert(self.value.high()));
        match bounds {
            Some((low, high)) => Self {
                value: Interval::hull(low, high),
                unit,
            },
            None => self,
        }
    }

    /// The value for a line of the arithmetic, to five significant figures.
    pub(super) fn text(&self) -> String {
        shown(&self.value, self.unit)
    }
}

/// A value in a line of the arithmetic, to five significant figures, or with its own digits if these are fewer.
pub(super) fn shown(value: &Interval, unit: Unit) -> String {
    let middle = value.middle();
    let decimals = decimals_for(&middle, FIGURES);
    let own = exact(middle.clone(), unit);
    let is_short = own.value() == &middle
        && own.in_unit(unit).is_some_and(|own| {
            let rounded = Quantity::new(middle.clone(), unit, decimals);
            own.text().len() <= rounded.text().len()
        });
    if value.is_exact() && is_short {
        own.text()
    } else {
        Quantity::new(middle, unit, decimals).text()
    }
}

/// A plain number in a line of the arithmetic.
pub(super) fn plain(value: &Interval) -> String {
    without_unit(&shown(value, Unit::TO_ONE))
}

/// The text of a plain number, which is kept as a ratio to one.
pub(super) fn without_unit(text: &str) -> String {
    text.strip_suffix(":1").unwrap_or(text).to_owned()
}

/// The significant figures of what a line of the arithmetic shows.
const FIGURES: u8 = 5;
