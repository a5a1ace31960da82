//! The counts of parts in an author's text, such as "undo the four cover bolts".

use super::Words;
use super::language::{CountWord, Counts};
use super::starts::{Starts, word_starts};
use std::ops::ControlFlow;

/// A count of parts in an author's text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct TypedCount<'t> {
    /// The offset of the number in the text.
    pub(crate) at: usize,
    /// The number as it is written: "four", "4", "both".
    pub(crate) word: &'t str,
    pub(crate) number: u32,
    /// The offset of the noun.
    pub(crate) noun_at: usize,
    /// Whether it may count only some of the parts: "four bolts", "the two upper bolts", but not "the four bolts".
    pub(crate) may_be_some: bool,
}

/// A word of a text.
#[derive(Clone, Copy)]
struct Word<'t> {
    at: usize,
    text: &'t str,
    /// Whether punctuation comes before it.
    begins_clause: bool,
    /// Whether it has an apostrophe, so that a number before it counts owners: "both hoses' clips".
    is_owner: bool,
}

/// How many words may stand between a number and its noun: "the four long M6 bolts".
const MOST_ADJECTIVES: usize = 3;

/// The largest number that is read as a count. A larger one is a part number or a year.
const MOST: u32 = 100;

impl Words {
    /// Whether an author's text in this language may count something. It is much faster than [`counts_of`].
    ///
    /// [`counts_of`]: Self::counts_of
    pub(crate) fn may_count(&self, text: &str) -> bool {
        let is_letter = |byte: &u8| byte.is_ascii_alphanumeric() || !byte.is_ascii();
        let found = word_starts(text, |at| {
            let rest = &text[at..];
            // Most words begin as no number does, and their end is not looked for.
            if self.may_be_number(rest) {
                let length = rest.bytes().take_while(is_letter).count();
                if self.typed_number(&rest[..length]).is_some() {
                    return ControlFlow::Break(());
                }
            }
            ControlFlow::Continue(())
        });
        found.is_break()
    }

    /// The counts of things of a name in an author's text, as a number with the plural of the name's noun: "both nuts",
    /// "the four M6 bolts", "3 screws".
    ///
    /// A number without a word such as "the" or "all" before it is read as a count only at the beginning of a clause or
    /// after its first word, because it may be a size or belong to a name: "the grade 8 bolts".
    pub(crate) fn counts_of<'t>(&self, text: &'t str, name: &str) -> Vec<TypedCount<'t>> {
        let counts = &self.data.counts;
        let words: Vec<Word<'t>> = words(text).collect();
        let noun = counts.noun_of(name);
        let found = words.iter().enumerate().filter_map(|(index, word)| {
            let (number, is_both) = self.typed_number(word.text)?;
            let before = |distance: usize| {
                let index = index.checked_sub(distance)?;
                let is_same_clause = words[index + 1..=index + distance]
                    .iter()
                    .all(|word| !word.begins_clause);
                words.get(index).filter(|_| is_same_clause)
            };
            let is_all = is_both || before(1).is_some_and(|word| has(&counts.all, word.text));
            if !is_all && before(2).is_some() {
                return None;
            }
            let rest = &words[index + 1..];
            let clause = rest.iter().take_while(|word| !word.begins_clause).count();
            let clause = &rest[..clause];
            let phrase = clause.iter().take(MOST_ADJECTIVES + 1);
            let mut phrase = phrase.take_while(|word| {
                !word.is_owner
                    && !has(&counts.ends, word.text)
                    && self.typed_number(word.text).is_none()
            });
            let is_noun = |word: &&Word<'_>| {
                self.is_plural(word.text, noun) || (number == 1 && is_same(word.text, noun))
            };
            let noun = phrase.find(is_noun)?;
            // A name may have such a word itself: "bottom cover bolt".
            let is_some = clause.iter().any(|word| {
                let mut own = name.split_whitespace();
                has(&counts.some, word.text) && !own.any(|own| is_same(own, word.text))
            });
            Some(TypedCount {
                at: word.at,
                word: word.text,
                number,
                noun_at: noun.at,
                may_be_some: !is_all || is_some,
            })
        });
        found.collect()
    }

    fn may_be_number(&self, text: &str) -> bool {
        text.as_bytes().first().is_some_and(u8::is_ascii_digit)
            || self.counts.at(text.as_bytes()).next().is_some()
    }

    /// The number that a word means, and whether it means all: "both".
    fn typed_number(&self, word: &str) -> Option<(u32, bool)> {
        if word.starts_with(|first: char| first.is_ascii_digit()) {
            let number = word.parse().ok().filter(|number| *number <= MOST)?;
            return Some((number, false));
        }
        let Counts { numbers, both, .. } = &self.data.counts;
        let mut known = self.counts.at(word.as_bytes());
        known.find_map(|known| match known {
            CountWord::Both(index) => is_same(&both[index], word).then_some((2, true)),
            CountWord::Number(index) => {
                let number = u32::try_from(index + 1).ok()?;
                is_same(&numbers[index], word).then_some((number, false))
            }
        })
    }

    /// Whether a word is the plural of a noun.
    fn is_plural(&self, word: &str, noun: &str) -> bool {
        let plural = self
            .data
            .counts
            .plural
            .as_ref()
            .unwrap_or(&self.data.plural);
        plural
            .of(&noun.to_lowercase())
            .is_some_and(|plural| is_same(word, &plural))
    }
}

impl Counts {
    /// The noun of a name. Remarks follow a comma or a word that ends a noun: "blade bolt, left-hand thread", "pin with
    /// its clip".
    fn noun_of<'n>(&self, name: &'n str) -> &'n str {
        let name = name.split([',', '(']).next().unwrap_or_default();
        let words = name.split_whitespace();
        let mut words = words.take_while(|word| !has(&self.ends, word));
        let noun = if self.noun_first {
            words.next()
        } else {
            words.last()
        };
        noun.unwrap_or_default()
    }

    /// The words of numbers.
    pub(super) fn starts(&self) -> Starts<CountWord> {
        let both = self.both.iter().enumerate();
        let numbers = self.numbers.iter().enumerate();
        let both = both.map(|(index, word)| (word.as_str(), CountWord::Both(index)));
        let numbers = numbers.map(|(index, word)| (word.as_str(), CountWord::Number(index)));
        Starts::of(both.chain(numbers))
    }
}

fn has(words: &[String], word: &str) -> bool {
    words.iter().any(|known| is_same(known, word))
}

fn is_same(word: &str, other: &str) -> bool {
    // The length is compared first, because it nearly always differs.
    word.eq_ignore_ascii_case(other)
        || (!word.is_ascii() && !other.is_ascii() && word.to_lowercase() == other.to_lowercase())
}

/// The words of a text, without the punctuation and markup around them. A sign between two words is a word.
fn words(text: &str) -> impl Iterator<Item = Word<'_>> {
    let is_outer = |letter: char| !letter.is_alphanumeric() && !matches!(letter, '#' | '°' | '%');
    let (mut ends_clause, mut ends_sentence) = (true, false);
    text.split_whitespace().map(move |typed| {
        let inner = typed.trim_matches(is_outer);
        let inner = if inner.is_empty() { typed } else { inner };
        // The offset of a piece of a text in it.
        let at = inner.as_ptr() as usize - text.as_ptr() as usize;
        let (before, after) = typed.split_once(inner).unwrap_or_default();
        // The point of an abbreviation ends nothing: "No. 8 screws".
        let is_new_sentence = ends_sentence && inner.starts_with(char::is_uppercase);
        let begins_clause = ends_clause || is_new_sentence || before.contains('(');
        ends_clause = after.contains([',', ';', ':', ')', '!', '?']);
        ends_sentence = after.contains('.');
        Word {
            at,
            text: inner,
            begins_clause,
            is_owner: typed.contains(['\'', '’']),
        }
    })
}
