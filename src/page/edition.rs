//! The languages that a shop's pages are made in.

use crate::shop::Shop;
use crate::words::{Words, WordsError};

/// The pages of one language.
#[derive(Clone, Debug)]
pub struct Edition {
    /// Its tag (BCP 47).
    pub language: String,
    /// The words in it.
    pub words: Words,
}

impl Edition {
    /// The shop's editions, that of its first language first. `own` are the shop's own words, as its
    /// file has them.
    ///
    /// # Errors
    ///
    /// When the shop's own words can't be taken over.
    pub fn of_shop(shop: &Shop, own: Option<&str>) -> Result<Vec<Edition>, WordsError> {
        let languages = shop.languages.iter();
        languages
            .map(|language| {
                let words = Words::of(language).unwrap_or_else(|| Words::english());
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
    pub fn first(shop: &Shop) -> Edition {
        let language = shop.languages.first().map_or("en", String::as_str);
        Edition {
            language: language.to_owned(),
            words: Words::of(language)
                .unwrap_or_else(|| Words::english())
                .clone(),
        }
    }
}
