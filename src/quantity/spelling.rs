//! The spellings of units: finding the unit that a typed text means.

use std::sync::LazyLock;

use super::gallons::{BareUnit, Gallons, bare, bare_spellings};
use super::unit::{Unit, Writing};

/// Text in the form in which spellings are compared, with one dot between its parts.
///
/// The table needs `ft·lb` once, not once for each of `ft-lb`, `ft.lb.`, `ft lb` and `ft*lb`. A key
/// is stored inline, because one is made for every value that is parsed.
pub(super) struct Key {
    buffer: [u8; Key::CAPACITY],
    length: usize,
}

impl Key {
    /// In bytes; more than any spelling of the table needs.
    const CAPACITY: usize = 32;

    /// `None` if the text is too long to be a spelling.
    pub(super) fn new(text: &str) -> Option<Self> {
        let mut key = Self {
            buffer: [0; Self::CAPACITY],
            length: 0,
        };
        let mut joint = false;
        for c in text.chars() {
            let c = match c {
                c if c.is_ascii_alphanumeric() => c,
                '·' | '⋅' | '•' | '∙' | '*' | '.' | '-' | '\u{2010}' | '\u{2011}' | '\u{2012}' => {
                    '·'
                }
                c if c.is_whitespace() => '·',
                // Marks of gauge and absolute pressure: bar(g).
                '(' | ')' => '·',
                '²' | '₂' => '2',
                '³' => '3',
                'μ' => 'µ',
                // The increment, ohm and kelvin signs look like the letters.
                '\u{2206}' => 'Δ',
                '\u{2126}' => 'Ω',
                '\u{212A}' => 'K',
                '″' | '”' => '"',
                '′' | '’' => '\'',
                // The masculine ordinal is on keyboards that lack the degree sign.
                'º' | '˚' => '°',
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
        c.encode_utf8(self.buffer.get_mut(self.length..end)?);
        self.length = end;
        Some(())
    }

    fn bytes(&self) -> &[u8] {
        &self.buffer[..self.length]
    }

    pub(super) fn text(&self) -> &str {
        // Only whole characters are pushed.
        std::str::from_utf8(self.bytes()).unwrap_or_default()
    }

    /// The first eight bytes as a number; unused bytes are zero.
    fn head(&self) -> u64 {
        self.buffer
            .first_chunk()
            .map_or(0, |head| u64::from_be_bytes(*head))
    }

    fn in_lower_case(mut self) -> Self {
        self.buffer[..self.length].make_ascii_lowercase();
        self
    }
}

/// A spelling of the table in its compared form.
struct Spelling {
    /// The first bytes as a number, the first sort key: most spellings differ there, and numbers
    /// compare faster than strings.
    head: u64,
    /// In lower case, the second sort key.
    lower: String,
    /// As spelled, if case matters.
    exact: Option<String>,
    unit: Unit,
}

/// Every spelling. Of those that differ only in case, the ones whose case matters come first.
static SPELLINGS: LazyLock<Vec<Spelling>> = LazyLock::new(|| {
    let mut spellings = Vec::new();
    for &unit in Unit::ALL {
        for spelling in std::iter::once(&unit.symbol()).chain(unit.spellings()) {
            let Some(key) = Key::new(spelling) else {
                debug_assert!(false, "`{spelling}` is longer than a key");
                continue;
            };
            let exact = match unit.0.writing {
                Writing::Symbol => Some(key.text().to_owned()),
                Writing::Trade | Writing::Fractional => None,
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
    spellings.sort_by(|left, right| {
        fn order(spelling: &Spelling) -> (u64, &str, bool) {
            (spelling.head, &spelling.lower, spelling.exact.is_none())
        }
        order(left).cmp(&order(right))
    });
    spellings
});

/// For each ASCII character in lower case: whether a spelling may be typed with it.
static IN_SPELLINGS: LazyLock<[bool; 128]> = LazyLock::new(|| {
    let mut known = [false; 128];
    let listed = SPELLINGS.iter().map(|spelling| spelling.lower.as_str());
    let spelt = listed
        .chain(bare_spellings().map(|(spelling, _)| spelling))
        .flat_map(str::bytes);
    // Characters that a key does not keep: joints between parts, and the marks of pressures.
    for byte in spelt.chain(*b"*.-() \t\n\x0b\x0c\r") {
        if let Some(known) = known.get_mut(usize::from(byte)) {
            *known = true;
        }
    }
    known
});

/// The length of the longest prefix that could be a spelling, in bytes: it ends at the first ASCII
/// character that no spelling has. Checking this first avoids most calls of [`find`].
pub(super) fn reach(text: &str) -> usize {
    let could_be = |byte: &u8| {
        let known = IN_SPELLINGS.get(usize::from(byte.to_ascii_lowercase()));
        known.copied().unwrap_or(true)
    };
    text.bytes().take_while(could_be).count()
}

/// Every spelling in the form in which spellings are compared, with its unit.
pub(super) fn known_spellings() -> impl Iterator<Item = (String, Unit)> {
    SPELLINGS.iter().map(|spelling| {
        let key = spelling.exact.as_ref().unwrap_or(&spelling.lower);
        (key.clone(), spelling.unit)
    })
}

/// The unit of two systems that is spelled `text` without one.
pub(super) fn find_bare(text: &str) -> Option<BareUnit> {
    bare(Key::new(text)?.in_lower_case().text())
}

/// The unit that is spelled `text`.
pub(super) fn find(text: &str, gallons: Gallons) -> Option<Unit> {
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
        .or_else(|| {
            // Most lookups of prose find nothing, so the setting is looked at first.
            let is_stated = gallons != Gallons::Unstated;
            is_stated.then(|| bare(lower.text())?.meant(gallons))?
        })
}

/// Advice on a spelling that means another unit or is ambiguous.
pub(super) fn mistaken(text: &str) -> Option<&'static str> {
    let key = Key::new(text)?;
    MISTAKEN
        .iter()
        .find(|(spelling, _)| *spelling == key.text())
        .map(|(_, help)| *help)
}

/// Spellings that are rejected with advice, as comparison keys: the meaning would be a guess, or a
/// wrong guess would be dangerous.
const MISTAKEN: &[(&str, &str)] = &[
    ("C", "write `°C` for degrees Celsius"),
    ("F", "write `°F` for degrees Fahrenheit"),
    ("nm", "write `N·m` for newton metres; `nm` is the nanometre"),
    (
        "ft/lb",
        "write `ft·lbf`: a torque is a product, not a quotient",
    ),
    (
        "ft/lbs",
        "write `ft·lbf`: a torque is a product, not a quotient",
    ),
    (
        "in/lb",
        "write `in·lbf`: a torque is a product, not a quotient",
    ),
    (
        "in/lbs",
        "write `in·lbf`: a torque is a product, not a quotient",
    ),
    (
        "rad",
        "write degrees or turns: no exact number of radians makes a turn",
    ),
    (
        "rad/s",
        "write `rpm`: no exact number of radians makes a turn",
    ),
    (
        "M",
        "write `m` for metres, `min` for minutes or `MΩ` for megohms",
    ),
];

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn every_unit_parses_in_all_its_spellings() {
        for unit in Unit::ALL {
            assert_eq!(
                find(unit.symbol(), Gallons::Unstated),
                Some(*unit),
                "{unit} does not parse as printed"
            );
            for spelling in unit.spellings() {
                assert_eq!(
                    find(spelling, Gallons::Unstated),
                    Some(*unit),
                    "`{spelling}` does not parse as {unit}"
                );
            }
        }
    }

    #[test]
    fn every_spelling_is_unique() {
        let mut seen = BTreeSet::new();
        for unit in Unit::ALL {
            for spelling in std::iter::once(&unit.symbol()).chain(unit.spellings()) {
                let mut key = Key::new(spelling).expect("it fits into a key");
                if unit.0.writing != Writing::Symbol {
                    key = key.in_lower_case();
                }
                assert!(
                    !MISTAKEN.iter().any(|(typed, _)| *typed == key.text()),
                    "`{spelling}` is advice"
                );
                assert!(
                    seen.insert(key.text().to_owned()),
                    "`{spelling}` is also a spelling of another unit than {unit}"
                );
            }
        }
        for (typed, _) in MISTAKEN {
            let key = Key::new(typed).expect("it fits into a key");
            assert_eq!(key.text(), *typed, "advice on `{typed}` is never found");
        }
    }
}
