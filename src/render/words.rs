//! The words that a page says of itself, in one place for both media.
//!
//! What a shop wrote comes with the leaf; what stands here is the form around
//! it. The templates find each word under its key in `words`.

use std::collections::BTreeMap;

/// Every key with its word. In order of the keys, so that it reads as an index.
const ENGLISH: &[(&str, &str)] = &[
    ("avoid", "How to avoid it"),
    ("caution", "CAUTION"),
    ("contents", "On this leaf"),
    ("danger", "DANGER"),
    ("date", "Date"),
    ("figure", "Figure"),
    ("hold", "STOP"),
    ("hold-for", "signs before anyone goes on"),
    ("index", "All leaves"),
    ("index-title", "Shop leaves"),
    ("initials", "Initials"),
    ("interval", "Interval"),
    ("job", "Job"),
    ("jump", "Skip to the text"),
    ("leaves", "Leaves"),
    ("limits", "limits"),
    ("mark", "mark"),
    ("no-leaves", "There are no leaves yet."),
    ("notice", "NOTICE"),
    ("notices", "Please read"),
    ("of", "of"),
    ("over", "Over"),
    ("page", "Page"),
    ("pdf", "PDF"),
    ("print", "PDF for printing"),
    ("revision", "Revision"),
    ("role", "Who"),
    ("sign-off", "Sign-off"),
    ("signature", "Signature"),
    ("signed-for", "Signed for"),
    ("system", "System"),
    ("time", "Time"),
    ("under", "Under"),
    ("unverified", "unverified"),
    ("warning", "WARNING"),
];

/// The words as the templates get them.
pub(super) fn words() -> BTreeMap<&'static str, &'static str> {
    ENGLISH.iter().copied().collect()
}

/// Keys and words one after the other: part of what decides a page's bytes.
pub(super) fn key() -> impl Iterator<Item = &'static str> {
    ENGLISH.iter().flat_map(|(key, word)| [*key, *word])
}

#[cfg(test)]
mod tests {
    use super::super::templates;
    use super::*;

    #[test]
    fn keys_are_in_order_and_unique() {
        assert!(ENGLISH.windows(2).all(|pair| pair[0].0 < pair[1].0));
    }

    /// A word that nothing prints is a word that nobody notices is wrong.
    #[test]
    fn every_word_is_printed_somewhere() {
        let signal_words = ["danger", "warning", "caution", "notice"];
        let texts: Vec<&str> = templates::HTML
            .iter()
            .chain(templates::TYPST)
            .map(|(_, text)| *text)
            .collect();
        for (key, _) in ENGLISH {
            // Signal words are looked up by the message's own word.
            let used = signal_words.contains(key)
                || texts.iter().any(|text| {
                    text.contains(&format!("words[\"{key}\"]"))
                        || text.contains(&format!("words.at(\"{key}\")"))
                });
            assert!(used, "`{key}` is printed by no template");
        }
    }
}
