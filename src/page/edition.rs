//! The languages that a shop's leaves are made in.

use crate::shop::Shop;
use crate::words::{Words, WordsError};

/// The leaves of one language.
#[derive(Clone, Debug)]
pub struct Edition {
    /// Its tag (BCP 47).
    pub language: String,
    /// The words in it.
    pub words: Words,
    /// What its paths begin with: nothing, or `es/`.
    pub prefix: String,
}

impl Edition {
    /// The shop's editions: that of its first language stands at the output's root, each other in
    /// a folder of its own. `own` are the shop's own words, as its file has them.
    ///
    /// # Errors
    ///
    /// When the shop's own words can't be taken over.
    pub fn of_shop(shop: &Shop, own: Option<&str>) -> Result<Vec<Edition>, WordsError> {
        let languages = shop.languages.iter().enumerate();
        languages
            .map(|(at, language)| {
                let words = Words::of(language).unwrap_or_else(|| Words::english());
                Ok(Edition {
                    language: language.clone(),
                    words: match own {
                        Some(own) => words.with_own(own)?,
                        None => words.clone(),
                    },
                    prefix: if at == 0 {
                        String::new()
                    } else {
                        format!("{}/", language.to_lowercase())
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
            prefix: String::new(),
        }
    }

    /// Where a leaf of the first edition stands in this one.
    #[must_use]
    pub fn path(&self, path: &str) -> String {
        format!("{}{path}", self.prefix)
    }
}
