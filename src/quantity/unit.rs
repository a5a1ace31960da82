//! Units and conversion between them. The rows are in `table.rs`, the lookup of typed text in
//! `spelling.rs`.

use std::fmt;
use std::hash::{Hash, Hasher};

use super::factor::Factor;
use super::kind::Kind;
use super::rational::{Rational, power_of_ten};
use super::round::exponent_within;

/// A unit of measurement: a reference to a row of the table of units.
///
/// A row holds the printed symbol, which is unique, the kind, the exact factor to the kind's base
/// unit (for temperatures also an offset), the spellings that are accepted, and the source of the
/// factor. A unit prints as its symbol, however it was typed.
///
/// ```
/// use benchleaf::quantity::Unit;
///
/// for typed in ["ft·lbf", "ft-lb", "ft.lbs", "Ft Lbs", "lb-ft"] {
///     assert_eq!(Unit::parse(typed)?, Unit::FOOT_POUND);
/// }
/// assert_eq!(Unit::FOOT_POUND.to_string(), "ft·lbf");
///
/// let error = Unit::parse("ft-bl").unwrap_err();
/// assert_eq!(error.help().as_deref(), Some("write `ft·lbf`"));
/// # Ok::<(), benchleaf::quantity::Error>(())
/// ```
#[derive(Clone, Copy)]
pub struct Unit(pub(super) &'static Row);

/// A row of the table.
pub(super) struct Row {
    pub(super) symbol: &'static str,
    pub(super) kind: Kind,
    pub(super) writing: Writing,
    /// Value in the base = (value + offset) × factor.
    pub(super) factor: Factor,
    pub(super) offset: Factor,
    pub(super) spellings: &'static [&'static str],
    pub(super) source: &'static str,
}

/// How people write a unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Writing {
    /// An SI symbol or similar: case matters (mW, MW), and numbers are decimal.
    Symbol,
    /// A customary unit: any case, and decimal numbers.
    Trade,
    /// A customary unit that is divided by halving, so that its values are written as common fractions:
    /// any case, and 1 1/2 in.
    Fractional,
}

impl Unit {
    /// The symbol as printed.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        self.0.symbol
    }

    /// What the unit measures.
    #[must_use]
    pub const fn kind(self) -> Kind {
        self.0.kind
    }

    /// The exact size in the base unit of its [`kind`](Self::kind).
    ///
    /// ```
    /// use benchleaf::quantity::{Rational, Unit};
    ///
    /// // An inch is 25.4 mm, by definition.
    /// assert_eq!(Unit::INCH.factor(), Rational::new(254.into(), 10.into()));
    /// ```
    #[must_use]
    pub fn factor(self) -> Rational {
        self.0.factor.to_rational()
    }

    /// What is added to a value before it is multiplied by the [`factor`](Self::factor). Zero for
    /// all units but temperatures.
    #[must_use]
    pub fn offset(self) -> Rational {
        self.0.offset.to_rational()
    }

    /// The spellings that are accepted besides the symbol.
    #[must_use]
    pub const fn spellings(self) -> &'static [&'static str] {
        self.0.spellings
    }

    /// The source of the factor.
    #[must_use]
    pub const fn source(self) -> &'static str {
        self.0.source
    }

    pub(super) fn takes_fractions(self) -> bool {
        self.0.writing == Writing::Fractional
    }

    /// Whether values in the unit are written as fractions with this denominator. Rules and drills are
    /// divided down to 64ths; a nut is turned by thirds and sixths as well, from flat to flat (common
    /// practice, no source).
    pub(super) fn takes_denominator(self, denominator: u64) -> bool {
        let is_turn = self == Unit::TURN;
        match denominator {
            2 | 4 | 8 | 16 | 32 | 64 => self.takes_fractions(),
            3 | 6 => is_turn,
            // 4/0 AWG is a gauge of four noughts.
            0 => self == Unit::WIRE_GAUGE,
            _ => false,
        }
    }

    /// The conversion from this unit to another of its kind.
    pub(super) fn conversion(self, to: Self) -> Conversion {
        debug_assert_eq!(
            self.kind(),
            to.kind(),
            "callers compare kinds before they convert"
        );
        let same_offset = self == to || self.0.offset == to.0.offset;
        Conversion {
            to,
            factor: (self != to).then(|| self.factor() / to.factor()),
            offsets: (!same_offset).then(|| (self.offset(), to.offset())),
        }
    }

    /// Converts a point on this unit's scale to another unit of the kind.
    pub(super) fn value_to(self, to: Self, value: &Rational) -> Rational {
        self.conversion(to).point(value)
    }

    /// Converts a difference, a width or a tolerance, for which no offset applies.
    pub(super) fn difference_to(self, to: Self, difference: &Rational) -> Rational {
        self.conversion(to).difference(difference)
    }

    /// By how many places the decimal point moves to the right, if the conversion does only that.
    pub(super) fn decimal_shift(self, to: Self) -> Option<i32> {
        (self.kind() == to.kind()).then(|| self.conversion(to).decimal_shift())?
    }
}

/// A conversion from one unit to another of its kind. Computed once for all values of a limit,
/// because computing it takes longer than applying it.
pub(super) struct Conversion {
    to: Unit,
    /// `None` means one.
    factor: Option<Rational>,
    /// The offsets of both units, if they differ.
    offsets: Option<(Rational, Rational)>,
}

impl Conversion {
    pub(super) fn to(&self) -> Unit {
        self.to
    }

    /// Converts a point on a scale.
    pub(super) fn point(&self, value: &Rational) -> Rational {
        match &self.offsets {
            // Correct only while no two rows have equal offsets other than zero.
            None => self.difference(value),
            Some((from, to)) => self.difference(&(value + from)) - to,
        }
    }

    /// Converts a difference, a width or a tolerance, for which no offset applies.
    pub(super) fn difference(&self, difference: &Rational) -> Rational {
        match &self.factor {
            None => difference.clone(),
            Some(factor) => difference * factor,
        }
    }

    /// By how many places the decimal point moves to the right, if the conversion does only that.
    pub(super) fn decimal_shift(&self) -> Option<i32> {
        if self.offsets.is_some() {
            return None;
        }
        let Some(factor) = &self.factor else {
            return Some(0);
        };
        let exponent = exponent_within(factor);
        (*factor == power_of_ten(exponent)).then_some(exponent)
    }
}

impl PartialEq for Unit {
    fn eq(&self, other: &Self) -> bool {
        std::ptr::eq(self.0, other.0) || self.0.symbol == other.0.symbol
    }
}

impl Eq for Unit {}

impl Hash for Unit {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.0.symbol.hash(state);
    }
}

impl fmt::Debug for Unit {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "Unit({})", self.0.symbol)
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.0.symbol)
    }
}
