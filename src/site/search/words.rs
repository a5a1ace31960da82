//! Splits texts into words for the search. `search.js` splits the query in the same way.

use std::collections::BTreeSet;
use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

/// Folds a text: NFKD, without combining marks (general category M), lowercase. An apostrophe or a middle
/// dot between two letters or digits is removed, so that *doesn't* and *N·m* are one word, as people type
/// them. So is the space that separates groups of digits. A multiplication sign is a letter: `M10x1.25`.
pub(super) fn fold(text: &str) -> String {
    let letters: Vec<char> = text.chars().collect();
    let is_inside = |index: usize| {
        let around = [index.checked_sub(1), Some(index + 1)];
        around.into_iter().all(|index| {
            index
                .and_then(|index| letters.get(index))
                .is_some_and(|letter| letter.is_alphanumeric())
        })
    };
    let kept = letters.iter().enumerate().filter(|(index, letter)| {
        !(matches!(letter, '\'' | '’' | '·' | '\u{202f}') && is_inside(*index))
    });
    let bare: String = kept
        .map(|(_, letter)| if *letter == '×' { 'x' } else { *letter })
        .nfkd()
        .filter(|letter| !is_combining_mark(*letter))
        .collect();
    bare.to_lowercase()
}

/// Splits a folded text into runs of letters and digits. A point or a comma between two digits belongs to
/// the word, as a point.
pub(super) fn words_in(folded: &str) -> impl Iterator<Item = String> + use<> {
    let mut words = vec![String::new()];
    let mut rest = folded.chars().peekable();
    let mut previous = ' ';
    while let Some(letter) = rest.next() {
        let is_digit = |letter: &char| letter.is_numeric();
        let is_point =
            matches!(letter, '.' | ',') && is_digit(&previous) && rest.peek().is_some_and(is_digit);
        if let Some(word) = words.last_mut() {
            if letter.is_alphanumeric() {
                word.push(letter);
            } else if is_point {
                word.push('.');
            } else if !word.is_empty() {
                words.push(String::new());
            }
        }
        previous = letter;
    }
    words.into_iter().filter(|word| !word.is_empty())
}

/// The words that find a text: each run of letters and digits, and each hyphenated group as one
/// word.
pub(super) fn words_of(text: &str) -> BTreeSet<String> {
    let folded = fold(text);
    let mut words: BTreeSet<String> = words_in(&folded).collect();
    let hyphened = folded.split(|letter: char| !letter.is_alphanumeric() && letter != '-');
    words.extend(
        hyphened
            .filter(|group| group.contains('-'))
            .map(|group| group.replace('-', "")),
    );
    words.remove("");
    words
}

/// A word without the first of the endings that it has, if at least three letters remain, and without
/// the second of two equal letters at its end then: *slipping* and *slips* become *slip*.
pub(super) fn stem<'w>(word: &'w str, endings: &[String]) -> &'w str {
    if word.contains(char::is_numeric) {
        return word;
    }
    let bare = endings
        .iter()
        .filter_map(|ending| word.strip_suffix(ending.as_str()))
        .find(|bare| bare.chars().nth(2).is_some());
    let bare = bare.unwrap_or(word);
    let mut letters = bare.chars().rev();
    let (last, before) = (letters.next(), letters.next());
    let is_double = last.is_some() && last == before && letters.nth(1).is_some();
    let doubled = last.filter(|_| is_double).map_or(0, char::len_utf8);
    &bare[..bare.len() - doubled]
}
