//! Serial numbers, and ranges of them.

use crate::finding::Located;

/// A serial number: letters and other signs, and the digits at its end. Serial numbers are compared by these digits, and
/// only if what comes before them is the same, apart from the case of its letters.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct SerialNumber {
    text: String,
    /// What comes before the digits, in upper case.
    prefix: String,
    number: u64,
}

/// The most digits at the end of a serial number. So many fit into a `u64`.
const MOST_DIGITS: usize = 18;

impl SerialNumber {
    /// A regular expression of what [`SerialNumber::parse`] accepts, and some more.
    pub(crate) const PATTERN: &str = "^.*[0-9]$";

    /// `None` if there are no digits at the end, or too many.
    pub(crate) fn parse(text: &str) -> Option<SerialNumber> {
        let prefix = text.trim_end_matches(|letter: char| letter.is_ascii_digit());
        let digits = &text[prefix.len()..];
        let number = digits
            .parse()
            .ok()
            .filter(|_| digits.len() <= MOST_DIGITS)?;
        Some(SerialNumber {
            text: text.to_owned(),
            prefix: prefix.to_uppercase(),
            number,
        })
    }

    /// As it is written.
    #[must_use]
    pub(crate) fn text(&self) -> &str {
        &self.text
    }

    /// The number of its last digits.
    #[must_use]
    pub(crate) fn number(&self) -> u64 {
        self.number
    }

    #[must_use]
    pub(crate) fn is_comparable(&self, other: &SerialNumber) -> bool {
        self.prefix == other.prefix
    }

    /// The serial number with the same prefix and another number, with as many digits at least.
    fn with_number(&self, number: u64) -> String {
        let digits = |letter: char| letter.is_ascii_digit();
        let prefix = self.text.trim_end_matches(digits);
        let width = self.text.len() - prefix.len();
        format!("{prefix}{number:0width$}")
    }
}

/// The serial numbers that a machine's file is for. Both ends belong to it. Without ends, it is for all.
#[derive(Clone, Debug, Default)]
pub(crate) struct SerialRange {
    pub(crate) from: Option<Located<SerialNumber>>,
    pub(crate) to: Option<Located<SerialNumber>>,
}

impl SerialRange {
    #[must_use]
    pub(crate) fn is_limited(&self) -> bool {
        self.from.is_some() || self.to.is_some()
    }

    /// One of its ends.
    fn end(&self) -> Option<&SerialNumber> {
        self.from
            .as_ref()
            .or(self.to.as_ref())
            .map(|end| &end.value)
    }

    fn least(&self) -> u64 {
        self.from.as_ref().map_or(0, |from| from.value.number)
    }

    /// The number of the last one.
    #[must_use]
    pub(crate) fn greatest(&self) -> u64 {
        self.to.as_ref().map_or(u64::MAX, |to| to.value.number)
    }

    /// Whether its ends can be compared with those of another range.
    #[must_use]
    pub(crate) fn is_comparable(&self, other: &SerialRange) -> bool {
        match (self.end(), other.end()) {
            (Some(end), Some(other)) => end.is_comparable(other),
            _ => true,
        }
    }

    /// Whether some serial numbers are in both.
    #[must_use]
    pub(crate) fn meets(&self, other: &SerialRange) -> bool {
        self.is_comparable(other)
            && self.least() <= other.greatest()
            && other.least() <= self.greatest()
    }

    /// The first and the last serial number between this range and one that follows it. `None` if there are none.
    #[must_use]
    pub(crate) fn gap_before(&self, next: &SerialRange) -> Option<(String, String)> {
        let (to, from) = (self.to.as_ref()?, next.from.as_ref()?);
        let first = to.value.number.checked_add(1)?;
        let last = from.value.number.checked_sub(1)?;
        (to.value.is_comparable(&from.value) && first <= last)
            .then(|| (to.value.with_number(first), from.value.with_number(last)))
    }

    /// The order in which ranges with one prefix follow each other.
    #[must_use]
    pub(crate) fn order(&self) -> (u64, u64) {
        (self.least(), self.greatest())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::{FileId, Span};

    fn serial(text: &str) -> SerialNumber {
        SerialNumber::parse(text).unwrap()
    }

    fn range(from: &str, to: &str) -> SerialRange {
        let end = |text: &str| {
            let value = SerialNumber::parse(text)?;
            let span = Span::new(FileId(0), 0..0);
            Some(Located { value, span })
        };
        SerialRange {
            from: end(from),
            to: end(to),
        }
    }

    #[test]
    fn serial_number_ends_in_digits() {
        for text in ["T7-2400", "2400", "t7-0001", "Ñ 5", "123456789012345678"] {
            assert_eq!(serial(text).text(), text);
        }
        for text in ["", "T7-", "2400B", "1234567890123456789", "٣"] {
            assert_eq!(SerialNumber::parse(text), None, "{text}");
        }
    }

    #[test]
    fn ranges_meet_if_a_serial_number_is_in_both() {
        let early = range("", "T7-2399");
        for (other, meets) in [
            (range("T7-2400", ""), false),
            (range("T7-2399", ""), true),
            // By its digits: a text would come before "2399".
            (range("T7-10000", ""), false),
            (range("t7-0005", "T7-0006"), true),
            (range("T8-0005", "T8-0006"), false),
            (range("", ""), true),
        ] {
            assert_eq!(early.meets(&other), meets, "{other:?}");
            assert_eq!(other.meets(&early), meets, "{other:?}");
        }
    }

    #[test]
    fn gap_is_between_two_ranges() {
        let early = range("", "T7-0099");
        let gap = |from: &str| early.gap_before(&range(from, ""));
        assert_eq!(gap("T7-0100"), None);
        assert_eq!(
            gap("T7-0101"),
            Some(("T7-0100".to_owned(), "T7-0100".to_owned()))
        );
        assert_eq!(
            gap("T7-2400"),
            Some(("T7-0100".to_owned(), "T7-2399".to_owned()))
        );
        assert_eq!(gap("T8-2400"), None);
        assert_eq!(gap("T7-0050"), None);
    }
}
