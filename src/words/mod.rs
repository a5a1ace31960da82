//! The words that a page says of itself, in every language there is.
//!
//! Comes in: a language tag and the key of a text. Goes out: the text, with its
//! places filled. What a shop wrote is never looked up here: it stands on the
//! page as it was written.
//!
//! All texts stand in `templates/words.toml`, a table a key, side by side.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// The file that the words are built in from.
const FILE: &str = include_str!("../../templates/words.toml");

/// The languages there are, by their primary subtags (BCP 47); English first.
pub const LANGUAGES: [&str; 2] = ["en", "es"];

/// The signs that there are drawings of, with their referents.
const SIGNS: &str = include_str!("../../templates/signs/signs.toml");

type Texts = BTreeMap<String, BTreeMap<String, String>>;

/// One language's words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Words {
    language: &'static str,
    texts: BTreeMap<String, String>,
}

static BUILT_IN: LazyLock<Vec<Words>> = LazyLock::new(|| {
    let texts: Texts = toml::from_str(FILE).expect("a test reads the built-in words");
    let words = LANGUAGES.iter().map(|language| Words {
        language,
        texts: texts
            .iter()
            .filter_map(|(key, by_language)| {
                Some((key.clone(), by_language.get(*language)?.clone()))
            })
            .collect(),
    });
    words.collect()
});

static SIGN_TEXTS: LazyLock<Texts> =
    LazyLock::new(|| toml::from_str(SIGNS).expect("a test reads the built-in signs"));

/// What is wrong with a shop's own words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum WordsError {
    /// The file is no TOML of tables of texts; the parser's account of it, with its line.
    Unreadable(String),
    /// There is no such word to replace.
    UnknownKey(String),
    /// The text lacks a place that the built-in one has, or has one more: key and place.
    OtherPlaces(String, String),
}

impl std::fmt::Display for WordsError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            WordsError::Unreadable(why) => f.write_str(why),
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

impl Words {
    /// The words of a language, named by a BCP 47 tag: `es-MX` has those of `es`.
    #[must_use]
    pub fn of(tag: &str) -> Option<&'static Words> {
        let primary = tag.split('-').next().unwrap_or(tag).to_ascii_lowercase();
        BUILT_IN.iter().find(|words| words.language == primary)
    }

    /// The English words, which serve where a language has none.
    #[must_use]
    pub fn english() -> &'static Words {
        &BUILT_IN[0]
    }

    /// These words with some replaced by a shop's own, from a file like the built-in one.
    ///
    /// # Errors
    ///
    /// When the text can't be read, or replaces a word there is not.
    pub fn with_own(&self, text: &str) -> Result<Words, WordsError> {
        let own: Texts =
            toml::from_str(text).map_err(|error| WordsError::Unreadable(error.to_string()))?;
        let mut words = self.clone();
        for (key, by_language) in own {
            let Some(built_in) = words.texts.get_mut(&key) else {
                return Err(WordsError::UnknownKey(key));
            };
            let Some(text) = by_language.get(self.language) else {
                continue;
            };
            let (old, new) = (places(built_in), places(text));
            if let Some(place) = old
                .iter()
                .chain(&new)
                .find(|place| old.contains(place) != new.contains(place))
            {
                return Err(WordsError::OtherPlaces(key, (*place).clone()));
            }
            built_in.clone_from(text);
        }
        Ok(words)
    }

    /// What a sign of ISO 7010 stands for, in a language; none where there is no such sign.
    #[must_use]
    pub fn sign(language: &str, number: &str) -> Option<&'static str> {
        SIGN_TEXTS.get(number)?.get(language).map(String::as_str)
    }

    /// The numbers of all signs there are, in order.
    pub fn signs() -> impl Iterator<Item = &'static str> + Clone {
        SIGN_TEXTS.keys().map(String::as_str)
    }

    /// The language's primary subtag.
    #[must_use]
    pub fn language(&self) -> &'static str {
        self.language
    }

    /// A text without places. A key that there is not stands for itself; a test finds it.
    #[must_use]
    pub fn get<'w>(&'w self, key: &'w str) -> &'w str {
        self.texts.get(key).map_or(key, String::as_str)
    }

    /// A text with its places filled.
    #[must_use]
    pub fn say(&self, key: &str, places: &[(&str, &str)]) -> String {
        let mut rest = self.get(key);
        let mut said = String::with_capacity(rest.len() + 32);
        // Once through, so that what is filled in is never looked into.
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
    pub fn all(&self) -> &BTreeMap<String, String> {
        &self.texts
    }

    /// "1, 2 and 3".
    #[must_use]
    pub fn list(&self, items: &[String]) -> String {
        self.joined(items, "and")
    }

    /// "1, 2 or 3".
    #[must_use]
    pub fn choice(&self, items: &[String]) -> String {
        self.joined(items, "or")
    }

    fn joined(&self, items: &[String], word: &str) -> String {
        match items {
            [] => String::new(),
            [one] => one.clone(),
            [most @ .., last] => {
                // Spanish says `e` and `u` before their own sound.
                let sound = last.to_lowercase();
                let word = match (self.language, word) {
                    ("es", "and") if sound.starts_with('i') || sound.starts_with("hi") => "e",
                    ("es", "or") if sound.starts_with('o') || sound.starts_with("ho") => "u",
                    _ => self.get(word),
                };
                format!("{} {word} {last}", most.join(", "))
            }
        }
    }

    /// A name for one or for several: "manifold nut", "manifold nuts".
    ///
    /// In English the last word is made plural by the plain rules, which serve the names of parts;
    /// a name that is plural already stays as it is. Other languages' plurals need more than the
    /// last word, so there the number stands beside the name as it is.
    #[must_use]
    pub fn counted<'n>(&self, name: &'n str, count: u32) -> Cow<'n, str> {
        if count <= 1 || self.language != "en" || name.ends_with('s') {
            return Cow::Borrowed(name);
        }
        let consonant_before_y = name
            .strip_suffix('y')
            .and_then(|stem| stem.chars().last())
            .is_some_and(|letter| !"aeiou".contains(letter));
        if consonant_before_y {
            return Cow::Owned(format!("{}ies", &name[..name.len() - 1]));
        }
        let is_hissed = ["x", "ch", "sh"].iter().any(|end| name.ends_with(end));
        Cow::Owned(format!("{name}{}", if is_hissed { "es" } else { "s" }))
    }

    /// A value's standard form with its words in this language. The numbers, signs and units are
    /// the same in all of them (ISO 80000-1, SP 811); a decimal point is right in both.
    #[must_use]
    pub fn value(&self, text: String) -> String {
        if self.language == "en" {
            return text;
        }
        for (english, key) in [("at least ", "at-least"), ("at most ", "at-most")] {
            if let Some(rest) = text.strip_prefix(english) {
                return format!("{} {rest}", self.get(key));
            }
        }
        text.replace(" to ", &format!(" {} ", self.get("to")))
    }
}

/// The places in a text, in order.
fn places(text: &str) -> Vec<String> {
    let pieces = text.split('{').skip(1);
    pieces
        .filter_map(|piece| Some(piece.split_once('}')?.0.to_owned()))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts() -> Texts {
        toml::from_str(FILE).expect("the file is TOML")
    }

    #[test]
    fn every_word_is_there_in_every_language_with_the_same_places() {
        for (key, by_language) in texts() {
            let languages: Vec<&str> = by_language.keys().map(String::as_str).collect();
            assert_eq!(languages, LANGUAGES, "`{key}`");
            let sorted = |text: &String| {
                let mut all = places(text);
                all.sort();
                all
            };
            let all: Vec<_> = by_language.values().map(sorted).collect();
            assert!(all.windows(2).all(|pair| pair[0] == pair[1]), "`{key}`");
        }
    }

    /// The text of every source and template.
    fn sources() -> Vec<String> {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
        let files = ["src", "templates"]
            .into_iter()
            .flat_map(|folder| walkdir::WalkDir::new(root.join(folder)));
        files
            .map(|entry| entry.expect("the folder can be read").into_path())
            .filter(|path| {
                let ending = path.extension().and_then(|ending| ending.to_str());
                matches!(ending, Some("rs" | "html" | "typ" | "js"))
            })
            .map(|path| std::fs::read_to_string(path).expect("a text"))
            .collect()
    }

    /// A word that nothing prints is a word that nobody notices is wrong; one that there is not
    /// would be printed as its key.
    #[test]
    fn every_word_is_printed_somewhere_and_every_printed_word_is_there() {
        let (sources, texts) = (sources(), texts());
        for key in texts.keys() {
            let quoted = format!("\"{key}\"");
            // The scripts have tests of their own, beside the pages they stand on.
            let is_of_script = ["live-", "search-"]
                .iter()
                .any(|start| key.starts_with(start));
            let is_used = is_of_script || sources.iter().any(|text| text.contains(&quoted));
            assert!(is_used, "`{key}` is printed nowhere");
        }
        let before = [
            "words.get(\"",
            "words.say(\"",
            "words().get(\"",
            "words().say(\"",
            "words[\"",
            "words.at(\"",
            "table_section(\"",
        ];
        for (text, before) in sources
            .iter()
            .flat_map(|text| before.iter().map(move |before| (text, before)))
        {
            for rest in text.split(before).skip(1) {
                let key = rest.split('"').next().unwrap_or_default();
                assert!(texts.contains_key(key), "there is no word `{key}`");
            }
        }
    }

    #[test]
    fn what_is_filled_in_is_not_looked_into() {
        let said = Words::english().say("step", &[("number", "{number}")]);
        assert_eq!(said, "step\u{a0}{number}");
    }

    #[test]
    fn a_tag_has_the_words_of_its_language() {
        assert_eq!(Words::of("es-MX").map(Words::language), Some("es"));
        assert_eq!(Words::of("EN").map(Words::language), Some("en"));
        assert_eq!(Words::of("fr"), None);
    }

    #[test]
    fn names_are_counted_as_people_say_them() {
        let english = Words::english();
        assert_eq!(english.counted("manifold nut", 1), "manifold nut");
        assert_eq!(english.counted("manifold nut", 2), "manifold nuts");
        assert_eq!(english.counted("throttle body", 2), "throttle bodies");
        assert_eq!(english.counted("lever key", 2), "lever keys");
        assert_eq!(english.counted("crush washer box", 2), "crush washer boxes");
        assert_eq!(english.counted("points", 2), "points");
        let spanish = Words::of("es").expect("there is Spanish");
        assert_eq!(
            spanish.counted("tuerca de admisión", 2),
            "tuerca de admisión"
        );
    }

    #[test]
    fn lists_end_in_the_languages_own_word() {
        let items = ["a", "b", "isla"].map(str::to_owned);
        assert_eq!(Words::english().list(&items), "a, b and isla");
        let spanish = Words::of("es").expect("there is Spanish");
        assert_eq!(spanish.list(&items), "a, b e isla");
        assert_eq!(spanish.choice(&items), "a, b o isla");
    }

    #[test]
    fn a_value_speaks_the_language() {
        let spanish = Words::of("es").expect("there is Spanish");
        assert_eq!(
            spanish.value("at least 15 bar".to_owned()),
            "al menos 15 bar"
        );
        assert_eq!(
            spanish.value("8 N·m to 10 N·m".to_owned()),
            "8 N·m a 10 N·m"
        );
        assert_eq!(spanish.value("9 N·m ± 1 N·m".to_owned()), "9 N·m ± 1 N·m");
    }

    #[test]
    fn a_shops_own_words_replace_some_and_say_what_is_wrong() {
        let english = Words::english();
        let own = english
            .with_own("[kit]\nen = \"Pull these\"")
            .expect("it is sound");
        assert_eq!((own.get("kit"), own.get("tools")), ("Pull these", "Tools"));
        let wrong = |text: &str| english.with_own(text).expect_err("it is not").to_string();
        assert!(wrong("[kitt]\nen = \"x\"").contains("no word `kitt`"));
        assert!(wrong("[step]\nen = \"Step {n}\"").contains("{number}"));
        assert!(wrong("[kit\n").contains("line 1"));
    }
}
