//! The words of pages in every language.
//!
//! **In**: a language tag, the key of a text, and values. **Out**: texts. What a shop wrote is not
//! translated: it is printed as it was written.
//!
//! A language is a file in `templates/words` and a row in the table below. Its format is described in
//! `language.rs`. No code depends on a particular language, except that English is the fallback.

mod interval;
mod language;

pub(crate) use interval::Interval;

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};

use crate::quantity::{PrintPart, Quantity, UnitOrder};
use language::{Exception, Language};

/// The language files by their tags (BCP 47). The first is the fallback.
const FILES: &[(&str, &str)] = &[
    ("en", include_str!("../../templates/words/en.toml")),
    ("es", include_str!("../../templates/words/es.toml")),
];

static BUILT_IN: LazyLock<Vec<Words>> = LazyLock::new(|| {
    let files = FILES.iter();
    files
        .map(|(tag, text)| Words::from_toml(tag, text).expect("a test reads every language file"))
        .collect()
});

/// The words of one language.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Words {
    language: Arc<str>,
    data: Arc<Language>,
    units: Arc<UnitOrder>,
    /// Those of the language's file, some of them replaced by a shop's own.
    texts: BTreeMap<String, String>,
}

/// What is wrong with a language file, or with a shop's own words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum WordsError {
    /// The file is not TOML of the right form: the parser's message, with its line.
    Unreadable(String),
    /// There is no language with this tag.
    UnknownLanguage(String),
    /// There is no text with this key to replace.
    UnknownKey(String),
    /// The text and the one that it replaces do not have the same places: key and place.
    OtherPlaces(String, String),
}

impl std::fmt::Display for WordsError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            WordsError::Unreadable(why) => f.write_str(why),
            WordsError::UnknownLanguage(tag) => {
                write!(f, "there are no words in the language `{tag}`")
            }
            WordsError::UnknownKey(key) => write!(f, "there is no word `{key}` to replace"),
            WordsError::OtherPlaces(key, place) => {
                write!(
                    f,
                    "`{key}` and the text it replaces differ in `{{{place}}}`"
                )
            }
        }
    }
}

impl std::error::Error for WordsError {}

/// The tags of the languages that there are words for. The first is the fallback.
pub(crate) fn languages() -> impl Iterator<Item = &'static str> {
    FILES.iter().map(|(tag, _)| *tag)
}

/// The language of a shop that does not name one, and the fallback for others.
pub(crate) const DEFAULT_LANGUAGE: &str = FILES[0].0;

impl Words {
    /// The words for a BCP 47 tag: those of the same tag, otherwise of the longest prefix of it that
    /// there are words for (`es-MX` has those of `es`), otherwise the first of the same primary
    /// language. `None` if there are none in that language.
    #[must_use]
    pub(crate) fn of(tag: &str) -> Option<&'static Words> {
        Words::best(&BUILT_IN, tag)
    }

    /// Of several languages, the one that [`of`](Self::of) would choose.
    pub(crate) fn best<'w>(all: &'w [Words], tag: &str) -> Option<&'w Words> {
        resolve(all, tag, Words::language)
    }

    /// The words of all languages, in the order of [`languages`].
    pub(crate) fn built_in() -> &'static [Words] {
        &BUILT_IN
    }

    /// The English words, the fallback where a language has none.
    #[must_use]
    pub(crate) fn english() -> &'static Words {
        &BUILT_IN[0]
    }

    /// The words of a language file.
    ///
    /// # Errors
    ///
    /// If the text is not a language file.
    pub(crate) fn from_toml(tag: &str, text: &str) -> Result<Words, WordsError> {
        let mut language: Language =
            toml::from_str(text).map_err(|error| WordsError::Unreadable(error.to_string()))?;
        let units = language.unit_order().map_err(WordsError::Unreadable)?;
        let texts = std::mem::take(&mut language.texts);
        Ok(Words {
            language: tag.into(),
            data: Arc::new(language),
            units: Arc::new(units),
            texts,
        })
    }

    /// These words with some texts replaced by a shop's own: a TOML text with a table for each
    /// language, such as `[en] kit = "Pull these"`. A table applies to every language that its tag is
    /// a prefix of; the longer tag takes precedence.
    ///
    /// ```
    /// use benchleaf::words::Words;
    ///
    /// let own = Words::english().with_own("[en]\nkit = \"Pull these\"").unwrap();
    /// assert_eq!(own.get("kit"), "Pull these");
    /// let error = Words::english().with_own("[en]\nkitt = \"Pull these\"").unwrap_err();
    /// assert_eq!(error.to_string(), "there is no word `kitt` to replace");
    /// ```
    ///
    /// # Errors
    ///
    /// If the text is not such a file, has an unknown language or key, or a replacement does not have
    /// the places of the text that it replaces.
    pub(crate) fn with_own(&self, text: &str) -> Result<Words, WordsError> {
        let own: BTreeMap<String, BTreeMap<String, String>> =
            toml::from_str(text).map_err(|error| WordsError::Unreadable(error.to_string()))?;
        let mut words = self.clone();
        // Sorted by tag, so that `en-GB` comes after `en` and takes precedence.
        for (tag, texts) in own {
            if !has_prefix(&self.language, &tag) {
                if languages().any(|language| has_prefix(language, &tag)) {
                    continue;
                }
                return Err(WordsError::UnknownLanguage(tag));
            }
            for (key, text) in texts {
                let Some(built_in) = words.texts.get_mut(&key) else {
                    return Err(WordsError::UnknownKey(key));
                };
                if let Some(place) = other_place(built_in, &text) {
                    return Err(WordsError::OtherPlaces(key, place));
                }
                *built_in = text;
            }
        }
        Ok(words)
    }

    /// The referent of a safety sign, by its number in ISO 7010. `None` if there is no such sign.
    pub(crate) fn sign(&self, number: &str) -> Option<&str> {
        self.data.signs.get(number).map(String::as_str)
    }

    /// The numbers of all signs, in order.
    pub(crate) fn signs() -> impl Iterator<Item = &'static str> + Clone {
        Words::english().data.signs.keys().map(String::as_str)
    }

    /// The tag of the language file.
    #[must_use]
    pub(crate) fn language(&self) -> &str {
        &self.language
    }

    /// A text without places. An unknown key gives the key itself; a test finds it.
    #[must_use]
    pub(crate) fn get<'w>(&'w self, key: &'w str) -> &'w str {
        self.texts.get(key).map_or(key, String::as_str)
    }

    /// A text with its places filled.
    #[must_use]
    pub(crate) fn say(&self, key: &str, places: &[(&str, &str)]) -> String {
        let mut rest = self.get(key);
        let mut said = String::with_capacity(rest.len() + 32);
        // A single pass, so that braces in a filled-in value are not replaced.
        while let Some((before, after)) = rest.split_once('{') {
            said.push_str(before);
            let (name, after) = after.split_once('}').unwrap_or((after, ""));
            let filled = places.iter().find(|(place, _)| *place == name);
            said.push_str(filled.map_or("", |(_, text)| text));
            rest = after;
        }
        said.push_str(rest);
        said
    }

    /// Every key with its text, in order of the keys.
    #[must_use]
    pub(crate) fn all(&self) -> &BTreeMap<String, String> {
        &self.texts
    }

    /// "1, 2 and 3".
    #[must_use]
    pub(crate) fn list(&self, items: &[String]) -> String {
        self.joined(items, "and", &self.data.lists.and)
    }

    /// "1, 2 or 3".
    #[must_use]
    pub(crate) fn choice(&self, items: &[String]) -> String {
        self.joined(items, "or", &self.data.lists.or)
    }

    fn joined(&self, items: &[String], key: &str, exceptions: &[Exception]) -> String {
        match items {
            [] => String::new(),
            [item] => item.clone(),
            [most @ .., last] => {
                let word = Exception::before(exceptions, last).unwrap_or_else(|| self.get(key));
                let most = most.join(&self.data.lists.separator);
                format!("{most} {word} {last}")
            }
        }
    }

    /// A name for one or for several pieces: "manifold nut", "manifold nuts".
    ///
    /// The language's plural endings say how a name changes. A language without them prints the name
    /// as it is.
    #[must_use]
    pub(crate) fn counted<'n>(&self, name: &'n str, count: u32) -> Cow<'n, str> {
        let plural = (count > 1).then(|| self.data.plural.of(name)).flatten();
        plural.map_or(Cow::Borrowed(name), Cow::Owned)
    }

    /// Whether a text that an author wrote in this language ends with a word for a step, so that only
    /// the number of the step has to follow.
    pub(crate) fn ends_with_step(&self, text: &str) -> bool {
        let text = text.strip_suffix(char::is_whitespace).unwrap_or_default();
        let word = text.rsplit(|letter: char| !letter.is_alphanumeric()).next();
        let word = word.unwrap_or_default().to_lowercase();
        self.data.authors.step.contains(&word)
    }

    /// A printed value in this language, from its parts.
    ///
    /// Digits, signs and units are the same in all languages (ISO 80000-1, NIST SP 811); the words
    /// and the decimal mark are the language's.
    ///
    /// ```
    /// use benchleaf::{quantity::Limits, words::Words};
    ///
    /// let limits = Limits::parse("at least 15 bar")?;
    /// let spanish = Words::of("es").unwrap();
    /// assert_eq!(spanish.value(&limits.parts()), "al menos 15\u{a0}bar");
    /// # Ok::<(), benchleaf::quantity::Error>(())
    /// ```
    #[must_use]
    pub(crate) fn value(&self, parts: &[PrintPart<'_>]) -> String {
        let texts = parts.iter().map(|part| match part {
            PrintPart::Number(number) => number.text(self.data.numbers.decimal_mark),
            PrintPart::Unit(_) | PrintPart::Sign(_) => part.to_string(),
            PrintPart::AtLeast(value) => self.say("at-least", &[("value", &self.value(value))]),
            PrintPart::AtMost(value) => self.say("at-most", &[("value", &self.value(value))]),
            PrintPart::Range { lower, upper } => {
                let (lower, upper) = (self.value(lower), self.value(upper));
                self.say("range", &[("lower", &lower), ("upper", &upper)])
            }
        });
        texts.collect()
    }

    /// A quantity as [`value`](Self::value) prints it.
    #[must_use]
    pub(crate) fn quantity(&self, quantity: &Quantity) -> String {
        self.value(&quantity.parts())
    }

    /// The number of a quantity without its unit.
    pub(crate) fn number(&self, quantity: &Quantity) -> String {
        let parts = quantity.parts();
        let numbers: Vec<PrintPart<'_>> = parts
            .into_iter()
            .filter(|part| matches!(part, PrintPart::Number(_)))
            .collect();
        self.value(&numbers)
    }

    /// The units that a shop prints unless it sets others, and their order.
    pub(crate) fn units(&self) -> &UnitOrder {
        &self.units
    }

    /// The character between whole number and decimals.
    pub(crate) fn decimal_mark(&self) -> char {
        self.data.numbers.decimal_mark
    }
}

/// Of all languages, the one to use for a tag; see [`Words::of`].
fn resolve<'l, T>(all: &'l [T], tag: &str, tag_of: impl Fn(&T) -> &str) -> Option<&'l T> {
    let find = |wanted: &str| {
        all.iter()
            .find(|language| tag_of(language).eq_ignore_ascii_case(wanted))
    };
    let mut prefix = tag;
    loop {
        if let Some(found) = find(prefix) {
            return Some(found);
        }
        match prefix.rsplit_once('-') {
            Some((shorter, _)) => prefix = shorter,
            None => break,
        }
    }
    all.iter()
        .find(|language| has_prefix(tag_of(language), prefix))
}

/// Whether a language tag is `prefix`, or begins with it and a hyphen, in any case.
fn has_prefix(tag: &str, prefix: &str) -> bool {
    let Some((start, rest)) = tag.split_at_checked(prefix.len()) else {
        return false;
    };
    start.eq_ignore_ascii_case(prefix) && (rest.is_empty() || rest.starts_with('-'))
}

/// The places in a text, in order.
fn places(text: &str) -> Vec<&str> {
    let pieces = text.split('{').skip(1);
    pieces
        .filter_map(|piece| Some(piece.split_once('}')?.0))
        .collect()
}

/// A place that only one of two texts has.
fn other_place(left: &str, right: &str) -> Option<String> {
    let (left, right) = (places(left), places(right));
    let mut all = left.iter().chain(&right);
    let other = all.find(|place| left.contains(place) != right.contains(place));
    other.map(|place| (*place).to_owned())
}

#[cfg(test)]
mod tests;
