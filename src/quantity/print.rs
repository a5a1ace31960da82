//! Values as printed on a page: a list of parts, or their English text.
//!
//! The rules are those of NIST SP 811 and ISO 80000-1 (clauses are of NIST SP 811): a no-break space
//! between number and unit, but none before ° (7.2); a unit after both numbers of a range or a
//! tolerance, because a number without its unit is not a value (7.7); a digit before the decimal
//! point (10.5.2); digits in groups of three from five digits on (10.5.3); a minus and not a hyphen.
//!
//! Two forms print the unit once, because their parentheses make clear what belongs together and a
//! bench sheet has little space: `9 N·m (+1/−0.5 N·m)` and `80 in·lbf (71 to 88)`.

use std::fmt::{self, Display, Formatter, Write};

use super::limits::{Form, Limits};
use super::number::{Number, UNIT_SPACE};
use super::spec::Spec;
use super::unit::Unit;
use super::value::Quantity;

/// A part of a printed value.
///
/// A language puts its own words around the parts: digits, units and signs are the same in all
/// languages, words and the decimal mark are not. [`Display`] gives the English text, so that the
/// parts of a value, printed one after the other, are its [`text`](Limits::text).
///
/// ```
/// use benchleaf::quantity::{Limits, PrintPart};
///
/// let limits = Limits::parse("at least 15.5 bar")?;
/// let [PrintPart::AtLeast(value)] = &limits.parts()[..] else { panic!("one bound") };
/// let [PrintPart::Number(number), unit] = &value[..] else { panic!("a value") };
/// assert_eq!(format!("mindestens {}{unit}", number.text(',')), "mindestens 15,5\u{a0}bar");
/// # Ok::<(), benchleaf::quantity::Error>(())
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PrintPart<'v> {
    /// Digits, perhaps with a minus.
    Number(&'v Number),
    /// A unit. Its text has the no-break space before it.
    Unit(Unit),
    /// A sign between numbers, such as ` ± `, with the spaces around it.
    Sign(&'static str),
    /// A lower bound alone.
    AtLeast(Vec<PrintPart<'v>>),
    /// An upper bound alone.
    AtMost(Vec<PrintPart<'v>>),
    /// The bounds of a range.
    Range {
        /// The lower bound.
        lower: Vec<PrintPart<'v>>,
        /// The upper bound.
        upper: Vec<PrintPart<'v>>,
    },
}

impl Display for PrintPart<'_> {
    fn fmt(&self, out: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Self::Number(number) => number.fmt(out),
            Self::Unit(unit) => write_unit(out, *unit),
            Self::Sign(sign) => out.write_str(sign),
            Self::AtLeast(value) => {
                out.write_str("at least ")?;
                write_parts(out, value)
            }
            Self::AtMost(value) => {
                out.write_str("at most ")?;
                write_parts(out, value)
            }
            Self::Range { lower, upper } => {
                write_parts(out, lower)?;
                out.write_str(" to ")?;
                write_parts(out, upper)
            }
        }
    }
}

fn write_parts(out: &mut Formatter<'_>, parts: &[PrintPart<'_>]) -> fmt::Result {
    parts.iter().try_for_each(|part| part.fmt(out))
}

/// As `to_string`, with enough capacity for nearly every value, because growing a string copies it.
pub(super) fn to_text(value: &impl Display) -> String {
    const CAPACITY: usize = 64;
    let mut text = String::with_capacity(CAPACITY);
    // Writing to a string does not fail.
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
    // A unit of several words does not break over a line either.
    for (index, word) in unit.symbol().split(' ').enumerate() {
        if index > 0 {
            out.write_char(UNIT_SPACE)?;
        }
        out.write_str(word)?;
    }
    Ok(())
}

fn number(value: &Quantity) -> PrintPart<'_> {
    PrintPart::Number(value.number())
}

fn unit(value: &Quantity) -> PrintPart<'_> {
    PrintPart::Unit(value.unit())
}

impl Display for Quantity {
    fn fmt(&self, out: &mut Formatter<'_>) -> fmt::Result {
        write_value(out, self.number(), self.unit())
    }
}

impl Display for Limits {
    fn fmt(&self, out: &mut Formatter<'_>) -> fmt::Result {
        write_parts(out, &self.parts())
    }
}

impl Display for Spec {
    fn fmt(&self, out: &mut Formatter<'_>) -> fmt::Result {
        write_parts(out, &self.parts())
    }
}

impl Quantity {
    /// The printed value as parts.
    #[must_use]
    pub fn parts(&self) -> Vec<PrintPart<'_>> {
        vec![number(self), unit(self)]
    }

    /// The English text with the significant digits: exact as typed, after a conversion rounded to
    /// the nearest (half to even).
    #[must_use]
    pub fn text(&self) -> String {
        to_text(self)
    }
}

impl Limits {
    /// The printed limits as parts, in the written unit.
    #[must_use]
    pub fn parts(&self) -> Vec<PrintPart<'_>> {
        match self.form() {
            Form::Nominal(nominal) => nominal.parts(),
            Form::PlusMinus { nominal, tolerance } => vec![
                number(nominal),
                unit(nominal),
                PrintPart::Sign(" ± "),
                number(tolerance),
                unit(tolerance),
            ],
            Form::Deviations {
                nominal,
                plus,
                minus,
            } => {
                let mut parts = vec![
                    number(nominal),
                    unit(nominal),
                    PrintPart::Sign(" (+"),
                    number(plus),
                ];
                if plus.unit() != minus.unit() {
                    parts.push(unit(plus));
                }
                parts.extend([
                    PrintPart::Sign("/\u{2212}"),
                    number(minus),
                    unit(minus),
                    PrintPart::Sign(")"),
                ]);
                parts
            }
            Form::Range { lower, upper } => vec![PrintPart::Range {
                lower: lower.parts(),
                upper: upper.parts(),
            }],
            Form::Between {
                nominal,
                lower,
                upper,
            } => vec![
                number(nominal),
                unit(nominal),
                PrintPart::Sign(" ("),
                PrintPart::Range {
                    lower: vec![number(lower)],
                    upper: vec![number(upper)],
                },
                PrintPart::Sign(")"),
            ],
            Form::AtLeast(lower) => vec![PrintPart::AtLeast(lower.parts())],
            Form::AtMost(upper) => vec![PrintPart::AtMost(upper.parts())],
        }
    }

    /// The English text in the written unit, exact: every number as it was typed.
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
        to_text(self)
    }

    /// The English text in another unit, rounded inwards as by [`rounded_in`](Self::rounded_in).
    /// `None` if `unit` is of another kind.
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
    /// The printed spec as parts, in the written unit.
    #[must_use]
    pub fn parts(&self) -> Vec<PrintPart<'_>> {
        let mut parts = self.limits().parts();
        if let Some(turn) = self.then_turn() {
            parts.push(PrintPart::Sign(" + "));
            parts.extend(turn.parts());
        }
        parts
    }

    /// The English text in the written unit, exact.
    #[must_use]
    pub fn text(&self) -> String {
        to_text(self)
    }

    /// The English text in another unit, see [`rounded_in`](Self::rounded_in).
    #[must_use]
    pub fn text_in(&self, unit: Unit) -> Option<String> {
        self.rounded_in(unit).map(|spec| spec.text())
    }
}
