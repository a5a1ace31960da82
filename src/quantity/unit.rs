//! Units: a handle to a row of the table, how typed text finds one, how values cross over.

use std::fmt;
use std::hash::{Hash, Hasher};
use std::sync::LazyLock;

use super::error::Error;
use super::factor::Factor;
use super::kind::Kind;
use super::parse;
use super::rational::{Rational, power_of_ten};
use super::round::exponent_within;
use super::table::MISTAKEN;

/// A unit of measurement: a small handle to a row of the one table.
///
/// Two units are the same if their printed symbols are; the table holds each symbol once. Every
/// row has its kind, its exact factor to the kind's base (and, for temperatures, its offset),
/// the spellings that people type, and where the factor comes from. Units print in the
/// standard's form, whatever was typed.
///
/// ```
/// use benchleaf::quantity::Unit;
///
/// for typed in ["ft·lbf", "ft-lb", "ft.lbs", "Ft Lbs", "lb-ft"] {
///     assert_eq!(Unit::parse(typed)?, Unit::FOOT_POUND);
/// }
/// assert_eq!(Unit::FOOT_POUND.to_string(), "ft·lbf");
///
/// let error = Unit::parse("rmp").unwrap_err();
/// assert_eq!(error.help().as_deref(), Some("`rpm` is the nearest known unit"));
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

/// How a unit is written by the people who use it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Writing {
    /// An SI symbol or one like it: capitals matter (mW, MW), numbers are decimal.
    Symbol,
    /// A unit of the trade: any case, and common fractions before it (1 1/2 in).
    Trade,
}

impl Unit {
    /// Reads a unit alone, in any known spelling.
    ///
    /// A dot, a star, a hyphen and a space between parts are all taken for the multiplication
    /// dot. Case matters for SI symbols only.
    ///
    /// # Errors
    ///
    /// If the text is no known spelling; the help names the nearest one where it is truly near.
    pub fn parse(text: &str) -> Result<Self, Error> {
        parse::unit(text)
    }

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

    /// What is added to a value before its [`factor`](Self::factor) applies: zero but for
    /// temperatures.
    #[must_use]
    pub fn offset(self) -> Rational {
        self.0.offset.to_rational()
    }

    /// The spellings that are read besides the symbol.
    #[must_use]
    pub const fn spellings(self) -> &'static [&'static str] {
        self.0.spellings
    }

    /// Where the factor comes from.
    #[must_use]
    pub const fn source(self) -> &'static str {
        self.0.source
    }

    /// Whether the symbol stands right after its number: 90°, 50:1 (NIST SP 811, 7.2).
    pub(super) fn closes_up(self) -> bool {
        self == Self::DEGREE || self == Self::TO_ONE
    }

    /// The scale on which this unit of differences counts: °C for Δ°C.
    pub(super) fn scale_of_difference(self) -> Option<Self> {
        let scale = self.symbol().strip_prefix('Δ')?;
        Self::ALL
            .iter()
            .find(|unit| unit.symbol() == scale)
            .copied()
    }

    pub(super) fn takes_fractions(self) -> bool {
        self.0.writing == Writing::Trade
    }

    /// How values in this unit become values in another of its kind.
    pub(super) fn conversion(self, to: Self) -> Conversion {
        debug_assert_eq!(
            self.kind(),
            to.kind(),
            "kinds are told apart before converting"
        );
        let same_offset = self == to || self.0.offset == to.0.offset;
        Conversion {
            to,
            factor: (self != to).then(|| self.factor() / to.factor()),
            offsets: (!same_offset).then(|| (self.offset(), to.offset())),
        }
    }

    /// A point on this unit's scale, on the scale of another unit of the kind.
    pub(super) fn value_to(self, to: Self, value: &Rational) -> Rational {
        self.conversion(to).point(value)
    }

    /// A difference, a width or a tolerance: no offset has a part in it.
    pub(super) fn difference_to(self, to: Self, difference: &Rational) -> Rational {
        self.conversion(to).difference(difference)
    }

    /// How far the decimal point moves to the right, where that is all a conversion does.
    pub(super) fn decimal_shift(self, to: Self) -> Option<i32> {
        (self.kind() == to.kind()).then(|| self.conversion(to).decimal_shift())?
    }
}

/// From one unit to another of its kind: worked out once for all the values of a limit, since
/// that takes longer than to use it.
pub(super) struct Conversion {
    to: Unit,
    /// `None` for one.
    factor: Option<Rational>,
    /// Of either unit, where they differ.
    offsets: Option<(Rational, Rational)>,
}

impl Conversion {
    pub(super) fn to(&self) -> Unit {
        self.to
    }

    /// A point on the one scale, on the other.
    pub(super) fn point(&self, value: &Rational) -> Rational {
        match &self.offsets {
            // Also right for equal offsets other than zero, which no two rows have.
            None => self.difference(value),
            Some((from, to)) => self.difference(&(value + from)) - to,
        }
    }

    /// A difference, a width or a tolerance: no offset has a part in it.
    pub(super) fn difference(&self, difference: &Rational) -> Rational {
        match &self.factor {
            None => difference.clone(),
            Some(factor) => difference * factor,
        }
    }

    /// How far the decimal point moves to the right, where that is all the conversion does.
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

/// Text brought to the form in which spellings are compared: parts joined by one dot each.
///
/// So the table needs `ft·lb` once, not once for each of `ft-lb`, `ft.lb.`, `ft lb` and `ft*lb`.
/// It lives on the stack: every value that is read makes one.
struct Key {
    room: [u8; Key::ROOM],
    length: usize,
}

impl Key {
    /// Longer than any spelling of the table.
    const ROOM: usize = 32;

    /// `None` for a text that is too long to be a spelling.
    fn new(text: &str) -> Option<Self> {
        let mut key = Self {
            room: [0; Self::ROOM],
            length: 0,
        };
        let mut joint = false;
        for c in text.chars() {
            let c = match c {
                c if c.is_ascii_alphanumeric() => c,
                '·' | '⋅' | '•' | '∙' | '*' | '.' | '-' | '\u{2010}' | '\u{2011}' => '·',
                c if c.is_whitespace() => '·',
                // Of the marks of a pressure: bar(g).
                '(' | ')' => '·',
                '²' | '₂' => '2',
                '³' => '3',
                'μ' => 'µ',
                // The increment sign, and the ohm and Kelvin signs, are letters in disguise.
                '\u{2206}' => 'Δ',
                '\u{2126}' => 'Ω',
                '\u{212A}' => 'K',
                '″' | '”' => '"',
                '′' | '’' => '\'',
                c => c,
            };
            if c == '·' {
                joint = key.length > 0 && !key.bytes().ends_with("°".as_bytes());
            } else {
                if joint {
                    key.push('·')?;
                    joint = false;
                }
                key.push(c)?;
            }
        }
        Some(key)
    }

    fn push(&mut self, c: char) -> Option<()> {
        let end = self.length + c.len_utf8();
        c.encode_utf8(self.room.get_mut(self.length..end)?);
        self.length = end;
        Some(())
    }

    fn bytes(&self) -> &[u8] {
        &self.room[..self.length]
    }

    fn text(&self) -> &str {
        // Only whole characters were pushed.
        std::str::from_utf8(self.bytes()).unwrap_or_default()
    }

    /// The first bytes; what isn't used of the room is zero.
    fn head(&self) -> u64 {
        self.room
            .first_chunk()
            .map_or(0, |head| u64::from_be_bytes(*head))
    }

    fn in_lower_case(mut self) -> Self {
        self.room[..self.length].make_ascii_lowercase();
        self
    }
}

/// A spelling of the table, as compared.
struct Spelling {
    /// Its first bytes as a number, by which the list is sorted: most spellings are told apart by
    /// it, and numbers compare faster than texts.
    head: u64,
    /// In lower case, by which it is sorted where the heads are the same.
    lower: String,
    /// As it is, where case matters.
    exact: Option<String>,
    unit: Unit,
}

/// Every spelling; of those that differ only in case, the ones where it matters come first.
static SPELLINGS: LazyLock<Vec<Spelling>> = LazyLock::new(|| {
    let mut spellings = Vec::new();
    for &unit in Unit::ALL {
        for spelling in std::iter::once(&unit.symbol()).chain(unit.spellings()) {
            let Some(key) = Key::new(spelling) else {
                debug_assert!(false, "`{spelling}` has no room in a key");
                continue;
            };
            let exact = match unit.0.writing {
                Writing::Symbol => Some(key.text().to_owned()),
                Writing::Trade => None,
            };
            let key = key.in_lower_case();
            spellings.push(Spelling {
                head: key.head(),
                lower: key.text().to_owned(),
                exact,
                unit,
            });
        }
    }
    spellings.sort_by(|one, other| {
        fn order(one: &Spelling) -> (u64, &str, bool) {
            (one.head, &one.lower, one.exact.is_none())
        }
        order(one).cmp(&order(other))
    });
    spellings
});

/// By ASCII character in lower case, whether any spelling has it, or may be typed with it.
static IN_SPELLINGS: LazyLock<[bool; 128]> = LazyLock::new(|| {
    let mut known = [false; 128];
    let spelt = SPELLINGS.iter().flat_map(|spelling| spelling.lower.bytes());
    // What joins the parts of a unit, and the marks of a pressure: a key has none of them.
    for byte in spelt.chain(*b"*.-() \t\n\x0b\x0c\r") {
        if let Some(known) = known.get_mut(usize::from(byte)) {
            *known = true;
        }
    }
    known
});

/// How far a spelling can go at most in a text: up to the first ASCII character that none has.
/// To ask this first saves most questions to [`find`].
pub(super) fn reach(text: &str) -> usize {
    let could_be = |byte: &u8| {
        let known = IN_SPELLINGS.get(usize::from(byte.to_ascii_lowercase()));
        known.copied().unwrap_or(true)
    };
    text.bytes().take_while(could_be).count()
}

/// The unit spelled `text`.
pub(super) fn find(text: &str) -> Option<Unit> {
    let typed = Key::new(text)?;
    let lower = Key { ..typed }.in_lower_case();
    let head = lower.head();
    let start = SPELLINGS.partition_point(|known| {
        known.head < head || (known.head == head && known.lower.as_bytes() < lower.bytes())
    });
    SPELLINGS[start..]
        .iter()
        .take_while(|known| known.head == head && known.lower.as_bytes() == lower.bytes())
        .find(|known| {
            let exact = known.exact.as_ref();
            exact.is_none_or(|exact| exact.as_bytes() == typed.bytes())
        })
        .map(|known| known.unit)
}

/// Advice on a spelling that is known to mean something else, or two things.
pub(super) fn mistaken(text: &str) -> Option<&'static str> {
    let key = Key::new(text)?;
    MISTAKEN
        .iter()
        .find(|(spelling, _)| *spelling == key.text())
        .map(|(_, help)| *help)
}

/// The unit that was most likely meant, if one is truly near.
pub(super) fn nearest(text: &str) -> Option<Unit> {
    let lower = Key::new(text)?.text().to_lowercase();
    // One slip in a short name, two in a long one. Nearly any two letters are one slip away from
    // some unit, so for those only the case may be off.
    let length = lower.chars().count();
    let slips = match length {
        0..=2 => 0,
        3..=5 => 1,
        6..=24 => 2,
        _ => return None,
    };
    let letters = |text: &str| {
        let mut letters: Vec<_> = text.chars().collect();
        letters.sort_unstable();
        letters
    };
    SPELLINGS
        .iter()
        // Letters that are too many or too few are slips too, and sooner counted than compared.
        .filter(|known| known.lower.chars().count().abs_diff(length) <= slips)
        .map(|known| (known.lower.to_lowercase(), known.unit))
        .map(|(known, unit)| (strsim::osa_distance(&known, &lower), known, unit))
        .filter(|(distance, ..)| *distance <= slips)
        // Swapped letters (`rmp`) are a likelier slip than wrong ones (`amp`).
        .min_by_key(|(distance, known, _)| {
            (*distance, letters(known) != letters(&lower), known.clone())
        })
        .map(|(.., unit)| unit)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn every_row_is_complete() {
        for unit in Unit::ALL {
            assert!(!unit.symbol().is_empty());
            assert!(!unit.source().is_empty(), "{unit} names no source");
            assert_ne!(unit.0.factor, Factor::ZERO, "{unit} has no size");
            assert_eq!(
                find(unit.symbol()),
                Some(*unit),
                "{unit} isn't read as it is printed"
            );
            for spelling in unit.spellings() {
                assert_eq!(
                    find(spelling),
                    Some(*unit),
                    "`{spelling}` isn't read as {unit}"
                );
            }
        }
    }

    #[test]
    fn no_spelling_stands_twice() {
        let mut seen = BTreeSet::new();
        for unit in Unit::ALL {
            for spelling in std::iter::once(&unit.symbol()).chain(unit.spellings()) {
                let mut key = Key::new(spelling).expect("room");
                if unit.0.writing == Writing::Trade {
                    key = key.in_lower_case();
                }
                assert!(
                    !MISTAKEN.iter().any(|(typed, _)| *typed == key.text()),
                    "`{spelling}` is advice"
                );
                assert!(
                    seen.insert(key.text().to_owned()),
                    "`{spelling}` stands twice, the second time at {unit}"
                );
            }
        }
        for (typed, _) in MISTAKEN {
            let key = Key::new(typed).expect("room");
            assert_eq!(key.text(), *typed, "advice on `{typed}` is never found");
        }
    }

    #[test]
    fn every_kind_has_a_base_of_size_one() {
        for &kind in Kind::ALL {
            let base = kind.base();
            assert_eq!(base.kind(), kind);
            assert_eq!((base.0.factor, base.0.offset), (Factor::ONE, Factor::ZERO));
        }
    }

    #[test]
    fn every_pair_of_a_kind_converts_without_overflow() {
        for from in Unit::ALL {
            for to in Unit::ALL.iter().filter(|to| to.kind() == from.kind()) {
                let there = from.difference_to(*to, &from.factor());
                assert_eq!(to.difference_to(*from, &there), from.factor());
            }
        }
    }

    #[test]
    fn only_near_spellings_are_offered() {
        assert_eq!(nearest("ft-bls"), Some(Unit::FOOT_POUND));
        assert_eq!(nearest("mpa"), Some(Unit::MEGAPASCAL));
        assert_eq!(nearest("kw·"), Some(Unit::KILOWATT));
        assert_eq!(nearest("hourss"), Some(Unit::HOUR));
        assert_eq!(nearest("rmp"), Some(Unit::RPM));
        assert_eq!(nearest("q"), None);
        assert_eq!(nearest("furlongs"), None);
        assert_eq!(nearest(&"N".repeat(10_000)), None);
    }
}
