//! Suggestions for units that are not in the table. A suggestion never changes the magnitude.
//!
//! The text is compared with every known spelling and with every SI prefix before every SI unit, so
//! that `mPa` is not corrected to `MPa`. A unit is suggested only if all that the text can mean is
//! that unit. A unit with a prefix that the table lacks is converted: `5 dL` is `0.5 L`.

use std::sync::LazyLock;

use super::gallons::bare_spellings;
use super::kind::Kind;
use super::number::Number;
use super::rational::{Rational, power_of_ten};
use super::round::decimal_places;
use super::spelling::{Key, known_spellings};
use super::unit::Unit;

/// What a text that is not in the table most probably means.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Guess {
    /// A unit of the table, spelled differently.
    Spelling(Unit),
    /// A unit with a prefix that the table lacks.
    Prefixed(Prefixed),
}

/// A unit with a prefix that the table lacks, as a multiple of a unit of the table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Prefixed {
    unit: Unit,
    factor: Rational,
}

/// A word that can be meant, with its size in the base unit of its kind.
struct Word {
    /// As spelled, in the form in which spellings are compared.
    key: String,
    /// In lower case, without what joins its parts, its parts sorted, without a plural.
    canonical: String,
    lower: Vec<char>,
    kind: Kind,
    size: Rational,
    /// The offset of a temperature.
    offset: Rational,
    /// The unit of the table. `None` for a prefix that the table lacks and for a unit of two systems.
    unit: Option<Unit>,
}

impl Word {
    fn is_same_as(&self, other: &Self) -> bool {
        self.kind == other.kind && self.size == other.size && self.offset == other.offset
    }
}

/// SI units that take prefixes: spelling, unit of the table.
const STEMS: &[(&str, Unit)] = &[
    ("N·m", Unit::NEWTON_METRE),
    ("Nm", Unit::NEWTON_METRE),
    ("m", Unit::METRE),
    ("Pa", Unit::PASCAL),
    ("bar", Unit::BAR),
    ("L", Unit::LITRE),
    ("l", Unit::LITRE),
    ("g", Unit::GRAM),
    ("N", Unit::NEWTON),
    ("Hz", Unit::HERTZ),
    ("s", Unit::SECOND),
    ("V", Unit::VOLT),
    ("A", Unit::AMPERE),
    ("Ω", Unit::OHM),
    ("ohm", Unit::OHM),
    ("W", Unit::WATT),
    ("V·A", Unit::VOLT_AMPERE),
    ("VA", Unit::VOLT_AMPERE),
    ("W·h", Unit::WATT_HOUR),
    ("Wh", Unit::WATT_HOUR),
    ("A·h", Unit::AMPERE_HOUR),
    ("Ah", Unit::AMPERE_HOUR),
];

const PREFIXES: &[(&str, i32)] = &[
    ("T", 12),
    ("G", 9),
    ("M", 6),
    ("k", 3),
    ("h", 2),
    ("da", 1),
    ("d", -1),
    ("c", -2),
    ("m", -3),
    ("µ", -6),
    ("u", -6),
    ("n", -9),
    ("p", -12),
];

/// Names of SI units that take prefixes. Each also with an `s`.
const NAMES: &[(&str, Unit)] = &[
    ("newton·metre", Unit::NEWTON_METRE),
    ("newton·meter", Unit::NEWTON_METRE),
    ("metre", Unit::METRE),
    ("meter", Unit::METRE),
    ("pascal", Unit::PASCAL),
    ("bar", Unit::BAR),
    ("litre", Unit::LITRE),
    ("liter", Unit::LITRE),
    ("gram", Unit::GRAM),
    ("newton", Unit::NEWTON),
    ("hertz", Unit::HERTZ),
    ("second", Unit::SECOND),
    ("volt", Unit::VOLT),
    ("amp", Unit::AMPERE),
    ("ampere", Unit::AMPERE),
    ("ohm", Unit::OHM),
    ("watt", Unit::WATT),
];

const PREFIX_NAMES: &[(&str, i32)] = &[
    ("tera", 12),
    ("giga", 9),
    ("mega", 6),
    ("kilo", 3),
    ("hecto", 2),
    ("deca", 1),
    ("deci", -1),
    ("centi", -2),
    ("milli", -3),
    ("micro", -6),
    ("nano", -9),
    ("pico", -12),
];

/// The units of the table that values are converted to: decimal multiples of each other in a kind.
const TARGETS: &[Unit] = &[
    Unit::NEWTON_METRE,
    Unit::CENTINEWTON_METRE,
    Unit::KILONEWTON_METRE,
    Unit::MILLIMETRE,
    Unit::METRE,
    Unit::MICROMETRE,
    Unit::PASCAL,
    Unit::BAR,
    Unit::KILOPASCAL,
    Unit::MEGAPASCAL,
    Unit::MILLILITRE,
    Unit::LITRE,
    Unit::GRAM,
    Unit::KILOGRAM,
    Unit::NEWTON,
    Unit::KILONEWTON,
    Unit::HERTZ,
    Unit::KILOHERTZ,
    Unit::SECOND,
    Unit::MILLISECOND,
    Unit::VOLT,
    Unit::MILLIVOLT,
    Unit::KILOVOLT,
    Unit::AMPERE,
    Unit::MILLIAMPERE,
    Unit::KILOAMPERE,
    Unit::OHM,
    Unit::MILLIOHM,
    Unit::KILOHM,
    Unit::MEGOHM,
    Unit::WATT,
    Unit::KILOWATT,
    Unit::VOLT_AMPERE,
    Unit::KILOVOLT_AMPERE,
    Unit::WATT_HOUR,
    Unit::AMPERE_HOUR,
    Unit::MICROFARAD,
];

/// The farad is in the table with a prefix only.
const FARADS: &[(&str, i32)] = &[("F", 6), ("mF", 3), ("nF", -3), ("pF", -6)];

static WORDS: LazyLock<Vec<Word>> = LazyLock::new(|| {
    let mut words: Vec<Word> = known_spellings()
        .map(|(key, unit)| word(&key, unit, unit.factor(), Some(unit)))
        .collect();
    for (key, bare) in bare_spellings() {
        words.push(word(key, bare.us, bare.us.factor(), None));
        words.push(word(key, bare.imperial, bare.imperial.factor(), None));
    }
    let mut prefixed = Vec::new();
    for (stem, unit) in STEMS {
        for (prefix, exponent) in PREFIXES {
            prefixed.push((format!("{prefix}{stem}"), *unit, *exponent));
        }
    }
    for (name, unit) in NAMES {
        for (prefix, exponent) in PREFIX_NAMES {
            prefixed.push((format!("{prefix}{name}"), *unit, *exponent));
            prefixed.push((format!("{prefix}{name}s"), *unit, *exponent));
        }
    }
    let farads = FARADS.iter();
    prefixed
        .extend(farads.map(|(text, exponent)| ((*text).to_owned(), Unit::MICROFARAD, *exponent)));
    for (key, unit, exponent) in prefixed {
        if !words.iter().any(|word| word.key == key) {
            words.push(word(
                &key,
                unit,
                unit.factor() * power_of_ten(exponent),
                None,
            ));
        }
    }
    words
});

fn word(key: &str, like: Unit, size: Rational, unit: Option<Unit>) -> Word {
    Word {
        key: key.to_owned(),
        canonical: canonical(key),
        lower: key.to_lowercase().chars().collect(),
        kind: like.kind(),
        size,
        offset: like.offset(),
        unit,
    }
}

/// In lower case, the parts sorted and without what joins them, without a plural.
fn canonical(key: &str) -> String {
    let lower = key.to_lowercase();
    let mut parts: Vec<&str> = lower
        .split('·')
        .map(|part| {
            let singular = part.strip_suffix('s').filter(|singular| singular.len() > 1);
            singular.unwrap_or(part)
        })
        .collect();
    parts.sort_unstable();
    parts.concat()
}

/// The greatest number of typing errors in a text that is still corrected.
const MOST_ERRORS: usize = 2;

/// What `text`, which is not a spelling of the table, means. `None` if it can mean two units or
/// none.
pub(super) fn guess(text: &str) -> Option<Guess> {
    let key = Key::new(text)?;
    let key = key.text();
    if let Some(word) = WORDS.iter().find(|word| word.key == key) {
        return prefixed(word).map(Guess::Prefixed);
    }
    let lower_key = key.to_lowercase();
    let lower: Vec<char> = lower_key.chars().collect();
    // `Mpa` is `MPa` and not `mPa`.
    let in_other_case: Vec<&Word> = WORDS
        .iter()
        .filter(|word| word.lower == lower && word.key.chars().next() == key.chars().next())
        .collect();
    if !in_other_case.is_empty() {
        return only_unit(&in_other_case).map(Guess::Spelling);
    }
    let own = canonical(key);
    let mut same: Vec<&Word> = WORDS.iter().filter(|word| word.canonical == own).collect();
    let length = key.chars().count();
    let is_near = |word: &&Word| {
        word.lower.len().abs_diff(length) <= MOST_ERRORS
            && letters_apart(&word.lower, &lower) <= MOST_ERRORS
            && strsim::osa_distance(&word.key.to_lowercase(), &lower_key) <= MOST_ERRORS
    };
    let near = WORDS.iter().filter(is_near);
    let meant = if same.is_empty() {
        near.collect()
    } else {
        // One error may also have made it from a unit that is spelled otherwise.
        same.extend(near.filter(|word| strsim::osa_distance(&word.key, key) <= 1));
        same
    };
    only_unit(&meant).map(Guess::Spelling)
}

/// The unit of the table, if all the words mean it.
fn only_unit(words: &[&Word]) -> Option<Unit> {
    let (first, others) = words.split_first()?;
    let is_one = others.iter().all(|word| word.is_same_as(first));
    is_one.then(|| words.iter().find_map(|word| word.unit))?
}

/// A lower bound of the number of typing errors between two texts, which is cheap to compute.
fn letters_apart(left: &[char], right: &[char]) -> usize {
    let missing = |from: &[char], other: &[char]| {
        let mut rest = other.to_vec();
        let is_missing = |letter: &&char| match rest.iter().position(|known| known == *letter) {
            Some(at) => {
                rest.swap_remove(at);
                false
            }
            None => true,
        };
        from.iter().filter(is_missing).count()
    };
    missing(left, right).max(missing(right, left))
}

/// The word as a multiple of a unit of the table. `None` for a unit of two systems.
fn prefixed(word: &Word) -> Option<Prefixed> {
    let unit = TARGETS
        .iter()
        .copied()
        .find(|unit| unit.kind() == word.kind)?;
    Some(Prefixed {
        unit,
        factor: &word.size / unit.factor(),
    })
}

impl Prefixed {
    /// A value in the unit of the table in which it is shortest. `None` if it has too many digits.
    pub(super) fn converted(&self, number: &Number) -> Option<String> {
        let value = number.value() * &self.factor;
        let units = TARGETS
            .iter()
            .filter(|unit| unit.kind() == self.unit.kind());
        let texts = units.filter_map(|unit| {
            let value = self.unit.value_to(*unit, &value);
            let places = decimal_places(&value)?;
            let number = Number::decimal(value, places)
                .to_string()
                .replace('\u{202F}', "");
            (number.len() <= LONGEST).then(|| format!("{number} {unit}"))
        });
        texts.min_by_key(|text| text.chars().count())
    }
}

/// The length of the longest number that is suggested.
const LONGEST: usize = 9;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Gallons, Quantity};
    use proptest::prelude::*;

    /// The size of the unit that is suggested for a text, in the base unit of its kind.
    fn suggested(text: &str) -> Option<(Kind, Rational)> {
        match guess(text)? {
            Guess::Spelling(unit) => Some((unit.kind(), unit.factor())),
            Guess::Prefixed(prefixed) => Some((
                prefixed.unit.kind(),
                prefixed.unit.factor() * prefixed.factor,
            )),
        }
    }

    #[test]
    fn a_prefix_that_the_table_lacks_is_converted() {
        let mut converted = 0;
        for word in WORDS.iter().filter(|word| word.unit.is_none()) {
            let has_advice = super::super::spelling::mistaken(&word.key).is_some();
            // Trade names are read in any case: `ps` is the metric horsepower.
            let is_known = super::super::spelling::find(&word.key, Gallons::Unstated).is_some();
            if is_known || has_advice || super::super::spelling::find_bare(&word.key).is_some() {
                continue;
            }
            assert_eq!(
                suggested(&word.key),
                Some((word.kind, word.size.clone())),
                "{}",
                word.key
            );
            // Accepting the help gives the same quantity.
            let error = Quantity::parse(&format!("250 {}", word.key)).unwrap_err();
            if let Some(help) = error.help() {
                let text = help.trim_start_matches("write `").trim_end_matches('`');
                let value = Quantity::parse(text).unwrap();
                let size = value.value() * value.unit().factor();
                let meant = &word.size * Rational::small(250, 1);
                assert_eq!(
                    (value.kind(), size),
                    (word.kind, meant),
                    "{}: {help}",
                    word.key
                );
                converted += 1;
            }
        }
        assert!(converted > 300, "{converted}");
    }

    #[test]
    fn a_unit_is_suggested_only_if_no_other_can_be_meant() {
        for (text, unit) in [
            ("ft-bls", Some(Unit::FOOT_POUND)),
            ("lbf-foot", Some(Unit::FOOT_POUND)),
            ("MPA", Some(Unit::MEGAPASCAL)),
            ("Mpa", Some(Unit::MEGAPASCAL)),
            ("mpa", None),
            ("KHZ", Some(Unit::KILOHERTZ)),
            ("mhz", None),
            ("newton metrse", Some(Unit::NEWTON_METRE)),
            ("hourss", Some(Unit::HOUR)),
            ("imperial galons", Some(Unit::IMPERIAL_GALLON)),
            ("galons", None),
            ("rmp", None),
            ("q", None),
            ("furlongs", None),
        ] {
            let suggested = match guess(text) {
                Some(Guess::Spelling(unit)) => Some(unit),
                Some(Guess::Prefixed(prefixed)) => panic!("{text}: {prefixed:?}"),
                None => None,
            };
            assert_eq!(suggested, unit, "{text}");
        }
        assert_eq!(guess(&"N".repeat(10_000)), None);
    }

    /// A word with one typing error.
    fn mistyped() -> impl Strategy<Value = (usize, String)> {
        let word = 0..WORDS.len();
        let letter = proptest::sample::select(
            "abcdefghiklmnoprstuvwxyzABCKLMNPVW/·²."
                .chars()
                .collect::<Vec<_>>(),
        );
        (word, any::<prop::sample::Index>(), 0..5_u8, letter).prop_map(
            |(word, at, edit, letter)| {
                let mut letters: Vec<char> = WORDS[word].key.chars().collect();
                let at = at.index(letters.len());
                match edit {
                    0 => letters.insert(at, letter),
                    1 => letters[at] = letter,
                    2 if letters.len() > 1 => {
                        letters.remove(at);
                    }
                    3 if at + 1 < letters.len() => letters.swap(at, at + 1),
                    _ => letters.push(letter),
                }
                (word, letters.into_iter().collect())
            },
        )
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 3000, failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn a_suggestion_for_a_typing_error_gives_the_same_quantity((word, text) in mistyped()) {
            let word = &WORDS[word];
            let key = Key::new(&text).map(|key| key.text().to_owned()).unwrap_or_default();
            // Text that is another unit, perhaps in another case, is not an error.
            let is_other = WORDS.iter().any(|other| {
                other.key.eq_ignore_ascii_case(&key) && !other.is_same_as(word)
            });
            let is_known = super::super::spelling::find(&text, Gallons::Unstated).is_some();
            prop_assume!(!is_other && !is_known);
            if let Some(suggested) = suggested(&text) {
                prop_assert_eq!(suggested, (word.kind, word.size.clone()), "{} for {}", text, word.key);
            }
        }
    }
}
