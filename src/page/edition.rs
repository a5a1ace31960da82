//! The languages that a shop's pages are made in.

use crate::shop::Shop;
use crate::words::{DEFAULT_LANGUAGE, Words, WordsError};

#[derive(Clone, Debug)]
pub(crate) struct Edition {
    /// A BCP 47 tag.
    pub(crate) language: String,
    pub(crate) words: Words,
}

impl Edition {
    /// One edition for each of the shop's languages, in the shop's order. `shop_words` is the text
    /// of the shop's own words file.
    ///
    /// # Errors
    ///
    /// If the shop's words file cannot be applied.
    pub(crate) fn of_shop(
        shop: &Shop,
        shop_words: Option<&str>,
    ) -> Result<Vec<Edition>, WordsError> {
        let languages = shop.languages.iter();
        languages
            .map(|language| {
                let words = words_of(language);
                let words = match shop_words {
                    Some(shop_words) => &words.with_own(shop_words)?,
                    None => words,
                };
                Ok(Edition {
                    language: language.clone(),
                    words: if language == first_language(shop) {
                        words.clone()
                    } else {
                        words.for_author(first_language(shop))
                    },
                })
            })
            .collect()
    }

    /// The edition in no language; see [`Words::neutral`].
    #[must_use]
    pub(crate) fn neutral() -> Edition {
        let words = Words::neutral();
        Edition {
            language: words.language().to_owned(),
            words: words.clone(),
        }
    }

    /// The edition of the shop's first language, with the built-in words only.
    #[must_use]
    pub(crate) fn first(shop: &Shop) -> Edition {
        let language = first_language(shop);
        Edition {
            language: language.to_owned(),
            words: words_of(language).clone(),
        }
    }
}

/// The words of the shop's first language, in which its sources are written.
pub(crate) fn author_words(shop: &Shop) -> &'static Words {
    words_of(first_language(shop))
}

fn first_language(shop: &Shop) -> &str {
    let first = shop.languages.first();
    first.map_or(DEFAULT_LANGUAGE, String::as_str)
}

fn words_of(language: &str) -> &'static Words {
    Words::of(language).unwrap_or_else(|| Words::english())
}
