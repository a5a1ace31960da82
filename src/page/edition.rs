//! The languages that a shop's pages are made in.

use crate::shop::Shop;
use crate::words::{DEFAULT_LANGUAGE, Words, WordsError};

/// The pages of one language.
#[derive(Clone, Debug)]
pub(crate) struct Edition {
    /// Its tag (BCP 47).
    pub(crate) language: String,
    /// The words in it.
    pub(crate) words: Words,
}

impl Edition {
    /// The shop's editions, that of its first language first. `own` are the shop's own words, as its
    /// file has them.
    ///
    /// # Errors
    ///
    /// When the shop's own words can't be taken over.
    pub(crate) fn of_shop(shop: &Shop, own: Option<&str>) -> Result<Vec<Edition>, WordsError> {
        let languages = shop.languages.iter();
        languages
            .map(|language| {
                let words = words_of(language);
                Ok(Edition {
                    language: language.clone(),
                    words: match own {
                        Some(own) => words.with_own(own)?,
                        None => words.clone(),
                    },
                })
            })
            .collect()
    }

    /// The shop's first edition, in the words that are built in.
    #[must_use]
    pub(crate) fn first(shop: &Shop) -> Edition {
        let language = first_language(shop);
        Edition {
            language: language.to_owned(),
            words: words_of(language).clone(),
        }
    }
}

/// The words of the language that the shop's sources are written in: its first.
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
