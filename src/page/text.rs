//! Small pieces of print.

/// "35 min", "1 h 10 min".
pub(crate) fn minutes(minutes: u32) -> String {
    let (hours, minutes) = (minutes / 60, minutes % 60);
    match (hours, minutes) {
        (0, minutes) => format!("{minutes}\u{a0}min"),
        (hours, 0) => format!("{hours}\u{a0}h"),
        (hours, minutes) => format!("{hours}\u{a0}h {minutes}\u{a0}min"),
    }
}

/// A title as a fragment id: "Where it goes back" is `where-it-goes-back`.
pub(crate) fn anchor(title: &str) -> String {
    let words: Vec<String> = title
        .split(|letter: char| !letter.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
        .collect();
    words.join("-")
}

/// The text with its first letter small, unless its first word is all capitals or a name by its second letter.
pub(crate) fn uncapitalised(text: &str) -> String {
    let mut letters = text.chars();
    let (Some(first), second) = (letters.next(), letters.clone().next()) else {
        return text.to_owned();
    };
    // "USB lead", "O-ring", "T7": a single capital before anything but a letter is a name, too.
    if second.is_none_or(|second| !second.is_lowercase() && second != ' ') {
        return text.to_owned();
    }
    first.to_lowercase().chain(letters).collect()
}

/// The text with one plain space wherever it has white space of any kind, and none at its ends.
pub(crate) fn spaced(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sentence_goes_on_small_but_a_name_keeps_its_capitals() {
        assert_eq!(uncapitalised("Clean the cover"), "clean the cover");
        assert_eq!(uncapitalised("USB lead"), "USB lead");
        assert_eq!(uncapitalised("O-ring"), "O-ring");
        assert_eq!(uncapitalised("A note"), "a note");
        assert_eq!(uncapitalised(""), "");
    }

    #[test]
    fn time_is_in_hours_from_an_hour() {
        assert_eq!(minutes(35), "35\u{a0}min");
        assert_eq!(minutes(60), "1\u{a0}h");
        assert_eq!(minutes(70), "1\u{a0}h 10\u{a0}min");
    }
}
