//! The words of pages in every language.
//!
//! **In**: a language tag, the key of a text, and values. **Out**: texts. It never translates what a
//! shop wrote.
//!
//! A language is a file in `templates/words` and a row in the table below. Its format is described in
//! `language.rs`. No code depends on a particular language, except that English is the fallback.

mod counts;
mod interval;
mod language;
pub(crate) mod marks;
mod starts;
mod tag;

pub(crate) use counts::TypedCount;
pub(crate) use interval::{Due, Interval, Lapse, MAX_COUNT, Occasion, UnreadInterval};
pub(crate) use language::SearchWords;
pub(crate) use starts::Starts;

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};

use crate::quantity::{PrintPart, Quantity, Unit, UnitOrder};
use language::{CountWord, Exception, Language};
use tag::{has_prefix, resolve};

/// The language files by their tags (BCP 47). The first is the fallback.
const FILES: &[(&str, &str)] = &[
    ("en-GB", include_str!("../../templates/words/en-GB.toml")),
    ("en-US", include_str!("../../templates/words/en-US.toml")),
    ("es", include_str!("../../templates/words/es.toml")),
];

static BUILT_IN: LazyLock<Vec<Words>> = LazyLock::new(|| {
    let files = FILES.iter();
    files
        .map(|(tag, text)| Words::from_toml(tag, text).expect("a test reads every language file"))
        .collect()
});

static NEUTRAL: LazyLock<Words> = LazyLock::new(|| {
    let english = Words::english();
    let texts = english.texts.iter().map(|(key, text)| {
        let mut neutral = key.clone();
        if !NUMBERED.contains(&key.as_str()) {
            for place in placeholders(text) {
                neutral.extend([" {", place, "}"]);
            }
        }
        (key.clone(), neutral)
    });
    Words {
        language: "zxx".into(),
        data: Arc::new(english.data.without_inflection()),
        units: Arc::clone(&english.units),
        counts: Arc::clone(&english.counts),
        texts: texts.collect(),
        author: None,
    }
});

/// The texts whose only value is the number of a step, a cause or a figure.
const NUMBERED: [&str; 6] = [
    "cause",
    "causes",
    "figure-number",
    "step",
    "step-number",
    "steps",
];

/// The words of one language.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Words {
    language: Arc<str>,
    data: Arc<Language>,
    units: Arc<UnitOrder>,
    /// The words of numbers, each with its index in the language's data.
    counts: Arc<Starts<CountWord>>,
    /// The texts of the language file, with a shop's own replacements.
    texts: BTreeMap<String, String>,
    /// The language of the shop's text, if it is another one: then all texts are marked, see `marks.rs`.
    author: Option<Arc<str>>,
}

/// An error in a language file, or in a shop's own words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum WordsError {
    /// The file is not TOML of the right form. The text is the parser's message, with the line.
    Unreadable(String),
    /// There is no language with this tag.
    UnknownLanguage(String),
    /// There is no text with this key to replace.
    UnknownKey(String),
    /// The text with this key can't be replaced: see [`FIXED`].
    Fixed(String),
    /// A replacement has other placeholders than the text that it replaces: the key and a placeholder.
    Placeholders(String, String),
}

impl std::fmt::Display for WordsError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            WordsError::Unreadable(message) => f.write_str(message),
            WordsError::UnknownLanguage(tag) => {
                write!(f, "the language `{tag}` is not supported")
            }
            WordsError::UnknownKey(key) => write!(f, "there is no text `{key}` to replace"),
            WordsError::Fixed(key) => write!(
                f,
                "`{key}` can't be replaced: every sheet has to say that the maker's instructions take precedence"
            ),
            WordsError::Placeholders(key, name) => {
                write!(
                    f,
                    "`{key}` and the text that it replaces must both contain `{{{name}}}`, or neither"
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

/// The texts that a shop can't replace: the notice that the maker's instructions, local codes and licensed practice take
/// precedence.
const FIXED: [&str; 3] = ["deference", "deference-line", "deference-manual"];

impl Words {
    /// The words for a BCP 47 tag: those of the same tag, otherwise of the longest prefix of it that
    /// there are words for (`es-MX` has those of `es`), otherwise the first of the same primary
    /// language. `None` if there are none in that language.
    #[must_use]
    pub(crate) fn of(tag: &str) -> Option<&'static Words> {
        Words::choose(&BUILT_IN, tag)
    }

    /// As [`of`](Self::of), but chooses among these languages.
    pub(crate) fn choose<'w>(languages: &'w [Words], tag: &str) -> Option<&'w Words> {
        resolve(languages, tag, Words::language)
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

    /// The words of no language: a text is its key with its values.
    ///
    /// What is composed with them depends on everything that a page says, but neither on its language nor
    /// on the wording of its texts. The numbers of steps and figures are left out, because they change
    /// when something else is added.
    #[must_use]
    pub(crate) fn neutral() -> &'static Words {
        &NEUTRAL
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
            counts: Arc::new(language.counts.starts()),
            data: Arc::new(language),
            units: Arc::new(units),
            texts,
            author: None,
        })
    }

    /// These words with some texts replaced by a shop's own: a TOML text with a table for each
    /// language, such as `[en] kit = "Pull these"`. A table applies to every language that its tag is
    /// a prefix of; the longer tag takes precedence.
    ///
    /// # Errors
    ///
    /// If the text is not such a file, if a language or key is unknown, or if a replacement has other
    /// placeholders than the text that it replaces.
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
                if FIXED.contains(&key.as_str()) {
                    return Err(WordsError::Fixed(key));
                }
                if let Some(name) = differing_placeholder(built_in, &text) {
                    return Err(WordsError::Placeholders(key, name));
                }
                *built_in = text;
            }
        }
        Ok(words)
    }

    /// These words for pages of a shop whose own text is in `language`. If that is another language, all
    /// texts that these words give are marked, so that pages can say which words are in which language.
    pub(crate) fn for_author(&self, language: &str) -> Words {
        let mut words = self.clone();
        if language.eq_ignore_ascii_case(&self.language) {
            return words;
        }
        words.author = Some(language.into());
        let data = Arc::make_mut(&mut words.data);
        for text in words.texts.values_mut().chain(data.signs.values_mut()) {
            *text = marks::mark(text);
        }
        words
    }

    /// The language of the shop's text, if it is another than that of these words.
    pub(crate) fn author(&self) -> Option<&str> {
        self.author.as_deref()
    }

    /// A text that is printed as words of this language, without being one of its texts.
    pub(crate) fn own<'t>(&self, text: &'t str) -> Cow<'t, str> {
        match self.author {
            Some(_) => Cow::Owned(marks::whole(text)),
            None => Cow::Borrowed(text),
        }
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

    /// A text without placeholders. An unknown key gives the key itself; a test finds unknown keys.
    #[must_use]
    pub(crate) fn get<'w>(&'w self, key: &'w str) -> &'w str {
        self.texts.get(key).map_or(key, String::as_str)
    }

    /// A text with its placeholders filled. `values` has their names and values.
    #[must_use]
    pub(crate) fn format(&self, key: &str, values: &[(&str, &str)]) -> String {
        let mut rest = self.get(key);
        let mut text = String::with_capacity(rest.len() + 32);
        // A single pass, so that braces in a filled-in value are not replaced.
        while let Some((before, after)) = rest.split_once('{') {
            text.push_str(before);
            let (name, after) = after.split_once('}').unwrap_or((after, ""));
            let value = values.iter().find(|(placeholder, _)| *placeholder == name);
            text.push_str(value.map_or("", |(_, value)| value));
            rest = after;
        }
        text.push_str(rest);
        text
    }

    /// A text of the sources that the program writes for an author, with each `{name}` of `values` replaced. Other braces
    /// stay, because they are marks of a procedure.
    #[must_use]
    pub(crate) fn source(&self, key: &str, values: &[(&str, &str)]) -> String {
        let own = self.data.sources.get(key);
        let text = own.or_else(|| Words::english().data.sources.get(key));
        let mut rest = text.map_or(key, String::as_str);
        let mut filled = String::with_capacity(rest.len() + 32);
        // A single pass, as in `format`.
        while let Some((before, after)) = rest.split_once('{') {
            filled.push_str(before);
            let placed = values.iter().find_map(|(name, value)| {
                let after = after.strip_prefix(name)?.strip_prefix('}')?;
                Some((*value, after))
            });
            let (value, after) = placed.unwrap_or(("{", after));
            filled.push_str(value);
            rest = after;
        }
        filled.push_str(rest);
        filled
    }

    /// Every key with its text, in order of the keys.
    #[must_use]
    pub(crate) fn all(&self) -> &BTreeMap<String, String> {
        &self.texts
    }

    /// A list such as "1, 2 and 3".
    #[must_use]
    pub(crate) fn list(&self, items: &[String]) -> String {
        self.joined(items, "and", &self.data.lists.and)
    }

    /// A list such as "1, 2 or 3".
    #[must_use]
    pub(crate) fn choice(&self, items: &[String]) -> String {
        self.joined(items, "or", &self.data.lists.or)
    }

    fn joined(&self, items: &[String], key: &str, exceptions: &[Exception]) -> String {
        match items {
            [] => String::new(),
            [item] => item.clone(),
            [most @ .., last] => {
                let word = match Exception::before(exceptions, &marks::plain(last)) {
                    Some(word) => self.own(word),
                    None => Cow::Borrowed(self.get(key)),
                };
                let most = most.join(&self.data.lists.separator);
                format!("{most} {word} {last}")
            }
        }
    }

    /// The singular or plural of a name: "manifold nut", "manifold nuts".
    ///
    /// Uses the language's plural endings. In a language without them, a name does not change.
    #[must_use]
    pub(crate) fn counted<'n>(&self, name: &'n str, count: u32) -> Cow<'n, str> {
        let plural = (count > 1).then(|| self.data.plural.of(name)).flatten();
        plural.map_or(Cow::Borrowed(name), Cow::Owned)
    }

    /// Whether an author's text in this language ends with a word for "step" and a space, so that only the
    /// step's number must follow.
    pub(crate) fn ends_with_step(&self, text: &str) -> bool {
        let text = text.strip_suffix(char::is_whitespace).unwrap_or_default();
        let word = text.rsplit(|letter: char| !letter.is_alphanumeric()).next();
        let word = word.unwrap_or_default().to_lowercase();
        self.data.authors.step.contains(&word)
    }

    /// What follows the words "Not ready if:" at the start of an author's text in this language. `None` of another text.
    pub(crate) fn after_not_ready<'t>(&self, text: &'t str) -> Option<&'t str> {
        self.data.authors.not_ready_if.iter().find_map(|words| {
            let start = text.get(..words.len())?;
            let rest = text.get(words.len()..)?;
            (start.to_lowercase() == *words).then_some(rest.trim_start())
        })
    }

    /// Whether what follows an author's text in this language is what an action is done to, and not a place: not after
    /// "out of the", and not after "lift it off the".
    pub(crate) fn leads_to_object(&self, text: &str) -> bool {
        let authors = &self.data.authors;
        let words = text.split(|letter: char| !letter.is_alphabetic());
        let words: Vec<String> = words
            .filter(|word| !word.is_empty())
            .map(str::to_lowercase)
            .collect();
        let last = words
            .iter()
            .rev()
            .find(|word| !authors.articles.contains(word));
        !words.iter().any(|word| authors.pronouns.contains(word))
            && !last.is_some_and(|word| authors.before_places.contains(word))
    }

    /// A printed value in this language, from its parts.
    ///
    /// Digits, signs and units are the same in all languages (ISO 80000-1, NIST SP 811). Words and the
    /// decimal mark depend on the language.
    #[must_use]
    pub(crate) fn value(&self, parts: &[PrintPart<'_>]) -> String {
        let texts = parts.iter().map(|part| match part {
            PrintPart::Number(number) => number.text(self.data.numbers.decimal_mark),
            PrintPart::Unit(_) | PrintPart::Sign(_) => part.to_string(),
            PrintPart::AtLeast(value) => self.format("at-least", &[("value", &self.value(value))]),
            PrintPart::AtMost(value) => self.format("at-most", &[("value", &self.value(value))]),
            PrintPart::Range { lower, upper } => {
                let (lower, upper) = (self.value(lower), self.value(upper));
                self.format("range", &[("lower", &lower), ("upper", &upper)])
            }
        });
        let text: String = texts.collect();
        self.own(&text).into_owned()
    }

    /// A value without its unit, and the unit, if it has one unit only.
    pub(crate) fn without_unit(&self, parts: &[PrintPart<'_>]) -> Option<(String, String)> {
        let mut units = Vec::new();
        let numbers = split_units(parts, &mut units);
        let unit = *units.first()?;
        let is_only = units.iter().all(|other| *other == unit);
        let unit = self.value(&[PrintPart::Unit(unit)]);
        is_only.then(|| (self.value(&numbers), unit.trim().to_owned()))
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

    /// What a search has to know of this language.
    pub(crate) fn search(&self) -> &SearchWords {
        &self.data.search
    }

    /// The units to print, in order, unless the shop sets others.
    pub(crate) fn units(&self) -> &UnitOrder {
        &self.units
    }

    pub(crate) fn decimal_mark(&self) -> char {
        self.data.numbers.decimal_mark
    }
}

/// The names of the placeholders in a text, in order.
fn placeholders(text: &str) -> Vec<&str> {
    let pieces = text.split('{').skip(1);
    pieces
        .filter_map(|piece| Some(piece.split_once('}')?.0))
        .collect()
}

/// A placeholder that only one of two texts has.
fn differing_placeholder(left: &str, right: &str) -> Option<String> {
    let (left, right) = (placeholders(left), placeholders(right));
    let mut names = left.iter().chain(&right);
    let name = names.find(|name| left.contains(name) != right.contains(name));
    name.map(|name| (*name).to_owned())
}

/// The parts of a value that are not units. The units are added to `units`.
fn split_units<'v>(parts: &[PrintPart<'v>], units: &mut Vec<Unit>) -> Vec<PrintPart<'v>> {
    let mut rest = Vec::new();
    for part in parts {
        rest.push(match part {
            PrintPart::Unit(unit) => {
                units.push(*unit);
                continue;
            }
            PrintPart::AtLeast(value) => PrintPart::AtLeast(split_units(value, units)),
            PrintPart::AtMost(value) => PrintPart::AtMost(split_units(value, units)),
            PrintPart::Range { lower, upper } => PrintPart::Range {
                lower: split_units(lower, units),
                upper: split_units(upper, units),
            },
            PrintPart::Number(_) | PrintPart::Sign(_) => part.clone(),
        });
    }
    rest
}

#[cfg(test)]
mod tests;
