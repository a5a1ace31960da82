//! Values as they stand on a page.
//!
//! The rules are those of NIST SP 811 and ISO 80000-1: a no-break space between number and
//! unit, but none before ° (7.2); a unit after both numbers of a range or a tolerance, since a
//! number without its unit is no value (7.7); a digit before the decimal point (10.5.2); digits in
//! threes from five on (10.5.3); a true minus. Clauses are of NIST SP 811.
//!
//! Two forms leave the unit to one of their numbers, because their parentheses make the
//! belonging plain and a bench sheet has no room for it three times: `9 N·m (+1/−0.5 N·m)` and
//! `80 in·lbf (71 to 88)`.

use std::fmt::{self, Display, Formatter, Write};

use super::limits::{Form, Limits};
use super::number::{MINUS, Number, UNIT_SPACE};
use super::spec::Spec;
use super::unit::Unit;
use super::value::Quantity;

/// As `to_string`, but with room for nearly every value from the start: text grows by copying.
pub(super) fn in_one_piece(value: &impl Display) -> String {
    const ROOM: usize = 64;
    let mut text = String::with_capacity(ROOM);
    // Writing to a string doesn't fail.
    let _ = write!(text, "{value}");
    text
}

pub(super) fn write_value(out: &mut Formatter<'_>, number: &Number, unit: Unit) -> fmt::Result {
    number.fmt(out)?;
    write_unit(out, unit)
}

fn write_unit(out: &mut Formatter<'_>, unit: Unit) -> fmt::Result {
    if !unit.closes_up() {
        out.write_char(UNIT_SPACE)?;
    }
    // A unit of several words is one unit: it doesn't break over a line either.
    for (index, word) in unit.symbol().split(' ').enumerate() {
        if index > 0 {
            out.write_char(UNIT_SPACE)?;
        }
        out.write_str(word)?;
    }
    Ok(())
}

impl Display for Quantity {
    fn fmt(&self, out: &mut Formatter<'_>) -> fmt::Result {
        write_value(out, self.number(), self.unit())
    }
}

impl Display for Limits {
    fn fmt(&self, out: &mut Formatter<'_>) -> fmt::Result {
        match self.form() {
            Form::Nominal(nominal) => nominal.fmt(out),
            Form::PlusMinus { nominal, tolerance } => {
                nominal.fmt(out)?;
                out.write_str(" ± ")?;
                tolerance.fmt(out)
            }
            Form::Deviations {
                nominal,
                plus,
                minus,
            } => {
                write!(out, "{nominal} (+{}", plus.number())?;
                if plus.unit() != minus.unit() {
                    write_unit(out, plus.unit())?;
                }
                write!(out, "/{MINUS}{minus})")
            }
            Form::Range { lower, upper } => write!(out, "{lower} to {upper}"),
            Form::Between {
                nominal,
                lower,
                upper,
            } => {
                write!(out, "{nominal} ({} to {})", lower.number(), upper.number())
            }
            Form::AtLeast(lower) => write!(out, "at least {lower}"),
            Form::AtMost(upper) => write!(out, "at most {upper}"),
        }
    }
}

impl Display for Spec {
    fn fmt(&self, out: &mut Formatter<'_>) -> fmt::Result {
        self.limits().fmt(out)?;
        match self.then_turn() {
            Some(turn) => write!(out, " + {turn}"),
            None => Ok(()),
        }
    }
}

impl Quantity {
    /// The standard form, to the digits meant: exact as typed, to the nearest (half to even)
    /// after a conversion.
    #[must_use]
    pub fn text(&self) -> String {
        in_one_piece(self)
    }
}

impl Limits {
    /// The standard form in the written unit, exact: every number as it was typed.
    ///
    /// ```
    /// use benchleaf::quantity::Limits;
    ///
    /// assert_eq!(Limits::parse("(8 to 10) Nm")?.text(), "8\u{a0}N·m to 10\u{a0}N·m");
    /// assert_eq!(Limits::parse("9 Nm +1/-0.5")?.text(), "9\u{a0}N·m (+1/−0.5\u{a0}N·m)");
    /// # Ok::<(), benchleaf::quantity::Error>(())
    /// ```
    #[must_use]
    pub fn text(&self) -> String {
        in_one_piece(self)
    }

    /// The standard form in another unit, rounded inwards as [`rounded_in`](Self::rounded_in)
    /// rounds. `None` where `unit` is of another kind.
    ///
    /// ```
    /// use benchleaf::quantity::{Limits, Unit};
    ///
    /// let limits = Limits::parse("9 N·m ± 1 N·m")?;
    /// assert_eq!(limits.text_in(Unit::INCH_POUND).unwrap(), "80\u{a0}in·lbf (71 to 88)");
    /// assert_eq!(limits.text_in(Unit::PSI), None);
    /// # Ok::<(), benchleaf::quantity::Error>(())
    /// ```
    #[must_use]
    pub fn text_in(&self, unit: Unit) -> Option<String> {
        self.rounded_in(unit).map(|limits| limits.text())
    }
}

impl Spec {
    /// The standard form in the written unit, exact.
    #[must_use]
    pub fn text(&self) -> String {
        in_one_piece(self)
    }

    /// The standard form in another unit, see [`rounded_in`](Self::rounded_in).
    #[must_use]
    pub fn text_in(&self, unit: Unit) -> Option<String> {
        self.rounded_in(unit).map(|spec| spec.text())
    }
}
