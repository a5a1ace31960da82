//! The languages that a shop's leaves are made in.

use crate::shop::Shop;
use crate::words::Words;

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
    /// a folder of its own.
    #[must_use]
    pub fn of_shop(shop: &Shop) -> Vec<Edition> {
        let languages = shop.languages.iter().enumerate();
        languages
            .map(|(at, language)| Edition {
                language: language.clone(),
                words: Words::of(language)
                    .unwrap_or_else(|| Words::english())
                    .clone(),
                prefix: if at == 0 {
                    String::new()
                } else {
                    format!("{}/", language.to_lowercase())
                },
            })
            .collect()
    }

    /// Where a leaf of the first edition stands in this one.
    #[must_use]
    pub fn path(&self, path: &str) -> String {
        format!("{}{path}", self.prefix)
    }
}
