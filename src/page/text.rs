//! Formatting helpers for short texts.

use crate::words::marks::is_mark;

/// "35 min", "1 h 10 min".
pub(crate) fn minutes(minutes: u32) -> String {
    let (hours, minutes) = (minutes / 60, minutes % 60);
    match (hours, minutes) {
        (0, minutes) => format!("{minutes}\u{a0}min"),
        (hours, 0) => format!("{hours}\u{a0}h"),
        (hours, minutes) => format!("{hours}\u{a0}h {minutes}\u{a0}min"),
    }
}

/// Turns a title into a fragment identifier: "Where it goes back" becomes `where-it-goes-back`.
pub(crate) fn anchor(title: &str) -> String {
    let words: Vec<String> = title
        .split(|letter: char| !letter.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
        .collect();
    words.join("-")
}

/// Makes the first letter lowercase, unless the first word is an acronym or a name, judged by its
/// second letter.
pub(crate) fn uncapitalised(text: &str) -> String {
    let (marks, said) = after_marks(text);
    let mut letters = said.chars();
    let (Some(first), second) = (letters.next(), letters.clone().next()) else {
        return text.to_owned();
    };
    // "USB lead", "O-ring", "XL": a capital that is not followed by a lowercase letter or a space
    // marks a name.
    if second.is_none_or(|second| !second.is_lowercase() && second != ' ') {
        return text.to_owned();
    }
    let lower = first.to_lowercase().chain(letters);
    marks.chars().chain(lower).collect()
}

/// The marks that a text begins with, and the rest of it.
pub(crate) fn after_marks(text: &str) -> (&str, &str) {
    let said = text.trim_start_matches(is_mark);
    text.split_at(text.len() - said.len())
}

/// Whether a text has the end of a sentence.
pub(crate) fn is_sentence(text: &str) -> bool {
    let text = text.trim_end_matches(is_mark);
    text.ends_with(['.', '!', '?', '…', ':'])
}

/// Replaces each run of whitespace by one space and trims both ends.
pub(crate) fn collapse_whitespace(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn uncapitalised_keeps_the_capitals_of_names() {
        assert_eq!(uncapitalised("Clean the cover"), "clean the cover");
        assert_eq!(uncapitalised("USB lead"), "USB lead");
        assert_eq!(uncapitalised("O-ring"), "O-ring");
        assert_eq!(uncapitalised("A note"), "a note");
        assert_eq!(uncapitalised(""), "");
        assert_eq!(
            uncapitalised("\u{e000}Abra\u{e001}"),
            "\u{e000}abra\u{e001}"
        );
    }

    #[test]
    fn minutes_prints_hours_from_sixty_minutes() {
        assert_eq!(minutes(35), "35\u{a0}min");
        assert_eq!(minutes(60), "1\u{a0}h");
        assert_eq!(minutes(70), "1\u{a0}h 10\u{a0}min");
    }
}
